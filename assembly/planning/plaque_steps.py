"""The plaque: cut flat by laser, bent on the hot line and, where the design says so, marked through onto the lid.

Its sizes are told on the flat sheet; it has no lines to mark, since the laser cuts outline and holes from the drawing.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from assembly.planning.lid_steps import pilot_drilling
from assembly.planning.lines import cross
from assembly.planning.steps import Step
from assembly.shop_rules import mm, told

if TYPE_CHECKING:
    from assembly.design import Design
    from assembly.fittings import Fittings
    from assembly.plaque import BentPlaque

_PLAQUE = "plaque"


def plaque_steps(design: Design, fitted: Fittings) -> tuple[Step, ...]:
    """Return the cutting and bending of the plaque, and the holes that wait for it."""
    through = design.lid_holes == "marked through"
    return (
        _cut(design, fitted),
        _bent(fitted.plaque),
        *(_marked_through(fitted) if through else ()),
    )


def _cut(design: Design, fitted: Fittings) -> Step:
    plaque, wording = fitted.plaque, design.plaque.wording
    engraved = f' Engrave "{wording}" on the part that will stand.' if wording else ""
    return Step(
        stage=_PLAQUE,
        part=_PLAQUE,
        parts=(_PLAQUE,),
        tool="laser cutter",
        operation="laser",
        face="the flat sheet",
        from_where="the flat leg's free edge",
        to_where="the standing leg's free edge",
        size=plaque.developed,
        drilled=fitted.holes_of(_PLAQUE),
        words=f"Have the plaque cut flat from {mm(plaque.thickness)} acrylic, {mm(round(plaque.developed, 1))} by "
        f"{mm(plaque.width)}, with the stem hole {mm(plaque.stem_hole)} and two screw holes "
        f"{mm(plaque.screw_hole)}.{engraved}",
    )


def _bent(plaque: BentPlaque) -> Step:
    way, line = "up" if plaque.up else "down", mm(round(plaque.bend_line, 1))
    angle = told(round(math.degrees(plaque.angle), 3))
    return Step(
        stage=_PLAQUE,
        part=_PLAQUE,
        parts=(_PLAQUE,),
        tool="line bender",
        operation="bend",
        face="the flat sheet",
        from_where="the flat leg's free edge",
        to_where="the middle of the bend",
        size=plaque.bend_line,
        words=f"Take off the film. Lay the sheet with the line {line} from the flat leg's edge over the hot strip, "
        f"wait until it gives, bend it {way} by {angle} degrees and let it cool in the jig.",
    )


def _marked_through(fitted: Fittings) -> tuple[Step, Step]:
    pilots = tuple(hole for hole in fitted.holes_of("lid") if "pilot" in hole.name)
    marking = Step(
        stage="holes",
        part="lid",
        parts=("lid", _PLAQUE),
        tool="bradawl",
        operation="hole_mark",
        face="top",
        from_where="the plaque's screw holes",
        to_where="the lid",
        kind="centre",
        lines=tuple(line for hole in pilots for line in cross(hole)),
        words="Lay the plaque on the lid, its stem hole over the centre hole, and prick the lid through the middle of "
        "both screw holes.",
    )
    return marking, pilot_drilling(pilots)
