"""Stock files: sizes in mm and in inches with the unit, and every message about one that can't be used."""

import re
import tomllib

import jsonschema
import pytest

from assembly.errors import ConfigError
from assembly.files.schemas import schema
from assembly.files.shipped import configs_folder
from assembly.files.stock import read_on_sale, read_stock
from assembly.model.on_sale import sheets_of

STOCK_FAULTS = {
    'sections = [9, "9 mm"]': "line 1: sections: item 2: 9 (item 1) and '9 mm' are both 9 mm; leave one out",
    'sections = [9.525, "3/8 in"]': (
        "line 1: sections: item 2: 9.525 (item 1) and '3/8 in' are both 9.525 mm; leave one out"
    ),
    'sections = ["12"]': (
        "line 1: sections: item 1: got '12', which has no unit; write 12 without quotes for mm, or \"12 in\" for inches"
    ),
    'sections = [9, "12,5"]': ("line 1: sections: item 2: got '12,5'; a decimal is written with a point: 12.5"),
    'sections = ["1 12 in"]': (
        'line 1: sections: item 1: got \'1 12 in\', which is no number; write "1 1/4 in" or "32 mm"'
    ),
    'sections = ["2 1/2 in"]': "line 1: sections: item 1: got 63.5 mm, must be 3 to 60 mm",
    "sections = [0.375]": ('line 1: sections: item 1: got 0.375 mm, must be 3 to 60 mm; for inches write "0.375 in"'),
    'sections = ["3/8"]': ("line 1: sections: item 1: got '3/8', which has no unit; write \"3/8 in\" for inches"),
    'sections = ["thin"]': (
        'line 1: sections: item 1: got \'thin\', must be a size with its unit, such as "12 mm", "3/8 in" or "1 1/4 in"'
    ),
    "sections = [100]": "line 1: sections: item 1: got 100 mm, must be 3 to 60 mm",
    "sections = [true]": (
        'line 1: sections: item 1: got True, must be a thickness in mm, or text with its unit such as "3/8 in"'
    ),
    'sections = ["1/0 in"]': (
        'line 1: sections: item 1: got \'1/0 in\', which is no number; write "1 1/4 in" or "32 mm"'
    ),
    "sections = []": (
        'line 1: sections: must be a list of 1 to 40 thicknesses, such as sections = [6, 9, 12, "3/8 in"]'
    ),
    "sections = [9]\ntimbr = 3": "line 2: timbr: unknown key; did you mean 'timber'?",
    "[stock]\nsections = [9]": (
        "line 1: stock: unknown table; sections stands before all tables: delete the line [stock]"
    ),
    "": 'file: is empty; write a line that differs, such as sections = [6, 9, 12, "3/8 in"]',
    "zzz = 3": "line 1: zzz: unknown key; keys here are sections, timber, sheet, sheets, prices",
    "timber = 3": "line 1: timber: got 3, must be a table of keys",
    "[timber]\nlengths = 2400": (
        "line 2: timber.lengths: must be a list of 1 to 40 lengths, such as lengths = [1800, 2400]"
    ),
    '[timber]\nlengths = [96, "2,4 m"]': (
        'line 2: timber.lengths: item 1: got 96 mm, must be 300 to 12000 mm; for inches write "96 in"\n'
        "line 2: timber.lengths: item 2: got '2,4 m'; sizes are in mm: 2.4 m is 2400 mm: write 2400"
    ),
    "[timber]\nkerf = 30": "line 2: timber.kerf: got 30, must be 0 to 10 mm (width of the saw's cut)",
    "[timber]\nlengths = [2400, 600]\nend_trim = 300": (
        "line 3: timber.end_trim: got 300 mm, which off both ends leaves nothing of a length of 600 mm; give less than "
        "300 mm"
    ),
    "[sheet]\nsizes = [1220, 610]": (
        "line 2: sheet.sizes: item 1: got 1220, must be [length, width], such as [1220, 610]\n"
        "line 2: sheet.sizes: item 2: got 610, must be [length, width], such as [1220, 610]"
    ),
    "[sheets.MDF]\nsizes = [[1220, 610], [1220.0, 610.0]]": (
        "line 2: sheets.MDF.sizes: item 2: [1220, 610] (item 1) and [1220.0, 610.0] are both 1220 x 610 "
        "mm; leave one out"
    ),
    "[sheets.MDF]\nturned = false": ("line 2: sheets.MDF.turned: unknown key; did you mean 'turn'?"),
    "[sheets.MDF]\nsizes = [[300, 150]]\nedge_trim = 75": (
        "line 3: sheets.MDF.edge_trim: got 75 mm, which off both edges leaves nothing of a sheet 150 mm wide; give "
        "less than 75 mm"
    ),
    '[prices.timber]\n"15 by 45" = 2': (
        "line 2: prices.timber.15 by 45: is no name of a price here; write sizes in mm with an x between them, such as "
        '"15 x 45"'
    ),
    '[prices.timber]\n"15 x 45" = 2\n"15x45.0" = 3': (
        'line 3: prices.timber.15x45.0: is priced before as "15 x 45"; leave one out'
    ),
    '[prices.screws]\n"3.5 x 30" = "0,06"': (
        "line 2: prices.screws.3.5 x 30: got '0,06', must be a number; write 0.06, with a point"
    ),
    '[prices.screws]\n"3.5 x 30" = "cheap"': (
        "line 2: prices.screws.3.5 x 30: got 'cheap', must be a number, the price without its currency"
    ),
    "[prices.stems]\nknob = -1": "line 2: prices.stems.knob: got -1, must be 0 to 100000",
    "[prices]\nglue = true": "line 2: prices.glue: got true, must be a number (a litre of glue)",
    '[prices.sheets]\nplywood = { "4 x 610 x 1220" = 9 }': (
        "line 2: prices.sheets.plywood.4 x 610 x 1220: no such size of plywood is on sale; names here are thickness x "
        "length x width, such as '4 x 1220 x 610', '4 x 1220 x 1220', '4 x 2440 x 1220'"
    ),
}


