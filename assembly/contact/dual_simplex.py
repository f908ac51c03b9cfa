"""Compiled core of the contact programme: a dual simplex on a small dense tableau, one box at a time.

bearing : the n contact points taken as touching; their gaps are 0
loose   : the other contact points; gap_loose = b + T gap_bearing
force   : dual λ of a bearing point, 0 or more: how fast the objective grows with the gap there

A tableau has n + 1 rows: for each bearing point its column of T and at the end its force, and last the row b, so the
long loops run along memory. A pivot lets the loose point that overlaps most bear, in place of the bearing point whose
force is the first to vanish. "Most" is by Devex weights that begin as the exact steepest edge: a fifth fewer pivots
than by plain overlap, and no pass over the tableau to keep them.

All of it is in this one file, since numba's cache on disk looks only at the file of the function that is called. Arrays
are handed on one by one, as a record of them costs more to hand on than they cost to use.
"""
# ruff: noqa: PLR0913, PLR0917

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from assembly.compiled import numpy_kernel

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from assembly.arrays import FloatArray, IntArray


TOUCHING = 1e-11  # a gap above minus this is no overlap
PIVOT = 1e-9  # smallest entry of a tableau to pivot on; entries are gap over gap, of the order of 1
NOUGHT = 1e-12  # an entry below this is rounding
DRIFT = 1e-10  # the most by which a gap may differ from the one that the moves give
TILE = 64  # boxes fetched and delivered together, so that the far strides of (m, k) arrays are paid once
SETTLED, NO_POSITION, UNFINISHED = 0, 1, 2


class Starts(NamedTuple):
    """Bases to start from, `s` for each of `p` weight patterns, over `m` contact points and `n` unknowns."""

    tableaus: FloatArray  # (p, s, n, m - n + 1)
    steepness: FloatArray  # (p, s, m - n + 1), 1 + |row of T|² of each loose point
    bearing: IntArray  # (p, s, n)
    loose: IntArray  # (p, s, m - n)
    forces: FloatArray  # (p, m, s), 0 at loose points


@numpy_kernel
def settle_boxes(
    starts: tuple[FloatArray, FloatArray, IntArray, IntArray, FloatArray],
    matrix: FloatArray,
    recovery: FloatArray,
    before: FloatArray,
    pattern: IntArray,
    patience: int,
    limit: int,
    gaps: FloatArray,
    moves: FloatArray,
    bearing: NDArray[np.int32],
    pivots: IntArray,
    fault: NDArray[np.int8],
) -> None:
    """Fill gaps (m, k), moves (u, k), bearing (k, n), pivots and fault (k,) for gaps before (m, k) and pattern (k,).

    `matrix` (m, u) turns moves into changes of gaps, `recovery` (u, m) turns them back. After `patience` pivots the
    lowest number decides (Bland's rule), which can't cycle; after `limit` the box is left unfinished. What a box gets
    depends on its own gaps and pattern only, to the last bit: no sum runs over boxes, none changes its order.
    `starts` are the fields of a `Starts`: a cache on disk that names a class stops a later version that lacks it.
    """
    m, n = matrix.shape[0], bearing.shape[1]
    tableaus, steepnesses, bearings, looses, forces = starts  # once, as each look into it counts references
    lanes = tableaus.shape[3]
    tableau, steepness, own = np.empty((n + 1, lanes)), np.empty(lanes), np.empty(m)
    touching, loose = np.empty(n, np.int64), np.empty(m - n, np.int64)
    row, filled, scratch = np.empty(n), np.empty(n + 1, np.int64), np.empty(lanes)
    value = np.empty(forces.shape[2])
    tile, settled, moved = np.empty((m, TILE)), np.empty((m, TILE)), np.empty((matrix.shape[1], TILE))
    for first in range(0, before.shape[1], TILE):
        width = min(TILE, before.shape[1] - first)
        for k in range(m):
            for x in range(width):
                tile[k, x] = before[k, first + x]
        for x in range(width):
            box, p = first + x, pattern[first + x]
            start = _best_start(forces, p, tile, x, own, value)
            _set_up(tableaus, bearings, looses, p, start, own, tableau, touching, loose)
            for i in range(lanes):
                steepness[i] = steepnesses[p, start, i]
            pivots[box], fault[box] = _pivot(tableau, steepness, touching, loose, row, filled, scratch, patience, limit)
            for c in range(n):
                settled[touching[c], x] = 0.0
                bearing[box, c] = touching[c]
            for i in range(m - n):
                settled[loose[i], x] = max(tableau[n, i], 0.0)
        _recover(recovery, settled, tile, moved, width)
        _mark_drift(matrix, moved, tile, fault[first : first + width])
        _deliver(settled, gaps, first, width)
        _deliver(moved, moves, first, width)


