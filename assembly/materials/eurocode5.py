"""Distances of EN 1995-1-1 (Eurocode 5) for fasteners in timber: a warning reference, not a verdict on a school box.

d   : effective diameter, mm; for a screw 1.1 times its core
a3t : distance to a loaded end
a4c : distance to an unloaded edge

Here screws are drilled for and loaded along the grain. The code is for structures. None of this is a structural design,
and none replaces local rules, a risk assessment and competent supervision.
"""

from __future__ import annotations

from typing import Literal

from assembly.data.tables import given, rows

Distance = Literal["a3t", "a4c"]

CORE_TO_EFFECTIVE = 1.1  # EN 1995-1-1, as in Porteous & Kermani, Structural Timber Design to Eurocode 5


def effective_diameter(core_mm: float) -> float:
    """Return a screw's effective diameter (mm) from its thread's core (mm)."""
    return CORE_TO_EFFECTIVE * core_mm


def distance(which: Distance, d_mm: float) -> float:
    """Return the least distance of Table 8.2, mm, of a drilled screw of effective diameter d, mm, in solid timber."""
    return d_mm * next(given(r, "multiple") for r in rows("en1995_distances") if r["distance"] == which)


def thickest_in_edge(thickness_mm: float) -> float:
    """Return the thickest drilled screw (d, mm) that may be driven into the middle of an edge of that thickness, mm.

    Notes
    -----
    d = t/(2n), n = 3, up to a cap. LVL Handbook Europe (2025) Table 5.2.
    """
    (row,) = rows("en1995_edges")
    return min(thickness_mm / (2 * given(row, "multiple")), given(row, "cap_mm"))


def must_be_drilled(diameter_mm: float, kind: Literal["softwood", "hardwood"]) -> bool:
    """Return whether EN 1995-1-1, 10.4.5, wants a screw's hole drilled: always in hardwood, over 6 mm in softwood."""
    return kind == "hardwood" or diameter_mm > 6
