"""As measured against true: which boxes a class calls good with a steel rule, and which are.

reading    : round((true + N(0, 0.2 r)) / r) r, for a rule read to r
wrong call : a box called good that is not (false accept), or called bad that is good (false reject)

Length, width, diagonals and steps are read; all other outcomes are judged true. The true pass share and the share
called good are kept apart. Source of the two kinds of wrong call: JCGM 106:2012, 9.5.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.tolerance.check import BoxModel, kept
from assembly.tolerance.intervals import Share, wilson
from assembly.tolerance.outcomes import steps
from assembly.tolerance.sampling import Input
from assembly.tolerance.study import tally

if TYPE_CHECKING:
    from collections.abc import Callable

    from assembly.design import Design
    from assembly.frame import FloatArray
    from assembly.workshop import Workshop

UNSTEADY = 0.2  # standard deviation of a reading before rounding, as a share of the rule's division
READ = {"read.length": 1, "read.width": 1, "read.diagonal": 2, "read.step": 4}  # readings of a box, by place


def reading(true: FloatArray, noise: FloatArray, division: float) -> FloatArray:
    """Return what a rule read to `division` gives for true values; `noise` is added before rounding, all mm."""
    return np.asarray(np.round((true + noise) / division) * division)


def wrong_calls(good: FloatArray, called: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return which boxes are called good and are not, and which are good and called bad: zeros and ones."""
    return called * (1.0 - good), good * (1.0 - called)


@dataclass(frozen=True)
class MeasuredModel:
    """A box, made and then read with a rule; rows: whether it is good, called good, and the two wrong calls."""

    box: BoxModel
    division: float  # mm
    rows: tuple[str, ...] = ("good", "called good", "false accept", "false reject")

    @cached_property
    def inputs(self) -> tuple[Input, ...]:
        """The box's inputs, and the unsteadiness of every reading."""
        spread = UNSTEADY * self.division
        return (
            *self.box.inputs,
            *(Input(name=name, group="read", places=places, spread=spread) for name, places in READ.items()),
        )

    def readings(
        self, told: dict[str, FloatArray], step: FloatArray, value: dict[str, FloatArray]
    ) -> dict[str, FloatArray]:
        """Return the outcomes as a class would tell them, from the true ones and the steps (4 corners, boxes)."""
        box = self.box.design.box
        length, width = box.length + told["length"], box.width + told["width"]
        # Both diagonals are read; steps ignored, they differ by the outcome and have the sizes' own between them.
        middle, half = np.hypot(length, width), told["diagonal_difference"] / 2
        first, second = (
            reading(middle + sign * half, value["read.diagonal"][at], self.division) for at, sign in enumerate((1, -1))
        )
        return {
            **told,
            "length": reading(length, value["read.length"][0], self.division) - box.length,
            "width": reading(width, value["read.width"][0], self.division) - box.width,
            "diagonal_difference": first - second,
            "step": np.abs(reading(step, value["read.step"], self.division)).max(axis=0),
        }

    def evaluate(self, value: dict[str, FloatArray]) -> FloatArray:
        """Return every row for every box."""
        faces, gaps, poses = self.box.settle(value)
        rows, limits = self.box.read_off(value, faces, gaps, poses), self.box.limits
        told = {name: rows[at] for at, name in enumerate(self.box.rows)}
        read = self.readings(told, steps(self.box.frame, faces, poses), value)
        # A reading on the limit keeps it, whatever the last bit of its sum.
        called = np.logical_and.reduce(
            [told["passes"] >= 0, *(kept(limit, np.round(read[name], 9)) for name, limit in limits.items())]
        ).astype(float)
        return np.vstack([told["passes"], called, *wrong_calls(told["passes"], called)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Shares of all boxes: good, called good, and the two kinds of wrong call."""

    boxes: int
    seed: int
    division: float  # mm
    good: Share
    called_good: Share
    false_accept: Share
    false_reject: Share


def measured(
    design: Design,
    workshop: Workshop,
    *,
    division: float = 1.0,
    boxes: int = 100_000,
    seed: int = 1,
    threads: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Measured:
    """Return what a class that checks with a rule read to `division` mm would call good.

    Raises
    ------
    InputError
        If the division is none.
    """
    if not (0 < division < math.inf):
        msg = f"rule: got a division of {division} mm, must be over 0, such as 1 or 0.5"
        raise InputError(msg)
    model = MeasuredModel(BoxModel(design, workshop), division)
    total = tally(model, boxes=boxes, seed=seed, threads=threads, progress=progress)
    good, called, accept, reject = (wilson(total.count(name), total.boxes) for name in model.rows)
    return Measured(
        boxes=total.boxes,
        seed=seed,
        division=division,
        good=good,
        called_good=called,
        false_accept=accept,
        false_reject=reject,
    )
