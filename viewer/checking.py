"""What `lapwright check` does: the study, what a class can expect, and what simpler ways of looking would have told.

Each step ends early on Ctrl-C. It takes numpy and numba; only `--plots` loads matplotlib.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from assembly.errors import InputError
from viewer.jobs import folder_for
from viewer.libraries import loading
from viewer.progress import progress
from viewer.steps import Answer, Steps, partial_line, plotted, written

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from assembly.tolerance.check import StudyResult
    from viewer.forecast_report import Beside
    from viewer.jobs import Job

BOXES = 100_000
LINEAR_BOXES = 10_000  # one block: enough for some 300 disturbances
CLASSES = (100, 1_000)  # least and most that a forecast simulates


def checked(
    job: Job,
    *,
    boxes: int | None = None,
    digits: int | None = None,
    seed: int,
    rule: float | None = None,
    plots: str | None = None,
) -> Answer:
    """Return what a study of `boxes` boxes, or as many as `digits` digits take, says of a job.

    Raises
    ------
    InputError
        If both are given, or a number is none that can be used.
    """
    if boxes is not None and digits is not None:
        msg = "--digits: can't be given together with --boxes; digits decide how many boxes are made"
        raise InputError(msg)
    with loading("checking a box"):
        from assembly.tolerance import check as _  # noqa: F401 - numpy and numba, 0.4 s
    from assembly.planning.cutting import cut_parts
    from viewer.forecast_report import beside_data, beside_text
    from viewer.report import check_data, check_text

    if plots is not None:
        folder_for(plots, "--plots")  # refused before the study, not after
    _check_rule(rule)
    steps = Steps()
    study, ending = _studied(job, boxes, digits, seed, steps)
    beside = _beside(job, study, seed, rule, steps)
    files = plotted(plots, job.stem, lambda: _check_plots(job, study, beside))
    parts = cut_parts(job.design)
    text = [*partial_line(steps.stopped, f"{study.boxes:,} boxes"), check_text(job.design, job.workshop, parts, study)]
    text += [ending] if ending else []
    more = beside_text(job.design, study, beside)
    text += ["\n" + more] if more else []
    data = {**check_data(job.design, parts, study), **beside_data(beside), "digits": digits, "partial": steps.stopped}
    return Answer(
        text="\n".join([*text, *written(files)]),
        data=data if plots is None else {**data, "files": files},
        kept=study.pass_share.share >= job.design.required_share,
        partial=steps.stopped,
    )


def _check_rule(rule: float | None) -> None:
    """Refuse a rule that nobody has before the study, not after it."""
    if rule is not None and not 0.1 <= rule <= 10:
        msg = f"--rule: got {rule:g}, must be what the rule is read to, 0.1 to 10 mm, such as 1 or 0.5"
        raise InputError(msg)


def _studied(job: Job, boxes: int | None, digits: int | None, seed: int, steps: Steps) -> tuple[StudyResult, str]:
    """Return the study, of a fixed size or settled to so many digits, and how it ended."""
    from assembly.tolerance.check import check

    wanted = BOXES if boxes is None else boxes
    if digits is None:
        with progress(f"making {wanted:,} boxes on paper") as told:
            found = steps.take(lambda: check(job.design, job.workshop, boxes=wanted, seed=seed, progress=told))
        assert found
        return found, ""
    settled = steps.take(lambda: _settled(job, digits, seed))
    assert settled
    steps.stopped = settled[0].partial
    return settled


def _settled(job: Job, digits: int, seed: int) -> tuple[StudyResult, str]:
    """Return the study that stopped by itself, and the sentence that says so; its interval comes from the blocks."""
    from assembly.tolerance.check import OUTCOMES, BoxModel, told_study
    from assembly.tolerance.intervals import Share
    from assembly.tolerance.stopping import adaptive

    if seed < 0:
        msg = f"seed: got {seed}, must be 0 or more"
        raise InputError(msg)
    model = BoxModel(job.design, job.workshop)
    shares = [row for row in model.rows if row.startswith("keeps ") or row == "passes"]
    with progress(f"making boxes on paper until {digits} digits hold still") as told:
        found = adaptive(
            model, tuple(OUTCOMES), shares=shares, quantiles=(0.05, 0.5, 0.95), digits=digits, seed=seed, progress=told
        )
    study = told_study(model, found.total, seed=seed, partial=found.stopped == "interrupted")
    passes = next(each for each in found.figures if each.row == "passes")
    low, high = (min(max(end, 0.0), 1.0) for end in passes.interval)
    words = {
        "settled": f"Every figure held still to {digits} digits of its spread after {study.boxes:,} boxes.",
        "cap": f"Not every figure held still to {digits} digits of its spread in {study.boxes:,} boxes, the most made.",
        "interrupted": "",
    }
    return replace(study, pass_share=Share(share=passes.value, low=low, high=high)), words[found.stopped]


def _beside(job: Job, study: StudyResult, seed: int, rule: float | None, steps: Steps) -> Beside:
    """Return what is told beside a study, as far as Ctrl-C lets it."""
    from assembly.tolerance.check import OUTCOMES, BoxModel
    from assembly.tolerance.forecast import SAMPLED_CLASS, forecast
    from assembly.tolerance.linear import linear_parts
    from assembly.tolerance.measured import measured
    from viewer.forecast_report import Beside

    classes = min(max(study.boxes // min(job.design.makers, SAMPLED_CLASS), CLASSES[0]), CLASSES[1])
    with progress("making classes on paper") as told:
        classed = steps.take(lambda: forecast(job.design, job.workshop, classes=classes, seed=seed, progress=told))
    if classed:
        steps.stopped = classed.classes.partial
    linear = steps.take(
        lambda: linear_parts(BoxModel(job.design, job.workshop), tuple(OUTCOMES), boxes=LINEAR_BOXES, seed=seed)
    )
    read = None
    if rule is not None:
        with progress("reading boxes with a rule") as told:
            read = steps.take(
                lambda: measured(job.design, job.workshop, division=rule, boxes=study.boxes, seed=seed, progress=told)
            )
    if read and read.boxes < study.boxes:
        steps.stopped = True
    return Beside(forecast=classed, linear=linear, linear_boxes=LINEAR_BOXES, measured=read)


def _check_plots(job: Job, study: StudyResult, beside: Beside) -> dict[str, Figure]:
    from viewer.plots import class_forecast, gap_by_joint

    drawn = {"gap_by_joint": gap_by_joint(job.design, study)}
    if beside.forecast:
        drawn["class_forecast"] = class_forecast(job.design, beside.forecast.classes)
    return drawn
