"""The lid: drawn round the frame, sawn, sanded to the line, and drilled."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.nominal.frame import FRONT
from assembly.planning.frame_steps import FRAME, sheet_block
from assembly.planning.lines import cross, front_letters, front_outside, midline, outline, sheet_diagonals
from assembly.planning.marks import sheet_waste, spare
from assembly.planning.measures import pilot_measures, screw_measures
from assembly.planning.steps import Step
from assembly.rules.shop import mm

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.nominal.fittings import Fittings, Hole
    from assembly.nominal.plaque import BentPlaque
    from assembly.planning.marks import Block, Wall

_lid = partial(Step, stage="lid", part="lid", upside_down=True)
_hole = partial(Step, stage="holes", part="lid", parts=("lid",), face="top")
_pricked = partial(_hole, tool="pencil, rule and bradawl", operation="hole_mark", kind="centre")
_drilling = partial(Step, stage="holes", tool="drill", operation="drill", face="top")


def lid_steps(design: Design, fitted: Fittings, allowance: float, walls: tuple[Wall, ...]) -> tuple[Step, ...]:
    """Return the lid's steps, from a sheet `allowance` mm larger all round to the last hole that needs no plaque."""
    finished = sheet_block("lid", "finished", fitted.lid, 0.0)
    holes = fitted.holes_of("lid")
    centre, screws, pilots = holes[0], holes[1:3], holes[3:]
    measured = pilots if design.lid_holes == "measured" else ()
    return (
        _outlined(design, finished, walls[FRONT]),
        *_cut(fitted, allowance),
        *_marked(design, finished, screws),
        *((_plaque_marked(fitted.plaque, finished, measured),) if measured else ()),
        _drilled(centre, screws, measured),
        _into_walls(design, fitted),
    )


def _outlined(design: Design, finished: Block, front: Wall) -> Step:
    overhang = design.lid.overhang
    outside = f", {mm(overhang)} outside it on every side" if overhang else ""
    return _lid(
        parts=(*FRAME, "base", "lid"),
        tool="pencil and rule" if overhang else "pencil",
        operation="outline",
        face="underside",
        from_where="the frame's outside faces",
        to_where="the outline",
        size=overhang,
        kind="cut line",
        lines=outline(finished),
        letters=(front_outside(front), front_letters(finished, "underside")),
        also=("sheet edges",),
        words="Write FRONT on the outside of the front wall. Stand the frame upside down on the sheet and draw round "
        f"it{outside}. Lift it off and write FRONT inside the outline, at the front: this lid fits this frame. The "
        "face that you drew on is the lid's underside.",
    )


def _cut(fitted: Fittings, allowance: float) -> tuple[Step, Step]:
    left = spare(allowance)
    uncut, sawn, finished = (sheet_block("lid", "uncut", fitted.lid, beyond) for beyond in (allowance, left, 0.0))
    cutting = partial(_lid, parts=("lid",), face="edges")
    return (
        cutting(
            tool="saw",
            operation="lid_saw",
            to_where="the waste side of the outline",
            size=left,
            removed=sheet_waste(uncut, sawn),
            words=f"Saw the lid out on the waste side of the outline, about {mm(left)} beside it.",
        ),
        cutting(
            tool="sander",
            operation="lid_sand",
            to_where="the outline",
            removed=sheet_waste(sawn, finished),
            words="Sand all four edges to the outline, and try the lid on its frame, front to front.",
        ),
    )


def _marked(design: Design, finished: Block, screws: tuple[Hole, ...]) -> tuple[Step, Step]:
    inset = design.timber.lapped / 2 + design.lid.overhang
    return (
        _pricked(
            from_where="corner",
            to_where="opposite corner",
            lines=sheet_diagonals(finished),
            letters=(front_letters(finished, "top"),),
            words="Turn the lid over, its front still to the front: the face without the outline is its upper face. "
            "Write FRONT on it too. Draw both diagonals and prick the centre where they cross.",
        ),
        _pricked(
            from_where="the lid's left and right edges",
            to_where="the screw holes' centres",
            size=inset,
            lines=(*(line for hole in screws for line in cross(hole)), midline(finished, (1.0, 0.0))),
            measures=screw_measures(finished, screws),
            words="For the two lid screws draw a line through the centre from the left to the right edge, parallel to "
            f"the front edge. On it measure {mm(inset)} in from either edge, and prick both places.",
        ),
    )


