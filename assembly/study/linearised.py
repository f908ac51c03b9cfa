"""The linear part of an outcome: what a plain sum of tolerances would give, beside what was sampled (MODEL.md, 5.4).

An outcome is fitted by least squares on all disturbances over sampled boxes. Its worst case is Σ|coefficient × limit|,
its root sum of squares √Σ(coefficient × sd)², and R² is the share of variance that the fit explains. Each part of a
disturbance (class, maker, cut) is a variable of its own, so that what cuts share adds up before it is squared; in the
worst case the levels are one and every place goes to its own limit.

No library of linear algebra has a part in it: those add in another order with another number of threads, and the last
digits would follow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.compiled import numpy_kernel
from assembly.errors import InputError
from assembly.made.sampling import draw_block, parts
from assembly.study.blocks import blocks_of, drive_blocks, evaluate_block, row_numbers
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import Z95, Estimate, exact, normal, quantile
from assembly.study.stopping import numerical_tolerance

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from assembly.made.sampling import Input
    from assembly.study.blocks import Model, StudyBlock

ENOUGH = 0.9  # share of variance below which an outcome is not a sum of errors
TAILS = (0.025, 0.975)
FURTHER = 0.99  # a quantile that tells how densely values lie at the upper tail
SLAB = 64  # boxes whose products are summed at once, so that they stay in the processor's cache
STILL = 1e-9  # mm, radians or a share; an outcome that varies less does not vary


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearPart:
    """One outcome as a sum of errors; all in the outcome's unit."""

    mean: float
    worst_case: float  # half-width
    rss: float  # standard deviation of the sum
    explained: Estimate  # R², 0 to 1
    sd: float  # as sampled
    coverage: tuple[float, float]  # of 95 % of the boxes, as a plain sum would tell it: mean ± 1.96 rss
    sampled: tuple[Estimate, Estimate]  # the same as sampled: quantiles at 2.5 % and 97.5 %
    tolerance: float  # δ of JCGM 101:2008, 7.9.2
    coefficients: dict[str, FloatArray]  # by input: per mm or radian at each place, one where all places share

    @property
    def is_a_sum(self) -> bool:
        """Whether the outcome may be called a sum of errors."""
        return self.explained.value >= ENOUGH

    @property
    def agrees(self) -> bool:
        """Whether both ends of the two coverages lie within δ of each other (JCGM 101:2008, clause 8)."""
        return all(abs(a - b.value) <= self.tolerance for a, b in zip(self.coverage, self.sampled, strict=True))


def linear_parts(
    model: Model, of: Sequence[str], *, boxes: int = 20_000, seed: int = 1, digits: int = 2, run: Run = UNWATCHED
) -> dict[str, LinearPart]:
    """Return the linear part of every row `of`, fitted over the first `boxes` boxes of the study.

    Raises
    ------
    InputError
        If the model has no such row, or there are too few boxes for its disturbances.
    StoppedError
        If it is stopped before its end.
    """
    rows = row_numbers(model, of)
    columns = 1 + sum(count for _, _, count in parts(model.inputs))
    if boxes < 2 * columns:
        msg = f"boxes: got {boxes}, must be {2 * columns} or more to fit {columns - 1} disturbances"
        raise InputError(msg)

    def work(block: StudyBlock, run: Run) -> tuple[FloatArray, FloatArray]:
        draws = draw_block(model.inputs, block.boxes, seed=seed, block=block.number)
        y = evaluate_block(model, draws, block.boxes, run)[rows]
        x = [np.ones((1, block.boxes)), *(draws[each.name, level] for each, level, _ in parts(model.inputs))]
        return y, products(np.vstack([*x, y]))

    blocks = list(blocks_of(boxes))
    samples, sums = [], np.zeros((columns + len(rows), columns + len(rows)))
    for some, some_sums in drive_blocks(work, blocks, run, of=boxes, least=len(blocks)):
        samples.append(some)
        sums += some_sums
    swept, y = sweep(sums, columns), np.hstack(samples)
    inverse, fitted, left = np.diag(swept)[:columns], swept[:columns, columns:], np.diag(swept)[columns:]
    return {
        name: _linear_part(model.inputs, fitted[:, at], float(left[at]), inverse, y[at], digits)
        for at, name in enumerate(of)
    }


def products(rows: FloatArray) -> FloatArray:
    """Return the sums of products of all pairs of rows, (rows, rows), whatever the threads.

    Boxes are added one after another.
    """
    return _products(np.ascontiguousarray(rows.T))


