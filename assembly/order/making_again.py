"""A maker's walls, each made until it is good: a compiled loop over makers, walls and blanks (MODEL.md, 2.5).

own   : what stays the same however often a maker makes a wall: bias, class part and maker part of each error
blank : a piece of timber that a wall is made from; a fresh one brings fresh cut parts of every error
fault : why a wall is spoilt: it is too short, a lap is cut too deep, or a tongue is too thin
given up : a wall that is spoilt from so many blanks in a row that no further one is tried
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from assembly.compiled import kernel

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray
    from assembly.planning.cutting import WallKind

# The errors that decide whether a wall is spoilt, in the order of the rows of `Errors`.
QUANTITIES = (
    "mark.offset",
    "square.plan",
    "square.upright",
    "saw.offset",
    "saw.plan",
    "saw.upright",
    "sand.offset",
    "sand.plan",
    "sand.upright",
    "lap_mark.offset",
    "lap_saw.offset",
    "lap_saw.plan",
    "lap_saw.upright",
    "gauge.offset",
    "chisel.offset",
    "chisel.along",
    "chisel.upright",
    "chisel.uneven",
    "stock.thickness",
)
_END = tuple(range(1, 9))  # of those, what is drawn at one end of a wall: its line, sawn and sanded
_LAP = (9, 10, 11, 12, 1, 2, 13, 14, 15, 16, 17, 17, 17, 17)  # and at one lap: shoulder, then cheek
OF_LENGTH = np.array((0, *_END, *_END))  # what is drawn for a wall's length, and for the rest of a lapped wall
OF_LAPS = np.array((18, *_LAP, *_LAP))
KINDS: tuple[WallKind, ...] = ("lapped", "plain")
_LAPPED, _PLAIN = range(2)
FAULTS = ("short", "overcut", "tongue")  # named as what `scrap` allows
_GOOD, _SHORT, _OVERCUT, _THIN = range(-1, 3)
FAMILIES = ("normal", "uniform", "triangular")
_NORMAL, _UNIFORM = 0, 1
_HALF_UNIFORM, _HALF_TRIANGULAR = math.sqrt(3), math.sqrt(6)  # half-width over standard deviation
BLANKS = 100  # from which a wall is spoilt before it is given up


class Shop(NamedTuple):
    """What is made and when it is spoilt; mm."""

    lapped: float
    plain: float
    height: float
    depth: float
    tongue: float
    short: float
    overcut: float
    thin: float
    notice: float
    pare_bias: float
    pare_spread: float
    rounds: int
    gauged_inside: bool
    along_part: bool  # whether shoulders are marked along the plain wall itself


class Made(NamedTuple):
    """What comes of a block's makers, two walls of a kind each."""

    spoilt: IntArray  # (makers, kinds) blanks from which a wall was spoilt
    first: IntArray  # (makers, kinds) walls that were spoilt from their first blank
    given_up: IntArray  # (kinds, faults) walls, by what was wrong with the last blank of each


def make(rng: np.random.Generator, own: FloatArray, cut: FloatArray, families: IntArray, shop: Shop) -> Made:
    """Return what comes of every maker of a block, one after another, each error from the next number of `rng`.

    Parameters
    ----------
    rng : Generator
        What it draws depends on the makers before, so that fewer makers are the start of more.
    own : (makers, quantities)
        Bias, class part and maker part of each error, mm and radians.
    cut : (classes, quantities)
        Standard deviations of the cut parts; as many makers in a row share one.
    families : (quantities,)
        Of the cut parts, by place in `FAMILIES`.
    shop : Shop
        What is made and when it is spoilt.
    """
    makers = len(own)
    made = Made(
        spoilt=np.zeros((makers, len(KINDS)), np.int64),
        first=np.zeros((makers, len(KINDS)), np.int64),
        given_up=np.zeros((len(KINDS), len(FAULTS)), np.int64),
    )
    _make(rng, own, cut, families, shop, *made)
    return made


