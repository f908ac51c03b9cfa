"""Names of a stock file that are nearly those of a design: told, with a cure that works; others are left alone."""

from pathlib import Path

import pytest

from assembly.files.reading import read_design
from assembly.files.stock import read_on_sale
from assembly.order.stray_names import stray_names
from viewer.reports.order_words import stray_words

SHEETS = "the design's sheets are birch plywood, acrylic; did you mean"


def told(text, design="frost_watch"):
    Path("mine.toml").write_text(text, "utf-8")
    return stray_words(stray_names(read_design(design), read_on_sale("mine.toml")))


MISSPELT = {
    '[sheets."birch plywoood"]\nkerf = 1': ("sheets.'birch plywoood' counts for nothing here", "birch plywood"),
    "[sheets.Plywod]\nkerf = 1": ("sheets.'Plywod' counts for nothing here", "plywood"),
    '[sheets.acrylic]\nsizes = [[1220, 610]]\n[prices.sheets.acrylc]\n"3 x 1220 x 610" = 9': (
        "prices.sheets.'acrylc' counts for nothing here",
        "acrylic",
    ),
}


@pytest.mark.parametrize(("text", "words"), MISSPELT.items(), ids=MISSPELT)
def test_a_misspelt_sheet_is_told_and_counts_once_it_is_mended(tmp_path, monkeypatch, text, words):
    monkeypatch.chdir(tmp_path)
    said, meant = words
    assert told(text) == [f"{said}: {SHEETS} {meant!r}?"]
    wrong = said.split("'")[1]
    assert told(text.replace(f'"{wrong}"', wrong).replace(wrong, f'"{meant}"')) == []


def test_a_misspelt_stem_is_told(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    own = "frost indicator"
    said = f"prices.stems.'Frost indicater' counts for nothing here: the design's stem is {own}; did you mean {own!r}?"
    assert told('[prices.stems]\n"Frost indicater" = 2') == [said]
    assert told('[prices.stems]\n"frost indicator" = 2') == []


@pytest.mark.parametrize(
    "text",
    [
        "sections = [9]",
        '[sheets."cast acryllic"]\nkerf = 1',
        '[sheets."poplar plywood"]\nkerf = 1',
        '[sheets."poplar plywod"]\nkerf = 1',
        "[sheets.MDF]\nkerf = 1",
        '[sheets."beech board"]\nkerf = 1',
        "[sheets.PLYWOOD]\nkerf = 1",
        "[prices.stems]\nknob = 1",
    ],
)
def test_what_another_design_may_use_is_left_alone(tmp_path, monkeypatch, text):
    monkeypatch.chdir(tmp_path)
    assert told(text) == []


def test_a_name_that_counts_for_nothing_is_told_in_the_order(run):
    Path("mine.toml").write_text('[sheets."birch plywoood"]\nkerf = 1\n')
    said = " ".join(run("order", "frost_watch", "--spares", "0", "--stock", "mine.toml")[1].split())
    assert f"sheets.'birch plywoood' counts for nothing here: {SHEETS} 'birch plywood'?" in said
