"""How many boxes break a limit: counted, or weighed around the likeliest of them (MODEL.md, 5.7).

centre    : a point of the limit that boxes are drawn around, as far from it as chance has boxes from 0
defensive : the part of the boxes that is drawn around 0, as chance has them: no weight exceeds one over that part
weight    : how much oftener chance has a box than the mixture of all centres does. The mean weight of boxes, 0 where
            they keep the limit, is the share that breaks it, whatever the centres; but where a centre is missing, few
            boxes carry much weight, and the stated error is too small until one of them is drawn

Source: Owen & Zhou, J. Amer. Statist. Assoc. 95 (2000) 135-143, for mixtures with a defensive part and as many boxes
of each centre as its part says (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.rare.points import Points
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import Estimate, Interval, t95

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray
    from assembly.rare.space import BrokenLimit

DEFENSIVE = 0.1
LEAST_FREEDOM = 2  # below that the interval says nothing
LEAST_PART = 0.5  # of an even part: what a centre keeps at least, however few boxes break the limit near it


@dataclass(frozen=True, slots=True)
class Mixture:
    """What boxes are drawn around: 0 and centres (dims, 1 + k), and the part of each (1 + k,)."""

    centres: FloatArray
    parts: FloatArray

    @classmethod
    def around(cls, points: Points, parts: FloatArray | None = None) -> Mixture:
        """Return the mixture around points, in even parts or as `parts` (k,) are to each other."""
        many = len(points)
        shared = np.ones(many) if parts is None else parts / max(parts.sum(), 1e-300) + LEAST_PART / many
        centres = np.hstack([np.zeros((len(points.u), 1)), points.u])
        return cls(centres, np.append(DEFENSIVE, (1 - DEFENSIVE) * shared / shared.sum()))


@dataclass(frozen=True, slots=True)
class Weighed:
    """Boxes drawn from a mixture that break the limit, with their weights; and how many were drawn of each part."""

    broken: Points
    weight: FloatArray  # (broken,)
    of: IntArray  # (broken,) the centre each was drawn around
    drawn: IntArray  # (1 + k,) boxes
    nearness: FloatArray  # (1 + k,) how much of the weight lies around each centre
    reach: FloatArray  # (1 + k,) how many times as far out as the centre that weight lies, along its ray

    @property
    def share(self) -> Estimate:
        """The share of boxes that break the limit, its error from the spread of weights around each centre.

        Notes
        -----
        Few boxes carry much weight, so the share is skewed, and where it is too small so is its error. The interval is
        therefore that of its logarithm, and Student's t widens it, of as many degrees of freedom as the error has:
        2 V²/Var(V), V the estimated variance (Satterthwaite, Biometrics Bulletin 2 (1946) 110-114; from memory), and
        Var(V) by the weights' fourth moments. 1.96 standard errors either side held the share in 90 of 100 studies.
        """
        first, second, third, fourth = (
            np.bincount(self.of, self.weight**power, minlength=len(self.drawn)) for power in (1, 2, 3, 4)
        )
        mean = first / self.drawn
        squares = np.maximum(second - mean * first, 0).sum()  # about the mean around each centre, boxes of weight 0 too
        fourths = (fourth - 4 * mean * third + 6 * mean**2 * second - 3 * mean**3 * first).sum()
        value = float(self.weight.sum() / self.drawn.sum())
        if squares <= 0 or fourths <= 0:
            return Estimate(value=value, low=value, high=value, interval=Interval.WEIGHED)
        freedom = max(LEAST_FREEDOM, int(2 * squares**2 / fourths))
        times = math.exp(t95(freedom) * math.sqrt(squares) / self.weight.sum())
        return Estimate(value=value, low=value / times, high=min(value * times, 1.0), interval=Interval.WEIGHED)

    @property
    def effective(self) -> float:
        """How many boxes of equal weight would tell as much: (Σw)²/Σw²; 0 where none breaks the limit."""
        return float(self.weight.sum() ** 2 / (self.weight**2).sum()) if self.weight.any() else 0.0


def weighed(
    limit: BrokenLimit, mixture: Mixture, boxes: int, rng: np.random.Generator, run: Run = UNWATCHED
) -> Weighed:
    """Return boxes drawn from a mixture, some `boxes` of them.

    Raises
    ------
    StoppedError
        If the run is stopped.
    """
    centres = mixture.centres
    drawn = np.ceil(mixture.parts * boxes).astype(np.int64)
    of = np.repeat(np.arange(len(drawn)), drawn)
    u = rng.standard_normal((limit.dims, len(of)))
    u += centres[:, of]
    points = Points(u, limit.patterns(len(of), rng))
    hit = np.flatnonzero(limit.margins(points, run) > 0)
    broken = points.take(hit)
    # log of (part × density around the centre / density around 0), for every centre
    log = centres.T @ broken.u - (centres**2).sum(axis=0)[:, None] / 2 + np.log(drawn / drawn.sum())[:, None]
    highest = log.max(axis=0, initial=-np.inf)
    near = np.exp(log - highest)
    total = near.sum(axis=0)
    weight = np.exp(-highest) / total
    shares = near / total * weight
    nearness = shares.sum(axis=1)
    along = centres.T @ broken.u / np.maximum((centres**2).sum(axis=0), 1e-300)[:, None]
    reach = (shares * along).sum(axis=1) / np.maximum(nearness, 1e-300)
    return Weighed(broken, weight, of[hit], drawn, nearness, reach)
