"""The form for finished boxes is what `lapwright outcome` takes; a fault of many lines is told once."""

import csv

import pytest

from assembly.data.tables import rows
from assembly.errors import ConfigError, InputError, Problem
from assembly.files.reading import read_design
from assembly.learning.box_form import TABLE, box_form_text, box_lines
from assembly.learning.boxes import AT, drawn, read_boxes
from assembly.learning.instrument_files import read_instruments

DESIGN, INSTRUMENTS = read_design("frost_watch"), read_instruments()


def test_the_form_filled_in_with_drawn_sizes_is_read_whole(tmp_path):
    """Every place of every box once: 4 gaps, 2 diagonals, step, top step, lean, length, width."""
    lines = list(csv.reader(box_form_text(3, INSTRUMENTS).splitlines()))
    for line in lines[1:]:
        line[4] = str(round(2 * drawn(DESIGN, line[2])) / 2)
    file = tmp_path / "boxes.csv"
    file.write_text("\n".join(map(",".join, lines)), encoding="utf-8")
    found = read_boxes([str(file)], DESIGN, INSTRUMENTS)
    assert len(found) == 3 * 11
    assert {(each.outcome, each.at) for each in found} == {(name, at) for name, where in AT.items() for at in where}


def test_an_empty_form_is_told_so(tmp_path):
    file = tmp_path / "boxes.csv"
    file.write_text(box_form_text(2, INSTRUMENTS), encoding="utf-8")
    with pytest.raises(InputError, match="no reading is filled in; fill in the column measured_mm of what was read"):
        read_boxes([str(file)], DESIGN, INSTRUMENTS)


def test_the_page_says_how_everything_is_read():
    assert {row["outcome"] for row in rows(TABLE)} == set(AT)
    assert {row["instrument"] for row in rows(TABLE)} <= set(INSTRUMENTS)
    page = box_lines("x_boxes.csv", INSTRUMENTS)
    assert "## joint_gap, at right-back, right-front, left-back, left-front" in page
    assert all(row["how"] in page for row in rows(TABLE))


def test_a_fault_of_many_lines_is_told_once():
    same = [Problem(where="maker", line=line, what="is blank") for line in (3, 4, 5, 7, 9)]
    few = [Problem(where="at", line=line, what="is blank") for line in (4, 6, 8)]
    keys = [Problem(where="file", line=None, what="is odd")] * 4
    assert str(ConfigError("r.csv", [*same, *few, *keys])) == (
        "r.csv: 12 to fix\n  lines 3, 4, 5 and 2 more: maker: is blank\n  line 4: at: is blank\n"
        "  line 6: at: is blank\n  line 8: at: is blank\n" + "\n".join(["  file: is odd"] * 4)
    )


def test_what_to_write_of_a_stack_of_blades_is_told_of_boxes_too(tmp_path):
    file = tmp_path / "boxes.csv"
    file.write_text("class,maker,outcome,at,measured_mm,instrument\n1,1,step,,1.4,try square with feelers\n")
    with pytest.raises(InputError) as caught:
        read_boxes([str(file)], DESIGN, INSTRUMENTS)
    assert str(caught.value) == (
        f"{file}: 1 to fix\n  line 2: measured_mm: got 1.4, which 'try square with feelers' does not show: its blades "
        "are 0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.25, 1.5, 2; of a stack write the "
        "thickest of these that is no thicker; write what was read"
    )
