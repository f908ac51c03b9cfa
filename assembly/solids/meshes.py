"""Triangles and true edges of solids, as plain arrays: welded, watertight, without the kernel's objects."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopLoc import TopLoc_Location

from assembly.errors import SolidError
from assembly.solids.parts import PartArrays

if TYPE_CHECKING:
    import cadquery as cq

    from assembly.frame import FloatArray
    from assembly.solids.box import Box
    from assembly.solids.parts import Facts, IntArray

CHORD = 0.1  # mm; how far a triangle may lie off a curved face
TURN = 0.2  # radians; how far a curved face may turn from one triangle to the next
EDGE = math.radians(15)  # faces that meet at less are one smooth face to the eye; above half of `TURN`
_WELD = 6  # decimals of a mm within which vertices are one


def box_arrays(box: Box) -> tuple[PartArrays, ...]:
    """Return every part of a box as arrays, in the order of its parts; parts of one kind share their arrays."""
    kinds: dict[str, tuple[FloatArray, IntArray, FloatArray]] = {}
    for part in box.parts:
        if part.facts.kind not in kinds:
            kinds[part.facts.kind] = _arrays(part.facts.name, part.solid)
    return tuple(_record(part.facts, kinds[part.facts.kind]) for part in box.parts)


def part_arrays(facts: Facts, solid: cq.Solid) -> PartArrays:
    """Return one part as arrays in its own frame.

    Raises
    ------
    SolidError
        If the triangles do not close.
    """
    return _record(facts, _arrays(facts.name, solid))


def _record(facts: Facts, arrays: tuple[FloatArray, IntArray, FloatArray]) -> PartArrays:
    vertices, triangles, edges = arrays
    return PartArrays(facts=facts, vertices=vertices, triangles=triangles, edges=edges)


def _arrays(name: str, solid: cq.Solid) -> tuple[FloatArray, IntArray, FloatArray]:
    loose, corners, faces = _face_triangles(solid)
    vertices, triangles, kept = _welded(loose, corners)
    pairs = _neighbours(name, triangles)
    return vertices, triangles, _edges(vertices, triangles, faces[kept], pairs)


def _face_triangles(solid: cq.Solid) -> tuple[FloatArray, IntArray, IntArray]:
    """Return the kernel's vertices, triangles and the number of each triangle's face; faces share no vertices yet."""
    shape = solid.copy()  # the kernel keeps the first mesh made on a shape, however coarse
    BRepMesh_IncrementalMesh(shape.wrapped, CHORD, False, TURN, False)  # noqa: FBT003 (the kernel's own call)
    points: list[tuple[float, float, float]] = []
    corners: list[tuple[int, int, int]] = []
    faces: list[int] = []
    for number, face in enumerate(shape.Faces()):
        where = TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(face.wrapped, where)
        start = len(points) - 1  # the kernel counts from 1
        turned = face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
        nodes = (mesh.Node(i).Transformed(where.Transformation()) for i in range(1, mesh.NbNodes() + 1))
        points.extend((node.X(), node.Y(), node.Z()) for node in nodes)
        for triangle in mesh.Triangles():
            a, b, c = (triangle.Value(i) + start for i in (1, 2, 3))
            corners.append((a, c, b) if turned else (a, b, c))
            faces.append(number)
    return np.array(points), np.array(corners, dtype=np.int64), np.array(faces, dtype=np.int64)


def _welded(points: FloatArray, corners: IntArray) -> tuple[FloatArray, IntArray, IntArray]:
    """Return vertices met once each, triangles without those that have no area, and which triangles were kept."""
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


def _edges(vertices: FloatArray, triangles: IntArray, faces: IntArray, pairs: IntArray) -> FloatArray:
    """Return the pieces of edge where triangles of two faces meet at more than `EDGE`: (k, 2, 3), mm."""
    a, b, c = np.moveaxis(vertices[triangles], 1, 0)
    normals = np.cross(b - a, c - a)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    one, other = pairs[:, 2], pairs[:, 3]
    bent = np.einsum("ij,ij->i", normals[one], normals[other]) < math.cos(EDGE)
    return np.asarray(vertices[pairs[(faces[one] != faces[other]) & bent, :2]], dtype=np.float64)
