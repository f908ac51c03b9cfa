"""A figure and how sure it is: the one record that every study tells its figures in, and each way to find its interval.

An interval holds the true value in 95 of 100 studies. How it was found stands beside it, as each way holds only where
its own conditions do: none that counts independent boxes holds for boxes of one class or points of one scramble
(MODEL.md, 5.2).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from statistics import NormalDist
from typing import Self

LEVEL = 0.95
Z95 = NormalDist().inv_cdf(0.975)
FEW = 30  # boxes, below which Student's t is over 4 % wider than the normal distribution
_NORMAL = NormalDist()


class Interval(StrEnum):
    """How an interval was found: its name in JSON, and what it means in words."""

    meaning: str

    def __new__(cls, name: str, meaning: str) -> Self:
        """Return a member that is its own name and keeps its meaning."""
        made = str.__new__(cls, name)
        made._value_, made.meaning = name, meaning
        return made

    EXACT = "exact", "worked out, or the same in every box: chance has no part in it"
    WILSON = "wilson", "share counted over independent boxes, Wilson's: covers 95 % on average over the true shares"
    WILSON_CLASSES = "wilson-classes", "Wilson's, over as many independent boxes as tell as much as whole classes do"
    CLOPPER_PEARSON = "clopper-pearson", "share counted over independent boxes: covers 95 % at least, whatever it is"
    NORMAL = "normal", "1.96 standard errors either side, over independent boxes; below 30 boxes Student's t"
    DENSITY = "density", "quantile: 1.96 standard errors either side, from how densely values lie there"
    ORDER = "order-statistics", "quantile: half the way between the quantiles that chance may put in its place"
    DELTA = "delta", "1.96 standard errors either side, by the delta method: of a deviation, or of a ratio of moments"
    STUDENT_BLOCKS = "student-blocks", "Student's t over the values in blocks of 10,000 boxes"
    STUDENT_SCRAMBLES = "student-scrambles", "Student's t over the values in independent scrambles of Sobol' points"
    STUDENT_BATCHES = "student-batches", "Student's t over the values in batches of 1,000 boxes"
    WEIGHED = "weighed", "share of weighed boxes drawn around the likeliest bad ones: Student's t of its logarithm"
    PAIRED_SHARE = "paired-share", "difference of two shares over the same boxes, Agresti and Min's"
    PAIRED_MEAN = "paired-mean", "mean difference over the same boxes, 1.96 standard errors either side"
    PAIRED_RATIO = "paired-ratio", "ratio of two means over the same boxes, 1.96 standard errors either side"


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A value, the ends of its interval in the value's own unit, infinite where nothing is known, and how found."""

    value: float
    low: float
    high: float
    interval: Interval
    level: float = LEVEL  # share of studies whose interval holds the true value

    @property
    def half_width(self) -> float:
        """The wider side of the interval."""
        return max(self.high - self.value, self.value - self.low)

    @property
    def standard_error(self) -> float:
        """The standard error that a normal distribution with this half-width has."""
        return self.half_width / Z95

    def times(self, factor: float) -> Estimate:
        """Return the figure in another unit: a share in percent, or in boxes of a class; `factor` is over 0."""
        return replace(self, value=factor * self.value, low=factor * self.low, high=factor * self.high)

    def plus(self, constant: float) -> Estimate:
        """Return the figure with a constant added."""
        return replace(self, value=self.value + constant, low=self.low + constant, high=self.high + constant)

    def complement(self) -> Estimate:
        """Return the share of those that a share leaves out."""
        return replace(self, value=1 - self.value, low=1 - self.high, high=1 - self.low)

    def between(self, least: float, most: float) -> Estimate:
        """Return the figure kept within what it can be at all."""
        value, low, high = (min(max(end, least), most) for end in (self.value, self.low, self.high))
        return replace(self, value=value, low=low, high=high)


def exact(value: float) -> Estimate:
    """Return a figure that chance has no part in."""
    return Estimate(value=value, low=value, high=value, interval=Interval.EXACT)


def around(value: float, half: float, interval: Interval) -> Estimate:
    """Return a figure with as much on either side of it."""
    return Estimate(value=float(value), low=float(value - half), high=float(value + half), interval=interval)


def normal(value: float, error: float, boxes: float = math.inf, interval: Interval = Interval.NORMAL) -> Estimate:
    """Return a figure from its standard error over independent boxes; of one box nothing is known.

    Below `FEW` boxes the error itself is hardly known, and Student's t widens it.
    """
    return around(value, (Z95 if boxes >= FEW else t95(int(boxes) - 1)) * error if boxes > 1 else math.inf, interval)


