"""What would help: single changes to a workshop or design, each on the same random numbers (MODEL.md, 5.5).

gain : boxes more (or, below zero, fewer) that pass in one class, with a paired interval
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.changes.apply import apply
from assembly.changes.of_making import (
    PARE,
    aid_used,
    gauged_from,
    half_the_spread,
    lid_marked_through,
    no_bias,
    one_more_paring,
    plain_walls_longer,
    shoulders_from,
    squared_glue_up,
)
from assembly.errors import ConfigError
from assembly.made.faces import OVERLENGTH
from assembly.made.sampling import draw_block, values
from assembly.model.workshop import ALLOWANCES, Operations
from assembly.study.blocks import blocks_of, drive_blocks, windows
from assembly.study.check import BoxModel
from assembly.study.compare import shared_draws
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import Estimate, exact, paired_share, wilson
from assembly.study.side_effects import BOXES, SideEffect, reasons
from assembly.study.stages import staged

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from assembly.arrays import IntArray
    from assembly.changes.change import Change
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.blocks import Model, StudyBlock

LONGER = 0.5  # mm of length added to every plain wall, to be taken off in fitting


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """One change, and the model of what comes of it."""

    change: Change
    model: Model


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What one change is worth in a class."""

    change: Change
    boxes: Estimate  # more boxes that pass in a class of so many makers
    pass_share: Estimate  # of boxes, after the change
    same: bool  # whether no box came out any different, in any outcome
    why: SideEffect | None = None  # of a change that makes things worse, where it was looked for


@dataclass(frozen=True, slots=True, kw_only=True)
class Helps:
    """Every change tried, the most helpful first; changes that make things worse come last."""

    makers: int
    boxes: int
    seed: int
    pass_share: Estimate  # of boxes, as things are
    gains: tuple[Gain, ...]
    partial: bool  # stopped before its end


def changes(design: Design, workshop: Workshop) -> Iterator[Change]:
    """Yield every single change to how a box is made that may be worth trying, those that are done already included.

    Left out are operations that reach no outcome of the model, or have nothing to be halved or taken away: what is left
    on with intent is no fault to be taken away.
    """
    inputs = BoxModel(design, workshop).inputs
    meant = {*ALLOWANCES, OVERLENGTH}
    operations = [name for name in (*Operations.model_fields, PARE) if any(each.group == name for each in inputs)]
    for name in operations:
        if any(each.std > 0 for each in inputs if each.group == name):
            yield half_the_spread(workshop, name)
    for name in operations:
        if any(each.bias != 0 for each in inputs if each.group == name and each.name not in meant):
            yield no_bias(workshop, name)
    for name in workshop.aids:
        yield aid_used(workshop, name)
    yield from (shoulders_from("part"), squared_glue_up(), one_more_paring(workshop))
    yield gauged_from("outside" if workshop.gauge_from == "inside" else "inside")
    if design.plaque:
        yield lid_marked_through()
    yield plain_walls_longer(design, LONGER)


def tried(design: Design, workshop: Workshop) -> list[Tried]:
    """Return every change of `changes` that makes a difference and that design and workshop can take."""
    found = []
    for change in changes(design, workshop):
        try:
            after = apply(change, design, workshop)
        except ConfigError:  # such as a paring more than are allowed, or an aid beside one that gives the same
            continue
        if after[0] != design or not works_alike(design, after[1], workshop):
            found.append(Tried(change=change, model=BoxModel(*after)))
    return found


def works_alike(design: Design, one: Workshop, other: Workshop) -> bool:
    """Tell whether two workshops make the same boxes of a design.

    They may differ in which aids give the numbers, and in numbers of operations that the design never uses.
    """
    same = one.model_copy(update={"aids": {}, "operations": other.operations})
    return (
        same == other.model_copy(update={"aids": {}}) and BoxModel(design, one).inputs == BoxModel(design, other).inputs
    )


