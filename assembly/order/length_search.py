"""The search for a plan of fewer lengths than were found at once, by a whole-number programme.

Where patterns are few, the programme says how often each is sawn, and its bound is better than any that single sizes
give. Where they are many, it asks whether all pieces go into as many lengths as the bound has, then into one more.
"""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING

import numpy as np

from assembly.limit_case.solver import Effort, Programme, Rows
from assembly.order.dual_feasible import whole
from assembly.order.patterns import maximal, patterns

if TYPE_CHECKING:
    from assembly.limit_case.solver import Solution
    from assembly.order.patterns import Pattern, Stock

LOOKED_AT = 20_000  # patterns; where there are more, they are not listed
LISTED = 3_000  # patterns that a programme takes in a moment


def searched(stock: Stock, *, bound: int, most: int, nodes: int) -> tuple[list[Pattern] | None, int]:
    """Return a plan of under `most` lengths, if one is found, and what bound is known then.

    Parameters
    ----------
    stock : Stock
        What is wanted.
    bound, most : int
        No fewer lengths can do; so many are enough.
    nodes : int
        Of the search, at the most.
    """
    effort, listed = Effort(nodes=nodes), _listed(stock)
    if listed is not None:
        return _by_patterns(stock, listed, bound, effort)
    for lengths in range(bound, most):
        if not effort.left:
            break
        found = effort.spend(_assignment(stock, lengths))
        if plan := _plan_of(stock, found, lengths):
            return plan, bound
        bound += found.ended == "infeasible" and bound == lengths
    return None, bound


def _listed(stock: Stock) -> list[Pattern] | None:
    """Return every pattern beside which nothing goes in, or None where they are too many."""
    looked_at = list(islice(patterns(stock), LOOKED_AT + 1))
    if len(looked_at) > LOOKED_AT:
        return None
    found = [pattern for pattern in looked_at if maximal(stock, pattern)]
    return found if len(found) <= LISTED else None


def _by_patterns(stock: Stock, listed: list[Pattern], bound: int, effort: Effort) -> tuple[list[Pattern] | None, int]:
    """Return the plan that takes the fewest lengths by these patterns, if one is found, and a bound."""
    matrix = np.array(listed, dtype=float).T
    ones, inf = np.ones(len(listed)), np.inf
    wanted = np.array(stock.counts, dtype=float)
    found = effort.spend(
        Programme(
            cost=ones,
            rows=[
                Rows(matrix, wanted, np.full(len(wanted), inf)),
                Rows(ones[None, :], np.array([bound], dtype=float), np.array([inf])),
            ],
            least=0 * ones,
            most=ones * wanted.max(),
            whole=ones > 0,
        )
    )
    bound = max(bound, whole(found.bound)) if np.isfinite(found.bound) else bound
    if found.x is None:
        return None, bound
    return _without_surplus(
        stock, [p for p, n in zip(listed, np.rint(found.x), strict=True) for _ in range(int(n))]
    ), bound


def _without_surplus(stock: Stock, plan: list[Pattern]) -> list[Pattern]:
    """Return a plan without the pieces that nobody wants; the last lengths lose them, for a longer offcut there."""
    kept = []
    for pattern in sorted(plan, key=stock.offcut):
        sawn = tuple(min(n, wanted) for n, wanted in zip(pattern, stock.counts, strict=True))
        stock = stock.without(sawn)
        kept.append(sawn)
    return [each for each in kept if any(each)]


def _assignment(stock: Stock, lengths: int) -> Programme:
    """Return the programme that puts all pieces into so many lengths: how many of each kind into each, by kind."""
    kinds, sizes = len(stock.sizes), np.array(stock.sizes) / stock.room
    of_kind = np.repeat(np.eye(kinds), lengths, axis=1)
    of_length = np.hstack([np.eye(lengths) * size for size in sizes])
    wanted = np.array(stock.counts, dtype=float)
    return Programme(
        cost=np.zeros(kinds * lengths),
        rows=[
            Rows(of_kind, wanted, wanted),
            Rows(of_length, np.full(lengths, -np.inf), np.ones(lengths)),
        ],
        least=np.zeros(kinds * lengths),
        most=np.repeat(np.minimum(wanted, 1 / sizes), lengths),
        whole=np.ones(kinds * lengths, dtype=bool),
    )


def _plan_of(stock: Stock, found: Solution, lengths: int) -> list[Pattern] | None:
    """Return the plan that a programme found, if it did and every length holds its pieces to the unit."""
    if found.x is None:
        return None
    taken = np.rint(found.x).astype(int).reshape(-1, lengths).T
    plan = [tuple(map(int, each)) for each in taken if any(each)]
    return plan if all(stock.offcut(each) >= 0 for each in plan) else None
