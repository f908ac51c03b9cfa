"""The tolerance module's commands: what they say, their data, every refusal whole, and answers cut short by Ctrl-C."""

import json
import math
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from test_cli import HEAVY, start

from assembly.design import Limit
from assembly.reading import maker, read_design
from assembly.tolerance import scrambled as scrambled_module
from assembly.tolerance import study as study_module
from assembly.tolerance.causes import Cause, Causes
from assembly.tolerance.check import OUTCOMES, OutcomeSummary, StudyResult
from assembly.tolerance.compare import Difference
from assembly.tolerance.forecast import ClassCounts, Failure, Forecast
from assembly.tolerance.helps import Gain
from assembly.tolerance.intervals import Share, clopper_pearson, wilson
from assembly.tolerance.linear import LinearPart
from assembly.tolerance.measured import Measured
from assembly.tolerance.worst import LimitCase
from viewer import causes_report, cli, compare_report, forecast_report, worst_report
from viewer.figures import with_interval

FEW = ("--boxes", "2000")


@pytest.fixture
def lap(monkeypatch, capsys, tmp_path):
    """Return a function that runs a command in an empty folder: (exit code, standard output, error stream)."""
    monkeypatch.chdir(tmp_path)

    def _run(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["lapwright", *words])
        with pytest.raises(SystemExit) as end:
            cli.main()
        out, err = capsys.readouterr()
        return int(end.value.code or 0), out, err

    return _run


@pytest.fixture
def interrupted(monkeypatch):
    """Return a function after which every block from a number on is cut short by Ctrl-C."""

    def _from(number: int) -> None:
        draw = study_module.draw_block

        def cut_short(inputs, boxes, *, seed, block, **how):
            if block >= number:
                raise KeyboardInterrupt
            return draw(inputs, boxes, seed=seed, block=block, **how)

        for module in ("study", "causes", "helps", "compare"):
            monkeypatch.setattr(f"assembly.tolerance.{module}.draw_block", cut_short)

    return _from


# Words, from results whose figures are set here


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
        "helps", "can't be told", "makes it worse",
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


def test_a_difference_is_judged_by_its_interval():
    words = [compare_report.judgement(gain(value, 0.2).boxes) for value in (0.3, 0.1, -0.3)]
    assert words == ["The second is better.", "So many boxes can't tell which is better.", "The first is better."]


def test_limit_cases_are_told_with_what_is_open_and_with_the_digits_that_hold():
    box = None  # the words need none
    shut = LimitCase(corner="right-back", found=0.3711, proved=0.3712, box=box, beyond_first_order=False)
    wide = LimitCase(corner="left-back", found=15.03, proved=59.86, box=box, beyond_first_order=True)
    cells = [[c.strip() for c in row.split("|")] for row in worst_report.limit_table([shut, wide]).splitlines()[2:]]
    assert cells == [["right-back", "0.37", "0.37", "none", "no"], ["left-back", "15", "60", "45", "yes"]]
    assert worst_report.limit_sentences([shut]) == []
    assert worst_report.limit_sentences([shut, wide]) == [
        "Where something is open between, more --seconds may find a worse case or prove that there is none.",
        (
            "Warning: the limit case of left-back has errors so large that its figures are only rough "
            "(a face over 5° out, or over a third of the part's thickness off)."
        ),
    ]


# Commands


def test_check_tells_the_class_and_draws_what_is_asked(lap):
    code, out, err = lap("check", "frost_watch", *FEW, "--rule", "1", "--plots", "drawn")
    assert (code, err) == (1, "")
    for words in (
        "Of 26 makers, expect ",
        "Limits missed most often:\n- ",
        "joint fails most: ",
        "A plain sum of tolerances would have told you: ",
        "Checked with a steel rule read to 1 mm, ",
    ):
        assert words in out
    files = sorted(path.as_posix() for path in Path("drawn").iterdir())
    names = ("class_forecast", "gap_by_joint")
    assert files == [f"drawn/frost_watch_{name}.{kind}" for name in names for kind in ("png", "svg")]
    assert all(f"wrote {file}" in out for file in files)


