"""The same makers try every section: draws are made once, and each section's boxes are worked from them.

thin place : the thinnest of the sixteen corners of a box's four tongues
off        : how far a lid screw's hole lies from the middle of its wall's made edge
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.made.faces import PARE
from assembly.made.frame_outcomes import closed_shares
from assembly.made.sampling import draw_block, values
from assembly.made.sheets_and_holes import screw_woods
from assembly.materials.bond import bond_figure, bond_ratio, joint_area
from assembly.nominal.frame import LAPPED_AT
from assembly.section.screening import glance_at
from assembly.study.blocks import blocks_of, windows
from assembly.study.check import BoxModel
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import Estimate, Interval, normal, paired_share, wilson

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from assembly.arrays import FloatArray
    from assembly.made.sampling import Input
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.section.screening import Glance

ROWS = ("joint_gap", "closed_share", "passes", "beyond")
MOST = 200_000  # boxes; with some 0.8 GB, what an ordinary desktop computer spares
LOW = 0.05  # the sampled quantile that a tongue and the wood beside a screw are judged by


@dataclass(frozen=True, slots=True)
class Sample:
    """What came of one section: rows of `ROWS` and the bond figure, each (boxes,)."""

    joint_gap: FloatArray  # widest gap, mm
    closed_share: FloatArray  # of the corner that closes least
    passes: FloatArray  # 1 where every limit is kept
    beyond: FloatArray  # 1 where the errors are beyond the model's first order
    bond: FloatArray  # mm²

    @property
    def boxes(self) -> int:
        """How many boxes were made."""
        return len(self.passes)

    @property
    def pass_share(self) -> Estimate:
        """Share of boxes that keep every limit."""
        return wilson(float(self.passes.sum()), self.boxes)


@dataclass(frozen=True, slots=True)
class _Chunk:
    """Some boxes that are worked on at once: the inputs' values, and how sheets and holes come out."""

    value: dict[str, FloatArray]
    fitted: dict[str, FloatArray]  # the wood beside the lid screws aside, the same for every section
    boxes: int


class Trials:
    """Draws of `boxes` boxes of one workshop, kept, so that every section meets the same makers."""

    def __init__(
        self, design: Design, workshop: Workshop, *, boxes: int = 20_000, seed: int = 1, run: Run = UNWATCHED
    ) -> None:
        """Draw once; sheets, plaque and holes are those of `design`, of which only the section may change later.

        Raises
        ------
        InputError
            If there are fewer than two boxes or more than `MOST`, or the seed is below 0.
        StoppedError
            If the run is stopped, now or while a section is tried.
        """
        if not 2 <= boxes <= MOST or seed < 0:
            bounds = f"boxes: got {boxes}, must be 2 to {MOST}; all are kept while sections are tried, 4 KB a box"
            msg = f"seed: got {seed}, must be 0 or more" if 2 <= boxes <= MOST else bounds
            raise InputError(msg)
        self.workshop, self.boxes, self.seed, self.run = workshop, boxes, seed, run
        model = BoxModel(design, workshop)
        self._windows = [
            _Chunk(value, model.fitting.outcomes(value), size)
            for value, size in _makers(model.inputs, boxes, seed, run)
        ]
        self._thin: dict[tuple[float, float], Estimate] = {}
        self._off: Estimate | None = None

    def sample(self, design: Design, workshop: Workshop | None = None) -> Sample:
        """Return what comes of a section's boxes; `workshop` may differ in how it works, not in its errors."""
        model = BoxModel(design, workshop or self.workshop)
        return Sample(*np.hstack([_made(model, window) for window in self._watched()]))

    def _watched(self) -> Iterator[_Chunk]:
        """Yield the windows for as long as the run is not stopped."""
        return self.run.watched(self._windows)

    @cached_property
    def glance(self) -> Glance:
        """A few of the boxes, for a first look."""
        return glance_at([(each.value, each.boxes) for each in self._windows])

    def tongue(self, design: Design) -> Estimate:
        """Return the sampled 5th percentile of the thin place, mm: K + the error of stock and cheek there.

        The errors depend on the cheek's size, t by H, and not on K; they are worked out once for each.
        """
        model = BoxModel(design, self.workshop)
        box = model.frame
        key = (box.plain, box.height)
        if key not in self._thin:
            found = [np.broadcast_to(_thin_places(model, each.value), each.boxes) for each in self._watched()]
            self._thin[key] = low_quantile(np.concatenate(found))
        return self._thin[key].plus(box.tongue)

    def screw_wood(self, design: Design) -> Estimate:
        """Return the sampled 5th percentile of the least wood beside a lid screw's hole, mm: (T - d)/2 - |off|."""
        middle = (design.timber.lapped - design.lid.screw.pilot) / 2
        if self._off is None:
            found = [
                np.broadcast_to(screw_woods(design, each.value).min(axis=0) - middle, each.boxes)
                for each in self._watched()
            ]
            self._off = low_quantile(np.concatenate(found))
        return self._off.plus(middle)


