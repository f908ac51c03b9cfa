"""Lower bounds on how many sheets rectangles take.

share : of a sheet, that a piece counts for, such that pieces on one sheet never have over 1 together: the product of a
        dual feasible function of lengths and one of widths (Fekete and Schepers 2004, from memory). A piece that may be
        turned counts with the smaller of its two shares
bar   : a piece sawn into strips one unit wide. Strips along the sheet go into as many bars as the sheet is wide, strips
        across into as many as it is long; each bar has a pattern. Who fills sheets does both at once, so a linear
        programme over the patterns of bars is a bound (Scheithauer and Terno 1996, from memory)
room  : pushed together towards a corner, pieces need no more of a sheet than the largest sums of their sizes that go in
"""

from __future__ import annotations

from dataclasses import replace
from itertools import islice
from typing import TYPE_CHECKING

import numpy as np

from assembly.order.dual_feasible import NOISE, shares, whole
from assembly.order.patterns import Stock, maximal, patterns
from assembly.order.straight_layouts import sums

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.limit_case.solver import Programme
    from assembly.order.patterns import Pattern
    from assembly.order.wanted import Wanted

LOOKED_AT = 20_000  # patterns of bars; where there are more, the bound does without them
LISTED = 1_000
NODES = 200  # of the search for how many of one kind go onto a sheet


def needed_room(wanted: Wanted) -> Wanted:
    """Return the same pieces on the part of a sheet that they can make use of."""
    sides = [{way.along for way in wanted.ways}, {way.across for way in wanted.ways}]
    found = [sums(side, room) for side, room in zip(sides, wanted.room, strict=True)]
    x, y = (room if at is None else int(at[-1]) for at, room in zip(found, wanted.room, strict=True))
    return replace(wanted, room=(x, y))


def sheet_shares(wanted: Wanted) -> FloatArray:
    """Return the shares of a sheet that each pair of functions gives to the kinds: (pairs, kinds)."""
    ways = wanted.ways
    along = np.array(shares(wanted.room[0], [way.along for way in ways]))
    across = np.array(shares(wanted.room[1], [way.across for way in ways]))
    lying = (along[:, None, :] * across[None, :, :]).reshape(-1, len(ways))
    found = np.full((len(lying), len(wanted.sizes)), np.inf)
    for each, way in zip(lying.T, ways, strict=True):
        found[:, way.kind] = np.minimum(found[:, way.kind], each)
    found[~np.isfinite(found)] = 0.0  # a kind that is not wanted
    return found


def by_shares(wanted: Wanted) -> int:
    """Return the bound of all pairs of functions, for all kinds together and for each by itself."""
    found, counts = sheet_shares(wanted), np.array(wanted.counts)
    on_a_sheet = np.floor(1 / np.maximum(found.max(axis=0), NOISE) + NOISE)
    return max(whole(float((found @ counts).max())), int(np.ceil(counts / on_a_sheet).max()))


def by_bars(wanted: Wanted) -> int:
    """Return the bound of bars, of a single kind by how many go onto a sheet; 0 where their patterns are too many."""
    from assembly.limit_case.solver import solve  # noqa: PLC0415 - only where shares prove too little

    bars = [_bars(wanted, axis) for axis in (0, 1)]
    if any(each is None for each in bars):
        return 0
    kinds = [kind for kind, n in enumerate(wanted.counts) if n]
    programme = _programme(wanted, [each for each in bars if each is not None], single=len(kinds) == 1)
    found = solve(programme, nodes=NODES)
    if not np.isfinite(found.bound):
        return 0
    if len(kinds) > 1:
        return whole(found.bound)
    most = int(np.floor(-found.bound + 1e-6))
    return -(-wanted.counts[kinds[0]] // most)


def _bars(wanted: Wanted, axis: int) -> list[Pattern] | None:
    """Return the patterns of bars along an axis beside which nothing goes in; None where they are too many."""
    room, sizes = wanted.room[axis], tuple(way[1 + axis] for way in wanted.ways)
    stock = Stock(sizes=sizes, counts=tuple(room // size for size in sizes), room=room)
    looked_at = list(islice(patterns(stock), LOOKED_AT + 1))
    found = [pattern for pattern in looked_at if maximal(stock, pattern)]
    return found if len(looked_at) <= LOOKED_AT and len(found) <= LISTED else None


def _programme(wanted: Wanted, bars: list[list[Pattern]], *, single: bool) -> Programme:
    """Return the programme of bars: the fewest sheets for all, or the most of a single kind on one sheet.

    Variables: how many pieces lie in each way; how often each bar is sawn, as a share of the bars of a sheet; sheets.
    """
    from assembly.limit_case.solver import Programme, Rows  # noqa: PLC0415 - only where shares prove too little

    ways = wanted.ways
    along, across = (np.array(each, dtype=float).T for each in bars)
    w, p, q = len(ways), along.shape[1], across.shape[1]
    width = np.array([way.across for way in ways]) / wanted.room[1]
    length = np.array([way.along for way in ways]) / wanted.room[0]
    none, inf = np.zeros, np.inf
    strips = np.vstack(
        [
            np.hstack([-np.diag(width), along, none((w, q)), none((w, 1))]),
            np.hstack([-np.diag(length), none((w, p)), across, none((w, 1))]),
            np.hstack([none((1, w)), -np.ones((1, p)), none((1, q)), np.ones((1, 1))]),
            np.hstack([none((1, w)), none((1, p)), -np.ones((1, q)), np.ones((1, 1))]),
        ]
    )
    rows = [Rows(strips, none(2 * w + 2), np.full(2 * w + 2, inf))]
    cost = none(w + p + q + 1)
    most = np.full(len(cost), inf)
    if single:
        cost[:w], most[-1] = -1.0, 1.0
    else:
        cost[-1] = 1.0
        kinds = sorted({way.kind for way in ways})
        of_kind = np.array([[float(way.kind == kind) for way in ways] for kind in kinds])
        counts = np.array([wanted.counts[kind] for kind in kinds], dtype=float)
        rows.append(Rows(np.hstack([of_kind, none((len(kinds), p + q + 1))]), counts, np.full(len(kinds), inf)))
    whole_ones = np.arange(len(cost)) < w if single else np.zeros(len(cost), dtype=bool)
    return Programme(cost=cost, rows=rows, least=none(len(cost)), most=most, whole=whole_ones)
