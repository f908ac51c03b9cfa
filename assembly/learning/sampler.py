"""One chain of draws from the posterior of a group of quantities, exactly (MODEL.md, 8.2): compiled moves.

row     : a linear sum of errors: a reading before it is rounded, or a gap
gap     : of two heights of which a reading holds the smaller, the second less the first; its sign says which it is
cell    : rows of one maker that share a cut part; given that maker's levels, cells are independent. A cell's rows are
          jointly normal, the cut parts summed out
pattern : the rows of a cell by their sums, for one set of signs of its gaps; cells of one pattern share a covariance
level   : bias + class part + maker part of a quantity, for one maker

A reading that holds the smaller of a and b is, with the sign of the gap b - a given, a linear sum, too; so the density
of readings and gaps is normal on either side of a gap of 0, where both sides meet. Readings lie within [low, high).

Spreads are moved on the log scale by slice sampling (Neal, Ann. Statist. 31 (2003) 705-767), with rows held and with
standardised parts held (Yu & Meng, J. Comput. Graph. Statist. 20 (2011) 531-570), as either alone is slow where
readings say much, or little. Levels are drawn jointly given the rows, then moved together with them. Every move leaves
the posterior as it is.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from assembly.compiled import kernel

if TYPE_CHECKING:
    from assembly.arrays import BoolArray, FloatArray, IntArray

CLASS, MAKER, CUT = 0, 1, 2
WIDTH = 2.5  # first bracket of a slice on the log scale
STEPS = (0.02, 0.1, 0.4)  # of a proposal on the log scale, one of them at random


class Cells(NamedTuple):
    """What is read of a group of Q quantities, as arrays; P patterns of up to n rows, J makers, C classes."""

    first_pattern: IntArray  # (cells,) with all gaps below 0; each gap above 0 adds its bit
    maker: IntArray  # (cells,)
    start: IntArray  # (cells + 1,) first row of each cell
    const: FloatArray  # (rows,) mean of a row without errors
    gap: IntArray  # (rows,) bit of a gap's sign in the pattern; 0 of a reading
    low: FloatArray  # (rows,) of readings: the interval
    high: FloatArray  # (rows,)
    size: IntArray  # (P,) rows
    shift: FloatArray  # (P, n) what the signs add to the mean
    sums: FloatArray  # (P, n, Q) a row's coefficient of each quantity's level
    cuts: FloatArray  # (P, Q, n, n) covariance of rows by cut parts of unit variance
    noise: FloatArray  # (P, n) variance of what the instruments add
    touches: BoolArray  # (P, Q) whether a row holds a quantity's level,
    varies: BoolArray  # (P, Q) and its cut part
    first_cell: IntArray  # (J + 1,) of each maker: cells stand in the order of makers
    maker_class: IntArray  # (J,)
    maker_has: BoolArray  # (J, Q) whether a maker's readings hold a quantity
    class_has: BoolArray  # (C, Q)


class Prior(NamedTuple):
    """The prior, (Q,) each, in the workshop file's units; a median of 0 stands for a spread that is none."""

    bias: FloatArray
    bias_sd: FloatArray
    median: FloatArray  # (3, Q) of class, maker and cut spread
    log_sd: float


class State(NamedTuple):
    """Where a chain is; changed in place."""

    y: FloatArray  # (rows,)
    pattern: IntArray  # (cells,) as the signs of the gaps are
    bias: FloatArray  # (Q,)
    class_part: FloatArray  # (C, Q)
    maker_part: FloatArray  # (J, Q)
    spread: FloatArray  # (3, Q)
    factor: FloatArray  # (P, n, n) lower Cholesky factor of each pattern's covariance
    precision: FloatArray  # (P, n, n)
    log_det: FloatArray  # (P,)


@kernel
def _factored(a: FloatArray, low: FloatArray, n: int) -> float:
    """Put the lower Cholesky factor of the leading n by n of `a` into `low`; return the log of a's determinant."""
    total = 0.0
    for i in range(n):
        for j in range(i + 1):
            sum_ = a[i, j]
            for k in range(j):
                sum_ -= low[i, k] * low[j, k]
            if i == j:
                low[i, i] = math.sqrt(max(sum_, 1e-14))
                total += 2.0 * math.log(low[i, i])
            else:
                low[i, j] = sum_ / low[j, j]
    return total


@kernel
def _inverse(low: FloatArray, n: int, out: FloatArray, work: FloatArray) -> None:
    """Put the inverse of L Lᵀ into `out`, and the inverse of L into `work`."""
    for j in range(n):
        work[j, j] = 1.0 / low[j, j]
        for i in range(j + 1, n):
            sum_ = 0.0
            for k in range(j, i):
                sum_ -= low[i, k] * work[k, j]
            work[i, j] = sum_ / low[i, i]
    for i in range(n):
        for j in range(i + 1):
            sum_ = 0.0
            for k in range(i, n):
                sum_ += work[k, i] * work[k, j]
            out[i, j] = sum_
            out[j, i] = sum_


