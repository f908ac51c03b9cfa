"""What the tolerance module's commands say, word by word, from results whose figures are set here."""

from dataclasses import replace

import numpy as np
import pytest

from assembly.design import Limit
from assembly.reading import maker, read_design
from assembly.tolerance.causes import Cause, Causes
from assembly.tolerance.check import OUTCOMES, OutcomeSummary, StudyResult
from assembly.tolerance.compare import Comparison, Difference, OutcomeDifference
from assembly.tolerance.forecast import ClassCounts, Failure, Forecast
from assembly.tolerance.helps import Gain
from assembly.tolerance.intervals import Share, wilson
from assembly.tolerance.linear import LinearPart
from assembly.tolerance.measured import Measured, Misread
from assembly.tolerance.reasons import Mean, Missed, Reason
from assembly.tolerance.worst import LimitCase
from assembly.workshop import Pare
from viewer import causes_report, compare_report, forecast_report, worst_report
from viewer.figures import with_interval


@pytest.fixture
def design():
    return read_design("frost_watch", ["makers=26", "required_share=0.8"])


def summary(name="joint_gap", limit=None, quantiles=(0.5, 1.0, 1.8, 2.3), sd=0.4):
    told = dict(zip((0.05, 0.5, 0.95, 0.99), quantiles, strict=True))
    return OutcomeSummary(
        unit=OUTCOMES[name], limit=limit, mean=1.0, sd=sd, quantiles=told, share_within=None, low=None, high=None
    )


def study(share=0.27, boxes=100_000, **outcomes):
    return StudyResult(
        boxes=boxes,
        seed=1,
        pass_share=wilson(share * boxes, boxes),
        outcomes=outcomes or {"joint_gap": summary(limit=Limit(max=1.5))},
        corners={},
        beyond_first_order=0.0,
    )


def forecast(counts, makers=26, limits=(), joints=()):
    counts = np.asarray(counts)
    classes = ClassCounts(
        makers=makers, counts=counts, boxes=counts.size * makers, passed=int(counts.sum()), partial=False
    )
    return Forecast(classes=classes, limits=limits, joints=joints, beyond_first_order=0.0)


def test_a_class_is_told_its_expectation_and_what_nine_classes_in_ten_keep(design):
    """1,000 classes: 4 % have 2, 2 % have 3, so 5 % is passed at 3; 92 % reach 7, 4 % 13 and 2 % 20: 95 % is at 13."""
    counts = [2] * 40 + [3] * 20 + [7] * 860 + [13] * 60 + [20] * 20
    assert forecast_report.class_sentences(design, study(), forecast(counts)) == [
        "Of 26 makers, expect 7 with a good box; nine classes in ten have 3 to 13."
    ]


def test_classes_that_go_together_are_told_so(design):
    """Half the classes 2 of 26, half 12: variance 25, and independent boxes have 26 x 7/26 x 19/26 = 5.1."""
    told = forecast_report.class_sentences(design, study(), forecast([2, 12] * 500))
    assert told[1] == "Classes differ by more than chance: what a whole class shares moves all of its boxes at once."


def test_a_class_of_one_is_told_as_a_chance(design):
    alone = design.model_copy(update={"makers": 1})
    found = forecast([0, 1, 0, 0], makers=1)
    assert forecast_report.class_sentences(alone, study(), found) == ["A maker alone has a good box in 27 % of cases."]


def test_a_million_makers_are_rounded_to_what_is_known(design):
    """Sd 20,000 over 1,000 classes: 2.1 x 20,000/31.6 = 1,340 of error, 2,600 half-width: thousands."""
    many = design.model_copy(update={"makers": 1_000_000})
    counts = np.linspace(270_000 - 34_641, 270_000 + 34_641, 1000).astype(int)  # uniform: half-width √3 sd
    told = forecast_report.class_sentences(many, study(), forecast(counts, makers=1_000_000))
    assert (
        told[0] == "Of 1,000,000 makers, expect 270,000 with a good box; nine classes in ten have 239,000 to 301,000."
    )


