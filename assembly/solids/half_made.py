"""A part when a step of its making is done: its timber, and the lines that are on it by then.

fresh : drawn in that step; lines of earlier steps stay, but for those on waste that is off and those rubbed out

Millimetres, where the closed box has the part; how it then lies is another matter (`assembly.solids.bench`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from assembly.arrays import cross
from assembly.planning.steps import StepKind
from assembly.solids.parts import PartArrays

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from assembly.arrays import BoolArray, FloatArray
    from assembly.nominal.fittings import Hole
    from assembly.nominal.plaque import Point
    from assembly.planning.making import MakingOrder
    from assembly.planning.marks import Block, Line
    from assembly.planning.steps import Step

_TOUCH = 1e-6  # mm; a line so near to the timber lies on it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnLines:
    """Lines on a part: (k, 2 ends, 3) each."""

    earlier: FloatArray
    fresh: FloatArray


def timber_at(order: MakingOrder, number: int, part: PartArrays) -> PartArrays:
    """Return a part as it is when a step is done: uncut, less what is off and drilled; bent when it has been bent."""
    name = part.facts.name
    uncut = [block for block in order.uncut if block.part == name]
    if not uncut or is_bent(order, number, name):
        return part
    off, holes = _done(order, number, name)
    return _timber(part, uncut[0], tuple(off), tuple(holes))


@lru_cache(maxsize=256)
def _timber(part: PartArrays, uncut: Block, off: tuple[Block, ...], holes: tuple[Hole, ...]) -> PartArrays:
    """Return a part less what is off and drilled; the same record for the same, so that what is made of it is kept."""
    from assembly.solids.part_way import worked  # noqa: PLC0415 - manifold3d

    mesh = worked(uncut, off, holes)
    facts = replace(part.facts, closed=np.eye(4))
    return PartArrays(facts=facts, vertices=mesh.vertices, triangles=mesh.triangles, edges=mesh.edges)


def is_bent(order: MakingOrder, number: int, name: str) -> bool:
    """Whether a part is bent when a step is done; it then has another shape than the one that was marked."""
    return any(name in step.parts and step.kind is StepKind.BEND for step in order.steps[:number])


def _done(order: MakingOrder, number: int, name: str) -> tuple[list[Block], list[Hole]]:
    """Return the waste that is off a part when a step is done, and the holes that are drilled."""
    done = order.steps[:number]
    return (
        [block for step in done for block in step.removed if block.part == name],
        [hole for step in done for hole in step.drilled if hole.part == name],
    )


def lines_at(order: MakingOrder, number: int, part: PartArrays) -> DrawnLines:
    """Return the lines on a part when a step is done, without what was on waste that is off or where a hole is."""
    name = part.facts.name
    if is_bent(order, number, name):
        return DrawnLines(earlier=_ends(_left_when_bent(order.steps[:number])), fresh=_ends(()))
    before = order.steps[_cleaned(order, number, name) : number - 1]
    earlier, fresh = (_left(order, number, part, steps) for steps in (before, order.steps[number - 1 : number]))
    return DrawnLines(earlier=earlier, fresh=fresh)


def _left_when_bent(done: Sequence[Step]) -> list[Line]:
    """Return the lines that some steps have left on a part that they have bent, less those that were wiped off."""
    wiped = {kind for step in done for kind in step.wiped}
    lines = (line for step in done for line in (*step.bent_lines, *(ln for one in step.bent for ln in one.lines)))
    return [line for line in lines if line.kind not in wiped]


def _left(order: MakingOrder, number: int, part: PartArrays, steps: Sequence[Step]) -> FloatArray:
    """Return what is left, when a step is done, of the lines that some steps have drawn on a part: (k, 2, 3)."""
    name = part.facts.name
    off, holes = _done(order, number, name)
    whole = _ends(line for step in steps for line in step.drawn if line.part == name)
    return _left_on(timber_at(order, number, part), tuple(off), tuple(holes), whole.tobytes())


@lru_cache(maxsize=512)
def _left_on(timber: PartArrays, off: tuple[Block, ...], holes: tuple[Hole, ...], drawn: bytes) -> FloatArray:
    """Return what is left on timber of lines, the bytes of (k, 2, 3) float; steps that change nothing ask again."""
    whole = np.frombuffer(drawn).reshape(-1, 2, 3)
    bounds = tuple(bound for block in off for bound in (block.low, block.high))
    touched = _touched(whole, off, holes)
    pieces = [_cut_where(tuple(line.ravel().tolist()), bounds, holes) for line in whole[touched]]
    lines = np.concatenate([whole[~touched], *pieces])
    return lines[on_surface(timber, lines.mean(axis=1))]


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
    """Return a line, given by its six coordinates, in pieces that end at planes and at rims of holes: (k, 2, 3).

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
    square = cross(u, v)
    normal = square / np.linalg.norm(square, axis=1, keepdims=True)
    point, on = np.nonzero(np.abs(points @ normal.T - (a * normal).sum(axis=1)) <= _TOUCH)
    from_a, scaled = points[point] - a[on], square[on] / (square[on] ** 2).sum(axis=1, keepdims=True)
    s = (cross(from_a, v[on]) * scaled).sum(axis=1)
    t = (cross(u[on], from_a) * scaled).sum(axis=1)
    found = np.zeros(len(points), dtype=np.bool_)
    found[point[(s >= -_TOUCH) & (t >= -_TOUCH) & (s + t <= 1 + _TOUCH)]] = True
    return found
