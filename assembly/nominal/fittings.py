"""The nominal numbers of everything but the walls: base, lid, plaque, screws, stem and every hole; what the design has.

sheet    : a flat rectangle lying level on or under the walls (base, lid)
hole     : a round hole, straight from the place where the bit enters
countersink : a cone at the mouth of a clearance hole, in which a countersunk head lies flush
fastener : a screw as it stands when it is down: a countersunk head flush, a round one on its washer

Frame of reference as on the drawing (`assembly.nominal.frame`): mm, x to the right, y to the back, origin at the centre
of the box on plan and at mid-height of the walls.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from assembly.nominal.frame import frame
from assembly.nominal.plaque import BentPlaque, Point, bent_plaque

if TYPE_CHECKING:
    from assembly.model.design import Design, Screw
    from assembly.nominal.frame import Frame

# Included angle of a countersunk wood screw's head and of its countersink: 90 degrees, common practice, no source.
HEAD_SLOPE = 1.0  # height of the cone over the radius that it loses
_BANDS = 12  # in which a round head, half a spheroid, is modelled

SCREW_KINDS = {"lid": "lid screw", "plaque": "plaque screw"}  # by the part that they hold
WASHER_KINDS = {"lid": "lid washer", "plaque": "plaque washer"}
Use = Literal["cable", "centre", "stem", "clearance", "countersink", "pilot"]  # of a hole; the last three are a screw's


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A round hole: where the bit enters, which way it goes, how wide and how deep; mm."""

    name: str
    use: Use
    part: str  # the part it is drilled in, as named in `assembly.solids.parts`
    centre: Point  # on the face that the bit enters
    axis: Point  # unit vector into the part
    diameter: float  # of a countersink at its mouth
    depth: float  # of a countersink down to where it meets the hole that it widens

    @property
    def blind(self) -> bool:
        """Whether it ends inside its part; a hole of any other use runs right through."""
        return self.use in {"countersink", "pilot"}

    @property
    def volume(self) -> float:
        """What it takes between two flat faces square to its axis, mm³; a countersink, beside the hole it widens."""
        if self.use != "countersink":
            return math.pi / 4 * self.diameter**2 * self.depth
        outer = self.diameter / 2
        inner = outer - self.depth / HEAD_SLOPE
        return math.pi * self.depth * ((outer**2 + outer * inner + inner**2) / 3 - inner**2)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedSheet:
    """A level rectangle of sheet, centred on the box; mm."""

    along_x: float
    along_y: float
    bottom: float  # z of its underside
    thickness: float

    @property
    def top(self) -> float:
        """Height z of its upper face."""
        return self.bottom + self.thickness

    @property
    def volume(self) -> float:
        """Volume before any hole is drilled, mm³."""
        return self.along_x * self.along_y * self.thickness


