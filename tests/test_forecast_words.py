"""What a check says of a class, of a plain sum of tolerances and of a steel rule, from figures that are set here."""

import re
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.files.reading import read_design
from assembly.model.design import Limit
from assembly.model.outcomes import OUTCOMES
from assembly.study.check import OutcomeSummary, StudyResult
from assembly.study.forecast import ClassCounts, Failure, Forecast
from assembly.study.inspection import Measured, Misread
from assembly.study.intervals import exact, normal, wilson
from assembly.study.linearised import LinearPart
from viewer.reports import forecast_report
from viewer.reports.check_report import verdict

DESIGN = read_design("frost_watch")
LETTERS = "Letters of the corners: A = right-back, B = right-front, C = left-back, D = left-front."


@pytest.fixture
def design():
    return DESIGN


def summary(name="joint_gap", limit=None, quantiles=(0.5, 1.0, 1.8, 2.3), sd=0.4):
    values = dict(zip((0.05, 0.5, 0.95, 0.99), quantiles, strict=True))
    return OutcomeSummary(
        unit=OUTCOMES[name].unit,
        limit=limit,
        mean=exact(1.0),
        sd=exact(sd),
        quantiles={at: exact(value) for at, value in values.items()},
        share_within=None,
    )


def limited(**missed):
    """Return outcomes whose limits are missed by so large shares of 100,000 boxes."""
    found = {name: summary(name, limit=Limit(max=1.5)) for name in missed}
    return {name: replace(found[name], share_within=wilson((1 - missed[name]) * 1e5, 1e5)) for name in missed}


def study(share=0.27, boxes=100_000, **outcomes):
    return StudyResult(
        boxes=boxes,
        seed=1,
        pass_share=wilson(share * boxes, boxes),
        outcomes=outcomes or {"joint_gap": summary(limit=Limit(max=1.5))},
        corners={},
        beyond_first_order=wilson(0, boxes),
    )


def forecast(counts, makers=26, limits=(), joints=()):
    counts = np.asarray(counts)
    classes = ClassCounts(
        makers=makers, counts=counts, boxes=counts.size * makers, passed=int(counts.sum()), partial=False
    )
    return Forecast(classes=classes, limits=limits, joints=joints, beyond_first_order=exact(0.0))


def test_a_class_is_told_its_expectation_and_what_nine_classes_in_ten_keep(design):
    """1,000 classes: 4 % have 2, 2 % have 3, so 5 % is passed at 3; 92 % reach 7, 4 % 13 and 2 % 20: 95 % is at 13."""
    counts = [2] * 40 + [3] * 20 + [7] * 860 + [13] * 60 + [20] * 20
    assert forecast_report.class_sentences(design, study(), forecast(counts)) == [
        "Of 26 makers, expect 7 with a good box; nine classes in ten have 3 to 13."
    ]


@pytest.mark.parametrize(
    ("kept", "boxes", "forecast_stands"),
    [
        (3, 10, False),  # Wilson [0.108, 0.603]: 13 of 26 makers wide, and classes differ by 8
        (60, 100, True),  # [0.502, 0.691]: 4.9 wide
        (70, 100, True),  # 18.2 of 26 lies in 12 to 20
        (83, 100, False),  # 21.6 does not
    ],
)
def test_few_boxes_forecast_no_class(design, kept, boxes, forecast_stands):
    """1,000 classes, evenly 12 to 20 of 26: what a study knows less well, or puts elsewhere, is not beside it."""
    classes = forecast(list(range(12, 21)) * 111)
    found = replace(study(), boxes=boxes, pass_share=wilson(kept, boxes))
    few = f"{boxes} boxes are too few to tell how many good boxes a class can expect: try more."
    assert (forecast_report.class_sentences(design, found, classes)[0] != few) is forecast_stands


