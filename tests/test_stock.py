"""Stock files: sizes in mm and in inches with the unit, and every message about one that can't be used."""

import pytest

from assembly.errors import ConfigError
from assembly.files.stock import read_stock

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
    "sections = [9]\ntimber = 3": "line 2: timber: unknown key; a stock file has one key, sections",
    "[stock]\nsections = [9]": (
        "line 1: stock: unknown table; a stock file has one key, sections: delete the line [stock]"
    ),
    "": 'file: is empty; write one line, such as sections = [6, 9, 12, "3/8 in"]',
}


@pytest.mark.parametrize("text", STOCK_FAULTS)
def test_a_stock_file_that_can_t_be_used(tmp_path, text):
    file = tmp_path / "stock.toml"
    file.write_text(text)
    with pytest.raises(ConfigError) as refused:
        read_stock(str(file))
    assert [str(problem) for problem in refused.value.problems] == [STOCK_FAULTS[text]]


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
        "line 1: stock: unknown table; a stock file has one key, sections: delete the line [stock]",
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
    file.write_text('timber = 3\nsections = [100, "3/8"]')
    with pytest.raises(ConfigError) as refused:
        read_stock(str(file))
    assert str(refused.value) == (
        f"{file}: 3 to fix\n"
        "  line 1: timber: unknown key; a stock file has one key, sections\n"
        "  line 2: sections: item 1: got 100 mm, must be 3 to 60 mm\n"
        "  line 2: sections: item 2: got '3/8', which has no unit; write \"3/8 in\" for inches"
    )


@pytest.mark.parametrize(
    ("text", "expected"), [("3/8 in", 9.525), ("0.5 inch", 12.7), ("1-1/4 in", 31.75), ("6mm", 6), ('1/2\\"', 12.7)]
)
def test_a_size_with_its_unit(tmp_path, text, expected):
    """An inch is 25.4 mm by definition (1959)."""
    file = tmp_path / "stock.toml"
    file.write_text(f'sections = ["{text}"]')
    assert read_stock(str(file)) == pytest.approx((expected,), abs=1e-12)
