"""A choice among layouts of a sheet by a whole-number programme, and new layouts where they are worth most.

price : of a kind, by how many sheets the best mixture of the layouts at hand grows with one piece more of it. A layout
        whose pieces have prices of over 1 together makes a better mixture; the best one is found by its value. No sheet
        has pieces of more than the most value v, so prices p of n pieces take Σ n p / v sheets at least (Farley 1990,
        from memory): a bound of straight-cut plans
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from assembly.limit_case.solver import Programme, Rows, solve
from assembly.order.pinwheels import best_pinwheel
from assembly.order.straight_layouts import best_layouts, layout_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from assembly.arrays import IntArray
    from assembly.order.wanted import Placed, Plan, Wanted

ROUNDS = 15  # layouts that are looked for
NODES = 300
SCALE = 1_000_000  # whole values of a price of 1: a mixture's price per sheet


def covered(wanted: Wanted, sheets: Iterable[list[Placed]]) -> tuple[Plan, int]:
    """Return the plan that takes the fewest of some layouts and of new ones, and a bound; 0 where no bound is known."""
    seen = {_counts(wanted, sheet): sheet for sheet in sheets}
    bound = 0
    for _ in range(ROUNDS):
        prices = np.maximum(solve(_mixture(wanted, seen, whole=False)).prices[: len(wanted.counts)], 0)
        values = tuple(int(each) for each in np.rint(prices * SCALE))
        layouts = best_layouts(wanted.ways, wanted.room, values)
        if wanted.straight and layouts.exact:
            total = sum(n * value for n, value in zip(wanted.counts, values, strict=True))
            bound = max(bound, -(-total // layouts.most))
        most, sheet = layouts.most, layout_of(layouts, -1, -1)
        if not wanted.straight:
            value, pinwheel = best_pinwheel(layouts)
            most, sheet = (value, pinwheel) if value > most else (most, sheet)
        if most <= SCALE * (1 + 1e-4) or _counts(wanted, sheet) in seen:
            break
        seen[_counts(wanted, sheet)] = sheet
    return _chosen(wanted, seen), bound


def _counts(wanted: Wanted, sheet: Iterable[Placed]) -> tuple[int, ...]:
    found = Counter(kind for kind, *_ in sheet)
    return tuple(found[kind] for kind in range(len(wanted.counts)))


def _mixture(wanted: Wanted, seen: Mapping[tuple[int, ...], object], *, whole: bool) -> Programme:
    """Return the programme that says how often each layout is sawn."""
    matrix = np.array(list(seen), dtype=float).T
    ones, counts = np.ones(len(seen)), np.array(wanted.counts, dtype=float)
    return Programme(
        cost=ones,
        rows=[Rows(matrix, counts, np.full(len(counts), np.inf))],
        least=0 * ones,
        most=ones * counts.max(),
        whole=ones > 0 if whole else ones < 0,
    )


def _chosen(wanted: Wanted, seen: dict[tuple[int, ...], list[Placed]]) -> Plan:
    """Return the plan of the fewest sheets by these layouts, without the pieces that nobody wants."""
    found = solve(_mixture(wanted, seen, whole=True), nodes=NODES)
    if found.x is None:
        return []
    plan = []
    times: IntArray = np.rint(found.x).astype(np.int64)
    for sheet, n in sorted(zip(seen.values(), times, strict=True), key=lambda each: -each[1]):
        for _ in range(n):
            if kept := wanted.of_it(sheet):
                plan.append(kept)
                wanted = wanted.without(kept)
    return plan
