"""Data tables: every row has a source, names are refused or found, and the figures are those published."""

import subprocess
import sys
from importlib import resources

import pytest
from timber import published

from assembly.data.tables import all_screws, all_sheets, all_species, core_mm, rows, screw, sheet, wall_material
from assembly.errors import InputError
from assembly.section.verdict import sound_limits

TABLES = sorted(
    p.name.removesuffix(".csv")
    for p in resources.files("assembly").joinpath("data").iterdir()
    if p.name.endswith(".csv") and "source" in p.read_text(encoding="utf-8").partition("\n")[0]
)


@pytest.mark.parametrize(
    "table",
    [
        "emc", "en1995_distances", "en1995_edges", "mdf_moisture", "rule_limits", "screws",
        "section_tolerances", "sheet_thickness", "sheets", "sound_limits", "species", "withdrawal_range",
    ],
)  # fmt: skip
def test_every_table_has_a_source_column(table):
    assert table in TABLES


@pytest.mark.parametrize("table", TABLES)
def test_every_row_says_where_it_comes_from(table):
    """A source names a publication, or owns up to common practice, a project choice or plain arithmetic."""
    assert rows(table)
    for row in rows(table):
        assert len(row["source"].strip()) >= 10, row
        assert None not in row, row  # a stray comma would shift the source into nowhere
        assert None not in row.values(), row


def test_every_published_set_of_the_tests_says_where_it_was_printed_and_how_it_was_checked():
    sets = [published()["emc_table"], *published()["set"]]
    assert len(sets) > 20
    for each in sets:
        assert len(each["source"]) >= 10
        assert each["evidence"]


@pytest.mark.parametrize("row", ["tongue", "shoulder_depth", "screw_wood", "grain_runout", "tongue_most"])
def test_common_practice_says_so(row):
    assert sound_limits()[row].source.endswith("common practice, no source")


@pytest.mark.parametrize("row", ["pilot_least", "pilot_most", "bond", "pass_share_lost", "seasonal_step"])
def test_project_choice_says_so(row):
    assert sound_limits()[row].source == "project choice, no source"


def test_tables_are_not_read_at_import():
    code = "import assembly.section.verdict, assembly.materials.seasons, assembly.materials.screws as _; "
    code += "from assembly.data import tables; assert tables.rows.cache_info().currsize == 0"
    subprocess.run([sys.executable, "-c", code], check=True)


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("pine, Scots", "pine, Scots"),
        ("scots  PINE", "pine, Scots"),
        ("Kiefer", "pine, Scots"),
        ("eastern white pine", "pine, eastern white"),
        ("Douglas-fir, coast", "Douglas-fir, coast"),
        ("yellow-poplar", "yellow-poplar"),
    ],
)
def test_timber_is_found_by_any_of_its_names(name, found):
    assert wall_material(name).name == found


def test_every_name_of_the_table_finds_its_own_row():
    assert [wall_material(timber.name).name for timber in all_species()] == [timber.name for timber in all_species()]
    for name, records in ((sheet, all_sheets()), (screw, all_screws())):
        assert [name(r.name) for r in records] == list(records)


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (
            lambda: wall_material("Pine"),
            (
                "timber 'Pine': several go by that name and differ; name one of: "
                "pine, eastern white; pine, ponderosa; pine, red; pine, Scots"
            ),
        ),
        (
            lambda: wall_material("oak"),
            (
                "timber 'oak': several go by that name and differ; name one of: oak, red, commercial; "
                "oak, northern red; oak, white, commercial; oak, American white; oak, European"
            ),
        ),
        (
            lambda: wall_material("red oak"),
            (
                "timber 'red oak': several go by that name and differ; name one of: oak, red, commercial; "
                "oak, northern red"
            ),
        ),
        (
            lambda: wall_material("skots pine"),
            (
                "timber 'skots pine': not in the table; nearest: pine, Scots; pine, ponderosa; pine, red; "
                "pine, eastern white"
            ),
        ),
        (
            lambda: sheet("zzzz"),
            (
                "sheet 'zzzz': not in the table; there are: MDF; MDF, second source; plywood; acrylic, cast; "
                "acrylic, extruded"
            ),
        ),
        (
            lambda: sheet("acrylic"),
            "sheet 'acrylic': several go by that name and differ; name one of: acrylic, cast; acrylic, extruded",
        ),
        (
            lambda: screw("8"),
            "screw '8': several go by that name and differ; name one of: US gauge 8; British gauge 8",
        ),
    ],
)
def test_a_name_that_is_too_wide_or_unknown_is_refused(ask, message):
    with pytest.raises(InputError) as caught:
        ask()
    assert str(caught.value) == message


