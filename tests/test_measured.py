"""As measured against true: the published false accepts at 4:1, readings of a rule, and a box read by hand."""

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from boxes import still_workshop
from models import Formula, plain

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.made.frame_outcomes import steps
from assembly.made.sampling import draw_block, values
from assembly.model.design import Limit, Limits
from assembly.study.check import BoxModel, check
from assembly.study.inspection import READ, MeasuredModel, measured, reading, works_like, wrong_calls
from assembly.study.intervals import t95
from assembly.study.sobol_points import scrambled

DESIGN, WORKSHOP = read_design("configs/frost_watch.toml"), read_workshop("new_to_tools")


def gauged(limits: dict[str, float]) -> Formula:
    """Return a product of spread 1 and a gauge a quarter as uncertain, both judged by each of some ± limits."""

    def called(true, gauge):
        rows = []
        for limit in limits.values():
            good, read = np.abs(true) <= limit, np.abs(true + gauge) <= limit
            rows += [good, *wrong_calls(good.astype(float), read.astype(float))]
        return tuple(rows)

    rows = [f"{row} {name}" for name in limits for row in ("good", "accept", "reject")]
    return Formula([plain("true", 0, 1), plain("gauge", 0, 0.25)], called, rows=rows)


def shares_of(model):
    """Return every row's share over 16 scrambles of 131,072 Sobol' points, and its standard error."""
    found = scrambled(model, (), shares=model.rows, power=17)
    return {row: (each.value, each.half_width / t95(15)) for (row, _), each in found.figures.items()}


def test_false_accepts_at_four_to_one():
    """Source: NCSLI RP-19 (draft), per cent of all products, as in an open uncertainty library's test suite."""
    accepts = {0.60: 4.838603, 0.70: 3.922341, 0.80: 2.855830, 0.90: 1.599953, 0.95: 0.871009, 0.99: 0.199917}
    shares = shares_of(gauged({str(within): NormalDist().inv_cdf(0.5 + within / 2) for within in accepts}))
    for within, accept in accepts.items():
        share, error = shares[f"accept {within}"]
        assert 4 * error < 0.008 * accept / 100  # so that one per cent shows
        assert share == pytest.approx(accept / 100, abs=4 * error)
        assert shares[f"good {within}"][0] == pytest.approx(within, abs=1e-5)


def test_gauge_at_four_to_one_with_limits_of_two_spreads():
    """Source: Deaver 1993: false accept .008, false reject .015; recomputed .00801, .01485."""
    shares = shares_of(gauged({"2": 2.0}))
    assert shares["accept 2"][0] == pytest.approx(0.00801, abs=5e-6 + 4 * shares["accept 2"][1])
    assert shares["reject 2"][0] == pytest.approx(0.01485, abs=5e-6 + 4 * shares["reject 2"][1])
    assert max(shares["accept 2"][1], shares["reject 2"][1]) < 1.5e-5


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
    outcomes = {
        name: np.array([value]) for name, value in {"length": 0.6, "width": -0.3, "diagonal_difference": 0.8}.items()
    }
    steady = {
        name: np.zeros((places, 1)) for name, places in {"length": 1, "width": 1, "diagonal": 2, "step": 4}.items()
    }
    found = model.readings(
        {**outcomes, "joint_gap": np.array([0.123])},
        np.array([[0.1], [-0.55], [0.2], [0.3]]),
        {f"read.{name}": noise for name, noise in steady.items()},
        0.5,
    )
    assert {name: float(value[0]) for name, value in found.items()} == pytest.approx(
        {"length": 0.5, "width": -0.5, "diagonal_difference": 1.0, "joint_gap": 0.123, "step": 0.5}
    )


@pytest.mark.parametrize(("noise", "length"), [(0.302, 1.0), (0.298, 0.5)])
def test_a_finer_rule_is_as_unsteady_for_its_division(noise, length):
    """160.6 and half the noise of the 1 mm rule: 160.751 is read as 161.0 to 0.5 mm, 160.749 as 160.5."""
    model = MeasuredModel(BoxModel(DESIGN, still_workshop()), 1.0, 0.5)
    outcomes = {
        name: np.array([value]) for name, value in {"length": 0.6, "width": 0, "diagonal_difference": 0}.items()
    }
    value = {name: np.full((places, 1), noise) for name, places in READ.items()}
    found = model.readings({**outcomes, "step": np.array([0.0])}, np.zeros((4, 1)), value, 0.5)
    assert found["length"] == pytest.approx([length], abs=1e-9)


