"""`lapwright section --stock`: the table of pairs, its map, and Ctrl-C on the way; no kernel for any of it."""

import subprocess
import sys

import pytest
from colours import grey
from commands import ctrl_c_answered, ctrl_c_at
from sections import Command, frost_watch, workshop

from assembly.errors import InputError
from assembly.section.judging import Judge
from assembly.section.pairs import Cell, Table, section_table
from assembly.section.variants import varied
from assembly.study.check import check
from viewer.reports.section.pairs_map import SYMBOLS, TINTS, cell_text, section_map, word_of
from viewer.reports.section.pairs_table import Question, table_text
from viewer.reports.section.short_answer import NO_STRENGTH


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    monkeypatch.chdir(tmp_path)
    return Command(monkeypatch, capsys)


def test_the_command_s_table_writes_its_map(run, tmp_path):
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [9, 15]")
    code, out, _ = run("--stock", str(stock), "--to", "out", "--timber", "European oak")
    file = "out/frost_watch_sections_few_european-oak.png"
    assert (code, out.splitlines()[-1]) == (0, f"wrote {file}")
    assert out.startswith(
        "Every pair of sections: Frost watch, European oak, walls 45 mm high, outside size kept, sizes of\nstock file "
        "few\n! with care, x not sound; figures: good boxes of a class of 26\nPresent section, lapped 15 and plain 10: "
        "with care, "
    )
    assert (tmp_path / file).read_bytes().startswith(b"\x89PNG")
    data = run.data("--stock", str(stock), "--to", "out")
    assert [(c["lapped"], c["plain"]) for c in data["sections"]] == [(9, 9), (9, 15), (15, 9), (15, 15)]
    assert (data["partial"], data["files"]) == (False, ["out/frost_watch_sections_few.png"])
    assert data["sections"][2]["pass_share"]["value"] == pytest.approx(
        data["present"]["pass_share"]["value"] - lost(data["sections"][2]), abs=1e-12
    )
    assert data["present"]["verdict"] == "with care"


def lost(pair):
    """Return the share of good boxes that a pair loses."""
    return next(r["figure"]["value"] for r in pair["reasons"] if r["row"] == "pass_share_lost")


def test_another_question_has_another_map(run, tmp_path):
    """What is kept, timber, height, stock file, workshop and settings: each is in the file's name."""
    for name in ("few", "more"):
        (tmp_path / f"{name}.toml").write_text("sections = [15]")
    words = ["--stock", "few.toml"]
    asked = [
        words, ["--stock", "more.toml"], [*words, "--keep", "inside"], [*words, "--timber", "MDF"],
        [*words, "--height", "50"], [*words, "--workshop", "practised"], [*words, "--set", "timber.lap_share=0.4"],
        [*words, "--set", f"name={'long ' * 11}end", "--set", "climate.home.humidity=75", "--timber", "pine, Scots"],
        [*words, "--set", f"name={'long ' * 11}end", "--set", "climate.home.humidity=70", "--timber", "pine, Scots"],
    ]  # fmt: skip
    files = [run.data(*each, "--to", "out", boxes=100)["files"][0] for each in asked]
    assert [file.removeprefix("out/frost_watch_sections_") for file in files[:7]] == [
        "few.png", "more.png", "few_inside.png", "few_mdf.png", "few_50-high.png", "few_practised.png",
        "few_timber.lap-share-0.4.png",
    ]  # fmt: skip
    assert len(set(files)) == len(asked)
    assert {path.name for path in (tmp_path / "out").iterdir()} == {file.removeprefix("out/") for file in files}
    assert max(map(len, files)) < 150


def test_ctrl_c_prints_the_pairs_so_far_marked_as_partial(run, monkeypatch, tmp_path):
    """The third pair is interrupted: two are given, the others are "?", no map is written, the exit code is 130."""
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [9, 15]")
    ctrl_c_at(monkeypatch, 2)
    code, out, err = run("--stock", str(stock), "--to", "out")
    assert (code, err) == (130, "lapwright: stopped; nothing is left half-written\n")
    lines = out.splitlines()
    assert lines[0] == (
        "Partial: stopped by Ctrl-C after 2 of 4 pairs, without a map; what follows is what is known so far."
    )
    assert any(line.endswith(", ? not reached; figures: good boxes of a class of 26") for line in lines)
    made = [line.split("|")[1:] for line in lines if line.strip().startswith("15 ")]
    assert [[cell.strip() for cell in row] for row in made] == [["?", "?"]]
    assert not (tmp_path / "out").exists()