def test_a_bare_genus_is_never_answered():
    for timber in all_species():
        for genus in timber.genus:
            with pytest.raises(InputError):
                wall_material(genus)


# Wood Handbook (FPL-GTR-190, 2010) Tables 5-3a and 5-3b; which cells are from memory stands in the rows' own sources.
SPECIFIC_GRAVITY = {
    "pine, eastern white": 0.35, "pine, ponderosa": 0.40, "pine, red": 0.46, "spruce, Sitka": 0.40,
    "oak, northern red": 0.63, "oak, American white": 0.68, "beech, American": 0.64, "maple, sugar": 0.63,
    "walnut, black": 0.55, "cherry, black": 0.50, "yellow-poplar": 0.42, "basswood, American": 0.37,
    "redcedar, western": 0.32,
}  # fmt: skip


def test_specific_gravity_is_the_published_one_and_nowhere_else():
    assert {t.name: t.specific_gravity for t in all_species() if t.specific_gravity} == SPECIFIC_GRAVITY


# European differential shrinkage, % per 1 % MC, radial then tangential. A: German timber-trade table "Differentielles
# Schwindmaß"; B: German trade journal, "Quellen und Schwinden". Both read; which is right is open.
DIFFERENTIAL = {
    ("spruce, European", "A"): (0.19, 0.39), ("spruce, European", "B"): (0.16, 0.33),
    ("pine, Scots", "A"): (0.19, 0.36), ("pine, Scots", "B"): (0.17, 0.29),
    ("oak, European", "A"): (0.16, 0.36), ("oak, European", "B"): (0.20, 0.35),
    ("beech, European", "A"): (0.20, 0.41), ("beech, European", "B"): (0.22, 0.45),
    ("larch, European", "A"): (0.14, 0.30), ("ash, European", "A"): (0.21, 0.38),
    ("birch, European", "A"): (0.29, 0.41), ("poplar, European", "A"): (0.13, 0.31),
}  # fmt: skip


def test_differential_values_are_the_published_ones_under_their_own_system():
    european = [t for t in all_species() if t.system.startswith("European differential")]
    found = {
        (t.name, t.system[-1]): (round(100 * t.coefficient_radial, 9), round(100 * t.coefficient_tangential, 9))
        for t in european
    }
    assert found == DIFFERENTIAL
    assert european == [t for t in all_species() if t.near_room]
    assert all(t.shrinkage_radial is None for t in european)  # a slope is not a whole shrinkage over 30 %


def test_mean_of_spruce_is_near_the_general_figure_of_en_336():
    """Table B's mean for spruce, 0.245, lies close to EN 336's 0.25 % per 1 %."""
    row = ("spruce, European", "European differential, table B")
    (spruce,) = [t for t in all_species() if (t.name, t.system) == row]
    assert (spruce.coefficient_radial + spruce.coefficient_tangential) / 2 == pytest.approx(0.00245, abs=1e-12)


@pytest.mark.parametrize(
    ("diameter", "core"),
    [(1.6, 1.1), (2, 1.4), (2.5, 1.7), (3, 2.1), (3.5, 2.4), (4, 2.8), (4.5, 3.1), (5, 3.5), (6, 4.2)],
)
def test_core_is_that_of_din_7998(diameter, core):
    """DIN 7998 (threads of DIN 95, 96, 97, 7995, 7996, 7997): 1.6 and 2 read, the rest from memory."""
    found, source = core_mm(diameter)
    assert found == core
    assert source.startswith("DIN 7998")
    assert found == pytest.approx(0.7 * diameter, rel=0.03)  # as the fallback claims


def test_holes_of_screws_have_their_own_source():
    for size in all_screws():
        given = (size.clearance_least, size.pilot_softwood_least, size.pilot_hardwood_least)
        assert all(each is not None for each in given) == bool(size.holes_source), size.name


def test_core_between_rows_is_seven_tenths():
    assert core_mm(4.2) == (
        pytest.approx(2.94),
        "0.7 of the diameter, as DIN 7998 has it within 3 %",
    )
