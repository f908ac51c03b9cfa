"""The shape of every part in numbers: a body, the bores in it, its volume in closed form and its reach.

body   : a polyhedron, the bent plaque, or an outline turned about z
bore   : a hole as its bit runs: on past the far face where it goes right through
shape  : a body and its bores; what the kernel's exact solid and the triangles are both made from

Sheets stand where they stand in the closed box. A screw is modelled with the middle of the plane from which its length
counts at the origin, pointing down z, a washer standing on the origin, so that equal ones share one shape.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import SolidError
from assembly.nominal.fittings import Hole
from assembly.solids.polyhedron import LEAST_STEP, Polyhedron, prism

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from assembly.nominal.fittings import Fastener, PlacedSheet, PlacedStem, PlacedWasher
    from assembly.nominal.plaque import BentPlaque

# mm; how far above its face a bit begins; a plaque's leg that leans back over a hole is never nearer to it than 2 mm
RUN_IN = 1.0
THROUGH = 1.0  # mm; how far the bit runs on past the far face of a hole that goes right through


@dataclass(frozen=True, slots=True, eq=False)
class Turned:
    """A solid of revolution about z."""

    outline: tuple[tuple[float, float], ...]  # (r, z) from the axis at the top to the axis at the bottom, mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """A hole as its bit runs, and what it takes from its part."""

    hole: Hole
    volume: float  # what it takes, mm³
    uneven: float = 0.0  # how much the part's thickness may vary within it, mm


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Shape:
    """A part's shape in its own frame."""

    name: str
    body: Polyhedron | BentPlaque | Turned
    gross: float  # volume of the body in closed form, mm³
    bounds: FloatArray  # (2, 3) least and greatest x, y, z, mm; curved faces at their true reach
    bores: tuple[Bore, ...] = ()

    @property
    def volume(self) -> float:
        """Volume in closed form, mm³."""
        return self.gross - sum(bore.volume for bore in self.bores)


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


def sheet_shape(name: str, sheet: PlacedSheet, holes: Sequence[Hole]) -> Shape:
    """Return the base or the lid with its holes."""
    positive(name, length=sheet.along_x, width=sheet.along_y, thickness=sheet.thickness)
    x, y = sheet.along_x / 2, sheet.along_y / 2
    plan = np.array([[-x, -y], [x, -y], [x, y], [-x, y]])
    levels = [np.column_stack([plan, np.full(4, z)]) for z in (sheet.bottom, sheet.top)]
    block = prism(np.stack(levels, axis=1))
    bores = bored(name, holes, thickness=sheet.thickness)
    return Shape(name=name, body=block, gross=sheet.volume, bounds=block.bounds, bores=bores)


def plaque_shape(plaque: BentPlaque, holes: Sequence[Hole]) -> Shape:
    """Return the bent plaque with its holes."""
    positive(
        "plaque",
        straight_part_of_the_flat_leg=plaque.flat_straight,
        straight_part_of_the_standing_leg=plaque.upright_straight,
        width=plaque.width,
        thickness=plaque.thickness,
        inside_radius=plaque.inside_radius,
    )
    bores = bored("plaque", holes, thickness=plaque.thickness)
    return Shape(name="plaque", body=plaque, gross=plaque.volume, bounds=plaque.bounds(), bores=bores)


def screw_shape(fastener: Fastener) -> Shape:
    """Return a screw: its head, a cone or a dome, a plain cylinder for the thread, a pointed tip."""
    screw, dome = fastener.screw, fastener.dome
    shank = screw.length - fastener.head_height - fastener.tip_height
    high = dome[0][1] if dome else 0.0
    positive(
        fastener.name,
        diameter=screw.diameter,
        height_of_the_head=high + fastener.head_height,
        length_between_head_and_tip=shank,
    )
    outer, inner = screw.head / 2, screw.diameter / 2
    neck, tip = -fastener.head_height, fastener.tip_height - screw.length
    head = dome or ((0.0, 0.0), (outer, 0.0))
    outline = (*head, (inner, neck), (inner, tip), (0.0, -screw.length))
    bounds = np.array([[-outer, -outer, -screw.length], [outer, outer, high]])
    return Shape(name=fastener.name, body=Turned(outline), gross=fastener.volume, bounds=bounds)


def washer_shape(washer: PlacedWasher) -> Shape:
    """Return a washer: a disc and the hole in it."""
    positive(washer.name, diameter=washer.diameter, thickness=washer.thickness)
    radius, top = washer.diameter / 2, washer.thickness
    outline = ((0.0, top), (radius, top), (radius, 0.0), (0.0, 0.0))
    bounds = np.array([[-radius, -radius, 0.0], [radius, radius, top]])
    hole = Hole(
        name="hole",
        use="clearance",
        part=washer.name,
        centre=(0.0, 0.0, top),
        axis=(0.0, 0.0, -1.0),
        diameter=washer.hole,
        depth=top,
    )
    bores = bored(washer.name, (hole,), thickness=top)
    return Shape(name=washer.name, body=Turned(outline), gross=washer.volume, bounds=bounds, bores=bores)


def stem_shape(stem: PlacedStem) -> Shape:
    """Return the stem."""
    positive("stem", diameter=stem.diameter, length=stem.length)
    radius, top = stem.diameter / 2, stem.bottom + stem.length
    outline = ((0.0, top), (radius, top), (radius, stem.bottom), (0.0, stem.bottom))
    bounds = np.array([[-radius, -radius, stem.bottom], [radius, radius, top]])
    return Shape(name="stem", body=Turned(outline), gross=stem.volume, bounds=bounds)


def bored(name: str, holes: Sequence[Hole], *, thickness: float) -> tuple[Bore, ...]:
    """Return holes between flat faces as their bits run; those at least as deep as the part is thick run on past it."""
    return tuple(bore(name, hole, hole.volume, beyond=THROUGH * (hole.depth >= thickness)) for hole in holes)


def bore(name: str, hole: Hole, volume: float, *, beyond: float = 0.0, uneven: float = 0.0) -> Bore:
    """Return a hole of a part as its bit runs, `beyond` mm deeper than it is; it takes `volume` from the part."""
    positive(f"{name}, {hole.name}", diameter=hole.diameter, depth=hole.depth)
    return Bore(hole=replace(hole, depth=hole.depth + beyond), volume=volume, uneven=uneven)