@numpy_kernel
def _deliver(tile: FloatArray, target: FloatArray, first: int, width: int) -> None:
    """Copy a tile of boxes to its place among all."""
    for k in range(tile.shape[0]):
        for x in range(width):
            target[k, first + x] = tile[k, x]


@numpy_kernel
def _recover(recovery: FloatArray, after: FloatArray, change: FloatArray, moves: FloatArray, width: int) -> None:
    """Fill the moves that lead to the gaps `after`; `change` holds the gaps before and becomes the change of each."""
    for k in range(after.shape[0]):
        for x in range(width):
            change[k, x] = after[k, x] - change[k, x]
    for i in range(moves.shape[0]):
        for x in range(width):
            moves[i, x] = 0.0
        for k in range(change.shape[0]):
            factor = recovery[i, k]
            for x in range(width):
                moves[i, x] += factor * change[k, x]


@numpy_kernel
def _mark_drift(matrix: FloatArray, moves: FloatArray, change: FloatArray, fault: NDArray[np.int8]) -> None:
    """Mark boxes unfinished where the change of a gap is not the one that the moves make."""
    for k in range(matrix.shape[0]):
        for i in range(matrix.shape[1]):
            factor = matrix[k, i]
            if factor != 0:
                for x in range(len(fault)):
                    change[k, x] -= factor * moves[i, x]
        for x in range(len(fault)):
            if not abs(change[k, x]) <= DRIFT and fault[x] == SETTLED:  # not "over", which nan never is
                fault[x] = UNFINISHED


@numpy_kernel
def _pivot(
    tableau: FloatArray,
    steepness: FloatArray,
    bearing: IntArray,
    loose: IntArray,
    row: FloatArray,
    filled: IntArray,
    scratch: FloatArray,
    patience: int,
    limit: int,
) -> tuple[int, int]:
    """Pivot until no point overlaps; return the count of pivots and what is wrong after them."""
    gap = tableau[len(bearing)]
    for count in range(limit + 1):
        r = _most_overlapping(gap, steepness, scratch) if count < patience else _lowest_overlapping(gap, loose)
        if r < 0:
            return count, SETTLED
        c, many = _first_to_vanish(tableau, r, row, filled)
        if c < 0:
            return count, NO_POSITION
        if count >= patience:
            c = _lowest_to_vanish(tableau, row, bearing, c)
        _exchange(tableau, steepness, r, c, row, filled, many, scratch)
        bearing[c], loose[r] = loose[r], bearing[c]
    return limit, UNFINISHED


@numpy_kernel
def _best_start(forces: FloatArray, pattern: int, tile: FloatArray, x: int, own: FloatArray, value: FloatArray) -> int:
    """Return the start of the greatest dual objective -Σ λ g; the optimum has the greatest of all bases.

    On the way `own` becomes the gaps before of box `x` of the tile.
    """
    starts = forces.shape[2]
    for i in range(starts):
        value[i] = 0.0
    for k in range(len(own)):
        own[k] = gap = tile[k, x]
        for i in range(starts):
            value[i] += forces[pattern, k, i] * gap
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
        overlap = min(gap[i] + TOUCHING, 0.0)
        score[i] = overlap * overlap / steepness[i]
    best, highest = -1, 0.0
    for i in range(lanes - 1):
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
def _first_to_vanish(tableau: FloatArray, r: int, row: FloatArray, filled: IntArray) -> tuple[int, int]:
    """Return the bearing point whose force is the first to vanish when `r` bears, -1 if none does.

    On the way `row` becomes what `r` has in each row of the tableau, and `filled` where that is not nought; in how many
    is returned too.
    """
    best, lowest, many, last = -1, np.inf, 0, tableau.shape[1] - 1
    for c in range(len(row)):
        entry = tableau[c, r]
        ratio = tableau[c, last] / entry + (0.0 if entry > PIVOT else np.inf)  # one comparison: twice as fast as two
        lower = ratio < lowest
        lowest = ratio if lower else lowest
        best = c if lower else best
        row[c], filled[many] = entry, c
        many += abs(entry) > NOUGHT
    return best, many


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
