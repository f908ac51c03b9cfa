"""The order of making, written once: every step with its tool, sizes, lines, waste and cautions.

Walls come first, in the trade's order; then gluing, base, flushing, lid, holes, plaque, bend, cleaning up, finish and
screws.
A box that lacks plaque, stem or cable hole has no steps for them.
The cable hole is drilled as soon as it is marked, while the wall still lies flat. Where the plaque's holes are marked
through onto the lid, those two pilot holes come after the bend: the plaque must be there to mark through.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.nominal.blanks import ALLOWANCE
from assembly.nominal.fittings import fittings
from assembly.nominal.frame import frame
from assembly.planning.base_steps import base_steps
from assembly.planning.cable_steps import cable_hole_steps
from assembly.planning.cautions import Caution, cautions, first_cautions
from assembly.planning.finish_steps import finish_steps
from assembly.planning.flat_plaque_steps import flat_sheet
from assembly.planning.frame_steps import frame_steps, sheet_block
from assembly.planning.lap_steps import lap_steps
from assembly.planning.lid_steps import lid_steps
from assembly.planning.marks import bench_walls, uncut
from assembly.planning.plaque_steps import plaque_steps
from assembly.planning.wall_steps import length_steps

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.planning.marks import Block
    from assembly.planning.steps import Step

MOST_ALLOWANCE = 200.0  # mm; project choice


@dataclass(frozen=True, slots=True, kw_only=True)
class MakingOrder:
    """How one box is made, from the first mark to the last screw."""

    first: tuple[Caution, ...]  # shown before any step
    uncut: tuple[Block, ...]  # the four walls, base, lid and flat plaque, if there is one, before any waste is cut off
    steps: tuple[Step, ...]  # numbered from 1


def making_order(
    design: Design, workshop: Workshop, *, allowance: float = ALLOWANCE, also: Sequence[str] = ()
) -> MakingOrder:
    """Return how the box of `design` is made in `workshop`.

    Parameters
    ----------
    design : Design
        What is made.
    workshop : Workshop
        Where the shoulder is marked from, which face the gauge runs along, and how laps are pared.
    allowance : float
        Waste beyond each finished end of a wall and beyond each side of a sheet, mm; over 0, at most `MOST_ALLOWANCE`.
    also : sequence of str
        Operations that the makers do besides; their cautions join the step that fits the stem and the cable, or the
        last where there are neither. A design whose stem is soldered brings "soldering" by itself.

    Raises
    ------
    InputError
        If the allowance is out of its range, or an operation of `also` has no caution.
    """
    if not 0 < allowance <= MOST_ALLOWANCE:
        msg = f"allowance: got {allowance:g}, must be over 0 and at most {MOST_ALLOWANCE:g} mm; {ALLOWANCE:g} will do"
        raise InputError(msg)
    for operation in also:
        cautions(operation)
    box, fitted = frame(design), fittings(design)
    walls = bench_walls(box, allowance, design.overlength)
    base = sheet_block("base", "uncut", fitted.base, design.base.oversize + allowance)
    lid = sheet_block("lid", "uncut", fitted.lid, allowance)
    plaque = (flat_sheet(fitted.plaque, "uncut", allowance),) if fitted.plaque else ()
    soldered = ("soldering",) if design.stem and design.stem.soldered else ()
    besides = tuple(dict.fromkeys((*soldered, *also)))
    cable, named = (hole for hole in fitted.holes if hole.use == "cable"), {wall.part: wall for wall in walls}
    steps = (
        *length_steps(box, walls),
        *lap_steps(box, workshop, walls),
        *(step for hole in cable for step in cable_hole_steps(hole, named[hole.part])),
        *frame_steps(design, box),
        *base_steps(design, fitted, allowance),
        *lid_steps(design, fitted, allowance, named["front wall"]),
        *(step for sheet in plaque for step in plaque_steps(design, fitted, sheet)),
        *finish_steps(design, besides),
    )
    return MakingOrder(
        first=first_cautions(),
        uncut=(*map(uncut, walls), base, lid, *plaque),
        steps=tuple(replace(step, number=number) for number, step in enumerate(steps, 1)),
    )
