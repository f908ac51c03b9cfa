"""Best straight-cut layouts, bounds and the order of cuts, each held to a second method on small whole numbers."""

import math
from collections import Counter
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.order.covering import covered
from assembly.order.layouts import Box, Laid, SheetOnSale, fault_of, inside_of
from assembly.order.pinwheels import best_pinwheel
from assembly.order.sheet_bounds import by_bars, by_shares, needed_room
from assembly.order.straight_cuts import saw_cuts
from assembly.order.straight_layouts import best_layouts, layout_of, smallest_part
from assembly.order.wanted import Wanted


def boxes_of(sheet, wanted):
    """Return the rectangles of a layout in units."""
    sizes = [wanted.sizes[kind][::-1] if turned else wanted.sizes[kind] for kind, _, _, turned in sheet]
    return [Box(x, y, x + a, y + b) for (_, x, y, _), (a, b) in zip(sheet, sizes, strict=True)]


def apart(boxes):
    return all(
        a.right <= b.left or b.right <= a.left or a.high <= b.low or b.high <= a.low
        for i, a in enumerate(boxes)
        for b in boxes[:i]
    )


@st.composite
def rooms(draw):
    """Draw a sheet of a few units and pieces that go onto it, with a value each."""
    room = draw(st.integers(4, 16)), draw(st.integers(4, 12))
    sizes = draw(
        st.lists(st.tuples(st.integers(2, room[0]), st.integers(2, room[1])), min_size=1, max_size=3, unique=True)
    )
    turn = draw(st.booleans())
    values = tuple(draw(st.integers(1, 50)) for _ in sizes)
    return Wanted(sizes=tuple(sizes), counts=(99,) * len(sizes), room=room, straight=True, turn=turn), values


