"""What would help: single changes to a workshop or a design, each tried on the same random numbers.

gain : boxes more (or, below zero, fewer) that pass in one class, with a paired interval
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np

from assembly.frame import BACK, FRONT
from assembly.tolerance.check import BoxModel
from assembly.tolerance.compare import Difference, paired_share, shared_draws
from assembly.tolerance.intervals import Share, wilson
from assembly.tolerance.sampling import draw_block
from assembly.tolerance.study import blocks_of, evaluate_block, in_order
from assembly.workshop import Disturbance, Operations

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.design import Design
    from assembly.frame import FloatArray
    from assembly.tolerance.sampling import Input
    from assembly.tolerance.study import Model
    from assembly.workshop import Workshop

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
    """Return every single change worth trying; operations that reach no outcome of the model are left out."""
    inputs = BoxModel(design, workshop).inputs
    operations = [name for name in (*Operations.model_fields, PARE) if any(each.group == name for each in inputs)]
    varied = [name for name in operations if any(each.std > 0 for each in inputs if each.group == name)]
    biased = [name for name in operations if any(each.bias != 0 for each in inputs if each.group == name)]
    squared = design.model_copy(update={"glue_up": "squared"})
    more = workshop.pare.model_copy(update={"rounds": workshop.pare.rounds + 1})
    tried: list[tuple[Kind, str, Design, Workshop]] = [
        *(("half the spread", name, design, halved(workshop, name)) for name in varied),
        *(("no bias", name, design, unbiased(workshop, name)) for name in biased),
        *(("aid", name, design, with_rows(workshop, aid.replaces)) for name, aid in workshop.aids.items()),
        ("shoulder from part", "", design, workshop.model_copy(update={"shoulder_from": "part"})),
        ("squared", "", squared, workshop),
        ("one more paring", "", design, workshop.model_copy(update={"pare": more})),
    ]
    told = [Change(kind=kind, what=what, model=BoxModel(made, by)) for kind, what, made, by in tried]
    longer = LengthenedModel(BoxModel(design, workshop), ALLOWANCE)
    return [*told, Change(kind="allowance", what="", model=longer)]


def paired_gains(  # noqa: PLR0913 - what is studied, how long, and how
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

    def work(block: tuple[int, int]) -> tuple[int, int, list[tuple[int, int, bool]]]:
        number, size = block
        draws = draw_block(base.inputs, size, seed=seed, block=number)
        before = evaluate_block(base, draws, size)
        at = list(base.rows).index("passes")
        told = []
        for change in tried:
            model = change.model
            shared = shared_draws(model.inputs, base.inputs, draws, size, seed=seed, block=number)
            after = evaluate_block(model, shared, size)
            off = after[list(model.rows).index("passes")] - before[at]
            told.append((int((off > 0).sum()), int((off < 0).sum()), np.array_equal(before, after)))
        return size, int(before[at].sum()), told

    done, passed, gained, lost, same = 0, 0, [0] * len(tried), [0] * len(tried), [True] * len(tried)
    try:
        for size, good, told in in_order(work, blocks_of(boxes), threads or os.cpu_count() or 1):
            done, passed = done + size, passed + good
            gained = [a + b[0] for a, b in zip(gained, told, strict=True)]
            lost = [a + b[1] for a, b in zip(lost, told, strict=True)]
            same = [a and b[2] for a, b in zip(same, told, strict=True)]
            if progress:
                progress(done, boxes)
    except KeyboardInterrupt:
        if not done:
            raise
    gains = [
        Gain(
            kind=change.kind,
            what=change.what,
            boxes=_in_class(gained[at], lost[at], done, makers, same=same[at]),
            pass_share=wilson(passed + gained[at] - lost[at], done),
            same=same[at],
        )
        for at, change in enumerate(tried)
    ]
    return Helps(
        makers=makers,
        boxes=done,
        seed=seed,
        pass_share=wilson(passed, done),
        gains=tuple(sorted(gains, key=lambda gain: -gain.boxes.value)),
        partial=done < boxes,
    )


def _in_class(gained: int, lost: int, boxes: int, makers: int, *, same: bool) -> Difference:
    """Return the gain in a class; none at all, for certain, where no box came out any different."""
    if same:
        return Difference(value=0.0, low=0.0, high=0.0)
    share = paired_share(gained, lost, boxes)
    return Difference(value=makers * share.value, low=makers * share.low, high=makers * share.high)


def helps(  # noqa: PLR0913 - what is studied, how long, and how
    design: Design,
    workshop: Workshop,
    *,
    boxes: int = 20_000,
    seed: int = 1,
    threads: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Helps:
    """Return what every single change of `changes` gains in a class of `design.makers`."""
    return paired_gains(
        BoxModel(design, workshop),
        changes(design, workshop),
        makers=design.makers,
        boxes=boxes,
        seed=seed,
        threads=threads,
        progress=progress,
    )