def test_a_box_without_errors_is_good_and_called_good():
    model = MeasuredModel(BoxModel(DESIGN, still_workshop()), 1.0)
    rows = dict(zip(model.rows, model.evaluate(values(model.inputs, {})), strict=True))
    wrong = [f"{wrong} {name}" for name in ("step", "diagonal_difference", "length", "width")
             for wrong in ("refused", "passed")]  # fmt: skip
    assert {name: float(row[0]) for name, row in rows.items()} == {
        "good": 1,
        "called good": 1,
        "false accept": 0,
        "false reject": 0,
        **dict.fromkeys(wrong, 0),
    }


def test_readings_are_unsteady_by_a_fifth_of_a_division():
    """By the model: N(0, 0.2 r) before rounding, at one length, one width, two diagonals and four steps."""
    found = {each.name: each for each in MeasuredModel(BoxModel(DESIGN, WORKSHOP), 0.5).inputs if each.group == "read"}
    assert {name: each.places for name, each in found.items()} == {
        "read.length": 1,
        "read.width": 1,
        "read.diagonal": 2,
        "read.step": 4,
    }
    assert [each.std for each in found.values()] == pytest.approx([0.1] * 4, rel=1e-12)


def test_a_length_read_to_a_millimetre():
    """Only the length is limited, ± 1: what is called good is a reading of -1, 0 or 1, so |error + noise| < 1.5.

    Second method: the study's own mean, sd and normal shape for error + N(0, 0.2), good to the shape of the errors.
    """
    free = DESIGN.model_copy(update={"limits": Limits(length=Limit(within=1.0))})
    found = measured(free, WORKSHOP, boxes=40_000)
    study = check(free, WORKSHOP, boxes=40_000)
    assert found.good == study.pass_share
    rough = NormalDist(study.outcomes["length"].mean.value, math.hypot(study.outcomes["length"].sd.value, 0.2))
    assert found.called_good.value == pytest.approx(rough.cdf(1.5) - rough.cdf(-1.5), abs=0.006)
    difference = found.called_good.value - found.good.value
    assert difference == pytest.approx(found.false_accept.value - found.false_reject.value, abs=1e-12)


def test_a_fine_rule_calls_boxes_what_they_are():
    found = measured(DESIGN, WORKSHOP, division=1e-4, boxes=5_000)
    assert found.false_accept.value + found.false_reject.value < 0.001
    coarse = measured(DESIGN, WORKSHOP, division=1.0, boxes=5_000)
    assert coarse.good == found.good
    assert coarse.false_accept.value + coarse.false_reject.value > 0.01


@pytest.mark.parametrize(
    ("limit", "nominal", "division", "expected"),
    [
        (Limit(max=0.8), 0.0, 1.0, (-math.inf, 0.5)),  # 0 is the last reading that keeps it
        (Limit(max=0.8), 0.0, 0.5, (-math.inf, 0.75)),
        (Limit(max=0.8), 0.0, 10.0, (-math.inf, 5.0)),
        (Limit(within=2.0), 160.0, 1.0, (-2.5, 2.5)),  # 158 to 162
        (Limit(within=1.5), 90.0, 1.0, (-1.5, 1.5)),  # 89 to 91
        (Limit(within=1.5), 90.4, 1.0, (-1.9, 1.1)),  # 89 to 91 again
        (Limit(within=0.3), 90.5, 1.0, (0.0, 0.0)),  # between 90 and 91 is no reading
        (Limit(min=-0.7), 0.0, 0.1, (-0.75, math.inf)),  # on the limit, whatever -0.7 / 0.1 comes to
    ],
)
def test_a_limit_works_like_half_a_division_beyond_its_last_reading(limit, nominal, division, expected):
    assert works_like(limit, nominal, division) == pytest.approx(expected, abs=1e-9)


