"""Dimensions as they are drawn: arrows, extension lines and figures in rows beside a view, by the usual conventions.

strip : the room beside one edge of a view, below it or at its left, where its dimensions stand in rows
run   : a place along a strip, mm on the paper
rows  : the nearest holds what is shortest; none of a row's figures, arrows or lines meets another's

Where a dimension is too short for its figure, the arrows stand outside and point inwards, the figure beside one of
them (ISO 129-1). A figure that is to be checked with a caliper stands in a frame.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from viewer.sheets.page import Area, Pen, Stroke, Words, long, rectangle

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.planning.dimensions import Dimension
    from viewer.sheets.page import Item, Point

EM = 3.2  # of figures: capitals 2.3 mm high
FIRST, PITCH = 6.5, 6.5  # from the view's edge to the first row, and from row to row
_HEAD, _HALF = 2.3, 0.35  # length of an arrowhead, and half its width
_TAIL = 4.5  # of an arrow that stands outside
_GAP, _BEYOND = 0.8, 1.4  # of an extension line: off the edge, and beyond its arrow
_CLEAR = 1.0  # beside a figure
_OVER = 1.3  # of a figure over its line
_FRAME = 1.0  # of a caliper's frame beyond its figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """Where dimensions stand: beside the edge at `edge`, outward by `way` (1 down, -1 to the left)."""

    edge: float  # y of a lower edge, or x of a left one
    upright: bool  # whether it runs up the page, at the left

    def at(self, run: float, off: float) -> Point:
        """Return the place at `run` along the strip, `off` outward of its edge."""
        return (self.edge - off, run) if self.upright else (run, self.edge + off)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spanned:
    """A dimension with both its ends along a strip."""

    dimension: Dimension
    low: float
    high: float
    caliper: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A dimension as it is drawn."""

    dimension: Dimension
    line: tuple[Point, Point]  # from arrow tip to arrow tip
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Set:
    """A dimension with its place: the row, what it takes up in it, its figure's middle, and where its arrows stand."""

    spanned: Spanned
    row: int
    taken: tuple[float, float]
    figure: float
    outside: bool


def rows_of(spanned: Sequence[Spanned]) -> int:
    """Return how many rows dimensions take."""
    return max((one.row + 1 for one in _set(spanned)), default=0)


def deep(spanned: Sequence[Spanned], *, upright: bool) -> float:
    """Return how far out of the view's edge the dimensions of a strip reach, mm."""
    rows = rows_of(spanned)
    beyond = _OVER + 1.2 * EM if upright else _BEYOND + 0.6  # upright figures stand outward of their lines
    return FIRST + PITCH * (rows - 1) + beyond if rows else 0.0


def dimensioned(strip: Strip, spanned: Sequence[Spanned]) -> tuple[Drawn, ...]:
    """Return the dimensions of a strip as they are drawn."""
    return tuple(_drawn(strip, one) for one in _set(spanned))


def _set(spanned: Sequence[Spanned]) -> list[_Set]:
    """Return every dimension in its row, the shortest first."""
    ends = [end for one in spanned for end in (one.low, one.high)]
    found: list[_Set] = []
    for one in sorted(spanned, key=lambda each: (each.high - each.low, each.low)):
        choices = _choices(one, ends)
        row = 0
        while True:
            beside = [other.taken for other in found if other.row == row]
            free = [each for each in choices if all(_apart(each[0], other) for other in beside)]
            if free:
                taken, figure, outside = free[0]
                found.append(_Set(spanned=one, row=row, taken=taken, figure=figure, outside=outside))
                break
            row += 1
    return found


def _apart(one: tuple[float, float], two: tuple[float, float]) -> bool:
    return one[1] <= two[0] + 1e-6 or two[1] <= one[0] + 1e-6


def _wide(one: Spanned) -> float:
    """Return the width that a figure takes, with its frame."""
    return long(one.dimension.text, EM) + (2 * _FRAME if one.caliper else 0.0)


