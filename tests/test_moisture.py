"""Moisture and movement against published cells, by closed form, and which way everything must go."""

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from timber import BOX, cases, published

from assembly.data.tables import all_sheets, all_species, sheet, wall_material
from assembly.errors import InputError
from assembly.materials.climates import overhang_change
from assembly.materials.moisture import (
    Climate,
    across_change,
    across_range,
    along_change,
    coefficient,
    coefficient_change,
    coefficient_from_shrinkage,
    emc,
    shrinkage_change,
)
from assembly.materials.seasons import season
from assembly.materials.sheets import damp_cautions, mdf_mc, sheet_change, sheet_thickness_change

ROOM = Climate(name="making room", temperature_c=20, humidity=45)
SHED = Climate(name="shed", temperature_c=5, humidity=85)
MOVING = [t for t in all_species() if t.shrinkage_tangential or t.coefficient_tangential]
percent = st.floats(0, 100)


def test_equation_gives_every_shared_cell_of_the_table():
    """Wood Handbook (FPL-GTR-190, 2010) Table 4-2, rows by °F: rounding alone takes seven cells past 0.05."""
    table = published()["emc_table"]
    for celsius, line in zip(table["temp_c"], table["expected"], strict=True):
        for humidity, expected in zip(table["rh"], line, strict=True):
            assert emc(humidity, celsius) == pytest.approx(expected, abs=table["tol"])


@pytest.mark.parametrize(("celsius", "humidity", "expected", "tol"), cases("emc"))
def test_equation_gives_single_cells(celsius, humidity, expected, tol):
    assert emc(humidity, celsius) == pytest.approx(expected, abs=tol)


@pytest.mark.parametrize(
    ("humidity", "expected"), [(30, 6.19), (40, 7.72), (50, 9.27), (60, 11.00), (65, 12.00), (70, 13.13), (80, 16.04)]
)
def test_workshop_line_at_20_degrees(humidity, expected):
    """Worked out elsewhere from the same equation, to two decimals."""
    assert emc(humidity, 20) == pytest.approx(expected, abs=0.0051)


@pytest.mark.parametrize("celsius", range(-1, 61, 10))
@pytest.mark.parametrize("humidity", [5, 50, 95])
def test_fahrenheit_form_is_a_second_method(celsius, humidity):
    """The equation in °F, from memory, worst difference 0.065 % MC; a K of 2.73e-7 in the last term would show."""
    f, h = celsius * 1.8 + 32, humidity / 100
    w = 330 + 0.452 * f + 0.00415 * f**2
    k = 0.791 + 0.000463 * f - 0.000000844 * f**2
    k1 = 6.34 + 0.000775 * f - 0.0000935 * f**2
    k2 = 1.09 + 0.0284 * f - 0.0000904 * f**2
    kh = k * h
    second = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    assert emc(humidity, celsius) == pytest.approx(1800 / w * (kh / (1 - kh) + second), abs=0.066)


@given(st.floats(-30, 60), percent, percent)
def test_damper_air_never_dries_wood(celsius, one, other):
    dry, damp = sorted((one, other))
    assert emc(dry, celsius) <= emc(damp, celsius)


def test_bone_dry_air_leaves_no_water():
    assert emc(0, 20) == 0


@pytest.mark.parametrize(("shrinkage", "start", "expected", "tol"), cases("coef_from_shrinkage"))
def test_coefficient_follows_from_shrinkage(shrinkage, start, expected, tol):
    assert coefficient_from_shrinkage(shrinkage, start) == pytest.approx(expected, abs=tol)


@pytest.mark.parametrize(
    ("timber", "direction"),
    [(t, d) for t in all_species() for d in ("radial", "tangential") if t.shrinkage(d) and t.coefficient(d)],
    ids=lambda value: getattr(value, "name", value),
)
def test_tabulated_coefficients_agree_with_their_shrinkage(timber, direction):
    """Wood Handbook Tables 4-3 and 13-5: within 0.00001 everywhere, cedars with their start of 22 %."""
    derived = coefficient_from_shrinkage(timber.shrinkage(direction), timber.start_mc)
    assert derived == pytest.approx(timber.coefficient(direction), abs=1.05e-5)


def test_cedar_with_a_start_of_30_would_be_wrong():
    assert coefficient_from_shrinkage(5.0, 30) == pytest.approx(0.00172, abs=1e-5)  # not the table's 0.00234
    assert wall_material("western redcedar").start_mc == 22


@pytest.mark.parametrize(("name", "found"), [("oak, red, commercial", 0.00369), ("oak, white, commercial", 0.00365)])
def test_group_rows_are_entered_not_derived(name, found):
    """Wood Handbook Table 13-5, averages of groups: no single shrinkage stands behind them."""
    assert coefficient(wall_material(name), "tangential") == found
    assert wall_material(name).shrinkage_tangential is None


