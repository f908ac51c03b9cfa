"""`lapwright order`: what it prints and writes, read back; pages to scale with nothing over anything; every refusal."""

import csv
import errno
import io
import json
import math
import os
import re
import signal
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from designs import designs
from hypothesis import given, settings
from hypothesis import strategies as st
from papers import check_pages, strokes_in
from pypdf import PdfReader
from sweep import some

from assembly.files.reading import maker, read_design
from assembly.files.shipped import configs_folder
from assembly.files.stock import read_on_sale
from assembly.order.class_pieces import Kind, SpareRule
from assembly.order.glue import Glue
from assembly.order.lengths import LengthPlan
from assembly.order.order import Order, order_for
from assembly.order.ready import ready
from assembly.order.sawn_lengths import sawn_sections
from assembly.order.sawn_sheets import sawn_sheets
from assembly.order.spoilage import Spares
from assembly.planning.cutting import cut_parts
from assembly.study.driver import Run
from assembly.study.intervals import wilson
from viewer.reports.order_pages import order_pages
from viewer.reports.order_report import order_text
from viewer.reports.order_words import least_words, ml_words
from viewer.sheets.page import PAPERS
from viewer.sheets.sawing_pictures import SCALES, scale_for
from viewer.sheets.typeset import pdf

NEAR = 1e-3  # mm
SHIPPED = ("frost_watch", "label_box", "seed_box")
QUICK = ("--spares", "0")
NO_SUCH = "--spares: got {!r}, must be auto, 0 or a percentage from 0% to 200%, such as 5%"


@cache
def order_of(name, *, straight=False):
    design, stock = read_design(name), read_on_sale()
    return order_for(design, maker(design, name), stock, SpareRule(share=0.1), straight=straight)


@cache
def pages_of(name, paper="A4", *, straight=False):
    return order_pages(order_of(name, straight=straight), read_on_sale().sections, None, PAPERS[paper])


def table(file):
    return list(csv.reader(io.StringIO(Path(file).read_text("utf-8"))))


# What it prints and writes


def test_the_order_leads_with_what_is_read_out_and_the_files_say_the_same(run):
    code, out, err = run("order", "frost_watch", "--makers", "26", *QUICK)
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "Frost watch: the order for 26 makers"
    read_out = lines[1:11]
    assert read_out[:5] == [
        "- 2 lengths of pine, Scots, 15 x 45 mm, 3 m each, proved the fewest",
        "- 4 lengths of pine, Scots, 10 x 45 mm, 2.4 m each, proved the fewest",
        "- 1 sheet of birch plywood, 4 mm, 1220 x 610 mm, proved the fewest",
        "- 1 sheet of birch plywood, 9 mm, 1220 x 610 mm, proved the fewest",
        "- 1 sheet of acrylic, 3 mm, 600 x 400 mm, proved the fewest",
    ]
    assert read_out[8] == "- 26 x frost indicator (6 x 60 mm)"
    assert "No spare pieces are among them." in lines
    assert lines[-3:] == [f"wrote exports/frost_watch_{name}" for name in ("order.csv", "cut_list.csv", "order.pdf")]
    head, *rows = table("exports/frost_watch_order.csv")
    for line, row in zip(read_out, rows, strict=True):
        found = dict(zip(head, row, strict=True))
        assert found["what"] in line
        assert line.startswith(f"- {found['amount']} ") or found["unit"] == "ml"
    first = dict(zip(head, rows[0], strict=True))
    assert float(first["waste_percent"]) == pytest.approx(100 * (1 - 52 * 110 / 6000), abs=0.05)
    head, *rows = table("exports/frost_watch_cut_list.csv")
    assert [row[head.index("in_all")] for row in rows] == ["52", "52", "26", "26", "26"]
    assert [float(rows[at][head.index("blank_length_mm")]) for at in (0, 1)] == [110, 165]


