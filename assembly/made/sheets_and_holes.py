"""How the sheets and holes come out: base and lid against the walls, lid screws, cable hole, plaque.

overhang : how far a sheet stands out beyond the made frame at a side; of the lid, less what it is meant to
wander   : how far the bit ends up from the mark; hole marks and wander are drawn for both axes of every drilled hole
apart    : from a hole of the plaque to the hole under it in the lid, the plaque as drawn

Boxes lie on the last axis; an input that does not vary comes as (places, 1). Sides are in the order of `frame.WALLS`,
x and y are the frame's. A box that lacks plaque or cable hole draws the same numbers for all that it has: the places of
every hole stay where they are. A hole's two axes are those it is marked along:

* cable hole: along the back wall, and up
* lid centre hole and the plaque's holes: u towards the bend line and v along it, as in `assembly.rules.plaque_rules`
* lid screws: inward from the lid's own end, across the wall's thickness; and along the wall

Symbols as in MODEL.md, 2.4: T, t thickness of lapped and plain walls, τ its error; d diameter of a lid screw's hole in
the wall.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.made.plaque_fit import best_fit, best_fit_of_two
from assembly.made.sampling import Input, disturbed
from assembly.model.outcomes import FITTING_OUTCOMES
from assembly.nominal.frame import LEFT, RIGHT

if TYPE_CHECKING:
    from collections.abc import Callable

    from assembly.arrays import FloatArray
    from assembly.model.design import Design, Plaque
    from assembly.model.workshop import Workshop

Value = dict[str, "FloatArray"]  # of an input at its places, by name: (places, boxes)

DRILLED = ("cable", "lid centre", "plaque screw -v", "plaque screw +v", "left lid screw", "right lid screw")
CABLE = 0
PLAQUE_SCREWS, LID_SCREWS, UNDER_THE_PLAQUE = slice(2, 4), slice(4, 6), slice(1, 4)

# Places of every quantity that sheets and holes use: sides; axes x, y; drilled holes by both axes; the plaque's holes
# (for the stem, for the screws at -v and at +v) by u and v. A box without a plaque never takes the plaque's.
_PLAQUE_PLACES = {
    "laser.kerf": 1,
    "laser.place": 6,  # by hole of the plaque, then by axis
    "bend.line": 1,
    "bend.angle": 1,
}
FITTING_PLACES = {
    "base.cut": 4,  # by side
    "base.place": 2,  # by axis
    "flush.offset": 4,  # by side, as are the lid's three
    "outline.offset": 4,
    "lid_saw.offset": 4,
    "lid_sand.offset": 4,
    "hole_mark.offset": 12,  # by drilled hole, then by axis
    "drill.wander": 12,
    "lid.place": 2,  # by axis
    **_PLAQUE_PLACES,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting:
    """What a workshop does to sheets and holes: the random inputs, and what is read off them."""

    design: Design
    workshop: Workshop

    @property
    def inputs(self) -> tuple[Input, ...]:
        """Every random input of sheets and holes; the screws also need `stock.thickness`, which is the frame's."""
        return tuple(
            disturbed(name, places, self.workshop.disturbance(name))
            for name, places in FITTING_PLACES.items()
            if self.design.plaque or name not in _PLAQUE_PLACES
        )

    def outcomes(self, value: Value) -> dict[str, FloatArray]:
        """Return every outcome that a box has, in their order: name -> (boxes,) or (1,), mm and degrees.

        Of several places it is the worst.
        """
        return {name: read(self.design, value) for name, read in _READ.items() if name in self.design.outcomes}


def drilled_errors(value: dict[str, FloatArray]) -> FloatArray:
    """Return how far each hole is from where it was meant: (6 holes, 2 axes, boxes), mark and wander together, mm."""
    total = value["hole_mark.offset"] + value["drill.wander"]
    return np.asarray(total.reshape(len(DRILLED), 2, -1))


def base_overhangs(oversize: float, value: dict[str, FloatArray]) -> FloatArray:
    """Return how far the flushed base stands out at each side: (4 sides, boxes), mm; below zero it falls short.

    Glued on, a side stands out by oversize + cut ± place; flushing takes it down to its own error and adds no wood.
    """
    x, y = value["base.place"]
    raw = oversize + value["base.cut"] + np.stack([-x, x, -y, y])
    return np.asarray(np.minimum(raw, value["flush.offset"]))


