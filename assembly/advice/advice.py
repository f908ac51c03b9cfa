"""The fewest and cheapest changes with which a class reaches a share of good boxes, and what else could be bought.

reach      : the share of boxes that is to keep every limit
in the way : a limit that too few boxes keep, whatever is changed; it is named, and never loosened

Reading starts here: `advise` is the study that `lapwright advise` prints. What can be changed is in
`assembly.advice.candidates`, how sets are looked for in `search`, which of them are answered with in `rows`.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.advice.candidates import candidates
from assembly.advice.common_boxes import CommonBoxes
from assembly.advice.in_the_way import limits_in_the_way
from assembly.advice.rows import listed, matched, order, row_of
from assembly.advice.search import SEARCHED, Search, chosen, no_dearer, refused
from assembly.advice.set_results import results_of
from assembly.errors import InputError
from assembly.section.judging import Judge
from assembly.section.trials import Trials
from assembly.study.driver import UNWATCHED, Run

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.advice.candidates import Candidate, Supplies
    from assembly.advice.in_the_way import InTheWay
    from assembly.advice.rows import Row
    from assembly.advice.search import ChangeSet
    from assembly.advice.set_results import SetResult
    from assembly.model.design import Design, Timber
    from assembly.model.workshop import Workshop

FINALISTS = 16  # sets that are settled by many boxes
NEARLY = 0.02  # share of boxes: a set that the search's few boxes put so near to the reach may well reach it
ENOUGH = 4  # of those, the first that are settled too
CLOSER = 3  # times as many boxes, where the set to take is too close to call
GLANCED = 2_000  # boxes by which a section is judged before sets are built of it
JUDGED = 20_000  # boxes by which the sections of rows are judged, as many as `lapwright section` takes
MOST_CHANGES = 6
LEAST_BOXES = 1_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What can be done about a box and its making."""

    makers: int
    boxes: int
    seed: int
    reach: float
    now: Row  # without any change
    rows: tuple[Row, ...]  # fewest changes first, then the cheapest
    best: int | None  # the row to take; None where it is reached already, or nothing helps
    in_the_way: tuple[InTheWay, ...]  # where nothing reaches: limits that no changes bring enough boxes to keep
    tried: int  # sets of changes that were looked at
    partial: bool

    @property
    def reached(self) -> bool:
        """Whether the share is reached, with changes or without."""
        return self.now.reaches or any(row.reaches for row in self.rows)


