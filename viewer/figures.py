"""How many digits a figure carries, and figures written with so many and no more.

A figure from a study is uncertain because only so many boxes were tried. It is printed to the decimal place at which
twice its standard error stays within one unit of the last digit, so that the last digit printed still means something.
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assembly.tolerance.check import OutcomeSummary
    from assembly.tolerance.intervals import Share

FINEST = 2  # decimals at the most: a hundredth of a millimetre is below what a class can measure
_NORMAL = NormalDist()
_Z95 = _NORMAL.inv_cdf(0.975)


def decimals(error: float, finest: int = FINEST) -> int:
    """Return the decimals that a figure of standard error `error` carries; below 0 means tens, hundreds and so on."""
    if error <= 0:
        return finest
    return min(finest, math.floor(-math.log10(2 * error)))


def figure(value: float, error: float, finest: int = FINEST) -> str:
    """Return `value` written with the digits that its standard error leaves it, the first one at the least."""
    first = -math.floor(math.log10(abs(value))) if value else 0
    places = max(decimals(error, finest), min(first, 0))
    return f"{round(value, places) + 0.0:.{max(places, 0)}f}"  # + 0.0 turns -0.0 into 0.0


def with_interval(value: float, low: float, high: float, finest: int = FINEST) -> tuple[str, str, str]:
    """Return a value and the ends of its 95 % interval, written to the first digit of the interval's half-width.

    The interval stands beside the value and tells how sure its last digit is, so one digit more than `figure` allows
    may be told. Source: JCGM 100:2008, 7.2.6: estimates are rounded to be consistent with their uncertainties.
    """
    half = (high - low) / 2
    places = min(finest, -math.floor(math.log10(half))) if 0 < half < math.inf else finest
    value, low, high = (round(each, places) + 0.0 if math.isfinite(each) else each for each in (value, low, high))
    shown = [f"{each:,.{max(places, 0)}f}" for each in (value, low, high)]
    return shown[0], shown[1], shown[2]


def percent(share: Share) -> str:
    """Return a share in percent, with the digits that its 95 % interval leaves it."""
    return f"{figure(100 * share.share, 100 * (share.high - share.low) / (2 * _Z95), 1)} %"


def mean_error(summary: OutcomeSummary, boxes: int) -> float:
    """Return the standard error of a mean over independent boxes."""
    return summary.sd / math.sqrt(boxes)


def quantile_error(summary: OutcomeSummary, at: float, boxes: int) -> float:
    """Return the standard error of a quantile, √(p(1-p)/n) over the density there.

    The density is the normal distribution's or, above the middle, that of an exponential tail through the next
    quantile told, whichever is smaller: an outcome that is skewed to the right thins out more slowly than a normal one.
    Source: Mosteller, Ann. Math. Statist. 17 (1946) 377-408, for the error.
    """
    if summary.sd == 0:
        return 0.0
    density = _NORMAL.pdf(_NORMAL.inv_cdf(at)) / summary.sd
    further = min((share for share in summary.quantiles if share > max(at, 0.5)), default=at)
    span = summary.quantiles[further] - summary.quantiles[at]
    if at > 0.5 and span > 0:
        density = min(density, (1 - at) * math.log((1 - at) / (1 - further)) / span)
    return math.sqrt(at * (1 - at) / boxes) / density
