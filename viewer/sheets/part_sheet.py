"""The sheet of a part: its drawing at true size where that fits, its holes, its steps and what is measured on it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.planning.marks import Block as Timber
from assembly.planning.marks import bench_walls, sheet_waste
from assembly.planning.steps import StepKind
from assembly.planning.wall_faces import Place
from assembly.text import decimal
from viewer.sheets.flow import Block, column_width, flowed, paragraph
from viewer.sheets.frame import Head, content
from viewer.sheets.page import PAPERS, SMALL
from viewer.sheets.part_drawing import PartDrawing, letters_of, part_drawing
from viewer.sheets.step_list import heading, step_blocks
from viewer.sheets.views import PartViews, sheet_views, wall_views

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.nominal.frame import Frame
    from assembly.planning.dimensions import Dimension, DrawnPart
    from assembly.planning.making import MakingOrder
    from assembly.planning.steps import Step
    from viewer.sheets.page import Item, Point

SCALES = (1, 2, 5)  # true size over drawn (ISO 5455); smaller ones show no line to mark by
BLANK = 5.0  # what is shown of a sheet beyond its outline, mm
_READING = (
    "A number in a ring is the step that draws the line. Hatched wood is waste. A size in brackets only follows from "
    "the others: do not mark by it."
)
_ROLLED = "Each face is drawn beside the one that it meets, as if the wall were rolled over on the paper."
_LEAST_LIST = 35.0  # mm under a drawing for which a list begins there


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSheet:
    """A part's pages, with what was drawn on the first."""

    part: DrawnPart
    pages: tuple[tuple[Head, Point, tuple[Item, ...]], ...]  # heads, sizes and contents
    scale: int
    drawing: PartDrawing


def views_of(part: DrawnPart, box: Frame, order: MakingOrder, overlength: float) -> PartViews:
    """Return the views of a part."""
    walls = {wall.part: wall for wall in bench_walls(box, overlength=overlength)}
    if part.members[0] in walls:
        return wall_views(part, walls[part.members[0]], order, part.holes)
    uncut = next(block for block in order.uncut if block.part == part.name)
    outline, shown = (_outlined(part, uncut, beyond) for beyond in (0.0, BLANK))
    return sheet_views(part, shown, order, sheet_waste(shown, outline))


def _outlined(part: DrawnPart, uncut: Timber, beyond: float) -> Timber:
    """Return a sheet as a block that stands out `beyond` (mm) from its outline."""
    along, up = ([feature.at for feature in part.features[axis]] for axis in ("along", "up"))
    low = (min(along) - beyond, min(up) - beyond, uncut.low[2])
    return Timber(part=part.name, name="sheet", low=low, high=(max(along) + beyond, max(up) + beyond, uncut.high[2]))


def steps_of(part: DrawnPart, order: MakingOrder) -> tuple[Step, ...]:
    """Return the steps that are done to this part alone, or to walls side by side on the bench."""
    return tuple(step for step in order.steps if _alone(step, order) and set(step.parts) & set(part.members))


def _alone(step: Step, order: MakingOrder) -> bool:
    return len(step.parts) == 1 or (step.place is Place.BENCH and step.stage not in _joining(order))


def _joining(order: MakingOrder) -> set[str]:
    """Return the stages in which parts are joined."""
    return {step.stage for step in order.steps if step.kind is StepKind.JOIN}


def together(order: MakingOrder) -> tuple[Step, ...]:
    """Return the steps that put parts together."""
    return tuple(step for step in order.steps if not _alone(step, order))


def part_sheet(
    part: DrawnPart,
    views: PartViews,
    steps: Sequence[Step],
    measured: Callable[[float], list[Block]],
    paper: Point,
    caliper: Dimension | None,
) -> PartSheet:
    """Return the pages of a part on a paper.

    Raises
    ------
    InputError
        If the part does not fit on the paper at the smallest scale.
    """
    for scale in SCALES:
        for size in (paper, paper[::-1]):
            left, top, right, bottom = content(size)
            drawing = part_drawing(views, 1 / scale, (left, top), caliper)
            if drawing.size[0] <= right - left and drawing.size[1] <= bottom - top:
                return _set(part, drawing, scale, size, _blocks(part, views, steps, measured, size, caliper))
    raise InputError(_too_large(part, views, paper))


