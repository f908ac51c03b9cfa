"""The base: sawn out larger than the frame, glued under it and brought flush."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.cautions import HANDS
from assembly.planning.frame_steps import FRAME, sheet_block
from assembly.planning.home import glue_note
from assembly.planning.lines import outline
from assembly.planning.marks import sheet_waste
from assembly.planning.measures import Datum, Size, sheet_measures
from assembly.planning.needs import Item, small_pieces
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import SHEET_EDGES, Face, Place, on_parts
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.nominal.fittings import Fittings

_base = partial(Step, stage="base", part="base")


def base_steps(design: Design, fitted: Fittings, allowance: float) -> tuple[Step, ...]:
    """Return the base's steps, from a sheet `allowance` mm larger all round than it is sawn."""
    return (
        *_cut(design, fitted, allowance),
        _levelled(),
        *_glued(design),
        _flushed(design, fitted),
    )


def _over(design: Design) -> str:
    oversize = design.base.oversize
    return f"{mm(oversize)} over on every side" if oversize else "with nothing over"


def _oversize(design: Design) -> tuple[Size, ...]:
    oversize = design.base.oversize
    return (Size(of="distance", mm=oversize, datum=Datum.OUTSIDE_FACE),) if oversize else ()


def _cut(design: Design, fitted: Fittings, allowance: float) -> tuple[Step, Step]:
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


def _glued(design: Design) -> tuple[Step, Step, Step, Step]:
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


def _flushed(design: Design, fitted: Fittings) -> Step:
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
