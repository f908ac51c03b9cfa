"""The whole box: its named parts, fourteen where it has everything, nominal or as made, placed closed or apart.

Every part is built and checked as a mesh; `assembly.solids.kernel` makes exact solids of the same shapes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import SolidError
from assembly.nominal.frame import LAPPED_AT, PLAIN_AT
from assembly.solids.easing import as_drawn, eased
from assembly.solids.facts import fitted_places, tell
from assembly.solids.meshes import mesh_of
from assembly.solids.parts import PartArrays
from assembly.solids.polyhedron import unevenness, volume_in_bore
from assembly.solids.shapes import (
    THROUGH,
    Shape,
    bore,
    plaque_shape,
    screw_shape,
    sheet_shape,
    stem_shape,
    washer_shape,
)
from assembly.solids.walls import drawn_matrix, walls

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.made.records import MadeFaces
    from assembly.model.design import Design
    from assembly.nominal.fittings import Fittings, Hole
    from assembly.nominal.frame import Frame
    from assembly.solids.meshes import Mesh
    from assembly.solids.parts import Facts
    from assembly.solids.polyhedron import Polyhedron
    from assembly.solids.shapes import Bore


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Part:
    """A part: what is known of it; its shape in its own frame, in numbers and as a mesh, shared by equal fittings."""

    facts: Facts
    shape: Shape
    mesh: Mesh


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BuiltBox:
    """A box as solids, in numbers."""

    name: str  # the design's name, as the user gave it
    frame: Frame
    fittings: Fittings
    walls: tuple[Polyhedron, ...]  # in the order of `frame.WALLS`, without holes, as on the drawing
    parts: tuple[Part, ...]  # walls, base, lid, plaque, screws, washers, stem

    def part(self, name: str) -> Part:
        """Return a part by its name; KeyError if there is none."""
        return {part.facts.name: part for part in self.parts}[name]


def build(
    design: Design, faces: MadeFaces | None = None, poses: FloatArray | None = None, *, gap: float = 0.0
) -> BuiltBox:
    """Return the box of `design`.

    Parameters
    ----------
    design : Design
        What is made.
    faces : MadeFaces, optional
        The walls' faces as one box was made; without them the box is nominal.
    poses : FloatArray, (4, 4), optional
        Where the walls settled: shift along x and y (mm), turn about z and lean (radians); without them, in place.
    gap : float
        What everything that touches is apart, mm, as in a printed model (`assembly.solids.easing`).

    Returns
    -------
    Box
        Base, lid and fittings are nominal; the lid and what is on it lie at the height of the tallest wall.

    Raises
    ------
    SolidError
        If a part is not one valid solid of the volume and size that it should have, or numbers can't be built.
    """
    box, faces, fitted = eased(as_drawn(design, faces), gap)
    poses = np.zeros((4, 4)) if poses is None else poses
    if not np.isfinite(poses).all():
        msg = "walls: a shift or a turn is not a number; check the settled place that was handed over"
        raise SolidError(msg)
    bodies = tuple(body.turned(box.turn) for body in walls(box, faces)) if box.turned else walls(box, faces)
    shapes = _wall_shapes(box, bodies, faces, fitted) | _sheet_shapes(fitted)
    meshes = {shape: mesh_of(shape) for shape in dict.fromkeys(shapes.values())}
    places = {f"{wall} wall": drawn_matrix(box, slot, poses[slot]) for slot, wall in enumerate(box.walls)}
    places |= fitted_places(fitted)
    facts = tell(design, {name: shape.volume for name, shape in shapes.items()}, places, lift=float(max(faces.height)))
    return BuiltBox(
        name=design.name,
        frame=box,
        fittings=fitted,
        walls=bodies,
        parts=tuple(Part(facts=one, shape=shapes[one.name], mesh=meshes[shapes[one.name]]) for one in facts),
    )


def box_arrays(box: BuiltBox) -> tuple[PartArrays, ...]:
    """Return every part of a box as arrays, in the order of its parts."""
    return tuple(
        PartArrays(facts=part.facts, vertices=part.mesh.vertices, triangles=part.mesh.triangles, edges=part.mesh.edges)
        for part in box.parts
    )


def _wall_shapes(box: Frame, bodies: tuple[Polyhedron, ...], faces: MadeFaces, fitted: Fittings) -> dict[str, Shape]:
    """Return each wall's shape, by name."""
    made = {}
    for wall, body in enumerate(bodies):
        name = f"{box.walls[wall]} wall"
        if not body.volume > 0:
            msg = f"{name}: volume is {body.volume:.4g} mm³, must be above 0; the errors are too large for this timber"
            raise SolidError(msg)
        bores = tuple(_as_made(hole, body, faces, wall) for hole in fitted.holes_of(name))
        made[name] = Shape(name=name, body=body, gross=body.volume, bounds=body.bounds, bores=bores)
    return made


def _as_made(hole: Hole, body: Polyhedron, faces: MadeFaces, wall: int) -> Bore:
    """Return a wall's hole where it falls on the wall as made, and what it takes from it.

    A pilot hole starts from the made top edge. The cable hole is drilled where the made wall's diagonals cross, and
    long enough to run through whatever bow and twist the wall has; its volume is exact between bowed and twisted faces.
    """
    x, y, z = hole.centre
    name = hole.part
    if hole.axis[2]:
        made = replace(hole, centre=(x, y, z + float(faces.height[wall])))
        return bore(name, made, made.volume)
    low, high = body.bounds
    ends, at = (faces.lapped_end, LAPPED_AT) if wall in LAPPED_AT else (faces.plain_end, PLAIN_AT)
    right, left = (float(ends[corner].mean()) for corner in np.flatnonzero(wall == at))  # also after the quarter turn
    middle = ((right - left) / 2, float(high[1]), float(low[2] + high[2]) / 2)
    made = replace(hole, centre=middle, depth=float(high[1] - low[1]) + THROUGH)
    round_it = (middle[0], middle[2]), hole.diameter / 2
    return bore(name, made, volume_in_bore(body, *round_it), uneven=unevenness(body, *round_it))


def _sheet_shapes(fitted: Fittings) -> dict[str, Shape]:
    """Return each other part's shape, by name; equal screws share one, and so do equal washers."""
    made = {
        "base": sheet_shape("base", fitted.base, fitted.holes_of("base")),
        "lid": sheet_shape("lid", fitted.lid, fitted.holes_of("lid")),
    }
    if fitted.plaque:
        made["plaque"] = plaque_shape(fitted.plaque, fitted.holes_of("plaque"))
    if fitted.stem:
        made["stem"] = stem_shape(fitted.stem)
    screws = {fastener.screw: screw_shape(fastener) for fastener in fitted.fasteners}
    washers = {fastener.screw: washer_shape(fastener.washer) for fastener in fitted.fasteners if fastener.washer}
    made |= {fastener.name: screws[fastener.screw] for fastener in fitted.fasteners}
    return made | {fastener.washer.name: washers[fastener.screw] for fastener in fitted.fasteners if fastener.washer}
