"""The boxes of a model as points of standard normal space, and how far each breaks a limit (MODEL.md, 5.7).

u       : one box, (dims,): every part of every input, a row of it each, through its distribution function standard
          normal; 0 is the box whose every part is at its middle. The chance in settling is no part of it
pattern : the tie pattern that a box settles by, held while u moves
margin  : how far an outcome lies beyond its limit, in its own unit: above 0 where the box breaks it

Boxes lie on the last axis.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from assembly.made.frame_outcomes import corner_gaps
from assembly.made.limits import limit_ends
from assembly.made.sampling import Draws, parts, values
from assembly.model.outcomes import FITTING_OUTCOMES, FRAME_OUTCOMES
from assembly.model.workshop import HALF_WIDTH_PER_STD
from assembly.nominal.frame import CORNERS, PATTERNS
from assembly.rare.points import Points
from assembly.study.blocks import row_numbers, windows
from assembly.study.check import TIE, BoxModel
from assembly.study.driver import UNWATCHED, Run
from assembly.study.stages import staged_box

if TYPE_CHECKING:
    from collections.abc import Callable

    from assembly.arrays import FloatArray, IntArray
    from assembly.made.sampling import Input, Level
    from assembly.model.design import Limit
    from assembly.model.workshop import Family
    from assembly.study.blocks import Model


@dataclass(frozen=True)
class BrokenLimit:
    """A limit of one row of a model, and the boxes that break it."""

    model: Model
    row: str
    limit: Limit
    pattern: int | None = None  # the one tie pattern that all boxes settle by; None where each has its own, by chance

    @cached_property
    def parts(self) -> tuple[tuple[Input, Level, int], ...]:
        """The parts that vary and that the row depends on, with their rows of u; not the tie."""
        read = self._read
        return tuple(each for each in parts(self.model.inputs) if each[0].name in read and each[0].name != TIE.name)

    @cached_property
    def _read(self) -> frozenset[str]:
        """The inputs that the row depends on: of the box, those of its frame, or those of its sheets and holes."""
        if not isinstance(self.model, BoxModel):
            return frozenset(each.name for each in self.model.inputs)
        frame, sheets = staged_box(self.model).stages
        return sheets.inputs if self.row in FITTING_OUTCOMES else frame.inputs

    @cached_property
    def _read_off(self) -> Callable[[dict[str, FloatArray]], FloatArray]:
        """What gives the row (boxes,) for the inputs' values, without working out what it does not depend on."""
        model, row = self.model, self.row
        (number,) = row_numbers(model, [row])
        if not isinstance(model, BoxModel):
            return lambda value: model.evaluate(value)[number]
        if row in FITTING_OUTCOMES:
            return lambda value: model.fitting.outcomes(value)[row]
        if row in FRAME_OUTCOMES:
            return lambda value: model.of_settled(*model.settle(value))[0][row]
        if self.corner is not None:
            return lambda value: corner_gaps(model.settle(value)[1])[self.corner]
        return lambda value: model.evaluate(value)[number]

    @property
    def corner(self) -> int | None:
        """The corner whose gap the row is; None of another row."""
        names = [f"gap {corner}" for corner in self._corners]
        return names.index(self.row) if self.row in names else None

    @property
    def joint(self) -> str | None:
        """The name of that corner; None of another row."""
        return None if self.corner is None else self._corners[self.corner]

    @property
    def _corners(self) -> tuple[str, ...]:
        return self.model.frame.corners if isinstance(self.model, BoxModel) else CORNERS

    @cached_property
    def dims(self) -> int:
        """How long u is."""
        return sum(rows for _, _, rows in self.parts)

    def sampled(self, boxes: int, rng: np.random.Generator) -> Points:
        """Return boxes as chance has them."""
        u = rng.standard_normal((self.dims, boxes))
        return Points(u, self.patterns(boxes, rng))

    def patterns(self, boxes: int, rng: np.random.Generator) -> IntArray:
        """Return the tie patterns of so many boxes: (boxes,)."""
        return rng.integers(PATTERNS, size=boxes) if self.pattern is None else np.full(boxes, self.pattern)

    def values(self, points: Points) -> dict[str, FloatArray]:
        """Return the value of every input, name -> (places, boxes)."""
        draws: Draws = {}
        at = 0
        for each, level, rows in self.parts:
            draws[each.name, level] = unit_values(each.family, points.u[at : at + rows])
            at += rows
        drawn = values(self.model.inputs, draws)
        return drawn if TIE not in self.model.inputs else drawn | {TIE.name: ((points.pattern + 0.5) / PATTERNS)[None]}

    def margins(self, points: Points, run: Run = UNWATCHED) -> FloatArray:
        """Return how far boxes are beyond the limit: (boxes,), above 0 where they break it.

        Raises
        ------
        StoppedError
            If the run is stopped.
        """
        least, most = limit_ends(self.limit)
        out = np.empty(len(points))
        for window in windows(len(points), run):
            rows = self._read_off(self.values(Points(points.u[:, window], points.pattern[window])))
            out[window] = np.maximum(least - rows, rows - most)
        return out


def unit_values(family: Family, u: FloatArray) -> FloatArray:
    """Return what has mean 0, standard deviation 1 and the family's distribution where `u` is standard normal.

    Both sides are worked out from the tail below, Φ(-|u|), so that no digit is lost however far out u is.
    """
    if family == "normal":
        return u
    from scipy.special import ndtr  # noqa: PLC0415 - 0.1 s that a workshop of normal errors never needs

    tail = 2 * ndtr(-np.abs(u))
    reach = 1 - tail if family == "uniform" else 1 - np.sqrt(tail)  # Φ(u) = tail/2: a uniform, a triangular quantile
    return np.asarray(np.copysign(reach * HALF_WIDTH_PER_STD[family], u))
