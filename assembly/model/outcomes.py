"""What is read off a made box, in the order in which it is reported: an outcome's unit, words and bounds, a row each.

`assembly.made.frame_outcomes` and `assembly.made.sheets_and_holes` read them off (MODEL.md, 4); a design's `Limits` may
limit each. A unit is mm, deg (degrees) or 1, a share between 0 and 1 that is shown in percent. An outcome of a section
that a design leaves out is no outcome of its boxes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from assembly.text import one_of

if TYPE_CHECKING:
    from collections.abc import Iterable

Section = Literal["plaque", "cable_hole"]  # that a design may leave out


@dataclass(frozen=True, slots=True)
class Outcome:
    """One outcome: its unit, what it is called, what it means, and what a box does that has so much of it."""

    unit: Literal["mm", "deg", "1"]
    label: str
    means: str
    does: str
    least: float = -math.inf  # in its unit: no box can have less,
    most: float = math.inf  # nor more
    section: Section | None = None  # of a design that it is read off; without one, every box has it


FRAME_OUTCOMES = {
    "joint_gap": Outcome(
        "mm", "widest joint gap", "the widest opening at any of the four corners", "open at a joint by", least=0
    ),
    "closed_share": Outcome(
        "1",
        "joint closed by glue",
        "share of the worst corner's contact where the gap is no wider than the glue closes",
        "have a joint closed over",
        least=0,
        most=1,
    ),
    "step": Outcome(
        "mm",
        "end proud or shy",
        "how far a lapped wall's end stands out from the plain wall's face beside it, or behind it",
        "have a wall's end proud or shy by",
        least=0,
    ),
    "top_step": Outcome(
        "mm",
        "step at the top edge",
        "difference of the two walls' heights at a corner",
        "have a step at the top edge of",
        least=0,
    ),
    "out_of_square": Outcome(
        "deg",
        "corner out of square",
        "the worst corner's angle on plan, less 90 degrees",
        "have a corner out of square by",
        least=0,
    ),
    "diagonal_difference": Outcome(
        "mm", "diagonal difference", "one diagonal of the frame less the other", "have diagonals that differ by"
    ),
    "lean": Outcome("mm", "wall leaning", "a wall out of upright over its height", "have a wall leaning by", least=0),
    "length": Outcome("mm", "error of length", "overall length as made less as drawn", "are off in length by"),
    "width": Outcome("mm", "error of width", "overall width as made less as drawn", "are off in width by"),
}
FITTING_OUTCOMES = {  # of the sheets and holes
    "base_overhang": Outcome(
        "mm",
        "base proud or shy",
        "the worst side of the flushed base, beyond the walls or short of them",
        "have the base proud or shy by",
        least=0,
    ),
    "lid_overhang": Outcome(
        "mm",
        "lid proud or shy",
        "the worst side of the lid, beyond the walls or short of them, less what is meant",
        "have the lid proud or shy by",
        least=0,
    ),
    "screw_wood": Outcome(
        "mm",
        "wood beside a lid screw",
        "the least wood between a lid screw's hole and a face of its wall",
        "have wood beside a lid screw of",
    ),
    "cable_hole": Outcome(
        "mm",
        "cable hole off centre",
        "how far the cable hole lies from the centre of its wall",
        "have the cable hole off centre by",
        least=0,
        section="cable_hole",
    ),
    "plaque_spare": Outcome(
        "mm",
        "play in plaque's holes",
        "how far the plaque can still shift when its holes lie over the lid's as well as they can; below 0 they miss",
        "have play in the plaque's holes of",
        section="plaque",
    ),
    "plaque_leg": Outcome(
        "mm",
        "error of plaque's leg",
        "length of the plaque's standing leg as made less as drawn",
        "have the plaque's leg off by",
        section="plaque",
    ),
    "plaque_angle": Outcome(
        "deg",
        "error of plaque's bend",
        "angle of the bend as made less as drawn",
        "have the plaque's bend off by",
        section="plaque",
    ),
}
OUTCOMES = FRAME_OUTCOMES | FITTING_OUTCOMES


def outcome_typed(where: str, word: str, also: Iterable[str] = ()) -> str:
    """Return the outcome that a word means: its key, or its name as tables have it, with or without its unit.

    Raises
    ------
    InputError
        If it means none; the nearest key is offered, of the outcomes' and of those in `also`.
    """
    plain = word.partition(",")[0].strip().casefold()
    named = {each.label.casefold(): name for name, each in OUTCOMES.items()}
    return named[plain] if plain in named else one_of(where, word, (*also, *OUTCOMES))
