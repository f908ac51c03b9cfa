"""A part as it is part of the way through its making: a block less what was cut off and drilled; triangles and edges.

cell : the planes of all blocks cut the room into cells; each is timber or not
bore : a round hole, modelled as a ring round a square cell of the face and a wall of narrow strips

Plain arrays, so that a step of the making is shown without building a solid; mm, in the frame of
`assembly.nominal.frame`.
"""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from assembly.arrays import BoolArray, FloatArray, IntArray

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.nominal.fittings import Hole
    from assembly.planning.marks import Block

Arrays = tuple[FloatArray, IntArray, FloatArray]  # vertices (n, 3), triangles (m, 3), true edges (k, 2, 3)

CHORDS = 32  # of a bore's circle; a multiple of 8, so that the corners of its square are among them
_BESIDE = 0.5  # of a bore's square beside its circle, mm; the shop rules leave 2 mm of wood
_ROUNDED = 9  # decimals to which planes are told apart


def worked(block: Block, off: Sequence[Block], holes: Sequence[Hole] = ()) -> Arrays:
    """Return a block less other blocks and less holes that run into it from faces that are left.

    Parameters
    ----------
    block : Block
        The uncut part.
    off : sequence of Block
        What was cut off it.
    holes : sequence of Hole
        Holes along an axis, each at least `_BESIDE` from every edge and from one another; a hole as deep as the part
        runs right through it.

    Returns
    -------
    vertices : (n, 3) float
        mm; anticlockwise triangles seen from outside enclose the volume, a bore's circle being of `CHORDS` chords.
    triangles : (m, 3) int
    edges : (k, 2, 3) float
        Edges where two faces meet at an angle, and the rims of bores.
    """
    levels = _levels(block, off, holes)
    cells = np.pad(_left(levels, off), 1)
    shape = tuple(len(level) for level in levels)
    vertices = np.stack(np.meshgrid(*levels, indexing="ij"), axis=-1).reshape(-1, 3)
    quads = np.concatenate([_quads(cells, axis, shape) for axis in range(3)])
    bores = [_bore(block, hole) for hole in holes]
    for hole in holes:
        quads = quads[~_bored(vertices[quads].mean(axis=1), block, hole)]
    triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    pairs = [pair for axis in range(3) for pair in _edges(cells, axis, shape)]
    return _joined((vertices, triangles, vertices[np.array(pairs)]), bores)


def _levels(block: Block, off: Sequence[Block], holes: Sequence[Hole]) -> list[FloatArray]:
    """Return the planes across each axis that bound cells."""
    found = []
    for axis in range(3):
        bounds = [bound[axis] for one in (block, *off) for bound in (one.low, one.high)]
        for hole in holes:
            if not hole.axis[axis]:
                bounds += [hole.centre[axis] + side * _half(hole) for side in (-1, 1)]
        found.append(np.unique(np.clip(bounds, block.low[axis], block.high[axis]).round(_ROUNDED)))
    return found


def _half(hole: Hole) -> float:
    """Return half the side of a bore's square, mm."""
    return hole.diameter / 2 + _BESIDE


def _left(levels: list[FloatArray], off: Sequence[Block]) -> BoolArray:
    """Return which cells are left."""
    middles = np.stack(np.meshgrid(*[(level[1:] + level[:-1]) / 2 for level in levels], indexing="ij"), axis=-1)
    left = np.ones(middles.shape[:3], dtype=np.bool_)
    for one in off:
        left &= ~((middles > one.low) & (middles < one.high)).all(axis=-1)
    return left


def _quads(cells: BoolArray, axis: int, shape: tuple[int, ...]) -> IntArray:
    """Return the faces square to an axis, (k, 4) vertices anticlockwise seen from outside."""
    one, two = (axis + 1) % 3, (axis + 2) % 3
    turned = cells.transpose(axis, one, two)[:, 1:-1, 1:-1].astype(int)
    change = np.diff(turned, axis=0)
    at = np.argwhere(change)
    ring = np.zeros((len(at), 4, 3), dtype=np.int64)
    for corner, (dj, dk) in enumerate(((0, 0), (1, 0), (1, 1), (0, 1))):
        ring[:, corner, axis] = at[:, 0]
        ring[:, corner, one] = at[:, 1] + dj
        ring[:, corner, two] = at[:, 2] + dk
    quads = np.asarray(np.ravel_multi_index(tuple(np.moveaxis(ring, -1, 0)), shape), dtype=np.int64)
    inward = change[tuple(at.T)] > 0
    quads[inward] = quads[inward, ::-1]
    return quads


