"""The mixed-integer programme behind a limit case: errors, faces and the settled frame in one set of conditions.

The frame's place is written by its own optimality conditions: gaps s = g + A u >= 0, forces λ >= 0 in balance
(Aᵀλ = Aᵀ area), and at every point either no gap or no force, chosen by a binary. Sawn or sanded is a binary for every
corner of every end, pared or not a binary for every corner of every lap. A pared corner ends within bias ± 3 spread.

The binaries need a ceiling on every gap, so a bound holds for boxes in which no gap anywhere is over the ceiling. Once
the bounds of all 32 gaps lie under it, that is no restriction: the errors' ranges are connected and so are the settled
places over them, starting from the box without errors, so gaps could not come to exceed the ceiling without passing
through values that the proofs exclude.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from assembly.frame import PLAIN_AT, FloatArray, contact_matrix, free_columns, point_areas
from assembly.tolerance.making import FRAME_PLACES, PARE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assembly.tolerance.making import Making

# Adds rows to the programme: coefficients by kind of variable, and what their sum may be at least and at most.
Condition = Callable[[dict[str, FloatArray], FloatArray | float, FloatArray | float], None]
BETTER = 1e-4  # mm: by how much a case must beat the one found to be worth proving


@dataclass(frozen=True, slots=True)
class Proof:
    """What the programme knows: no errors open the joint by more than `bound`; `errors` beat the search, if any do."""

    bound: float
    errors: FloatArray | None


@dataclass(frozen=True, slots=True)
class _Block:
    """Where one kind of variable lies in the programme's vector."""

    start: int
    count: int

    @property
    def at(self) -> slice:
        return slice(self.start, self.start + self.count)


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the solver's own lines off the results: HiGHS prints some to standard output, whatever it is told."""
    sys.stdout.flush()
    kept = os.dup(1)
    try:
        with Path(os.devnull).open("wb") as nowhere:
            os.dup2(nowhere.fileno(), 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)


