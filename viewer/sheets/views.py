"""The views of a part: its faces as a pupil sees them, with every line that is drawn on them and every hole.

view : one face of a part, flat; h to the right and v up on it, mm of the true part
mark : a line that a step draws on it, with the step's number

A wall is told as if it were rolled over on the paper: each face lies beside the one that it meets. A sheet is seen
from above, its front to the reader, and its thickness under it. Lines are those of the steps (`assembly.planning`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from assembly.planning.lines import hatching
from assembly.planning.measures import hole_label
from assembly.planning.wall_faces import Face

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from assembly.nominal.fittings import Hole
    from assembly.nominal.plaque import Point
    from assembly.planning.dimensions import Axis, Dimension, DrawnPart
    from assembly.planning.making import MakingOrder
    from assembly.planning.marks import Block, LineKind, Wall

Flat = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A line on a view."""

    step: int
    kind: LineKind
    start: Flat
    end: Flat


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenHole:
    """Holes round one middle, the widest last."""

    centre: Flat
    holes: tuple[Hole, ...]
    steps: tuple[int, ...]  # that drill them

    @property
    def label(self) -> str:
        """What they are, and when they are drilled."""
        said = ", ".join(hole_label(hole) for hole in self.holes)
        numbers = " and ".join(map(str, self.steps))
        return f"{said} (step{'s' * (len(self.steps) > 1)} {numbers})" if self.steps else said


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One face of a part."""

    title: str
    low: Flat  # of the timber as it is handed out
    high: Flat
    marks: tuple[Mark, ...] = ()
    holes: tuple[SeenHole, ...] = ()
    below: tuple[Dimension, ...] = ()  # along h
    beside: tuple[Dimension, ...] = ()  # along v
    turned_over: bool = False  # whether what counts up or deep runs down on it

    @property
    def size(self) -> Flat:
        """Width and height, mm."""
        return self.high[0] - self.low[0], self.high[1] - self.low[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartViews:
    """All views of a part: one above the other, and one at the right of the main view."""

    stack: tuple[View, ...]
    main: int  # the index of the main view
    right: View | None = None


def wall_views(part: DrawnPart, wall: Wall, order: MakingOrder, holes: Sequence[Hole]) -> PartViews:
    """Return the views of a wall, `holes` those in any wall that is alike."""
    half, high, thick = wall.length / 2 + wall.allowance, wall.height / 2, wall.thickness

    def own(point: Point) -> Point:
        """Return a point along the wall, deep from its face side, and up."""
        along = point[0] * wall.way[0] + point[1] * wall.way[1]
        return along, point[0] * wall.outward[0] + point[1] * wall.outward[1] - wall.inside, point[2]

    def of(axis: Axis) -> tuple[Dimension, ...]:
        return tuple(one for one in part.dimensions if one.axis == axis and one.how != "centred")

    at = {
        Face.TOP: lambda p: (own(p)[0], own(p)[1]),
        Face.INSIDE: lambda p: (own(p)[0], own(p)[2]),
        Face.BOTTOM: lambda p: (own(p)[0], -own(p)[1]),
        Face.OUTSIDE: lambda p: (own(p)[0], -own(p)[2]),
        wall.ends[1]: lambda p: (own(p)[1], own(p)[2]),
    }
    marks = {face: _marks(order, (wall.part,), (face,), project) for face, project in at.items()}
    top = View(title="top edge", low=(-half, 0.0), high=(half, thick), marks=marks[Face.TOP])
    face = View(
        title=f"face side (inside), {wall.ends[0]} at the left",
        low=(-half, -high),
        high=(half, high),
        marks=marks[Face.INSIDE],
        below=of("along"),
        beside=of("up"),
    )
    edge = View(
        title="face edge (bottom)",
        low=(-half, -thick),
        high=(half, 0.0),
        marks=marks[Face.BOTTOM],
        beside=of("deep"),
        turned_over=True,
    )
    wall_holes = [hole for hole in holes if hole.part == wall.part and hole.use != "cable"]
    stack = [replace(top, holes=_seen(order, wall_holes, lambda p: (own(p)[0], own(p)[1]))), face, edge]
    if cable := [hole for hole in holes if hole.use == "cable"]:
        stack.append(
            _outside(order, cable[0], dict(zip(part.members, part.called, strict=True))[cable[0].part], (half, high))
        )
    right = None
    if wall.lapped:
        right = View(title=wall.ends[1], low=(0.0, -high), high=(thick, high), marks=marks[wall.ends[1]])
    return PartViews(stack=tuple(stack), main=1, right=right)


def _outside(order: MakingOrder, hole: Hole, called: str, half: Flat) -> View:
    """Return the outside of the wall that has the cable hole, told on the wall that is drawn: their middles agree."""
    name = hole.part
    along = 0 if name in {"front wall", "back wall"} else 1
    marks = _marks(order, (name,), (Face.OUTSIDE,), lambda p: (p[along], -p[2]))
    return View(
        title=f"outside of {called.upper()}",
        low=(-half[0], -half[1]),
        high=half,
        marks=marks,
        holes=_seen(order, (hole,), lambda p: (p[along], -p[2])),
    )


def sheet_views(part: DrawnPart, uncut: Block, order: MakingOrder, waste: Sequence[Block]) -> PartViews:
    """Return the views of a sheet from above, and of its thickness; `waste` lies outside its outline."""
    (x0, y0, z0), (x1, y1, z1) = uncut.low, uncut.high
    faces = (Face.TOP, Face.UNDERSIDE)
    marks = _marks(order, part.members, faces, lambda p: (p[0], p[1]))
    drawn = [one for one in part.dimensions if one.how != "centred"]
    title = "upper face, front at the bottom"
    free = [feature.at for features in part.features.values() for feature in features if feature.name == "free edge"]
    if free:
        title = f"flat from above, flat leg's free edge {_free_side(part, free[0])}"
    plan = View(
        title=title,
        low=(x0, y0),
        high=(x1, y1),
        marks=(*_hatching(waste), *marks),
        holes=_seen(order, part.holes, lambda p: (p[0], p[1])),
        below=tuple(one for one in drawn if one.axis == "along"),
        beside=tuple(one for one in drawn if one.axis == "up"),
    )
    edge = View(
        title="front edge",
        low=(x0, 0.0),
        high=(x1, z1 - z0),
        beside=tuple(one for one in drawn if one.axis == "deep"),
    )
    return PartViews(stack=(plan, edge), main=0)


def _free_side(part: DrawnPart, at: float) -> str:
    """Return on which side of its view the plaque's free edge is."""
    upright = any(feature.name == "free edge" for feature in part.features["up"])
    return ("at the bottom" if at < 0 else "at the top") if upright else ("at the left" if at < 0 else "at the right")


