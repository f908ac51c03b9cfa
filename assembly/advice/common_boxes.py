"""Many ways of making the same boxes: one set of draws, and of each way only what no other has worked out already.

half         : the frame, or sheets and holes. A box passes where both keep their limits; most sets of changes have one
               of the two in common with other sets
few patterns : to make a programme of settling ready for all 32 tie patterns takes as long as to settle twenty thousand
               boxes. A first look takes four of them, the first and its mirror images
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np

from assembly.contact.programme import ContactProgramme
from assembly.made.limits import kept
from assembly.made.sampling import BLOCK, Input, draw_block, parts, values
from assembly.nominal.frame import PATTERNS, contact_matrix, free_columns, point_areas, squared_row, tie_patterns
from assembly.study.blocks import WINDOW
from assembly.study.check import TIE, TIE_WEIGHT, BoxModel
from assembly.study.driver import Run, drive

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Sequence

    from assembly.arrays import BoolArray, FloatArray
    from assembly.made.sampling import Level
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.nominal.frame import Frame

FEW = 4  # tie patterns of a first look

Value = dict[str, "FloatArray"]


@dataclass(frozen=True)
class QuickModel(BoxModel):
    """The box, settled by few of its tie patterns."""

    @cached_property
    def programme(self) -> ContactProgramme:
        """How faces settle."""
        return _quick_programme(self.frame, self.design.glue_up)

    def settled(self, value: Value) -> Value:
        """Return the inputs' values with the tie of the settling among the few patterns."""
        return {**value, TIE.name: value[TIE.name] * (FEW / PATTERNS)}


@lru_cache(maxsize=512)
def _quick_programme(box: Frame, glue_up: Literal["as it falls", "squared"]) -> ContactProgramme:
    return ContactProgramme(
        contact_matrix(box).reshape(32, 16)[:, free_columns()],
        (point_areas(box) * (1 + TIE_WEIGHT * tie_patterns()))[:FEW],
        equality=squared_row() if glue_up == "squared" else None,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Half:
    """Half of a box: what decides it, the inputs that it reads, and its work.

    `work` takes the inputs' values and the number of boxes and returns (2, boxes): which keep the half's limits, and
    which are beyond first order.
    """

    key: Hashable
    inputs: tuple[Input, ...]
    work: Callable[[Value, int], BoolArray]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way of making a box, in halves."""

    frame: Half
    sheets: Half


def way_of(design: Design, workshop: Workshop) -> Way:
    """Return the way of making `design` in `workshop`, for a first look."""
    model = QuickModel(design, workshop)
    making, fitting = model.making.inputs, model.fitting.inputs
    stock = next(each for each in making if each.name == "stock.thickness")

    def frame_work(value: Value, boxes: int) -> BoolArray:
        outcomes, _, beyond = model.of_settled(*model.settle(model.settled(value)))
        return np.stack([_keeps(model, outcomes, boxes), np.broadcast_to(beyond, boxes)])

    def sheets_work(value: Value, boxes: int) -> BoolArray:
        return np.stack([_keeps(model, fitting_of.outcomes(value), boxes), np.zeros(boxes, dtype=bool)])

    fitting_of = model.fitting
    how = (design.glue_up, design.glue_limit, workshop.shoulder_from, workshop.gauge_from, workshop.pare)
    made = (design.lid, design.lid_holes, design.plaque, design.stem, design.base, design.cable_hole)
    return Way(
        frame=Half(key=(model.frame, design.limits, how, making), inputs=(*making, TIE), work=frame_work),
        sheets=Half(
            key=(design.timber.lapped, design.limits, made, fitting, stock),
            inputs=(*fitting, stock),
            work=sheets_work,
        ),
    )


def _keeps(model: BoxModel, outcomes: Value, boxes: int) -> BoolArray:
    """Return which boxes keep every limit on some outcomes: (boxes,)."""
    limited = [(limit, outcomes[name]) for name, limit in model.limits.items() if name in outcomes]
    keeps = [np.broadcast_to(kept(limit, row), boxes) for limit, row in limited]
    return np.logical_and.reduce(keeps) if keeps else np.ones(boxes, dtype=bool)


@dataclass(slots=True)
class CommonBoxes:
    """The boxes of one block of random numbers, made in many ways; what was worked out is kept."""

    seed: int
    block: int
    run: Run
    _draws: dict[tuple[object, ...], FloatArray] = field(default_factory=dict)
    _values: dict[tuple[Input, int, int], FloatArray] = field(default_factory=dict)
    _known: dict[tuple[Hashable, int, int], BoolArray] = field(default_factory=dict)

    def passes(self, ways: Sequence[Way], start: int, stop: int) -> tuple[BoolArray, BoolArray]:
        """Return which of the boxes from `start` up to `stop` pass, and which are beyond first order: (ways, boxes).

        Raises
        ------
        StoppedError
            If the run is stopped.
        """
        windows = [slice(at, min(at + WINDOW, stop)) for at in range(start, stop, WINDOW)]
        halves = {half.key: half for each in ways for half in (each.frame, each.sheets)}
        found = np.concatenate([self._window(ways, halves, window) for window in windows], axis=2)
        return found[:, 0], found[:, 1]

    def _window(self, ways: Sequence[Way], halves: dict[Hashable, Half], window: slice) -> BoolArray:
        """Return both rows of every way for a window's boxes: (ways, 2, boxes)."""
        todo = [half for key, half in halves.items() if (key, window.start, window.stop) not in self._known]
        given = [{each.name: self._value(each, window) for each in half.inputs} for half in todo]

        def work(at: int, _run: Run) -> BoolArray:
            return todo[at].work(given[at], window.stop - window.start)

        number, quiet = len(todo), replace(self.run, progress=None)
        for half, rows in zip(todo, drive(work, range(number), quiet, of=number, least=number), strict=True):
            self._known[half.key, window.start, window.stop] = rows
        frames = np.stack([self._known[each.frame.key, window.start, window.stop] for each in ways])
        sheets = np.stack([self._known[each.sheets.key, window.start, window.stop] for each in ways])
        return np.stack([frames[:, 0] & sheets[:, 0], frames[:, 1]], axis=1)

    def _value(self, each: Input, window: slice) -> FloatArray:
        """Return the value of one input for a window's boxes: (places, boxes)."""
        if (each, window.start, window.stop) not in self._values:
            draws = {(each.name, level): self._drawn(each, level) for _, level, _ in parts([each])}
            self._values[each, window.start, window.stop] = values([each], draws, window)[each.name]
        return self._values[each, window.start, window.stop]

    def _drawn(self, each: Input, level: Level) -> FloatArray:
        """Return the unit draws of one part of an input, for the whole block: (rows, boxes)."""
        key = (each.name, level, each.family, each.places)
        if key not in self._draws:
            alone = Input(
                name=each.name,
                group=each.group,
                places=each.places,
                family=each.family,
                class_spread=float(level == "class"),
                maker_spread=float(level == "maker"),
                spread=float(level == "cut"),
            )
            self._draws[key] = draw_block([alone], BLOCK, seed=self.seed, block=self.block)[each.name, level]
        return self._draws[key]
