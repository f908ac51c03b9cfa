"""`lapwright section --stock`: the table of pairs, its map, and Ctrl-C on the way; no kernel for any of it."""

import subprocess
import sys

import pytest
from sections import Command, frost_watch, workshop

from assembly.soundness.judging import Judge
from assembly.soundness.pairs import Cell, Table, section_table
from assembly.soundness.section import CAUTIONS
from assembly.soundness.verdict import sound_limits
from viewer.section_map import SYMBOLS, TINTS, section_map
from viewer.section_pairs import table_text
from viewer.tints import grey


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    monkeypatch.chdir(tmp_path)
    return Command(monkeypatch, capsys)


def test_the_command_s_table_writes_its_map(run, tmp_path):
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [9, 15]")
    code, out, _ = run("--stock", str(stock), "--to", "out", "--timber", "European oak")
    assert (code, out.splitlines()[-1]) == (0, "wrote out/frost_watch_sections.png")
    assert out.startswith("Every pair of sections: Frost watch, European oak, walls 45 mm high\no sound, ^ with care")
    assert (tmp_path / "out" / "frost_watch_sections.png").read_bytes().startswith(b"\x89PNG")
    told = run.data("--stock", str(stock), "--to", "out")
    assert [(c["lapped"], c["plain"]) for c in told["sections"]] == [(9, 9), (9, 15), (15, 9), (15, 15)]
    assert (told["partial"], told["files"]) == (False, ["out/frost_watch_sections.png"])


def test_ctrl_c_prints_the_pairs_so_far_marked_as_partial(run, monkeypatch, tmp_path):
    """The third pair is interrupted: two are told, the others are "?", no map is written, the exit code is 130."""
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [9, 15]")
    done, real = [], Judge.verdict

    def verdict(self, design):
        if len(done) == 2:
            raise KeyboardInterrupt
        done.append(design)
        return real(self, design)

    monkeypatch.setattr(Judge, "verdict", verdict)
    code, out, err = run("--stock", str(stock), "--to", "out")
    assert (code, err) == (130, "lapwright: stopped; nothing is left half-written\n")
    lines = out.splitlines()
    assert lines[0] == (
        "Partial: stopped by Ctrl-C after 2 of 4 pairs, without a map; what follows is what is known so far."
    )
    assert "o sound, ^ with care, x not sound, ? not reached" in lines
    assert [line.split("|")[1:] for line in lines if line.strip().startswith("15 ")] == [[" ? ", "  ?"]]
    assert not (tmp_path / "out").exists()


def test_ctrl_c_before_any_pair_ends_the_command(run, monkeypatch, tmp_path):
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [9, 15]")

    def verdict(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(Judge, "verdict", verdict)
    assert run("--stock", str(stock)) == (130, "", "lapwright: stopped; nothing is left half-written\n")


def test_a_pair_of_which_no_box_can_be_made_is_marked(run, tmp_path):
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [9, 45]")
    out = run("--stock", str(stock))[1]
    assert "  2 no such box: laps or walls would meet, or a wall is too thin to work" in out.splitlines()
    assert "o sound, ^ with care, x not sound, - no such box" in out


def test_the_map_s_levels_are_told_apart_in_grey_and_by_symbol():
    tones = [float(grey(TINTS[name])[0]) for name in ("sound", "with care", "not sound")]
    assert min(tones[0] - tones[1], tones[1] - tones[2]) > 0.05
    assert len(set(SYMBOLS.values())) == 3


def test_the_map_has_tint_symbol_and_reason_for_every_pair_and_the_cautions():
    found = section_table(frost_watch(), (9.0, 15.0), workshop(), boxes=200)
    figure = section_map(found.cells, "map", (15.0, 9.0))
    axes = figure.axes[0]
    assert len(axes.lines) == 4
    assert len(axes.patches) == 5  # one of them outlines the present section
    words = [sound_limits()[cell.verdict.deciding.row].short for cell in found.cells]
    assert [text.get_text() for text in axes.texts] == words
    (key,) = figure.legends
    assert [text.get_text() for text in key.get_texts()] == [
        "sound", "with care", "not sound", "no such box", "present section",
    ]  # fmt: skip
    assert key.get_title().get_text() == "Under each symbol: what decides.\n" + "\n".join(CAUTIONS)


def test_the_table_is_lapped_downwards_and_plain_across():
    found = section_table(frost_watch(), (9.0, 15.0), workshop(), boxes=200)
    rows = [line for line in table_text(frost_watch(), (9.0, 15.0), found).splitlines() if line.count("|") == 2]
    symbols = [[cell.strip() for cell in row.split("|")] for row in rows]
    assert symbols[0] == ["lapped \\ plain, mm", "9", "15"]
    at = {(cell.lapped, cell.plain): SYMBOLS[cell.verdict.verdict] for cell in found.cells}
    assert symbols[1:] == [["9", at[9, 9], at[9, 15]], ["15", at[15, 9], at[15, 15]]]


def test_a_table_too_wide_for_the_page_goes_on_below():
    stock = tuple(float(size) for size in range(4, 34))
    found = Table(cells=tuple(Cell(lapped=a, plain=b, verdict=None, why="") for a in stock for b in stock), pairs=900)
    text = table_text(frost_watch(), stock, found)
    assert max(map(len, text.splitlines())) <= 100
    heads = [line for line in text.splitlines() if line.startswith("lapped")]
    assert " | ".join(heads).count("|") - (len(heads) - 1) == 30  # each plain wall's column once
    assert len(heads) == 2


def test_no_geometry_kernel_is_loaded(tmp_path):
    """A whole verdict with its cure, a table and its map, in a fresh process."""
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [9, 15]")
    code = f"""
import sys
from viewer.section_job import Asked, answered
assert "Nearest cure" in answered("frost_watch", [], None, Asked(lapped='8', boxes=200)).text
answered("frost_watch", [], None, Asked(stock={str(stock)!r}, boxes=200, to={str(tmp_path)!r}))
heavy = [name for name in ("OCP", "cadquery", "vtkmodules", "pyvista", "trimesh") if name in sys.modules]
assert not heavy, heavy
"""
    subprocess.run([sys.executable, "-c", code], check=True)
