"""The four walls from rough pieces to their finished length, in the trade's order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.planning.lines import CORNER_LETTERS, end_hatching, face_marks, names, squared
from assembly.planning.marks import end_waste
from assembly.planning.steps import Step
from assembly.shop_rules import mm

if TYPE_CHECKING:
    from assembly.planning.marks import Wall

_MARKING, _LENGTH = "marking out", "cutting to length"
_LAPPED, _PLAIN, _EVERY = "lapped walls", "plain walls", "every wall"


def parts_of(walls: tuple[Wall, ...]) -> tuple[str, ...]:
    """Return the walls' names among the parts."""
    return tuple(wall.part for wall in walls)


def length_steps(walls: tuple[Wall, ...]) -> tuple[Step, ...]:
    """Return the steps from the rough pieces to four walls of the right length."""
    return (*_face_steps(walls), _datum(walls), *_lengths(walls), *_ends(walls))


def _face_steps(walls: tuple[Wall, ...]) -> tuple[Step, Step]:
    return _face_marks(walls), _names(walls)


def _face_marks(walls: tuple[Wall, ...]) -> Step:
    return Step(
        stage=_MARKING,
        part=_EVERY,
        parts=parts_of(walls),
        tool="pencil",
        operation="face marks",
        face="inside and bottom",
        kind="face mark",
        lines=tuple(line for wall in walls for line in face_marks(wall)),
        words="Choose the best face for the inside: it is the face side. Run a stroke down it to the bottom edge, "
        "the face edge, and draw an arrowhead there. Every square and gauge works from these two.",
    )


def _names(walls: tuple[Wall, ...]) -> Step:
    corners = ", ".join(f"{letter} {corner}" for corner, letter in CORNER_LETTERS.items())
    return Step(
        stage=_MARKING,
        part=_EVERY,
        parts=parts_of(walls),
        tool="pencil",
        operation="names",
        face="inside and top",
        letters=tuple(letter for wall in walls for letter in names(wall)),
        words="Write each wall's name on its face side, and on its top edge the letter of the corner near each "
        f"end, the same on both walls that meet there: {corners}.",
    )


def _datum(walls: tuple[Wall, ...]) -> Step:
    allowance = walls[0].allowance
    return Step(
        stage=_MARKING,
        part=_EVERY,
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


def _lengths(walls: tuple[Wall, ...]) -> tuple[Step, Step]:
    return _length(_LAPPED, walls[:2]), _length(_PLAIN, walls[2:])


def _length(part: str, walls: tuple[Wall, ...]) -> Step:
    length = walls[0].length
    return Step(
        stage=_MARKING,
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


def _ends(walls: tuple[Wall, ...]) -> tuple[Step, Step, Step]:
    return _hatch_ends(walls), _saw_ends(walls), _sand_ends(walls)


def _hatch_ends(walls: tuple[Wall, ...]) -> Step:
    return Step(
        stage=_MARKING,
        part=_EVERY,
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


def _saw_ends(walls: tuple[Wall, ...]) -> Step:
    return Step(
        stage=_LENGTH,
        part=_EVERY,
        parts=parts_of(walls),
        tool="saw",
        operation="saw",
        face="both ends",
        to_where="the waste side of each line",
        removed=tuple(block for wall in walls for block in end_waste(wall)),
        words="Saw both ends on the waste side of the line, so that the whole line stays on the wall.",
    )


def _sand_ends(walls: tuple[Wall, ...]) -> Step:
    return Step(
        stage=_LENGTH,
        part=_EVERY,
        parts=parts_of(walls),
        tool="sander",
        operation="sand",
        face="both ends",
        to_where="each line",
        words="Sand both ends square, down to the line and no further. Lay walls of one kind side by side: "
        "they must be equally long.",
    )
