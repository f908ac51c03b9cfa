"""Pieces sawn from sheets: layouts that are accepted and refused, straight cuts, published ones, bounds, bad input."""

import itertools
import math
from collections import Counter
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.errors import InputError
from assembly.order.filling import filled
from assembly.order.layouts import Laid, SheetOnSale, fault_of
from assembly.order.sheets import fewest_sheets
from assembly.order.straight_cuts import saw_cuts, straight_cut
from assembly.order.wanted import Wanted

# Duijvestijn 1978: the squared square of the lowest order, 21 squares in a side of 112 (from memory, recomputed): the
# sides of the squares in the order in which they hang from the lowest level, the leftmost first (Bouwkamp's code).
SQUARED = ((50, 35, 27), (8, 19), (15, 17, 11), (6, 24), (29, 25, 9, 2), (7, 18), (16,), (42,), (4, 37), (33,))


BASE = "base of 300 x 190 mm does not go onto a sheet of"
TRIMMED = "of which 580 x 180 mm is left once 10 mm is trimmed off each edge"


def bare(length, width, **changed):
    """Return a sheet without kerf and trim, on which pieces may lie anyhow."""
    plain = SheetOnSale(length=length, width=width, kerf=0, edge_trim=0, straight=False, turn=True)
    return replace(plain, **changed)


def hung(code, side):
    """Return where each square of a Bouwkamp code lies: (side, x, y)."""
    levels, found = [0] * side, []
    for group in code:
        x = levels.index(min(levels))
        for each in group:
            assert len(set(levels[x : x + each])) == 1
            found.append((each, x, levels[x]))
            levels[x : x + each] = [levels[x] + each] * each
            x += each
    return found


def squared():
    """Return the squared square as sizes and a layout."""
    squares = hung(SQUARED, 112)
    sizes = [(float(side), float(side)) for side, _, _ in squares]
    return sizes, tuple(Laid(kind=i, x=x, y=y, turned=False) for i, (_, x, y) in enumerate(squares))


def test_a_squared_square_is_a_layout_that_no_straight_cuts_make():
    sizes, layout = squared()
    assert len(set(sizes)) == 21
    assert sum(length * width for length, width in sizes) == 112**2
    assert fault_of([layout], sizes, [1] * 21, bare(112, 112)) is None
    assert not straight_cut(layout, sizes, bare(112, 112))
    assert "goes beyond" in fault_of([layout], sizes, [1] * 21, bare(112, 111.99))
    assert "apart, under the kerf" in fault_of([layout], sizes, [1] * 21, bare(112, 112, kerf=0.01))


GRID = [(100.0, 50.0)]
FOUR = tuple(Laid(kind=0, x=10 + 103 * i, y=10 + 53 * j, turned=False) for i in (0, 1) for j in (0, 1))
SAWN = SheetOnSale(length=223, width=123, kerf=3, edge_trim=10, straight=True, turn=False)


@pytest.mark.parametrize(
    ("layout", "counts", "on_sale", "fault"),
    [
        (FOUR, [4], SAWN, None),
        (FOUR, [5], SAWN, "piece 1: 4 lie on the sheets, 5 are wanted"),
        (FOUR, [3], SAWN, "piece 1: 4 lie on the sheets, 3 are wanted"),
        (
            FOUR,
            [4],
            replace(SAWN, kerf=3.01),
            "sheet 1: piece 1 at 10 mm, 10 mm and piece 1 at 10 mm, 63 mm are 3 mm apart, under the kerf",
        ),
        (
            (*FOUR, FOUR[0]),
            [5],
            SAWN,
            "sheet 1: piece 1 at 10 mm, 10 mm and piece 1 at 10 mm, 10 mm overlap",
        ),
        (
            FOUR,
            [4],
            replace(SAWN, width=122.9),
            "sheet 1: piece 1 at 10 mm, 63 mm goes beyond the usable sheet by 0.1 mm",
        ),
        (
            (Laid(kind=0, x=10, y=10, turned=True),),
            [1],
            replace(SAWN, length=300),
            "sheet 1: piece 1 at 10 mm, 10 mm lies across",
        ),
        ((Laid(kind=0, x=10, y=10, turned=True),), [1], replace(SAWN, turn=True, width=120), None),
    ],
)
def test_faults_of_a_layout(layout, counts, on_sale, fault):
    assert fault_of([layout], GRID, counts, on_sale) == fault


def test_saw_cuts_of_a_grid():
    """Two by two pieces that fill the sheet: a cut along the middle, then one across each half; middles of kerfs."""
    cuts = saw_cuts(FOUR, GRID, SAWN)
    assert [(c.x, c.y, c.to_x, c.to_y) for c in cuts] == [
        (111.5, 10, 111.5, 113),
        (10, 61.5, 110, 61.5),
        (113, 61.5, 213, 61.5),
    ]


