"""Which sets become rows, on sets whose prices and good boxes are drawn here."""

from types import SimpleNamespace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.advice.candidates import Price
from assembly.advice.rows import listed
from assembly.advice.set_results import SetResult

BOXES = 2_000
PRICES = st.builds(Price, money=st.sampled_from([0.0, 0.3, 0.4]), minutes=st.integers(0, 3), changes=st.integers(1, 3))


def result(price, good):
    """Return a set of a price of which the first `good` boxes are good."""
    kept = (np.arange(BOXES) < good)[None]
    return SetResult(set=SimpleNamespace(price=price), kept=kept, limits=("step",), beyond=np.zeros(BOXES, dtype=bool))


NOW = result(Price(0.0, 0.0, 0), 1_200)


def no_dearer(one, other):
    one, other = one.set.price, other.set.price
    return one.money <= other.money and one.minutes <= other.minutes and one.changes <= other.changes


@settings(deadline=None)
@given(st.lists(st.builds(result, PRICES, st.integers(1_100, 1_500)), min_size=1, max_size=12))
def test_no_row_is_beaten_by_what_is_no_dearer_and_the_nearest_has_the_most_good_boxes(sets):
    """Of any set that is no dearer and better, listed or not; at 1,600 good boxes, which no set reaches."""
    rows, best = listed(NOW, sets, reach=0.8, minute=0.05)
    for row in rows:
        beaten_by = [
            each
            for each in (NOW, *sets)
            if each is not row and no_dearer(each, row) and each.share.value > row.share.value
        ]
        assert not beaten_by
    assert (best is None) == (not rows)
    if best:
        assert best.share.value == max(row.share.value for row in rows)


def test_a_better_pair_takes_the_place_of_three_changes_at_its_price():
    """Half a box of 26 are 38.5 of 2,000: the pair is 30 ahead of the cheap pair, the three 40, but 10 of the pair."""
    cheap, pair = result(Price(0.4, 5.0, 2), 1_560), result(Price(0.7, 7.0, 2), 1_590)
    three, all_three = result(Price(0.7, 7.0, 3), 1_600), result(Price(0.7, 8.0, 3), 1_690)
    rows, best = listed(NOW, [cheap, pair, three, all_three], reach=0.84, minute=0.05)
    assert (rows, best) == ([cheap, pair, all_three], all_three)
    rows, _ = listed(NOW, [cheap, three, all_three], reach=0.84, minute=0.05)
    assert rows == [cheap, three, all_three]


def test_what_comes_nearest_is_the_row_with_the_most_good_boxes():
    """20.3 and 20.7 of 26: the second is less than half a box ahead, and still the nearest to what is asked."""
    cheap, dear = result(Price(0.4, 5.0, 2), 1_562), result(Price(0.7, 7.0, 2), 1_592)
    rows, best = listed(NOW, [cheap, dear], reach=0.85, minute=0.05)
    assert (rows, best) == ([cheap, dear], dear)
