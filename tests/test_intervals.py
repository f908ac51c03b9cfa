"""Intervals of a share against published tables, their own definitions, and what they cover."""

import math
from statistics import NormalDist

import pytest

from assembly.study.intervals import Interval, clopper_pearson, normal, student, wilson


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
    assert found.value == kept / boxes


def test_ends_of_the_interval_solve_the_score_equation():
    """By definition |p̂ - p| = z √(p(1 - p)/n) at both ends."""
    found = wilson(37, 400, level=2 * NormalDist().cdf(1.7) - 1)
    for p in (found.low, found.high):
        assert abs(37 / 400 - p) == pytest.approx(1.7 * math.sqrt(p * (1 - p) / 400), rel=1e-12)


def test_of_no_boxes_nothing_is_known():
    found = wilson(0, 0)
    assert (math.isnan(found.value), found.low, found.high) == (True, 0.0, 1.0)


@pytest.mark.parametrize(
    ("kept", "boxes", "low", "high", "digits"),
    [
        (81, 263, 0.2527, 0.3676, 4),  # Newcombe, Statist. Med. 17 (1998), Table I, method 5 (figures from memory)
        (0, 20, 0.0, 0.1684, 4),  # the same
        (100, 200, 0.4286584, 0.5713416, 7),  # R's binom package, repeated in the statsmodels test suite
        (0, 100, 0.0, 0.0362, 4),  # closed form 1 - 0.025^(1/100)
        (100, 100, 0.9638, 1.0, 4),
    ],
)
def test_published_exact_intervals(kept, boxes, low, high, digits):
    found = clopper_pearson(kept, boxes)
    assert [found.low, found.high] == pytest.approx([low, high], abs=0.5 * 10**-digits * 1.01)
    assert found.value == kept / boxes


@pytest.mark.parametrize(("boxes", "reliability"), [(22, 0.90), (59, 0.95), (299, 0.99)])
def test_zero_failure_samples(boxes, reliability):
    """Published sample sizes for 90/90, 95/95, 95/99 without a failure: one box fewer does not show it.

    They are one-sided, so twice the error on both sides.
    """
    error = 2 * (0.10 if reliability == 0.90 else 0.05)
    assert clopper_pearson(boxes, boxes, 1 - error).low >= reliability
    assert clopper_pearson(boxes - 1, boxes - 1, 1 - error).low < reliability
    assert clopper_pearson(boxes, boxes, 1 - error).low == pytest.approx((error / 2) ** (1 / boxes), rel=1e-12)


def test_rule_of_three():
    """0 of 100: at most 3 % with 95 % confidence on one side, exactly 2.951 %."""
    assert clopper_pearson(0, 100, 0.90).high == pytest.approx(0.02951, abs=5e-6)


def test_ends_of_the_exact_interval_are_tails_of_the_binomial_distribution():
    """By definition: at the low end 37 or more of 400 has probability 2.5 %, at the high end 37 or fewer."""
    found = clopper_pearson(37, 400)

    def fewer_than(kept, p):
        return sum(math.comb(400, k) * p**k * (1 - p) ** (400 - k) for k in range(kept))

    assert 1 - fewer_than(37, found.low) == pytest.approx(0.025, rel=1e-9)
    assert fewer_than(38, found.high) == pytest.approx(0.025, rel=1e-9)


@pytest.mark.parametrize("share", [0.01, 0.1, 0.5, 0.9])
def test_the_exact_interval_covers_at_least_what_it_says_and_wilson_s_about_that(share):
    """No sampling: the probability of every count of 60 boxes, summed over those whose interval covers the share."""
    weight = [math.comb(60, k) * share**k * (1 - share) ** (60 - k) for k in range(61)]
    covered = {
        interval.__name__: sum(w for k, w in enumerate(weight) if interval(k, 60).low <= share <= interval(k, 60).high)
        for interval in (clopper_pearson, wilson)
    }
    assert covered["clopper_pearson"] >= 0.95
    assert covered["wilson"] == pytest.approx(0.95, abs=0.035)


def test_of_no_boxes_nothing_is_known_for_certain():
    found = clopper_pearson(0, 0)
    assert (math.isnan(found.value), found.low, found.high) == (True, 0.0, 1.0)


def test_student_s_interval_is_wider_than_the_normal_one_where_few_values_tell_of_the_error():
    """JCGM 100:2008, Table G.2: t of 3 degrees of freedom is 3.18, of 4 it is 2.78; 1.96 from 30 boxes on."""
    assert student(5.0, 0.1, 4, Interval.STUDENT_BLOCKS).half_width == pytest.approx(0.318, abs=5e-4)
    assert normal(5.0, 0.1, 5).half_width == pytest.approx(0.278, abs=5e-4)
    assert normal(5.0, 0.1, 30).half_width == pytest.approx(0.196, abs=5e-5)
    assert student(5.0, 0.1, 1, Interval.STUDENT_BLOCKS).half_width == normal(5.0, 0.1, 1).half_width == math.inf


def test_a_figure_keeps_its_interval_in_another_unit():
    """Wilson's of 81 of 263 in percent, of those left out, and kept within what a share can be."""
    found = wilson(81, 263)
    for other, ends in (
        (found.times(100), (25.53, 30.80, 36.62)),
        (found.complement(), (1 - 0.3662, 182 / 263, 1 - 0.2553)),
        (found.plus(1), (1.2553, 1.3080, 1.3662)),
        (normal(0.3, 1.0).between(0, 1), (0, 0.3, 1)),
    ):
        assert (other.low, other.value, other.high) == pytest.approx(ends, abs=0.006)
        assert other.interval in {"wilson", "normal"}
    assert found.half_width == pytest.approx(0.3662 - 0.3080, abs=1e-4)  # the wider side


def test_every_way_to_find_an_interval_says_what_it_means():
    assert len({each.meaning for each in Interval}) == len(Interval)
    assert all(each.meaning.strip(".") == each.meaning != "" for each in Interval)