@kernel
def _make(
    rng: np.random.Generator,
    own: FloatArray,
    cut: FloatArray,
    families: IntArray,
    shop: Shop,
    spoilt: IntArray,
    first: IntArray,
    given_up: IntArray,
) -> None:
    """Make four walls for each maker, the plain ones first, as laps are tried with them."""
    size = len(own) // len(cut)
    mates, length, laps = np.zeros(2), np.zeros(len(OF_LENGTH)), np.zeros(len(OF_LAPS))
    heights = np.zeros((2, 8))
    for maker in range(len(own)):
        mine, spread = own[maker], cut[maker // size]
        for wall in range(4):
            kind = _PLAIN if wall < 2 else _LAPPED
            width = shop.plain if kind == _PLAIN else shop.lapped
            fault, blank = _SHORT, 0
            while fault != _GOOD and blank < BLANKS:
                _draw(rng, OF_LENGTH, mine, spread, families, length)
                fault = _SHORT if _least_length(length, width, shop.height) < -shop.short else _GOOD
                if kind == _LAPPED and fault == _GOOD:
                    _draw(rng, OF_LAPS, mine, spread, families, laps)
                    _lap_heights(laps, mates, shop, heights)
                    thin = shop.thin - shop.tongue - (laps[0] if shop.gauged_inside else 0.0)
                    fault = _laps_fault(rng, heights, thin, shop)
                if fault != _GOOD:
                    spoilt[maker, kind] += 1
                    first[maker, kind] += blank == 0
                blank += 1
            if fault != _GOOD:
                given_up[kind, fault] += 1
            if kind == _PLAIN and not shop.along_part:
                _draw(rng, OF_LAPS[:1], mine, spread, families, mates[wall : wall + 1])


@kernel
def _draw(
    rng: np.random.Generator, rows: IntArray, own: FloatArray, cut: FloatArray, families: IntArray, out: FloatArray
) -> None:
    """Draw the errors `rows` afresh: what is the maker's own, and a cut part each."""
    for i in range(len(rows)):
        at = rows[i]
        unit = 0.0
        if cut[at] > 0:
            if families[at] == _NORMAL:
                unit = rng.standard_normal()
            elif families[at] == _UNIFORM:
                unit = (2 * rng.random() - 1) * _HALF_UNIFORM
            else:
                unit = (rng.random() - rng.random()) * _HALF_TRIANGULAR
        out[i] = own[at] + cut[at] * unit


@kernel
def _least_length(x: FloatArray, width: float, height: float) -> float:
    """Return by how much the shortest of a wall's four long edges is longer than meant, from `OF_LENGTH`."""
    outer_top = outer_bottom = inner_top = inner_bottom = x[0]
    for end in range(1, 17, 8):
        sawn, sanded = x[end + 2], x[end + 5]
        v, w = (x[end] + x[end + 3]) * (width / 2), (x[end + 1] + x[end + 4]) * (height / 2)
        p, q = (x[end] + x[end + 6]) * (width / 2), (x[end + 1] + x[end + 7]) * (height / 2)
        outer_top += min(sawn + v + w, sanded + p + q)
        outer_bottom += min(sawn + v - w, sanded + p - q)
        inner_top += min(sawn - v + w, sanded - p + q)
        inner_bottom += min(sawn - v - w, sanded - p - q)
    least: float = min(outer_top, outer_bottom, inner_top, inner_bottom)
    return least


@kernel
def _lap_heights(x: FloatArray, mates: FloatArray, shop: Shop, heights: FloatArray) -> None:
    """Work out the corners of both laps as they are cut, shoulder then cheek: `heights` (2, 8), from `OF_LAPS`."""
    for lap in range(2):
        at, out = 1 + 14 * lap, heights[lap]
        shoulder, cheek = mates[lap] + x[at + 1] - x[at], x[at + 6] + x[at + 7]
        v, w = (x[at + 2] + x[at + 4]) * (shop.depth / 2), (x[at + 3] + x[at + 5]) * (shop.height / 2)
        p, q = x[at + 8] * (shop.plain / 2), x[at + 9] * (shop.height / 2)
        out[0], out[1], out[2], out[3] = shoulder - v - w, shoulder - v + w, shoulder + v - w, shoulder + v + w
        out[4], out[5], out[6], out[7] = cheek - p - q, cheek - p + q, cheek + p - q, cheek + p + q
        for corner in range(4):
            out[4 + corner] += x[at + 10 + corner]


@kernel
def _laps_fault(rng: np.random.Generator, heights: FloatArray, thin: float, shop: Shop) -> int:
    """Return what is wrong with laps once their corners are pared, the first thing that shows."""
    for lap in range(2):
        for corner in range(8):
            left = heights[lap, corner]
            for _ in range(shop.rounds):
                if left <= shop.notice:
                    break
                left = min(left, shop.pare_bias + shop.pare_spread * rng.standard_normal())
            if left < -shop.overcut:
                return _OVERCUT
            if corner > 3 and left < thin:
                return _THIN
    return _GOOD