def test_ctrl_c_before_any_pair_ends_the_command(run, monkeypatch, tmp_path):
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [9, 15]")

    def verdict(self, _):
        ctrl_c_answered(self.trials.run)

    monkeypatch.setattr(Judge, "verdict", verdict)
    assert run("--stock", str(stock)) == (130, "", "lapwright: stopped; nothing is left half-written\n")


def test_a_pair_of_which_no_box_can_be_made_is_marked(run, tmp_path):
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [9, 45]")
    out = run("--stock", str(stock))[1]
    assert "- 2 no such box: laps or walls would meet, or a wall is too thin to work" in out.splitlines()
    assert "x not sound, - no such box; figures: good boxes of a class of 26" in out


def test_the_data_says_what_decides_each_pair(run, tmp_path):
    """Of 4 mm, a lap of 0.55 leaves a tongue of 1.8 mm; of 9 mm, 4.05 mm; 3 mm is thinner than walls may be."""
    (tmp_path / "few.toml").write_text("sections = [3, 4, 9]")
    words = ["--stock", "few.toml", "--to", "out", "--set", "timber.lap_share=0.55"]
    pairs = {(each["lapped"], each["plain"]): each for each in run.data(*words, boxes=100)["sections"]}
    sound = pairs[9, 9]
    assert (sound["faults"], sound["deciding"]["level"]) == ([], sound["verdict"])
    assert sound["deciding"] in sound["reasons"]
    assert pairs[4, 9]["deciding"]["level"] == pairs[4, 9]["verdict"] == "not sound"
    assert pairs[4, 9]["faults"][0] == {
        "where": "timber.lap_share",
        "what": "got 0.55 of 4 mm, which leaves a tongue of 1.8 mm, at least 2 mm is needed (shop rule 1, project "
        "choice); lower lap_share or make timber.lapped thicker",
    }
    no_box = pairs[3, 9]
    assert [no_box[key] for key in ("verdict", "deciding", "reasons", "pass_share")] == [None, None, [], None]
    assert no_box["faults"] == [
        {"where": "timber.lapped", "what": "got 3.0, must be 4 to 60 mm; lengths are in mm: 3 cm is 30: write 30"}
    ]


def test_the_map_s_levels_are_told_apart_in_grey_and_by_symbol():
    tones = [float(grey(TINTS[name])[0]) for name in ("sound", "with care", "not sound")]
    assert min(tones[0] - tones[1], tones[1] - tones[2]) > 0.05
    assert len(set(SYMBOLS.values())) == 4


def asked(tried=None):
    """Return the question of a table about the frost watch."""
    return Question(tried=tried or frost_watch(), present=frost_watch(), keep="outside", stock="few")


def test_the_map_has_tint_symbol_boxes_and_reason_for_every_pair():
    found = section_table(frost_watch(), (9.0, 15.0), workshop(), boxes=200)
    figure = section_map(found.cells, "map", 26, (15.0, 9.0))
    axes = figure.axes[0]
    assert len(axes.patches) == 5  # one of them outlines the present section
    words = [word_of(cell) for cell in found.cells]
    good = [cell_text(cell, 26) for cell in found.cells]
    drawn = [text for pair in zip(good, words, strict=True) for text in pair if text]
    assert [text.get_text() for text in axes.texts] == drawn
    (key,) = figure.legends
    assert [text.get_text() for text in key.get_texts()] == ["with care", "not sound", "present section"]
    below = key.get_title().get_text()
    assert below.startswith("Beside each symbol: good boxes of a class of 26. Under it: what decides.\n")
    assert all(f"{word}: " in below.replace("\n", " ") for word in set(words) - {""})
    assert below.replace("\n", " ").endswith(NO_STRENGTH)
    assert figure.get_suptitle() == "map"


def test_a_pair_that_check_refuses_has_no_figure_and_says_so():
    """12/4: two boxes in five have errors beyond first order; 15/10 answers; 15/16 does not fit its contents."""
    found = section_table(frost_watch(), (4.0, 15.0, 16.0), workshop(), boxes=200)
    at = {(cell.lapped, cell.plain): cell for cell in found.cells}
    with pytest.raises(InputError, match=r"are outside what these predictions hold for"):
        check(varied(frost_watch(), plain=4), workshop(), boxes=200)
    assert (at[15, 4].refused, cell_text(at[15, 4], 26), word_of(at[15, 4])) == (True, "x", "refused")
    assert (at[15, 15].refused, cell_text(at[15, 15], 26)[:2], word_of(at[15, 15])) == (False, "! ", "room")
    assert (at[15, 16].refused, cell_text(at[15, 16], 26)[:2], word_of(at[15, 16])) == (False, "< ", "room")
    words = "lapwright check refuses it: a rule is broken or errors are too large to predict"
    below = section_map(found.cells, "map", 26).legends[0].get_title().get_text().replace("\n", " ")
    assert f"refused: {words}" in below
    assert f"not sound: {words} (refused)" in table_text(asked(), (4.0, 15.0, 16.0), found).replace("\n  ", " ")


