"""Where parts share space, by the mesh kernel in double precision: a check that does not use the exact kernel.

A volume above `CONTACT_VOLUME` is an overlap; below it, faces that touch (measured noise is about 3e-12 mm³).
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import manifold3d
import numpy as np

from assembly.errors import SolidError
from assembly.frame import LAPPED_AT, PLAIN_AT
from assembly.solids.parts import moved
from assembly.solids.walls import matrix_of, walls

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assembly.frame import FloatArray, Frame
    from assembly.made import MadeFaces
    from assembly.solids.parts import IntArray, PartArrays
    from assembly.solids.polyhedron import Polyhedron

CONTACT_VOLUME = 1e-6  # mm³


def mesh_solid(vertices: FloatArray, triangles: IntArray) -> manifold3d.Manifold:
    """Return a closed mesh as a solid of the mesh kernel.

    Raises
    ------
    SolidError
        If the kernel refuses the mesh.
    """
    mesh = manifold3d.Mesh64(
        vert_properties=np.ascontiguousarray(vertices, dtype=np.float64),
        tri_verts=np.ascontiguousarray(triangles, dtype=np.uint64),
    )
    solid = manifold3d.Manifold(mesh)
    if solid.status() != manifold3d.Error.NoError:
        msg = f"mesh of {len(triangles)} triangles: the mesh kernel calls it {solid.status().name}, must be closed"
        raise SolidError(msg)
    return solid


def triangles_of(shape: Polyhedron) -> IntArray:
    """Return the triangles of a polyhedron's faces: (m, 3), anticlockwise seen from outside."""
    return np.vstack([_face_triangles(shape.loop(loop), loop) for loop in shape.loops])


def settled_walls(box: Frame, faces: MadeFaces, poses: FloatArray) -> tuple[manifold3d.Manifold, ...]:
    """Return the four walls as made, without holes, where they settled: mesh solids in the order of `frame.WALLS`."""
    return tuple(
        mesh_solid(moved(shape.vertices, matrix_of(wall, poses[wall])), triangles_of(shape))
        for wall, shape in enumerate(walls(box, faces))
    )


def corner_overlaps(solids: tuple[manifold3d.Manifold, ...]) -> FloatArray:
    """Return the volume that the two walls of each corner share: (4 corners,), mm³."""
    pairs = zip(LAPPED_AT, PLAIN_AT, strict=True)
    return np.array([(solids[lapped] ^ solids[plain]).volume() for lapped, plain in pairs])


def corner_clearances(solids: tuple[manifold3d.Manifold, ...], reach: float) -> FloatArray:
    """Return the least distance between the two walls of each corner: (4 corners,), mm, at the most `reach`."""
    pairs = zip(LAPPED_AT, PLAIN_AT, strict=True)
    return np.array([solids[lapped].min_gap(solids[plain], reach) for lapped, plain in pairs])


def overlaps(arrays: Iterable[PartArrays]) -> dict[tuple[str, str], float]:
    """Return every pair of parts that share space in the closed box, and the volume, mm³.

    Threads that bite a pilot hole are among them: they are wider than their hole.
    """
    solids = {part.facts.name: mesh_solid(part.placed(), part.triangles) for part in arrays}
    shared = {(a, b): float((solids[a] ^ solids[b]).volume()) for a, b in combinations(solids, 2)}
    return {pair: volume for pair, volume in shared.items() if volume > CONTACT_VOLUME}


def _face_triangles(points: FloatArray, loop: tuple[int, ...]) -> IntArray:
    if len(loop) == 3:
        return np.array([loop], dtype=np.int64)
    normal = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)
    axis = int(np.abs(normal).argmax())
    plan = points[:, [(axis + 1) % 3, (axis + 2) % 3]]
    if normal[axis] < 0:
        plan = plan[:, ::-1]  # seen from outside the loop must turn anticlockwise
    return np.asarray(np.array(loop)[manifold3d.triangulate([plan])], dtype=np.int64)
