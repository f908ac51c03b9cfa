"""Where the dual simplex starts: for each pattern of weights a few bases whose forces are none below zero.

A basis is as many contact points as unknowns, their rows independent. Its forces balance Aᵀλ = Aᵀw whatever the gaps
before, so a basis found once is a start for every box.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from assembly.contact.dual_simplex import SETTLED, Starts
from assembly.contact.settled import Geometry, settle

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray

PIVOTS = 1000  # at most, for the gaps that are to give a start
STARTS = 16  # bases a pattern; a box takes as long from 8 to 48 within 5 %, a fifth longer from one
SEED = 20260101  # of the made-up gaps that bases are found for where nobody says what is typical
DEPENDENT = 1e-9  # rows scaled to like sizes are dependent below this singular value


def scaled(matrix: FloatArray) -> FloatArray:
    """Return the matrix with every unknown in the unit that makes its column as long as 1; this leaves forces alone."""
    lengths = np.linalg.norm(matrix, axis=0)
    return np.asarray(matrix / np.where(lengths > 0, lengths, 1))


def tableaus(matrix: FloatArray, needed: FloatArray, bearing: IntArray) -> Starts:
    """Return starts for the bases `bearing` (p, s, n), whose forces must balance `needed` (p, n) = Aᵀw."""
    (patterns, starts, n), m = bearing.shape, len(matrix)
    bears = np.zeros((patterns, starts, m), dtype=np.bool_)
    np.put_along_axis(bears, bearing, values=True, axis=2)
    loose = np.nonzero(~bears)[2].reshape(patterns, starts, m - n)
    inverse = np.linalg.inv(matrix[bearing])
    slopes = matrix[loose] @ inverse
    forces = np.maximum(needed[:, None, None, :] @ inverse, 0)[:, :, 0]  # below 0 by rounding only
    spread = np.zeros((patterns, starts, m))
    np.put_along_axis(spread, bearing, forces, axis=2)
    ones = np.ones((patterns, starts, 1))
    fields = (
        np.concatenate([slopes.swapaxes(2, 3), forces[..., None]], axis=3),
        np.concatenate([1 + (slopes**2).sum(axis=3), ones], axis=2),
        bearing,
        loose,
        spread.swapaxes(1, 2),
    )
    return Starts(*map(np.ascontiguousarray, fields))


def good_starts(matrix: FloatArray, weights: FloatArray, typical: FloatArray) -> Starts:
    """Return as many starts a pattern as `typical` (m, s) has columns: the bases that settle these gaps.

    Gaps that leave no position without overlap keep the basis they were started from.
    """
    patterns, starts = len(weights), typical.shape[1]
    needed, of_box = weights @ matrix, np.repeat(np.arange(patterns), starts)
    first = np.array([first_basis(matrix, weight) for weight in weights])
    before = np.tile(typical, patterns)
    one = tableaus(matrix, needed, first[:, None])
    geometry = Geometry(matrix=matrix, recovery=np.ascontiguousarray(np.linalg.pinv(matrix)))
    found = settle(one, geometry, before, of_box, patience=PIVOTS, limit=PIVOTS)
    bearing = np.where(found.fault == SETTLED, found.bearing, first[of_box].T).T
    return tableaus(matrix, needed, np.sort(bearing).reshape(patterns, starts, -1))


def made_up(points: int) -> FloatArray:
    """Return gaps that may serve as typical where none are known: (points, STARTS), independent normal draws."""
    return np.random.default_rng(SEED).standard_normal((points, STARTS))


def first_basis(matrix: FloatArray, weight: FloatArray) -> IntArray:
    """Return the points (n,) of a basis with forces of 0 or more, from λ = w, which balances but bears everywhere.

    Forces along a dependence of the bearing rows may be shifted without loss of balance: shift them until one vanishes,
    again and again, until the rows left are independent. They span what all rows span, so they are n.
    """
    rows, forces = scaled(matrix), weight.copy()
    bearing = np.arange(len(rows))
    while (shift := _dependence(rows[bearing[: rows.shape[1] + 1]])) is not None:
        some = bearing[: len(shift)]
        falls = shift > DEPENDENT
        steps = np.full(len(shift), np.inf)
        steps[falls] = forces[some[falls]] / shift[falls]
        forces[some] = np.maximum(forces[some] - steps.min() * shift, 0)
        bearing = np.delete(bearing, steps.argmin())
    return bearing


def _dependence(rows: FloatArray) -> FloatArray | None:
    """Return factors z, the greatest of them 1, with zᵀ rows = 0; None if the rows are independent."""
    _, sizes, directions = np.linalg.svd(rows.T)
    if len(rows) == len(sizes) and sizes[-1] > DEPENDENT:
        return None
    last = directions[-1]
    return np.asarray(last / last[np.abs(last).argmax()])