def wilson(kept: float, boxes: float, level: float = LEVEL, interval: Interval = Interval.WILSON) -> Estimate:
    """Return the share kept of so many independent boxes, with Wilson's interval.

    Source: Wilson, J. Amer. Statist. Assoc. 22 (1927) 209-212.
    """
    if boxes <= 0:
        return Estimate(value=math.nan, low=0.0, high=1.0, interval=interval, level=level)
    share, z = kept / boxes, _NORMAL.inv_cdf((1 + level) / 2)
    shrink = 1 + z * z / boxes
    middle = (share + z * z / (2 * boxes)) / shrink
    half = z * math.sqrt(share * (1 - share) / boxes + z * z / (4 * boxes * boxes)) / shrink
    low, high = max(0.0, min(middle - half, share)), min(1.0, max(middle + half, share))
    return Estimate(value=share, low=low, high=high, interval=interval, level=level)


def clopper_pearson(kept: int, boxes: int, level: float = LEVEL) -> Estimate:
    """Return the share kept with its exact interval, too short in at most 1 - `level` of studies, whatever the share.

    Parameters
    ----------
    kept, boxes : int
        Of so many independent boxes, how many keep the limit.
    level : float
        Half of what is left stands on either side. Where none or all are kept the share can only err on one side, yet
        half stands: so the bound for 0 of n is 1 - 0.025^(1/n), about 3.7/n.

    Notes
    -----
    Source: Clopper & Pearson, Biometrika 26 (1934) 404-413; ends as quantiles of beta distributions.
    """
    kind = Interval.CLOPPER_PEARSON
    if boxes <= 0:
        return Estimate(value=math.nan, low=0.0, high=1.0, interval=kind, level=level)
    low, high = _least(kept, boxes, (1 - level) / 2), 1 - _least(boxes - kept, boxes, (1 - level) / 2)
    return Estimate(value=kept / boxes, low=low, high=high, interval=kind, level=level)


def paired_share(gained: float, lost: float, boxes: int) -> Estimate:
    """Return the difference of two shares over the same boxes, from how many only the second or only the first keeps.

    Half a box is added to all four cells of the table, so that no lost or gained box is not taken for none at all.
    Source: Agresti & Min, Statist. Med. 24 (2005) 729-740 (from memory).
    """
    gained, lost = float(gained), float(lost)
    middle = (gained - lost) / (boxes + 2)
    half = Z95 * math.sqrt((gained + lost + 1) / (boxes + 2) - middle**2) / math.sqrt(boxes + 2)
    value, low, high = (gained - lost) / boxes, middle - half, middle + half
    return Estimate(value=value, low=low, high=high, interval=Interval.PAIRED_SHARE)


def quantile(at: float, quantiles: dict[float, float], sd: float, boxes: float) -> Estimate:
    """Return one of the `quantiles`, by their shares, of an outcome of standard deviation `sd`.

    The standard error is √(p(1-p)/n) over the density at the quantile: the normal distribution's or, above the middle,
    that of an exponential tail through the next quantile given, whichever is smaller, as an outcome that is skewed to
    the right thins out more slowly than a normal one.
    Source: Mosteller, Ann. Math. Statist. 17 (1946) 377-408, for the error.
    """
    if sd == 0:
        return normal(quantiles[at], 0.0, boxes, Interval.DENSITY)
    density = _NORMAL.pdf(_NORMAL.inv_cdf(at)) / sd
    further = min((share for share in quantiles if share > max(at, 0.5)), default=at)
    span = quantiles[further] - quantiles[at]
    if at > 0.5 and span > 0:
        density = min(density, (1 - at) * math.log((1 - at) / (1 - further)) / span)
    return normal(quantiles[at], math.sqrt(at * (1 - at) / boxes) / density, boxes, Interval.DENSITY)


def student(value: float, error: float, runs: int, interval: Interval) -> Estimate:
    """Return a figure from the standard error that its values in so many runs show; of one run nothing is known."""
    return around(value, t95(runs - 1) * error if runs > 1 else math.inf, interval)


def t95(freedom: int) -> float:
    """Return Student's t that 95 % stay within, on both sides; infinite where nothing is known of the spread."""
    from scipy.special import stdtrit  # noqa: PLC0415 - 0.1 s that a fixed count never needs

    return float(stdtrit(freedom, 0.975)) if freedom > 0 else math.inf


def _least(kept: int, boxes: int, error: float) -> float:
    """Return the share with which so many or more boxes are kept with probability `error`; 0 where none is kept."""
    if kept == 0:
        return 0.0
    if kept == boxes:
        return float(error ** (1 / boxes))
    from scipy.special import betaincinv  # noqa: PLC0415 - 0.1 s that a check in text never needs

    return float(betaincinv(kept, boxes - kept + 1, error))
