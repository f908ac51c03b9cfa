"""One step of the making as a scene: the timber as it lies on the bench, with the lines that the step draws on it.

blank : a wall as it is handed out, longer than it will be
fresh : drawn in the step that is shown; lines of earlier steps stay, but for those on waste that is off

Lengths are millimetres. Where parts lie is told by the step (`assembly.solids.bench`).
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.made.gap_classes import fits
from assembly.planning.steps import StepKind
from assembly.solids.bench import placement
from assembly.solids.parts import PartArrays, moved
from viewer.scene.box_scene import extent_of, shown_part, sizes
from viewer.scene.camera import Direction
from viewer.scene.joints import WALL_NAMES
from viewer.scene.overlays import edges_of
from viewer.scene.scene import Scene, ShownMeasure, ShownPart, Strokes
from viewer.scene.step_words import caption_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from assembly.arrays import BoolArray, FloatArray
    from assembly.nominal.fittings import Hole
    from assembly.nominal.plaque import Point
    from assembly.planning.making import MakingOrder
    from assembly.planning.marks import Block, Line
    from assembly.planning.measures import Measure, Name
    from assembly.planning.steps import Step

_ROUND, _UP = 24.0, 46.0  # degrees; from here what is up, to the front and to the right is seen
_TOUCH = 1e-6  # mm; a line so near to the timber lies on it


def step_scene(order: MakingOrder, number: int, parts: Sequence[PartArrays], name: str, glue_limit: float) -> Scene:
    """Return the scene of one step.

    Parameters
    ----------
    order : MakingOrder
        How the box is made.
    number : int
        The step, from 1.
    parts : sequence of PartArrays
        The nominal parts.
    name : str
        What the box is called.
    glue_limit : float
        The widest gap that the glue still closes, mm.

    Raises
    ------
    InputError
        If there is no such step.
    """
    if not 1 <= number <= len(order.steps):
        msg = f"step: got {number}, must be from 1 to {len(order.steps)}"
        raise InputError(msg)
    step, extent = order.steps[number - 1], extent_of(parts)
    shown: list[ShownPart] = []
    strokes: list[Strokes] = []
    measures: list[ShownMeasure] = []
    ghosts: list[FloatArray] = []
    for part in (part for part in parts if part.facts.name in step.parts):
        timber = _timber(order, number, part)
        place = placement(step, timber, parts)
        lines = _lines(order, number, part.facts.name, timber)
        strokes += [
            Strokes(part=len(shown), ends=moved(ends, place), fresh=fresh) for ends, fresh in lines if len(ends)
        ]
        measures += _measures(step, part.facts.name, place)
        ghosts += [moved(edges_of(block), place) for block in step.laid_on if block.part == part.facts.name]
        one = shown_part(timber, extent, 0.0)
        shown.append(_placed(replace(one, sizes=_sizes(order, number, part, one.sizes)), place))
    return Scene(
        name=name,
        shows=f"step {number} of {len(order.steps)}: {step.stage}",
        caption=caption_of(order, step),
        parts=tuple(shown),
        joints=(),
        scale=fits(glue_limit),
        glue_limit=glue_limit,
        direction=Direction(round=_ROUND, up=_UP),
        explode=0.0,
        strokes=tuple(strokes),
        measures=tuple(measures),
        ghosts=tuple(ghosts),
        plan=step.plan,
    )


def _measures(step: Step, name: str, place: FloatArray) -> list[ShownMeasure]:
    """Return a part's sizes, and the names of the lines on it, where a step has the part."""
    sizes_on = [one for one in step.measures if one.part == name]
    names_on = [one for one in step.names if one.part == name]
    return [
        ShownMeasure(text=one.text, ends=_moved_ends(one, place), away=place[:3, :3] @ one.away) for one in sizes_on
    ] + [ShownMeasure(text=one.text, ends=_moved_ends(one, place), away=None) for one in names_on]


