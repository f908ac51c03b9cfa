"""Base, lid, plaque, screws and stem as solids, each with the volume worked out by hand.

Sheets stand where they stand in the closed box. A screw is modelled with the middle of its head's flat top at the
origin, pointing down z, so that equal screws share one solid.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import cadquery as cq
import numpy as np

from assembly.errors import SolidError
from assembly.solids.kernel import checked, drilled, solid_of
from assembly.solids.polyhedron import LEAST_STEP, prism

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.fittings import Fastener, Hole, Sheet, Stem
    from assembly.plaque import BentPlaque
    from assembly.solids.polyhedron import Polyhedron

_THROUGH = 1.0  # mm; how far the bit runs on past the far face of a hole that goes right through


def positive(name: str, **sizes: float) -> None:
    """Refuse a size that is no number or too small for the geometry kernel.

    Raises
    ------
    SolidError
        If a size is not finite or below `LEAST_STEP`; such numbers can hang the kernel.
    """
    for size, value in sizes.items():
        if not (math.isfinite(value) and value >= LEAST_STEP):
            msg = f"{name}: {size.replace('_', ' ')} is {value:.4g} mm, must be at least {LEAST_STEP} mm"
            raise SolidError(msg)


def block(sheet: Sheet) -> Polyhedron:
    """Return a sheet before it is drilled."""
    x, y = sheet.along_x / 2, sheet.along_y / 2
    plan = np.array([[-x, -y], [x, -y], [x, y], [-x, y]])
    levels = [np.column_stack([plan, np.full(4, z)]) for z in (sheet.bottom, sheet.top)]
    return prism(np.stack(levels, axis=1))


def sheet_solid(name: str, sheet: Sheet, holes: Sequence[Hole]) -> cq.Solid:
    """Return the base or the lid with its holes."""
    positive(name, length=sheet.along_x, width=sheet.along_y, thickness=sheet.thickness)
    shape = block(sheet)
    solid = bored(name, solid_of(shape), holes, thickness=sheet.thickness)
    return checked(name, solid, volume=net_volume(sheet.volume, holes), bounds=shape.bounds)


def plaque_solid(plaque: BentPlaque, holes: Sequence[Hole]) -> cq.Solid:
    """Return the bent plaque with its holes."""
    positive(
        "plaque",
        straight_part_of_the_flat_leg=plaque.flat_straight,
        straight_part_of_the_standing_leg=plaque.upright_straight,
        width=plaque.width,
        thickness=plaque.thickness,
        inside_radius=plaque.inside_radius,
    )
    points = [cq.Vector(*plaque.place(-plaque.width / 2, u, h)) for u, h in plaque.profile().tolist()]
    face = cq.Face.makeFromWires(cq.Wire.assembleEdges(_profile_edges(points)))
    along = cq.Vector(*plaque.along, 0.0) * plaque.width
    solid = bored("plaque", cq.Solid.extrudeLinear(face, along), holes, thickness=plaque.thickness)
    return checked("plaque", solid, volume=net_volume(plaque.volume, holes), bounds=plaque.bounds())


def screw_solid(fastener: Fastener) -> cq.Solid:
    """Return a countersunk screw: a cone under a flat head, a plain cylinder for the thread, a pointed tip."""
    screw = fastener.screw
    shank = screw.length - fastener.head_height - fastener.tip_height
    positive(
        fastener.name,
        diameter=screw.diameter,
        height_of_the_head=fastener.head_height,
        length_between_head_and_tip=shank,
    )
    outer, inner = screw.head / 2, screw.diameter / 2
    neck, tip = -fastener.head_height, fastener.tip_height - screw.length
    outline = [(0, 0), (outer, 0), (inner, neck), (inner, tip), (0, -screw.length)]
    wire = cq.Wire.makePolygon([cq.Vector(r, 0, z) for r, z in outline], close=True)
    solid = cq.Solid.revolve(wire, [], 360, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))
    bounds = np.array([[-outer, -outer, -screw.length], [outer, outer, 0.0]])
    return checked(fastener.name, solid, volume=fastener.volume, bounds=bounds)


def stem_solid(stem: Stem) -> cq.Solid:
    """Return the stem."""
    positive("stem", diameter=stem.diameter, length=stem.length)
    radius = stem.diameter / 2
    solid = cq.Solid.makeCylinder(radius, stem.length, cq.Vector(0, 0, stem.bottom))
    bounds = np.array([[-radius, -radius, stem.bottom], [radius, radius, stem.bottom + stem.length]])
    return checked("stem", solid, volume=stem.volume, bounds=bounds)


def net_volume(gross: float, holes: Sequence[Hole]) -> float:
    """Return what is left of a volume between flat faces, mm³."""
    return gross - sum(hole.volume for hole in holes)


def bored(name: str, solid: cq.Solid, holes: Sequence[Hole], *, thickness: float) -> cq.Shape:
    """Return a part with its holes drilled; those at least as deep as the part is thick run on past it."""
    for hole in holes:
        positive(f"{name}, {hole.name}", diameter=hole.diameter, depth=hole.depth)
    through = [replace(hole, depth=hole.depth + (_THROUGH if hole.depth >= thickness else 0)) for hole in holes]
    return drilled(solid, through)


def _profile_edges(points: list[cq.Vector]) -> list[cq.Edge]:
    """Return the lines and the two arcs round the ten points of `BentPlaque.profile`."""
    lines = [(0, 1), (3, 4), (4, 5), (5, 6), (8, 9), (9, 0)]
    edges = {a: cq.Edge.makeLine(points[a], points[b]) for a, b in lines}
    edges |= {a: cq.Edge.makeThreePointArc(points[a], points[a + 1], points[a + 2]) for a in (1, 6)}
    return [edges[a] for a in sorted(edges)]
