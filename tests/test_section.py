"""Another section against the present one: what stays to the last digit, figures by a second way, the verdict."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sections import BOXES, frost_watch, judge, level, workshop

from assembly.data.tables import screw
from assembly.files.reading import read_design
from assembly.made.frame_outcomes import closed_shares
from assembly.made.sampling import draw_block, values
from assembly.nominal.frame import frame
from assembly.section.cure import timber_volume
from assembly.section.drawing_sizes import drawing_changes, mark_warnings, nearest_lap_share, timber_needed
from assembly.section.judging import spare_room
from assembly.section.section import study_section
from assembly.section.trials import low_quantile, paired_ratio
from assembly.section.variants import broken_rules, changed, other_screw, varied
from assembly.study.blocks import block_rows
from assembly.study.check import BoxModel


@pytest.fixture(scope="module")
def box():
    return frost_watch()


# What does not change


def test_a_section_equal_to_the_present_one_changes_nothing_to_the_last_digit(box):
    study = study_section(box, varied(box, lapped=15, plain=10, height=45, keep="inside"), workshop(), boxes=BOXES)
    assert study.tried == study.present
    assert study.fit.pass_share.value == study.fit.joint_gap.value == study.fit.closed_share.value == 0.0
    assert (study.ties.bond_ratio.value, study.ties.bond_ratio.half_width) == (1.0, 0.0)
    assert all(size.change == 0.0 for size in study.drawing)
    lost = next(r for r in study.verdict.reasons if r.row == "pass_share_lost")
    assert lost.figure.value == 0.0


@pytest.mark.parametrize("name", ["Scots pine", "Kiefer", "PINE, SCOTS"])
def test_the_present_timber_by_another_name_changes_nothing(box, name):
    assert varied(box, timber=name) == box


def test_an_equal_section_that_is_sampled_anew_gives_the_same_boxes(box):
    again = judge().trials.sample(varied(box, lapped=15))
    for field in dataclasses.fields(again):
        assert np.array_equal(getattr(again, field.name), getattr(judge().before, field.name)), field.name


@given(lapped=st.floats(8, 30), plain=st.floats(4, 30), sides=st.booleans())
def test_keeping_the_inside_keeps_it(lapped, plain, sides):
    design = read_design("frost_watch")
    design = design.model_copy(update={"box": design.box.model_copy(update={"lapped": "sides" if sides else "ends"})})
    tried = varied(design, lapped=lapped, plain=plain, keep="inside")
    assert frame(tried).inside == pytest.approx(frame(design).inside, abs=1e-9)


def test_keeping_the_outside_keeps_it(box):
    tried = varied(box, lapped=12, plain=9)
    assert (tried.box.length, tried.box.width) == (160, 90)


def test_the_boxes_are_those_of_the_study(box):
    """Rows that `check` also tells come out the same: the same makers, the same faces, the same settling."""
    model = BoxModel(box, workshop())
    rows = block_rows(model, seed=1, block=0, boxes=BOXES)
    for name in ("joint_gap", "closed_share", "passes", "beyond"):
        assert np.array_equal(getattr(judge().before, name), rows[model.rows.index(name)]), name


@pytest.mark.parametrize(
    "tried",
    [
        varied(frost_watch(), lapped=12, plain=9),
        varied(frost_watch(), lapped=20, plain=6, height=60, lap_share=0.4, keep="inside"),
        varied(frost_watch(), timber="MDF", plain=12),
        changed(varied(frost_watch(), lapped=18), other_screw(screw("5 mm"), "softwood")),
    ],
    ids=["outside", "inside", "MDF", "screw"],
)
def test_another_section_s_boxes_are_those_of_its_own_study(tried):
    """The reference's draws, sheets and holes serve every section: its own study, from the start, makes the same."""
    model = BoxModel(tried, workshop())
    rows, found = block_rows(model, seed=1, block=0, boxes=BOXES), judge().trials.sample(tried)
    for name in ("joint_gap", "closed_share", "passes", "beyond"):
        assert np.array_equal(getattr(found, name), rows[model.rows.index(name)]), name
    expected = np.quantile(rows[model.rows.index("screw_wood")], 0.05)
    assert judge().trials.screw_wood(tried).value == pytest.approx(expected, abs=1e-12)


# Figures by a second way


def test_bond_is_area_times_closed_share_summed_over_the_corners(box):
    """Four corners of (t + D) H = (10 + 7.5) 45 mm² each."""
    model = BoxModel(box, workshop())
    value = values(model.inputs, draw_block(model.inputs, BOXES, seed=1, block=0))
    _, gaps, _ = model.settle(value)
    closed = closed_shares(model.frame, gaps, box.glue_limit)
    assert judge().before.bond.mean() == pytest.approx(17.5 * 45 * closed.sum(axis=0).mean(), rel=1e-9)


