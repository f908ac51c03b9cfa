"""The four walls from rough pieces to their finished length, in the trade's order."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.cautions import HANDS
from assembly.planning.lines import corners, end_hatching, face_marks, letters_in, names, squared
from assembly.planning.marks import end_sanding, end_waste, spare
from assembly.planning.measures import Datum, Size, datum_measure, length_measure, letter_measure, named
from assembly.planning.needs import Item, small_pieces
from assembly.planning.plan import plan_of
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import Face, PartFace, Place, on_parts
from assembly.text import listed, mm

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assembly.nominal.frame import Frame
    from assembly.planning.marks import Line, LineKind, Wall

# The face side and the face edge, and then the other two.
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
_cutting = partial(Step, stage="cutting to length", place=Place.BENCH)


def called(walls: tuple[Wall, ...]) -> str:
    """Return walls by the names that are written on them: LEFT and RIGHT."""
    return listed([wall.name.upper() for wall in walls])


def at_corner(walls: tuple[Wall, ...], end: int) -> str:
    """Return the corners at the walls' datum ends (0) or far ends (1) in words: D on LEFT and B on RIGHT."""
    return listed([f"{corners(wall)[end]} on {wall.name.upper()}" for wall in walls])


def length_steps(box: Frame, walls: tuple[Wall, ...]) -> tuple[Step, ...]:
    """Return the steps from the rough pieces to four walls of the right length."""
    return (
        *_face_marked(walls),
        *_named(box, walls),
        _datum(walls),
        _length(walls[:2]),
        _length(walls[2:]),
        _carried_round(walls),
        _hatched(walls),
        *_cut(walls),
    )


def on_faces(lines: Iterable[Line], *faces: Face) -> tuple[Line, ...]:
    """Return the lines that are on some faces."""
    return tuple(line for line in lines if line.face in faces)


def _face_marked(walls: tuple[Wall, ...]) -> tuple[Step, Step]:
    marking = partial(_marking, part="every wall", parts=parts_of(walls), tool="pencil")
    lines = [line for wall in walls for line in face_marks(wall)]
    return (
        marking(
            operation="face side",
            faces=faces_of(walls, Face.INSIDE),
            lines=on_faces(lines, Face.INSIDE),
            action="Draw a pencil stroke on the best face of each wall, down to its bottom edge.",
            notes=(
                "The best face will be inside the box: it is the face side.",
                "The bottom edge is the face edge.",
            ),
        ),
        marking(
            operation="face edge",
            faces=faces_of(walls, Face.BOTTOM),
            lines=on_faces(lines, Face.BOTTOM),
            action="Draw an arrowhead on the face edge, its point at the stroke.",
            notes=("Face side and face edge guide every square and every gauge.",),
        ),
    )


