"""The four walls from rough pieces to their finished length, in the trade's order."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.lines import corners, end_hatching, face_marks, letters_in, names, squared
from assembly.planning.marks import end_sanding, end_waste, spare
from assembly.planning.measures import Datum, Size, datum_measure, length_measure, letter_measure, named
from assembly.planning.needs import Item, small_pieces
from assembly.planning.plan import plan_of
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import Face, PartFace, Place, on_parts
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.nominal.frame import Frame
    from assembly.planning.marks import Wall

# The face side and the face edge, from which a line is carried round, and then the other two.
ALL_ROUND = (Face.INSIDE, Face.BOTTOM, Face.OUTSIDE, Face.TOP)


def parts_of(walls: tuple[Wall, ...]) -> tuple[str, ...]:
    """Return the walls' names among the parts."""
    return tuple(wall.part for wall in walls)


def faces_of(walls: tuple[Wall, ...], *faces: Face) -> tuple[PartFace, ...]:
    """Return these faces of each wall."""
    return on_parts(parts_of(walls), *faces)


def ends_of(walls: tuple[Wall, ...]) -> tuple[PartFace, ...]:
    """Return both ends of each wall."""
    return tuple(PartFace(part=wall.part, face=end) for wall in walls for end in wall.ends)


_marking = partial(Step, stage="marking out", kind=StepKind.MARK, place=Place.BENCH)
_cutting = partial(Step, stage="cutting to length", kind=StepKind.CUT, place=Place.BENCH)


def at_corner(walls: tuple[Wall, ...], end: int) -> str:
    """Return the corners at the walls' datum ends (0) or far ends (1) in words: D on LEFT, B on RIGHT."""
    ends = [f"{corners(wall)[end]} on {wall.name.upper()}" for wall in walls]
    return f"{', '.join(ends[:-1])} and {ends[-1]}"


def length_steps(box: Frame, walls: tuple[Wall, ...]) -> tuple[Step, ...]:
    """Return the steps from the rough pieces to four walls of the right length."""
    return (
        *_named(box, walls),
        _datum(walls),
        _length("lapped walls", walls[:2]),
        _length("plain walls", walls[2:]),
        _hatched(walls),
        *_cut(walls),
    )


def _named(box: Frame, walls: tuple[Wall, ...]) -> tuple[Step, Step]:
    marking = partial(_marking, part="every wall", parts=parts_of(walls), tool="pencil")
    inset = letters_in(walls)
    return (
        marking(
            operation="face marks",
            faces=faces_of(walls, Face.INSIDE, Face.BOTTOM),
            lines=tuple(line for wall in walls for line in face_marks(wall)),
            sentences=(
                "Choose the best face for the inside: it is the face side.",
                "Run a stroke down it to the bottom edge, the face edge, and draw an arrowhead there.",
                "Every square and gauge works from these two.",
            ),
        ),
        marking(
            operation="names",
            faces=faces_of(walls, Face.INSIDE, Face.TOP),
            sizes=(Size(of="distance", mm=inset, datum=Datum.ROUGH_END),),
            letters=tuple(letter for wall in walls for letter in names(wall, inset)),
            measures=(letter_measure(walls[-1], inset),),  # the foremost; on others they would hide what is behind
            plan=plan_of(box),
            sentences=(
                "Write each wall's name on its face side.",
                (
                    f"About {mm(inset)} in from each rough end write the letter of its corner, on the face side and on "
                    "the top edge (the edge without the arrowhead)."
                ),
                f"With the top edge up, from left to right: {_read(walls)}.",
                "Walls with the same letter meet there.",
            ),
        ),
    )


def _read(walls: tuple[Wall, ...]) -> str:
    """Return the letters of each wall as they are read on its face side, its top edge up."""
    readings = []
    for wall in walls:
        first, last = corners(wall) if wall.read == wall.way else reversed(corners(wall))
        readings.append(f"{wall.name.upper()} {first} {last}")
    return ", ".join(readings)


def _datum(walls: tuple[Wall, ...]) -> Step:
    allowance = walls[0].allowance
    lines = tuple(line for wall in walls for line in squared(wall, -wall.length / 2, "datum"))
    return _marking(
        part="every wall",
        parts=parts_of(walls),
        tool="marking knife and try square",
        operation="square",
        faces=faces_of(walls, *ALL_ROUND),
        sizes=(Size(of="distance", mm=allowance, datum=Datum.ROUGH_END),),
        lines=lines,
        measures=tuple(datum_measure(wall) for wall in walls),
        names=named("datum", lines, Face.INSIDE),
        sentences=(
            (
                f"About {mm(allowance)} from the rough end at corner {at_corner(walls, 0)}, square a knife line across "
                "the face side from the face edge, and carry it round the other faces."
            ),
            "It must meet itself.",
            "This is the datum line: all lengths are measured from it.",
        ),
    )


def _length(part: str, walls: tuple[Wall, ...]) -> Step:
    length = walls[0].length
    datum = tuple(line for wall in walls for line in squared(wall, -wall.length / 2, "datum"))
    return _marking(
        part=part,
        parts=parts_of(walls),
        tool="rule, marking knife and try square",
        operation="mark",
        faces=faces_of(walls, *ALL_ROUND),
        sizes=(Size(of="length", mm=length, datum=Datum.DATUM_LINE),),
        lines=tuple(line for wall in walls for line in squared(wall, wall.length / 2, "cut line")),
        measures=tuple(length_measure(wall) for wall in walls),
        names=named("datum", datum, Face.INSIDE),
        sentences=(
            f"From the datum line measure {mm(length)} along the face side, towards corner {at_corner(walls, 1)}.",
            "Square a knife line there, all round too.",
        ),
    )


def _hatched(walls: tuple[Wall, ...]) -> Step:
    return _marking(
        part="every wall",
        parts=parts_of(walls),
        tool="pencil",
        operation="hatch",
        faces=faces_of(walls, Face.INSIDE),
        lines=tuple(line for wall in walls for line in end_hatching(wall)),
        sentences=("Hatch the waste outside both lines: what is hatched will come off.",),
    )


def _cut(walls: tuple[Wall, ...]) -> tuple[Step, Step]:
    cutting = partial(_cutting, part="every wall", parts=parts_of(walls), faces=ends_of(walls))
    left = spare(walls[0].allowance)
    small = small_pieces({wall.name.upper(): wall.length for wall in walls}, "walls")
    return (
        cutting(
            tool="saw",
            operation="saw",
            sizes=(Size(of="distance", mm=left, datum=Datum.MARKED_LINE),),
            removed=tuple(block for wall in walls for block in end_waste(wall)),
            sentences=(
                (
                    f"Saw both ends on the waste side of the line, about {mm(left)} beside it, so that the whole line "
                    "stays on the wall."
                ),
            ),
        ),
        cutting(
            tool="sander",
            besides=(Item.SMALL_SANDER,) if small else (),
            operation="sand",
            removed=tuple(block for wall in walls for block in end_sanding(wall)),
            sentences=(
                "Sand both ends square, down to the line and no further.",
                "Lay walls of one kind side by side: they must be equally long.",
                *small,
            ),
        ),
    )
