"""What differs between two designs or workshops, in words, as a table and as data; second less first."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from assembly.design import FITTING_OUTCOMES, FRAME_OUTCOMES
from viewer.causes_report import signed
from viewer.figures import percent, with_interval
from viewer.report import OUTCOMES, UNITS, folded, table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.design import Design
    from assembly.tolerance.compare import Comparison, Difference
    from assembly.workshop import Workshop

_UNITS = FRAME_OUTCOMES | FITTING_OUTCOMES


def _told(difference: Difference, scale: float, finest: int) -> tuple[str, str]:
    """Return a difference and its interval, with signs."""
    value, low, high = with_interval(scale * difference.value, scale * difference.low, scale * difference.high, finest)
    return signed(value), f"{signed(low)} to {signed(high)}"


def difference_table(found: Comparison) -> str:
    """Return what changes in every outcome: median and mean, each with its paired interval."""
    rows = []
    for name, outcome in found.outcomes.items():
        scale, finest = (100, 1) if _UNITS[name] == "1" else (1, 3)
        label = f"{OUTCOMES[name].label},{UNITS[_UNITS[name]].replace('°', ' degrees')}"
        rows.append((label, *_told(outcome.median, scale, finest), *_told(outcome.mean, scale, finest)))
    return table(("outcome", "median", "95 % interval", "mean", "95 % interval"), rows, words=(0,))


def judgement(difference: Difference) -> str:
    """Return which of the two is better, by the interval."""
    if difference.low > 0:
        return "The second is better."
    return "The first is better." if difference.high < 0 else "So many boxes can't tell which is better."


def compare_text(
    first: tuple[Design, Workshop], second: tuple[Design, Workshop], found: Comparison, then: Sequence[str] = ()
) -> str:
    """Return the whole answer of `lapwright compare`; `then` are the changes to the second alone."""
    names = [f"{design.name}, made by {workshop.name}" for design, workshop in (first, second)]
    names[1] += f", with {', '.join(then)}" if then else ""
    points, between = _told(found.pass_share, 100, 1)
    makers = second[0].makers
    boxes, boxes_between = _told(found.pass_share, makers, 1)
    points_told = (
        f"Second less first: {points} percentage points ({between}); in a class of {makers:,}, {boxes} boxes "
        f"({boxes_between}). {judgement(found.pass_share)}"
    )
    lines = [
        f"First:  {names[0]}: {percent(found.first)} of boxes keep every limit",
        f"Second: {names[1]}: {percent(found.second)}",
        points_told,
        f"The intervals are of 95 %, paired: both made {found.boxes:,} times by the same hands (seed {found.seed}).",
    ]
    return "\n".join([folded(lines), "", "What changes, second less first", difference_table(found)])


def compare_data(first: tuple[Design, Workshop], second: tuple[Design, Workshop], found: Comparison) -> dict[str, Any]:
    """Return what `lapwright compare --json` prints; the README documents every key."""
    told = asdict(found)
    partial = told.pop("partial")
    names = [{"design": design.name, "workshop": workshop.name} for design, workshop in (first, second)]
    told["first"], told["second"] = names[0] | {"pass": told["first"]}, names[1] | {"pass": told["second"]}
    return {**told, "partial": partial}
