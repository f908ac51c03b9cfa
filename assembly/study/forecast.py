"""What a class can expect: how many of its boxes keep every limit, and where the others fail.

class : so many makers, a box each, who share every class part (one sander table, one delivery of timber)
deff  : design effect, the variance of the count in a class over that of as many independent boxes

The class part does not average out inside one class, so whole classes are simulated. A class of more than
`SAMPLED_CLASS` makers is known by the share that keeps the limits in a sample of its makers, and its count is drawn
from that share; so time and memory do not grow with the class (MODEL.md, 5.3).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.made.limits import excess
from assembly.made.sampling import BLOCK, stream
from assembly.model.outcomes import OUTCOMES
from assembly.nominal.frame import CORNERS
from assembly.study.blocks import StudyBlock, block_rows, drive_blocks
from assembly.study.check import BoxModel, refuse_beyond
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import Estimate, Interval, normal, quantile, wilson

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.arrays import FloatArray, IntArray
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.blocks import Model

SAMPLED_CLASS = 500  # makers of a class that are simulated at the most
CLASSES = 2_000
RANGE = (0.05, 0.95)


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """How often boxes miss one limit, and how far beyond it they are where they do."""

    name: str  # of the outcome, or of the corner
    unit: str
    share: Estimate  # of all boxes
    excess: Estimate | None  # mean beyond the limit, over the boxes that miss it; None where less than one box does


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClassCounts:
    """Simulated classes: in each, how many boxes pass; `partial` if the study was stopped before its end."""

    makers: int
    counts: IntArray  # (classes,)
    boxes: int  # simulated
    passed: int  # of those
    partial: bool

    @property
    def expected(self) -> Estimate:
        """Expected number of boxes that pass in a class."""
        return replace(self.pass_share.times(self.makers), value=self.makers * self.passed / self.boxes)

    @property
    def range(self) -> tuple[Estimate, Estimate]:
        """Order quantiles of the classes at 5 % and 95 %: at least 90 % lie within, both ends included."""
        quantiles = dict(zip(RANGE, np.quantile(self.counts, RANGE, method="inverted_cdf").tolist(), strict=True))
        sd, classes = float(self.counts.std(ddof=1)), self.counts.size
        return quantile(RANGE[0], quantiles, sd, classes), quantile(RANGE[1], quantiles, sd, classes)

    @property
    def deff(self) -> float:
        """var(count) / (n p (1 - p)); 1 where all boxes pass or none does, or a class is one maker."""
        share = self.passed / self.boxes
        alone = self.makers * share * (1 - share)
        return float(self.counts.var(ddof=1)) / alone if alone > 0 and self.makers > 1 else 1.0

    @property
    def independent(self) -> float:
        """As many independent boxes would tell as much of a share: those simulated over their own design effect."""
        size = min(self.makers, SAMPLED_CLASS)
        # deff = 1 + (n - 1) ρ, with the same ρ between classmates whatever the size of the class
        shared = (self.deff - 1) / (self.makers - 1) if self.makers > 1 else 0.0
        return self.boxes / max(1 + (size - 1) * shared, 1.0)

    @property
    def pass_share(self) -> Estimate:
        """Share of boxes that pass."""
        return self.share_of(self.passed)

    def share_of(self, boxes: float) -> Estimate:
        """Return the share that so many of all boxes are, by Wilson's over as many independent boxes as tell as much.

        Classmates keep or miss a limit together; by how much so is taken from the boxes that pass.
        """
        share = boxes / self.boxes
        found = wilson(share * self.independent, self.independent, interval=Interval.WILSON_CLASSES)
        return replace(found, value=share)  # to the last digit


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Forecast:
    """What a class of `classes.makers` can expect; limits and joints come with the most often missed first."""

    classes: ClassCounts
    limits: tuple[Failure, ...]
    joints: tuple[Failure, ...]  # the gap limit at each corner; empty where the design sets none
    beyond_first_order: Estimate  # share of boxes


def _nothing(_rows: FloatArray) -> FloatArray:
    return np.zeros(0)


def class_counts(
    model: Model,
    *,
    makers: int,
    classes: int = CLASSES,
    seed: int = 1,
    run: Run = UNWATCHED,
    also: Callable[[FloatArray], FloatArray] = _nothing,
) -> tuple[ClassCounts, FloatArray]:
    """Return the simulated classes of a model with a row `passes`, and the sum of `also(rows)` over all blocks.

    At least `classes` are simulated, in whole blocks. Stopped, it tells of the blocks that are done.

    Raises
    ------
    InputError
        If a class is less than one maker, or fewer than two classes are asked for.
    StoppedError
        If it is stopped within the first block.
    """
    _check(makers, classes)
    size = min(makers, SAMPLED_CLASS)
    whole = BLOCK // size
    blocks = [StudyBlock(number, whole * size) for number in range(-(-classes // whole))]
    row = list(model.rows).index("passes")

    def work(block: StudyBlock, run: Run) -> tuple[IntArray, FloatArray]:
        rows = block_rows(model, seed=seed, block=block.number, boxes=block.boxes, class_size=size, run=run)
        return rows[row].reshape(whole, size).sum(axis=1).astype(np.int64), also(rows)

    counts: list[IntArray] = []
    total: FloatArray | None = None
    for count, added in drive_blocks(work, blocks, run, of=len(blocks) * whole * size):
        counts.append(count)
        total = added if total is None else total + added
    assert total is not None
    sampled = np.concatenate(counts)
    shared = any(each.class_spread > 0 for each in model.inputs)
    return ClassCounts(
        makers=makers,
        counts=sampled if size == makers else grown(sampled, size, makers, seed=seed, shared=shared),
        boxes=sampled.size * size,
        passed=int(sampled.sum()),
        partial=len(counts) < len(blocks),
    ), total


def _check(makers: int, classes: int) -> None:
    if makers < 1 or classes < 2:
        found = f"makers: got {makers}, must be 1" if makers < 1 else f"classes: got {classes}, must be 2"
        raise InputError(found + " or more")


def grown(sampled: IntArray, size: int, makers: int, *, seed: int, shared: bool) -> IntArray:
    """Return the counts of classes of `makers`, from the counts in a sample of `size` makers of each.

    A sampled share spreads by the class part and by chance in the sample, E[p(1 - p)]/size. Shares are drawn in to
    their mean until only the former is left; chance comes back as a binomial draw of the whole class. `shared` tells
    whether there is a class part at all.
    """
    share = sampled / size
    spread = float(share.var(ddof=1))
    chance = float((share * (1 - share)).mean()) / (size - 1)
    kept = np.sqrt(max(1 - chance / spread, 0.0)) if shared and spread > 0 else 0.0
    shares = np.clip(share.mean() + kept * (share - share.mean()), 0, 1)
    return np.asarray(stream(seed, 0, "class.count", "class").binomial(makers, shares), dtype=np.int64)


def forecast(
    design: Design,
    workshop: Workshop,
    *,
    classes: int = CLASSES,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> Forecast:
    """Return what a class of `design.makers` can expect, and which limits and joints fail most.

    Raises
    ------
    InputError
        If more than a tenth of the boxes have errors beyond the model's first order.
    """
    model = BoxModel(design, workshop)
    places = {name: list(model.rows).index(name) for name in model.limits}
    gap = model.limits.get("joint_gap")
    corners = {name: list(model.rows).index(f"gap {name}") for name in CORNERS} if gap else {}
    beyond = list(model.rows).index("beyond")

    def missed(rows: FloatArray) -> FloatArray:
        """Return for every limit, then every corner, then the model: boxes that miss it, and their summed excess."""
        off = [excess(model.limits[name], rows[at]) for name, at in places.items()]
        off += [excess(gap, rows[at]) for at in corners.values() if gap]
        return np.array([[np.count_nonzero(row), row.sum()] for row in (*off, rows[beyond])])

    counted, total = class_counts(model, makers=design.makers, classes=classes, seed=seed, run=run, also=missed)
    refuse_beyond(workshop, float(total[-1, 0] / counted.boxes))
    return Forecast(
        classes=counted,
        limits=_failures(tuple(places), total, counted),
        joints=_failures(tuple(corners), total[len(places) :], counted),
        beyond_first_order=counted.share_of(float(total[-1, 0])),
    )


def _failures(names: Sequence[str], total: FloatArray, classes: ClassCounts) -> tuple[Failure, ...]:
    """Return how limits fail, the most often missed first, from boxes that miss them and their summed excess."""
    failures = [
        _failure(name, classes, float(number), float(beyond_by))
        for name, (number, beyond_by) in zip(names, total, strict=False)
    ]
    return tuple(sorted(failures, key=lambda each: -each.share.value))


def _failure(name: str, classes: ClassCounts, number: float, beyond_by: float) -> Failure:
    share = classes.share_of(number)
    alone = share.value * classes.independent  # as many boxes as miss it, independent of each other
    # What lies beyond a limit is about exponential, so its spread is about its mean.
    excess = normal(beyond_by / number, beyond_by / number / math.sqrt(alone)) if alone >= 1 else None
    unit = OUTCOMES[name].unit if name in OUTCOMES else "mm"
    return Failure(name=name, unit=unit, share=share, excess=excess)
