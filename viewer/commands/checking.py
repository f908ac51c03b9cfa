"""What `lapwright check` does: the study, what a class can expect, and what simpler ways of looking would have said.

Each step ends early on Ctrl-C. It takes numpy and numba; only `--plots` loads matplotlib.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.text import one_of
from viewer.commands.answer import Answer, Steps, partial_line, plotted, written
from viewer.commands.jobs import folder_for
from viewer.commands.libraries import loading

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from assembly.study.check import StudyResult
    from assembly.study.driver import Run
    from assembly.study.forecast import ClassCounts
    from viewer.commands.jobs import Job
    from viewer.reports.forecast_report import Beside
    from viewer.reports.output.record import Output

BOXES = 100_000
LINEAR_BOXES = 10_000  # one block: enough for some 300 disturbances
CLASSES = (100, 1_000)  # least and most that a forecast simulates
POINTS = ("random", "sobol")


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyLength:
    """How large a study is, as it was asked for, and at which points; None where nothing is said."""

    boxes: int | None = None
    digits: int | None = None
    points: str = "random"
    scrambles: int | None = None


def checked(
    job: Job,
    size: StudyLength,
    *,
    seed: int,
    rule: str | None = None,
    plots: str | None = None,
    details: bool = False,
) -> Answer:
    """Return what a study of some size says of a job.

    Raises
    ------
    InputError
        If what was asked for does not go together, or a number is none that can be used.
    """
    _check_size(size)
    with loading("checking a box"):
        pass
    from assembly.planning.cutting import cut_parts
    from assembly.rules.remarks import remarks
    from viewer.reports.advice_report import first_step_text
    from viewer.reports.check_report import check_text, folded
    from viewer.reports.forecast_report import beside_text, help_is_wanted

    if plots is not None:
        folder_for(plots, "--plots")  # refused before the study, not after
    division = read_rule(rule)
    with Steps() as steps:
        study, ending = _studied(job, size, seed, steps)
        beside = _beside(job, study, seed, division, steps)
    files, unwritten = plotted(plots, job.stem, lambda: _check_plots(job, study, beside))
    parts = cut_parts(job.design)
    known = remarks(job.design)
    text = [*partial_line(steps.stopped, f"{study.boxes:,} boxes")]
    text += [check_text(job.design, job.workshop, parts, study, made_in=job.made_in)]
    text += ["\n" + folded(f"Note: {each}" for each in known)] if known else []
    text += [folded([ending])] if ending else []
    more = beside_text(job.design, study, beside, details=details)
    text += ["\n" + more] if more else []
    if help_is_wanted(job.design, study) and not steps.stopped:
        text += ["\n" + first_step_text(job.design, study, beside.first_step, f"lapwright advise {job.typed}")]

    def data() -> Output:
        from viewer.reports.output.check import check_output

        return check_output(
            job.design,
            study,
            beside,
            points=size.points,
            digits=size.digits,
            files=files,
            partial=steps.stopped,
        )

    return Answer(
        text="\n".join([*text, *written(files)]),
        data=data,
        kept=study.pass_share.value >= job.design.required_share,
        partial=steps.stopped,
        unwritten=unwritten,
    )


def _check_size(size: StudyLength) -> None:
    """Refuse what does not go together."""
    msg = ""
    if size.boxes is not None and size.digits is not None:
        msg = "--digits: can't be given together with --boxes; digits decide how many boxes are made"
    elif one_of("--points", size.points, POINTS) == "sobol" and size.digits is not None:
        msg = "--points: sobol can't be given together with --digits; say how many boxes with --boxes"
    elif size.points != "sobol" and size.scrambles is not None:
        msg = "--scrambles: only Sobol' points are scrambled; add --points sobol"
    if msg:
        raise InputError(msg)


def read_rule(text: str | None) -> float | None:
    """Return what a rule is read to, mm; None where none is asked for.

    Raises
    ------
    InputError
        If it is no number, or a rule that nobody has: refused before the study, not after it.
    """
    if text is None:
        return None
    try:
        rule = float(text)
    except ValueError:
        rule, found, cure = math.nan, repr(text), "; write it with a point" if "," in text else ""
    else:
        found, cure = text, ""
    if not 0.1 <= rule <= 10:
        msg = f"--rule: got {found}, must be what the rule is read to, 0.1 to 10 mm, such as 1 or 0.5{cure}"
        raise InputError(msg)
    return rule


def _studied(job: Job, size: StudyLength, seed: int, steps: Steps) -> tuple[StudyResult, str]:
    """Return the study that was asked for, and the sentence that says how it ended."""
    from assembly.study.check import check

    if size.digits is not None:
        digits = size.digits
        with steps.run(f"simulating boxes until {digits} digits hold still") as run:
            settled = steps.take(lambda: _settled(job, digits, seed, run))
        assert settled
        steps.stopped = settled[0].partial
        return settled
    wanted = BOXES if size.boxes is None else size.boxes
    with steps.run(f"simulating {wanted:,} boxes") as run:
        if size.points == "sobol":
            return _scrambled(job, wanted, size.scrambles, seed, steps, run)
        found = steps.take(lambda: check(job.design, job.workshop, boxes=wanted, seed=seed, run=run))
    assert found
    return found, ""


def _settled(job: Job, digits: int, seed: int, run: Run) -> tuple[StudyResult, str]:
    """Return the study that stopped by itself, and the sentence that says so; its intervals come from the blocks."""
    from assembly.study.check import BoxModel
    from assembly.study.replications import adaptive_study

    study, found = adaptive_study(BoxModel(job.design, job.workshop), digits=digits, seed=seed, run=run)
    held = f"held still to {digits} digit{'s' if digits > 1 else ''} of its spread"
    words = {
        "settled": f"Every figure {held} after {study.boxes:,} boxes.",
        "cap": f"Not every figure {held} in {study.boxes:,} boxes, the most made.",
        "interrupted": "",
    }
    return study, words[found.stopped]


def _scrambled(
    job: Job, boxes: int, scrambles: int | None, seed: int, steps: Steps, run: Run
) -> tuple[StudyResult, str]:
    """Return the study at scrambled Sobol' points, and the sentence that tells its error over the scrambles."""
    from assembly.study.check import BoxModel
    from assembly.study.replications import scrambled_study
    from assembly.study.sobol_points import SCRAMBLES
    from viewer.reports.rounding import with_interval

    model, number = BoxModel(job.design, job.workshop), SCRAMBLES if scrambles is None else scrambles
    study = steps.take(lambda: scrambled_study(model, boxes=boxes, scrambles=number, seed=seed, run=run))
    assert study
    value, low, high = with_interval(study.pass_share.times(100))
    points = f"Sobol' points, {study.runs} scrambles of {study.boxes // study.runs:,} boxes"
    return study, (
        f"{points}: by how far the scrambles differ, {value} % of boxes keep every limit, "
        f"{low} to {high} % with 95 % confidence."
    )


