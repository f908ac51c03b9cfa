"""The laps, in the trade's order: marked, sawn, chiselled and tried with their walls; and the cable hole's centre."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.nominal.frame import BACK
from assembly.planning.cautions import HANDS
from assembly.planning.lines import diagonals, gauge_lines, lap_hatching, shoulder_lines
from assembly.planning.marks import laid_on, lap_kerf, lap_waste
from assembly.planning.measures import Datum, Size, bores, gauge_measures, named, shoulder_measure
from assembly.planning.needs import Item
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import Face, Place, on_parts
from assembly.planning.wall_steps import at_corner, ends_of, faces_of, parts_of
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.model.workshop import Workshop
    from assembly.nominal.fittings import Hole
    from assembly.nominal.frame import Frame
    from assembly.planning.marks import Wall

_LAPS, _LAPPED = "making the laps", "lapped walls"


def lap_steps(box: Frame, workshop: Workshop, walls: tuple[Wall, ...]) -> tuple[Step, ...]:
    """Return the steps that make the laps on the lapped walls and try them."""
    lapped = walls[:2]
    return (
        _gauge_set(box, workshop, lapped),
        *(_shoulder(box, workshop, lapped, sign) for sign in (-1, 1)),
        _gauge(box, workshop, lapped),
        _hatched(lapped),
        *_cut(box, lapped),
        *_tried(workshop, walls),
    )


def _shoulder(box: Frame, workshop: Workshop, lapped: tuple[Wall, ...], sign: int) -> Step:
    end, mate = lapped[0].ends[(sign + 1) // 2], "front wall" if sign < 0 else "back wall"
    lines = tuple(line for wall in lapped for line in shoulder_lines(wall, sign))
    at = f"{end}s (corner {at_corner(lapped, (sign + 1) // 2)})"
    if workshop.shoulder_from == "part":
        tool = "marking knife and try square"
        how = (
            f"Lay the {mate} across the face sides at the finished {at}, its outside face level with these ends, and "
            f"run the knife along its inside face (about {mm(box.plain)}): its own thickness counts, not the drawing's."
        )
    else:
        tool = "rule, marking knife and try square"
        how = f"From the finished {at} measure {mm(box.plain)} and square a knife line across the face side."
    return Step(
        stage=_LAPS,
        kind=StepKind.MARK,
        part=f"{_LAPPED}, {end}",
        parts=parts_of(lapped),
        tool=tool,
        operation="lap_mark",
        faces=faces_of(lapped, Face.INSIDE, Face.BOTTOM, Face.TOP),
        place=Place.BENCH,
        sizes=(Size(of="distance", mm=box.plain, datum=Datum.FINISHED_END),),
        lines=lines,
        laid_on=tuple(laid_on(wall, sign) for wall in lapped) if workshop.shoulder_from == "part" else (),
        measures=tuple(shoulder_measure(wall, sign) for wall in lapped),
        names=named("shoulder", lines, Face.INSIDE),
        sentences=(
            how,
            "This is the shoulder line: the lap ends there.",
            f"Carry it down both edges, about {mm(box.depth)}.",
        ),
    )


_both_ends = partial(Step, stage=_LAPS, part=f"{_LAPPED}, both ends", place=Place.BENCH)


def _gauged(box: Frame, workshop: Workshop) -> tuple[Datum, float]:
    """Return the face that the gauge runs along, and how far from it."""
    return (Datum.FACE_SIDE, box.depth) if workshop.gauge_from == "inside" else (Datum.OUTSIDE_FACE, box.tongue)


def _gauge_set(box: Frame, workshop: Workshop, lapped: tuple[Wall, ...]) -> Step:
    size = _gauged(box, workshop)[1]
    return _both_ends(
        kind=StepKind.SET,
        parts=parts_of(lapped),
        tool="marking gauge",
        besides=(Item.WASTE_WOOD,),
        operation="gauge setting",
        sizes=(Size(of="distance", mm=size, datum=Datum.STOCK),),
        sentences=(
            f"Set the marking gauge: {mm(size)} from its stock, the block that slides along the wood, to its pin.",
            "Tighten it and try it on waste wood.",
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
        sentences=(
            (
                f"Keep the gauge's stock on the {face} and draw the gauge line, {mm(size)} from it, on both edges, "
                "from the shoulder line to the end, and on the end itself; nowhere else."
            ),
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
        sentences=(
            (
                "Hatch the waste of each lap, between shoulder line, gauge line and end: on the face side and on both "
                "edges."
            ),
        ),
    )


def _cut(box: Frame, lapped: tuple[Wall, ...]) -> tuple[Step, Step]:
    step = partial(
        _both_ends,
        kind=StepKind.CUT,
        parts=parts_of(lapped),
        sizes=(Size(of="depth", mm=box.depth, datum=Datum.FACE_SIDE),),
    )
    return (
        step(
            tool="saw",
            operation="lap_saw",
            faces=faces_of(lapped, Face.INSIDE),
            removed=tuple(block for wall in lapped for block in lap_kerf(wall)),
            sentences=(
                (
                    f"Saw the shoulder on the waste side of its line, {mm(box.depth)} down to the gauge line on both "
                    "edges."
                ),
                "Stop there.",
            ),
        ),
        step(
            tool="chisel",
            operation="chisel",
            faces=faces_of(lapped, Face.CHEEK),
            removed=tuple(block for wall in lapped for block in lap_waste(wall)),
            sentences=(
                "Chisel the waste away a little at a time, from both edges towards the middle, down to the gauge line.",
                f"A tongue of {mm(box.tongue)} is left; the face that you cut on it is the cheek.",
            ),
        ),
    )


def _tried(workshop: Workshop, walls: tuple[Wall, ...]) -> tuple[Step, Step]:
    pare = workshop.pare
    step = partial(
        Step,
        stage=_LAPS,
        kind=StepKind.FIT,
        parts=parts_of(walls),
        faces=faces_of(walls[:2], Face.SHOULDER, Face.CHEEK),
    )
    tried = ["Try each lap with its own wall, the same corner letters together."]
    if pare.rounds:
        stop = "one shaving" if pare.rounds == 1 else f"{pare.rounds} shavings"
        tried += [
            (
                f"If you can feel a step with a fingernail (over {mm(pare.notice)}), pare one thin shaving from the "
                "lap, not from the plain wall, and try again."
            ),
            f"Stop after {stop}: wood cannot be put back.",
        ]
    else:
        tried += ["Note where it does not close; it is not pared."]
    return (
        step(
            part="each lap and its wall",
            tool="chisel" if pare.rounds else HANDS,
            operation="pare",
            raised=(walls[BACK].part,),
            sizes=(Size(of="distance", mm=pare.notice, datum=Datum.MATE),) if pare.rounds else (),
            sentences=tuple(tried),
        ),
        step(
            part="the four walls",
            tool=HANDS,
            besides=(Item.FLAT_BOARD,),
            operation="dry fit",
            sentences=(
                (
                    "Put all four walls together on a flat board without glue, the same letters together, names "
                    "inside, arrowheads down."
                ),
                "Press each corner closed by hand, and tell the teacher where one stays open.",
                "Then take them apart.",
            ),
        ),
    )


def cable_hole_steps(hole: Hole, back: Wall) -> tuple[Step, Step]:
    """Return the marking and the drilling of the cable hole, before the back wall is glued in."""
    step = partial(
        Step,
        stage="cable hole",
        part=back.part,
        parts=(back.part,),
        faces=on_parts((back.part,), Face.OUTSIDE),
        place=Place.BENCH,
    )
    marking = step(
        kind=StepKind.MARK,
        tool="pencil, rule and bradawl",
        operation="hole_mark",
        lines=diagonals(back),
        sentences=(
            "Draw both diagonals of the outside face, corner to corner.",
            "Prick the centre where they cross.",
        ),
    )
    drilling = step(
        kind=StepKind.DRILL,
        tool="drill",
        operation="drill",
        sizes=bores((hole,)),
        drilled=(hole,),
        besides=(Item.SCRAP_WOOD, Item.CLAMPS),
        also=("drill through",),
        sentences=("Clamp the wall flat on scrap wood.", f"Drill {mm(hole.diameter)} right through the centre."),
    )
    return marking, drilling
