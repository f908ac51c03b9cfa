"""Patterns: what can be sawn from one length, and plans that repeat a good one as often as they can."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from operator import neg
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterator

Pattern: TypeAlias = tuple[int, ...]  # how many pieces of each kind

TRIES = 20_000  # patterns looked at for the fullest one; beyond them the fullest so far is taken


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Pieces that are wanted, and the room of what they are sawn from; units, a kerf added to each."""

    sizes: tuple[int, ...]
    counts: tuple[int, ...]
    room: int

    @property
    def total(self) -> int:
        """Return what all pieces take."""
        return sum(n * size for n, size in zip(self.counts, self.sizes, strict=True))

    def offcut(self, pattern: Pattern) -> int:
        """Return what a pattern leaves of its length."""
        return self.room - sum(n * size for n, size in zip(pattern, self.sizes, strict=True))

    def without(self, pattern: Pattern, times: int = 1) -> Stock:
        """Return what is still wanted once a pattern has been sawn."""
        left = tuple(max(n - times * taken, 0) for n, taken in zip(self.counts, pattern, strict=True))
        return replace(self, counts=left)


def patterns(stock: Stock) -> Iterator[Pattern]:
    """Yield every pattern of pieces that are wanted, those with most of the longest first; the empty one last.

    A pattern has no more pieces of a kind than are wanted, and every one comes once.
    """
    order = sorted((i for i, n in enumerate(stock.counts) if n), key=lambda i: -stock.sizes[i])
    sizes = [stock.sizes[kind] for kind in order]
    taken = [0] * len(stock.sizes)

    def below(at: int, room: int) -> Iterator[Pattern]:
        for i in range(bisect_left(sizes, -room, lo=at, key=neg), len(order)):
            for n in range(min(stock.counts[order[i]], room // sizes[i]), 0, -1):
                taken[order[i]] = n
                yield from below(i + 1, room - n * sizes[i])
            taken[order[i]] = 0
        yield tuple(taken)

    return below(0, stock.room)


def maximal(stock: Stock, pattern: Pattern) -> bool:
    """Tell whether no piece that is wanted goes in beside a pattern."""
    left = stock.offcut(pattern)
    return all(
        size > left or taken == wanted for size, taken, wanted in zip(stock.sizes, pattern, stock.counts, strict=True)
    )


def _fullest(stock: Stock) -> Pattern:
    """Return the pattern that leaves least, of those with a longest piece, among the first that are looked at."""
    best: Pattern = ()
    least = stock.room
    longest = max((i for i, n in enumerate(stock.counts) if n), key=lambda i: stock.sizes[i])
    for looked_at, pattern in enumerate(patterns(stock)):
        if not pattern[longest] or looked_at == TRIES:
            break
        if (left := stock.offcut(pattern)) < least:
            best, least = pattern, left
        if not left:
            break
    return best


def filled(stock: Stock) -> list[Pattern]:
    """Return the plan that saws the fullest pattern with a longest piece as often as it is wanted, then the next."""
    plan: list[Pattern] = []
    while any(stock.counts):
        pattern = _fullest(stock)
        times = min(n // taken for n, taken in zip(stock.counts, pattern, strict=True) if taken)
        plan += [pattern] * times
        stock = stock.without(pattern, times)
    return plan