def test_check_s_data_is_added_to_and_nothing_is_taken_away(lap):
    _, out, _ = lap("check", "frost_watch", *FEW, "--rule", "0.5", "--json")
    told = json.loads(out)
    assert list(told) == [
        "boxes", "seed", "required_share", "pass", "outcomes", "corners", "beyond_first_order", "parts",
        "half_widths", "forecast", "linear", "measured", "points", "scrambles", "digits", "partial", "exact_pass",
    ]  # fmt: skip
    assert list(told["forecast"]) == [
        "makers", "expected", "range", "classes", "design_effect", "limits", "joints", "partial",
    ]  # fmt: skip
    assert list(told["linear"]) == list(OUTCOMES)
    assert told["measured"]["division"] == 0.5
    called, good = (told["measured"][name]["share"] for name in ("called_good", "good"))
    accept, reject = (told["measured"][name]["share"] for name in ("false_accept", "false_reject"))
    assert called - accept == pytest.approx(good - reject, abs=1e-12)  # both are the share called good and good
    assert [told[key] for key in ("points", "scrambles", "digits", "partial")] == ["random", None, None, False]
    exact = clopper_pearson(round(2000 * told["pass"]["share"]), 2000)
    assert told["exact_pass"] == {"low": exact.low, "high": exact.high}
    assert told["half_widths"] is None


def test_check_stops_by_itself_when_digits_hold_still(lap):
    _, out, _ = lap("check", "frost_watch", "--digits", "1")
    boxes = out.split("Every figure held still to 1 digit of its spread after ")[1].split(" boxes.")[0]
    assert f"What to expect, from {boxes} boxes made on paper (seed 1)" in out
    assert int(boxes.replace(",", "")) % 10_000 == 0
    told = json.loads(lap("check", "frost_watch", "--digits", "1", "--json")[1])
    assert (told["digits"], told["exact_pass"]) == (1, None)
    assert all(0 < half < math.inf for half in told["half_widths"]["lean"].values())


def test_check_at_sobol_points_tells_its_error_over_the_scrambles(lap):
    """4 scrambles of 2,048: as many points as boxes were asked for, or the next power of two."""
    words = ("check", "frost_watch", "--points", "sobol", "--scrambles", "4", "--boxes", "5000")
    told = json.loads(lap(*words, "--json")[1])
    assert [told[key] for key in ("boxes", "points", "scrambles", "digits")] == [8192, "sobol", 4, None]
    share, low, high = (100 * told["pass"][key] for key in ("share", "low", "high"))
    assert told["exact_pass"] is None
    assert list(told["half_widths"]) == list(OUTCOMES)
    assert list(told["half_widths"]["lean"]) == ["mean", "sd", "0.05", "0.5", "0.95", "0.99"]
    assert all(0 < half < math.inf for half in told["half_widths"]["lean"].values())
    code, out, err = lap(*words)
    assert (code, err) == (1, "")
    value, bottom, top = with_interval(share, low, high)
    sentence = (
        f"Sobol' points, 4 scrambles of 2,048 boxes: by how far the scrambles differ, {value} % of boxes keep "
        f"every limit, {bottom} to {top} % with 95 % confidence."
    )
    assert sentence in out.replace("\n", " ")
    assert "What to expect, from 8,192 boxes made on paper (seed 1)" in out


def test_limits_that_nothing_can_meet_are_told_as_such(lap):
    code, out, _ = lap("check", "frost_watch", *FEW, "--set", "limits.joint_gap.max=0.001")
    assert code == 1
    assert "About 0 of 26 boxes keep every limit: " in out
    assert "Of 26 makers, expect 0 with a good box; nine classes in ten have 0 to 0." in out
    told = json.loads(lap("check", "frost_watch", *FEW, "--set", "limits.joint_gap.max=0.001", "--json")[1])
    assert told["exact_pass"] == {"low": 0, "high": pytest.approx(1 - 0.025 ** (1 / 2000), rel=1e-12)}
    code, out, err = lap("causes", "frost_watch", *FEW, "--set", "limits.joint_gap.max=0.001")
    assert (code, err) == (0, "")
    assert "Nothing that was tried changes how many boxes are good." in out


