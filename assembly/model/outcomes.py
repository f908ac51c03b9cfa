"""What is read off a made box, in the order in which it is told: the unit of each outcome, and its words.

`assembly.made.frame_outcomes` and `assembly.made.sheets_and_holes` read them off; a design's `Limits` may limit each.
A unit is mm, deg (degrees) or 1, a share between 0 and 1 that is told in percent.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Outcome:
    """One outcome: its unit, what it is called, and what a box does that has so much of it."""

    unit: Literal["mm", "deg", "1"]
    label: str
    does: str


FRAME_OUTCOMES = {
    "joint_gap": Outcome("mm", "widest joint gap", "open at a joint by"),
    "closed_share": Outcome("1", "joint closed by glue", "have a joint closed over"),
    "step": Outcome("mm", "end proud or shy", "have a wall's end proud or shy by"),
    "top_step": Outcome("mm", "step at the top edge", "have a step at the top edge of"),
    "out_of_square": Outcome("deg", "corner out of square", "have a corner out of square by"),
    "diagonal_difference": Outcome("mm", "diagonal difference", "have diagonals that differ by"),
    "lean": Outcome("mm", "wall leaning", "have a wall leaning by"),
    "length": Outcome("mm", "error of length", "are off in length by"),
    "width": Outcome("mm", "error of width", "are off in width by"),
}
FITTING_OUTCOMES = {  # of the sheets and holes
    "base_overhang": Outcome("mm", "base proud or shy", "have the base proud or shy by"),
    "lid_overhang": Outcome("mm", "lid proud or shy", "have the lid proud or shy by"),
    "screw_wood": Outcome("mm", "wood beside a lid screw", "have wood beside a lid screw of"),
    "cable_hole": Outcome("mm", "cable hole off centre", "have the cable hole off centre by"),
    "plaque_spare": Outcome("mm", "play in plaque's holes", "have play in the plaque's holes of"),
    "plaque_leg": Outcome("mm", "error of plaque's leg", "have the plaque's leg off by"),
    "plaque_angle": Outcome("deg", "error of plaque's bend", "have the plaque's bend off by"),
}
OUTCOMES = FRAME_OUTCOMES | FITTING_OUTCOMES
