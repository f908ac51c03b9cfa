"""Bond and tongue: how much glue line there is, and what the tongue stands.

bond figure : contact area times closed share, summed over the joints; mm² that the glue closes
run-out     : how far slanting grain crosses a piece's thickness over a length

With the grain along every wall, both faces of a lap join end grain to side grain (Wood Handbook, FPL-GTR-190, ch. 10):
both count as weak, and the base's glue line under the walls is the real tie. No strength is given, only ratios: no
published value covers such a joint. None of this is a structural design; local rules, a risk assessment and competent
supervision come first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.nominal.frame import Frame

GRAIN_SLOPE = 0.1  # 1 in 10; common practice, no source
THUMB_LOAD_N = 50.0  # a firm push with the thumb; project choice, no source
THUMB_WIDTH_MM = 20.0  # height of the wall that shares it; project choice, no source

WEAK_FACES = (
    "both faces of the lap join end grain to side grain, so both count as weak; the base glued under the walls is the "
    "real tie (Wood Handbook, FPL-GTR-190, ch. 10)"
)


def joint_area(box: Frame) -> float:
    """Return the contact area of one corner, cheek and shoulder together, mm²."""
    return sum(box.face_widths) * box.height


def bond_figure(areas: FloatArray, closed_shares: FloatArray) -> FloatArray:
    """Return contact area times closed share, summed over a box's joints.

    Parameters
    ----------
    areas : (joints,) float
        Contact area of each joint, mm².
    closed_shares : (..., joints) float
        Share of it where the gap is within the glue's limit, 0 to 1.

    Returns
    -------
    (...) float
        Bond figure, mm².
    """
    return np.asarray(closed_shares @ areas, dtype=np.float64)


def bond_ratio(figure: float, reference: float) -> float:
    """Return a bond figure over the reference section's; refused where the reference closes nothing."""
    if reference <= 0:
        msg = f"reference section: its bond figure is {reference:g} mm², so no ratio can be formed to it"
        raise InputError(msg)
    return figure / reference


def base_glue_area(box: Frame) -> float:
    """Return the glue area between base and walls, mm²: the footprint of all four walls."""
    inside_x, inside_y = box.inside
    return box.along_x * box.along_y - inside_x * inside_y


def tongue_stress(box: Frame, load_n: float = THUMB_LOAD_N, width_mm: float = THUMB_WIDTH_MM) -> float:
    """Return the bending stress (N/mm²) at a bare tongue's root under a load at its tip: information, no verdict.

    Parameters
    ----------
    box : Frame
        The frame; the tongue stands out by the plain wall's thickness.
    load_n : float
        Load square to the wall, N.
    width_mm : float
        Height of the tongue that shares the load, mm; never more than the wall's height.

    Notes
    -----
    A cantilever of length t, width b and thickness K: σ = F t / (b K²/6).
    """
    return 6 * load_n * box.plain / (min(width_mm, box.height) * box.tongue**2)


def grain_runout(box: Frame, slope: float = GRAIN_SLOPE) -> float:
    """Return how far grain of a slope crosses the tongue over the lap's length, mm."""
    return slope * box.plain