@dataclass(frozen=True, slots=True, kw_only=True)
class Fastener:
    """A screw that points straight down, and the middle of the plane from which its length counts; mm.

    That plane is the flat top of a countersunk head, and the flat underside of a round one.
    """

    name: str
    washer_name: str  # of the washer that it has if its head is round
    holds: Literal["lid", "plaque"]
    screw: Screw
    place: Point
    over_washer: float = 0.0  # how far over its washer a round head stays, mm: 0 but in a model with play

    @property
    def kind(self) -> str:
        """What the screw is one of: those that hold the same part are alike."""
        return SCREW_KINDS[self.holds]

    @property
    def head_height(self) -> float:
        """Height of the countersunk cone, from the thread's diameter to the head's; 0 for a round head."""
        return 0.0 if self.screw.round_head else HEAD_SLOPE * (self.screw.head - self.screw.diameter) / 2

    @property
    def tip_height(self) -> float:
        """Height of the cone at the tip: as long as the thread is wide, at most half of what the head leaves."""
        return min(self.screw.diameter, (self.screw.length - self.head_height) / 2)

    @property
    def dome(self) -> tuple[tuple[float, float], ...]:
        """A round head's outline, (r, z) over its underside, from its top to its rim; none of a countersunk one."""
        if not self.screw.round_head:
            return ()
        turns = [math.pi / 2 * band / _BANDS for band in range(_BANDS + 1)]
        high, wide = self.screw.round_head.height, self.screw.head / 2
        return ((0.0, high), *((wide * math.sin(turn), high * math.cos(turn)) for turn in turns[1:-1]), (wide, 0.0))

    @property
    def volume(self) -> float:
        """Volume as modelled, mm³: the head's frustums, cylinder and cone."""
        outer, inner = self.screw.head / 2, self.screw.diameter / 2
        head = self.head_height * (outer**2 + outer * inner + inner**2) / 3
        for (r0, z0), (r1, z1) in pairwise(self.dome):
            head += (z0 - z1) * (r0**2 + r0 * r1 + r1**2) / 3
        shank = self.screw.length - self.head_height - self.tip_height
        return math.pi * (head + inner**2 * (shank + self.tip_height / 3))

    @property
    def washer(self) -> PlacedWasher | None:
        """The washer under a round head."""
        head, (x, y, z) = self.screw.round_head, self.place
        if head is None:
            return None
        return PlacedWasher(
            name=self.washer_name,
            holds=self.holds,
            diameter=head.washer,
            hole=head.washer_hole,
            thickness=head.washer_thickness,
            place=(x, y, z - self.over_washer - head.washer_thickness),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedWasher:
    """A washer, and where the middle of its underside is; mm."""

    name: str
    holds: Literal["lid", "plaque"]
    diameter: float
    hole: float
    thickness: float
    place: Point

    @property
    def kind(self) -> str:
        """What the washer is one of."""
        return WASHER_KINDS[self.holds]

    @property
    def volume(self) -> float:
        """Volume without its hole, mm³."""
        return math.pi / 4 * self.diameter**2 * self.thickness


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedStem:
    """What stands in the lid's centre hole: a cylinder on the z axis; mm."""

    diameter: float
    bottom: float  # z
    length: float

    @property
    def volume(self) -> float:
        """Volume, mm³."""
        return math.pi / 4 * self.diameter**2 * self.length


@dataclass(frozen=True, slots=True, kw_only=True)
class Fittings:
    """Everything that is fitted to the walls, and every hole, for the nominal box."""

    base: PlacedSheet  # finished: flush with the frame
    base_raw: tuple[float, float]  # sizes along x and y as sawn, oversize on every side
    lid: PlacedSheet
    plaque: BentPlaque | None
    stem: PlacedStem | None
    fasteners: tuple[Fastener, ...]  # the two lid screws, then the plaque's two, if there is one
    holes: tuple[Hole, ...]

    @property
    def washers(self) -> tuple[PlacedWasher, ...]:
        """The washers, in the order of the screws."""
        return tuple(washer for fastener in self.fasteners if (washer := fastener.washer))

    def holes_of(self, part: str, use: Use | None = None) -> tuple[Hole, ...]:
        """Return the holes drilled in a part, or those of one use among them."""
        return tuple(hole for hole in self.holes if hole.part == part and use in {None, hole.use})


def fittings(design: Design) -> Fittings:
    """Return the fittings of `design`; sizes as drawn.

    Whether they go together is judged by `assembly.rules.design_rules`.
    """
    box = frame(design)
    lid = _lid(design, box)
    plaque, stem, cable = design.plaque, design.stem, design.cable_hole
    x, y = box.on_plan
    bent = bent_plaque(plaque, underside=lid.top) if plaque else None
    of_plaque = (plaque.screw, bent) if plaque and bent else None
    return Fittings(
        base=PlacedSheet(
            along_x=x,
            along_y=y,
            bottom=-box.height / 2 - design.base.thickness,
            thickness=design.base.thickness,
        ),
        base_raw=(x + 2 * design.base.oversize, y + 2 * design.base.oversize),
        lid=lid,
        plaque=bent,
        stem=PlacedStem(diameter=stem.diameter, bottom=lid.bottom, length=stem.length) if stem else None,
        fasteners=(*_lid_screws(design, box, lid), *(_plaque_screws(*of_plaque) if of_plaque else ())),
        holes=(
            *((_cable_hole(cable.diameter, box),) if cable else ()),
            *_lid_holes(design, box, lid),
            *(_plaque_holes(lid, *of_plaque) if of_plaque else ()),
        ),
    )


def lid_screw_places(box: Frame) -> dict[str, tuple[float, float]]:
    """Return x and y of the two lid screws by the wall that they bite: the middle of a lapped wall's top edge, mm."""
    out = (box.along_x - box.lapped) / 2
    return {"front": (0.0, -out), "back": (0.0, out)} if box.turned else {"left": (-out, 0.0), "right": (out, 0.0)}


def _lid(design: Design, box: Frame) -> PlacedSheet:
    overhang, (x, y) = 2 * design.lid.overhang, box.on_plan
    return PlacedSheet(
        along_x=x + overhang,
        along_y=y + overhang,
        bottom=box.height / 2,
        thickness=design.lid.thickness,
    )


def _cable_hole(diameter: float, box: Frame) -> Hole:
    return Hole(
        name="cable hole",
        use="cable",
        part="back wall",
        centre=(0.0, box.on_plan[1] / 2, 0.0),
        axis=(0.0, -1.0, 0.0),
        diameter=diameter,
        depth=box.lapped if box.turned else box.plain,
    )


def _down(name: str, use: Use, part: str, centre: Point, size: tuple[float, float]) -> Hole:
    """Return a hole straight down, `size` its diameter and depth."""
    diameter, depth = size
    return Hole(name=name, use=use, part=part, centre=centre, axis=(0.0, 0.0, -1.0), diameter=diameter, depth=depth)


def _lid_holes(design: Design, box: Frame, lid: PlacedSheet) -> list[Hole]:
    screw, deep, centre = design.lid.screw, lid.thickness, design.lid.centre_hole
    holes = [_down("centre hole", "centre", "lid", (0.0, 0.0, lid.top), (centre, deep))] if centre else []
    for name, (x, y) in lid_screw_places(box).items():
        holes.append(_down(f"{name} lid screw hole", "clearance", "lid", (x, y, lid.top), (screw.hole, deep)))
        if not screw.round_head:
            cone = screw.head, HEAD_SLOPE * (screw.head - screw.hole) / 2
            holes.append(_down(f"{name} lid screw countersink", "countersink", "lid", (x, y, lid.top), cone))
        top = (x, y, box.height / 2)
        holes.append(_down(f"{name} pilot hole", "pilot", f"{name} wall", top, (screw.pilot, screw.depth - deep)))
    return holes


def _plaque_holes(lid: PlacedSheet, screw: Screw, plaque: BentPlaque) -> list[Hole]:
    drawn, stem = plaque.thickness, plaque.stem_hole
    top = plaque.underside + drawn
    depth = min(screw.depth - drawn, lid.thickness)  # as deep as the screw goes, at the most through the lid
    holes = [_down("stem hole", "stem", "plaque", (0.0, 0.0, top), (stem, drawn))] if stem else []
    for number, (along, u) in enumerate(plaque.screw_holes, 1):
        x, y, _ = plaque.place(along, u, 0.0)
        holes.append(_down(f"plaque screw hole {number}", "clearance", "plaque", (x, y, top), (screw.hole, drawn)))
        holes.append(_down(f"plaque pilot hole {number}", "pilot", "lid", (x, y, lid.top), (screw.pilot, depth)))
    return holes


def _lid_screws(design: Design, box: Frame, lid: PlacedSheet) -> list[Fastener]:
    screw = design.lid.screw
    z = lid.top + screw.raised
    return [
        Fastener(name=f"{name} lid screw", washer_name=f"{name} lid washer", holds="lid", screw=screw, place=(x, y, z))
        for name, (x, y) in lid_screw_places(box).items()
    ]


def _plaque_screws(screw: Screw, plaque: BentPlaque) -> list[Fastener]:
    z = plaque.underside + plaque.thickness + screw.raised
    return [
        Fastener(
            name=f"plaque screw {number}",
            washer_name=f"plaque washer {number}",
            holds="plaque",
            screw=screw,
            place=(*plaque.place(along, u, 0.0)[:2], z),
        )
        for number, (along, u) in enumerate(plaque.screw_holes, 1)
    ]
