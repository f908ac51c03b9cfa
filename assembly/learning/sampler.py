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
readings say much, or little. Levels are drawn jointly given the rows, then moved together with them. Where a reading
holds the smaller of two, gaps and levels pin each other; so both go on the way they came from, over what is likeliest
(over-relaxation: of levels Adler, Phys. Rev. D 23 (1981) 2901-2904; of gaps, by ranks, Neal, Learning in Graphical
Models (1998) 205-228; both from memory), which takes a sixth of the sweeps. Every move leaves the posterior as it is.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from assembly.compiled import inner_kernel, numpy_kernel

if TYPE_CHECKING:
    from assembly.arrays import BoolArray, FloatArray, IntArray

CLASS, MAKER, CUT = 0, 1, 2
WIDTH = 1.2  # first bracket of a slice on the log scale
STEPS = (0.02, 0.1, 0.4)  # of a proposal on the log scale, one of them at random
RANKED = 9  # draws among which a gap's opposite in rank is taken
MOST_OFF = 5.0  # standard deviations of a spread's log, where its prior ends: beyond, covariances lose their digits
TURNED = 0.8  # share of a level's deviation that goes over to the other side


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


@inner_kernel
def _factored(a: FloatArray, low: FloatArray, n: int) -> float:
    """Put the lower Cholesky factor of the leading n by n of `a` into `low`; return the log of a's determinant."""
    total, product = 0.0, 1.0
    for i in range(n):
        for j in range(i):
            sum_ = a[i, j]
            for k in range(j):
                sum_ -= low[i, k] * low[j, k]
            low[i, j] = sum_ / low[j, j]
        sum_ = a[i, i]
        for k in range(i):
            sum_ -= low[i, k] * low[i, k]
        sum_ = max(sum_, 1e-14)
        low[i, i] = math.sqrt(sum_)
        product *= sum_
        if not 1e-200 < product < 1e200:
            total += math.log(product)
            product = 1.0
    return total + math.log(product)


@inner_kernel
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


@inner_kernel
def _eliminated(table: FloatArray, n: int, width: int) -> None:
    """Turn the upper half of [A B], A positive definite, n by n, into [Lᵀ L⁻¹B], L its Cholesky factor."""
    for k in range(n):
        scale = 1.0 / math.sqrt(max(table[k, k], 1e-14))
        for j in range(k, width):
            table[k, j] *= scale
        for i in range(k + 1, n):
            factor = table[k, i]
            for j in range(i, width):
                table[i, j] -= factor * table[k, j]


@inner_kernel
def _draw(table: FloatArray, n: int, z: FloatArray, out: FloatArray) -> None:
    """Put into `out` what has the standardised value z: the first n columns of `table` hold Lᵀ, and Lᵀ out = z."""
    for i in range(n - 1, -1, -1):
        sum_ = z[i]
        for k in range(i + 1, n):
            sum_ -= table[i, k] * out[k]
        out[i] = sum_ / table[i, i]


@inner_kernel
def standard_between(rng: np.random.Generator, a: float, b: float) -> float:
    """Draw from the standard normal distribution between a and b, by the rejection that suits them.

    Source: Robert, Statist. Comput. 5 (1995) 121-125.
    """
    if not a <= b:  # not a number: a draw that is none is told as not settled, a loop without end never
        return math.nan
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


@inner_kernel
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


@inner_kernel
def refresh(cells: Cells, state: State, p: int, work: FloatArray) -> None:
    """Work out a pattern's covariance anew."""
    n = cells.size[p]
    _set_covariance(cells, state.spread, p, work)
    state.log_det[p] = _factored(work, state.factor[p], n)
    _inverse(state.factor[p], n, state.precision[p], work)


@inner_kernel
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


@inner_kernel
def _bounds(cells: Cells, y: FloatArray, row: int) -> tuple[float, float]:
    """Return between what a row lies: its reading's interval, or the side of 0 that its gap is on."""
    if cells.gap[row] == 0:
        return cells.low[row], cells.high[row]
    return (0.0, math.inf) if y[row] > 0.0 else (-math.inf, 0.0)


