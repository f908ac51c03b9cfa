"""Scrambled Sobol' points: shapes of the families, how much they gain, and intervals that cover what they say."""

import math

import numpy as np
import pytest
from models import ISHIGAMI, ISHIGAMI_VARIANCE, Formula, additive, plain
from stopped import stopped_at

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.made.sampling import Input
from assembly.study.check import BoxModel, check
from assembly.study.driver import Run
from assembly.study.sobol_points import scrambled, scrambled_draws, unit_quantile


def figures_of(found, row="y"):
    return {what: each for (of, what), each in found.figures.items() if of == row}


@pytest.mark.parametrize(
    ("family", "share", "quantile"),
    [
        ("normal", 0.975, 1.959964),
        ("uniform", 0.75, math.sqrt(3) / 2),
        ("triangular", 0.125, -math.sqrt(6) / 2),  # half-way up the left slope: a quarter of its half of the weight
        ("triangular", 0.5, 0.0),
        ("triangular", 0.98, math.sqrt(6) * 0.8),
    ],
)
def test_quantiles_of_the_families(family, share, quantile):
    assert unit_quantile(family, np.array(share)) == pytest.approx(quantile, abs=1e-6)


@pytest.mark.parametrize(("family", "fourth"), [("normal", 3.0), ("uniform", 9 / 5), ("triangular", 12 / 5)])
def test_points_have_the_family_s_moments(family, fourth):
    inputs = [Input(name="q", group="q", places=2, family=family, class_spread=1.0, maker_spread=1.0, spread=1.0)]
    draws = scrambled_draws(inputs, 13, seed=1, scramble=0)
    assert {key: array.shape[0] for key, array in draws.items()} == {
        ("q", "class"): 1,
        ("q", "maker"): 1,
        ("q", "cut"): 2,
    }
    rows = np.vstack(list(draws.values()))
    assert rows.mean(axis=1) == pytest.approx(0, abs=1e-3)
    assert (rows**2).mean(axis=1) == pytest.approx(1, rel=2e-3)
    assert (rows**4).mean(axis=1) == pytest.approx(fourth, rel=0.015)
    assert np.corrcoef(rows) == pytest.approx(np.eye(4), abs=0.01)


def test_a_mean_is_known_far_better_than_from_random_points():
    """Ishigami's mean is 3.5 (closed form a/2), and its variance 13.844588; random points err by √(13.84/65536)."""
    found = figures_of(scrambled(ISHIGAMI, ["y"], power=12))
    assert found["mean"].standard_error < math.sqrt(ISHIGAMI_VARIANCE / 65_536) / 5
    assert found["mean"].value == pytest.approx(3.5, abs=4 * found["mean"].standard_error)
    assert found["sd"].value == pytest.approx(math.sqrt(ISHIGAMI_VARIANCE), rel=1e-3)


def test_additive_quantiles():
    """JCGM 101:2008, 9.2.3: ± 2√3 (2 - (3/5)^¼) = 3.879407."""
    found = figures_of(scrambled(additive("uniform"), ["y"], quantiles=(0.025, 0.975)))
    for what, expected in (("0.025", -3.879407), ("0.975", 3.879407)):
        assert found[what].value == pytest.approx(expected, abs=4 * found[what].standard_error)
        # Random points err by √(p(1 - p)/65536)/f = 0.0186, f = (3/5)^¾/(12 √3) the sum's density there.
        assert found[what].standard_error < 0.0186


def test_intervals_over_scrambles_cover_what_they_say():
    """2,000 studies of a pass share, of four scrambles each: Student's t of 3 degrees of freedom."""
    model = Formula([plain("x", 0, 1), plain("z", 0, 1)], lambda x, z: x + z < 1, rows=("passes",))
    share = 0.760250  # Φ(1/√2)
    runs = [
        scrambled(model, ["passes"], quantiles=(), power=5, scrambles=4, seed=s, run=Run(threads=1)).figures[
            "passes", "mean"
        ]
        for s in range(2_000)
    ]
    assert 0.935 < np.mean([each.low < share < each.high for each in runs]) < 0.965


def test_the_box_is_told_the_same_as_from_random_boxes():
    design, workshop = read_design("configs/frost_watch.toml"), read_workshop("new_to_tools")
    found = scrambled(BoxModel(design, workshop), ["joint_gap", "passes"], power=10)
    random = check(design, workshop, boxes=50_000)
    gap = figures_of(found, "joint_gap")
    for what, other in (
        ("mean", random.outcomes["joint_gap"].mean),
        ("0.5", random.outcomes["joint_gap"].quantiles[0.5]),
    ):
        error = math.hypot(gap[what].standard_error, other.standard_error)
        assert gap[what].value == pytest.approx(other.value, abs=4 * error)
    passes = figures_of(found, "passes")["mean"]
    error = math.hypot(passes.standard_error, 0.5 / math.sqrt(50_000))
    assert passes.value == pytest.approx(random.pass_share.value, abs=4 * error)


def test_same_numbers_whatever_the_threads_and_stopped_by_hand():
    one, many = (scrambled(ISHIGAMI, ["y"], power=6, run=Run(threads=n)) for n in (1, 3))
    assert one.figures == many.figures
    assert (one.total.counts == many.total.counts).all()
    part = scrambled(ISHIGAMI, ["y"], power=6, run=stopped_at(3 * 64))
    assert (part.partial, part.scrambles, part.total.boxes) == (True, 3, 192)


@pytest.mark.parametrize(
    ("settings", "message"),
    [
        ({"power": 0}, "points: got 2^0 a scramble, must be 2^1 to 2^17"),
        ({"power": 18}, "points: got 2^18 a scramble, must be 2^1 to 2^17"),
        ({"scrambles": 1}, "scrambles: got 1, must be 2 to 1000, as the error is taken over them"),
    ],
)
def test_what_can_not_be_asked(settings, message):
    with pytest.raises(InputError) as caught:
        scrambled(ISHIGAMI, ["y"], **settings)
    assert str(caught.value) == message
