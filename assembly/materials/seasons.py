"""What a box's walls and joints do when it moves from the air it is made in to the air it lives in.

range : the least and the most of a change (mm, signed), since a board's rings run anywhere from radial to tangential
        unless its sawing is given
plane : the two directions of a sheet that are not its thickness; both move alike

Symbols and axes as in `assembly.nominal.frame`: x along the plain walls, y along the lapped walls. Each change is of
the nominal size, free to move; what glue holds back becomes strain in its line and is not worked out here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.data.tables import Species
from assembly.materials.moisture import START_MC, across_range, along_change
from assembly.materials.sheets import mdf_mc, sheet_change, sheet_thickness_change

if TYPE_CHECKING:
    from collections.abc import Callable

    from assembly.data.tables import SheetMaterial
    from assembly.materials.moisture import Across, Climate, Movement, Sawing
    from assembly.nominal.frame import Frame

Range = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """Changes of a box's sizes in mm between two climates, + where the size grows; pairs are ranges."""

    mc: tuple[float, float]  # moisture content of the walls before and after, percent
    within: bool  # whether every figure lies where its method holds
    method: str
    near_room: bool  # whether that takes slopes near room conditions, of a timber
    grain: bool  # whether lengths run along a grain and so hardly move; not in a sheet
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


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneSeason:
    """Changes of walls cut from a sheet whose thickness no source tells of, mm; no step can be worked out."""

    height: float  # of any wall
    plain_length: float
    lapped_length: float
    method: str
    missing: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Moves:
    """How a wall's material moves between two climates."""

    mc: tuple[float, float]
    within: bool
    across: Callable[[Across, float], tuple[Movement, Movement]]
    along: Callable[[float], float]


def season(box: Frame, walls: Species | SheetMaterial, sawing: Sawing | None, making: Climate, home: Climate) -> Season:
    """Return what the move from `making` to `home` does to a frame.

    Parameters
    ----------
    box : Frame
        The nominal frame, as made.
    walls : Species or Sheet
        What all four walls are cut from.
    sawing : {"flat", "quarter"} or None
        How the boards were sawn; None where it is not known.
    making, home : Climate
        The air it is made in and the air it will live in.

    Raises
    ------
    InputError
        If the table has no movement figure for a ring direction, or for a sheet's thickness.

    Notes
    -----
    A plain wall is located by its inside face at the shoulder, whose distance from the lapped wall's end runs along the
    grain; so the step is that length's change less the plain wall's. The shoulder's depth moves across the grain and
    the plain wall's end along it, and the same holds at the cheek: no gap opens, the glue lines slip or are strained.
    """
    if isinstance(walls, Species):
        moves = _timber_moves(walls, sawing, making, home)
    else:
        moves = _sheet_moves(walls, making, home)
    height, plain = moves.across("height", box.height), moves.across("thickness", box.plain)
    lapped, depth, tongue = (_pair(moves.across("thickness", size)) for size in (box.lapped, box.depth, box.tongue))
    thick = _pair(plain)
    lap_along, depth_along, plain_along, lapped_along = (
        moves.along(size) for size in (box.plain, box.depth, box.plain_length, box.lapped_length)
    )
    return Season(
        mc=moves.mc,
        within=moves.within and all(m.within for m in (*height, *plain)),
        method=plain[0].method,
        near_room=plain[0].near_room,
        grain=isinstance(walls, Species),
        height=_pair(height),
        lapped=lapped,
        plain=thick,
        depth=depth,
        tongue=tongue,
        step=plus(lap_along, thick, -1),
        top_step=height[1].change_mm - height[0].change_mm,
        frame=(plus(plain_along, tongue, 2), (lapped_along, lapped_along)),
        inside=(plus(plain_along, depth, -2), plus(lapped_along, thick, -2)),
        cheek_slip=plus(-lap_along, thick, 1),
        shoulder_slip=plus(-depth_along, depth, 1),
    )


def plane_season(box: Frame, walls: SheetMaterial, making: Climate, home: Climate) -> PlaneSeason:
    """Return what can be said of walls cut from a sheet whose thickness no source tells of."""
    height, plain, lapped = (
        sheet_change(walls, size, making, home) for size in (box.height, box.plain_length, box.lapped_length)
    )
    return PlaneSeason(
        height=height.change_mm,
        plain_length=plain.change_mm,
        lapped_length=lapped.change_mm,
        method=height.method,
        missing=f"walls of {walls.name}: no published figure here for their thickness against moisture",
    )


def _timber_moves(timber: Species, sawing: Sawing | None, making: Climate, home: Climate) -> _Moves:
    mc, start = (making.emc, home.emc), timber.start_mc or START_MC
    return _Moves(
        mc=mc,
        within=making.within_table and home.within_table,
        across=lambda across, size: across_range(timber, sawing, across, size, mc),
        along=lambda size: along_change(size, *mc, start),
    )


def _sheet_moves(panel: SheetMaterial, making: Climate, home: Climate) -> _Moves:
    """Return how a sheet moves: height and lengths lie in its plane."""

    def across(across: Across, size: float) -> tuple[Movement, Movement]:
        moved = (
            sheet_change(panel, size, making, home)
            if across == "height"
            else sheet_thickness_change(panel, size, making, home)
        )
        return moved, moved

    return _Moves(
        mc=(mdf_mc(making.humidity)[0], mdf_mc(home.humidity)[0]),
        within=True,  # each movement says so itself
        across=across,
        along=lambda size: sheet_change(panel, size, making, home).change_mm,
    )


def _pair(moves: tuple[Movement, Movement]) -> Range:
    return moves[0].change_mm, moves[1].change_mm


def plus(constant: float, change: Range, times: float) -> Range:
    """Return constant + times · change, as a range with its least first."""
    ends = (constant + times * change[0], constant + times * change[1])
    return min(ends), max(ends)
