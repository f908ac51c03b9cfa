"""The bent plaque as numbers: its two legs, its bend, its outline flat and bent, and where its holes lie.

straight : the flat part of a leg, up to where the bend starts
apex     : where the outside faces of the two legs would meet, were the bend sharp
setback  : from the apex back to where the bend starts

Frame of reference as on the drawing (`assembly.nominal.frame`); the stem hole, if there is one, lies over the origin.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.model.design import Plaque

Point = tuple[float, float, float]

# Unit vector on plan from the middle of the lid towards each edge of it.
TOWARDS = {"front": (0.0, -1.0), "back": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}


@dataclass(frozen=True, slots=True, kw_only=True)
class BentPlaque:
    """The plaque: flat leg on the lid, standing leg turned through `angle` about a line beside one edge; mm, radians.

    Profiles run in (u, h): u from the middle of the lid towards the bend, h from the outside (convex) face of the flat
    leg to its inside face. The outside face is the underside where the leg turns up, the upper face where it turns
    down.
    """

    width: float  # along the bend line
    thickness: float
    flat_leg: float  # outside size, from the apex
    upright_leg: float  # outside size, from the apex
    angle: float  # through which the sheet is turned
    inside_radius: float
    neutral_share: float
    apex: float  # u of the apex
    up: bool
    towards: tuple[float, float]  # unit vector of u on plan
    underside: float  # z of the flat leg's lower face
    stem_hole: float | None  # diameter; None where there is no stem
    screw_hole: float  # diameter
    screw_holes: tuple[tuple[float, float], ...]  # (place along the bend line, u)

    @property
    def outside_radius(self) -> float:
        """Radius of the convex face of the bend."""
        return self.inside_radius + self.thickness

    @property
    def setback(self) -> float:
        """What the bend takes off each outside leg: (r + t) tan(θ/2)."""
        return self.outside_radius * math.tan(self.angle / 2)

    @property
    def flat_straight(self) -> float:
        """Straight part of the flat leg."""
        return self.flat_leg - self.setback

    @property
    def upright_straight(self) -> float:
        """Straight part of the standing leg."""
        return self.upright_leg - self.setback

    @property
    def bend_allowance(self) -> float:
        """Length of the neutral line round the bend: θ (r + k t)."""
        return self.angle * (self.inside_radius + self.neutral_share * self.thickness)

    @property
    def developed(self) -> float:
        """Length of the flat sheet before bending."""
        return self.flat_straight + self.bend_allowance + self.upright_straight

    @property
    def bend_line(self) -> float:
        """Place of the middle of the bend on the flat sheet, from the free edge of the flat leg."""
        return self.flat_straight + self.bend_allowance / 2

    @property
    def flat_holes(self) -> tuple[tuple[str, float, float, float], ...]:
        """Holes on the flat sheet: name, place along the bend line, from the flat leg's free edge, and diameter."""
        edge = self.apex - self.flat_leg
        stem = () if self.stem_hole is None else (("stem hole", 0.0, -edge, self.stem_hole),)
        return (
            *stem,
            *(
                (f"screw hole {n}", along, u - edge, self.screw_hole)
                for n, (along, u) in enumerate(self.screw_holes, 1)
            ),
        )

    @property
    def along(self) -> tuple[float, float]:
        """Unit vector on plan along the bend line: a quarter turn clockwise from `towards`, seen from above."""
        x, y = self.towards
        return y, -x

    @property
    def volume(self) -> float:
        """Volume of the bent sheet before its holes, mm³: two slabs and a sector of a ring."""
        ring = self.angle / 2 * (self.outside_radius**2 - self.inside_radius**2)
        return self.width * (self.thickness * (self.flat_straight + self.upright_straight) + ring)

    def profile(self) -> FloatArray:
        """Return the ten points of the profile in (u, h): (10, 2) mm, anticlockwise.

        0 free end outside, 1 bend starts, 2 middle of the outer arc, 3 bend ends, 4 and 5 free end of the standing
        leg, 6 bend ends inside, 7 middle of the inner arc, 8 bend starts inside, 9 free end inside.
        """
        centre = np.array([self.apex - self.setback, self.outside_radius])
        turn = np.array([0.0, self.angle / 2, self.angle])
        arm = np.column_stack([np.sin(turn), -np.cos(turn)])
        outer, inner = centre + self.outside_radius * arm, centre + self.inside_radius * arm
        reach = self.upright_straight * np.array([math.cos(self.angle), math.sin(self.angle)])
        start = self.apex - self.flat_leg
        free = np.array([[start, 0.0], [start, self.thickness]])
        return np.vstack([free[:1], outer, outer[2] + reach, inner[2] + reach, inner[::-1], free[1:]])

    def place(self, along: float, u: float, h: float) -> Point:
        """Return the point of the box's frame at `along` the bend line, `u` towards it and `h` off the outside face."""
        x, y = np.array(self.along) * along + np.array(self.towards) * u
        return float(x), float(y), self.underside + (h if self.up else self.thickness - h)

    def bounds(self) -> FloatArray:
        """Return the least and the greatest x, y, z of the bent sheet: (2, 3), mm."""
        profile = self.profile()
        if self.angle > math.pi / 2:  # the outer arc bulges past both its ends
            bulge = [self.apex - self.setback + self.outside_radius, self.outside_radius]
            profile = np.vstack([profile, bulge])
        corners = np.array([self.place(a, u, h) for a in (-self.width / 2, self.width / 2) for u, h in profile])
        return np.stack([corners.min(axis=0), corners.max(axis=0)])


def bent_plaque(drawn: Plaque, *, underside: float) -> BentPlaque:
    """Return the plaque as drawn, its flat leg lying at the height `underside` (z, mm)."""
    return BentPlaque(
        width=drawn.width,
        thickness=drawn.thickness,
        flat_leg=drawn.flat_leg,
        upright_leg=drawn.upright_leg,
        angle=math.radians(drawn.angle),
        inside_radius=drawn.inside_radius,
        neutral_share=drawn.neutral_share,
        apex=drawn.stem_to_bend,
        up=drawn.turned == "up",
        towards=TOWARDS[drawn.side],
        underside=underside,
        stem_hole=drawn.stem_hole,
        screw_hole=drawn.screw.hole,
        screw_holes=tuple((side * drawn.hole_spacing / 2, drawn.hole_offset) for side in (-1, 1)),
    )
