"""Boxes that do without stem, plaque or cable hole: all eight ways, through the core of every command.

Numbers that are quoted are worked out by hand in the tests; "the same numbers" means to the last digit, as an operation
that a box never takes has streams of its own that nobody draws.
"""

import itertools
import json

import numpy as np
import pytest
from commands import hold_to_schema
from designs import EIGHT, leaving_out
from fitted import bird_design
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from wrote import wrote

from assembly.advice.candidates import candidates_of_making
from assembly.errors import ConfigError
from assembly.files.costs import read_costs
from assembly.files.reading import read_design, read_workshop
from assembly.files.shipped import configs_folder
from assembly.made.gap_classes import gap_scale_of
from assembly.made.plaque_fit import best_fit, best_fit_of_two
from assembly.model.design import Limit, Limits
from assembly.model.outcomes import FITTING_OUTCOMES, OUTCOMES
from assembly.planning.cutting import cut_parts
from assembly.planning.making import making_order
from assembly.rare.sizes import what_is_off
from assembly.rare.space import BrokenLimit
from assembly.rules.design_rules import design_faults
from assembly.section.trials import Trials
from assembly.solids.as_made import as_made
from assembly.solids.box import box_arrays, build
from assembly.study.blocks import block_rows
from assembly.study.check import BoxModel, check, sampled_box
from assembly.study.compare import compare
from assembly.study.forecast import forecast
from assembly.study.improvements import helps
from assembly.study.intervals import exact
from assembly.study.sensitivity import causes
from assembly.writers.formats import FORMATS
from viewer.picture.layout import planned
from viewer.reports.bad_box_words import off_words
from viewer.reports.check_report import check_text
from viewer.reports.compare_report import compare_text
from viewer.reports.forecast_report import Beside
from viewer.reports.output.check import check_output
from viewer.reports.output.studies import compare_output
from viewer.reports.plots import gap_by_joint
from viewer.scene.box_scene import scene
from viewer.scene.step_scene import step_scene
from viewer.window.words import part_words

WORKSHOP = read_workshop("new_to_tools")
PLAQUE_S = {"plaque_spare", "plaque_leg", "plaque_angle"}
ways = pytest.mark.parametrize(("stem", "plaque", "cable_hole"), EIGHT)


def box(**there):
    """Return the frost watch without what is not to be there."""
    return leaving_out(read_design("frost_watch"), **there)


def in_json(output):
    hold_to_schema(json.loads(output.model_dump_json()))


BARE = box(stem=False, plaque=False, cable_hole=False)


@ways
def test_every_study_is_of_what_the_box_has(stem, plaque, cable_hole):
    """Outcomes that it does not have are absent, and what it has comes out as with everything, to the last digit."""
    design, whole = box(stem=stem, plaque=plaque, cable_hole=cable_hole), box()
    assert design_faults(design) == []
    absent = (set() if plaque else PLAQUE_S) | (set() if cable_hole else {"cable_hole"})
    assert list(design.outcomes) == [name for name in OUTCOMES if name not in absent]
    study = check(design, WORKSHOP, boxes=200)
    assert list(study.outcomes) == list(design.outcomes)
    model, full = BoxModel(design, WORKSHOP), BoxModel(whole, WORKSHOP)
    mine, its = (block_rows(each, seed=3, block=0, boxes=100) for each in (model, full))
    for name in design.outcomes:
        if name == "plaque_spare" and not stem:
            assert (mine[model.rows.index(name)] >= its[full.rows.index(name)]).all()  # one hole fewer holds it
        else:
            assert np.array_equal(mine[model.rows.index(name)], its[full.rows.index(name)]), name
    classes = forecast(design, WORKSHOP, classes=4)
    beside = Beside(forecast=classes, linear=None, measured=None, first_step=None)
    in_json(check_output(design, study, beside, points="random", digits=None, files=(), partial=False))
    report = check_text(design, WORKSHOP, cut_parts(design), study, made_in="new_to_tools")
    assert [each.label for name, each in OUTCOMES.items() if (each.label in report) != (name in design.outcomes)] == []
    assert gap_by_joint(design, study)


