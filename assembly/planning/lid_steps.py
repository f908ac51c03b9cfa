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
    sunk = fitted.holes_of("lid", "countersink")
    return (
        _outlined(design, finished, front),
        *_cut(fitted, allowance),
        *_marked(design, finished, screws),
        *of_plaque,
        _drilled(design, fitted, finished, (centre, screws, measured)),
        *((_countersunk(design, finished, sunk),) if sunk else ()),
        _into_walls(design, fitted, finished, screws),
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


def _inset(design: Design) -> Size:
    """Return how far the lid's screw holes are from the edges beside them."""
    datum = Datum.FRONT_AND_BACK_EDGES if design.box.turned else Datum.SIDE_EDGES
    return Size(of="distance", mm=design.timber.lapped / 2 + design.lid.overhang, datum=datum)


def _marked(design: Design, finished: Block, screws: tuple[Hole, ...]) -> tuple[Step, Step]:
    inset, (first, last) = _inset(design).mm, design.box.lapped_walls
    turned, beside = design.box.turned, "left" if design.box.turned else "front"
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
            sizes=(_inset(design),),
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
    (_, offset), half = plaque.screw_holes[0], _half_apart(plaque).mm
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
        sizes=(_half_apart(plaque),),
        lines=(*(line for hole in pilots for line in cross(hole)), *drawn),
        measures=pilot_measures(plaque, pilots),
        sentences=(
            f"For the plaque's screws {line}.",
            f"On it measure {mm(half)} to either side of {middle}, and prick both places.",
        ),
    )


def _drilled(
    design: Design,
    fitted: Fittings,
    finished: Block,
    holes: tuple[tuple[Hole, ...], tuple[Hole, ...], tuple[Hole, ...]],
) -> Step:
    """Return the drilling of the lid's centre hole, of its screw holes, and of the plaque's pilot holes if measured."""
    (centre, screws, pilots), drilled = holes, tuple(hole for some in holes for hole in some)
    plaque = fitted.plaque if pilots else None
    half = (_half_apart(plaque),) if plaque else ()
    return _drilling(
        part="lid",
        parts=_LID,
        faces=on_parts(_LID, Face.TOP),
        sizes=(*bores(drilled), _inset(design), *half),
        measures=(*screw_measures(finished, screws), *(pilot_measures(plaque, pilots) if plaque else ())),
        drilled=drilled,
        besides=(Item.SCRAP_WOOD, Item.CLAMPS, *((Item.TAPE,) if pilots else ())),
        also=("drill through",),
        sentences=(
            "Clamp the lid on scrap wood.",
            *(f"Drill the centre hole {mm(hole.diameter)}, right through." for hole in centre),
            (
                f"Drill the two screw holes {mm(screws[0].diameter)}, right through, {mm(_inset(design).mm)} in from "
                f"the {_inset(design).datum}."
            ),
            *_pilots(pilots, half),
        ),
    )


def _half_apart(plaque: BentPlaque) -> Size:
    """Return how far the plaque's screw holes are to either side of the middle between them."""
    (left, _), (right, _) = plaque.screw_holes
    return Size(of="distance", mm=(right - left) / 2, datum=Datum.CENTRE)


def _pilots(pilots: tuple[Hole, ...], half: tuple[Size, ...]) -> tuple[str, ...]:
    """Return how the plaque's pilot holes are drilled, where there are any; `half` as in `_half_apart`."""
    if not pilots:
        return ()
    deep = mm(pilots[0].depth)
    return (
        f"Put tape on the bit of {mm(pilots[0].diameter)}, {deep} from its tip.",
        f"Drill the plaque's two pilot holes, {mm(half[0].mm)} to either side, only {deep} deep: stop at the tape.",
    )


def _countersunk(design: Design, finished: Block, sunk: tuple[Hole, ...]) -> Step:
    """Return the countersinking of the lid's screw holes."""
    return _drilling(
        part="lid",
        parts=_LID,
        operation="countersink",
        faces=on_parts(_LID, Face.TOP),
        sizes=(*bores(sunk), _inset(design)),
        measures=screw_measures(finished, sunk),
        drilled=sunk,
        besides=(Item.COUNTERSINK, Item.CLAMPS),
        sentences=(
            "Clamp the lid again, its upper face up.",
            f"Countersink both screw holes until they are {mm(sunk[0].diameter)} wide: {mm(sunk[0].depth)} deep.",
            "Hold a screw in each: its head must lie flush.",
        ),
    )


def _into_walls(design: Design, fitted: Fittings, finished: Block, screws: tuple[Hole, ...]) -> Step:
    pilots = tuple(hole for wall in design.box.lapped_walls for hole in fitted.holes_of(f"{wall} wall", "pilot"))
    lid, deep = design.lid.thickness, pilots[0].depth
    return _drilling(
        part="lapped walls",
        parts=(*FRAME, "base", "lid"),
        raised=_LID,
        faces=on_parts((hole.part for hole in pilots), Face.TOP),
        sizes=(
            *bores(pilots, Datum.TOP_EDGE),
            Size(of="depth", mm=lid + deep, datum=Datum.TOP),
            _inset(design),
        ),
        measures=screw_measures(finished, screws),
        drilled=pilots,
        besides=(Item.CLAMPS, Item.TAPE),
        sentences=(
            "Lay the lid on the frame, front to front, and clamp it.",
            f"Put tape on the bit {mm(lid + deep)} from its tip: {mm(lid)} of lid and {mm(deep)} of wall.",
            (
                f"Drill pilot holes of {mm(pilots[0].diameter)} through the lid's screw holes, {mm(deep)} deep "
                "into the walls."
            ),
            "Stop at the tape.",
        ),
    )


def pilot_drilling(plaque: BentPlaque, pilots: tuple[Hole, ...]) -> Step:
    """Return the drilling of the pilot holes for the plaque's screws, in the lid."""
    return _drilling(
        part="lid",
        parts=_LID,
        faces=on_parts(_LID, Face.TOP),
        sizes=(*bores(pilots), _half_apart(plaque)),
        measures=pilot_measures(plaque, pilots),
        drilled=pilots,
        besides=(Item.CLAMPS, Item.TAPE),
        sentences=("Clamp the lid on the bench.", *_pilots(pilots, (_half_apart(plaque),))),
    )
