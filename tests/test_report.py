"""The report's sentences, each whole, from studies whose figures are set here."""

from dataclasses import replace

import pytest

from assembly.files.reading import read_design, read_workshop
from assembly.model.design import Limit, Limits
from assembly.model.outcomes import OUTCOMES
from assembly.study.check import OutcomeSummary, StudyResult
from assembly.study.intervals import exact, quantile, wilson
from viewer.reports import check_report
from viewer.reports.check_report import folded, limit_words, outcome_table, table, verdict, worst_limit, worst_sentences

BOXES = 10_000


def outcome(name="joint_gap", limit=None, kept=None, quantiles=(0.5, 1.0, 1.8, 2.3), sd=0.4):
    values = dict(zip((0.05, 0.5, 0.95, 0.99), quantiles, strict=True))
    return OutcomeSummary(
        unit=OUTCOMES[name].unit,
        limit=limit,
        mean=exact(1.0),
        sd=exact(sd),
        quantiles={at: quantile(at, values, sd, BOXES) for at in values},
        share_within=wilson(kept, BOXES) if limit else None,
    )


def study(passing, **outcomes):
    return StudyResult(
        boxes=BOXES,
        seed=1,
        pass_share=wilson(passing, BOXES),
        outcomes=outcomes,
        corners={},
        beyond_first_order=wilson(0, BOXES),
    )


@pytest.fixture
def design():
    return read_design("frost_watch", ["makers=26", "required_share=0.8"])


def test_a_class_is_told_in_boxes(design):
    """3,077 of 10,000 are 8.0 of 26."""
    assert verdict(design, study(3077)) == [
        "About 8 of 26 boxes keep every limit: 31 %, with 80 % required.",
        "That is not enough.",
    ]
    assert verdict(design, study(9000))[1] == "That is enough."


def test_a_straddling_interval_is_too_close_to_call(design):
    """Wilson at 7,950 of 10,000: 0.7950 ± 0.0079, so 0.8 lies inside; at 7,900 it does not."""
    assert verdict(design, study(7950))[1] == (
        "Too close to call: 10,000 boxes put it between 78.7 and 80.3 %. The estimate itself is not enough; "
        "try more boxes."
    )
    assert verdict(design, study(8050))[1] == (
        "Too close to call: 10,000 boxes put it between 79.7 and 81.3 %. The estimate itself is enough; try more boxes."
    )
    assert verdict(design, study(7900))[1] == "That is not enough."


@pytest.mark.parametrize(
    ("boxes", "kept", "required", "percent", "then"),
    [
        (100_000, 79_600, 0.8, "79.6 %", "That is not enough."),  # ± 0.25, so "80 %" by the digits of a figure alone
        (100_000, 80_490, 0.802, "80.5 %", "That is enough."),  # the same
        (100_000, 80_400, 0.8, "80.4 %", "That is enough."),  # "80 %" would read as what is required
        (10_000_000, 7_996_000, 0.8, "79.96 %", "That is not enough."),  # ± 0.025
        (100_000, 79_900, 0.8, "79.9 %", "Too close to call: "),
        (100_000, 79_970, 0.8, "79.97 %", "Too close to call: "),
        (100_000, 80_000, 0.8, "80 %", "Too close to call: "),
    ],
)
def test_a_share_is_told_on_the_side_of_what_is_required_on_which_it_is(design, boxes, kept, required, percent, then):
    asked = design.model_copy(update={"required_share": required})
    first, second = verdict(asked, replace(study(5000), boxes=boxes, pass_share=wilson(kept, boxes)))
    assert first == f"About 21 of 26 boxes keep every limit: {percent}, with {100 * required:g} % required."
    assert second.startswith(then)


def test_the_limit_that_fewest_boxes_keep_is_told_with_how_far():
    found = study(
        3077,
        joint_gap=outcome(limit=Limit(max=0.8), kept=3100),
        closed_share=outcome("closed_share", Limit(min=0.5), 6000, (0.137, 0.4, 0.632, 0.7), 0.157),
    )
    assert worst_limit(found) == "joint_gap"
    assert worst_sentences(found, "joint_gap") == [
        "The limit that fails most: widest joint gap, at most 0.8 mm. 31 % of boxes keep it.",
        "Half of all boxes open at a joint by 1.0 mm or more; one in twenty reaches 1.8 mm.",
    ]
    assert worst_sentences(found, "closed_share") == [
        "The limit that fails most: joint closed by glue, at least 50 %. 60 % of boxes keep it.",
        "Half of all boxes have a joint closed over 40 % or less; one in twenty reaches only 14 %.",
    ]