def test_limits_missed_are_ranked_with_how_far():
    """26,000 boxes; the error of an exponential mean is mean/√number.

    0.29/√3,640 = 0.0048 leaves two decimals, 5.2 %/√2,600 = 0.1 none, 0.2/√1,040 = 0.006 one.
    """
    limits = (
        Failure(name="joint_gap", unit="mm", share=0.14, excess=0.29),
        Failure(name="closed_share", unit="1", share=0.1, excess=0.052),
        Failure(name="lean", unit="mm", share=0.04, excess=0.2),
        Failure(name="step", unit="mm", share=0.03, excess=0.2),
    )
    assert forecast_report.limit_sentences(forecast([7] * 1000, limits=limits)) == [
        "Limits missed most often:",
        "- widest joint gap in 14 % of boxes, by 0.29 mm on average",
        "- joint closed by glue in 10 % of boxes, by 5 % on average",
        "- wall leaning in 4 % of boxes, by 0.2 mm on average",
    ]
    assert forecast_report.limit_sentences(forecast([7] * 10)) == []


def joints(*shares):
    names = ("right-back", "right-front", "left-back", "left-front")
    return tuple(
        Failure(name=name, unit="mm", share=share, excess=0.4) for name, share in zip(names, shares, strict=True)
    )


def test_a_joint_stands_out_only_beyond_chance():
    """26,000 boxes at 4 %: the error of a difference is √(2 x 0.04 x 0.96/26,000) = 0.17 %, and 1.96 of it 0.34 %."""
    clear = forecast([7] * 1000, joints=joints(0.0435, 0.04, 0.04, 0.04))
    assert forecast_report.joint_sentences(clear) == [
        "The joint that fails most: right-back in 4 % of boxes, by 0.4 mm on average."
    ]
    alike = forecast([7] * 1000, joints=joints(0.0432, 0.04, 0.04, 0.04))
    assert forecast_report.joint_sentences(alike) == [
        "No single joint fails most: all four are alike, and each is too wide in 4 % of boxes."
    ]
    pair = forecast([7] * 1000, joints=joints(0.05, 0.05, 0.02, 0.02))
    assert forecast_report.joint_sentences(pair) == [
        "No single joint fails most: right-back and right-front are alike, and each is too wide in 5 % of boxes."
    ]
    assert forecast_report.joint_sentences(forecast([7] * 10, joints=joints(0, 0, 0, 0))) == []


def linear(interval, sampled, explained=0.07, sd=0.4):
    return LinearPart(
        mean=1.07, worst_case=1.94, rss=0.1, explained=explained, sd=sd, interval=interval, sampled=sampled,
        tolerance=0.005, coefficients={},
    )  # fmt: skip


def test_a_plain_sum_is_told_where_it_misleads():
    """10,000 boxes of sd 0.4: √(0.025 x 0.975/10,000)/(0.0584/0.4) = 0.0107 of error at 2.5 %, so one decimal."""
    found = study(joint_gap=summary(limit=Limit(max=1.5)), length=summary("length"))
    off = {"joint_gap": linear((0.85, 1.3), (0.47, 2.06)), "length": linear((-0.8, 1.4), (-0.8, 1.4), explained=0.95)}
    assert forecast_report.linear_sentences(found, off, 10_000) == [
        (
            "A plain sum of tolerances would have told you: widest joint gap, 95 boxes in 100 from 0.8 to 1.3 mm. "
            "Made on paper, they lie from 0.5 to 2.1 mm."
        ),
        "This outcome is not a sum of errors: a sum explains 7 % of its variance.",
        "Such a sum misleads in 1 of 2 outcomes.",
    ]
    same = {"length": off["length"]}
    assert forecast_report.linear_sentences(found, same, 10_000) == [
        "A plain sum of tolerances would have told you the same, as far as so many boxes can tell."
    ]


def test_chance_in_the_sample_is_not_taken_for_a_plain_sum_that_misleads():
    """δ = 0.005 and twice 0.0107: 0.026 off at the lower end is chance, 0.028 is not."""
    part = linear((0.5, 1.5), (0.5, 1.5))
    assert not forecast_report.misleads(replace(part, interval=(0.5 + 0.026, 1.5)), (0.0107, 0.02))
    assert forecast_report.misleads(replace(part, interval=(0.5 + 0.028, 1.5)), (0.0107, 0.02))


