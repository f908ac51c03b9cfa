"""The tolerance module's commands: what they say, their data, every refusal whole, and answers cut short by Ctrl-C."""

import json
import math
import sys
from pathlib import Path

import pytest
from test_cli import HEAVY, start

from assembly.tolerance import scrambled as scrambled_module
from assembly.tolerance import study as study_module
from assembly.tolerance.check import OUTCOMES
from assembly.tolerance.intervals import clopper_pearson
from viewer import cli
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
    assert "in a class of 26, 0.0 boxes (under ±0.1). The two are about the same for a class of 26." in (
        out.replace("\n", " ")
    )


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


def test_compare_of_a_changed_design_needs_no_second_name(lap):
    for more in (("--then", "glue_up=squared"), ("--workshop", "new_to_tools", "--workshop", "practised")):
        told = [lap("compare", *names, *FEW, *more) for names in (("frost_watch",), ("frost_watch", "frost_watch"))]
        assert told[0] == told[1]
        assert told[0][0] == 0


def test_no_line_is_wider_than_a_page(lap):
    for command, *more in (("check", "--rule", "10"), ("causes",), ("compare", "seed_box")):
        out = lap(command, "frost_watch", *more, *FEW)[1]
        assert max(map(len, out.splitlines())) <= 100


HINTS = {
    "folder": (
        ("causes", "frost_watch", "--to", "x"), "causes",
        "--to: causes has no such option; did you mean --plots?",
    ),
    "spelt": (
        ("check", "frost_watch", "--box", "9"), "check",
        "--box: check has no such option; did you mean --boxes?",
    ),
    "none": (
        ("worst", "frost_watch", "--to", "x"), "worst",
        "--to: worst has no such option; it has --set, --joint, --seconds, --seed, --workshop, --json",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("words", "command", "message"), HINTS.values(), ids=HINTS)
def test_an_option_that_a_command_does_not_have_names_those_near_it(lap, words, command, message):
    """A folder for one that takes a folder; else the spelling; else all."""
    assert lap(*words) == (2, "", (
        f"Usage: lapwright {command} [OPTIONS] {{DESIGN}}\nTry 'lapwright {command} --help' for help.\n\n"
        f"Error: {message}\n"
    ))  # fmt: skip


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
    "rule in words": (
        ("check", "frost_watch", "--rule", "abc"),
        "--rule: got 'abc', must be what the rule is read to, 0.1 to 10 mm, such as 1 or 0.5",
    ),
    "rule with a comma": (
        ("check", "frost_watch", "--rule", "0,5"),
        "--rule: got '0,5', must be what the rule is read to, 0.1 to 10 mm, such as 1 or 0.5; write it with a point",
    ),
    "rule that is none": (
        ("check", "frost_watch", "--rule", "nan"),
        "--rule: got nan, must be what the rule is read to, 0.1 to 10 mm, such as 1 or 0.5",
    ),
    "nothing to compare with": (
        ("compare", "frost_watch", "--workshop", "practised"),
        (
            "B: missing, and frost_watch would be compared with itself; give a second design, or change the first by "
            "--then, such as --then timber.plain=9, or give --workshop twice"
        ),
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