class LimitProgramme:
    """The conditions for one frame and workshop; `prove` asks them about one joint."""

    def __init__(self, making: Making, ceiling: float) -> None:
        """Write down what is linear: heights by errors, gaps by heights and moves; `ceiling` bounds every gap, mm."""
        self.making, self.pare, self.ceiling = making, making.workshop.pare, ceiling
        self.inputs = [i for i in making.inputs if i.name in FRAME_PLACES]
        self.draws = sum(i.places for i in making.inputs if i.name == PARE)
        self.count = sum(i.places for i in self.inputs)
        bias, limit = (
            np.concatenate([np.full(i.places, getattr(i, name)) for i in self.inputs]) for name in ("bias", "limit")
        )
        self.least, self.most = bias - limit, bias + limit
        self.matrix = contact_matrix(making.frame).reshape(32, 16)[:, free_columns()]
        self.areas = point_areas(making.frame)
        starts = np.cumsum([0, self.count, 32, 32, 32, 32, 13, 32, 32, 32])
        names = ("error", "end", "sawn", "lap", "pared", "move", "gap", "force", "touch")
        self.blocks = {name: _Block(int(a), int(b - a)) for name, a, b in zip(names, starts, starts[1:], strict=False)}
        self.size = int(starts[-1])

    @cached_property
    def heights(self) -> dict[str, FloatArray]:
        """What one of each error does to every height: name -> (heights, errors); heights are linear in errors."""
        at, value = 0, {}
        for each in self.inputs:
            rows = np.zeros((each.places, self.count))
            rows[:, at : at + each.places] = np.eye(each.places)
            value[each.name], at = rows, at + each.places
        worked = self.making.worked(value)
        laps = np.stack([worked.cheek, worked.shoulder], axis=1)
        return {
            "sawn": worked.sawn.reshape(32, -1),
            "sanded": worked.sanded.reshape(32, -1),
            "lap": laps.reshape(32, -1),
            "bow": worked.bow.reshape(16, -1),
            "inside": (worked.inside - worked.thickness[PLAIN_AT][:, None]).reshape(16, -1),
        }

    def prove(self, points: Iterable[int], found: float, seconds: float) -> Proof:
        """Return what is known of the largest gap at any of `points`, given that `found` has been found."""
        until = time.monotonic() + seconds
        best, bound, errors = found, found, None
        waiting = list(points)
        for left, point in zip(range(len(waiting), 0, -1), waiting, strict=True):
            share = max(1.0, (until - time.monotonic()) / left)
            gap, limit, told = self._solve(point, best, share)
            bound = max(bound, limit)
            if told is not None and gap > best:
                best, errors = gap, told
        return Proof(bound, errors)

    def _solve(self, point: int, found: float, seconds: float) -> tuple[float, float, FloatArray | None]:
        """Return gap, bound and errors of the programme for one point, told to look only beyond `found`."""
        from scipy.optimize import Bounds, milp  # noqa: PLC0415 - 0.3 s that a check does without

        cost = np.zeros(self.size)
        cost[self.blocks["gap"].start + point] = -1
        least, most = self._bounds
        least = least.copy()
        least[self.blocks["gap"].start + point] = found + BETTER
        with _quiet():
            told = milp(
                cost,
                constraints=self._conditions,
                bounds=Bounds(least, most),
                integrality=self._binary,
                options={"time_limit": seconds, "mip_rel_gap": 1e-4},
            )
        if told.status == 2:  # infeasible: no errors open this point beyond what was found
            return found, found + BETTER, None
        bound = (
            -told.mip_dual_bound if told.mip_dual_bound is not None else float(most[self.blocks["gap"].start + point])
        )
        if told.x is None:
            return found, bound, None
        return -float(told.fun), bound, self._errors(told.x)

    def _errors(self, solution: FloatArray) -> FloatArray:
        """Return all errors, paring's draws included, that make the solution's faces: each draw is what is left."""
        errors, lap = solution[self.blocks["error"].at], solution[self.blocks["lap"].at]
        return np.concatenate([errors, np.tile(lap, self.draws // 32)])

    @cached_property
    def _binary(self) -> FloatArray:
        out = np.zeros(self.size)
        for name in ("sawn", "pared", "touch"):
            out[self.blocks[name].at] = 1
        return out

    @cached_property
    def _reach(self) -> dict[str, tuple[FloatArray, FloatArray]]:
        """Least and most that every height can be, from the errors' limits."""
        out = {}
        for name, rows in self.heights.items():
            low, high = np.minimum(rows * self.least, rows * self.most), np.maximum(rows * self.least, rows * self.most)
            out[name] = low.sum(axis=1), high.sum(axis=1)
        return out

    @property
    def _pared_least(self) -> float:
        return min(self.pare.bias - 3 * self.pare.spread, self.pare.notice)

    @property
    def _pared_most(self) -> float:
        return self.pare.bias + 3 * self.pare.spread

    @cached_property
    def _bounds(self) -> tuple[FloatArray, FloatArray]:
        """Least and most of every variable."""
        least, most = np.zeros(self.size), np.ones(self.size)
        reach, block = self._reach, self.blocks
        least[block["error"].at], most[block["error"].at] = self.least, self.most
        least[block["end"].at] = np.minimum(reach["sawn"][0], reach["sanded"][0])
        most[block["end"].at] = np.minimum(reach["sawn"][1], reach["sanded"][1])
        least[block["lap"].at] = reach["lap"][0]
        most[block["lap"].at] = reach["lap"][1]
        if self.draws:
            least[block["lap"].at] = np.minimum(reach["lap"][0], self._pared_least)
            most[block["lap"].at] = np.minimum(reach["lap"][1], max(self._pared_most, self.pare.notice))
        else:
            most[block["pared"].at] = 0
        least[block["move"].at], most[block["move"].at] = -np.inf, np.inf
        most[block["gap"].at] = self.ceiling
        most[block["force"].at] = self._largest_forces
        return least, most

    @cached_property
    def _largest_forces(self) -> FloatArray:
        """The most that each contact force can be, from balance alone: one small linear programme a point."""
        from scipy.optimize import linprog  # noqa: PLC0415 - 0.3 s that a check does without

        price = self.matrix.T @ self.areas
        told = [linprog(-row, A_eq=self.matrix.T, b_eq=price, bounds=(0, None), method="highs") for row in np.eye(32)]
        return np.array([-each.fun for each in told]) * (1 + 1e-9)

    @cached_property
    def _conditions(self) -> list[object]:
        """Every linear condition of the programme."""
        from scipy.optimize import LinearConstraint  # noqa: PLC0415 - 0.3 s that a check does without
        from scipy.sparse import csr_array, vstack  # noqa: PLC0415

        rows: list[FloatArray] = []
        lower: list[FloatArray] = []
        upper: list[FloatArray] = []

        def condition(terms: dict[str, FloatArray], low: FloatArray | float, high: FloatArray | float) -> None:
            count = next(iter(terms.values())).shape[0]
            row = np.zeros((count, self.size))
            for name, coefficients in terms.items():
                row[:, self.blocks[name].at] = coefficients
            rows.append(csr_array(row))
            lower.append(np.broadcast_to(low, count))
            upper.append(np.broadcast_to(high, count))

        self._end_conditions(condition)
        self._lap_conditions(condition)
        self._contact_conditions(condition)
        return [LinearConstraint(vstack(rows), np.concatenate(lower), np.concatenate(upper))]

    def _end_conditions(self, condition: Condition) -> None:
        """Add that an end is the smaller of sawn and sanded: at most both, at least the one that the binary names."""
        one, h, reach = np.eye(32), self.heights, self._reach
        for tool, other, sign in (("sawn", "sanded", 1.0), ("sanded", "sawn", -1.0)):
            spare = np.maximum(reach[tool][1] - np.minimum(reach[tool][0], reach[other][0]), 0.0)
            condition({"end": one, "error": -h[tool]}, -np.inf, 0.0)
            # end >= tool - spare where the binary names the other: `sawn` is 1 for sanded, 0 for sawn
            condition({"end": one, "error": -h[tool], "sawn": sign * np.diag(spare)}, -spare * (sign < 0), np.inf)

    def _lap_conditions(self, condition: Condition) -> None:
        """Add that a lap is not noticed and as cut, or noticed and pared to within the draws' limits."""
        one, h, (low, high) = np.eye(32), self.heights["lap"], self._reach["lap"]
        if not self.draws:
            condition({"lap": one, "error": -h}, 0.0, 0.0)
            return
        notice, spare = self.pare.notice, np.maximum(high - np.minimum(low, self._pared_least), 0.0)
        condition({"lap": one, "error": -h}, -np.inf, 0.0)
        condition({"lap": one, "error": -h, "pared": np.diag(spare)}, 0.0, np.inf)
        condition({"error": h, "pared": -np.diag(np.maximum(high - notice, 0.0))}, -np.inf, notice)
        condition({"error": h, "pared": -np.diag(np.maximum(notice - low, 0.0))}, np.minimum(low, notice), np.inf)
        condition(
            {"lap": one, "pared": one * max(notice - self._pared_most, 0.0)}, -np.inf, max(notice, self._pared_most)
        )
        floor = np.minimum(low, self._pared_least)
        condition({"lap": one, "pared": -np.diag(self._pared_least - floor)}, floor, np.inf)

    def _contact_conditions(self, condition: Condition) -> None:
        """Add gaps from heights and moves, forces in balance, and a gap or a force but not both."""
        one, block = np.eye(32), np.zeros((4, 2, 4, 8, 4))
        for corner in range(4):
            block[corner, 0, :, corner] = np.eye(4)
            block[corner, 1, :, 4 + corner] = 0.25
        ends = block.reshape(32, 32)
        stock = np.stack([self.heights[name].reshape(4, 4, -1) for name in ("bow", "inside")], axis=1).reshape(32, -1)
        condition({"gap": one, "lap": one, "end": ends, "error": stock, "move": -self.matrix}, 0.0, 0.0)
        price = self.matrix.T @ self.areas
        condition({"force": self.matrix.T}, price, price)
        condition({"gap": one, "touch": one * self.ceiling}, -np.inf, self.ceiling)
        condition({"force": one, "touch": -np.diag(self._largest_forces)}, -np.inf, 0.0)