@pytest.mark.parametrize(
    ("makers", "start"), [("1", "A maker alone has a good box in "), ("1000000", "Of 1,000,000 makers, expect ")]
)
def test_a_class_of_one_and_one_of_a_million_are_told(lap, makers, start):
    code, out, err = lap("check", "frost_watch", *FEW, "--set", f"makers={makers}")
    assert (code, err) == (1, "")
    assert f"In a class\n{start}" in out
    assert lap("causes", "frost_watch", *FEW, "--set", f"makers={makers}")[0] == 0


def still(tmp_path: Path) -> str:
    """Write a workshop whose hands make no error and return its path."""
    (tmp_path / "still.toml").write_text('name = "still hands"\n[pare]\nrounds = 0\n[operations]\n')
    return (tmp_path / "still.toml").as_posix()


def test_hands_without_errors_have_no_causes_and_keep_every_limit(lap, tmp_path):
    workshop = still(tmp_path)
    code, out, err = lap("causes", "frost_watch", *FEW, "--workshop", workshop, "--of", "lean", "--plots", "drawn")
    assert (code, err) == (0, "")
    assert out.startswith(
        "What is behind the variation: wall leaning\nNothing: it does not vary in this workshop.\n\n"
        "What would help Frost watch: boxes more in a class of 26 that keep every limit"
    )
    code, out, err = lap("check", "frost_watch", *FEW, "--workshop", workshop, "--plots", "drawn")
    assert (code, err) == (0, "")
    assert "No limit fails in any of the boxes tried, so with 95 % confidence at most 0.2 % of boxes miss one." in (
        out.replace("\n", " ")
    )
    assert "Limits missed" not in out
    assert "A plain sum of tolerances would have told you the same, " in out
    for how in (("--points", "sobol", "--boxes", "2048"), ("--digits", "2")):
        code, out, err = lap("check", "frost_watch", *how, "--workshop", workshop)
        assert (code, err) == (0, "")
        assert "No limit fails in any of the boxes tried.\n" in out
    code, out, err = lap("compare", "frost_watch", "frost_watch", *FEW, "--workshop", workshop)
    assert (code, err) == (0, "")
    assert "So many boxes can't tell which is better." in out.replace("\n", " ")


def test_causes_of_an_outcome_as_data(lap):
    _, out, _ = lap("causes", "frost_watch", *FEW, "--of", "plaque_spare", "--json")
    told = json.loads(out)
    assert list(told) == ["of", "boxes", "seed", "sd", "operations", "levels", "split", "helps", "partial"]
    largest = [each["name"] for each in told["operations"][:2]]
    assert set(largest) == {"drill", "hole_mark"}
    assert {each["name"] for each in told["levels"]} <= {"class", "maker", "cut", "settling"}
    gained = [each["boxes"]["value"] for each in told["helps"]["gains"]]
    assert gained == sorted(gained, reverse=True)


def test_compare_tells_the_difference_of_two_workshops(lap):
    words = ("compare", "frost_watch", "frost_watch", *FEW, "--workshop", "new_to_tools", "--workshop", "practised")
    code, out, err = lap(*words)
    assert (code, err) == (0, "")
    assert out.startswith("First:  Frost watch, made by New to tools: ")
    assert "\nSecond: Frost watch, made by Practised: " in out
    assert "The second is better.\n" in out
    told = json.loads(lap(*words, "--json")[1])
    assert list(told) == ["boxes", "seed", "first", "second", "pass_share", "outcomes", "partial"]
    first, second = told["first"]["pass"]["share"], told["second"]["pass"]["share"]
    assert told["pass_share"]["value"] == pytest.approx(second - first, abs=1e-12)
    assert told["pass_share"]["low"] > 0.2