@kernel
def _normal_given(
    rng: np.random.Generator, precision: FloatArray, pull: FloatArray, n: int, low: FloatArray, out: FloatArray
) -> None:
    """Draw `out` from the normal distribution with that precision and precision times mean."""
    _factored(precision, low, n)
    for i in range(n):
        sum_ = pull[i]
        for k in range(i):
            sum_ -= low[i, k] * out[k]
        out[i] = sum_ / low[i, i]
    for i in range(n):
        out[i] += rng.standard_normal()
    for i in range(n - 1, -1, -1):
        sum_ = out[i]
        for k in range(i + 1, n):
            sum_ -= low[k, i] * out[k]
        out[i] = sum_ / low[i, i]


@kernel
def standard_between(rng: np.random.Generator, a: float, b: float) -> float:
    """Draw from the standard normal distribution between a and b, by the rejection that suits them.

    Source: Robert, Statist. Comput. 5 (1995) 121-125.
    """
    if a > 0.0 or b < 0.0:
        mirrored = b < 0.0
        near, far = (-b, -a) if mirrored else (a, b)
        rate = 0.5 * (near + math.sqrt(near * near + 4.0))
        if far - near > 1.0 / rate:
            while True:
                x = near + rng.standard_exponential() / rate
                if x <= far and rng.random() <= math.exp(-0.5 * (x - rate) ** 2):
                    break
        else:
            while True:
                x = near + (far - near) * rng.random()
                if rng.random() <= math.exp(0.5 * (near * near - x * x)):
                    break
        return -x if mirrored else x
    if b - a > 2.5:
        while True:
            x = rng.standard_normal()
            if a <= x <= b:
                return x
    while True:
        x = a + (b - a) * rng.random()
        if rng.random() <= math.exp(-0.5 * x * x):
            return x


@kernel
def _set_covariance(cells: Cells, spread: FloatArray, p: int, out: FloatArray) -> None:
    """Put the lower half of a pattern's covariance into `out`."""
    n = cells.size[p]
    for i in range(n):
        for j in range(i):
            out[i, j] = 0.0
        out[i, i] = cells.noise[p, i]
    for q in range(spread.shape[1]):
        if cells.varies[p, q]:
            variance = spread[CUT, q] * spread[CUT, q]
            for i in range(n):
                for j in range(i + 1):
                    out[i, j] += variance * cells.cuts[p, q, i, j]


@kernel
def refresh(cells: Cells, state: State, p: int, work: FloatArray) -> None:
    """Work out a pattern's covariance anew."""
    n = cells.size[p]
    _set_covariance(cells, state.spread, p, work)
    state.log_det[p] = _factored(work, state.factor[p], n)
    _inverse(state.factor[p], n, state.precision[p], work)


@kernel
def _mean(cells: Cells, state: State, cell: int, p: int, out: FloatArray) -> None:
    """Put the means of a cell's rows by a pattern into `out`."""
    j, at = cells.maker[cell], cells.start[cell]
    c = cells.maker_class[j]
    for i in range(cells.size[p]):
        out[i] = cells.const[at + i] + cells.shift[p, i]
    for q in range(state.bias.size):
        if cells.touches[p, q]:
            level = state.bias[q] + state.class_part[c, q] + state.maker_part[j, q]
            for i in range(cells.size[p]):
                out[i] += cells.sums[p, i, q] * level


@kernel
def _bounds(cells: Cells, y: FloatArray, row: int) -> tuple[float, float]:
    """Return between what a row lies: its reading's interval, or the side of 0 that its gap is on."""
    if cells.gap[row] == 0:
        return cells.low[row], cells.high[row]
    return (0.0, math.inf) if y[row] > 0.0 else (-math.inf, 0.0)


@kernel
def _holds(cells: Cells, state: State, cell: int) -> bool:
    """Tell whether every reading of a cell lies within its interval, and every gap has the sign of its pattern."""
    at = cells.start[cell]
    signs = state.pattern[cell] - cells.first_pattern[cell]
    for row in range(at, cells.start[cell + 1]):
        if cells.gap[row] == 0:
            if not cells.low[row] <= state.y[row] < cells.high[row]:
                return False
        elif (state.y[row] > 0.0) != ((signs & cells.gap[row]) != 0):
            return False
    return True


@kernel
def _log_density(cells: Cells, state: State, cell: int, p: int, off: FloatArray) -> float:
    """Return the log density of a cell's rows by a pattern, and put their deviations into `off`."""
    at, n, precision = cells.start[cell], cells.size[p], state.precision[p]
    _mean(cells, state, cell, p, off)
    total: float = -0.5 * state.log_det[p]
    for i in range(n):
        off[i] = state.y[at + i] - off[i]
    for i in range(n):
        sum_: float = 0.5 * precision[i, i] * off[i]
        for k in range(i):
            sum_ += precision[i, k] * off[k]
        total -= sum_ * off[i]
    return total


