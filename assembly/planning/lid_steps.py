"""The lid: drawn round the frame, sawn, sanded to the line, drilled; and, last of all, everything screwed on."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.frame_steps import FRAME, sheet_block
from assembly.planning.lines import cross, outline, sheet_diagonals
from assembly.planning.marks import sheet_waste
from assembly.planning.steps import Step
from assembly.shop_rules import mm

if TYPE_CHECKING:
    from assembly.design import Design
    from assembly.fittings import Fittings, Hole
    from assembly.planning.marks import Block

_lid = partial(Step, stage="lid", part="lid", parts=("lid",))
_hole = partial(Step, stage="holes", part="lid", parts=("lid",), face="top")
_pricked = partial(_hole, tool="pencil, rule and bradawl", operation="hole_mark", kind="centre")
_drilling = partial(Step, stage="holes", tool="drill", operation="drill", face="top")
_screwing = partial(Step, stage="screws", tool="screwdriver", face="top")

_UPPER = ("lid", "plaque", "plaque screw 1", "plaque screw 2")


def lid_steps(design: Design, fitted: Fittings, uncut: Block) -> tuple[Step, ...]:
    """Return the lid's steps from the uncut sheet to the last hole that does not wait for the plaque."""
    finished = sheet_block("lid", "finished", fitted.lid, 0.0)
    holes = fitted.holes_of("lid")
    centre, screws, pilots = holes[0], holes[1:3], holes[3:]
    measured = pilots if design.lid_holes == "measured" else ()
    return (
        *_outlined(design, uncut, finished),
        *_marked(design, finished, screws),
        *_drilled(fitted, centre, screws),
        *_plaque_pilots(design, measured),
    )


def _outlined(design: Design, uncut: Block, finished: Block) -> tuple[Step, Step, Step]:
    overhang = design.lid.overhang
    outside = f", {mm(overhang)} outside it on every side" if overhang else ""
    return (
        _lid(
            tool="pencil",
            operation="outline",
            face="underside",
            from_where="the frame's outside faces",
            to_where="the outline",
            size=overhang,
            kind="cut line",
            lines=outline(finished),
            words=f"Stand the frame upside down on the sheet and draw round it{outside}. Mark the front of both: "
            "this lid fits this frame.",
        ),
        _lid(
            tool="saw",
            operation="lid_saw",
            face="edges",
            to_where="the waste side of the outline",
            removed=sheet_waste(uncut, finished),
            words="Saw the lid out on the waste side of the outline.",
        ),
        _lid(
            tool="sander",
            operation="lid_sand",
            face="edges",
            to_where="the outline",
            words="Sand all four edges to the outline, and try the lid on its frame.",
        ),
    )


def _marked(design: Design, finished: Block, screws: tuple[Hole, ...]) -> tuple[Step, Step]:
    inset = design.timber.lapped / 2 + design.lid.overhang
    return (
        _pricked(
            from_where="corner",
            to_where="opposite corner",
            lines=sheet_diagonals(finished),
            words="Draw both diagonals of the lid's upper face and prick the centre where they cross.",
        ),
        _pricked(
            from_where="the lid's left and right edges",
            to_where="the screw holes' centres",
            size=inset,
            lines=tuple(line for hole in screws for line in cross(hole)),
            words=f"For the two lid screws measure {mm(inset)} in from the left and the right edge, level with "
            "the centre, and prick both.",
        ),
    )


def _drilled(fitted: Fittings, centre: Hole, screws: tuple[Hole, ...]) -> tuple[Step, Step]:
    pilots = (*fitted.holes_of("left wall"), *fitted.holes_of("right wall"))
    return (
        _drilling(
            part="lid",
            parts=("lid",),
            from_where="the pricked centres",
            to_where="right through, into scrap wood",
            size=centre.diameter,
            drilled=(centre, *screws),
            words=f"Clamp the lid on scrap wood. Drill the centre hole {mm(centre.diameter)} and the two screw holes "
            f"{mm(screws[0].diameter)}, right through.",
        ),
        _drilling(
            part="lapped walls",
            parts=(*FRAME, "base", "lid"),
            raised=("lid",),
            from_where="the lid's screw holes",
            to_where="into the top edge",
            size=pilots[0].diameter,
            drilled=pilots,
            words="Lay the lid on the frame, front to front, and clamp it. Through its screw holes drill pilot holes "
            f"of {mm(pilots[0].diameter)}, {mm(pilots[0].depth)} deep into the walls.",
        ),
    )


def _plaque_pilots(design: Design, pilots: tuple[Hole, ...]) -> tuple[Step, ...]:
    if not pilots:
        return ()
    spacing, offset = design.plaque.hole_spacing, design.plaque.hole_offset
    aside = f", {mm(abs(offset))} {'towards' if offset > 0 else 'away from'} the bend" if offset else ""
    marking = _pricked(
        from_where="the centre hole",
        to_where="the plaque screws' centres",
        size=spacing / 2,
        lines=tuple(line for hole in pilots for line in cross(hole)),
        words=f"For the plaque's screws measure {mm(spacing / 2)} to either side of the centre, along the "
        f"{design.plaque.side} edge{aside}, and prick both.",
    )
    return marking, pilot_drilling(pilots)


def pilot_drilling(pilots: tuple[Hole, ...]) -> Step:
    """Return the drilling of the pilot holes for the plaque's screws, in the lid."""
    return _drilling(
        part="lid",
        parts=("lid",),
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
    plaque, lid = mm(design.plaque.screw.length), mm(design.lid.screw.length)
    return (
        _screwing(
            part="plaque and lid",
            parts=_UPPER,
            operation="plaque screws",
            size=design.plaque.screw.length,
            words=f"Screw the plaque to the lid with the two screws {plaque} long, the stem hole over the centre hole. "
            "Stop when the heads are down.",
        ),
        _stem_fitted(design, also),
        _screwing(
            part="lid and frame",
            parts=(*FRAME, "base", *_UPPER, "stem", "left lid screw", "right lid screw"),
            operation="lid screws",
            size=design.lid.screw.length,
            words=f"Lay the lid on, front to front, and drive the two screws {lid} long into the lapped walls.",
        ),
    )


def _stem_fitted(design: Design, also: tuple[str, ...]) -> Step:
    stem = design.stem
    return Step(
        stage="screws",
        part=f"{stem.name} and cable",
        parts=(*FRAME, "base", *_UPPER, "stem"),
        raised=(*_UPPER, "stem"),
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