@settings(max_examples=25)
@given(rooms())
def test_the_best_layout_against_every_cut(drawn):
    """The same value by recursion over every whole-numbered cut, and a layout that has it."""
    wanted, values = drawn

    @cache
    def most(x, y):
        alone = [values[way.kind] for way in wanted.ways if way.along <= x and way.across <= y]
        along = [most(at, y) + most(x - at, y) for at in range(1, x // 2 + 1)]
        across = [most(x, at) + most(x, y - at) for at in range(1, y // 2 + 1)]
        return max([0, *alone, *along, *across])

    layouts = best_layouts(wanted.ways, wanted.room, values)
    assert layouts.exact
    assert layouts.most == most(*wanted.room)
    sheet = layout_of(layouts, -1, -1)
    assert sum(values[kind] for kind, *_ in sheet) == layouts.most
    boxes = boxes_of(sheet, wanted)
    assert apart(boxes)
    assert all(box.right <= wanted.room[0] and box.high <= wanted.room[1] for box in boxes)


@settings(max_examples=25)
@given(rooms(), st.integers(1, 200))
def test_the_smallest_part_of_a_value(drawn, value):
    """Of all parts as wide or as long as the sheet that have so much, none is smaller."""
    wanted, values = drawn
    layouts = best_layouts(wanted.ways, wanted.room, values)
    value = min(value, layouts.most)
    x, y = smallest_part(layouts, value)
    assert layouts.best[x, y] >= value
    along, across = layouts.along.at, layouts.across.at
    areas = [along[i] * across[-1] for i in range(len(along)) if layouts.best[i, -1] >= value]
    areas += [along[-1] * across[j] for j in range(len(across)) if layouts.best[-1, j] >= value]
    assert along[x] * across[y] == min(areas)


@settings(max_examples=25)
@given(rooms())
def test_a_pinwheel_is_a_layout(drawn):
    wanted, values = drawn
    value, sheet = best_pinwheel(best_layouts(wanted.ways, wanted.room, values))
    boxes = boxes_of(sheet, wanted)
    assert sum(values[kind] for kind, *_ in sheet) == value
    assert apart(boxes)
    assert all(box.right <= wanted.room[0] and box.high <= wanted.room[1] for box in boxes)


@settings(max_examples=25)
@given(rooms(), st.integers(1, 40))
def test_a_choice_among_layouts(drawn, count):
    """From layouts of single pieces it gets to a plan of all that is wanted, and to what each kind alone asks for."""
    wanted, _ = drawn
    wanted = replace(wanted, counts=(count,) * len(wanted.sizes))
    singles = [[(way.kind, 0, 0, way.turned)] for way in wanted.ways]
    plan, bound = covered(wanted, singles)
    assert Counter(kind for sheet in plan for kind, *_ in sheet) == Counter(dict(enumerate(wanted.counts)))
    assert all(apart(boxes_of(sheet, wanted)) for sheet in plan)
    alone = [
        best_layouts(wanted.ways, wanted.room, tuple(int(i == kind) for i in range(len(wanted.sizes)))).most
        for kind in range(len(wanted.sizes))
    ]
    assert max(math.ceil(count / most) for most in alone) <= bound <= len(plan)
    if len(alone) == 1:
        assert bound == len(plan) == math.ceil(count / alone[0])


def test_bars_prove_what_shares_do_not():
    """Blanks of 92 x 77 turned as they like, 3 of kerf, on 600 x 400: not 31 on a sheet, as straight cuts' 30 are most.

    Shares alone leave 31 possible. That none goes on is a linear programme's word; that straight cuts get 30 and no
    more is a recursion's.
    """
    wanted = Wanted(sizes=((95, 80),), counts=(31,), room=(603, 403), straight=False, turn=True)
    assert best_layouts(wanted.ways, wanted.room, (1,)).most == 30
    assert (by_shares(needed_room(wanted)), by_bars(needed_room(wanted))) == (1, 2)
    wanted = Wanted(sizes=((95, 80),), counts=(30,), room=(603, 403), straight=False, turn=True)
    assert by_bars(needed_room(wanted)) == 1


def test_bars_prove_what_no_share_of_one_kind_by_another_does():
    """On a sheet as wide as they are, 10 long, 3 and 4 count for 1/4 and 1/2: 3 3 3, 4 3 3 and 4 4 make 1 at the most.

    So 5 and 12 of them take 5/4 + 12/2 = 7.25 sheets, where dual feasible functions prove 7.
    """
    narrow = Wanted(sizes=((3, 1), (4, 1)), counts=(5, 12), room=(10, 1), straight=False, turn=False)
    assert (by_shares(narrow), by_bars(narrow)) == (7, math.ceil(5 / 4 + 12 / 2))
    narrow = replace(narrow, counts=(4, 12))
    assert by_bars(narrow) == 4 / 4 + 12 / 2
    sizes = ((105, 123), (155, 100), (207, 139), (232, 73))
    four = Wanted(sizes=sizes, counts=(5, 15, 23, 8), room=(373, 372), straight=False, turn=True)
    assert (by_shares(needed_room(four)), by_bars(needed_room(four))) == (8, 9)


def test_pieces_over_half_of_a_sheet_both_ways_lie_alone():
    """Area asks for three sheets, the product of two dual feasible functions for seven."""
    wanted = Wanted(sizes=((51, 52),), counts=(7,), room=(100, 100), straight=False, turn=True)
    assert math.ceil(7 * 51 * 52 / 100**2) == 2
    assert by_shares(wanted) == 7


def test_room_that_pieces_can_not_use():
    """Of 175 x 93 turned as they like, 603 x 303 has use for 558 x 279: six times 93, and three times 93."""
    wanted = Wanted(sizes=((175, 93),), counts=(10,), room=(603, 303), straight=False, turn=True)
    assert needed_room(wanted).room == (558, 279)
    assert 558 * 279 / (175 * 93) < 10 < 603 * 303 / (175 * 93)
    assert by_shares(needed_room(wanted)) == 2


def test_pieces_on_a_sheet_are_whole():
    """Of 183 x 113 the usable 1001 x 479 has room for 23.19 by area, so 23, and 921 of them take 41 sheets, not 40."""
    wanted = Wanted(sizes=((183, 113),), counts=(921,), room=(1003, 503), straight=False, turn=True)
    assert needed_room(wanted).room == (3 * 183 + 4 * 113, 2 * 183 + 113) == (1001, 479)
    assert math.ceil(921 * 183 * 113 / (1001 * 479)) == 40
    assert by_shares(needed_room(wanted)) == math.ceil(921 / 23) == 41


def sawn(cuts, on_sale):
    """Return the regions that cuts leave, one after the other, each from edge to edge of a region that there is."""
    regions, half = {inside_of(on_sale)}, on_sale.kerf / 2
    for cut in cuts:
        if cut.x == cut.to_x:
            region = next(r for r in regions if (r.low, r.high) == (cut.y, cut.to_y) and r.left <= cut.x <= r.right)
            parts = (
                Box(region.left, region.low, cut.x - half, region.high),
                Box(cut.x + half, region.low, region.right, region.high),
            )
        else:
            region = next(r for r in regions if (r.left, r.right) == (cut.x, cut.to_x) and r.low <= cut.y <= r.high)
            parts = (
                Box(region.left, region.low, region.right, cut.y - half),
                Box(region.left, cut.y + half, region.right, region.high),
            )
        regions = regions - {region} | set(parts)
    return regions


@settings(max_examples=25)
@given(st.data())
def test_cuts_saw_out_every_piece(data):
    """A sheet cut up at random: some of its parts are a layout, whose cuts, sawn in their order, leave those parts."""
    on_sale = SheetOnSale(length=340, width=220, kerf=4, edge_trim=10, straight=True, turn=False)
    parts = [inside_of(on_sale)]
    for _ in range(data.draw(st.integers(0, 8))):
        part = parts.pop(data.draw(st.integers(0, len(parts) - 1)))
        axis = data.draw(st.sampled_from([0, 1]))
        low, high = (part.low, part.high) if axis else (part.left, part.right)
        if high - low < 30:
            parts.append(part)
            continue
        at = data.draw(st.integers(int(low) + 10, int(high) - 14))
        parts += (
            [Box(part.left, part.low, part.right, at), Box(part.left, at + 4, part.right, part.high)]
            if axis
            else [Box(part.left, part.low, at, part.high), Box(at + 4, part.low, part.right, part.high)]
        )
    kept = [part for part in parts if data.draw(st.booleans())] or parts[:1]
    sizes = [(part.right - part.left, part.high - part.low) for part in kept]
    layout = tuple(Laid(kind=i, x=part.left, y=part.low, turned=False) for i, part in enumerate(kept))
    assert fault_of([layout], sizes, [1] * len(sizes), on_sale) is None
    cuts = saw_cuts(layout, sizes, on_sale)
    assert set(kept) <= sawn(cuts, on_sale)


@pytest.mark.parametrize(("side", "pitch"), [(97.07, 100.07), (97.0686, 100.069)])
def test_what_is_left_by_rounding_to_units_is_no_strip(side, pitch):
    """Squares in three rows of four: a cut above each row, then one to the right of each square, 3 + 3 x 4.

    They lie in whole units: squares of 97.0686 leave 0.4 µm beside each kerf.
    """
    on_sale = SheetOnSale(length=600, width=400, kerf=3, edge_trim=10, straight=True, turn=True)
    layout = tuple(
        Laid(kind=0, x=10 + pitch * column, y=10 + pitch * row, turned=False) for row in range(3) for column in range(4)
    )
    assert fault_of([layout], [(side, side)], [12], on_sale) is None
    cuts = saw_cuts(layout, [(side, side)], on_sale)
    assert len(cuts) == 3 + 3 * 4
    assert [cut.y == cut.to_y for cut in cuts[:4]] == [True, True, True, False]
