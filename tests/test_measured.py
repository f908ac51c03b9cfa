"""As measured against true: the published false accepts at 4:1, readings of a rule, and a box read by hand."""

import math
from statistics import NormalDist

import numpy as np
import pytest
from boxes import still_workshop
from models import Formula, plain

from assembly.design import Limit, Limits
from assembly.errors import InputError
from assembly.reading import read_design, read_workshop
from assembly.tolerance.check import BoxModel, check
from assembly.tolerance.measured import MeasuredModel, measured, reading, wrong_calls
from assembly.tolerance.sampling import values
from assembly.tolerance.study import tally

DESIGN, WORKSHOP = read_design("configs/frost_watch.toml"), read_workshop("new_to_tools")


def gauged(limit: float) -> Formula:
    """Return a product of spread 1 and a gauge a quarter as uncertain, both judged by ± limit."""

    def called(true, gauge):
        good, told = np.abs(true) <= limit, np.abs(true + gauge) <= limit
        return (good, *wrong_calls(good.astype(float), told.astype(float)))

    return Formula([plain("true", 0, 1), plain("gauge", 0, 0.25)], called, rows=("good", "accept", "reject"))


@pytest.mark.parametrize(
    ("within", "accept"),
    [
        (0.60, 4.838603),
        (0.70, 3.922341),
        (0.80, 2.855830),
        (0.90, 1.599953),
        (0.95, 0.871009),
        (0.99, 0.199917),
    ],
)
def test_false_accepts_at_four_to_one(within, accept):
    """Source: NCSLI RP-19 (draft), per cent of all products, as in an open uncertainty library's test suite."""
    boxes = 2_000_000
    total = tally(gauged(NormalDist().inv_cdf(0.5 + within / 2)), boxes=boxes, seed=19)
    assert total.mean("good") == pytest.approx(within, abs=4 * math.sqrt(within * (1 - within) / boxes))
    share = accept / 100
    assert total.mean("accept") == pytest.approx(share, abs=4 * math.sqrt(share / boxes))


def test_gauge_at_four_to_one_with_limits_of_two_spreads():
    """Source: Deaver 1993: false accept .008, false reject .015; recomputed .00801, .01485."""
    boxes = 2_000_000
    total = tally(gauged(2.0), boxes=boxes, seed=20)
    assert total.mean("accept") == pytest.approx(0.00801, abs=4 * math.sqrt(0.008 / boxes))
    assert total.mean("reject") == pytest.approx(0.01485, abs=4 * math.sqrt(0.015 / boxes))


@pytest.mark.parametrize(
    ("true", "noise", "division", "expected"),
    [
        (160.4, 0.0, 1.0, 160),
        (160.6, 0.0, 1.0, 161),
        (160.4, 0.15, 1.0, 161),
        (160.3, 0.0, 0.5, 160.5),
        (-0.3, 0, 0.5, -0.5),
    ],
)
def test_reading_of_a_rule(true, noise, division, expected):
    assert reading(np.array(true), np.array(noise), division) == expected


def test_readings_of_a_box_by_hand():
    """True: 160.6 by 89.7, diagonals' difference 0.8, steps up to 0.55 shy; read without unsteadiness to 0.5 mm.

    Diagonals: √(160.6² + 89.7²) = 183.952, ± 0.4: 184.352 and 183.552, read as 184.5 and 183.5.
    """
    model = MeasuredModel(BoxModel(DESIGN, still_workshop()), 0.5)
    told = {
        name: np.array([value]) for name, value in {"length": 0.6, "width": -0.3, "diagonal_difference": 0.8}.items()
    }
    steady = {
        name: np.zeros((places, 1)) for name, places in {"length": 1, "width": 1, "diagonal": 2, "step": 4}.items()
    }
    found = model.readings(
        {**told, "joint_gap": np.array([0.123])},
        np.array([[0.1], [-0.55], [0.2], [0.3]]),
        {f"read.{name}": noise for name, noise in steady.items()},
    )
    assert {name: float(value[0]) for name, value in found.items()} == pytest.approx(
        {"length": 0.5, "width": -0.5, "diagonal_difference": 1.0, "joint_gap": 0.123, "step": 0.5}
    )


def test_a_box_without_errors_is_good_and_called_good():
    model = MeasuredModel(BoxModel(DESIGN, still_workshop()), 1.0)
    told = dict(zip(model.rows, model.evaluate(values(model.inputs, {})), strict=True))
    assert {name: float(row[0]) for name, row in told.items()} == {
        "good": 1,
        "called good": 1,
        "false accept": 0,
        "false reject": 0,
    }


def test_a_length_read_to_a_millimetre():
    """Only the length is limited, ± 1: what is called good is a reading of -1, 0 or 1, so |error + noise| < 1.5.

    Second method: the study's own mean, sd and normal shape for error + N(0, 0.2), good to the shape of the errors.
    """
    free = DESIGN.model_copy(update={"limits": Limits(length=Limit(within=1.0))})
    found = measured(free, WORKSHOP, boxes=40_000)
    told = check(free, WORKSHOP, boxes=40_000)
    assert found.good == told.pass_share
    rough = NormalDist(told.outcomes["length"].mean, math.hypot(told.outcomes["length"].sd, 0.2))
    assert found.called_good.share == pytest.approx(rough.cdf(1.5) - rough.cdf(-1.5), abs=0.006)
    difference = found.called_good.share - found.good.share
    assert difference == pytest.approx(found.false_accept.share - found.false_reject.share, abs=1e-12)


def test_a_fine_rule_calls_boxes_what_they_are():
    found = measured(DESIGN, WORKSHOP, division=1e-4, boxes=5_000)
    assert found.false_accept.share + found.false_reject.share < 0.001
    coarse = measured(DESIGN, WORKSHOP, division=1.0, boxes=5_000)
    assert coarse.good == found.good
    assert coarse.false_accept.share + coarse.false_reject.share > 0.01


def test_outcomes_that_no_rule_reads_are_judged_true():
    gap = DESIGN.model_copy(update={"limits": Limits(joint_gap=Limit(max=1.0))})
    found = measured(gap, WORKSHOP, boxes=5_000)
    assert found.good == found.called_good
    assert found.false_accept.share == found.false_reject.share == 0


@pytest.mark.parametrize("division", [0.0, -1.0, math.inf, math.nan])
def test_a_rule_without_divisions(division):
    with pytest.raises(InputError) as caught:
        measured(DESIGN, WORKSHOP, division=division)
    assert str(caught.value) == f"rule: got a division of {division} mm, must be over 0, such as 1 or 0.5"
