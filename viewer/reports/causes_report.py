"""What is behind the variation of an outcome, and what would help: in words, as tables and as data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.model.outcomes import OUTCOMES
from assembly.model.workshop import operation_words
from assembly.text import decimal
from viewer.reports.check_report import folded, table, unit_of
from viewer.reports.rounding import figure, percent, with_interval

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.improvements import Gain, Helps
    from assembly.study.sensitivity import Cause, Causes
    from viewer.reports.rounding import Written

_BETWEEN = "In 95 of 100 such trials the boxes gained fall between the two figures."
_TOGETHER = (
    "How much less boxes would differ if that alone were always done alike. Errors act together, so the figures need "
    "not add to 100 %."
)
LEVELS = {"class": "shared by a class", "maker": "shared by a maker's cuts", "cut": "one cut alone"}
SLIGHT = 0.05  # boxes in a class; a change that moves less, either way, stands in one line with its like
NOTHING = 0.0005  # a share that is printed as 0.0 %


def named(name: str) -> str:
    """Return an operation in words, with the name that it has in a workshop file."""
    return operation_words(name) if name == "settling" else f"{operation_words(name)} ({name})"


def _share(cause: Cause | None) -> Written | None:
    """Return a share in percent, None where it is nothing."""
    if cause is None or cause.share.value < NOTHING:
        return None
    return with_interval(cause.share.times(100), 1)[0]


def plain_table(by_operation: Causes, of: str) -> str:
    """Return the operations that have a part in one outcome, and how much of the scatter would go with each."""
    shares = {cause.name: _share(cause) for cause in by_operation.causes[of]}
    rows = [(operation_words(name), str(share)) for name, share in shares.items() if share is not None]
    return table(("operation", "scatter that would go, %"), rows, words=(0,))


def cause_table(by_operation: Causes, split: Causes | None, of: str) -> str:
    """Return the operations' total effects on one outcome, with intervals, each split by who shares the error."""
    parts = {cause.name: cause for cause in split.causes[of]} if split else {}
    rows = []
    for cause in by_operation.causes[of]:
        if cause.share.value < NOTHING:
            continue
        value, low, high = with_interval(cause.share.times(100), 1)
        shares = [_share(parts.get(f"{cause.name} {level}")) for level in LEVELS]
        cells = ["-" if share is None else str(share) for share in shares]
        rows.append((named(cause.name), str(value), f"{low} to {high}", *(cells if split else ())))
    return table(("operation", "all, %", "95 % interval", *(LEVELS if split else ())), rows, words=(0,))


def cause_sentences(by_operation: Causes, levels: Causes | None, of: str) -> list[str]:
    """Return what the table leaves out: operations without a part, and how the levels share the whole."""
    idle = [cause.name for cause in by_operation.causes[of] if cause.share.value < NOTHING]
    lines = [f"No part in it: {', '.join(idle)}."] if idle else []
    if levels:
        found = {cause.name: cause for cause in levels.causes[of]}
        shares = {text: _share(found.get(level)) for level, text in LEVELS.items()}
        words = [f"{text} {'none' if share is None else f'{share} %'}" for text, share in shares.items()]
        lines.append(f"By who shares the error: {'; '.join(words)}.")
    lines.append(
        "A figure is the share of the variance that would go if that alone were always the same. Errors act together, "
        "so the figures need not add to 100 %.",
    )
    return lines


def cause_text(
    by_operation: Causes, split: Causes | None, levels: Causes | None, of: str, *, details: bool = False
) -> str:
    """Return the answer on one outcome, with the statistics behind it if `details` are asked for."""
    if not details and by_operation.causes[of]:
        heading = f"What makes one box differ from the next: {OUTCOMES[of].label}"
        return "\n".join([heading, plain_table(by_operation, of), folded([_TOGETHER])])
    unit = unit_of(of)
    spread = figure(by_operation.sd[of].times(unit.times))
    heading = f"What is behind the variation: {OUTCOMES[of].label} (standard deviation {spread}{unit.words})"
    if not by_operation.causes[of]:
        return f"What is behind the variation: {OUTCOMES[of].label}\nNothing: it does not vary in this workshop."
    sentences = folded(cause_sentences(by_operation, levels, of))
    return "\n".join([folded([heading]), cause_table(by_operation, split, of), sentences])


def slight(gain: Gain) -> bool:
    """Tell whether a change moves next to nothing, for certain."""
    return gain.same or max(abs(gain.boxes.low), abs(gain.boxes.high)) < SLIGHT


