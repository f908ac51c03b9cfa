"""Sheets in other air: how plywood, MDF and acrylic move by their own slopes, and what damp does to them.

plane : the two directions of a sheet that are not its thickness; both move alike

Panels do not follow the equilibrium equation of solid wood. Where no figure is published here, that is said.
"""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

import numpy as np

from assembly.data.tables import given, rows
from assembly.errors import InputError
from assembly.materials.moisture import Movement

if TYPE_CHECKING:
    from collections.abc import Mapping

    from assembly.data.tables import SheetMaterial
    from assembly.materials.moisture import Climate

DRY_HUMIDITY = 65.0  # percent; the limit of dry conditions (20 °C and 65 %), EN 1995-1-1 service class 1, from memory


@functools.cache
def _mdf_table() -> tuple[tuple[float, ...], tuple[float, ...]]:
    table = rows("mdf_moisture")
    middle = tuple((given(r, "mc_least") + given(r, "mc_most")) / 2 for r in table)
    return tuple(given(r, "humidity") for r in table), middle


def mdf_mc(humidity: float) -> tuple[float, bool]:
    """Return the moisture content of MDF at a relative humidity, both percent, and whether its table reaches there.

    The middle of the published range, straight between rows and beyond the table's ends (30 to 90 %).
    """
    at, mc = _mdf_table()
    if at[0] <= humidity <= at[-1]:
        return float(np.interp(humidity, at, mc)), True
    near, end = (1, 0) if humidity < at[0] else (-2, -1)
    slope = (mc[end] - mc[near]) / (at[end] - at[near])
    return mc[end] + slope * (humidity - at[end]), False


def _mdf_rise(making: Climate, home: Climate) -> tuple[float, bool]:
    """Return how much MDF's moisture content rises between two climates, percent, and whether its table reaches."""
    (before, in_before), (after, in_after) = mdf_mc(making.humidity), mdf_mc(home.humidity)
    return after - before, in_before and in_after


def sheet_change(panel: SheetMaterial, size_mm: float, making: Climate, home: Climate) -> Movement:
    """Return how a size in a panel's plane changes, by the panel's own slopes; refused where none is published.

    Acrylic is taken by its warmth alone.
    """
    if panel.plane_per_mc is not None:
        rise, within = _mdf_rise(making, home)
        change, method = panel.plane_per_mc * rise, f"{panel.name}'s own slope per % of its moisture"
    elif panel.plane_per_rh is not None:
        rise, within = home.humidity - making.humidity, True
        change, method = panel.plane_per_rh * rise, f"{panel.name}'s own slope per % of humidity"
    elif panel.expansion_per_k is not None:
        rise, within = home.temperature_c - making.temperature_c, True
        change, method = panel.expansion_per_k * rise, "expansion with warmth, moisture left out"
    else:
        msg = f"sheet {panel.name!r}: no published figure here for its movement"
        raise InputError(msg)
    return Movement(change_mm=size_mm * change, method=method, within=within, source=panel.source)


def sheet_thickness_change(panel: SheetMaterial, thickness_mm: float, making: Climate, home: Climate) -> Movement:
    """Return how a panel's thickness changes between two climates; refused where no figure is published."""
    if panel.thickness_per_mc is None:
        msg = f"sheet {panel.name!r}: no published figure here for its thickness against moisture"
        raise InputError(msg)
    rise, within = _mdf_rise(making, home)
    return Movement(
        change_mm=thickness_mm * panel.thickness_per_mc * rise,
        method=f"{panel.name}'s own slopes per % of its moisture",
        within=within,
        source=panel.source,
    )


def is_mdf(material: str) -> bool:
    """Return whether a material's name is that of MDF."""
    return "mdf" in material.casefold() or "fibreboard" in material.casefold()


def damp_cautions(home: Climate, parts: Mapping[str, str]) -> tuple[str, ...]:
    """Return the cautions that a damp home calls for, none in a dry one; `parts` are materials by part of the box."""
    if home.humidity <= DRY_HUMIDITY:
        return ()
    air = f"{home.name}: {home.humidity:g} % humidity is over the {DRY_HUMIDITY:g} % of dry conditions"
    glue = f"{air}; an indoor wood glue (class D1 or D2) softens there: use one its maker names for damp places"
    swelling = [part for part, material in parts.items() if is_mdf(material)]
    if not swelling:
        return (glue,)
    return (
        glue,
        f"{air}; standard MDF swells there ({', '.join(swelling)}): use a moisture-resistant sheet and seal its edges",
    )
