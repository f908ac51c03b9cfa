"""The whole box as solids: twelve named parts, nominal or as made, placed closed or apart."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import SolidError
from assembly.fittings import fittings
from assembly.frame import PLAIN_AT, WALLS, frame
from assembly.made import MadeFaces
from assembly.solids.facts import kind_of, tell
from assembly.solids.kernel import checked, solid_of
from assembly.solids.polyhedron import volume_in_bore
from assembly.solids.sheets import bored, net_volume, plaque_solid, screw_solid, sheet_solid, stem_solid
from assembly.solids.walls import matrix_of, walls

if TYPE_CHECKING:
    import cadquery as cq

    from assembly.design import Design
    from assembly.fittings import Fittings, Hole
    from assembly.frame import FloatArray, Frame
    from assembly.solids.parts import Facts
    from assembly.solids.polyhedron import Polyhedron


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Part:
    """A part: what is known of it, and its solid in its own frame."""

    facts: Facts
    solid: cq.Solid


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Box:
    """A box as solids."""

    name: str  # the design's name, as the user gave it
    frame: Frame
    fittings: Fittings
    walls: tuple[Polyhedron, ...]  # in the order of `frame.WALLS`, without holes
    parts: tuple[Part, ...]  # in the order of `parts.PART_NAMES`

    def part(self, name: str) -> Part:
        """Return a part by its name; KeyError if there is none."""
        return {part.facts.name: part for part in self.parts}[name]


def build(design: Design, faces: MadeFaces | None = None, poses: FloatArray | None = None) -> Box:
    """Return the box of `design` as solids.

    Parameters
    ----------
    design : Design
        What is made.
    faces : MadeFaces, optional
        The walls' faces as one box was made; without them the box is nominal.
    poses : FloatArray, (4, 4), optional
        Where the walls settled: shift along x and y (mm), turn about z and lean (radians); without them, in place.

    Returns
    -------
    Box
        Base, lid and fittings are nominal; the lid and what is on it lie at the height of the tallest wall.

    Raises
    ------
    SolidError
        If a part is not one valid solid of the volume and size that it should have, or numbers can't be built.
    """
    box, fitted = frame(design), fittings(design)
    faces = MadeFaces.nominal() if faces is None else faces
    poses = np.zeros((4, 4)) if poses is None else poses
    if not np.isfinite(poses).all():
        msg = "walls: a shift or a turn is not a number; check the settled place that was handed over"
        raise SolidError(msg)
    shapes = walls(box, faces)
    solids = _wall_solids(shapes, faces, fitted) | _sheet_solids(fitted)
    places = {f"{WALLS[wall]} wall": matrix_of(wall, poses[wall]) for wall in range(4)}
    facts = tell(design, {name: solid[1] for name, solid in solids.items()}, places, lift=float(max(faces.height)))
    return Box(
        name=design.name,
        frame=box,
        fittings=fitted,
        walls=shapes,
        parts=tuple(Part(facts=one, solid=solids[one.name][0]) for one in facts),
    )


def _wall_solids(
    shapes: tuple[Polyhedron, ...], faces: MadeFaces, fitted: Fittings
) -> dict[str, tuple[cq.Solid, float]]:
    """Return each wall and its closed-form volume, by name."""
    made = {}
    for wall, shape in enumerate(shapes):
        name = f"{WALLS[wall]} wall"
        if not shape.volume > 0:
            msg = f"{name}: volume is {shape.volume:.4g} mm³, must be above 0; the errors are too large for this timber"
            raise SolidError(msg)
        holes = [_as_made(hole, shape, faces, wall) for hole in fitted.holes_of(name)]
        volume = shape.volume - sum(_hole_volume(hole, shape) for hole in holes)
        solid = bored(name, solid_of(shape), holes, thickness=np.inf)
        made[name] = checked(name, solid, volume=volume, bounds=shape.bounds), volume
    return made


def _as_made(hole: Hole, shape: Polyhedron, faces: MadeFaces, wall: int) -> Hole:
    """Return a wall's hole where it falls on the wall as made.

    A pilot hole starts from the made top edge. The cable hole is drilled where the made wall's diagonals cross, and
    long enough to run through whatever bow and twist the wall has.
    """
    x, y, z = hole.centre
    if hole.axis[2]:
        return replace(hole, centre=(x, y, z + float(faces.height[wall])))
    low, high = shape.bounds
    right, left = (float(faces.plain_end[corner].mean()) for corner in np.flatnonzero(wall == PLAIN_AT))
    middle = ((right - left) / 2, float(high[1]), float(low[2] + high[2]) / 2)
    return replace(hole, centre=middle, depth=float(high[1] - low[1]) + 1)


def _hole_volume(hole: Hole, shape: Polyhedron) -> float:
    """Return what a hole takes from a wall, mm³: exact between the wall's faces, however they bow and twist."""
    if hole.axis[2]:
        return hole.volume
    return volume_in_bore(shape, (hole.centre[0], hole.centre[2]), hole.diameter / 2)


def _sheet_solids(fitted: Fittings) -> dict[str, tuple[cq.Solid, float]]:
    """Return each other part and its closed-form volume, by name; equal screws share one solid."""
    holes = {name: fitted.holes_of(name) for name in ("base", "lid", "plaque")}
    made = {
        "base": (sheet_solid("base", fitted.base, holes["base"]), net_volume(fitted.base.volume, holes["base"])),
        "lid": (sheet_solid("lid", fitted.lid, holes["lid"]), net_volume(fitted.lid.volume, holes["lid"])),
        "plaque": (plaque_solid(fitted.plaque, holes["plaque"]), net_volume(fitted.plaque.volume, holes["plaque"])),
        "stem": (stem_solid(fitted.stem), fitted.stem.volume),
    }
    kinds: dict[str, cq.Solid] = {}
    for fastener in fitted.fasteners:
        kind = kind_of(fastener.name)
        if kind not in kinds:
            kinds[kind] = screw_solid(fastener)
        made[fastener.name] = kinds[kind], fastener.volume
    return made
