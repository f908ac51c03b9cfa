"""The frame put together: the walls glued, the base glued under them and brought flush."""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.cautions import HANDS
from assembly.planning.home import glue_note
from assembly.planning.lines import outline
from assembly.planning.marks import Block, sheet_waste
from assembly.planning.measures import Datum, Size, diagonal_measures, sheet_measures
from assembly.planning.needs import Item, small_pieces
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import SHEET_EDGES, Face, Place, on_parts
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.nominal.fittings import Fittings, PlacedSheet
    from assembly.nominal.frame import Frame

FRAME = ("left wall", "right wall", "front wall", "back wall")

_gluing = partial(Step, stage="gluing the frame", parts=FRAME)
_base = partial(Step, stage="base", part="base")


def sheet_block(part: str, name: str, sheet: PlacedSheet, beyond: float) -> Block:
    """Return a sheet as a block, standing out `beyond` (mm) on every side of its finished size."""
    half = (sheet.along_x / 2 + beyond, sheet.along_y / 2 + beyond)
    return Block(
        part=part,
        name=name,
        low=(-half[0], -half[1], sheet.bottom),
        high=(*half, sheet.top),
    )


def frame_steps(design: Design, box: Frame, fitted: Fittings, allowance: float) -> tuple[Step, ...]:
    """Return the gluing of the frame, and of the base under it, cut from a sheet `allowance` mm larger all round."""
    squared = design.glue_up == "squared"
    return (
        *_smoothed(),
        *_glued(design, squared=squared),
        *(_diagonals(box) if squared else ()),
        *_set_and_flushed(),
        *_base_cut(design, fitted, allowance),
        _levelled(),
        *_base_glued(design),
        _base_flushed(design, fitted),
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


def _over(design: Design) -> str:
    oversize = design.base.oversize
    return f"{mm(oversize)} over on every side" if oversize else "with nothing over"


def _oversize(design: Design) -> tuple[Size, ...]:
    oversize = design.base.oversize
    return (Size(of="distance", mm=oversize, datum=Datum.OUTSIDE_FACE),) if oversize else ()


def _base_cut(design: Design, fitted: Fittings, allowance: float) -> tuple[Step, Step]:
    oversize, base = design.base.oversize, fitted.base
    raw, sheet = sheet_block("base", "uncut", base, oversize), sheet_block("base", "uncut", base, oversize + allowance)
    lapped, plain = fitted.base_raw if design.box.turned else fitted.base_raw[::-1]
    cut = partial(_base, parts=("base",), place=Place.UPSIDE_DOWN)
    return (
        cut(
            kind=StepKind.MARK,
            tool="pencil and rule",
            operation="base outline",
            faces=on_parts(("base",), Face.UNDERSIDE),
            sizes=(Size(of="length", mm=plain), Size(of="width", mm=lapped), *_oversize(design)),
            lines=outline(raw),
            measures=sheet_measures(raw, top=False),
            also=("sheet edges",),
            action=(
                f"Draw the base on its sheet, {mm(plain)} along the plain walls by {mm(lapped)} along the lapped walls."
            ),
            notes=(f"It is the size of the frame, {_over(design)}.",),
        ),
        cut(
            kind=StepKind.CUT,
            tool="saw",
            operation="base",
            faces=on_parts(("base",), *SHEET_EDGES),
            removed=sheet_waste(sheet, raw),
            action="Saw the base out on the waste side of the lines.",
        ),
    )


def _levelled() -> Step:
    return _base(
        part="the frame",
        parts=FRAME,
        kind=StepKind.TREAT,
        tool="abrasive paper and flat board",
        operation="level",
        place=Place.UPSIDE_DOWN,
        faces=on_parts(FRAME, Face.BOTTOM),
        action="Rub the frame's bottom, the edges with the arrowheads, over abrasive paper on a flat board.",
        notes=(
            "It is done as soon as the paper touches all four walls all round.",
            "Then the base has no gap under it.",
        ),
    )


def _base_glued(design: Design) -> tuple[Step, Step, Step, Step]:
    step = partial(_base, kind=StepKind.JOIN, parts=(*FRAME, "base"), faces=on_parts(("base",), Face.TOP))
    return (
        step(
            part="the frame",
            parts=FRAME,
            tool="glue",
            operation="glue",
            place=Place.UPSIDE_DOWN,
            faces=on_parts(FRAME, Face.BOTTOM),
            action="Spread glue on the edges that you have levelled.",
            notes=glue_note(design),
        ),
        step(
            tool=HANDS,
            also=("glue",),
            operation="base on",
            sizes=_oversize(design),
            action=f"Press the base under the frame, {_over(design)}.",
        ),
        step(
            tool="clamps",
            besides=(Item.PAPER,),
            operation="clamp",
            action="Clamp base and frame evenly, with paper or film between the base and the bench.",
        ),
        step(
            kind=StepKind.WAIT,
            tool=HANDS,
            operation="setting",
            faces=(),
            action="Leave it in its clamps until the glue is dry.",
            notes=("Wet glue must not be sanded.",),
        ),
    )


def _base_flushed(design: Design, fitted: Fittings) -> Step:
    oversize, base = design.base.oversize, fitted.base
    raw, finished = sheet_block("base", "uncut", base, oversize), sheet_block("base", "finished", base, 0.0)
    small = small_pieces({"the box": max(base.along_x, base.along_y)}, "boxes")
    return _base(
        parts=(*FRAME, "base"),
        kind=StepKind.CUT,
        tool="sander",
        besides=(Item.SMALL_SANDER,) if small else (),
        also=("small pieces",) if small else (),
        operation="flush",
        faces=on_parts(("base",), *SHEET_EDGES),
        removed=sheet_waste(raw, finished),
        action="Sand the base flush with the walls, with no step, until the sander just touches them.",
        notes=small,
    )
