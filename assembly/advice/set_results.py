"""What comes of a few sets of changes: enough boxes of a study to rank them, the same boxes for all.

The boxes are those that `assembly.study.check` makes of the same seed, so that a set promises to the last box what a
check of as many boxes then finds.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import StoppedError
from assembly.made.sampling import BLOCK, draw_block, values
from assembly.study.blocks import blocks_of, row_numbers, windows
from assembly.study.check import BoxModel
from assembly.study.compare import shared_draws
from assembly.study.driver import UNWATCHED, Run, drive
from assembly.study.intervals import Estimate, paired_share, wilson
from assembly.study.stages import staged

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from assembly.advice.search import ChangeSet
    from assembly.arrays import BoolArray
    from assembly.study.blocks import StudyBlock


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SetResult:
    """What came of one set of changes, over the boxes of a study."""

    set: ChangeSet
    kept: BoolArray  # (limits, boxes): which box keeps which limit, in the order of `limits`
    limits: tuple[str, ...]
    beyond: BoolArray  # (boxes,): which are beyond first order

    @property
    def boxes(self) -> int:
        """How many boxes were made."""
        return self.beyond.size

    @property
    def passes(self) -> BoolArray:
        """Which boxes keep every limit: (boxes,)."""
        return np.asarray(self.kept.all(axis=0))

    @property
    def share(self) -> Estimate:
        """The share of boxes that keep every limit."""
        return wilson(float(np.count_nonzero(self.passes)), self.boxes)

    def keeping(self, limit: str) -> Estimate:
        """Return the share of boxes that keep one limit."""
        return wilson(float(np.count_nonzero(self.kept[self.limits.index(limit)])), self.boxes)

    @property
    def worst(self) -> str | None:
        """The limit that fewest boxes keep; None where the design sets none."""
        return min(self.limits, key=lambda limit: self.keeping(limit).value, default=None)

    def over(self, other: SetResult) -> Estimate:
        """Return by how much the share is larger than another's over the same boxes, with its paired interval."""
        mine, its = self.passes, other.passes
        return paired_share(float(np.count_nonzero(mine & ~its)), float(np.count_nonzero(its & ~mine)), self.boxes)


def results_of(
    sets: Sequence[ChangeSet],
    *,
    boxes: int,
    seed: int,
    run: Run = UNWATCHED,
    known: Mapping[ChangeSet, SetResult] | None = None,
) -> list[SetResult]:
    """Return what comes of some sets of changes, of which `known` are results over fewer boxes; all have the same.

    Progress is counted in boxes. Stopped, it tells of the blocks that all sets have been through.

    Raises
    ------
    StoppedError
        If it is stopped within the first block.
    """
    models = [BoxModel(each.design, each.workshop) for each in sets]
    limits = tuple(models[0].limits)
    found = _whole_blocks(sets, known or {})
    done = sum(each.shape[2] for each in found)
    try:
        for block in blocks_of(boxes):
            if block.number * BLOCK < done:
                continue
            part = []
            for rows in _block(models, limits, block, seed=seed, run=run):
                part.append(rows)
                run.report(block.number * BLOCK + block.boxes * len(part) // len(models), boxes)
            found.append(np.stack(part))
    except StoppedError:
        if not found:
            raise
    whole = np.concatenate(found, axis=2)
    each = zip(sets, whole, strict=True)
    return [SetResult(set=one, kept=rows[1:], limits=limits, beyond=rows[0]) for one, rows in each]


def _whole_blocks(sets: Sequence[ChangeSet], known: Mapping[ChangeSet, SetResult]) -> list[BoolArray]:
    """Return what is known of all sets in whole blocks: none, or one array (sets, 1 + limits, boxes)."""
    if any(each not in known for each in sets):
        return []
    boxes = known[sets[0]].boxes // BLOCK * BLOCK
    rows = [np.vstack([known[each].beyond, known[each].kept])[:, :boxes] for each in sets]
    return [np.stack(rows)] if boxes else []


def _block(
    models: Sequence[BoxModel], limits: Sequence[str], block: StudyBlock, *, seed: int, run: Run
) -> Iterator[BoolArray]:
    """Yield what one block tells of each model, (1 + limits, boxes): which are beyond, which keep each limit.

    What a model has in common with the first, its frame or its sheets and holes, is worked out once.
    """
    first, stages, size = models[0], staged(models[0]), block.boxes
    draws = draw_block(first.inputs, size, seed=seed, block=block.number)
    before = [(window, stages.results(values(first.inputs, draws, window))) for window in windows(size, run)]

    def rows(model: BoxModel, run: Run) -> BoolArray:
        wanted = row_numbers(model, ("beyond", *(f"keeps {limit}" for limit in limits)))
        shared, mine = (
            shared_draws(model.inputs, first.inputs, draws, size, seed=seed, block=block.number),
            staged(model),
        )
        passes = [
            mine.instead_of(stages, values(model.inputs, shared, window), results)[wanted] > 0
            for window, results in run.watched(before)
        ]
        return np.hstack(passes)

    return drive(rows, models, replace(run, progress=None), of=len(models), least=len(models))
