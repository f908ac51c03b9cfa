"""A mixed-integer linear programme and its solution by HiGHS, which prints nothing here and stops when it is asked to.

node  : one programme of the search tree, with some of the binaries decided. How much work a solution may take is given
        in nodes, not in seconds, so that every machine finds the same
bound : the least that the cost can be, whatever the part of the tree holds that was not looked at
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from assembly.study.driver import UNWATCHED, Run, never

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.arrays import BoolArray, FloatArray

ALL = 2**31 - 1  # nodes: as many as the solver counts
NEAR = 1e-3  # share by which a solution may miss the best one; the bound does not
NOISE = 1e-6  # of a bound: as far as the solver lets a row or a whole number be missed


@dataclass(frozen=True, slots=True)
class Rows:
    """Conditions low <= matrix x <= high."""

    matrix: FloatArray  # (rows, variables)
    low: FloatArray  # (rows,)
    high: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Programme:
    """Minimise cost · x under all rows, for least <= x <= most, where some of x are whole: (variables,) each."""

    cost: FloatArray
    rows: Sequence[Rows]
    least: FloatArray
    most: FloatArray
    whole: BoolArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """What is known of a programme: the best that was found, if anything, its cost, and a bound of all costs."""

    ended: Literal["solved", "infeasible", "left off"]
    x: FloatArray | None  # (variables,)
    cost: float
    bound: float
    nodes: int
    prices: FloatArray  # (rows,) what the cost rises by where a row asks for one more; nought where some of x are whole

    @property
    def whole_bound(self) -> int | None:
        """The least whole number that the cost can be; None where nothing is known of it."""
        return math.ceil(self.bound - NOISE) if math.isfinite(self.bound) else None


@dataclass(slots=True, kw_only=True)
class Effort:
    """How many nodes may still be spent, in a run that gives all up when it is stopped."""

    nodes: int
    run: Run = UNWATCHED

    @property
    def left(self) -> bool:
        """Whether there is any.

        Raises
        ------
        StoppedError
            If the run is stopped.
        """
        self.run.goes_on()
        return self.nodes > 0

    def spend(self, programme: Programme) -> Solution:
        """Return what is known of a programme after as much of it as that takes.

        Raises
        ------
        StoppedError
            If the run is stopped.
        """
        found = solve(programme, nodes=self.nodes, stop=self.run.stop)
        self.run.goes_on()
        self.nodes -= max(found.nodes, 1)
        return found


def solve(programme: Programme, *, nodes: int = ALL, stop: Callable[[], bool] = never) -> Solution:
    """Return what is known of a programme when it is solved, or after so many nodes, or when `stop` says yes.

    One thread solves it: where several search one tree, the faster decides what is found.
    """
    import highspy  # noqa: PLC0415 - only a limit case needs it

    solver, ends = highspy.Highs(), highspy.HighsModelStatus
    solver.silent()
    for option, value in (("threads", 1), ("mip_rel_gap", NEAR), ("mip_max_nodes", nodes)):
        solver.setOptionValue(option, value)

    def ask(event: Any) -> None:  # noqa: ANN401 - highspy has no types
        if stop():
            event.interrupt()

    solver.cbMipInterrupt.subscribe(ask)
    solver.passModel(_model_of(programme))
    solver.run()
    status, info = solver.getModelStatus(), solver.getInfo()
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible.value
    return Solution(
        ended="solved" if status == ends.kOptimal else "infeasible" if status == ends.kInfeasible else "left off",
        x=np.array(solver.getSolution().col_value) if found else None,
        cost=info.objective_function_value,
        bound=_bound(programme, status, info),
        nodes=max(info.mip_node_count, 0),
        prices=np.array(solver.getSolution().row_dual),
    )


def _bound(programme: Programme, status: Any, info: Any) -> float:  # noqa: ANN401 - highspy has no types
    """Return what bounds the cost from below; without whole numbers the solver tells of none but the cost itself."""
    import highspy  # noqa: PLC0415 - only a limit case needs it

    ends = highspy.HighsModelStatus
    if not programme.whole.any():
        return float(info.objective_function_value) if status == ends.kOptimal else -math.inf
    known = status in {ends.kOptimal, ends.kSolutionLimit, ends.kInterrupt}  # else nothing is promised of the bound
    return float(info.mip_dual_bound) if known else -math.inf


def _model_of(programme: Programme) -> Any:  # noqa: ANN401 - highspy has no types
    """Return a programme in the solver's own record."""
    import highspy  # noqa: PLC0415 - only a limit case needs it

    matrix = np.concatenate([each.matrix for each in programme.rows])
    columns, rows = np.nonzero(matrix.T)
    model = highspy.HighsLp()
    model.num_row_, model.num_col_ = matrix.shape
    model.col_cost_, model.col_lower_, model.col_upper_ = programme.cost, programme.least, programme.most
    model.row_lower_ = np.concatenate([each.low for each in programme.rows])
    model.row_upper_ = np.concatenate([each.high for each in programme.rows])
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    model.a_matrix_.num_row_, model.a_matrix_.num_col_ = matrix.shape
    model.a_matrix_.start_ = np.searchsorted(columns, np.arange(matrix.shape[1] + 1))
    model.a_matrix_.index_, model.a_matrix_.value_ = rows, matrix[rows, columns]
    if programme.whole.any():
        kinds = highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger
        model.integrality_ = [kinds[whole] for whole in programme.whole.tolist()]
    return model
