"""What the verdict calls sound, or so with care, `check` answers: over random designs, sections, pairs and cures."""

import itertools

import pytest
from designs import designs
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sections import frost_watch, judge, workshop
from sweep import some

from assembly.changes.apply import apply
from assembly.errors import ImpossibleError, InputError
from assembly.files.reading import read_design, read_workshop
from assembly.section.cure import LOST, candidates, nearest_cure
from assembly.section.judging import Judge, refused
from assembly.section.section import study_section
from assembly.section.trials import Trials
from assembly.section.variants import changed, section_change, varied
from assembly.study.check import check

BOXES = 100


def answered(design):
    """Return what `check` says of as many boxes of the design, as its file would be read; None where it refuses."""
    words = [f"{key}={getattr(getattr(design, part), name)}" for key, part, name in KEYS]
    try:
        return check(read_design("frost_watch", words), workshop(), boxes=BOXES)
    except InputError:
        return None


KEYS = [
    ("timber.lapped", "timber", "lapped"),
    ("timber.plain", "timber", "plain"),
    ("timber.lap_share", "timber", "lap_share"),
    ("box.height", "box", "height"),
]


@settings(max_examples=12)
@given(
    lapped=st.integers(4, 24), plain=st.integers(3, 20), share=st.integers(3, 14).map(lambda at: at / 20),
    height=st.integers(18, 60),
)  # fmt: skip
def test_what_holds_is_answered_by_check(lapped, plain, share, height):
    """And what `check` refuses is marked as refused, and nothing else is."""
    try:
        design = varied(frost_watch(), lapped=lapped, plain=plain, lap_share=share, height=height)
    except InputError:
        return  # no box can be so
    verdict, answer = judge(BOXES).verdict(design), answered(design)
    assert refused(verdict) == (answer is None)
    assert verdict.fails or answer is not None
    if answer is not None:
        assert verdict.figure_of("good_boxes") == pytest.approx(answer.pass_share.value, abs=1e-12)
        assert verdict.fails or answer.pass_share.value >= 0.1


HANDS = {name: read_workshop(name) for name in ("new_to_tools", "practised")}


def as_a_file(change, design, hands):
    """Return what `check` says of a change that is read as a file is; None where reader or check refuses it."""
    try:
        return check(*apply(change, design, hands), boxes=BOXES)
    except InputError:
        return None


def verdict_kept(present, change):
    """Hold the verdict on a change to what `check` says of it, and its cure to its promise; return what was met."""
    hands = HANDS[present.made_by]
    tried = changed(present, change)
    judge = Judge(Trials(present, hands, boxes=BOXES), present)
    verdict, answer = judge.verdict(tried), as_a_file(change, present, hands)
    assert refused(verdict) == (answer is None)
    assert verdict.fails or answer is not None
    if answer is not None:
        assert verdict.figure_of("good_boxes") == pytest.approx(answer.pass_share.value, abs=1e-12)
    if not verdict.fails:
        return "holds"
    nearest = itertools.islice(candidates(tried, (10.0, 16.0), present=present), 30)
    if cure := nearest_cure(nearest, judge.held):
        study = as_a_file(cure.candidate.change, tried, hands)
        assert study is not None
        assert study.pass_share.value == pytest.approx(cure.verdict.figure_of("good_boxes"), abs=1e-12)
        assert study.pass_share.value > judge.before.pass_share.value - LOST
        return "cured"
    return "refused" if answer is None else "fails"


def test_of_any_design_what_holds_is_answered_by_check_and_so_is_a_cure():
    """The good boxes of a verdict are those that check counts; a cure loses fewer of the present's than it promises.

    Every kind of answer is among the examples that are given, as random ones need not bring each.
    """
    met = set()

    @settings(max_examples=some(40))
    @example(present=frost_watch(), lapped=18, plain=None, height=None)  # holds
    @example(present=frost_watch(), lapped=8, plain=None, height=None)  # cured: no room beside a lid screw's head
    @example(present=read_design("label_box"), lapped=30, plain=None, height=None)  # cured: the plaque reached a screw
    @example(present=frost_watch(), lapped=None, plain=None, height=150)  # fails: too high to be cured
    @example(present=frost_watch(), lapped=None, plain=None, height=18)  # refused: a lid screw longer than that
    @given(
        present=designs(), lapped=st.none() | st.integers(6, 30), plain=st.none() | st.integers(4, 24),
        height=st.none() | st.integers(18, 150),
    )  # fmt: skip
    def any_design(present, lapped, plain, height):
        present = present.model_copy(update={"timber": present.timber.model_copy(update={"name": "pine, Scots"})})
        change = section_change(present, lapped=lapped, plain=plain, height=height)
        try:
            met.add(verdict_kept(present, change))
        except ImpossibleError:
            return  # no box can be so

    any_design()
    assert met == {"holds", "fails", "refused", "cured"}


@pytest.mark.parametrize(
    "sizes",
    [{"plain": 3}, {"lap_share": 0.2}, {"lapped": 10, "plain": 4}, {"lapped": 8}],
    ids=["15/3", "a fifth", "10/4", "8/10"],
)
def test_a_cure_is_answered_by_check_and_loses_no_boxes(sizes):
    """Each of these sections is refused; what cures it is read as a file is, and keeps the present's good boxes."""
    tried = varied(frost_watch(), **sizes)
    found = study_section(frost_watch(), tried, workshop(), stock=(6.0, 10.0, 12.0, 15.0), boxes=400)
    assert refused(found.verdict)
    assert found.cure is not None
    with pytest.raises(InputError):
        check(tried, workshop(), boxes=400)
    design, made_by = apply(found.cure.candidate.change, tried, workshop())
    study = check(design, made_by, boxes=400)
    assert study.pass_share.value > found.fit.before.pass_share.value - 0.02
    assert study.beyond_first_order.value <= 0.09


def test_the_present_section_may_be_sound_whatever_the_code_for_structures_asks():
    """15/10 with the mark: its 7.5 mm to a face are under the 4 effective diameters that the code asks for."""
    design = frost_watch("timber.proven=true")
    verdict = study_section(design, design, workshop(), boxes=400).verdict
    assert verdict.verdict == "sound"
    assert verdict.level_of("en_axial_edge") == "with care"


def test_a_limit_that_no_such_box_can_keep_is_refused():
    """A hole of 2 mm in the middle of 8 mm leaves 3; a limit of 4 can't be kept, and `check` reads no such file."""
    tried = varied(frost_watch("limits.screw_wood.min=4"), lapped=8)
    verdict = judge(BOXES).verdict(tried)
    assert (verdict.level_of("rules_broken"), refused(verdict)) == ("not sound", True)


def test_wide_boards_and_uneven_tops_take_part():
    """Walls of 101 mm can cup unless quarter-sawn; at 260 mm the tops of two of them come to stand 3 mm apart."""
    tall = {reason.row: reason for reason in judge(BOXES).closed(varied(frost_watch(), height=260))}
    assert tall["seasonal_top"].figure.value > 3
    assert tall["seasonal_top"].level == "not sound"
    assert tall["cupping"].level == "with care"
    assert "cupping" not in {
        reason.row for reason in judge(BOXES).closed(varied(frost_watch("timber.sawing=quarter"), height=260))
    }