def lid_overhangs(value: dict[str, FloatArray]) -> FloatArray:
    """Return the lid's overhang at each side less the nominal: (4 sides, boxes), mm.

    The line is drawn round the frame as it was made; from it the lid's edge is sawn, and what stands out is sanded.
    """
    made = np.minimum(value["lid_saw.offset"], value["lid_sand.offset"])
    return np.asarray(value["outline.offset"] + made)


def screw_woods(design: Design, value: dict[str, FloatArray]) -> FloatArray:
    """Return the least wood between each lid screw's hole and a face of its wall: (left and right, boxes), mm.

    Inward from the wall's made outside face, the hole lies at T/2 + nominal overhang (as marked from the lid's own
    end) + mark and wander - overhang - sx · shift of the lid; the middle of the made edge lies at (T + τ)/2. The
    difference is e, and the wood T/2 - |e| - d/2.
    """
    walls, sx = [LEFT, RIGHT], np.array([[-1], [1]])
    inward = drilled_errors(value)[LID_SCREWS, 0]
    shift = sx * value["lid.place"][0]
    off_middle = inward - lid_overhangs(value)[walls] - shift - value["stock.thickness"][walls] / 2
    return np.asarray((design.timber.lapped - design.lid.screw.pilot) / 2 - np.abs(off_middle))


def plaque_arms(plaque: Plaque) -> FloatArray:
    """Return where the plaque's holes are drawn from the lid's middle, a stem's first: (3 holes, u and v), mm."""
    v = plaque.hole_spacing / 2
    return np.array([[0.0, 0.0], [plaque.hole_offset, -v], [plaque.hole_offset, v]])


def plaque_spare(design: Design, value: Value) -> FloatArray:
    """Return the play that the plaque's holes have left in its best place: (boxes,), mm; without a stem, two holes."""
    assert design.plaque
    apart, clearance = plaque_holes(design, value)
    arms = plaque_arms(design.plaque)[-len(clearance) :]
    return best_fit(apart, clearance, arms).spare if len(arms) == 3 else best_fit_of_two(apart, clearance, arms)


def plaque_holes(design: Design, value: Value) -> tuple[FloatArray, FloatArray]:
    """Return what decides whether the plaque fits: how far its holes are apart from the lid's, and their clearances.

    Returns
    -------
    apart : ndarray (3 holes, u and v, boxes)
        Hole in the lid less hole in the plaque, mm. Marked through, the lid's screw holes are where the plaque's
        are, but for the wander of the bit. Without a stem there are the two screw holes alone.
    clearance : ndarray (3 holes, boxes)
        Half of the plaque's hole less stem or screw, mm; kerf error leaves a hole that much smaller.
    """
    plaque, stem = design.plaque, design.stem
    assert plaque
    place = value["laser.place"].reshape(3, 2, -1)
    apart = drilled_errors(value)[UNDER_THE_PLAQUE] - place
    if design.lid_holes == "marked through":
        apart[1:] = value["drill.wander"].reshape(len(DRILLED), 2, -1)[PLAQUE_SCREWS]
    screw = plaque.screw.hole - plaque.screw.diameter
    play = [[screw], [screw]]
    if stem is None or plaque.stem_hole is None:
        return apart[1:], (np.array(play) - value["laser.kerf"]) / 2
    return apart, (np.array([[plaque.stem_hole - stem.diameter], *play]) - value["laser.kerf"]) / 2


_READ: dict[str, Callable[[Design, Value], FloatArray]] = {
    "base_overhang": lambda design, value: np.abs(base_overhangs(design.base.oversize, value)).max(axis=0),
    "lid_overhang": lambda _, value: np.abs(lid_overhangs(value)).max(axis=0),
    "screw_wood": lambda design, value: screw_woods(design, value).min(axis=0),
    "cable_hole": lambda _, value: np.hypot(*drilled_errors(value)[CABLE]),
    "plaque_spare": plaque_spare,
    "plaque_leg": lambda _, value: value["bend.line"][0] + value["laser.kerf"][0] / 2,  # half the kerf at its one edge
    "plaque_angle": lambda _, value: np.degrees(value["bend.angle"][0]),
}
assert list(_READ) == list(FITTING_OUTCOMES)