@ways
def test_every_comparison_and_section_is_of_what_the_box_has(stem, plaque, cable_hole):
    design, whole = box(stem=stem, plaque=plaque, cable_hole=cable_hole), box()
    found = compare((design, WORKSHOP), (whole, WORKSHOP), boxes=2_000)
    assert list(found.outcomes) == list(design.outcomes)
    in_json(compare_output(((design, WORKSHOP), (whole, WORKSHOP)), found, (exact(0.0),) * 2))
    alone = [OUTCOMES[name].label for name in OUTCOMES if name not in design.outcomes]
    words = " ".join(compare_text((design, WORKSHOP), (whole, WORKSHOP), found).split())
    assert (f"Not compared; only the second has: {', '.join(alone)}." in words) == bool(alone)
    assert Trials(design, WORKSHOP, boxes=50).sample(design).boxes == 50


def test_an_operation_that_is_never_used_is_no_cause_and_no_help():
    """Without a plaque nothing is cut by laser or bent; drilling stays, for the lid's screws."""
    design, whole = box(plaque=False), box()
    subjects = {}
    for name, each in (("without", design), ("with", whole)):
        found = causes(BoxModel(each, WORKSHOP), ("lid_overhang",), boxes=50)
        tried = helps(each, WORKSHOP, boxes=100)
        advised = candidates_of_making(each, WORKSHOP, read_costs())
        subjects[name] = {g.change.what for g in tried.gains} | {each.group for each in advised}
        assert found.causes
    assert subjects["with"] - subjects["without"] == {"laser", "bend", "marked through"}
    assert subjects["without"] < subjects["with"]


@ways
def test_steps_and_cut_sizes_are_of_what_the_box_has(stem, plaque, cable_hole):
    design = box(stem=stem, plaque=plaque, cable_hole=cable_hole)
    for lid_holes, cut in itertools.product(("measured", "marked through"), ("laser", "by hand")):
        drawn = design.plaque and design.plaque.model_copy(update={"cut": cut})
        order = making_order(design.model_copy(update={"lid_holes": lid_holes, "plaque": drawn}), WORKSHOP)
        stages, words = {step.stage for step in order.steps}, " ".join(step.words for step in order.steps)
        assert ("cable hole" in stages, "plaque" in stages) == (cable_hole, plaque)
        assert ("plaque" in words, "centre hole" in words, "stem hole" in words) == (plaque, stem, plaque and stem)
        assert ("cable" in words, design.stem is not None and design.stem.name in words) == (cable_hole, stem)
        names = {name for step in order.steps for name in step.parts}
        assert ("plaque" in names, "plaque screw 1" in names, "stem" in names) == (plaque, plaque, stem)
        used = {step.operation for step in order.steps}
        assert ("stem" in used, "cable" in used) == (stem, cable_hole)
    parts = {part.name: part.then for part in cut_parts(design)}
    assert ("plaque, flat" in parts) == plaque
    assert parts["plain wall (side)"] == (
        "a hole of 7 in the very centre of the back one" if cable_hole else "seats in the laps"
    )
    holes = "a hole of 8 in the middle, two of 4" if stem else "two holes of 4"
    assert parts["lid"] == f"drawn round the frame as it was made; {holes} for its screws, countersunk to 7"


def test_what_has_no_step_of_its_own_is_said_where_it_is_needed():
    """Without a cable hole, which wall is the back; without a stem hole, where the plaque lies; cautions go on."""
    bare = making_order(BARE, WORKSHOP, also=("soldering",)).steps
    cleaned = next(step for step in bare if step.operation == "clean up")
    assert cleaned.words == (
        "Rub out every pencil line, letter and name that you can reach. FRONT under the lid and inside the front wall "
        "must stay: it will be hidden. It tells which way the lid goes on."
    )
    assert {caution.operation for caution in bare[-1].cautions} == {"screwdriver", "soldering"}
    plaque = leaving_out(bird_design(), stem=False).model_copy(update={"lid_holes": "marked through"})
    laid, through = (
        next(step for step in making_order(plaque, WORKSHOP).steps if step.operation == operation)
        for operation in ("plaque on lid", "prick through")
    )
    # The lid is 96 deep; of the flat leg of 50, 30 lie on the bend's side of its middle: 96/2 - 20 = 28.
    assert laid.words == (
        "Lay the plaque on the lid, its flat edge 28 mm from the lid's front edge. As much lid is beside it on either "
        "side."
    )
    assert [size.mm for size in laid.sizes] == [28]
    assert through.words == "Prick the lid through the middle of both screw holes of the plaque."
    assert through.number == laid.number + 1