@pytest.mark.parametrize("text", STOCK_FAULTS)
def test_a_stock_file_that_can_t_be_used(tmp_path, text):
    file = tmp_path / "stock.toml"
    file.write_text(text)
    with pytest.raises(ConfigError) as refused:
        read_stock(str(file))
    assert "\n".join(str(problem) for problem in refused.value.problems) == STOCK_FAULTS[text]


def test_stock_in_inches_with_the_unit(tmp_path):
    """3/8 in = 9.525 mm and 1 1/4 in = 31.75 mm: an inch is 25.4 mm by definition."""
    file = tmp_path / "stock.toml"
    file.write_text('sections = [12, "3/8 in", "1 1/4 in", "6 mm"]')
    assert read_stock(str(file)) == pytest.approx((6, 9.525, 12, 31.75), abs=1e-12)


def test_faults_in_a_table_of_its_own_are_told_with_it(tmp_path):
    file = tmp_path / "stock.toml"
    file.write_text('[stock]\nsections = ["12"]')
    with pytest.raises(ConfigError) as refused:
        read_stock(str(file))
    assert [str(problem) for problem in refused.value.problems] == [
        "line 1: stock: unknown table; sections stands before all tables: delete the line [stock]",
        (
            "line 2: stock.sections: item 1: got '12', which has no unit; write 12 without quotes for mm, or "
            '"12 in" for inches'
        ),
    ]


def test_a_thickness_that_stands_three_times_is_told_once_for_each_that_is_too_many(tmp_path):
    file = tmp_path / "stock.toml"
    file.write_text('sections = [12, 12, "12 mm"]')
    with pytest.raises(ConfigError) as refused:
        read_stock(str(file))
    assert [str(problem) for problem in refused.value.problems] == [
        "line 1: sections: item 2: 12 (item 1) and 12 are both 12 mm; leave one out",
        "line 1: sections: item 3: 12 (item 1) and '12 mm' are both 12 mm; leave one out",
    ]


def test_the_shipped_stock_is_found_by_name():
    assert read_stock("stock") == (6, 8, 9, 10, 12, 15, 18, 20)


