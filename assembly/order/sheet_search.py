"""The search for a plan of few sheets: from what is found at once to what takes longer, until one reaches the bound.

First the fullest straight-cut layout is repeated as often as it is wanted, then the fullest of what is left: such plans
are easy to saw and mostly the best. Only where one misses the bound, pinwheels, rectpack, a better bound, and a choice
among all layouts seen and more are tried, in this order. Among plans of as few sheets the first is kept.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.order.packing import fills, packings
from assembly.order.pinwheels import best_pinwheel
from assembly.order.sheet_bounds import by_bars, by_shares, needed_room
from assembly.order.straight_layouts import best_layouts, layout_of, smallest_part

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.order.straight_layouts import BestLayouts
    from assembly.order.wanted import Placed, Plan, Wanted


def searched(wanted: Wanted) -> tuple[Plan, int]:
    """Return the plan of the fewest sheets that is found, and a number of sheets that no plan can do with fewer of."""
    bound, plans = by_shares(needed_room(wanted)), [_repeated(wanted)]
    for step in _STRAIGHT_STEPS if wanted.straight else _FREE_STEPS:
        if len(min(plans, key=len)) <= bound:
            break
        found, at_least = step(wanted, plans)
        plans, bound = [*plans, *found], max(bound, at_least)
    return min(plans, key=len), bound


def _repeated(wanted: Wanted, *, pinwheels: bool = False) -> Plan:
    """Return the plan that saws the fullest layout as often as it is wanted, then the fullest of what is left."""
    plan: Plan = []
    while any(wanted.counts):
        layouts = best_layouts(wanted.ways, wanted.room, wanted.areas)
        sheet = _fullest(layouts, pinwheels=pinwheels)
        if not (times := wanted.times(sheet)):
            sheet, times = _last(wanted, layouts, sheet), 1
        plan += [sheet] * times
        wanted = wanted.without(sheet, times)
    return plan


def _fullest(layouts: BestLayouts, *, pinwheels: bool) -> list[Placed]:
    """Return the layout of a sheet that has most value."""
    value, pinwheel = best_pinwheel(layouts) if pinwheels else (0, [])
    return pinwheel if value > layouts.most else layout_of(layouts, -1, -1)


def _last(wanted: Wanted, layouts: BestLayouts, full: list[Placed]) -> list[Placed]:
    """Return a layout with as much of what is wanted as a sheet holds, where `full` has more of a kind than that."""
    found = [wanted.of_it(full)]
    kinds = [kind for kind, n in enumerate(wanted.counts) if n]
    if len(kinds) > 1:
        found += fills(wanted)
    elif (value := wanted.counts[kinds[0]] * wanted.areas[kinds[0]]) <= layouts.most:
        found.insert(0, wanted.of_it(layout_of(layouts, *smallest_part(layouts, value))))
    return max(found, key=wanted.area_of)


def _with_pinwheels(wanted: Wanted, _plans: Sequence[Plan]) -> tuple[list[Plan], int]:
    return [_repeated(wanted, pinwheels=True)], 0


def _packed(wanted: Wanted, _plans: Sequence[Plan]) -> tuple[list[Plan], int]:
    return list(packings(wanted)), 0


def _held_to_bars(wanted: Wanted, _plans: Sequence[Plan]) -> tuple[list[Plan], int]:
    return [], by_bars(needed_room(wanted))


def _held_to_straight_cuts(wanted: Wanted, _plans: Sequence[Plan]) -> tuple[list[Plan], int]:
    """Return the bound of the most area that straight cuts get out of a sheet."""
    layouts = best_layouts(wanted.ways, wanted.room, wanted.areas)
    total = sum(n * area for n, area in zip(wanted.counts, wanted.areas, strict=True))
    return [], -(-total // layouts.most) if layouts.exact else 0


def _covered(wanted: Wanted, plans: Sequence[Plan]) -> tuple[list[Plan], int]:
    from assembly.order.covering import covered  # noqa: PLC0415 - only where no plan is proved

    plan, bound = covered(wanted, (sheet for plan in plans for sheet in plan))
    return [plan] if plan else [], bound


_STRAIGHT_STEPS = (_held_to_straight_cuts, _packed, _covered)
_FREE_STEPS = (_with_pinwheels, _packed, _held_to_bars, _covered)
