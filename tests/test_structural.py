"""EN 1995-1-1 distances and the edge table; tolerances of stock and rules, against published cells."""

import pytest
from timber import cases

from assembly.errors import InputError
from assembly.materials.eurocode5 import distance, effective_diameter, must_be_drilled, thickest_in_edge
from assembly.materials.standards import rule_limit, section_tolerance, sheet_tolerance


@pytest.mark.parametrize(("which", "d", "expected", "tol"), cases("ec5_distance"))
def test_distances_of_table_8_2(which, d, expected, tol):
    assert distance(which, d) == pytest.approx(expected, abs=tol)


@pytest.mark.parametrize(("thickness", "expected", "tol"), cases("ec5_max_d_in_edge"))
def test_edge_table(thickness, expected, tol):
    assert thickest_in_edge(thickness) == pytest.approx(expected, abs=tol)


def test_edge_table_has_a_cap():
    """LVL Handbook Europe (2025) Table 5.2: 12.0 for a drilled screw at 75 mm, where the rule says 12.5."""
    assert thickest_in_edge(75) == 12.0


def test_middle_of_a_15_mm_edge_takes_2_5_mm():
    """A drilled edge distance of 3 d on both sides of the middle: d = 15/6."""
    assert thickest_in_edge(15) == 2.5
    assert distance("a4c", 2.5) == 7.5


def test_effective_diameter():
    """1.1 times the core: 2.8 mm of a 4 mm screw gives 3.08 (Porteous & Kermani)."""
    assert effective_diameter(2.8) == pytest.approx(3.08)


@pytest.mark.parametrize(
    ("d", "kind", "expected"), [(6, "softwood", False), (6.1, "softwood", True), (2, "hardwood", True)]
)
def test_which_screws_must_be_drilled(d, kind, expected):
    """EN 1995-1-1, 10.4.5, read in Porteous & Kermani."""
    assert must_be_drilled(d, kind) is expected


@pytest.mark.parametrize(("cls", "metres", "from_end", "expected", "tol"), cases("rule_mpe"))
def test_rule_limits(cls, metres, from_end, expected, tol):
    assert rule_limit(cls, 1000 * metres, from_end=from_end) == pytest.approx(expected, abs=tol)


@pytest.mark.parametrize(
    ("cls", "length", "from_end", "expected"),
    [
        ("I", 300, False, 0.2),
        ("I", 300, True, 0.3),
        ("III", 160, True, 1.3),
        ("II", 1001, False, 0.7),
        ("II", 3000, False, 0.9),
    ],
)
def test_rule_limits_round_the_length_up_to_whole_metres(cls, length, from_end, expected):
    """UK Statutory Instrument 2016/1153, Schedule 1I: a + b L."""
    assert rule_limit(cls, length, from_end=from_end) == pytest.approx(expected)


@pytest.mark.parametrize(("thickness", "expected", "tol"), cases("pmma_cast_tol"))
def test_cast_acrylic(thickness, expected, tol):
    assert sheet_tolerance("acrylic, cast", thickness) == pytest.approx([expected] * 2, abs=tol)


@pytest.mark.parametrize(("thickness", "expected", "tol"), cases("pmma_extruded_tol"))
def test_extruded_acrylic(thickness, expected, tol):
    assert sheet_tolerance("acrylic, extruded", thickness) == pytest.approx([expected] * 2, abs=tol)


@pytest.mark.parametrize(("thickness", "plus", "tol"), cases("ply_sanded_plus"))
def test_sanded_plywood(thickness, plus, tol):
    minus = next(c[1] for c in cases("ply_sanded_minus") if c[0] == thickness)
    assert sheet_tolerance("plywood, sanded", thickness) == pytest.approx([plus, minus], abs=tol)


# Worked out from the standards' forms; the mills' shorter figures mix standards, so they are no test.
@pytest.mark.parametrize(
    ("rule", "thickness", "plus", "minus"),
    [
        ("plywood, sanded", 4, 0.32, 0.52), ("plywood, sanded", 6.5, 0.395, 0.595), ("plywood, sanded", 18, 0.74, 0.94),
        ("plywood, unsanded", 12, 1.16, 0.76), ("MDF", 6, 0.2, 0.2), ("MDF", 19, 0.2, 0.2), ("MDF", 22, 0.3, 0.3),
        ("MDF, unsanded", 6, 0.4, 0.4), ("acrylic, cast", 5, 0.9, 0.9), ("acrylic, cast", 6, 1.0, 1.0),
        ("acrylic, extruded", 2.9, 0.29, 0.29), ("acrylic, extruded", 5, 0.25, 0.25),
        ("acrylic, extruded", 10, 0.5, 0.5),
    ],
)  # fmt: skip
def test_sheet_thicknesses(rule, thickness, plus, minus):
    assert sheet_tolerance(rule, thickness) == pytest.approx([plus, minus])


@pytest.mark.parametrize(
    ("grade", "dimension", "size", "expected"),
    [
        ("planed", "thickness", 20, (0.5, 0.5)),
        ("planed", "thickness", 20.1, (1, 1)),
        ("planed", "width", 100, (1, 1)),
        ("planed", "width", 101, (1.5, 1.5)),
        ("EN 336 T1", "thickness", 100, (3, 1)),
        ("EN 336 T1", "width", 150, (4, 2)),
        ("EN 336 T2", "width", 45, (1, 1)),
        ("EN 336 T2", "width", 150, (1.5, 1.5)),
        ("EN 1313-1 sawn", "width", 45, (3, 1)),
    ],
)
def test_timber_sections(grade, dimension, size, expected):
    """EN 336:2013, read on a UK timber-development page; planed and EN 1313-1, a Nordic grading table."""
    assert section_tolerance(grade, dimension, size) == expected


def test_what_the_standards_do_not_say_is_refused():
    with pytest.raises(InputError) as caught:
        section_tolerance("rough", "width", 45)
    assert str(caught.value) == (
        "grade 'rough': not in the table; there are: EN 336 T1; EN 336 T2; EN 1313-1 sawn; planed"
    )
