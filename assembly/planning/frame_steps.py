"""The frame put together: the walls glued, the base glued under them and brought flush."""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.lines import outline
from assembly.planning.marks import Block, sheet_waste
from assembly.planning.measures import diagonal_measures, sheet_measures
from assembly.planning.steps import Step
from assembly.rules.shop import mm

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.nominal.fittings import Fittings, Sheet
    from assembly.nominal.frame import Frame

FRAME = ("left wall", "right wall", "front wall", "back wall")

_gluing = partial(Step, stage="gluing the frame", parts=FRAME, together=True)
_base = partial(Step, stage="base", part="base")


def sheet_block(part: str, name: str, sheet: Sheet, beyond: float) -> Block:
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
    then = "" if squared else " Do not pull the frame square."
    glue = _gluing(
        part="the four walls",
        tool="glue and clamps",
        operation="glue",
        face="shoulders and cheeks",
        words="Glue both faces of every lap and put the frame together on a flat board, the same letters together, "
        "names inside, arrowheads down. Press all four corners until the joints close, clamp them, and wipe off what "
        f"comes out.{then}",
    )
    return (glue, *((_diagonals(box),) if squared else ()), _left_to_set())


def _diagonals(box: Frame) -> Step:
    diagonal = math.hypot(box.along_x, box.along_y)
    return _gluing(
        part="the frame",
        tool="rule, glue and clamps",
        operation="square the diagonals",
        face="outside corners",
        from_where="outside corner",
        to_where="opposite outside corner",
        size=diagonal,
        measures=diagonal_measures(box.along_x, box.along_y, box.height / 2),
        words=f"While the glue is wet measure both diagonals, from outside corner to opposite outside corner (about "
        f"{mm(round(diagonal, 1))}). Press the longer one until both are equal.",
    )


def _left_to_set() -> Step:
    return _gluing(
        part="the frame",
        tool="hands",
        operation="setting",
        words="Leave the frame in its clamps until the glue is dry: the glue's label says how long.",
    )


def _over(design: Design) -> str:
    oversize = design.base.oversize
    return f"{mm(oversize)} over on every side" if oversize else "with nothing over"


def _base_cut(design: Design, fitted: Fittings, allowance: float) -> tuple[Step, Step]:
    oversize, base = design.base.oversize, fitted.base
    raw, sheet = sheet_block("base", "uncut", base, oversize), sheet_block("base", "uncut", base, oversize + allowance)
    along_x, along_y = fitted.base_raw
    return (
        _base(
            parts=("base",),
            tool="pencil and rule",
            operation="base outline",
            face="underside",
            from_where="edge",
            to_where="edge",
            size=along_x,
            kind="cut line",
            lines=outline(raw),
            measures=sheet_measures(raw, top=False),
            also=("sheet edges",),
            upside_down=True,
            words=f"On the sheet draw the base {mm(along_x)} along the plain walls by {mm(along_y)} along the lapped "
            f"walls, {_over(design)}.",
        ),
        _base(
            parts=("base",),
            tool="saw",
            operation="base",
            face="edges",
            to_where="the waste side of the outline",
            removed=sheet_waste(sheet, raw),
            upside_down=True,
            words="Saw the base out on the waste side of the lines.",
        ),
    )


def _base_joined(design: Design, fitted: Fittings) -> tuple[Step, Step, Step]:
    oversize, base = design.base.oversize, fitted.base
    raw, finished = sheet_block("base", "uncut", base, oversize), sheet_block("base", "finished", base, 0.0)
    return (
        _base(
            parts=(*FRAME, "base"),
            tool="glue and clamps",
            operation="glue",
            face="top",
            from_where="the walls",
            to_where="the base's edge",
            size=oversize,
            words=f"Glue the base under the frame, on the edges with the arrowheads, {_over(design)}. Clamp it evenly.",
        ),
        _base(
            parts=(*FRAME, "base"),
            tool="hands",
            operation="setting",
            words="Leave it in its clamps until the glue is dry: wet glue must not be sanded.",
        ),
        _base(
            parts=(*FRAME, "base"),
            tool="sander",
            operation="flush",
            face="edges",
            to_where="the walls' outside faces",
            size=oversize,
            removed=sheet_waste(raw, finished),
            words="With the sander bring the base flush with the walls: level, with no step. Stop when it just touches "
            "them.",
        ),
    )
