"""Which part a ray meets first, where the parts now stand; no screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import BoolArray, FloatArray
    from viewer.scene.camera import View
    from viewer.scene.scene import Scene


_NONE = np.empty((0, 3, 3))  # no triangles
_SAME = 1e-9  # of a ray's length; what is met no nearer to its start than that is where the ray shall end


def part_under(scene: Scene, explode: float, view: View, place: tuple[float, float]) -> str | None:
    """Return the name of the part that is seen at a place of the window, (x, y) pixels, or None."""
    right, up, towards = view.direction.axes
    (x, y), (width, height) = place, view.size
    seen = view.focus + (x - width / 2) / view.scale * right + (height / 2 - y) / view.scale * up
    far = 10 * max(view.size) / view.scale
    return part_at(scene, explode, seen + far * towards, -towards)


def part_at(scene: Scene, explode: float, eye: FloatArray, towards: FloatArray) -> str | None:
    """Return the name of the first part that a ray meets where the parts now stand, or None.

    Parameters
    ----------
    scene : Scene
        What is shown.
    explode : float
        How far the parts stand apart.
    eye, towards : (3,) float
        Where the ray starts, mm, and its direction, of any length.

    Notes
    -----
    Source: Möller and Trumbore, Fast, Minimum Storage Ray/Triangle Intersection, Journal of Graphics Tools 2 (1997).
    """
    best, found = np.inf, None
    for part in scene.parts:
        corners = (part.points + explode * part.away)[part.triangles]
        distance = _distance(corners, eye, towards)
        if distance < best:
            best, found = distance, part.name
    return found


def seen_from(scene: Scene, explode: float, view: View, points: FloatArray) -> BoolArray:
    """Whether points, (n, 3) mm, are seen in a view, past all parts but those that are clear: (n,)."""
    towards, far = view.direction.axes[2], 10 * max(view.size) / view.scale
    hiding = [part for part in scene.parts if part.opacity == 1]
    corners = np.concatenate([_NONE, *((part.points + explode * part.away)[part.triangles] for part in hiding)])
    return np.array([_distance(corners, point + far * towards, -towards) >= far * (1 - _SAME) for point in points])


def _distance(corners: FloatArray, eye: FloatArray, towards: FloatArray) -> float:
    """Return how far along a ray the first of some triangles, (m, 3, 3), is met; infinity if none is."""
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    across = np.cross(towards, two)
    det = (one * across).sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        off = eye - corners[:, 0]
        u = (off * across).sum(axis=1) / det
        turned = np.cross(off, one)
        v = (turned @ towards) / det
        along = (turned * two).sum(axis=1) / det
        met = (u >= 0) & (v >= 0) & (u + v <= 1) & (along > 0)
    return float(along[met].min()) if met.any() else float("inf")