@kernel
def _move_gap(rng: np.random.Generator, cells: Cells, state: State, cell: int, i: int, off: FloatArray) -> None:
    """Move one gap given the cell's other rows, on either side of 0."""
    row = cells.start[cell] + i
    old, bit = state.y[row], cells.gap[row]
    below = state.pattern[cell] - (bit if old > 0.0 else 0)
    level = _log_density(cells, state, cell, state.pattern[cell], off) - rng.standard_exponential()
    width = 5.0 / math.sqrt(min(state.precision[below, i, i], state.precision[below + bit, i, i]))
    lower = old - width * rng.random()
    upper = lower + width
    while True:
        new = lower + (upper - lower) * rng.random()
        state.y[row] = new
        state.pattern[cell] = below + (bit if new > 0.0 else 0)
        if _log_density(cells, state, cell, state.pattern[cell], off) >= level:
            return
        if new < old:
            lower = new
        else:
            upper = new


@kernel
def _move_rows(rng: np.random.Generator, cells: Cells, state: State, off: FloatArray) -> None:
    """Draw every row given the others of its cell, once."""
    for cell in range(state.pattern.size):
        at, n = cells.start[cell], cells.size[state.pattern[cell]]
        for i in range(n):
            if cells.gap[at + i] != 0:
                _move_gap(rng, cells, state, cell, i, off)
        p = state.pattern[cell]
        precision = state.precision[p]
        _mean(cells, state, cell, p, off)
        for i in range(n):
            off[i] = state.y[at + i] - off[i]
        for i in range(n):
            row = at + i
            if cells.gap[row] != 0:
                continue
            sd, pull = 1.0 / math.sqrt(precision[i, i]), 0.0
            for k in range(n):
                if k != i:
                    pull -= precision[i, k] * off[k]
            middle = state.y[row] - off[i] + pull / precision[i, i]
            low, high = cells.low[row], cells.high[row]
            drawn = middle + sd * standard_between(rng, (low - middle) / sd, (high - middle) / sd)
            drawn = min(max(drawn, low), high - 1e-12)
            off[i] += drawn - state.y[row]
            state.y[row] = drawn


@kernel
def _log_prior(eta: float, median: float, log_sd: float) -> float:
    return -0.5 * ((eta - math.log(median)) / log_sd) ** 2


@kernel
def _spread_likelihood(
    cells: Cells, spread: FloatArray, scatter: FloatArray, counts: FloatArray, q: int, r: int, square: FloatArray
) -> float:
    """Return the log likelihood of the rows of all patterns with quantity q or r, from their summed squares."""
    total = 0.0
    for p in range(cells.size.size):
        n = cells.size[p]
        if counts[p] == 0.0 or not (cells.varies[p, q] or cells.varies[p, r]):
            continue
        _set_covariance(cells, spread, p, square[0])
        total -= 0.5 * counts[p] * _factored(square[0], square[1], n)
        _inverse(square[1], n, square[2], square[3])
        for i in range(n):
            total -= 0.5 * square[2, i, i] * scatter[p, i, i]
            for j in range(i):
                total -= square[2, i, j] * scatter[p, i, j]
    return total


@kernel
def _slice_spreads(
    rng: np.random.Generator,
    cells: Cells,
    prior: Prior,
    spread: FloatArray,
    scatter: FloatArray,
    counts: FloatArray,
    q: int,
    r: int,
    along: tuple[float, float],
    square: FloatArray,
) -> None:
    """Move two cut spreads along one direction of their logs, or one of them where both are the same."""
    etas = (math.log(spread[CUT, q]), math.log(spread[CUT, r]))
    medians = (prior.median[CUT, q], prior.median[CUT, r])
    level, lower, upper, new, first = 0.0, 0.0, 0.0, 0.0, True
    while True:
        spread[CUT, r] = math.exp(etas[1] + along[1] * new)
        spread[CUT, q] = math.exp(etas[0] + along[0] * new)
        found = _log_prior(etas[0] + along[0] * new, medians[0], prior.log_sd)
        if q != r:
            found += _log_prior(etas[1] + along[1] * new, medians[1], prior.log_sd)
        found += _spread_likelihood(cells, spread, scatter, counts, q, r, square)
        if first:
            level = found - rng.standard_exponential()
            lower = -WIDTH * rng.random()
            upper = lower + WIDTH
            first = False
        elif found >= level or upper - lower < 1e-12:
            return
        elif new < 0.0:
            lower = new
        else:
            upper = new
        new = lower + (upper - lower) * rng.random()


