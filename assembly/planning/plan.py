"""The frame from above, as lines: what a pupil lays the walls out by.

Millimetres, x right and y back, as in `assembly.nominal.frame`.
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

    along_x: float
    along_y: float
    lapped: float
    plain: float
    tongue: float

    @property
    def lines(self) -> FloatArray:
        """The edges of the walls from above: (k, 2 ends, 2), mm from the middle."""
        x, y = self.along_x / 2, self.along_y / 2
        inner_x, inner_y, cheek = x - self.lapped, y - self.plain, x - self.tongue
        ring = [(-x, -y), (x, -y), (x, y), (-x, y)]
        inside = [(-inner_x, -inner_y), (inner_x, -inner_y), (inner_x, inner_y), (-inner_x, inner_y)]
        found = [pair for some in (ring, inside) for pair in zip(some, (*some[1:], some[0]), strict=True)]
        for side, end in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
            bottom = (side * cheek, end * inner_y)
            found += [((side * cheek, end * y), bottom), (bottom, (side * inner_x, end * inner_y))]
        return np.array(found, dtype=np.float64)


def plan_of(box: Frame) -> Plan:
    """Return the plan of a frame."""
    return Plan(along_x=box.along_x, along_y=box.along_y, lapped=box.lapped, plain=box.plain, tongue=box.tongue)
