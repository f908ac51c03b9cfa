"""What a box's walls, joints, lid and base do when it moves from the air it is made in to the air it lives in.

range : the least and the most of a change (mm, signed), since a board's rings run anywhere from radial to tangential
        unless its sawing is given

Symbols and axes as in `assembly.frame`: x along the plain walls, y along the lapped walls. Each change is of the
nominal size, free to move; what glue holds back becomes strain in its line and is not worked out here.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.soundness.moisture import Movement, across_range, along_change
from assembly.tables import given, rows

if TYPE_CHECKING:
    from assembly.frame import Frame
    from assembly.soundness.moisture import Across, Climate, Sawing
    from assembly.tables import Sheet, Species

Range = tuple[float, float]

DRY_HUMIDITY = 65.0  # percent; the limit of dry conditions (20 °C and 65 %), EN 1995-1-1 service class 1, from memory


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """Changes of a box's sizes in mm between two climates, + where the size grows; pairs are ranges."""

    mc: tuple[float, float]  # moisture content of the walls before and after, percent
    within: bool  # whether every figure lies where its method holds
    method: str
    height: Range  # of any wall
    lapped: Range  # thickness of a lapped wall
    plain: Range  # thickness of a plain wall
    depth: Range  # size of the shoulder along x
    tongue: Range
    step: Range  # end of the lapped wall against the plain wall's outside face, + proud
    top_step: float  # the most that two walls' heights can differ
    frame: tuple[Range, Range]  # outside sizes along x and y
    inside: tuple[Range, Range]  # clear sizes inside along x and y
    cheek_slip: Range  # end of the plain wall against the cheek, along y
    shoulder_slip: Range  # shoulder against the face of the plain wall, along x

    @property
    def worst_step(self) -> float:
        """Largest step, proud or shy, mm."""
        return max(map(abs, self.step))


def season(box: Frame, timber: Species, sawing: Sawing | None, making: Climate, home: Climate) -> Season:
    """Return what the move from `making` to `home` does to a frame of solid timber.

    Parameters
    ----------
    box : Frame
        The nominal frame, as made.
    timber : Species
        The timber of all four walls.
    sawing : {"flat", "quarter"} or None
        How the boards were sawn; None where it is not known.
    making, home : Climate
        The air it is made in and the air it will live in.

    Raises
    ------
    InputError
        If the table has no movement figure for a ring direction that is needed.

    Notes
    -----
    A plain wall is located by its inside face at the shoulder, whose distance from the lapped wall's end runs along the
    grain; so the step is that length's change less the plain wall's. The shoulder's depth moves across the grain and
    the plain wall's end along it, and the same holds at the cheek: no gap opens, the glue lines slip or are strained.
    """
    mc = (making.emc, home.emc)

    def move(across: Across, size: float) -> tuple[Movement, Movement]:
        return across_range(timber, sawing, across, size, mc)

    height, plain = move("height", box.height), move("thickness", box.plain)
    lapped, depth, tongue = (_pair(move("thickness", size)) for size in (box.lapped, box.depth, box.tongue))
    thick = _pair(plain)
    lap_along, depth_along, plain_along, lapped_along = (
        along_change(size, *mc) for size in (box.plain, box.depth, box.plain_length, box.lapped_length)
    )
    return Season(
        mc=mc,
        within=all(m.within for m in (*height, *plain)) and making.within_table and home.within_table,
        method=plain[0].method,
        height=_pair(height),
        lapped=lapped,
        plain=thick,
        depth=depth,
        tongue=tongue,
        step=_plus(lap_along, thick, -1),
        top_step=height[1].change_mm - height[0].change_mm,
        frame=(_plus(plain_along, tongue, 2), (lapped_along, lapped_along)),
        inside=(_plus(plain_along, depth, -2), _plus(lapped_along, thick, -2)),
        cheek_slip=_plus(-lap_along, thick, 1),
        shoulder_slip=_plus(-depth_along, depth, 1),
    )


def _pair(moves: tuple[Movement, Movement]) -> Range:
    return moves[0].change_mm, moves[1].change_mm


def _plus(constant: float, change: Range, times: float) -> Range:
    """Return constant + times · change, as a range with its least first."""
    ends = (constant + times * change[0], constant + times * change[1])
    return min(ends), max(ends)


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


def sheet_change(panel: Sheet, size_mm: float, making: Climate, home: Climate) -> Movement:
    """Return how a size in a panel's plane changes, by the panel's own slopes; refused where none is published.

    Panels do not follow the equilibrium equation of solid wood. Acrylic is taken by its warmth alone.
    """
    if panel.plane_per_mc is not None:
        (before, in_before), (after, in_after) = mdf_mc(making.humidity), mdf_mc(home.humidity)
        change, method, within = panel.plane_per_mc * (after - before), "slope per % moisture", in_before and in_after
    elif panel.plane_per_rh is not None:
        change, method, within = panel.plane_per_rh * (home.humidity - making.humidity), "slope per % humidity", True
    elif panel.expansion_per_k is not None:
        kelvins = home.temperature_c - making.temperature_c
        change, method, within = panel.expansion_per_k * kelvins, "expansion with warmth, moisture left out", True
    else:
        msg = f"sheet {panel.name!r}: no movement figure in the table; give one in the design"
        raise InputError(msg)
    return Movement(change_mm=size_mm * change, method=method, within=within, source=panel.source)


def sheet_thickness_change(panel: Sheet, thickness_mm: float, mc_change: float) -> float:
    """Return how a panel's thickness (mm) changes over a change of its moisture content (percent)."""
    if panel.thickness_per_mc is None:
        msg = f"sheet {panel.name!r}: no published figure for its thickness against moisture; give one in the design"
        raise InputError(msg)
    return thickness_mm * panel.thickness_per_mc * mc_change


def overhang_change(box: Frame, walls: Season, panel: Sheet, making: Climate, home: Climate) -> tuple[Range, Range]:
    """Return how much further a lid or base as big as the frame stands out on each side, along x and y, mm."""
    sizes = (box.along_x, box.along_y)
    along_x, along_y = (
        _plus(sheet_change(panel, size, making, home).change_mm / 2, frame, -0.5)
        for size, frame in zip(sizes, walls.frame, strict=True)
    )
    return along_x, along_y


def damp_cautions(home: Climate, base: str) -> tuple[str, ...]:
    """Return the cautions that a damp home calls for, none in a dry one; `base` is the base's material by name."""
    if home.humidity <= DRY_HUMIDITY:
        return ()
    air = f"{home.name}: {home.humidity:g} % humidity is over the {DRY_HUMIDITY:g} % of dry conditions"
    glue = f"{air}; an indoor wood glue (class D1 or D2) softens there: use one its maker names for damp places"
    if "mdf" not in base.casefold():
        return (glue,)
    return (glue, f"{air}; standard MDF swells there: use a moisture-resistant sheet for the base, or seal its edges")
