"""Single changes: what each does to a workshop, closed forms of what it gains, and changes that make things worse."""

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from boxes import still_workshop, with_rows
from models import Formula, plain
from stopped import stopped_at

from assembly.changes.apply import apply
from assembly.changes.change import Change, asked
from assembly.changes.of_making import aid_used, half_the_spread, no_bias, plain_walls_longer
from assembly.files.reading import read_design, read_workshop
from assembly.made.sampling import draw_block, values
from assembly.model.workshop import Pare, Workshop, quantities
from assembly.study import side_effects
from assembly.study.check import BoxModel, check
from assembly.study.driver import Run
from assembly.study.improvements import LONGER, Tried, helps, paired_gains, tried
from assembly.study.intervals import Z95
from assembly.study.side_effects import missed, reasons, short_shares, shorter

DESIGN, WORKSHOP = read_design("configs/frost_watch.toml"), read_workshop("new_to_tools")
SHORT = asked(["workshop.saw.offset.bias=0"])  # sawn on the line, so that nothing is left to sand


def good(bias: float, spread: float) -> Formula:
    """Return boxes that pass within ± 1."""
    return Formula([plain("x", bias, spread)], lambda x: (x, np.abs(x) < 1), rows=("y", "passes"))


def share(bias: float, spread: float) -> float:
    x = NormalDist(bias, spread)
    return x.cdf(1) - x.cdf(-1)


def named(what: str, model: Formula) -> Tried:
    """Return a change that a formula stands for."""
    return Tried(change=Change(kind="aid", what=what, words=what, settings=()), model=model)


def made_by(change: Change) -> Workshop:
    """Return the workshop after a change."""
    return apply(change, DESIGN, WORKSHOP)[1]


def test_gains_are_those_of_the_normal_distribution():
    """A halved spread, a removed bias, and a bias that does harm; ranked, in boxes of a class of 26."""
    settings_of = {"harm": (0.9, 1.0), "no bias": (0.0, 1.0), "half": (0.5, 0.5)}
    found = paired_gains(
        good(0.5, 1.0),
        [named(name, good(*settings)) for name, settings in settings_of.items()],
        makers=26,
        boxes=400_000,
    )
    assert [each.change.what for each in found.gains] == ["half", "no bias", "harm"]
    for each in found.gains:
        expected = 26 * (share(*settings_of[each.change.what]) - share(0.5, 1.0))
        assert each.boxes.value == pytest.approx(expected, abs=4 * (each.boxes.high - each.boxes.value) / Z95)
        assert each.boxes.value == pytest.approx(expected, rel=0.02)
        assert not each.same
    assert found.gains[-1].boxes.high < 0
    assert found.pass_share.low < share(0.5, 1.0) < found.pass_share.high
    assert found.gains[0].pass_share.value == pytest.approx(share(0.5, 0.5), abs=0.003)


def test_a_change_that_changes_nothing_is_told_so():
    found = paired_gains(good(0, 1), [named("", good(0, 1))], makers=26, boxes=10_000)
    gain = found.gains[0]
    assert (gain.same, gain.boxes.value, gain.boxes.low, gain.boxes.high) == (True, 0, 0, 0)


def test_a_change_that_no_box_of_the_study_shows_is_not_taken_for_nothing():
    found = paired_gains(good(0, 1e-3), [named("", good(0, 1e-4))], makers=26, boxes=10_000)
    gain = found.gains[0]
    assert (gain.same, gain.boxes.value) == (False, 0)
    assert gain.boxes.high == pytest.approx(26 * Z95 / 10_002, rel=1e-3)


def test_halving_and_removing_touch_one_operation():
    half, straight = made_by(half_the_spread(WORKSHOP, "sand")), made_by(no_bias(WORKSHOP, "sand"))
    for name in quantities():
        before, smaller, centred = (each.disturbance(name) for each in (WORKSHOP, half, straight))
        if name.startswith("sand."):
            assert (smaller.class_spread, smaller.maker_spread, smaller.spread) == (
                before.class_spread / 2,
                before.maker_spread / 2,
                before.spread / 2,
            )
            assert (smaller.bias, centred.bias, centred.std) == (before.bias, 0, before.std)
        else:
            assert before == smaller == centred
    assert half.pare == straight.pare == WORKSHOP.pare


