"""The conditions of the programme behind a limit case, in rows over its variables.

error, offset : the errors, and the mean heights of the lapped walls' ends
end, sawn     : heights of the plain walls' ends; 1 where the saw went deeper than the sander, 0 where it did not
lap, pared    : heights of the laps after paring; 1 where a corner was noticed
move          : where the walls go
gap, force    : gaps, and what presses there, in units of the largest point's area
touch         : 1 where a point may bear and has no gap, 0 where it may be open and bears nothing
stray         : how far errors and offsets are from what is usual, as a share of the way to their limits, at least
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from assembly.limit_case.solver import Rows

if TYPE_CHECKING:
    from assembly.arrays import BoolArray, FloatArray
    from assembly.limit_case.error_vector import Errors

# How far forces and gaps may be below 0, or over it where a point is open or touches; mm, or units of force. Several
# points often bear more than balance needs, and then HiGHS 1.8 calls a case infeasible for its last digit; with such a
# slack it does not, and what is proved holds all the more.
_SLACK = 1e-7
_DIAGONALS = np.array([1, -1, -1, 1])  # of the corners of a face; 0 for the heights of a plane


class Conditions:
    """Rows of a programme and the limits of its variables, gathered as they are given."""

    def __init__(self, at: dict[str, slice], size: int) -> None:
        """Start with `size` variables that lie, by kind, at `at`; all may be anything from 0 to 1."""
        self.at, self.size = at, size
        self._least, self._most = np.zeros(size), np.ones(size)
        self._rows: list[tuple[FloatArray, FloatArray, FloatArray]] = []

    @property
    def limits(self) -> tuple[FloatArray, FloatArray]:
        """Least and most of every variable, as copies."""
        return self._least.copy(), self._most.copy()

    def limit(self, name: str, least: FloatArray | float, most: FloatArray | float) -> None:
        """Set the limits of one kind of variable."""
        self._least[self.at[name]], self._most[self.at[name]] = least, most

    def add(self, terms: dict[str, FloatArray], low: FloatArray | float, high: FloatArray | float) -> None:
        """Add rows: coefficients by kind of variable, and what their sum may be at least and at most."""
        row = self._row(terms)
        self._rows.append((row, np.broadcast_to(low, len(row)), np.broadcast_to(high, len(row))))

    def _row(self, terms: dict[str, FloatArray]) -> FloatArray:
        row = np.zeros((next(iter(terms.values())).shape[0], self.size))
        for name, coefficients in terms.items():
            row[:, self.at[name]] = coefficients
        return row

    @property
    def all(self) -> list[Rows]:
        """Every row so far."""
        return [Rows(*(np.concatenate(part) for part in zip(*self._rows, strict=True)))]

    def no_gap_where_touching(self, ceilings: FloatArray) -> list[Rows]:
        """Return that a point that touches has no gap and another none over its ceiling, for finite ceilings."""
        known = np.isfinite(ceilings)
        if not known.any():
            return []
        rows = self._row({"gap": np.eye(32)[known], "touch": np.diag(np.where(known, ceilings, 0.0))[known]})
        return [Rows(rows, np.full(len(rows), -np.inf), ceilings[known] + _SLACK)]

    def clear_of_notice(self, errors: Errors, pared: BoolArray, clear: float) -> Rows:
        """Return rows that keep laps off the height from which they are noticed, on the side of `pared`."""
        cut, notice = errors.heights["lap"], errors.notice
        low, high = errors.reach(cut)
        both = (low < notice - clear) & (high > notice + clear)  # else there is but one side
        return Rows(
            self._row({"error": cut}),
            np.where(both & pared, notice + clear, -np.inf),
            np.where(both & ~pared & bool(errors.pare.rounds), notice - clear, np.inf),
        )

    def material_most(self, errors: Errors) -> FloatArray:
        """Return the most material that both faces of a point can have left on: (32,), mm."""
        most = self._most[self.at["lap"]] + errors.reach(errors.heights["stock"])[1]
        ends, offsets = _seated()
        return np.asarray(most + ends @ self._most[self.at["end"]] + offsets @ self._most[self.at["offset"]])


def smaller_of_two(rules: Conditions, errors: Errors) -> None:
    """Add that an end is the smaller of sawn and sanded: at most both, at least the one that the binary names."""
    one, sawn, sanded = np.eye(16), errors.heights["sawn"], errors.heights["sanded"]
    (sawn_low, sawn_high), (sanded_low, sanded_high) = errors.reach(sawn), errors.reach(sanded)
    low, high = errors.reach(sawn - sanded)
    over, under = np.maximum(high, 0.0), np.maximum(-low, 0.0)
    rules.limit("error", errors.least[: errors.count], errors.most[: errors.count])
    rules.limit("end", np.minimum(sawn_low, sanded_low), np.minimum(sawn_high, sanded_high))
    rules.add({"end": one, "error": -sawn}, -np.inf, 0.0)
    rules.add({"end": one, "error": -sanded}, -np.inf, 0.0)
    rules.add({"end": one, "error": -sawn, "sawn": -np.diag(over)}, -over, np.inf)
    rules.add({"end": one, "error": -sanded, "sawn": np.diag(under)}, 0.0, np.inf)
    rules.add({"error": sawn - sanded, "sawn": np.diag(over)}, -np.inf, over)
    rules.add({"error": sanded - sawn, "sawn": -np.diag(under)}, -np.inf, 0.0)
    _not_one_diagonal(rules, "sawn", sawn - sanded)


def laps_as_pared(rules: Conditions, errors: Errors) -> None:
    """Add that a lap is not noticed and as cut, or noticed and pared to within the draws' limits."""
    one, cut, notice = np.eye(32), errors.heights["lap"], errors.notice
    low, high = errors.reach(cut)
    rules.limit("lap", low, high)
    if not errors.pare.rounds:
        rules.limit("pared", 0.0, 0.0)
        rules.add({"lap": one, "error": -cut}, 0.0, 0.0)
        return
    floor, spare = np.minimum(low, errors.draw_least), np.maximum(high - errors.draw_least, 0.0)
    rules.limit("lap", floor, np.minimum(high, max(errors.draw_most, notice)))
    rules.limit("pared", 0.0, np.where(high > notice, 1.0, 0.0))
    rules.add({"lap": one, "error": -cut}, -np.inf, 0.0)
    rules.add({"lap": one, "error": -cut, "pared": np.diag(spare)}, 0.0, np.inf)
    rules.add({"error": cut, "pared": -np.diag(np.maximum(high - notice, 0.0))}, -np.inf, notice)
    rules.add({"error": cut, "pared": -np.diag(np.maximum(notice - low, 0.0))}, np.minimum(low, notice), np.inf)
    rules.add({"lap": one, "pared": -one * (errors.draw_most - notice)}, -np.inf, notice)
    rules.add({"lap": one, "pared": -np.diag(errors.draw_least - floor)}, floor, np.inf)
    _not_one_diagonal(rules, "pared", cut)
    _noticed_together(rules, errors, cut)


