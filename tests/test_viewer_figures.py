"""Figures carry the digits that their sampling error leaves them; expected values are derived in each test."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.study.intervals import Estimate, normal, quantile, wilson
from viewer.reports.rounding import counted, decimals, figure, percent, rounded


@pytest.mark.parametrize(
    ("error", "places"),
    [(0.0049, 2), (0.0051, 1), (0.049, 1), (0.051, 0), (0.49, 0), (0.51, -1), (4.9, -1), (0.0, 2), (1e-9, 2)],
)
def test_twice_the_error_stays_within_one_unit_of_the_last_digit(error, places):
    assert decimals(error) == places
    if error > 1e-6:
        assert 2 * error <= 10**-places
        assert 2 * error > 10 ** -(places + 1)  # one digit more would not carry


@pytest.mark.parametrize(
    ("value", "error", "text"),
    [
        (1.0734, 0.0013, "1.07"),
        (1.0734, 0.013, "1.1"),
        (38.4, 0.9, "40"),
        (38.4, 9.0, "40"),
        (38.4, 90.0, "0"),  # its first digit would be finer than the first of ± 180
        (8.2, 4.0, "8"),
        (8.2, 6.0, "10"),
        (0.31, 0.31, "0.3"),
        (0.04, 0.04, "0.04"),
        (0.004, 0.04, "0.0"),
        (-0.001, 0.003, "0.00"),
        (1.999, 0.0, "2.00"),
        (1.999, math.inf, "?"),
    ],
)
def test_a_figure_is_written_with_those_digits(value, error, text):
    assert str(figure(normal(value, error))) == text


def test_a_share_is_told_in_percent_by_its_interval():
    """8 of 26: sd √(p(1-p)/n) = 9 %, so only the tens carry."""
    assert percent(wilson(8, 26)) == "30 %"
    assert percent(normal(0.30769, 0.00148)) == "31 %"
    assert percent(normal(0.30769, 0.0001)) == "30.8 %"


def quantile_of(values: np.ndarray, at: float, boxes: int) -> Estimate:
    """Return a quantile of some values as so many boxes would tell it."""
    quantiles = {q: float(np.quantile(values, q)) for q in (0.05, 0.5, 0.95, 0.99)}
    return quantile(at, quantiles, float(values.std(ddof=1)), boxes)


def test_error_of_a_normal_median_is_the_textbook_s():
    """The median of n normal values has standard error √(π/2) σ/√n."""
    values = np.random.default_rng(5).normal(0, 2, 200_000)
    assert quantile_of(values, 0.5, 400).standard_error == pytest.approx(math.sqrt(math.pi / 2) * 2 / 20, rel=0.01)


def test_error_of_a_skewed_quantile_is_not_told_too_small():
    """Exponential values: the density at the 95 % quantile is 0.05, so the true error is √(0.95/0.05)/√n."""
    n = 1_000
    values = np.random.default_rng(6).exponential(1, 200_000)
    assert quantile_of(values, 0.95, n).standard_error == pytest.approx(math.sqrt(0.95 / 0.05 / n), rel=0.02)


@pytest.mark.parametrize(
    ("value", "error", "text"),
    [(16.3, 0.9, "16"), (16.3, 6.0, "20"), (24.0, 6.0, "20"), (25.6, 6.0, "26"), (238_499, 1_351, "238,000")],
)
def test_a_number_of_boxes_is_told_to_the_first_digit_of_its_half_width_and_no_more_than_all(value, error, text):
    """± 1.8, ± 12, ± 2,650; 25.6 to tens would be 30 of 26."""
    assert str(counted(normal(value, error), 26 if value < 100 else 1_000_000)) == text


def test_few_boxes_hardly_know_their_spread():
    """Student's t of 4 degrees of freedom is 2.776; of one box nothing is known."""
    values = np.random.default_rng(5).normal(0, 2, 200_000)
    error = math.sqrt(math.pi / 2) * 2 / 5**0.5
    assert quantile_of(values, 0.5, 5).half_width == pytest.approx(2.776 * error, rel=0.01)
    assert normal(0.0, 1.0, 5).half_width == pytest.approx(2.776, abs=0.001)
    assert quantile_of(values, 0.5, 1).half_width == normal(0.0, 1.0, 1).half_width == math.inf


def test_a_figure_without_spread_has_no_error():
    assert quantile_of(np.ones(100), 0.95, 100).half_width == 0


@given(value=st.floats(-1e6, 1e6), places=st.integers(-4, 4), separator=st.sampled_from(["", ","]))
def test_what_is_compared_is_what_is_read(value, places, separator):
    """A written figure's number is that of its text; it has a plus where it is over zero, and zero has no sign."""
    found = rounded(value, places, separator)
    assert float(str(found).replace(",", "")) == found.value
    assert abs(found.value - value) <= 0.5 * 10.0**-places * (1 + 1e-9)
    assert found.signed == ("+" if found.value > 0 else "") + str(found)
    assert found.value or "-" not in str(found)
