"""The laps, in the trade's order: marked, sawn, chiselled and tried with their walls."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.nominal.frame import BACK
from assembly.planning.cautions import HANDS
from assembly.planning.lines import gauge_lines, lap_hatching, shoulder_lines
from assembly.planning.marks import laid_on, lap_kerf, lap_waste
from assembly.planning.measures import Datum, Size, gauge_measures, named, shoulder_measure
from assembly.planning.needs import Item
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import Face, Place
from assembly.planning.wall_steps import at_corner, called, ends_of, faces_of, on_faces, parts_of
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.model.workshop import Pare, Workshop
    from assembly.nominal.frame import Frame
    from assembly.planning.marks import Wall

_LAPS, _LAPPED = "making the laps", "lapped walls"
_both_ends = partial(Step, stage=_LAPS, part=f"{_LAPPED}, both ends", place=Place.BENCH)


def lap_steps(box: Frame, workshop: Workshop, walls: tuple[Wall, ...]) -> tuple[Step, ...]:
    """Return the steps that make the laps on the lapped walls and try them."""
    lapped = walls[:2]
    return (
        *_gauge_set(box, workshop, lapped),
        *_shoulders(box, workshop, lapped),
        _gauge(box, workshop, lapped),
        _hatched(lapped),
        *_cut(box, lapped),
        *_tried(workshop, walls),
    )


def _shoulders(box: Frame, workshop: Workshop, lapped: tuple[Wall, ...]) -> tuple[Step, ...]:
    """Return the marking of the shoulders on the face sides, from the part or by the rule, and then on the edges."""
    if workshop.shoulder_from == "part":
        return (*_along_part(box, lapped, -1), *_along_part(box, lapped, 1), _shoulders_down(box, lapped))
    return (_by_rule(box, lapped), _shoulders_down(box, lapped))


def _along_part(box: Frame, lapped: tuple[Wall, ...], sign: int) -> tuple[Step, Step]:
    """Return the laying of a plain wall on the lapped ones, and the marking along it."""
    which = (sign + 1) // 2
    end, mate = lapped[0].ends[which], f"{lapped[0].mates[which]} wall"
    lines = tuple(line for wall in lapped for line in on_faces(shoulder_lines(wall, sign), Face.INSIDE))
    step = partial(
        _both_ends,
        part=f"{_LAPPED}, {end}",
        parts=parts_of(lapped),
        faces=faces_of(lapped, Face.INSIDE),
        laid_on=tuple(laid_on(wall, sign) for wall in lapped),
    )
    return (
        step(
            kind=StepKind.LAY,
            tool=HANDS,
            operation="lay along",
            action=f"Lay the {mate} across the {end}s of {called(lapped)}, its outside face level with these ends.",
            notes=(f"It lies on the face sides of the finished ends, at corner {at_corner(lapped, which)}.",),
        ),
        step(
            kind=StepKind.MARK,
            tool="marking knife and try square",
            operation="lap_mark",
            sizes=(Size(of="distance", mm=box.plain, datum=Datum.FINISHED_END),),
            lines=lines,
            measures=tuple(shoulder_measure(wall, sign) for wall in lapped),
            names=named("shoulder", lines, Face.INSIDE),
            action=f"Draw a knife line along the {mate}'s inside face, about {mm(box.plain)} from the {end}s.",
            notes=(
                "This is the shoulder line: the lap ends there.",
                f"The {mate}'s own thickness counts, not the drawing's.",
            ),
        ),
    )


def _by_rule(box: Frame, lapped: tuple[Wall, ...]) -> Step:
    lines = tuple(
        line for wall in lapped for sign in (-1, 1) for line in on_faces(shoulder_lines(wall, sign), Face.INSIDE)
    )
    return _both_ends(
        kind=StepKind.MARK,
        parts=parts_of(lapped),
        tool="rule, marking knife and try square",
        operation="lap_mark",
        faces=faces_of(lapped, Face.INSIDE),
        sizes=(Size(of="distance", mm=box.plain, datum=Datum.FINISHED_END),),
        lines=lines,
        measures=tuple(shoulder_measure(wall, sign) for wall in lapped for sign in (-1, 1)),
        names=named("shoulder", lines, Face.INSIDE),
        action=(
            f"Square a knife line across the face sides of {called(lapped)}, {mm(box.plain)} from each finished end."
        ),
        notes=("This is the shoulder line: the lap ends there.",),
    )


def _shoulders_down(box: Frame, lapped: tuple[Wall, ...]) -> Step:
    edges = (Face.BOTTOM, Face.TOP)
    return _both_ends(
        kind=StepKind.MARK,
        parts=parts_of(lapped),
        tool="marking knife and try square",
        operation="lap_mark round",
        faces=faces_of(lapped, *edges),
        sizes=(Size(of="depth", mm=box.depth, datum=Datum.FACE_SIDE),),
        lines=tuple(
            line for wall in lapped for sign in (-1, 1) for line in on_faces(shoulder_lines(wall, sign), *edges)
        ),
        measures=tuple(each for wall in lapped for each in gauge_measures(wall, inside=True)),
        action=f"Carry each shoulder line down both edges, about {mm(box.depth)} from the face side.",
    )


def _gauged(box: Frame, workshop: Workshop) -> tuple[Datum, float]:
    """Return the face that the gauge runs along, and how far from it."""
    return (Datum.FACE_SIDE, box.depth) if workshop.gauge_from == "inside" else (Datum.OUTSIDE_FACE, box.tongue)


def _gauge_set(box: Frame, workshop: Workshop, lapped: tuple[Wall, ...]) -> tuple[Step, Step]:
    size = _gauged(box, workshop)[1]
    step = partial(
        _both_ends,
        kind=StepKind.SET,
        parts=parts_of(lapped),
        tool="marking gauge",
        sizes=(Size(of="distance", mm=size, datum=Datum.STOCK),),
    )
    return (
        step(
            operation="gauge setting",
            action=f"Set the pin of the marking gauge {mm(size)} from its stock.",
            notes=("The stock is the block that slides along the wood.", "Its screw must be tight."),
        ),
        step(
            operation="gauge trial",
            besides=(Item.WASTE_WOOD,),
            action="Try the gauge on waste wood.",
            notes=(f"Its line must be {mm(size)} from the edge.",),
        ),
    )


def _gauge(box: Frame, workshop: Workshop, lapped: tuple[Wall, ...]) -> Step:
    face, size = _gauged(box, workshop)
    lines = tuple(line for wall in lapped for line in gauge_lines(wall))
    return _both_ends(
        kind=StepKind.MARK,
        parts=parts_of(lapped),
        tool="marking gauge",
        operation="gauge",
        faces=(*faces_of(lapped, Face.BOTTOM), *ends_of(lapped), *faces_of(lapped, Face.TOP)),
        sizes=(Size(of="distance", mm=size, datum=face),),
        lines=lines,
        measures=tuple(m for wall in lapped for m in gauge_measures(wall, inside=workshop.gauge_from == "inside")),
        names=named("gauge line", lines, Face.BOTTOM),
        action=f"Gauge a line {mm(size)} from the {face}, on both edges and the end of each lap.",
        notes=(
            f"The gauge's stock slides along the {face}.",
            "The gauge line goes from the shoulder line to the end, and nowhere else.",
        ),
    )


def _hatched(lapped: tuple[Wall, ...]) -> Step:
    return _both_ends(
        kind=StepKind.MARK,
        parts=parts_of(lapped),
        tool="pencil",
        operation="hatch",
        faces=faces_of(lapped, Face.INSIDE, Face.BOTTOM, Face.TOP),
        lines=tuple(line for wall in lapped for line in lap_hatching(wall)),
        action="Hatch the waste of each lap on the face side and on both edges.",
        notes=("It lies between shoulder line, gauge line and end.",),
    )


def _cut(box: Frame, lapped: tuple[Wall, ...]) -> tuple[Step, Step]:
    step = partial(_both_ends, kind=StepKind.CUT, parts=parts_of(lapped))
    deep = Size(of="depth", mm=box.depth, datum=Datum.FACE_SIDE)
    return (
        step(
            tool="saw",
            operation="lap_saw",
            faces=faces_of(lapped, Face.INSIDE),
            sizes=(deep,),
            removed=tuple(block for wall in lapped for block in lap_kerf(wall)),
            action=f"Saw each shoulder on the waste side of its line, {mm(box.depth)} down to the gauge line.",
            notes=("The cut must stop at the gauge line on both edges.",),
        ),
        step(
            tool="chisel",
            operation="chisel",
            faces=faces_of(lapped, Face.CHEEK),
            sizes=(Size(of="thickness", mm=box.tongue),),
            removed=tuple(block for wall in lapped for block in lap_waste(wall)),
            action=("Chisel the waste away a little at a time, from both edges to the middle, down to the gauge line."),
            notes=(
                f"A tongue of {mm(box.tongue)} is left.",
                "The face that you cut on it is the cheek.",
            ),
        ),
    )


def _tried(workshop: Workshop, walls: tuple[Wall, ...]) -> tuple[Step, ...]:
    step = partial(
        Step,
        stage=_LAPS,
        part="each lap and its wall",
        parts=parts_of(walls),
        faces=faces_of(walls[:2], Face.SHOULDER, Face.CHEEK),
        raised=(walls[BACK].part,),
    )
    tried = step(
        kind=StepKind.FIT,
        tool=HANDS,
        operation="try",
        action="Try each lap with its own wall.",
        notes=("The same corner letters come together.",),
    )
    return (tried, _pared(step, workshop.pare), *_dry_fitted(walls))


def _pared(step: partial[Step], pare: Pare) -> Step:
    """Return the paring of laps whose step is felt, or how it is kept where the workshop does not pare."""
    if not pare.rounds:
        return step(
            kind=StepKind.CHECK,
            tool=HANDS,
            operation="no paring",
            action="Note where a lap does not close.",
            notes=("It is not pared.",),
        )
    most = "Only one shaving" if pare.rounds == 1 else f"At most {pare.rounds} shavings"
    return step(
        kind=StepKind.TREAT,
        tool="chisel",
        operation="pare",
        sizes=(Size(of="distance", mm=pare.notice, datum=Datum.MATE),),
        action=f"Pare one thin shaving off the lap where a fingernail feels a step of over {mm(pare.notice)}.",
        notes=(
            "Only the lap is pared, not the plain wall.",
            f"{most}, and each is followed by a new try: wood cannot be put back.",
        ),
    )


def _dry_fitted(walls: tuple[Wall, ...]) -> tuple[Step, Step, Step]:
    laps = faces_of(walls[:2], Face.SHOULDER, Face.CHEEK)
    step = partial(Step, stage=_LAPS, part="the four walls", parts=parts_of(walls), tool=HANDS)
    return (
        step(
            kind=StepKind.FIT,
            besides=(Item.FLAT_BOARD,),
            operation="dry fit",
            faces=laps,
            action="Put all four walls together on a flat board without glue.",
            notes=("The same letters come together, names inside, arrowheads down.",),
        ),
        step(
            kind=StepKind.FIT,
            operation="press closed",
            faces=laps,
            action="Press each corner closed by hand.",
            notes=("The teacher must know of one that stays open.",),
        ),
        step(
            kind=StepKind.LAY,
            operation="take apart",
            faces=faces_of(walls, Face.INSIDE),
            place=Place.BENCH,
            action="Take the walls apart.",
        ),
    )
