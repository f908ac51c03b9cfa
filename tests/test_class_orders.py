"""Classes of 26 and of 120 makers of the shipped designs: every count of lengths and sheets on sale is proved least."""

import itertools
import math

import pytest
from orders import DESIGNS, LENGTHS, SHEETS, length, needed, sheet

from assembly.order.layouts import fault_of
from assembly.order.lengths import fewest_lengths
from assembly.order.sheets import fewest_sheets
from assembly.order.straight_cuts import saw_cuts

CLASSES = list(itertools.product(DESIGNS, (26, 120)))


@pytest.mark.parametrize(("design", "makers"), CLASSES)
@pytest.mark.parametrize("on_sale", LENGTHS)
def test_lengths_of_a_class(design, makers, on_sale):
    """Each section of a shipped design has walls of one kind; how many go into a length is worked out by hand."""
    for sizes, counts in needed(design, makers)[0].values():
        plan = fewest_lengths(sizes, counts, length(on_sale))
        (size,), (count,) = sizes, counts
        of_a_length = math.floor((on_sale - 20 + 3) / (size + 3))
        assert plan.proved
        assert len(plan.lengths) == math.ceil(count / of_a_length)
        assert [len(kinds) for kinds in plan.lengths[:-1]] == [of_a_length] * (len(plan.lengths) - 1)


@pytest.mark.parametrize(("design", "makers"), CLASSES)
@pytest.mark.parametrize("straight", [True, False])
@pytest.mark.parametrize("turn", [True, False])
def test_sheets_of_a_class(design, makers, straight, turn):
    for (sizes, counts), size in itertools.product(needed(design, makers)[1].values(), SHEETS):
        on_sale = sheet(size, straight=straight, turn=turn)
        plan = fewest_sheets(sizes, counts, on_sale)
        assert plan.proved
        assert fault_of(plan.sheets, sizes, counts, on_sale) is None
        assert not straight or all(saw_cuts(layout, sizes, on_sale) for layout in plan.sheets)


def test_a_sheet_that_straight_cuts_fill_less():
    """Of blanks of 234 x 154, turned as they like, a sheet of 600 x 600 takes 7 by straight cuts and 8 round a middle.

    Eight: four pairs of 234 x 311, the kerf included, each along one edge and up to the next; 234 + 311 + 3 is under
    580, what trimming leaves. That seven is the most of straight cuts is their own bound's word.
    """
    sizes, counts = [(234.0, 154.0)], [8]
    assert 234 + (2 * 154 + 3) + 3 <= 580
    for straight, sheets in ((True, 2), (False, 1)):
        on_sale = sheet((600, 600), straight=straight, turn=True)
        plan = fewest_sheets(sizes, counts, on_sale)
        assert (len(plan.sheets), plan.proved) == (sheets, True)
        assert fault_of(plan.sheets, sizes, counts, on_sale) is None
    assert fewest_sheets(sizes, [7], sheet((600, 600), straight=True, turn=True)).sheets[1:] == ()
