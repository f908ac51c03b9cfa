"""The exact search for a few pieces: whether all go onto so many sheets at all, however they lie.

level : what is filled so far reaches so high there: x, width, height
notch : the lowest level, the leftmost of these; what lies beside it is higher
waste : area of the sheets that stays empty

Pushed together towards a corner, the leftmost of the pieces that stand in a notch touches its left side; where none
stands in it, all of it is waste up to the lower of its sides. So at each notch every piece is tried in every way, then
waste, as long as there is no more of it than the sheets have beyond the pieces. A search that comes to its end proves
that no plan has so few sheets.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from assembly.order.wanted import Placed, Plan, Wanted, Way

Levels: TypeAlias = tuple[tuple[int, int, int], ...]
Lead: TypeAlias = tuple[int, int]


def filled(wanted: Wanted, sheets: int, *, nodes: int) -> tuple[Plan | None, bool]:
    """Return a plan of so many sheets, if one is found, and whether it is proved that there is none.

    Pieces are tried in several orders, `nodes` notches each: in one of them a plan is mostly found soon.
    """
    pieces = sum(n * area for n, area in zip(wanted.counts, wanted.areas, strict=True))
    for ways, room, across in _orders(wanted):
        search = _Search(ways=ways, room=room, left=list(wanted.counts), sheets=sheets, nodes=nodes)
        if search.fill(((0, room[0], 0),), sheets * room[0] * room[1] - pieces, search.lead):
            return _upright(search.plan, across=across), False
        if search.nodes:
            return None, True
    return None, False


def _orders(wanted: Wanted) -> Iterator[tuple[list[Way], tuple[int, int], bool]]:
    """Yield the ways in several orders, and the room, of sheets that are filled along their width or their length."""
    by: tuple[Callable[[Way], tuple[float, ...]], ...] = (
        lambda way: (-way.along * way.across, -way.along),
        lambda way: (-way.across, way.along),
        lambda way: (-max(way.along, way.across) / min(way.along, way.across), -way.along),
        lambda way: (-max(way.along, way.across), -way.along),
    )
    for order in by:
        for across in (False, True):
            ways = [way._replace(along=way.across, across=way.along) if across else way for way in wanted.ways]
            yield sorted(ways, key=order), wanted.room[::-1] if across else wanted.room, across


def _upright(plan: Plan, *, across: bool) -> Plan:
    """Return a plan with x along the sheet again where it was searched for across, without empty sheets."""
    turned = [[(kind, y, x, turn) for kind, x, y, turn in sheet] for sheet in plan] if across else plan
    return [sheet for sheet in turned if sheet]


@dataclass(slots=True, kw_only=True)
class _Search:
    """A search that goes on until all is placed, nothing is left to try, or `nodes` are spent."""

    ways: list[Way]
    room: tuple[int, int]
    left: list[int]  # of each kind, how many are not placed
    sheets: int
    nodes: int
    plan: list[list[Placed]] = field(default_factory=lambda: [[]])

    @property
    def lead(self) -> Lead:
        """The first kind that is left and how many: sheets are alike, so one of it is on the next."""
        return next(((way.kind, self.left[way.kind]) for way in self.ways if self.left[way.kind]), (0, 0))

    def fill(self, levels: Levels, waste: int, lead: Lead) -> bool:
        """Return whether all that is left goes onto the sheets, the last of which is filled up to some levels."""
        if not any(self.left):
            return True
        if not self.nodes:
            return False
        self.nodes -= 1
        notch = min(range(len(levels)), key=lambda i: levels[i][2])
        x, width, low = levels[notch]
        if low == self.room[1]:
            return self._goes_on(waste, lead)
        for way in self.ways:
            if self.left[way.kind] and way.along <= width and low + way.across <= self.room[1]:
                self.left[way.kind] -= 1
                self.plan[-1].append((way.kind, x, low, way.turned))
                if self.fill(_raised(levels, notch, way.along, low + way.across), waste, lead):
                    return True
                self.plan[-1].pop()
                self.left[way.kind] += 1
        top = min([self.room[1], *(level[2] for level in (*levels[:notch][-1:], *levels[notch + 1 :][:1]))])
        lost = width * (top - low)
        return lost <= waste and self.fill(_raised(levels, notch, width, top), waste - lost, lead)

    def _goes_on(self, waste: int, lead: Lead) -> bool:
        """Return whether what is left goes onto further sheets, if this one has a piece of the kind that leads."""
        if len(self.plan) == self.sheets or self.left[lead[0]] == lead[1]:
            return False
        self.plan.append([])
        if self.fill(((0, self.room[0], 0),), waste, self.lead):
            return True
        self.plan.pop()
        return False


def _raised(levels: Levels, notch: int, width: int, top: int) -> Levels:
    """Return the levels with the left end of the notch raised; levels of one height beside each other become one."""
    x, whole, low = levels[notch]
    between = [(x, width, top), (x + width, whole - width, low)] if width < whole else [(x, width, top)]
    before, after = levels[:notch], levels[notch + 1 :]
    if before and before[-1][2] == top:
        between[0] = (before[-1][0], before[-1][1] + width, top)
        before = before[:-1]
    if after and after[0][2] == between[-1][2]:
        between[-1] = (between[-1][0], between[-1][1] + after[0][1], after[0][2])
        after = after[1:]
    return (*before, *between, *after)