def test_the_record_holds_what_the_text_says_to_every_digit(run):
    code, out, _ = run("order", "seed_box", "--straight", "--spares", "10%", "--json")
    data = json.loads(out)
    assert (code, data["makers"], data["share"], data["chance"]) == (0, 18, 0.1, None)
    assert [each["spares"] for each in data["pieces"]] == [4, 4, 2, 2, 2]
    for section in data["sections"]:
        sizes = {each["letter"]: each["blank"][0] for each in data["pieces"]}
        for pattern in section["patterns"]:
            taken = sum(sizes[letter] for letter in pattern["pieces"]) + section["kerf"] * len(pattern["pieces"])
            assert pattern["offcut"] == pytest.approx(section["length"] - 2 * section["end_trim"] - taken)
        assert section["count"] == sum(pattern["lengths"] for pattern in section["patterns"])
    assert all(lay["cuts"] for of in data["sheets"] for lay in of["layouts"])
    assert [each["walls"] is None for each in data["pieces"]] == [False, False, True, True, True]
    assert data["glue"]["ml"] == pytest.approx(18 * 2 * (data["glue"]["gap_volume"]["value"] + 0.1 * 16272) / 1000)


def test_the_same_seed_writes_the_same_bytes(run):
    words = ("order", "label_box", *QUICK, "--seed", "4")
    for folder in ("one", "two"):
        assert run(*words, "--to", folder)[0] == 0
    files = [sorted(Path(folder).iterdir()) for folder in ("one", "two")]
    assert [file.name for file in files[0]] == [
        f"label_box_{name}" for name in ("cut_list.csv", "order.csv", "order.pdf")
    ]
    assert [file.read_bytes() for file in files[0]] == [file.read_bytes() for file in files[1]]


def test_names_never_become_formulas_in_a_spreadsheet(run):
    hostile = ['name="=1+1"', 'timber.name="@pine, \\"best\\""', 'lid.material="+ply"', 'stem.name="-knob"']
    words = [word for each in hostile for word in ("--set", each)]
    code, _, err = run("order", "frost_watch", *QUICK, *words, "--set", 'timber.kind="softwood"')
    assert (code, err) == (0, "")
    cells = {cell for name in ("order", "cut_list") for row in table(f"exports/frost_watch_{name}.csv") for cell in row}
    assert {'\'@pine, "best"', "'+ply", "'-knob (6 x 60 mm)"} <= cells
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@"))]


def test_costs_are_told_a_maker_and_what_has_no_price_is_named(run):
    """Two lengths of 2.4 m at 2.50 a metre, of 12 screws at 0.05: 12.00 + 0.60."""
    Path("mine.toml").write_text(
        '[timber]\nlengths = [2400]\n[prices]\ncurrency = "EUR"\n[prices.timber]\n"15 x 45" = 2.5\n"10 x 45" = 2.5\n'
        '[prices.screws]\n"3.5 x 30" = 0.05\n'
    )
    out = run("order", "frost_watch", "--makers", "6", "--stock", "mine.toml", *QUICK)[1]
    said = " ".join(out.split())
    assert "In all 12.60 EUR, which is 2.10 EUR a maker." in said
    assert "Not in it, as the stock file has no price: birch plywood, 4 mm, 1220 x 610 mm; birch plywood, 9 mm" in said
    assert "On sale is what mine.toml lists." in said
    assert "configs/stock.toml" not in said
    priced = [row for row in table("exports/frost_watch_order.csv")[1:] if row[-1] == "EUR"]
    assert [float(row[-2]) for row in priced] == [6, 6, 0.6]
    assert "In all" not in run("order", "frost_watch", "--makers", "6", *QUICK)[1]


def test_a_thickness_that_the_stock_file_does_not_list_is_said(run):
    Path("mine.toml").write_text("sections = [9, 15]")
    out = " ".join(run("order", "frost_watch", "--stock", "mine.toml", *QUICK)[1].split())
    assert "The stock file does not list 10 mm among its sections (9, 15): ask the yard for it." in out
    assert "does not list 15 mm" not in out


