"""The tolerance module's commands: what they say, their data, and answers cut short by Ctrl-C."""

import json
import re
import signal
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from commands import FEW, HEAVY, ctrl_c_answered, ctrl_c_at, ended, in_json

from assembly.errors import StoppedError
from assembly.limit_case.solver import Effort, solve
from assembly.model.outcomes import OUTCOMES
from assembly.study import blocks as study_module
from assembly.study.intervals import Estimate, clopper_pearson
from viewer.commands import checking, jobs
from viewer.reports.rounding import with_interval

STOPPED = "lapwright: stopped; nothing is left half-written\n"


# Commands


def test_check_tells_the_class_and_draws_what_is_asked(run):
    code, out, err = run("check", "frost_watch", *FEW, "--rule", "1", "--plots", "drawn", "--details")
    assert (code, err) == (1, "")
    for words in (
        "Of 26 makers, expect ",
        "Limits missed most often:\n- ",
        "joint fails most: ",
        "A plain sum of tolerances misleads. For ",
        "Checked with a steel rule read to 1 mm, ",
    ):
        assert words in out
    files = sorted(path.as_posix() for path in Path("drawn").iterdir())
    names = ("class_forecast", "gap_by_joint")
    assert files == [f"drawn/frost_watch_{name}.{kind}" for name in names for kind in ("png", "svg")]
    assert all(f"wrote {file}" in out for file in files)


def test_check_tells_in_data_what_it_tells_in_words(run):
    _, out, _ = run("check", "frost_watch", *FEW, "--rule", "0.5", "--json")
    data = json.loads(out)
    assert list(data["linear"]) == list(OUTCOMES)
    assert data["measured"]["division"] == 0.5
    called, good = (data["measured"][name]["value"] for name in ("called_good", "good"))
    accept, reject = (data["measured"][name]["value"] for name in ("false_accept", "false_reject"))
    assert called - accept == pytest.approx(good - reject, abs=1e-12)  # both are the share called good and good
    assert [data[key] for key in ("points", "scrambles", "digits", "partial")] == ["random", None, None, False]
    assert data["exact_pass_share"] == in_json(clopper_pearson(round(2000 * data["pass_share"]["value"]), 2000))


def figures_of(data):
    """Return every figure that a study tells of its outcomes and corners, shares aside."""
    rows = [*data["outcomes"].values(), *data["corners"].values()]
    return [figure for row in rows for figure in (row["mean"], row["sd"], *row["quantiles"].values())]


def test_check_stops_by_itself_when_digits_hold_still(both):
    _, out, data = both("check", "frost_watch", "--digits", "1")
    boxes = out.split("Every figure held still to 1 digit of its spread after ")[1].split(" boxes.")[0]
    assert f"What to expect, from {boxes} simulated boxes (seed 1)" in out
    assert int(boxes.replace(",", "")) % 10_000 == 0
    assert (data["digits"], data["exact_pass_share"]) == (1, None)
    assert {each["interval"] for each in figures_of(data)} == {"student-blocks"}


def test_check_at_sobol_points_tells_its_error_over_the_scrambles(both):
    """4 scrambles of 2,048: as many points as boxes were asked for, or the next power of two."""
    code, out, data = both("check", "frost_watch", "--points", "sobol", "--scrambles", "4", "--boxes", "5000")
    assert code == 1
    assert [data[key] for key in ("boxes", "points", "scrambles", "digits")] == [8192, "sobol", 4, None]
    assert data["exact_pass_share"] is None
    assert {each["interval"] for each in figures_of(data)} == {"student-scrambles"}
    value, bottom, top = with_interval(Estimate(**data["pass_share"]).times(100))
    sentence = (
        f"Sobol' points, 4 scrambles of 2,048 boxes: by how far the scrambles differ, {value} % of boxes keep "
        f"every limit, {bottom} to {top} % with 95 % confidence."
    )
    assert sentence in out.replace("\n", " ")
    assert "What to expect, from 8,192 simulated boxes (seed 1)" in out


