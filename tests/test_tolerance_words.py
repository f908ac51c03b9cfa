"""What `causes`, `compare` and `worst` say, word by word, from results whose figures are set here."""

from dataclasses import replace

import pytest

from assembly.changes.apply import apply
from assembly.changes.change import asked
from assembly.changes.of_making import aid_used, half_the_spread, no_bias, squared_glue_up
from assembly.files.reading import maker, read_design, read_workshop
from assembly.limit_case.search import LimitCase
from assembly.made.records import SettledBox
from assembly.model.design import Limit
from assembly.model.workshop import Pare
from assembly.study.compare import Comparison, OutcomeDifference
from assembly.study.improvements import Gain
from assembly.study.intervals import Interval, around, exact, normal, wilson
from assembly.study.sensitivity import Cause, Causes
from assembly.study.side_effects import Missed, SideEffect
from viewer.reports import causes_report, compare_report, worst_report
from viewer.reports.output.studies import worst_output
from viewer.reports.rounding import with_interval

WORKSHOP = read_workshop("new_to_tools")


@pytest.fixture
def design():
    return read_design("frost_watch", ["makers=26", "required_share=0.8"])


@pytest.mark.parametrize(
    ("value", "half", "texts"),
    [
        (3.3852, 0.13, ("3.4", "3.3", "3.5")),
        (52.3, 1.4, ("52", "51", "54")),
        (0.0, 0.04, ("0.00", "-0.04", "0.04")),
        (1234.0, 30.0, ("1,230", "1,200", "1,260")),
        (0.5, 0.0, ("0.50", "0.50", "0.50")),
    ],
)
def test_the_first_digit_of_an_interval_is_the_last_that_is_told(value, half, texts):
    assert tuple(map(str, with_interval(around(value, half, Interval.NORMAL)))) == texts


def causes(shares, by="operation", sd=0.42, boxes=50_000):
    ranked = tuple(
        Cause(name=name, share=around(share, 0.013, Interval.DELTA).between(0, 1)) for name, share in shares.items()
    )
    spread = normal(sd, sd / (2 * boxes) ** 0.5)
    return Causes(boxes=boxes, seed=1, by=by, sd={"joint_gap": spread}, causes={"joint_gap": ranked}, partial=False)


def test_causes_are_ranked_split_and_told_with_intervals():
    whole = causes({"saw": 0.46, "pare": 0.14, "settling": 0.057, "drill": 0.0})
    split = causes({"saw cut": 0.41, "saw maker": 0.19, "pare cut": 0.14, "settling": 0.057}, "both")
    levels = causes({"cut": 0.94, "maker": 0.49}, "level")
    lines = causes_report.cause_text(whole, split, levels, "joint_gap", details=True).splitlines()
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


def test_without_details_causes_are_ranked_in_plain_words():
    whole = causes({"saw": 0.46, "pare": 0.14, "settling": 0.057, "drill": 0.0})
    assert causes_report.cause_text(whole, None, None, "joint_gap").splitlines() == [
        "What makes one box differ from the next: widest joint gap",
        "operation               | scatter that would go, %",
        "------------------------+-------------------------",
        "sawing a wall to length |                       46",
        "paring to fit           |                       14",
        "chance in settling      |                        6",
        "How much less boxes would differ if that alone were always done alike. Errors act together, so the",
        "figures need not add to 100 %.",
    ]


def gain(value, half, change=None):
    boxes, share = around(value, half, Interval.PAIRED_SHARE), around(0.3, 0.01, Interval.WILSON)
    return Gain(change=change or half_the_spread(WORKSHOP, "saw"), boxes=boxes, pass_share=share, same=False)


