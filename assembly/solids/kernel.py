"""The geometry kernel, kept behind a few plain functions that take numbers and give checked solids."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import cadquery as cq
import numpy as np
from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Builder
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.Geom import Geom_Line, Geom_Plane
from OCP.gp import gp_Dir, gp_Lin, gp_Pln, gp_Pnt
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopoDS import TopoDS_Edge, TopoDS_Face, TopoDS_Shell, TopoDS_Solid, TopoDS_Vertex, TopoDS_Wire

from assembly.errors import SolidError
from assembly.nominal.fittings import HEAD_SLOPE
from assembly.solids.polyhedron import Polyhedron
from assembly.solids.shapes import RUN_IN, Turned

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from assembly.nominal.fittings import Hole
    from assembly.nominal.plaque import BentPlaque
    from assembly.solids.shapes import Shape

_TOLERANCE = 1e-7  # mm; the kernel's own confusion distance
_BOUNDS = 1e-4  # mm; how far a bounding box may be off what is expected
_VOLUME = 1e-6  # relative


def exact(shape: Shape) -> cq.Solid:
    """Return a shape as an exact solid.

    Raises
    ------
    SolidError
        If it is not one valid solid of the shape's volume and bounds.
    """
    solid = drilled(_body(shape.body), [bore.hole for bore in shape.bores])
    return checked(shape.name, solid, volume=shape.volume, bounds=shape.bounds)


def solid_of(shape: Polyhedron) -> cq.Solid:
    """Return a polyhedron as a solid whose faces share their edges and corners."""
    builder = BRep_Builder()
    corners = [_corner(builder, point) for point in shape.vertices]
    edges: dict[tuple[int, int], TopoDS_Edge] = {}
    shell = TopoDS_Shell()
    builder.MakeShell(shell)
    for loop in shape.loops:
        wire = TopoDS_Wire()
        builder.MakeWire(wire)
        for a, b in zip(loop, (*loop[1:], loop[0]), strict=True):
            key = (min(a, b), max(a, b))
            if key not in edges:
                edges[key] = _edge(builder, shape.vertices, corners, key)
            builder.Add(wire, edges[key] if a < b else edges[key].Reversed())
        wire.Closed(True)  # noqa: FBT003 (the kernel's own call)
        builder.Add(shell, _face(builder, shape.loop(loop), wire))
    shell.Closed(True)  # noqa: FBT003 (the kernel's own call)
    solid = TopoDS_Solid()
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    return cq.Solid(solid)


def drilled(solid: cq.Solid, holes: Sequence[Hole]) -> cq.Shape:
    """Return a solid with holes drilled, each as deep as it says."""
    return solid.cut(*(_bit(hole) for hole in holes)) if holes else solid


def checked(name: str, shape: cq.Shape, *, volume: float, bounds: FloatArray) -> cq.Solid:
    """Return the one solid that `shape` holds, once it is what was asked for.

    Parameters
    ----------
    name : str
        The part, as the message calls it.
    shape : cq.Shape
        What the kernel made.
    volume : float
        Closed form, mm³.
    bounds : FloatArray, (2, 3)
        Least and greatest x, y, z that it must have, mm.

    Raises
    ------
    SolidError
        If it is not one valid solid of that volume (1e-6 relative) and those bounds (1e-4 mm).
    """
    solids = shape.Solids()
    if len(solids) != 1:
        msg = f"{name}: came out as {len(solids)} solids, must be 1; a hole or a bend does not fit its part"
        raise SolidError(msg)
    solid = solids[0]
    if not BRepCheck_Analyzer(solid.wrapped).IsValid():
        msg = f"{name}: its faces cross and make no valid solid; its sizes or errors do not go together"
        raise SolidError(msg)
    found = solid.Volume()
    if not abs(found - volume) <= _VOLUME * volume:
        msg = (
            f"{name}: volume is {found:.6g} mm³, must be {volume:.6g} mm³; "
            "a hole or a bend runs over the part's edge or into another"
        )
        raise SolidError(msg)
    off = float(np.abs(extent(solid) - bounds).max())
    if not off <= _BOUNDS:
        msg = f"{name}: reaches {off:.3g} mm beyond or short of its place, must be within {_BOUNDS} mm"
        raise SolidError(msg)
    return solid


def extent(shape: cq.Shape) -> FloatArray:
    """Return the least and the greatest x, y, z of a shape: (2, 3), mm; curved faces at their true reach."""
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape.wrapped, box, False, False)  # noqa: FBT003 (the kernel's own call)
    low, high = box.CornerMin(), box.CornerMax()
    return np.array([[low.X(), low.Y(), low.Z()], [high.X(), high.Y(), high.Z()]])


def location(matrix: FloatArray) -> cq.Location:
    """Return a placement (4, 4) as the kernel's location."""
    plane = cq.Plane(
        origin=tuple(matrix[:3, 3].tolist()), xDir=tuple(matrix[:3, 0].tolist()), normal=tuple(matrix[:3, 2].tolist())
    )
    return cq.Location(plane)