@pytest.mark.parametrize("seed", ["1", "2", "3"])
def test_ten_boxes_are_not_told_twice(run, seed):
    """What ten boxes say of a class stands once: no forecast of other boxes beside it."""
    out = run("check", "frost_watch", "--boxes", "10", "--seed", seed)[1].replace("\n", " ")
    assert re.search(r"About \d+ of 26 boxes keep every limit", out)
    assert "10 boxes are too few to tell how many good boxes a class can expect: try more." in out
    assert "expect " not in out.partition("In a class")[2].partition("try more.")[2]
    assert "Of 26 makers" not in out


def test_limits_that_nothing_can_meet_are_told_as_such(run, both):
    code, out, data = both("check", "frost_watch", *FEW, "--set", "limits.joint_gap.max=0.001")
    assert code == 1
    assert "About 0 of 26 boxes keep every limit: " in out
    assert "Of 26 makers, expect 0 with a good box; nine classes in ten have 0 to 0." in out
    assert data["exact_pass_share"]["low"] == data["exact_pass_share"]["value"] == 0
    assert data["exact_pass_share"]["high"] == pytest.approx(1 - 0.025 ** (1 / 2000), rel=1e-12)
    code, out, err = run("causes", "frost_watch", *FEW, "--set", "limits.joint_gap.max=0.001")
    assert (code, err) == (0, "")
    assert "Nothing that was tried changes how many boxes are good." in out


@pytest.mark.parametrize(
    ("makers", "start"),
    [
        ("1", "A maker alone has a good box in "),
        ("1000000", "2,000 boxes are too few to tell how many good boxes a class can expect: try more."),
    ],
)
def test_a_class_of_one_and_one_of_a_million_are_told(run, makers, start):
    code, out, err = run("check", "frost_watch", *FEW, "--set", f"makers={makers}")
    assert (code, err) == (1, "")
    assert f"In a class\n{start}" in out
    assert run("causes", "frost_watch", *FEW, "--set", f"makers={makers}")[0] == 0


def still(tmp_path: Path) -> str:
    """Write a workshop whose hands make no error and return its path."""
    (tmp_path / "still.toml").write_text('name = "still hands"\n[pare]\nrounds = 0\n[operations]\n')
    return (tmp_path / "still.toml").as_posix()


def test_hands_without_errors_have_no_causes_and_keep_every_limit(run, tmp_path):
    workshop = still(tmp_path)
    code, out, err = run("causes", "frost_watch", *FEW, "--workshop", workshop, "--of", "lean", "--plots", "drawn")
    assert (code, err) == (0, "")
    assert out.startswith(
        "What is behind the variation: wall leaning\nNothing: it does not vary in this workshop.\n\n"
        "What would help Frost watch: boxes more in a class of 26 that keep every limit"
    )
    words = ("check", "frost_watch", *FEW, "--workshop", workshop)
    code, out, err = run(*words, "--plots", "drawn")
    assert (code, err) == (0, "")
    assert "No limit fails in any of the boxes tried, so with 95 % confidence at most 0.2 % of boxes miss one." in (
        out.replace("\n", " ")
    )
    assert "Limits missed" not in out
    assert "A plain sum of tolerances" not in out
    assert "What would help" not in out
    assert "A plain sum of tolerances gives the same, " in run(*words, "--details")[1]
    for how in (("--points", "sobol", "--boxes", "2048"), ("--digits", "2")):
        code, out, err = run("check", "frost_watch", *how, "--workshop", workshop)
        assert (code, err) == (0, "")
        assert "No limit fails in any of the boxes tried.\n" in out
    code, out, err = run("compare", "frost_watch", "frost_watch", *FEW, "--workshop", workshop)
    assert (code, err) == (0, "")
    assert "The two are about the same for a class of 26. In a class of 26, as many boxes are good with the second" in (
        out.replace("\n", " ")
    )
    out = run("compare", "frost_watch", "frost_watch", *FEW, "--workshop", workshop, "--details")[1]
    assert "in a class of 26, 0.0 boxes (under ±0.1). The intervals are of 95 %, paired: the same hands made both." in (
        out.replace("\n", " ")
    )


def test_causes_of_an_outcome_as_data(run):
    _, out, _ = run("causes", "frost_watch", *FEW, "--of", "plaque_spare", "--json")
    data = json.loads(out)
    largest = [each["name"] for each in data["operations"][:2]]
    assert set(largest) == {"drill", "hole_mark"}
    assert {each["name"] for each in data["levels"]} <= {"class", "maker", "cut", "settling"}
    gained = [each["boxes"]["value"] for each in data["helps"]["gains"]]
    assert gained == sorted(gained, reverse=True)


