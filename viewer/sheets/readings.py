"""What a class measures on its parts: the box on each sheet, and the same rows as a form for the whole class.

feature, at : as MODEL.md, 8.1 names them
maker       : a number, never a name
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from assembly.learning.features import FEATURES
from assembly.nominal.frame import WALLS
from viewer.sheets.flow import Block, paragraph
from viewer.sheets.page import SMALL, Pen, Words, rectangle, straight
from viewer.sheets.step_list import heading

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assembly.learning.features import Feature, Spot
    from assembly.model.design import Design
    from assembly.planning.making import MakingOrder
    from viewer.picture.lettering import Weight
    from viewer.sheets.page import Item

COLUMNS = ("class", "maker", "part", "end", "feature", "at", "measured_mm", "instrument")
_SHOWN = ("end", "feature", "at", "mm", "instrument")
_WIDE = (0.23, 0.22, 0.21, 0.13, 0.21)  # shares of the box's width
_ROW, _EM = 5.6, 2.3  # mm
_PARTS = (*WALLS, "base", "lid", "plaque")
_LEFT_OUT = {
    "line_drift_plan",
    "line_drift_upright",
    "bend_angle",
}  # take feelers or a protractor, which few classes have


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What one row asks for."""

    feature: str
    spot: Spot
    instrument: str  # that suits it
    how: str  # it is taken, and when


def readings(design: Design, order: MakingOrder) -> tuple[Reading, ...]:
    """Return what each maker of a design measures, part by part: each feature once at every end of every part."""
    found: dict[tuple[str, str, str], Reading] = {}
    for name, feature in FEATURES.items():
        for spot in feature.spots(design) if name not in _LEFT_OUT else ():
            how = f"{name}, {_when(feature, order)}: {feature.how}"
            one = Reading(feature=name, spot=spot, instrument=feature.instrument, how=how)
            found.setdefault((spot.part, name, spot.end), one)
    return tuple(sorted(found.values(), key=lambda one: _PARTS.index(one.spot.part)))


def _when(feature: Feature, order: MakingOrder) -> str:
    """Return when a feature is measured, by the numbers of the steps."""
    done = [step.number for step in order.steps if step.operation in feature.after]
    return f"after step {done[-1]}" if done else "before step 1"


def form(design: Design, order: MakingOrder) -> bytes:
    """Return the form for a class as CSV: a row for each maker and place, to be filled in."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for maker in range(1, design.makers + 1):
        writer.writerows(
            ("1", maker, one.spot.part, one.spot.end, one.feature, one.spot.at, "", one.instrument)
            for one in readings(design, order)
        )
    return text.getvalue().encode()


def measuring_blocks(of: Iterable[Reading], width: float) -> list[Block]:
    """Return the measuring box of each part of a sheet; nothing where nothing is measured."""
    of = tuple(of)
    told = []
    for how in dict.fromkeys(one.how for one in of):
        items, y = paragraph(how, (0.0, 0.0), width, SMALL)
        told.append(Block(items=tuple(items), height=y + 0.8))
    blocks = [_box(list(some), width) for _, some in groupby(of, lambda one: one.spot.part)]
    return [heading("What you measured", width), *told, *blocks] if blocks else []


def _box(of: list[Reading], width: float) -> Block:
    rows = [_row((of[0].spot.part.upper(),), width, 0.0, bold=True), _row(_SHOWN, width, _ROW, bold=True)]
    rows += [
        _row((one.spot.end, one.feature, one.spot.at, "", ""), width, _ROW * number, bold=False)
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
