"""What is seen where, worked out without a graphics library: a depth buffer over plain triangles.

mark     : the number of what is seen at a pixel: 0 nothing, then the parts, then the joints, in the scene's order
row      : a triangle's piece of one line of pixels
fragment : a triangle at one pixel

A pixel shows what lies nearest to the viewer at its middle; what is translucent hides as all else does, but for single
points, which are seen through it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.arrays import cross
from viewer.scene.camera import fitted

if TYPE_CHECKING:
    from assembly.arrays import BoolArray, FloatArray, IntArray
    from viewer.scene.camera import View
    from viewer.scene.scene import Scene


_LOOK = (480, 360)  # pixels; the picture on which it is judged how well the worst joint is seen
_SAME = 1e-6  # mm; a point that lies no further behind a face is on it
_NEARER = 1 / 1600  # how far joints' marks are moved to the viewer, as a share of the picture's height


def seen(scene: Scene, view: View) -> IntArray:
    """Return the mark of what is seen at each pixel of a view: (height, width)."""
    corners, marks = _triangles(scene, view)
    width, height = view.size
    flat = view.pixels(corners)
    depth = corners @ view.direction.axes[2]
    depth[marks > len(scene.parts)] += height / view.scale * _NEARER
    found = np.zeros(height * width, dtype=np.intp)
    pixel, near, mark = fragments(flat, depth, marks, view.size)
    order = np.argsort(near, kind="stable")
    found[pixel[order]] = mark[order]  # of several at one pixel the last one stays: the nearest
    return found.reshape(height, width)


def _triangles(scene: Scene, view: View) -> tuple[FloatArray, IntArray]:
    """Return the triangles that may be seen, (n, 3, 3) mm, and the mark of each: the faces turned to the viewer."""
    towards, corners, marks = view.direction.axes[2], [np.empty((0, 3, 3))], [np.empty(0, dtype=np.intp)]
    for index, part in enumerate(scene.parts):
        mesh = scene.placed(index, part.points)[part.triangles]
        facing = cross(mesh[:, 1] - mesh[:, 0], mesh[:, 2] - mesh[:, 0]) @ towards > 0
        corners.append(mesh[facing])
        marks.append(np.full(int(facing.sum()), index + 1))
    for index, joint in enumerate(scene.joints):
        for patch in joint.patches:
            corners.append(scene.placed(patch.part, patch.ground))
            marks.append(np.full(len(patch.ground), len(scene.parts) + index + 1))
    return np.concatenate(corners), np.concatenate(marks)


def fragments(
    flat: FloatArray, depth: FloatArray, marks: IntArray, size: tuple[int, int]
) -> tuple[IntArray, FloatArray, IntArray]:
    """Return pixel, depth and mark of every fragment of triangles.

    Parameters
    ----------
    flat : (n, 3 corners, 2) float
        Where the triangles are seen, pixels.
    depth : (n, 3 corners) float
        How near the corners are to the viewer, mm.
    marks : (n,) int
        What each triangle belongs to.
    size : (int, int)
        Width and height of the picture, pixels.
    """
    width, height = size
    first, count = _whole(flat[..., 1].min(axis=1), flat[..., 1].max(axis=1), height)
    triangle = np.repeat(np.arange(len(flat)), count)
    row = _counted(count) + first[triangle]
    left, right = _spans(flat[triangle], np.asarray(row + 0.5, dtype=np.float64))
    start, wide = _whole(left, right, width)
    piece = np.repeat(np.arange(len(row)), wide)
    column = _counted(wide) + start[piece]
    gradient, at_origin = _plane(flat, depth)
    owner, y = triangle[piece], row[piece]
    near = at_origin[owner] + gradient[owner, 0] * (column + 0.5) + gradient[owner, 1] * (y + 0.5)
    return y * width + column, near, marks[owner]


def _whole(low: FloatArray, high: FloatArray, most: int) -> tuple[IntArray, IntArray]:
    """Return the first pixel whose middle lies between two places, and how many do."""
    first = np.clip(np.ceil(low - 0.5), 0, most).astype(np.intp)
    last = np.clip(np.ceil(high - 0.5), 0, most).astype(np.intp)
    return first, np.maximum(last - first, 0)


def _counted(counts: IntArray) -> IntArray:
    """Return 0…c-1 for each count, one after another."""
    total = int(counts.sum())
    return np.arange(total) - np.repeat(np.cumsum(counts) - counts, counts)


def _spans(corners: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where the level line at `y` enters and leaves each triangle, pixels."""
    left, right = np.full(len(y), np.inf), np.full(len(y), -np.inf)
    for a, b in ((0, 1), (1, 2), (2, 0)):
        (x0, y0), (x1, y1) = corners[:, a].T, corners[:, b].T
        crossed = (np.minimum(y0, y1) <= y) & (y < np.maximum(y0, y1))
        run = np.where(crossed, y1 - y0, 1.0)
        x = x0 + (y - y0) / run * (x1 - x0)
        left = np.where(crossed, np.minimum(left, x), left)
        right = np.where(crossed, np.maximum(right, x), right)
    return np.where(np.isfinite(left), left, 0.0), np.where(np.isfinite(right), right, 0.0)


