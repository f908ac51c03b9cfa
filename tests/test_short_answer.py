"""What the first screens of `section`, `worst` and `causes` lead with, in plain words."""

from dataclasses import replace

import pytest

from assembly.errors import InputError
from assembly.files.reading import maker, read_design
from assembly.files.shipped import shipped
from assembly.materials.climates import sheet_seasons
from assembly.model.outcomes import OUTCOMES, outcome_typed
from assembly.section.section import study_section
from assembly.section.variants import changed, varied
from viewer.reports.section.short_answer import season_words

DESIGN = read_design("frost_watch")
WORKSHOP = maker(DESIGN, "frost_watch")
FEW = ("--boxes", "1000")


def said(run, *words):
    code, out, err = run(*words)
    assert (code in {0, 1}, err) == (True, "")
    return " ".join(out.split())


def test_with_nothing_to_try_the_present_section_is_answered_for_led_by_base_and_lid(run):
    lines = run("section", "frost_watch", *FEW)[1].split("\n\n")[0]
    assert " ".join(lines.split()) == (
        "Frost watch, as it is: lapped walls 15 mm, plain walls 10 mm, lap share 0.5, walls 45 mm high, pine, Scots "
        "In its home's air the base of birch plywood comes to stand up to 0.2 mm less far out at each side, if its "
        "glue lets it. In its home's air the lid of birch plywood comes to stand up to 0.2 mm less far out at each "
        "side."
    )
    assert "the seasons do is not judged, as the design has no [climate] table." in said(
        run, "section", "starter", *FEW
    )


@pytest.mark.parametrize(
    ("along", "across", "how"),
    [
        ((-0.24, -0.1), (-0.1, 0.0), "comes to stand up to 0.2 mm less far out at each side"),
        ((0.0, 0.31), (0.1, 0.2), "comes to stand up to 0.3 mm further out at each side"),
        ((-0.11, 0.1), (0.0, 0.2), "comes to stand between 0.1 mm less far and 0.2 mm further out at each side"),
        ((-0.04, 0.04), (0.0, 0.0), "hardly moves against the walls"),
    ],
)
def test_how_a_sheet_moves_is_told_by_its_way(along, across, how):
    lid = next(each for each in sheet_seasons(DESIGN) if each.part == "lid")
    study = study_section(DESIGN, DESIGN, WORKSHOP, boxes=200)
    moved = replace(study, sheets=(replace(lid, overhang=(along, across)),))
    assert season_words(moved) == [f"In its home's air the lid of birch plywood {how}."]


def test_another_timber_is_told_what_its_good_boxes_leave_out_and_its_pilot(run):
    """Hardwood takes 0.9 of a screw's core, which is 2.4 mm for one of 3.5: 2.2; softwood 0.7: 1.7 (`test_screws`)."""
    out = said(run, "section", "frost_watch", "--timber", "oak, European", *FEW)
    assert (
        "The same errors are assumed in oak, European, as there are no figures for harder wood: expect fewer, and try "
        "one first. A pilot hole of about 2.2 mm holds best in oak, European; the design has 2 mm."
    ) in out
    assert "The same errors are assumed" not in said(run, "section", "frost_watch", "--lapped", "14", *FEW)


def test_both_limits_beside_a_lid_screw_are_told_and_the_screw_that_would_do(run):
    """Walls of 12 mm leave 3.3 mm in 19 boxes of 20, a diameter is 3.5; a screw of 3 leaves as much and needs 3."""
    out = said(run, "section", "frost_watch", "--lapped", "12", *FEW)
    assert (
        "One diameter of the screw counts here; for good boxes lapwright check counts the design's own limit, at least "
        "3 mm. Would do: lid screws of 3 mm with the table's holes."
    ) in out
    study = study_section(DESIGN, varied(DESIGN, lapped=12), WORKSHOP, boxes=1_000)
    again = study_section(DESIGN, changed(study.tried, study.screw), WORKSHOP, boxes=1_000)
    assert (study.verdict.level_of("screw_wood"), again.verdict.level_of("screw_wood")) == ("with care", "sound")
    assert not again.verdict.fails
    assert study_section(DESIGN, DESIGN, WORKSHOP, boxes=200).screw is None


def test_worst_begins_with_what_goes_wrong_most_often_and_with_the_corners_letters(run, tmp_path):
    few = tmp_path / "few_limits.toml"  # of eleven, the two that are missed most often
    whole = shipped("frost_watch").read_text(encoding="utf-8")
    few.write_text(f"{whole.partition('[limits]')[0]}[limits]\nclosed_share.min = 0.2\nlean.max = 1.3\n", "utf-8")
    lines = said(run, "worst", few.as_posix())
    assert lines.startswith(
        "Worst fits: Frost watch, made by New to tools What goes wrong most often: joint closed by glue, at least "
        "20 %; about 1 box in 6 (6 to 7) is at least as bad. Look first for this: the "
    )
    assert lines.count("Letters of the corners: A = right-back, B = right-front, C = left-back, D = left-front.") == 1


def test_an_outcome_may_be_typed_as_tables_have_it(run):
    for name, each in OUTCOMES.items():
        for word in (name, each.label, f"{each.label}, mm", each.label.upper()):
            assert outcome_typed("--of", word) == name
    with pytest.raises(InputError) as refusal:
        outcome_typed("--of", "joint_gapp")
    assert str(refusal.value) == "--of: unknown name 'joint_gapp'; did you mean 'joint_gap'?"
    words = ("causes", "frost_watch", "--of", "joint closed by glue", "--boxes", "1000")
    assert said(run, *words).startswith("What makes one box differ from the next: joint closed by glue")
    assert "joint closed by glue, at least 20 %: about" in said(
        run, "worst", "frost_watch", "--of", "Joint closed by glue"
    )