def test_what_is_left_to_sand_is_never_taken_away():
    """Of the saw only the bias is meant: with faults of angle those go, and the allowance stays."""
    assert no_bias(WORKSHOP, "saw").settings == no_bias(WORKSHOP, "lid_saw").settings == ()
    slanting = apply(asked(["workshop.saw.plan.bias=0.5"]), DESIGN, WORKSHOP)[1]
    assert no_bias(slanting, "saw").lines == ("--set workshop.saw.plan.bias=0",)
    assert any(each.change == no_bias(slanting, "saw") for each in tried(DESIGN, slanting))


def test_the_stop_block_keeps_what_is_left_to_sand_and_gains():
    """It makes lengths alike: on the same 4,000 boxes more are good, in both workshops."""
    for name, workshop in (("frost_watch", WORKSHOP), ("label_box", read_workshop("practised"))):
        design = read_design(name)
        stopped = apply(aid_used(workshop, "stop_block"), design, workshop)[1]
        assert stopped.disturbance("saw.offset").bias == workshop.disturbance("saw.offset").bias > 0
        before, after = (check(design, each, boxes=4_000).pass_share.value for each in (workshop, stopped))
        assert after > before + 0.01


def test_halving_and_removing_for_paring():
    half, straight = made_by(half_the_spread(WORKSHOP, "pare")), made_by(no_bias(WORKSHOP, "pare"))
    pare = WORKSHOP.pare
    assert half.pare == pare.model_copy(update={"spread": pare.spread / 2})
    assert straight.pare == pare.model_copy(update={"bias": 0.0})
    assert half.operations == straight.operations == WORKSHOP.operations


def test_changes_tried_on_the_box():
    found = [(each.change.kind, each.change.what) for each in tried(DESIGN, WORKSHOP)]
    varying = {name.partition(".")[0] for name in quantities() if WORKSHOP.disturbance(name).std}
    assert {what for kind, what in found if kind == "half the spread"} == varying | {"pare"}
    biased = {name.partition(".")[0] for name in quantities() if WORKSHOP.disturbance(name).bias} | {"pare"}
    assert {"saw", "lid_saw"} < biased  # what is left to sand is meant, and no fault that could be taken away
    biased -= {"saw", "lid_saw"}
    assert {what for kind, what in found if kind == "no bias"} == biased
    assert len(set(found)) == len(found)
    assert {what for kind, what in found if kind == "aid"} == set(WORKSHOP.aids)
    assert {kind for kind, what in found if not what} == {"squared", "one more paring", "overlength", "marked through"}


def kinds(design, workshop):
    return {each.change.kind for each in tried(design, workshop)}


def test_what_is_done_already_is_not_proposed():
    """Shoulders are marked from the part now; then what else can be done already."""
    drawing = WORKSHOP.model_copy(update={"shoulder_from": "drawing"})
    assert "shoulder from" in kinds(DESIGN, drawing)
    assert "shoulder from" not in kinds(DESIGN, WORKSHOP)
    assert "squared" not in kinds(DESIGN.model_copy(update={"glue_up": "squared"}), WORKSHOP)
    stopped = with_rows(WORKSHOP, WORKSHOP.aids["stop_block"].replaces)
    in_use = apply(aid_used(WORKSHOP, "stop_block"), DESIGN, WORKSHOP)[1]
    for workshop in (stopped, in_use):
        aids = {each.change.what for each in tried(DESIGN, workshop) if each.change.kind == "aid"}
        assert aids == set(WORKSHOP.aids) - {"stop_block"}


def test_what_can_t_be_done_is_not_proposed():
    """Twenty rounds of paring are the most; of two aids that give the same number only one can be used."""
    often = WORKSHOP.model_copy(update={"pare": WORKSHOP.pare.model_copy(update={"rounds": 20})})
    assert "one more paring" not in kinds(DESIGN, often)
    guide = WORKSHOP.aids["saw_guide"]
    twice = WORKSHOP.model_copy(update={"aids": {"a": guide.model_copy(update={"used": True}), "b": guide}})
    assert "aid" not in kinds(DESIGN, twice)


