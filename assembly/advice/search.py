"""The search over sets of changes: a first look at few boxes, more boxes for those sets that are still promising.

set       : changes that are taken together, at most one of a group
price     : money, minutes and number of changes; a set is no dearer than another where none of the three is more
shortfall : by how much the best set that is no dearer is ahead, as a share of boxes; below 0 where a set is ahead of
            all of them. The sets of least shortfall are those that are worth their price

Sets grow: all pairs of single changes, then each promising set with one change more. All meet the same boxes, so that
what two sets have in common falls out of their order. No answer is taken from the boxes of the search: what looked best
by chance is found out later.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from assembly.advice.candidates import SECTION_GROUPS, price_of, together
from assembly.advice.common_boxes import way_of
from assembly.changes.apply import apply
from assembly.changes.change import combined
from assembly.errors import ConfigError
from assembly.study.check import WARNED_BEYOND
from assembly.study.intervals import wilson

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.advice.candidates import Candidate, Price
    from assembly.advice.common_boxes import CommonBoxes, Way
    from assembly.arrays import BoolArray, FloatArray, IntArray
    from assembly.changes.change import Change
    from assembly.files.settings import File
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop

    Changes = tuple[Change, ...]

RUNGS = (250, 500, 1_000, 2_000)  # boxes after which sets are ranked, and most of them left out
PASSED_ON = 1 / 3  # share of the sets that get to the next rung
LEAST = 30  # sets that always do
ALTERNATIVES = 6  # of a group that has many, those that sets are built of
SEARCHED = 1_000_000  # the block of random numbers that a search goes by: no study reaches it
SAME = 1e-9  # prices nearer than this are one


@dataclass(frozen=True, slots=True, eq=False)
class ChangeSet:
    """Changes taken together: the design and workshop that come of them, and what they cost a maker."""

    members: tuple[Candidate, ...]
    design: Design
    workshop: Workshop
    way: Way
    price: Price

    @property
    def changes(self) -> Changes:
        """The changes, in the order of the candidates."""
        return tuple(each.change for each in self.members)

    @property
    def of_section(self) -> bool:
        """Whether it changes the section, which `lapwright section` judges."""
        return any(each.group in SECTION_GROUPS for each in self.members)


@dataclass(slots=True)
class Search:
    """A search among the candidates for a design and its workshop."""

    design: Design
    workshop: Workshop
    candidates: Sequence[Candidate]
    boxes: CommonBoxes
    possible: Callable[[Design], bool]  # whether a section is worth building sets of: it is not sure to be unsound
    progress: Callable[[float], None]  # takes the share of the work that is done
    tried: int = field(default=0, init=False)  # sets that were looked at
    none: ChangeSet = field(init=False)  # without any change
    _singles: list[ChangeSet] = field(init=False)
    _beside: dict[Candidate, list[Candidate]] = field(init=False)
    _designs: dict[Changes, Design | None] = field(default_factory=dict, init=False)
    _workshops: dict[Changes, Workshop | None] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        """Choose the single changes that sets are built of."""
        none = self.made(())
        assert none is not None
        self.none = none
        self._singles = self._worth_building_of()
        members = [each.members[0] for each in self._singles]
        self._beside = {one: [other for other in members if together(one, other)] for one in members}

    def promising(self, at_most: int) -> list[ChangeSet]:
        """Return the sets that are worth a closer look: first the one without any change, then up to `at_most`."""
        found, grown = [self.none], self._singles
        for number in range(1, at_most + 1):
            last = self._halved(grown, found)
            found = found + last
            self.progress(number / at_most)
            grown = self._grown(self._singles if number == 1 else last) if number < at_most else []
        return found

    def shares(self, sets: Sequence[ChangeSet]) -> FloatArray:
        """Return the share of good boxes among all of the search's: (sets,)."""
        starts = (0, *RUNGS[:-1])
        passed = [self._passed(sets, start, stop)[0] for start, stop in zip(starts, RUNGS, strict=True)]
        return np.asarray(np.sum(passed, axis=0) / RUNGS[-1])

    def with_one_more(self, one: ChangeSet) -> list[ChangeSet]:
        """Return every set that is one set and one change more."""
        return self._grown([one])

    def made(self, members: tuple[Candidate, ...]) -> ChangeSet | None:
        """Return the set of some candidates; None where design or workshop can't take them together."""
        changes = tuple(each.change for each in members)
        design, workshop = self._design_after(changes), self._workshop_after(changes)
        if design is None or workshop is None:
            return None
        return ChangeSet(members, design, workshop, way_of(design, workshop), price_of(changes))

    def _design_after(self, changes: Changes) -> Design | None:
        """Return the design after those of some changes that are about it; worked out once for all sets."""
        mine = _about("design", changes)
        if mine not in self._designs:
            self._designs[mine] = self._applied(mine)[0]
        return self._designs[mine]

    def _workshop_after(self, changes: Changes) -> Workshop | None:
        mine = _about("workshop", changes)
        if mine not in self._workshops:
            self._workshops[mine] = self._applied(mine)[1]
        return self._workshops[mine]

    def _applied(self, changes: Changes) -> tuple[Design, Workshop] | tuple[None, None]:
        try:
            return apply(combined(*changes), self.design, self.workshop)
        except ConfigError:  # such as thin walls with a deep lap, of which each alone leaves a tongue
            return None, None

    def _worth_building_of(self) -> list[ChangeSet]:
        """Return the single changes that sets are built of: of a group with many, those most worth their price."""
        every = [each for candidate in self.candidates if (each := self.made((candidate,))) is not None]
        boxes = RUNGS[0]
        ahead = -shortfalls([self.none, *every], self._passed([self.none, *every], 0, boxes)[0] / boxes)[1:]
        taken: dict[str, list[int]] = {}
        for at in np.argsort(-ahead, kind="stable").tolist():
            group = taken.setdefault(every[at].members[0].group, [])
            if len(group) < ALTERNATIVES and (not every[at].of_section or self.possible(every[at].design)):
                group.append(at)
        self.tried += len(every)
        return [every[at] for at in sorted(at for group in taken.values() for at in group)]

    def _grown(self, sets: Sequence[ChangeSet]) -> list[ChangeSet]:
        """Return every set that is one of `sets` and one change more."""
        order = {one: at for at, one in enumerate(self._beside)}
        members = {
            tuple(sorted((*each.members, more), key=order.__getitem__))
            for each in sets
            for more in self._beside
            if all(more in self._beside[one] for one in each.members)
        }
        ordered = sorted(members, key=lambda several: [order[one] for one in several])
        found = [each for several in ordered if (each := self.made(several)) is not None]
        self.tried += len(found)
        return found

    def _halved(self, sets: Sequence[ChangeSet], cheaper: Sequence[ChangeSet]) -> list[ChangeSet]:
        """Return those of `sets` that are still promising after all rungs, beside sets of fewer changes."""
        alive, counts, before, start = list(sets), np.zeros((2, len(sets))), np.zeros((2, len(cheaper))), 0
        for stop in RUNGS:
            counts, before = counts + self._passed(alive, start, stop), before + self._passed(cheaper, start, stop)
            beyond = before[1, 0] / stop  # of the first, without any change
            shares = np.concatenate([before[0], np.where(refused(counts[1], stop, beyond), 0.0, counts[0])]) / stop
            best = chosen([*cheaper, *alive], shares, max(LEAST, math.ceil(PASSED_ON * len(alive))))
            best = best[best >= len(cheaper)] - len(cheaper)
            alive, counts, start = [alive[at] for at in best.tolist()], counts[:, best], stop
        return alive

    def _passed(self, sets: Sequence[ChangeSet], start: int, stop: int) -> FloatArray:
        """Return how many of some boxes pass, and how many are beyond first order: (2, sets)."""
        passes = self.boxes.passes([each.way for each in sets], start, stop)
        return np.stack([rows.sum(axis=1).astype(float) for rows in passes])