def test_tongue_is_sampled_with_stock_and_cheek(box):
    """K + stock thickness error of the lapped wall + what the pared cheek leaves on, at the thinnest place."""
    model = BoxModel(box, workshop())
    value = values(model.inputs, draw_block(model.inputs, BOXES, seed=1, block=0))
    faces = model.making.faces(value)
    right, left = faces.thickness[1], faces.thickness[0]
    thin = np.minimum(
        (faces.cheek[:2].min(axis=(0, 1)) + right),
        (faces.cheek[2:].min(axis=(0, 1)) + left),
    )
    assert judge().trials.tongue(box).value == pytest.approx(np.quantile(7.5 + thin, 0.05), abs=1e-12)
    assert judge().trials.tongue(box).value < 7.5


def test_wood_beside_the_screw_is_that_of_the_study(box):
    model = BoxModel(box, workshop())
    rows = block_rows(model, seed=1, block=0, boxes=BOXES)
    expected = np.quantile(rows[model.rows.index("screw_wood")], 0.05)
    assert judge().trials.screw_wood(box).value == pytest.approx(expected, abs=1e-12)


def test_timber_volume_by_hand(box):
    """2 · 45 · (90 · 15 + 145 · 10) mm³."""
    assert timber_volume(frame(box)) == 252_000


def test_room_that_the_contents_leave_by_hand(box):
    """160 - 30 - 110, 90 - 20 - 60, 45 - 40."""
    assert spare_room(box) == (20, 10, 5)


def test_drawing_by_hand(box):
    sizes = {size.name: size.after for size in drawing_changes(box, varied(box, lapped=12, plain=9))}
    assert sizes["lap width (shoulder from the end)"] == 9
    assert sizes["lap depth"] == sizes["tongue"] == 6
    assert sizes["length of the plain walls"] == 148
    assert (sizes["room inside, length"], sizes["room inside, width"]) == (136, 72)
    assert sizes["lid screw from the lid's end"] == 6
    assert sizes["lid screw's hole in the lid, diameter"] == 4
    assert (sizes["lid screw's countersink, diameter"], sizes["lid screw's countersink, depth"]) == (7, 1.5)
    pilot = "lid screw's pilot hole in the wall"
    assert (sizes[f"{pilot}, diameter"], sizes[f"{pilot}, depth"]) == (2, 21)
    assert sizes["timber of the four walls"] == pytest.approx(90 * (90 * 12 + 148 * 9) / 1000)


def test_sizes_between_the_marks_of_a_rule_are_warned_of(box):
    tried = varied(box, lapped=15, plain=9.525, lap_share=0.45)
    lap_width, lap_depth = mark_warnings(tried)
    assert lap_width == (
        "lap width (shoulder from the end): 9.525 mm lies between the half millimetres of a rule; the nearest is 9.5 mm"
    )
    assert lap_depth == (
        "lap depth: 6.75 mm lies between the half millimetres of a rule; a lap share of about 0.467 makes it 7 mm"
    )
    assert nearest_lap_share(tried) * 15 == pytest.approx(7, abs=1e-12)
    assert mark_warnings(box) == ()


def test_error_of_a_low_quantile_is_that_of_repeated_samples():
    """Normal draws: √(p(1-p)/n)/density at the 5th percentile, 0.2179/√n/0.1031 (Mosteller 1946)."""
    n = 5_000
    found = [low_quantile(sample) for sample in np.random.default_rng(1).standard_normal((400, n))]
    expected = np.sqrt(0.05 * 0.95 / n) / 0.103136
    assert np.mean([each.standard_error for each in found]) == pytest.approx(expected, rel=0.05)
    assert np.std([each.value for each in found]) == pytest.approx(expected, rel=4 / np.sqrt(800))


def test_error_of_a_ratio_is_that_of_repeated_samples():
    """Means of 1 and 2 that share half their spread: var(second - 2 first)/1 over n."""
    rng = np.random.default_rng(2)
    shared, own, other = rng.standard_normal((3, 400, 500)) * 0.1
    first, second = 1 + shared + own, 2 + shared + other
    ratios = second.mean(axis=1) / first.mean(axis=1)
    errors = [paired_ratio(*pair).standard_error for pair in zip(first, second, strict=True)]
    assert np.mean(errors) == pytest.approx(ratios.std(ddof=1), rel=4 / np.sqrt(800))
    assert np.mean(errors) == pytest.approx(0.1 * np.sqrt((1 - 2) ** 2 + 4 + 1) / np.sqrt(500), rel=0.01)


