"""`lapwright section` on one section, as a teacher runs it: words, JSON, and the digits of its figures."""

import re
import signal

import pytest
from sections import BOXES, Command, one_line

from assembly.section.judging import Judge
from assembly.section.section import CAUTIONS
from assembly.section.verdict import judge as judge_row
from assembly.section.verdict import sound_limits
from assembly.study.intervals import Estimate, Interval, normal
from viewer.reports.section.before_after import before_after, paired
from viewer.reports.section.page import MORE
from viewer.reports.section.rows import figure_of, limit_of


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    monkeypatch.chdir(tmp_path)
    return Command(monkeypatch, capsys)


# Words


def test_the_verdict_says_what_wants_care_and_what_that_means(run):
    code, out, err = run("--lapped", "12", "--plain", "9", boxes=BOXES)
    assert (code, err) == (0, "")
    head, verdict, decides = (one_line(block) for block in out.split("\n\n")[:3])
    assert head == (
        "Frost watch: lapped walls 12 mm, plain walls 9 mm, lap share 0.5, walls 45 mm high, pine, Scots Present "
        "section: lapped walls 15 mm, plain walls 10 mm; all else is alike."
    )
    assert verdict == (
        "Verdict: with care. Nothing fails, but at least one thing wants care. This is not a strength: make one "
        "box and try it before the class begins. Local rules, your own risk assessment and competent supervision come "
        "first. No section is marked as proven (timber.proven in the design), so the verdict is 'with care' at most. "
        "Good boxes of a class of 26: 16 before, 15 after. Worse than the present section in: wood by a lid screw in "
        "19 boxes of 20; glued area that closes, of the present's."
    )
    assert decides == (
        "What decides, and what to do: - wood by a lid screw in 19 boxes of 20: 3.3 mm, at least 3.5 mm is sound. Do: "
        "take a thinner screw or thicker lapped walls, mark its hole from the wall, drill with a guide. One diameter "
        "of the screw counts here; for good boxes lapwright check counts the design's own limit, at least 3 mm. Would "
        "do: lid screws of 3 mm with the table's holes. - glued area that closes, of the "
        "present's: 0.86, at least 0.9 is sound. Do: glue the base well all round, as it is the "
        "real tie, or take thicker walls. For information: EN 1995-1-1, a code for structures, asks for more in 2 "
        "rows; as in the present section."
    )
    assert "Both faces of the lap join end grain to side grain, so both count as weak" in out
    assert out.endswith("\n".join(CAUTIONS) + "\n")


@pytest.mark.parametrize("words", [("--lapped", "12", "--plain", "9"), ("--lapped", "8"), ("--height", "38")])
def test_the_short_answer_fits_a_screen(run, words):
    """Verdict, what it means, boxes of the class, what decides and the cure: all that is said without --details."""
    short = run(*words, details=False)[1]
    assert run(*words)[1].startswith(short.removesuffix(f"{MORE}\n"))
    assert len(short.splitlines()) <= 25
    starts = ["Verdict: ", "Good boxes of a class of 26: ", "What decides, and what to do:"]
    starts += ["Nearest cure: "] if "not sound" in short else []
    for start in starts:
        assert f"\n{start}" in short
    assert "This is not a strength" in one_line(short)


def test_a_section_that_the_school_proved_is_named_and_one_as_good_is_said_so(run):
    out = one_line(run("--lapped", "15", "--set", "timber.proven=true")[1])
    assert "You say that 15/10 (lapped/plain) has held (timber.proven = true). Good boxes" in out
    assert "No row stands at a worse level than in the present section." in out
    assert "No section is marked as proven" not in out
    assert out.count("no change that matters") == 3  # a section against itself, whatever marking would cost


def test_what_no_figure_is_known_for_is_named(run):
    out = one_line(run("--timber", "European oak")[1])
    assert (
        "- figures that no source here gives: 1 (the pull on a lid screw), none is sound. Do: make one box and try it, "
        "lid screws too, before the class begins."
    ) in out
    assert (
        "figures that no source here gives: 2 (withdrawal of a screw from its edge; distances of a screw in its edge "
        "to faces and ends), none is sound."
    ) in one_line(run("--timber", "MDF", "--set", "climate.home.humidity=60")[1])