def _plaque_marked(plaque: BentPlaque, finished: Block, pilots: tuple[Hole, ...]) -> Step:
    """Return the marking of the plaque's screw holes, while the lid still has its centre."""
    (left, offset), (right, _) = plaque.screw_holes
    half = (right - left) / 2
    edge = {(0.0, -1.0): "front", (0.0, 1.0): "back", (-1.0, 0.0): "left", (1.0, 0.0): "right"}[plaque.towards]
    if offset:
        way = edge if offset > 0 else {"front": "back", "back": "front", "left": "right", "right": "left"}[edge]
        line = f"draw a line {mm(abs(offset))} from the centre, nearer to the {way} edge and parallel to it. On it"
    elif plaque.along[0]:
        line = "use the same line. On it"
    else:
        line = f"draw a line through the centre, parallel to the {edge} edge. On it"
    x, y = plaque.towards
    drawn = () if plaque.along[0] and not offset else (midline(finished, plaque.along, (offset * x, offset * y)),)
    middle = "the centre" if not offset else "the place beside the centre"
    return _pricked(
        from_where="the centre",
        to_where="the plaque screws' centres",
        size=half,
        lines=(*(line for hole in pilots for line in cross(hole)), *drawn),
        measures=pilot_measures(plaque, pilots),
        words=f"For the plaque's screws {line} measure {mm(half)} to either side of {middle}, and prick both places.",
    )


def _drilled(centre: Hole, screws: tuple[Hole, ...], pilots: tuple[Hole, ...]) -> Step:
    words = f"Clamp the lid on scrap wood. Drill the centre hole {mm(centre.diameter)} and the two screw holes "
    words += f"{mm(screws[0].diameter)}, right through."
    if pilots:
        words += f" Then the plaque's two holes: {_pilots(pilots)}."
    return _drilling(
        part="lid",
        parts=("lid",),
        from_where="the pricked centres",
        to_where="right through, into scrap wood",
        size=centre.diameter,
        drilled=(centre, *screws, *pilots),
        also=("drill through",),
        words=words,
    )


def _pilots(pilots: tuple[Hole, ...]) -> str:
    """Return how pilot holes are drilled."""
    deep = mm(pilots[0].depth)
    return (
        f"{mm(pilots[0].diameter)} wide and only {deep} deep (pilot holes: they guide the screws). Put tape on the bit "
        f"{deep} from its tip and stop there"
    )


def _into_walls(design: Design, fitted: Fittings) -> Step:
    pilots = (*fitted.holes_of("left wall"), *fitted.holes_of("right wall"))
    lid, deep = design.lid.thickness, pilots[0].depth
    return _drilling(
        part="lapped walls",
        parts=(*FRAME, "base", "lid"),
        raised=("lid",),
        from_where="the lid's screw holes",
        to_where="into the top edge",
        size=pilots[0].diameter,
        drilled=pilots,
        words="Lay the lid on the frame, front to front, and clamp it. Put tape on the bit "
        f"{mm(lid + deep)} from its tip: {mm(lid)} of lid and {mm(deep)} of wall. Through the lid's screw holes drill "
        f"holes of {mm(pilots[0].diameter)} for the screws (pilot holes) into the walls, and stop at the tape.",
    )


def pilot_drilling(pilots: tuple[Hole, ...]) -> Step:
    """Return the drilling of the pilot holes for the plaque's screws, in the lid."""
    return _drilling(
        part="lid",
        parts=("lid",),
        from_where="the pricked centres",
        to_where="into the lid",
        size=pilots[0].diameter,
        drilled=pilots,
        words=f"Clamp the lid on the bench and drill both holes {_pilots(pilots)}.",
    )
