"""Holes in the lid, and through it in the walls: marked, pricked, drilled and countersunk."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.cautions import HANDS
from assembly.planning.frame_steps import FRAME
from assembly.planning.lines import cross, front_letters, midline, pricked, sheet_diagonals
from assembly.planning.measures import Datum, Size, bores, pilot_measures, screw_measures
from assembly.planning.needs import Item, screws_needed
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import Face, on_parts
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.nominal.fittings import Fittings, Hole
    from assembly.nominal.plaque import BentPlaque
    from assembly.planning.marks import Block

OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}  # edges of the lid

_LID = ("lid",)
_marking = partial(
    Step,
    stage="holes",
    kind=StepKind.MARK,
    part="lid",
    parts=_LID,
    tool="pencil and rule",
    faces=on_parts(_LID, Face.TOP),
)
_drilling = partial(Step, stage="holes", kind=StepKind.DRILL, tool="drill", operation="drill")

_COUNTS = {2: "two", 3: "three", 4: "four", 5: "five"}


def hole_steps(design: Design, fitted: Fittings, finished: Block) -> tuple[Step, ...]:
    """Return the steps from the first line on the lid's upper face to the last hole that needs no plaque."""
    centre, screws, pilots = (fitted.holes_of("lid", use) for use in ("centre", "clearance", "pilot"))
    measured = pilots if design.lid_holes == "measured" else ()
    of_plaque = _plaque_marked(design, fitted.plaque, finished, measured) if fitted.plaque and measured else ()
    return (
        *_marked(design, finished, screws),
        *of_plaque,
        _pricked(centre, (*screws, *measured)),
        _clamped("on scrap wood, its upper face up", _LID, Item.SCRAP_WOOD),
        *_drilled(design, finished, centre, screws),
        *(pilots_drilled(fitted.plaque, measured) if fitted.plaque and measured else ()),
        *_countersunk(design, finished, fitted.holes_of("lid", "countersink")),
        *_into_walls(design, fitted, finished, screws),
    )


def _inset(design: Design) -> Size:
    """Return how far the lid's screw holes are from the edges beside them."""
    datum = Datum.FRONT_AND_BACK_EDGES if design.box.turned else Datum.SIDE_EDGES
    return Size(of="distance", mm=design.timber.lapped / 2 + design.lid.overhang, datum=datum)


def _half_apart(plaque: BentPlaque) -> Size:
    """Return how far the plaque's screw holes are to either side of the middle between them."""
    (left, _), (right, _) = plaque.screw_holes
    return Size(of="distance", mm=(right - left) / 2, datum=Datum.CENTRE)


def _marked(design: Design, finished: Block, screws: tuple[Hole, ...]) -> tuple[Step, ...]:
    inset, (first, last) = _inset(design), design.box.lapped_walls
    turned, beside = design.box.turned, "left" if design.box.turned else "front"
    return (
        _marking(
            kind=StepKind.LAY,
            tool=HANDS,
            operation="turn over",
            action="Turn the lid over, its front still to the front.",
            notes=("The face without the outline is its upper face.",),
        ),
        _marking(
            tool="pencil",
            operation="front on top",
            letters=(front_letters(finished, Face.TOP),),
            action="Write FRONT on the upper face, too.",
        ),
        _marking(
            operation="diagonals",
            lines=sheet_diagonals(finished),
            action="Draw both diagonals of the lid.",
            notes=("The centre is where they cross.",),
        ),
        _marking(
            operation="screw line",
            lines=(midline(finished, (0.0, 1.0) if turned else (1.0, 0.0)),),
            action=(
                f"Draw a line through the centre from the {first} to the {last} edge, parallel to the {beside} edge."
            ),
            notes=("The two lid screws will be on it.",),
        ),
        _marking(
            operation="hole_mark",
            sizes=(inset,),
            lines=tuple(line for hole in screws for line in cross(hole)),
            measures=screw_measures(finished, screws),
            action=f"Mark both lid screws on this line, {mm(inset.mm)} in from either edge.",
        ),
    )


