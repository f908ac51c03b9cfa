"""Compiled core of the contact programme: a dual simplex on a small dense tableau, one box at a time.

bearing : the n contact points taken as touching; their gaps are 0
loose   : the other contact points; gap_loose = b + T gap_bearing
force   : dual λ of a bearing point, 0 or more; how fast the objective grows with the gap there

A tableau has n + 1 rows: for each bearing point its column of T and at the end its force, and last the row b. So every
long loop runs along memory. A pivot lets the loose point that overlaps most bear, and looses the bearing point whose
force is the first to vanish. Overlap is measured by Devex weights that start as the exact steepest edge: they save a
third of the pivots that plain overlaps need, without a pass over the tableau.

All of it is in this one file, since numba's cache on disk looks only at the file of the function that is called.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from assembly.tolerance.compiled import numpy_kernel

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

TOUCHING = 1e-11  # a gap above minus this is no overlap
PIVOT = 1e-9  # smallest entry of a tableau to pivot on; entries are gap over gap, of the order of 1
NOUGHT = 1e-12  # an entry below this is rounding
SMALL_PIVOT = 1e-5  # pivoting on less than this loses digits: the tableau is set up anew
DRIFT = 1e-9  # the most by which the gaps may differ from those that the moves give
TILE = 64  # boxes fetched and delivered together, so that the far strides of (m, k) arrays are paid once
NO_POSITION, NOT_SETTLED, DRIFTED = -1, -2, -3  # in the place of a box's count of pivots


class Starts(NamedTuple):
    """Bases to start from, `s` for each of `p` weight patterns, over `m` contact points and `n` unknowns."""

    tableaus: FloatArray  # (p, s, n, m - n + 1)
    steepness: FloatArray  # (p, s, m - n + 1), 1 + |row of T|² of every loose point
    bearing: IntArray  # (p, s, n)
    loose: IntArray  # (p, s, m - n)
    forces: FloatArray  # (p, m, s), 0 at loose points


@numpy_kernel
def settle_boxes(
    starts: Starts,
    matrix: FloatArray,
    recovery: FloatArray,
    before: FloatArray,
    pattern: IntArray,
    patience: int,
    limit: int,
    gaps: FloatArray,
    moves: FloatArray,
    bearing: NDArray[np.int16],
    pivots: IntArray,
) -> None:
    """Fill gaps (m, k), moves (u, k), bearing (k, n) and pivots (k,) for gaps before (m, k) and pattern (k,).

    `matrix` (m, u) turns moves into changes of gaps, `recovery` (u, m) turns them back.
    """
    m, n = matrix.shape[0], bearing.shape[1]
    tableau, steepness, own = np.empty((n + 1, m - n + 1)), np.empty(m - n + 1), np.empty(m)
    touching, loose = np.empty(n, np.int64), np.empty(m - n, np.int64)
    row, filled, scratch = np.empty(n), np.empty(n + 1, np.int64), np.empty(max(m - n + 1, starts.forces.shape[2]))
    tile, settled, moved = np.empty((m, TILE)), np.empty((m, TILE)), np.empty((matrix.shape[1], TILE))
    for first in range(0, before.shape[1], TILE):
        width = min(TILE, before.shape[1] - first)
        _copy(before[:, first : first + width], tile)
        for x in range(width):
            box, p = first + x, pattern[first + x]
            for k in range(m):
                own[k] = tile[k, x]
            start = _best_start(starts.forces, p, own, scratch)
            _set_up(starts.tableaus, starts.bearing, starts.loose, p, start, own, tableau, touching, loose)
            steepness[:] = starts.steepness[p, start]
            pivots[box] = _settle(tableau, steepness, touching, loose, row, filled, scratch, patience, limit)
            for c in range(n):
                settled[touching[c], x] = 0.0
                bearing[box, c] = touching[c]
            for i in range(m - n):
                settled[loose[i], x] = max(tableau[n, i], 0.0)
        _recover(matrix, recovery, tile, settled, moved, pivots[first : first + width])
        _copy(settled[:, :width], gaps[:, first : first + width])
        _copy(moved[:, :width], moves[:, first : first + width])


@numpy_kernel
def _copy(source: FloatArray, target: FloatArray) -> None:
    for i in range(source.shape[0]):
        for x in range(source.shape[1]):
            target[i, x] = source[i, x]


@numpy_kernel
def _recover(
    matrix: FloatArray, recovery: FloatArray, before: FloatArray, after: FloatArray, moved: FloatArray, pivots: IntArray
) -> None:
    """Fill the moves of a tile of boxes; `before` becomes what is left between the gaps and those the moves give."""
    points, unknowns = matrix.shape
    width = len(pivots)
    for k in range(points):
        for x in range(width):
            before[k, x] = after[k, x] - before[k, x]
    for i in range(unknowns):
        for x in range(width):
            moved[i, x] = 0.0
        for k in range(points):
            factor = recovery[i, k]
            for x in range(width):
                moved[i, x] += factor * before[k, x]
    for k in range(points):
        for i in range(unknowns):
            factor = matrix[k, i]
            if factor != 0:
                for x in range(width):
                    before[k, x] -= factor * moved[i, x]
        for x in range(width):
            if abs(before[k, x]) > DRIFT and pivots[x] >= 0:
                pivots[x] = DRIFTED


@numpy_kernel
def _settle(
    tableau: FloatArray,
    steepness: FloatArray,
    bearing: IntArray,
    loose: IntArray,
    row: FloatArray,
    filled: IntArray,
    scratch: FloatArray,
    patience: int,
    limit: int,
) -> int:
    """Pivot until no point overlaps; return the count of pivots, or why there is no rest."""
    gap = tableau[len(bearing)]
    for count in range(limit + 1):
        r = _most_overlapping(gap, steepness, scratch) if count < patience else _lowest_overlapping(gap, loose)
        if r < 0:
            return count
        many = _read(tableau, r, row, filled)
        c = _first_to_vanish(tableau, row)
        if c < 0:
            return NO_POSITION
        if count >= patience:
            c = _lowest_to_vanish(tableau, row, bearing, c)
        _exchange(tableau, steepness, r, c, row, filled, many, scratch)
        bearing[c], loose[r] = loose[r], bearing[c]
    return NOT_SETTLED


@numpy_kernel
def _best_start(forces: FloatArray, pattern: int, before: FloatArray, value: FloatArray) -> int:
    """Return the start of the greatest dual objective -Σ λ g: the nearest to the optimum, which is the greatest of all."""
    starts = forces.shape[2]
    for i in range(starts):
        value[i] = 0.0
    for k in range(len(before)):
        for i in range(starts):
            value[i] += forces[pattern, k, i] * before[k]
    best, lowest = 0, np.inf
    for i in range(starts):
        lower = value[i] < lowest
        lowest = value[i] if lower else lowest
        best = i if lower else best
    return best


@numpy_kernel
def _set_up(
    tableaus: FloatArray,
    bearings: IntArray,
    looses: IntArray,
    pattern: int,
    start: int,
    before: FloatArray,
    tableau: FloatArray,
    bearing: IntArray,
    loose: IntArray,
) -> None:
    """Copy a start's tableau to the bench and work out its last row b = g_loose - T g_bearing."""
    n, lanes = len(bearing), tableau.shape[1]
    for c in range(n):
        bearing[c] = bearings[pattern, start, c]
    for i in range(lanes - 1):
        loose[i] = looses[pattern, start, i]
        tableau[n, i] = before[loose[i]]
    for c in range(n):
        gap = before[bearing[c]]
        for i in range(lanes):
            entry = tableaus[pattern, start, c, i]
            tableau[c, i] = entry
            tableau[n, i] -= gap * entry
    tableau[n, lanes - 1] = 0.0  # below the forces: the growth of the objective, never read


