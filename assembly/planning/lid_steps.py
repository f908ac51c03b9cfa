"""The lid: drawn round the frame, sawn, sanded to the line, drilled; and, last of all, everything screwed on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.planning.frame_steps import sheet_block
from assembly.planning.lines import cross, outline, sheet_diagonals
from assembly.planning.marks import sheet_waste
from assembly.planning.steps import Step
from assembly.shop_rules import mm

if TYPE_CHECKING:
    from assembly.design import Design
    from assembly.fittings import Fittings, Hole
    from assembly.planning.marks import Block

_LID, _HOLES, _SCREWS = "lid", "holes", "screws"


def lid_steps(design: Design, fitted: Fittings, uncut: Block) -> tuple[Step, ...]:
    """Return the lid's steps from the uncut sheet to the last hole that does not wait for the plaque."""
    finished = sheet_block("lid", "finished", fitted.lid, 0.0)
    holes = fitted.holes_of("lid")
    centre, screws, pilots = holes[0], holes[1:3], holes[3:]
    measured = pilots if design.lid_holes == "measured" else ()
    return (
        *_outlined(design, uncut, finished),
        *_marked(design, finished, screws),
        _drilled(centre, screws),
        _wall_pilots(fitted),
        *_plaque_pilots(design, measured),
    )


def _outlined(design: Design, uncut: Block, finished: Block) -> tuple[Step, Step, Step]:
    return _drawn_round(design, finished), _sawn(uncut, finished), _sanded()


def _drawn_round(design: Design, finished: Block) -> Step:
    overhang = design.lid.overhang
    out = f", {mm(overhang)} outside it on every side" if overhang else ""
    return Step(
        stage=_LID,
        part="lid",
        parts=("lid",),
        tool="pencil",
        operation="outline",
        face="underside",
        from_where="the frame's outside faces",
        to_where="the outline",
        size=overhang,
        kind="cut line",
        lines=outline(finished),
        words=f"Stand the frame upside down on the sheet and draw round it{out}. Mark the front of both: "
        "this lid fits this frame.",
    )


def _sawn(uncut: Block, finished: Block) -> Step:
    return Step(
        stage=_LID,
        part="lid",
        parts=("lid",),
        tool="saw",
        operation="lid_saw",
        face="edges",
        to_where="the waste side of the outline",
        removed=sheet_waste(uncut, finished),
        words="Saw the lid out on the waste side of the outline.",
    )


def _sanded() -> Step:
    return Step(
        stage=_LID,
        part="lid",
        parts=("lid",),
        tool="sander",
        operation="lid_sand",
        face="edges",
        to_where="the outline",
        words="Sand all four edges to the outline, and try the lid on its frame.",
    )


def _marked(design: Design, finished: Block, screws: tuple[Hole, ...]) -> tuple[Step, Step]:
    return _centre_marked(finished), _screws_marked(design, screws)


def _centre_marked(finished: Block) -> Step:
    return Step(
        stage=_HOLES,
        part="lid",
        parts=("lid",),
        tool="pencil, rule and bradawl",
        operation="hole_mark",
        face="top",
        from_where="corner",
        to_where="opposite corner",
        kind="centre",
        lines=sheet_diagonals(finished),
        words="Draw both diagonals of the lid's upper face and prick the centre where they cross.",
    )


def _screws_marked(design: Design, screws: tuple[Hole, ...]) -> Step:
    inset = design.timber.lapped / 2 + design.lid.overhang
    return Step(
        stage=_HOLES,
        part="lid",
        parts=("lid",),
        tool="pencil, rule and bradawl",
        operation="hole_mark",
        face="top",
        from_where="the lid's left and right edges",
        to_where="the screw holes' centres",
        size=inset,
        kind="centre",
        lines=tuple(line for hole in screws for line in cross(hole)),
        words=f"For the two lid screws measure {mm(inset)} in from the left and the right edge, level with "
        "the centre, and prick both.",
    )


def _drilled(centre: Hole, screws: tuple[Hole, ...]) -> Step:
    return Step(
        stage=_HOLES,
        part="lid",
        parts=("lid",),
        tool="drill",
        operation="drill",
        face="top",
        from_where="the pricked centres",
        to_where="right through, into scrap wood",
        size=centre.diameter,
        drilled=(centre, *screws),
        words=f"Clamp the lid on scrap wood. Drill the centre hole {mm(centre.diameter)} and the two screw holes "
        f"{mm(screws[0].diameter)}, right through.",
    )