@given(st.integers(1, 10_000), st.floats(0, 1), st.integers(2, 200), st.floats(0.01, 0.99))
def test_a_page_expects_one_number_of_good_boxes(boxes, kept, makers, share):
    """The forecast's number is the verdict's, whatever the classes, and lies in the range of nine classes in ten."""
    design = DESIGN.model_copy(update={"makers": makers})
    counts = np.random.default_rng(boxes).binomial(makers, share, 500)
    found = replace(study(), boxes=boxes, pass_share=wilson(round(kept * boxes), boxes))
    about = re.search(rf"About (.+?) of {makers} boxes", verdict(design, found)[0])[1]
    match = re.search(r"expect (.+?) with .+ ten have (.+) to (.+)\.", class_words(design, found, counts, makers))
    assert match is None or (match[1] == about and int(match[2]) <= int(match[1]) <= int(match[3]))


def class_words(design, found, counts, makers):
    return forecast_report.class_sentences(design, found, forecast(counts, makers))[0]


def test_classes_that_go_together_are_told_so(design):
    """Half the classes 2 of 26, half 12: variance 25, and independent boxes have 26 x 7/26 x 19/26 = 5.1."""
    sentences = forecast_report.class_sentences(design, study(), forecast([2, 12] * 500))
    assert (
        sentences[1] == "Classes differ by more than chance: what a whole class shares moves all of its boxes at once."
    )


def test_a_class_of_one_is_told_as_a_chance(design):
    alone = design.model_copy(update={"makers": 1})
    found = forecast([0, 1, 0, 0], makers=1)
    assert forecast_report.class_sentences(alone, study(), found) == ["A maker alone has a good box in 27 % of cases."]


def test_a_million_makers_are_rounded_to_what_is_known(design):
    """Sd 20,000 over 1,000 classes: 2.1 x 20,000/31.6 = 1,340 of error, 2,600 half-width: thousands."""
    many = design.model_copy(update={"makers": 1_000_000})
    counts = np.linspace(270_000 - 34_641, 270_000 + 34_641, 1000).astype(int)  # uniform: half-width √3 sd
    sentences = forecast_report.class_sentences(many, study(), forecast(counts, makers=1_000_000))
    assert (
        sentences[0]
        == "Of 1,000,000 makers, expect 270,000 with a good box; nine classes in ten have 239,000 to 301,000."
    )


def failure(name, share, excess, boxes=26_000):
    """Return how a limit fails over so many independent boxes, what lies beyond it being exponential."""
    return Failure(
        name=name,
        unit=OUTCOMES[name].unit if name in OUTCOMES else "mm",
        share=wilson(share * boxes, boxes),
        excess=normal(excess, excess / (share * boxes) ** 0.5) if share else None,
    )


def test_limits_missed_are_ranked_with_how_far():
    """26,000 boxes; the error of an exponential mean is mean/√number.

    0.29/√3,640 = 0.0048 leaves two decimals, 5.2 %/√2,600 = 0.1 none, 0.2/√1,040 = 0.006 one.
    """
    limits = (
        failure("joint_gap", 0.14, 0.29),
        failure("closed_share", 0.1, 0.052),
        failure("lean", 0.04, 0.2),
        failure("step", 0.03, 0.2),
    )
    found = study(**limited(lean=0.04, joint_gap=0.14, step=0.03, closed_share=0.1))
    assert forecast_report.limit_sentences(found, forecast([7] * 1000, limits=limits)) == [
        "Limits missed most often:",
        "- widest joint gap: missed in 14 % of boxes, by 0.29 mm on average",
        "- joint closed by glue: missed in 10 % of boxes, by 5 % on average",
        "- wall leaning: missed in 4 % of boxes, by 0.2 mm on average",
    ]
    assert forecast_report.limit_sentences(study(**limited(lean=0.0)), forecast([7] * 10, limits=limits[2:3])) == []
    assert forecast_report.limit_sentences(study(), forecast([7] * 10)) == []


