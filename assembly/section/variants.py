"""A design with another section: other thicknesses, height, timber or screw, outside or inside size kept.

Every variant is read as strictly as a file is, so that a section which no box can have is refused in words.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from pydantic import ValidationError

from assembly.data.tables import all_screws
from assembly.errors import InputError
from assembly.files.fault_words import words_for
from assembly.materials.screws import pilot_band
from assembly.materials.timbers import GIVEN, known_as
from assembly.model.design import Design
from assembly.nominal.frame import frame
from assembly.rules.design_rules import design_faults, laps_do_not_meet, run, walls_leave_an_inside

if TYPE_CHECKING:
    from assembly.data.tables import ScrewSize
    from assembly.errors import Problem

Keep = Literal["outside", "inside"]
_HEAD = 2.0  # head over diameter of a countersunk wood screw; common practice, no source


def varied(
    design: Design,
    *,
    lapped: float | None = None,
    plain: float | None = None,
    height: float | None = None,
    timber: str | None = None,
    lap_share: float | None = None,
    keep: Keep = "outside",
) -> Design:
    """Return `design` with another section.

    Parameters
    ----------
    design : Design
        The present design.
    lapped, plain, height : float, optional
        Thickness of lapped and plain walls, and height of the walls, mm; as they are if left out.
    timber : str, optional
        Another timber by name; properties that the design gives for its own timber go with the old one.
    lap_share : float, optional
        Depth of the lap as a share of the lapped thickness.
    keep : {"outside", "inside"}
        What stays on plan: the outside size, or the room inside.

    Raises
    ------
    InputError
        If no box can have this section: a size out of range, or walls that leave nothing between them.
    """
    data: dict[str, Any] = design.model_dump()
    asked = {"lapped": lapped, "plain": plain, "lap_share": lap_share}
    data["timber"] |= {key: float(value) for key, value in asked.items() if value is not None}
    if timber is not None and known_as(timber) != known_as(design.timber.name):
        data["timber"] |= {"name": timber, **dict.fromkeys((*GIVEN, "sawing"))}
    if height is not None:
        data["box"]["height"] = float(height)
    if keep == "inside":
        x, y = ("length", "width") if design.box.lapped == "ends" else ("width", "length")
        data["box"][x] += 2 * (data["timber"]["lapped"] - design.timber.lapped)
        data["box"][y] += 2 * (data["timber"]["plain"] - design.timber.plain)
    return _read(data)


def with_inside(design: Design, present: Design) -> Design:
    """Return `design` with the present design's room inside on plan: only the outside length and width change."""
    wanted, now = frame(present).inside, frame(design).inside
    x, y = ("length", "width") if design.box.lapped == "ends" else ("width", "length")
    data: dict[str, Any] = design.model_dump()
    data["box"][x] += wanted[0] - now[0]
    data["box"][y] += wanted[1] - now[1]
    return _read(data)


def with_screw(design: Design, size: ScrewSize, kind: Literal["softwood", "hardwood"]) -> Design:
    """Return `design` with lid screws of another size: length as it is, holes of the table for softwood or hardwood."""
    assert size.clearance_least is not None
    data: dict[str, Any] = design.model_dump()
    head = _HEAD * size.diameter
    data["lid"]["screw"] |= {
        "diameter": size.diameter,
        "pilot": pilot_band(size, kind)[1],
        "hole": size.clearance_least,
        "head": head,
    }
    return _read(data)


def table_screws() -> tuple[ScrewSize, ...]:
    """Return the screws of the table whose pilot and clearance holes are known."""
    return tuple(s for s in all_screws() if s.pilot_softwood_most and s.pilot_hardwood_most and s.clearance_least)


def broken_rules(design: Design) -> tuple[Problem, ...]:
    """Return the shop rules that a section breaks; limits that it can't meet are the fit's, not counted here."""
    return tuple(fault for fault in design_faults(design) if not fault.where.startswith("limits."))


def _read(data: dict[str, Any]) -> Design:
    try:
        found = Design.model_validate(data)
    except ValidationError as error:
        faults = error.errors(include_url=False)
        words = [f"{'.'.join(map(str, fault['loc']))}: {words_for(Design, fault)}" for fault in faults]
        raise InputError("\n".join(words)) from None
    impossible = run((laps_do_not_meet, walls_leave_an_inside), dict(found))
    if impossible:
        raise InputError("\n".join(map(str, impossible)))
    return found
