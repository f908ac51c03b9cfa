"""Limits that too few boxes keep, whatever is changed: which they are, and by how much they are missed.

A limit is the teacher's to choose. So it is named, with what it would have to be, and is never loosened here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.advice.common_boxes import way_of
from assembly.advice.search import RUNGS
from assembly.made.limits import limit_ends
from assembly.model.design import Limit, Limits
from assembly.study.blocks import block_rows
from assembly.study.check import BoxModel
from assembly.study.intervals import wilson

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.advice.search import ChangeSet, Search
    from assembly.arrays import FloatArray
    from assembly.changes.change import Change
    from assembly.study.intervals import Estimate

SURELY_MORE = 0.005  # share of boxes that one change more must bring, or the limit counts as moved no further


@dataclass(frozen=True, slots=True, kw_only=True)
class InTheWay:
    """A limit that no changes tried bring enough boxes to keep."""

    name: str  # of its outcome
    limit: Limit
    changes: tuple[Change, ...]  # those that do the most for this limit alone
    kept: Estimate  # of boxes, with them
    needed: Limit  # what it would have to be, so that with them the share asked for keeps it
    by: float  # how much wider that is, in the outcome's unit


def limits_in_the_way(
    search: Search, names: Sequence[str], *, reach: float, at_most: int, seed: int
) -> tuple[InTheWay, ...]:
    """Return those of some limits that less than `reach` of the boxes keep, whatever `at_most` changes are made."""
    found = (_in_the_way(search, name, reach=reach, at_most=at_most, seed=seed) for name in names)
    return tuple(each for each in found if each is not None)


def _in_the_way(search: Search, name: str, *, reach: float, at_most: int, seed: int) -> InTheWay | None:
    best, share = _most_kept(search, name, at_most)
    if share >= reach:
        return None
    limit = getattr(search.design.limits, name)
    model = BoxModel(best.design, best.workshop)
    rows = block_rows(model, seed=seed, block=0)
    kept = rows[model.rows.index(f"keeps {name}")]
    needed, by = wide_enough(limit, rows[model.rows.index(name)], reach)
    return InTheWay(
        name=name,
        limit=limit,
        changes=best.changes,
        kept=wilson(float(kept.sum()), kept.size),
        needed=needed,
        by=by,
    )


def _most_kept(search: Search, name: str, at_most: int) -> tuple[ChangeSet, float]:
    """Return the changes that most boxes keep one limit with, taken one by one, and the share that does."""
    limits = Limits(**{name: getattr(search.design.limits, name)})

    def shares(sets: Sequence[ChangeSet]) -> FloatArray:
        ways = [way_of(each.design.model_copy(update={"limits": limits}), each.workshop) for each in sets]
        return np.asarray(search.boxes.passes(ways, 0, RUNGS[-1])[0].mean(axis=1))

    best = search.none
    share = float(shares([best])[0])
    for _ in range(at_most):
        sets = search.with_one_more(best)
        if not sets:
            break
        found = shares(sets)
        at = int(found.argmax())
        if found[at] < share + SURELY_MORE:
            break
        best, share = sets[at], float(found[at])
    return best, share


def wide_enough(limit: Limit, value: FloatArray, reach: float) -> tuple[Limit, float]:
    """Return the limit that a share `reach` of values, (boxes,), keeps, and how much wider it is.

    A limit on both sides is widened on both alike.
    """
    least, most = limit_ends(limit)
    if np.isinf(least):
        wide = float(np.quantile(value, reach))
        return Limit(max=wide), wide - most
    if np.isinf(most):
        wide = float(np.quantile(value, 1 - reach))
        return Limit(min=wide), least - wide
    middle, half = (least + most) / 2, (most - least) / 2
    wide = float(np.quantile(np.abs(value - middle), reach))
    return (Limit(within=wide) if limit.within == half else Limit(min=middle - wide, max=middle + wide)), wide - half