def test_what_a_rule_calls_good_is_told_beside_what_is():
    shares = {name: wilson(share * 1e5, 100_000) for name, share in (("good", 0.275), ("called_good", 0.164))}
    wrong = {"false_accept": wilson(200, 100_000), "false_reject": wilson(11_300, 100_000)}
    found = Measured(boxes=100_000, seed=1, division=0.5, **shares, **wrong)
    assert forecast_report.measured_sentences(found) == [
        "Checked with a steel rule read to 0.5 mm, 16 % of boxes would be called good, where 28 % are:",
        "0.2 % of all boxes would be called good and are not, 11 % are good and would be called bad.",
        "The rule reads length, width, diagonals and steps; the rest is judged true.",
    ]


def read_to(division, called, accept, reject, limits=(), finer=None):
    """Return what 20,000 boxes show of which 63 % are good; shares in percent."""
    shares = {"good": 63, "called_good": called, "false_accept": accept, "false_reject": reject}
    told = {name: wilson(200 * share, 20_000) for name, share in shares.items()}
    return Measured(boxes=20_000, seed=1, division=division, **told, limits=limits, finer=finer)


def misread(name, limit, effect, refused, passed):
    shares = {"refused": wilson(200 * refused, 20_000), "passed": wilson(200 * passed, 20_000)}
    return Misread(name=name, limit=limit, works_like=effect, **shares)


def test_limits_that_a_rule_gets_wrong_are_named_with_what_they_work_like():
    """Of 20,000 boxes 42 % have a half-width of 0.7 %, 2 % one of 0.2 %: no decimals."""
    limits = (
        misread("step", (None, 0.8), (None, 0.5), 42, 0),
        misread("diagonal_difference", (-3, 3), None, 0, 2),
        misread("width", (-1.5, 1.5), (-1.5, 1.5), 1, 0),
        misread("length", (-2, 2), (-2.5, 2.5), 0, 0),
    )
    finer = read_to(0.5, 62, 1, 2)
    assert forecast_report.measured_sentences(read_to(1.0, 37, 0.5, 26.5, limits, finer))[2:] == [
        "Limits that this rule gets wrong, each by itself, the most often wrong first:",
        ("- end proud or shy, at most 0.8 mm: works like at most 0.5 mm; 42 % of boxes wrongly refused, 0.0 % wrongly "
        "passed"),
        "- diagonal difference, within ±3 mm: 0.0 % of boxes wrongly refused, 2 % wrongly passed",
        "- error of width, within ±1.5 mm: 1 % of boxes wrongly refused, 0.0 % wrongly passed",
        ("Warning: a division of 1 mm is more than is allowed of end proud or shy (0.8 mm): such a rule can't tell "
        "whether that is kept, and the share called good says little."),
        ("The same boxes, read to 0.5 mm: 62 % would be called good, 1 % wrongly passed, 2 % wrongly refused: "
        "take 0.5 mm."),
        "The rule reads length, width, diagonals and steps; the rest is judged true.",
    ]  # fmt: skip


def test_a_rule_that_is_coarser_than_several_limits_is_warned_of():
    limits = (
        misread("step", (None, 0.8), (None, 5.0), 5, 4),
        misread("length", (-2, 2), (-5, 5), 2, 1),
        misread("diagonal_difference", (-20, 20), None, 0, 0),
    )
    assert (
        "Warning: a division of 10 mm is more than is allowed of end proud or shy (0.8 mm), error of length (2 mm): "
        "such a rule can't tell whether they are kept, and the share called good says little."
    ) in forecast_report.measured_sentences(read_to(10.0, 61, 2, 4, limits))


@pytest.mark.parametrize(
    ("accept", "reject", "cure"),
    [(1, 2, "take 0.5 mm"), (2, 4.1, "about as often wrong, so keep yours"), (4, 8, "worse, so keep yours")],
)
def test_a_finer_rule_is_proposed_only_where_it_is_clearly_less_often_wrong(accept, reject, cure):
    """6 % of 20,000 boxes is known to 0.33 %: 6.1 % is no different."""
    words = forecast_report.measured_sentences(read_to(1.0, 61, 2, 4, finer=read_to(0.5, 62, accept, reject)))[2]
    assert words.startswith("The same boxes, read to 0.5 mm: 62 % would be called good, ")
    assert words.endswith(f" wrongly refused: {cure}.")


