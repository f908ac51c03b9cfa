"""What the cut takes away: half of it beside the path of the machine's beam, on either side.

kerf : width of the cut, mm

An outline is run half a kerf outside the part's edge, a hole half a kerf inside its rim; what is only marked is run
where it is drawn. The path round a corner stays square: the beam leaves a square corner of the part either way, and on
a square path it stays farther from it, so the tip is not melted.
"""

from __future__ import annotations

import numpy as np

from assembly.data.tables import given, rows
from assembly.errors import InputError
from assembly.outline.contours import Circle, Loop, rectangle
from assembly.text import decimal, mm

MOST = 3.0  # mm; published kerfs in acrylic are 0.08 to 0.45 mm, a router's cutter takes more: project choice
_CURE = "give 0 where the machine allows for its kerf by itself"


def usual_kerf(thickness: float) -> float:
    """Return the kerf of a laser in acrylic of a thickness, mm to two decimals, from `laser_kerf.csv`.

    Straight between its rows; beyond them, as at the nearest.
    """
    table = rows("laser_kerf")
    thick, kerf = ([given(row, column) for row in table] for column in ("thickness", "kerf"))
    return round(float(np.interp(thickness, thick, kerf)), 2)


def checked_kerf(kerf: float) -> float:
    """Return a kerf that somebody gave.

    Raises
    ------
    InputError
        If it is none.
    """
    if not 0 <= kerf <= MOST:
        msg = f"--kerf: got {decimal(kerf)}, must be 0 to {mm(MOST)}, the width of the machine's cut; {_CURE}"
        raise InputError(msg)
    return kerf


def outside(width: float, height: float, kerf: float) -> Loop:
    """Return the path round a rectangle whose lower left corner is the origin."""
    half = kerf / 2
    return rectangle(-half, -half, width + half, height + half)


def inside(name: str, centre: tuple[float, float], diameter: float, kerf: float) -> Circle:
    """Return the path round the waste of a hole.

    Raises
    ------
    InputError
        If the cut is as wide as the hole, which then has no waste.
    """
    if kerf >= diameter:
        msg = (
            f"--kerf: got {mm(kerf)}, but the {name} is {mm(diameter)} wide, so its cut would be no narrower than the "
            f"hole; must be under {mm(diameter)}; {_CURE}"
        )
        raise InputError(msg)
    return Circle(centre=centre, radius=(diameter - kerf) / 2)