@inner_kernel
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


@inner_kernel
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


@inner_kernel
def _log_below(x: float) -> float:
    """Return the log of the standard normal distribution function; far out by its asymptotic series."""
    if x > -30.0:
        return math.log(0.5 * math.erfc(-x * math.sqrt(0.5)))
    return -0.5 * x * x - math.log(-x * math.sqrt(2.0 * math.pi)) + math.log1p(-1.0 / x**2 + 3.0 / x**4 - 15.0 / x**6)


@inner_kernel
def _side(cells: Cells, state: State, cell: int, i: int, p: int, off: FloatArray) -> tuple[float, float, float]:
    """Return what a cell's other rows say of a gap by a pattern: their log density, its mean and standard deviation."""
    at, n, precision = cells.start[cell], cells.size[p], state.precision[p]
    _mean(cells, state, cell, p, off)
    mean, pull = off[i], 0.0
    for k in range(n):
        if k != i:
            off[k] = state.y[at + k] - off[k]
            pull -= precision[i, k] * off[k]
    off[i] = pull / precision[i, i]
    total = -0.5 * (state.log_det[p] + math.log(precision[i, i]))
    for k in range(n):
        sum_: float = 0.5 * precision[k, k] * off[k]
        for m in range(k):
            sum_ += precision[k, m] * off[m]
        total -= sum_ * off[k]
    return total, mean + off[i], 1.0 / math.sqrt(precision[i, i])


@inner_kernel
def _move_gap(
    rng: np.random.Generator, cells: Cells, state: State, cell: int, i: int, off: FloatArray, drawn: FloatArray
) -> None:
    """Move one gap given the cell's other rows, on either side of 0, to its opposite in rank among some draws."""
    row = cells.start[cell] + i
    old, bit = state.y[row], cells.gap[row]
    below = state.pattern[cell] - (bit if old > 0.0 else 0)
    weight, mean, sd = _side(cells, state, cell, i, below, off)
    above_weight, above_mean, above_sd = _side(cells, state, cell, i, below + bit, off)
    more = above_weight + _log_below(above_mean / above_sd) - weight - _log_below(-mean / sd)
    share, rank = 1.0 / (1.0 + math.exp(min(more, 700.0))), 0
    for found in range(RANKED):
        if rng.random() < share:
            new = min(mean + sd * standard_between(rng, -math.inf, -mean / sd), -1e-12)
        else:
            new = max(above_mean + above_sd * standard_between(rng, -above_mean / above_sd, math.inf), 1e-12)
        rank += new < old
        k = found
        while k > 0 and drawn[k - 1] > new:
            drawn[k] = drawn[k - 1]
            k -= 1
        drawn[k] = new
    opposite = RANKED - rank
    if opposite != rank:
        new = drawn[opposite] if opposite < rank else drawn[opposite - 1]
        state.y[row] = new
        state.pattern[cell] = below + (bit if new > 0.0 else 0)


@inner_kernel
def _move_rows(rng: np.random.Generator, cells: Cells, state: State, off: FloatArray, drawn: FloatArray) -> None:
    """Move every row given the others of its cell, once."""
    for cell in range(state.pattern.size):
        at, n = cells.start[cell], cells.size[state.pattern[cell]]
        for i in range(n):
            if cells.gap[at + i] != 0:
                _move_gap(rng, cells, state, cell, i, off, drawn)
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
            new = middle + sd * standard_between(rng, (low - middle) / sd, (high - middle) / sd)
            new = min(max(new, low), high - 1e-12)
            off[i] += new - state.y[row]
            state.y[row] = new


@inner_kernel
def _log_prior(eta: float, median: float, log_sd: float) -> float:
    off = (eta - math.log(median)) / log_sd
    return -0.5 * off * off if abs(off) < MOST_OFF else -math.inf