def _edges(cells: BoolArray, axis: int, shape: tuple[int, ...]) -> list[tuple[int, int]]:
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


def _faces(block: Block, hole: Hole) -> tuple[int, float, float, bool]:
    """Return a hole's axis, where it starts and where it ends along it, and whether it runs right through."""
    axis = int(np.argmax(np.abs(hole.axis)))
    start = hole.centre[axis]
    end = start + hole.depth * hole.axis[axis]
    limit = (block.low if hole.axis[axis] < 0 else block.high)[axis]
    through = abs(end - limit) < 10.0**-6
    return axis, start, limit if through else end, through


def _bored(middles: FloatArray, block: Block, hole: Hole) -> BoolArray:
    """Return which faces, told by their middles, a bore's rings take the place of."""
    axis, start, end, through = _faces(block, hole)
    planes = np.array([start, end] if through else [start])
    on_plane = (np.abs(middles[:, axis, None] - planes) < 10.0**-6).any(axis=1)
    beside = np.delete(np.abs(middles - hole.centre), axis, axis=1) < _half(hole)
    return np.asarray(on_plane & beside.all(axis=1))


def _bore(block: Block, hole: Hole) -> Arrays:
    """Return the rings round a bore's ends, its wall, its floor where it ends in the part, and its rims."""
    axis, start, end, through = _faces(block, hole)
    one, two = (axis + 1) % 3, (axis + 2) % 3
    turn = 2 * np.pi * np.arange(CHORDS) / CHORDS
    way = np.column_stack([np.cos(turn), np.sin(turn)])
    circle, square = hole.diameter / 2 * way, _half(hole) * way / np.abs(way).max(axis=1, keepdims=True)
    loops = np.zeros((4, CHORDS, 3))
    for loop, (flat, at) in enumerate(((square, start), (circle, start), (circle, end), (square, end))):
        loops[loop, :, axis] = at
        loops[loop, :, one], loops[loop, :, two] = (flat + np.array(hole.centre)[[one, two]]).T
    bands = [_band(0), _band(1)] + ([_band(2)] if through else [_floor()])
    triangles = np.concatenate(bands)
    if hole.axis[axis] > 0:
        triangles = triangles[:, ::-1]
    rims = [np.stack([loops[i], np.roll(loops[i], -1, axis=0)], axis=1) for i in (1, 2)]
    vertices = np.concatenate([*loops, np.where(np.arange(3) == axis, end, hole.centre)[None]])
    return vertices, triangles, np.concatenate(rims)


def _band(loop: int) -> IntArray:
    """Return the triangles between one loop of a bore and the next: seen against the bit, anticlockwise."""
    here = loop * CHORDS + np.arange(CHORDS)
    on = loop * CHORDS + np.roll(np.arange(CHORDS), -1)
    return np.concatenate(
        [np.column_stack([here, on, on + CHORDS]), np.column_stack([here, on + CHORDS, here + CHORDS])]
    )


def _floor() -> IntArray:
    """Return the triangles of a blind bore's floor."""
    here = 2 * CHORDS + np.arange(CHORDS)
    return np.column_stack([here, 2 * CHORDS + np.roll(np.arange(CHORDS), -1), np.full(CHORDS, 4 * CHORDS)])


def _joined(body: Arrays, bores: list[Arrays]) -> Arrays:
    vertices, triangles, edges = [body[0]], [body[1]], [body[2]]
    count = len(body[0])
    for points, faces, rims in bores:
        vertices.append(points)
        triangles.append(faces + count)
        edges.append(rims)
        count += len(points)
    return np.concatenate(vertices), np.concatenate(triangles), np.concatenate(edges)
