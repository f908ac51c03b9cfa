"""Triangles and true edges of shapes, as plain arrays: welded, watertight and checked, without the exact kernel.

Bores are cut by the mesh kernel in double precision, which tells of every triangle the facet of which body it is a
piece of. The facets of one curved face turn by less than `EDGE`, so what turns by more is a true edge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import manifold3d
import numpy as np

from assembly.errors import SolidError
from assembly.solids.bodies import bit, body_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray, IntArray
    from assembly.solids.shapes import Shape

EDGE = math.radians(15)  # faces that meet at less are one smooth face to the eye; above `bodies.TURN`
_WELD = 6  # decimals of a mm within which vertices are one
_BOUNDS = 1e-4  # mm; how far a mesh may reach beyond or short of what is expected
_VOLUME = 1e-6  # relative


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """A closed surface, and the edges that are seen on it."""

    vertices: FloatArray  # (n, 3) mm, welded
    triangles: IntArray  # (m, 3) anticlockwise seen from outside; watertight
    edges: FloatArray  # (k, 2, 3) mm; straight pieces of the edges where two faces truly meet at an angle

    @property
    def volume(self) -> float:
        """What it encloses, mm³."""
        a, b, c = np.moveaxis(self.vertices[self.triangles] - self.vertices[0], 1, 0)
        return float(np.einsum("ij,ij->", np.cross(a, b), c)) / 6


def mesh_of(shape: Shape) -> Mesh:
    """Return a shape as a mesh.

    Raises
    ------
    SolidError
        If it is not one closed solid of the shape's bounds, and of its volume but for what chords leave of arcs.
    """
    body, volume = body_of(shape)
    slack, bits = 0.0, []
    for bore in shape.bores:
        cut, section = bit(bore.hole)
        round_section = math.pi / 4 * bore.hole.diameter**2
        volume -= bore.volume * section / round_section
        slack += bore.uneven * (round_section - section)
        bits.append(cut)
    mesh = cut_mesh(shape.name, body, bits)
    if not abs(mesh.volume - volume) <= slack + _VOLUME * shape.volume:
        msg = (
            f"{shape.name}: volume is {mesh.volume:.6g} mm³, must be {volume:.6g} mm³; "
            "a hole or a bend runs over the part's edge or into another"
        )
        raise SolidError(msg)
    off = float(np.abs([mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)] - shape.bounds).max())
    if not off <= _BOUNDS:
        msg = f"{shape.name}: reaches {off:.3g} mm beyond or short of its place, must be within {_BOUNDS} mm"
        raise SolidError(msg)
    return mesh


def cut_mesh(name: str, body: manifold3d.Manifold, cutters: Sequence[manifold3d.Manifold]) -> Mesh:
    """Return what cutters leave of a body, as a mesh.

    Raises
    ------
    SolidError
        If they do not leave one closed solid.
    """
    left = manifold3d.Manifold.batch_boolean([body, *cutters], manifold3d.OpType.Subtract)
    pieces = len(left.decompose())
    if pieces != 1:
        msg = f"{name}: came out as {pieces} solids, must be 1; a hole or a bend does not fit its part"
        raise SolidError(msg)
    found = left.to_mesh64()
    points = np.asarray(found.vert_properties, dtype=np.float64)[:, :3]
    corners = np.asarray(found.tri_verts, dtype=np.int64)
    bodies = np.repeat(np.arange(len(found.run_index) - 1), np.diff(found.run_index) // 3)
    pieces_of = np.asarray(found.face_id, dtype=np.int64)
    facets = bodies * (1 + pieces_of.max()) + pieces_of
    # Vertices are met once each and in order; triangles that lose their area by that go.
    _, first, where = np.unique(points.round(_WELD), axis=0, return_index=True, return_inverse=True)
    triangles = where.reshape(-1)[corners]
    proper = (triangles != np.roll(triangles, 1, axis=1)).all(axis=1)
    vertices, triangles = points[first], triangles[proper]
    return Mesh(vertices, triangles, _edges(vertices, triangles, facets[proper], _neighbours(name, triangles)))


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


def _edges(vertices: FloatArray, triangles: IntArray, facets: IntArray, neighbours: IntArray) -> FloatArray:
    """Return the pieces of edge where triangles of two facets, given by number, meet at more than `EDGE`: (k, 2, 3)."""
    a, b, c = np.moveaxis(vertices[triangles], 1, 0)
    _, facet = np.unique(facets, return_inverse=True)
    normals = np.zeros((facet.max() + 1, 3))
    np.add.at(normals, facet, np.cross(b - a, c - a))
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    one, other = normals[facet[neighbours[:, 2:]]].transpose(1, 0, 2)
    bent = (one * other).sum(axis=1) < math.cos(EDGE)
    return np.asarray(vertices[neighbours[bent, :2]], dtype=np.float64)