def test_a_longer_wall_makes_the_box_longer_by_itself_and_opens_no_joint():
    """Without errors, plain walls that are 0.5 longer move the lapped walls apart by 0.5."""
    longer, _ = apply(plain_walls_longer(DESIGN, LONGER), DESIGN, WORKSHOP)
    box = BoxModel(longer, still_workshop())
    outcomes = dict(zip(box.rows, box.evaluate(values(box.inputs, {})), strict=True))
    assert outcomes["length"] == pytest.approx([0.5], abs=1e-9)
    assert outcomes["width"] == pytest.approx([0], abs=1e-9)
    assert outcomes["joint_gap"] == pytest.approx([0], abs=1e-9)
    assert longer.overlength == LONGER == 0.5


def test_nothing_helps_where_there_are_no_errors():
    found = helps(DESIGN, still_workshop(), boxes=500)
    assert found.pass_share.value == 1
    tried_kinds = {"squared", "one more paring", "overlength", "marked through", "gauge side"}
    assert {each.change.kind for each in found.gains} == tried_kinds
    assert all(each.boxes.value == 0 for each in found.gains if each.change.kind != "overlength")


def test_the_box_gains_what_two_studies_with_the_same_seed_differ_by():
    """Second method, for a workshop that marks from the drawing and pares once."""
    rough = WORKSHOP.model_copy(
        update={"shoulder_from": "drawing", "pare": Pare(notice=0.3, bias=0.05, spread=0.15, rounds=1)}
    )
    found = helps(DESIGN, rough, boxes=4_000, seed=2)
    before = check(DESIGN, rough, boxes=4_000, seed=2).pass_share
    changed = {
        "shoulder from": (DESIGN, rough.model_copy(update={"shoulder_from": "part"})),
        "squared": (DESIGN.model_copy(update={"glue_up": "squared"}), rough),
        "one more paring": (
            DESIGN,
            rough.model_copy(update={"pare": Pare(notice=0.3, bias=0.05, spread=0.15, rounds=2)}),
        ),
    }
    assert found.pass_share.value == pytest.approx(before.value, abs=1e-12)
    gain_of = {each.change.kind: each for each in found.gains if each.change.kind in changed}
    for kind, pair in changed.items():
        after = check(*pair, boxes=4_000, seed=2).pass_share
        assert gain_of[kind].boxes.value == pytest.approx(DESIGN.makers * (after.value - before.value), abs=1e-9)
        assert gain_of[kind].pass_share.value == pytest.approx(after.value, abs=1e-12)
        assert not gain_of[kind].same
    gains = [each.boxes.value for each in found.gains]
    assert gains == sorted(gains, reverse=True)


def test_corners_are_short_as_often_as_the_normal_distribution_says():
    """A corner's height is a sum of normal errors: short are sawn less sanded below 0, cheeks and shoulders below 0.

    Line and squaring are the same for saw and sander. Offsets ± slopes times half the face's width and height.
    """
    box = BoxModel(DESIGN, WORKSHOP)

    def below(bias: float, spreads: list[float], angles: dict[str, float]) -> float:
        slopes = [math.radians(WORKSHOP.disturbance(name).std) * arm for name, arm in angles.items()]
        return NormalDist(bias, math.hypot(*spreads, *slopes)).cdf(0)

    def std(*names: str) -> list[float]:
        return [WORKSHOP.disturbance(name).std for name in names]

    up = 45 / 2
    ends = [
        below(0.8 - 0.1, std("saw.offset", "sand.offset"),
              {"saw.plan": half, "sand.plan": half, "saw.upright": up, "sand.upright": up})
        for half in (10 / 2, 7.5 / 2)  # a plain wall's thickness, a tongue's
    ]  # fmt: skip
    cheek = below(
        0.15, std("gauge.offset", "chisel.offset", "chisel.uneven"), {"chisel.along": 5, "chisel.upright": up}
    )
    shoulder = below(
        0.20, std("lap_saw.offset", "lap_mark.offset"),
        {"square.plan": 7.5 / 2, "lap_saw.plan": 7.5 / 2, "square.upright": up, "lap_saw.upright": up},
    )  # fmt: skip
    found = short_shares(box, values(box.inputs, draw_block(box.inputs, 10_000, seed=5, block=0)))
    for where, expected in (("ends", np.mean(ends)), ("laps", (cheek + shoulder) / 2)):
        error = found[where].std() / 100
        assert found[where].mean() == pytest.approx(expected, abs=4 * error)
        assert 4 * error < 0.06 * expected


