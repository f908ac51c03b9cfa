"""As measured against true: which boxes a class calls good with a steel rule, and which are (MODEL.md, 5.8).

reading    : round((true + N(0, 0.2 r)) / r) r, for a rule read to r
wrong call : a box called good that is not (false accept), or called bad that is good (false reject)

Length, width, diagonals and steps are read; all other outcomes are judged true. The true pass share and the share
called good are kept apart. Source of the two kinds of wrong call: JCGM 106:2012, 9.5.

A reading is a whole number of divisions, so a limit works like another one: half a division beyond the last reading
that keeps it. Read to 1 mm, at most 0.8 mm works like at most 0.5 mm, as 0.6 is read as 1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.made.frame_outcomes import steps
from assembly.made.limits import kept, limit_ends
from assembly.made.sampling import Input
from assembly.study.blocks import tally
from assembly.study.check import BoxModel
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import Estimate, wilson

if TYPE_CHECKING:
    from assembly.arrays import BoolArray, FloatArray
    from assembly.model.design import Design, Limit
    from assembly.model.workshop import Workshop
    from assembly.study.blocks import Tally

UNSTEADY = 0.2  # standard deviation of a reading before rounding, as a share of the rule's division
FINE = 0.5  # mm, the finest division of a usual steel rule: common practice, no source
CALLS = ("called good", "false accept", "false reject")
READ = {"read.length": 1, "read.width": 1, "read.diagonal": 2, "read.step": 4}  # readings of a box, by place


def reading(true: FloatArray, noise: FloatArray, division: float) -> FloatArray:
    """Return what a rule read to `division` gives for true values; `noise` is added before rounding, all mm."""
    return np.asarray(np.round((true + noise) / division) * division)


def wrong_calls(good: FloatArray, called: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return which boxes are called good and are not, and which are good and called bad: zeros and ones."""
    return called * (1.0 - good), good * (1.0 - called)


def works_like(limit: Limit, nominal: float | None, division: float) -> tuple[float, float] | None:
    """Return the ends, mm, that a limit on `nominal` plus an error has in effect when read to `division`.

    None where `nominal` is: of two readings' difference, where they fall decides as much as how much they differ.

    They lie half a division beyond the first and last reading that keep it, where half of all readings fall either
    way. The first is not below the last where no reading keeps it at all.
    """
    if nominal is None:
        return None
    low, high = limit_ends(limit)
    least, most = (nominal + low) / division, (nominal + high) / division
    # As in `called`, a reading on the limit keeps it, whatever the last bit of a quotient.
    first = math.ceil(least - 1e-9) if math.isfinite(least) else least
    last = math.floor(most + 1e-9) if math.isfinite(most) else most
    return (first - 0.5) * division - nominal, (last + 0.5) * division - nominal


