"""The four walls from rough pieces to their finished length, in the trade's order."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.lines import corners, end_hatching, face_marks, letters_in, names, squared
from assembly.planning.marks import end_sanding, end_waste, spare
from assembly.planning.measures import datum_measure, length_measure, letter_measure, named
from assembly.planning.steps import Step
from assembly.rules.shop import mm

if TYPE_CHECKING:
    from assembly.planning.marks import Wall

_marking = partial(Step, stage="marking out")
_cutting = partial(Step, stage="cutting to length")


def parts_of(walls: tuple[Wall, ...]) -> tuple[str, ...]:
    """Return the walls' names among the parts."""
    return tuple(wall.part for wall in walls)


def at_corner(walls: tuple[Wall, ...], end: int) -> str:
    """Return the corners at the walls' datum ends (0) or far ends (1) in words: D on LEFT, B on RIGHT."""
    told = [f"{corners(wall)[end]} on {wall.name.upper()}" for wall in walls]
    return f"{', '.join(told[:-1])} and {told[-1]}"


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
    inset = letters_in(walls)
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
            size=inset,
            letters=tuple(letter for wall in walls for letter in names(wall, inset)),
            measures=(letter_measure(walls[-1], inset),),  # the foremost; on others they would hide what is behind
            words=f"Write each wall's name on its face side. About {mm(inset)} in from each rough end write the letter "
            "of its corner, on the face side and on the top edge (the edge without the arrowhead). With the top edge "
            f"up, from left to right: {_read(walls)}. Walls with the same letter meet there.",
        ),
    )


def _read(walls: tuple[Wall, ...]) -> str:
    """Return the letters of each wall as they are read on its face side, its top edge up."""
    told = []
    for wall in walls:
        first, last = corners(wall) if sum(wall.read) > 0 else reversed(corners(wall))
        told.append(f"{wall.name.upper()} {first} {last}")
    return ", ".join(told)


def _datum(walls: tuple[Wall, ...]) -> Step:
    allowance = walls[0].allowance
    lines = tuple(line for wall in walls for line in squared(wall, -wall.length / 2, "datum"))
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
        lines=lines,
        measures=tuple(datum_measure(wall) for wall in walls),
        names=named("datum", lines, "inside"),
        words=f"About {mm(allowance)} from the rough end at corner {at_corner(walls, 0)}, square a knife line across "
        "the face side from the face edge, and carry it round the other faces. It must meet itself. This is the datum "
        "line: all lengths are measured from it.",
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
        measures=tuple(length_measure(wall) for wall in walls),
        names=named("datum", tuple(line for w in walls for line in squared(w, -w.length / 2, "datum")), "inside"),
        words=f"From the datum line measure {mm(length)} along the face side, towards corner {at_corner(walls, 1)}. "
        "Square a knife line there, all round too.",
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
        words="Hatch the waste outside both lines: what is hatched will come off.",
    )


def _cut(walls: tuple[Wall, ...]) -> tuple[Step, Step]:
    cutting = partial(_cutting, part="every wall", parts=parts_of(walls), face="both ends")
    left = spare(walls[0].allowance)
    return (
        cutting(
            tool="saw",
            operation="saw",
            to_where="the waste side of each line",
            size=left,
            removed=tuple(block for wall in walls for block in end_waste(wall)),
            words=f"Saw both ends on the waste side of the line, about {mm(left)} beside it, so that the whole line "
            "stays on the wall.",
        ),
        cutting(
            tool="sander",
            operation="sand",
            to_where="each line",
            removed=tuple(block for wall in walls for block in end_sanding(wall)),
            words="Sand both ends square, down to the line and no further. Lay walls of one kind side by side: "
            "they must be equally long.",
        ),
    )