def effect(gain: Gain) -> str:
    """Return whether a change helps, by its interval; one that may be either way by a box or more can't be called."""
    low, high = gain.boxes.low, gain.boxes.high
    if low <= 0 <= high:
        return "no difference" if max(-low, high) < 1 else "too close to call"
    if not _gained(gain)[0].value:
        return "no difference"
    return "helps" if low > 0 else "makes it worse"


def _gained(gain: Gain) -> tuple[Written, Written, Written]:
    return with_interval(gain.boxes, 1)


def help_table(gains: Sequence[Gain]) -> str:
    """Return changes with the boxes that a class gains by each."""
    rows = []
    for gain in gains:
        value, low, high = _gained(gain)
        rows.append((gain.change.words, value.signed, f"{low.signed} to {high.signed}", effect(gain)))
    return table(("change", "boxes gained", "between", "effect"), rows, words=(0, 3))


def slight_sentences(gains: Sequence[Gain]) -> list[str]:
    """Return which changes do next to nothing, operations that take the same change together."""
    words = []
    for kind in dict.fromkeys(gain.change.kind for gain in gains):
        alike = [gain.change for gain in gains if gain.change.kind == kind]
        names = ", ".join(operation_words(change.what) for change in alike)
        each = "; ".join(change.words for change in alike)
        ending = {"half the spread": "twice as evenly", "no bias": "right on average"}.get(kind)
        words.append(f"{ending}: {names}" if ending else each)
    return [f"Next to nothing, either way: {'; '.join(words)}."] if words else []


def now_sentence(design: Design, workshop: Workshop) -> str:
    """Return what is done now of all that is tried."""
    pare = workshop.pare
    times = f"at most {pare.rounds} time{'s' if pare.rounds > 1 else ''}"
    done = [
        "marked along the part" if workshop.shoulder_from == "part" else "marked from the drawing",
        f"a corner proud by more than {decimal(pare.notice)} mm is pared, {times}"
        if pare.rounds
        else "nothing is pared",
        "the diagonals are made equal in the glue" if design.glue_up == "squared" else "the frame is glued as it falls",
    ]
    done += (
        [f"the plain walls are marked {decimal(design.overlength)} mm longer than drawn"] if design.overlength else []
    )
    done += [f"used: {aid.title}" for aid in workshop.aids.values() if aid.used]
    return f"As things are, shoulders are now {'; '.join(done)}."


def why_sentences(gains: Sequence[Gain]) -> list[str]:
    """Return why changes make things worse, as far as the figures show it."""
    worse = [gain for gain in gains if gain.why and effect(gain) == "makes it worse"]
    lines = [f"- {gain.change.words}: {words}" for gain in worse if (words := _why(gain))]
    if not lines:
        return []
    heading = "Why some make it worse (before, then after):"
    if any(gain.why and gain.why.short for gain in worse):
        heading = "Why some make it worse (before, then after); too long is pared to fit, too short stays open:"
    return [heading, *lines]


def _why(gain: Gain) -> str:
    why = gain.why
    assert why
    words = []
    if why.where and why.short:
        what = {"ends": "ends sawn too short for the sander", "laps": "laps cut too deep to be pared"}[why.where]
        words += _moved(f"{what} (share of their corners)", *map(percent, why.short))
    if why.missed:
        unit, label = unit_of(why.missed.name), OUTCOMES[why.missed.name].label
        means = [f"{figure(each.times(unit.times))}{unit.sign}" for each in why.missed.mean]
        words += _moved(f"mean of {label}", *means)
        words += _moved(f"boxes within the limit on {label}", *map(percent, why.missed.kept))
    return "; ".join(words)


def _moved(what: str, before: str, after: str) -> list[str]:
    """Return what moves with both figures; nothing where they are printed alike."""
    return [] if before == after else [f"{what} {before}, {after}"]


def help_text(design: Design, workshop: Workshop, helps: Helps) -> str:
    """Return the ranked list of what would help, and what would not."""
    shown = [gain for gain in helps.gains if not slight(gain)]
    heading = (
        f"What would help {design.name}: boxes more in a class of {helps.makers:,} that keep every limit, of which "
        f"{percent(helps.pass_share)} do as things are; each change alone, on the same {helps.boxes:,} boxes"
    )
    lines = [
        folded([heading, f"{now_sentence(design, workshop)} {_BETWEEN}"]),
        help_table(shown) if shown else "Nothing that was tried changes how many boxes are good.",
    ]
    rest = slight_sentences([gain for gain in helps.gains if slight(gain)])
    more = [*why_sentences(shown), *rest] if shown else []
    return "\n".join([*lines, *([folded(more)] if more else ())])
