"""What `causes`, `worst` and `compare` do, each in a few steps that Ctrl-C ends early.

They take numpy and numba; a limit case takes scipy and HiGHS as well, and only `--plots` loads matplotlib.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import zip_longest
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.text import one_of
from viewer.commands.answer import Answer, Steps, partial_line, plotted, written
from viewer.commands.jobs import folder_for
from viewer.commands.libraries import loading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.figure import Figure

    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.driver import Run
    from assembly.study.improvements import Helps
    from assembly.study.intervals import Estimate
    from assembly.study.sensitivity import Causes
    from viewer.commands.jobs import Job
    from viewer.reports.output.record import Output
    from viewer.reports.worst_report import WorstFits

PERCENTILES = (95, 99)
MOST_EFFORT = 1_000


def share_beyond(design: Design, workshop: Workshop, seed: int) -> Estimate:
    """Return the share of boxes of the first block that are outside the model's first order.

    Raises
    ------
    InputError
        If more than a tenth of them are, or the seed is below 0.
    """
    from assembly.study.blocks import block_rows
    from assembly.study.check import BoxModel, refuse_beyond
    from assembly.study.intervals import wilson

    model = BoxModel(design, workshop)
    rows = block_rows(model, seed=seed, block=0)
    beyond = wilson(float(rows[list(model.rows).index("beyond")].sum()), rows.shape[1])
    refuse_beyond(workshop, beyond.value)
    return beyond


def first_order_warning(beyond: Estimate, whose: str = "boxes") -> str:
    """Return the warning about a share of boxes that are outside the model's first order, folded; or nothing."""
    from viewer.reports.check_report import beyond_sentences, folded

    return folded(beyond_sentences(beyond, whose))