def test_compare_of_a_design_with_itself_finds_nothing(lap):
    told = json.loads(lap("compare", "frost_watch", "frost_watch", *FEW, "--json")[1])
    assert told["pass_share"]["value"] == 0
    assert all(each["mean"] == {"value": 0, "low": 0, "high": 0} for each in told["outcomes"].values())
    _, out, _ = lap("compare", "frost_watch", "frost_watch", *FEW, "--then", "glue_up=squared")
    assert "\nSecond: Frost watch, made by New to tools, with glue_up=squared: " in out


def test_worst_tells_real_boxes_and_the_limit_case(lap, tmp_path):
    workshop = tmp_path / "few.toml"
    workshop.write_text('name = "few errors"\n[pare]\nrounds = 0\n[operations]\nlap_saw.offset = { spread = 0.1 }\n')
    words = ("worst", "frost_watch", "--joint", "left-back", "--workshop", workshop.as_posix(), "--seconds", "20")
    told = json.loads(lap(*words, "--json")[1])
    (joint,) = told["joints"]
    assert [each["percentile"] for each in joint["sampled"]] == [95, 99]
    assert joint["sampled"][0]["gap"] < joint["sampled"][1]["gap"] < joint["limit_case"]["found"]
    assert joint["limit_case"]["proved"] - joint["limit_case"]["found"] < 1e-3
    _, out, _ = lap(*words)
    assert f"left-back |      {joint['limit_case']['found']:.2f} |" in out
    assert " none | no\n" in out


