"""Habits: what the makers who were read surely do otherwise than the workshop said, and whether a setting mends it.

habit   : a mean whose 90 % interval leaves out the old mean, by as much as a caliper shows
setting : a gauge, a stop or a kerf that moves such a mean; by tenths of a mm or of a degree, towards the old one
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from assembly.data.tables import rows
from assembly.model.workshop import ANGLES
from assembly.nominal.frame import frame
from assembly.study.check import BoxModel
from assembly.study.compare import compare_models
from assembly.study.driver import UNWATCHED

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence

    from assembly.data.tables import Row
    from assembly.learning.learned import Figure, Learned
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.driver import Run
    from assembly.study.intervals import Estimate

MOST = 5
LEAST = 0.1  # mm: a division of the caliper; what moves a size by less, nobody sees
STEP = 1  # decimals to which a gauge, a stop or a kerf is set; common practice, no source
BOXES = 20_000
WORTH = 0.01  # share of boxes that a setting gains: less is no reason to set anything


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """A setting that mends a habit, and the share of boxes that it surely gains."""

    words: str  # with {} for by how much
    by: float  # mm or degrees, over 0
    gained: Estimate  # share of boxes, paired


@dataclass(frozen=True, slots=True, kw_only=True)
class Habit:
    """One mean that is surely another than the workshop said."""

    figure: Figure
    row: Row  # of `habits.csv`: its words
    setting: Setting | None = None


def habits_of(design: Design, figures: Sequence[Figure], doubtful: Collection[str] = ()) -> list[Habit]:
    """Return the habits that readings show, those that move a size most first; `MOST` at the most.

    None of `doubtful` quantities: those that a reading bears on which hardly fits.
    """
    words = {row["quantity"]: row for row in rows("habits")}
    means = [each for each in figures if each.number == "bias" and each.learned and each.quantity not in doubtful]
    sure = [each for each in means if not each.low <= each.before <= each.high and _moved(design, each) >= LEAST]
    ranked = sorted(sure, key=lambda each: -_moved(design, each))
    return [Habit(figure=each, row=words[each.quantity]) for each in ranked[:MOST]]


def _moved(design: Design, figure: Figure) -> float:
    """Return by how much a size is moved, mm: an angle's over the height of a wall."""
    off = abs(figure.value - figure.before)
    return frame(design).height * math.tan(math.radians(off)) if figure.quantity in ANGLES else off


def _pays(gained: Estimate) -> bool:
    """Return whether a setting surely gains boxes, and enough of them."""
    return gained.low > 0 and gained.value >= WORTH


def with_settings(
    design: Design,
    learned: Learned,
    habits: Sequence[Habit],
    as_workshop: Callable[[Learned], Workshop],
    *,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> list[Habit]:
    """Return the habits, with their setting where it surely gains boxes on the same random numbers.

    Raises
    ------
    StoppedError
        If it is stopped before all are known.
    """
    now = BoxModel(design, as_workshop(learned))
    found = []
    for each in habits:
        by = round(each.figure.value - each.figure.before, STEP)
        words = each.row["lower" if by > 0 else "raise"]
        if not words or by == 0:
            found.append(each)
            continue
        figures = tuple(
            replace(figure, value=figure.value - by) if figure is each.figure else figure for figure in learned.figures
        )
        then = BoxModel(design, as_workshop(replace(learned, figures=figures)))
        gained = compare_models(now, then, (), boxes=BOXES, seed=seed, run=run).pass_share
        found.append(replace(each, setting=Setting(words=words, by=abs(by), gained=gained)) if _pays(gained) else each)
    return found