def test_mdf_decides_in_the_damp_and_not_the_last_line(run):
    code, out, _ = run("--timber", "MDF")
    assert code == 1
    assert (
        "What decides, and what to do: - parts of MDF in a damp home: 4, none is sound. Do: use solid timber or a "
        "moisture-resistant sheet and seal its edges. Wants care, too: figures that no source here gives."
    ) in one_line(out)
    assert run("--timber", "MDF", "--set", "climate.home.humidity=65")[0] == 0


def test_a_box_that_is_too_small_for_its_contents_does_not_fit(run):
    code, out, _ = run("--height", "38")
    assert code == 1
    assert "Verdict: does not fit the contents. The joints hold, but the contents do not go in" in one_line(out)
    assert run.data("--height", "38")["verdict"] == "does not fit"


def test_good_boxes_have_no_figure_where_check_refuses_the_section(run):
    out = one_line(run("--plain", "4")[1])
    assert re.search(r"Good boxes of a class of 26: \d+ before, no figure \(lapwright check refuses it\) after\.", out)


def test_what_a_note_said_under_the_verdict_is_not_said_twice(run):
    out, data = one_line(run("--lapped", "12")[1]), run.data("--lapped", "12")
    assert any(note.startswith("the present section is not marked as proven") for note in data["notes"])
    assert out.count("marked as proven") == 1
    assert out.count("edge distance, pulled out: from the screw's middle") == 1


def test_a_thickness_that_the_stock_file_does_not_list_is_told(run, tmp_path):
    """6 mm is on no list of 9 and 15: the answer says what is tried, and of what a cure keeps."""
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [10, 15]")
    out = one_line(run("--lapped", "6", "--plain", "6", "--stock", str(stock))[1])
    assert "Not in the stock file: lapped walls of 6 mm, plain walls of 6 mm." in out
    found = re.search(r"Nearest cure: (.*?) In detail", out)[1]
    assert found.startswith("lapped walls of 15 mm; plain walls of 6 mm kept. Then: with care; good boxes of 26: ")
    assert re.search(r"boxes of 26: \d+; still wants care: ", found)
    assert found.endswith(
        "glued area that closes, of the present's. lapwright check takes it, with under 2 good boxes of 100 fewer than "
        "before. Not in the stock file: plain walls of 6 mm."
    )


def test_where_nothing_cures_it_is_said_what_a_cure_would_have_to_be(run, tmp_path):
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [4]")
    out = one_line(run("--lapped", "4", "--plain", "4", "--stock", str(stock), boxes=BOXES)[1])
    assert (
        "Nearest cure: nothing in this list that lapwright check takes without a failing row, with under 2 good boxes "
        "of 100 fewer than before: lap share from 0.25 to 0.75, thickness of walls, lid screw, the inside kept or "
        "higher walls where room or height fails, or two of these at once."
    ) in out


def test_the_cure_that_keeps_the_inside_tells_the_size_outside(run, tmp_path):
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [6]")
    out = one_line(run("--plain", "12", "--set", "contents.width=68", "--stock", str(stock))[1])
    assert (
        "Nearest cure: the present inside kept (--keep inside), 160 x 94 mm outside; lapped walls of 15 mm, plain "
        "walls of 12 mm kept. Then: with care; good boxes of 26: "
    ) in out
    assert "least room beside the contents: -2 mm in width, at least 2 mm is sound. Do: keep the inside" in out


def test_a_fit_with_errors_too_large_is_told_roughly(run):
    """Half the boxes of 6/6 have errors beyond the method: whole boxes of 100, tenths of a mm, and a line."""
    fit = run("--lapped", "6", "--plain", "6", boxes=BOXES)[1].split("\n\nFit\n")[1].split("\n\n")[0]
    assert "- many of these boxes have errors too large to predict: take the figures here as rough" in fit
    assert not re.search(r"\d\.\d\d", fit)


