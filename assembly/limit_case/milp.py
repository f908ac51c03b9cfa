"""The mixed-integer programme behind a limit case: errors, faces and the settled frame in one set of conditions.

The frame's place is written by its own optimality conditions: gaps s = g + A u >= 0, forces λ >= 0 in balance
(Aᵀλ = Aᵀ area), and at every point either no gap or no force, chosen by a binary. Sawn or sanded is a binary for every
corner of a plain wall's end, pared or not a binary for every corner of every lap. A lapped wall's end counts only by
its offset, which takes every value between two. A pared corner ends within bias ± 3 spread.

Nothing is assumed of the gaps. One place of the walls is free of overlap whatever the errors are, so the settled frame
has no more gap volume than that place; linear programmes then tell how wide a gap can be at any point, and these
ceilings are what the binaries need. Tighter ceilings come from the outline: the same programme with touching or open
as its only binaries.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from assembly.limit_case.constraints import Conditions, laps_as_pared, smaller_of_two, strayed, touching_or_open
from assembly.limit_case.solver import Programme, Rows, solve
from assembly.nominal.frame import contact_matrix, free_columns, point_areas, squared_row

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Literal

    from assembly.arrays import BoolArray, FloatArray, IntArray
    from assembly.limit_case.error_vector import Errors
    from assembly.limit_case.solver import Effort, Solution

_CLEAR = 1e-6  # mm: how far a case that is answered with keeps from the edge between pared and not pared
_MARGIN = 1e-6  # added to what a solver calls a bound, as a share and in mm: ten times what it lets a condition slip


@dataclass(frozen=True, slots=True)
class Pattern:
    """What kind of case it is, corner by corner; with this given, the rest is a linear programme."""

    touch: BoolArray  # (32,) contact points that bear
    sawn: BoolArray  # (16,) corners of the plain walls' ends where the saw went deeper than the sander
    pared: BoolArray  # (32,) corners of the laps that were noticed

    def mirrored(self, points: IntArray, ends: IntArray) -> Pattern:
        """Return the pattern with every point and every corner of an end moved to where a mirror takes it."""
        touch, sawn, pared = (np.empty_like(each) for each in (self.touch, self.sawn, self.pared))
        touch[points], sawn[ends], pared[points] = self.touch, self.sawn, self.pared
        return Pattern(touch, sawn, pared)


@dataclass(frozen=True, slots=True)
class GapBound:
    """What one run of the solver tells of a gap: never over `bound`, mm; the kind of case that comes near, if any."""

    bound: float
    pattern: Pattern | None = None


def free_moves(errors: Errors, glue_up: Literal["as it falls", "squared"]) -> FloatArray:
    """Return what the walls' free moves do to the gaps: (32, 13), or (32, 12) where the diagonals are made equal."""
    matrix = contact_matrix(errors.making.frame).reshape(32, 16)[:, free_columns()]
    if glue_up == "squared":
        matrix = matrix @ np.linalg.svd(squared_row()[None])[2][1:].T
    return matrix


