"""The solver behind a limit case: published and enumerated programmes, bounds of what was left off, and its silence."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from assembly.errors import StoppedError
from assembly.limit_case.solver import Effort, Programme, Rows, solve
from assembly.study.driver import Run


def programme(cost, matrix, low, high, *, most=1.0, whole=True):
    """Return a programme in variables from 0 to `most`."""
    cost, matrix = np.array(cost, dtype=float), np.array(matrix, dtype=float)
    ends = (np.broadcast_to(np.array(each, dtype=float), len(matrix)) for each in (low, high))
    size = len(cost)
    return Programme(
        cost=cost,
        rows=[Rows(matrix, *ends)],
        least=np.zeros(size),
        most=np.full(size, most),
        whole=np.full(size, whole),
    )


def hard(size: int = 24, rows: int = 3):
    """Return a knapsack of several rows whose search takes hundreds of nodes."""
    rng = np.random.default_rng(5)
    weights = rng.integers(50, 100, (rows, size))
    return programme(-weights.sum(axis=0) - rng.integers(0, 5, size), weights, -np.inf, weights.sum(axis=1) // 2)


def test_a_linear_programme_with_its_known_solution():
    """Maximise 3x + 5y, x <= 4, 2y <= 12, 3x + 2y <= 18: 36 at (2, 6). Source: Hillier & Lieberman (from memory)."""
    found = solve(programme([-3, -5], [[1, 0], [0, 2], [3, 2]], -np.inf, [4, 12, 18], most=np.inf, whole=False))
    assert (found.ended, found.cost) == ("solved", pytest.approx(-36))
    assert found.x == pytest.approx([2, 6])
    assert found.bound == pytest.approx(-36)


def test_what_has_no_end_or_no_answer_has_no_bound():
    """Without whole numbers, too: a cost that falls without end, and two numbers up to 1 that are to make 3."""
    assert solve(programme([-1, -1], [[1, -1]], 0, 0, most=np.inf, whole=False)).bound == -np.inf
    never = solve(programme([1, 1], [[1, 1]], 3, np.inf, whole=False))
    assert (never.ended, never.bound, never.whole_bound) == ("infeasible", -np.inf, None)


@pytest.mark.parametrize(("bound", "least"), [(3 + 5e-7, 3), (3 + 2e-6, 4), (2.5, 3), (-31 + 5e-7, -31), (0.0, 0)])
def test_a_bound_of_whole_costs_is_rounded_up_past_what_the_solver_lets_be_missed(bound, least):
    """The solver's rows and whole numbers may be missed by a millionth (HiGHS, mip_feasibility_tolerance)."""
    assert replace(solve(programme([1, 1], [[1, 1]], 1, np.inf)), bound=bound).whole_bound == least


def test_small_programmes_against_every_choice():
    """Twelve binaries in three rows: all 4,096 choices looked at."""
    rng = np.random.default_rng(2)
    every = np.array(list(itertools.product((0, 1), repeat=12)))
    for _ in range(20):
        cost, matrix = rng.integers(-9, 10, 12), rng.integers(-5, 10, (3, 12))
        allowed = every[((every @ matrix.T >= 3) & (every @ matrix.T <= 14)).all(axis=1)]
        found = solve(programme(cost, matrix, 3, 14))
        best = (allowed @ cost).min()
        assert found.ended == "solved"
        assert best <= found.cost <= best + 1e-3 * abs(best) + 1e-9
        assert found.bound <= best + 1e-9
        assert cost @ found.x == pytest.approx(found.cost)
        assert np.abs(found.x - np.round(found.x)).max() < 1e-6


def test_rows_given_in_parts_hold_together():
    one = programme([-1, -1], [[1, 0]], -np.inf, 0)
    both = Programme(
        cost=one.cost,
        rows=[*one.rows, Rows(np.array([[0.0, 1.0]]), np.array([-np.inf]), np.array([0.0]))],
        least=one.least,
        most=one.most,
        whole=one.whole,
    )
    assert (solve(one).cost, solve(both).cost) == (-1, 0)


def test_what_can_not_be_is_called_so():
    found = solve(programme([1, 1], [[1, 1]], 3, np.inf))
    assert (found.ended, found.x) == ("infeasible", None)


def test_a_search_left_off_bounds_what_it_did_not_find():
    best = solve(hard())
    assert (best.ended, best.nodes > 100) == ("solved", True)
    for nodes in (1, 10, 100):
        found = solve(hard(), nodes=nodes)
        assert (found.ended, found.nodes) == ("left off", nodes)
        assert -np.inf < found.bound <= best.cost
        assert found.x is None or found.cost >= best.bound


def test_the_same_nodes_find_the_same():
    first, second = (solve(hard(), nodes=50) for _ in range(2))
    assert (first.bound, first.cost, first.nodes) == (second.bound, second.cost, second.nodes)
    assert np.array_equal(first.x, second.x)


def test_a_search_that_is_stopped_tells_what_it_knows():
    """It is asked some hundred times on its way to the end; stopped, it asks but a few times more."""
    asked = []

    def stop_after(times):
        asked.clear()
        return lambda: len(asked) > times or asked.append(1)

    whole = solve(hard(), stop=stop_after(np.inf))
    assert (whole.ended, len(asked) > 100) == ("solved", True)
    found = solve(hard(), stop=stop_after(20))
    assert (found.ended, found.nodes < whole.nodes / 2) == ("left off", True)
    assert -np.inf < found.bound <= whole.cost
    assert solve(hard(), stop=lambda: True).bound == -np.inf


def test_effort_is_spent_in_nodes():
    effort = Effort(nodes=100)
    assert effort.spend(hard()).nodes == 100
    assert (effort.nodes, effort.left) == (0, False)
    effort = Effort(nodes=5)
    effort.spend(programme([1, 1], [[1, 1]], 3, np.inf))  # found infeasible without a node: a node's work all the same
    assert (effort.nodes, effort.left) == (4, True)


def test_effort_of_a_run_that_is_stopped_is_given_up():
    stop = []
    effort = Effort(nodes=5, run=Run(stop=lambda: bool(stop)))
    assert effort.left
    stop.append(1)
    with pytest.raises(StoppedError):
        effort.spend(hard())
    with pytest.raises(StoppedError):
        _ = effort.left
    assert effort.nodes == 5


def test_nothing_is_printed(capfd):
    solve(hard())
    solve(hard(), nodes=1)
    solve(programme([1, 1], [[1, 1]], 3, np.inf))
    assert capfd.readouterr() == ("", "")
