"""The steps of a sheet as a list: number, what to do, what it needs, what can hurt, and room for initials."""

from __future__ import annotations

from typing import TYPE_CHECKING

from viewer.scene.scene import CARE
from viewer.scene.step_words import care_of, need_of
from viewer.sheets.flow import Block, paragraph
from viewer.sheets.page import HEAD, PLAIN, SMALL, Pen, rectangle, straight
from viewer.sheets.part_drawing import RADIUS, balloon

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.planning.steps import Step
    from viewer.sheets.page import Item

_NUMBER, _INITIALS = 2 * RADIUS + 1.5, 13.0  # mm: width of the number's column, and of the box for initials
_HIGH = 5.5  # of that box


def step_blocks(steps: Sequence[Step], width: float) -> list[Block]:
    """Return a block for each step, and a heading where a stage begins."""
    blocks = [heading("Steps: tick them off with your initials", width)]
    stage = ""
    for number, step in enumerate(steps, 1):
        if step.stage != stage:
            stage = step.stage
            blocks.append(heading(stage.capitalize(), width))
        blocks.append(_block(steps[:number], step, width))
    return blocks


def heading(text: str, width: float) -> Block:
    """Return a heading over blocks."""
    items, y = paragraph(text, (0.0, 1.5), width, HEAD, "Bold")
    return Block(items=tuple(items), height=y + 1.0, heading=True)


def _block(steps: Sequence[Step], step: Step, width: float) -> Block:
    room = width - _NUMBER - _INITIALS - 2.0
    items: list[Item] = list(balloon(step.number, (RADIUS, RADIUS + 0.6)))
    items.append(rectangle((width - _INITIALS, 0.6, width, 0.6 + _HIGH), Pen.RULE))
    found, y = paragraph(step.action, (_NUMBER, 0.6), room, PLAIN, "Bold")
    items += found
    least = 0.6 + _HIGH
    for text in filter(None, (" ".join(step.notes), _how(step))):
        found, y = paragraph(text, (_NUMBER, y), room if y < least else width - _NUMBER, SMALL)
        items += found
    if care := care_of(steps, step):
        found, y = paragraph(f"{CARE} {care}", (_NUMBER, y), room if y < least else width - _NUMBER, SMALL, "Bold")
        items += found
    y = max(y + 0.8, least + 0.8)
    items.append(straight((0.0, y), (width, y), Pen.RULE))
    return Block(items=tuple(items), height=y + 0.8)


def _how(step: Step) -> str:
    """Return what a step needs, the faces that it works on and where its sizes are measured from."""
    faces = dict.fromkeys(str(each.face) for each in step.faces)
    datums = dict.fromkeys(str(size.datum) for size in step.sizes if size.datum)
    said = [need_of(step)] if step.needs else []
    said += [f"On: {', '.join(faces)}."] if faces and step.drawn else []
    said += [f"Measured from: {', '.join(datums)}."] if datums else []
    return " ".join(said)
