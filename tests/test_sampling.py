"""The draws: families, parts and streams, and published sums through the project's own sampler."""

import math

import numpy as np
import pytest
from models import additive

from assembly.made.sampling import BLOCK, Input, disturbed, draw_block, parts, values
from assembly.model.workshop import Disturbance
from assembly.study.blocks import block_rows, tally

LEVELS = Input(name="q", group="q", places=3, bias=2.0, class_spread=0.3, maker_spread=0.4, spread=1.2)


def drawn(inputs, blocks, **settings):
    """Return the values of many blocks side by side."""
    runs = [values(inputs, draw_block(inputs, BLOCK, seed=11, block=b, **settings)) for b in range(blocks)]
    return {each.name: np.hstack([run[each.name] for run in runs]) for each in inputs}


@pytest.mark.parametrize(
    ("family", "u", "half"),
    [
        ("normal", 2.0, 3.92),  # JCGM 101:2008, 9.2.2, Table 2
        ("uniform", 2.0, 3.88),  # JCGM 101:2008, 9.2.3, Table 3; ±2√3(2 − (3/5)^¼) = 3.8794
    ],
)
def test_sum_of_four_has_the_published_interval(family, u, half):
    """Source: JCGM 101:2008, 9.2.2 and 9.2.3, printed to two decimals."""
    boxes = 1_000_000
    total = tally(additive(family), boxes=boxes, seed=20260101)
    assert total.std("y") == pytest.approx(u, abs=4 * u / math.sqrt(2 * boxes))  # sd of an sd, normal or flatter
    # Density of the sum at the limit bounds the sampling error of a quantile; 0.005 more for the printed rounding.
    density = math.exp(-(1.96**2) / 2) / math.sqrt(2 * math.pi) / u
    error = 4 * math.sqrt(0.025 * 0.975 / boxes) / density + 0.005
    assert total.quantile("y", 0.975) == pytest.approx(half, abs=error)
    assert total.quantile("y", 0.025) == pytest.approx(-half, abs=error)


@pytest.mark.parametrize(
    ("family", "fourth"),
    [("normal", 3.0), ("uniform", 9 / 5), ("triangular", 12 / 5)],  # fourth moment over variance squared, closed form
)
def test_families_have_mean_zero_unit_variance_and_their_own_shape(family, fourth):
    inputs = [Input(name="q", group="q", family=family, spread=1.0)]
    draw = drawn(inputs, 100)["q"].ravel()
    assert draw.mean() == pytest.approx(0, abs=0.004)
    assert draw.var() == pytest.approx(1, abs=0.006)
    assert (draw**4).mean() == pytest.approx(fourth, rel=0.01 if family != "normal" else 0.02)


def test_three_parts_add_up_and_are_shared_as_told():
    """Covariance of two places is what class and maker share; of two boxes of one class, the class part."""
    draw = drawn([LEVELS], 40, class_size=2)["q"]
    cov = np.cov(draw)
    boxes = draw.shape[1]
    variance, shared = 0.3**2 + 0.4**2 + 1.2**2, 0.3**2 + 0.4**2
    assert np.diag(cov) == pytest.approx([variance] * 3, rel=5 * math.sqrt(2 / boxes))
    assert cov[0, 1:] == pytest.approx([shared] * 2, abs=5 * variance / math.sqrt(boxes))
    classmates = np.cov(draw[0, ::2], draw[0, 1::2])[0, 1]
    assert classmates == pytest.approx(0.3**2, abs=5 * variance / math.sqrt(boxes / 2))
    assert draw.mean() == pytest.approx(2.0, abs=5 * math.sqrt((variance + 2 * shared) / 3 / boxes) * 1.5)


def test_changing_one_input_leaves_the_draws_of_the_others():
    other = Input(name="other", group="other", spread=0.5)
    alone = draw_block([other], 100, seed=3, block=7)["other", "cut"]
    beside = draw_block([LEVELS, other], 100, seed=3, block=7)["other", "cut"]
    np.testing.assert_array_equal(alone, beside)


def test_a_shorter_study_is_the_start_of_a_longer_one():
    model = additive("normal")
    np.testing.assert_array_equal(
        block_rows(model, seed=5, block=2, boxes=1234), block_rows(model, seed=5, block=2)[:, :1234]
    )


def test_nothing_is_drawn_for_a_spread_of_zero():
    still = Input(name="still", group="still", places=4, bias=0.7)
    assert parts([still]) == []
    np.testing.assert_array_equal(values([still], {})["still"], np.full((4, 1), 0.7))


def test_degrees_become_radians_and_millimetres_stay():
    disturbance = Disturbance(bias=1.0, spread=2.0, maker_spread=3.0, class_spread=4.0)
    angle, size = disturbed("saw.plan", 8, disturbance), disturbed("saw.offset", 8, disturbance)
    assert [angle.bias, angle.spread, angle.maker_spread, angle.class_spread] == pytest.approx(
        np.radians([1, 2, 3, 4]).tolist()
    )
    assert [size.bias, size.spread, size.maker_spread, size.class_spread] == [1, 2, 3, 4]


@pytest.mark.parametrize(
    ("family", "limit"),
    [
        ("normal", 3 * math.sqrt(0.09 + 0.16 + 1.44)),
        ("uniform", math.sqrt(3) * 1.9),
        ("triangular", math.sqrt(6) * 1.9),
    ],
)
def test_limits_of_a_worst_case(family, limit):
    quantity = Input(name="q", group="q", family=family, class_spread=0.3, maker_spread=0.4, spread=1.2)
    assert quantity.limit == pytest.approx(limit)
    assert Disturbance(family=family, class_spread=0.3, maker_spread=0.4, spread=1.2).limit == pytest.approx(limit)
