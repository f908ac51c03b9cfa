"""What a class measures on its parts: the box on each sheet, and the same rows as a form for the whole class.

feature, at : as MODEL.md, 8.1 names them
maker       : a number, never a name
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from assembly.learning.features import FEATURES
from assembly.learning.form import FormRow, moment
from assembly.nominal.frame import WALLS
from viewer.sheets.flow import Block, paragraph
from viewer.sheets.page import SMALL, Pen, Words, rectangle, straight
from viewer.sheets.step_list import heading

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assembly.letters import Weight
    from assembly.model.design import Design
    from assembly.planning.making import MakingOrder
    from viewer.sheets.page import Item

_SHOWN = ("end", "feature", "at", "mm", "instrument")
_WIDE = (0.23, 0.22, 0.21, 0.13, 0.21)  # shares of the box's width
_ROW, _EM = 5.6, 2.3  # mm
_PARTS = (*WALLS, "base", "lid", "plaque")
_LEFT_OUT = {
    "line_drift_plan",
    "line_drift_upright",
    "bend_angle",
}  # take feelers or a protractor, which few classes have


def readings(design: Design) -> tuple[FormRow, ...]:
    """Return what each maker of a design measures, part by part: each feature once at every end of every part."""
    found: dict[tuple[str, str, str], FormRow] = {}
    for name, feature in FEATURES.items():
        for spot in feature.spots(design) if name not in _LEFT_OUT else ():
            found.setdefault((spot.part, name, spot.end), FormRow(feature, spot))
    return tuple(sorted(found.values(), key=lambda one: _PARTS.index(one.spot.part)))


def measuring_blocks(of: Iterable[FormRow], order: MakingOrder, width: float) -> list[Block]:
    """Return the measuring box of each part of a sheet; nothing where nothing is measured."""
    of = tuple(of)
    told = []
    for feature in {one.feature.name: one.feature for one in of}.values():
        how = f"{feature.name}, {moment(feature, order)}: {feature.how}"
        items, y = paragraph(how, (0.0, 0.0), width, SMALL)
        told.append(Block(items=tuple(items), height=y + 0.8))
    blocks = [_box(list(some), width) for _, some in groupby(of, lambda one: one.spot.part)]
    return [heading("What you measured", width), *told, *blocks] if blocks else []


def _box(of: list[FormRow], width: float) -> Block:
    rows = [_row((of[0].spot.part.upper(),), width, 0.0, bold=True), _row(_SHOWN, width, _ROW, bold=True)]
    rows += [
        _row((one.spot.end, one.feature.name, one.spot.at, "", ""), width, _ROW * number, bold=False)
        for number, one in enumerate(of, 2)
    ]
    return Block(items=tuple(item for row in rows for item in row), height=_ROW * len(rows) + 3.0)


def _row(cells: tuple[str, ...], width: float, top: float, *, bold: bool) -> list[Item]:
    items: list[Item] = [rectangle((0.0, top, width, top + _ROW), Pen.RULE)]
    x = 0.0
    weight: Weight = "Bold" if bold else "Regular"
    for cell, share in zip(cells, _WIDE, strict=False):
        if x:
            items.append(straight((x, top), (x, top + _ROW), Pen.RULE))
        if cell:
            items.append(Words(text=cell, place=(x + 0.8, top + _ROW - 1.8), em=_EM, weight=weight))
        x += share * width
    return items
