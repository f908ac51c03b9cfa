"""What a step shows beside its parts: the end of a part that is laid on another, as dashes."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.planning.marks import Block

_DASH = 2.5  # mm; as long as the room that parts it from the next


def edges_of(block: Block) -> FloatArray:
    """Return the twelve edges of a block as dashes that begin and end at its corners: (k, 2 ends, 3), mm."""
    found = []
    for axis in range(3):
        others = [other for other in range(3) if other != axis]
        for sides in product((block.low, block.high), repeat=2):
            start, end = np.empty(3), np.empty(3)
            start[axis], end[axis] = block.low[axis], block.high[axis]
            for other, side in zip(others, sides, strict=True):
                start[other] = end[other] = side[other]
            found.append(_dashes(start, end))
    return np.concatenate(found)


def _dashes(start: FloatArray, end: FloatArray) -> FloatArray:
    count = max(1, round(float(np.linalg.norm(end - start)) / (2 * _DASH)))
    shares = np.linspace(0, 1, 2 * count + 2)[: 2 * count + 2]
    points = start + shares[:, None] * (end - start)
    return np.stack([points[:-1:2], points[1::2]], axis=1)