def test_a_disk_that_is_full_leaves_no_file_and_the_order_is_printed_all_the_same(run, monkeypatch, tmp_path):
    real, tries = Path.write_bytes, iter(range(9))

    def write_bytes(self, content):
        if next(tries) == 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(self, content)

    monkeypatch.setattr(Path, "write_bytes", write_bytes)
    code, out, err = run("order", "label_box", *QUICK, "--to", "full")
    assert code == 3
    assert out.startswith("Label box: the order for 12 makers\n")
    assert err == (
        "lapwright: full: can't write here: No space left on device; choose another folder with --to, or free space "
        "and check its rights\n"
    )
    assert list((tmp_path / "full").iterdir()) == []


def test_a_plan_above_its_bound_says_by_how_much():
    plan = LengthPlan(lengths=((0,), (0,), (0,)), bound=2)
    assert least_words(plan) == "at most 1 above the bound: under 2 can't do"
    assert least_words(replace(plan, bound=3)) == "proved the fewest"


@pytest.mark.parametrize(
    ("ml", "words"), [(5912.0, "5.9 l"), (353.76, "350 ml"), (76.65, "77 ml"), (8.74, "8.7 ml"), (99.6, "100 ml")]
)
def test_glue_is_said_to_two_digits(ml, words):
    assert ml_words(ml) == words


def test_walls_of_a_sheet_are_said_to_be_strips(run):
    said = " ".join(run("order", "frost_watch", "--set", 'timber.name="MDF"', *QUICK)[1].split())
    assert "The walls are of MDF, a sheet: it is ordered here in strips, as wide as the walls are high." in said
    assert "ordered here in strips" not in run("order", "label_box", *QUICK)[1]


def test_a_box_without_stem_and_plaque_orders_neither(run):
    text = (configs_folder() / "frost_watch.toml").read_text("utf-8")
    for part in ("stem", "plaque", "plaque.screw"):
        text = re.sub(rf"(?ms)^\[{re.escape(part)}\].*?(?=^\[|\Z)", "", text)
    Path("bare.toml").write_text(re.sub(r"(?m)^plaque_\w+\.min.*$", "", text), "utf-8")
    code, out, err = run("order", "bare.toml", *QUICK)
    assert (code, err) == (0, "")
    assert not re.search("acrylic|plaque|indicator|washer", "".join(out.splitlines(keepends=True)[:-20]))
    assert "PVC" not in out


def test_ctrl_c_tells_what_is_known_and_writes_nothing(run, monkeypatch):
    """Pressed once as the first block of classes is done."""
    real = Run.report

    def pressed(self, now, of):
        real(self, now, of)
        if 0 < now < of:
            signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(Run, "report", pressed)
    code, out, _ = run("order", "frost_watch", "--makers", "120")
    assert code == 130
    assert re.match(r"Partial: stopped by Ctrl-C after [\d,]+ simulated classes, and nothing is written; ", out)
    assert not list(Path().rglob("*order*"))


# On paper


@pytest.mark.parametrize("straight", [False, True])
@pytest.mark.parametrize("name", SHIPPED)
def test_nothing_on_the_pages_is_off_the_paper_or_over_anything(name, straight):
    check_pages(pages_of(name, straight=straight))
    check_pages(pages_of(name, "Letter", straight=straight))


def unsimulated(design, *, straight):
    """Return an order of a design whose glue and chances are made up: only what is sawn is worked out."""
    stock, told = read_on_sale(), wilson(60, 2000)
    spares = Spares(piece="wall", needed=1, spares=1, runs_out=told, spoilt=told, given_up=0.0, classes=2000)
    kinds = tuple(
        Kind(letter=letter, part=part, needed=part.count * design.makers, spares=at, walls=spares if at < 2 else None)
        for at, (letter, part) in enumerate(zip("ABCDE", cut_parts(design), strict=False))
    )
    return Order(
        design=design,
        rule=SpareRule(),
        kinds=kinds,
        sections=sawn_sections(kinds, stock),
        sheets=sawn_sheets(kinds, stock, straight=straight),
        ready=ready(design, stock.prices),
        glue=Glue(name="glue", gap_volume=told, contact=1.0, makers=design.makers, boxes=2000, beyond=wilson(0, 2000)),
        currency="",
        glue_price=None,
        seed=1,
    )


