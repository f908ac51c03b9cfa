"""Distances of EN 1995-1-1 (Eurocode 5) for fasteners in timber: a warning reference, not a verdict on a school box.

d       : effective diameter, mm; for a screw 1.1 times its core
α       : angle between force and grain, radians
a1, a2  : spacing along and across the grain
a3t, a3c: distance to a loaded and an unloaded end
a4t, a4c: distance to a loaded and an unloaded edge

The code is for structures. None of this is a structural design, and none replaces local rules, a risk assessment and
competent supervision.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

from assembly.data.tables import given, number, rows
from assembly.errors import InputError

if TYPE_CHECKING:
    from assembly.data.tables import Row

Distance = Literal["a1", "a2", "a3t", "a3c", "a4t", "a4c"]
EdgeFastener = Literal["undrilled nail", "drilled screw", "axial screw"]

CORE_TO_EFFECTIVE = 1.1  # EN 1995-1-1, as in Porteous & Kermani, Structural Timber Design to Eurocode 5

_OF_ANGLE = {
    "": lambda _: 0.0,
    "abs cos": lambda alpha: abs(math.cos(alpha)),
    "abs sin": lambda alpha: abs(math.sin(alpha)),
    "cos": math.cos,
    "sin": math.sin,
}
# Where a formula of Table 8.2 holds, degrees. EN 1995-1-1:2004 + A1:2008.
_ANGLES = {"a3t": (-90.0, 90.0), "a4t": (0.0, 180.0)}


def effective_diameter(core_mm: float) -> float:
    """Return a screw's effective diameter (mm) from its thread's core (mm)."""
    return CORE_TO_EFFECTIVE * core_mm


def distance(which: Distance, d_mm: float, alpha: float, rho_k: float | None = None) -> float:
    """Return the least spacing or distance of Table 8.2 for nails and thin screws in solid timber, mm.

    Parameters
    ----------
    which : {"a1", "a2", "a3t", "a3c", "a4t", "a4c"}
        The spacing or distance.
    d_mm : float
        Effective diameter, mm.
    alpha : float
        Angle between force and grain, radians.
    rho_k : float, optional
        Characteristic density of timber that is not drilled, kg/m³; left out for drilled holes.

    Raises
    ------
    InputError
        If undrilled timber is denser than 500 kg/m³, or the angle lies outside the formula's.
    """
    low, high = _ANGLES.get(which, (-180.0, 180.0))
    degrees = math.degrees(alpha)
    if not low - 1e-9 <= degrees <= high + 1e-9:
        msg = f"{which}: angle of {degrees:g}° between force and grain; its formula holds from {low:g}° to {high:g}°"
        raise InputError(msg)
    row = _distance_row(which, _column(rho_k), d_mm)
    return (given(row, "constant") + given(row, "factor") * _OF_ANGLE[row["of_angle"]](alpha)) * d_mm


def _column(rho_k: float | None) -> str:
    if rho_k is None:
        return "drilled"
    if rho_k > 500:
        msg = f"timber of {rho_k:g} kg/m³: undrilled fasteners have distances up to 500 kg/m³ only; drill the holes"
        raise InputError(msg)
    return "undrilled, to 420 kg/m3" if rho_k <= 420 else "undrilled, to 500 kg/m3"


def _distance_row(which: Distance, column: str, d_mm: float) -> Row:
    """Return the formula for a diameter; its bands include their lower end, and the thicker one stands first."""
    found = (r for r in rows("en1995_distances") if r["distance"] == which and r["column"] == column)
    return next(r for r in found if given(r, "from_d_mm") <= d_mm <= (number(r, "to_d_mm") or math.inf))


def thickest_in_edge(thickness_mm: float, fastener: EdgeFastener) -> float:
    """Return the thickest fastener (d, mm) that may be driven into the middle of an edge of that thickness, mm.

    Notes
    -----
    d = t/(2n), n = 7 undrilled, 3 drilled, 4 loaded along itself, up to a cap. LVL Handbook Europe (2025) Table 5.2.
    """
    row = next(r for r in rows("en1995_edges") if r["fastener"] == fastener)
    return min(thickness_mm / (2 * given(row, "multiple")), given(row, "cap_mm"))


def least_thickness(d_mm: float, rho_k: float) -> float:
    """Return the least timber thickness (mm) for an undrilled nail of diameter d in timber of density rho_k, kg/m³.

    Notes
    -----
    max(7 d, (13 d - 30) ρk/400). EN 1995-1-1:2004 eq. 8.18.
    """
    return max(7 * d_mm, (13 * d_mm - 30) * rho_k / 400)


def must_be_drilled(diameter_mm: float, kind: Literal["softwood", "hardwood"]) -> bool:
    """Return whether EN 1995-1-1, 10.4.5, wants a screw's hole drilled: always in hardwood, over 6 mm in softwood."""
    return kind == "hardwood" or diameter_mm > 6