def test_reasons_are_what_two_studies_with_the_same_seed_differ_by():
    """Second method, for sawing without bias: checks of both, and a count of the corners that are short."""
    straight = made_by(SHORT)
    (found,) = reasons(BoxModel(DESIGN, WORKSHOP), [BoxModel(DESIGN, straight)], boxes=4_000, seed=2)
    outcomes = [check(DESIGN, workshop, boxes=4_000, seed=2).outcomes for workshop in (WORKSHOP, straight)]
    kept = [{name: each[name].share_within.value for name in DESIGN.limits.model_fields_set} for each in outcomes]
    lost = {name: kept[0][name] - kept[1][name] for name in kept[0]}
    assert found.missed.name == max(lost, key=lost.get) == "joint_gap"
    for kept, mean, each in zip(found.missed.kept, found.missed.mean, outcomes, strict=True):
        assert kept == each["joint_gap"].share_within
        ends = [(end.low, end.value, end.high) for end in (mean, each["joint_gap"].mean)]
        assert ends[0] == pytest.approx(ends[1], abs=1e-9)
    assert found.where == "ends"
    for share, workshop in zip(found.short, (WORKSHOP, straight), strict=True):
        box = BoxModel(DESIGN, workshop)
        worked = box.making.worked(values(box.inputs, draw_block(box.inputs, 4_000, seed=2, block=0)))
        counted = np.count_nonzero(worked.sanded - worked.sawn > 0) / (32 * 4_000)
        assert share.value == pytest.approx(counted, abs=1e-12)
        assert share.low < share.value < share.high


def test_only_what_lies_beyond_chance_is_a_reason():
    """100 boxes: 5 lost and none gained is 5/102 - 1.96 √(6/102 - (5/102)²)/√102 = 0.0029 over 0; 5 and 1 is chance."""
    first, lost, both = np.ones(100), np.ones(100), np.ones(100)
    lost[:5] = 0
    first_but_one = first.copy()
    first_but_one[99] = 0
    before = {"keeps y": first, "y": np.linspace(0, 1, 100)}
    found = missed(["y"], before, {"keeps y": lost, "y": np.linspace(1, 2, 100)})
    assert [each.value for each in found.kept] == [1.0, 0.95]
    assert [each.value for each in found.mean] == pytest.approx([0.5, 1.5])
    assert missed(["y"], before | {"keeps y": first_but_one}, {"keeps y": lost, "y": both}) is None
    assert missed([], before, before) is None
    noise = np.random.default_rng(3).standard_normal(100)
    assert shorter({"ends": noise}, {"ends": noise + 0.1 * noise[::-1]}) == (None, None)
    assert shorter({}, {}) == (None, None)


def test_losses_have_their_reason_and_gains_none():
    found = helps(DESIGN, WORKSHOP, boxes=2_000, seed=2)
    for each in found.gains:
        assert (each.why is None) is (each.boxes.high >= 0)
    (lap,) = [each for each in found.gains if each.change == no_bias(WORKSHOP, "lap_saw")]
    changed = [BoxModel(DESIGN, made_by(lap.change))]
    assert lap.why == next(reasons(BoxModel(DESIGN, WORKSHOP), changed, boxes=2_000, seed=2))
    assert lap.why is not None
    assert not found.partial


def test_stopped_in_the_reasons_helps_tell_the_gains(monkeypatch):
    """While the first reason is looked for: that one may be given still, the others are not."""
    reached, real = [], side_effects.missed

    def missed(*words):
        reached.append(words)
        return real(*words)

    monkeypatch.setattr(side_effects, "missed", missed)
    found = helps(DESIGN, WORKSHOP, boxes=1_000, run=Run(stop=lambda: bool(reached)))
    whole = helps(DESIGN, WORKSHOP, boxes=1_000)
    bare = [tuple(replace(each, why=None) for each in helped.gains) for helped in (found, whole)]
    assert (found.partial, bare[0]) == (True, bare[1])
    first, *others = [at for at, each in enumerate(whole.gains) if each.why]
    assert found.gains[first].why in {None, whole.gains[first].why}
    assert others
    assert not any(found.gains[at].why for at in others)


def test_helps_stopped_half_way_tell_what_is_known():
    each = [named("", good(0, 1))]
    found = paired_gains(good(0.5, 1), each, makers=26, boxes=30_000, run=stopped_at(10_000))
    assert (found.partial, found.boxes) == (True, 10_000)
    assert found.gains == paired_gains(good(0.5, 1), each, makers=26, boxes=10_000).gains