def _wall_pilots(fitted: Fittings) -> Step:
    pilots = (*fitted.holes_of("left wall"), *fitted.holes_of("right wall"))
    return Step(
        stage=_HOLES,
        part="lapped walls",
        parts=("left wall", "right wall"),
        tool="drill",
        operation="drill",
        face="top",
        from_where="the lid's screw holes",
        to_where="into the top edge",
        size=pilots[0].diameter,
        drilled=pilots,
        words="Lay the lid on the frame, front to front, and clamp it. Through its screw holes drill pilot holes of "
        f"{mm(pilots[0].diameter)}, {mm(pilots[0].depth)} deep into the walls.",
    )


def _plaque_pilots(design: Design, pilots: tuple[Hole, ...]) -> tuple[Step, ...]:
    if not pilots:
        return ()
    spacing, offset = design.plaque.hole_spacing, design.plaque.hole_offset
    aside = f", {mm(abs(offset))} {'towards' if offset > 0 else 'away from'} the bend" if offset else ""
    marking = Step(
        stage=_HOLES,
        part="lid",
        parts=("lid",),
        tool="pencil, rule and bradawl",
        operation="hole_mark",
        face="top",
        from_where="the centre hole",
        to_where="the plaque screws' centres",
        size=spacing / 2,
        kind="centre",
        lines=tuple(line for hole in pilots for line in cross(hole)),
        words=f"For the plaque's screws measure {mm(spacing / 2)} to either side of the centre, along the "
        f"{design.plaque.side} edge{aside}, and prick both.",
    )
    return marking, pilot_drilling(pilots)


def pilot_drilling(pilots: tuple[Hole, ...]) -> Step:
    """Return the drilling of the pilot holes for the plaque's screws, in the lid."""
    return Step(
        stage=_HOLES,
        part="lid",
        parts=("lid",),
        tool="drill",
        operation="drill",
        face="top",
        from_where="the pricked centres",
        to_where="into the lid",
        size=pilots[0].diameter,
        drilled=pilots,
        words=f"Clamp the lid on scrap wood and drill both pilot holes {mm(pilots[0].diameter)}, "
        f"{mm(pilots[0].depth)} deep.",
    )


def screw_steps(design: Design, also: tuple[str, ...]) -> tuple[Step, Step, Step]:
    """Return the last steps: plaque on the lid, stem and cable, lid on the frame.

    `also` are operations whose cautions go with the stem and the cable besides those of low voltage.
    """
    return _plaque_screwed(design), _stem_fitted(design, also), _lid_screwed(design)


def _plaque_screwed(design: Design) -> Step:
    screw = design.plaque.screw
    return Step(
        stage=_SCREWS,
        part="plaque and lid",
        parts=("lid", "plaque", "plaque screw 1", "plaque screw 2"),
        tool="screwdriver",
        operation="plaque screws",
        face="top",
        size=screw.length,
        words=f"Screw the plaque to the lid with the two screws {mm(screw.length)} long, the stem hole over the "
        "centre hole. Stop when the heads are down.",
    )


def _stem_fitted(design: Design, also: tuple[str, ...]) -> Step:
    stem = design.stem
    return Step(
        stage=_SCREWS,
        part=f"{stem.name} and cable",
        parts=("lid", "plaque", "stem", "back wall"),
        tool="hands",
        operation="stem",
        face="underside",
        from_where="inside",
        to_where="up through lid and plaque",
        size=stem.diameter,
        also=("low voltage", *also),
        words=f"Put the {stem.name} ({mm(stem.diameter)}) up through lid and plaque. If there is a cable, lead it "
        "out through the back wall.",
    )


def _lid_screwed(design: Design) -> Step:
    screw = design.lid.screw
    return Step(
        stage=_SCREWS,
        part="lid and frame",
        parts=("left wall", "right wall", "lid", "left lid screw", "right lid screw"),
        tool="screwdriver",
        operation="lid screws",
        face="top",
        size=screw.length,
        words=f"Lay the lid on, front to front, and drive the two screws {mm(screw.length)} long into the lapped "
        "walls.",
    )
