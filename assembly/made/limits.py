"""A design's limits as the ends of what they allow: which values keep them, and by how much the others miss."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import BoolArray, FloatArray
    from assembly.model.design import Limit


def limit_ends(limit: Limit) -> tuple[float, float]:
    """Return the least and the most that a limit allows, in its outcome's unit; infinite where it is open."""
    within = math.inf if limit.within is None else limit.within
    return (
        max(-math.inf if limit.min is None else limit.min, -within),
        min(math.inf if limit.max is None else limit.max, within),
    )


def kept(limit: Limit, value: FloatArray) -> BoolArray:
    """Return where values, of any shape, keep their limit; a value on the limit keeps it."""
    least, most = limit_ends(limit)
    return np.asarray((least <= value) & (value <= most))


def excess(limit: Limit, value: FloatArray) -> FloatArray:
    """Return how far values, of any shape, lie beyond their limit; 0 where it is kept."""
    least, most = limit_ends(limit)
    return np.asarray(np.maximum(np.maximum(least - value, value - most), 0.0))