def caused(job: Job, *, of: str, boxes: int, seed: int, plots: str | None = None) -> Answer:
    """Return what is behind the variation of an outcome, and what would help."""
    with loading("looking for causes"):
        from assembly.study.sensitivity import causes  # numpy and numba, 0.4 s
    from assembly.model.outcomes import OUTCOMES
    from assembly.study.check import BoxModel
    from assembly.study.improvements import helps
    from viewer.reports.causes_report import cause_text, help_text

    if (section := OUTCOMES[one_of("--of", of, OUTCOMES)].section) and of not in job.design.outcomes:
        msg = f"--of: got {of!r}, but the design has no [{section}]; ask for another outcome, or add [{section}]"
        raise InputError(msg)
    _check_boxes(boxes)
    if plots is not None:
        folder_for(plots, "--plots")
    beyond, model = share_beyond(job.design, job.workshop, seed), BoxModel(job.design, job.workshop)
    warning = first_order_warning(beyond)
    with Steps() as steps:
        with steps.run(f"looking for what is behind: {of}") as run:
            whole = steps.take(lambda: causes(model, (of,), boxes=boxes, seed=seed, run=run))
            levels = steps.take(lambda: causes(model, (of,), by="level", boxes=boxes, seed=seed, run=run))
            split = steps.take(lambda: causes(model, (of,), by="both", boxes=max(boxes // 4, 1), seed=seed, run=run))
        with steps.run("trying what would help") as run:
            tried = steps.take(lambda: helps(job.design, job.workshop, boxes=boxes, seed=seed, run=run))
    assert whole
    files = plotted(plots, job.stem, lambda: _cause_plots(job, whole, tried, of))
    text = [*partial_line(steps.stopped, f"{whole.boxes:,} boxes an operation"), cause_text(whole, split, levels, of)]
    text += ["", help_text(job.design, job.workshop, tried)] if tried else []
    text += ["", warning] if warning else []

    def data() -> Output:
        from viewer.reports.output.studies import causes_output, helps_output

        helped = helps_output(job.design, job.workshop, tried) if tried else None
        by = {"operations": whole, "levels": levels, "split": split}
        return causes_output(of, by, helped, beyond=beyond, files=files, partial=steps.stopped)

    return Answer(
        text="\n".join([*text, *written(files)]),
        data=data,
        partial=steps.stopped,
    )


def _cause_plots(job: Job, whole: Causes, tried: Helps | None, of: str) -> dict[str, Figure]:
    from viewer.reports.plots import cause_bars, help_bars

    drawn = {f"causes_{of}": cause_bars(job.design, whole, of)}
    return {**drawn, "helps": help_bars(job.design, tried)} if tried else drawn


def _check_boxes(boxes: int) -> None:
    if boxes < 2:
        msg = f"boxes: got {boxes}, must be 2 or more"
        raise InputError(msg)


def worst(job: Job, *, joint: str | None, effort: float, seed: int) -> Answer:
    """Return sampled boxes and the limit case of one joint, or of all four, with `effort` times the usual work."""
    with loading("looking for the worst fits"):
        from assembly.made.sampling import BLOCK  # numpy
    from assembly.limit_case.search import NODES, Worst
    from assembly.nominal.frame import CORNERS
    from viewer.reports.worst_report import worst_text

    if not 0 <= effort <= MOST_EFFORT:
        msg = f"--effort: got {effort:g}, must be 0 (nothing is proved) to {MOST_EFFORT} times the usual work"
        raise InputError(msg)
    joints = CORNERS if joint is None else (one_of("--joint", joint, CORNERS),)
    beyond = share_beyond(job.design, job.workshop, seed)
    warning = first_order_warning(beyond)
    search, nodes = Worst(job.design, job.workshop), round(effort * NODES)
    with Steps() as steps, steps.run("limit cases" if joint is None else f"limit case of {joint}") as run:
        fits = steps.take(lambda: [_sampled(job, each, seed, run) for each in joints])
        cases = steps.take(lambda: search.cases(joints, seed=seed, nodes=nodes, run=run))
    assert fits
    done = cases or []
    steps.stopped = len(done) < len(joints)
    bad_fits = [replace(each, limit_case=case) for each, case in zip_longest(fits, done)]
    text = [*partial_line(steps.stopped, f"{len(done)} of {len(fits)} limit cases")]
    text += [
        worst_text(job.design, job.workshop, bad_fits, boxes=BLOCK, seed=seed),
        *(["", warning] if warning else []),
    ]

    def data() -> Output:
        from viewer.reports.output.studies import worst_output

        return worst_output(bad_fits, beyond=beyond, boxes=BLOCK, seed=seed, partial=steps.stopped)

    return Answer(text="\n".join(text), data=data, partial=steps.stopped)


def _sampled(job: Job, joint: str, seed: int, run: Run) -> WorstFits:
    """Return the real boxes near the percentiles of one joint's gap."""
    from assembly.study.check import sampled_box
    from viewer.reports.worst_report import WorstFits

    boxes = {
        at: sampled_box(job.design, job.workshop, seed=seed, quantile=at / 100, of=f"gap {joint}", run=run)
        for at in PERCENTILES
    }
    gaps = {at: float(box.corner_gaps[box.frame.corners.index(joint)]) for at, box in boxes.items()}
    return WorstFits(joint=joint, gaps=gaps, sampled=boxes)


def workshops_of(words: Sequence[str] | None) -> tuple[str | None, str | None]:
    """Return the two workshops of a comparison: none given is each design's own, one is for both.

    Raises
    ------
    InputError
        If more than two are given.
    """
    given = list(words or [])
    if len(given) > 2:
        msg = f"--workshop: given {len(given)} times, must be given once (for both) or twice (first, then second)"
        raise InputError(msg)
    if len(given) == 2:
        return given[0], given[1]
    return (given[0], given[0]) if given else (None, None)


def compared(first: Job, second: Job, *, boxes: int, seed: int, then: Sequence[str] = ()) -> Answer:
    """Return what differs between two jobs, of which the second was changed by `then`."""
    with loading("comparing two boxes"):
        from assembly.study.compare import compare  # numpy and numba, 0.4 s
    from viewer.reports.compare_report import compare_text

    pair = (first.design, first.workshop), (second.design, second.workshop)
    beyond = [share_beyond(*each, seed) for each in pair]
    warnings = [
        first_order_warning(share, f"the {which}'s boxes")
        for share, which in zip(beyond, ("first", "second"), strict=True)
    ]
    with Steps() as steps, steps.run(f"simulating {boxes:,} boxes, both ways") as run:
        found = compare(*pair, boxes=boxes, seed=seed, run=run)
    text = [*partial_line(found.partial, f"{found.boxes:,} boxes"), compare_text(*pair, found, then)]
    text += ["", *filter(None, warnings)] if any(warnings) else []

    def data() -> Output:
        from viewer.reports.output.studies import compare_output

        return compare_output(pair, found, beyond)

    return Answer(text="\n".join(text), data=data, partial=found.partial)
