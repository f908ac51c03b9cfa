"""Rectangles that are wanted of one kind of sheet, in units, and how each may lie.

placed : a rectangle on a sheet: kind, x, y from the corner of the trimmed sheet, and whether it is turned
plan   : of each sheet what is placed on it
way    : one of at most two ways in which a kind may lie
room   : length and width of the trimmed sheet, a kerf added to each as it is to every rectangle
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterable

Placed: TypeAlias = tuple[int, int, int, bool]
Plan: TypeAlias = list[list[Placed]]


class Way(NamedTuple):
    """How a kind may lie: its size along the sheet and across it, a kerf added to each."""

    kind: int
    along: int
    across: int
    turned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Rectangles that are wanted, and the room of a sheet; units, a kerf added to every length and width."""

    sizes: tuple[tuple[int, int], ...]
    counts: tuple[int, ...]
    room: tuple[int, int]
    straight: bool  # only layouts that straight cuts can make
    turn: bool

    @property
    def ways(self) -> tuple[Way, ...]:
        """How each kind that is wanted may lie on the sheet; a square has one way."""
        both = [Way(kind, *size, turned=False) for kind, size in enumerate(self.sizes)]
        if self.turn:
            both += [Way(kind, y, x, turned=True) for kind, (x, y) in enumerate(self.sizes) if x != y]
        fits = (way for way in both if way.along <= self.room[0] and way.across <= self.room[1])
        return tuple(way for way in fits if self.counts[way.kind])

    @property
    def areas(self) -> tuple[int, ...]:
        """Area of each kind."""
        return tuple(x * y for x, y in self.sizes)

    def times(self, sheet: Iterable[Placed]) -> int:
        """Return how often a layout can be sawn before one of its pieces is no longer wanted."""
        sawn = Counter(kind for kind, *_ in sheet)
        return min((self.counts[kind] // n for kind, n in sawn.items()), default=0)

    def area_of(self, sheet: Iterable[Placed]) -> int:
        """Return the area of the pieces of a layout."""
        return sum(self.areas[kind] for kind, *_ in sheet)

    def without(self, sheet: Iterable[Placed], times: int = 1) -> Wanted:
        """Return what is still wanted once a layout has been sawn so often."""
        sawn = Counter(kind for kind, *_ in sheet)
        return replace(self, counts=tuple(max(n - times * sawn[kind], 0) for kind, n in enumerate(self.counts)))

    def of_it(self, sheet: Iterable[Placed]) -> list[Placed]:
        """Return a layout without the pieces that nobody wants, the last of them left out."""
        left = list(self.counts)
        kept = []
        for piece in sheet:
            if left[piece[0]]:
                left[piece[0]] -= 1
                kept.append(piece)
        return kept
