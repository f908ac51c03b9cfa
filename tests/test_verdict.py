"""The verdict: every row on, above and below its limits, the order of reasons, and what caps a verdict."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.errors import InputError
from assembly.section.verdict import LEVELS, NO_REFERENCE, decide, judge, sound_limits
from assembly.study.check import REFUSED_BEYOND
from assembly.study.intervals import normal

SCALES = {"T": 15, "K": 7.5, "d": 3.5, "clearance": 2, "a4c": 8, "a3t": 30}
SOUND, CARE, NO_FIT, NOT = "sound", "with care", "does not fit", "not sound"
EPS = 1e-6

# Row, figure, level: on each limit of the table and just past it.
LEVEL_OF = [
    ("tongue", 5, SOUND), ("tongue", 5 - EPS, CARE), ("tongue", 2.5, CARE), ("tongue", 2.5 - EPS, NOT),
    ("tongue_most", 10, SOUND), ("tongue_most", 10 + EPS, CARE), ("tongue_most", 99, CARE),
    ("shoulder_depth", 3, SOUND), ("shoulder_depth", 3 - EPS, CARE), ("shoulder_depth", 2, CARE),
    ("shoulder_depth", 2 - EPS, NOT),
    ("grain_runout", 7.5 - EPS, SOUND), ("grain_runout", 7.5, CARE), ("grain_runout", 99, CARE),
    ("screw_wood", 3.5, SOUND), ("screw_wood", 3.5 - EPS, CARE), ("screw_wood", 2, CARE), ("screw_wood", 2 - EPS, NOT),
    ("thread", 21, SOUND), ("thread", 21 - EPS, CARE), ("thread", 14, CARE), ("thread", 14 - EPS, NOT),
    ("thread_panel", 21, SOUND), ("thread_panel", 21 - EPS, CARE), ("thread_panel", 14, CARE),
    ("thread_panel", 14 - EPS, NOT), ("no_figure", 0, SOUND), ("no_figure", 1, CARE), ("no_figure", 3, CARE),
    ("pilot_least", 0.6, SOUND), ("pilot_least", 0.6 - EPS, NOT),
    ("pilot_most", 1, SOUND), ("pilot_most", 1 + EPS, NOT),
    ("bond", 0.9, SOUND), ("bond", 0.9 - EPS, CARE), ("bond", 0.5, CARE), ("bond", 0.5 - EPS, NOT),
    ("pass_share_lost", 0.05, SOUND), ("pass_share_lost", 0.05 + EPS, CARE), ("pass_share_lost", 0.25, CARE),
    ("pass_share_lost", 0.25 + EPS, NOT), ("good_boxes", 0.1, SOUND), ("good_boxes", 0.1 - EPS, NOT),
    ("room", 2, SOUND), ("room", 2 - EPS, CARE), ("room", 0, CARE), ("room", -EPS, NO_FIT),
    ("seasonal_step", 0.3, SOUND), ("seasonal_step", 0.3 + EPS, CARE), ("seasonal_step", 9, CARE),
    ("en_edge", 8, SOUND), ("en_edge", 8 - EPS, CARE), ("en_edge", 0.1, CARE),
    ("en_end", 30, SOUND), ("en_end", 30 - EPS, CARE), ("en_end", 0.1, CARE),
    ("en_axial_edge", 14, SOUND), ("en_axial_edge", 14 - EPS, CARE), ("en_axial_edge", 0.1, CARE),
    ("rules_broken", 0, SOUND), ("rules_broken", 1, NOT),
    ("beyond", 0.05, SOUND), ("beyond", 0.05 + EPS, CARE), ("beyond", 0.09, CARE), ("beyond", 0.09 + EPS, NOT),
    ("plain_wall", 6, SOUND), ("plain_wall", 6 - EPS, CARE), ("plain_wall", 4, CARE), ("plain_wall", 4 - EPS, NOT),
    ("seasonal_top", 1, SOUND), ("seasonal_top", 1 + EPS, CARE), ("seasonal_top", 2, CARE),
    ("seasonal_top", 2 + EPS, NOT), ("cupping", 100, SOUND), ("cupping", 100 + EPS, CARE), ("cupping", 500, CARE),
    ("damp_mdf", 0, SOUND), ("damp_mdf", 1, CARE), ("damp_mdf", 2, CARE), ("damp_mdf", 4, NOT),
]  # fmt: skip


@pytest.mark.parametrize(("row", "figure", "level"), LEVEL_OF)
def test_level_on_and_past_each_limit(row, figure, level):
    assert judge(row, figure, SCALES).level == level


def test_every_row_is_tested():
    assert {row for row, _, _ in LEVEL_OF} == set(sound_limits())


def test_a_tongue_is_sound_from_the_stricter_of_its_two_limits():
    """4 mm in a 9 mm wall (a third is 3), a third of 15 in a 15 mm wall."""
    assert judge("tongue", 4.5, {"T": 9}).limit == 4
    assert judge("tongue", 4.5, {"T": 15}).limit == 5


def test_wood_beside_a_thick_screw_takes_half_its_diameter():
    """0.5 d and 2 mm: 2.5 at d = 5, 2 at d = 3."""
    assert judge("screw_wood", 2.4, {"d": 5}).level == NOT
    assert judge("screw_wood", 2.4, {"d": 3}).level == CARE


@pytest.mark.parametrize(
    ("row", "figure", "margin"),
    [
        ("shoulder_depth", 3.6, 0.2), ("shoulder_depth", 2.4, -0.2), ("seasonal_step", 0.15, 0.5),
        ("seasonal_step", 0.6, -1), ("tongue", 6, 0.2), ("pass_share_lost", 0.06, -0.2), ("room", 1, -0.5),
    ],
)  # fmt: skip
def test_margin_is_relative_and_positive_where_it_passes(row, figure, margin):
    assert judge(row, figure, SCALES).margin == pytest.approx(margin)


def test_margin_to_a_limit_of_nothing_is_in_the_figures_own_unit():
    assert judge("room", 3, {"clearance": 0}).margin == 3
    assert judge("room", 0, {"clearance": 0}).level == SOUND


def test_a_figure_worked_out_to_stand_on_its_limit_keeps_it():
    assert 0.85 - 0.8 < 0.05 < 0.75 - 0.7  # both are meant to be 0.05
    assert judge("pass_share_lost", 0.75 - 0.7).level == SOUND
    assert judge("grain_runout", 0.1 * 75 - 1e-12, SCALES).level == CARE  # 7.5 is meant, which reaches the tongue


def test_worst_row_decides_and_reasons_run_by_margin():
    given_rows = [judge("shoulder_depth", 7.5), judge("bond", 0.3), judge("seasonal_step", 3), judge("room", 5, SCALES)]
    found = decide(given_rows, reference=True)
    assert found.verdict == NOT
    assert [r.row for r in found.reasons] == ["seasonal_step", "bond", "shoulder_depth", "room"]
    assert found.deciding.row == "bond"  # the season's margin is lower, but it is only a matter of care
    assert found.note == ""


def test_the_code_s_rows_stand_behind_the_joint_s_own():
    """Whatever their level and margin; the reasons run by margin alone."""
    rows = [judge("en_edge", 1, SCALES), judge("bond", 0.8), judge("seasonal_step", 0.4), judge("shoulder_depth", 7.5)]
    found = decide([*rows, judge("no_figure", 2)], reference=True)
    assert [r.row for r in found.reasons] == ["no_figure", "en_edge", "seasonal_step", "bond", "shoulder_depth"]
    assert [r.row for r in found.by_weight] == ["seasonal_step", "bond", "no_figure", "shoulder_depth", "en_edge"]
    assert found.deciding.row == "seasonal_step"
    assert (found.level_of("bond"), found.figure_of("bond"), found.level_of("room")) == (CARE, 0.8, None)


def test_the_code_s_rows_never_change_the_verdict():
    code = [judge(row, 0.1, SCALES) for row in ("en_edge", "en_end", "en_axial_edge")]
    assert {row.level for row in code} == {CARE}
    found = decide([*code, judge("shoulder_depth", 7.5)], reference=True)
    assert (found.verdict, found.deciding.row, found.fails) == (SOUND, "shoulder_depth", False)
    with pytest.raises(InputError, match=r"^verdict: no row was judged; give at least one figure$"):
        decide(code, reference=True)


def test_what_does_not_fit_its_contents_is_called_so_unless_the_joint_is_not_sound_either():
    too_small, bad = judge("room", -1, SCALES), judge("bond", 0.3)
    found = decide([too_small, judge("bond", 1)], reference=True)
    assert (found.verdict, found.fails) == (NO_FIT, True)
    assert decide([too_small, bad], reference=True).verdict == NOT


def test_a_section_fails_before_check_refuses_it():
    """The limit with care lies a little under the refusal: a study of other boxes counts a little more of them."""
    assert not judge("beyond", 0.9 * REFUSED_BEYOND).fails
    assert judge("beyond", 0.9 * REFUSED_BEYOND + EPS).fails


def test_reasons_carry_limit_and_source():
    reason = judge("thread", 19, {"d": 3.5})
    assert (reason.figure.value, reason.unit, reason.limit) == (19, "mm", 21)
    assert reason.source == (
        "6 d EN 1995-1-1 (structural), read, its tip counted as in 8.7.2 (from memory); 4 d common practice, no source"
    )


def test_without_a_proven_section_the_verdict_is_at_most_with_care():
    good, bad = judge("shoulder_depth", 7.5), judge("shoulder_depth", 1)
    assert decide([good], reference=True).verdict == SOUND
    found = decide([good], reference=False)
    assert (found.verdict, found.note) == (CARE, NO_REFERENCE)
    assert (decide([bad], reference=False).verdict, decide([bad], reference=False).note) == (NOT, "")


@pytest.mark.parametrize(
    "row",
    [
        "cupping",
        "seasonal_step",
        "en_edge",
        "en_end",
        "en_axial_edge",
        "grain_runout",
        "tongue_most",
        "no_figure",
    ],
)
@given(figure=st.floats(-1e6, 1e6))
def test_what_is_a_matter_of_care_never_falls_below_it(row, figure):
    assert judge(row, figure, SCALES).level in (SOUND, CARE)


@given(st.sampled_from(sorted(sound_limits())), st.floats(-100, 100), st.floats(-100, 100))
def test_level_and_margin_go_the_same_way(row, one, other):
    first, second = sorted((judge(row, f, SCALES) for f in (one, other)), key=lambda r: r.margin)
    assert LEVELS.index(first.level) <= LEVELS.index(second.level)


@given(
    st.lists(st.sampled_from([each for each in LEVEL_OF if each[0][:3] != "en_"]), min_size=1, max_size=8),
    st.sampled_from(LEVEL_OF),
)
def test_one_more_row_never_betters_a_verdict(rows, more):
    few = [judge(r, f, SCALES) for r, f, _ in rows]
    many = [*few, judge(more[0], more[1], SCALES)]
    before, after = (LEVELS.index(decide(r, reference=True).verdict) for r in (few, many))
    assert after <= before


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda: judge("tongue", 5), "row 'tongue': needs T"),
        (lambda: judge("bond", math.nan), "row 'bond': figure is nan, must be a finite number"),
        (
            lambda: judge("colour", 5),
            f"row 'colour': not in the table of limits; there are: {', '.join(sound_limits())}",
        ),
        (lambda: decide([], reference=True), "verdict: no row was judged; give at least one figure"),
    ],
)
def test_what_cannot_be_judged_is_refused(ask, message):
    with pytest.raises(InputError) as caught:
        ask()
    assert str(caught.value) == message


def test_every_row_says_what_it_means_and_has_a_word_for_the_map():
    for limit in sound_limits().values():
        assert len(limit.meaning) > 20, limit.row
        assert limit.meaning[-1] not in ".;", limit.row  # it is named inside a sentence
        assert 0 < len(limit.short) <= 10, limit.row
        assert len(limit.name) <= 42, limit.row  # as wide as the table's column
        assert len(limit.do) > 15, limit.row  # what to do, as a sentence
        assert limit.do[-1] not in ".;", limit.row
        assert limit.by in {"practice", "own choice", "EN code", "arithmetic"}, limit.row


@pytest.mark.parametrize(
    ("figure", "error", "close"), [(3.1, 0, False), (3.1, 0.06, True), (3.1, 0.05, False), (2.9, 0.06, True)]
)
def test_too_close_is_within_a_95_percent_half_width(figure, error, close):
    """The limit is 3 and 0.1 away: 1.96 · 0.06 is over 0.1, 1.96 · 0.05 is under."""
    assert judge("shoulder_depth", normal(figure, error)).too_close is close