def _named(box: Frame, walls: tuple[Wall, ...]) -> tuple[Step, Step]:
    marking = partial(_marking, part="every wall", parts=parts_of(walls), tool="pencil")
    inset = letters_in(walls)
    letters = [letter for wall in walls for letter in names(wall, inset)]
    wall_names = {wall.name.upper() for wall in walls}
    return (
        marking(
            operation="names",
            faces=faces_of(walls, Face.INSIDE),
            letters=tuple(letter for letter in letters if letter.text in wall_names),
            action="Write each wall's name on its face side.",
            notes=("The top edge, the one without the arrowhead, is above the name.",),
        ),
        marking(
            tool="pencil and rule",
            operation="letters",
            faces=faces_of(walls, Face.INSIDE, Face.TOP),
            sizes=(Size(of="distance", mm=inset, datum=Datum.ROUGH_END),),
            letters=tuple(letter for letter in letters if letter.text not in wall_names),
            measures=(letter_measure(walls[-1], inset),),  # the foremost; on others they would hide what is behind
            plan=plan_of(box),
            action=f"Write each corner's letter on face side and top edge, about {mm(inset)} in from each rough end.",
            notes=(
                f"Top edge up, from left to right: {_read(walls)}.",
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


_REST = (Face.OUTSIDE, Face.BOTTOM, Face.TOP)  # where a line goes that is carried round from the face side
_BOTH_LINES: tuple[tuple[int, LineKind], ...] = ((-1, "datum"), (1, "cut line"))


def _datum(walls: tuple[Wall, ...]) -> Step:
    allowance = walls[0].allowance
    lines = tuple(line for wall in walls for line in on_faces(squared(wall, -wall.length / 2, "datum"), Face.INSIDE))
    return _marking(
        part="every wall",
        parts=parts_of(walls),
        tool="marking knife and try square",
        operation="square",
        faces=faces_of(walls, Face.INSIDE),
        sizes=(Size(of="distance", mm=allowance, datum=Datum.ROUGH_END),),
        lines=lines,
        measures=tuple(datum_measure(wall) for wall in walls),
        names=named("datum", lines, Face.INSIDE),
        action=(
            f"Square a knife line from the face edge across each face side, about {mm(allowance)} from one rough end."
        ),
        notes=(
            f"The rough end is that at corner {at_corner(walls, 0)}.",
            "This is the datum line: all lengths are measured from it.",
        ),
    )


def _length(walls: tuple[Wall, ...]) -> Step:
    length = walls[0].length
    datum = tuple(line for wall in walls for line in squared(wall, -wall.length / 2, "datum"))
    return _marking(
        part="lapped walls" if walls[0].lapped else "plain walls",
        parts=parts_of(walls),
        tool="rule, marking knife and try square",
        operation="mark",
        faces=faces_of(walls, Face.INSIDE),
        sizes=(Size(of="length", mm=length, datum=Datum.DATUM_LINE),),
        lines=tuple(
            line for wall in walls for line in on_faces(squared(wall, wall.length / 2, "cut line"), Face.INSIDE)
        ),
        measures=tuple(length_measure(wall) for wall in walls),
        names=named("datum", datum, Face.INSIDE),
        action=f"Square a knife line {mm(length)} from the datum line, across the face sides of {called(walls)}.",
        notes=(f"It is towards corner {at_corner(walls, 1)}.",),
    )


def _carried_round(walls: tuple[Wall, ...]) -> Step:
    datum, cut = (
        tuple(line for wall in walls for line in on_faces(squared(wall, sign * wall.length / 2, kind), *_REST))
        for sign, kind in _BOTH_LINES
    )
    return _marking(
        part="every wall",
        parts=parts_of(walls),
        tool="marking knife and try square",
        operation="carry round",
        faces=faces_of(walls, *_REST),
        lines=(*datum, *cut),
        names=named("datum", datum, Face.OUTSIDE),
        action="Carry the datum line and the second line round the other three faces of each wall.",
        notes=("Each line must meet itself.",),
    )


def _hatched(walls: tuple[Wall, ...]) -> Step:
    return _marking(
        part="every wall",
        parts=parts_of(walls),
        tool="pencil",
        operation="hatch",
        faces=faces_of(walls, Face.INSIDE),
        lines=tuple(line for wall in walls for line in end_hatching(wall)),
        action="Hatch the waste outside both lines of each wall.",
        notes=("What is hatched will come off.",),
    )


def _cut(walls: tuple[Wall, ...]) -> tuple[Step, Step, Step]:
    cutting = partial(_cutting, part="every wall", parts=parts_of(walls))
    left = spare(walls[0].allowance)
    small = small_pieces({wall.name.upper(): wall.length for wall in walls}, "walls")
    return (
        cutting(
            kind=StepKind.CUT,
            tool="saw",
            operation="saw",
            faces=ends_of(walls),
            sizes=(Size(of="distance", mm=left, datum=Datum.MARKED_LINE),),
            removed=tuple(block for wall in walls for block in end_waste(wall)),
            action=f"Saw both ends of each wall on the waste side of the line, about {mm(left)} beside it.",
            notes=("The whole line must stay on the wall.",),
        ),
        cutting(
            kind=StepKind.CUT,
            tool="sander",
            besides=(Item.SMALL_SANDER,) if small else (),
            also=("small pieces",) if small else (),
            operation="sand",
            faces=ends_of(walls),
            removed=tuple(block for wall in walls for block in end_sanding(wall)),
            action="Sand both ends of each wall square, down to the line and no further.",
            notes=small,
        ),
        cutting(
            kind=StepKind.CHECK,
            tool=HANDS,
            operation="compare",
            faces=faces_of(walls, Face.INSIDE),
            action="Compare walls of one kind side by side.",
            notes=("They must be equally long.",),
        ),
    )
