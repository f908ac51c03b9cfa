"""Lower bounds on how many sheets rectangles take.

The product of a dual feasible function of lengths and one of widths gives each piece a share of a sheet such that
pieces that go onto one sheet never have over 1 together (Fekete and Schepers 2004, from memory). A piece that may be
turned counts with the smaller of its two shares.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from assembly.order.dual_feasible import shares, whole

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.order.packing import Wanted


def sheet_shares(wanted: Wanted) -> FloatArray:
    """Return the shares of a sheet that each pair of functions gives to the kinds: (pairs, kinds)."""
    (x_room, y_room), sizes = wanted.room, wanted.sizes
    lengths, widths = zip(*sizes, strict=True)
    along = np.array(shares(x_room, lengths + widths if wanted.turn else lengths))
    across = np.array(shares(y_room, widths + lengths if wanted.turn else widths))
    kinds = len(sizes)
    found: FloatArray = along[:, None, :kinds] * across[None, :, :kinds]
    if wanted.turn:
        lying = along[:, None, kinds:] * across[None, :, kinds:]
        stands = np.array([length <= x_room and width <= y_room for length, width in sizes])
        turns = np.array([width <= x_room and length <= y_room for length, width in sizes])
        found = np.minimum(np.where(stands, found, np.inf), np.where(turns, lying, np.inf))
    return found.reshape(-1, kinds)


def fewest_sheets_bound(wanted: Wanted) -> int:
    """Return a number of sheets that no plan can do with fewer of."""
    totals = sheet_shares(wanted) @ np.array(wanted.counts)
    return whole(float(totals.max()))
