"""What differs between two designs or workshops: which is better, by how many boxes of a class and how sure that is.

The typical box's changes follow; with details come means, medians and paired intervals, second less first.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from assembly.model.outcomes import OUTCOMES
from viewer.reports.check_report import folded, heading_of, limit_words, table, unit_of
from viewer.reports.rounding import FINEST, counted, percent, rounded, with_interval

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.compare import Comparison, OutcomeDifference
    from assembly.study.intervals import Estimate
    from viewer.reports.rounding import Written

MORE = "Means, intervals and percentage points: the same command with --details."
ALIKE = 1e-9  # mm or share: an interval narrower than that is one number, rounding aside


def _in_every_box(difference: Estimate) -> bool:
    return abs(difference.high - difference.low) < ALIKE


def _formatted(difference: Estimate, scale: float, finest: int) -> tuple[str, str]:
    """Return a difference and its interval, with signs; no interval where all boxes differ alike."""
    if _in_every_box(difference):
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
    rows, slight = [], []
    for name, outcome in _differing(found).items():
        if negligible(name, outcome):
            slight.append(name)
        else:
            rows.append(
                (heading_of(name), *_formatted(outcome.median, *_scale(name)), *_formatted(outcome.mean, *_scale(name)))
            )
    heads = ("outcome", "median", "95 % interval", "mean", "95 % interval")
    return _with_the_rest(found, heads, rows, {"Too small a difference to show": slight})


def typical_table(found: Comparison) -> str:
    """Return how the typical box changes, outcome by outcome, as far as the boxes surely show it; then the others."""
    rows, slight, unsure = [], [], []
    for name, outcome in _differing(found).items():
        scale, finest = _scale(name)
        median = outcome.median.times(scale)
        change = rounded(median.value, finest) if _in_every_box(outcome.median) else with_interval(median, finest)[0]
        if max(abs(median.low), abs(median.high)) < 10.0**-finest:
            slight.append(name)
        elif median.low <= 0 <= median.high or not change.value:
            unsure.append(name)
        else:
            rows.append((heading_of(name), change.signed))
    rest = {"Next to nothing, either way": slight, "Too close to call": unsure}
    return _with_the_rest(found, ("outcome", "change"), rows, rest)


def _differing(found: Comparison) -> dict[str, OutcomeDifference]:
    return {name: outcome for name, outcome in found.outcomes.items() if not same(outcome)}


def _with_the_rest(
    found: Comparison, heads: Sequence[str], rows: Sequence[Sequence[str]], rest: Mapping[str, Sequence[str]]
) -> str:
    """Return a table, then outcomes that have no row, by what is said of them."""
    lines = [table(heads, rows, words=(0,))] if rows else []
    alike = {"The same in both": [name for name, outcome in found.outcomes.items() if same(outcome)]}
    said = [
        f"{words}: {', '.join(OUTCOMES[name].label for name in names)}."
        for words, names in {**rest, **alike}.items()
        if names
    ]
    return "\n".join([*lines, *([folded(said)] if said else [])])


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


def more_words(difference: Estimate, makers: int) -> str:
    """Return how many more boxes are good with the better one, and how sure that is; of 100 boxes where no class is."""
    first = difference.value < 0
    if first:
        difference = replace(difference, value=-difference.value, low=-difference.high, high=-difference.low)
    of, where = (makers, f"In a class of {makers:,}") if makers > 1 else (100, "Of 100 boxes")
    value, low, high = with_interval(difference.times(of), 1)
    boxes = f"{_size(value)} {_way(value)} boxes" if value.value else "as many boxes"
    good = f"{where}, {boxes} are good with the {'first' if first and value.value else 'second'}"
    if value == low == high:
        return f"{good}, to a tenth of a box."
    near, far = sorted((low, high), key=lambda each: abs(each.value)) if low.value * high.value > 0 else (low, high)
    between = f"{_size(near)}{'' if _way(near) == _way(far) else f' {_way(near)}'} to {_size(far)} {_way(far)}"
    return f"{good}: {between} in 95 of 100 such trials."


def _size(boxes: Written) -> str:
    return str(replace(boxes, value=abs(boxes.value)))


def _way(boxes: Written) -> str:
    return "fewer" if boxes.value < 0 else "more"


def compare_text(
    first: tuple[Design, Workshop],
    second: tuple[Design, Workshop],
    found: Comparison,
    then: Sequence[str] = (),
    *,
    hint: str = "",
    details: bool = False,
) -> str:
    """Return the whole answer of `lapwright compare`.

    `then` are the changes to the second alone, `hint` is what has both made in the first's workshop; empty where the
    workshops were chosen for this comparison.
    """
    names = [f"{design.name}, made by {workshop.name}" for design, workshop in (first, second)]
    names[1] += f", with {', '.join(then)}" if then else ""
    makers = second[0].makers
    good = [_good(share, each[0].makers) for share, each in ((found.first, first), (found.second, second))]
    lines = [
        f"First:  {names[0]}: {percent(found.first)} of boxes keep every limit{good[0]}",
        f"Second: {names[1]}: {percent(found.second)}{good[1]}",
        *limits_words(first[0], second[0]),
        "",
        f"{judgement(found.pass_share, makers)} {more_words(found.pass_share, makers)}",
        *_made(first[1], second[1], found, hint),
    ]
    rest = folded(alone_words(first[0], second[0]))
    text = [
        folded(lines),
        "",
        *(_in_detail(found, makers, same_makers(first[1], second[1])) if details else _in_short(found)),
    ]
    return "\n".join([*text, *([rest] if rest else []), *([] if details else ["", MORE])])


def same_makers(first: Workshop, second: Workshop) -> bool:
    """Tell whether two workshops are one, changes to it aside."""
    return first.name == second.name


def _made(first: Workshop, second: Workshop, found: Comparison, hint: str) -> list[str]:
    """Return by whom both were made, and how to have them made by the same."""
    times, seed = f"{found.boxes:,} times", f"(seed {found.seed})"
    if same_makers(first, second):
        return [f"Both were made {times} by the same hands {seed}."]
    ask = [f"Not the same makers: to ask which is easier for one class, add {hint}"] if hint else []
    return [f"Both were made {times}, each by its own makers, with the same luck {seed}.", *ask]


def _good(share: Estimate, makers: int) -> str:
    """Return about how many boxes of a class are good; nothing where there is none."""
    return f", about {counted(share.times(makers), makers)} of {makers:,}" if makers > 1 else ""


def _in_short(found: Comparison) -> list[str]:
    return ["What changes in a typical box, from the first to the second", typical_table(found)]


def _in_detail(found: Comparison, makers: int, same: bool) -> list[str]:  # noqa: FBT001
    """Return how the shares differ, in points and in boxes of a class, and every outcome's median and mean."""
    points, between = _formatted(found.pass_share, 100, 1)
    boxes, boxes_between = _formatted(found.pass_share, makers, 1)
    paired = "the same hands made both" if same else "the same luck in both"
    shares = (
        f"Second less first: {points} percentage points ({between}); in a class of {makers:,}, {boxes} boxes "
        f"({boxes_between}). The intervals are of 95 %, paired: {paired}."
    )
    return [folded([shares]), "", "What changes, second less first", difference_table(found)]
