"""The two-way layout: things that several people read several times each, and what of the readings' spread is whose.

thing    : what is read; people measure the same things with the same instrument
reader   : somebody who reads
times    : how often each reader reads each thing
repeated : the spread of one reader at one thing: the instrument's own unsteadiness, with the hand that holds it
between  : the spread of readers' own means: one reads on the high side, another on the low
together : interaction, where readers differ at some things otherwise than at others

Source: the method of Automotive Industry Action Group, Measurement Systems Analysis, 4th ed. (2010), by analysis of
variance, which is ISO 5725-2's for several things at once; an interaction that is not significant at 25 % is counted to
the repeated part. Intervals of differences of mean squares: Burdick, Borror & Montgomery, J. Qual. Technol. 35 (2003)
342-354 (modified large samples, Graybill & Wang, J. Am. Stat. Assoc. 75 (1980) 869-873); all three from memory, the
tests hold figures to printed examples and intervals to how often they hold.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import FloatArray

POOLED = 0.25  # chance above which an interaction as large counts as none
TAIL = 0.05  # on either side of an interval


@dataclass(frozen=True, slots=True)
class Square:
    """A sum of squares and its degrees of freedom."""

    sum: float
    freedom: int

    @property
    def mean(self) -> float:
        """Its mean square; 0 where nothing is free."""
        return self.sum / self.freedom if self.freedom else 0.0

    def plus(self, other: Square) -> Square:
        """Return both pooled."""
        return Square(self.sum + other.sum, self.freedom + other.freedom)


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """A variance, never below 0, and the ends of its 90 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoWay:
    """What a layout shows."""

    things: Square
    readers: Square
    both: Square
    rest: Square
    pooled: bool  # whether `both` is counted to the repeated part
    chance: float  # of an interaction as large where there is none; 1 where it can't be told from the rest
    repeated: Component
    between: Component | None  # None of a single reader
    together: Component | None  # None where it is pooled
    thing: float  # variance of the things themselves

    @property
    def measuring(self) -> float:
        """Variance of all that measuring adds, repeatability and reproducibility."""
        return sum(each.value for each in (self.repeated, self.between, self.together) if each)


def two_way(values: FloatArray) -> TwoWay:
    """Return what a balanced layout shows: values (things, readers, times), at least two things or two times.

    Raises
    ------
    ValueError
        If no degree of freedom is left for the repeated part.
    """
    things, readers, times = values.shape
    squares = _squares(values)
    part, reader, both, rest = squares
    if not both.freedom + rest.freedom:
        msg = f"a layout of {things} things, {readers} readers, {times} times has nothing repeated"
        raise ValueError(msg)
    chance = _chance(both, rest)
    pooled = chance > POOLED
    error = both.plus(rest) if pooled else both
    repeated = both.plus(rest) if pooled else rest
    return TwoWay(
        things=part,
        readers=reader,
        both=both,
        rest=rest,
        pooled=pooled,
        chance=chance,
        repeated=_repeated(repeated),
        between=_difference(reader, error, things * times) if reader.freedom else None,
        together=None if pooled else _difference(both, rest, times),
        thing=max((part.mean - error.mean) / (readers * times), 0.0) if part.freedom else 0.0,
    )


def _squares(values: FloatArray) -> tuple[Square, Square, Square, Square]:
    """Return the sums of squares of things, readers, both together and the rest."""
    things, readers, times = values.shape
    off = values - values.mean()
    part, reader, cell = off.mean(axis=(1, 2)), off.mean(axis=(0, 2)), off.mean(axis=2)
    both = cell - part[:, None] - reader
    return (
        Square(readers * times * float((part**2).sum()), things - 1),
        Square(things * times * float((reader**2).sum()), readers - 1),
        Square(times * float((both**2).sum()), (things - 1) * (readers - 1)),
        Square(float(((off - cell[:, :, None]) ** 2).sum()), things * readers * (times - 1)),
    )


def _chance(both: Square, rest: Square) -> float:
    """Return the chance of an interaction as large by the F test; 1 where there is nothing to tell it from."""
    from scipy.special import fdtrc  # noqa: PLC0415 - 0.1 s that other commands do without

    if not (both.freedom and rest.freedom):
        return 1.0
    if rest.mean == 0.0:
        return 0.0 if both.mean > 0 else 1.0
    return float(fdtrc(both.freedom, rest.freedom, both.mean / rest.mean))


def _repeated(square: Square) -> Component:
    """Return a mean square as a variance, its interval by the chi-squared distribution."""
    from scipy.special import chdtri  # noqa: PLC0415 - as above

    low, high = (square.sum / float(chdtri(square.freedom, tail)) for tail in (TAIL, 1 - TAIL))
    return Component(value=square.mean, low=low, high=high)


def _difference(more: Square, less: Square, times: float) -> Component:
    """Return the variance (more - less)/times of mean squares, its interval by modified large samples."""
    from scipy.special import chdtri, fdtri  # noqa: PLC0415 - as above

    a, b, n, m = more.mean, less.mean, more.freedom, less.freedom
    above, below = (float(chdtri(n, tail)) / n for tail in (TAIL, 1 - TAIL))
    less_above, less_below = (float(chdtri(m, tail)) / m for tail in (TAIL, 1 - TAIL))
    g_more, h_more, g_less, h_less = 1 - 1 / above, 1 / below - 1, 1 - 1 / less_above, 1 / less_below - 1
    f_above, f_below = float(fdtri(n, m, 1 - TAIL)), float(fdtri(n, m, TAIL))
    g_both = ((f_above - 1) ** 2 - (g_more * f_above) ** 2 - h_less**2) / f_above
    h_both = ((1 - f_below) ** 2 - (h_more * f_below) ** 2 - g_less**2) / f_below
    down = (g_more * a) ** 2 + (h_less * b) ** 2 + g_both * a * b
    up = (h_more * a) ** 2 + (g_less * b) ** 2 + h_both * a * b
    return Component(
        value=max((a - b) / times, 0.0),
        low=max((a - b - math.sqrt(max(down, 0.0))) / times, 0.0),
        high=max((a - b + math.sqrt(max(up, 0.0))) / times, 0.0),
    )


def largest_layout(read: dict[object, dict[int, list[float]]]) -> tuple[FloatArray, tuple[int, ...]] | None:
    """Return the balanced layout within some readings that has most repeated, and its readers; None if there is none.

    Parameters
    ----------
    read : dict
        Readings by thing and reader, each in the order of its times.
    """
    best: FloatArray | None = None
    freedom, chosen = 0, tuple[int, ...]()
    for readers in dict.fromkeys(tuple(sorted(by_reader)) for by_reader in read.values()):
        shared = [each for each in read.values() if set(readers) <= set(each)]
        for times in sorted({min(len(each[reader]) for reader in readers) for each in shared}):
            used = [each for each in shared if min(len(each[reader]) for reader in readers) >= times]
            free = len(used) * len(readers) * (times - 1) + (len(used) - 1) * (len(readers) - 1)
            if free > freedom:
                best = np.array([[each[reader][:times] for reader in readers] for each in used])
                freedom, chosen = free, readers
    return None if best is None else (best, chosen)
