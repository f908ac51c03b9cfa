"""The lid: drawn round the frame, sawn and sanded to the line; then its holes."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.cautions import HANDS
from assembly.planning.frame_steps import FRAME, sheet_block
from assembly.planning.hole_steps import hole_steps
from assembly.planning.lines import front_letters, front_outside, outline
from assembly.planning.marks import sheet_waste, spare
from assembly.planning.measures import Datum, Size
from assembly.planning.needs import Item, small_pieces
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import SHEET_EDGES, Face, Place, on_parts
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.nominal.fittings import Fittings
    from assembly.planning.marks import Block, Wall

_LID = ("lid",)
_lid = partial(Step, stage="lid", part="lid", place=Place.UPSIDE_DOWN)


def lid_steps(design: Design, fitted: Fittings, allowance: float, front: Wall) -> tuple[Step, ...]:
    """Return the lid's steps, from a sheet `allowance` mm larger all round to the last hole that needs no plaque."""
    finished = sheet_block("lid", "finished", fitted.lid, 0.0)
    return (
        *_outlined(design, finished, front),
        *_cut(fitted, allowance),
        *hole_steps(design, fitted, finished),
    )


def _outlined(design: Design, finished: Block, front: Wall) -> tuple[Step, ...]:
    overhang = design.lid.overhang
    drawn = f"Draw the outline {mm(overhang)} outside the frame, on every side." if overhang else None
    step = partial(_lid, kind=StepKind.MARK, tool="pencil", parts=_LID, faces=on_parts(_LID, Face.UNDERSIDE))
    both = partial(step, parts=(*FRAME, "base", "lid"))
    return (
        step(
            part="front wall",
            parts=(*FRAME, "base"),
            operation="front outside",
            faces=on_parts((front.part,), Face.OUTSIDE),
            letters=(front_outside(front),),
            action="Write FRONT on the outside of the front wall.",
        ),
        both(
            kind=StepKind.LAY,
            tool=HANDS,
            operation="stand on sheet",
            also=("sheet edges",),
            action="Stand the frame upside down on the sheet for the lid.",
        ),
        both(
            tool="pencil and rule" if overhang else "pencil",
            operation="outline",
            sizes=(Size(of="distance", mm=overhang, datum=Datum.OUTSIDE_FACE),) if overhang else (),
            lines=outline(finished),
            also=("sheet edges",),
            action=drawn or "Draw round the frame.",
            notes=("The face that you draw on is the lid's underside.",),
        ),
        step(
            operation="front inside",
            letters=(front_letters(finished, Face.UNDERSIDE),),
            action="Write FRONT on the sheet, inside the outline, at the front.",
            notes=("The frame is lifted off for this.", "This lid fits this frame only."),
        ),
    )


def _cut(fitted: Fittings, allowance: float) -> tuple[Step, Step, Step]:
    left = spare(allowance)
    small = small_pieces({"the lid": max(fitted.lid.along_x, fitted.lid.along_y)}, "lids")
    uncut, sawn, finished = (sheet_block("lid", "uncut", fitted.lid, beyond) for beyond in (allowance, left, 0.0))
    cutting = partial(_lid, kind=StepKind.CUT, parts=_LID, faces=on_parts(_LID, *SHEET_EDGES))
    return (
        cutting(
            tool="saw",
            operation="lid_saw",
            sizes=(Size(of="distance", mm=left, datum=Datum.MARKED_LINE),),
            removed=sheet_waste(uncut, sawn),
            action=f"Saw the lid out on the waste side of the outline, about {mm(left)} beside it.",
        ),
        cutting(
            tool="sander",
            besides=(Item.SMALL_SANDER,) if small else (),
            also=("small pieces",) if small else (),
            operation="lid_sand",
            removed=sheet_waste(sawn, finished),
            action="Sand all four edges of the lid to the outline.",
            notes=small,
        ),
        _lid(
            kind=StepKind.FIT,
            parts=(*FRAME, "base", "lid"),
            tool=HANDS,
            operation="try the lid",
            place=Place.BOX,
            faces=on_parts(_LID, Face.TOP),
            action="Try the lid on its frame, front to front.",
        ),
    )