@inner_kernel
def _spread_likelihood(
    cells: Cells,
    base: FloatArray,
    root: FloatArray,
    counts: FloatArray,
    pair: tuple[int, int],
    variance: tuple[float, float],
    square: FloatArray,
) -> float:
    """Return the log likelihood of the rows of all patterns with either quantity of a pair.

    `base` holds their covariances without the pair, `root` the Cholesky factors of their summed squares.
    """
    total, whole, low, solved = 0.0, square[0], square[1], square[2]
    for p in range(cells.size.size):
        if counts[p] == 0.0 or not (cells.varies[p, pair[0]] or cells.varies[p, pair[1]]):
            continue
        n, first, second = cells.size[p], cells.cuts[p, pair[0]], cells.cuts[p, pair[1]]
        for i in range(n):
            for j in range(i + 1):
                whole[i, j] = base[p, i, j] + variance[0] * first[i, j] + variance[1] * second[i, j]
        total -= 0.5 * counts[p] * _factored(whole, low, n)
        for i in range(n):
            part = 1.0 / low[i, i]
            for j in range(i + 1):
                sum_ = root[p, i, j]
                for k in range(j, i):
                    sum_ -= low[i, k] * solved[k, j]
                solved[i, j] = sum_ * part
                total -= 0.5 * solved[i, j] * solved[i, j]
    return total


@inner_kernel
def _set_base(cells: Cells, spread: FloatArray, counts: FloatArray, pair: tuple[int, int], base: FloatArray) -> None:
    """Put the covariances of patterns with either quantity of a pair, without the pair's cut parts, into `base`."""
    first, second = spread[CUT, pair[0]], spread[CUT, pair[1]]
    spread[CUT, pair[0]] = spread[CUT, pair[1]] = 0.0
    for p in range(cells.size.size):
        if counts[p] > 0.0 and (cells.varies[p, pair[0]] or cells.varies[p, pair[1]]):
            _set_covariance(cells, spread, p, base[p])
    spread[CUT, pair[0]], spread[CUT, pair[1]] = first, second


@inner_kernel
def _slice_spreads(
    rng: np.random.Generator,
    cells: Cells,
    prior: Prior,
    spread: FloatArray,
    base: FloatArray,
    root: FloatArray,
    counts: FloatArray,
    pair: tuple[int, int],
    along: tuple[float, float],
    square: FloatArray,
) -> None:
    """Move two cut spreads along one direction of their logs, or one of them where the second's direction is 0."""
    q, r = pair
    _set_base(cells, spread, counts, pair, base)
    etas = (math.log(spread[CUT, q]), math.log(spread[CUT, r]))
    level, lower, upper, new, first = 0.0, 0.0, 0.0, 0.0, True
    while True:
        eta, other = etas[0] + along[0] * new, etas[1] + along[1] * new
        found = _log_prior(eta, prior.median[CUT, q], prior.log_sd)
        if r != q:
            found += _log_prior(other, prior.median[CUT, r], prior.log_sd)
        variance = (math.exp(2.0 * eta), math.exp(2.0 * other) if r != q else 0.0)
        found += _spread_likelihood(cells, base, root, counts, pair, variance, square)
        if first:
            level = found - rng.standard_exponential()
            lower = -WIDTH * rng.random()
            upper = lower + WIDTH
            first = False
        elif found >= level or upper - lower < 1e-12:
            break
        elif new < 0.0:
            lower = new
        else:
            upper = new
        new = lower + (upper - lower) * rng.random()
    spread[CUT, r] = math.exp(other)
    spread[CUT, q] = math.exp(eta)


@inner_kernel
def _scatter(
    cells: Cells,
    state: State,
    root: FloatArray,
    counts: FloatArray,
    work: FloatArray,
    off: FloatArray,
    square: FloatArray,
) -> None:
    """Put the Cholesky factor of each pattern's summed squares into `root`, and how many cells it has into `counts`."""
    root[:] = 0.0
    counts[:] = 0.0
    for cell in range(state.pattern.size):
        p, at = state.pattern[cell], cells.start[cell]
        _mean(cells, state, cell, p, work)
        counts[p] += 1.0
        for i in range(cells.size[p]):
            off[i] = state.y[at + i] - work[i]
        for i in range(cells.size[p]):
            for j in range(i + 1):
                root[p, i, j] += off[i] * off[j]
    for p in range(cells.size.size):
        if counts[p] > 0.0:
            square[0, : cells.size[p], : cells.size[p]] = root[p, : cells.size[p], : cells.size[p]]
            _factored(square[0], root[p], cells.size[p])