def paired_gains(
    base: Model,
    tried: Sequence[Tried],
    *,
    makers: int,
    boxes: int = 20_000,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> Helps:
    """Return what each change gains over `base` in a class; all models have the row `passes`.

    Stopped, it tells of the blocks that are done.

    Raises
    ------
    StoppedError
        If it is stopped within the first block.
    """

    def work(block: StudyBlock, run: Run) -> tuple[int, int, IntArray]:
        return block.boxes, *block_gains(base, tried, block, seed=seed, run=run)

    done, passed, total = 0, 0, np.zeros((len(tried), 3), dtype=np.int64)
    for size, good, added in drive_blocks(work, blocks_of(boxes), run, of=boxes):
        done, passed = done + size, passed + good
        total += added
    gains = [_gain(each.change, row, passed, done, makers) for each, row in zip(tried, total.tolist(), strict=True)]
    return Helps(
        makers=makers,
        boxes=done,
        seed=seed,
        pass_share=wilson(passed, done),
        gains=tuple(sorted(gains, key=lambda gain: -gain.boxes.value)),
        partial=done < boxes,
    )


def block_gains(
    base: Model, tried: Sequence[Tried], block: StudyBlock, *, seed: int, run: Run = UNWATCHED
) -> tuple[int, IntArray]:
    """Return how many boxes of one block pass, and how many each change gains, loses, moves at all: (changes, 3)."""
    number, boxes = block
    draws = draw_block(base.inputs, boxes, seed=seed, block=number)
    shared = [shared_draws(each.model.inputs, base.inputs, draws, boxes, seed=seed, block=number) for each in tried]
    stages, others = staged(base), [staged(each.model) for each in tried]
    at, *places = [list(model.rows).index("passes") for model in (base, *(each.model for each in tried))]
    passed, out = 0, np.zeros((len(tried), 3), dtype=np.int64)
    for window in windows(boxes, run):
        results = stages.results(values(base.inputs, draws, window))
        before = stages.gather(results)
        passed += int(before[at].sum())
        for index, (each, other) in enumerate(zip(tried, others, strict=True)):
            after = other.instead_of(stages, values(each.model.inputs, shared[index], window), results)
            off = after[places[index]] - before[at]
            out[index] += [(off > 0).sum(), (off < 0).sum(), (before != after).any(axis=0).sum()]
    return passed, out


def _gain(change: Change, counts: Sequence[int], passed: int, boxes: int, makers: int) -> Gain:
    """Return what a change is worth, from how many of the boxes it gains, loses, moves at all; `passed` did without."""
    gained, lost, moved = counts
    # None at all, for certain, where no box came out any different.
    in_class = paired_share(gained, lost, boxes).times(makers) if moved else exact(0.0)
    return Gain(
        change=change,
        boxes=in_class,
        pass_share=wilson(passed + gained - lost, boxes),
        same=not moved,
    )


def helps(
    design: Design,
    workshop: Workshop,
    *,
    boxes: int = 20_000,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> Helps:
    """Return what every single change of `tried` gains in a class of `design.makers`, and why some lose."""
    base, each = BoxModel(design, workshop), tried(design, workshop)
    found = paired_gains(base, each, makers=design.makers, boxes=boxes, seed=seed, run=run)
    return found if found.partial else explained(base, each, found, run)


def explained(base: BoxModel, tried: Sequence[Tried], found: Helps, run: Run = UNWATCHED) -> Helps:
    """Return the same gains, those that are losses with their reason; where it is stopped the rest are without."""
    gains = list(found.gains)
    worse = [at for at, gain in enumerate(gains) if gain.boxes.high < 0]
    changed = [next(each.model for each in tried if each.change == gains[at].change) for at in worse]
    given = list(reasons(base, changed, boxes=min(found.boxes, BOXES), seed=found.seed, run=run))
    for at, why in zip(worse, given, strict=False):
        gains[at] = replace(gains[at], why=why)
    return replace(found, gains=tuple(gains), partial=len(given) < len(worse))