class LimitProgramme:
    """The conditions for one frame and workshop, asked about one contact point at a time."""

    def __init__(self, errors: Errors, matrix: FloatArray) -> None:
        """Write down the conditions for `errors`, with `matrix` (32, moves) what the walls' moves do to the gaps."""
        self.errors, self.matrix = errors, matrix
        areas = point_areas(errors.making.frame)
        self.weights = areas / areas.max()
        sizes = {
            "error": errors.count,
            "offset": 4,
            "end": 16,
            "sawn": 16,
            "lap": 32,
            "pared": 32,
            "move": matrix.shape[1],
            "gap": 32,
            "force": 32,
            "touch": 32,
            "stray": errors.count + 4,
        }
        starts = np.cumsum([0, *sizes.values()])
        self.at = {name: slice(int(a), int(b)) for name, (a, b) in zip(sizes, pairwise(starts), strict=True)}
        self._conditions = Conditions(self.at, int(starts[-1]))
        smaller_of_two(self._conditions, errors)
        laps_as_pared(self._conditions, errors)
        touching_or_open(self._conditions, errors, matrix, self.weights)
        strayed(self._conditions, errors)
        self._bound_volume()
        self._fixed = self._conditions.all
        self.ceilings = np.full(32, np.inf)
        self.ceilings = np.array([self._widest(point) for point in range(32)])

    def _bound_volume(self) -> None:
        """Add that the settled frame has no more gap volume than a place that suits the worst of all errors."""
        from scipy.optimize import linprog  # noqa: PLC0415 - 0.3 s that a check does without

        rules, price = self._conditions, self.matrix.T @ self.weights
        material = rules.material_most(self.errors)
        solution = linprog(price, A_ub=-self.matrix, b_ub=-material, bounds=(None, None), method="highs")
        # Moved out on all sides by what the solver let slip, the place is free of overlap to the last digit.
        slip = max(0.0, float((material - self.matrix @ solution.x).max()))
        most = float(price @ solution.x) + slip * self.weights.sum()
        rules.add({"move": price[None]}, -np.inf, most + _MARGIN)

    def _widest(self, point: int) -> float:
        """Return a ceiling of one gap by a linear programme: all binaries may lie between."""
        return _with_margin(-solve(self._programme(self._gap_of(point), *self._conditions.limits)).cost)

    def _gap_of(self, point: int) -> FloatArray:
        """Return the cost that makes a gap as wide as can be."""
        cost = np.zeros(self._conditions.size)
        cost[self.at["gap"].start + point] = -1
        return cost

    def _programme(
        self,
        cost: FloatArray,
        least: FloatArray,
        most: FloatArray,
        *,
        binary: Sequence[str] = (),
        more: Sequence[Rows] = (),
    ) -> Programme:
        """Return the conditions as a programme, with the ceilings as they are and these variables binary."""
        whole = np.zeros(len(cost), dtype=bool)
        for name in binary:
            whole[self.at[name]] = True
        most = most.copy()
        most[self.at["gap"]] = np.minimum(most[self.at["gap"]], self.ceilings)
        rows = (*self._fixed, *self._conditions.no_gap_where_touching(self.ceilings), *more)
        return Programme(cost=cost, rows=rows, least=least, most=np.maximum(most, least), whole=whole)

    def outline(self, point: int, found: float, effort: Effort) -> GapBound:
        """Return a bound of the gap at `point`, and which points touch there, with faces free to lie between.

        Only gaps of `found`, mm, or more are looked at. The bound becomes the point's ceiling.
        """
        least, most = self._conditions.limits
        least[self.at["gap"].start + point] = found
        if found > self.ceilings[point]:
            return GapBound(float(self.ceilings[point]))
        solution = effort.spend(self._programme(self._gap_of(point), least, most, binary=("touch",)))
        bound = found if solution.ended == "infeasible" else _with_margin(-solution.bound)
        self.ceilings[point] = min(self.ceilings[point], bound)
        return GapBound(float(self.ceilings[point]), None if solution.x is None else self._pattern(solution.x))

    def with_touch(self, point: int, pattern: Pattern, effort: Effort) -> Pattern | None:
        """Return the pattern of the widest gap at `point` among those that touch where `pattern` does."""
        least, most = self._conditions.limits
        least[self.at["touch"]] = most[self.at["touch"]] = pattern.touch
        solution = effort.spend(self._programme(self._gap_of(point), least, most, binary=("sawn", "pared")))
        return None if solution.x is None else self._pattern(solution.x)

    def beyond(self, point: int, gap: float, effort: Effort) -> GapBound:
        """Return whether any errors open `point` to `gap` or further: with the pattern that does, or bounded by it.

        The bound is the ceiling where the effort was too small to tell.
        """
        least, most = self._conditions.limits
        least[self.at["gap"].start + point] = gap
        if gap > self.ceilings[point]:
            return GapBound(float(self.ceilings[point]))
        anything = np.zeros(self._conditions.size)  # any such case will do: finding the widest takes twice the time
        solution = effort.spend(self._programme(anything, least, most, binary=("touch", "sawn", "pared")))
        if solution.ended == "infeasible":
            self.ceilings[point] = gap
            return GapBound(gap)
        return GapBound(float(self.ceilings[point]), None if solution.x is None else self._pattern(solution.x))

    def opened(self, point: int, pattern: Pattern) -> float | None:
        """Return the widest gap at `point` that cases of this pattern have, mm; None if there are none."""
        solution = self._of_pattern(self._gap_of(point), pattern)
        return -solution.cost if solution.ended == "solved" else None

    def gentlest(self, point: int, pattern: Pattern, gap: float) -> FloatArray | None:
        """Return errors that open `point` to `gap` in a case of this pattern and stray least: the others stay usual."""
        cost = np.zeros(self._conditions.size)
        cost[self.at["stray"]] = 1
        solution = self._of_pattern(cost, pattern, {self.at["gap"].start + point: gap - _CLEAR})
        if solution.ended != "solved" or solution.x is None:
            return None
        return self.errors.completed(*(solution.x[self.at[name]] for name in ("error", "offset", "lap")))

    def _of_pattern(self, cost: FloatArray, pattern: Pattern, at_least: dict[int, float] | None = None) -> Solution:
        """Return what is best among the cases of one pattern, a little off the edge between pared and not."""
        least, most = self._conditions.limits
        for name in ("touch", "sawn", "pared"):
            least[self.at[name]] = most[self.at[name]] = getattr(pattern, name)
        for variable, value in (at_least or {}).items():
            least[variable] = value
        clear = self._conditions.clear_of_notice(self.errors, pattern.pared, _CLEAR)
        return solve(self._programme(cost, least, most, more=[clear]))

    def _pattern(self, solution: FloatArray) -> Pattern:
        return Pattern(*(solution[self.at[name]] > 0.5 for name in ("touch", "sawn", "pared")))


def _with_margin(bound: float) -> float:
    """Return a bound that holds whatever the solver's tolerances let slip."""
    return max(bound, 0.0) * (1 + _MARGIN) + _MARGIN
