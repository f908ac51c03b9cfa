"""A design in the air it is made in and the air it lives in: walls, and the sheets of base and lid on them.

Each change is of the nominal size, free to move; what glue or screws hold back becomes strain and is not worked out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.data.tables import SheetMaterial, sheet
from assembly.errors import InputError
from assembly.materials.moisture import Climate
from assembly.materials.seasons import PlaneSeason, Season, plane_season, plus, season
from assembly.materials.sheets import sheet_change, sheet_thickness_change
from assembly.materials.timbers import walls_of
from assembly.nominal.frame import frame

if TYPE_CHECKING:
    from assembly.materials.seasons import Range
    from assembly.model.design import Design
    from assembly.nominal.frame import Frame


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSeason:
    """What another air does to the base or the lid; a text says why there is no figure."""

    part: str
    material: str
    overhang: tuple[Range, Range] | str  # how much further it stands out on each side, along x and y, mm
    thickness: float | str  # change, mm
    within: bool  # whether every figure lies where its method holds


def climates(design: Design) -> tuple[Climate, Climate]:
    """Return the air that a design is made in and lives in; refused where the design gives none."""
    found = design.climate
    if found is None:
        msg = "climate: not given; add a [climate] table with making and home, each a temperature and a humidity"
        raise InputError(msg)
    making, home = (
        Climate(name=name, temperature_c=air.temperature, humidity=air.humidity)
        for name, air in (("the making room", found.making), ("its home", found.home))
    )
    return making, home


def season_of(design: Design) -> Season | PlaneSeason | None:
    """Return what the move to its home does to a design's walls; None where it gives no climate."""
    if design.climate is None:
        return None
    walls, (making, home) = walls_of(design.timber), climates(design)
    if isinstance(walls, SheetMaterial) and walls.thickness_per_mc is None:
        return plane_season(frame(design), walls, making, home)
    return season(frame(design), walls, design.timber.sawing, making, home)


def sheet_seasons(design: Design) -> tuple[SheetSeason, ...]:
    """Return what the move to its home does to base and lid; nothing where the design gives no climate."""
    walls = season_of(design)
    if walls is None:
        return ()
    parts = (("base", design.base.material, design.base.thickness), ("lid", design.lid.material, design.lid.thickness))
    return tuple(_sheet_season(design, walls, *part) for part in parts)


def _sheet_season(
    design: Design, walls: Season | PlaneSeason, part: str, material: str, thickness: float
) -> SheetSeason:
    try:
        panel = sheet(material)
    except InputError as error:
        return SheetSeason(part=part, material=material, overhang=str(error), thickness=str(error), within=True)
    making, home = climates(design)
    overhang: tuple[Range, Range] | str = (
        walls.missing if isinstance(walls, PlaneSeason) else overhang_change(frame(design), walls, panel, making, home)
    )
    try:
        thicker: float | str = sheet_thickness_change(panel, thickness, making, home).change_mm
    except InputError as error:
        thicker = str(error)
    within = sheet_change(panel, thickness, making, home).within
    return SheetSeason(part=part, material=material, overhang=overhang, thickness=thicker, within=within)


def overhang_change(
    box: Frame, walls: Season, panel: SheetMaterial, making: Climate, home: Climate
) -> tuple[Range, Range]:
    """Return how much further a lid or base as big as the frame stands out on each side, along x and y, mm."""
    sizes = (box.along_x, box.along_y)
    along_x, along_y = (
        plus(sheet_change(panel, size, making, home).change_mm / 2, outside, -0.5)
        for size, outside in zip(sizes, walls.frame, strict=True)
    )
    return along_x, along_y