REFUSALS = {
    "outcome": (
        ("causes", "frost_watch", "--of", "joint_gp"),
        "--of: unknown name 'joint_gp'; did you mean 'joint_gap'?",
    ),
    "far outcome": (
        ("causes", "frost_watch", "--of", "zzz"),
        f"--of: unknown name 'zzz'; must be one of {', '.join(OUTCOMES)}",
    ),
    "joint": (
        ("worst", "frost_watch", "--joint", "right-bak"),
        "--joint: unknown name 'right-bak'; did you mean 'right-back'?",
    ),
    "seconds": (
        ("worst", "frost_watch", "--seconds", "0"),
        "--seconds: got 0, must be over 0 and at most 86400, a day",
    ),
    "both": (
        ("check", "frost_watch", "--digits", "2", "--boxes", "10"),
        "--digits: can't be given together with --boxes; digits decide how many boxes are made",
    ),
    "points": (
        ("check", "frost_watch", "--points", "sobl"),
        "--points: unknown name 'sobl'; did you mean 'sobol'?",
    ),
    "points' digits": (
        ("check", "frost_watch", "--points", "sobol", "--digits", "2"),
        "--points: sobol can't be given together with --digits; say how many boxes with --boxes",
    ),
    "points' boxes": (
        ("check", "frost_watch", "--points", "sobol", "--boxes", "3000000"),
        "boxes: got 3000000, must be 1 to 2097152 for 16 scrambles of Sobol' points",
    ),
    "no boxes": (
        ("check", "frost_watch", "--points", "sobol", "--boxes", "0"),
        "boxes: got 0, must be 1 to 2097152 for 16 scrambles of Sobol' points",
    ),
    "scrambles": (
        ("check", "frost_watch", "--points", "sobol", "--scrambles", "1"),
        "scrambles: got 1, must be 2 to 1000, as the error is taken over them",
    ),
    "scrambles' points": (
        ("check", "frost_watch", "--scrambles", "8"),
        "--scrambles: only Sobol' points are scrambled; add --points sobol",
    ),
    "check's boxes": (("check", "frost_watch", "--boxes", "0"), "boxes: got 0, must be 1 or more"),
    "class of none": (
        ("check", "frost_watch", "--set", "makers=0"),
        ("frost_watch: 1 to fix\n  --set makers: got 0, must be 1 to 1000000 "
        "(how many makers a class has, a box each)"),
    ),
    "limit of an unknown outcome": (
        ("check", "frost_watch", "--set", "limits.joint_gp.max=1"),
        "frost_watch: 1 to fix\n  --set limits.joint_gp.max: unknown key; did you mean 'joint_gap'?",
    ),
    "digits": (("check", "frost_watch", "--digits", "9"), "digits: got 9, must be 1 to 4"),
    "digits' seed": (("check", "frost_watch", "--digits", "2", "--seed", "-1"), "seed: got -1, must be 0 or more"),
    "rule": (
        ("check", "frost_watch", "--rule", "0"),
        "--rule: got 0, must be what the rule is read to, 0.1 to 10 mm, such as 1 or 0.5",
    ),
    "boxes": (
        ("compare", "frost_watch", "seed_box", "--boxes", "10"),
        "boxes: got 10, must be 2000 or more to compare medians",
    ),
    "causes' boxes": (("causes", "frost_watch", "--boxes", "1"), "boxes: got 1, must be 2 or more"),
    "workshops": (
        ("compare", "frost_watch", "seed_box", "--workshop", "a", "--workshop", "b", "--workshop", "c"),
        "--workshop: given 3 times, must be given once (for both) or twice (first, then second)",
    ),
    "operation": (
        ("causes", "frost_watch", "--set", "workshop.sav.offset.spread=1"),
        "new_to_tools: 1 to fix\n  --set workshop.sav.offset.spread: unknown key; did you mean 'saw'?",
    ),
    "makers": (
        ("check", "frost_watch", "--set", "makers=1000001"),
        ("frost_watch: 1 to fix\n  --set makers: got 1000001, must be 1 to 1000000 "
        "(how many makers a class has, a box each)"),
    ),
    "spreads": (
        ("causes", "frost_watch", "--set", "workshop.saw.plan.spread=15", "--set", "workshop.sand.plan.spread=15"),
        (
            "workshop 'New to tools': 100% of the boxes have a face more than 5° out or more than a third of its "
            "thickness off, and at most 10% may; such boxes are outside what these predictions hold for: make the "
            "spreads smaller, or the timber thicker"
        ),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("words", "message"), REFUSALS.values(), ids=REFUSALS)
def test_bad_input_is_refused_whole(lap, words, message):
    assert lap(*words) == (2, "", f"lapwright: {message}\n")


@pytest.mark.parametrize(
    "words",
    [
        ("check", "frost_watch", *FEW),
        ("check", "frost_watch", "--points", "sobol", "--boxes", "4096"),
        ("check", "frost_watch", "--digits", "1"),
        ("compare", "frost_watch", "frost_watch", *FEW),
    ],
    ids=" ".join,
)
def test_spreads_outside_first_order_are_refused_however_boxes_are_made(lap, words):
    wild = [word for row in ("saw.plan", "sand.plan") for word in ("--set", f"workshop.{row}.spread=15")]
    assert lap(*words, *wild) == (2, "", f"lapwright: {REFUSALS['spreads'][1]}\n")


def test_a_file_in_place_of_the_plots_folder_is_told_before_the_study(lap):
    Path("taken").write_text("")
    for command in ("check", "causes"):
        assert lap(command, "frost_watch", "--plots", "taken") == (
            3, "", "lapwright: taken: is a file, and a folder is needed to write into; give another with --plots\n",
        )  # fmt: skip


# Ctrl-C: what is known so far, marked as partial


def test_ctrl_c_in_a_check_tells_what_is_known(lap, interrupted):
    interrupted(3)
    code, out, err = lap("check", "frost_watch", "--boxes", "1000000")
    assert (code, err) == (130, "lapwright: stopped; nothing is left half-written\n")
    first = "Partial: stopped by Ctrl-C after 30,000 boxes; what follows is what is known so far.\n\nFrost watch: "
    assert out.startswith(first)
    assert "What to expect, from 30,000 boxes made on paper" in out
    assert "In a class" not in out  # the steps after it are left out


def test_a_partial_answer_is_marked_in_its_data_and_is_the_whole_answer_of_fewer_boxes(lap, interrupted):
    whole = json.loads(lap("check", "frost_watch", "--boxes", "30000", "--json")[1])
    interrupted(3)
    told = json.loads(lap("check", "frost_watch", "--boxes", "1000000", "--json")[1])
    assert told["partial"]
    assert (told["boxes"], told["outcomes"], told["pass"]) == (30_000, whole["outcomes"], whole["pass"])
    assert told["forecast"] is None


def test_ctrl_c_in_digits_tells_what_is_known(lap, interrupted):
    interrupted(2)
    code, out, _ = lap("check", "frost_watch", "--digits", "2")
    assert code == 130
    assert out.startswith("Partial: stopped by Ctrl-C after 20,000 boxes; ")


def test_ctrl_c_at_sobol_points_tells_what_is_known(lap, monkeypatch):
    draws = scrambled_module.scrambled_draws

    def cut_short(inputs, power, *, seed, scramble):
        if scramble >= 3:
            raise KeyboardInterrupt
        return draws(inputs, power, seed=seed, scramble=scramble)

    monkeypatch.setattr("assembly.tolerance.scrambled.scrambled_draws", cut_short)
    code, out, err = lap("check", "frost_watch", "--points", "sobol", "--boxes", "16384")
    assert (code, err) == (130, "lapwright: stopped; nothing is left half-written\n")
    assert out.startswith("Partial: stopped by Ctrl-C after 3,072 boxes; what follows is what is known so far.\n")
    assert "Sobol' points, 3 scrambles of 1,024 boxes: " in out


def test_ctrl_c_in_causes_and_compare_tells_what_is_known(lap, interrupted):
    interrupted(1)
    code, out, _ = lap("causes", "frost_watch", "--boxes", "30000")
    assert code == 130
    assert out.startswith("Partial: stopped by Ctrl-C after 10,000 boxes an operation; ")
    assert "chiselling a cheek to the gauge line (chisel)" in out
    assert "What would help" not in out
    code, out, _ = lap("compare", "frost_watch", "seed_box", "--boxes", "30000")
    assert code == 130
    assert out.startswith("Partial: stopped by Ctrl-C after 10,000 boxes; ")
    assert "both made 10,000 times" in out


def test_ctrl_c_in_a_limit_case_leaves_the_boxes_that_were_made(lap, monkeypatch):
    def cut_short(*_words, **_how):
        raise KeyboardInterrupt

    monkeypatch.setattr("assembly.tolerance.worst.Worst.cases", cut_short)
    code, out, _ = lap("worst", "frost_watch", "--joint", "left-back")
    assert code == 130
    assert out.startswith("Partial: stopped by Ctrl-C after 0 of 1 limit cases; ")
    assert "Real boxes out of 10,000 made on paper" in out
    assert "The limit case" not in out


def test_ctrl_c_before_anything_is_known_says_only_that(lap, interrupted):
    interrupted(0)
    assert lap("check", "frost_watch") == (130, "", "lapwright: stopped; nothing is left half-written\n")


# What a command does without


@pytest.mark.parametrize(
    "words", [("check", "--rule", "1"), ("causes",), ("compare", "frost_watch")], ids=lambda words: words[0]
)
def test_studies_work_without_the_heavy_libraries(tmp_path, words):
    command, *others = words
    done = start(tmp_path, command, "frost_watch", *others, *FEW, blocked=f"{HEAVY} matplotlib PIL")
    out, err = done.communicate()
    assert (done.returncode in {0, 1}, err) == (True, "")
    assert out


def test_plots_name_the_library_that_they_miss(tmp_path):
    done = start(tmp_path, "check", "frost_watch", *FEW, "--plots", "drawn", blocked="matplotlib", says="not there")
    assert done.communicate()[1] == (
        "lapwright: drawing plots: matplotlib can't be loaded (not there); run `sh .ci/setup` again, or "
        "`pip install lapwright` into this Python\n"
    )
    assert done.returncode == 3
