"""Meshes with fewer facets, for what is looked at on weak machines: arcs in longer chords, flat faces as they were.

Everything else about a part, its volume, its sizes and its files, comes from the full mesh.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from manifold3d import Manifold, Mesh64

from assembly.errors import SolidError

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray

WITHIN = 0.03  # mm; no surface moves further
EDGE = np.cos(np.radians(40.0))  # facets that meet at more are parted by an edge: chords of an arc never do


def coarser(points: FloatArray, triangles: IntArray, within: float = WITHIN) -> tuple[FloatArray, IntArray, FloatArray]:
    """Return a closed mesh with fewer facets, and its edges.

    Parameters
    ----------
    points : (n, 3) float
        mm, welded.
    triangles : (m, 3) int
        Anticlockwise seen from outside; closed.
    within : float
        How far a surface may move, mm.

    Returns
    -------
    points : (n, 3) float
        Some of the points given, in their order.
    triangles : (m, 3) int
        As those given.
    edges : (k, 2 ends, 3) float
        Where facets meet at an angle over 40 degrees, mm.

    Raises
    ------
    SolidError
        If the mesh is not closed.
    """
    found = Manifold(Mesh64(points, triangles.astype(np.uint64))).simplify(within)
    if found.is_empty():
        msg = f"a mesh of {len(triangles)} triangles is not one closed solid, and can't be drawn with fewer facets"
        raise SolidError(msg)
    mesh = found.to_mesh64()
    corners, ends = np.asarray(mesh.vert_properties[:, :3]), np.asarray(mesh.tri_verts, dtype=np.intp)
    return corners, ends, corners[_edges(corners, ends)]


def _edges(points: FloatArray, triangles: IntArray) -> IntArray:
    """Return the sides at which two triangles meet at more than `EDGE`, as numbers of points: (k, 2)."""
    corners = points[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12)
    sides = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    owner, key = np.tile(np.arange(len(triangles)), 3), np.sort(sides, axis=1)
    order = np.lexsort((key[:, 1], key[:, 0]))
    one, two = owner[order[::2]], owner[order[1::2]]  # of a closed mesh every side belongs to two triangles
    sharp = (normals[one] * normals[two]).sum(axis=1) < EDGE
    return np.asarray(key[order[::2]][sharp], dtype=np.intp)
