"""Boxes on a limit as points of standard normal space, and which of them are distinct."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray, IntArray

ALIKE = 0.9  # cosine of the angle between two points, from which on they count as one


@dataclass(frozen=True, slots=True)
class Points:
    """Boxes that break a limit: u (dims, points) and the patterns they settle by (points,)."""

    u: FloatArray
    pattern: IntArray

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.pattern)

    @property
    def beta(self) -> FloatArray:
        """|u| of each: (points,)."""
        return np.asarray(np.linalg.norm(self.u, axis=0))

    def take(self, which: IntArray | Sequence[int]) -> Points:
        """Return some of them."""
        at = np.asarray(which, dtype=np.int64)
        return Points(self.u[:, at], self.pattern[at])

    def with_(self, other: Points) -> Points:
        """Return these and then others."""
        return Points(np.hstack([self.u, other.u]), np.append(self.pattern, other.pattern))

    def times(self, factors: FloatArray | float) -> Points:
        """Return each so many times as far from 0."""
        return Points(self.u * factors, self.pattern)

    def distinct(self, most: int, further: float = np.inf, *, alike: float = ALIKE) -> Points:
        """Return the nearest to 0, at `most` so many and none `further` than the nearest, no two of them alike."""
        beta, kept = self.beta, np.empty(0, dtype=np.int64)
        for at in np.argsort(beta, kind="stable"):
            if len(kept) == most or beta[at] > beta.min() + further:
                break
            if (self.u[:, kept].T @ self.u[:, at] <= alike * beta[kept] * beta[at]).all():
                kept = np.append(kept, at)
        return self.take(kept)