def test_saw_cuts_free_a_piece_of_all_that_is_left():
    """One piece away from both corners of a larger sheet: a cut at each of its four edges."""
    cuts = saw_cuts((Laid(kind=0, x=40, y=30, turned=False),), GRID, replace(SAWN, length=300, width=200))
    assert [(c.x, c.y, c.to_x, c.to_y) for c in cuts] == [
        (38.5, 10, 38.5, 190),
        (141.5, 10, 141.5, 190),
        (40, 28.5, 140, 28.5),
        (40, 81.5, 140, 81.5),
    ]


def test_a_cut_goes_through_where_a_kerf_does():
    pair = (Laid(kind=0, x=10, y=10, turned=False), Laid(kind=0, x=113, y=10, turned=False))
    assert straight_cut(pair, GRID, SAWN)
    assert not straight_cut(pair, GRID, replace(SAWN, kerf=3.01))


def test_four_pieces_round_a_middle_are_no_straight_cuts():
    """A pinwheel of 2 x 1 in 3 x 3, with and without the piece in the middle; one arm less and a cut goes through."""
    sizes = [(2.0, 1.0), (1.0, 1.0)]
    arms = (
        Laid(kind=0, x=0, y=0, turned=False),
        Laid(kind=0, x=2, y=0, turned=True),
        Laid(kind=0, x=1, y=2, turned=False),
        Laid(kind=0, x=0, y=1, turned=True),
    )
    whole = (*arms, Laid(kind=1, x=1, y=1, turned=False))
    assert fault_of([whole], sizes, [4, 1], bare(3, 3)) is None
    assert not straight_cut(arms, sizes, bare(3, 3))
    assert not straight_cut(whole, sizes, bare(3, 3))
    assert straight_cut(arms[:3], sizes, bare(3, 3))


@st.composite
def orders(draw):
    """Draw pieces and a sheet onto which each of them goes."""
    length, width, trim = draw(st.integers(200, 900)), draw(st.integers(200, 600)), draw(st.sampled_from([0, 5, 10]))
    inner = (length - 2 * trim, width - 2 * trim)
    kinds = draw(st.integers(1, 4))
    sizes = [(draw(st.integers(40, inner[0])), draw(st.integers(40, inner[1]))) for _ in range(kinds)]
    counts = [draw(st.integers(0, 8)) for _ in range(kinds)]
    on_sale = SheetOnSale(
        length=length,
        width=width,
        kerf=draw(st.sampled_from([0, 0.2, 3])),
        edge_trim=trim,
        straight=draw(st.booleans()),
        turn=draw(st.booleans()),
    )
    return sizes, counts, on_sale


@settings(max_examples=25)
@given(orders())
def test_every_plan_is_without_fault(order):
    sizes, counts, on_sale = order
    plan = fewest_sheets(sizes, counts, on_sale)
    assert fault_of(plan.sheets, sizes, counts, on_sale) is None
    assert not on_sale.straight or all(straight_cut(each, sizes, on_sale) for each in plan.sheets)
    area = sum(n * length * width for (length, width), n in zip(sizes, counts, strict=True))
    assert math.ceil(area / math.prod(on_sale.usable) - 1e-9) <= plan.bound <= len(plan.sheets) <= sum(counts)
    assert list(plan.sheets) == sorted(plan.sheets, key=plan.sheets.index)  # alike ones together
    assert (plan.beyond, plan.proved) == (len(plan.sheets) - plan.bound, len(plan.sheets) == plan.bound)


@cache
def go_on_one(pieces, room, *, straight, turn):
    """Tell whether whole-numbered pieces go onto a sheet, by trying every place, or every cut; slow and simple."""
    lying = [
        way for way in {pieces[0], pieces[0][::-1] if turn else pieces[0]} if way[0] <= room[0] and way[1] <= room[1]
    ]
    if straight:
        return (len(pieces) == 1 and bool(lying)) or any(
            go_on_one(some, part, straight=True, turn=turn) and go_on_one(others, rest, straight=True, turn=turn)
            for some, others in parted(pieces)
            for part, rest in cuts(room)
        )
    return placed((), pieces, room, turn)


def parted(pieces):
    """Yield every way to part pieces in two, neither of them empty."""
    for chosen in itertools.product((True, False), repeat=len(pieces)):
        some, others = (tuple(p for p, c in zip(pieces, chosen, strict=True) if c == which) for which in (True, False))
        if some and others:
            yield some, others


def cuts(room):
    for at in range(1, room[0]):
        yield (at, room[1]), (room[0] - at, room[1])
    for at in range(1, room[1]):
        yield (room[0], at), (room[0], room[1] - at)