def low_quantile(values: FloatArray) -> Estimate:
    """Return the `LOW` quantile of sampled values, (boxes,), with half the spread of its neighbours as its error.

    Notes
    -----
    The count below a quantile is binomial: its standard error reaches to the quantiles at p ± √(p(1-p)/n).
    """
    off = np.sqrt(LOW * (1 - LOW) / len(values))
    below, at, above = np.quantile(values, [max(LOW - off, 0), LOW, min(LOW + off, 1)])
    return normal(float(at), float(above - below) / 2, len(values), Interval.ORDER)


def _makers(inputs: Sequence[Input], boxes: int, seed: int, run: Run) -> Iterator[tuple[dict[str, FloatArray], int]]:
    """Yield the inputs' values and the number of boxes of each window, as a study of as many boxes draws them."""
    for number, size in blocks_of(boxes):
        draws = draw_block(inputs, size, seed=seed, block=number)
        for window in windows(size, run):
            yield values(inputs, draws, window), window.stop - window.start


def _made(model: BoxModel, window: _Chunk) -> FloatArray:
    """Return the rows of a `Sample` for the boxes of one window: (rows, boxes)."""
    faces, gaps, poses = model.settle(window.value)
    wood = screw_woods(model.design, window.value).min(axis=0)
    rows = model.gathered(model.of_settled(faces, gaps, poses), window.fitted | {"screw_wood": wood})
    closed = closed_shares(model.frame, gaps, model.design.glue_limit)
    bonds = bond_figure(np.full(4, joint_area(model.frame)), closed.T)  # mm²
    return np.vstack([rows[[model.rows.index(name) for name in ROWS]], bonds])


def _thin_places(model: BoxModel, value: dict[str, FloatArray]) -> FloatArray:
    """Return the error of each box's thinnest tongue corner, mm: cheek left on + stock, which the gauge leaves outside.

    Gauged from the outside face, the tongue is the gauge's setting whatever the stock.
    """
    faces = model.making.finished(model.making.worked(value), value.get(PARE))
    stock = faces.thickness[LAPPED_AT][:, None] if faces.gauge_from == "inside" else 0.0
    return np.asarray((faces.cheek + stock).min(axis=(0, 1)))


def paired_mean(first: FloatArray, second: FloatArray) -> Estimate:
    """Return the mean of second less first over the same boxes."""
    off = second - first
    return normal(float(off.mean()), float(off.std(ddof=1)) / off.size**0.5, off.size, Interval.PAIRED_MEAN)


def paired_passes(first: Sample, second: Sample) -> Estimate:
    """Return the pass share of second less first over the same boxes."""
    gained = float((second.passes * (1 - first.passes)).sum())
    lost = float((first.passes * (1 - second.passes)).sum())
    return paired_share(gained, lost, first.boxes)


def paired_ratio(first: FloatArray, second: FloatArray) -> Estimate:
    """Return the mean of second over that of first over the same boxes.

    Notes
    -----
    The spread of second - r·first, r the ratio, over the mean of first: the usual estimate for a ratio of means
    (Cochran, Sampling Techniques, 3rd ed. 1977, eq. 6.9; from memory).
    """
    ratio = bond_ratio(float(second.mean()), float(first.mean()))
    spread = float((second - ratio * first).std(ddof=1)) / first.size**0.5
    return normal(ratio, spread / float(first.mean()), first.size, Interval.PAIRED_RATIO)