def test_the_drawing_fit_and_timber_are_told(run):
    out = one_line(run("--lapped", "12", "--plain", "9", boxes=BOXES)[1])
    assert "tongue | mm | 7.5 | 6 | -1.5" in out
    assert "timber of the four walls | cm³ | 252 | 217 | -35" in out
    assert "12 x 45 mm (lapped) 220 mm a box, 5.7 m for 26; 9 x 45 mm (plain) 336 mm a box, 8.7 m for 26." in out
    assert "Room that the contents leave (below 0 they do not go in): length 26 mm, width 12 mm, height 5 mm." in out
    assert "bought stock of 12 mm and 9 mm may come 0.5 mm thicker or 0.5 mm thinner (planed softwood" in out
    assert "A rule of class II, read from its end, may itself be out by 0.7 mm over these lengths (legal limit" in out
    assert "tongue that 19 boxes in 20 reach: 4.8 mm, 40 % of its wall of 12 mm" in out
    assert "shoulders marked from the drawing instead of from the wall itself, good boxes of 100: a change" in out
    assert "pull on a lid screw: the same screw as deep in the same wood; how thin the walls are is not counted" in out
    assert "area of the base's glue under the walls, the real tie: 53 cm² before, 46 cm² after; an area and no" in out
    assert "3.8 N/mm², the present section's 2.7 N/mm²; to compare the two, no verdict and no strength" in out
    assert "wood along the edge between a lid screw and the lap: 34 mm" in out
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
    data, out = run.data(*rest, design=design), one_line(run(*rest, design=design)[1])
    for reason in data["reasons"]:
        assert sound_limits()[reason["row"]].title in out
        assert reason["source"] in out


def test_a_figure_too_near_its_limit_is_too_close_to_call(run):
    """A required tongue at the sampled 5th percentile: 200 boxes can't tell."""
    data = run.data("--lapped", "12")
    tongue = next(r for r in data["reasons"] if r["row"] == "tongue")
    assert 0 < tongue["figure"]["high"] - tongue["figure"]["value"] < 0.4
    lap = 1 - (4 + 6 - tongue["figure"]["value"]) / 12  # moves K so that the figure lands on 4 mm
    out = one_line(run("--lapped", "12", "--set", f"timber.lap_share={lap:.6f}")[1])
    assert re.search(r"tongue that 19 boxes in 20 reach(: | \| )(just (over|under) )?4( mm)?", out)
    assert "too close to call" in out or "sound, close" in out


# JSON


def test_the_command_s_json(run):
    data = run.data("--lapped", "8")
    assert data["verdict"] == "not sound"
    assert set(data["reasons"][0]) == {"row", "figure", "unit", "limit", "margin", "level", "source"}
    margins = [reason["margin"] for reason in data["reasons"]]
    assert margins == sorted(margins)
    assert data["cure"]["good_boxes"]["value"] > 0.5
    assert data["cure"]["lost"]["value"] < 0.02
    assert data["cure"]["words"] == "lapped walls of 13 mm"
    assert data["cure"]["verdict"] == "with care"
    assert data["cure"]["changes"] == [
        {"kind": "lapped", "what": "", "words": "lapped walls of 13 mm", "settings": ["timber.lapped=13"], "rows": [],
         "money": None, "minutes": None}
    ]  # fmt: skip
    assert data["cure"]["relative"] == 5 / 8
    assert [each["part"] for each in data["sheets"]] == ["base", "lid"]
    assert data["partial"] is False
    assert run("--lapped", "8")[0] == 1


def test_ctrl_c_in_the_search_for_a_cure_prints_the_verdict_marked_as_partial(run, monkeypatch):
    def held(*_):
        signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(Judge, "held", held)
    code, out, err = run("--lapped", "8")
    assert (code, err) == (130, "lapwright: stopped; nothing is left half-written\n")
    assert one_line(out).startswith(
        "Partial: stopped by Ctrl-C after the verdict, before the nearest cure was found; what follows is what is "
        "known so far. Frost watch: lapped walls 8 mm,"
    )
    assert "Nearest cure: not known, Ctrl-C ended the search." in out


def test_seasons_are_told_in_tenths(run):
    """Two sources of a movement differ by up to a quarter.

    Height 45 mm, moisture from 8.5 to 16.5 %, 0.19 to 0.36 % per 1 %: 0.68 to 1.30 mm; thickness 15 mm: a third.
    """
    out = one_line(run("--plain", "9")[1])
    assert (
        "- wall height +0.7 to +1.3 mm, thickness of lapped walls +0.2 to +0.4 mm, of plain walls +0.1 to +0.3" in out
    )
    assert "top edges up to 0.6 mm apart" in out
    assert "European differential, table A: change of size for 1 % of moisture near room conditions" in out
    assert "hardly any along the lapped ones, if its glue let it: held back, it strains the glue or bends" in out


# Digits