def _choices(one: Spanned, ends: Sequence[float]) -> list[tuple[tuple[float, float], float, bool]]:
    """Return the ways to draw a dimension, the best first: what it takes up, its figure's middle, arrows outside."""
    wide, span, middle = _wide(one), one.high - one.low, (one.low + one.high) / 2
    crossing = [end for end in ends if one.low + 1e-6 < end < one.high - 1e-6]
    reach, both = wide / 2 + _CLEAR / 2, (one.low - _TAIL, one.high + _TAIL)
    if span >= wide + 2 * _HEAD + _CLEAR:
        room = span / 2 - _HEAD - reach
        shifts = sorted((room * n / 6 for n in range(-6, 7)), key=abs)
        free = [shift for shift in shifts if all(abs(end - middle - shift) > reach for end in crossing)]
        return [((one.low, one.high), middle + (free or [0.0])[0], False)]
    found = [(both, middle, True)] if span >= wide + _CLEAR and not crossing else []
    for side, tip in ((-1, one.low), (1, one.high)):
        figure = _clear(tip + side * (_HEAD + 0.6 + wide / 2), side, reach, ends)
        low, high = min(both[0], figure - wide / 2 - 0.4), max(both[1], figure + wide / 2 + 0.4)
        found.append(((low if side < 0 else both[0], high if side > 0 else both[1]), figure, True))
    centre = (min(ends) + max(ends)) / 2  # outward figures of two strips would meet at their corner
    return sorted(found, key=lambda each: (each[1] != middle, abs(each[1] - centre)))


def _clear(figure: float, side: int, reach: float, ends: Sequence[float]) -> float:
    """Return the first place outward of `figure` at which no extension line passes through a figure."""
    for end in sorted(ends, key=lambda place: side * place):
        if abs(end - figure) < reach:
            figure = end + side * reach
    return figure


def _drawn(strip: Strip, one: _Set) -> Drawn:
    off, spanned = FIRST + PITCH * one.row, one.spanned
    low, high = spanned.low, spanned.high
    line = strip.at(low, off), strip.at(high, off)
    items: list[Item] = [
        Stroke(points=(strip.at(end, _GAP), strip.at(end, off + _BEYOND)), pen=Pen.DIMENSION) for end in (low, high)
    ]
    items.append(Stroke(points=line, pen=Pen.DIMENSION))
    if one.outside:
        first, last = one.taken
        items += [
            Stroke(points=(strip.at(first, off), strip.at(low, off)), pen=Pen.DIMENSION),
            Stroke(points=(strip.at(high, off), strip.at(last, off)), pen=Pen.DIMENSION),
        ]
    inward = -1 if one.outside else 1
    items += [_head(strip, low, inward, off), _head(strip, high, -inward, off)]
    items += _figure(strip, one, off)
    return Drawn(dimension=spanned.dimension, line=line, items=tuple(items))


def _head(strip: Strip, tip: float, way: int, off: float) -> Area:
    """Return an arrowhead with its tip at `tip`, which it reaches from the side `way` points to."""
    corners = ((tip, 0.0), (tip + way * _HEAD, _HALF), (tip + way * _HEAD, -_HALF))
    return Area(loops=(tuple(strip.at(run, off + aside) for run, aside in corners),), fill=0.0)


def _figure(strip: Strip, one: _Set, off: float) -> list[Item]:
    """Return a figure over its line, and the frame of one to be checked with a caliper."""
    text = one.spanned.dimension.text
    place = strip.at(one.figure, off + (_OVER if strip.upright else -_OVER))
    words = Words(text=text, place=place, em=EM, anchor="middle", turned=strip.upright)
    if not one.spanned.caliper:
        return [words]
    x0, y0, x1, y1 = words.box
    wide, high = (0.3, _FRAME) if strip.upright else (_FRAME, 0.3)
    return [words, rectangle((x0 - wide, y0 - high, x1 + wide, y1 + high), Pen.PENCIL)]
