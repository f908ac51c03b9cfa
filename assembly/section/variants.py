"""A design with another section: other thicknesses, height, timber or screw, outside or inside size kept.

Every variant is read as strictly as a file is, so that a section which no box can have is refused in words.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from pydantic import ValidationError

from assembly.changes.apply import as_written, laid
from assembly.changes.change import Change, design_setting
from assembly.data.tables import all_screws, given, round_head
from assembly.errors import ImpossibleError
from assembly.files.fault_words import words_for
from assembly.materials.screws import pilot_band
from assembly.materials.timbers import GIVEN, known_as
from assembly.model.design import Design, RoundHead
from assembly.nominal.frame import frame
from assembly.rules.design_rules import design_faults, laps_do_not_meet, run, walls_leave_an_inside
from assembly.rules.shop import fault

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.changes.change import Kind
    from assembly.data.tables import ScrewSize
    from assembly.errors import Problem
    from assembly.files.settings import Setting

Keep = Literal["outside", "inside"]
_WORDS = {
    "lapped": "lapped walls of {:g} mm",
    "plain": "plain walls of {:g} mm",
    "lap_share": "a lap share of {:g}",
    "height": "walls {:g} mm high",
}
_KINDS: dict[str, Kind] = {"lapped": "lapped", "plain": "plain", "lap_share": "lap share", "height": "height"}
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
    """Return `design` with another section, as `section_change` has it.

    Raises
    ------
    ImpossibleError
        If no box can have this section: a size out of range, or walls that leave nothing between them.
    """
    sizes = {"lapped": lapped, "plain": plain, "lap_share": lap_share}
    return changed(design, section_change(design, **sizes, height=height, timber=timber, keep=keep))


def section_change(
    design: Design,
    *,
    lapped: float | None = None,
    plain: float | None = None,
    height: float | None = None,
    timber: str | None = None,
    lap_share: float | None = None,
    keep: Keep = "outside",
) -> Change:
    """Return the change to another section.

    Parameters
    ----------
    design : Design
        The present design.
    lapped, plain, height : float, optional
        Thickness of lapped and plain walls, and height of the walls, mm; as they are if left out.
    timber : str, optional
        Another timber by name; properties that the design gives for its own timber go with the old one, so that the
        whole table is set.
    lap_share : float, optional
        Depth of the lap as a share of the lapped thickness.
    keep : {"outside", "inside"}
        What stays on plan: the outside size, or the room inside.
    """
    asked = {"lapped": lapped, "plain": plain, "lap_share": lap_share}
    sizes = {key: float(value) for key, value in asked.items() if value is not None}
    words = {key: _WORDS[key].format(value) for key, value in sizes.items()}
    settings = [design_setting("timber", key, to=value) for key, value in sizes.items()]
    if timber is not None and known_as(timber) != known_as(design.timber.name):
        own = {key: value for key, value in as_written(design.timber).items() if key not in {*GIVEN, "sawing"}}
        settings = [design_setting("timber", to=own | {"name": timber} | sizes)]
        words["timber"] = timber
    if height is not None:
        settings.append(design_setting("box", "height", to=float(height)))
        words["height"] = _WORDS["height"].format(height)
    if keep == "inside":
        settings += _outside_for(design, sizes)
    kind = _KINDS.get(next(iter(words), ""), "section") if len(words) == 1 else "section"
    return Change(kind=kind, words=" and ".join(words.values()), settings=tuple(settings))


def _outside_for(design: Design, sizes: dict[str, float]) -> Iterator[Setting]:
    """Yield the outside sizes that keep the room inside as it is with walls of other thicknesses."""
    for side, wall in zip(_sides(design), ("lapped", "plain"), strict=True):
        now: float = getattr(design.timber, wall)
        if wall in sizes:
            yield design_setting("box", side, to=getattr(design.box, side) + 2 * (sizes[wall] - now))


def inside_kept(design: Design, present: Design) -> Change:
    """Return the change to the present design's room inside on plan: only the outside length and width change."""
    wanted, now = frame(present).inside, frame(design).inside
    sides = zip(_sides(design), wanted, now, strict=True)
    return Change(
        kind="inside",
        words="the present inside kept (--keep inside)",
        settings=tuple(
            design_setting("box", side, to=getattr(design.box, side) + (room - had)) for side, room, had in sides
        ),
    )


def _sides(design: Design) -> tuple[Literal["length", "width"], Literal["length", "width"]]:
    """Return what the drawing calls the outside sizes across the lapped walls, and across the plain ones."""
    return ("length", "width") if design.box.lapped == "ends" else ("width", "length")


def other_screw(size: ScrewSize, kind: Literal["softwood", "hardwood"], now: RoundHead | None = None) -> Change:
    """Return the change to lid screws of another size: length as it is, holes of the table for softwood or hardwood.

    Where the screws have a round head `now`, they get that of the table with its washer.
    """
    assert size.clearance_least is not None
    sizes: dict[str, object] = {
        "diameter": size.diameter,
        "pilot": pilot_band(size, kind)[1],
        "hole": size.clearance_least,
        "head": _HEAD * size.diameter,
    }
    if now:
        row = round_head(size.diameter)
        sizes["round_head"] = {name: given(row, name) for name in RoundHead.model_fields}
    return Change(
        kind="screw",
        words=f"lid screws of {size.name} with the table's holes",
        settings=tuple(design_setting("lid", "screw", key, to=value) for key, value in sizes.items()),
    )


NOT_PROVEN = Change(
    kind="not proven",
    words="the section is not marked as proven",
    settings=(design_setting("timber", "proven", to=False),),
)


def unproves(change: Change) -> bool:
    """Tell whether a change makes another section, or other lid screws, without saying that such boxes have held."""
    parts = (("timber",), ("box", "height"), ("lid", "screw"))
    said = change.touches("design", ("timber", "proven"))
    return not said and any(change.touches("design", part) for part in parts)


def changed(design: Design, change: Change) -> Design:
    """Return `design` with a change to its section, which may break shop rules: those are for the verdict to tell.

    Raises
    ------
    ImpossibleError
        If no box can be so: a size out of range, or walls that leave nothing between them.
    """
    data = laid(change, "design", design).values
    try:
        found = Design.model_validate(data)
    except ValidationError as error:
        faults = error.errors(include_url=False)
        raise ImpossibleError(
            [fault(".".join(map(str, each["loc"])), words_for(Design, each)) for each in faults]
        ) from None
    impossible = run((laps_do_not_meet, walls_leave_an_inside), dict(found))
    if impossible:
        raise ImpossibleError(impossible)
    return found


def table_screws() -> tuple[ScrewSize, ...]:
    """Return the screws of the table whose pilot and clearance holes are known."""
    return tuple(s for s in all_screws() if s.pilot_softwood_most and s.pilot_hardwood_most and s.clearance_least)


def broken_rules(design: Design) -> tuple[Problem, ...]:
    """Return the rules that a section breaks, limits that no such box can keep among them, as a file is refused."""
    return tuple(design_faults(design))