def _moved_ends(one: Measure | Name, place: FloatArray) -> FloatArray:
    return moved(np.array([one.start, one.end]), place)


def _sizes(order: MakingOrder, number: int, part: PartArrays, told: tuple[str, ...]) -> tuple[str, ...]:
    """Return a part's sizes as they count in a step, `told` but for blanks: what is marked on one, and how long it is.

    The base is marked, sawn and glued on larger than it will be; until it is flush, its label tells the larger size.
    """
    name, size = part.facts.name, part.facts.size
    if name == "plaque":
        return told if _bent(order, number, name) else (f"{sizes(size)}, flat",)
    offs = [step.number for step in order.steps if any(block.part == name for block in step.removed)]
    if name in WALL_NAMES and number < offs[1]:
        blank = np.ptp(_timber(order, 1, part).vertices, axis=0).max()
        return (f"finished {sizes(size)}", *((f"blank {sizes((blank,))} long",) if number < offs[0] else ()))
    if name != "base":
        return told
    extra = _extent(_timber(order, max(number, offs[0]), part)) - _extent(part)
    along = int(np.argmin(np.abs(_extent(part)[:2] - size[0])))
    return (sizes((size[0] + extra[along], size[1] + extra[1 - along], size[2])),)


def _extent(part: PartArrays) -> FloatArray:
    """Return a part's size along each axis of the box, mm."""
    return np.asarray(np.ptp(moved(part.vertices[part.triangles], part.facts.closed), axis=(0, 1)), dtype=np.float64)


def _placed(part: ShownPart, place: FloatArray) -> ShownPart:
    return replace(
        part,
        points=moved(part.points, place),
        edges=moved(part.edges, place),
        grain=moved(part.grain, place),
        away=np.zeros(3),
    )


def _timber(order: MakingOrder, number: int, part: PartArrays) -> PartArrays:
    """Return a part as it is when a step is done: uncut, less what is off and drilled; bent when it has been bent."""
    name = part.facts.name
    uncut = [block for block in order.uncut if block.part == name]
    if not uncut or _bent(order, number, name):
        return part
    off, holes = _done(order, number, name)
    from assembly.solids.part_way import worked  # noqa: PLC0415 - manifold3d

    mesh = worked(uncut[0], tuple(off), tuple(holes))
    facts = replace(part.facts, closed=np.eye(4))
    return PartArrays(facts=facts, vertices=mesh.vertices, triangles=mesh.triangles, edges=mesh.edges)


def _bent(order: MakingOrder, number: int, name: str) -> bool:
    """Whether a part is bent when a step is done; it then has another shape than the one that was marked."""
    return any(name in step.parts and step.kind is StepKind.BEND for step in order.steps[:number])


def _done(order: MakingOrder, number: int, name: str) -> tuple[list[Block], list[Hole]]:
    """Return the waste that is off a part when a step is done, and the holes that are drilled."""
    done = order.steps[:number]
    return (
        [block for step in done for block in step.removed if block.part == name],
        [hole for step in done for hole in step.drilled if hole.part == name],
    )


def _lines(order: MakingOrder, number: int, name: str, timber: PartArrays) -> list[tuple[FloatArray, bool]]:
    """Return the lines on a part, earlier and fresh: (k, 2, 3) each, without what was on waste that is off."""
    if _bent(order, number, name):
        return [(_ends(line for step in order.steps[:number] for letter in step.bent for line in letter.lines), False)]
    off, holes = _done(order, number, name)
    bounds = tuple(bound for block in off for bound in (block.low, block.high))
    found = []
    for steps, fresh in (
        (order.steps[_cleaned(order, number, name) : number - 1], False),
        ((order.steps[number - 1],), True),
    ):
        whole = _ends(line for step in steps for line in step.drawn if line.part == name)
        touched = _touched(whole, off, holes)
        pieces = [_cut_where(tuple(line.ravel().tolist()), bounds, tuple(holes)) for line in whole[touched]]
        lines = np.concatenate([whole[~touched], *pieces])
        found.append((lines[on_surface(timber, lines.mean(axis=1))], fresh))
    return found


