"""Shapes as bodies of the mesh kernel, in double precision: a part without its bores, and what a bit takes away.

chord : a facet's side in place of an arc, its ends on the arc

The facets of one arc turn by less than `TURN` from one to the next and lie within `CHORD` of it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from manifold3d import CrossSection, Error, Manifold, Mesh64, triangulate

from assembly.errors import SolidError
from assembly.nominal.fittings import HEAD_SLOPE
from assembly.solids.polyhedron import Polyhedron
from assembly.solids.shapes import RUN_IN, Turned

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray
    from assembly.nominal.fittings import Hole
    from assembly.nominal.plaque import BentPlaque
    from assembly.solids.shapes import Shape

CHORD = 0.1  # mm; how far a facet may lie off a curved face
TURN = 0.1  # radians; how far a curved face may turn from one facet to the next
_CURE = "check the sizes and errors that it was made from"
_FINE = 2.0**10  # times as large: the kernel rounds outlines to 1e-8
_APART = 1e-3  # radians; how near its highest point a regular corner of a bend is left out


def body_of(shape: Shape) -> tuple[Manifold, float]:
    """Return a shape's body without its bores, and the volume that its facets enclose, in closed form, mm³.

    Raises
    ------
    SolidError
        If a corner is no number, or the outline of a face crosses itself.
    """
    body = shape.body
    if isinstance(body, Polyhedron):
        return flat(shape.name, body), shape.gross
    if isinstance(body, Turned):
        return _turned(body, shape.gross)
    return _bent(body)


def bit(hole: Hole) -> tuple[Manifold, float]:
    """Return what a hole takes away, begun above its face, and the area of its section there, mm².

    A countersink's cone runs on to its point, inside the hole that it widens.

    Raises
    ------
    SolidError
        If its place is no number.
    """
    if not np.isfinite(hole.centre).all():
        msg = f"{hole.part}, {hole.name}: a corner's place is not a number; {_CURE}"
        raise SolidError(msg)
    radius, axis = hole.diameter / 2, np.array(hole.axis)
    count = corners_round(radius)
    turned = np.column_stack([np.roll(axis, 1), np.roll(axis, 2), axis, hole.centre - RUN_IN * axis])
    if hole.use == "countersink":
        wide = radius + RUN_IN / HEAD_SLOPE
        drill = Manifold.cylinder(HEAD_SLOPE * wide, wide, 0.0, circular_segments=count)
    else:
        drill = Manifold.cylinder(hole.depth + RUN_IN, radius, circular_segments=count)
    return drill.transform(turned), count / 2 * radius**2 * math.sin(math.tau / count)


def chords(turn: float, radius: float) -> int:
    """Return the least number of equal chords over an arc that keeps `CHORD` and `TURN`; `turn` in radians."""
    most = TURN if radius <= CHORD else min(TURN, 2 * math.acos(1 - CHORD / radius))
    return math.ceil(turn / most)


def corners_round(radius: float) -> int:
    """Return how many corners a full circle has, one at every quarter turn."""
    return 4 * chords(math.tau / 4, radius)


def flat(name: str, body: Polyhedron) -> Manifold:
    """Return a polyhedron as a body.

    Raises
    ------
    SolidError
        If a corner is no number, or the outline of a face crosses itself.
    """
    if not np.isfinite(body.vertices).all():
        msg = f"{name}: a corner's place is not a number; {_CURE}"
        raise SolidError(msg)
    faces = [_triangles(name, body.loop(loop), np.array(loop)) for loop in body.loops]
    found = Manifold(
        Mesh64(
            vert_properties=body.vertices,
            tri_verts=np.vstack(faces).astype(np.uint64),
            face_id=np.repeat(np.arange(len(faces), dtype=np.uint64), [len(face) for face in faces]),
        )
    )
    if found.status() != Error.NoError:
        raise _crossing(name)
    return found


def _triangles(name: str, points: FloatArray, loop: IntArray) -> IntArray:
    """Return the triangles of a face; none turns against its outline unless that crosses itself."""
    if len(loop) == 3:
        return loop[None]
    normal = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)
    axis = int(np.abs(normal).argmax())
    plan = points[:, [(axis + 1) % 3, (axis + 2) % 3]]
    if normal[axis] < 0:
        plan = plan[:, ::-1]  # seen from outside the loop must turn anticlockwise
    triangles = np.asarray(triangulate([plan]), dtype=np.int64)
    a, b, c = np.moveaxis(plan[triangles], 1, 0)
    twice = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    if (twice <= -1e-9 * twice.sum()).any():
        raise _crossing(name)
    return loop[triangles]


def _crossing(name: str) -> SolidError:
    return SolidError(f"{name}: its faces cross and make no valid solid; its sizes or errors do not go together")


def _turned(body: Turned, gross: float) -> tuple[Manifold, float]:
    """Return an outline turned: every section is the same regular polygon."""
    count = corners_round(max(radius for radius, _ in body.outline))
    solid = Manifold.revolve(_outline(np.array(body.outline)[::-1]), count).scale([1 / _FINE] * 3)
    return solid, gross * math.sin(math.tau / count) / (math.tau / count)


def _bent(plaque: BentPlaque) -> tuple[Manifold, float]:
    """Return the plaque's profile with chords for arcs, drawn out along the bend line."""
    count = chords(plaque.angle, plaque.outside_radius)
    turns = np.linspace(0, plaque.angle, count + 1)
    if plaque.angle > math.pi / 2:  # the outer arc bulges past both its ends
        turns = np.unique([*turns[np.abs(turns - math.pi / 2) > _APART], math.pi / 2])
    arm = np.column_stack([np.sin(turns), -np.cos(turns)])
    corners = plaque.profile()
    centre = corners[1] + [0.0, plaque.outside_radius]
    outer, inner = centre + plaque.outside_radius * arm, centre + plaque.inside_radius * arm[::-1]
    profile = _outline(np.vstack([corners[:1], outer, corners[4:6], inner, corners[9:]]))
    start, u, h, along = np.array([plaque.place(*at) for at in ((0, 0, 0), (0, 1, 0), (0, 0, 1), (1, 0, 0))])
    axes = [(u - start) / _FINE, (h - start) / _FINE, along - start, start - plaque.width / 2 * (along - start)]
    ring = float(np.sin(np.diff(turns)).sum()) / 2 * (plaque.outside_radius**2 - plaque.inside_radius**2)
    straight = plaque.thickness * (plaque.flat_straight + plaque.upright_straight)
    return Manifold.extrude(profile, plaque.width).transform(np.column_stack(axes)), plaque.width * (straight + ring)


def _outline(points: FloatArray) -> CrossSection:
    """Return an outline, (k, 2) mm, `_FINE` times as large."""
    return CrossSection([points * _FINE])
