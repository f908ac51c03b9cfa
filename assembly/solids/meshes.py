"""Triangles and true edges of shapes, as plain arrays: welded, watertight and checked, without the exact kernel.

A body without bores is its facets. Bores are cut by the mesh kernel in double precision, which tells of every triangle
the facet that it is a piece of; so the true edges are known, and not guessed from angles alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import manifold3d
import numpy as np

from assembly.errors import SolidError
from assembly.solids.facets import Facets, bit, facets_of
from assembly.solids.parts import PartArrays
from assembly.solids.polyhedron import Polyhedron

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray, IntArray
    from assembly.solids.box import Box
    from assembly.solids.parts import Facts
    from assembly.solids.shapes import Shape

EDGE = math.radians(15)  # faces that meet at less are one smooth face to the eye; above `facets.TURN`
_WELD = 6  # decimals of a mm within which vertices are one
_BOUNDS = 1e-4  # mm; how far a mesh may reach beyond or short of what is expected
_VOLUME = 1e-6  # relative


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """A shape's triangles and edges in its own frame, as `PartArrays` tells them."""

    vertices: FloatArray
    triangles: IntArray
    edges: FloatArray


def mesh_of(shape: Shape) -> Mesh:
    """Return a shape as a mesh.

    Raises
    ------
    SolidError
        If it is not one closed solid of the shape's bounds, and of its volume but for what chords leave of arcs.
    """
    body, volume = facets_of(shape)
    edges_of = shape.body if isinstance(shape.body, Polyhedron) else None
    _check_numbers(shape.name, body)
    normals, slack, bits = body.normals, 0.0, []
    for bore in shape.bores:
        cut, section = bit(bore.hole, edges_of)
        _check_numbers(f"{shape.name}, {bore.hole.name}", cut)
        round_section = math.pi / 4 * bore.hole.diameter**2
        volume -= bore.volume * section / round_section
        slack += bore.uneven * (round_section - section)
        bits.append(cut)
        normals = np.concatenate([normals, -cut.normals])
    whole = _cut(shape.name, body, bits) if bits else body
    vertices, triangles, kept = _welded(whole.vertices, whole.triangles)
    pairs = _neighbours(shape.name, triangles)
    _check_size(shape, vertices, triangles, allowed=(volume, slack))
    return Mesh(vertices, triangles, _edges(vertices, pairs, whole, kept, normals))


def box_arrays(box: Box) -> tuple[PartArrays, ...]:
    """Return every part of a box as arrays, in the order of its parts; parts of one kind share their arrays."""
    return tuple(_record(part.facts, part.mesh) for part in box.parts)


def part_arrays(facts: Facts, shape: Shape) -> PartArrays:
    """Return one part of a given shape as arrays in its own frame.

    Raises
    ------
    SolidError
        As `mesh_of` does.
    """
    return _record(facts, mesh_of(shape))


def mesh_solid(vertices: FloatArray, triangles: IntArray, facet: IntArray | None = None) -> manifold3d.Manifold:
    """Return a closed mesh as a solid of the mesh kernel, which keeps the number of each triangle's facet.

    Raises
    ------
    SolidError
        If the kernel refuses the mesh.
    """
    mesh = manifold3d.Mesh64(
        vert_properties=np.ascontiguousarray(vertices, dtype=np.float64),
        tri_verts=np.ascontiguousarray(triangles, dtype=np.uint64),
        face_id=None if facet is None else np.ascontiguousarray(facet, dtype=np.uint64),
    )
    solid = manifold3d.Manifold(mesh)
    if solid.status() != manifold3d.Error.NoError:
        msg = f"mesh of {len(triangles)} triangles: the mesh kernel calls it {solid.status().name}, must be closed"
        raise SolidError(msg)
    return solid


def _check_numbers(name: str, facets: Facets) -> None:
    if not np.isfinite(facets.vertices).all():
        msg = f"{name}: a corner's place is not a number; check the sizes and errors that it was made from"
        raise SolidError(msg)