def test_changes_are_told_by_what_they_do():
    assert [causes_report.effect(gain(value, 0.2)) for value in (0.3, 0.1, -0.3)] == [
        "helps", "no difference", "makes it worse",
    ]  # fmt: skip
    assert [causes_report.effect(gain(*each)) for each in ((0.02, 0.015), (-0.02, 0.015), (0.5, 0.6))] == [
        "no difference", "no difference", "too close to call",
    ]  # fmt: skip
    assert causes_report.slight(gain(0.0, 0.03))
    assert not causes_report.slight(gain(0.0, 0.06))
    lines = causes_report.help_table([gain(3.39, 0.13), gain(-2.24, 0.13, no_bias(WORKSHOP, "saw"))]).splitlines()
    assert [[cell.strip() for cell in line.split("|")] for line in lines[2:]] == [
        ["sawing a wall to length twice as evenly", "+3.4", "+3.3 to +3.5", "helps"],
        ["sawing a wall to length, right on average", "-2.2", "-2.4 to -2.1", "makes it worse"],
    ]
    assert causes_report.slight_sentences(
        [gain(0, 0.01), gain(0, 0.01, half_the_spread(WORKSHOP, "drill")), gain(0, 0.01, squared_glue_up())]
    ) == [
        (
            "Next to nothing, either way: twice as evenly: sawing a wall to length, drilling; make the diagonals equal "
            "while the glue is wet."
        )
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
    longer, aided = apply(asked(["overlength=0.5", "workshop.aids.saw_guide.used=true"]), design, workshop)
    assert causes_report.now_sentence(longer, aided) == (
        "As things are, shoulders are now marked along the part; a corner proud by more than 0.3 mm is pared, at most "
        "3 times; the frame is glued as it falls; the plain walls are marked 0.5 mm longer than drawn; used: a block "
        "clamped to the line that keeps the saw square."
    )


def worse(change, missed=None, where=None, short=None):
    why = SideEffect(
        boxes=10_000, missed=missed, where=where, short=short and tuple(wilson(100 * s, 10_000) for s in short)
    )
    return replace(gain(-1.3, 0.2, change), why=why)


def lost(name, kept, means, error=0.004):
    shares = tuple(wilson(100 * share, 10_000) for share in kept)
    return Missed(name=name, kept=shares, mean=tuple(normal(each, error) for each in means))


def test_why_a_change_makes_things_worse_is_told_by_what_moves():
    """10,000 boxes: 85 % have a half-width of 0.7 %, so no decimals; figures that are printed alike are left out."""
    reasons = [
        worse(no_bias(WORKSHOP, "saw"), lost("joint_gap", (85, 68), (1.07, 1.32)), "ends", (19, 55)),
        worse(no_bias(WORKSHOP, "lap_saw"), lost("closed_share", (85, 85), (0.39, 0.38)), "laps", (37, 44)),
        worse(no_bias(WORKSHOP, "pare"), lost("step", (96, 91), (0.41, 0.411), 0.02)),
        worse(aid_used(WORKSHOP, "stop_block")),
        gain(-2.0, 0.1, no_bias(WORKSHOP, "chisel")),
        replace(worse(half_the_spread(WORKSHOP, "gauge"), None, "laps", (37, 44)), boxes=gain(0.1, 0.2).boxes),
    ]
    assert causes_report.why_sentences(reasons) == [
        "Why some make it worse (before, then after); too long is pared to fit, too short stays open:",
        ("- sawing a wall to length, right on average: ends sawn too short for the sander (share of their corners) "
        "19 %, 55 %; mean of widest joint gap 1.07 mm, 1.32 mm; boxes within the limit on widest joint gap 85 %, 68 %"),
        ("- sawing a shoulder, right on average: laps cut too deep to be pared (share of their corners) 37 %, 44 %; "
        "mean of joint closed by glue 39 %, 38 %"),
        "- paring to fit, right on average: boxes within the limit on end proud or shy 96 %, 91 %",
    ]  # fmt: skip
    assert causes_report.why_sentences(reasons[2:])[0] == "Why some make it worse (before, then after):"
    assert causes_report.why_sentences(reasons[3:]) == []


OPEN = "Too close to call: this many boxes can't show which is better."


def test_a_difference_is_judged_by_its_interval_and_by_what_it_is_for_a_class():
    """Differences of a share; in a class of 26 they are 2.6, 0.78, -2.6 and 0 boxes."""
    about = "The two are about the same for a class of 26."
    given = {(0.1, 0.02): "The second is better.", (0.03, 0.01): about, (-0.1, 0.02): "The first is better.",
             (0.0, 0.038): about, (0.0, 0.039): OPEN}  # fmt: skip
    assert {each: compare_report.judgement(gain(*each).boxes, 26) for each in given} == given


def test_a_maker_alone_has_no_boxes_to_be_about_the_same():
    words = [compare_report.judgement(gain(*each).boxes, 1) for each in ((0.3, 0.2), (-0.3, 0.2), (0.1, 0.2))]
    assert words == [
        "The second is better.",
        "The first is better.",
        "Too close to call: this many boxes can't show which is better.",
    ]


def test_how_many_more_boxes_are_good_is_told_with_how_sure_it_is():
    """Differences of a share: of 26 boxes 2.6 ± 0.52, -2.6 ± 0.52, ±0.26 ± 0.52, 0 and -0.26 to ± 0.0026."""
    given = {
        (0.1, 0.02): "2.6 more boxes are good with the second: 2.1 to 3.1 more in 95 of 100 such trials.",
        (-0.1, 0.02): "2.6 more boxes are good with the first: 2.1 to 3.1 more in 95 of 100 such trials.",
        (0.01, 0.02): "0.3 more boxes are good with the second: 0.3 fewer to 0.8 more in 95 of 100 such trials.",
        (-0.01, 0.02): "0.3 more boxes are good with the first: 0.3 fewer to 0.8 more in 95 of 100 such trials.",
        (-0.01, 0.0001): "0.3 more boxes are good with the first, to a tenth of a box.",
        (0.0, 0.0001): "as many boxes are good with the second, to a tenth of a box.",
    }
    for (value, half), words in given.items():
        each = around(value, half, Interval.PAIRED_SHARE)
        assert compare_report.more_words(each, 26) == f"In a class of 26, {words}"
    alone = around(0.1, 0.02, Interval.PAIRED_SHARE)
    assert compare_report.more_words(alone, 1) == (
        "Of 100 boxes, 10 more boxes are good with the second: 8 to 12 more in 95 of 100 such trials."
    )


def test_how_a_typical_box_changes_is_told_where_it_is_sure():
    found = compared(
        joint_gap=(0.123, 0.02), closed_share=(-0.0125, 0.001), step=(0.0, 0.0), length=(-1.5, 0.0),
        width=(0.003, 0.0019), lean=(0.02, 0.03), lid_overhang=(0.03, 0.0021),
    )  # fmt: skip
    lines = compare_report.typical_table(found).splitlines()
    assert [[cell.strip() for cell in line.split("|")] for line in lines[2:6]] == [
        ["widest joint gap, mm", "+0.12"],
        ["joint closed by glue, %", "-1.2"],
        ["error of length, mm", "-1.50"],
        ["lid proud or shy, mm", "+0.03"],
    ]
    assert lines[6:] == [
        "Next to nothing, either way: error of width.",
        "Too close to call: wall leaning.",
        "The same in both: end proud or shy.",
    ]


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
    differences = {}
    for name, (value, half) in outcomes.items():
        each = around(value, half, Interval.PAIRED_MEAN)
        differences[name] = OutcomeDifference(mean=each, median=each)
    share = wilson(50, 100)
    return Comparison(
        boxes=100, seed=1, first=share, second=share, pass_share=exact(0.0), outcomes=differences, partial=False
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
        "Too small a difference to show: error of width.",
        "The same in both: end proud or shy, wall leaning.",
    ]
    assert compare_report.difference_table(compared(step=(0.0, 0.0))) == "The same in both: end proud or shy."


def test_a_sampled_box_has_the_number_that_its_picture_tells():
    """Boxes are numbered from 1, in words and in data; the record counts from 0."""
    fits = worst_report.WorstFits(
        joint="left-back",
        gaps={95: 1.4, 99: 1.9},
        sampled={at: sampled_at(index) for at, index in ((95, 0), (99, 9_999))},
    )
    assert [cell.strip() for cell in worst_report.sampled_table([fits]).splitlines()[-1].split("|")] == [
        "left-back (C)", "1.40", "1", "1.90", "10,000",
    ]  # fmt: skip
    (joint,) = worst_output([fits], beyond=exact(0.0), boxes=10_000, seed=1, partial=False).joints
    assert [each.box for each in joint.sampled] == [1, 10_000]


def sampled_at(index):
    return SettledBox(frame=None, faces=None, gaps=None, poses=None, outcomes={}, index=index)


def test_limit_cases_are_told_with_what_is_open_and_with_the_digits_that_hold():
    box = None  # the words need none
    shut = LimitCase(corner="right-back", found=0.3711, proved=0.3712, box=box, beyond_first_order=False)
    wide = LimitCase(corner="left-back", found=15.03, proved=59.86, box=box, beyond_first_order=True)
    cells = [[c.strip() for c in row.split("|")] for row in worst_report.limit_table([shut, wide]).splitlines()[2:]]
    assert cells == [["right-back (A)", "0.37", "0.38", "none", "no"], ["left-back (C)", "15", "60", "45", "yes"]]
    meaning = (
        "Every error is as far out as the workshop's file allows at the most (of a normal one 3 standard deviations), "
        "all at once. That is what no class sees: expect the boxes above."
    )
    assert worst_report.limit_sentences([shut]) == [meaning]
    assert worst_report.limit_sentences([shut, wide]) == [
        meaning,
        "Where something is open between, more --effort may find a worse case, or prove that no case is worse.",
        (
            "Warning: the limit case of left-back (C) has errors larger than these predictions hold for (a face over "
            "5° out, or over a third of the part's thickness off): read its gaps as very wide, and no more."
        ),
    ]
