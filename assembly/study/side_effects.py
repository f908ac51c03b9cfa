"""Why a change makes things worse: what it moves, on the same random numbers; only what the figures show is given.

short : a corner of a face that hands leave below its line, so that nothing is there to be taken off; what is left on
        can be sanded or pared away, what is missing stays open. Ends are short where the saw went below the line that
        the sander stops at, laps where cheek or shoulder is cut too deep.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from assembly.made.sampling import draw_block, values
from assembly.study.check import BoxModel
from assembly.study.compare import shared_draws
from assembly.study.driver import UNWATCHED, Run, drive
from assembly.study.intervals import Estimate, normal, paired_share, wilson

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from assembly.arrays import FloatArray
    from assembly.made.sampling import Draws
    from assembly.study.blocks import Model

BOXES = 10_000  # that a reason is looked for in: one block
Where = Literal["ends", "laps"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Missed:
    """The limit that a change loses most boxes by; each pair is before and after."""

    name: str
    kept: tuple[Estimate, Estimate]
    mean: tuple[Estimate, Estimate]


@dataclass(frozen=True, slots=True, kw_only=True)
class SideEffect:
    """What a change moves; None where the figures show nothing beyond chance."""

    boxes: int
    missed: Missed | None
    where: Where | None  # the faces that more often come out short
    short: tuple[Estimate, Estimate] | None  # shares of their corners


@dataclass(frozen=True, slots=True)
class Seen:
    """Boxes that were made: every row of the model, and the short corners' shares where they are known."""

    rows: dict[str, FloatArray]
    short: dict[Where, FloatArray]


def short_shares(box: BoxModel, value: dict[str, FloatArray]) -> dict[Where, FloatArray]:
    """Return the share of the corners of ends, and of laps, that come out short in every box: (boxes,) each."""
    worked = box.making.worked(value)
    laps = np.concatenate(np.broadcast_arrays(worked.cheek, worked.shoulder))
    ends = worked.sawn < worked.sanded
    return {"ends": ends.mean(axis=(0, 1)), "laps": (laps < 0).mean(axis=(0, 1))}


def seen(model: Model, draws: Draws, boxes: int) -> Seen:
    """Return what the first `boxes` boxes of some draws show; which corners are short only of a box itself."""
    value = values(model.inputs, draws, slice(0, boxes))
    short = short_shares(model, value) if isinstance(model, BoxModel) else {}
    return Seen(dict(zip(model.rows, model.evaluate(value), strict=True)), short)


def reasons(
    base: BoxModel, changed: Sequence[Model], *, boxes: int = BOXES, seed: int = 1, run: Run = UNWATCHED
) -> Iterator[SideEffect]:
    """Yield what each change from `base` moves for the worse, over the first boxes of a study, until it is stopped."""
    draws = draw_block(base.inputs, boxes, seed=seed, block=0)
    before = seen(base, draws, boxes)

    def work(model: Model, _run: Run) -> SideEffect:
        after = seen(model, shared_draws(model.inputs, base.inputs, draws, boxes, seed=seed, block=0), boxes)
        where, short = shorter(before.short, after.short)
        return SideEffect(boxes=boxes, missed=missed(base.limits, before.rows, after.rows), where=where, short=short)

    one_by_one = replace(run, threads=1, progress=None)  # all boxes of a change are worked on at once
    return drive(work, changed, one_by_one, of=len(changed), least=0)


def missed(limits: Iterable[str], before: dict[str, FloatArray], after: dict[str, FloatArray]) -> Missed | None:
    """Return the limit by which most boxes are lost, none where none is lost beyond chance."""
    lost = {name: float((before[f"keeps {name}"] - after[f"keeps {name}"]).sum()) for name in limits}
    name = max(lost, key=lambda each: lost[each], default=None)
    if name is None:
        return None
    first, second = before[f"keeps {name}"], after[f"keeps {name}"]
    if paired_share(((1 - first) * second).sum(), (first * (1 - second)).sum(), first.size).high >= 0:
        return None
    kept = wilson(float(first.sum()), first.size), wilson(float(second.sum()), first.size)
    return Missed(name=name, kept=kept, mean=(_mean(before[name]), _mean(after[name])))


def shorter(
    before: dict[Where, FloatArray], after: dict[Where, FloatArray]
) -> tuple[Where | None, tuple[Estimate, Estimate] | None]:
    """Return the faces of which clearly more corners come out short, and the shares; of both, those that gain most."""
    gains = {where: _mean(after[where] - before[where]) for where in after}
    found = [where for where, gain in gains.items() if gain.low > 0]
    if not found:
        return None, None
    where = max(found, key=lambda each: gains[each].value)
    return where, (_mean(before[where]).between(0.0, 1.0), _mean(after[where]).between(0.0, 1.0))


def _mean(row: FloatArray) -> Estimate:
    return normal(float(row.mean()), float(row.std(ddof=1)) / row.size**0.5, row.size)