def placed(boxes, pieces, room, turn):
    """Tell whether pieces go beside boxes that lie on a sheet already."""
    if not pieces:
        return True
    for length, width in {pieces[0], pieces[0][::-1] if turn else pieces[0]}:
        for x, y in itertools.product(range(room[0] - length + 1), range(room[1] - width + 1)):
            box = (x, y, x + length, y + width)
            if all(box[2] <= b[0] or b[2] <= box[0] or box[3] <= b[1] or b[3] <= box[1] for b in boxes) and placed(
                (*boxes, box), pieces[1:], room, turn
            ):
                return True
    return False


def brute_force(pieces, room, *, straight, turn):
    """Return the fewest sheets, by putting every set of pieces that go onto one on the first."""
    if not pieces:
        return 0
    first = [
        pieces[:1] + tuple(p for p, c in zip(pieces[1:], chosen, strict=True) if c) for chosen in subsets(pieces[1:])
    ]
    return 1 + min(
        brute_force(tuple((Counter(pieces) - Counter(some)).elements()), room, straight=straight, turn=turn)
        for some in first
        if go_on_one(tuple(sorted(some)), room, straight=straight, turn=turn)
    )


def subsets(pieces):
    return itertools.product((True, False), repeat=len(pieces))


@settings(max_examples=25)
@given(st.data())
def test_few_pieces_against_brute_force(data):
    """Up to five small pieces: as few sheets as any, and proved, but for straight cuts, whose bound may be lower."""
    room = data.draw(st.integers(4, 9)), data.draw(st.integers(4, 7))
    kerf, straight, turn = data.draw(st.sampled_from([0, 1])), data.draw(st.booleans()), data.draw(st.booleans())
    sizes = data.draw(st.lists(st.tuples(st.integers(1, room[0]), st.integers(1, room[1])), min_size=1, max_size=3))
    counts = [data.draw(st.integers(1, 2)) for _ in sizes]
    if sum(counts) > 5:
        counts = [1] * len(sizes)
    on_sale = SheetOnSale(length=room[0] + 2, width=room[1] + 2, kerf=kerf, edge_trim=1, straight=straight, turn=turn)
    plan = fewest_sheets(sizes, counts, on_sale)
    assert fault_of(plan.sheets, sizes, counts, on_sale) is None
    pieces = [(x + kerf, y + kerf) for (x, y), n in zip(sizes, counts, strict=True) for _ in range(n)]
    least = brute_force(tuple(sorted(pieces)), (room[0] + kerf, room[1] + kerf), straight=straight, turn=turn)
    assert plan.bound <= least == len(plan.sheets)
    assert plan.proved or straight
    if not straight:
        wanted = Wanted(
            sizes=tuple((x + kerf, y + kerf) for x, y in sizes),
            counts=tuple(counts),
            room=(room[0] + kerf, room[1] + kerf),
            straight=False,
            turn=turn,
        )
        assert least == 1 or filled(wanted, least - 1, nodes=5_000) == (None, True)
        found, none = filled(wanted, least, nodes=5_000)
        assert (len(found), none) == (least, False)


def test_a_square_lies_in_one_way():
    wanted = Wanted(sizes=((3, 3), (3, 2)), counts=(1, 1), room=(9, 9), straight=False, turn=True)
    assert [(way.kind, way.turned) for way in wanted.ways] == [(0, False), (1, False), (1, True)]


def test_nothing_wanted_is_an_empty_plan():
    for sizes, counts in (([], []), ([(100, 100)], [0]), ([(5000, 100)], [0])):
        plan = fewest_sheets(sizes, counts, bare(600, 300))
        assert (plan.sheets, plan.bound, plan.proved) == ((), 0, True)


@pytest.mark.parametrize(
    ("on_sale", "message"),
    [
        (
            bare(600, 200, edge_trim=10),
            f"{BASE} 600 x 200 mm, {TRIMMED}; take sheets of at least 320 x 210 mm",
        ),
        (
            bare(200, 600, turn=False),
            f"{BASE} 200 x 600 mm, and it may not be turned; take sheets of at least 300 x 190 mm",
        ),
    ],
)
def test_pieces_that_are_refused(on_sale, message):
    with pytest.raises(InputError) as refused:
        fewest_sheets([(100, 100), (300, 190)], [1, 1], on_sale, names=("lid", "base"))
    assert str(refused.value) == message
    assert fewest_sheets([(100, 100), (300, 190)], [1, 0], on_sale).proved


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"kerf": -1}, "sheet of 600 x 300 mm: kerf is -1 mm, must be 0 mm or more"),
        ({"edge_trim": math.nan}, "sheet of 600 x 300 mm: edge trim is nan mm, must be 0 mm or more"),
        ({"width": math.inf}, "sheet of 600 x inf mm: width is inf mm, must be over 0 mm"),
        (
            {"edge_trim": 150},
            "sheet of 600 x 300 mm: 150 mm trimmed off each edge leaves nothing; trim less or take larger sheets",
        ),
    ],
)
def test_sheets_that_are_refused(changed, message):
    with pytest.raises(InputError) as refused:
        replace(bare(600, 300), **changed)
    assert str(refused.value) == message
