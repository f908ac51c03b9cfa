"""Whole classes that make their walls until they are good, and the blanks that they spoil (MODEL.md, 2.5 and 5.10).

A maker's own part of each error comes from the streams that every study draws it from, so the makers are those of a
check; what each piece adds comes from one stream a block, `PIECES`, maker after maker.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from assembly.made.sampling import BLOCK, disturbed, draw_block, stream, values
from assembly.nominal.frame import frame
from assembly.order.making_again import FAMILIES, KINDS, QUANTITIES, Shop, make
from assembly.study.blocks import StudyBlock, drive_blocks

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray
    from assembly.learning.files import Draws
    from assembly.made.sampling import Input
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.order.making_again import Made
    from assembly.study.driver import Run

PIECES = "order.pieces"  # the stream of all cut parts, and of paring's draws
TOTALS = "order.spoilt"  # the stream by which the count in a sample of makers becomes that of a class
SAMPLED = 250  # makers of a class that are simulated at the most
WALLS = 2  # of a kind, in a box


@dataclass(frozen=True, slots=True, kw_only=True)
class WallModel:
    """A design in a workshop as the loop over its makers takes it; `draws` say what is not known of the workshop."""

    design: Design
    workshop: Workshop
    draws: Draws | None = None

    @property
    def inputs(self) -> tuple[Input, ...]:
        """The errors that decide whether a wall is spoilt, one place each."""
        return tuple(disturbed(name, 1, self.workshop.disturbance(name)) for name in QUANTITIES)

    @property
    def shop(self) -> Shop:
        """What is made, and when it is spoilt."""
        box, scrap, pare = frame(self.design), self.workshop.scrap, self.workshop.pare
        return Shop(
            lapped=box.lapped,
            plain=box.plain,
            height=box.height,
            depth=box.depth,
            tongue=box.tongue,
            short=scrap.short,
            overcut=scrap.overcut,
            thin=scrap.tongue,
            notice=pare.notice,
            pare_bias=pare.bias,
            pare_spread=pare.spread,
            rounds=pare.rounds,
            gauged_inside=self.workshop.gauge_from == "inside",
            along_part=self.workshop.shoulder_from == "part",
        )

    @property
    def varies(self) -> bool:
        """Whether chance has a part in it."""
        pare = self.workshop.pare
        return self.draws is not None or any(each.std > 0 for each in self.inputs) or pare.rounds * pare.spread > 0

    @property
    def shared(self) -> bool:
        """Whether the makers of a class share anything."""
        return self.draws is not None or any(each.class_spread > 0 for each in self.inputs)

    def block(self, makers: int, *, size: int, seed: int, block: int, classes_before: int = 0) -> Made:
        """Return what comes of the first `makers` makers of a block, in whole classes of `size`.

        `classes_before` tells how many classes blocks before it have, as each class takes the next draw of the
        workshop.
        """
        inputs = self.inputs
        own_parts = [replace(each, spread=0.0) for each in inputs]
        units = draw_block(own_parts, makers, seed=seed, block=block, class_size=size)
        cut = np.tile([each.spread for each in inputs], (makers // size, 1))
        if self.draws is None:
            found = values(own_parts, units)
        else:
            from assembly.learning.unsure import figures_in, in_turn, values_with  # noqa: PLC0415 - learned shops only

            figures = figures_in(inputs, self.draws)
            taken = in_turn(self.draws, classes_before + makers // size, seed=seed)[classes_before:]
            found = values_with(own_parts, units, figures, np.repeat(taken, size), slice(None))
            for at, each in enumerate(inputs):
                if each.name in figures and each.spread > 0:
                    cut[:, at] = figures[each.name][taken, 3]
        own = np.empty((makers, len(inputs)))
        for at, each in enumerate(inputs):
            own[:, at] = found[each.name][0]
        families = np.array([FAMILIES.index(each.family) for each in inputs])
        return make(stream(seed, block, PIECES, "cut"), own, np.ascontiguousarray(cut), families, self.shop)


class SpoiltClasses(NamedTuple):
    """Simulated classes of `makers`; kinds of wall in the order of `KINDS`."""

    makers: int
    spoilt: IntArray  # (kinds, classes) blanks from which a wall was spoilt, in the whole class
    first: IntArray  # (kinds, classes) walls spoilt from their first blank, among the makers simulated
    size: int  # makers simulated of each class
    mean_error: FloatArray  # (kinds,) standard error of the mean of `spoilt` beyond what its own spread tells of it
    given_up: IntArray  # (kinds, faults) walls


def spoilt_classes(model: WallModel, *, makers: int, classes: int, seed: int, run: Run) -> SpoiltClasses:
    """Return so many simulated classes; of a larger class than `SAMPLED` so many makers, and the count grown from them.

    Stopped, it tells of the classes in the blocks that are done.

    Raises
    ------
    StoppedError
        If it is stopped within the first block.
    """
    size = min(makers, SAMPLED)
    whole = BLOCK // size
    blocks = [StudyBlock(number, min(whole, classes - number * whole) * size) for number in range(-(-classes // whole))]

    def work(block: StudyBlock, _run: Run) -> Made:
        return model.block(block.boxes, size=size, seed=seed, block=block.number, classes_before=block.number * whole)

    found = list(drive_blocks(work, blocks, run, of=classes * size))
    by_maker = np.concatenate([each.spoilt for each in found]).T.reshape(len(KINDS), -1, size)
    first = np.concatenate([each.first for each in found]).T.reshape(len(KINDS), -1, size).sum(axis=2)
    spoilt = by_maker.sum(axis=2)
    mean_error = np.zeros(len(KINDS))
    if size < makers:
        rng = stream(seed, 0, TOTALS, "class")
        spoilt = np.stack([_grown(each, makers, shared=model.shared, rng=rng) for each in by_maker])
        mean_error = makers * np.sqrt(by_maker.var(axis=2, ddof=1).mean(axis=1) / by_maker[0].size)
    given_up = sum((each.given_up for each in found), start=np.zeros_like(found[0].given_up))
    return SpoiltClasses(makers=makers, spoilt=spoilt, first=first, size=size, mean_error=mean_error, given_up=given_up)


def _grown(by_maker: IntArray, makers: int, *, shared: bool, rng: np.random.Generator) -> IntArray:
    """Return the totals of classes of `makers` from a sample of each, by class and maker: (classes,).

    The mean of a sample spreads by what a class shares and by chance in the sample, which is its variance over its
    size. Means are drawn in to their own mean until only the former is left; chance in the whole class comes back as a
    draw from the negative binomial distribution with the variance that the sampled makers show, or from Poisson's where
    that is no more than the mean.
    """
    size = by_maker.shape[1]
    mean, within = by_maker.mean(axis=1), float(by_maker.var(axis=1, ddof=1).mean())
    spread = float(mean.var(ddof=1))
    kept = np.sqrt(max(1 - within / size / spread, 0.0)) if shared and spread > 0 else 0.0
    middle = float(mean.mean())
    if middle == 0:
        return np.zeros(len(mean), np.int64)
    wanted: FloatArray = makers * np.maximum(middle + kept * (mean - middle), 1e-9)
    dispersion = within / middle
    if dispersion <= 1:
        return np.asarray(rng.poisson(wanted), np.int64)
    return np.asarray(rng.negative_binomial(wanted / (dispersion - 1), 1 / dispersion), np.int64)
