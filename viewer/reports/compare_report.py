"""What differs between two designs or workshops, in words, as a table and as data; second less first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.model.outcomes import OUTCOMES
from viewer.reports.check_report import folded, heading_of, limit_words, table, unit_of
from viewer.reports.rounding import FINEST, percent, rounded, with_interval

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.compare import Comparison, OutcomeDifference
    from assembly.study.intervals import Estimate

ALIKE = 1e-9  # mm or share: an interval narrower than that is one number, rounding aside


def _formatted(difference: Estimate, scale: float, finest: int) -> tuple[str, str]:
    """Return a difference and its interval, with signs; no interval where all boxes differ alike."""
    if abs(difference.high - difference.low) < ALIKE:
        return rounded(scale * difference.value, finest).signed, "in every box"
    value, low, high = with_interval(difference.times(scale), finest)
    if value == low == high:
        return value.signed, f"under ±{10.0**-finest:.{finest}f}"
    return value.signed, f"{low.signed} to {high.signed}"


def _scale(name: str) -> tuple[float, int]:
    """Return what an outcome is multiplied by to be printed, and the decimals that it has at the most."""
    return unit_of(name).times, 1 if OUTCOMES[name].unit == "1" else FINEST


def _ends(outcome: OutcomeDifference) -> list[float]:
    return [end for each in (outcome.median, outcome.mean) for end in (each.value, each.low, each.high)]


def same(outcome: OutcomeDifference) -> bool:
    """Tell whether an outcome came out the same in every box: no difference, and no spread of it."""
    return not any(_ends(outcome))


def negligible(name: str, outcome: OutcomeDifference) -> bool:
    """Tell whether an outcome differs by less than is printed of it, all intervals included."""
    scale, finest = _scale(name)
    return all(abs(scale * end) < 0.5 * 10.0**-finest for end in _ends(outcome))


def difference_table(found: Comparison) -> str:
    """Return what changes in an outcome: median and mean, each with its paired interval; then what does not change."""
    rows, alike, slight = [], [], []
    for name, outcome in found.outcomes.items():
        label = OUTCOMES[name].label
        if same(outcome):
            alike.append(label)
        elif negligible(name, outcome):
            slight.append(label)
        else:
            rows.append(
                (heading_of(name), *_formatted(outcome.median, *_scale(name)), *_formatted(outcome.mean, *_scale(name)))
            )
    lines = [table(("outcome", "median", "95 % interval", "mean", "95 % interval"), rows, words=(0,))] if rows else []
    lines += [folded([f"Too small a difference to show: {', '.join(slight)}."])] if slight else []
    lines += [folded([f"The same in both: {', '.join(alike)}."])] if alike else []
    return "\n".join(lines)


def judgement(difference: Estimate, makers: int) -> str:
    """Return which of the two is better, by the interval; under one box in a class they are about the same."""
    low, high = makers * difference.low, makers * difference.high
    about = f"The two are about the same for a class of {makers:,}."
    if difference.low <= 0 <= difference.high:
        narrow = makers > 1 and low > -1 and high < 1
        return about if narrow else "Too close to call: this many boxes can't show which is better."
    if makers > 1 and abs(makers * difference.value) < 1:
        return about
    return "The second is better." if difference.low > 0 else "The first is better."


def limits_words(first: Design, second: Design) -> list[str]:
    """Return how the limits that two designs set differ, as each is judged by its own; nothing where they do not."""
    mine, its = ({name: getattr(each.limits, name) for name in OUTCOMES} for each in (first, second))
    sides = []
    for which, here, there in (("second", mine, its), ("first", its, mine)):
        missing = [OUTCOMES[name].label for name in OUTCOMES if here[name] is not None and there[name] is None]
        sides += [f"missing in the {which}: {', '.join(missing)}"] if missing else []
    other = [
        f"{outcome.label} ({', then '.join(limit_words(each[name], outcome.unit) for each in (mine, its))})"
        for name, outcome in OUTCOMES.items()
        if None not in {mine[name], its[name]} and mine[name] != its[name]
    ]
    sides += [f"set otherwise: {', '.join(other)}"] if other else []
    if not sides:
        return []
    return [f"The two do not set the same limits, and each is judged by its own; {'; '.join(sides)}."]


def alone_words(first: Design, second: Design) -> list[str]:
    """Return the outcomes that only one of two designs has, which can't be compared; nothing where there are none."""
    pairs = (("first", first, second), ("second", second, first))
    alone = {
        which: [e.label for name, e in one.outcomes.items() if name not in other.outcomes]
        for which, one, other in pairs
    }
    sides = [f"only the {which} has: {', '.join(labels)}" for which, labels in alone.items() if labels]
    return [f"Not compared; {'; '.join(sides)}."] if sides else []


def compare_text(
    first: tuple[Design, Workshop], second: tuple[Design, Workshop], found: Comparison, then: Sequence[str] = ()
) -> str:
    """Return the whole answer of `lapwright compare`; `then` are the changes to the second alone."""
    names = [f"{design.name}, made by {workshop.name}" for design, workshop in (first, second)]
    names[1] += f", with {', '.join(then)}" if then else ""
    makers = second[0].makers
    lines = [
        f"First:  {names[0]}: {percent(found.first)} of boxes keep every limit",
        f"Second: {names[1]}: {percent(found.second)}",
        *limits_words(first[0], second[0]),
        _difference_words(found, makers),
        f"The intervals are of 95 %, paired: both made {found.boxes:,} times by the same hands (seed {found.seed}).",
    ]
    rest = folded(alone_words(first[0], second[0]))
    text = [folded(lines), "", "What changes, second less first", difference_table(found)]
    return "\n".join([*text, *([rest] if rest else [])])


def _difference_words(found: Comparison, makers: int) -> str:
    """Return how the shares differ, in points and in boxes of a class, and which is better."""
    points, between = _formatted(found.pass_share, 100, 1)
    boxes, boxes_between = _formatted(found.pass_share, makers, 1)
    return (
        f"Second less first: {points} percentage points ({between}); in a class of {makers:,}, {boxes} boxes "
        f"({boxes_between}). {judgement(found.pass_share, makers)}"
    )