@settings(max_examples=some(40), deadline=None)
@given(designs(), st.booleans())
def test_pages_of_random_designs_are_clear(design, straight):
    order, sections = unsimulated(design, straight=straight), read_on_sale().sections
    check_pages(order_pages(order, sections, None, PAPERS["A4"]))
    assert order_text(order, sections, None).startswith("Random box: the order for ")


def test_the_longest_names_keep_to_the_paper():
    """A design's names have at most 60 letters, a stem's 40."""
    design, stock = read_design("frost_watch"), read_on_sale()
    wide = "W" * 60
    design = design.model_copy(
        update={
            "name": wide,
            "timber": design.timber.model_copy(update={"name": wide}),
            "base": design.base.model_copy(update={"material": wide}),
            "stem": design.stem.model_copy(update={"name": "W" * 40}),
        }
    )
    order = order_for(design, maker(read_design("frost_watch"), "frost_watch"), stock, SpareRule(share=0.0))
    check_pages(order_pages(order, stock.sections, f"{wide}/{wide}.toml", PAPERS["A4"]))


def test_pictures_are_to_scale_in_the_pdf():
    """Lengths of 2.4 m at 1:15 are 160 mm long; the sheet at 1:7.5 is 1220/7.5 by 610/7.5; so are the bars 100 mm."""
    pages = pages_of("frost_watch")
    data = pdf(pages, "An order")
    found = [piece for number in range(len(pages)) for piece in strokes_in(data, number)]

    def there(length, level):
        axis = 1 if level else 0
        return [
            (a, b)
            for a, b in found
            if math.dist(a, b) == pytest.approx(length, abs=NEAR) and a[axis] == pytest.approx(b[axis], abs=NEAR)
        ]

    order = order_of("frost_watch")
    ways = sum(len(of.patterns) for of in order.sections)
    assert len(there(2400 / 15, level=True)) == 2 * ways, "upper and lower edge of each length"
    assert there(1220 / 7.5, level=True)
    assert there(610 / 7.5, level=False)
    assert there(100, level=True)
    assert there(100, level=False)
    pieces = sum(len(pattern.kinds) for of in order.sections for pattern in of.patterns if of.thickness == 15)
    assert len(there(110 / 15, level=True)) >= 2 * pieces
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
    for said in ("To order", "3 lengths of", "A = lapped wall (end) 110 x 45", "Scale 1:15", "Scale 1:7.5", "MDF"):
        assert said in words


def test_every_cut_of_a_straight_layout_has_its_number():
    """14 bases lie in two columns of seven, sawn by 2 + 2 x 7 cuts, 14 lids as well; 14 plaques in a row, by 1 + 14."""
    words = [one.text for page in pages_of("label_box", straight=True) for one in page.words]
    assert [len(lay.cuts) for of in order_of("label_box", straight=True).sheets for lay in of.lays] == [16, 16, 15]
    assert all(words.count(str(number)) >= 3 for number in range(1, 16))
    assert words.count("16") >= 2


def test_every_length_and_sheet_on_sale_goes_onto_the_paper():
    """The longest that a stock file may have, and the largest sheet, on the narrowest paper (A4, 182 mm)."""
    assert scale_for(12_000, 0, 182) in SCALES
    assert scale_for(5_000, 5_000, 182) in SCALES


# Refusals