def _about(file: File, changes: Changes) -> Changes:
    return tuple(each for each in changes if any(setting.file == file for setting in each.settings))


def refused(beyond: FloatArray, boxes: int, now: float) -> BoolArray:
    """Tell which sets surely have more boxes beyond first order than `check` lets pass without a word, and than now."""
    allowed = max(WARNED_BEYOND, now)
    return np.array([wilson(float(each), boxes).low > allowed for each in beyond], dtype=bool)


def no_dearer(prices: Sequence[Price], than: Sequence[Price]) -> BoolArray:
    """Tell which of some prices, the columns, are no higher than others, the rows, in any respect."""
    left, right = (np.array([[each.money, each.minutes, each.changes] for each in group]) for group in (than, prices))
    return np.asarray((right[None] <= left[:, None] + SAME).all(axis=2))


def shortfalls(sets: Sequence[ChangeSet], shares: FloatArray) -> FloatArray:
    """Return by how much the best set that is no dearer is ahead of each: (sets,); -inf where none is."""
    prices = [each.price for each in sets]
    beats = no_dearer(prices, prices)
    np.fill_diagonal(beats, val=False)
    return np.asarray(np.where(beats, shares[None], -np.inf).max(axis=1) - shares)


def chosen(sets: Sequence[ChangeSet], shares: FloatArray, number: int) -> IntArray:
    """Return the numbers of the sets most worth their price, and of those with the most good boxes, half and half."""
    worth, good = np.argsort(shortfalls(sets, shares), kind="stable"), np.argsort(-shares, kind="stable")
    half = worth[: (number + 1) // 2]
    return np.sort(np.concatenate([half, good[~np.isin(good, half)][: number - len(half)]]))
