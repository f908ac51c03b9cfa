"""Bodies and bits as flat facets: their corners, their triangles, and which facets are pieces of one face.

facet : a flat piece of a face, one triangle or more
chord : a facet's side in place of an arc, its ends on the arc

The facets of one arc turn by less than `TURN` from one to the next and lie within `CHORD` of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import manifold3d
import numpy as np

from assembly.errors import SolidError
from assembly.solids.polyhedron import Polyhedron, circle_cuts
from assembly.solids.shapes import Turned

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray
    from assembly.nominal.fittings import Hole
    from assembly.nominal.plaque import BentPlaque
    from assembly.solids.shapes import Shape

CHORD = 0.1  # mm; how far a facet may lie off a curved face
TURN = 0.1  # radians; how far a curved face may turn from one facet to the next
_APART = 1e-3  # radians; how near a crossing a regular corner of a bit is left out


@dataclass(frozen=True, slots=True, eq=False)
class Facets:
    """A closed surface of flat facets."""

    vertices: FloatArray  # (n, 3) mm
    triangles: IntArray  # (m, 3) anticlockwise seen from outside
    facet: IntArray  # (m,) the number of each triangle's facet, from 0
    face: IntArray  # (f,) the number of each facet's face

    @property
    def normals(self) -> FloatArray:
        """Unit normal of every facet, outwards: (f, 3)."""
        a, b, c = np.moveaxis(self.vertices[self.triangles], 1, 0)
        sums = np.zeros((len(self.face), 3))
        np.add.at(sums, self.facet, np.cross(b - a, c - a))
        return np.asarray(sums / np.linalg.norm(sums, axis=1, keepdims=True), dtype=np.float64)


def facets_of(shape: Shape) -> tuple[Facets, float]:
    """Return a shape's body without its bores, and the volume that its facets enclose, in closed form, mm³.

    Raises
    ------
    SolidError
        If a face's outline crosses itself.
    """
    body = shape.body
    if isinstance(body, Polyhedron):
        return _flat(shape.name, body), shape.gross
    if isinstance(body, Turned):
        return _turned(body, shape.gross)
    return _bent(body)


def triangles_of(shape: Polyhedron) -> IntArray:
    """Return the triangles of a polyhedron's faces: (m, 3), anticlockwise seen from outside."""
    return np.vstack([_loop_triangles(shape.loop(loop), loop)[0] for loop in shape.loops])


def chords(turn: float, radius: float) -> int:
    """Return the least number of equal chords over an arc that keeps `CHORD` and `TURN`; `turn` in radians."""
    most = TURN if radius <= CHORD else min(TURN, 2 * math.acos(1 - CHORD / radius))
    return math.ceil(turn / most)


def _regular(radius: float) -> FloatArray:
    """Return the corners of a full circle, a quarter turn among them: radians from 0."""
    count = 4 * chords(math.tau / 4, radius)
    return np.asarray(math.tau / count * np.arange(count), dtype=np.float64)


def bit(hole: Hole, body: Polyhedron | None) -> tuple[Facets, float]:
    """Return what a hole takes away, begun a radius above its face, and the area of its section, mm².

    The section has a corner wherever an edge of `body` crosses the bore, so that its rim lies on the round bore.
    """
    axis = int(np.abs(hole.axis).argmax())
    one, two = (axis + 1) % 3, (axis + 2) % 3
    radius, start = hole.diameter / 2, hole.centre[axis]
    crossings = _crossings(body, np.array(hole.centre), (one, two), radius)
    turns = _with_crossings(_regular(radius), crossings)
    ring = radius * np.column_stack([np.cos(turns), np.sin(turns)])
    ends = sorted([start - radius * hole.axis[axis], start + hole.depth * hole.axis[axis]])
    points = np.empty((2, len(ring), 3))
    points[:, :, axis] = np.array(ends)[:, None]
    points[:, :, one], points[:, :, two] = (ring + np.array(hole.centre)[[one, two]]).T
    area = radius**2 / 2 * float(np.sin(np.diff(turns, append=turns[0] + math.tau)).sum())
    return _extruded(points, np.zeros(len(ring), dtype=np.int64)), area


def _crossings(body: Polyhedron | None, centre: FloatArray, plan: tuple[int, int], radius: float) -> list[float]:
    """Return where edges of a body, seen along a bore, cross its circle: radians from 0 to a full turn."""
    if body is None:
        return []
    flat = body.vertices[:, plan] - centre[list(plan)]
    edges = {tuple(sorted(ends)) for loop in body.loops for ends in zip(loop, (*loop[1:], loop[0]), strict=True)}
    cuts = [cut for a, b in sorted(edges) for cut in circle_cuts(flat[a], flat[b], radius)]
    return [math.atan2(cut[1], cut[0]) % math.tau for cut in cuts]


def _with_crossings(regular: FloatArray, crossings: list[float]) -> FloatArray:
    """Return regular corners of a circle and further ones in order; none is nearer than `_APART` to another."""
    if not crossings:
        return regular
    further = np.sort(crossings)
    further = further[np.diff(further, append=further[0] + math.tau) > _APART]
    near = np.abs((regular[:, None] - further + math.pi) % math.tau - math.pi) <= _APART
    return np.sort(np.concatenate([further, regular[~near.any(axis=1)]]))