@ways
def test_solids_scenes_and_pictures_are_of_what_the_box_has(stem, plaque, cable_hole):
    design = box(stem=stem, plaque=plaque, cable_hole=cable_hole)
    whole = build(design)
    parts = box_arrays(whole)
    names = [part.facts.name for part in parts]
    assert len(names) == 14 - (not stem) - 5 * (not plaque)
    bores = {part.facts.name: len(part.shape.bores) for part in whole.parts}
    assert (bores["back wall"], bores["lid"]) == (cable_hole, 4 + stem + 2 * plaque)
    settled = sampled_box(design, WORKSHOP)
    made_parts, made = as_made(design, settled, 1.0)
    shown = scene(made_parts, settled, gap_scale_of(design), 1.0, made=made)
    assert [part.name for part in planned(shown, (640, 480)).scene.parts] == names
    materials = {part.facts.name: part.facts.material for part in parts}
    words = {name: part_words(name, shown, materials)[-1] for name in names}
    if stem:
        assert words["stem"] == "stands in the lid's centre hole" + (", through the plaque" if plaque else "")
    order = making_order(design, WORKSHOP)
    for step in order.steps:
        one = step_scene(order, step.number, parts, design.name, gap_scale_of(design))
        assert {part.name for part in one.parts} == set(step.parts)


def test_a_bare_box_is_written(tmp_path):
    """Each writer reads back what it wrote; that of exact solids takes seconds, and random designs try it."""
    whole = build(BARE)
    for name, parts in (("stl", 8), ("glb", 1)):
        suffix, write = FORMATS[name].suffix, FORMATS[name].load()
        assert len(wrote(write, whole, tmp_path / f"bare{suffix}", 1.0)) == parts


@settings(max_examples=50, deadline=None)
@given(
    apart=arrays.arrays(float, (2, 2, 3), elements=st.floats(-2, 2)),
    clearance=arrays.arrays(float, (2, 3), elements=st.floats(0, 1)),
    arms=st.sampled_from([((0.0, -20.0), (0.0, 20.0)), ((5.0, -10.0), (5.0, 10.0)), ((-3.0, 0.0), (4.0, 9.0))]),
)
def test_a_plaque_on_two_screws_is_one_on_three_holes_of_which_one_is_wide(apart, clearance, arms):
    """The second method: the search over shift and turn, with a third hole so wide that it never holds."""
    wide = np.concatenate([np.zeros((1, 2, 3)), apart]), np.concatenate([np.full((1, 3), 50.0), clearance])
    searched = best_fit(*wide, np.array([(0.0, 0.0), *arms])).spare
    assert best_fit_of_two(apart, clearance, np.array(arms)) == pytest.approx(searched, abs=1e-9)


def test_two_holes_by_hand():
    """Clearances 0.3 and 0.5; 0.4 apart along the line: (0.8 - 0.4)/2 = 0.2. Across it, a turn takes all up."""
    arms, clearance = np.array([[0.0, -20.0], [0.0, 20.0]]), np.array([[0.3], [0.5]])
    along = np.array([[[0.0], [-0.1]], [[0.0], [0.3]]])
    across = np.array([[[0.7], [0.0]], [[-0.7], [0.0]]])
    assert best_fit_of_two(along, clearance, arms) == pytest.approx([0.2])
    assert best_fit_of_two(across, clearance, arms) == pytest.approx([0.3])  # the tighter hole


@pytest.mark.parametrize("name", [name for name, each in FITTING_OUTCOMES.items() if each.section])
def test_a_limit_on_what_is_not_there_is_one_fault(name):
    section = FITTING_OUTCOMES[name].section
    limited = Limits(joint_gap=Limit(max=1.5), **{name: Limit(max=3)})
    faults = design_faults(box(plaque=False, cable_hole=False).model_copy(update={"limits": limited}))
    assert [(each.where, each.what) for each in faults] == [
        (
            f"limits.{name}",
            (
                f"limits the {OUTCOMES[name].label}, but the design has no [{section}]; leave the line out, or add "
                f"[{section}]"
            ),
        )
    ]