def _ends(lines: Iterable[Line]) -> FloatArray:
    return np.array([(line.start, line.end) for line in lines], dtype=np.float64).reshape(-1, 2, 3)


def _cleaned(order: MakingOrder, number: int, name: str) -> int:
    """Return how many of the first steps have left no line on a part when a step is done: they were rubbed out."""
    done = (one.number for one in order.steps[:number] if one.kind is StepKind.CLEAN and name in one.parts)
    return max(done, default=0)


def _touched(lines: FloatArray, off: Sequence[Block], holes: Sequence[Hole]) -> BoolArray:
    """Return which lines, (k, 2, 3), may run in and out of waste that is off or of a hole: (k,)."""
    low, high = lines.min(axis=1) - _TOUCH, lines.max(axis=1) + _TOUCH
    found = np.zeros(len(lines), dtype=np.bool_)
    for block in off:
        within = ((low + 2 * _TOUCH >= block.low) & (high - 2 * _TOUCH <= block.high)).all(axis=1)
        found |= ((low <= block.high) & (high >= block.low)).all(axis=1) & ~within
    for hole in holes:
        reach = np.where(np.array(hole.axis) == 0, hole.diameter / 2, hole.depth)
        found |= ((low <= hole.centre + reach) & (high >= hole.centre - reach)).all(axis=1)
    return found


@lru_cache(maxsize=8192)
def _cut_where(line: tuple[float, ...], bounds: tuple[Point, ...], holes: tuple[Hole, ...]) -> FloatArray:
    """Return a line, told by its six coordinates, in pieces that end at planes and at rims of holes: (k, 2, 3).

    Every later step asks for the same again.
    """
    start, run = np.array(line[:3]), np.subtract(line[3:], line[:3])
    crossed = np.abs(run) > _TOUCH
    shares = ((np.reshape(bounds, (-1, 3))[:, crossed] - start[crossed]) / run[crossed]).ravel()
    rims = [share for hole in holes for share in _at_rim(start, run, hole)]
    cuts = np.unique(np.clip(np.concatenate([[0.0, 1.0], shares, rims]), 0, 1).round(9))
    points = start + cuts[:, None] * run
    return np.stack([points[:-1], points[1:]], axis=1)


def _at_rim(start: FloatArray, run: FloatArray, hole: Hole) -> list[float]:
    """Return where a line meets the cylinder of a hole, as shares of its run: none or two."""
    across = np.array(hole.axis) == 0
    off, way = (start - np.array(hole.centre))[across], run[across]
    a, b, c = way @ way, off @ way, off @ off - (hole.diameter / 2) ** 2
    inside = b * b - a * c
    if inside <= 0 or a == 0:
        return []
    return [float((-b + side * np.sqrt(inside)) / a) for side in (-1, 1)]


def on_surface(part: PartArrays, points: FloatArray) -> BoolArray:
    """Return whether points, (n, 3) mm, lie on a part's triangles: (n,)."""
    corners = part.placed()[part.triangles]
    a, u, v = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    square = np.cross(u, v)
    normal = square / np.linalg.norm(square, axis=1, keepdims=True)
    point, on = np.nonzero(np.abs(points @ normal.T - (a * normal).sum(axis=1)) <= _TOUCH)
    from_a, scaled = points[point] - a[on], square[on] / (square[on] ** 2).sum(axis=1, keepdims=True)
    s = (np.cross(from_a, v[on]) * scaled).sum(axis=1)
    t = (np.cross(u[on], from_a) * scaled).sum(axis=1)
    found = np.zeros(len(points), dtype=np.bool_)
    found[point[(s >= -_TOUCH) & (t >= -_TOUCH) & (s + t <= 1 + _TOUCH)]] = True
    return found
