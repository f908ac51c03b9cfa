"""What `causes`, `worst` and `compare` do, each in a few steps that Ctrl-C ends early.

They take numpy and numba; a limit case takes scipy and HiGHS as well, and only `--plots` loads matplotlib.
"""

from __future__ import annotations

import shlex
from dataclasses import dataclass, replace
from itertools import zip_longest
from typing import TYPE_CHECKING

from assembly.errors import ConfigError, InputError
from viewer.commands import jobs
from viewer.commands.answer import Answer, Steps, partial_line, plotted, written
from viewer.commands.jobs import folder_for
from viewer.commands.libraries import loading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.figure import Figure

    from assembly.limit_case.search import LimitCase
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


def caused(job: Job, *, of: str, boxes: int, seed: int, plots: str | None = None, details: bool = False) -> Answer:
    """Return what is behind the variation of an outcome, and what would help."""
    with loading("looking for causes"):
        from assembly.study.sensitivity import causes  # numpy and numba, 0.4 s
    from assembly.model.outcomes import OUTCOMES, outcome_typed
    from assembly.study.check import BoxModel
    from assembly.study.improvements import helps
    from viewer.reports.causes_report import cause_text, help_text

    of = outcome_typed("--of", of)
    if (section := OUTCOMES[of].section) and of not in job.design.outcomes:
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
    files, unwritten = plotted(plots, job.stem, lambda: _cause_plots(job, whole, tried, of))
    text = [
        *partial_line(steps.stopped, f"{whole.boxes:,} boxes an operation"),
        cause_text(whole, split, levels, of, details=details),
    ]
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
        unwritten=unwritten,
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


@dataclass(frozen=True, slots=True, kw_only=True)
class WorstAsked:
    """What `worst` shall tell of, in the words of the command; None for what was not said."""

    joint: str | None = None
    of: str | None = None
    limit_case: bool = False
    effort: float | None = None
    details: bool = False


def worst(job: Job, asked: WorstAsked, *, seed: int) -> Answer:
    """Return sampled boxes, the likeliest bad box of each limit and, if asked for, the limit case of each joint."""
    with loading("looking for the worst fits"):
        from assembly.made.sampling import BLOCK  # numpy
    from viewer.reports.worst_report import worst_text

    effort = _agreed_effort(asked)
    limits, joints = jobs.limits_asked(job, joint=asked.joint, of=asked.of), _joints(asked)
    beyond = share_beyond(job.design, job.workshop, seed)
    warning = first_order_warning(beyond)
    with Steps() as steps:
        with steps.run("looking for the likeliest bad boxes") as run:
            fits = steps.take(lambda: [_sampled(job, each, seed, run) for each in joints])
            likeliest = steps.take(lambda: jobs.likeliest_boxes(job, limits, seed=seed, run=run)) or []
        steps.stopped = steps.stopped or len(likeliest) < len(limits)
        done = _limit_cases(job, steps, joints, effort, seed) if asked.limit_case else []
    assert fits
    bad_fits = [replace(each, limit_case=case) for each, case in zip_longest(fits, done)]
    reached = {f"{len(likeliest)} of {len(limits)} limits": bool(limits)}
    reached[f"{len(done)} of {len(fits)} limit cases"] = asked.limit_case
    text = [*partial_line(steps.stopped, " and ".join(words for words, asked_for in reached.items() if asked_for))]
    bad = worst_text(job.design, job.workshop, bad_fits, likeliest, boxes=BLOCK, seed=seed, details=asked.details)
    text += [bad, *(["", warning] if warning else [])]

    def data() -> Output:
        from viewer.reports.output.studies import worst_output

        return worst_output(bad_fits, likeliest, beyond=beyond, boxes=BLOCK, seed=seed, partial=steps.stopped)

    return Answer(text="\n".join(text), data=data, partial=steps.stopped)


def _agreed_effort(asked: WorstAsked) -> float:
    """Return how much work goes into proofs; refuse it without a limit case to prove."""
    if asked.effort is None:
        return 1.0
    if not 0 <= asked.effort <= MOST_EFFORT:
        msg = f"--effort: got {asked.effort:g}, must be 0 (nothing is proved) to {MOST_EFFORT} times the usual work"
        raise InputError(msg)
    if not asked.limit_case:
        msg = "--effort: goes into the proof of the limit case, which was not asked for; add --limit-case"
        raise InputError(msg)
    return asked.effort


