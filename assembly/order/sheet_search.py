"""The search for a plan of few sheets: from what is found at once to what takes longer, until one reaches the bound.

First the fullest straight-cut layout is repeated as often as it is wanted, then the fullest of what is left: such plans
are easy to saw and mostly the best. Only where one misses the bound are pinwheels, a better bound, rectpack, an exact
search and a choice among all layouts tried, in the order at the end of this module. Among plans of as few sheets the
first is kept.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from assembly.order.filling import filled
from assembly.order.layouts import Box
from assembly.order.packing import fills, packings
from assembly.order.pinwheels import best_pinwheel
from assembly.order.sheet_bounds import by_bars, by_shares, needed_room
from assembly.order.straight_cuts import parted
from assembly.order.straight_layouts import best_layouts, layout_of, smallest_part

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.order.straight_layouts import BestLayouts
    from assembly.order.wanted import Placed, Plan, Wanted


MOST_FILLED = 30  # pieces that the exact search is asked for


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is known on the way: plans, the best bound, and how many nodes an exact search may take in each order."""

    wanted: Wanted
    plans: tuple[Plan, ...]
    bound: int
    nodes: int

    @property
    def best(self) -> Plan:
        """The first of the plans with the fewest sheets."""
        return min(self.plans, key=len)

    def adding(self, *plans: Plan, bound: int = 0) -> Known:
        """Return what is known with plans and a bound more."""
        return replace(self, plans=(*self.plans, *plans), bound=max(self.bound, bound))


def searched(wanted: Wanted, *, nodes: int) -> tuple[Plan, int]:
    """Return the plan of the fewest sheets that is found, and a number of sheets that no plan can do with fewer of."""
    bound = by_shares(needed_room(wanted))
    known = Known(wanted=wanted, plans=(_repeated(wanted),), bound=bound, nodes=nodes)
    for step in _STRAIGHT_STEPS if wanted.straight else _FREE_STEPS:
        if len(known.best) <= known.bound:
            break
        known = step(known)
    return known.best, known.bound


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


def _with_pinwheels(known: Known) -> Known:
    return known.adding(_repeated(known.wanted, pinwheels=True))


def _packed(known: Known) -> Known:
    return known.adding(*packings(known.wanted))


def _held_to_bars(known: Known) -> Known:
    return known.adding(bound=by_bars(needed_room(known.wanted)))


def _held_to_straight_cuts(known: Known) -> Known:
    """Add the bounds of the most area and of the most pieces that straight cuts get out of a sheet."""
    wanted = known.wanted
    for values in (wanted.areas, (1,) * len(wanted.sizes)):
        layouts = best_layouts(wanted.ways, wanted.room, values)
        total = sum(n * value for n, value in zip(wanted.counts, values, strict=True))
        known = known.adding(bound=-(-total // layouts.most)) if layouts.exact else known
    return known


def _covered(known: Known) -> Known:
    from assembly.order.covering import covered  # noqa: PLC0415 - only where no plan is proved

    plan, bound = covered(known.wanted, (sheet for plan in known.plans for sheet in plan))
    return known.adding(*([plan] if plan else []), bound=bound)


def _filled(known: Known) -> Known:
    """Add what the exact search finds for few pieces: a plan, or that there is none of so few sheets."""
    if sum(known.wanted.counts) > MOST_FILLED:
        return known
    for sheets in range(known.bound, len(known.best)):
        plan, none = filled(known.wanted, sheets, nodes=known.nodes)
        if plan and (not known.wanted.straight or all(_straight(known.wanted, sheet) for sheet in plan)):
            return known.adding(plan)
        if not none:
            break
        known = known.adding(bound=sheets + 1)
    return known


def _straight(wanted: Wanted, sheet: Sequence[Placed]) -> bool:
    """Tell whether straight cuts make a layout."""
    lying = {(way.kind, way.turned): way for way in wanted.ways}
    ways = [(x, y, lying[kind, turned]) for kind, x, y, turned in sheet]
    boxes = [Box(x, y, x + way.along, y + way.across) for x, y, way in ways]
    return parted(Box(0, 0, *wanted.room), boxes, 0) is not None


_STRAIGHT_STEPS = (_held_to_straight_cuts, _packed, _covered, _filled)
_FREE_STEPS = (_with_pinwheels, _held_to_bars, _packed, _filled, _covered)
