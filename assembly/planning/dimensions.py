"""The dimensions of every different part as records: what a sheet prints and, with holes, all that the part is made to.

feature   : a place on one axis of a part that is marked or made: an end, a line, a face, the middle of a hole
dimension : the distance between two features of one axis
reference : a dimension that follows from others; in brackets on paper, and nobody works to it (ISO 129-1)
centred   : a place half-way between two others, which nobody measures: diagonals find it

Of each part and axis the dimensions, references left out, form a tree: every feature is reached, and in one way only.
Lengths are millimetres. Places on a wall count along it from its middle, away from its datum end; deep from the face
side; up from its middle. Places on a sheet are those on the drawing: along to the right, up to the back, deep from the
underside. The plaque is told flat, as it lies before it is bent.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from assembly.nominal.blanks import ALLOWANCE
from assembly.nominal.fittings import fittings
from assembly.nominal.frame import frame
from assembly.planning.flat_plaque_steps import flat_sheet
from assembly.planning.marks import bench_walls
from assembly.text import decimal

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.nominal.fittings import Fittings, Hole, PlacedSheet
    from assembly.nominal.plaque import BentPlaque
    from assembly.planning.marks import Wall

Axis = Literal["along", "up", "deep"]
How = Literal["measured", "reference", "centred"]
DECIMALS = 1  # of a printed figure, mm
_SAME = 0.005  # mm; features no further apart are one


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature:
    """A place on one axis of a part."""

    axis: Axis
    name: str
    at: float  # mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """A distance from one feature of a part to another."""

    part: str  # which sheet it is on
    start: Feature  # from which it is measured
    end: Feature
    how: How = "measured"
    after: tuple[str, ...] = ()  # the workshop's operations that decide it

    @property
    def axis(self) -> Axis:
        """The axis that it runs along."""
        return self.start.axis

    @property
    def value(self) -> float:
        """The distance, mm."""
        return abs(self.end.at - self.start.at)

    @property
    def text(self) -> str:
        """The figure as it is printed: mm, a reference in brackets."""
        figure = decimal(round(self.value, DECIMALS))
        return f"({figure})" if self.how == "reference" else figure


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPart:
    """One part of those that are alike, with its dimensions and holes."""

    name: str  # of the sheet
    members: tuple[str, ...]  # parts that are alike, the one that is drawn first
    called: tuple[str, ...]  # what these are called on the wood and in readings: left, right, lid
    dimensions: tuple[Dimension, ...]
    holes: tuple[Hole, ...]  # of any of the members

    @property
    def features(self) -> dict[Axis, tuple[Feature, ...]]:
        """The features that are marked or made, by their axis."""
        found: dict[Axis, dict[Feature, None]] = {"along": {}, "up": {}, "deep": {}}
        for one in self.dimensions:
            if one.how != "reference":
                found[one.axis] |= {one.start: None, one.end: None}
        return {axis: tuple(features) for axis, features in found.items()}


def drawn_parts(design: Design, workshop: Workshop, allowance: float = ALLOWANCE) -> tuple[DrawnPart, ...]:
    """Return every different part of a design with its dimensions.

    Parameters
    ----------
    design : Design
        What is made.
    workshop : Workshop
        Which face the gauge runs along.
    allowance : float
        Waste beyond each finished end of a wall, mm.
    """
    box, fitted = frame(design), fittings(design)
    walls = bench_walls(box, allowance, design.overlength)
    inside = workshop.gauge_from == "inside"
    plaque = (_plaque(fitted.plaque, fitted),) if fitted.plaque else ()
    return (
        _lapped(walls[:2], fitted, inside=inside),
        _plain(walls[2:], fitted),
        _base(design, fitted),
        _lid(design, fitted),
        *plaque,
    )


class _Axis:
    """The dimensions of one axis of a part as they are put together; places that coincide are one feature."""

    def __init__(self, part: str, axis: Axis) -> None:
        self._part, self._axis = part, axis
        self._features: dict[float, Feature] = {}
        self.found: list[Dimension] = []

    def feature(self, name: str, at: float) -> Feature:
        """Return the feature at a place, the one that is there already before a new one."""
        for known in self._features.values():
            if abs(known.at - at) < _SAME:
                return known
        self._features[at] = Feature(axis=self._axis, name=name, at=at)
        return self._features[at]

    def add(
        self, start: tuple[str, float], end: tuple[str, float], *after: str, how: How = "measured"
    ) -> tuple[str, float]:
        """Add a dimension unless its far feature is reached already, and return its far feature's name and place."""
        known = {feature for one in self.found if one.how != "reference" for feature in (one.start, one.end)}
        first, last = self.feature(*start), self.feature(*end)
        if how == "reference" or (first != last and last not in known):
            self.found.append(Dimension(part=self._part, start=first, end=last, how=how, after=after))
        return end