def _plane(flat: FloatArray, depth: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return how depth changes along x and y on each triangle, (n, 2), and its depth at the picture's corner, (n,)."""
    one, two = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    area = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    usable = np.where(np.abs(area) > 0, area, np.inf)
    a, b = depth[:, 1] - depth[:, 0], depth[:, 2] - depth[:, 0]
    gradient = np.stack([a * two[:, 1] - b * one[:, 1], b * one[:, 0] - a * two[:, 0]], axis=1) / usable[:, None]
    return gradient, depth[:, 0] - (gradient * flat[:, 0]).sum(axis=1)


def worst_seen(scene: Scene) -> float:
    """Return how much of a face of the worst joint is seen when the box is taken apart, as a share; 1 without one."""
    worst, apart = scene.worst, replace(scene, explode=1.0)
    if worst is None:
        return 1.0
    view = fitted(apart.corners(), scene.direction, _LOOK, np.array([[0.0, 0.0], _LOOK]))
    mark = len(scene.parts) + 1 + scene.joints.index(worst)
    areas = []
    for patch in worst.patches:
        x, y = view.pixels(apart.placed(patch.part, patch.face)).T
        areas.append(abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2)
    return float((seen(apart, view) == mark).sum()) / max(*areas, 1e-9)


def part_under(scene: Scene, explode: float, view: View, place: tuple[float, float]) -> str | None:
    """Return the name of the part that is seen at a place of a view, (x, y) pixels, or None: a picture of one pixel."""
    right, up, _ = view.direction.axes
    (x, y), (width, height) = place, view.size
    focus = view.focus + ((x - width / 2) * right + (height / 2 - y) * up) / view.scale
    apart, pixel = replace(scene, explode=explode, joints=()), replace(view, focus=focus, size=(1, 1))
    about = [
        index for index, part in enumerate(scene.parts) if _reaches(pixel.pixels(apart.placed(index, part.points)))
    ]
    mark = seen(replace(apart, parts=tuple(scene.parts[index] for index in about)), pixel)[0, 0]
    return scene.parts[about[mark - 1]].name if mark else None


def _reaches(corners: FloatArray) -> bool:
    """Whether a picture of one pixel has anything between corners, (n, 2) pixels; a pixel is left for rounding."""
    return bool((corners.min(axis=0) < 2).all() and (corners.max(axis=0) > -1).all())


def seen_from(scene: Scene, explode: float, view: View, points: FloatArray) -> BoolArray:
    """Whether points, (n, 3) mm, are seen in a view, past all parts but those that are clear: (n,)."""
    corners, marks = _triangles(replace(scene, explode=explode, joints=()), view)
    hides = np.array([part.opacity == 1 for part in scene.parts])[marks - 1]
    flat, depth = view.pixels(corners[hides]), corners[hides] @ view.direction.axes[2]
    gradient, at_origin = _plane(flat, depth)
    found = []
    for (x, y), near in zip(view.pixels(points), points @ view.direction.axes[2], strict=True):
        left, right = _spans(flat, np.full(len(flat), y))
        before = at_origin + gradient @ np.array([x, y]) > near + _SAME
        found.append(not (before & (left <= x) & (x < right)).any())
    return np.array(found, dtype=np.bool_)