@inner_kernel
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
    base, root = np.zeros((2, patterns, n_most, n_most))
    counts, others = np.zeros(patterns), np.zeros(many, dtype=np.int64)
    _scatter(cells, state, root, counts, work, off, square)
    for q in range(many):
        if prior.median[CUT, q] == 0.0:
            continue
        _slice_spreads(rng, cells, prior, state.spread, base, root, counts, (q, q), (1.0, 0.0), square)
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
            _slice_spreads(rng, cells, prior, state.spread, base, root, counts, (q, r), along, square)
    for p in range(patterns):
        refresh(cells, state, p, square[0])


@inner_kernel
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


@inner_kernel
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


@inner_kernel
def _gather(cells: Cells, state: State, information: FloatArray, pull: FloatArray) -> None:
    """Put what the rows say of each maker's levels into `information` (J, Q, Q) and `pull` (J, Q)."""
    information[:] = 0.0
    pull[:] = 0.0
    many, patterns = state.bias.size, cells.size.size
    weighted, squares = np.zeros((patterns, cells.noise.shape[1], many)), np.zeros((patterns, many, many))
    done = np.zeros(patterns, dtype=np.bool_)
    for cell in range(state.pattern.size):
        p, j, at = state.pattern[cell], cells.maker[cell], cells.start[cell]
        n, precision = cells.size[p], state.precision[p]
        if not done[p]:
            done[p] = True
            for i in range(n):
                for k in range(n):
                    for q in range(many):
                        weighted[p, i, q] += precision[i, k] * cells.sums[p, k, q]
            for i in range(n):
                for q in range(many):
                    coef = cells.sums[p, i, q]
                    if coef != 0.0:
                        for r in range(many):
                            squares[p, q, r] += coef * weighted[p, i, r]
        for i in range(n):
            value = state.y[at + i] - cells.const[at + i] - cells.shift[p, i]
            for q in range(many):
                pull[j, q] += value * weighted[p, i, q]
        for q in range(many):
            if cells.touches[p, q]:
                for r in range(many):
                    information[j, q, r] += squares[p, q, r]


@inner_kernel
def _own(cells: Cells, prior: Prior, j: int, at: IntArray) -> int:
    """Put the quantities of which a maker has a part of his own into `at`, and return how many they are."""
    found = 0
    for q in range(at.size):
        if cells.maker_has[j, q] and prior.median[MAKER, q] > 0.0:
            at[found] = q
            found += 1
    return found


@inner_kernel
def _sum_out(
    spread: FloatArray, at: IntArray, found: int, information: FloatArray, pull: FloatArray, table: FloatArray
) -> None:
    """Put [Lᵀ L⁻¹P L⁻¹pull] into `table`: L Lᵀ the precision of a maker's own parts, P what of it are rows of `at`."""
    many = pull.size
    for a in range(found):
        for b in range(found):
            table[a, b] = information[at[a], at[b]]
        table[a, a] += 1.0 / spread[MAKER, at[a]] ** 2
        table[a, found : found + many] = information[at[a]]
        table[a, found + many] = pull[at[a]]
    _eliminated(table, found, found + many + 1)


@inner_kernel
def _add_maker(first: int, shared: BoolArray, left: FloatArray, left_pull: FloatArray, big: FloatArray) -> None:
    """Add what one maker's rows say of biases and of his class's parts to their system, its pull in the last column.

    `first` is where the class's parts begin; `shared` (Q,) tells which there are.
    """
    many, last = left_pull.size, big.shape[1] - 1
    for q in range(many):
        big[q, last] += left_pull[q]
        for r in range(many):
            big[q, r] += left[q, r]
        if shared[q]:
            big[first + q, last] += left_pull[q]
            for r in range(many):
                big[first + q, r] += left[q, r]
                big[r, first + q] += left[r, q]
                if shared[r]:
                    big[first + q, first + r] += left[q, r]