def advise(
    design: Design,
    workshop: Workshop,
    supplies: Supplies,
    *,
    reach: float | None = None,
    at_most: int = 3,
    boxes: int = 20_000,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> Advice:
    """Return what would make enough boxes of a class come out good.

    Stopped, it tells what is known of the last few sets; before that nothing is known.

    Parameters
    ----------
    design, workshop : Design, Workshop
        The box and its making as they are.
    supplies : Supplies
        What changes cost a maker, and the thicknesses on sale.
    reach : float, optional
        Share of boxes that is to keep every limit; what the design requires if left out.
    at_most : int
        How many changes are taken together at the most.
    boxes, seed : int
        How many boxes the last few sets are settled by, three times as many where it is too close to call; and where
        the random numbers start.

    Raises
    ------
    InputError
        If the share, the number of changes, the boxes or the seed is none, or nothing can be changed.
    StoppedError
        If it is stopped before anything is known.
    """
    reach = _reach_of(design) if reach is None else reach
    _check(reach, at_most, boxes)
    judge = Judge(Trials(design, workshop, boxes=GLANCED, seed=seed, run=_part(run, 0, 0)), design)
    search = Search(
        design=design,
        workshop=workshop,
        candidates=_some(candidates(design, workshop, supplies)),
        boxes=CommonBoxes(seed=seed, block=SEARCHED, run=run),
        possible=lambda section: all(not reason.fails for reason in judge.closed(section)),
        progress=lambda share: run.report(round(40 * share), 100),
    )
    sets = _last_few(search, at_most, reach, supplies.costs.minute)
    sections = _Sections(design, workshop, seed)
    settling = _Settling(sections=sections, reach=reach, minute=supplies.costs.minute, seed=seed)
    last = settling.settled(sets, boxes, _part(run, 40, 70))
    if last.close and not last.partial:
        last = settling.settled(last.near, CLOSER * boxes, _part(run, 70, 100), last)
    return _answer_of(search, last, reach=reach, at_most=at_most, seed=seed)


def _part(run: Run, start: int, end: int) -> Run:
    """Return the run as a part of it hears of it: its progress goes from one percentage to another."""
    return replace(run, progress=lambda done, of: run.report(start + (end - start) * done // of, 100))


def _reach_of(design: Design) -> float:
    """Return the share of boxes that a design requires.

    Raises
    ------
    InputError
        If it is all of them.
    """
    if design.required_share < 1:
        return design.required_share
    msg = (
        "required_share: the design wants every box of every class to come out good, which can't be promised; ask for "
        "a share under 1 by --reach, such as --reach 0.95"
    )
    raise InputError(msg)


def _check(reach: float, at_most: int, boxes: int) -> None:
    """Refuse a share that nobody can promise or need, and numbers that are none."""
    msg = ""
    if not 0 < reach < 1:
        msg = f"reach: got {reach:g}, must be a share of boxes over 0 and under 1, such as 0.8 for 8 boxes in 10"
    elif not 1 <= at_most <= MOST_CHANGES:
        msg = f"--at-most: got {at_most}, must be 1 to {MOST_CHANGES} changes taken together"
    elif boxes < LEAST_BOXES:
        msg = f"boxes: got {boxes}, must be {LEAST_BOXES} or more to tell sets of changes apart"
    if msg:
        raise InputError(msg)


def _some(found: list[Candidate]) -> list[Candidate]:
    """Return candidates.

    Raises
    ------
    InputError
        If there are none.
    """
    if not found:
        msg = (
            "nothing can be changed: all that could be is done already, or is not possible by the costs file; allow a "
            "row of it, or give the workshop an aid"
        )
        raise InputError(msg)
    return found


def _last_few(search: Search, at_most: int, reach: float, minute: float) -> list[ChangeSet]:
    """Return the sets to be settled, the one without any change first: worth their price, good, or just enough."""
    sets = search.promising(at_most)
    shares = search.shares(sets)
    reaching = [at for at in range(1, len(sets)) if shares[at] >= reach - NEARLY]
    enough = sorted(reaching, key=lambda at: order(sets[at], minute))[:ENOUGH]
    last = {0, *chosen(sets, shares, FINALISTS).tolist(), *enough}
    prices = [each.price for each in sets]
    cheaper = no_dearer(prices, prices)
    np.fill_diagonal(cheaper, val=False)
    rivals = np.where(cheaper, shares[None], -1.0).argmax(axis=1)  # of each the best that is no dearer
    return [sets[at] for at in sorted(last | {int(rivals[at]) for at in last})]


@dataclass(frozen=True, slots=True)
class _Last:
    """The last few sets, settled: how things are, the rows, the one to take, and all that were in the running."""

    now: SetResult
    rows: list[SetResult]
    best: SetResult | None
    sets: list[SetResult]
    partial: bool
    near: list[ChangeSet]  # the rows, and what more boxes could put in the place of a row or of the one to take
    close: bool  # whether more boxes could


@dataclass(frozen=True, slots=True, kw_only=True)
class _Settling:
    """Settles sets by many boxes."""

    sections: _Sections
    reach: float
    minute: float
    seed: int

    def settled(self, sets: Sequence[ChangeSet], boxes: int, run: Run, before: _Last | None = None) -> _Last:
        """Return what comes of some sets, of which `before` knows already what comes of fewer boxes."""
        known = {each.set: each for each in (before.now, *before.sets)} if before else {}
        results = results_of(sets, boxes=boxes, seed=self.seed, run=run, known=known)
        now, left = results[0], _predicted(results)
        rows, best = self._listed(now, left)
        share = now.share if best is None else best.share
        close = [each for each in left if each.share.low < self.reach < each.share.high and each not in rows]
        close.sort(key=lambda each: order(each.set, self.minute))
        beside = [each for row in rows if (each := matched(row, left)) is not None and each not in rows]
        return _Last(
            now=now,
            rows=rows,
            best=best,
            sets=left,
            partial=now.boxes < boxes,
            near=[each.set for each in dict.fromkeys((now, *rows, *beside, *close[:ENOUGH]))],
            close=share.low < self.reach < share.high,
        )

    def _listed(self, now: SetResult, left: list[SetResult]) -> tuple[list[SetResult], SetResult | None]:
        """Return the rows and the one to take; sets whose section is unsound are taken out of `left`."""
        while True:
            rows, best = listed(now, left, reach=self.reach, minute=self.minute)
            unsound = [each for each in rows if each.set.of_section and not self.sections.hold(each.set.design)]
            if not unsound:
                return rows, best
            for each in unsound:
                left.remove(each)


def _predicted(results: list[SetResult]) -> list[SetResult]:
    """Return the sets whose boxes a check predicts without a word more than it has now."""
    now = results[0]
    beyond = np.array([float(np.count_nonzero(each.beyond)) for each in results])
    out = refused(beyond, now.boxes, float(now.beyond.mean())).tolist()
    return [each for each, gone in zip(results[1:], out[1:], strict=True) if not gone]


@dataclass(slots=True)
class _Sections:
    """Which sections `lapwright section` would not call unsound, each judged once."""

    design: Design
    workshop: Workshop
    seed: int
    _judge: Judge | None = None
    _held: dict[Timber, bool] = field(default_factory=dict)

    def hold(self, design: Design) -> bool:
        """Tell whether the section of a design holds, all else as it is."""
        if self._judge is None:
            self._judge = Judge(Trials(self.design, self.workshop, boxes=JUDGED, seed=self.seed), self.design)
        timber = design.timber
        if timber not in self._held:
            self._held[timber] = self._judge.held(self.design.model_copy(update={"timber": timber})) is not None
        return self._held[timber]


def _answer_of(search: Search, last: _Last, *, reach: float, at_most: int, seed: int) -> Advice:
    now = last.now
    most = max([now, *last.sets], key=lambda each: each.share.value)
    missed = [name for name in now.limits if most.keeping(name).value < reach] if most.share.value < reach else []
    missed = [] if last.partial else missed
    return Advice(
        makers=search.design.makers,
        boxes=now.boxes,
        seed=seed,
        reach=reach,
        now=row_of(now, now, [], reach),
        rows=tuple(row_of(each, now, last.rows, reach) for each in last.rows),
        best=None if last.best is None else last.rows.index(last.best),
        in_the_way=limits_in_the_way(search, missed, reach=reach, at_most=at_most, seed=seed),
        tried=search.tried,
        partial=last.partial,
    )