def _drawn_first(walls: tuple[Wall, ...]) -> tuple[Wall, ...]:
    """Return two walls, first the one whose datum end is at the left for who looks at its face side."""
    return tuple(sorted(walls, key=lambda wall: wall.read != wall.way))


def _ends(part: str, wall: Wall, *after: str) -> _Axis:
    """Return the length of a wall, from its rough end over its datum line to its far end."""
    half, rough = wall.length / 2, wall.length / 2 + wall.allowance
    along = _Axis(part, "along")
    datum = along.add(("rough end", -rough), ("datum end", -half))
    along.add(datum, ("far end", half), *after)
    along.add(("rough end", -rough), ("other rough end", rough), how="reference")
    return along


def _height(part: str, wall: Wall) -> _Axis:
    up = _Axis(part, "up")
    up.add(("face edge", -wall.height / 2), ("top edge", wall.height / 2))
    return up


def _lapped(walls: tuple[Wall, ...], fitted: Fittings, *, inside: bool) -> DrawnPart:
    part, (wall, other) = "lapped wall", _drawn_first(walls)
    half = wall.length / 2
    along = _ends(part, wall)
    for name, side in (("datum", -1), ("far", 1)):
        end, shoulder = (f"{name} end", side * half), (f"{name} shoulder", side * (half - wall.shoulder))
        along.add(end, shoulder, "lap_mark", "lap_saw")
    deep, face, cheek = _Axis(part, "deep"), ("face side", 0.0), ("cheek", wall.depth)
    outside = deep.add(face, ("outside face", wall.thickness))
    ways = ((face, cheek), (outside, cheek)) if inside else ((outside, cheek), (face, cheek))
    deep.add(*ways[0], "gauge", "chisel")
    deep.add(*ways[1], how="reference")
    found = (*along.found, *_height(part, wall).found, *deep.found)
    return _part(part, (wall, other), found, fitted)


def _plain(walls: tuple[Wall, ...], fitted: Fittings) -> DrawnPart:
    part, ordered = "plain wall", _drawn_first(walls)
    wall = ordered[0]
    along, up, deep = _ends(part, wall, "mark", "square", "saw", "sand"), _height(part, wall), _Axis(part, "deep")
    deep.add(("face side", 0.0), ("outside face", wall.thickness), "stock")
    return _part(part, ordered, (*along.found, *up.found, *deep.found), fitted)


def _part(name: str, walls: tuple[Wall, ...], found: tuple[Dimension, ...], fitted: Fittings) -> DrawnPart:
    """Return walls that are alike; a cable hole in one of them is found by diagonals."""
    members, wall = tuple(wall.part for wall in walls), walls[0]
    holes = tuple(hole for member in members for hole in fitted.holes_of(member))
    if any(hole.use == "cable" for hole in holes):
        half, high = wall.length / 2, wall.height / 2
        ways: tuple[tuple[Axis, str, float], ...] = (("along", "datum end", -half), ("up", "face edge", -high))
        for axis, start, at in ways:
            middle = Feature(axis=axis, name="cable hole", at=0.0)
            edge = Feature(axis=axis, name=start, at=at)
            found = (*found, Dimension(part=name, start=edge, end=middle, how="centred"))
    called = tuple(wall.name for wall in walls)
    return DrawnPart(name=name, members=members, called=called, dimensions=found, holes=holes)