def test_compare_tells_the_difference_of_two_workshops(both):
    words = ("compare", "frost_watch", "frost_watch", *FEW, "--workshop", "new_to_tools", "--workshop", "practised")
    code, out, data = both(*words)
    assert code == 0
    assert out.startswith("First:  Frost watch, made by New to tools: ")
    assert "\nSecond: Frost watch, made by Practised: " in out
    assert "\nThe second is better. In a class of 26, " in out
    plain = out.split("\nMeans, intervals")[0]
    assert not [word for word in ("paired", "median", "mean", "interval", "percentage") if word in plain]
    assert out.endswith("\nMeans, intervals and percentage points: the same command with --details.\n")
    first, second = (data[which]["pass_share"]["value"] for which in ("first", "second"))
    assert data["pass_share"]["value"] == pytest.approx(second - first, abs=1e-12)
    assert data["pass_share"]["low"] > 0.2


def test_compare_of_a_design_with_itself_finds_nothing(run):
    data = json.loads(run("compare", "frost_watch", "frost_watch", *FEW, "--json")[1])
    assert data["pass_share"]["value"] == 0
    assert all(each["mean"][end] == 0 for each in data["outcomes"].values() for end in ("low", "value", "high"))
    _, out, _ = run("compare", "frost_watch", "frost_watch", *FEW, "--then", "glue_up=squared")
    assert "\nSecond: Frost watch, made by New to tools, with glue_up=squared: " in out


@pytest.mark.parametrize(
    "words",
    [
        ("check", "frost_watch", "--boxes", "10000"),
        ("causes", "frost_watch", *FEW),
        ("compare", "frost_watch", "seed_box", *FEW),
        ("worst", "frost_watch", "--of", "screw_wood"),
    ],
    ids=lambda words: words[0],
)
def test_every_study_warns_where_over_one_in_a_hundred_boxes_are_beyond_first_order(both, words):
    """303 of the first 10,000 boxes: ± 0.34 %, so no decimal; of seed_box, with shorter cheeks, 39 and no warning."""
    whose = "the first's boxes" if words[0] == "compare" else "boxes"
    warning = (
        f"Warning: 3 % of {whose} have errors so large that these figures are only rough for them (a face over 5° out, "
        "or over a third of the part's thickness off)."
    )
    _, out, data = both(*words, "--set", "workshop.chisel.along.spread=1.8")
    text = " ".join(out.split())
    assert (warning in text, text.count("only rough for them")) == (True, 1)
    sides = [data["first"], data["second"]] if words[0] == "compare" else [data]
    assert [side["beyond_first_order"]["value"] for side in sides] == pytest.approx([0.0303, 0.0039][: len(sides)])


def test_compare_of_a_changed_design_needs_no_second_name(run):
    for more in (("--then", "glue_up=squared"), ("--workshop", "new_to_tools", "--workshop", "practised")):
        answers = [run("compare", *names, *FEW, *more) for names in (("frost_watch",), ("frost_watch", "frost_watch"))]
        assert answers[0] == answers[1]
        assert answers[0][0] == 0


def test_no_line_is_wider_than_a_page(run):
    for command, *more in (("check", "--rule", "10"), ("causes",), ("compare", "seed_box")):
        out = run(command, "frost_watch", *more, *FEW)[1]
        assert max(map(len, out.splitlines())) <= 100


def test_worst_tells_real_boxes_and_the_limit_case(both, tmp_path):
    workshop = tmp_path / "few.toml"
    workshop.write_text('name = "few errors"\n[pare]\nrounds = 0\n[operations]\nlap_saw.offset = { spread = 0.1 }\n')
    _, out, data = both(
        "worst", "frost_watch", "--joint", "left-back", "--limit-case", "--workshop", workshop.as_posix()
    )
    (joint,) = data["joints"]
    assert [each["percentile"] for each in joint["sampled"]] == [95, 99]
    assert joint["sampled"][0]["gap"] < joint["sampled"][1]["gap"] < joint["limit_case"]["found"]
    assert joint["limit_case"]["proved"] - joint["limit_case"]["found"] < 1e-3
    assert f"left-back (C) |      {joint['limit_case']['found']:.2f} |" in out
    assert " none | no\n" in out


