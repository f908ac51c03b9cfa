"""Total effects: published indices, closed forms of linear stacks by group and level, and the box itself."""

import math
from dataclasses import replace

import numpy as np
import pytest
from models import CLUTCH, ISHIGAMI, ISHIGAMI_TOTAL, ISHIGAMI_VARIANCE, Formula, additive
from stopped import stopped_at

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.made.sampling import Input
from assembly.study.check import BoxModel
from assembly.study.driver import Run
from assembly.study.intervals import Z95
from assembly.study.sensitivity import causes, groups_of

BOX = BoxModel(read_design("configs/frost_watch.toml"), read_workshop("new_to_tools"))
# y = Σ of three places of p, and 2 q: variance of the class, maker and cut parts of each, by hand
LEVELLED = Formula(
    [
        Input(name="p", group="p", places=3, class_spread=0.2, maker_spread=0.5, spread=1.1),
        Input(name="q", group="q", maker_spread=0.7, spread=0.4),
    ],
    lambda p, q: p.sum(axis=0) + 2 * q,
)
PARTS = {
    "p class": (3 * 0.2) ** 2,
    "p maker": (3 * 0.5) ** 2,
    "p cut": 3 * 1.1**2,
    "q maker": (2 * 0.7) ** 2,
    "q cut": (2 * 0.4) ** 2,
}


def holds(cause, expected):
    """Return whether a cause lies within four standard errors of a value, by its own interval."""
    return abs(cause.share.value - expected) < 4 * cause.share.standard_error


def test_ishigami_total_effects():
    found = causes(ISHIGAMI, ["y"], boxes=1_000_000, seed=3)
    assert found.sd["y"].value == pytest.approx(math.sqrt(ISHIGAMI_VARIANCE), rel=0.003)
    assert abs(found.sd["y"].value - math.sqrt(ISHIGAMI_VARIANCE)) < 4 * found.sd["y"].standard_error
    assert [each.name for each in found.causes["y"]] == ["x1", "x2", "x3"]
    for each in found.causes["y"]:
        # A random design's error is about 1/√N (statistics of 40 repeats at 4,096 boxes: .0154); 4 times that.
        assert each.share.value == pytest.approx(ISHIGAMI_TOTAL[each.name], abs=0.004)
        assert holds(each, ISHIGAMI_TOTAL[each.name])


def test_a_group_that_does_it_all_has_an_interval_that_holds_its_share():
    """By chance y and y' may go against each other, and half their square difference then is over the variance."""
    alone = Formula([Input(name="p", group="p", spread=1.0)], lambda p: p)
    found = [causes(alone, ["y"], boxes=50, seed=seed).causes["y"][0] for seed in range(100)]
    assert all(0 <= each.share.low <= each.share.value <= each.share.high <= 1 for each in found)
    assert sum(each.share.value == 1 for each in found) > 20


def test_a_group_of_two_inputs():
    """x1 and x3 together: all variance but what x2 does alone, 1 - S2, and S2 = ST2 as x2 stands alone."""
    inputs = [replace(each, group="x2" if each.name == "x2" else "both") for each in ISHIGAMI.inputs]
    found = causes(replace(ISHIGAMI, inputs=inputs), ["y"], boxes=500_000)
    assert {each.name: each.share.value for each in found.causes["y"]} == {
        "both": pytest.approx(1 - 0.442411, abs=0.006),
        "x2": pytest.approx(0.442411, abs=0.006),
    }


def test_intervals_cover_what_they_say():
    """200 studies of 3 indices: 95 % within 4 standard errors of the share that covers, 0.9 %."""
    covered = [
        each.share.low <= ISHIGAMI_TOTAL[each.name] <= each.share.high
        for seed in range(200)
        for each in causes(ISHIGAMI, ["y"], boxes=2_000, seed=seed).causes["y"]
    ]
    assert np.mean(covered) == pytest.approx(0.95, abs=0.036)


def test_width_of_an_interval():
    """y = a + c, a drawn anew as b, all unit normal, r = 1/2, V = 2: the standard error is 3/4 √(1/N).

    n - v/2 = a²/4 + b²/4 - ab - c²/2 - (a + b)c/2, terms without correlation: variance 1/8 + 1/8 + 1 + 1/2 + 1/2 = 9/4.
    """
    boxes = 200_000
    for each in causes(additive("normal", (1, 1)), ["y"], boxes=boxes).causes["y"]:
        assert each.share.high - each.share.low == pytest.approx(2 * Z95 * 0.75 / math.sqrt(boxes), rel=0.02)
        assert each.share.value == pytest.approx(0.5, abs=4 * 0.75 / math.sqrt(boxes))


