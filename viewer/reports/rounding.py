"""How many digits a figure carries, and figures written with so many and no more: every command words its figures here.

A figure from a study is uncertain because only so many boxes were tried. The rule, after JCGM 100:2008, 7.2.6:

alone              : to the decimal place at which its 95 % half-width, twice the standard error, is within one unit of
                     the last digit, so that the last digit printed still means something
with its interval  : to the first digit of the 95 % half-width, as the interval says how sure that digit is
a number of boxes  : the same, as it is whole anyway

A figure is never printed to a finer place than the first digit of its 95 % half-width, and zero has no sign.

What is written is a record, `Written`, whose text is what `str` gives: whoever compares figures as they are read
compares their numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assembly.study.intervals import Estimate

SAME = 1e-9  # shares nearer than this are one
FINEST = 2  # decimals at the most: a hundredth of a millimetre is below what a class can measure


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of `assembly.model.outcomes` on screens: its sign behind a figure, in words, and the factor to it."""

    sign: str
    words: str
    times: float = 1.0


UNITS = {"mm": Unit(" mm", " mm"), "deg": Unit("°", " degrees"), "1": Unit(" %", " %", 100.0)}


@dataclass(frozen=True, slots=True)
class Written:
    """A number as it is written."""

    value: float  # rounded, zero without a sign; infinite where nothing at all is known
    places: int  # decimals; below 0 it is whole tens, hundreds and so on
    separator: str = ""  # between thousands

    def __str__(self) -> str:
        """Return it as text, a question mark where nothing is known."""
        return f"{self.value:{self.separator}.{max(self.places, 0)}f}" if math.isfinite(self.value) else "?"

    @property
    def signed(self) -> str:
        """It with its sign, none where it is zero."""
        return f"+{self}" if self.value > 0 else str(self)


def decimals(error: float, finest: int = FINEST) -> int:
    """Return the decimals that a figure of standard error `error` carries; below 0 means tens, hundreds and so on."""
    if error <= 0:
        return finest
    return min(finest, math.floor(-math.log10(2 * error)))


def figure(found: Estimate, finest: int = FINEST) -> Written:
    """Return a figure that stands alone, with the digits that its interval's wider side leaves it.

    Its first digit stands even if it lies one place further, at the first of the half-width's. A question mark stands
    where nothing at all is known.
    """
    if math.isinf(found.half_width):
        return Written(math.inf, 0)
    value, carried = found.value, decimals(found.standard_error, finest)
    first = -math.floor(math.log10(abs(value))) if value else carried
    places = min(max(carried, first), carried + 1, finest)
    return rounded(value, places if round(value, places) else carried)


def rounded(value: float, places: int, separator: str = "") -> Written:
    """Return `value` rounded to so many decimals, below 0 to tens and more; zero never has a sign."""
    return Written(round(value, places) + 0.0, places, separator)  # + 0.0 turns -0.0 into 0.0


def counted(found: Estimate, most: int) -> Written:
    """Return a number of boxes, `most` at the most: whole, or rounded to the first digit of its 95 % half-width."""
    half = (found.high - found.low) / 2
    places = min(0, -math.floor(math.log10(half))) if 0 < half < math.inf else 0
    return rounded(min(round(found.value, places), most), 0, ",")


def with_interval(found: Estimate, finest: int = FINEST) -> tuple[Written, Written, Written]:
    """Return a value and the ends of its 95 % interval, written to the first digit of the interval's half-width.

    The interval stands beside the value and tells how sure its last digit is, so one digit more than `figure` allows
    may be printed. Source: JCGM 100:2008, 7.2.6: estimates are rounded to be consistent with their uncertainties.
    """
    half = (found.high - found.low) / 2
    places = min(finest, -math.floor(math.log10(half))) if 0 < half < math.inf else finest
    return rounded(found.value, places, ","), rounded(found.low, places, ","), rounded(found.high, places, ",")


def percent(share: Estimate) -> str:
    """Return a share in percent, with the digits that the wider side of its 95 % interval leaves it."""
    return f"{figure(share.times(100), 1)} %"


def percent_beside(share: Estimate, needed: float) -> str:
    """Return a share in percent beside the share that is needed, on the same side of it if the interval is.

    Rounded to its own digits, 79.6 ± 0.2 would read 80, and not be enough where 80 are needed. The first digit of the
    half-width keeps it apart: the rounding is at most half of that. A share that would read the same as the one that is
    needed, and is not the same, takes digits until it does not.
    """
    text, asked = figure(share.times(100), 1), 100 * needed
    if (share.high <= needed and text.value >= asked) or (share.low >= needed and text.value < asked):
        text = with_interval(share.times(100), 6)[0]
    while abs(text.value - asked) < SAME and abs(share.value - needed) > SAME:
        text = rounded(100 * share.value, text.places + 1)
    return f"{text} %"
