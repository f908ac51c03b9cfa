"""The four walls from rough pieces to their finished length, in the trade's order."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.lines import CORNER_LETTERS, end_hatching, face_marks, names, squared
from assembly.planning.marks import end_waste
from assembly.planning.steps import Step
from assembly.shop_rules import mm

if TYPE_CHECKING:
    from assembly.planning.marks import Wall

_marking = partial(Step, stage="marking out")
_cutting = partial(Step, stage="cutting to length")


def parts_of(walls: tuple[Wall, ...]) -> tuple[str, ...]:
    """Return the walls' names among the parts."""
    return tuple(wall.part for wall in walls)


def length_steps(walls: tuple[Wall, ...]) -> tuple[Step, ...]:
    """Return the steps from the rough pieces to four walls of the right length."""
    return (
        *_named(walls),
        _datum(walls),
        _length("lapped walls", walls[:2]),
        _length("plain walls", walls[2:]),
        _hatched(walls),
        *_cut(walls),
    )


def _named(walls: tuple[Wall, ...]) -> tuple[Step, Step]:
    marking = partial(_marking, part="every wall", parts=parts_of(walls), tool="pencil")
    return (
        marking(
            operation="face marks",
            face="inside and bottom",
            kind="face mark",
            lines=tuple(line for wall in walls for line in face_marks(wall)),
            words="Choose the best face for the inside: it is the face side. Run a stroke down it to the bottom edge, "
            "the face edge, and draw an arrowhead there. Every square and gauge works from these two.",
        ),
        marking(
            operation="names",
            face="inside and top",
            kind="letter",
            letters=tuple(letter for wall in walls for letter in names(wall)),
            words=_names_told(),
        ),
    )


def _datum(walls: tuple[Wall, ...]) -> Step:
    allowance = walls[0].allowance
    return _marking(
        part="every wall",
        parts=parts_of(walls),
        tool="marking knife and try square",
        operation="square",
        face="inside, then all round",
        from_where="the rough end: front of the lapped walls, left of the plain walls",
        to_where="the datum line",
        size=allowance,
        kind="datum",
        lines=tuple(line for wall in walls for line in squared(wall, -wall.length / 2, "datum")),
        words=f"About {mm(allowance)} from one rough end, square a line across the face side from the face edge, "
        "and carry it round the other faces. It must meet itself. This is the datum line.",
    )


def _hatched(walls: tuple[Wall, ...]) -> Step:
    return _marking(
        part="every wall",
        parts=parts_of(walls),
        tool="pencil",
        operation="hatch",
        face="inside",
        from_where="each line",
        to_where="the rough end",
        size=walls[0].allowance,
        kind="hatched waste",
        lines=tuple(line for wall in walls for line in end_hatching(wall)),
        words="Hatch the waste outside both lines.",
    )


def _cut(walls: tuple[Wall, ...]) -> tuple[Step, Step]:
    cutting = partial(_cutting, part="every wall", parts=parts_of(walls), face="both ends")
    return (
        cutting(
            tool="saw",
            operation="saw",
            to_where="the waste side of each line",
            removed=tuple(block for wall in walls for block in end_waste(wall)),
            words="Saw both ends on the waste side of the line, so that the whole line stays on the wall.",
        ),
        cutting(
            tool="sander",
            operation="sand",
            to_where="each line",
            words="Sand both ends square, down to the line and no further. Lay walls of one kind side by side: "
            "they must be equally long.",
        ),
    )


def _names_told() -> str:
    corners = ", ".join(f"{letter} {corner}" for corner, letter in CORNER_LETTERS.items())
    return (
        "Write each wall's name on its face side, and on its top edge the letter of the corner near each "
        f"end, the same on both walls that meet there: {corners}."
    )


def _length(part: str, walls: tuple[Wall, ...]) -> Step:
    length = walls[0].length
    return _marking(
        part=part,
        parts=parts_of(walls),
        tool="rule, marking knife and try square",
        operation="mark",
        face="inside, then all round",
        from_where="the datum line",
        to_where=f"the line of the {walls[0].end_names[1]}",
        size=length,
        kind="cut line",
        lines=tuple(line for wall in walls for line in squared(wall, wall.length / 2, "cut line")),
        words=f"From the datum line measure {mm(length)} along the face side, and square that line all round too.",
    )