def test_every_fault_of_a_stock_file_is_told_at_once(tmp_path):
    file = tmp_path / "stock.toml"
    file.write_text('timber = 3\nsections = [100, "3/8"]\n[sheet]\nkerf = "3 mm"\nsizes = []\n')
    with pytest.raises(ConfigError) as refused:
        read_stock(str(file))
    assert str(refused.value) == (
        f"{file}: 5 to fix\n"
        "  line 1: timber: got 3, must be a table of keys\n"
        "  line 2: sections: item 1: got 100 mm, must be 3 to 60 mm\n"
        "  line 2: sections: item 2: got '3/8', which has no unit; write \"3/8 in\" for inches\n"
        "  line 4: sheet.kerf: got '3 mm', must be a number of mm; write 3, without its unit (width of the cut of saw "
        "or laser)\n"
        "  line 5: sheet.sizes: must be a list of 1 to 40 sizes, such as sizes = [[1220, 610], [2440, 1220]]"
    )


@pytest.mark.parametrize(
    ("text", "expected"), [("3/8 in", 9.525), ("0.5 inch", 12.7), ("1-1/4 in", 31.75), ("6mm", 6), ('1/2\\"', 12.7)]
)
def test_a_size_with_its_unit(tmp_path, text, expected):
    """An inch is 25.4 mm by definition (1959)."""
    file = tmp_path / "stock.toml"
    file.write_text(f'sections = ["{text}"]')
    assert read_stock(str(file)) == pytest.approx((expected,), abs=1e-12)


def test_a_file_states_only_what_differs_from_the_one_that_ships(tmp_path):
    file = tmp_path / "stock.toml"
    file.write_text(
        '[timber]\nlengths = ["96 in"]\n[sheets."Birch plywood"]\nkerf = 2\n[prices]\ncurrency = "EUR"\n'
        '[prices.timber]\n"15.0x45" = 2.4\n'
    )
    own, ships = read_on_sale(str(file)), read_on_sale()
    assert own.timber.lengths == pytest.approx([2438.4])  # 96 x 25.4
    assert (own.timber.kerf, own.sections, own.sheet) == (ships.timber.kerf, ships.sections, ships.sheet)
    assert (own.prices.currency, own.prices.timber) == ("EUR", {"15 x 45": 2.4})
    assert own.sheets["plywood"] == ships.sheets["plywood"]
    assert sheets_of("birch plywood", own.sheet, own.sheets).kerf == 2


def test_sheets_go_by_their_own_name_then_by_their_kind_then_as_any_other():
    stock = read_on_sale()
    plywood, other = (sheets_of(name, stock.sheet, stock.sheets) for name in ("birch plywood", "hardboard"))
    assert (plywood.turn, plywood.sizes) == (False, stock.sheet.sizes)
    assert other == stock.sheet
    assert sheets_of("acrylic, cast", stock.sheet, stock.sheets) == sheets_of("ACRYLIC", stock.sheet, stock.sheets)
    assert sheets_of("acrylic", stock.sheet, stock.sheets).kerf == 0.2


def test_what_ships_has_no_price_and_keeps_its_schema():
    prices = read_on_sale().prices
    assert (prices.glue, prices.timber, prices.sheets, prices.screws, prices.washers, prices.stems) == (
        None, {}, {}, {}, {}, {},
    )  # fmt: skip
    file = configs_folder() / "stock.toml"
    jsonschema.validate(tomllib.loads(file.read_text("utf-8")), schema("stock"), jsonschema.Draft202012Validator)
    jsonschema.validate({"timber": {"kerf": 3}}, schema("stock"), jsonschema.Draft202012Validator)


def test_the_prices_that_ship_as_comments_can_be_used(tmp_path):
    text = (configs_folder() / "stock.toml").read_text("utf-8")
    file = tmp_path / "stock.toml"
    head, prices = text.split("[prices]\n")
    file.write_text(f"{head}[prices]\n{re.sub(r'(?m)^# ', '', prices)}", "utf-8")
    found = read_on_sale(str(file)).prices
    assert found.sheets["plywood"]["4 x 1220 x 610"] == 14.5
    assert (found.glue, found.stems) == (12.5, {"frost indicator": 1.2})
