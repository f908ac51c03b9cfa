"""The class forecast with what is not known in it: each class takes a draw of the learned workshop (MODEL.md, 8.3)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.made.sampling import BLOCK, LEVELS, draw_block
from assembly.model.workshop import ANGLES
from assembly.study.blocks import StudyBlock, drive_blocks, windows
from assembly.study.driver import UNWATCHED
from assembly.study.forecast import CLASSES, SAMPLED_CLASS, ClassCounts, grown

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from assembly.arrays import FloatArray, IntArray
    from assembly.learning.files import Draws
    from assembly.made.sampling import Draws as UnitDraws
    from assembly.made.sampling import Input
    from assembly.study.check import BoxModel
    from assembly.study.driver import Run

OF_LEVEL = {"class": 1, "maker": 2, "cut": 3}  # where a level's spread stands in a draw


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnsureClasses:
    """Simulated classes, each of one draw: which draw, and how many of its boxes pass."""

    classes: ClassCounts
    draw: IntArray  # (classes,) which draw each took
    sampled: IntArray  # (classes,) boxes that pass of those simulated


def figures_in(inputs: Sequence[Input], draws: Draws) -> dict[str, FloatArray]:
    """Return each input's figures in all draws, in the code's units: name -> (draws, 4)."""
    found = {}
    for each in inputs:
        if each.name in draws.quantities:
            unit = math.radians(1) if each.name in ANGLES else 1.0
            found[each.name] = draws.draws[:, :, draws.quantities.index(each.name)] * unit
    return found


def values_with(
    inputs: Sequence[Input], units: UnitDraws, figures: Mapping[str, FloatArray], draw: IntArray, window: slice
) -> dict[str, FloatArray]:
    """Return the value of every input at each of its places, each box by the draw it takes: name -> (places, boxes)."""
    out = {}
    taken = draw[window]
    for each in inputs:
        known = figures.get(each.name)
        value = (
            np.full((each.places, len(taken)), each.bias)
            if known is None
            else known[taken, 0] + np.zeros((each.places, 1))
        )
        for level in LEVELS:
            if (each.name, level) in units:
                spread = each.level_spread(level) if known is None else known[taken, OF_LEVEL[level]]
                value = value + units[each.name, level][:, window] * spread
        out[each.name] = value
    return out


def unsure_rows(
    model: BoxModel, draws: Draws, draw: IntArray, *, seed: int, block: int, class_size: int, run: Run = UNWATCHED
) -> FloatArray:
    """Return every row for boxes of one block, box i by the draw `draw[i]`: (rows, boxes)."""
    boxes, inputs, figures = len(draw), model.inputs, figures_in(model.inputs, draws)
    units = draw_block(inputs, boxes, seed=seed, block=block, class_size=class_size)
    out = np.empty((len(model.rows), boxes))
    for window in windows(boxes, run):
        out[:, window] = model.evaluate(values_with(inputs, units, figures, draw, window))
    return out


def in_turn(draws: Draws, classes: int, *, seed: int) -> IntArray:
    """Return which draw each of so many classes takes: all of them in turn, shuffled."""
    number = len(draws.draws)
    turns = np.random.default_rng([seed, number]).permutation(number)
    return np.asarray(turns[np.arange(classes) % number], np.int64)


def unsure_counts(
    model: BoxModel, draws: Draws, *, makers: int, classes: int = CLASSES, seed: int = 1, run: Run = UNWATCHED
) -> UnsureClasses:
    """Return simulated classes of `makers`, at least so many in whole blocks; draws are taken in turn, shuffled.

    Raises
    ------
    StoppedError
        If it is stopped within the first block.
    """
    size = min(makers, SAMPLED_CLASS)
    whole = BLOCK // size
    blocks = [StudyBlock(number, whole * size) for number in range(-(-classes // whole))]
    row = list(model.rows).index("passes")
    order = in_turn(draws, len(blocks) * whole, seed=seed)

    def work(block: StudyBlock, run: Run) -> IntArray:
        mine = np.repeat(order[block.number * whole : (block.number + 1) * whole], size)
        rows = unsure_rows(model, draws, mine, seed=seed, block=block.number, class_size=size, run=run)
        passed: IntArray = rows[row].reshape(whole, size).sum(axis=1).astype(np.int64)
        return passed

    counts = list(drive_blocks(work, blocks, run, of=len(blocks) * whole * size))
    sampled = np.concatenate(counts)
    return UnsureClasses(
        classes=ClassCounts(
            makers=makers,
            counts=sampled if size == makers else grown(sampled, size, makers, seed=seed, shared=True),
            boxes=sampled.size * size,
            passed=int(sampled.sum()),
            partial=len(counts) < len(blocks),
        ),
        draw=order[: sampled.size],
        sampled=sampled,
    )
