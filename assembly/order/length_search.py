"""The search for a plan of fewer lengths than were found at once.

Where patterns are few, a whole-number programme says how often each is sawn, and its bound is better than any that
sizes give one by one. Where they are many, lengths are sawn one after the other, each with a longest piece that is
left, the fullest pattern first, as long as no more is wasted than the bound leaves.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import islice, takewhile
from operator import itemgetter
from typing import TYPE_CHECKING

import numpy as np

from assembly.limit_case.solver import Programme, Rows, solve
from assembly.order.patterns import maximal, patterns

if TYPE_CHECKING:
    from assembly.order.patterns import Pattern, Stock

LOOKED_AT = 20_000  # patterns; where there are more, they are not listed
DEEP = 200  # lengths that are sawn one after the other; for more of them the first plan stands
AT_ONCE = 3_000  # patterns looked at for one length
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
    listed = _listed(stock)
    if listed is not None:
        return _by_patterns(stock, listed, bound, nodes)
    for lengths in range(bound, min(most, DEEP)):
        search = _Completion(nodes=nodes)
        if search.saw(stock, lengths * stock.room - stock.total):
            return search.plan, bound
        if not search.complete:
            break
        bound = lengths + 1
    return None, bound


def _listed(stock: Stock) -> list[Pattern] | None:
    """Return every pattern beside which nothing goes in, or None where they are too many."""
    looked_at = list(islice(patterns(stock), LOOKED_AT + 1))
    if len(looked_at) > LOOKED_AT:
        return None
    found = [pattern for pattern in looked_at if maximal(stock, pattern)]
    return found if len(found) <= LISTED else None


def _by_patterns(stock: Stock, listed: list[Pattern], bound: int, nodes: int) -> tuple[list[Pattern] | None, int]:
    """Return the plan that takes the fewest lengths by these patterns, if one is found, and a bound."""
    matrix = np.array(listed, dtype=float).T
    ones, inf = np.ones(len(listed)), np.inf
    wanted = np.array(stock.counts, dtype=float)
    found = solve(
        Programme(
            cost=ones,
            rows=[
                Rows(matrix, wanted, np.full(len(wanted), inf)),
                Rows(ones[None, :], np.array([bound], dtype=float), np.array([inf])),
            ],
            least=0 * ones,
            most=ones * wanted.max(),
            whole=ones > 0,
        ),
        nodes=nodes,
    )
    bound = max(bound, found.whole_bound or 0)
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


@dataclass(slots=True, kw_only=True)
class _Completion:
    """The search for a plan of a number of lengths, one length after the other, until `nodes` are spent."""

    nodes: int
    complete: bool = True  # nothing was left out
    plan: list[Pattern] = field(default_factory=list)

    def saw(self, stock: Stock, waste: int) -> bool:
        """Return whether all that is wanted goes into lengths that leave so much waste together at the most."""
        if not any(stock.counts):
            return True
        for pattern in self._fullest(stock, waste):
            self.plan.append(pattern)
            if self.saw(stock.without(pattern), waste - stock.offcut(pattern)):
                return True
            self.plan.pop()
        return False

    def _fullest(self, stock: Stock, waste: int) -> list[Pattern]:
        """Return the patterns with a longest piece that leave no more waste than there may be, the fullest first."""
        longest = max((i for i, n in enumerate(stock.counts) if n), key=lambda i: stock.sizes[i])
        most = min(AT_ONCE, self.nodes)
        looked_at = list(islice(takewhile(itemgetter(longest), patterns(stock)), most + 1))
        self.nodes -= min(len(looked_at), self.nodes)
        self.complete &= len(looked_at) <= most
        fitting = [p for p in looked_at if stock.offcut(p) <= waste and maximal(stock, p)]
        return sorted(fitting, key=stock.offcut)
