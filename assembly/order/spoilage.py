"""How many blanks more than it needs a class should have of each kind of wall, as some are spoilt (MODEL.md, 5.10).

needed  : walls of a kind in the boxes of a class, and as many blanks
spares  : blanks of a kind beyond those
runs out : a class does that spoils more blanks of a kind than it has spares of
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError, NeverGoodError
from assembly.order.making_again import KINDS
from assembly.order.never_good import never_good
from assembly.order.spoilt_classes import WALLS, WallModel, spoilt_classes
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import Estimate, Interval, exact, wilson

if TYPE_CHECKING:
    from assembly.arrays import IntArray
    from assembly.learning.files import Draws
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.order.spoilt_classes import SpoiltClasses
    from assembly.planning.cutting import WallKind

CLASSES = 2_000
TOLD = 10  # classes that must be allowed to run out for a chance to be told from them
CHANCES = (TOLD / CLASSES, 0.5)  # that may be asked for, of a class that runs out
MOST_SHARE = 10.0  # spares to each piece needed


@dataclass(frozen=True, slots=True, kw_only=True)
class Spares:
    """Spare blanks of one kind of wall for a class. Base, lid and plaque have no rule by which they are spoilt."""

    wall: WallKind
    needed: int
    spares: int
    runs_out: Estimate  # chance that a class spoils more blanks of this kind than it has spares of
    spoilt: Estimate  # mean share of walls that are spoilt from their first blank
    given_up: float  # share of walls that are spoilt from `making_again.BLANKS` in a row, and not tried again
    classes: int  # simulated; fewer than asked for where the study was stopped


def spares(  # noqa: PLR0913 - what a class is, what is asked of its spares, and how it is simulated
    design: Design,
    workshop: Workshop,
    *,
    makers: int,
    chance: float = 0.05,
    share: float | None = None,
    classes: int = CLASSES,
    seed: int,
    draws: Draws | None = None,
    run: Run = UNWATCHED,
) -> tuple[Spares, ...]:
    """Return the spare blanks of lapped and of plain walls for a class.

    Parameters
    ----------
    makers : int
        Of the class, a box each.
    chance : float
        The least number of spares is returned with which at most this share of classes runs out of a kind.
    share : float, optional
        So many spares to each piece needed instead, rounded up for each kind.
    classes, seed : int
        How many classes are simulated, and by which random numbers.
    draws : Draws, optional
        What is not known of a learned workshop: each class takes one.

    Raises
    ------
    InputError
        If a number is none that can be.
    NeverGoodError
        If every tongue is drawn too thin, or over 1 % of the walls of a kind are never good.
    StoppedError
        If it is stopped before any class is known.
    """
    _check(makers, chance, share, classes)
    model = WallModel(design=design, workshop=workshop, draws=draws)
    if why := never_good(model, seed=seed):
        raise NeverGoodError(why)
    found = spoilt_classes(model, makers=makers, classes=classes, seed=seed, run=run)
    return tuple(_of_kind(kind, found, model, chance, share) for kind in range(len(KINDS)))


def spares_of_share(share: float, needed: int) -> int:
    """Return a share of the pieces needed, rounded up to whole ones.

    Examples
    --------
    >>> spares_of_share(0.1, 26), spares_of_share(0.1, 30)  # 0.1 x 30 is a little over 3 in binary digits
    (3, 3)
    """
    return math.ceil(round(share * needed, 9))


def _check(makers: int, chance: float, share: float | None, classes: int) -> None:
    if makers < 1 or classes < 2:
        found = f"makers: got {makers}, must be 1" if makers < 1 else f"classes: got {classes}, must be 2"
        raise InputError(found + " or more")
    if share is not None:
        if not 0 <= share <= MOST_SHARE:
            msg = f"share of spares: got {share:g}, must be between 0 and {MOST_SHARE:g}, of the pieces needed"
            raise InputError(msg)
    elif not TOLD / classes <= chance <= CHANCES[1]:
        msg = (
            f"chance of running out: got {chance:g}, must be between {TOLD / classes:g} and {CHANCES[1]:g}, as "
            f"{classes} simulated classes tell no smaller"
        )
        raise InputError(msg)


def _of_kind(kind: int, found: SpoiltClasses, model: WallModel, chance: float, share: float | None) -> Spares:
    needed, spoilt = WALLS * found.makers, found.spoilt[kind]
    enough = _least(spoilt, chance) if share is None else spares_of_share(share, needed)
    return Spares(
        wall=KINDS[kind],
        needed=needed,
        spares=enough,
        runs_out=_share_over(spoilt, enough, float(found.mean_error[kind]), varies=model.varies),
        spoilt=_share_of_first(found.first[kind], WALLS * found.size, varies=model.varies),
        given_up=float(found.given_up[kind].sum() / (len(spoilt) * WALLS * found.size)),
        classes=len(spoilt),
    )


def _least(spoilt: IntArray, chance: float) -> int:
    """Return the least number that at most a share `chance` of the classes spoil more than."""
    may = math.floor(round(chance * len(spoilt), 9))
    return int(np.sort(spoilt)[len(spoilt) - 1 - may])


def _share_over(spoilt: IntArray, enough: int, mean_error: float, *, varies: bool) -> Estimate:
    """Return the share of classes that spoil more than `enough`.

    Where classes are grown from samples an error of their common mean moves the share by as much as classes are dense
    there; it tells as much as fewer classes without that error would.
    """
    classes = len(spoilt)
    share = float(np.count_nonzero(spoilt > enough)) / classes
    if not varies:
        return exact(share)
    sd, alone = float(spoilt.std(ddof=1)), share * (1 - share) / classes
    if mean_error == 0 or alone == 0:
        return wilson(share * classes, classes)
    moved = mean_error * NormalDist(float(spoilt.mean()), sd).pdf(enough + 0.5)
    independent = classes * alone / (alone + moved**2)
    return replace(wilson(share * independent, independent, interval=Interval.WILSON_CLASSES), value=share)


def _share_of_first(first: IntArray, walls: int, *, varies: bool) -> Estimate:
    """Return the share of walls spoilt from their first blank, of so many in each class.

    Walls of a class are not independent: Wilson's interval is that over as many as tell as much, by the design effect.
    """
    share, boxes = float(first.sum()) / (len(first) * walls), len(first) * walls
    if not varies:
        return exact(share)
    alone = walls * share * (1 - share)
    independent = boxes / max(float(first.var(ddof=1)) / alone if alone > 0 and len(first) > 1 else 1.0, 1.0)
    return replace(wilson(share * independent, independent, interval=Interval.WILSON_CLASSES), value=share)