@inner_kernel
def _draw_shared(rng: np.random.Generator, prior: Prior, state: State, shared: BoolArray, big: FloatArray) -> None:
    """Move biases and class parts, the makers' parts summed out, mostly to the other side of their means given rows.

    `big` is the system that says what the rows say of them, its pull in the last column.
    """
    many, classes, size = state.bias.size, shared.shape[0], big.shape[0]
    z, out = np.zeros((2, size))
    for q in range(many):
        big[q, q] += 1.0 / prior.bias_sd[q] ** 2
        big[q, size] += prior.bias[q] / prior.bias_sd[q] ** 2
        out[q] = state.bias[q]
        for c in range(classes):
            own = (c + 1) * many + q
            big[own, own] += 1.0 / state.spread[CLASS, q] ** 2 if shared[c, q] else 1.0
            out[own] = state.class_part[c, q]
    _eliminated(big, size, size + 1)
    for i in range(size):
        off = -big[i, size]
        for k in range(i, size):
            off += big[i, k] * out[k]
        z[i] = big[i, size] - TURNED * off + math.sqrt(1.0 - TURNED * TURNED) * rng.standard_normal()
    _draw(big, size, z, out)
    for q in range(many):
        state.bias[q] = out[q]
        for c in range(classes):
            state.class_part[c, q] = out[(c + 1) * many + q] if shared[c, q] else 0.0


@inner_kernel
def _move_levels(
    rng: np.random.Generator,
    cells: Cells,
    prior: Prior,
    state: State,
    information: FloatArray,
    pull: FloatArray,
) -> None:
    """Move biases and class parts given the rows, then draw the maker parts."""
    many, makers, size = state.bias.size, cells.maker_class.size, state.bias.size * (cells.class_has.shape[0] + 1)
    tables = np.zeros((makers, many, 2 * many + 1))
    big, left, left_pull = np.zeros((size, size + 1)), np.zeros((many, many)), np.zeros(many)
    at, out, rest = np.zeros(many, dtype=np.int64), np.zeros(many), np.zeros(many)
    shared = cells.class_has & (prior.median[CLASS] > 0.0)
    for j in range(makers):
        c, table, found = cells.maker_class[j], tables[j], _own(cells, prior, j, at)
        _sum_out(state.spread, at, found, information[j], pull[j], table)
        left[:] = information[j]
        left_pull[:] = pull[j]
        for a in range(found):  # the maker's parts summed out: P - P (P + D)⁻¹ P
            side, answer = table[a, found : found + many], table[a, found + many]
            for q in range(many):
                left_pull[q] -= side[q] * answer
                for r in range(many):
                    left[q, r] -= side[q] * side[r]
        _add_maker((c + 1) * many, shared[c], left, left_pull, big)
    _draw_shared(rng, prior, state, shared, big)
    for j in range(makers):
        c, table, found = cells.maker_class[j], tables[j], _own(cells, prior, j, at)
        for a in range(found):
            rest[a] = table[a, found + many] + rng.standard_normal()
            for q in range(many):
                rest[a] -= table[a, found + q] * (state.bias[q] + state.class_part[c, q])
        _draw(table, found, rest, out)
        for a in range(found):
            state.maker_part[j, at[a]] = out[a]


@inner_kernel
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


