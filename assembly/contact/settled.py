"""Where boxes came to rest: the record, and the call into the compiled loop that fills it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.contact.dual_simplex import settle_boxes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from assembly.arrays import FloatArray, IntArray
    from assembly.contact.dual_simplex import Starts


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """Where `k` boxes came to rest; boxes on the last axis."""

    gaps: FloatArray  # (m, k), 0 or more, in the unit of the gaps before
    moves: FloatArray  # (n, k)
    bearing: NDArray[np.int32]  # (n, k), the contact points that hold the box: their gaps are 0; n less 1 if tied
    pivots: IntArray  # (k,)
    fault: NDArray[np.int8]  # (k,), SETTLED, or what else `assembly.contact.dual_simplex` has found


@dataclass(frozen=True, slots=True, kw_only=True)
class Geometry:
    """How gaps and moves go together."""

    matrix: FloatArray  # (m, n), from moves to changes of gaps
    recovery: FloatArray  # (n, m), back


def settle(
    starts: Starts, geometry: Geometry, before: FloatArray, pattern: IntArray, *, patience: int, limit: int
) -> Settled:
    """Return where boxes come to rest, or stand after `limit` pivots; see `settle_boxes`."""
    (m, boxes), n = before.shape, starts.bearing.shape[2]
    found = Settled(
        gaps=np.empty((m, boxes)),
        moves=np.empty((geometry.matrix.shape[1], boxes)),
        bearing=np.empty((boxes, n), np.int32).T,
        pivots=np.empty(boxes, np.int64),
        fault=np.empty(boxes, np.int8),
    )
    settle_boxes(
        (starts.tableaus, starts.steepness, starts.bearing, starts.loose, starts.forces),
        geometry.matrix,
        geometry.recovery,
        before,
        pattern,
        patience,
        limit,
        found.gaps,
        found.moves,
        found.bearing.T,
        found.pivots,
        found.fault,
    )
    return found