@numpy_kernel
def _products(by_box: FloatArray) -> FloatArray:
    """Return the sums of products of all pairs of columns, (columns, columns), row after row of (boxes, columns)."""
    boxes, count = by_box.shape
    out = np.zeros((count, count))
    for start in range(0, boxes, SLAB):
        stop = min(start + SLAB, boxes)
        fours = start + (stop - start) // 4 * 4
        for i in range(count):  # on and above the diagonal
            row = out[i, i:]
            for b in range(start, fours, 4):  # four boxes while a sum is at hand, still one after another
                one, two, three, four = by_box[b, i:], by_box[b + 1, i:], by_box[b + 2, i:], by_box[b + 3, i:]
                x, y, z, w = one[0], two[0], three[0], four[0]
                for j in range(row.size):
                    row[j] = row[j] + x * one[j] + y * two[j] + z * three[j] + w * four[j]
            for b in range(fours, stop):
                one = by_box[b, i:]
                x = one[0]
                for j in range(row.size):
                    row[j] += x * one[j]
    for i in range(count):
        for j in range(i):
            out[i, j] = out[j, i]
    return out


@numpy_kernel
def sweep(sums: FloatArray, columns: int) -> FloatArray:
    """Return sums of products after the sweep of the first `columns`, on which the others are so regressed.

    Of [[X'X, X'y], [y'X, y'y]] are left the inverse of X'X, the coefficients, and the residual sums of squares.
    Source: Goodnight, Amer. Statist. 33 (1979) 149-158 (from memory).
    """
    out = sums.copy()
    for at in range(columns):
        pivot, column = out[at, at], out[:, at].copy()
        row = out[at] / pivot
        for i in range(len(out)):
            for j in range(len(out)):
                out[i, j] -= column[i] * row[j]
        out[at], out[:, at], out[at, at] = row, -column / pivot, 1 / pivot
    return out


def _linear_part(
    inputs: Sequence[Input], fitted: FloatArray, left: float, inverse: FloatArray, y: FloatArray, digits: int
) -> LinearPart:
    """Return one row's linear part; chance in the fit is taken off the square of every coefficient.

    `left` is the residual sum of squares, `inverse` the diagonal of the inverse of the sums of products.
    """
    total = float(((y - y.mean()) ** 2).sum())
    left, spare = max(left, 0.0), y.size - fitted.size
    error = np.sqrt(left / spare * inverse)
    certain = np.sqrt(np.maximum(fitted**2 - error**2, 0.0))[1:]
    mean, sd = float(y.mean()), float(y.std(ddof=1))
    quantiles = {at: float(np.quantile(y, at)) for at in (*TAILS, FURTHER)}
    if sd <= STILL * max(1.0, abs(mean)):  # what is left is the last digits of sums
        certain, sd, quantiles = np.zeros_like(certain), 0.0, dict.fromkeys(quantiles, mean)
    rss = float(np.sqrt((certain**2).sum()))
    return LinearPart(
        mean=mean,
        worst_case=sum(float((size * each.limit).sum()) for each, size in _sizes(inputs, certain)),
        rss=rss,
        explained=_explained(1 - (left / spare) / (total / (y.size - 1)), y.size, fitted.size)
        if sd > 0
        else exact(1.0),
        sd=sd,
        coverage=(mean - Z95 * rss, mean + Z95 * rss),
        sampled=(quantile(TAILS[0], quantiles, sd, y.size), quantile(TAILS[1], quantiles, sd, y.size)),
        tolerance=numerical_tolerance(sd, digits),
        coefficients={each.name: size for each, size in _sizes(inputs, fitted[1:])},
    )


def _explained(share: float, boxes: int, columns: int) -> Estimate:
    """Return R² of a fit with so many columns, its standard error twice that of normal errors: tails here are longer.

    That is (1 - R²) √(4 R²/n + 2k/n²), the second part for where there is next to nothing to explain.
    Source: Wishart, Biometrika 22 (1931) 353-361, for the first (from memory); the second is F's own spread there.
    """
    kept = min(max(share, 0.0), 1.0)
    error = 2 * (1 - kept) * (4 * kept / boxes + 2 * columns / boxes**2) ** 0.5
    return normal(kept, error, boxes).between(0.0, 1.0)


def _sizes(inputs: Sequence[Input], fitted: FloatArray) -> list[tuple[Input, FloatArray]]:
    """Return every varying input's coefficients per unit of its value, from those per unit draw.

    Places have their own where cuts vary; else one stands for all that share.
    """
    found: dict[str, tuple[Input, FloatArray]] = {}
    at = 0
    for each, level, count in parts(inputs):  # the cut part comes last, so it stands
        found[each.name] = each, fitted[at : at + count] / each.level_spread(level)
        at += count
    return list(found.values())
