"""Scrambled Sobol' points in place of random ones: fewer boxes for the same certainty of means and quantiles.

scramble : an independent random shift and shuffle of the whole point set; the error of a figure is taken over
           scrambles, as the points of one scramble are not independent of each other (no binomial interval holds)

Source: Owen, J. Complexity 14 (1998) 466-489, as scipy.stats.qmc builds them.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.tolerance.causes import row_numbers
from assembly.tolerance.sampling import parts, stream
from assembly.tolerance.stopping import QUANTILES, Figure, numerical_tolerance, standard_errors
from assembly.tolerance.study import evaluate_block, in_order
from assembly.workshop import HALF_WIDTH_PER_STD

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.frame import FloatArray
    from assembly.tolerance.sampling import Draws, Input
    from assembly.tolerance.study import Model
    from assembly.workshop import Family

SCRAMBLES = 16
BITS = 30  # of every coordinate of a point
MOST = 17  # 131,072 points a scramble: some 400 MB for the box


@dataclass(frozen=True, slots=True, kw_only=True)
class Scrambled:
    """Figures over all scrambles, their standard errors from the values in each."""

    boxes: int
    scrambles: int
    seed: int
    figures: tuple[Figure, ...]
    partial: bool  # stopped before its end


def unit_quantile(family: Family, share: FloatArray) -> FloatArray:
    """Return the quantile of mean 0 and standard deviation 1 for shares between 0 and 1."""
    if family == "normal":
        from scipy.special import ndtri  # noqa: PLC0415 - 0.1 s that random points never need

        return np.asarray(ndtri(share))
    half = HALF_WIDTH_PER_STD[family]
    if family == "uniform":
        return np.asarray((2 * share - 1) * half)
    side = np.sqrt(2 * np.minimum(share, 1 - share))
    return np.asarray(np.where(share < 0.5, side - 1, 1 - side) * half)


def scrambled_draws(inputs: Sequence[Input], power: int, *, seed: int, scramble: int) -> Draws:
    """Return the unit draws of 2^power boxes from one scramble; every box has its own class part."""
    from scipy.stats import qmc  # noqa: PLC0415 - 0.6 s that random points never need

    varying = parts(inputs)
    rng = stream(seed, scramble, "sobol", "cut")
    points = qmc.Sobol(sum(rows for _, _, rows in varying), bits=BITS, rng=rng).random_base2(power).T
    points = np.maximum(points, 2.0 ** -(BITS + 1))  # zero is a point, and a normal has no quantile there
    draws: Draws = {}
    at = 0
    for each, level, rows in varying:
        draws[each.name, level] = unit_quantile(each.family, points[at : at + rows])
        at += rows
    return draws


def scrambled(  # noqa: PLR0913 - what is studied, how long, and how
    model: Model,
    rows: Sequence[str],
    *,
    quantiles: Sequence[float] = QUANTILES,
    power: int = 12,
    scrambles: int = SCRAMBLES,
    digits: int = 2,
    seed: int = 1,
    threads: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Scrambled:
    """Return mean, sd and quantiles of `rows`, over `scrambles` scrambles of 2^power boxes each.

    Ctrl-C ends the study with the scrambles that are done, if there are two.

    Raises
    ------
    InputError
        If the model has no such row, or the number of points or scrambles is out of its range.
    """
    at = row_numbers(model, rows)
    _check(power, scrambles)
    points = 2**power

    def work(run: tuple[int, int]) -> FloatArray:
        draws = scrambled_draws(model.inputs, power, seed=seed, scramble=run[0])
        told = evaluate_block(model, draws, points)[at]
        return np.vstack([told.mean(axis=1), told.std(axis=1, ddof=1), np.quantile(told, quantiles, axis=1)]).T.ravel()

    seen: list[FloatArray] = []
    try:
        for done in in_order(work, [(run, points) for run in range(scrambles)], threads or os.cpu_count() or 1):
            seen.append(done)
            if progress:
                progress(len(seen) * points, scrambles * points)
    except KeyboardInterrupt:
        if len(seen) < 2:
            raise
    wanted = [(row, what) for row in rows for what in ("mean", "sd", *map(str, quantiles))]
    values = dict(zip(wanted, np.mean(seen, axis=0).tolist(), strict=True))
    errors = dict(zip(wanted, standard_errors(seen).tolist(), strict=True))
    return Scrambled(
        boxes=len(seen) * points,
        scrambles=len(seen),
        seed=seed,
        figures=tuple(
            Figure(
                row=row,
                what=what,
                value=values[row, what],
                standard_error=errors[row, what],
                tolerance=numerical_tolerance(values[row, "sd"], digits),
                runs=len(seen),
            )
            for row, what in wanted
        ),
        partial=len(seen) < scrambles,
    )


def _check(power: int, scrambles: int) -> None:
    if not 1 <= power <= MOST:
        msg = f"points: got 2^{power} a scramble, must be 2^1 to 2^{MOST}"
        raise InputError(msg)
    if scrambles < 2:
        msg = f"scrambles: got {scrambles}, must be 2 or more, as the error is taken over them"
        raise InputError(msg)