@dataclass(frozen=True)
class MeasuredModel:
    """A box, made and then read with a rule, and by the same hands with a finer one where `finer` is set.

    Rows: whether it is good, called good, and the two wrong calls; the last three again, read to `finer`; then for
    every limit that is read whether it is, judged alone, wrongly refused or wrongly passed.
    """

    box: BoxModel
    division: float  # mm
    finer: float | None = None  # mm

    @cached_property
    def read(self) -> dict[str, float | None]:
        """What is read and limited, with its nominal size, mm; None where two readings are subtracted."""
        size = self.box.design.box
        nominal = {"length": size.length, "width": size.width, "diagonal_difference": None, "step": 0.0}
        return {name: nominal[name] for name in self.box.limits if name in nominal}

    @cached_property
    def rows(self) -> tuple[str, ...]:
        """The names of the rows."""
        again = tuple(f"{name}, finer" for name in CALLS) if self.finer else ()
        return ("good", *CALLS, *again, *(f"{wrong} {name}" for name in self.read for wrong in ("refused", "passed")))

    @cached_property
    def inputs(self) -> tuple[Input, ...]:
        """The box's inputs, and the unsteadiness of every reading."""
        spread = UNSTEADY * self.division
        return (
            *self.box.inputs,
            *(Input(name=name, group="read", places=places, spread=spread) for name, places in READ.items()),
        )

    def readings(
        self, outcomes: dict[str, FloatArray], step: FloatArray, value: dict[str, FloatArray], division: float
    ) -> dict[str, FloatArray]:
        """Return the outcomes as a class would tell them, from the true ones and the steps (4 corners, boxes)."""
        box = self.box.design.box
        length, width = box.length + outcomes["length"], box.width + outcomes["width"]
        noise = {name: value[name] * (division / self.division) for name in READ}
        # Both diagonals are read; steps ignored, they differ by the outcome and have the sizes' own between them.
        middle, half = np.hypot(length, width), outcomes["diagonal_difference"] / 2
        first, second = (
            reading(middle + sign * half, noise["read.diagonal"][at], division) for at, sign in enumerate((1, -1))
        )
        return {
            **outcomes,
            "length": reading(length, noise["read.length"][0], division) - box.length,
            "width": reading(width, noise["read.width"][0], division) - box.width,
            "diagonal_difference": first - second,
            "step": np.abs(reading(step, noise["read.step"], division)).max(axis=0),
        }

    def evaluate(self, value: dict[str, FloatArray]) -> FloatArray:
        """Return every row for every box."""
        faces, gaps, poses = self.box.settle(value)
        rows = self.box.read_off(value, faces, gaps, poses)
        by_name = {name: rows[at] for at, name in enumerate(self.box.rows)}
        step, out = steps(self.box.frame, faces, poses), [by_name["passes"]]
        divisions = (self.division, self.finer) if self.finer else (self.division,)
        keeps = [self._keeps(self.readings(by_name, step, value, each)) for each in divisions]
        for each in keeps:
            called = np.logical_and.reduce([by_name["passes"] >= 0, *each.values()]).astype(float)
            out += [called, *wrong_calls(by_name["passes"], called)]
        for name in self.read:
            passed, refused = wrong_calls(by_name[f"keeps {name}"], keeps[0][name].astype(float))
            out += [refused, passed]
        return np.vstack(out)

    def _keeps(self, read: dict[str, FloatArray]) -> dict[str, BoolArray]:
        # A reading on the limit keeps it, whatever the last bit of its sum.
        return {name: kept(limit, np.round(read[name], 9)) for name, limit in self.box.limits.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Misread:
    """One limit, judged alone: how often the rule gets it wrong, as shares of all boxes, and what it works like."""

    name: str
    limit: tuple[float | None, float | None]  # least and most, mm; None where it is open
    works_like: tuple[float | None, float | None] | None  # in effect, see there; least not below most: none keeps it
    refused: Estimate  # of boxes that keep it and are read not to
    passed: Estimate  # of boxes that do not keep it and are read to


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Shares of all boxes: good, called good, and the two kinds of wrong call."""

    boxes: int
    seed: int
    division: float  # mm
    good: Estimate
    called_good: Estimate
    false_accept: Estimate
    false_reject: Estimate
    limits: tuple[Misread, ...] = ()  # those that are read, the most often wrong first
    finer: Measured | None = None  # the same boxes, read to `FINE`

    @property
    def wrong(self) -> Estimate:
        """Share of boxes that are called what they are not."""
        return wilson((self.false_accept.value + self.false_reject.value) * self.boxes, self.boxes)


def measured(
    design: Design,
    workshop: Workshop,
    *,
    division: float = 1.0,
    boxes: int = 100_000,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> Measured:
    """Return what a class that checks with a rule read to `division` mm would call good; of the blocks done if stopped.

    Raises
    ------
    InputError
        If the division is none.
    StoppedError
        If it is stopped within the first block.
    """
    if not (0 < division < math.inf):
        msg = f"rule: got a division of {division} mm, must be over 0, such as 1 or 0.5"
        raise InputError(msg)
    model = MeasuredModel(BoxModel(design, workshop), division, FINE if division > FINE else None)
    total = tally(model, boxes=boxes, seed=seed, run=run)
    finer = _measured(total, seed, FINE, ", finer") if model.finer else None
    return replace(_measured(total, seed, division), limits=_misread(model, total), finer=finer)


def _measured(total: Tally, seed: int, division: float, which: str = "") -> Measured:
    called, accept, reject = (wilson(total.count(name + which), total.boxes) for name in CALLS)
    return Measured(
        boxes=total.boxes,
        seed=seed,
        division=division,
        good=wilson(total.count("good"), total.boxes),
        called_good=called,
        false_accept=accept,
        false_reject=reject,
    )


def _misread(model: MeasuredModel, total: Tally) -> tuple[Misread, ...]:
    found = []
    for name, nominal in model.read.items():
        limit = model.box.limits[name]
        refused, passed = (wilson(total.count(f"{wrong} {name}"), total.boxes) for wrong in ("refused", "passed"))
        effect = works_like(limit, nominal, model.division)
        found.append(
            Misread(
                name=name,
                limit=_closed(limit_ends(limit)),
                works_like=effect and _closed(effect),
                refused=refused,
                passed=passed,
            )
        )
    return tuple(sorted(found, key=lambda each: -(each.refused.value + each.passed.value)))


def _closed(ends: tuple[float, float]) -> tuple[float | None, float | None]:
    low, high = (end if math.isfinite(end) else None for end in ends)
    return low, high