def _plaque_marked(design: Design, plaque: BentPlaque, finished: Block, pilots: tuple[Hole, ...]) -> tuple[Step, ...]:
    """Return the marking of the plaque's screw holes, while the lid still has its centre."""
    (_, offset), half = plaque.screw_holes[0], _half_apart(plaque)
    drawn_already = not offset and bool(plaque.along[1 if design.box.turned else 0])  # the line of the lid's screws
    on, middle = "the same line" if drawn_already else "this line", "place beside the centre" if offset else "centre"
    return (
        *(() if drawn_already else (_plaque_line(plaque, finished, offset),)),
        _marking(
            operation="hole_mark",
            sizes=(half,),
            lines=tuple(line for hole in pilots for line in cross(hole)),
            measures=pilot_measures(plaque, pilots),
            action=f"Mark the plaque's two screws on {on}, {mm(half.mm)} to either side of the {middle}.",
        ),
    )


def _plaque_line(plaque: BentPlaque, finished: Block, offset: float) -> Step:
    """Return the drawing of the line on which the plaque's screws are, `offset` mm from the lid's centre."""
    edge = {(0.0, -1.0): "front", (0.0, 1.0): "back", (-1.0, 0.0): "left", (1.0, 0.0): "right"}[plaque.towards]
    x, y = plaque.towards
    size: tuple[Size, ...] = ()
    if offset:
        way = edge if offset > 0 else OPPOSITE[edge]
        line = f"Draw a line {mm(abs(offset))} from the centre, nearer to the {way} edge and parallel to it."
        size = (Size(of="distance", mm=abs(offset), datum=Datum.CENTRE),)
    else:
        line = f"Draw a line through the centre, parallel to the {edge} edge."
    return _marking(
        operation="plaque line",
        sizes=size,
        lines=(midline(finished, plaque.along, (offset * x, offset * y)),),
        action=line,
        notes=("The plaque's two screws will be on it.",),
    )


def _pricked(centre: tuple[Hole, ...], others: tuple[Hole, ...]) -> Step:
    where = "the centre and every marked place" if centre else "every marked place"
    return _marking(
        tool="bradawl",
        operation="prick",
        lines=tuple(line for hole in (*centre, *others) for line in pricked(hole)),
        action=f"Prick {where}.",
        notes=(f"These are {_COUNTS[len(centre) + len(others)]} places.",),
    )


def _drilled(design: Design, finished: Block, centre: tuple[Hole, ...], screws: tuple[Hole, ...]) -> tuple[Step, ...]:
    """Return the drilling of the holes that go through the lid, a step for each bit."""
    step = partial(_drilling, part="lid", parts=_LID, faces=on_parts(_LID, Face.TOP), also=("drill through",))
    inset = _inset(design)
    return (
        *(
            step(
                sizes=bores((hole,)),
                drilled=(hole,),
                action=f"Drill the centre hole, {mm(hole.diameter)} wide, right through.",
            )
            for hole in centre
        ),
        step(
            sizes=(*bores(screws), inset),
            measures=screw_measures(finished, screws),
            drilled=screws,
            action=f"Drill the two holes for the lid's screws, {mm(screws[0].diameter)} wide, right through.",
            notes=(f"They are {mm(inset.mm)} in from the {inset.datum}.",),
        ),
    )


def _countersunk(design: Design, finished: Block, sunk: tuple[Hole, ...]) -> tuple[Step, ...]:
    """Return the countersinking of the lid's screw holes, and its check; none for round heads."""
    if not sunk:
        return ()
    step = partial(
        _drilling,
        part="lid",
        parts=_LID,
        faces=on_parts(_LID, Face.TOP),
        measures=screw_measures(finished, sunk),
    )
    wide, deep = mm(sunk[0].diameter), mm(sunk[0].depth)
    return (
        step(
            operation="countersink",
            sizes=(*bores(sunk), _inset(design)),
            drilled=sunk,
            besides=(Item.COUNTERSINK,),
            action=f"Countersink both screw holes until they are {wide} wide, {deep} deep.",
            notes=("The lid is clamped for this, its upper face up.",),
        ),
        step(
            kind=StepKind.CHECK,
            tool=HANDS,
            operation="try the heads",
            measures=(),
            counted=screws_needed(design.lid.screw, 2),
            action="Try a screw in each hole.",
            notes=("Its head must lie flush.",),
        ),
    )


