"""The lid: drawn round the frame, sawn, sanded to the line, and drilled."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.frame_steps import FRAME, sheet_block
from assembly.planning.lines import cross, front_letters, front_outside, midline, outline, sheet_diagonals
from assembly.planning.marks import sheet_waste, spare
from assembly.planning.measures import Datum, Size, bores, pilot_measures, screw_measures
from assembly.planning.needs import Item, small_pieces
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import SHEET_EDGES, Face, Place, on_parts
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.nominal.fittings import Fittings, Hole
    from assembly.nominal.plaque import BentPlaque
    from assembly.planning.marks import Block, Wall

OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}  # edges of the lid

_LID = ("lid",)
_lid = partial(Step, stage="lid", part="lid", place=Place.UPSIDE_DOWN)
_pricked = partial(
    Step,
    stage="holes",
    kind=StepKind.MARK,
    part="lid",
    parts=_LID,
    tool="pencil, rule and bradawl",
    operation="hole_mark",
    faces=on_parts(_LID, Face.TOP),
)
_drilling = partial(Step, stage="holes", kind=StepKind.DRILL, tool="drill", operation="drill")


def lid_steps(design: Design, fitted: Fittings, allowance: float, front: Wall) -> tuple[Step, ...]:
    """Return the lid's steps, from a sheet `allowance` mm larger all round to the last hole that needs no plaque."""
    finished = sheet_block("lid", "finished", fitted.lid, 0.0)
    centre, screws, pilots = (fitted.holes_of("lid", use) for use in ("centre", "clearance", "pilot"))
    measured = pilots if design.lid_holes == "measured" else ()
    of_plaque = (_plaque_marked(design, fitted.plaque, finished, measured),) if fitted.plaque and measured else ()
    return (
        _outlined(design, finished, front),
        *_cut(fitted, allowance),
        *_marked(design, finished, screws),
        *of_plaque,
        _drilled(centre, screws, measured),
        _into_walls(design, fitted),
    )


def _outlined(design: Design, finished: Block, front: Wall) -> Step:
    overhang = design.lid.overhang
    outside = f", {mm(overhang)} outside it on every side" if overhang else ""
    return _lid(
        kind=StepKind.MARK,
        parts=(*FRAME, "base", "lid"),
        tool="pencil and rule" if overhang else "pencil",
        operation="outline",
        faces=(*on_parts(_LID, Face.UNDERSIDE), *on_parts((front.part,), Face.OUTSIDE)),
        sizes=(Size(of="distance", mm=overhang, datum=Datum.OUTSIDE_FACE),) if overhang else (),
        lines=outline(finished),
        letters=(front_outside(front), front_letters(finished, Face.UNDERSIDE)),
        also=("sheet edges",),
        sentences=(
            "Write FRONT on the outside of the front wall.",
            f"Stand the frame upside down on the sheet and draw round it{outside}.",
            "Lift it off and write FRONT inside the outline, at the front: this lid fits this frame.",
            "The face that you drew on is the lid's underside.",
        ),
    )


def _cut(fitted: Fittings, allowance: float) -> tuple[Step, Step]:
    left = spare(allowance)
    small = small_pieces({"the lid": max(fitted.lid.along_x, fitted.lid.along_y)}, "lids")
    uncut, sawn, finished = (sheet_block("lid", "uncut", fitted.lid, beyond) for beyond in (allowance, left, 0.0))
    cutting = partial(_lid, kind=StepKind.CUT, parts=_LID, faces=on_parts(_LID, *SHEET_EDGES))
    return (
        cutting(
            tool="saw",
            operation="lid_saw",
            sizes=(Size(of="distance", mm=left, datum=Datum.MARKED_LINE),),
            removed=sheet_waste(uncut, sawn),
            sentences=(f"Saw the lid out on the waste side of the outline, about {mm(left)} beside it.",),
        ),
        cutting(
            tool="sander",
            besides=(Item.SMALL_SANDER,) if small else (),
            operation="lid_sand",
            removed=sheet_waste(sawn, finished),
            sentences=("Sand all four edges to the outline, and try the lid on its frame, front to front.", *small),
        ),
    )


def _marked(design: Design, finished: Block, screws: tuple[Hole, ...]) -> tuple[Step, Step]:
    inset, (first, last) = design.timber.lapped / 2 + design.lid.overhang, design.box.lapped_walls
    turned, beside = design.box.turned, "left" if design.box.turned else "front"
    datum = Datum.FRONT_AND_BACK_EDGES if turned else Datum.SIDE_EDGES
    bored = design.lid.centre_hole is not None
    return (
        _pricked(
            lines=sheet_diagonals(finished),
            letters=(front_letters(finished, Face.TOP),),
            sentences=(
                "Turn the lid over, its front still to the front: the face without the outline is its upper face.",
                "Write FRONT on it too.",
                "Draw both diagonals and prick the centre where they cross."
                if bored
                else "Draw both diagonals: the centre is where they cross.",
            ),
        ),
        _pricked(
            sizes=(Size(of="distance", mm=inset, datum=datum),),
            lines=(
                *(line for hole in screws for line in cross(hole)),
                midline(finished, (0.0, 1.0) if turned else (1.0, 0.0)),
            ),
            measures=screw_measures(finished, screws),
            sentences=(
                (
                    f"For the two lid screws draw a line through the centre from the {first} to the {last} edge, "
                    f"parallel to the {beside} edge."
                ),
                f"On it measure {mm(inset)} in from either edge, and prick both places.",
            ),
        ),
    )