@kernel
def _move_cut_spreads(
    rng: np.random.Generator,
    cells: Cells,
    prior: Prior,
    state: State,
    work: FloatArray,
    off: FloatArray,
    square: FloatArray,
) -> None:
    """Move each cut spread with the rows held, the cut parts summed out; then with another one, any way."""
    patterns, n_most, many = cells.size.size, square.shape[1], state.bias.size
    scatter, counts = np.zeros((patterns, n_most, n_most)), np.zeros(patterns)
    for cell in range(state.pattern.size):
        p, at = state.pattern[cell], cells.start[cell]
        _mean(cells, state, cell, p, work)
        counts[p] += 1.0
        for i in range(cells.size[p]):
            off[i] = state.y[at + i] - work[i]
        for i in range(cells.size[p]):
            for j in range(i + 1):
                scatter[p, i, j] += off[i] * off[j]
    others = np.zeros(many, dtype=np.int64)
    for q in range(many):
        if prior.median[CUT, q] == 0.0:
            continue
        _slice_spreads(rng, cells, prior, state.spread, scatter, counts, q, q, (1.0, 1.0), square)
        found = 0
        for r in range(many):
            if r != q and prior.median[CUT, r] > 0.0:
                for p in range(patterns):
                    if counts[p] > 0.0 and cells.varies[p, q] and cells.varies[p, r]:
                        others[found] = r
                        found += 1
                        break
        if found:
            r, turn = others[int(rng.random() * found)], 2.0 * math.pi * rng.random()
            along = (math.cos(turn), math.sin(turn))
            _slice_spreads(rng, cells, prior, state.spread, scatter, counts, q, r, along, square)
    for p in range(patterns):
        refresh(cells, state, p, square[0])


@kernel
def _stretched(cells: Cells, state: State, standard: FloatArray, cell: int, work: FloatArray) -> bool:
    """Set a cell's rows from their standardised values; tell whether its readings hold."""
    p, at = state.pattern[cell], cells.start[cell]
    _mean(cells, state, cell, p, work)
    for i in range(cells.size[p]):
        sum_ = work[i]
        for k in range(i + 1):
            sum_ += state.factor[p, i, k] * standard[at + k]
        state.y[at + i] = sum_
    return _holds(cells, state, cell)


@kernel
def _move_cut_spreads_with_rows(
    rng: np.random.Generator, cells: Cells, prior: Prior, state: State, work: FloatArray, square: FloatArray
) -> None:
    """Move each cut spread with the standardised rows held: rows are stretched, and must stay within the readings."""
    spread, before = state.spread, state.y.copy()
    standard = np.zeros(state.y.size)
    used = np.zeros(cells.size.size, dtype=np.bool_)  # other patterns wait for the end
    for cell in range(state.pattern.size):
        used[state.pattern[cell]] = True
    for q in range(state.bias.size):
        median = prior.median[CUT, q]
        if median == 0.0:
            continue
        for cell in range(state.pattern.size):
            p, at = state.pattern[cell], cells.start[cell]
            if not cells.varies[p, q]:
                continue
            _mean(cells, state, cell, p, work)
            low = state.factor[p]
            for i in range(cells.size[p]):
                before[at + i] = state.y[at + i]
                sum_ = state.y[at + i] - work[i]
                for k in range(i):
                    sum_ -= low[i, k] * standard[at + k]
                standard[at + i] = sum_ / low[i, i]
        old, eta = spread[CUT, q], math.log(spread[CUT, q])
        new = eta + STEPS[int(rng.random() * len(STEPS))] * rng.standard_normal()
        spread[CUT, q] = math.exp(new)
        gain = _log_prior(new, median, prior.log_sd) - _log_prior(eta, median, prior.log_sd)
        good = -rng.standard_exponential() < gain
        if good:
            for p in range(cells.size.size):
                if used[p] and cells.varies[p, q]:
                    _set_covariance(cells, spread, p, square[0])
                    _factored(square[0], state.factor[p], cells.size[p])
            for cell in range(state.pattern.size):
                if cells.varies[state.pattern[cell], q] and not _stretched(cells, state, standard, cell, work):
                    good = False
                    break
        if not good:
            spread[CUT, q] = old
            state.y[:] = before
        before[:] = state.y
        for p in range(cells.size.size):
            if used[p] and cells.varies[p, q]:
                refresh(cells, state, p, square[0])
    for p in range(cells.size.size):
        if not used[p]:
            refresh(cells, state, p, square[0])


@kernel
def _gather(cells: Cells, state: State, information: FloatArray, pull: FloatArray, work: FloatArray) -> None:
    """Put what the rows say of each maker's levels into `information` (J, Q, Q) and `pull` (J, Q)."""
    information[:] = 0.0
    pull[:] = 0.0
    many = state.bias.size
    for cell in range(state.pattern.size):
        p, j, at = state.pattern[cell], cells.maker[cell], cells.start[cell]
        n, precision = cells.size[p], state.precision[p]
        for q in range(many):
            if not cells.touches[p, q]:
                continue
            for i in range(n):
                work[i] = 0.0
            for i in range(n):
                coef = cells.sums[p, i, q]
                if coef != 0.0:
                    for k in range(n):
                        work[k] += coef * precision[i, k]
            for i in range(n):
                pull[j, q] += work[i] * (state.y[at + i] - cells.const[at + i] - cells.shift[p, i])
            for r in range(many):
                if cells.touches[p, r]:
                    sum_ = 0.0
                    for i in range(n):
                        sum_ += work[i] * cells.sums[p, i, r]
                    information[j, q, r] += sum_