def _joints(asked: WorstAsked) -> tuple[str, ...]:
    from assembly.nominal.frame import CORNERS, corner_typed

    return CORNERS if asked.joint is None else (corner_typed("--joint", asked.joint),)


def _limit_cases(job: Job, steps: Steps, joints: Sequence[str], effort: float, seed: int) -> list[LimitCase]:
    """Return the limit cases of joints, as far as they are reached."""
    from assembly.limit_case.search import NODES, Worst
    from assembly.nominal.frame import corner_words

    words = "limit cases" if len(joints) > 1 else f"limit case of {corner_words(joints[0])}"
    with steps.run(words) as run:
        search = Worst(job.design, job.workshop)
        done = steps.take(lambda: search.cases(joints, seed=seed, nodes=round(effort * NODES), run=run)) or []
    steps.stopped = steps.stopped or len(done) < len(joints)
    return done


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


def read_pair(
    first: str,
    second: str,
    settings: Sequence[str] | None,
    workshops: tuple[str | None, str | None],
    then: Sequence[str] | None,
) -> tuple[Job, Job]:
    """Return the two jobs of a comparison.

    Raises
    ------
    ConfigError
        As `jobs.read`, naming which of the two it is of.
    """
    one = _read_as("first", first, settings, workshops[0], None)
    return one, _read_as("second", second, settings, workshops[1], then)


def _read_as(
    which: str, design: str, settings: Sequence[str] | None, workshop: str | None, then: Sequence[str] | None
) -> Job:
    try:
        return jobs.read(design, settings, workshop, then=then)
    except ConfigError as error:
        whose = "" if error.source == design else f" (of {design})"
        source = f"the {which}: {error.source}{whose}"
        raise ConfigError(source, error.problems) from None


def _one_workshop(first: Job, second: Job, seed: int) -> str:
    """Return what has both made by the same makers, the first's if their boxes can be predicted, else the second's.

    Empty where the makers are the same, were chosen for this comparison, or can't be predicted with the other's box.
    """
    from viewer.reports.compare_report import same_makers

    chosen = first.words.workshop is not None or second.words.workshop is not None
    if chosen or same_makers(first.workshop, second.workshop):
        return ""
    for one, other in ((first, second), (second, first)):
        try:
            share_beyond(other.design, one.workshop, seed)
        except InputError:
            continue
        return f"--workshop {shlex.quote(jobs.workshop_typed(one))}"
    return ""


def _share_beyond_of(which: str, design: Design, workshop: Workshop, seed: int) -> Estimate:
    """Return `share_beyond` of one of the two, which its refusal names."""
    try:
        return share_beyond(design, workshop, seed)
    except InputError as error:
        if seed < 0:
            raise
        msg = f"the {which}, {design.name!r}: {error}"
        raise InputError(msg) from None


def compared(
    first: Job, second: Job, *, boxes: int, seed: int, then: Sequence[str] = (), details: bool = False
) -> Answer:
    """Return what differs between two jobs, of which the second was changed by `then`."""
    with loading("comparing two boxes"):
        from assembly.study.compare import compare  # numpy and numba, 0.4 s
    from viewer.reports.compare_report import compare_text

    pair = (first.design, first.workshop), (second.design, second.workshop)
    beyond = [_share_beyond_of(which, *each, seed) for which, each in zip(("first", "second"), pair, strict=True)]
    hint = _one_workshop(first, second, seed)
    warnings = [
        first_order_warning(share, f"the {which}'s boxes")
        for share, which in zip(beyond, ("first", "second"), strict=True)
    ]
    with Steps() as steps, steps.run(f"simulating {boxes:,} boxes, both ways") as run:
        found = compare(*pair, boxes=boxes, seed=seed, run=run)
    text = [*partial_line(found.partial, f"{found.boxes:,} boxes")]
    text.append(compare_text(*pair, found, then, hint=hint, details=details))
    text += ["", *filter(None, warnings)] if any(warnings) else []

    def data() -> Output:
        from viewer.reports.output.studies import compare_output

        return compare_output(pair, found, beyond)

    return Answer(text="\n".join(text), data=data, partial=found.partial)