def _base(design: Design, fitted: Fittings) -> DrawnPart:
    base, over = fitted.base, design.base.oversize
    found: list[Dimension] = []
    for axis, half, (low, high) in _sides(base):
        one = _Axis("base", axis)
        first, last = (f"{low} edge", -half - over), (f"{high} edge", half + over)
        one.add(first, last)
        for name, edge, at in ((low, first, -half), (high, last, half)):
            if over > 0:
                one.add(edge, (f"outside of {name} wall", at))
        found += one.found
    return DrawnPart(
        name="base", members=("base",), called=("base",), dimensions=(*found, _thick("base", base.thickness)), holes=()
    )


def _sides(sheet: PlacedSheet) -> tuple[tuple[Axis, float, tuple[str, str]], ...]:
    """Return the two axes of a sheet: half its size, and what its edges are called."""
    return ("along", sheet.along_x / 2, ("left", "right")), ("up", sheet.along_y / 2, ("front", "back"))


def _thick(part: str, thickness: float) -> Dimension:
    under, upper = ("upper face", thickness), ("underside", 0.0)
    start, end = (Feature(axis="deep", name=name, at=at) for name, at in (upper, under))
    return Dimension(part=part, start=start, end=end)


def _lid(design: Design, fitted: Fittings) -> DrawnPart:
    lid, holes, plaque = fitted.lid, fitted.holes_of("lid"), fitted.plaque
    screws = fitted.holes_of("lid", "clearance")
    measured = fitted.holes_of("lid", "pilot") if design.lid_holes == "measured" else ()
    found: list[Dimension] = []
    for number, (axis, half, (low, high)) in enumerate(_sides(lid)):
        one = _Axis("lid", axis)
        first, last = (f"{low} edge", -half), (f"{high} edge", half)
        one.add(first, last)
        if (design.box.turned) == (number == 1):  # along the lid's screws
            for hole in screws:
                at = hole.centre[number]
                one.add(first if at < 0 else last, (hole.name, at))
        middle = one.add(first, ("centre", 0.0), how="centred")
        for hole in measured if plaque else ():
            one.add(middle, (hole.name, hole.centre[number]))
        found += one.found
    return DrawnPart(
        name="lid", members=("lid",), called=("lid",), dimensions=(*found, _thick("lid", lid.thickness)), holes=holes
    )


def _plaque(plaque: BentPlaque, fitted: Fittings) -> DrawnPart:
    sheet, holes = flat_sheet(plaque, "finished", 0.0), fitted.holes_of("plaque")
    free = plaque.apex - plaque.flat_leg
    found: list[Dimension] = []
    for number, axis in enumerate(("along", "up")):
        one = _Axis("plaque", "along" if axis == "along" else "up")
        low, high = sheet.low[number], sheet.high[number]
        way = plaque.towards[number]
        if way:
            edge = one.add(("standing leg's edge", free * way + plaque.developed * way), ("free edge", free * way))
            one.add(edge, ("bend line", way * (free + plaque.bend_line)), "bend")
            for hole in holes:
                one.add(edge, (hole.name, hole.centre[number]))
        else:
            side = one.add(("one side", low), ("other side", high))
            middle = one.add(side, ("middle", 0.0), how="centred")
            for hole in holes:
                one.add(middle, (hole.name, hole.centre[number]))
        found += one.found
    found.append(_thick("plaque", plaque.thickness))
    return DrawnPart(name="plaque", members=("plaque",), called=("plaque",), dimensions=tuple(found), holes=holes)
