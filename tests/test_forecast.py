"""Whole classes: closed forms of what classmates share, forecasts that cover what they say, limits that fail most."""

import math
from statistics import NormalDist

import numpy as np
import pytest
from boxes import with_rows
from models import classed
from scipy.stats import kstest
from stopped import stopped_at

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.made.limits import excess
from assembly.model.design import Limit
from assembly.model.workshop import Disturbance
from assembly.study.blocks import block_rows
from assembly.study.check import BoxModel, check
from assembly.study.driver import Run
from assembly.study.forecast import SAMPLED_CLASS, ClassCounts, class_counts, forecast
from assembly.study.intervals import Z95, Interval, wilson

DESIGN, WORKSHOP = read_design("configs/frost_watch.toml"), read_workshop("new_to_tools")


def ends(found):
    """Return both ends of the range that nine classes in ten keep."""
    return tuple(end.value for end in found.range)


def test_equal_parts_of_class_and_maker_make_every_count_equally_likely():
    """With limit 0 and equal spreads a class passes with share Φ(c), uniform; so its count is uniform on 0 to n.

    Then deff = 1 + (n - 1)/3, as 1/4 + asin(1/2)/2π = 1/3 of all pairs of classmates pass together.
    """
    found, _ = class_counts(classed(), makers=26, classes=20_000)
    seen = np.bincount(found.counts, minlength=27) / found.counts.size
    assert seen == pytest.approx(1 / 27, abs=4.5 * math.sqrt(1 / 27 / found.counts.size))
    assert ends(found) == (1, 25)  # 2/27 > 5 % > 1/27
    assert found.expected.value == pytest.approx(13, abs=4 * math.sqrt(27**2 / 12 / found.counts.size))
    # The variance of a uniform's sample variance is (9/5 - 1) σ⁴/N.
    assert found.deff == pytest.approx(1 + 25 / 3, rel=4 * math.sqrt(0.8 / found.counts.size) + 0.005)


def test_design_effect_by_hand():
    """Classes of 10 with 2, 4 and 9 good boxes: p = 1/2, variance (9 + 1 + 16)/2 = 13, alone 10/4; so 13/2.5 = 5.2.

    The interval is then Wilson's for 30/5.2 boxes: share 1/2, half-width z/(2 √(n + z²)).
    """
    found = ClassCounts(makers=10, counts=np.array([2, 4, 9]), boxes=30, passed=15, partial=False)
    assert found.deff == pytest.approx(5.2, rel=1e-12)
    half = Z95 / (2 * math.sqrt(30 / 5.2 + Z95**2))
    assert [found.pass_share.low, found.pass_share.high] == pytest.approx([0.5 - half, 0.5 + half], rel=1e-12)


def test_a_class_of_a_million_is_known_by_its_share():
    """Its count over n is the uniform share itself."""
    found, _ = class_counts(classed(), makers=1_000_000, classes=8_000)
    error = 4 * math.sqrt(0.05 * 0.95 / found.counts.size)
    assert np.array(ends(found)) / 1e6 == pytest.approx([0.05, 0.95], abs=error)
    assert found.counts.var() / 1e12 == pytest.approx(1 / 12, rel=4 * math.sqrt(0.8 / found.counts.size))
    assert found.boxes == found.counts.size * SAMPLED_CLASS


def test_what_chance_adds_to_a_sampled_class_is_taken_out_again():
    """var(count/n) = p(1 - p)(ρ + (1 - ρ)/n), ρ = asin(r)/2π over 1/4 (Sheppard), r the shared share of variance."""
    makers, shared = 100_000, 0.05
    found, _ = class_counts(classed(shared=shared), makers=makers, classes=8_000, seed=3)
    rho = math.asin(shared**2 / (1 + shared**2)) / (2 * math.pi) * 4
    expected = (rho + (1 - rho) / makers) / 4
    sampled = (rho + (1 - rho) / SAMPLED_CLASS) / 4  # over twice as large: what the sample of makers shows
    error = 4 * sampled * math.sqrt(2 / found.counts.size)
    assert (found.counts / makers).var() == pytest.approx(expected, abs=error)
    assert sampled > expected + 2 * error


def test_without_a_class_part_a_class_of_a_million_is_binomial():
    limit = NormalDist().inv_cdf(0.8)
    found, _ = class_counts(classed(limit, shared=0.0), makers=1_000_000)
    sd = math.sqrt(1e6 * 0.8 * 0.2)
    assert found.counts.std() == pytest.approx(sd, rel=4 / math.sqrt(2 * found.counts.size))
    assert found.deff == pytest.approx(1, rel=8 / math.sqrt(2 * found.counts.size))
    assert found.pass_share.low < 0.8 < found.pass_share.high


def test_a_class_of_one():
    found, _ = class_counts(classed(), makers=1)
    assert ends(found) == (0, 1)
    assert found.deff == 1
    assert found.expected.value == pytest.approx(0.5, abs=4 * 0.5 / math.sqrt(found.boxes))
    assert found.pass_share == wilson(found.passed, found.boxes, interval=Interval.WILSON_CLASSES)


@pytest.mark.parametrize(("limit", "share"), [(-50.0, 0), (50.0, 1)])
def test_limits_that_nothing_or_everything_meets(limit, share):
    for makers in (26, 5_000):
        found, _ = class_counts(classed(limit), makers=makers)
        assert ends(found) == (share * makers, share * makers)
        assert (found.expected.value, found.deff) == (share * makers, 1)