def _noticed_together(rules: Conditions, errors: Errors, cut: FloatArray) -> None:
    """Add that corners which are always equally high are noticed together, on the edge of being noticed as well."""
    least, most = errors.least[: errors.count], errors.most[: errors.count]
    looks = np.round(np.column_stack([cut * (most - least), cut @ least]), 9) + 0.0
    _, first = np.unique(looks, axis=0, return_index=True)
    same = np.array([next(at for at in first if np.array_equal(looks[at], row)) for row in looks])
    later = np.flatnonzero(same != np.arange(32))
    rules.add({"pared": np.eye(32)[later] - np.eye(32)[same[later]]}, 0.0, 0.0)


def _not_one_diagonal(rules: Conditions, name: str, heights: FloatArray) -> None:
    """Add that a plane is not over a level at one diagonal's ends and under it at the other's; it follows, but helps.

    On the level at all four, a corner may be called either, so nothing is lost.
    """
    faces = heights.reshape(-1, 4, heights.shape[1])
    planes = np.abs(np.einsum("k,fke->fe", _DIAGONALS, faces)).max(axis=1) < 1e-12
    rules.add({name: np.kron(np.eye(len(faces)), _DIAGONALS)[planes]}, -1.0, 1.0)


def _seated() -> tuple[FloatArray, FloatArray]:
    """Return where ends and offsets leave material: (32, 16) and (32, 4)."""
    ends, offsets = np.zeros((4, 2, 4, 4, 4)), np.zeros((4, 2, 4, 4))
    for corner in range(4):
        ends[corner, 0, :, corner], offsets[corner, 1, :, corner] = np.eye(4), 1
    return ends.reshape(32, 16), offsets.reshape(32, 4)


def touching_or_open(rules: Conditions, errors: Errors, matrix: FloatArray, weights: FloatArray) -> None:
    """Add gaps from heights and moves, forces in balance, and no force where a point is open.

    That there is no gap where a point touches is set apart, by `Conditions.no_gap_where_touching`: it changes with the
    ceilings.
    """
    one, price = np.eye(32), matrix.T @ weights
    ends, offsets = _seated()
    largest = _largest_forces(matrix, price)
    rules.limit("offset", *np.array([(end.least, end.most) for end in errors.offsets]).T)
    rules.limit("move", -np.inf, np.inf)
    rules.limit("gap", -_SLACK, np.inf)
    rules.limit("force", -_SLACK, largest)
    stock = errors.heights["stock"]
    rules.add({"gap": one, "lap": one, "end": ends, "offset": offsets, "error": stock, "move": -matrix}, 0.0, 0.0)
    rules.add({"force": matrix.T}, price - _SLACK, price + _SLACK)
    rules.add({"force": one, "touch": -np.diag(largest)}, -np.inf, _SLACK)


def strayed(rules: Conditions, errors: Errors) -> None:
    """Add how far every error and every offset is from its usual value, in either direction."""
    ends, count = errors.offsets, errors.count
    usual = np.append(errors.usual[:count], [end.usual for end in ends])
    way = np.append((errors.most - errors.least)[:count] / 2, [end.most - end.least for end in ends])
    scale = np.diag(1 / np.where(way > 0, way, 1.0))
    one = np.eye(len(usual))
    rules.limit("stray", 0.0, np.inf)
    for sign in (1.0, -1.0):
        terms = {"stray": one, "error": -sign * scale[:, :count], "offset": -sign * scale[:, count:]}
        rules.add(terms, -sign * scale @ usual, np.inf)


def _largest_forces(matrix: FloatArray, price: FloatArray) -> FloatArray:
    """Return the most that each contact force can be, from balance alone: one small linear programme a point."""
    from scipy.optimize import linprog  # noqa: PLC0415 - 0.3 s that a check does without

    solutions = [linprog(-row, A_eq=matrix.T, b_eq=price, bounds=(0, None), method="highs") for row in np.eye(32)]
    return np.array([-each.fun for each in solutions]) * (1 + _SLACK)
