"""Where labels stand: two columns beside the drawing, on leader lines, none over another.

anchor : the place in the drawing that a label speaks of
port   : where a label's leader line starts, in the middle of its height at the inner edge of its column
leader : the straight line from port to anchor

Pixels, x to the right and y down, as in the picture. Nothing is drawn here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.errors import InputError

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """The room for labels: between `top` and `bottom`, outward of `left` and of `right`, `gap` apart; pixels."""

    left: float  # inner edge of the left column
    right: float  # inner edge of the right column
    top: float
    bottom: float
    gap: float

    def fits(self, heights: FloatArray) -> bool:
        """Whether labels of these heights fit into one column."""
        return bool(heights.sum() + self.gap * max(0, len(heights) - 1) <= self.bottom - self.top)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Where each label stands."""

    on_right: NDArray[np.bool_]  # (n,) in the right column, else in the left
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


def _sides(anchors: FloatArray, heights: FloatArray, columns: Columns) -> NDArray[np.bool_]:
    """Return which labels go to the right: the split by x that fills both columns most nearly alike."""
    order = np.lexsort((anchors[:, 1], anchors[:, 0]))
    taken = np.concatenate([[0.0], np.cumsum((heights + columns.gap)[order])])
    count = int(np.argmin(np.abs(2 * taken - taken[-1])))
    on_right = np.ones(len(heights), dtype=np.bool_)
    on_right[order[:count]] = False
    for column in (heights[on_right], heights[~on_right]):
        if not columns.fits(column):
            need = column.sum() + columns.gap * (len(column) - 1)
            room = columns.bottom - columns.top
            msg = f"the labels need {need:.0f} pixels of height and have {room:.0f}; ask for a wider picture"
            raise InputError(msg)
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

    With the distances to the labels above taken off, what is left is a bounded isotonic regression, whose solution is
    max over a <= i of min over b >= i of the mean of a…b, cut off at the bounds.
    Source: Robertson, Wright and Dykstra, Order Restricted Statistical Inference (1988), 1.4.
    """
    if not len(heights):
        return np.empty(0)
    below_first = np.concatenate([[0.0], np.cumsum((heights[1:] + heights[:-1]) / 2 + columns.gap)])
    free = wanted - below_first
    sums = np.concatenate([[0.0], np.cumsum(free)])
    index = np.arange(len(free))
    counts = index[None, :] - index[:, None] + 1
    means = np.where(counts > 0, (sums[None, 1:] - sums[:-1, None]) / np.maximum(counts, 1), np.inf)
    lowest = np.minimum.accumulate(means[:, ::-1], axis=1)[:, ::-1]  # [a, i]: least mean of a…b over b >= i
    best = np.array([lowest[: i + 1, i].max() for i in index])
    first, last = columns.top + heights[0] / 2, columns.bottom - heights[-1] / 2 - below_first[-1]
    return np.asarray(np.clip(best, first, last) + below_first, dtype=np.float64)


def _first_crossing(ports: FloatArray, anchors: FloatArray) -> tuple[int, int] | None:
    """Return the first two labels whose leaders cross, in the order of their ports."""
    for i in range(len(ports)):
        for j in range(i + 1, len(ports)):
            if leaders_cross(ports[[i, j]], anchors[[i, j]]):
                return i, j
    return None


def leaders_cross(ports: FloatArray, anchors: FloatArray) -> bool:
    """Whether two leaders, (2, 2) ports and (2, 2) anchors, cross each other; touching ends do not count."""
    (p, q), (a, b) = ports, anchors
    return bool(_turn(p, a, q) * _turn(p, a, b) < 0 and _turn(q, b, p) * _turn(q, b, a) < 0)


def _turn(one: FloatArray, two: FloatArray, three: FloatArray) -> float:
    """Return twice the signed area of a triangle, pixels squared."""
    (x, y), (u, v) = two - one, three - one
    return float(x * v - y * u)