def test_the_map_and_the_table_have_the_same_sides_and_symbols():
    """Lapped walls downwards and plain walls across; each cell of the map bears what the table's has."""
    stock = (9.0, 15.0)
    found = section_table(frost_watch(), stock, workshop(), boxes=200)
    axes = section_map(found.cells, "map", 26, (15.0, 9.0)).axes[0]
    assert [label.get_text() for label in axes.get_xticklabels()] == ["9", "15"]
    assert (axes.get_xlabel(), axes.get_ylabel()) == (
        "thickness of the plain walls, mm",
        "thickness of the lapped walls, mm",
    )
    low, high = axes.get_ylim()
    assert low > high  # the first row is at the top
    drawn = {
        (round(text.get_position()[1]), text.get_position()[0]): text.get_text()
        for text in axes.texts
        if text.get_fontweight() == "bold"
    }
    rows = [line for line in table_text(asked(), stock, found).splitlines() if line.count("|") == 2][1:]
    cells = [[cell.strip() for cell in row.split("|")[1:]] for row in rows]
    assert {(i, j): cells[i][j] for i in range(2) for j in range(2)} == drawn


def test_the_table_is_lapped_downwards_and_plain_across_and_marks_the_present_pair():
    stock = (10.0, 15.0)
    found = section_table(frost_watch(), stock, workshop(), boxes=200)
    text = table_text(asked(), stock, found)
    rows = [line for line in text.splitlines() if line.count("|") == 2]
    shown = [[cell.strip() for cell in row.split("|")] for row in rows]
    assert shown[0] == ["lapped \\ plain, mm", "10", "15"]
    at = {(c.lapped, c.plain): f"{SYMBOLS[c.verdict.verdict]} {round(26 * c.pass_share.value)}" for c in found.cells}
    assert shown[1:] == [["10", at[10, 10], at[10, 15]], ["15", f"[{at[15, 10]}]", at[15, 15]]]
    assert "[ ] present section; figures" in text
    assert f"Present section, lapped 15 and plain 10: with care, {at[15, 10][2:]} good boxes." in text
    other = table_text(asked(varied(frost_watch(), timber="MDF")), stock, found)
    assert "[" not in other.partition("What decides")[0]  # of another timber, no pair is the present section


def test_a_table_of_a_proven_section_is_not_capped():
    found = section_table(frost_watch("timber.proven=true"), (15.0,), workshop(), boxes=200)
    proven = Question(tried=frost_watch(), present=frost_watch("timber.proven=true"), keep="inside", stock="few")
    assert "No section is marked as proven" not in table_text(proven, (15.0,), found)
    assert "No section is marked as proven" in table_text(asked(), (15.0,), found)
    assert "inside kept (--keep inside)" in proven.title


def test_a_table_too_wide_for_the_page_goes_on_below():
    stock = tuple(float(size) for size in range(4, 34))
    found = Table(
        cells=tuple(Cell(lapped=a, plain=b, verdict=None, faults=()) for a in stock for b in stock), pairs=900
    )
    text = table_text(asked(), stock, found)
    assert max(map(len, text.splitlines())) <= 100
    heads = [line for line in text.splitlines() if line.startswith("lapped")]
    assert " | ".join(heads).count("|") - (len(heads) - 1) == 30  # each plain wall's column once
    assert len(heads) == 3  # a pair in brackets is three letters wide, with its bars six: 13 in 81


def test_no_geometry_kernel_is_loaded(tmp_path):
    """A whole verdict with its cure, a table and its map, in a fresh process."""
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [9, 15]")
    code = f"""
import sys
from viewer.commands.section_job import SectionRequest, answered
assert "Nearest cure" in answered("frost_watch", [], None, SectionRequest(lapped='8', boxes=200)).text
answered("frost_watch", [], None, SectionRequest(stock={str(stock)!r}, boxes=200, to={str(tmp_path)!r}))
heavy = [name for name in ("OCP", "cadquery", "vtkmodules", "pyvista", "trimesh") if name in sys.modules]
assert not heavy, heavy
"""
    subprocess.run([sys.executable, "-c", code], check=True)