@kernel
def _move_levels(
    rng: np.random.Generator, cells: Cells, prior: Prior, state: State, information: FloatArray, pull: FloatArray
) -> None:
    """Draw biases, class parts and maker parts jointly given the rows."""
    many, classes = state.bias.size, cells.class_has.shape[0]
    size = many * (classes + 1)
    big, big_pull, big_low, out = np.zeros((size, size)), np.zeros(size), np.zeros((size, size)), np.zeros(size)
    small, low, side, answer = np.zeros((many, many)), np.zeros((many, many)), np.zeros((many, many)), np.zeros(many)
    left, left_pull = np.zeros((many, many)), np.zeros(many)
    at = np.zeros(many, dtype=np.int64)
    for q in range(many):
        big[q, q] += 1.0 / prior.bias_sd[q] ** 2
        big_pull[q] += prior.bias[q] / prior.bias_sd[q] ** 2
        for c in range(classes):
            free = prior.median[CLASS, q] > 0.0 and cells.class_has[c, q]
            big[(c + 1) * many + q, (c + 1) * many + q] = 1.0 / state.spread[CLASS, q] ** 2 if free else 1.0
    for j in range(cells.maker_class.size):
        c, found = cells.maker_class[j], 0
        for q in range(many):
            if cells.maker_has[j, q] and prior.median[MAKER, q] > 0.0:
                at[found] = q
                found += 1
        left[:] = information[j]
        left_pull[:] = pull[j]
        if found:  # the maker's parts summed out: P - P (P + D)⁻¹ P
            for a in range(found):
                for b in range(found):
                    small[a, b] = information[j, at[a], at[b]]
                small[a, a] += 1.0 / state.spread[MAKER, at[a]] ** 2
            _factored(small, low, found)
            for q in range(many):  # rows of L⁻¹ P
                for a in range(found):
                    sum_ = information[j, at[a], q]
                    for k in range(a):
                        sum_ -= low[a, k] * side[k, q]
                    side[a, q] = sum_ / low[a, a]
            for a in range(found):
                sum_ = pull[j, at[a]]
                for k in range(a):
                    sum_ -= low[a, k] * answer[k]
                answer[a] = sum_ / low[a, a]
            for q in range(many):
                for a in range(found):
                    left_pull[q] -= side[a, q] * answer[a]
                for r in range(many):
                    for a in range(found):
                        left[q, r] -= side[a, q] * side[a, r]
        for q in range(many):
            free_q = prior.median[CLASS, q] > 0.0 and cells.class_has[c, q]
            big_pull[q] += left_pull[q]
            if free_q:
                big_pull[(c + 1) * many + q] += left_pull[q]
            for r in range(many):
                free_r = prior.median[CLASS, r] > 0.0 and cells.class_has[c, r]
                big[q, r] += left[q, r]
                if free_r:
                    big[q, (c + 1) * many + r] += left[q, r]
                if free_q:
                    big[(c + 1) * many + q, r] += left[q, r]
                if free_q and free_r:
                    big[(c + 1) * many + q, (c + 1) * many + r] += left[q, r]
    _normal_given(rng, big, big_pull, size, big_low, out)
    for q in range(many):
        state.bias[q] = out[q]
        for c in range(classes):
            free = prior.median[CLASS, q] > 0.0 and cells.class_has[c, q]
            state.class_part[c, q] = out[(c + 1) * many + q] if free else 0.0
    for j in range(cells.maker_class.size):
        c, found = cells.maker_class[j], 0
        for q in range(many):
            if cells.maker_has[j, q] and prior.median[MAKER, q] > 0.0:
                at[found] = q
                found += 1
        for a in range(found):
            left_pull[a] = pull[j, at[a]]
            for q in range(many):
                left_pull[a] -= information[j, at[a], q] * (state.bias[q] + state.class_part[c, q])
            for b in range(found):
                small[a, b] = information[j, at[a], at[b]]
            small[a, a] += 1.0 / state.spread[MAKER, at[a]] ** 2
        if found:
            _normal_given(rng, small, left_pull, found, low, answer)
            for a in range(found):
                state.maker_part[j, at[a]] = answer[a]


