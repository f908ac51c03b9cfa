"""Grain lines on the faces of a timber part: where evenly strewn planes along the grain cut its surface.

Lines lie on the faces exactly, go round holes and laps, and leave end grain bare.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray


_ALONG = 0.95  # share of a line's length that runs along the grain: a bowed board's still do, end grain's never
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
    return np.asarray(found[kept], dtype=np.float64)


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
