"""Which sets of changes the answer names: those worth their price, the fewest changes first, and the one to take.

row    : a set that is surely ahead of every row that is no dearer, and by so much that it matters to a class; of the
         set with the most good boxes half as much will do, so that nothing is left out that is half a box better.
         Where a set that is no row is no dearer and about as good or better, that one is the row in its stead
to take: of the fewest changes that reach the cheapest, minutes counted as money; one that may well not reach only
         where none of so few changes surely does
tie    : two rows whose good boxes the boxes made can't tell apart
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.advice.search import no_dearer
from assembly.changes.change import combined

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.advice.search import ChangeSet
    from assembly.advice.set_results import SetResult
    from assembly.changes.change import Change
    from assembly.study.intervals import Estimate

LISTED = 8  # rows at the most
WORTH_A_ROW = 0.02  # share of boxes by which a row is ahead of those that are no dearer: half a box of a class

WORTH_THE_TOP = 0.01  # the same of the set with the most good boxes


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One set of changes that is worth its price; or none, as things are."""

    changes: tuple[Change, ...]
    share: Estimate  # of boxes that keep every limit
    gained: Estimate  # share of boxes more than as things are, paired
    money: float  # a maker
    minutes: float
    reaches: bool  # whether the share reaches what is asked for; the estimate itself decides, as in a check
    close: bool  # whether more boxes could decide otherwise
    worst: str | None  # the outcome whose limit then fails most
    worst_kept: Estimate | None
    ties: tuple[int, ...]  # rows, by their place in the list, with which it ties

    @property
    def change(self) -> Change:
        """All of its changes as one."""
        return combined(*self.changes)


def order(one: ChangeSet, minute: float) -> tuple[float, ...]:
    """Return what decides which of two sets comes first, `minute` being what a minute counts for in money.

    A set that is no dearer never comes later.
    """
    price = one.price
    return price.changes, price.money + minute * price.minutes, price.money, price.minutes


def listed(
    now: SetResult, sets: Sequence[SetResult], *, reach: float, minute: float
) -> tuple[list[SetResult], SetResult | None]:
    """Return the sets of the answer, and the one to take: none where it is reached already, or nothing helps."""
    ordered = sorted(sets, key=lambda each: (*order(each.set, minute), -each.share.value))
    ahead = [now]
    for each in ordered:
        if all(_ahead(each, other, WORTH_A_ROW) for other in _rivals(each, ahead)):
            taken = matched(each, ordered) or each
            ahead += [] if taken in ahead else [taken]
    top = _top(ordered, ahead)
    best = _to_take(now, ordered, [*ahead[1:], *([] if top is None else [top])], reach)
    kept = [each for each in (best, top) if each is not None]
    rows = [each for each in ordered if each in ahead or each in kept]
    while len(rows) > LISTED:
        rows.remove(min((each for each in rows if each not in kept), key=lambda each: _lead(each, [now, *rows])))
    return rows, best


def matched(one: SetResult, among: Sequence[SetResult]) -> SetResult | None:
    """Return the best of the sets that are no dearer than one, where it is about as good or better; else None."""
    rival = max(_rivals(one, among), key=lambda each: each.share.value, default=None)
    return None if rival is None or _ahead(one, rival, WORTH_THE_TOP) else rival


def _top(ordered: Sequence[SetResult], ahead: Sequence[SetResult]) -> SetResult | None:
    """Return the set with the most good boxes; None where one that is no dearer has as good as as many."""
    top = max(ordered, key=lambda each: each.share.value, default=None)
    if top is None or not all(_ahead(top, other, WORTH_THE_TOP) for other in _rivals(top, ahead)):
        return None
    return top


def _to_take(
    now: SetResult, ordered: Sequence[SetResult], worth: Sequence[SetResult], reach: float
) -> SetResult | None:
    if now.share.value >= reach:
        return None
    enough = [each for each in ordered if each.share.value >= reach]
    if not enough:
        return max(worth, key=lambda each: each.share.value, default=None)
    few = [each for each in enough if each.set.price.changes == enough[0].set.price.changes]
    return next((each for each in few if each.share.low >= reach), few[0])


def _rivals(one: SetResult, among: Sequence[SetResult]) -> list[SetResult]:
    """Return those that are no dearer than one."""
    cheaper = no_dearer([each.set.price for each in among], [one.set.price])[0].tolist()
    return [each for each, no_more in zip(among, cheaper, strict=True) if no_more and each is not one]


def _ahead(one: SetResult, other: SetResult, by: float) -> bool:
    gained = one.over(other)
    return gained.low > 0 and gained.value >= by


def _lead(one: SetResult, among: Sequence[SetResult]) -> float:
    return one.share.value - max(each.share.value for each in _rivals(one, among))


def row_of(one: SetResult, now: SetResult, among: Sequence[SetResult], reach: float) -> Row:
    """Return the row of a set; ties are places in `among`."""
    share, worst = one.share, one.worst
    return Row(
        changes=one.set.changes,
        share=share,
        gained=one.over(now),
        money=one.set.price.money,
        minutes=one.set.price.minutes,
        reaches=share.value >= reach,
        close=share.low < reach < share.high,
        worst=worst,
        worst_kept=None if worst is None else one.keeping(worst),
        ties=tuple(at for at, each in enumerate(among) if each is not one and _tied(one, each)),
    )


def _tied(one: SetResult, other: SetResult) -> bool:
    gained = one.over(other)
    return gained.low <= 0 <= gained.high