def _hatching(waste: Sequence[Block]) -> tuple[Mark, ...]:
    return tuple(
        Mark(step=0, kind="hatched waste", start=a, end=b)
        for block in waste
        for a, b in hatching(block.low[:2], block.high[:2])
    )


def _marks(
    order: MakingOrder, parts: Sequence[str], faces: Sequence[Face], project: Callable[[Point], Flat]
) -> tuple[Mark, ...]:
    """Return every line on some faces of parts, with the step that draws it; of an underside no letters."""
    return tuple(
        Mark(step=step.number, kind=line.kind, start=project(line.start), end=project(line.end))
        for step in order.steps
        for line in step.drawn
        if line.part in parts and line.face in faces and not (line.face is Face.UNDERSIDE and line.kind == "letter")
    )


def _seen(order: MakingOrder, holes: Iterable[Hole], project: Callable[[Point], Flat]) -> tuple[SeenHole, ...]:
    """Return holes by their middles."""
    found: dict[Flat, list[Hole]] = {}
    for hole in holes:
        h, v = project(hole.centre)
        found.setdefault((round(h, 4) + 0.0, round(v, 4) + 0.0), []).append(hole)
    return tuple(
        SeenHole(
            centre=centre,
            holes=tuple(some),
            steps=tuple(step.number for step in order.steps if set(step.drilled) & set(some)),
        )
        for centre, some in found.items()
    )
