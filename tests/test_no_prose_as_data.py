"""Nothing is read out of our own words: text is taken apart only where it comes from outside, or to be set in lines.

Every function that takes text apart is written down here with what that text is. One more belongs in a record's field
instead, unless its text is somebody else's.
"""

import ast
from pathlib import Path

ROOT = Path(__file__).parent.parent
CUTS = {
    "split", "rsplit", "partition", "rpartition", "startswith", "endswith", "removeprefix", "removesuffix",
    "splitlines", "strip", "lstrip", "rstrip", "match", "search", "fullmatch", "findall", "finditer", "replace",
}  # fmt: skip
ALLOWED = {
    "what a user has typed, or has in a file": {
        "assembly/files/settings.py": "_key _quoted _split _toml_string _value name place setting_of toml_key",
        "assembly/files/shipped.py": "_shipped new_design",
        "assembly/files/written_sizes.py": "millimetres sizes_named",
        "assembly/rules/stock_rules.py": "priced_sheets_are_on_sale",
        "assembly/files/toml_source.py": "_bytes _not_toml _placed _wanted read_table",
        "assembly/files/number_words.py": "number_meant",
        "assembly/model/pens.py": "_colour",
        "assembly/outline/lettering.py": "_ways",
        "assembly/learning/csv_table.py": "_alone _starts number_in read_lines",
        "assembly/learning/instrument_files.py": "_instrument",
        "viewer/commands/kept_files.py": "_kept",
        "assembly/model/outcomes.py": "outcome_typed",
        "assembly/writers/formats.py": "_meant read_scale",
        "viewer/commands/display_model.py": "plate_of",
        "viewer/commands/exporting.py": "formats_of",
        "viewer/commands/ordering.py": "_share spare_rule",
        "viewer/commands/section_job.py": "_stem",
        "viewer/commands/showing.py": "size_of steps_of",
    },
    "names of quantities, keys, corners and parts, in the form that files have them": {
        "assembly/changes/file_rows.py": "_rows",
        "assembly/changes/of_making.py": "aid_used",
        "assembly/made/sampling.py": "disturbed",
        "assembly/learning/example_class.py": "true_workshop",
        "assembly/learning/features.py": "corner",
        "assembly/learning/files.py": "_operation",
        "assembly/model/workshop.py": "disturbance key_of",
        "assembly/solids/shapes.py": "positive",
        "viewer/reports/check_report.py": "aid_words",
        "assembly/writers/names.py": "left_over stem_of",
    },
    "cells of tables, in the form that their reader documents": {
        "assembly/data/tables.py": "_cell _names _plain rows",
        "assembly/planning/strokes.py": "strokes",
        "assembly/planning/trade_words.py": "trade_words",
        "assembly/section/verdict.py": "_threshold",
    },
    "another library's text, another program's format, or the name of a system": {
        "assembly/files/fault_words.py": "_number",
        "assembly/writers/canonical.py": "_references _renumbered canonical",
        "assembly/writers/step.py": "_headed placed_solids",
        "assembly/writers/svg.py": "_same",
        "viewer/commands/libraries.py": "need_screen",
        "viewer/commands/options.py": "_missing _no_number _options _other _spelt",
        "viewer/commands/printing.py": "answer",
        "viewer/page/teacher.py": "_attributed inline",
        "viewer/picture/write.py": "_draw _started possible_windows",
    },
    "a number or words on their way to the page": {
        "assembly/files/spreadsheet.py": "_safe",
        "assembly/planning/trade_words.py": "pieces",
        "assembly/text.py": "ascii_name decimal",
        "viewer/drawing/svg.py": "_joined _pairs _path",
        "viewer/picture/lettering.py": "wrapped",
        "viewer/sheets/teacher.py": "teacher_pages",
        "viewer/sheets/typeset.py": "_quoted",
        "viewer/reports/advice_report.py": "cost_words",
        "viewer/reports/check_report.py": "folded table",
    },
}


def cutting(node, where=""):
    """Return the functions in which a method that takes text apart is called; "" outside of all."""
    found = set()
    if isinstance(node, ast.FunctionDef):
        where = node.name
    method = node.func.attr if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) else ""
    if method in CUTS and (method != "replace" or len(node.args) > 1):  # a file is moved with one
        found.add(where)
    for child in ast.iter_child_nodes(node):
        found |= cutting(child, where)
    return found


def test_text_is_taken_apart_only_where_it_is_not_our_own():
    files = [file for package in ("assembly", "viewer") for file in sorted((ROOT / package).rglob("*.py"))]
    found = {file.relative_to(ROOT).as_posix(): cutting(ast.parse(file.read_text(encoding="utf-8"))) for file in files}
    allowed: dict[str, set[str]] = {}
    for file, names in (one for some in ALLOWED.values() for one in some.items()):
        allowed[file] = allowed.get(file, set()) | set(names.split() or [""])
    assert {file: names for file, names in found.items() if names} == allowed
