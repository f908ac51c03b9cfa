"""The assembly page: the box taken apart, its parts by number, the order of making at a glance, and joining steps."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from viewer.drawing.faces import faces_of
from viewer.picture.layout import labels_alone, notes_of
from viewer.picture.lettering import Note
from viewer.sheets.flow import Block, column_width, flowed, paragraph
from viewer.sheets.frame import Head, content
from viewer.sheets.page import PLAIN, Area, Pen, straight
from viewer.sheets.part_drawing import RADIUS, balloon
from viewer.sheets.step_list import heading, step_blocks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from assembly.planning.making import MakingOrder
    from assembly.planning.steps import Step
    from viewer.drawing.faces import Face
    from viewer.scene.scene import Scene
    from viewer.sheets.page import Box, Item, Point

_FINE = 10  # pixels of the drawing to a mm
_EM = 36  # of its labels, pixels: a balloon is so high
_SHARE = 0.5  # of the page's height that the drawing takes


def assembly_pages(
    scene: Scene, order: MakingOrder, steps: Sequence[Step], paper: Point
) -> tuple[tuple[Head, Point, tuple[Item, ...]], ...]:
    """Return the assembly page and what runs on from it.

    Parameters
    ----------
    scene : Scene
        The box taken apart.
    order : MakingOrder
        How it is made.
    steps : sequence of Step
        Those that are on no part's own sheet.
    paper : (float, float)
        Width and height of the page, mm.
    """
    left, top, right, bottom = content(paper)
    below = top + _SHARE * (bottom - top)
    notes = notes_of(scene)
    width = column_width(right - left)
    blocks = [
        heading("Parts", width),
        *(_part(number, note, width) for number, note in enumerate(notes, 1)),
        heading("The order of making", width),
        *(_line(text, width) for text in _stages(order)),
        heading("Before you start", width),
        *(_line(caution.words, width) for caution in order.first),
        *step_blocks(steps, width),
    ]
    rest = flowed(blocks, (left, below + 3.0, right, bottom), content(paper))
    drawn = exploded(scene, notes, (left, top, right, below))
    head = Head(title=f"{scene.name}: putting it together", line="Parts, order and joints")
    return tuple((head, paper, (*(drawn if number == 0 else ()), *items)) for number, items in enumerate(rest))


def _part(number: int, note: Note, width: float) -> Block:
    name, *sizes = note.lines
    items, y = paragraph(f"{name}: {', '.join(sizes)}" if sizes else name, (2 * RADIUS + 1.5, 0.7), width - 8.0, PLAIN)
    height = max(y + 0.6, 2 * RADIUS + 0.8)
    return Block(items=(*balloon(number, (RADIUS, RADIUS + 0.2)), *items), height=height)


def _line(text: str, width: float) -> Block:
    items, y = paragraph(text, (0.0, 0.0), width, PLAIN)
    return Block(items=tuple(items), height=y + 0.7)


def _stages(order: MakingOrder) -> list[str]:
    """Return each stage with its steps, in order."""
    found = []
    for stage, some in groupby(order.steps, lambda step: step.stage):
        numbers = [step.number for step in some]
        which = f"steps {numbers[0]} to {numbers[-1]}" if len(numbers) > 1 else f"step {numbers[0]}"
        found.append(f"{stage.capitalize()}: {which}")
    return found


def exploded(scene: Scene, notes: Sequence[Note], room: Box) -> list[Item]:
    """Return the box taken apart, what is hidden left out, with a number for each kind of part."""
    left, top, right, bottom = room
    size = round((right - left) * _FINE), round((bottom - top) * _FINE)
    numbers = tuple(Note(lines=(str(number),), marks=note.marks) for number, note in enumerate(notes, 1))
    laid = labels_alone(scene, size, _EM, numbers)
    items: list[Item] = [_area(face, room) for face in faces_of(scene, laid.view)]
    for note, port, anchor, on_right in zip(laid.notes, laid.ports, laid.anchors, laid.on_right, strict=True):
        (px, py), end = _paper(port, room), _paper(anchor, room)
        middle = (px + RADIUS if on_right else px - RADIUS, py)
        items += [straight((px, py), end, Pen.GUIDE), *balloon(int(note.lines[0]), middle)]
    return items


def _area(face: Face, room: Box) -> Area:
    red, green, blue = face.colour
    light = 0.2126 * red + 0.7152 * green + 0.0722 * blue  # relative luminance's weights (WCAG 2.2)
    loops = tuple(tuple(_paper(point, room) for point in loop) for loop in face.loops)
    return Area(loops=loops, fill=0.55 + 0.45 * light, opacity=face.opacity, pen=Pen.EDGE)


def _paper(point: FloatArray, room: Box) -> Point:
    return room[0] + float(point[0]) / _FINE, room[1] + float(point[1]) / _FINE
