"""Two ways of making, on the same random numbers: what differs, with a paired interval.

Every part of every input has its own numbered stream, so both models meet the same maker in every box; what the two
have in common falls out of the difference.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.made.sampling import draw_block, parts
from assembly.study.blocks import blocks_of, drive_blocks, evaluate_block, row_numbers
from assembly.study.check import BoxModel
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import Estimate, Interval, normal, paired_share, student, wilson

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from assembly.made.sampling import Draws, Input
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.blocks import Model, StudyBlock

BATCH = 1_000  # boxes of which one median is taken


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomeDifference:
    """What differs in one outcome, second less first, paired."""

    mean: Estimate
    median: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two models over the same `boxes` boxes."""

    boxes: int
    seed: int
    first: Estimate  # share of boxes that pass
    second: Estimate
    pass_share: Estimate  # second less first
    outcomes: dict[str, OutcomeDifference]
    partial: bool  # stopped before its end


def shared_draws(
    inputs: Sequence[Input], drawn: Sequence[Input], draws: Draws, boxes: int, *, seed: int, block: int
) -> Draws:
    """Return the draws of `inputs`, taken from those of `drawn` wherever they are the same numbers."""
    before = {each.name: (each.family, each.places) for each in drawn}
    fresh = [
        each
        for each in inputs
        if before.get(each.name) != (each.family, each.places)
        or any((each.name, level) not in draws for _, level, _ in parts([each]))
    ]
    return {**draws, **draw_block(fresh, boxes, seed=seed, block=block)}


def compare_models(
    first: Model,
    second: Model,
    rows: Sequence[str],
    *,
    boxes: int = 100_000,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> Comparison:
    """Return what differs between two models that have the row `passes` and `rows` in common.

    Stopped, it tells of the blocks that are done.

    Raises
    ------
    InputError
        If a model has no such row, or `boxes` gives fewer than two batches for an interval of a median.
    StoppedError
        If it is stopped within the first block.
    """
    if boxes < 2 * BATCH:
        msg = f"boxes: got {boxes}, must be {2 * BATCH} or more to compare medians"
        raise InputError(msg)
    wanted = [row_numbers(model, ("passes", *rows)) for model in (first, second)]

    def work(block: StudyBlock, run: Run) -> tuple[FloatArray, FloatArray, FloatArray]:
        number, size = block
        draws = draw_block(first.inputs, size, seed=seed, block=number)
        results = [evaluate_block(first, draws, size, run)[wanted[0]]]
        draws = shared_draws(second.inputs, first.inputs, draws, size, seed=seed, block=number)
        results.append(evaluate_block(second, draws, size, run)[wanted[1]])
        return (pass_cells(results[0][0], results[1][0]), *paired_sums(results[0][1:], results[1][1:]))

    cells, sums, medians = np.zeros(4), np.zeros((2, len(rows))), []
    for some_cells, some_sums, some_medians in drive_blocks(work, blocks_of(boxes), run, of=boxes):
        cells, sums = cells + some_cells, sums + some_sums
        medians.append(some_medians)
    return comparison_of(rows, cells, sums, np.hstack(medians), seed=seed, partial=int(cells.sum()) < boxes)


def pass_cells(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return how many boxes pass in both, only in the first, only in the second, in neither: (4,)."""
    both, one, other = (first * second).sum(), (first * (1 - second)).sum(), ((1 - first) * second).sum()
    return np.array([both, one, other, first.size - both - one - other])


def paired_sums(first: FloatArray, second: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return sums of differences and of their squares (2, rows), and differences of batch medians (rows, batches)."""
    off = second - first
    whole = first.shape[1] // BATCH
    batches = [each[:, : whole * BATCH].reshape(len(each), whole, BATCH) for each in (first, second)]
    medians = np.median(batches[1], axis=2) - np.median(batches[0], axis=2)
    return np.stack([off.sum(axis=1), (off * off).sum(axis=1)]), medians


def comparison_of(
    rows: Sequence[str], cells: FloatArray, sums: FloatArray, medians: FloatArray, *, seed: int, partial: bool
) -> Comparison:
    """Return the comparison, from what `pass_cells` and `paired_sums` counted."""
    boxes = int(cells.sum())
    mean = sums[0] / boxes
    mean_error = np.sqrt(np.maximum(sums[1] / boxes - mean**2, 0.0) / (boxes - 1))
    median, batches = medians.mean(axis=1), medians.shape[1]
    median_error = medians.std(axis=1, ddof=1) / np.sqrt(batches) if batches > 1 else np.full(len(rows), np.inf)
    return Comparison(
        boxes=boxes,
        seed=seed,
        first=wilson(float(cells[0] + cells[1]), boxes),
        second=wilson(float(cells[0] + cells[2]), boxes),
        pass_share=paired_share(cells[2], cells[1], boxes),
        outcomes={
            name: OutcomeDifference(
                mean=normal(mean[at], mean_error[at], boxes, Interval.PAIRED_MEAN),
                median=student(median[at], median_error[at], batches, Interval.STUDENT_BATCHES),
            )
            for at, name in enumerate(rows)
        },
        partial=partial,
    )


def compare(
    first: tuple[Design, Workshop],
    second: tuple[Design, Workshop],
    *,
    boxes: int = 100_000,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> Comparison:
    """Return what differs between two designs in their workshops: pass share, mean and median of what both have."""
    both = tuple(name for name in first[0].outcomes if name in second[0].outcomes)
    return compare_models(BoxModel(*first), BoxModel(*second), both, boxes=boxes, seed=seed, run=run)
