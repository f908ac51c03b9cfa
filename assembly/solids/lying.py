"""Parts turned so that they lie: on the largest flat face on which they stand, their longer side along x.

lying : turned and moved so that the lowest points are at z = 0, the least x and y at 0
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import ConvexHull

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray

_ON = 1e-4  # mm; how near a plane a point is on it: a tenth of a thousandth, as meshes are checked
_ALIKE = 4  # decimals of a plane's normal and offset, mm, within which triangles lie in one plane
# Of the largest face of its convex hull, the least that a flat face must have for the part to lie on it; one that has
# none, such as a round-headed screw, lies on its hull. The facets of a curved face have less.
_LEAST_SHARE = 0.1


def lain(points: FloatArray, triangles: IntArray) -> FloatArray:
    """Return a part's vertices as it lies: (n, 3), mm.

    Parameters
    ----------
    points : FloatArray, (n, 3)
        Its vertices, mm.
    triangles : IntArray, (m, 3)
        Its triangles, anticlockwise seen from outside.
    """
    down = _downwards(points, triangles)
    turned = points @ _turn(down).T
    turned = turned @ _along_x(turned[:, :2]).T
    return np.asarray(turned - turned.min(axis=0))


def _downwards(points: FloatArray, triangles: IntArray) -> FloatArray:
    """Return the outward normal of the face that a part lies on: (3,)."""
    hull = ConvexHull(points)
    taut, areas = _faces(points, hull.simplices.astype(np.int64), hull.equations[:, :3])
    a, b, c = np.moveaxis(points[triangles], 1, 0)
    cross = np.cross(b - a, c - a)
    flat, flat_areas = _faces(points, triangles, cross / np.linalg.norm(cross, axis=1, keepdims=True))
    enough = flat_areas >= _LEAST_SHARE * areas.max()
    middle = _middle(points, a, b, c)
    for planes, size in ((flat[enough], flat_areas[enough]), (taut, areas)):
        for at in np.argsort(-size, kind="stable"):
            if _stands(points, planes[at], middle):
                return planes[at, :3]
    return taut[int(areas.argmax()), :3]


def _middle(points: FloatArray, a: FloatArray, b: FloatArray, c: FloatArray) -> FloatArray:
    """Return the centre of what triangles enclose: (3,), mm."""
    start = points.mean(axis=0)
    volumes = np.einsum("ij,ij->i", a - start, np.cross(b - start, c - start)) / 6
    return np.asarray(start + volumes @ (a + b + c - 3 * start) / 4 / volumes.sum())


def _stands(points: FloatArray, plane: FloatArray, middle: FloatArray) -> bool:
    """Tell whether a plane is under all of a part, whose centre is over the place where it takes the table."""
    above = plane[3] - points @ plane[:3]
    if above.min() < -_ON:
        return False
    turn = _turn(plane[:3])
    place = ConvexHull((points[above < _ON] @ turn.T)[:, :2])
    return bool((place.equations @ [*(turn @ middle)[:2], 1.0] <= _ON).all())


def _faces(points: FloatArray, triangles: IntArray, normals: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the planes that triangles lie in, (k, 4) normal and offset, and their area in each, (k,), mm²."""
    a, b, c = np.moveaxis(points[triangles], 1, 0)
    each = np.column_stack([normals, (normals * a).sum(axis=1)])
    _, first, which = np.unique(each.round(_ALIKE) + 0.0, axis=0, return_index=True, return_inverse=True)
    areas = np.zeros(len(first))
    np.add.at(areas, which.reshape(-1), np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2)
    return each[first], areas


def _turn(down: FloatArray) -> FloatArray:
    """Return the rotation that turns a direction straight down: (3, 3)."""
    up = -down / np.linalg.norm(down)
    start = np.eye(3)[int(np.abs(up).argmin())]
    across = np.cross(start, up)
    across /= np.linalg.norm(across)
    return np.stack([across, np.cross(up, across), up])


def _along_x(plan: FloatArray) -> FloatArray:
    """Return the turn about z that gives a plan the least rectangle round it, its longer side along x: (3, 3)."""
    outline = plan[ConvexHull(plan).vertices]
    sides = np.roll(outline, -1, axis=0) - outline
    unit = sides / np.linalg.norm(sides, axis=1, keepdims=True)
    along, across = outline @ unit.T, outline @ np.stack([-unit[:, 1], unit[:, 0]])
    areas = np.ptp(along, axis=0) * np.ptp(across, axis=0)
    x, y = unit[int(areas.round(6).argmin())]
    turn = np.array([[x, y, 0.0], [-y, x, 0.0], [0.0, 0.0, 1.0]])
    reach = np.ptp(outline @ turn[:2, :2].T, axis=0)
    quarter = np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    return np.asarray(turn if reach[0] >= reach[1] else quarter @ turn)