def estimate(value, low, high):
    return Estimate(value=value, low=low, high=high, interval=Interval.NORMAL)


@pytest.mark.parametrize(
    ("found", "text"),
    [
        ((-0.00667, -0.00778, -0.00555), "a change of -0.01 mm"),
        ((-0.001, -0.002, 0.0), "no change that matters (under 0.01 mm)"),
        ((0.0, 0.0, 0.0), "no change that matters (under 0.01 mm)"),
        ((-0.0246, -0.0284, -0.0209), "a change between -0.03 and -0.02 mm"),
        ((0.312, 0.258, 0.366), "a change between +0.26 and +0.37 mm"),
        ((0.312, -0.488, 1.112), "a change between -0.5 and +1.1 mm"),
        ((-0.03, -0.93, 0.87), "a change between -0.9 and +0.9 mm"),
    ],
)
def test_a_paired_difference_has_the_digits_that_its_interval_carries(found, text):
    """To the first digit of the interval's half-width, a hundredth of a millimetre at the finest, and never "-0.0"."""
    assert paired(estimate(*found), " mm") == text


@pytest.mark.parametrize(
    ("row", "figure", "error", "text"),
    [
        ("bond", 0.8648, 0.002, "0.86"),
        ("bond", 0.8648, 0.02, "just under 0.9"),  # 0.9 would look as if it kept its limit
        ("bond", 0.9048, 0.02, "just over 0.9"),
        ("bond", 0.9348, 0.002, "0.93"),
        ("pass_share_lost", 0.02462, 0.0019, "2"),
        ("pass_share_lost", 0.052, 0.0019, "just over 5"),
        ("pass_share_lost", -0.03, 0.0019, "none"),
        ("seasonal_step", 0.167, 0, "0.2 mm"),
        ("seasonal_step", 0.32, 0, "0.32 mm"),  # 0.3 would look as if it kept its limit
        ("tongue", 4.7712, 0.004, "4.77 mm"),
        ("shoulder_depth", 7.5, 0, "7.5 mm"),
        ("shoulder_depth", 2.9996, 0, "3 mm"),
        ("shoulder_depth", 2.996, 0, "2.996 mm"),  # 3 would look as if it kept its limit of 3
        ("rules_broken", 2, 0, "2"),
        ("pilot_least", 0.8333, 0, "83 %"),
    ],
)
def test_a_row_s_figure_has_the_digits_that_it_carries(row, figure, error, text):
    assert figure_of(judge_row(row, normal(figure, error), {"T": 12})) == text


@pytest.mark.parametrize(
    ("row", "figure", "scales", "texts"),
    [
        ("en_axial_edge", 6, {"d": 2.64}, ("6 mm", "at least 11 mm")),
        ("en_edge", 6, {"a4c": 7.92}, ("6 mm", "at least 7.9 mm")),
        ("en_axial_edge", 10.8, {"d": 2.64}, ("10.8 mm", "at least 10.6 mm")),  # 11 would look as if it failed
        ("tongue_most", 9.5, {"T": 20}, ("9.5 mm", "at most 13.3 mm")),
        ("rules_broken", 2, {}, ("2", "none")),
    ],
)
def test_a_limit_has_two_or_three_digits(row, figure, scales, texts):
    """Those of EN 1995-1-1 come of a core that is itself a table's round figure."""
    reason = judge_row(row, figure, scales)
    assert (figure_of(reason), limit_of(reason)) == texts


@pytest.mark.parametrize(
    ("found", "change", "text"),
    [
        (
            [(1.072, 1.067, 1.077), (1.066, 1.061, 1.071)],
            (-0.0066, -0.0078, -0.0056),
            "about 1.07 mm before and after, a",
        ),
        ([(1.04, 0.9, 1.2), (1.06, 0.9, 1.2)], (0.02, -0.03, 0.07), "about 1.0 mm before and after, a change between"),
        ([(1.07, 1.06, 1.08), (0.96, 0.95, 0.97)], (-0.11, -0.12, -0.1), "1.07 mm before, 0.96 mm after, a change"),
        ([(1.07, 1.06, 1.08), (1.07, 1.06, 1.08)], (0, 0, 0), "1.07 mm before and after, no change that matters"),
    ],
)
def test_before_after_and_change_never_contradict_each_other(found, change, text):
    assert before_after([estimate(*each) for each in found], estimate(*change), " mm", 2).startswith(text)