def _body(body: Polyhedron | BentPlaque | Turned) -> cq.Solid:
    if isinstance(body, Polyhedron):
        return solid_of(body)
    if isinstance(body, Turned):
        wire = cq.Wire.makePolygon([cq.Vector(r, 0, z) for r, z in body.outline], close=True)
        return cq.Solid.revolve(wire, [], 360, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))
    points = [cq.Vector(*body.place(-body.width / 2, u, h)) for u, h in body.profile().tolist()]
    face = cq.Face.makeFromWires(cq.Wire.assembleEdges(_profile_edges(points)))
    return cq.Solid.extrudeLinear(face, cq.Vector(*body.along, 0.0) * body.width)


def _profile_edges(points: list[cq.Vector]) -> list[cq.Edge]:
    """Return the lines and the two arcs round the ten points of `BentPlaque.profile`."""
    lines = [(0, 1), (3, 4), (4, 5), (5, 6), (8, 9), (9, 0)]
    edges = {a: cq.Edge.makeLine(points[a], points[b]) for a, b in lines}
    edges |= {a: cq.Edge.makeThreePointArc(points[a], points[a + 1], points[a + 2]) for a in (1, 6)}
    return [edges[a] for a in sorted(edges)]


def _corner(builder: BRep_Builder, point: FloatArray) -> TopoDS_Vertex:
    vertex = TopoDS_Vertex()
    builder.MakeVertex(vertex, gp_Pnt(*point.tolist()), _TOLERANCE)
    return vertex


def _edge(builder: BRep_Builder, points: FloatArray, corners: list[TopoDS_Vertex], ends: tuple[int, int]) -> Any:  # noqa: ANN401 (untyped kernel)
    start, end = points[ends[0]], points[ends[1]]
    line = Geom_Line(gp_Lin(gp_Pnt(*start.tolist()), gp_Dir(*(end - start).tolist())))
    edge = TopoDS_Edge()
    builder.MakeEdge(edge, line, _TOLERANCE)
    builder.Add(edge, corners[ends[0]].Oriented(TopAbs_Orientation.TopAbs_FORWARD))
    builder.Add(edge, corners[ends[1]].Oriented(TopAbs_Orientation.TopAbs_REVERSED))
    builder.Range(edge, 0.0, float(np.linalg.norm(end - start)))
    return edge


def _face(builder: BRep_Builder, points: FloatArray, wire: TopoDS_Wire) -> TopoDS_Face:
    middle = points.mean(axis=0)
    normal = np.cross(points - middle, np.roll(points, -1, axis=0) - middle).sum(axis=0)
    plane = Geom_Plane(gp_Pln(gp_Pnt(*middle.tolist()), gp_Dir(*normal.tolist())))
    face = TopoDS_Face()
    builder.MakeFace(face, plane, _TOLERANCE)
    builder.Add(face, wire)
    return face


def _bit(hole: Hole) -> cq.Solid:
    """Return the cylinder or cone that a hole takes away, begun above the face so that no skin is left on it."""
    start = np.array(hole.centre) - RUN_IN * np.array(hole.axis)
    radius, place = hole.diameter / 2, (cq.Vector(*start.tolist()), cq.Vector(*hole.axis))
    if hole.use == "countersink":
        wide = radius + RUN_IN / HEAD_SLOPE
        return cq.Solid.makeCone(wide, 0.0, HEAD_SLOPE * wide, *place)
    return cq.Solid.makeCylinder(radius, hole.depth + RUN_IN, *place)
