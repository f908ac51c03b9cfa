"""The plaque: cut flat, bent on the hot line and, where the design says so, marked through onto the lid.

The film stays on until the bend is marked.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from assembly.planning.cautions import HANDS
from assembly.planning.flat_plaque_steps import PLAQUE, cut_by_hand, cut_by_laser, engraving, of_plaque
from assembly.planning.hole_steps import OPPOSITE, marked_through_drilled
from assembly.planning.lines import cross
from assembly.planning.marks import Block, Letter, Line
from assembly.planning.measures import Datum, Size, bend_measure, named
from assembly.planning.needs import Item
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import Face, on_parts
from assembly.text import decimal, mm

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.nominal.fittings import Fittings
    from assembly.nominal.plaque import BentPlaque


def plaque_steps(design: Design, fitted: Fittings, sheet: Block) -> tuple[Step, ...]:
    """Return the cutting of the plaque from `sheet` and its bending, and the holes that wait for it."""
    drawn, plaque, holes = design.plaque, fitted.plaque, fitted.holes_of(PLAQUE)
    assert drawn
    assert plaque
    through, laser = design.lid_holes == "marked through", drawn.cut == "laser"
    return (
        *(cut_by_laser(plaque, holes, drawn.wording, sheet) if laser else cut_by_hand(plaque, holes, sheet)),
        *_bent(plaque, drawn.wording if laser else ""),
        *(_marked_through(plaque, fitted, drawn.side) if through else ()),
    )


def _bent(plaque: BentPlaque, wording: str) -> tuple[Step, ...]:
    middle = sum(place for _, _, place, _ in plaque.flat_holes) / len(plaque.flat_holes)
    edge = "the edge nearest the holes" if middle < plaque.developed / 2 else "the edge farther from the holes"
    line = round(plaque.bend_line, 1)
    return (
        of_plaque(
            kind=StepKind.TREAT,
            tool=HANDS,
            operation="film",
            also=("sheet edges",),
            action="Peel the film off the plaque.",
        ),
        of_plaque(
            kind=StepKind.MARK,
            tool="felt pen and rule",
            operation="bend line",
            sizes=(Size(of="distance", mm=plaque.bend_line, datum=Datum.FREE_EDGE),),
            lines=(_bend_line(plaque),),
            measures=(bend_measure(plaque),),
            names=named("bend line", (_bend_line(plaque),), Face.TOP),
            also=("sheet edges",),
            action=f"Draw the bend line right across, {mm(line)} from {edge}.",
            notes=("The felt pen must be one that wipes off.",),
        ),
        *_bent_hot(plaque, wording),
    )


def _bent_hot(plaque: BentPlaque, wording: str) -> tuple[Step, ...]:
    way, angle = "up" if plaque.up else "down", decimal(round(math.degrees(plaque.angle), 3))
    hot = partial(of_plaque, tool="line bender")
    return (
        hot(
            kind=StepKind.LAY,
            operation="heat",
            action="Lay the sheet with the bend line over the hot strip.",
        ),
        hot(
            kind=StepKind.CHECK,
            besides=(Item.JIG,),
            operation="try softness",
            action="Try with the edge of the jig whether the sheet gives.",
            notes=("A finger must never touch it.",),
        ),
        hot(
            kind=StepKind.BEND,
            besides=(Item.JIG,),
            operation="bend",
            bent=tuple(_stood(plaque, letter) for letter in engraving(plaque, wording)),
            bent_lines=(_line_in_bend(plaque),),
            action=f"Bend the sheet {way} by {angle} degrees in the jig.",
        ),
        hot(
            kind=StepKind.WAIT,
            besides=(Item.JIG,),
            operation="cool",
            faces=(),
            action="Let it cool in the jig.",
        ),
        of_plaque(
            kind=StepKind.TREAT,
            tool=HANDS,
            besides=(Item.CLOTH,),
            operation="wipe line",
            wiped=("bend line",),
            action="Wipe the bend line off with a damp cloth.",
        ),
    )


def _stood(plaque: BentPlaque, letter: Letter) -> Letter:
    """Return the wording of the flat sheet where it is when the leg has been bent."""
    turn = np.array([math.cos(plaque.angle), math.sin(plaque.angle)])
    u, h = plaque.profile()[6 if plaque.up else 3] + plaque.upright_straight / 2 * turn
    sign = 1.0 if plaque.up else -1.0
    x, y = (sign * turn[0] * c for c in plaque.towards)
    return replace(
        letter, face=Face.STANDING_LEG, place=plaque.place(0.0, u, h), up=(float(x), float(y), float(turn[1]))
    )


def _line_in_bend(plaque: BentPlaque) -> Line:
    """Return the bend line where it is when the plaque has been bent: along the middle of the arc."""
    u, h = plaque.profile()[7 if plaque.up else 2]
    start, end = (plaque.place(side * plaque.width / 2, u, h) for side in (-1, 1))
    return Line(part=PLAQUE, kind="bend line", face=Face.TOP, start=start, end=end)


def _bend_line(plaque: BentPlaque) -> Line:
    u, z = plaque.apex - plaque.flat_leg + plaque.bend_line, plaque.underside + plaque.thickness
    (x0, y0, _), (x1, y1, _) = (plaque.place(side * plaque.width / 2, u, 0.0) for side in (-1, 1))
    return Line(part=PLAQUE, kind="bend line", face=Face.TOP, start=(x0, y0, z), end=(x1, y1, z))


def _marked_through(plaque: BentPlaque, fitted: Fittings, edge: str) -> tuple[Step, ...]:
    pilots, within = fitted.holes_of("lid", "pilot"), plaque.screw_hole / 2
    placed, sizes, notes = _placed_on_lid(plaque, fitted, edge)
    step = partial(Step, stage="holes", part="lid", parts=("lid", PLAQUE), faces=on_parts(("lid",), Face.TOP))
    return (
        step(
            kind=StepKind.LAY,
            tool=HANDS,
            operation="plaque on lid",
            sizes=sizes,
            action=f"Lay the plaque on the lid, {placed}.",
            notes=notes,
        ),
        step(
            kind=StepKind.MARK,
            tool="bradawl",
            operation="prick through",
            lines=tuple(line for hole in pilots for line in cross(hole, within)),
            action="Prick the lid through the middle of both screw holes of the plaque.",
        ),
        *marked_through_drilled(plaque, pilots),
    )


def _placed_on_lid(plaque: BentPlaque, fitted: Fittings, edge: str) -> tuple[str, tuple[Size, ...], tuple[str, ...]]:
    """Return how a plaque is laid on the lid, its bend beside an edge: in words, as sizes, and what to know of it."""
    if plaque.stem_hole is not None:
        return "its stem hole over the centre hole", (), ()
    x, y = plaque.towards
    off = abs(x) * fitted.lid.along_x / 2 + abs(y) * fitted.lid.along_y / 2 - (plaque.flat_leg - plaque.apex)
    far = f"the lid's {OPPOSITE[edge]} edge"
    at = f"{mm(round(off, 1))} from {far}" if round(off, 1) else f"level with {far}"
    notes = ("As much lid is beside it on either side.",)
    return f"its flat edge {at}", (Size(of="distance", mm=off, datum=Datum.LID_EDGE),), notes