def _beside(job: Job, study: StudyResult, seed: int, rule: float | None, steps: Steps) -> Beside:
    """Return what is printed beside a study, as far as Ctrl-C lets it."""
    from assembly.advice.first_step import first_step
    from assembly.files.costs import read_costs
    from assembly.study.check import BoxModel
    from assembly.study.forecast import SAMPLED_CLASS, forecast
    from assembly.study.inspection import measured
    from assembly.study.linearised import linear_parts
    from viewer.reports.forecast_report import Beside

    classes = min(max(study.boxes // min(job.design.makers, SAMPLED_CLASS), CLASSES[0]), CLASSES[1])
    with steps.run("simulating classes") as run:
        classed = steps.take(lambda: forecast(job.design, job.workshop, classes=classes, seed=seed, run=run))
    if classed:
        steps.stopped = classed.classes.partial
    model = BoxModel(job.design, job.workshop)
    with steps.run("adding up tolerances") as run:
        linear = steps.take(
            lambda: linear_parts(model, tuple(job.design.outcomes), boxes=LINEAR_BOXES, seed=seed, run=run)
        )
    read = None
    if rule is not None:
        with steps.run("reading boxes with a rule") as run:
            read = steps.take(
                lambda: measured(job.design, job.workshop, division=rule, boxes=study.boxes, seed=seed, run=run)
            )
    if read and read.boxes < study.boxes:
        steps.stopped = True
    first = steps.take(lambda: first_step(job.design, job.workshop, read_costs(), seed=seed))
    return Beside(forecast=classed, linear=linear, measured=read, first_step=first, unsure=_unsure(job, seed, steps))


def _unsure(job: Job, seed: int, steps: Steps) -> ClassCounts | None:
    """Return the classes with what is not known of a learned workshop; None where there are no draws beside it."""
    draws = job.draws()
    if draws is None:
        return None
    from assembly.learning.unsure import unsure_counts
    from assembly.study.check import BoxModel

    model, makers = BoxModel(job.design, job.workshop), job.design.makers
    with steps.run("simulating classes with what is not known") as run:
        found = steps.take(lambda: unsure_counts(model, draws, makers=makers, seed=seed, run=run))
    return found.classes if found else None


def _check_plots(job: Job, study: StudyResult, beside: Beside) -> dict[str, Figure]:
    from viewer.reports.plots import class_forecast, gap_by_joint

    drawn = {"gap_by_joint": gap_by_joint(job.design, study)}
    if beside.forecast:
        drawn["class_forecast"] = class_forecast(job.design, beside.forecast.classes)
    return drawn
