"""Solids with flat faces as numbers: vertices, face loops, exact volumes; no geometry kernel.

column : a point of a ring on plan, at both levels (bottom, top)
loop   : the vertices round one face, anticlockwise seen from outside
fan    : a face worked by hand: four triangles from its corners to a point at their mean (MODEL.md, 6)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import SolidError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.arrays import FloatArray


PLANAR = 1e-9  # mm; a face flatter than this is one face
LEAST_STEP = 0.01  # mm; vertices that follow one another closer than this are out of order


@dataclass(frozen=True, slots=True, eq=False)
class Polyhedron:
    """A closed solid of flat faces."""

    vertices: FloatArray  # (n, 3) mm
    loops: tuple[tuple[int, ...], ...]  # anticlockwise seen from outside

    @property
    def volume(self) -> float:
        """Volume, mm³: the sum of the tetrahedra from the origin to every face."""
        return sum(float(_normal(points) @ points[0]) for points in map(self.loop, self.loops)) / 6

    @property
    def bounds(self) -> FloatArray:
        """Least and greatest x, y, z: (2, 3), mm."""
        return np.stack([self.vertices.min(axis=0), self.vertices.max(axis=0)])

    def turned(self, turn: FloatArray) -> Polyhedron:
        """Return the solid turned about the origin by a rotation, (3, 3)."""
        return Polyhedron(self.vertices @ turn.T, self.loops)

    def loop(self, indices: tuple[int, ...]) -> FloatArray:
        """Return the points round a face: (k, 3), mm."""
        return np.asarray(self.vertices[list(indices)], dtype=np.float64)


def prism(columns: FloatArray) -> Polyhedron:
    """Return the solid between the bottom and the top of a ring of columns.

    Parameters
    ----------
    columns : FloatArray, (k, 2, 3)
        Bottom and top point of each column, mm; all bottoms level, all tops level; the ring runs either way.

    Notes
    -----
    A side that is not planar within `PLANAR` becomes a fan. A column in the middle of a plane is left out.
    """
    ring = _without_flat_columns(columns)
    x, y = ring[:, 0, 0], ring[:, 0, 1]
    if np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) < 0:  # it turns clockwise
        ring = ring[::-1]
    count = len(ring)
    vertices, loops = [*ring.reshape(-1, 3)], [tuple(range(1, 2 * count, 2)), tuple(range(2 * count - 2, -1, -2))]
    for i in range(count):
        j = (i + 1) % count
        side = (2 * i, 2 * j, 2 * j + 1, 2 * i + 1)
        corners = ring[[i, j, j, i], [0, 0, 1, 1]]
        if _off_plane(corners) <= PLANAR:
            loops.append(side)
        else:
            vertices.append(corners.mean(axis=0))
            loops.extend((a, b, len(vertices) - 1) for a, b in pairwise((*side, side[0])))
    return Polyhedron(np.array(vertices), tuple(loops))


def in_order(name: str, points: FloatArray, axis: int, groups: tuple[tuple[int, ...], ...]) -> None:
    """Refuse points whose groups do not follow one another along an axis, or that are no numbers.

    Parameters
    ----------
    name : str
        The part, as the message calls it.
    points : FloatArray, (k, 2, 3)
        Columns, mm.
    axis : int
        0, 1 or 2 for x, y or z.
    groups : tuple of tuples of int
        Columns of each group, in rising order along the axis.

    Raises
    ------
    SolidError
        If a number is not finite, or groups meet or cross. Such numbers must never reach the geometry kernel.
    """
    if not np.isfinite(points).all():
        msg = f"{name}: a corner's place is not a number; check the sizes and errors that it was made from"
        raise SolidError(msg)
    for before, after in pairwise(groups):
        step = float(points[list(after), :, axis].min() - points[list(before), :, axis].max())
        if step < LEAST_STEP:
            msg = (
                f"{name}: faces that follow one another along {'xyz'[axis]} are {step:.3f} mm apart, "
                f"must be at least {LEAST_STEP} mm; the errors are too large for this timber"
            )
            raise SolidError(msg)


def volume_in_bore(solid: Polyhedron, centre: tuple[float, float], radius: float) -> float:
    """Return the volume of `solid` inside an endless round bore along y, mm³; exact.

    Parameters
    ----------
    solid : Polyhedron
        The solid that is bored right through.
    centre : tuple of float
        x and z of the bore's axis, mm.
    radius : float
        Radius of the bore, mm.

    Notes
    -----
    By the divergence theorem the volume is the sum over faces of y over the part of the face in the bore, seen along
    y. On a flat face y is linear in x and z, so area and first moments of polygon and disc together are enough.
    """
    total = 0.0
    for level, (along_x, along_z), (area, first_x, first_z) in _faces_in_bore(solid, centre, radius):
        total += level * area + along_x * first_x + along_z * first_z
    return total


def unevenness(solid: Polyhedron, centre: tuple[float, float], radius: float) -> float:
    """Return a bound on how much the thickness of `solid` along y varies within a round bore along y, mm.

    Parameters are those of `volume_in_bore`. The faces that look either way are each held between the least and the
    greatest height that their planes reach within the bore.
    """
    reach: dict[bool, list[float]] = {True: [], False: []}
    for level, slopes, (area, *_) in _faces_in_bore(solid, centre, radius):
        rise = radius * math.hypot(*slopes)
        if abs(area) > PLANAR:  # mm²; what rounding leaves of a face beside the bore is less
            reach[area > 0] += [level - rise, level + rise]
    return sum(max(heights) - min(heights) for heights in reach.values() if heights)


def _faces_in_bore(
    solid: Polyhedron, centre: tuple[float, float], radius: float
) -> Iterator[tuple[float, tuple[float, float], FloatArray]]:
    """Yield of every face not seen edge on: y of its plane on the axis, its slopes, moments of its part in the bore.

    Slopes are along x and z; moments are the area and the first moments along x and z, (3,), seen along y and positive
    where the face looks to +y.
    """
    x0, z0 = centre
    for points in map(solid.loop, solid.loops):
        normal = _normal(points)
        if abs(normal[1]) <= 1e-9 * float(np.linalg.norm(normal)):
            continue
        level = float(normal @ (points[0] - [x0, 0.0, z0])) / normal[1]
        moments = _disc_moments(points[:, [2, 0]] - [z0, x0], radius)[[0, 2, 1]]
        yield level, (-normal[0] / normal[1], -normal[2] / normal[1]), moments


def _normal(points: FloatArray) -> FloatArray:
    """Return twice the vector area of a loop (Newell)."""
    return np.asarray(np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0), dtype=np.float64)


def _off_plane(points: FloatArray) -> float:
    """Return the largest distance of points from their best plane, mm."""
    spread = points - points.mean(axis=0)
    normal = np.linalg.svd(spread, full_matrices=False)[2][-1]
    return float(np.abs(spread @ normal).max())


def _without_flat_columns(columns: FloatArray) -> FloatArray:
    kept = list(range(len(columns)))
    for column in range(len(columns)):
        at = kept.index(column)
        around = [kept[at - 1], column, kept[(at + 1) % len(kept)]]
        if _off_plane(columns[around].reshape(-1, 3)) <= PLANAR:
            kept.remove(column)
    return columns[kept]


def _disc_moments(polygon: FloatArray, radius: float) -> FloatArray:
    """Return area and first moments (3,) of the part of a polygon (k, 2) in a disc about the origin; signed."""
    moments = np.zeros(3)
    for start, end in zip(polygon, np.roll(polygon, -1, axis=0), strict=True):
        cuts = circle_cuts(start, end, radius)
        for a, b in pairwise([start, *cuts, end]):
            middle = (a + b) / 2
            inside = float(middle @ middle) < radius**2
            moments += _triangle(a, b) if inside else _sector(a, b, radius)
    return moments


def circle_cuts(start: FloatArray, end: FloatArray, radius: float) -> list[FloatArray]:
    """Return where a segment crosses the circle, in order along it."""
    along = end - start
    a, b, c = float(along @ along), float(start @ along), float(start @ start) - radius**2
    root = b * b - a * c
    if a == 0 or root <= 0:
        return []
    places = [(-b + sign * math.sqrt(root)) / a for sign in (-1, 1)]
    return [start + place * along for place in places if 0 < place < 1]


def _triangle(a: FloatArray, b: FloatArray) -> FloatArray:
    area = (a[0] * b[1] - a[1] * b[0]) / 2
    return np.array([area, *(area * (a + b) / 3)])


def _sector(a: FloatArray, b: FloatArray, radius: float) -> FloatArray:
    start = math.atan2(a[1], a[0])
    turn = math.atan2(a[0] * b[1] - a[1] * b[0], float(a @ b))
    end = start + turn
    first = radius**3 / 3 * np.array([math.sin(end) - math.sin(start), math.cos(start) - math.cos(end)])
    return np.array([radius**2 / 2 * turn, *first])