@inner_kernel
def _covers(
    cells: Cells,
    prior: Prior,
    state: State,
    information: FloatArray,
    pull: FloatArray,
    cover: FloatArray,
    mean: FloatArray,
    place: IntArray,
) -> None:
    """Put covariance and mean of each maker's parts given the rows into `cover` and `mean`, and where each stands."""
    many, makers = state.bias.size, cells.maker_class.size
    at, table, rest = np.zeros(many, dtype=np.int64), np.zeros((many, 2 * many)), np.zeros(many)
    for j in range(makers):
        c, found = cells.maker_class[j], _own(cells, prior, j, at)
        for a in range(found):
            place[j, at[a]] = a
            rest[a] = pull[j, at[a]]
            for q in range(many):
                rest[a] -= information[j, at[a], q] * (state.bias[q] + state.class_part[c, q])
            for b in range(found):
                table[a, b] = information[j, at[a], at[b]]
                table[a, found + b] = 0.0
            table[a, a] += 1.0 / state.spread[MAKER, at[a]] ** 2
            table[a, found + a] = 1.0
        _eliminated(table, found, 2 * found)
        for a in range(found):  # the sum of squares of L⁻¹
            for b in range(a + 1):
                factor = table[a, found + b]
                for k in range(a + 1):
                    cover[j, b, k] += factor * table[a, found + k]
        for a in range(found):
            for b in range(found):
                mean[j, a] += cover[j, a, b] * rest[b]


@inner_kernel
def _move_maker_spreads(
    rng: np.random.Generator, cells: Cells, prior: Prior, state: State, information: FloatArray, pull: FloatArray
) -> None:
    """Move each maker spread given rows, biases and class parts, with every maker part summed out."""
    many, makers = state.bias.size, cells.maker_class.size
    cover, mean, place = np.zeros((makers, many, many)), np.zeros((makers, many)), np.full((makers, many), -1)
    _covers(cells, prior, state, information, pull, cover, mean, place)
    numbers = (place >= 0).sum(axis=1)
    gain, pulled, column = np.zeros(makers), np.zeros(makers), np.zeros(many)
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
            factor, middle, number = more / (1.0 + more * cover[j, i, i]), mean[j, i], numbers[j]
            column[:] = cover[j, i]
            for k in range(number):
                gone = factor * column[k]
                mean[j, k] -= gone * middle
                for r in range(number):
                    cover[j, k, r] -= gone * column[r]


@inner_kernel
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


@inner_kernel
def _shift(cells: Cells, state: State, cell: int, q: int, by: float) -> None:
    """Move a cell's rows by a change of one quantity's level."""
    p, at = state.pattern[cell], cells.start[cell]
    for i in range(cells.size[p]):
        state.y[at + i] += cells.sums[p, i, q] * by


@inner_kernel
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


@inner_kernel
def _shifted(cells: Cells, state: State, q: int, first: int, last: int, by: float) -> bool:
    """Move the rows of makers from `first` up to `last` by a change of one level; tell whether all readings hold."""
    good = True
    for cell in range(cells.first_cell[first], cells.first_cell[last]):
        if cells.touches[state.pattern[cell], q]:
            _shift(cells, state, cell, q, by)
            good = good and _holds(cells, state, cell)
    return good


@inner_kernel
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


@inner_kernel
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


@inner_kernel
def _move_maker_spreads_with_rows(rng: np.random.Generator, cells: Cells, prior: Prior, state: State) -> None:
    """Move each maker spread with its standardised parts held and the rows moved with them."""
    makers = cells.maker_class.size
    for q in range(state.bias.size):
        median = prior.median[MAKER, q]
        if median == 0.0:
            continue
        eta, middle = math.log(state.spread[MAKER, q]), math.log(median)
        off = (eta - middle) / prior.log_sd
        reach = prior.log_sd * min(math.sqrt(off * off + 2.0 * rng.standard_exponential()), MOST_OFF)
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


@numpy_kernel
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
    work, off, drawn = np.zeros(n_most), np.zeros(n_most), np.zeros(RANKED)
    square = np.zeros((4, n_most, n_most))
    information, pull = np.zeros((makers, many, many)), np.zeros((makers, many))
    for p in range(patterns):
        refresh(cells, state, p, square[0])
    for sweep in range(sweeps):
        _move_rows(rng, cells, state, off, drawn)
        _move_cut_spreads(rng, cells, prior, state, work, off, square)
        _gather(cells, state, information, pull)
        _move_maker_spreads(rng, cells, prior, state, information, pull)
        _move_levels(rng, cells, prior, state, information, pull)
        _move_class_spreads(rng, cells, prior, state, information, pull)
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
