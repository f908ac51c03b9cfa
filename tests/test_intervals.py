"""Wilson's interval against published tables."""

import math

import pytest

from assembly.tolerance.intervals import wilson


@pytest.mark.parametrize(
    ("kept", "boxes", "low", "high", "digits"),
    [
        (81, 263, 0.2553, 0.3662, 4),  # Newcombe, Statist. Med. 17 (1998), Table I, method 3
        (0, 20, 0.0, 0.1611, 4),  # the same
        (100, 200, 0.4313609, 0.5686391, 7),  # R's binom package, repeated in the statsmodels test suite
    ],
)
def test_published_wilson_intervals(kept, boxes, low, high, digits):
    found = wilson(kept, boxes)
    half_digit = 0.5 * 10**-digits
    assert [found.low, found.high] == pytest.approx([low, high], abs=half_digit * 1.01)
    assert found.share == kept / boxes


def test_ends_of_the_interval_solve_the_score_equation():
    """By definition |p̂ - p| = z √(p(1 - p)/n) at both ends."""
    found = wilson(37, 400, z=1.7)
    for p in (found.low, found.high):
        assert abs(37 / 400 - p) == pytest.approx(1.7 * math.sqrt(p * (1 - p) / 400), rel=1e-12)


def test_of_no_boxes_nothing_is_known():
    found = wilson(0, 0)
    assert (math.isnan(found.share), found.low, found.high) == (True, 0.0, 1.0)