def _plaque_marked(design: Design, plaque: BentPlaque, finished: Block, pilots: tuple[Hole, ...]) -> Step:
    """Return the marking of the plaque's screw holes, while the lid still has its centre."""
    (left, offset), (right, _) = plaque.screw_holes
    half = (right - left) / 2
    drawn_already = not offset and bool(plaque.along[1 if design.box.turned else 0])  # the line of the lid's screws
    edge = {(0.0, -1.0): "front", (0.0, 1.0): "back", (-1.0, 0.0): "left", (1.0, 0.0): "right"}[plaque.towards]
    if offset:
        way = edge if offset > 0 else OPPOSITE[edge]
        line = f"draw a line {mm(abs(offset))} from the centre, nearer to the {way} edge and parallel to it"
    elif drawn_already:
        line = "use the same line"
    else:
        line = f"draw a line through the centre, parallel to the {edge} edge"
    x, y = plaque.towards
    drawn = () if drawn_already else (midline(finished, plaque.along, (offset * x, offset * y)),)
    middle = "the centre" if not offset else "the place beside the centre"
    return _pricked(
        sizes=(Size(of="distance", mm=half, datum=Datum.CENTRE),),
        lines=(*(line for hole in pilots for line in cross(hole)), *drawn),
        measures=pilot_measures(plaque, pilots),
        sentences=(
            f"For the plaque's screws {line}.",
            f"On it measure {mm(half)} to either side of {middle}, and prick both places.",
        ),
    )


def _drilled(centre: tuple[Hole, ...], screws: tuple[Hole, ...], pilots: tuple[Hole, ...]) -> Step:
    drilled = (*centre, *screws, *pilots)
    through = [f"the centre hole {mm(hole.diameter)}" for hole in centre]
    through.append(f"the two screw holes {mm(screws[0].diameter)}")
    return _drilling(
        part="lid",
        parts=_LID,
        faces=on_parts(_LID, Face.TOP),
        sizes=(*bores(drilled), *_deep(pilots)),
        drilled=drilled,
        besides=(Item.SCRAP_WOOD, Item.CLAMPS, *((Item.TAPE,) if pilots else ())),
        also=("drill through",),
        sentences=(
            "Clamp the lid on scrap wood.",
            f"Drill {' and '.join(through)}, right through.",
            *_pilots("Then the plaque's two holes:", pilots),
        ),
    )


def _deep(pilots: tuple[Hole, ...]) -> tuple[Size, ...]:
    """Return how deep pilot holes are in the lid."""
    return tuple(Size(of="depth", mm=hole.depth, datum=Datum.TOP) for hole in pilots[:1])


def _pilots(start: str, pilots: tuple[Hole, ...]) -> tuple[str, ...]:
    """Return how pilot holes are drilled, where there are any."""
    if not pilots:
        return ()
    deep = mm(pilots[0].depth)
    return (
        f"{start} {mm(pilots[0].diameter)} wide and only {deep} deep (pilot holes: they guide the screws).",
        f"Put tape on the bit {deep} from its tip and stop there.",
    )


def _into_walls(design: Design, fitted: Fittings) -> Step:
    pilots = tuple(hole for wall in design.box.lapped_walls for hole in fitted.holes_of(f"{wall} wall", "pilot"))
    lid, deep = design.lid.thickness, pilots[0].depth
    return _drilling(
        part="lapped walls",
        parts=(*FRAME, "base", "lid"),
        raised=_LID,
        faces=on_parts((hole.part for hole in pilots), Face.TOP),
        sizes=(*bores(pilots), Size(of="depth", mm=lid + deep, datum=Datum.TOP)),
        drilled=pilots,
        besides=(Item.CLAMPS, Item.TAPE),
        sentences=(
            "Lay the lid on the frame, front to front, and clamp it.",
            f"Put tape on the bit {mm(lid + deep)} from its tip: {mm(lid)} of lid and {mm(deep)} of wall.",
            (
                f"Through the lid's screw holes drill holes of {mm(pilots[0].diameter)} for the screws (pilot holes) "
                "into the walls, and stop at the tape."
            ),
        ),
    )


def pilot_drilling(pilots: tuple[Hole, ...]) -> Step:
    """Return the drilling of the pilot holes for the plaque's screws, in the lid."""
    return _drilling(
        part="lid",
        parts=_LID,
        faces=on_parts(_LID, Face.TOP),
        sizes=(*bores(pilots), *_deep(pilots)),
        drilled=pilots,
        besides=(Item.CLAMPS, Item.TAPE),
        sentences=_pilots("Clamp the lid on the bench and drill both holes", pilots),
    )
