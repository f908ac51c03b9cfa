"""Figures carry the digits that their sampling error leaves them; expected values are derived in each test."""

import math

import numpy as np
import pytest

from assembly.tolerance.check import OutcomeSummary
from assembly.tolerance.intervals import Share
from viewer.figures import decimals, figure, percent, quantile_error


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
        (-0.001, 0.003, "0.00"),
        (1.999, 0.0, "2.00"),
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


def test_a_figure_without_spread_has_no_error():
    assert quantile_error(summary(np.ones(10)), 0.95, 10) == 0
