"""One step of the making as a scene: the timber as it lies on the bench, with the lines that the step draws on it.

bench : walls lie side by side, face side up, face edge to the front, so that what is marked on both is seen
fresh : drawn in the step that is shown; lines of earlier steps stay, but for those on waste that is off

Lengths are millimetres. Off the bench, parts stand where the closed nominal box has them.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.solids.parts import PartArrays, moved
from viewer.fits import fits
from viewer.joints import WALL_NAMES
from viewer.scene import Scene, ShownPart, Strokes, extent_of, shown_part
from viewer.view import Direction

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from assembly.planning.making import MakingOrder
    from assembly.planning.marks import Block
    from assembly.planning.steps import Step
    from assembly.solids.parts import Facts
    from viewer.tints import FloatArray

_ROUND, _UP = 24.0, 52.0  # degrees; from here the face sides and the face edges are seen
_TOUCH = 1e-6  # mm; a line so near to the timber lies on it
_BETWEEN = 0.6  # distance from one wall on the bench to the next, as a share of a wall's height

# Where a wall's length goes on the bench: its direction in the box, so that face side up and face edge to the front
# is a turn, not a mirror image.
_ALONG = {"left wall": (0, 1, 0), "right wall": (0, -1, 0), "front wall": (-1, 0, 0), "back wall": (1, 0, 0)}


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
    for part in (part for part in parts if part.facts.name in step.parts):
        timber = _timber(order, number, part)
        place = _place(step, part.facts)
        lines = _lines(order, number, part.facts.name, timber)
        strokes += [
            Strokes(part=len(shown), ends=moved(ends, place), fresh=fresh) for ends, fresh in lines if len(ends)
        ]
        shown.append(_placed(shown_part(timber, extent, 0.0), place))
    return Scene(
        title=f"{name}, step {number} of {len(order.steps)}: {step.stage}",
        caption=_caption(step),
        parts=tuple(shown),
        joints=(),
        scale=fits(glue_limit),
        glue_limit=glue_limit,
        direction=Direction(round=_ROUND, up=_UP),
        explode=0.0,
        strokes=tuple(strokes),
    )


def _caption(step: Step) -> tuple[str, ...]:
    """Return what the step says, and what can hurt in it."""
    careful = " ".join(caution.words for caution in step.cautions)
    return (f"{step.words}", *((f"Take care: {careful}",) if careful else ()))


def _place(step: Step, facts: Facts) -> FloatArray:
    """Return where a part of the closed box is taken for a step: (4, 4)."""
    place = np.eye(4)
    if facts.name in WALL_NAMES and step.stage != "gluing the frame" and set(step.parts) <= set(WALL_NAMES):
        up, along = np.array([0.0, 0, 1]), np.array(_ALONG[facts.name], dtype=float)
        place[:3, :3] = np.stack([along, up, np.cross(along, up)])  # length to x, face edge to the front, face side up
        row = list(step.parts).index(facts.name)
        height = facts.size[1]
        place[1, 3] = -row * (1 + _BETWEEN) * height
    elif step.lines and all(line.face == "underside" for line in step.lines):
        place[:3, :3] = np.diag([1.0, -1.0, -1.0])  # the sheet is turned over
    return place


def _placed(part: ShownPart, place: FloatArray) -> ShownPart:
    return replace(
        part,
        points=moved(part.points, place),
        edges=moved(part.edges, place),
        grain=moved(part.grain, place),
        away=np.zeros(3),
    )


def _timber(order: MakingOrder, number: int, part: PartArrays) -> PartArrays:
    """Return a part as it is when a step is done: uncut, less the waste that is off; finished when nothing follows."""
    name = part.facts.name
    uncut = [block for block in order.uncut if block.part == name]
    if not uncut or not any(_works_on(step, name) for step in order.steps[number - 1 :]):
        return part
    off = [block for step in order.steps[:number] for block in step.removed if block.part == name]
    vertices, triangles, edges = carved(uncut[0], off)
    return PartArrays(facts=replace(part.facts, closed=np.eye(4)), vertices=vertices, triangles=triangles, edges=edges)


def _works_on(step: Step, name: str) -> bool:
    """Whether a step marks a part or takes waste off it."""
    marked = {line.part for line in step.lines} | {letter.part for letter in step.letters}
    return name in marked | {block.part for block in step.removed}


def _lines(order: MakingOrder, number: int, name: str, timber: PartArrays) -> list[tuple[FloatArray, bool]]:
    """Return the lines on a part, earlier and fresh: (k, 2, 3) each, without what was on waste that is off."""
    off = [block for step in order.steps[:number] for block in step.removed if block.part == name]
    found = []
    for steps, fresh in ((order.steps[: number - 1], False), (order.steps[number - 1 : number], True)):
        ends = [(line.start, line.end) for step in steps for line in step.lines if line.part == name]
        whole = np.array(ends, dtype=np.float64).reshape(-1, 2, 3)
        lines = np.concatenate([np.empty((0, 2, 3)), *(_cut_where(line, off) for line in whole)])
        found.append((lines[on_surface(timber, lines.mean(axis=1))], fresh))
    return found


def _cut_where(line: FloatArray, off: Sequence[Block]) -> FloatArray:
    """Return a line, (2, 3), in pieces that end where it crosses the planes of blocks: (k, 2, 3)."""
    start, run = line[0], line[1] - line[0]
    shares = [0.0, 1.0]
    for bound in (bound for block in off for bound in (block.low, block.high)):
        crossed = np.abs(run) > _TOUCH
        shares += ((np.array(bound) - start)[crossed] / run[crossed]).tolist()
    cuts = np.unique(np.clip(np.array(shares), 0, 1).round(9))
    points = start + cuts[:, None] * run
    return np.stack([points[:-1], points[1:]], axis=1)


def on_surface(part: PartArrays, points: FloatArray) -> NDArray[np.bool_]:
    """Return whether points, (n, 3) mm, lie on a part's triangles: (n,)."""
    corners = moved(part.vertices, part.facts.closed)[part.triangles]
    a, u, v = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    normal = np.cross(u, v)
    area = (normal**2).sum(axis=1)
    from_a = points[:, None] - a
    off = np.abs((from_a * normal).sum(axis=2)) / np.sqrt(area)
    s = (np.cross(from_a, v) * normal).sum(axis=2) / area
    t = (np.cross(u, from_a) * normal).sum(axis=2) / area
    inside = (s >= -_TOUCH) & (t >= -_TOUCH) & (s + t <= 1 + _TOUCH)
    return np.asarray((inside & (off <= _TOUCH)).any(axis=1))