def test_a_limit_is_missed_by_as_many_boxes_as_the_table_says():
    """The study's share, 85 % within, stands by itself whatever the boxes of the simulated classes show."""
    limits = (failure("step", 0.2, 0.2), failure("joint_gap", 0.1, 0.3))
    found = study(**limited(joint_gap=0.15, step=0.03))
    assert forecast_report.limit_sentences(found, forecast([7] * 1000, limits=limits))[1:] == [
        "- widest joint gap: missed in 15 % of boxes, by 0.3 mm on average",
        "- end proud or shy: missed in 3 % of boxes, by 0.20 mm on average",
    ]


def test_shares_of_classmates_carry_no_more_digits_than_their_classes_tell():
    """Half of 1,000 classes 2 of 26 good, half 12: variance 25.025, and independent boxes have 26 x 7/26 x 19/26.

    So 26,000 boxes tell as much as 26,000 x 5.115/25.025 = 5,315. Of a limit that 14 % miss by 0.29 on average, they
    leave an error of 0.29/√744 = 0.011 and one decimal, where 26,000 boxes would leave two.
    """
    boxes = forecast([2, 12] * 500).classes.independent
    assert boxes == pytest.approx(5_315, abs=1)
    limits = (failure("joint_gap", 0.14, 0.29, boxes),)
    together = forecast([2, 12] * 500, limits=limits, joints=joints(0.0435, 0.04, 0.04, 0.04))
    sentences = forecast_report.limit_sentences(study(**limited(joint_gap=0.14)), together)
    assert sentences[1] == "- widest joint gap: missed in 14 % of boxes, by 0.3 mm on average"
    assert forecast_report.joint_sentences(together)[0].startswith("No single joint fails most: ")


def joints(*shares):
    names = ("right-back", "right-front", "left-back", "left-front")
    return tuple(failure(name, share, 0.4) for name, share in zip(names, shares, strict=True))


def test_a_joint_stands_out_only_beyond_chance():
    """26,000 boxes at 4 %: the error of a difference is √(2 x 0.04 x 0.96/26,000) = 0.17 %, and 1.96 of it 0.34 %."""
    clear = forecast([7] * 1000, joints=joints(0.0435, 0.04, 0.04, 0.04))
    assert forecast_report.joint_sentences(clear) == [
        "The joint that fails most: right-back (A), missed in 4 % of boxes, by 0.4 mm on average.",
        LETTERS,
    ]
    alike = forecast([7] * 1000, joints=joints(0.0432, 0.04, 0.04, 0.04))
    assert forecast_report.joint_sentences(alike) == [
        "No single joint fails most: all four are alike, and each is too wide in 4 % of boxes."
    ]
    pair = forecast([7] * 1000, joints=joints(0.05, 0.05, 0.02, 0.02))
    assert forecast_report.joint_sentences(pair) == [
        (
            "No single joint fails most: right-back (A) and right-front (B) are alike, and each is too wide in 5 % of "
            "boxes."
        ),
        LETTERS,
    ]
    assert forecast_report.joint_sentences(forecast([7] * 10, joints=joints(0, 0, 0, 0))) == []


def linear(coverage, sampled, explained=0.07, errors=(0.0107, 0.02)):
    ends = tuple(normal(end, error) for end, error in zip(sampled, errors, strict=True))
    return LinearPart(
        mean=1.07, worst_case=1.94, rss=0.1, explained=normal(explained, 0.01), sd=0.4, coverage=coverage,
        sampled=ends, tolerance=0.005, coefficients={},
    )  # fmt: skip