# Ctrl-C: what is known so far, marked as partial


def test_ctrl_c_in_a_check_tells_what_is_known(run, monkeypatch):
    ctrl_c_at(monkeypatch, 30_000)
    code, out, err = run("check", "frost_watch", "--boxes", "1000000")
    assert (code, err) == (130, STOPPED)
    first = "Partial: stopped by Ctrl-C after 30,000 boxes; what follows is what is known so far.\n\nFrost watch: "
    assert out.startswith(first)
    assert "What to expect, from 30,000 simulated boxes" in out
    assert "In a class" not in out  # the steps after it are left out
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_ctrl_c_pressed_again_ends_a_command_at_once(run, monkeypatch):
    ctrl_c_at(monkeypatch, 30_000, times=2)
    assert run("check", "frost_watch", "--boxes", "1000000") == (130, "", STOPPED)
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_a_partial_answer_is_marked_in_its_data_and_is_the_whole_answer_of_fewer_boxes(run, monkeypatch):
    whole = json.loads(run("check", "frost_watch", "--boxes", "30000", "--json")[1])
    ctrl_c_at(monkeypatch, 30_000)
    data = json.loads(run("check", "frost_watch", "--boxes", "1000000", "--json")[1])
    assert data["partial"]
    assert [data[key] for key in ("boxes", "outcomes", "pass_share")] == [
        30_000,
        whole["outcomes"],
        whole["pass_share"],
    ]
    assert data["forecast"] is None


def test_ctrl_c_in_digits_tells_what_is_known(run, monkeypatch):
    ctrl_c_at(monkeypatch, 20_000)
    code, out, _ = run("check", "frost_watch", "--digits", "2")
    assert code == 130
    assert out.startswith("Partial: stopped by Ctrl-C after 20,000 boxes; ")


def test_ctrl_c_at_sobol_points_tells_what_is_known(run, monkeypatch):
    ctrl_c_at(monkeypatch, 3_072)
    code, out, err = run("check", "frost_watch", "--points", "sobol", "--boxes", "16384")
    assert (code, err) == (130, STOPPED)
    assert out.startswith("Partial: stopped by Ctrl-C after 3,072 boxes; what follows is what is known so far.\n")
    assert "Sobol' points, 3 scrambles of 1,024 boxes: " in out


def test_ctrl_c_in_causes_and_compare_tells_what_is_known(run, monkeypatch):
    ctrl_c_at(monkeypatch, 10_000)
    code, out, _ = run("causes", "frost_watch", "--boxes", "30000")
    assert code == 130
    assert out.startswith("Partial: stopped by Ctrl-C after 10,000 boxes an operation; ")
    assert "chiselling a cheek to the gauge line" in out
    assert "What would help" not in out
    code, out, _ = run("compare", "frost_watch", "seed_box", "--boxes", "30000")
    assert code == 130
    assert out.startswith("Partial: stopped by Ctrl-C after 10,000 boxes; ")
    assert "Both were made 10,000 times" in out


def test_ctrl_c_in_a_limit_case_leaves_the_boxes_that_were_made(run, monkeypatch):
    """In the midst of the solver's search, which is given up."""
    spend, left_off = Effort.spend, []

    def pressed(self, programme):
        with pytest.raises(StoppedError):
            ctrl_c_answered(self.run)
        left_off.append(solve(programme, stop=self.run.stop))
        return spend(self, programme)

    monkeypatch.setattr(Effort, "spend", pressed)
    code, out, _ = run("worst", "frost_watch", "--joint", "left-back", "--limit-case")
    assert code == 130
    assert out.startswith("Partial: stopped by Ctrl-C after 1 of 1 limits and 0 of 1 limit cases; ")
    assert "Sampled from 10,000 simulated boxes" in out
    assert "left-back (C) joint, gap at most 1.5 mm: about 1 box in 2" in out
    assert "The limit case" not in out
    assert [each.ended for each in left_off] == ["left off"]


