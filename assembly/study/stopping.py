"""How many boxes are enough: block after block, until the printed figures hold still.

The adaptive procedure of JCGM 101:2008, 7.9: the standard deviation u of a row, written with so many digits, gives the
numerical tolerance δ, half a unit of the last digit; the study stops when twice the standard error of each printed
figure, taken from its values in the blocks, is below its row's δ. It looks only between blocks of 10,000, and never
before there are five: two blocks may agree by chance, and then claim to know a figure that they do not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from itertools import islice
from typing import TYPE_CHECKING, Literal

import numpy as np

from assembly.errors import InputError
from assembly.made.sampling import BLOCK
from assembly.study.blocks import Tally, block_rows, blocks_of, drive_blocks, row_numbers
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import Estimate, Interval, student

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from assembly.study.blocks import Model, StudyBlock

Figures = dict[tuple[str, str], Estimate]  # by row, and by what is estimated of it: mean, sd, or a quantile's share
CAP = 10_000_000
LEAST_BLOCKS = 5  # stopping after two, 92 % of intervals of a share held that say 95 % (2,000 studies)
QUANTILES = (0.05, 0.5, 0.95, 0.99)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Adaptive:
    """A study that stopped by itself: why, after how many boxes, and how sure each figure is."""

    total: Tally
    stopped: Literal["settled", "cap", "interrupted"]
    blocks: int
    figures: Figures


def numerical_tolerance(u: float, digits: int) -> float:
    """Return δ = 10^l/2, where u = c 10^l and c is a whole number of so many digits.

    Source: JCGM 101:2008, 7.9.2.

    Examples
    --------
    >>> numerical_tolerance(0.00035, 2)
    5e-06
    """
    if u <= 0:
        return 0.0
    exponent = Decimal(f"{u:.{digits - 1}e}").adjusted() - (digits - 1)
    return float(f"5e{exponent - 1}")


def adaptive(  # noqa: PLR0913 - what is studied, how sure, and how
    model: Model,
    rows: Sequence[str],
    *,
    shares: Sequence[str] = (),
    quantiles: Sequence[float] = QUANTILES,
    also: Sequence[tuple[str, str]] = (),
    digits: int = 2,
    cap: int = CAP,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> Adaptive:
    """Return the study of a model, long enough for mean, sd and quantiles of `rows`, and the means of `shares`.

    The figures `also`, (row, what) each, are given as far as they are then known: the study does not wait for them.

    Numbers do not depend on the threads: blocks are looked at in their order, and what was begun beyond the last one
    is left out.

    Raises
    ------
    InputError
        If the model has no such row, `digits` is not 1 to 4, or the cap is below two blocks.
    StoppedError
        If it is stopped within the first block.
    """
    row_numbers(model, (*rows, *shares, *(row for row, _ in also)))
    _check(digits, cap)
    wanted = wanted_figures(rows, shares, quantiles)
    followed = [*wanted, *also]
    total = Tally.start(model.rows, block_rows(model, seed=seed, block=0, run=run))
    seen = [figures_of(total, followed)]

    def work(block: StudyBlock, run: Run) -> Tally:
        return total.of(block_rows(model, seed=seed, block=block.number, run=run))

    whole = cap // BLOCK * BLOCK
    stopped: Literal["settled", "cap", "interrupted"] | None = None
    for done in drive_blocks(work, islice(blocks_of(whole), 1, None), run, of=cap, done=BLOCK, least=0):
        total.add(done)
        seen.append(figures_of(done, followed))
        errors = standard_errors(seen)[: len(wanted)]
        if len(seen) >= LEAST_BLOCKS and holds_still(errors, tolerances(total, wanted, digits)):
            stopped = "settled"
            break
    stopped = stopped or ("cap" if total.boxes == whole else "interrupted")
    figures = student_figures(total, followed, seen, Interval.STUDENT_BLOCKS)
    return Adaptive(total=total, stopped=stopped, blocks=len(seen), figures=figures)


def _check(digits: int, cap: int) -> None:
    if not 1 <= digits <= 4:
        msg = f"digits: got {digits}, must be 1 to 4"
        raise InputError(msg)
    if cap < 2 * BLOCK:
        msg = f"boxes: got {cap}, must be {2 * BLOCK} or more for a study that stops by itself"
        raise InputError(msg)


def wanted_figures(rows: Sequence[str], shares: Sequence[str], quantiles: Sequence[float]) -> list[tuple[str, str]]:
    """Return every figure, (row, what) each: mean, sd and quantiles of `rows`, and the mean alone of `shares`."""
    whole = [(row, what) for row in rows for what in ("mean", "sd", *map(str, quantiles))]
    return [*whole, *((row, "mean") for row in shares)]


def student_figures(
    total: Tally, wanted: Sequence[tuple[str, str]], seen: Sequence[FloatArray], interval: Interval
) -> Figures:
    """Return every wanted figure over all boxes, by Student's t over what was seen of it in the runs."""
    errors = standard_errors(seen).tolist()
    return {
        (row, what): student(_figure(total, row, what), error, len(seen), interval)
        for (row, what), error in zip(wanted, errors, strict=True)
    }


def figures_of(tally: Tally, wanted: Sequence[tuple[str, str]]) -> FloatArray:
    """Return the wanted figures, (row, what) each, of one tally."""
    return np.array([_figure(tally, row, what) for row, what in wanted])


def _figure(tally: Tally, row: str, what: str) -> float:
    if what == "mean":
        return tally.mean(row)
    return tally.std(row) if what == "sd" else tally.quantile(row, float(what))


def standard_errors(seen: Sequence[FloatArray]) -> FloatArray:
    """Return s/√h of every figure, from its h values in the blocks; infinite after one block."""
    blocks = np.array(seen)
    if len(blocks) == 1:
        return np.full(blocks.shape[1], np.inf)
    return np.asarray(blocks.std(axis=0, ddof=1) / math.sqrt(len(blocks)))


def tolerances(total: Tally, wanted: Sequence[tuple[str, str]], digits: int) -> FloatArray:
    """Return δ of every figure's row over all blocks."""
    return np.array([numerical_tolerance(total.std(row), digits) for row, _ in wanted])


def holds_still(error: FloatArray, tolerance: FloatArray) -> bool:
    """Return whether every figure is known well enough; one whose row has no spread is."""
    return bool(((tolerance == 0) | (2 * error < tolerance)).all())