@kernel
def _slice_scale(
    rng: np.random.Generator,
    eta: float,
    median: float,
    log_sd: float,
    gain: FloatArray,
    pull: FloatArray,
    squares: tuple[float, float],
) -> float:
    """Draw the log of a spread m of independent parts of which each is known with precision `gain` and that pull.

    With the parts summed out, the log likelihood is Σ (h² m²/(1 + a m²) - log(1 + a m²))/2; `squares` stands for parts
    that are held: their number and sum of squares.
    """
    level, lower, upper, new, first = 0.0, 0.0, 0.0, eta, True
    while True:
        value = _log_prior(new, median, log_sd) - squares[0] * new - 0.5 * squares[1] * math.exp(-2.0 * new)
        variance = math.exp(2.0 * new)
        for g in range(gain.size):
            more = 1.0 + gain[g] * variance
            value += 0.5 * (pull[g] * pull[g] * variance / more - math.log(more))
        if first:
            level = value - rng.standard_exponential()
            lower = eta - WIDTH * rng.random()
            upper = lower + WIDTH
            first = False
        elif value >= level or upper - lower < 1e-12:
            return new
        elif new < eta:
            lower = new
        else:
            upper = new
        new = lower + (upper - lower) * rng.random()


@kernel
def _move_maker_spreads(
    rng: np.random.Generator, cells: Cells, prior: Prior, state: State, information: FloatArray, pull: FloatArray
) -> None:
    """Move each maker spread given rows, biases and class parts, with every maker part summed out."""
    many, makers = state.bias.size, cells.maker_class.size
    cover, mean = np.zeros((makers, many, many)), np.zeros((makers, many))  # of a maker's parts given the rows
    at, place = np.zeros(many, dtype=np.int64), np.full((makers, many), -1)
    a, low, inverse, work = np.zeros((4, many, many))
    for j in range(makers):
        c, found = cells.maker_class[j], 0
        for q in range(many):
            if cells.maker_has[j, q] and prior.median[MAKER, q] > 0.0:
                at[found] = q
                place[j, q] = found
                found += 1
        if not found:
            continue
        for i in range(found):
            for k in range(found):
                a[i, k] = information[j, at[i], at[k]]
            a[i, i] += 1.0 / state.spread[MAKER, at[i]] ** 2
        _factored(a, low, found)
        _inverse(low, found, inverse, work)
        for i in range(found):
            rest = pull[j, at[i]]
            for r in range(many):
                rest -= information[j, at[i], r] * (state.bias[r] + state.class_part[c, r])
            for k in range(found):
                mean[j, k] += inverse[k, i] * rest
                cover[j, i, k] = inverse[i, k]
    gain, pulled = np.zeros(makers), np.zeros(makers)
    for q in range(many):
        median, found = prior.median[MAKER, q], 0
        if median == 0.0:
            continue
        old = state.spread[MAKER, q]
        for j in range(makers):
            i = place[j, q]
            if i >= 0:
                gain[found] = max(1.0 / cover[j, i, i] - 1.0 / old**2, 0.0)
                pulled[found] = mean[j, i] / cover[j, i, i]
                found += 1
        eta = _slice_scale(rng, math.log(old), median, prior.log_sd, gain[:found], pulled[:found], (0.0, 0.0))
        state.spread[MAKER, q] = math.exp(eta)
        more = math.exp(-2.0 * eta) - 1.0 / old**2
        for j in range(makers):
            i = place[j, q]
            if i < 0:
                continue
            factor, middle = more / (1.0 + more * cover[j, i, i]), mean[j, i]
            for k in range(many):
                work[0, k] = cover[j, k, i]
            for k in range(many):
                mean[j, k] -= factor * work[0, k] * middle
                for r in range(many):
                    cover[j, k, r] -= factor * work[0, k] * work[0, r]


@kernel
def _move_class_spreads(
    rng: np.random.Generator, cells: Cells, prior: Prior, state: State, information: FloatArray, pull: FloatArray
) -> None:
    """Move each class spread, with the class parts held, then with standardised class parts and the rows held."""
    many, makers, classes = state.bias.size, cells.maker_class.size, cells.class_has.shape[0]
    nothing = np.zeros(0)
    for q in range(many):
        median = prior.median[CLASS, q]
        if median == 0.0:
            continue
        number, squares, slope, curve = 0.0, 0.0, 0.0, 0.0
        for c in range(classes):
            if cells.class_has[c, q]:
                number += 1.0
                squares += state.class_part[c, q] ** 2
        old = math.log(state.spread[CLASS, q])
        eta = _slice_scale(rng, old, median, prior.log_sd, nothing, nothing, (number, squares))
        state.spread[CLASS, q] = math.exp(eta)
        for j in range(makers):
            c = cells.maker_class[j]
            rest = pull[j, q]
            for r in range(many):
                level = state.bias[r] + state.class_part[c, r] + state.maker_part[j, r]
                rest -= information[j, q, r] * level
            slope += state.class_part[c, q] * rest
            curve += state.class_part[c, q] ** 2 * information[j, q, q]
        level = _log_prior(eta, median, prior.log_sd) - rng.standard_exponential()
        lower = eta - WIDTH * rng.random()
        upper, new = lower + WIDTH, eta
        while True:
            new = lower + (upper - lower) * rng.random()
            stretch = math.exp(new - eta) - 1.0
            value = _log_prior(new, median, prior.log_sd) + slope * stretch - 0.5 * curve * stretch * stretch
            if value >= level or upper - lower < 1e-12:
                break
            if new < eta:
                lower = new
            else:
                upper = new
        state.spread[CLASS, q] = math.exp(new)
        for c in range(classes):
            state.class_part[c, q] *= math.exp(new - eta)


