"""Every pair of sections on sale against the present one, lapped walls in the outer order."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from assembly.errors import ImpossibleError
from assembly.materials.timbers import walls_of
from assembly.section.judging import Judge, refused
from assembly.section.trials import Trials
from assembly.section.variants import broken_rules, varied
from assembly.study.driver import UNWATCHED, Run, drive

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.errors import Problem
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.section.verdict import Verdict
    from assembly.study.intervals import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One pair of the table; `verdict` is None where no box can have the pair, and `faults` say why."""

    lapped: float
    plain: float
    verdict: Verdict | None
    faults: tuple[Problem, ...]  # rules of the shop that it breaks, or why no box can have the pair
    pass_share: Estimate | None = None  # share of boxes that keep every limit; None where `check` refuses the pair
    refused: bool = False  # whether `check` refuses it


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Every pair that was judged, and of how many; fewer than all where it was stopped."""

    cells: tuple[Cell, ...]
    pairs: int
    present: Cell | None = None  # the present section, judged by the same boxes

    @property
    def partial(self) -> bool:
        """Whether pairs are missing."""
        return len(self.cells) < self.pairs


def section_table(
    present: Design,
    stock: Sequence[float],
    workshop: Workshop,
    *,
    vary: Callable[..., Design] | None = None,
    boxes: int = 20_000,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> Table:
    """Return the verdict on every pair of thicknesses, lapped walls in the outer order, both in stock order.

    Stopped, it tells of the pairs that are judged.

    Parameters
    ----------
    present : Design
        The design as it is.
    stock : sequence of float
        Thicknesses on sale, mm.
    workshop : Workshop
        Who makes it.
    vary : callable, optional
        Makes a design of `lapped` and `plain`; `varied` with the outside kept if left out.
    boxes, seed : int
        How many boxes are made of each pair, and where the random numbers start.
    run : Run
        How it is run; progress is counted in pairs.

    Raises
    ------
    InputError
        If the timber is unknown or a figure that is needed is missing.
    StoppedError
        If it is stopped before a pair is judged.
    """
    judge = Judge(Trials(present, workshop, boxes=boxes, seed=seed, run=run), present)
    make = vary or partial(varied, present)
    walls_of(make().timber)  # what is wrong with the timber is wrong with every pair: refused once
    present_cell = _judged(judge, present, judge.verdict_with(present, judge.before))
    pairs = [(lapped, plain) for lapped in range(len(stock)) for plain in range(len(stock))]

    def cell(pair: tuple[int, int], _run: Run) -> Cell:
        return _cell(judge, make, stock[pair[0]], stock[pair[1]])

    found = tuple(drive(cell, pairs, run, of=len(pairs)))
    return Table(cells=found, pairs=len(pairs), present=present_cell)


def _cell(judge: Judge, make: Callable[..., Design], lapped: float, plain: float) -> Cell:
    try:
        design = make(lapped=lapped, plain=plain)
    except ImpossibleError as error:
        return Cell(lapped=lapped, plain=plain, verdict=None, faults=error.faults)
    return _judged(judge, design, judge.verdict(design))


def _judged(judge: Judge, design: Design, verdict: Verdict) -> Cell:
    no = refused(verdict)
    return Cell(
        lapped=design.timber.lapped,
        plain=design.timber.plain,
        verdict=verdict,
        faults=broken_rules(design),
        pass_share=None if no else judge.passing(verdict),
        refused=no,
    )
