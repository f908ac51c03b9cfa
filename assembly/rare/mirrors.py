"""Mirror images of boxes: left for right, front for back, up for down, in standard normal space (MODEL.md, 5.7).

What opens a joint at one corner opens, mirrored, the joint at another. A mirror gives boxes to try, and no more: an
image counts only where it breaks the limit itself, so nothing rests on the workshop being even-handed. A mark on one
end of a wall stays on its end: the wall then lies that much further along the bench, and no gap is any different.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import reduce
from typing import TYPE_CHECKING

import numpy as np

from assembly.made.faces import FRAME_PLACES, PARE
from assembly.nominal.frame import SX, SY
from assembly.rare.points import Points

if TYPE_CHECKING:
    from assembly.arrays import IntArray
    from assembly.rare.space import BrokenLimit

_BY_WALL = {"mark.offset", "stock.thickness", "stock.height"}  # the other places are by corner, once or more often
_BY_PLAIN_WALL = {"stock.bow", "stock.twist"}
_BY_FACE_CORNER = {"chisel.uneven", PARE}
_UPRIGHT = {"square.upright", "saw.upright", "sand.upright", "lap_saw.upright", "chisel.upright", "stock.twist"}
_UP_DOWN = np.array([1, 0, 3, 2])  # of the corners of a face


@dataclass(frozen=True, slots=True, kw_only=True)
class Mirror:
    """Which ways a box is mirrored."""

    left_right: bool = False
    front_back: bool = False
    up_down: bool = False

    def image(self, limit: BrokenLimit, points: Points) -> Points:
        """Return the images of boxes; their tie patterns, unless one is held for all, are mirrored too."""
        at, rows = 0, []
        for each, _, count in limit.parts:
            u = points.u[at : at + count]
            at += count
            flips = (self.up_down and each.name in _UPRIGHT) ^ (self.left_right and each.name == "stock.twist")
            rows.append((-u if flips else u)[self._places(each.name, count)])
        held = limit.pattern is not None
        pattern = points.pattern if held else points.pattern ^ (self.front_back + 2 * self.left_right)
        return Points(np.concatenate(rows), pattern)

    def _places(self, name: str, count: int) -> IntArray:
        """Return the place that each place of a quantity has its value from; one value for all stays as it is."""
        if count == 1 or (name not in FRAME_PLACES and name != PARE):
            return np.arange(count)
        if name in _BY_WALL:
            return self._swapped(np.array([1, 0, 2, 3]), np.array([0, 1, 3, 2]))
        if name in _BY_PLAIN_WALL:
            return self._swapped(np.array([0, 1]), np.array([1, 0]))
        corners = self._swapped(np.array([2, 3, 0, 1]), np.array([1, 0, 3, 2]))
        if name not in _BY_FACE_CORNER:
            return np.asarray(np.arange(count).reshape(-1, 4)[:, corners].reshape(count))
        faces = np.arange(count).reshape(-1, 4, 1 if name != PARE else 2, 4)[:, corners]
        return np.asarray((faces[..., _UP_DOWN] if self.up_down else faces).reshape(count))

    def _swapped(self, left_right: IntArray, front_back: IntArray) -> IntArray:
        """Return an order swapped the ways that are asked for; they swap different things."""
        swaps = [swap for swap, asked in ((left_right, self.left_right), (front_back, self.front_back)) if asked]
        return reduce(lambda order, swap: order[swap], swaps, np.arange(len(left_right)))


def every_mirror() -> list[Mirror]:
    """Return the seven ways to mirror a box."""
    ways = itertools.product((False, True), repeat=3)
    return [Mirror(left_right=x, front_back=y, up_down=z) for x, y, z in ways if x or y or z]


def to_joint(limit: BrokenLimit, points: Points, corner: int) -> Points:
    """Return the images, at the joint of a limit, of boxes that open the joint at a corner."""
    to = limit.corner or 0
    return Mirror(left_right=SX[to] != SX[corner], front_back=SY[to] != SY[corner]).image(limit, points)