def test_missing_coefficient_is_derived():
    """C = (S/100/f)/(1 - (S/100)(f - 10)/f), with S 8.6 and f 30: 0.0028667/0.942667."""
    assert coefficient(wall_material("northern red oak"), "tangential") == pytest.approx(
        0.086 / 30 / (1 - 0.086 * 20 / 30)
    )


@pytest.mark.parametrize("case", cases("move_coef"))
def test_worked_example_of_the_coefficient(case):
    """Wood Handbook p. 13-18: flat-sawn white fir, 232 mm at 8 %, goes to 11 %; printed in inches too."""
    size, per_mc, before, after, expected, tol = case
    change = coefficient_change(size, before, after, per_mc)
    assert change == pytest.approx(expected, abs=tol)
    assert change == pytest.approx(1.705, abs=0.0005)  # recomputed
    assert change / 25.4 == pytest.approx(0.067, abs=0.0005)  # printed in inches
    assert size + change == pytest.approx(233.7, abs=0.05)


def test_shrinkage_formula_gives_the_whole_shrinkage():
    """From the start to oven-dry a green size of 100 loses S; back again it is the green size once more."""
    assert shrinkage_change(100, 30, 0, 11.9, 30) == pytest.approx(-11.9)
    assert shrinkage_change(88.1, 0, 30, 11.9, 30) == pytest.approx(11.9)


def test_coefficient_is_the_shrinkage_formula_from_ten_percent():
    """Per 1 % MC of the size at 10 % both formulas are one: C = 1/(100 f/S - f + 10)."""
    for shrinkage, start in ((11.9, 30), (2.4, 22)):
        one = shrinkage_change(1, 10, 11, shrinkage, start)
        assert one == pytest.approx(coefficient_from_shrinkage(shrinkage, start), rel=1e-12)


@given(st.floats(1, 12), st.lists(st.floats(0, 35), min_size=3, max_size=3))
def test_shrinkage_formula_does_not_depend_on_the_way(shrinkage, mc):
    first, middle, last = mc
    there = 100 + shrinkage_change(100, first, middle, shrinkage, 30)
    assert there + shrinkage_change(there, middle, last, shrinkage, 30) == pytest.approx(
        100 + shrinkage_change(100, first, last, shrinkage, 30), rel=1e-12
    )


@pytest.mark.parametrize("timber", MOVING, ids=lambda t: f"{t.name} {t.system[-1]}")
@pytest.mark.parametrize("direction", ["radial", "tangential"])
def test_damper_wood_never_shrinks_in_any_species(timber, direction):
    steps = [emc(h, 15) for h in range(0, 101, 4)]
    for dry, damp in itertools.combinations(steps, 2):
        assert across_change(timber, direction, 45, dry, damp).change_mm >= 0
        assert across_change(timber, direction, 45, damp, dry).change_mm <= 0


def test_no_movement_above_the_start():
    assert shrinkage_change(100, 22, 29, 5.0, 22) == 0
    assert coefficient_change(100, 30, 34, 0.003) == 0


def test_length_hardly_moves():
    """0.01 % per 1 %: German trade journal, "Quellen und Schwinden". 145 mm over 6 % is 0.087 mm."""
    assert along_change(145, 8, 14) == pytest.approx(0.087, rel=1e-9)


def test_shrinkage_goes_before_the_coefficient():
    """Beech S 11.9: from 6 to 20 %, 45 · 14/(100·30/11.9 - 30 + 6) = 2.762 mm; the coefficient would say 2.715."""
    found = across_change(wall_material("American beech"), "tangential", 45, 6, 20)
    assert found.method == "shrinkage formula"
    assert found.within
    assert found.change_mm == pytest.approx(45 * 14 / (3000 / 11.9 - 24), rel=1e-12)


@pytest.mark.parametrize(("mc", "within"), [((6, 14), True), ((5.9, 14), False), ((8, 14.1), False), ((16, 8), False)])
def test_coefficient_is_flagged_outside_its_range(mc, within):
    found = across_change(wall_material("pine, Scots"), "tangential", 100, *mc)
    assert found.within is within
    assert found.method == "coefficient, European differential, table A"
    assert found.change_mm == pytest.approx(100 * 0.0036 * (mc[1] - mc[0]))