@kernel
def _shift(cells: Cells, state: State, cell: int, q: int, by: float) -> None:
    """Move a cell's rows by a change of one quantity's level."""
    p, at = state.pattern[cell], cells.start[cell]
    for i in range(cells.size[p]):
        state.y[at + i] += cells.sums[p, i, q] * by


@kernel
def _room(cells: Cells, state: State, q: int, first: int, last: int) -> tuple[float, float]:
    """Return how far one level of some makers may move, down and up, within what their plain readings allow."""
    least, most = -math.inf, math.inf
    for cell in range(cells.first_cell[first], cells.first_cell[last]):
        p, at = state.pattern[cell], cells.start[cell]
        if cells.touches[p, q]:
            for i in range(cells.size[p]):
                coef, row = cells.sums[p, i, q], at + i
                if coef != 0.0:
                    low, high = _bounds(cells, state.y, row)
                    a, b = (low - state.y[row]) / coef, (high - state.y[row]) / coef
                    least, most = max(least, min(a, b)), min(most, max(a, b))
    return least, most


@kernel
def _shifted(cells: Cells, state: State, q: int, first: int, last: int, by: float) -> bool:
    """Move the rows of makers from `first` up to `last` by a change of one level; tell whether all readings hold."""
    good = True
    for cell in range(cells.first_cell[first], cells.first_cell[last]):
        if cells.touches[state.pattern[cell], q]:
            _shift(cells, state, cell, q, by)
            good = good and _holds(cells, state, cell)
    return good


@kernel
def _move_level_with_rows(
    rng: np.random.Generator,
    cells: Cells,
    state: State,
    q: int,
    first: int,
    last: int,
    old: float,
    mean: float,
    sd: float,
) -> float:
    """Return a new value of a bias, class part or maker part of so many makers, moved with all rows it is in."""
    z = (old - mean) / sd
    reach = sd * math.sqrt(z * z + 2.0 * rng.standard_exponential())
    least, most = _room(cells, state, q, first, last)
    lower, upper, at = max(mean - reach, old + least), min(mean + reach, old + most), old
    while upper - lower > 1e-9 * sd:
        new = lower + (upper - lower) * rng.random()
        good = _shifted(cells, state, q, first, last, new - at)
        at = new
        if good:
            return new
        if new < old:
            lower = new
        else:
            upper = new
    _shifted(cells, state, q, first, last, old - at)
    return old


@kernel
def _move_bias_with_gaps(
    rng: np.random.Generator, cells: Cells, prior: Prior, state: State, q: int, off: FloatArray
) -> None:
    """Draw a bias with every gap that holds it moved along, readings held: what is never the smaller moves freely."""
    least, most, gain, pull, held = -math.inf, math.inf, 0.0, 0.0, False
    for cell in range(state.pattern.size):
        p, at = state.pattern[cell], cells.start[cell]
        if not cells.touches[p, q]:
            continue
        n, precision = cells.size[p], state.precision[p]
        _mean(cells, state, cell, p, off)
        for i in range(n):
            off[i] = state.y[at + i] - off[i]
        for i in range(n):
            coef, row = cells.sums[p, i, q], at + i
            if coef == 0.0:
                continue
            if cells.gap[row] == 0:
                for k in range(n):
                    pull += coef * precision[i, k] * off[k]
                    if cells.gap[at + k] == 0:
                        gain += coef * precision[i, k] * cells.sums[p, k, q]
            else:
                held = True
                low, high = _bounds(cells, state.y, row)
                a, b = (low - state.y[row]) / coef, (high - state.y[row]) / coef
                least, most = max(least, min(a, b)), min(most, max(a, b))
    if not held:
        return
    gain += 1.0 / prior.bias_sd[q] ** 2
    pull += (prior.bias[q] - state.bias[q]) / prior.bias_sd[q] ** 2
    middle, scale = pull / gain, 1.0 / math.sqrt(gain)
    by = middle + scale * standard_between(rng, (least - middle) / scale, (most - middle) / scale)
    by = min(max(by, least * (1.0 - 1e-12)), most * (1.0 - 1e-12))
    state.bias[q] += by
    for cell in range(state.pattern.size):
        p, at = state.pattern[cell], cells.start[cell]
        if cells.touches[p, q]:
            for i in range(cells.size[p]):
                if cells.gap[at + i] != 0:
                    state.y[at + i] += cells.sums[p, i, q] * by


