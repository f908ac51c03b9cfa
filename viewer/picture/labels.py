"""Where labels stand: two columns beside the drawing, on leader lines, none over another.

anchor : the place in the drawing that a label speaks of
port   : where a label's leader line starts, in the middle of its height at the inner edge of its column
leader : the straight line from port to anchor

Pixels, x to the right and y down, as in the picture. Nothing is drawn here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError

if TYPE_CHECKING:
    from assembly.arrays import BoolArray, FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """The room for labels: between `top` and `bottom`, outward of `left` and of `right`, `gap` apart; pixels."""

    left: float  # inner edge of the left column
    right: float  # inner edge of the right column
    top: float
    bottom: float
    gap: float
    right_only: bool = False  # no label stands in the left column

    def fits(self, heights: FloatArray) -> bool:
        """Whether labels of these heights fit into one column."""
        return bool(heights.sum() + self.gap * max(0, len(heights) - 1) <= self.bottom - self.top)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Where each label stands."""

    on_right: BoolArray  # (n,) in the right column, else in the left
    middles: FloatArray  # (n,) y of each label's middle, pixels
    ports: FloatArray  # (n, 2) start of each leader, pixels


def lay_out(anchors: FloatArray, heights: FloatArray, columns: Columns) -> Layout:
    """Return a layout in which no two labels overlap and no label leaves its column.

    The labels whose anchors lie furthest left go to the left column, so that both are filled alike. In a column the
    labels keep the order in which their leaders do not cross, as near to the height of their anchors as they can:
    the least sum of squared distances (isotonic regression).

    Parameters
    ----------
    anchors : (n, 2) float
        Anchors, between the inner edges of the columns.
    heights : (n,) float
        Height of each label.
    columns : Columns
        The room.

    Raises
    ------
    InputError
        If the labels are higher than the columns.
    """
    on_right = _sides(anchors, heights, columns)
    middles = np.empty(len(heights))
    for side, x in ((False, columns.left), (True, columns.right)):
        (chosen,) = np.nonzero(on_right == side)
        middles[chosen] = _column(anchors[chosen], heights[chosen], x, columns)
    ports = np.column_stack([np.where(on_right, columns.right, columns.left), middles])
    return Layout(on_right=on_right, middles=middles, ports=ports)


def _sides(anchors: FloatArray, heights: FloatArray, columns: Columns) -> BoolArray:
    """Return which labels go to the right: the split by x that fills both columns most nearly alike, if they fit."""
    order = np.lexsort((anchors[:, 1], anchors[:, 0]))
    if columns.right_only and columns.fits(heights):
        return np.ones(len(heights), dtype=np.bool_)
    taken = np.concatenate([[0.0], np.cumsum((heights + columns.gap)[order])])
    splits = np.argsort(np.abs(2 * taken - taken[-1]), kind="stable")
    fitting = (n for n in splits if columns.fits(heights[order[:n]]) and columns.fits(heights[order[n:]]))
    count = int(next(fitting, -1))
    if count < 0:
        need = max(taken[splits[0]], taken[-1] - taken[splits[0]]) - columns.gap
        room = columns.bottom - columns.top
        msg = f"the labels need {need:.0f} pixels of height and have {room:.0f}; ask for a wider picture"
        raise InputError(msg)
    on_right = np.ones(len(heights), dtype=np.bool_)
    on_right[order[:count]] = False
    return on_right


def _column(anchors: FloatArray, heights: FloatArray, x: float, columns: Columns) -> FloatArray:
    """Return the middles of one column's labels; ports at `x`. Crossing leaders are exchanged until none cross."""
    order = np.argsort(anchors[:, 1], kind="stable")
    middles = np.empty(len(heights))
    for _ in range(len(heights) ** 2 + 1):
        middles[order] = spread(anchors[order, 1], heights[order], columns)
        crossing = _first_crossing(np.column_stack([np.full(len(heights), x), middles])[order], anchors[order])
        if crossing is None:
            break
        order[list(crossing)] = order[list(crossing)[::-1]]
    return middles


def spread(wanted: FloatArray, heights: FloatArray, columns: Columns) -> FloatArray:
    """Return the middles nearest to `wanted` of labels that keep their order, their gap and the column: (n,).

    With the distances to the labels above taken off, what is left is a bounded isotonic regression: neighbours that
    are in the wrong order are pooled at their mean, and the result is cut off at the bounds.
    Source: Robertson, Wright and Dykstra, Order Restricted Statistical Inference (1988), 1.2 and 1.4.
    """
    if not len(heights):
        return np.empty(0)
    below_first = np.concatenate([[0.0], np.cumsum((heights[1:] + heights[:-1]) / 2 + columns.gap)])
    first, last = columns.top + heights[0] / 2, columns.bottom - heights[-1] / 2 - below_first[-1]
    best = _pooled((wanted - below_first).tolist())
    return np.asarray(np.clip(best, first, last) + below_first, dtype=np.float64)


def _pooled(values: list[float]) -> list[float]:
    """Return the nearest values that never fall: each the mean of the pool it is in."""
    pools: list[tuple[float, int]] = []  # sum and count
    for value in values:
        total, count = value, 1
        while pools and pools[-1][0] * count >= total * pools[-1][1]:
            before = pools.pop()
            total, count = total + before[0], count + before[1]
        pools.append((total, count))
    return [total / count for total, count in pools for _ in range(count)]


def _first_crossing(ports: FloatArray, anchors: FloatArray) -> tuple[int, int] | None:
    """Return the first two labels whose leaders cross, in the order of their ports."""
    crossed = crossings(ports, anchors)
    if not crossed.any():
        return None
    one, two = np.argwhere(np.triu(crossed))[0].tolist()
    return one, two


def crossings(ports: FloatArray, anchors: FloatArray) -> BoolArray:
    """Return which leaders cross which, (n, n): from (n, 2) ports to (n, 2) anchors; touching ends do not count."""
    p, a = ports[:, None], anchors[:, None]
    across = _turn(p, a, ports) * _turn(p, a, anchors) < 0
    return np.asarray(across & across.T, dtype=np.bool_)


def _turn(one: FloatArray, two: FloatArray, three: FloatArray) -> FloatArray:
    """Return twice the signed area of triangles, pixels squared."""
    u, v = two - one, three - one
    return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0], dtype=np.float64)
