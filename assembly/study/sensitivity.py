"""Which operations are behind the variation of an outcome: total-effect Sobol' indices of groups (MODEL.md, 5.5).

total effect : share of an outcome's variance that goes when all but this group is known; it counts what the group does
               alone and together with others, so total effects need not add up to one
group        : an operation, a level (class, maker, cut), or one level of one operation; chance in settling is a group
               of its own

Jansen's estimator: of the same boxes, one group is drawn anew, and half the mean square change is the group's part of
the variance. Source: Jansen, Comput. Phys. Commun. 117 (1999) 35-43. The variance is taken from both runs together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from assembly.made.sampling import draw_block, parts, values
from assembly.study.blocks import WINDOW, blocks_of, drive_blocks, row_numbers, windows
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import Estimate, Interval, normal
from assembly.study.stages import staged

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from assembly.made.sampling import Input, Level
    from assembly.study.blocks import Model, StudyBlock

OTHER = 1 << 32  # added to the seed for the second, independent set of draws
SETTLING = "settling"
By = Literal["operation", "level", "both"]
Parts = frozenset[tuple[str, "Level"]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One group's total effect as a share of the outcome's variance."""

    name: str
    share: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Causes:
    """Every group's total effect on every outcome asked for, largest first; an outcome without spread has none."""

    boxes: int
    seed: int
    by: By
    sd: dict[str, Estimate]  # of each outcome
    causes: dict[str, tuple[Cause, ...]]
    partial: bool  # stopped before its end


def groups_of(inputs: Sequence[Input], by: By = "operation") -> dict[str, Parts]:
    """Return the varying parts of each group, by the group's name; `both` names are like `saw maker`."""
    found: dict[str, set[tuple[str, Level]]] = {}
    for each, level, _ in parts(inputs):
        name = {"operation": each.group, "level": level, "both": f"{each.group} {level}"}[by]
        found.setdefault(SETTLING if each.group == SETTLING else name, set()).add((each.name, level))
    return {name: frozenset(members) for name, members in found.items()}


def causes(
    model: Model,
    of: Sequence[str],
    *,
    by: By = "operation",
    boxes: int = 20_000,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> Causes:
    """Return the total effect of every group on the rows `of`; each group takes `boxes` boxes of its own.

    Stopped, it tells of the blocks that are done.

    Raises
    ------
    InputError
        If the model has no such row.
    StoppedError
        If it is stopped within the first block.
    """
    rows, groups = row_numbers(model, of), groups_of(model.inputs, by)
    pilot = draw_block(model.inputs, min(boxes, WINDOW), seed=seed, block=0)
    middle = model.evaluate(values(model.inputs, pilot))[rows].mean(axis=1, keepdims=True)

    def work(block: StudyBlock, run: Run) -> tuple[int, FloatArray]:
        return block.boxes, block_moments(model, rows, list(groups.values()), middle, block, seed=seed, run=run)

    done, total = 0, np.zeros((len(groups), len(rows), 6))
    for size, added in drive_blocks(work, blocks_of(boxes), run, of=boxes):
        done, total = done + size, total + added
    found = {name: ranked(list(groups), total[:, at] / done, done) for at, name in enumerate(of)}
    return Causes(
        boxes=done,
        seed=seed,
        by=by,
        sd={name: deviation(total[:, at] / done, done) for at, name in enumerate(of)},
        causes=found,
        partial=done < boxes,
    )


def block_moments(
    model: Model,
    rows: list[int],
    groups: Sequence[Parts],
    middle: FloatArray,
    block: StudyBlock,
    *,
    seed: int,
    run: Run = UNWATCHED,
) -> FloatArray:
    """Return sums over one block's boxes: (groups, rows, 6).

    With y and y' the row (less `middle`) before and after a group is drawn anew, n = (y - y')²/2 and
    v = (y² + y'²)/2: the sums of n, v, (y + y')/2, n², n v and v².
    """
    first = draw_block(model.inputs, block.boxes, seed=seed, block=block.number)
    second = draw_block(model.inputs, block.boxes, seed=seed + OTHER, block=block.number)
    out, stages = np.zeros((len(groups), len(rows), 6)), staged(model)
    for window in windows(block.boxes, run):
        before = values(model.inputs, first, window)
        results = stages.results(before)
        y = stages.gather(results)[rows] - middle
        for index, group in enumerate(groups):
            names = {name for name, _ in group}
            touched = [each for each in model.inputs if each.name in names]
            mixed = {key: second[key] if key in group else first[key] for key in first}
            anew = stages.after(names, {**before, **values(touched, mixed, window)}, results)[rows] - middle
            n, v = (y - anew) ** 2 / 2, (y * y + anew * anew) / 2
            out[index] += np.stack([n, v, (y + anew) / 2, n * n, n * v, v * v], axis=-1).sum(axis=1)
    return out


def variances(means: FloatArray) -> FloatArray:
    """Return the variance that each group's two runs show: (groups,), from mean moments (groups, 6)."""
    return np.asarray(np.maximum(means[:, 1] - means[:, 2] ** 2, 0.0))


def deviation(means: FloatArray, boxes: int) -> Estimate:
    """Return the standard deviation over all groups' runs, from mean moments (groups, 6); 0 where there is no group.

    The runs of all groups share their boxes before, so the mean of their variances errs no more than the worst of them.
    """
    variance = float(variances(means).mean()) if len(means) else 0.0
    if variance == 0:
        return normal(0.0, 0.0, boxes, Interval.DELTA)
    error = float(np.sqrt(np.maximum(means[:, 5] - means[:, 1] ** 2, 0.0).max() / boxes))
    sd = variance**0.5
    return normal(sd, error / (2 * sd), boxes, Interval.DELTA)


def ranked(names: Sequence[str], means: FloatArray, boxes: int) -> tuple[Cause, ...]:
    """Return the causes, largest first, from mean moments (groups, 6).

    The standard error of the ratio r = n/v is that of n - r v over v (delta method; the middle's own error is of
    second order).
    """
    shares = []
    for name, variance, moment in zip(names, variances(means), means, strict=True):
        if variance <= 1e-24 * max(1.0, float(moment[1])):
            continue
        share = float(moment[0] / variance)
        off = moment[3] - 2 * share * moment[4] + share**2 * moment[5] - (moment[0] - share * moment[1]) ** 2
        found = normal(share, float(np.sqrt(max(off, 0.0) / boxes) / variance), boxes, Interval.DELTA)
        # No group can have more than the whole; the estimator can, by chance.
        shares.append(Cause(name=name, share=found.between(0.0, 1.0)))
    return tuple(sorted(shares, key=lambda each: -each.share.value))