@pytest.mark.parametrize(
    ("limit", "effect", "words"),
    [
        ((-1.5, 1.5), (-1.9, 1.1), "within ±1.5 mm: works like from -1.9 to 1.1 mm; "),
        ((-0.3, 0.3), (0.0, 0.0), "within ±0.3 mm: no reading keeps it; "),
        ((1.0, None), (0.5, None), "at least 1 mm: works like at least 0.5 mm; "),
        ((-1.0, 2.0), (-1.5, 2.5), "from -1 to 2 mm: works like from -1.5 to 2.5 mm; "),
    ],
)
def test_what_a_limit_works_like_is_worded_for_every_kind(limit, effect, words):
    told = forecast_report.misread_words(misread("width", limit, effect, 42, 42))
    assert told == f"error of width, {words}42 % of boxes wrongly refused, 42 % wrongly passed"


@pytest.mark.parametrize(
    ("value", "half", "told"),
    [
        (3.3852, 0.13, ("3.4", "3.3", "3.5")),
        (52.3, 1.4, ("52", "51", "54")),
        (0.0, 0.04, ("0.00", "-0.04", "0.04")),
        (1234.0, 30.0, ("1,230", "1,200", "1,260")),
        (0.5, 0.0, ("0.50", "0.50", "0.50")),
    ],
)
def test_the_first_digit_of_an_interval_is_the_last_that_is_told(value, half, told):
    assert with_interval(value, value - half, value + half) == told


def causes(shares, by="operation", sd=0.42, boxes=50_000):
    told = tuple(Cause(name=n, share=s, low=max(0, s - 0.013), high=s + 0.013) for n, s in shares.items())
    return Causes(boxes=boxes, seed=1, by=by, sd={"joint_gap": sd}, causes={"joint_gap": told}, partial=False)


def test_causes_are_ranked_split_and_told_with_intervals():
    whole = causes({"saw": 0.46, "pare": 0.14, "settling": 0.057, "drill": 0.0})
    split = causes({"saw cut": 0.41, "saw maker": 0.19, "pare cut": 0.14, "settling": 0.057}, "both")
    levels = causes({"cut": 0.94, "maker": 0.49}, "level")
    lines = causes_report.cause_text(whole, split, levels, "joint_gap").splitlines()
    assert lines[0] == "What is behind the variation: widest joint gap (standard deviation 0.42 mm)"
    assert [[cell.strip() for cell in line.split("|")] for line in (lines[1], *lines[3:6])] == [
        ["operation", "all, %", "95 % interval", "class", "maker", "cut"],
        ["sawing a wall to length (saw)", "46", "45 to 47", "-", "19", "41"],
        ["paring to fit (pare)", "14", "13 to 15", "-", "-", "14"],
        ["chance in settling", "6", "4 to 7", "-", "-", "-"],
    ]
    assert causes_report.cause_sentences(whole, levels, "joint_gap") == [
        "No part in it: drill.",
        "By who shares the error: shared by a class none; shared by a maker's cuts 49 %; one cut alone 94 %.",
        (
            "A figure is the share of the variance that would go if that alone were always the same. "
            "Errors act together, so the figures need not add to 100 %."
        ),
    ]


def gain(value, half, kind="half the spread", what="saw"):
    share = Share(share=0.3, low=0.29, high=0.31)
    return Gain(kind=kind, what=what, boxes=Difference(value=value, low=value - half, high=value + half),
                pass_share=share, same=False)  # fmt: skip


def test_changes_are_told_in_words_and_by_what_they_do(design):
    workshop = maker(design, "frost_watch")
    kinds = {
        ("half the spread", "saw"): "half the spread in sawing a wall to length (saw)",
        ("no bias", "pare"): "no bias in paring to fit (pare)",
        ("aid", "stop_block"): "a stop block that every wall is cut to length against",
        ("shoulder from part", ""): "mark the shoulders along the part itself, not from the drawing",
        ("squared", ""): "make the diagonals equal while the glue is wet",
        ("one more paring", ""): "allow one more round of paring",
        ("allowance", ""): "leave the plain walls 0.5 mm longer",
    }
    assert {key: causes_report.change_words(*key, workshop) for key in kinds} == kinds
    assert [causes_report.effect(gain(value, 0.2)) for value in (0.3, 0.1, -0.3)] == [
        "helps", "no difference", "makes it worse",
    ]  # fmt: skip
    assert [causes_report.effect(gain(*each)) for each in ((0.02, 0.015), (-0.02, 0.015), (0.5, 0.6))] == [
        "no difference", "no difference", "can't be told",
    ]  # fmt: skip
    assert causes_report.slight(gain(0.0, 0.03))
    assert not causes_report.slight(gain(0.0, 0.06))
    lines = causes_report.help_table([gain(3.39, 0.13), gain(-2.24, 0.13, "no bias")], workshop).splitlines()
    assert [[cell.strip() for cell in line.split("|")] for line in lines[2:]] == [
        ["half the spread in sawing a wall to length (saw)", "+3.4", "+3.3 to +3.5", "helps"],
        ["no bias in sawing a wall to length (saw)", "-2.2", "-2.4 to -2.1", "makes it worse"],
    ]
    assert causes_report.slight_sentences([gain(0, 0.01), gain(0, 0.01, what="drill")], workshop) == [
        "Next to nothing, either way: half the spread in saw, drill."
    ]