def carved(block: Block, off: Sequence[Block]) -> tuple[FloatArray, NDArray[np.int64], FloatArray]:
    """Return vertices, triangles and true edges of a block less other blocks; mm.

    The planes of all blocks cut the room into cells; a face lies between a cell that is left and one that is not, an
    edge where the faces round it do not run on straight.
    """
    levels = [
        np.unique([bound[axis] for one in (block, *off) for bound in (one.low, one.high)]).clip(
            block.low[axis], block.high[axis]
        )
        for axis in range(3)
    ]
    levels = [np.unique(level) for level in levels]
    middles = np.stack(np.meshgrid(*[(level[1:] + level[:-1]) / 2 for level in levels], indexing="ij"), axis=-1)
    left = np.ones(middles.shape[:3], dtype=np.bool_)
    for one in off:
        left &= ~((middles > one.low) & (middles < one.high)).all(axis=-1)
    cells = np.pad(left, 1)
    vertices = np.stack(np.meshgrid(*levels, indexing="ij"), axis=-1).reshape(-1, 3)
    shape = tuple(len(level) for level in levels)
    quads = np.concatenate([_quads(cells, axis, shape) for axis in range(3)])
    triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    pairs = [pair for axis in range(3) for pair in _edges(cells, axis, shape)]
    return vertices, triangles, vertices[np.array(pairs)]


def _quads(cells: NDArray[np.bool_], axis: int, shape: tuple[int, ...]) -> NDArray[np.int64]:
    """Return the faces square to an axis, (k, 4) vertices anticlockwise seen from outside."""
    one, two = (axis + 1) % 3, (axis + 2) % 3
    turned = cells.transpose(axis, one, two)[:, 1:-1, 1:-1].astype(int)
    found = []
    for i, j, k in np.argwhere(np.diff(turned, axis=0)).tolist():
        ring = []
        for dj, dk in ((0, 0), (1, 0), (1, 1), (0, 1)):
            place = np.empty(3, dtype=int)
            place[[axis, one, two]] = i, j + dj, k + dk
            ring.append(int(np.ravel_multi_index(tuple(place), shape)))
        found.append(ring if turned[i, j, k] else ring[::-1])
    return np.array(found, dtype=np.int64).reshape(-1, 4)


def _edges(cells: NDArray[np.bool_], axis: int, shape: tuple[int, ...]) -> list[tuple[int, int]]:
    """Return the edges along an axis, pairs of vertices: of the four cells round each, one or three are left."""
    one, two = (axis + 1) % 3, (axis + 2) % 3
    turned = cells.transpose(axis, one, two).astype(int)
    found = []
    for i, j, k in product(*(range(size) for size in (shape[axis] - 1, shape[one], shape[two]))):
        if turned[i + 1, j : j + 2, k : k + 2].sum() % 2:
            ends = np.empty((2, 3), dtype=int)
            ends[:, axis], ends[:, one], ends[:, two] = (i, i + 1), j, k
            start, end = (int(np.ravel_multi_index(tuple(place), shape)) for place in ends)
            found.append((start, end))
    return found
