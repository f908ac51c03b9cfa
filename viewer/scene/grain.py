"""Grain lines on the faces of a timber part: where evenly strewn planes along the grain cut its surface.

Lines lie on the faces exactly, go round holes and laps, and leave end grain bare.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray


_ALONG = 0.95  # share of a line's length that runs along the grain: a bowed board's still do, end grain's never
_SAME = 1e-6  # mm; ends no further apart meet
_GOLDEN = (5**0.5 - 1) / 2  # multiples of it strew points evenly and never in step


def grain_lines(points: FloatArray, triangles: IntArray, grain: int, spacing: float) -> FloatArray:
    """Return lines along axis `grain` on the surface of a part: (k, 2 ends, 3), mm.

    Parameters
    ----------
    points : (n, 3) float
        Corners of the surface, mm; the part's faces stand about along the axes, as a board's do.
    triangles : (m, 3) int
        Triangles of the surface.
    grain : int
        The axis, 0 to 2, that the grain runs along.
    spacing : float
        Mean distance between lines, mm.
    """
    across = [axis for axis in range(3) if axis != grain]
    lines = [_cut(points, triangles, axis, level) for axis in across for level in _levels(points[:, axis], spacing)]
    found = np.concatenate([np.empty((0, 2, 3)), *lines])
    run = found[:, 1] - found[:, 0]
    length = np.linalg.norm(run, axis=1)
    kept = (length > 0) & (np.abs(run[:, grain]) > _ALONG * length)
    return _joined(found[kept], grain)


def _joined(lines: FloatArray, grain: int) -> FloatArray:
    """Return lines, (k, 2 ends, 3), with those as one that go on straight from one triangle into the next."""
    along = np.sort(lines[..., grain], axis=1)
    straight = np.abs(np.delete(lines[:, 1] - lines[:, 0], grain, axis=1)).max(axis=1, initial=0.0) < _SAME
    beside = np.delete(lines[:, 0], grain, axis=1)
    order = np.lexsort((along[:, 0], *beside.round(6).T, straight))
    along, beside, straight, lines = along[order], beside[order], straight[order], lines[order]
    goes_on = straight[1:] & straight[:-1] & (np.abs(beside[1:] - beside[:-1]).max(axis=1, initial=0.0) < _SAME)
    goes_on &= along[1:, 0] <= along[:-1, 1] + _SAME
    first = np.flatnonzero(np.concatenate([[True], ~goes_on])[: len(lines)])
    last = np.concatenate([first[1:] - 1, [len(lines) - 1]])[: len(first)]
    whole = lines[first].copy()
    together = last > first
    whole[together, 0, grain] = along[first[together], 0]
    if len(first):
        whole[together, 1, grain] = np.maximum.reduceat(along[:, 1], first)[together]
    return np.asarray(whole, dtype=np.float64)


def _levels(values: FloatArray, spacing: float) -> FloatArray:
    """Return where the planes lie between the ends of `values`: one to a spacing, each moved at random-looking."""
    low, high = values.min(), values.max()
    count = max(1, round((high - low) / spacing))
    place = np.arange(count) + 0.15 + 0.7 * (np.arange(1, count + 1) * _GOLDEN % 1)
    return np.asarray(low + place * (high - low) / count, dtype=np.float64)


def _cut(points: FloatArray, triangles: IntArray, axis: int, level: float) -> FloatArray:
    """Return the cut of a surface with the plane where `axis` is `level`: (k, 2, 3)."""
    corners = points[triangles]  # (m, 3 corners, 3)
    height = corners[..., axis] - level
    above = height > 0
    crossed = above.any(axis=1) & ~above.all(axis=1)
    corners, height, above = corners[crossed], height[crossed], above[crossed]
    alone = np.argmax(above == (above.sum(axis=1) == 1)[:, None], axis=1)  # the corner on its own side
    row = np.arange(len(corners))
    ends = []
    for step in (1, 2):
        other = (alone + step) % 3
        share = height[row, alone] / (height[row, alone] - height[row, other])
        ends.append(corners[row, alone] + share[:, None] * (corners[row, other] - corners[row, alone]))
    return np.stack(ends, axis=1)