def test_intervals_of_shares_cover_what_they_say():
    """2,000 studies each; independent boxes by Wilson, and whole classes by Wilson with N/deff."""
    model = classed(NormalDist().inv_cdf(0.8), shared=0.0)
    rows = np.hstack([block_rows(model, seed=6, block=b)[1] for b in range(100)]).reshape(2_000, 500)
    estimates = [wilson(kept, 500) for kept in rows.sum(axis=1)]
    assert 0.935 < np.mean([each.low < 0.8 < each.high for each in estimates]) < 0.965

    counts = class_counts(classed(), makers=10, classes=200_000, seed=8)[0].counts[: 2_000 * 100].reshape(2_000, 100)
    studies = [
        ClassCounts(makers=10, counts=row, boxes=1_000, passed=int(row.sum()), partial=False).pass_share
        for row in counts
    ]
    assert 0.935 < np.mean([each.low < 0.5 < each.high for each in studies]) < 0.965


def test_forecasts_of_the_box_hold_for_classes_not_seen():
    """Randomised probability-integral values of 2,000 other classes are uniform, and the range covers what it says."""
    model = BoxModel(DESIGN, WORKSHOP)
    known = class_counts(model, makers=10, classes=10_000, seed=1)[0]
    other = class_counts(model, makers=10, classes=2_000, seed=2)[0].counts
    share = np.bincount(known.counts, minlength=11) / known.counts.size
    upper = np.cumsum(share)
    rng = np.random.default_rng(5)
    integral = upper[other] - rng.random(other.size) * share[other]
    assert kstest(integral, "uniform").pvalue > 0.001
    low, high = map(int, ends(known))
    says = upper[high] - upper[low] + share[low]
    assert says >= 0.9
    covered = np.mean((other >= low) & (other <= high))
    assert covered == pytest.approx(says, abs=3 * math.sqrt(says * (1 - says) * (1 / other.size + 1 / 10_000)))


def test_limits_and_joints_that_fail_are_those_of_the_boxes():
    """Second method: the same boxes drawn again and counted one limit at a time."""
    found = forecast(DESIGN, WORKSHOP, classes=100)
    model = BoxModel(DESIGN, WORKSHOP)
    rows = block_rows(model, seed=1, block=0, boxes=found.classes.boxes, class_size=26)
    rows_of = dict(zip(model.rows, rows, strict=True))
    assert found.classes.passed == rows_of["passes"].sum()
    shares = [each.share.value for each in found.limits]
    assert shares == sorted(shares, reverse=True)
    assert {each.name for each in found.limits} == set(model.limits)
    for each in found.limits:
        assert each.share.value == pytest.approx(1 - rows_of[f"keeps {each.name}"].mean(), abs=1e-12)
    gap = next(each for each in found.limits if each.name == "joint_gap")
    most = model.limits["joint_gap"].max
    over = rows_of["joint_gap"][rows_of["joint_gap"] > most] - most
    assert (gap.excess.value, gap.unit) == (pytest.approx(over.mean(), rel=1e-12), "mm")
    for joint in found.joints:
        assert joint.share.value == pytest.approx(1 - rows_of[f"keeps gap {joint.name}"].mean(), abs=1e-12)
    assert found.beyond_first_order.value == rows_of["beyond"].mean()


def test_a_design_without_limits_passes_and_names_no_failure():
    free = DESIGN.model_copy(update={"limits": type(DESIGN.limits)()})
    found = forecast(free, WORKSHOP, classes=100)
    assert (found.classes.expected.value, found.limits, found.joints) == (26, (), ())


def test_a_workshop_outside_the_model_is_refused():
    rough = with_rows(WORKSHOP, {"sand.plan": Disturbance(spread=15.0), "saw.plan": Disturbance(spread=15.0)})
    with pytest.raises(InputError) as caught:
        forecast(DESIGN, rough, classes=2)
    with pytest.raises(InputError) as also:
        check(DESIGN, rough, boxes=9_984)  # the same boxes but for what classmates share
    assert str(caught.value).startswith("workshop 'New to tools': ")
    assert str(caught.value).partition(" of the boxes")[2] == str(also.value).partition(" of the boxes")[2]


def test_excess_beyond_each_kind_of_limit():
    value = np.array([-3.0, 0.5, 2.0])
    assert excess(Limit(max=1.5), value).tolist() == [0, 0, 0.5]
    assert excess(Limit(min=0.0), value).tolist() == [3, 0, 0]
    assert excess(Limit(within=1.0), value).tolist() == [2, 0, 1]


def test_same_numbers_whatever_the_threads():
    one, many = (class_counts(classed(), makers=700, classes=100, run=Run(threads=n))[0] for n in (1, 3))
    assert (one.counts == many.counts).all()


def test_a_forecast_stopped_half_way_tells_what_is_known():
    reports = []
    found, _ = class_counts(classed(), makers=26, run=stopped_at(9_984, reports))
    assert reports == [(9_984, 59_904)]
    assert (found.partial, found.counts.size, found.boxes) == (True, 384, 9_984)


@pytest.mark.parametrize(
    ("settings", "message"),
    [
        ({"makers": 0}, "makers: got 0, must be 1 or more"),
        ({"makers": 3, "classes": 1}, "classes: got 1, must be 2 or more"),
    ],
)
def test_classes_that_are_none(settings, message):
    with pytest.raises(InputError) as caught:
        class_counts(classed(), **settings)
    assert str(caught.value) == message