def _too_large(part: DrawnPart, views: PartViews, paper: Point) -> str:
    name = next(name for name, size in PAPERS.items() if size == paper)
    size = " × ".join(f"{decimal(round(each, 1))}" for each in views.stack[views.main].size)
    larger = [other for other, (x, y) in PAPERS.items() if _takes(views, (x, y))]
    cure = f"take {' or '.join(larger)}" if larger else "no paper takes it; make the box smaller"
    what = f"the {part.name}, {size} mm with its waste, does not fit on it even at 1:{SCALES[-1]}"
    return f"--paper: got {name}, but {what}; {cure}"


def _takes(views: PartViews, paper: Point) -> bool:
    drawing = part_drawing(views, 1 / SCALES[-1], (0.0, 0.0), None)
    rooms = [content(size) for size in (paper, paper[::-1])]
    return any(drawing.size[0] <= r - le and drawing.size[1] <= b - t for le, t, r, b in rooms)


def _blocks(
    part: DrawnPart,
    views: PartViews,
    steps: Sequence[Step],
    measured: Callable[[float], list[Block]],
    size: Point,
    caliper: Dimension | None,
) -> list[Block]:
    left, _, right, _ = content(size)
    width = column_width(right - left)
    told = [*_key(part, caliper), *_elsewhere(views, steps), *_names(steps), *_holes(views)]
    blocks = [heading("How to read the drawing", width)] if told else []
    for text in told:
        items, y = paragraph(text, (0.0, 0.0), width, SMALL)
        blocks.append(Block(items=tuple(items), height=y + 0.6))
    return [*blocks, *step_blocks(steps, width), *measured(width)]


def _key(part: DrawnPart, caliper: Dimension | None) -> list[str]:
    said = [_READING]
    if len(part.members) > 1:
        said.append(_ROLLED)
    if caliper is not None and caliper in part.dimensions:
        said.append(
            f"{caliper.text} mm in its frame, from {caliper.start.name} to {caliper.end.name}: check with a caliper. "
            "The joint's gap depends on it most."
        )
    return said


def _elsewhere(views: PartViews, steps: Sequence[Step]) -> list[str]:
    """Return which steps draw lines on a part while it is with others: those are on the assembly page's list."""
    drawn = {mark.step for view in views.stack for mark in view.marks} - {0} - {step.number for step in steps}
    return [f"Listed where parts are put together: step {', '.join(map(str, sorted(drawn)))}."] if drawn else []


def _names(steps: Sequence[Step]) -> list[str]:
    """Return what the lines are called that steps draw; a step may name one that is there already, too."""
    found: dict[str, list[int]] = {}
    for step in steps:
        drawn = {(line.start, line.end) for line in step.lines}
        for name in dict.fromkeys(each.text for each in step.names if (each.start, each.end) in drawn):
            found.setdefault(name, []).append(step.number)
    said = [f"{', '.join(map(str, numbers))} {name}" for name, numbers in found.items()]
    return [f"Lines by their steps: {'; '.join(said)}."] if said else []


def _holes(views: PartViews) -> list[str]:
    """Return what the letters beside the holes stand for."""
    return [f"Hole {letter}: {label}." for label, letter in letters_of(views).items()]


def _set(part: DrawnPart, drawing: PartDrawing, scale: int, size: Point, blocks: Sequence[Block]) -> PartSheet:
    left, top, right, bottom = content(size)
    below = top + drawing.size[1] + 4.0
    first = (left, below, right, bottom) if bottom - below >= _LEAST_LIST else None
    rest = flowed(blocks, first, content(size))
    head = Head(title=part.name.capitalize(), line=_line(part), right=f"Scale 1:{scale}")
    pages = [(head, size, (*drawing.items, *rest[0]))]
    pages += [(replace(head, right=""), size, tuple(items)) for items in rest[1:]]
    return PartSheet(part=part, pages=tuple(pages), scale=scale, drawing=drawing)


def _line(part: DrawnPart) -> str:
    names = [name.upper() for name in part.called]
    if len(names) == 1:
        return "Make one."
    return f"Make two. {names[0]} is drawn; {names[1]} is alike, its datum end at the right."
