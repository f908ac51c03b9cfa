"""The frame put together: the walls glued, the base glued under them and brought flush."""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.cautions import HANDS
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
    return (*_glued(design, box), *_base_cut(design, fitted, allowance), *_base_joined(design, fitted))


def _glued(design: Design, box: Frame) -> tuple[Step, ...]:
    squared = design.glue_up == "squared"
    smooth = _gluing(
        kind=StepKind.TREAT,
        part="the four walls",
        tool="sanding block",
        operation="smooth inside",
        place=Place.BENCH,
        besides=(Item.CLOTH,),
        faces=on_parts(FRAME, Face.INSIDE),
        sentences=(
            "Wipe the inside faces clean with a damp cloth.",
            "When they are dry smooth them with a few light strokes along the grain.",
            "Glued, they can't be laid flat any more.",
            "Keep off the laps and ends, and leave names and letters to be read.",
        ),
    )
    glue = _gluing(
        kind=StepKind.JOIN,
        part="the four walls",
        tool="glue and clamps",
        besides=(Item.FLAT_BOARD, Item.PAPER, Item.CLOTH),
        operation="glue",
        faces=on_parts((f"{wall} wall" for wall in design.box.lapped_walls), Face.SHOULDER, Face.CHEEK),
        sentences=(
            "Lay paper or film on a flat board, so that glue that comes out does not stick the frame to it.",
            (
                "Glue both faces of every lap and put the frame together on it, the same letters together, names "
                "inside, arrowheads down."
            ),
            "Press all four corners until the joints close, clamp them, and wipe off what comes out with a damp cloth.",
            *(() if squared else ("Do not pull the frame square.",)),
        ),
    )
    return (smooth, glue, *((_diagonals(box),) if squared else ()), _left_to_set(), _ends_flushed())


def _ends_flushed() -> Step:
    return _gluing(
        kind=StepKind.TREAT,
        part="the frame",
        tool="sanding block",
        operation="flush ends",
        faces=on_parts(FRAME, Face.OUTSIDE),
        sentences=(
            "Now that the glue is dry, take off what stands proud at the corners: dried glue and ends.",
            "Sand from the corner towards the middle of the wall, so that no end splinters.",
            "Stop when end and face are level.",
        ),
    )


def _diagonals(box: Frame) -> Step:
    diagonal = math.hypot(box.along_x, box.along_y)
    return _gluing(
        kind=StepKind.FIT,
        part="the frame",
        tool="rule, glue and clamps",
        operation="square the diagonals",
        faces=on_parts(FRAME, Face.TOP),
        sizes=(Size(of="diagonal", mm=diagonal, datum=Datum.CORNER),),
        measures=diagonal_measures(*box.on_plan, box.height / 2),
        sentences=(
            (
                "While the glue is wet measure both diagonals, from outside corner to opposite outside corner (about "
                f"{mm(round(diagonal, 1))})."
            ),
            (
                "Where they differ, push the two corners of the longer one towards each other, until it is shorter by "
                "about half the difference: the other grows by the other half."
            ),
            "Hold them with a clamp laid lightly across the longer one, and measure both again.",
        ),
    )


def _left_to_set() -> Step:
    return _gluing(
        kind=StepKind.WAIT,
        part="the frame",
        tool=HANDS,
        operation="setting",
        sentences=("Leave the frame in its clamps until the glue is dry: the glue's label says how long.",),
    )


def _over(design: Design) -> str:
    oversize = design.base.oversize
    return f"{mm(oversize)} over on every side" if oversize else "with nothing over"


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
            sizes=(Size(of="length", mm=plain), Size(of="width", mm=lapped)),
            lines=outline(raw),
            measures=sheet_measures(raw, top=False),
            also=("sheet edges",),
            sentences=(
                (
                    f"On the sheet draw the base {mm(plain)} along the plain walls by {mm(lapped)} along the lapped "
                    f"walls, {_over(design)}."
                ),
            ),
        ),
        cut(
            kind=StepKind.CUT,
            tool="saw",
            operation="base",
            faces=on_parts(("base",), *SHEET_EDGES),
            removed=sheet_waste(sheet, raw),
            sentences=("Saw the base out on the waste side of the lines.",),
        ),
    )


def _base_joined(design: Design, fitted: Fittings) -> tuple[Step, Step, Step, Step]:
    oversize, base = design.base.oversize, fitted.base
    raw, finished = sheet_block("base", "uncut", base, oversize), sheet_block("base", "finished", base, 0.0)
    step = partial(_base, parts=(*FRAME, "base"))
    over = (Size(of="distance", mm=oversize, datum=Datum.OUTSIDE_FACE),) if oversize else ()
    small = small_pieces({"the box": max(fitted.base.along_x, fitted.base.along_y)}, "boxes")
    return (
        _base(
            part="the frame",
            parts=FRAME,
            kind=StepKind.TREAT,
            tool="abrasive paper and flat board",
            operation="level",
            place=Place.UPSIDE_DOWN,
            faces=on_parts(FRAME, Face.BOTTOM),
            sentences=(
                "Lay abrasive paper on a flat board and rub the frame's bottom over it, the edges with the arrowheads.",
                "Stop as soon as the paper touches all four walls all round: then the base has no gap under it.",
            ),
        ),
        step(
            kind=StepKind.JOIN,
            tool="glue and clamps",
            besides=(Item.PAPER,),
            operation="glue",
            faces=on_parts(("base",), Face.TOP),
            sizes=over,
            sentences=(
                f"Glue the base under the frame, on the edges that you have levelled, {_over(design)}.",
                "Clamp it evenly, paper or film between it and the bench.",
            ),
        ),
        step(
            kind=StepKind.WAIT,
            tool=HANDS,
            operation="setting",
            sentences=("Leave it in its clamps until the glue is dry: wet glue must not be sanded.",),
        ),
        step(
            kind=StepKind.CUT,
            tool="sander",
            besides=(Item.SMALL_SANDER,) if small else (),
            operation="flush",
            faces=on_parts(("base",), *SHEET_EDGES),
            sizes=over,
            removed=sheet_waste(raw, finished),
            sentences=(
                "With the sander bring the base flush with the walls: level, with no step.",
                "Stop when it just touches them.",
                *small,
            ),
        ),
    )
