"""What would help: single changes to a workshop or design, each on the same random numbers (MODEL.md, 5.5).

gain : boxes more (or, below zero, fewer) that pass in one class, with a paired interval
"""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np

from assembly.made.sampling import draw_block, values
from assembly.model.workshop import Disturbance, Operations
from assembly.nominal.frame import BACK, FRONT
from assembly.study.blocks import WINDOW, blocks_of, in_order
from assembly.study.check import BoxModel
from assembly.study.compare import Difference, paired_share, shared_draws
from assembly.study.intervals import Share, wilson
from assembly.study.side_effects import BOXES, Reason, reasons
from assembly.study.stages import staged

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.arrays import FloatArray, IntArray
    from assembly.made.sampling import Input
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.blocks import Model

ALLOWANCE = 0.5  # mm of length added to every plain wall, to be taken off in fitting
PARE = "pare"
Kind = Literal["half the spread", "no bias", "aid", "shoulder from part", "squared", "one more paring", "allowance"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change: its kind, the operation or aid it is about (empty where the kind says all), and the changed model."""

    kind: Kind
    what: str
    model: Model


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What one change is worth in a class."""

    kind: Kind
    what: str
    boxes: Difference  # more boxes that pass in a class of so many makers
    pass_share: Share  # of boxes, after the change
    same: bool  # whether no box came out any different, in any outcome
    why: Reason | None = None  # of a change that makes things worse, where it was looked for


@dataclass(frozen=True, slots=True, kw_only=True)
class Helps:
    """Every change tried, the most helpful first; changes that make things worse come last."""

    makers: int
    boxes: int
    seed: int
    pass_share: Share  # of boxes, as things are
    gains: tuple[Gain, ...]
    partial: bool  # stopped before its end


@dataclass(frozen=True)
class LengthenedModel:
    """A box whose plain walls are all marked `amount` mm longer than drawn, their marked end outwards."""

    box: BoxModel
    amount: float

    @cached_property
    def inputs(self) -> tuple[Input, ...]:
        """The box's own inputs."""
        return self.box.inputs

    @cached_property
    def rows(self) -> tuple[str, ...]:
        """The box's own rows."""
        return self.box.rows

    def evaluate(self, value: dict[str, FloatArray]) -> FloatArray:
        """Return every row for every box, with the plain walls' lines moved out by the allowance."""
        added = np.zeros((4, 1))
        added[[FRONT, BACK]] = self.amount
        return self.box.evaluate({**value, "mark.offset": value["mark.offset"] + added})


def with_rows(workshop: Workshop, rows: dict[str, Disturbance]) -> Workshop:
    """Return the workshop with some quantities' rows replaced whole, by their dotted names."""
    operations = workshop.operations
    for quantity, row in rows.items():
        operation, _, name = quantity.partition(".")
        changed = getattr(operations, operation).model_copy(update={name: row})
        operations = operations.model_copy(update={operation: changed})
    return workshop.model_copy(update={"operations": operations})


def operation_rows(workshop: Workshop, operation: str) -> dict[str, Disturbance]:
    """Return one operation's disturbances by their dotted names."""
    names = type(getattr(workshop.operations, operation)).model_fields
    return {f"{operation}.{name}": workshop.disturbance(f"{operation}.{name}") for name in names}


def halved(workshop: Workshop, operation: str) -> Workshop:
    """Return the workshop with every spread of one operation, or of paring, halved."""
    if operation == PARE:
        return workshop.model_copy(
            update={"pare": workshop.pare.model_copy(update={"spread": workshop.pare.spread / 2})}
        )
    levels = ("class_spread", "maker_spread", "spread")
    return with_rows(
        workshop,
        {
            name: row.model_copy(update={level: getattr(row, level) / 2 for level in levels})
            for name, row in operation_rows(workshop, operation).items()
        },
    )


def unbiased(workshop: Workshop, operation: str) -> Workshop:
    """Return the workshop with every bias of one operation, or of paring, taken away."""
    if operation == PARE:
        return workshop.model_copy(update={"pare": workshop.pare.model_copy(update={"bias": 0.0})})
    rows = operation_rows(workshop, operation)
    return with_rows(workshop, {name: row.model_copy(update={"bias": 0.0}) for name, row in rows.items()})


def changes(design: Design, workshop: Workshop) -> list[Change]:
    """Return every single change worth trying.

    Left out are operations that reach no outcome of the model, and what is done already: shoulders that are marked
    from the part, diagonals that are made equal, aids whose rows the workshop has.
    """
    inputs = BoxModel(design, workshop).inputs
    operations = [name for name in (*Operations.model_fields, PARE) if any(each.group == name for each in inputs)]
    varied = [name for name in operations if any(each.std > 0 for each in inputs if each.group == name)]
    biased = [name for name in operations if any(each.bias != 0 for each in inputs if each.group == name)]
    squared = design.model_copy(update={"glue_up": "squared"})
    more = workshop.pare.model_copy(update={"rounds": workshop.pare.rounds + 1})
    aided = {name: with_rows(workshop, aid.replaces) for name, aid in workshop.aids.items()}
    tried: list[tuple[Kind, str, Design, Workshop]] = [
        *(("half the spread", name, design, halved(workshop, name)) for name in varied),
        *(("no bias", name, design, unbiased(workshop, name)) for name in biased),
        *(("aid", name, design, made_by) for name, made_by in aided.items()),
        ("shoulder from part", "", design, workshop.model_copy(update={"shoulder_from": "part"})),
        ("squared", "", squared, workshop),
        ("one more paring", "", design, workshop.model_copy(update={"pare": more})),
    ]
    tried = [each for each in tried if each[2:] != (design, workshop)]
    told = [Change(kind=kind, what=what, model=BoxModel(made, by)) for kind, what, made, by in tried]
    longer = LengthenedModel(BoxModel(design, workshop), ALLOWANCE)
    return [*told, Change(kind="allowance", what="", model=longer)]


def paired_gains(
    base: Model,
    tried: Sequence[Change],
    *,
    makers: int,
    boxes: int = 20_000,
    seed: int = 1,
    threads: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Helps:
    """Return what each change gains over `base` in a class; all models have the row `passes`.

    Ctrl-C ends the study with the blocks that are done.
    """

    def work(block: tuple[int, int]) -> tuple[int, int, IntArray]:
        return block[1], *block_gains(base, tried, seed=seed, block=block[0], boxes=block[1])

    done, passed, total = 0, 0, np.zeros((len(tried), 3), dtype=np.int64)
    try:
        for size, good, told in in_order(work, blocks_of(boxes), threads or os.cpu_count() or 1):
            done, passed = done + size, passed + good
            total += told
            if progress:
                progress(done, boxes)
    except KeyboardInterrupt:
        if not done:
            raise
    gains = [_gain(change, counts, passed, done, makers) for change, counts in zip(tried, total.tolist(), strict=True)]
    return Helps(
        makers=makers,
        boxes=done,
        seed=seed,
        pass_share=wilson(passed, done),
        gains=tuple(sorted(gains, key=lambda gain: -gain.boxes.value)),
        partial=done < boxes,
    )


def block_gains(base: Model, tried: Sequence[Change], *, seed: int, block: int, boxes: int) -> tuple[int, IntArray]:
    """Return how many boxes of one block pass, and how many each change gains, loses, moves at all: (changes, 3)."""
    draws = draw_block(base.inputs, boxes, seed=seed, block=block)
    shared = [shared_draws(each.model.inputs, base.inputs, draws, boxes, seed=seed, block=block) for each in tried]
    stages, others = staged(base), [staged(each.model) for each in tried]
    at, *places = [list(model.rows).index("passes") for model in (base, *(each.model for each in tried))]
    passed, out = 0, np.zeros((len(tried), 3), dtype=np.int64)
    for start in range(0, boxes, WINDOW):
        window = slice(start, min(start + WINDOW, boxes))
        results = stages.results(values(base.inputs, draws, window))
        before = stages.gather(results)
        passed += int(before[at].sum())
        for index, (change, other) in enumerate(zip(tried, others, strict=True)):
            after = other.instead_of(stages, values(change.model.inputs, shared[index], window), results)
            off = after[places[index]] - before[at]
            out[index] += [(off > 0).sum(), (off < 0).sum(), (before != after).any(axis=0).sum()]
    return passed, out


def _gain(change: Change, counts: Sequence[int], passed: int, boxes: int, makers: int) -> Gain:
    """Return what a change is worth, from how many of the boxes it gains, loses, moves at all; `passed` did without."""
    gained, lost, moved = counts
    return Gain(
        kind=change.kind,
        what=change.what,
        boxes=_in_class(gained, lost, boxes, makers, same=not moved),
        pass_share=wilson(passed + gained - lost, boxes),
        same=not moved,
    )


def _in_class(gained: int, lost: int, boxes: int, makers: int, *, same: bool) -> Difference:
    """Return the gain in a class; none at all, for certain, where no box came out any different."""
    if same:
        return Difference(value=0.0, low=0.0, high=0.0)
    share = paired_share(gained, lost, boxes)
    return Difference(value=makers * share.value, low=makers * share.low, high=makers * share.high)


def helps(
    design: Design,
    workshop: Workshop,
    *,
    boxes: int = 20_000,
    seed: int = 1,
    threads: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Helps:
    """Return what every single change of `changes` gains in a class of `design.makers`, and why some lose."""
    base, tried = BoxModel(design, workshop), changes(design, workshop)
    found = paired_gains(base, tried, makers=design.makers, boxes=boxes, seed=seed, threads=threads, progress=progress)
    return found if found.partial else explained(base, tried, found)


def explained(base: BoxModel, tried: Sequence[Change], found: Helps) -> Helps:
    """Return the same gains, those that are losses with their reason; Ctrl-C leaves the rest without."""
    models = {(change.kind, change.what): change.model for change in tried}
    gains, partial = list(found.gains), False
    worse = [at for at, gain in enumerate(gains) if gain.boxes.high < 0]
    changed = [models[gains[at].kind, gains[at].what] for at in worse]
    try:
        for at, why in zip(worse, reasons(base, changed, boxes=min(found.boxes, BOXES), seed=found.seed), strict=True):
            gains[at] = replace(gains[at], why=why)
    except KeyboardInterrupt:
        partial = True
    return replace(found, gains=tuple(gains), partial=partial)