REFUSALS = {
    "no makers": (("--makers", "0"), "--makers: got 0, must be 1 to 1000"),
    "too many makers": (("--makers", "1001"), "--makers: got 1001, must be 1 to 1000"),
    "too many makers in the design": (
        ("--set", "makers=5000"),
        "makers: got 5000, must be 1 to 1000 for one order; give --makers",
    ),
    "spares in words": (("--spares", "some"), NO_SUCH.format("some")),
    "spares without a sign": (("--spares", "10"), f"{NO_SUCH.format('10')}; write 10%"),
    "spares as a share": (("--spares", "0.1"), f"{NO_SUCH.format('0.1')}; write 10%"),
    "spares below none": (("--spares", "-5%"), NO_SUCH.format("-5%")),
    "spares beyond all": (("--spares", "300%"), NO_SUCH.format("300%")),
    "chance in words": (("--chance", "low"), "--chance: got 'low', must be a percentage from 0.5% to 50%, such as 5%"),
    "chance of none": (("--chance", "0%"), "--chance: got '0%', must be a percentage from 0.5% to 50%, such as 5%"),
    "chance as a share": (
        ("--chance", "0.05"),
        "--chance: got '0.05', must be a percentage from 0.5% to 50%, such as 5%; write 5%",
    ),
    "chance beside a percentage": (
        ("--spares", "10%", "--chance", "5%"),
        "--chance: only --spares auto goes by a chance; leave out one of the two",
    ),
    "seed": (("--seed", "-1"), "seed: got -1, must be 0 or more"),
    "paper": (("--paper", "A5"), "--paper: got 'A5', must be one of A4, A3, Letter"),
    "no such stock": (
        ("--stock", "none.toml"),
        "none.toml: 1 to fix\n  file: does not exist; check the name and the folder",
    ),
    "letters that pages do not have": (
        ("--set", "name=箱"),
        (
            "箱: the letters of the sheets (DejaVu Sans) have no '箱' (U+7BB1); they have Latin, Greek and Cyrillic; "
            "write it so in the design"
        ),
    ),
    "lengths that are too short": (
        ("--stock", "short.toml"),
        (
            "stock: no length on sale takes the lapped wall (end), whose blank is 110 mm long: the longest, 300 mm, "
            "leaves 100 mm once 100 mm is trimmed off each end; put one of at least 310 mm into timber.lengths of a "
            "file of your own and give it by --stock\n"
            "stock: no length on sale takes the plain wall (side), whose blank is 165 mm long: the longest, 300 mm, "
            "leaves 100 mm once 100 mm is trimmed off each end; put one of at least 365 mm into timber.lengths of a "
            "file of your own and give it by --stock"
        ),
    ),
    "sheets that are too small": (
        ("--stock", "small.toml"),
        (
            "stock: no sheet of birch plywood on sale takes the base, whose blank is 184 x 114 mm: the largest, 150 x "
            "200 mm, leaves 130 x 180 mm once 10 mm is trimmed off each edge, and pieces may not be turned; put one of "
            "at least 204 x 134 mm into sheets.plywood.sizes of a file of your own and give it by --stock\n"
            "stock: no sheet of birch plywood on sale takes the lid, whose blank is 180 x 110 mm: the largest, 150 x "
            "200 mm, leaves 130 x 180 mm once 10 mm is trimmed off each edge, and pieces may not be turned; put one of "
            "at least 200 x 130 mm into sheets.plywood.sizes of a file of your own and give it by --stock"
        ),
    ),
    "a stock file with faults": (
        ("--stock", "faulty.toml"),
        (
            "faulty.toml: 2 to fix\n"
            "  line 1: timbr: unknown key; did you mean 'timber'?\n"
            "  line 4: sheet.kerf: got -1, must be 0 to 10 mm (width of the cut of saw or laser)"
        ),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("words", "message"), REFUSALS.values(), ids=REFUSALS)
def test_what_can_not_be_ordered_is_refused_with_nothing_written(run, words, message):
    Path("short.toml").write_text("[timber]\nlengths = [300]\nend_trim = 100")
    Path("small.toml").write_text("[sheets.plywood]\nsizes = [[150, 200]]")
    Path("faulty.toml").write_text("[timbr]\nkerf = 2\n[sheet]\nkerf = -1")
    assert run("order", "frost_watch", *words) == (2, "", f"lapwright: {message}\n")
    assert not list(Path().rglob("*order*"))


def test_the_cures_of_stock_that_is_too_small_work(run):
    Path("short.toml").write_text("[timber]\nlengths = [310, 365]\nend_trim = 100")
    Path("small.toml").write_text("[sheets.plywood]\nsizes = [[204, 134]]")
    for name in ("short.toml", "small.toml"):
        assert run("order", "frost_watch", "--makers", "2", "--stock", name, *QUICK)[0] == 0
