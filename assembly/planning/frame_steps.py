"""The frame put together: the walls glued, the base glued under them and brought flush."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from assembly.planning.lines import outline
from assembly.planning.marks import Block, sheet_waste
from assembly.planning.steps import Step
from assembly.shop_rules import mm

if TYPE_CHECKING:
    from assembly.design import Design
    from assembly.fittings import Fittings, Sheet
    from assembly.frame import Frame

_WALLS = ("left wall", "right wall", "front wall", "back wall")


def sheet_block(part: str, name: str, sheet: Sheet, beyond: float) -> Block:
    """Return a sheet as a block, standing out `beyond` (mm) on every side of its finished size."""
    half = (sheet.along_x / 2 + beyond, sheet.along_y / 2 + beyond)
    return Block(
        part=part,
        name=name,
        low=(-half[0], -half[1], sheet.bottom),
        high=(*half, sheet.top),
    )


def frame_steps(design: Design, box: Frame, fitted: Fittings) -> tuple[Step, ...]:
    """Return the gluing of the frame, and of the base under it."""
    return (*_gluing(design, box), *_base(design, fitted))


def _gluing(design: Design, box: Frame) -> tuple[Step, ...]:
    squared = design.glue_up == "squared"
    then = "" if squared else " Let the frame stand as it falls."
    glue = Step(
        stage="gluing the frame",
        part="the four walls",
        parts=_WALLS,
        tool="glue and clamps",
        operation="glue",
        face="shoulders and cheeks",
        words="Glue both faces of every lap and put the frame together on a flat board, letter to letter, face sides "
        f"inside, face edges down. Press all four corners until the joints close, and wipe off what comes out.{then}",
    )
    return (glue, _diagonals(box)) if squared else (glue,)


def _diagonals(box: Frame) -> Step:
    diagonal = math.hypot(box.along_x, box.along_y)
    return Step(
        stage="gluing the frame",
        part="the frame",
        parts=_WALLS,
        tool="glue and clamps",
        operation="square the diagonals",
        face="outside corners",
        from_where="outside corner",
        to_where="opposite outside corner",
        size=diagonal,
        words=f"While the glue is wet measure both diagonals (about {mm(round(diagonal, 1))}). Press the longer one "
        "until both are equal, then let the glue set.",
    )


def _base(design: Design, fitted: Fittings) -> tuple[Step, Step, Step]:
    return _base_sawn(design, fitted), _base_glued(design), _base_flushed(design, fitted)


def _base_sawn(design: Design, fitted: Fittings) -> Step:
    oversize = design.base.oversize
    along_x, along_y = fitted.base_raw
    raw = sheet_block("base", "uncut", fitted.base, oversize)
    over = f"{mm(oversize)} over on every side" if oversize else "with nothing over"
    return Step(
        stage="base",
        part="base",
        parts=("base",),
        tool="saw",
        operation="base",
        face="underside",
        from_where="edge",
        to_where="edge",
        size=along_x,
        kind="cut line",
        lines=outline(raw),
        words=f"Draw the base {mm(along_x)} along the plain walls by {mm(along_y)} along the lapped walls, {over}, "
        "and saw it out on the waste side of the lines.",
    )


def _base_glued(design: Design) -> Step:
    oversize = design.base.oversize
    over = f"{mm(oversize)} over on every side" if oversize else "with nothing over"
    return Step(
        stage="base",
        part="base",
        parts=("base",),
        tool="glue and clamps",
        operation="glue",
        face="top",
        from_where="the walls",
        to_where="the base's edge",
        size=oversize,
        words=f"Glue the base under the frame, on the face edges, {over}. Press it down evenly until the glue sets.",
    )


def _base_flushed(design: Design, fitted: Fittings) -> Step:
    base, oversize = fitted.base, design.base.oversize
    raw, finished = sheet_block("base", "uncut", base, oversize), sheet_block("base", "finished", base, 0.0)
    return Step(
        stage="base",
        part="base",
        parts=("base",),
        tool="sander",
        operation="flush",
        face="edges",
        to_where="the walls' outside faces",
        size=oversize,
        removed=sheet_waste(raw, finished),
        words="Bring the base flush with the walls; stop when the sander just touches them.",
    )