def test_ctrl_c_before_anything_is_known_says_only_that(run, monkeypatch):
    draw = study_module.draw_block

    def pressed(*words, **how):
        signal.raise_signal(signal.SIGINT)
        return draw(*words, **how)

    monkeypatch.setattr(study_module, "draw_block", pressed)
    assert run("check", "frost_watch") == (130, "", STOPPED)


def test_a_command_s_work_can_be_done_in_any_thread():
    """Ctrl-C belongs to the main thread; elsewhere a study is run all the same."""
    with ThreadPoolExecutor(1) as pool:
        aside = pool.submit(
            checking.checked, jobs.read("frost_watch"), checking.StudyLength(boxes=2_000), seed=3
        ).result()
    assert aside.text == checking.checked(jobs.read("frost_watch"), checking.StudyLength(boxes=2_000), seed=3).text


# What a command does without


# Runs two commands before the one that is asked for.
BEFORE = f"""
from viewer import cli
asked = sys.argv[1:]
for words in (["causes", "frost_watch"], ["compare", "frost_watch", "frost_watch"]):
    sys.argv[1:] = [*words, *{FEW}]
    try:
        cli.main()
    except SystemExit as end:
        assert not end.code
sys.argv[1:] = asked
"""


def test_studies_work_without_the_heavy_libraries(tmp_path):
    words = ("check", "frost_watch", "--rule", "1", *FEW)
    done = ended(tmp_path, *words, blocked=f"{HEAVY} matplotlib PIL", first=BEFORE)
    assert (done.returncode in {0, 1}, done.stderr) == (True, "")
    for start in ("What makes one box differ from the next", "First:  Frost watch", "Frost watch: 160 x 90 x 45 mm"):
        assert f"\n{start}" in f"\n{done.stdout}"


def test_plots_name_the_library_that_they_miss(tmp_path):
    done = ended(tmp_path, "check", "frost_watch", *FEW, "--plots", "drawn", blocked="matplotlib", says="not there")
    assert done.stderr == (
        "lapwright: drawing plots: matplotlib can't be loaded (not there); run `sh .ci/setup` again, or "
        "`pip install lapwright` into this Python\n"
    )
    assert done.returncode == 3


@pytest.mark.parametrize(("other", "makers"), [("label_box", "practised"), ("seed_box", "new_to_tools")])
def test_a_comparison_of_other_makers_says_so_and_how_to_have_the_same(other, makers, run):
    """The first's makers, unless their boxes of the second can't be predicted, as 12 in 100 label boxes can't."""
    words = ("compare", "frost_watch", other, *FEW)
    out = run(*words)[1]
    assert "Both were made 2,000 times, each by its own makers, with the same luck (seed 1)." in out
    assert f"Not the same makers: to ask which is easier for one class, add --workshop {makers}" in out.splitlines()
    out = run(*words, "--workshop", makers)[1]
    assert "Both were made 2,000 times by the same hands (seed 1)." in out
    assert "Not the same makers" not in out


def test_makers_that_were_chosen_for_a_comparison_are_not_asked_about(run):
    out = run("compare", "frost_watch", *FEW, "--workshop", "new_to_tools", "--workshop", "practised", "--details")[1]
    assert "Not the same makers" not in out
    assert "paired: the same luck in both." in out.replace("\n", " ")
    out = run("compare", "frost_watch", *FEW, "--then", "workshop.aids.saw_guide.used=true")[1]
    assert "by the same hands" in out


def test_a_refused_comparison_says_which_of_the_two_it_is_of(run):
    code, _, err = run("compare", "frost_watch", "label_box", *FEW, "--then", "workshop.saw.offset.spred=1")
    assert (code, err) == (
        2,
        (
            "lapwright: the second: practised (of label_box): 1 to fix\n"
            "  --then workshop.saw.offset.spred: unknown key; did you mean 'spread'?\n"
        ),
    )
    code, _, err = run("compare", "frost_watch", "label_box", *FEW, "--set", "timber.plain=0")
    assert (code, err.splitlines()[0]) == (2, "lapwright: the first: frost_watch: 1 to fix")
    code, _, err = run("compare", "frost_watch", "label_box", *FEW, "--then", "workshop.saw.plan.spread=9")
    assert (code, err.split("%")[0][:50]) == (2, "lapwright: the second, 'Label box': workshop 'Prac")