@pytest.mark.parametrize(
    ("by", "names"),
    [
        ("operation", {"p": ("p class", "p maker", "p cut"), "q": ("q maker", "q cut")}),
        ("level", {"class": ("p class",), "maker": ("p maker", "q maker"), "cut": ("p cut", "q cut")}),
        ("both", {name: (name,) for name in PARTS}),
    ],
)
def test_linear_stack_by_operation_and_level(by, names):
    """S = ST = variance of the group's parts over all of it."""
    found = causes(LEVELLED, ["y"], by=by, boxes=400_000)
    total = sum(PARTS.values())
    expected = {name: sum(PARTS[part] for part in members) / total for name, members in names.items()}
    assert {each.name for each in found.causes["y"]} == set(expected)
    for each in found.causes["y"]:
        assert each.share.value == pytest.approx(expected[each.name], rel=0.01)
        assert holds(each, expected[each.name])


def test_clutch_sensitivities():
    """Source: see `models.CLUTCH`; dφ/d(a, c, e) = -11.9105, -23.7317, 11.8212 degrees per mm."""
    parts = {"a": 11.9105 * 0.050 / 3, "c": 23.7317 * 0.010 / 3, "e": 11.8212 * 0.0125 / 3}
    total = sum(part**2 for part in parts.values())
    found = causes(CLUTCH, ["y"], boxes=400_000)
    for each in found.causes["y"]:
        # The second-order method's variance is 0.3 % larger than the linear one: 0.219668² against 0.219293².
        assert each.share.value == pytest.approx(parts[each.name] ** 2 / total, abs=0.0035)


def test_groups_of_the_box():
    operations = groups_of(BOX.inputs)
    assert operations["settling"] == {("settling.tie", "cut")}
    assert operations["pare"] == {("pare.draw", "cut")}
    assert operations["mark"] == {("mark.offset", "maker"), ("mark.offset", "cut")}
    levels = groups_of(BOX.inputs, "level")
    assert set(levels) == {"class", "maker", "cut", "settling"}
    assert levels["class"] == {
        (name, "class")
        for name in ("sand.upright", "stock.thickness", "stock.height", "drill.wander", "laser.kerf", "bend.angle")
    }
    both = groups_of(BOX.inputs, "both")
    assert both["stock class"] == {("stock.thickness", "class"), ("stock.height", "class")}
    assert frozenset().union(*both.values()) == frozenset().union(*operations.values())


def test_only_the_stock_is_behind_the_top_step():
    """Wall heights are the timber's own: whatever else is drawn anew changes nothing at all."""
    found = {each.name: each.share.value for each in causes(BOX, ["top_step"], boxes=2_000).causes["top_step"]}
    assert found.pop("stock") == pytest.approx(1, abs=0.1)
    assert set(found.values()) == {0}


def test_the_top_step_of_the_box_is_cut_by_cut():
    """Class and maker parts of the height cancel in a difference of walls of one box."""
    found = {
        each.name: each.share.value for each in causes(BOX, ["top_step"], by="both", boxes=2_000).causes["top_step"]
    }
    assert found["stock class"] < 1e-20
    assert found["stock cut"] == pytest.approx(1, abs=0.1)


def test_same_numbers_whatever_the_threads():
    one, many = (causes(ISHIGAMI, ["y"], boxes=25_000, run=Run(threads=n)) for n in (1, 3))
    assert one == many


def test_a_standard_deviation_is_no_less_sure_than_repeated_studies_show():
    """Both runs of each group share their boxes before: studies differ by no more than is said, by half at least."""
    found = [causes(ISHIGAMI, ["y"], boxes=2_000, seed=seed).sd["y"] for seed in range(200)]
    said = np.mean([each.standard_error for each in found])
    assert said / 2 < np.std([each.value for each in found], ddof=1) < 1.1 * said


def test_an_outcome_without_spread_has_no_causes():
    model = Formula(ISHIGAMI.inputs, lambda **x: (x["x1"], 3.0), rows=("y", "still"))
    found = causes(model, ["y", "still"], boxes=1_000)
    assert found.causes["still"] == ()
    assert found.sd["still"].value == 0
    assert [each.share.value for each in found.causes["y"]] == pytest.approx([1, 0, 0], abs=0.2)


def test_a_model_without_spread_has_no_causes():
    found = causes(Formula([Input(name="x", group="x", bias=2.0)], lambda x: x), ["y"], boxes=100)
    assert (found.causes, found.sd["y"].value) == ({"y": ()}, 0.0)


def test_causes_stopped_half_way_tell_what_is_known():
    found = causes(ISHIGAMI, ["y"], boxes=30_000, run=stopped_at(10_000))
    assert (found.partial, found.boxes) == (True, 10_000)
    assert found.causes == causes(ISHIGAMI, ["y"], boxes=10_000).causes


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("joint_gpa", "outcome: unknown name 'joint_gpa'; did you mean 'joint_gap'?"),
        ("", "outcome: unknown name ''; must be one of " + ", ".join(BOX.rows)),
    ],
)
def test_unknown_outcomes(name, message):
    with pytest.raises(InputError) as caught:
        causes(BOX, [name])
    assert str(caught.value) == message
