"""The likeliest bad box in the shop's words, and how many boxes are as bad."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from assembly.model.outcomes import OUTCOMES
from assembly.nominal.frame import CORNERS, LAPPED_AT, PLAIN_AT, WALLS, corner_words
from viewer.reports.check_report import limit_words
from viewer.reports.rounding import UNITS

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.made.records import SettledBox
    from assembly.nominal.frame import Frame
    from assembly.rare.likeliest import BadBoxes
    from assembly.rare.sizes import Off
    from assembly.rare.space import BrokenLimit
    from assembly.study.intervals import Estimate

NAMED, ENOUGH, LEAST = 3, 0.6, 0.05  # features that are named at most; the share that they need; of each at least
RAREST = 1_000_000  # boxes; what is rarer is called rarer than that

_EDGES = {
    "": "",
    "top": " at the top",
    "bottom": " at the bottom",
    "inner": " at the inside",
    "outer": " at the outside",
}
_OF_END = {"": "", "top": ", at the top", "bottom": ", at the bottom", "inner": ", inside", "outer": ", outside"}
_WAYS = {"base place": "the base glued", "lid place": "the lid fixed"}
_AXES = (("to the right", "to the left"), ("to the back", "to the front"))
_TURNED_AXES = (("to the front", "to the back"), ("to the right", "to the left"))
_HOLES = ("cable hole", "lid's centre hole", "lid's hole for one plaque screw", "lid's hole for the other plaque screw")
_PLAQUE_HOLES = ("stem", "one screw", "other screw")
# What a feature is called, and what is said of it where it is over or under what is drawn.
_SAID = {
    "cheek": ("the {corner} lap chiselled {size} too {way}{edge}", "shallow", "deep"),
    "shoulder": ("the {corner} lap cut {size} too {way} for its wall{edge}", "narrow", "wide"),
    "plain end": ("the {plain} wall {size} {way} at its {plain_end} end{of_end}", "long", "short"),
    "lapped end": ("the {lapped} wall {size} {way} at its {lapped_end} end{of_end}", "long", "short"),
    "thickness": ("the {wall} wall {size} too {way}", "thick", "thin"),
    "height": ("the {wall} wall {size} too {way}", "high", "low"),
    "bow": ("the {bent} wall bowed {size} {way}", "outward", "inward"),
    "twist": ("the {bent} wall twisted, {size} out over its height{way}", "", ""),
    "base edge": ("the base {size} {way} at the {wall} wall", "proud", "shy"),
    "lid edge": ("the lid {size} too {way} at the {wall} wall", "large", "small"),
    "hole": ("the {hole} {size} off its place{way}", "", ""),
    "plaque hole": ("the plaque's {plaque_hole} hole {size} off its place{way}", "", ""),
    "kerf": ("the laser's cut {size} {way}", "wide", "narrow"),
    "leg": ("the plaque's leg {size} {way}", "long", "short"),
    "angle": ("the plaque's bend {size} degrees {way}", "over", "under"),
}


def off_words(off: Off, box: Frame | None = None) -> str:
    """Return one feature that is off, in words; named as on the drawing of `box`, else as in its frame of reference.

    Examples
    --------
    >>> from assembly.rare.sizes import Off
    >>> off_words(Off(feature="cheek", at=2, edge="", size=0.52, share=0.5))
    'the left-back (C) lap chiselled 0.5 too shallow'
    >>> off_words(Off(feature="plain end", at=2, edge="top", size=-0.58, share=0.5))
    'the back wall 0.6 short at its left end, at the top'
    """
    size = f"{abs(off.size):.1f}" if abs(off.size) >= 0.095 else f"{abs(off.size):.2f}"
    if off.feature in _WAYS:
        axes = _TURNED_AXES if box and box.turned else _AXES
        return f"{_WAYS[off.feature]} {size} {axes[off.at][off.size < 0]}"
    walls, corners = (box.walls, box.corners) if box else (WALLS, CORNERS)
    pattern, over, under = _SAID[off.feature]
    names = {
        "way": over if off.size > 0 else under,
        "size": size,
        "edge": _EDGES[off.edge],
        "of_end": _OF_END[off.edge],
    }
    if off.feature in {"cheek", "shoulder", "plain end", "lapped end"}:
        side, depth, corner = walls[LAPPED_AT[off.at]], walls[PLAIN_AT[off.at]], corner_words(corners[off.at])
        names |= {"corner": corner, "plain": depth, "plain_end": side, "lapped": side, "lapped_end": depth}
    elif off.feature in {"thickness", "height", "base edge", "lid edge"}:
        names["wall"] = walls[off.at]
    elif off.feature in {"bow", "twist"}:
        names["bent"] = walls[2 + off.at]
    elif off.feature == "hole":
        names["hole"] = (*_HOLES, *(f"hole for the {wall} lid screw" for wall in walls[:2]))[off.at]
    elif off.feature == "plaque hole":
        names["plaque_hole"] = _PLAQUE_HOLES[off.at]
    return pattern.format(**names)


def told_of(offs: Sequence[Off]) -> list[Off]:
    """Return the features to name: the weightiest, until they have enough of the share or are enough."""
    chosen: list[Off] = []
    for off in offs:
        if len(chosen) == NAMED or sum(each.share for each in chosen) >= ENOUGH or (chosen and off.share < LEAST):
            break
        if abs(off.size) >= 0.005:
            chosen.append(off)
    return chosen


def all_words(offs: Sequence[Off], box: Frame | None = None) -> str:
    """Return what is off in a box as part of a sentence."""
    words = [off_words(off, box) for off in told_of(offs)]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def bad_box_words(known: BadBoxes, offs: Sequence[Off], box: SettledBox) -> str:
    """Return what is said beside a drawing of the likeliest bad box: its limit, what is off, how many are as bad."""
    limit = limit_broken(known.broken)
    what = all_words(offs, box.frame) or "even the usual box breaks it"
    return f"The likeliest box to miss this limit: {limit}. In it {what}; {boxes_in(known.share)} at least as bad."


def limit_broken(broken: BrokenLimit) -> str:
    """Return what is broken: a joint and its limit, or an outcome and its limit."""
    if broken.joint is not None:
        return f"{corner_words(broken.joint)} joint, gap {limit_words(broken.limit, 'mm')} mm"
    outcome = OUTCOMES[broken.row]
    sign = "" if outcome.unit == "1" else UNITS[outcome.unit].sign  # a share has its percent in its limit
    return f"{outcome.label}, {limit_words(broken.limit, outcome.unit)}{sign}"


def boxes_in(share: Estimate) -> str:
    """Return a share as one box in so many, with the interval, or in 100 where it is over a third, and the verb.

    Examples
    --------
    >>> from assembly.study.intervals import Estimate, Interval
    >>> boxes_in(Estimate(value=1.9e-4, low=1.6e-4, high=2.2e-4, interval=Interval.WEIGHED))
    'about 1 box in 5,300 (4,500 to 6,200) is'
    """
    if share.value > 1 / 3:
        low, value, high = (round(100 * at) for at in (share.low, share.value, share.high))
        return f"about {value} boxes in 100 ({low} to {high}) are"
    if share.value < 1 / RAREST:
        bound = share.high if share.value == 0 else 1 / RAREST
        return f"fewer than 1 box in {_count(max(bound, 1 / RAREST), math.floor)} is"
    least, most = _count(share.high), _count(share.low) if share.low >= 1 / RAREST else "a million"
    between = "" if least == most else f" ({least} to {most})"
    return f"about 1 box in {_count(share.value)}{between} is"


def _count(share: float, whole: Callable[[float], int] = round) -> str:
    """Return of how many boxes one has a share, to two digits."""
    boxes = 1 / share
    step = 10 ** max(0, math.floor(math.log10(boxes)) - 1)
    return f"{whole(boxes / step) * step:,}"