def _flat(name: str, body: Polyhedron) -> Facets:
    found = []
    for loop in body.loops:
        triangles, simple = _loop_triangles(body.loop(loop), loop)
        if not simple:
            msg = f"{name}: its faces cross, so it is no valid solid; its sizes or errors do not go together"
            raise SolidError(msg)
        found.append(triangles)
    facet = np.repeat(np.arange(len(found)), [len(triangles) for triangles in found])
    return Facets(body.vertices, np.vstack(found), facet, np.arange(len(found)))


def _loop_triangles(points: FloatArray, loop: tuple[int, ...]) -> tuple[IntArray, bool]:
    """Return the triangles of a face, and whether its outline does not cross itself: all of them turn its way."""
    if len(loop) == 3:
        return np.array([loop], dtype=np.int64), True
    normal = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)
    axis = int(np.abs(normal).argmax())
    plan = points[:, [(axis + 1) % 3, (axis + 2) % 3]]
    if normal[axis] < 0:
        plan = plan[:, ::-1]  # seen from outside the loop must turn anticlockwise
    triangles = np.asarray(manifold3d.triangulate([plan]), dtype=np.int64)
    a, b, c = np.moveaxis(plan[triangles], 1, 0)
    twice = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    return np.array(loop, dtype=np.int64)[triangles], bool((twice > -1e-9 * twice.sum()).all())


def _turned(body: Turned, gross: float) -> tuple[Facets, float]:
    """Return an outline turned: rings of corners, every section the same regular polygon, its largest."""
    turns = _regular(max(radius for radius, _ in body.outline))
    count = len(turns)
    vertices: list[FloatArray] = []
    rings = []
    for radius, z in body.outline:
        at = sum(map(len, vertices))
        size = count if radius else 1
        ring = np.column_stack([radius * np.cos(turns), radius * np.sin(turns), np.full(count, z)])[:size]
        vertices.append(ring)
        rings.append(at + np.arange(count) % size)
    triangles, facet = [], []
    for number, (upper, lower) in enumerate(pairwise(rings)):
        on_upper, on_lower = np.roll(upper, -1), np.roll(lower, -1)
        for corners in ((upper, lower, on_lower), (upper, on_lower, on_upper)):
            band = np.column_stack(corners)
            proper = (band != np.roll(band, 1, axis=1)).all(axis=1)
            triangles.append(band[proper])
            facet.append((number * count + np.arange(count))[proper])
    face = np.repeat(np.arange(len(rings) - 1), count)
    chorded = gross * math.sin(math.tau / count) / (math.tau / count)
    return Facets(np.vstack(vertices), np.vstack(triangles), np.concatenate(facet), face), chorded


def _bent(plaque: BentPlaque) -> tuple[Facets, float]:
    """Return the plaque's profile with chords for arcs, drawn out along the bend line."""
    count = chords(plaque.angle, plaque.outside_radius)
    turns = np.linspace(0, plaque.angle, count + 1)
    if plaque.angle > math.pi / 2:  # the outer arc bulges past both its ends
        turns = np.unique([*turns[np.abs(turns - math.pi / 2) > _APART], math.pi / 2])
    arm = np.column_stack([np.sin(turns), -np.cos(turns)])
    corners = plaque.profile()
    centre = corners[1] + [0.0, plaque.outside_radius]
    outer, inner = centre + plaque.outside_radius * arm, centre + plaque.inside_radius * arm[::-1]
    profile = np.vstack([corners[:1], outer, corners[4:6], inner, corners[9:]])
    arc = len(turns) - 1
    face = np.array([0, *[1] * arc, 2, 3, 4, *[5] * arc, 6, 7])  # of the side from each point to the next
    points = np.array([[plaque.place(a, u, h) for u, h in profile] for a in (-plaque.width / 2, plaque.width / 2)])
    ring = float(np.sin(np.diff(turns)).sum()) / 2 * (plaque.outside_radius**2 - plaque.inside_radius**2)
    straight = plaque.thickness * (plaque.flat_straight + plaque.upright_straight)
    return _extruded(points, face), plaque.width * (straight + ring)


def _extruded(points: FloatArray, face: IntArray) -> Facets:
    """Return the solid between two equal outlines.

    Parameters
    ----------
    points : (2, k, 3) float
        Both outlines, mm; either way round.
    face : (k,) int
        The face that the side from each point to the next belongs to, from 0.
    """
    count = points.shape[1]
    shift = points[1, 0] - points[0, 0]
    axis = int(np.abs(shift).argmax())
    plan = points[0][:, [(axis + 1) % 3, (axis + 2) % 3]]
    backwards = float(np.sum(plan[:, 0] * np.roll(plan[:, 1], -1) - plan[:, 1] * np.roll(plan[:, 0], -1))) < 0
    cap = np.asarray(manifold3d.triangulate([plan[::-1] if backwards else plan]), dtype=np.int64)
    cap = count - 1 - cap if backwards else cap  # anticlockwise seen against the axis
    here, on = np.arange(count), np.roll(np.arange(count), -1)
    if backwards:
        here, on = on, here
    sides = [np.column_stack([here, on, on + count]), np.column_stack([here, on + count, here + count])]
    triangles = np.vstack([cap[:, ::-1], cap + count, *sides])
    if shift[axis] < 0:
        triangles = triangles[:, ::-1]
    side = np.arange(count) + 2
    facet = np.concatenate([np.zeros(len(cap)), np.ones(len(cap)), side, side]).astype(np.int64)
    return Facets(points.reshape(-1, 3), triangles, facet, np.concatenate([[0, 1], face + 2]))