def test_a_difference_of_two_readings_works_like_no_one_limit():
    """True diagonals of 183.4 and 180.6 differ by 2.8 and are read as 183 and 181; 183.6 and 180.4 as 184 and 180."""
    assert works_like(Limit(within=3.0), None, 1.0) is None


def by_hand(division: float, boxes: int, seed: int) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Return for every limit that is read whether it is kept, and whether it is read to be: one box after another."""
    model = MeasuredModel(BoxModel(DESIGN, WORKSHOP), division)
    value = values(model.inputs, draw_block(model.inputs, boxes, seed=seed, block=0))
    faces, gaps, poses = model.box.settle(value)
    rows = dict(zip(model.box.rows, model.box.read_off(value, faces, gaps, poses), strict=True))
    proud = steps(model.box.frame, faces, poses)

    def read(true, noise):
        return math.floor((true + noise) / division + 0.5) * division

    found = {name: ([], []) for name in ("length", "width", "diagonal_difference", "step")}
    for at in range(boxes):
        length, width = 160 + rows["length"][at], 90 + rows["width"][at]
        across, half = math.sqrt(length**2 + width**2), rows["diagonal_difference"][at] / 2
        noise = {name: value[f"read.{name}"][:, at] for name in ("length", "width", "diagonal", "step")}
        readings = {
            "length": abs(read(length, noise["length"][0]) - 160) <= 2,
            "width": abs(read(width, noise["width"][0]) - 90) <= 1.5,
            "diagonal_difference": abs(
                read(across + half, noise["diagonal"][0]) - read(across - half, noise["diagonal"][1])
            ) <= 3,
            "step": max(abs(read(proud[each, at], noise["step"][each])) for each in range(4)) <= 0.8,
        }  # fmt: skip
        for name, called in readings.items():
            found[name][0].append(bool(rows[f"keeps {name}"][at]))
            found[name][1].append(called)
    return {name: (np.array(kept), np.array(called)) for name, (kept, called) in found.items()}


def test_wrong_calls_of_every_limit_are_those_of_boxes_read_one_by_one():
    """Second method: plain rounding in a loop, of the limits as the design's file has them."""
    found = measured(DESIGN, WORKSHOP, division=1.0, boxes=2_000, seed=3)
    expected = by_hand(1.0, 2_000, 3)
    assert {each.name for each in found.limits} == set(expected)
    for each in found.limits:
        keeps, called = expected[each.name]
        assert each.refused.value == pytest.approx((keeps & ~called).mean(), abs=1e-12)
        assert each.passed.value == pytest.approx((~keeps & called).mean(), abs=1e-12)
    assert found.limits[0].name == "step"
    assert found.limits[0].refused.value > 0.3
    assert (found.limits[0].limit, found.limits[0].works_like) == ((None, 0.8), (None, 0.5))
    wrong = [each.refused.value + each.passed.value for each in found.limits]
    assert wrong == sorted(wrong, reverse=True)


def test_a_finer_rule_is_tried_on_the_same_boxes_and_by_the_same_hands():
    """Second method: the finer rule by itself, whose readings have the same numbered streams."""
    found = measured(DESIGN, WORKSHOP, division=1.0, boxes=3_000)
    alone = measured(DESIGN, WORKSHOP, division=0.5, boxes=3_000)
    assert found.finer == replace(alone, limits=())
    assert alone.finer is None
    assert found.wrong.value == pytest.approx(found.false_accept.value + found.false_reject.value, abs=1e-12)


def test_outcomes_that_no_rule_reads_are_judged_true():
    gap = DESIGN.model_copy(update={"limits": Limits(joint_gap=Limit(max=1.0))})
    found = measured(gap, WORKSHOP, boxes=5_000)
    assert found.good == found.called_good
    assert found.false_accept.value == found.false_reject.value == 0
    assert found.limits == ()


@pytest.mark.parametrize("division", [0.0, -1.0, math.inf, math.nan])
def test_a_rule_without_divisions(division):
    with pytest.raises(InputError) as caught:
        measured(DESIGN, WORKSHOP, division=division)
    assert str(caught.value) == f"rule: got a division of {division} mm, must be over 0, such as 1 or 0.5"
