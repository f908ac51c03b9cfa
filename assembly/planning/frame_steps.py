"""The frame put together: walls smoothed inside, glued, squared where the design says so, and their ends sanded."""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.cautions import HANDS
from assembly.planning.home import glue_note
from assembly.planning.marks import Block
from assembly.planning.measures import Datum, Size, diagonal_measures
from assembly.planning.needs import Item
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import Face, Place, on_parts
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.nominal.fittings import PlacedSheet
    from assembly.nominal.frame import Frame

FRAME = ("left wall", "right wall", "front wall", "back wall")

_gluing = partial(Step, stage="gluing the frame", parts=FRAME)


def sheet_block(part: str, name: str, sheet: PlacedSheet, beyond: float) -> Block:
    """Return a sheet as a block, standing out `beyond` (mm) on every side of its finished size."""
    half = (sheet.along_x / 2 + beyond, sheet.along_y / 2 + beyond)
    return Block(
        part=part,
        name=name,
        low=(-half[0], -half[1], sheet.bottom),
        high=(*half, sheet.top),
    )


def frame_steps(design: Design, box: Frame) -> tuple[Step, ...]:
    """Return the gluing of the frame, from walls that have been tried dry to ends that are level."""
    squared = design.glue_up == "squared"
    return (
        *_smoothed(),
        *_glued(design, squared=squared),
        *(_diagonals(box) if squared else ()),
        *_set_and_flushed(),
    )


def _smoothed() -> tuple[Step, Step]:
    step = partial(
        _gluing,
        kind=StepKind.TREAT,
        part="the four walls",
        place=Place.BENCH,
        faces=on_parts(FRAME, Face.INSIDE),
    )
    return (
        step(
            tool=HANDS,
            operation="wipe inside",
            besides=(Item.CLOTH,),
            action="Wipe the inside faces clean with a damp cloth.",
            notes=("They must be dry before the next step.",),
        ),
        step(
            tool="sanding block",
            operation="smooth inside",
            action="Smooth the inside faces with a few light strokes along the grain, off the laps and ends.",
            notes=(
                "Names and letters must stay to be read.",
                "Glued walls can't be laid flat any more.",
            ),
        ),
    )


def _glued(design: Design, *, squared: bool) -> tuple[Step, ...]:
    lapped = tuple(f"{wall} wall" for wall in design.box.lapped_walls)
    step = partial(
        _gluing, kind=StepKind.JOIN, part="the four walls", faces=on_parts(lapped, Face.SHOULDER, Face.CHEEK)
    )
    return (
        step(
            place=Place.BENCH,
            part="lapped walls",
            parts=lapped,
            tool="glue",
            operation="glue",
            faces=on_parts(lapped, Face.CHEEK, Face.SHOULDER),
            action="Spread glue on both faces of every lap, shoulder and cheek.",
            notes=glue_note(design),
        ),
        step(
            tool=HANDS,
            also=("glue",),
            operation="put together",
            besides=(Item.FLAT_BOARD, Item.PAPER),
            action="Put the frame together on paper or film on a flat board, the same letters together.",
            notes=(
                "Names are inside, arrowheads down.",
                "The paper or film keeps glue that comes out from sticking the frame to the board.",
            ),
        ),
        step(tool=HANDS, also=("glue",), operation="press", action="Press all four corners until the joints close."),
        step(
            tool="clamps",
            operation="clamp",
            action="Clamp the four corners.",
            notes=() if squared else ("The frame must not be pulled square.",),
        ),
        step(
            kind=StepKind.TREAT,
            tool=HANDS,
            also=("glue",),
            operation="wipe glue",
            besides=(Item.CLOTH,),
            action="Wipe off the glue that comes out, with a damp cloth.",
        ),
    )


def _diagonals(box: Frame) -> tuple[Step, Step, Step, Step]:
    diagonal = math.hypot(box.along_x, box.along_y)
    step = partial(_gluing, part="the frame", faces=on_parts(FRAME, Face.TOP))
    measured = partial(
        step,
        kind=StepKind.CHECK,
        tool="rule",
        measures=diagonal_measures(*box.on_plan, box.height / 2),
        sizes=(Size(of="diagonal", mm=diagonal, datum=Datum.CORNER),),
    )
    about = f"Each is about {mm(round(diagonal, 1))} long."
    return (
        measured(
            operation="measure the diagonals",
            action="Measure both diagonals while the glue is wet, from outside corner to opposite outside corner.",
            notes=(about,),
        ),
        step(
            kind=StepKind.FIT,
            tool=HANDS,
            also=("glue",),
            operation="square the diagonals",
            action="Push the two corners of the longer diagonal together, until it is shorter by half the difference.",
            notes=("The other diagonal grows by the other half.", "Equal diagonals need no push."),
        ),
        step(
            kind=StepKind.FIT,
            tool="clamps",
            operation="hold the diagonals",
            action="Clamp the frame lightly across the longer diagonal.",
        ),
        measured(
            operation="measure again",
            action="Measure both diagonals again.",
            notes=("They must be equal.", about),
        ),
    )


def _set_and_flushed() -> tuple[Step, Step]:
    step = partial(_gluing, part="the frame")
    return (
        step(
            kind=StepKind.WAIT,
            tool=HANDS,
            operation="setting",
            action="Leave the frame in its clamps until the glue is dry.",
            notes=("The glue's label says how long.",),
        ),
        step(
            kind=StepKind.TREAT,
            tool="sanding block",
            operation="flush ends",
            faces=on_parts(FRAME, Face.OUTSIDE),
            action="Sand off what stands proud at the corners, dried glue and ends, from corner towards middle.",
            notes=(
                "Strokes in this direction keep the ends from splintering.",
                "It is done when end and face are level.",
            ),
        ),
    )