def test_what_is_done_now_stands_over_what_would_help(design):
    workshop = maker(design, "frost_watch")
    assert causes_report.now_sentence(design, workshop) == (
        "As things are, shoulders are now marked along the part; a corner proud by more than 0.3 mm is pared, at most "
        "3 times; the frame is glued as it falls."
    )
    once = workshop.model_copy(update={"pare": workshop.pare.model_copy(update={"rounds": 1})})
    assert "is pared, at most 1 time; " in causes_report.now_sentence(design, once)
    never = workshop.model_copy(update={"shoulder_from": "drawing", "pare": Pare()})
    squared = design.model_copy(update={"glue_up": "squared"})
    assert causes_report.now_sentence(squared, never) == (
        "As things are, shoulders are now marked from the drawing; nothing is pared; the diagonals are made equal in "
        "the glue."
    )


def worse(kind, what, missed=None, where=None, short=None):
    why = Reason(
        boxes=10_000, missed=missed, where=where, short=short and tuple(wilson(100 * s, 10_000) for s in short)
    )
    return replace(gain(-1.3, 0.2, kind, what), why=why)


def lost(name, kept, means, error=0.004):
    shares = tuple(wilson(100 * share, 10_000) for share in kept)
    return Missed(name=name, kept=shares, mean=tuple(Mean(value=each, error=error) for each in means))


def test_why_a_change_makes_things_worse_is_told_by_what_moves(design):
    """10,000 boxes: 85 % have a half-width of 0.7 %, so no decimals; figures that are told alike are left out."""
    workshop = maker(design, "frost_watch")
    told = [
        worse("no bias", "saw", lost("joint_gap", (85, 68), (1.07, 1.32)), "ends", (19, 55)),
        worse("no bias", "lap_saw", lost("closed_share", (85, 85), (0.39, 0.38)), "laps", (37, 44)),
        worse("no bias", "pare", lost("step", (96, 91), (0.41, 0.411), 0.02)),
        worse("aid", "stop_block"),
        gain(-2.0, 0.1, "no bias", "chisel"),
        replace(worse("no bias", "gauge", None, "laps", (37, 44)), boxes=gain(0.1, 0.2).boxes),
    ]
    assert causes_report.why_sentences(told, workshop) == [
        "Why some make it worse (before, then after); too long is pared to fit, too short stays open:",
        ("- no bias in sawing a wall to length (saw): ends sawn too short for the sander (share of their corners) "
        "19 %, 55 %; mean of widest joint gap 1.07 mm, 1.32 mm; boxes within the limit on widest joint gap 85 %, 68 %"),
        ("- no bias in sawing a shoulder (lap_saw): laps cut too deep to be pared (share of their corners) 37 %, 44 %; "
        "mean of joint closed by glue 39 %, 38 %"),
        "- no bias in paring to fit (pare): boxes within the limit on end proud or shy 96 %, 91 %",
    ]  # fmt: skip
    assert causes_report.why_sentences(told[2:], workshop)[0] == "Why some make it worse (before, then after):"
    assert causes_report.why_sentences(told[3:], workshop) == []


def test_a_difference_is_judged_by_its_interval_and_by_what_it_is_for_a_class():
    """Differences of a share; in a class of 26 they are 2.6, 0.78, -2.6 and 0 boxes."""
    about = "The two are about the same for a class of 26."
    given = {(0.1, 0.02): "The second is better.", (0.03, 0.01): about, (-0.1, 0.02): "The first is better.",
             (0.0, 0.038): about, (0.0, 0.039): "So many boxes can't tell which is better."}  # fmt: skip
    assert {each: compare_report.judgement(gain(*each).boxes, 26) for each in given} == given


