"""Mirrors of the limit case: which contact points open alike, so that one proof serves them all.

A mirror (left for right, front for back, up for down) is taken only if the programme's numbers show it: errors with
the same limits and the same effect at the mirrored points, and moves of the walls that do the same there. A mark on
one end of a wall is as good as half of it on both: the wall shifts on the bench, and no gap is any different.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray
    from assembly.limit_case.error_vector import Errors

    Order = IntArray  # (32,): where the mirror takes each contact point

_SAME = 1e-9  # what counts as equal: mm, or mm per radian
_LEFT_RIGHT, _FRONT_BACK = np.array([2, 3, 0, 1]), np.array([1, 0, 3, 2])  # where a corner goes; see `frame.CORNERS`
_UP_DOWN = np.array([1, 0, 3, 2])  # where a corner of a face goes


@dataclass(frozen=True, slots=True)
class Mirrors:
    """The mirrors that hold, the identity first, and for each point the first of those that it is a mirror of."""

    orders: tuple[Order, ...]
    first: IntArray  # (32,)

    def towards(self, point: int) -> Order:
        """Return the mirror that takes the first of a point's mirror images to the point itself."""
        return next(order for order in self.orders if order[self.first[point]] == point)


def mirrors(errors: Errors, matrix: FloatArray, areas: FloatArray) -> Mirrors:
    """Return the mirrors under which errors and moves do the same.

    Parameters
    ----------
    errors : Errors
        What is made, within which limits.
    matrix : FloatArray
        (32, moves) what each move does to each gap.
    areas : FloatArray
        (32,) contact area of each point.
    """
    shared, offsets = _shared(errors, matrix)
    orders = tuple(
        order
        for order in _every_order()
        if np.abs(areas[order] - areas).max() < _SAME
        and _within(matrix, matrix[order])
        and _made_alike(errors, shared, offsets, order)
    )
    return Mirrors(orders, np.min(orders, axis=0))


def _every_order() -> list[Order]:
    """Return the eight ways to mirror the box or not: left for right, front for back, up for down."""
    points = np.arange(32).reshape(4, 2, 4)
    orders: list[Order] = [points.reshape(32)]
    for each in (points[_LEFT_RIGHT], points[_FRONT_BACK], points[..., _UP_DOWN]):
        orders += [each.reshape(32)[order] for order in orders]
    return orders


def end_order(order: Order) -> Order:
    """Return where a mirror takes the corners of the plain walls' ends: (16,), from the points on the cheeks."""
    cheeks = order.reshape(4, 2, 4)[:, 0].reshape(16)
    return cheeks // 8 * 4 + cheeks % 4


def _within(matrix: FloatArray, column: FloatArray) -> bool:
    """Return whether moves of the walls can change the gaps by `column`: (32,) or (32, several)."""
    return bool(
        np.abs(matrix @ np.linalg.lstsq(matrix, column)[0] - column).max() < 1e-9 * max(np.abs(column).max(), 1)
    )


def _shared(errors: Errors, matrix: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return every error's effects with marks shared by both ends, and the limits of the lapped walls' offsets.

    Effects are (16 sawn + 16 sanded + 32 lap + 32 stock, errors); limits are (4 corners, 2), shared likewise. What a
    shift of the wall does not undo is not shared.
    """
    h = errors.heights
    ends = np.stack([h["sawn"], h["sanded"]]).reshape(2, 4, 4, -1)
    limits = np.array([(end.least, end.most) for end in errors.offsets])
    shift = np.zeros((4, 2, 4))
    shift[0, 0], shift[2, 0] = 1, -1
    if _within(matrix, shift.reshape(32)):
        # The part that an error adds to all of both tools' heights at one end, less that at the wall's other end.
        alike = np.where(np.ptp(ends, axis=(0, 2)) < _SAME, ends[0, :, 0], 0.0)
        ends = ends + ((alike[_LEFT_RIGHT] - alike) / 2)[None, :, None]
    shift = np.zeros((4, 2, 4))
    shift[0, 1], shift[1, 1] = 1, -1
    if _within(matrix, shift.reshape(32)):
        limits = (limits + limits[_FRONT_BACK]) / 2
    return np.concatenate([ends.reshape(32, -1), h["lap"], h["stock"]]), limits


def _made_alike(errors: Errors, effects: FloatArray, offsets: FloatArray, order: Order) -> bool:
    """Return whether the errors, mirrored, are the same errors: each effect has its like with the same limits."""
    corners = order.reshape(4, 2, 4)[:, 0, 0] // 8
    if np.abs(offsets[corners] - offsets).max() > _SAME:
        return False
    ends = end_order(order)
    rows = np.concatenate([ends, 16 + ends, 32 + order, 64 + order])
    limits = np.stack([errors.least[: errors.count], errors.most[: errors.count]])
    return _counted(effects, limits) == _counted(effects[rows], limits)


def _counted(effects: FloatArray, limits: FloatArray) -> Counter[bytes]:
    """Return how often each effect occurs with its limits; of an error and its opposite the one that starts above 0."""
    leading = effects[np.argmax(np.abs(effects) > _SAME, axis=0), np.arange(effects.shape[1])]
    sign = np.where(leading < 0, -1.0, 1.0)
    low, high = np.where(sign > 0, limits, -limits[::-1])
    whole = np.round(np.vstack([effects * sign, low, high])[:, np.abs(leading) > _SAME], 9) + 0.0
    return Counter(column.tobytes() for column in np.ascontiguousarray(whole.T))
