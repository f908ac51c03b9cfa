"""The frame from above, as lines: what a pupil lays the walls out by.

Millimetres, x right and y back, as on the drawing (`assembly.nominal.frame`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.nominal.frame import Frame


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What is drawn of the frame: its outer sizes, the walls' thicknesses and the tongue that is left of a lap; mm."""

    along_x: float  # from left to right
    along_y: float  # from front to back
    lapped: float
    plain: float
    tongue: float
    turned: bool  # whether front and back are the lapped walls

    @property
    def lines(self) -> FloatArray:
        """The edges of the walls from above: (k, 2 ends, 2), mm from the middle."""
        x, y = self.along_x / 2, self.along_y / 2
        if self.turned:
            x, y = y, x
        inner_x, inner_y, cheek = x - self.lapped, y - self.plain, x - self.tongue
        ring = [(-x, -y), (x, -y), (x, y), (-x, y)]
        inside = [(-inner_x, -inner_y), (inner_x, -inner_y), (inner_x, inner_y), (-inner_x, inner_y)]
        found = [pair for some in (ring, inside) for pair in zip(some, (*some[1:], some[0]), strict=True)]
        for side, end in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
            bottom = (side * cheek, end * inner_y)
            found += [((side * cheek, end * y), bottom), (bottom, (side * inner_x, end * inner_y))]
        lines = np.array(found, dtype=np.float64)
        return lines[..., ::-1] if self.turned else lines  # it is its own mirror image


def plan_of(box: Frame) -> Plan:
    """Return the plan of a frame."""
    x, y = box.on_plan
    return Plan(along_x=x, along_y=y, lapped=box.lapped, plain=box.plain, tongue=box.tongue, turned=box.turned)
