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
    from assembly.order.wanted import Wanted

LOOKED_AT = 20_000  # patterns of bars; where there are more, the bound does without them
LISTED = 1_000
NODES = 200  # of the search for how many pieces go onto a sheet


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
    """Return the bound of bars for all pieces and by how many go onto a sheet; 0 where patterns are too many."""
    from assembly.limit_case.solver import solve  # noqa: PLC0415 - only where shares prove too little

    along, across = (_bars(wanted, axis) for axis in (0, 1))
    if along is None or across is None:
        return 0
    fewest = solve(_fewest(wanted, along, across))
    most = solve(_most_of_a_sheet(wanted, along, across), nodes=NODES)
    found = fewest.whole_bound or 0
    if most.whole_bound is not None:
        found = max(found, -(-sum(wanted.counts) // -most.whole_bound))
    return found


def _bars(wanted: Wanted, axis: int) -> FloatArray | None:
    """Return the patterns of bars along an axis beside which nothing goes in, (ways, patterns); None if too many."""
    room, sizes = wanted.room[axis], tuple(way[1 + axis] for way in wanted.ways)
    stock = Stock(sizes=sizes, counts=tuple(room // size for size in sizes), room=room)
    looked_at = list(islice(patterns(stock), LOOKED_AT + 1))
    found = [pattern for pattern in looked_at if maximal(stock, pattern)]
    return np.array(found, dtype=float).T if len(looked_at) <= LOOKED_AT and len(found) <= LISTED else None


def _strips(wanted: Wanted, along: FloatArray, across: FloatArray) -> FloatArray:
    """Return the rows that are to be 0 or more: bars hold the strips of all pieces, and sheets hold the bars.

    Variables: how many pieces lie in each way; how often each bar is sawn, as a share of the bars of a sheet; sheets.
    """
    ways, p, q = wanted.ways, along.shape[1], across.shape[1]
    width = np.array([way.across for way in ways]) / wanted.room[1]
    length = np.array([way.along for way in ways]) / wanted.room[0]
    w, none = len(ways), np.zeros
    return np.vstack(
        [
            np.hstack([-np.diag(width), along, none((w, q)), none((w, 1))]),
            np.hstack([-np.diag(length), none((w, p)), across, none((w, 1))]),
            np.hstack([none((1, w)), -np.ones((1, p)), none((1, q)), np.ones((1, 1))]),
            np.hstack([none((1, w)), none((1, p)), -np.ones((1, q)), np.ones((1, 1))]),
        ]
    )


def _fewest(wanted: Wanted, along: FloatArray, across: FloatArray) -> Programme:
    """Return the programme of the fewest sheets for all that is wanted."""
    from assembly.limit_case.solver import Programme, Rows  # noqa: PLC0415 - only where shares prove too little

    strips = _strips(wanted, along, across)
    of_kind = np.zeros((len(wanted.sizes), strips.shape[1]))
    for at, way in enumerate(wanted.ways):
        of_kind[way.kind, at] = 1.0
    counts, size = np.array(wanted.counts, dtype=float), strips.shape[1]
    return Programme(
        cost=1.0 * (np.arange(size) == size - 1),
        rows=[
            Rows(strips, np.zeros(len(strips)), np.full(len(strips), np.inf)),
            Rows(of_kind, counts, np.full(len(counts), np.inf)),
        ],
        least=np.zeros(size),
        most=np.full(size, np.inf),
        whole=np.zeros(size, dtype=bool),
    )


def _most_of_a_sheet(wanted: Wanted, along: FloatArray, across: FloatArray) -> Programme:
    """Return the programme of the most pieces, in whole numbers and of whatever kind, that go onto one sheet."""
    from assembly.limit_case.solver import Programme, Rows  # noqa: PLC0415 - only where shares prove too little

    strips = _strips(wanted, along, across)
    pieces = np.arange(strips.shape[1]) < len(wanted.ways)
    most = np.full(strips.shape[1], np.inf)
    most[-1] = 1.0
    return Programme(
        cost=-pieces.astype(float),
        rows=[Rows(strips, np.zeros(len(strips)), np.full(len(strips), np.inf))],
        least=np.zeros(len(most)),
        most=most,
        whole=pieces,
    )