def test_sawing_narrows_the_range():
    """A flat-sawn board's width runs tangentially and its thickness radially; quarter-sawn the other way about."""
    pine = wall_material("pine, Scots")
    radial, tangential = 100 * 0.0019 * 4, 100 * 0.0036 * 4
    found = {
        (sawing, across): [m.change_mm for m in across_range(pine, sawing, across, 100, (8, 12))]
        for sawing in (None, "flat", "quarter")
        for across in ("height", "thickness")
    }
    assert found == {
        (None, "height"): pytest.approx([radial, tangential]),
        (None, "thickness"): pytest.approx([radial, tangential]),
        ("flat", "height"): pytest.approx([tangential] * 2),
        ("flat", "thickness"): pytest.approx([radial] * 2),
        ("quarter", "height"): pytest.approx([radial] * 2),
        ("quarter", "thickness"): pytest.approx([tangential] * 2),
    }


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (
            lambda: Climate(name="home", temperature_c=20, humidity=101),
            "home: humidity of 101 %; relative humidity lies between 0 and 100 %",
        ),
        (
            lambda: Climate(name="home", temperature_c=20, humidity=math.nan),
            "home: humidity of nan %; relative humidity lies between 0 and 100 %",
        ),
        (
            lambda: Climate(name="home", temperature_c=-40, humidity=50),
            "home: temperature of -40 °C; must lie between -30 and 60 °C",
        ),
        (
            lambda: across_change(wall_material("walnut, black"), "radial", 45, 8, 12),
            (
                "timber 'walnut, black': no radial shrinkage and no radial movement coefficient in the table; "
                "give one of them in the design"
            ),
        ),
        (
            lambda: sheet_thickness_change(sheet("plywood"), 6, ROOM, SHED),
            "sheet 'plywood': no published figure here for its thickness against moisture",
        ),
        (
            lambda: sheet_change(replace(sheet("MDF"), plane_per_mc=None), 160, ROOM, SHED),
            "sheet 'MDF': no published figure here for its movement",
        ),
    ],
)
def test_what_there_is_no_figure_for_is_refused(ask, message):
    with pytest.raises(InputError) as caught:
        ask()
    assert str(caught.value) == message


def test_seasons_of_a_box_by_hand():
    """Scots pine, table A, flat-sawn: thickness 0.19 %, height 0.36 %, length 0.01 % per 1 % of moisture content."""
    found = season(BOX, wall_material("pine, Scots"), "flat", ROOM, SHED)
    rise = emc(85, 5) - emc(45, 20)
    assert found.mc == (emc(45, 20), emc(85, 5))
    assert found.height == pytest.approx([45 * 0.0036 * rise] * 2)
    assert found.plain == pytest.approx([10 * 0.0019 * rise] * 2)
    assert found.lapped == pytest.approx([15 * 0.0019 * rise] * 2)
    assert found.step == pytest.approx([-10 * (0.0019 - 0.0001) * rise] * 2)  # the lapped wall's end goes shy
    assert found.worst_step == pytest.approx(10 * 0.0018 * rise)
    assert found.top_step == 0
    assert found.frame[0] == pytest.approx([(145 * 0.0001 + 15 * 0.0019) * rise] * 2)
    assert found.frame[1] == pytest.approx([90 * 0.0001 * rise] * 2)
    assert found.inside[0] == pytest.approx([(145 * 0.0001 - 15 * 0.0019) * rise] * 2)
    assert found.inside[1] == pytest.approx([(90 * 0.0001 - 20 * 0.0019) * rise] * 2)
    assert found.cheek_slip == pytest.approx([10 * 0.0018 * rise] * 2)
    assert found.shoulder_slip == pytest.approx([7.5 * 0.0018 * rise] * 2)
    assert not found.within  # the shed is damper than 14 %


def test_unknown_sawing_leaves_a_top_step():
    """One wall may move radially and the next tangentially: H (0.36 - 0.19) % per 1 %."""
    found = season(BOX, wall_material("pine, Scots"), None, ROOM, SHED)
    rise = found.mc[1] - found.mc[0]
    assert found.top_step == pytest.approx(45 * 0.0017 * rise)
    assert found.step == pytest.approx([-10 * 0.0035 * rise, -10 * 0.0018 * rise])
    assert found.depth == pytest.approx([7.5 * 0.0019 * rise, 7.5 * 0.0036 * rise])
    assert found.tongue == pytest.approx(found.depth)  # D = K here


def test_no_change_of_air_changes_nothing():
    found = season(BOX, wall_material("American beech"), None, ROOM, ROOM)
    assert (found.height, found.step, found.frame, found.top_step) == ((0, 0), (0, 0), ((0, 0), (0, 0)), 0)


