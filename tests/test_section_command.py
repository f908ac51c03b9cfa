"""`lapwright section` on one section, as a teacher runs it: words, JSON, and the digits of its figures."""

import re

import pytest
from sections import BOXES, Command, one_line

from assembly.soundness.judging import Judge
from assembly.soundness.section import CAUTIONS
from assembly.soundness.verdict import judge as judge_row
from assembly.soundness.verdict import sound_limits
from assembly.tolerance.compare import Difference
from viewer.section_parts import paired
from viewer.section_why import figure_of


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    monkeypatch.chdir(tmp_path)
    return Command(monkeypatch, capsys)


# Words


def test_the_verdict_says_what_wants_care_and_what_that_means(run):
    code, out, err = run("--lapped", "12", "--plain", "9", boxes=BOXES)
    assert (code, err) == (0, "")
    verdict = out.split("\n\n")[1]
    assert one_line(verdict).startswith(
        "Verdict: with care. Decided by: EN 1995-1-1: edge distance, screw pulled out. Wants care: "
        "- EN 1995-1-1: edge distance, screw pulled out: 6 mm, where at least 10.56 mm is sound: from the "
        "screw's middle to a face of the wall; a warning from a code for structures and no fault of the joint."
    )
    assert verdict.endswith("Sound: 13 of 17 rows.")
    assert "Both faces of the lap join end grain to side grain, so both count as weak" in out
    assert out.endswith("\n".join(CAUTIONS) + "\n")


def test_the_drawing_fit_and_timber_are_told(run):
    out = one_line(run("--lapped", "12", "--plain", "9", boxes=BOXES)[1])
    assert "tongue | mm | 7.5 | 6 | -1.5" in out
    assert "timber of the four walls | cm³ | 252 | 217 | -35" in out
    assert "12 x 45 mm (lapped) 180 mm a box, 4.7 m for 26; 9 x 45 mm (plain) 296 mm a box, 7.7 m for 26." in out
    assert "Room that the contents leave (below 0 they do not go in): length 26 mm, width 12 mm, height 5 mm." in out
    assert "bought stock of 12 mm and 9 mm may come 0.5 mm thicker or 0.5 mm thinner (planed softwood" in out
    assert "A rule of class II, read from its end, may itself be out by 0.7 mm over these lengths (legal limit" in out
    assert "tongue in all but one box in twenty: 4.8 mm, 40 % of its wall of 12 mm" in out
    assert "shoulders marked from the drawing instead of from the wall itself: boxes that keep every limit:" in out
    assert "takes a drilled screw of up to 2.0 mm effective diameter (1.1 times the core), and this one has 2.6" in out
    assert "in softwood holds best at about 1.7 mm (a screw table)" in out


def test_a_size_that_a_pupil_can_t_mark_is_warned_of(run):
    out = one_line(run("--lapped", "13", "--plain", "9.525")[1])
    assert "To mark: lap width (shoulder from the end): 9.525 mm lies between the half millimetres of a rule" in out
    assert "To mark: lid screw" not in out  # 6.5 mm is on a mark


SECTIONS = (
    ("frost_watch", "--lapped", "12", "--plain", "9"),
    ("frost_watch", "--lapped", "15"),
    ("frost_watch", "--lapped", "8"),
    ("frost_watch", "--timber", "MDF"),
    ("frost_watch", "--timber", "birch plywood"),
    ("frost_watch", "--timber", "western redcedar"),
    ("label_box", "--lapped", "9", "--set", "climate.making={temperature=20,humidity=45}"),
    ("seed_box", "--plain", "9"),
    ("starter", "--height", "40"),
)


@pytest.mark.parametrize("words", SECTIONS, ids=" ".join)
def test_no_figure_is_minus_nothing_or_told_too_finely(run, words):
    """No zero has a sign, no figure has more than three decimals, and no line runs past the report's width."""
    design, *rest = words
    if "--set" in rest:
        rest += ["--set", "climate.home={temperature=10,humidity=75}"]
    _, out, err = run(*rest, design=design)
    assert err == ""
    assert not re.search(r"[-+]0(\.0+)?(?![.\d])", out)
    assert not re.search(r"\d\.\d{4,}", out)
    assert not re.search(r"\de-\d|nan|inf\b|None", out)
    assert max(map(len, out.splitlines())) <= 100


@pytest.mark.parametrize("words", SECTIONS, ids=" ".join)
def test_every_row_has_its_title_figure_and_source(run, words):
    design, *rest = words
    if "--set" in rest:
        rest += ["--set", "climate.home={temperature=10,humidity=75}"]
    told, out = run.data(*rest, design=design), one_line(run(*rest, design=design)[1])
    for reason in told["reasons"]:
        assert sound_limits()[reason["row"]].title in out
        assert reason["source"] in out


