"""The sizes of a step: what each is and where it is measured from, and how it is drawn beside the part.

size    : a figure that the maker works to
datum   : from where a size is measured
measure : a size with its two ends on a face, the datum first; drawn as a line with arrows, its figure beside it
away    : unit vector from the part to where the measure is drawn, in the plane of a face that is seen
label   : what is written beside a hole that is drilled: its diameter, and how deep it is or that it goes through
name    : what a marked line is called, and the two ends beside one of which the name is written
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Literal

from assembly.text import decimal

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assembly.nominal.fittings import Hole
    from assembly.nominal.plaque import BentPlaque, Point
    from assembly.planning.marks import Block, Line, Wall
    from assembly.planning.wall_faces import Face

_DOWN: Point = (0.0, 0.0, -1.0)

Quantity = Literal["distance", "length", "width", "thickness", "diagonal", "depth", "diameter"]


class Datum(StrEnum):
    """From where a size is measured."""

    ROUGH_END = "rough end"
    DATUM_LINE = "datum line"
    MARKED_LINE = "marked line"
    FINISHED_END = "finished end"
    FACE_SIDE = "face side"
    OUTSIDE_FACE = "outside face"
    TOP = "upper face"
    TOP_EDGE = "top edge"
    CENTRE = "centre"
    SIDE_EDGES = "left and right edges"
    FRONT_AND_BACK_EDGES = "front and back edges"
    FREE_EDGE = "flat leg's free edge"
    LID_EDGE = "lid's edge away from the bend"
    CORNER = "outside corner"
    STOCK = "gauge's stock"
    TIP = "bit's tip"
    HOLE = "hole's rim"
    MATE = "face beside it"


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """A figure that the maker works to."""

    of: Quantity
    mm: float
    datum: Datum | None = None  # None for a size of the thing itself


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A size between two points of a part; mm, where the closed box has the part."""

    part: str
    start: Point
    end: Point
    away: Point

    @property
    def size(self) -> float:
        """The size itself, mm."""
        return math.dist(self.start, self.end)

    @property
    def text(self) -> str:
        """The size as it is written beside the part: mm, to a tenth where it is no finer."""
        return decimal(round(self.size, 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Name:
    """What a line on a part is called; its name is written beyond one of the line's ends."""

    part: str
    face: Face  # that the line is on
    text: str
    start: Point
    end: Point


def bores(holes: Iterable[Hole], datum: Datum = Datum.TOP) -> tuple[Size, ...]:
    """Return the diameters of holes, and the depths of blind ones from a datum, each once, in their order."""
    holes = tuple(holes)
    wide = (Size(of="diameter", mm=hole.diameter) for hole in holes)
    deep = (Size(of="depth", mm=hole.depth, datum=datum) for hole in holes if hole.blind)
    return tuple(dict.fromkeys((*wide, *deep)))


def hole_label(hole: Hole) -> str:
    """Return a hole's label; for one in the middle of its face, which no rule measures, its place too."""
    wide = f"⌀{decimal(round(hole.diameter, 2))}"
    if hole.use == "countersink":
        return f"{wide} countersink, {decimal(round(hole.depth, 2))} deep"
    through = f", {decimal(round(hole.depth, 2))} deep" if hole.blind else " through"
    return f"{wide}{through}" + (", in the centre" if hole.use in {"cable", "centre"} else "")


def along_foot(wall: Wall, start: float, end: float) -> Measure:
    """Return a measure along a wall's face side, drawn beyond its bottom edge."""
    foot = -wall.height / 2
    return Measure(part=wall.part, start=wall.point(start, 0, foot), end=wall.point(end, 0, foot), away=_DOWN)


def letter_measure(wall: Wall, inset: float) -> Measure:
    """Return how far the corner letters are from the rough end."""
    rough = -wall.length / 2 - wall.allowance
    return along_foot(wall, rough, rough + inset)


def datum_measure(wall: Wall) -> Measure:
    """Return how far the datum line is from the rough end."""
    return along_foot(wall, -wall.length / 2 - wall.allowance, -wall.length / 2)


def length_measure(wall: Wall) -> Measure:
    """Return the finished length, from the datum line."""
    return along_foot(wall, -wall.length / 2, wall.length / 2)


def shoulder_measure(wall: Wall, sign: int) -> Measure:
    """Return how far the shoulder line is from the finished end: datum end (-1) or far end (1)."""
    end = sign * wall.length / 2
    return along_foot(wall, end, end - sign * wall.shoulder)


def gauge_measures(wall: Wall, *, inside: bool) -> tuple[Measure, ...]:
    """Return how far the gauge line is from the face that the gauge runs along, at both ends of the bottom edge."""
    found = []
    face = 0.0 if inside else wall.thickness
    for sign in (-1, 1):
        end, foot = sign * wall.length / 2, -wall.height / 2
        away = (sign * wall.way[0], sign * wall.way[1], 0.0)
        start, stop = wall.point(end, face, foot), wall.point(end, wall.depth, foot)
        found.append(Measure(part=wall.part, start=start, end=stop, away=away))
    return tuple(found)


def sheet_measures(sheet: Block, *, top: bool) -> tuple[Measure, Measure]:
    """Return a sheet's two sizes, drawn beyond its front edge and one side."""
    (x0, y0, z0), (x1, y1, z1) = sheet.low, sheet.high
    z, x, side = (z1, x1, 1.0) if top else (z0, x0, -1.0)
    return (
        Measure(part=sheet.part, start=(x0, y0, z), end=(x1, y0, z), away=(0.0, -1.0, 0.0)),
        Measure(part=sheet.part, start=(x, y0, z), end=(x, y1, z), away=(side, 0.0, 0.0)),
    )


def screw_measures(lid: Block, screws: tuple[Hole, ...]) -> tuple[Measure, ...]:
    """Return how far each of the lid's screw holes is from the edge beside it."""
    found = []
    for hole in screws:
        x, y, z = hole.centre
        if abs(y) > abs(x):
            start, away = (x, lid.low[1] if y < 0 else lid.high[1], z), (-1.0, 0.0, 0.0)
        else:
            start, away = (lid.low[0] if x < 0 else lid.high[0], y, z), (0.0, -1.0, 0.0)
        found.append(Measure(part=hole.part, start=start, end=hole.centre, away=away))
    return tuple(found)


def pilot_measures(plaque: BentPlaque, pilots: tuple[Hole, ...]) -> tuple[Measure, ...]:
    """Return how far the plaque's screw holes are to either side, on the line through them."""
    x, y = (sum(hole.centre[axis] for hole in pilots) / len(pilots) for axis in (0, 1))
    away = (-abs(plaque.along[1]), -abs(plaque.along[0]), 0.0)
    return tuple(Measure(part=hole.part, start=(x, y, hole.centre[2]), end=hole.centre, away=away) for hole in pilots)


def plaque_hole_measures(plaque: BentPlaque, holes: Iterable[Hole]) -> tuple[Measure, ...]:
    """Return where the plaque's holes are: how far from the flat leg's free edge, and from its middle on their line."""
    found: dict[float, Measure] = {}
    beside = []
    along, towards = ((*plaque.along, 0.0), (*plaque.towards, 0.0))
    for hole in holes:
        x, y, z = hole.centre
        u, v = (x * way[0] + y * way[1] for way in (towards, along))
        back = u - (plaque.apex - plaque.flat_leg)
        edge = (x - back * towards[0], y - back * towards[1], z)
        side = 1.0 if v > 0 else -1.0
        away = (side * along[0], side * along[1], 0.0)
        found.setdefault(round(u, 6), Measure(part=hole.part, start=edge, end=hole.centre, away=away))
        if round(v, 6):
            middle = (x - v * along[0], y - v * along[1], z)
            beside.append(Measure(part=hole.part, start=middle, end=hole.centre, away=(towards[0], towards[1], 0.0)))
    return (*found.values(), *beside)


def bend_measure(plaque: BentPlaque) -> Measure:
    """Return how far the bend line is from the flat leg's free edge."""
    z, side = plaque.underside + plaque.thickness, plaque.width / 2
    edge = plaque.apex - plaque.flat_leg
    sign = 1.0 if plaque.along[0] + plaque.along[1] > 0 else -1.0  # to the right, or to the back
    (x0, y0, _), (x1, y1, _) = (plaque.place(sign * side, u, 0.0) for u in (edge, edge + plaque.bend_line))
    away = (sign * plaque.along[0], sign * plaque.along[1], 0.0)
    return Measure(part="plaque", start=(x0, y0, z), end=(x1, y1, z), away=away)


def diagonal_measures(along_x: float, along_y: float, z: float) -> tuple[Measure, Measure]:
    """Return both diagonals of a frame over its top edges, from outside corner to outside corner."""
    x, y = along_x / 2, along_y / 2
    return (
        Measure(part="left wall", start=(-x, -y, z), end=(x, y, z), away=(0.0, 0.0, 0.0)),
        Measure(part="left wall", start=(-x, y, z), end=(x, -y, z), away=(0.0, 0.0, 0.0)),
    )


def named(text: str, lines: tuple[Line, ...], face: Face) -> tuple[Name, ...]:
    """Return the name of the first line on a face of each part."""
    first: dict[str, Line] = {}
    for line in lines:
        if line.face == face:
            first.setdefault(line.part, line)
    return tuple(Name(part=part, face=face, text=text, start=line.start, end=line.end) for part, line in first.items())
