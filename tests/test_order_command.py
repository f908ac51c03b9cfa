"""`lapwright order`: what it prints and writes, read back."""

import csv
import errno
import io
import json
import os
import re
import signal
from dataclasses import replace
from pathlib import Path

import pytest
from boxes import still_workshop

from assembly.files.reading import read_design
from assembly.files.shipped import configs_folder
from assembly.order.glue import glue_for
from assembly.order.lengths import LengthPlan
from assembly.study.driver import Run
from viewer.reports.order_words import glue_words, least_words, ml_words

QUICK = ("--spares", "0")


def table(file):
    return list(csv.reader(io.StringIO(Path(file).read_text("utf-8"))))


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
        assert line.startswith(f"- {found['amount']} ") or found["unit"] == "l"
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


def test_glue_in_the_table_is_litres_at_the_price_of_a_litre(run):
    """Of 12.99 a litre; a row's amount times its price is its cost, but for a tenth of a ml."""
    Path("mine.toml").write_text("[prices]\nglue = 12.99\n")
    assert run("order", "frost_watch", "--stock", "mine.toml", *QUICK)[0] == 0
    head, *_, last = table("exports/frost_watch_order.csv")
    glue = dict(zip(head, last, strict=True))
    assert (glue["unit"], glue["price_each"]) == ("l", "12.99")
    assert 0.05 < float(glue["amount"]) < 0.2
    assert float(glue["cost"]) == pytest.approx(float(glue["amount"]) * 12.99, abs=12.99 * 5e-5)


def test_a_price_of_a_length_in_the_table_is_not_rounded(run):
    """2.4 m at 1.23456 a metre cost 2.962944 each, and 4 of them four times as much."""
    Path("mine.toml").write_text('[timber]\nlengths = [2400]\n[prices.timber]\n"10 x 45" = 1.23456\n')
    assert run("order", "frost_watch", "--makers", "26", "--stock", "mine.toml", *QUICK)[0] == 0
    head, *rows = table("exports/frost_watch_order.csv")
    [row] = [dict(zip(head, row, strict=True)) for row in rows if row[head.index("cost")]]
    assert (row["amount"], row["price_each"], row["cost"]) == ("4", "2.962944", "11.851776")


TOO_THIN = (
    "How likely 26 makers run out of walls is not known: workshop 'New to tools': scrap.tongue has a wall spoilt with "
    "a tongue under 7.6 mm, and the design draws tongues of 7.5 mm, so every lapped wall would be; --set "
    "workshop.scrap.tongue=6.9 or --set timber.lapped=17 will do."
)


@pytest.mark.parametrize(("spares", "walls", "rest"), [("0", 0, 0), ("10%", 6, 3)])
def test_a_share_of_spares_is_ordered_where_no_number_of_them_is_enough(run, spares, walls, rest):
    """10 % of 52 walls of a kind is 5.2, and of 26 bases 2.6."""
    words = ("order", "frost_watch", "--makers", "26", "--set", "workshop.scrap.tongue=7.6")
    code, out, err = run(*words, "--spares", spares, "--json")
    data = json.loads(out)
    assert (code, err, data["partial"], len(data["files"])) == (0, "", False, 3)
    assert data["untold"] in TOO_THIN
    assert [each["spares"] for each in data["pieces"]] == [walls, walls, rest, rest, rest]
    assert {each["walls"] for each in data["pieces"]} == {None}
    said = " ".join(run(*words, "--spares", spares)[1].split())
    assert TOO_THIN in said
    assert "spoilt from their first blank" not in said
    assert "No rule says when what is cut from sheets is spoilt (base; lid; plaque, flat), so how likely" in said
    code, out, err = run(*words)
    assert (code, out) == (2, "")
    assert err == f"lapwright: {TOO_THIN.split(': ', 1)[1][:-1]}\n"


def test_an_order_says_what_spoils_a_wall_and_what_to_try_before_many_spares_are_bought(run):
    """Many are over a quarter of 52, so 14 or more; of a share that was asked for it is not said."""
    words = " ".join(run("order", "frost_watch", "--set", "workshop.scrap.short=1.7")[1].split())
    assert (
        "A wall is spoilt that is over 1.7 mm short, has a lap cut over 1 mm too far, or a tongue under 2.5 mm (scrap, "
        "in the workshop's file). So many spares are dear. See first what an aid saves: order again with --set "
        "workshop.aids.stop_block.used=true or --set workshop.aids.saw_guide.used=true or --set "
        "workshop.aids.depth_stop.used=true. "
    ) in words
    words = " ".join(run("order", "frost_watch", "--set", "workshop.aids.depth_stop.used=true")[1].split())
    spare = re.search(r"Spare pieces among them: (\d+) x lapped wall", words)
    assert spare
    assert int(spare[1]) <= 13
    assert "So many spares" not in words
    assert "So many spares" not in run("order", "frost_watch", "--spares", "50%")[1]


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


def test_glue_is_told_with_the_boxes_that_were_simulated_for_it():
    glue = glue_for(read_design("frost_watch"), still_workshop(), seed=1, boxes=50)
    assert glue_words(glue) == (
        "Glue is an estimate by common practice, no source: the mean gap volume of 50 simulated boxes and a film of "
        "0.1 mm on every glued face, twice over; 1.7 ml a box."
    )


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