def test_a_plain_sum_is_told_where_it_misleads():
    """10,000 boxes of sd 0.4: √(0.025 x 0.975/10,000)/(0.0584/0.4) = 0.0107 of error at 2.5 %, so one decimal."""
    found = study(joint_gap=summary(limit=Limit(max=1.5)), length=summary("length"))
    off = {"joint_gap": linear((0.85, 1.3), (0.47, 2.06)), "length": linear((-0.8, 1.4), (-0.8, 1.4), explained=0.95)}
    details = partial(forecast_report.linear_sentences, DESIGN, found, details=True)
    assert details(off) == [
        (
            "A plain sum of tolerances misleads. For widest joint gap it puts 95 boxes in 100 between 0.8 and 1.3 mm. "
            "The simulated boxes fall between 0.5 and 2.1 mm."
        ),
        "This outcome is not a sum of errors: a sum explains 7 % of its variance.",
        "Such a sum misleads in 1 of 2 outcomes.",
    ]
    assert details({"length": off["length"]}) == [
        "A plain sum of tolerances gives the same, as far as this many boxes can show."
    ]


def test_a_plain_sum_is_told_without_details_only_where_it_changes_the_answer():
    """Normal about 1.07 with a spread of 0.1, at most 1.2 is kept by Φ(1.3) = 0.9032 (tables); 0.8 are required."""
    part = {"joint_gap": linear((0.85, 1.3), (0.47, 2.06))}

    def told(share, **limit):
        summed = replace(summary(limit=Limit(**limit)), share_within=wilson(share * 10_000, 10_000))
        return forecast_report.linear_sentences(DESIGN, study(joint_gap=summed), part)

    assert forecast_report.by_plain_sum(Limit(max=1.2), part["joint_gap"]) == pytest.approx(0.90320, abs=5e-6)
    assert forecast_report.by_plain_sum(Limit(min=0.97, max=1.27), part["joint_gap"]) == pytest.approx(
        0.81859, abs=1e-5
    )
    assert told(0.7, max=1.2) == [
        (
            "A plain sum of tolerances would change the answer: by it 90 % of boxes keep widest joint gap, at most "
            "1.2; of the simulated boxes 70 % do."
        )
    ]
    assert told(0.9, max=1.2) == []
    assert told(0.797, max=1.2) == []  # too close to call
    assert len(told(0.9, max=1.1)) == 1  # the other way round: Φ(0.3) = 0.62


def test_what_fails_in_no_box_as_it_is_written_is_not_told():
    """0.004 % of 100,000 boxes read as 0.0 %, 0.1 % do not; the same of a joint."""
    limits = (failure("joint_gap", 0.00004, 0.1),)
    assert forecast_report.limit_sentences(study(**limited(joint_gap=0.00004)), forecast([26], limits=limits)) == []
    assert len(forecast_report.limit_sentences(study(**limited(joint_gap=0.001)), forecast([26], limits=limits))) == 2
    assert forecast_report.joint_sentences(forecast([26] * 999, joints=joints(0.0001, 0.0001, 0, 0))) == []


def test_help_is_wanted_where_a_class_has_a_box_that_is_not_good(design):
    """Of 26 makers 25.5 are 98.08 %."""
    assert forecast_report.help_is_wanted(design, study(0.98))
    assert not forecast_report.help_is_wanted(design, study(0.982))
    assert not forecast_report.help_is_wanted(design, study(0.9, joint_gap=summary()))  # no limit


def test_chance_in_the_sample_is_not_taken_for_a_plain_sum_that_misleads():
    """δ = 0.005 and twice 0.0107: 0.026 off at the lower end is chance, 0.028 is not."""
    part = linear((0.5, 1.5), (0.5, 1.5))
    assert not forecast_report.misleads(replace(part, coverage=(0.5 + 0.026, 1.5)))
    assert forecast_report.misleads(replace(part, coverage=(0.5 + 0.028, 1.5)))


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
    estimates = {name: wilson(200 * share, 20_000) for name, share in shares.items()}
    return Measured(boxes=20_000, seed=1, division=division, **estimates, limits=limits, finer=finer)


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
    text = forecast_report.misread_words(misread("width", limit, effect, 42, 42))
    assert text == f"error of width, {words}42 % of boxes wrongly refused, 42 % wrongly passed"