@numpy_kernel
def _most_overlapping(gap: FloatArray, steepness: FloatArray, score: FloatArray) -> int:
    """Return the loose point of the greatest overlap²/steepness, -1 if none overlaps."""
    lanes = len(gap)
    for i in range(lanes):
        score[i] = gap[i] * gap[i] / steepness[i] if gap[i] < -TOUCHING else 0.0
    best, highest = -1, 0.0
    for i in range(lanes):
        higher = score[i] > highest
        highest = score[i] if higher else highest
        best = i if higher else best
    return best


@numpy_kernel
def _lowest_overlapping(gap: FloatArray, loose: IntArray) -> int:
    """Return the overlapping loose point of the lowest number, -1 if none overlaps."""
    best = -1
    for i in range(len(loose)):
        if gap[i] < -TOUCHING and (best < 0 or loose[i] < loose[best]):
            best = i
    return best


@numpy_kernel
def _read(tableau: FloatArray, r: int, row: FloatArray, filled: IntArray) -> int:
    """Read what loose point `r` has in each row of the tableau; return in how many rows that is not nought."""
    count = 0
    for c in range(len(row)):
        row[c] = tableau[c, r]
        filled[count] = c
        count += abs(row[c]) > NOUGHT
    return count


@numpy_kernel
def _first_to_vanish(tableau: FloatArray, row: FloatArray) -> int:
    """Return the bearing point whose force is the first to vanish, -1 if none does."""
    best, lowest, last = -1, np.inf, tableau.shape[1] - 1
    for c in range(len(row)):
        ratio = tableau[c, last] / row[c]
        lower = (row[c] > PIVOT) & (ratio < lowest)
        lowest = ratio if lower else lowest
        best = c if lower else best
    return best


@numpy_kernel
def _lowest_to_vanish(tableau: FloatArray, row: FloatArray, bearing: IntArray, first: int) -> int:
    """Return the point of the lowest number among those whose force vanishes together with that of `first`."""
    best, last = first, tableau.shape[1] - 1
    for c in range(len(row)):
        if row[c] > PIVOT and bearing[c] < bearing[best]:
            behind = tableau[c, last] * row[first] - tableau[first, last] * row[c]
            best = c if behind <= NOUGHT * row[c] * row[first] else best
    return best


@numpy_kernel
def _exchange(
    tableau: FloatArray,
    steepness: FloatArray,
    r: int,
    c: int,
    row: FloatArray,
    filled: IntArray,
    many: int,
    column: FloatArray,
) -> None:
    """Let loose point `r` bear instead of bearing point `c`."""
    n, lanes = len(row), len(steepness)
    inverse, steep = 1 / row[c], steepness[r]
    step = tableau[n, r] * inverse
    for i in range(lanes):
        column[i] = tableau[c, i]
        tableau[n, i] -= step * column[i]
    for i in range(lanes):
        share = column[i] * inverse
        tableau[c, i] = share
        steepness[i] = max(steepness[i], share * share * steep)
    tableau[n, r], tableau[c, r] = -step, inverse
    steepness[r] = max(steep * inverse * inverse, 1.0)
    for place in range(many):
        d = filled[place]
        if d != c:
            factor = row[d] * inverse
            for i in range(lanes):
                tableau[d, i] -= factor * column[i]
            tableau[d, r] = -factor
