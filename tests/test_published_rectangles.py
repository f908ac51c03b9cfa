"""Published rectangles that fill a sheet to the last corner: they hold layouts, bounds and the exact search.

Source: Hopper and Turton 2001, categories C1 to C7, three sets each, as the package hyperpack has them. Each was made
by cutting its sheet up, so its area is that of the sheet and one sheet is enough, whoever finds out how.
"""

from collections import Counter
from functools import cache

import pytest
from hyperpack.benchmarks.datasets import hopper_and_turton_2000

from assembly.order.layouts import SheetOnSale, fault_of
from assembly.order.sheet_bounds import by_shares, needed_room
from assembly.order.sheets import fewest_sheets
from assembly.order.wanted import Wanted

SETS = [f"C{number}{letter}" for number in range(1, 8) for letter in "abc"]
SHEETS = {
    "C1": (20, 20),
    "C2": (40, 15),
    "C3": (60, 30),
    "C4": (60, 60),
    "C5": (60, 90),
    "C6": (80, 120),
    "C7": (160, 240),
}
PIECES = {"C1": {16, 17}, "C2": {25}, "C3": {28, 29}, "C4": {49}, "C5": {73}, "C6": {97}, "C7": {196, 197}}
FILLED = ("C1a", "C1b", "C1c", "C2b", "C2c")  # that depth-first search filled without turning within a minute


@cache
def published(name):
    """Return the sheet, the kinds and their counts of a set."""
    data = getattr(hopper_and_turton_2000, name[:2])
    sheet = data.containers["container_0"]
    kinds = Counter((each["w"], each["l"]) for each in getattr(data, f"items_{name[2]}").values())
    return (sheet["W"], sheet["L"]), tuple(kinds), tuple(kinds.values())


def wanted(name, room=None):
    sheet, sizes, counts = published(name)
    return Wanted(sizes=sizes, counts=counts, room=room or sheet, straight=False, turn=False)


@pytest.mark.parametrize("name", SETS)
def test_one_sheet_is_the_bound_and_not_one_unit_less(name):
    """The area is the sheet's; with an edge one unit shorter a second sheet is needed, turned or not."""
    sheet, sizes, counts = published(name)
    assert (sheet, sum(counts) in PIECES[name[:2]]) == (SHEETS[name[:2]], True)
    assert sum(n * width * length for (width, length), n in zip(sizes, counts, strict=True)) == sheet[0] * sheet[1]
    assert needed_room(wanted(name)).room == sheet
    assert by_shares(wanted(name)) == 1
    assert by_shares(wanted(name, room=(sheet[0] - 1, sheet[1]))) == 2


@pytest.mark.parametrize("name", FILLED)
def test_sets_that_are_filled(name):
    """Found here too, and held by the validator, which has none of it on a sheet a hundredth of a unit smaller."""
    sheet, sizes, counts = published(name)
    on_sale = SheetOnSale(length=sheet[0], width=sheet[1], kerf=0, edge_trim=0, straight=False, turn=False)
    plan = fewest_sheets(sizes, counts, on_sale, nodes=15_000)
    assert (len(plan.sheets), plan.proved) == (1, True)
    assert fault_of(plan.sheets, sizes, counts, on_sale) is None
    smaller = SheetOnSale(length=sheet[0], width=sheet[1] - 0.01, kerf=0, edge_trim=0, straight=False, turn=False)
    assert "goes beyond" in fault_of(plan.sheets, sizes, counts, smaller)
    assert "are wanted" in fault_of([plan.sheets[0][1:]], sizes, counts, on_sale)