@kernel
def _move_all_with_rows(rng: np.random.Generator, cells: Cells, prior: Prior, state: State) -> None:
    """Move biases, class parts and maker parts with their rows, within what the readings allow."""
    makers = cells.maker_class.size
    for q in range(state.bias.size):
        state.bias[q] = _move_level_with_rows(
            rng, cells, state, q, 0, makers, state.bias[q], prior.bias[q], prior.bias_sd[q]
        )
        if prior.median[CLASS, q] > 0.0 and cells.class_has.shape[0] > 1:
            first = 0
            for c in range(cells.class_has.shape[0]):
                last = first
                while last < makers and cells.maker_class[last] == c:
                    last += 1
                if cells.class_has[c, q]:
                    state.class_part[c, q] = _move_level_with_rows(
                        rng, cells, state, q, first, last, state.class_part[c, q], 0.0, state.spread[CLASS, q]
                    )
                first = last
        if prior.median[MAKER, q] > 0.0:
            for j in range(makers):
                if cells.maker_has[j, q]:
                    state.maker_part[j, q] = _move_level_with_rows(
                        rng, cells, state, q, j, j + 1, state.maker_part[j, q], 0.0, state.spread[MAKER, q]
                    )


@kernel
def _move_maker_spreads_with_rows(rng: np.random.Generator, cells: Cells, prior: Prior, state: State) -> None:
    """Move each maker spread with its standardised parts held and the rows moved with them."""
    makers = cells.maker_class.size
    for q in range(state.bias.size):
        median = prior.median[MAKER, q]
        if median == 0.0:
            continue
        eta, middle = math.log(state.spread[MAKER, q]), math.log(median)
        off = (eta - middle) / prior.log_sd
        reach = prior.log_sd * math.sqrt(off * off + 2.0 * rng.standard_exponential())
        lower, upper = math.exp(middle - reach - eta), math.exp(middle + reach - eta)  # as a stretch
        for j in range(makers):
            part = state.maker_part[j, q]
            if part != 0.0:
                least, most = _room(cells, state, q, j, j + 1)
                a, b = 1.0 + least / part, 1.0 + most / part
                lower, upper = max(lower, min(a, b)), min(upper, max(a, b))
        lower, upper, now, good = math.log(max(lower, 1e-9)), math.log(max(upper, 1e-9)), 0.0, False
        while upper - lower > 1e-9 and not good:
            new = lower + (upper - lower) * rng.random()
            stretch, good = math.exp(new - now), True
            for j in range(makers):
                held = _shifted(cells, state, q, j, j + 1, state.maker_part[j, q] * (stretch - 1.0))
                good = good and held
                state.maker_part[j, q] *= stretch
            now = new
            if new < 0.0:
                lower = new if not good else lower
            else:
                upper = new if not good else upper
        if not good:
            for j in range(makers):
                _shifted(cells, state, q, j, j + 1, state.maker_part[j, q] * (math.exp(-now) - 1.0))
                state.maker_part[j, q] *= math.exp(-now)
            now = 0.0
        state.spread[MAKER, q] = math.exp(eta + now)


@kernel
def run(
    rng: np.random.Generator,
    cells: Cells,
    prior: Prior,
    state: State,
    sweeps: int,
    every: int,
    kept: FloatArray,
    levels: FloatArray,
) -> None:
    """Go on with a chain for `sweeps` sweeps, and keep every `every`th state in `kept` (draws, 4, Q).

    Kept are bias, then class, maker and cut spread, and bias + the first class's part; `levels` (draws, J, Q) takes
    every maker's levels.
    """
    patterns, n_most = cells.size.size, cells.noise.shape[1]
    many, makers = state.bias.size, cells.maker_class.size
    work, off = np.zeros(n_most), np.zeros(n_most)
    square = np.zeros((4, n_most, n_most))
    information, pull = np.zeros((makers, many, many)), np.zeros((makers, many))
    for p in range(patterns):
        refresh(cells, state, p, square[0])
    for sweep in range(sweeps):
        _move_rows(rng, cells, state, off)
        _move_cut_spreads(rng, cells, prior, state, work, off, square)
        _move_rows(rng, cells, state, off)
        _gather(cells, state, information, pull, work)
        _move_maker_spreads(rng, cells, prior, state, information, pull)
        _move_levels(rng, cells, prior, state, information, pull)
        _move_class_spreads(rng, cells, prior, state, information, pull)
        for q in range(many):
            _move_bias_with_gaps(rng, cells, prior, state, q, off)
        if sweep % 4 == 0:
            _move_cut_spreads_with_rows(rng, cells, prior, state, work, square)
            _move_all_with_rows(rng, cells, prior, state)
            _move_maker_spreads_with_rows(rng, cells, prior, state)
        if (sweep + 1) % every == 0:
            at = (sweep + 1) // every - 1
            kept[at, 0] = state.bias
            kept[at, 1:4] = state.spread
            kept[at, 4] = state.bias + state.class_part[0]
            for j in range(makers):
                levels[at, j] = state.bias + state.class_part[cells.maker_class[j]] + state.maker_part[j]