def put(design, **keys):
    """Return a design with keys of its tables changed, `lid__centre_hole` for one."""
    for key, value in keys.items():
        table, name = key.split("__")
        inner = getattr(design, table)
        design = design.model_copy(update={table: inner.model_copy(update={name: value})})
    return design


@pytest.mark.parametrize(
    ("design", "message"),
    [
        (
            put(box(), lid__centre_hole=None),
            (
                "lid.centre_hole: missing, but the stem passes there; add centre_hole = ..., at least 6 mm, or leave "
                "[stem] out"
            ),
        ),
        (
            put(box(), plaque__stem_hole=None),
            (
                "plaque.stem_hole: missing, but the stem passes there; add stem_hole = ..., at least 6 mm, or leave "
                "[stem] out"
            ),
        ),
        (
            put(box(stem=False), plaque__stem_hole=8.0),
            "plaque.stem_hole: got 8 mm, but there is no [stem] to pass it; leave the line out, or add [stem]",
        ),
        (
            put(box(plaque=False), stem__length=8.0),
            "stem.length: got 8 mm, which ends inside lid; must be at least 9 mm from the lid's underside",
        ),
        (
            put(box(stem=False), plaque__hole_spacing=7.0),
            (
                "plaque.hole_spacing: got 7 mm, which leaves 1 mm between screw holes or washers; at least 2 mm is "
                "needed (shop rule 3, project choice); raise it"
            ),
        ),
    ],
)
def test_what_holes_and_stem_need_of_each_other_is_one_message(design, message):
    assert [f"{each.where}: {each.what}" for each in design_faults(design)] == [message]


def test_without_a_stem_the_lid_has_the_centre_hole_that_is_given():
    assert design_faults(put(box(stem=False), lid__centre_hole=12.0)) == []
    parts = build(put(box(stem=False), lid__centre_hole=12.0)).part("lid").shape.bores
    assert [bore.hole.diameter for bore in parts if bore.hole.use == "centre"] == [12]


def test_a_misspelt_table_is_one_fault_though_it_may_be_left_out(tmp_path):
    file = tmp_path / "slip.toml"
    text = (configs_folder() / "starter.toml").read_text(encoding="utf-8")
    text = (
        text.replace("[plaque]", "[plaqe]").replace("[plaque.screw]", "[plaqe.screw]").replace("# plaque_", "plaque_")
    )
    file.write_text(text, encoding="utf-8")
    with pytest.raises(ConfigError) as caught:
        read_design(file)
    assert [(each.where, each.what) for each in caught.value.problems] == [
        ("plaqe", "unknown key; did you mean 'plaque'?")
    ]


def test_causes_of_what_the_box_does_not_have_are_refused(run, tmp_path):
    file = tmp_path / "bare.toml"
    text = (configs_folder() / "starter.toml").read_text(encoding="utf-8")
    file.write_text(text.replace("[cable_hole]", "#").replace("diameter = 7\n", ""), encoding="utf-8")
    assert run("causes", str(file), "--of", "cable_hole") == (
        2,
        "",
        (
            "lapwright: --of: got 'cable_hole', but the design has no [cable_hole]; ask for another outcome, or add "
            "[cable_hole]\n"
        ),
    )


@pytest.mark.parametrize("plaque", [True, False])
def test_what_is_off_in_a_bad_box_is_told_of_what_it_has(plaque):
    """Shares over all features add to 1, with a plaque and without; without one nothing of a plaque is among them."""
    model = BoxModel(box(plaque=plaque), WORKSHOP)
    broken = BrokenLimit(model=model, row="lid_overhang", limit=Limit(max=1.0))
    offs = what_is_off(broken, broken.sampled(1, np.random.default_rng(1)))
    assert sum(off.share for off in offs) == pytest.approx(1)
    assert all(off_words(off, model.frame) for off in offs)
