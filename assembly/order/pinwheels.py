"""Layouts that no straight cuts make: four blocks round a fifth, each of them the best that straight cuts make.

Block 1 lies along the lower edge from the left, 2 stands at the right edge on the lower corner, 3 lies along the upper
edge to the right, 4 stands at the left edge on block 1, and 5 is in the middle: a sheet is parted by x₁ < x₂ and
y₁ < y₂ (Bischoff and Dowsland 1982, from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from assembly.order.straight_layouts import layout_of

if TYPE_CHECKING:
    from assembly.arrays import IntArray
    from assembly.order.straight_layouts import BestLayouts, Grid
    from assembly.order.wanted import Placed

MOST = 2_000_000  # pinwheels of a sheet that are looked at; where there are more, none is


class Block(NamedTuple):
    """A part of the sheet: the places of its sizes in the grids, and its lower left corner."""

    along: IntArray
    across: IntArray
    x: IntArray
    y: IntArray


def best_pinwheel(layouts: BestLayouts) -> tuple[int, list[Placed]]:
    """Return the most value of a pinwheel of the whole sheet, and its layout; 0 and none where they are too many."""
    x1, x2 = _pairs(layouts.along)
    y1, y2 = _pairs(layouts.across)
    if not 0 < len(x1) * len(y1) <= MOST:
        return 0, []
    blocks = _blocks(layouts, (x1[:, None], x2[:, None]), (y1[None, :], y2[None, :]))
    values = sum(layouts.best[block.along, block.across] for block in blocks)
    at = np.unravel_index(int(np.argmax(values)), (len(x1), len(y1)))
    placed: list[Placed] = []
    for block in blocks:
        i, j, dx, dy = (int(np.broadcast_to(each, (len(x1), len(y1)))[at]) for each in block)
        placed += [(kind, x + dx, y + dy, turned) for kind, x, y, turned in layout_of(layouts, i, j)]
    return int(np.asarray(values)[at]), placed


def _pairs(grid: Grid) -> tuple[IntArray, IntArray]:
    """Return the places of all pairs of two sizes over 0, the smaller first, the larger under the largest of all."""
    first, second = np.triu_indices(max(len(grid.at) - 2, 0), 1)
    return first + 1, second + 1


def _rest(grid: Grid, of: IntArray | int, without: IntArray) -> IntArray:
    """Return the places of the sizes that are left of others."""
    found: IntArray = np.searchsorted(grid.at, grid.at[of] - grid.at[without], side="right") - 1
    return found


def _blocks(layouts: BestLayouts, x: tuple[IntArray, IntArray], y: tuple[IntArray, IntArray]) -> list[Block]:
    """Return the five blocks of every pinwheel."""
    (x1, x2), (y1, y2), along, across = x, y, layouts.along, layouts.across
    nought = np.zeros(1, dtype=np.int64)
    at_x1, at_x2, at_y1, at_y2 = along.at[x1], along.at[x2], across.at[y1], across.at[y2]
    return [
        Block(x2, y1, nought, nought),
        Block(_rest(along, -1, x2), y2, at_x2, nought),
        Block(_rest(along, -1, x1), _rest(across, -1, y2), at_x1, at_y2),
        Block(x1, _rest(across, -1, y1), nought, at_y1),
        Block(_rest(along, x2, x1), _rest(across, y2, y1), at_x1, at_y1),
    ]