def test_a_figure_too_near_its_limit_is_too_close_to_call(run):
    """A required tongue at the sampled 5th percentile: 200 boxes can't tell."""
    told = run.data("--lapped", "12")
    tongue = next(r for r in told["reasons"] if r["row"] == "tongue")
    assert 0 < tongue["error"] < 0.2
    lap = 1 - (4 + 6 - tongue["figure"]) / 12  # moves K so that the figure lands on 4 mm
    out = one_line(run("--lapped", "12", "--set", f"timber.lap_share={lap:.6f}")[1])
    assert (
        "tongue, 5th percentile of its thickness: 4 mm" in out or "tongue, 5th percentile of its thickness | 4" in out
    )
    assert "too close to call" in out or "sound, close" in out


# JSON


def test_the_command_s_json(run):
    told = run.data("--lapped", "8")
    assert told["verdict"] == "not sound"
    assert set(told["reasons"][0]) == {"row", "figure", "unit", "limit", "margin", "level", "source", "error"}
    margins = [reason["margin"] for reason in told["reasons"]]
    assert margins == sorted(margins)
    assert told["cure"]["words"] == "lapped walls of 10 mm"
    assert told["cure"]["verdict"] == "with care"
    assert told["cure"]["changes"] == [{"what": "lapped", "value": 10, "screw": None}]
    assert told["cure"]["relative"] == 0.25
    assert [each["part"] for each in told["sheets"]] == ["base", "lid"]
    assert told["partial"] is False
    assert run("--lapped", "8")[0] == 1


def test_ctrl_c_in_the_search_for_a_cure_prints_the_verdict_marked_as_partial(run, monkeypatch):
    def held(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(Judge, "held", held)
    code, out, err = run("--lapped", "8")
    assert (code, err) == (130, "lapwright: stopped; nothing is left half-written\n")
    assert one_line(out).startswith(
        "Partial: stopped by Ctrl-C after the verdict, before the nearest cure was found; what follows is what is "
        "known so far. Frost watch: lapped walls 8 mm,"
    )
    assert "Nearest cure: not known, Ctrl-C ended the search." in out


def test_seasons_are_told_in_hundredths_below_a_millimetre_and_tenths_above(run):
    """Height 45 mm, moisture from 8.5 to 16.5 %, 0.19 to 0.36 % per 1 %: 0.68 to 1.30 mm; thickness 15 mm: a third."""
    out = one_line(run("--plain", "9")[1])
    assert "- wall height +0.7 to +1.3 mm, thickness of lapped walls +0.23 to +0.43 mm, of plain walls +0.14 to" in out
    assert "top edges up to 0.61 mm apart" in out
    assert "hardly any along the lapped ones, if its glue let it: held back, it strains the glue or bends" in out


# Digits


@pytest.mark.parametrize(
    ("found", "told"),
    [
        ((-0.00667, -0.00778, -0.00555), "-0.01 mm"),
        ((-0.001, -0.002, 0.0), "no change that matters (under 0.01 mm)"),
        ((0.0, 0.0, 0.0), "no change that matters (under 0.01 mm)"),
        ((-0.0246, -0.0284, -0.0209), "-0.02 mm (95 % interval -0.03 to -0.02)"),
        ((0.312, 0.258, 0.366), "+0.31 mm (95 % interval +0.26 to +0.37)"),
        ((0.312, -0.488, 1.112), "+0.3 mm (95 % interval -0.5 to +1.1)"),
        ((-0.03, -0.93, 0.87), "0.0 mm (95 % interval -0.9 to +0.9)"),
    ],
)
def test_a_paired_difference_has_the_digits_that_its_interval_carries(found, told):
    """To the first digit of the interval's half-width, a hundredth of a millimetre at the finest, and never "-0.0"."""
    value, low, high = found
    assert paired(Difference(value=value, low=low, high=high), "mm") == told


@pytest.mark.parametrize(
    ("row", "figure", "error", "told"),
    [
        ("bond", 0.8648, 0.002, "0.86"),
        ("bond", 0.8648, 0.02, "0.9"),
        ("pass_share_lost", 0.02462, 0.0019, "2 %"),
        ("pass_share_lost", -0.0002, 0.0019, "0 %"),
        ("tongue", 4.7712, 0.004, "4.77 mm"),
        ("shoulder_depth", 7.5, 0, "7.5 mm"),
        ("shoulder_depth", 2.9996, 0, "3 mm"),
        ("shoulder_depth", 2.996, 0, "2.996 mm"),  # 3 would look as if it kept its limit of 3
        ("rules_broken", 2, 0, "2"),
        ("pilot_least", 0.8333, 0, "83 %"),
    ],
)
def test_a_row_s_figure_has_the_digits_that_it_carries(row, figure, error, told):
    assert figure_of(judge_row(row, figure, {"T": 12}, error)) == told