def test_mdf_example():
    """European MDF information site, "Controlling MDF moisture content": 600 x 15 mm, +5 % MC."""
    mdf = sheet("MDF")
    plane, thickness = cases("panel_move")
    size, percent_per_mc, rise, expected, tol = plane
    assert mdf.plane_per_mc == pytest.approx(percent_per_mc / 100, rel=1e-12)
    assert size * mdf.plane_per_mc * rise == pytest.approx(expected, abs=tol)
    size, percent_per_mc, rise, expected, tol = thickness
    assert mdf.thickness_per_mc == pytest.approx(percent_per_mc / 100, rel=1e-12)
    assert size * mdf.thickness_per_mc * rise == pytest.approx(expected, abs=tol)
    assert size * mdf.thickness_per_mc * rise == pytest.approx(0.2625)  # recomputed, printed as 0.3


def test_mdf_thickness_between_two_climates():
    """From 45 % (8 % MC) to 75 % (11 % MC), middles of EWPAA's ranges: 15 · 0.35 % · 3."""
    damp = Climate(name="hall", temperature_c=20, humidity=75)
    found = sheet_thickness_change(sheet("MDF"), 15, ROOM, damp)
    assert (found.change_mm, found.within) == (pytest.approx(15 * 0.0035 * 3), True)


def test_second_source_for_mdf():
    """EWPAA, Facts about Particleboard and MDF: 1 mm per m from 9 to 12 % MC."""
    assert 1000 * sheet("MDF, second source").plane_per_mc * 3 == pytest.approx(1, abs=0.011)


@pytest.mark.parametrize(
    ("humidity", "least", "most"), [(30, 6, 8), (45, 7, 9), (65, 9, 11), (75, 10, 12), (90, 15, 16)]
)
def test_mdf_moisture_is_the_middle_of_its_table(humidity, least, most):
    """EWPAA, Facts about Particleboard and MDF; not the equation for solid wood."""
    assert mdf_mc(humidity) == ((least + most) / 2, True)


def test_mdf_moisture_between_and_beyond_its_table():
    assert mdf_mc(70) == (pytest.approx(10.5), True)
    assert mdf_mc(20) == (pytest.approx(7 - 10 / 15), False)  # 1 % over 15 %, carried on
    assert mdf_mc(100) == (pytest.approx(15.5 + 10 * 4.5 / 15), False)


def test_panels_move_by_their_own_slopes():
    """MDF 0.05 % per 1 % MC; plywood 0.0002 per 10 % humidity; acrylic 7.7e-5 per kelvin."""
    found = {p.name: sheet_change(p, 160, ROOM, SHED) for p in all_sheets()}
    assert found["MDF"].change_mm == pytest.approx(160 * 0.0005 * (mdf_mc(85)[0] - 8))
    assert found["plywood"].change_mm == pytest.approx(160 * 0.0002 * 4)
    assert found["acrylic, cast"].change_mm == pytest.approx(-160 * 7.7e-5 * 15)


def test_acrylic_expansion_example():
    """A plastics supplier's note: 100 mm over 15 K is 0.1155 mm, outside ±0.1."""
    cold, warm = (Climate(name="air", temperature_c=t, humidity=50) for t in (10, 25))
    assert sheet_change(sheet("cast acrylic"), 100, cold, warm).change_mm == pytest.approx(0.1155, abs=0.0005)


def test_lid_overhang_is_half_of_what_the_frame_leaves():
    """Plywood lid: along x (160 · 0.0008 - frame)/2 a side, and the frame grows by 0.0255 to 0.0540 + 0.0145 a %."""
    pine = wall_material("pine, Scots")
    walls = season(BOX, pine, None, ROOM, SHED)
    rise = walls.mc[1] - walls.mc[0]
    along_x, along_y = overhang_change(BOX, walls, sheet("plywood"), ROOM, SHED)
    frame = [(0.0145 + 15 * c) * rise for c in (0.0036, 0.0019)]
    assert along_x == pytest.approx([(160 * 0.0008 - f) / 2 for f in frame])
    assert along_y == pytest.approx([(90 * 0.0008 - 90 * 0.0001 * rise) / 2] * 2)


def test_damp_home_cautions():
    damp = "shed: 85 % humidity is over the 65 % of dry conditions"
    glue = f"{damp}; an indoor wood glue (class D1 or D2) softens there: use one its maker names for damp places"
    assert damp_cautions(ROOM, {"base": "MDF"}) == ()
    assert damp_cautions(SHED, {"walls": "pine, Scots", "base": "plywood"}) == (glue,)
    assert damp_cautions(SHED, {"walls": "MDF", "base": "standard MDF", "lid": "plywood"}) == (
        glue,
        f"{damp}; standard MDF swells there (walls, base): use a moisture-resistant sheet and seal its edges",
    )


def test_length_stops_with_the_rest_of_the_wood_above_its_start():
    """Western redcedar's start is 22 %: from 12 to 29 % a length moves by 10 % only."""
    assert along_change(145, 12, 29, 22) == pytest.approx(145 * 0.0001 * 10)
