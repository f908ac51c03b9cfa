"""Figures carry the digits that their sampling error leaves them; expected values are derived in each test."""

import math
from dataclasses import replace

import numpy as np
import pytest

from assembly.study.check import OutcomeSummary
from assembly.study.intervals import Share
from viewer.reports.rounding import counted, decimals, figure, percent, quantile_error


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
    assert figure(value, error) == text


def test_a_share_is_told_in_percent_by_its_interval():
    """8 of 26: sd √(p(1-p)/n) = 9 %, so only the tens carry."""
    assert percent(Share(share=8 / 26, low=0.165, high=0.500)) == "30 %"
    assert percent(Share(share=0.30769, low=0.30479, high=0.31059)) == "31 %"
    assert percent(Share(share=0.30769, low=0.30750, high=0.30788)) == "30.8 %"


def summary(values: np.ndarray) -> OutcomeSummary:
    quantiles = {q: float(np.quantile(values, q)) for q in (0.05, 0.5, 0.95, 0.99)}
    mean, sd = float(values.mean()), float(values.std(ddof=1))
    return OutcomeSummary(
        unit="mm", limit=None, mean=mean, sd=sd, quantiles=quantiles, share_within=None, low=None, high=None
    )


def test_error_of_a_normal_median_is_the_textbook_s():
    """The median of n normal values has standard error √(π/2) σ/√n."""
    values = np.random.default_rng(5).normal(0, 2, 200_000)
    assert quantile_error(summary(values), 0.5, 400) == pytest.approx(math.sqrt(math.pi / 2) * 2 / 20, rel=0.01)


def test_error_of_a_skewed_quantile_is_not_told_too_small():
    """Exponential values: the density at the 95 % quantile is 0.05, so the true error is √(0.95/0.05)/√n."""
    n = 1_000
    values = np.random.default_rng(6).exponential(1, 200_000)
    assert quantile_error(summary(values), 0.95, n) == pytest.approx(math.sqrt(0.95 / 0.05 / n), rel=0.02)


@pytest.mark.parametrize(
    ("value", "error", "text"),
    [(16.3, 0.9, "16"), (16.3, 6.0, "20"), (24.0, 6.0, "20"), (25.6, 6.0, "26"), (238_499, 1_351, "238,000")],
)
def test_a_number_of_boxes_is_told_to_the_first_digit_of_its_half_width_and_no_more_than_all(value, error, text):
    """± 1.8, ± 12, ± 2,650; 25.6 to tens would be 30 of 26."""
    assert counted(value, error, 26 if value < 100 else 1_000_000) == text


def test_few_boxes_hardly_know_their_spread():
    """Student's t of 4 degrees of freedom is 2.776; of one box nothing is known."""
    found = summary(np.random.default_rng(5).normal(0, 2, 200_000))
    assert quantile_error(found, 0.5, 5) == pytest.approx(2.776 / 1.96 * math.sqrt(math.pi / 2) * 2 / 5**0.5, rel=0.01)
    assert quantile_error(found, 0.5, 1) == math.inf


def test_an_error_over_runs_is_taken_where_it_is_known():
    found = replace(summary(np.arange(10.0)), half_widths={"0.5": 1.96})
    assert quantile_error(found, 0.5, 10**6) == pytest.approx(1, rel=1e-4)


def test_a_figure_without_spread_has_no_error():
    assert quantile_error(summary(np.ones(100)), 0.95, 100) == 0