def _cut(name: str, body: Facets, bits: Sequence[Facets]) -> Facets:
    """Return a body less its bits; facets and faces are numbered on from the body's through those of the bits."""
    solids, faces, facets = [], [], 0
    for one in (body, *bits):
        solids.append(mesh_solid(one.vertices, one.triangles, one.facet + facets))
        faces.append(one.face + facets)  # a face's number is at the most its facets'
        facets += len(one.face)
    left = manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Subtract)
    pieces = len(left.decompose())
    if pieces != 1:
        msg = f"{name}: came out as {pieces} solids, must be 1; a hole or a bend does not fit its part"
        raise SolidError(msg)
    mesh = left.to_mesh64()
    return Facets(
        np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3],
        np.asarray(mesh.tri_verts, dtype=np.int64),
        np.asarray(mesh.face_id, dtype=np.int64),
        np.concatenate(faces),
    )


def _welded(points: FloatArray, corners: IntArray) -> tuple[FloatArray, IntArray, IntArray]:
    """Return vertices met once each and in order, triangles that have an area, and which triangles were kept."""
    _, first, where = np.unique(points.round(_WELD), axis=0, return_index=True, return_inverse=True)
    triangles = where.reshape(-1)[corners]
    proper = (triangles != np.roll(triangles, 1, axis=1)).all(axis=1)
    return points[first], triangles[proper], np.flatnonzero(proper)


def _neighbours(name: str, triangles: IntArray) -> IntArray:
    """Return, for every edge between two triangles, its ends and both triangles: (k, 4)."""
    ends = np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=-1).reshape(-1, 2)
    owner = np.repeat(np.arange(len(triangles)), 3)
    order = np.lexsort((ends[:, 0] > ends[:, 1], ends.max(axis=1), ends.min(axis=1)))
    ends, owner = ends[order], owner[order]
    closed = len(ends) % 2 == 0 and (ends[::2] == ends[1::2, ::-1]).all()
    if not closed or (np.diff(ends[::2], axis=0) == 0).all(axis=1).any():
        msg = f"{name}: its triangles do not close to a watertight surface; the solid has faces finer than 1e-6 mm"
        raise SolidError(msg)
    return np.column_stack([ends[::2], owner[::2], owner[1::2]])


def _check_size(shape: Shape, vertices: FloatArray, triangles: IntArray, *, allowed: tuple[float, float]) -> None:
    """Refuse a mesh of another volume, (closed form with chords for arcs, what that may be off), or other bounds."""
    volume, slack = allowed
    a, b, c = np.moveaxis(vertices[triangles] - vertices[0], 1, 0)
    found = float(np.einsum("ij,ij->", np.cross(a, b), c)) / 6
    if not abs(found - volume) <= slack + _VOLUME * shape.volume:
        msg = (
            f"{shape.name}: volume is {found:.6g} mm³, must be {volume:.6g} mm³; "
            "a hole or a bend runs over the part's edge or into another"
        )
        raise SolidError(msg)
    off = float(np.abs([vertices.min(axis=0), vertices.max(axis=0)] - shape.bounds).max())
    if not off <= _BOUNDS:
        msg = f"{shape.name}: reaches {off:.3g} mm beyond or short of its place, must be within {_BOUNDS} mm"
        raise SolidError(msg)


def _edges(vertices: FloatArray, pairs: IntArray, whole: Facets, kept: IntArray, normals: FloatArray) -> FloatArray:
    """Return the pieces of edge where triangles of two faces meet at more than `EDGE`: (k, 2, 3), mm."""
    one, other = whole.facet[kept][pairs[:, 2:]].T
    bent = np.einsum("ij,ij->i", normals[one], normals[other]) < math.cos(EDGE)
    return np.asarray(vertices[pairs[(whole.face[one] != whole.face[other]) & bent, :2]], dtype=np.float64)


def _record(facts: Facts, mesh: Mesh) -> PartArrays:
    return PartArrays(facts=facts, vertices=mesh.vertices, triangles=mesh.triangles, edges=mesh.edges)