def test_a_maker_alone_has_no_boxes_to_be_about_the_same():
    words = [compare_report.judgement(gain(*each).boxes, 1) for each in ((0.3, 0.2), (-0.3, 0.2), (0.1, 0.2))]
    assert words == ["The second is better.", "The first is better.", "So many boxes can't tell which is better."]


def test_limits_that_two_designs_do_not_share_are_named(design):
    other = design.model_copy(update={"limits": design.limits.model_copy(
        update={"step": None, "lean": None, "top_step": Limit(max=0.5), "joint_gap": Limit(max=2.0)}
    )})  # fmt: skip
    assert compare_report.limits_words(design, other) == [
        (
            "The two do not set the same limits, and each is judged by its own; missing in the second: end proud or "
            "shy, wall leaning; missing in the first: step at the top edge; set otherwise: widest joint gap "
            "(at most 1.5, then at most 2)."
        )
    ]
    fewer = design.model_copy(update={"limits": design.limits.model_copy(update={"step": None})})
    assert compare_report.limits_words(fewer, design) == [
        "The two do not set the same limits, and each is judged by its own; missing in the first: end proud or shy."
    ]
    assert compare_report.limits_words(design, design) == []


def compared(**outcomes):
    """Return a comparison from (value, half-width) of every outcome, for mean and median alike."""
    told = {}
    for name, (value, half) in outcomes.items():
        each = Difference(value=value, low=value - half, high=value + half)
        told[name] = OutcomeDifference(mean=each, median=each)
    share = wilson(50, 100)
    none = Difference(value=0.0, low=0.0, high=0.0)
    return Comparison(
        boxes=100, seed=1, first=share, second=share, pass_share=none, outcomes=told, partial=False
    )  # fmt: skip


def test_what_does_not_change_is_named_in_one_line_and_no_hundredth_is_split():
    found = compared(
        joint_gap=(0.123, 0.02), closed_share=(-0.0125, 0.001), step=(0.0, 0.0), lean=(0.0, 0.0), length=(-1.5, 0.0),
        width=(0.003, 0.0019), base_overhang=(0.304, 0.0005), lid_overhang=(0.003, 0.0021),
    )  # fmt: skip
    lines = compare_report.difference_table(found).splitlines()
    assert [[cell.strip() for cell in line.split("|")] for line in lines[2:7]] == [
        ["widest joint gap, mm", *("+0.12", "+0.10 to +0.14") * 2],
        ["joint closed by glue, %", *("-1.2", "-1.4 to -1.1") * 2],
        ["error of length, mm", *("-1.50", "in every box") * 2],
        ["base proud or shy, mm", *("+0.30", "under ±0.01") * 2],
        ["lid proud or shy, mm", *("0.00", "0.00 to +0.01") * 2],
    ]
    assert lines[7:] == [
        "Differs by too little to be told: error of width.",
        "The same in both: end proud or shy, wall leaning.",
    ]
    assert compare_report.difference_table(compared(step=(0.0, 0.0))) == "The same in both: end proud or shy."


def test_limit_cases_are_told_with_what_is_open_and_with_the_digits_that_hold():
    box = None  # the words need none
    shut = LimitCase(corner="right-back", found=0.3711, proved=0.3712, box=box, beyond_first_order=False)
    wide = LimitCase(corner="left-back", found=15.03, proved=59.86, box=box, beyond_first_order=True)
    cells = [[c.strip() for c in row.split("|")] for row in worst_report.limit_table([shut, wide]).splitlines()[2:]]
    assert cells == [["right-back", "0.37", "0.37", "none", "no"], ["left-back", "15", "60", "45", "yes"]]
    meaning = "All errors at their worst at once is what no class sees: expect the boxes of the table above."
    assert worst_report.limit_sentences([shut]) == [meaning]
    assert worst_report.limit_sentences([shut, wide]) == [
        meaning,
        "Where something is open between, more --seconds may find a worse case or prove that there is none.",
        (
            "Warning: the limit case of left-back has errors larger than these predictions hold for (a face over 5° "
            "out, or over a third of the part's thickness off): read its gaps as very wide, and no more."
        ),
    ]