def _clamped(how: str, parts: tuple[str, ...], *besides: Item) -> Step:
    return Step(
        stage="holes",
        kind=StepKind.LAY,
        part="lid",
        parts=parts,
        tool="clamps",
        besides=besides,
        operation="clamp",
        faces=on_parts(_LID, Face.TOP),
        action=f"Clamp the lid {how}.",
    )


def _taped(bit: float, depth: float, parts: tuple[str, ...], notes: tuple[str, ...] = ()) -> Step:
    """Return the putting of tape on a bit of a diameter, so that it goes no deeper than `depth`; mm."""
    return Step(
        stage="holes",
        kind=StepKind.SET,
        part="bit",
        parts=parts,
        tool=HANDS,
        besides=(Item.TAPE,),
        operation="tape",
        sizes=(Size(of="depth", mm=depth, datum=Datum.TIP), Size(of="diameter", mm=bit)),
        action=f"Put tape on the bit of {mm(bit)}, {mm(depth)} from its tip.",
        notes=notes,
    )


def pilots_drilled(plaque: BentPlaque, pilots: tuple[Hole, ...]) -> tuple[Step, Step]:
    """Return the drilling of the pilot holes for the plaque's screws, in a lid that is clamped."""
    size, deep, half = pilots[0].diameter, pilots[0].depth, _half_apart(plaque)
    return (
        _taped(size, deep, _LID),
        _drilling(
            part="lid",
            parts=_LID,
            faces=on_parts(_LID, Face.TOP),
            sizes=(*bores(pilots), half),
            measures=pilot_measures(plaque, pilots),
            drilled=pilots,
            action=f"Drill the plaque's two pilot holes, {mm(size)} wide and only {mm(deep)} deep.",
            notes=(
                f"They guide the screws, and are {mm(half.mm)} to either side of the middle between them.",
                "A hole is deep enough when the tape reaches the lid.",
            ),
        ),
    )


def marked_through_drilled(plaque: BentPlaque, pilots: tuple[Hole, ...]) -> tuple[Step, ...]:
    """Return the clamping of the lid and the drilling of the pilot holes that were marked through the plaque."""
    return (_clamped("on the bench", _LID), *pilots_drilled(plaque, pilots))


def _into_walls(design: Design, fitted: Fittings, finished: Block, screws: tuple[Hole, ...]) -> tuple[Step, ...]:
    pilots = tuple(hole for wall in design.box.lapped_walls for hole in fitted.holes_of(f"{wall} wall", "pilot"))
    lid, deep, size = design.lid.thickness, pilots[0].depth, pilots[0].diameter
    parts = (*FRAME, "base", "lid")
    within = (Size(of="thickness", mm=lid), Size(of="depth", mm=deep, datum=Datum.TOP_EDGE))
    taped = _taped(size, lid + deep, parts, (f"That is {mm(lid)} of lid and {mm(deep)} of wall.",))
    return (
        _clamped("on the frame, front to front", parts),
        replace(taped, sizes=(*taped.sizes, *within)),
        _drilling(
            part="lapped walls",
            parts=parts,
            raised=_LID,
            faces=on_parts((hole.part for hole in pilots), Face.TOP),
            sizes=(*bores(pilots, Datum.TOP_EDGE), _inset(design)),
            measures=screw_measures(finished, screws),
            drilled=pilots,
            action=f"Drill pilot holes of {mm(size)} through the lid's screw holes, {mm(deep)} deep into the walls.",
            notes=(
                "A hole is deep enough when the tape reaches the lid.",
                "The picture shows the lid lifted off, so that the holes are seen.",
            ),
        ),
    )
