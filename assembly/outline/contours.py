"""What a machine cuts, engraves or only shows, as records: contours by layer, in the order in which they are run.

layer   : what the machine does with a contour: CUT, ENGRAVE, BEND (a line to bend along), or REFERENCE (nothing at all)
shape   : a circle, a closed loop of straight and curved pieces, a straight line, or words
drawing : the contours of one job, the sheet lying flat before the machine

Millimetres, x to the right, y up, as one looks down on the sheet; the origin is the lower left corner of the part as it
will be, not of the path that the machine takes beside it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from itertools import chain
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # left, bottom, right, top

FLAT = 0.01  # mm; straight pieces keep at least so near to a curve


class Layer(StrEnum):
    """What is done with a contour, in the order in which layers are run."""

    ENGRAVE = "ENGRAVE"
    BEND = "BEND"
    CUT = "CUT"
    REFERENCE = "REFERENCE"


RUN = (Layer.ENGRAVE, Layer.BEND, Layer.CUT)  # what a machine runs: each has a file of its own


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A circle."""

    centre: Point
    radius: float

    @property
    def box(self) -> Box:
        """The rectangle that it takes up."""
        (x, y), r = self.centre, self.radius
        return x - r, y - r, x + r, y + r


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """A closed loop; each piece is where it ends, with the control point of its parabola before it if it is curved."""

    start: Point
    pieces: tuple[tuple[Point] | tuple[Point, Point], ...]

    @property
    def box(self) -> Box:
        """The rectangle that it takes up."""
        found, at = [self.start], self.start
        for piece in self.pieces:
            found += [piece[0]] if len(piece) == 1 else [piece[1], _farthest(at, *piece)]
            at = piece[-1]
        return _around(tuple(found))

    def points(self) -> tuple[Point, ...]:
        """Return the corners of straight pieces that keep within `FLAT` of it, each corner once."""
        found, at = [self.start], self.start
        for piece in self.pieces:
            found += [piece[0]] if len(piece) == 1 else _parabola(at, *piece)
            at = piece[-1]
        return tuple(found[:-1] if math.dist(found[-1], found[0]) < 1e-9 else found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight line."""

    start: Point
    end: Point

    @property
    def box(self) -> Box:
        """The rectangle that it takes up."""
        return _around((self.start, self.end))


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One line of words, for people: a machine never runs them."""

    text: str
    place: Point  # where the first letter starts, on the line that letters stand on
    height: float  # of a capital
    wide: float  # of the whole line

    @property
    def box(self) -> Box:
        """A rectangle that they stay within."""
        x, y = self.place
        return x, y - 0.4 * self.height, x + self.wide, y + 1.4 * self.height


Shape = Circle | Loop | Line | Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Contour:
    """A shape, what it is called, and what is done with it."""

    layer: Layer
    name: str
    shape: Shape


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """The contours of one job."""

    title: str
    contours: tuple[Contour, ...]

    def on(self, layer: Layer) -> tuple[Contour, ...]:
        """Return the contours of a layer, in the order in which they are run."""
        return tuple(contour for contour in self.contours if contour.layer == layer)

    def in_order(self) -> tuple[Contour, ...]:
        """Return all contours in the order in which they are run, those for people last."""
        return tuple(chain.from_iterable(map(self.on, Layer)))

    @property
    def box(self) -> Box:
        """The rectangle that all of it takes up."""
        return box_of(self.contours)

    def only(self, layer: Layer) -> Drawing:
        """Return the drawing of one layer alone."""
        return Drawing(title=self.title, contours=self.on(layer))


def box_of(contours: tuple[Contour, ...]) -> Box:
    """Return the rectangle that contours take up."""
    left, bottom, right, top = zip(*(contour.shape.box for contour in contours), strict=True)
    return min(left), min(bottom), max(right), max(top)


def box_of_loops(loops: tuple[Loop, ...]) -> Box:
    """Return the rectangle that loops take up."""
    left, bottom, right, top = zip(*(loop.box for loop in loops), strict=True)
    return min(left), min(bottom), max(right), max(top)


def rectangle(left: float, bottom: float, right: float, top: float) -> Loop:
    """Return a rectangle as a loop, anticlockwise."""
    return Loop(start=(left, bottom), pieces=(((right, bottom),), ((right, top),), ((left, top),)))


def moved(loop: Loop, size: float, off: Point) -> Loop:
    """Return a loop made `size` times as large about the origin, then moved by `off`."""

    def at(point: Point) -> Point:
        return off[0] + size * point[0], off[1] + size * point[1]

    return Loop(start=at(loop.start), pieces=tuple(tuple(map(at, piece)) for piece in loop.pieces))  # type: ignore[misc]


def _parabola(start: Point, control: Point, end: Point) -> Iterator[Point]:
    """Yield the ends of n equal pieces of a parabola; a chord leaves it by |start - 2 control + end| / (4 n²)."""
    bend = math.hypot(*(a - 2 * c + b for a, c, b in zip(start, control, end, strict=True)))
    count = max(1, math.ceil(math.sqrt(bend / (4 * FLAT))))
    for n in range(1, count + 1):
        t = n / count
        weights = ((1 - t) ** 2, 2 * t * (1 - t), t**2)
        x, y = (
            sum(w * p for w, p in zip(weights, axis, strict=True)) for axis in zip(start, control, end, strict=True)
        )
        yield x, y


def _farthest(start: Point, control: Point, end: Point) -> Point:
    """Return the x and the y at which a parabola turns back; its end where it does not."""

    def turning(a: float, c: float, b: float) -> float:
        bend = a - 2 * c + b
        t = (a - c) / bend if bend else 1.0
        return a + 2 * t * (c - a) + t**2 * bend if 0 < t < 1 else b

    x, y = (turning(*axis) for axis in zip(start, control, end, strict=True))
    return x, y


def _around(points: tuple[Point, ...]) -> Box:
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)