def test_rows_of_the_code_by_hand(box):
    """EN 1995-1-1 Table 8.2, drilled: 3 d to a face, (7 + 5) d to the end; Table 8.6: 4 d; d = 1.1 · 2.4 = 2.64."""
    limits = {reason.row: (reason.figure.value, reason.limit) for reason in judge().closed(box)}
    assert limits["en_edge"] == (7.5, pytest.approx(3 * 2.64))
    assert limits["en_end"] == (45, pytest.approx(12 * 2.64))
    assert limits["en_axial_edge"] == (7.5, pytest.approx(4 * 2.64))


def test_timber_to_order_by_hand(box):
    """Two lapped walls of 90 and two plain walls of 160 - 2 · 6 mm, each with 10 mm of waste at either end."""
    lapped, plain = timber_needed(varied(box, lapped=12, plain=9))
    assert (lapped.thickness, lapped.height, lapped.length) == (12, 45, 220)
    assert (plain.thickness, plain.height, plain.length) == (9, 45, 336)
    longer = timber_needed(box.model_copy(update={"overlength": 1.0}))
    assert [more.length - one.length for more, one in zip(longer, timber_needed(box), strict=True)] == [0, 2]


# The verdict


def test_a_proven_section_may_be_sound_and_an_unproven_one_is_with_care_at_most():
    """A screw of 3.5 mm in 24 mm of wood keeps every row: its 4 effective diameters are 4 · 1.1 · 2.4 = 10.56 mm."""
    words = ["timber.lapped=24", "box.length=200", "limits.joint_gap.max=3"]
    found = [
        study_section(design, design, workshop(), boxes=BOXES).verdict
        for design in (read_design("frost_watch", [*words, f"timber.proven={proven}"]) for proven in ("true", "false"))
    ]
    assert [verdict.verdict for verdict in found] == ["sound", "with care"]
    assert found[1].note.startswith("no section is marked as proven")


@pytest.mark.parametrize(
    ("words", "sizes", "why"),
    [
        (
            ("lid.screw.diameter=2", "lid.screw.pilot=1", "lid.screw.head=4", "lid.screw.hole=2.5"),
            {},
            (
                "screw 2 x 30 mm: outside the range of the withdrawal equation (12.7 to 76 mm long, each length with "
                "its own gauges)"
            ),
        ),
        (
            (),
            {"timber": "European oak"},
            "timber 'oak, European': no specific gravity in the table; give timber.specific_gravity in the design",
        ),
    ],
    ids=["thin screw", "no specific gravity"],
)
def test_a_figure_that_is_missing_for_the_screw_wants_care(words, sizes, why):
    """Every other row of this proven section is sound: what nobody knows is not called so."""
    words = (*words, "timber.lapped=24", "box.length=200", "limits.joint_gap.max=3", "timber.proven=true")
    design = read_design("frost_watch", words)
    study = study_section(design, varied(design, **sizes), workshop(), boxes=BOXES)
    assert study.ties.withdrawal == why
    assert study.verdict.verdict == "with care"
    assert {r.row for r in study.verdict.reasons if r.level != "sound" and r.row != "seasonal_step"} == {"no_figure"}
    assert study.verdict.figure_of("no_figure") == 1
    assert f"no figure for the pull on a lid screw: {why}" in study.notes


def test_the_present_section_is_judged_on_the_same_boxes(box):
    study = study_section(box, varied(box, lapped=12, plain=9), workshop(), boxes=BOXES)
    again = {r.row: r for r in judge().verdict(box).reasons}
    assert {r.row: r.level for r in study.before.reasons} == {row: r.level for row, r in again.items()}
    assert [r.figure.value for r in study.before.reasons] == pytest.approx(
        [again[r.row].figure.value for r in study.before.reasons]
    )
    assert study.before.figure_of("pass_share_lost") == 0
    assert judge().passing(study.verdict) == study.fit.after.pass_share


def test_a_screw_that_comes_out_of_a_low_wall_is_not_sound(box):
    tried = varied(box, height=22)
    (fault,) = broken_rules(tried)
    assert str(fault) == (
        "lid.screw.length: got 30 mm, must be 16 to 29 mm: through the lid, then at least 2 diameters (shop rule 5, "
        "project choice) into a wall 22 mm high and not out of its bottom"
    )
    assert level(judge().verdict(tried), "rules_broken") == "not sound"
