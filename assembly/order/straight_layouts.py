"""The best layout of one sheet that straight cuts can make, if of every kind there were as many pieces as one likes.

value : whole number that a piece counts for; the best layout has most value in all
grid  : the sizes that a part of the sheet need have along an axis: sums of pieces' sizes. Any part can be taken for the
        largest of them that it holds, as its pieces can be pushed together

The best of a part is one piece, or the best of two parts into which a cut parts it. Starting from single pieces, cuts
along one axis and along the other are tried in turn for all parts at once until nothing gets better, which is soon:
layouts are not nested deeply (Gilmore and Gomory 1965 for the recursion, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assembly.arrays import IntArray
    from assembly.order.wanted import Placed, Way

MOST_SUMS = 3_000
WORK = 20_000_000  # sums of two parts in one round over all of them; a grid that takes more is thinned


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Sizes along one axis, and of each the ways to cut it in two."""

    at: IntArray  # (n,) from 0 up, units
    halves: tuple[tuple[IntArray, IntArray], ...]  # of each size the places in `at` of a smaller part and of the rest

    def place(self, size: int) -> int:
        """Return the place of the largest size that `size` holds."""
        return int(np.searchsorted(self.at, size, side="right")) - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class BestLayouts:
    """Of every part of a sheet the most value that straight cuts get out of it: (sizes along x, sizes along y)."""

    along: Grid
    across: Grid
    pieces: tuple[tuple[Way, int, int], ...]  # with the places of its sizes
    values: tuple[int, ...]  # of each kind
    best: IntArray
    exact: bool  # no straight-cut layout has more value

    @property
    def most(self) -> int:
        """Return the most value of a whole sheet."""
        return int(self.best[-1, -1])


def sums(sizes: Iterable[int], room: int) -> IntArray | None:
    """Return every sum of sizes, each taken as often as one likes, up to `room`: sorted, 0 first; None if too many."""
    found = np.zeros(1, dtype=np.int64)
    for size in sorted(set(sizes), reverse=True):
        if len(found) > MOST_SUMS:
            return None
        found = np.unique(np.add.outer(size * np.arange(room // size + 1), found))
        found = found[found <= room]
    return found


def _thinned(sizes: Iterable[int], room: int) -> IntArray:
    """Return sums of one size alone, and what each leaves of the room."""
    alone = np.unique(np.concatenate([size * np.arange(room // size + 1) for size in set(sizes)]))
    return np.unique(np.concatenate([alone, room - alone]))


def _grid(at: IntArray) -> Grid:
    halves = []
    for size in at:
        smaller = np.arange(1, np.searchsorted(at, size // 2, side="right"))
        halves.append((smaller, np.searchsorted(at, size - at[smaller], side="right") - 1))
    return Grid(at=at, halves=tuple(halves))


@lru_cache(maxsize=4)
def best_layouts(ways: tuple[Way, ...], room: tuple[int, int], values: tuple[int, ...]) -> BestLayouts:
    """Return the best layouts of a sheet and of its parts; `values`: of each kind, 0 or more."""
    along, across, exact = grids(ways, room)
    pieces = tuple((way, along.place(way.along), across.place(way.across)) for way in ways)
    best = np.zeros((len(along.at), len(across.at)), dtype=np.int64)
    for way, x, y in pieces:
        np.maximum(best[x:, y:], values[way.kind], out=best[x:, y:])
    _cut_up(best, along, across)
    return BestLayouts(along=along, across=across, pieces=pieces, values=values, best=best, exact=exact)


@lru_cache(maxsize=4)
def grids(ways: tuple[Way, ...], room: tuple[int, int]) -> tuple[Grid, Grid, bool]:
    """Return the grids of a sheet, and whether they are whole."""
    sides = [{way.along for way in ways}, {way.across for way in ways}]
    found = [sums(side, most) for side, most in zip(sides, room, strict=True)]
    whole = [each for each in found if each is not None]
    exact = len(whole) == 2 and _work(*whole) <= WORK
    if not exact:
        whole = [_thinned(side, most) for side, most in zip(sides, room, strict=True)]
    along, across = (_grid(each) for each in whole)
    return along, across, exact


def _work(along: IntArray, across: IntArray) -> int:
    return len(along) * len(across) * (len(along) + len(across)) // 4


def _cut_up(best: IntArray, along: Grid, across: Grid) -> None:
    """Try cuts along both axes until nothing gets better."""
    while True:
        before = best.copy()
        for rows, grid in ((best, along), (best.T, across)):
            for at, (smaller, rest) in enumerate(grid.halves):
                if len(smaller):
                    np.maximum(rows[at], (rows[smaller] + rows[rest]).max(axis=0), out=rows[at])
        if np.array_equal(before, best):
            return


def layout_of(layouts: BestLayouts, x: int, y: int) -> list[Placed]:
    """Return a layout of the best value of a part by the places of its sizes in the grids; -1 for the largest."""
    placed: list[Placed] = []
    left = [(range(layouts.best.shape[0])[x], range(layouts.best.shape[1])[y], 0, 0)]
    while left:
        x, y, at_x, at_y = left.pop()
        if not layouts.best[x, y]:
            continue
        piece = _alone(layouts, x, y)
        if piece is not None:
            placed.append((piece.kind, at_x, at_y, piece.turned))
        elif (at := _cut_at(layouts.best[:, y], x, layouts.along)) is not None:
            left += [(at[1], y, at_x + int(layouts.along.at[at[0]]), at_y), (at[0], y, at_x, at_y)]
        elif (at := _cut_at(layouts.best[x], y, layouts.across)) is not None:
            left += [(x, at[1], at_x, at_y + int(layouts.across.at[at[0]])), (x, at[0], at_x, at_y)]
    return placed


def smallest_part(layouts: BestLayouts, value: int) -> tuple[int, int]:
    """Return the places of the sizes of the smallest part, cut off the sheet along it or across, of so much value."""
    last_x, last_y = layouts.best.shape[0] - 1, layouts.best.shape[1] - 1
    x = int(np.searchsorted(layouts.best[:, -1], value))
    y = int(np.searchsorted(layouts.best[-1], value))
    of_length = layouts.along.at[x] * layouts.across.at[-1] <= layouts.along.at[-1] * layouts.across.at[y]
    return (x, last_y) if of_length else (last_x, y)


def _alone(layouts: BestLayouts, x: int, y: int) -> Way | None:
    """Return the way of one piece that is worth all of a part, if one is."""
    fits = (way for way, i, j in layouts.pieces if i <= x and j <= y)
    return next((way for way in fits if layouts.values[way.kind] == layouts.best[x, y]), None)


def _cut_at(best: IntArray, at: int, grid: Grid) -> tuple[int, int] | None:
    """Return the places of the two parts of a cut that loses no value, the smaller first; None without one."""
    smaller, rest = grid.halves[at]
    hits = np.flatnonzero(best[smaller] + best[rest] == best[at])
    return (int(smaller[hits[0]]), int(rest[hits[0]])) if len(hits) else None