def test_a_signed_outcome_is_told_on_both_sides():
    found = outcome("diagonal_difference", Limit(within=2), 8500, (-2.29, 0.0, 2.29, 3.1), 1.395)
    assert worst_sentences(study(8500, diagonal_difference=found), "diagonal_difference") == [
        "The limit that fails most: diagonal difference, within ±2 mm. 85 % of boxes keep it.",
        "Nine boxes in ten fall between -2.3 and 2.3 mm.",
    ]


def test_no_failure_is_told_as_such():
    """0 of 10,000 failures: the exact bound is 1 - 0.025^(1/10,000) = 0.0369 %; blocks or scrambles assure none."""
    found = study(BOXES, joint_gap=outcome(limit=Limit(max=9), kept=BOXES))
    assert worst_sentences(found, "joint_gap") == [
        "No limit fails in any of the boxes tried, so with 95 % confidence at most 0.04 % of boxes miss one."
    ]
    assert worst_sentences(replace(found, runs=16), "joint_gap") == ["No limit fails in any of the boxes tried."]


def test_the_pass_share_has_an_exact_interval_too():
    """Published for 100 of 200 (see `test_intervals`); none where boxes hang together."""
    found = replace(study(0), boxes=200, pass_share=wilson(100, 200))
    wilson_s, sure = found.pass_share, found.exact_pass_share
    assert (wilson_s.interval, sure.interval) == ("wilson", "clopper-pearson")
    assert [sure.low, sure.high] == pytest.approx([0.4286584, 0.5713416], abs=5.1e-8)
    assert [wilson_s.low, wilson_s.high] == pytest.approx([0.4313609, 0.5686391], abs=5.1e-8)
    assert replace(found, runs=16).exact_pass_share is None


def test_few_boxes_tell_few_digits(design):
    """10 of 16 boxes: Wilson [0.386, 0.815], so ± 0.21 of 26 makers, 6 boxes, and tens of per cent."""
    found = replace(study(0), boxes=16, pass_share=wilson(10, 16))
    assert verdict(design, found) == [
        "About 16 of 26 boxes keep every limit: 60 %, with 80 % required.",
        ("Too close to call: 16 boxes put it between 40 and 80 %. The estimate itself is not enough; try more boxes."),
    ]


def test_boxes_beyond_first_order_are_warned_of_above_one_in_a_hundred(design):
    """340 of 10,000: ± 0.36 %, so no decimal."""
    beyond = wilson(340, BOXES)
    found = replace(study(9000, joint_gap=outcome(limit=Limit(max=9), kept=9000)), beyond_first_order=beyond)
    workshop = read_workshop("new_to_tools")
    lines = check_report.check_text(design, workshop, (), found, made_in="new_to_tools").splitlines()
    warning = lines.index(
        "Warning: 3 % of boxes have errors so large that these figures are only rough for them (a face over"
    )
    assert lines[warning + 1] == "5° out, or over a third of the part's thickness off)."
    few = replace(found, beyond_first_order=wilson(100, BOXES))
    assert "Warning" not in check_report.check_text(design, workshop, (), few, made_in="new_to_tools")


def test_sentences_are_folded_to_the_width_of_tables():
    words = "- " + " ".join(["word"] * 30)
    assert folded(["short", words]).splitlines() == [
        "short",
        "- " + " ".join(["word"] * 19),
        "  " + " ".join(["word"] * 11),
    ]


def test_limits_in_words():
    assert limit_words(None, "mm") == "-"
    assert limit_words(Limit(max=0.8), "mm") == "at most 0.8"
    assert limit_words(Limit(min=0.5), "1") == "at least 50 %"
    assert limit_words(Limit(max=1.5, min=-0.25), "deg") == "at most 1.5, at least -0.25"
    assert limit_words(Limit(within=2), "mm") == "within ±2"


def test_every_outcome_has_words_and_may_be_limited():
    assert list(Limits.model_fields) == list(OUTCOMES)
    assert all(each.label and each.means and each.does for each in OUTCOMES.values())


def test_figures_in_the_table_keep_their_digits():
    """√(p(1-p)/n)/density for 10,000 boxes of sd 0.4: 0.005 at the median, so two decimals; 0.0085 at 5 %, so one."""
    lines = outcome_table(study(1, joint_gap=outcome())).splitlines()
    cells = [cell.strip() for cell in lines[-1].split("|")]
    assert cells == ["widest joint gap, mm", "-", "1.0", "0.5 to 1.8", "-"]


def test_a_table_keeps_brackets_and_lines_up():
    assert table(("a", "b"), [("[red]x[/red]", "1"), ("y", "10")], words=(0,)).splitlines() == [
        "a            |  b",
        "-------------+---",
        "[red]x[/red] |  1",
        "y            | 10",
    ]
