"""Another section against the present one: what it changes, the verdict, and the directions that must hold."""

import dataclasses
import json
import sys
from functools import partial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.errors import ConfigError, InputError
from assembly.frame import frame
from assembly.reading import maker, read_design
from assembly.shipped import design_file
from assembly.solids.box import build
from assembly.solids.meshes import box_arrays
from assembly.solids.overlap import overlaps
from assembly.soundness.cure import candidates, nearest_cure, single_changes, timber_volume
from assembly.soundness.drawing import drawing_changes, mark_warnings, nearest_lap_share
from assembly.soundness.judging import Judge, faults_of, spare_room
from assembly.soundness.section import section_table, study_section
from assembly.soundness.stock import read_stock
from assembly.soundness.timbers import timber_of
from assembly.soundness.trials import Trials
from assembly.soundness.variants import varied
from assembly.tolerance.check import BoxModel
from assembly.tolerance.outcomes import closed_shares
from assembly.tolerance.sampling import draw_block, values
from assembly.tolerance.study import block_rows
from assembly.writers.step import write_step
from viewer import cli
from viewer.section_map import SYMBOLS, TINTS, section_map
from viewer.tints import grey

BOXES = 2_000


@pytest.fixture(scope="module")
def box():
    """The shipped design with a pilot that its screw can bite in."""
    return read_design("frost_watch", ["lid.screw.pilot=2"])


@pytest.fixture(scope="module")
def workshop(box):
    return maker(box, "frost_watch")


@pytest.fixture(scope="module")
def judge(box, workshop):
    return Judge(Trials(box, workshop, boxes=BOXES), box)


def level(verdict, row):
    return next(reason.level for reason in verdict.reasons if reason.row == row)


# What does not change


def test_a_section_equal_to_the_present_one_changes_nothing_to_the_last_digit(box, workshop):
    study = study_section(box, varied(box, lapped=15, plain=10, height=45, keep="inside"), workshop, boxes=BOXES)
    assert study.tried == study.present
    assert study.fit.pass_share.value == study.fit.joint_gap.value == study.fit.closed_share.value == 0.0
    assert study.ties.bond_ratio == 1.0
    assert all(size.change == 0.0 for size in study.drawing)
    lost = next(r for r in study.verdict.reasons if r.row == "pass_share_lost")
    assert lost.figure == 0.0


def test_an_equal_section_that_is_sampled_anew_gives_the_same_boxes(box, judge):
    again = judge.trials.sample(varied(box, lapped=15))
    for field in dataclasses.fields(again):
        assert np.array_equal(getattr(again, field.name), getattr(judge.before, field.name)), field.name


@given(lapped=st.floats(8, 30), plain=st.floats(4, 30), sides=st.booleans())
def test_keeping_the_inside_keeps_it(lapped, plain, sides):
    design = read_design("frost_watch")
    design = design.model_copy(update={"box": design.box.model_copy(update={"lapped": "sides" if sides else "ends"})})
    tried = varied(design, lapped=lapped, plain=plain, keep="inside")
    assert frame(tried).inside == pytest.approx(frame(design).inside, abs=1e-9)


def test_keeping_the_outside_keeps_it(box):
    tried = varied(box, lapped=12, plain=9)
    assert (tried.box.length, tried.box.width) == (160, 90)


def test_the_boxes_are_those_of_the_study(box, workshop, judge):
    """Rows that `check` also tells come out the same: the same makers, the same faces, the same settling."""
    model = BoxModel(box, workshop)
    rows = block_rows(model, seed=1, block=0, boxes=BOXES)
    for name in ("joint_gap", "closed_share", "passes", "beyond"):
        assert np.array_equal(getattr(judge.before, name), rows[model.rows.index(name)]), name


# Figures by a second way


def test_bond_is_area_times_closed_share_summed_over_the_corners(box, workshop, judge):
    """Four corners of (t + D) H = (10 + 7.5) 45 mm² each."""
    model = BoxModel(box, workshop)
    value = values(model.inputs, draw_block(model.inputs, BOXES, seed=1, block=0))
    _, gaps, _ = model.settle(value)
    closed = closed_shares(model.frame, gaps, box.glue_limit)
    assert judge.before.bond.mean() == pytest.approx(17.5 * 45 * closed.sum(axis=0).mean(), rel=1e-9)


def test_tongue_is_sampled_with_stock_and_cheek(box, workshop, judge):
    """K + stock thickness error of the lapped wall + what the pared cheek leaves on, at the thinnest place."""
    model = BoxModel(box, workshop)
    value = values(model.inputs, draw_block(model.inputs, BOXES, seed=1, block=0))
    faces = model.making.faces(value)
    right, left = faces.thickness[1], faces.thickness[0]
    thin = np.minimum(
        (faces.cheek[:2].min(axis=(0, 1)) + right),
        (faces.cheek[2:].min(axis=(0, 1)) + left),
    )
    assert judge.trials.tongue(box) == pytest.approx(np.quantile(7.5 + thin, 0.05), abs=1e-12)
    assert judge.trials.tongue(box) < 7.5


def test_wood_beside_the_screw_is_that_of_the_study(box, workshop, judge):
    model = BoxModel(box, workshop)
    rows = block_rows(model, seed=1, block=0, boxes=BOXES)
    expected = np.quantile(rows[model.rows.index("screw_wood")], 0.05)
    assert judge.trials.screw_wood(box) == pytest.approx(expected, abs=1e-12)


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
    assert sizes["timber of the four walls"] == pytest.approx(90 * (90 * 12 + 148 * 9) / 1000)


def test_sizes_between_the_marks_of_a_rule_are_warned_of(box):
    tried = varied(box, lapped=15, plain=9.525, lap_share=0.45)
    lap_width, lap_depth = mark_warnings(tried)
    assert lap_width == (
        "lap width (shoulder from the end): 9.525 mm lies between the half millimetres of a rule; the nearest is 9.5 mm"
    )
    assert lap_depth == (
        "lap depth: 6.75 mm lies between the half millimetres of a rule; a lap share of 0.466667 makes it 7 mm"
    )
    assert nearest_lap_share(tried) * 15 == pytest.approx(7, abs=1e-12)
    assert mark_warnings(box) == ()


# Directions


@settings(deadline=None, max_examples=30)
@given(thin=st.floats(8, 29), more=st.floats(0, 10), share=st.sampled_from([0.4, 0.5, 0.6]))
def test_a_thinner_lapped_wall_never_makes_the_tongue_thicker(judge, thin, more, share):
    thick = varied(judge.reference, lapped=thin + more, lap_share=share, keep="inside")
    slim = varied(judge.reference, lapped=thin, lap_share=share, keep="inside")
    assert judge.trials.tongue(slim) <= judge.trials.tongue(thick)


@given(st.lists(st.floats(0, 2), min_size=32, max_size=32), st.integers(0, 31), st.floats(0, 1))
def test_a_smaller_gap_never_lowers_the_closed_share(judge, gaps, at, share):
    wide = np.array(gaps)
    close = wide.copy()
    close[at] *= share
    of = [closed_shares(frame(judge.reference), g.reshape(4, 2, 4, 1), 0.2) for g in (wide, close)]
    assert (of[1] >= of[0] - 1e-12).all()


# The verdict


def test_a_proven_section_may_be_sound_and_an_unproven_one_is_with_care_at_most(workshop):
    """A screw of 3 mm in 24 mm of wood keeps every row: its 4 effective diameters are 4 · 1.1 · 2.1 = 9.24 mm."""
    words = [
        "lid.screw.pilot=2",
        "lid.screw.diameter=3",
        "timber.lapped=24",
        "box.length=200",
        "limits.joint_gap.max=3",
    ]
    found = [
        study_section(design, design, workshop, boxes=BOXES).verdict
        for design in (read_design("frost_watch", [*words, f"timber.proven={proven}"]) for proven in ("true", "false"))
    ]
    assert [verdict.verdict for verdict in found] == ["sound", "with care"]
    assert found[1].note.startswith("no section is marked as proven")


def test_a_screw_that_comes_out_of_a_low_wall_is_not_sound(box, judge):
    tried = varied(box, height=22)
    (fault,) = faults_of(tried)
    assert fault == (
        "lid.screw.length: got 30 mm, must be 16 to 29 mm: through the lid, then at least 2 diameters (shop rule 5, "
        "project choice) into a wall 22 mm high and not out of its bottom"
    )
    assert level(judge.verdict(tried), "rules_broken") == "not sound"


@pytest.mark.parametrize("words", [["lapped", 8], ["plain", 18]])
def test_the_cure_is_that_of_brute_force(box, judge, words):
    """Every candidate of the whole list is judged; of those that hold, the least by the stated order is the cure."""
    tried = varied(box, **{words[0]: words[1]})
    few = Judge(Trials(box, judge.trials.workshop, boxes=200), box)
    stock = (10, 15)
    listed = candidates(tried, stock)
    held = [each for each in listed if few.verdict(each.design).verdict != "not sound"]
    best = min(held, key=lambda e: (len(e.changes), round(e.relative, 9), round(timber_volume(frame(e.design)), 6)))
    found = nearest_cure(listed, few.holds)
    assert found is not None
    assert (found.order, found.words()) == (best.order, best.words())


def test_nothing_in_the_list(box):
    assert nearest_cure(candidates(box, (9.0, 12.0)), lambda _: False) is None


def test_single_changes_leave_out_what_is_there_already(box):
    shares = [c.value for c in single_changes(box, (10.0, 15.0)) if c.sort == "lap share"]
    assert shares == pytest.approx([0.25, 0.3, 0.35, 0.4, 0.45, 0.55, 0.6, 0.65, 0.7, 0.75])
    others = [(c.sort, c.value) for c in single_changes(box, (10.0, 15.0)) if c.sort in {"lapped", "plain"}]
    assert others == [("lapped", 10.0), ("plain", 15.0)]
    screws = [c.words() for c in single_changes(box) if c.sort == "screw"]
    assert "lid screws of 3.5 mm with the table's holes" not in screws  # the pilot of 2 mm is the table's
    assert "lid screws of 4 mm with the table's holes" in screws


def test_the_table_says_what_a_single_section_says(box, workshop):
    cells = section_table(box, (9.0, 15.0), workshop, boxes=BOXES)
    assert [(c.lapped, c.plain) for c in cells] == [(9, 9), (9, 15), (15, 9), (15, 15)]
    alone = study_section(box, varied(box, lapped=15, plain=9), workshop, boxes=BOXES).verdict
    assert cells[2].verdict == alone


def test_a_pair_that_makes_no_box_is_told(box, workshop):
    (cell,) = section_table(box, (45.0,), workshop, boxes=BOXES)
    assert cell.verdict is None
    assert cell.why == (
        "box.width: got 90 mm, but two laps of 45 mm with 10 mm between them (shop rule 2, project choice) need "
        "100 mm; raise width or make timber.plain thinner"
    )


def test_every_pair_called_sound_builds_assembles_and_exports(workshop, tmp_path):
    """Pairs of a small stock, in a roomy box with screws of 3 mm, so that some are sound."""
    words = ["lid.screw.pilot=2", "lid.screw.diameter=3", "timber.lapped=22", "box.length=200", "timber.proven=true"]
    design = read_design("frost_watch", words)
    vary = partial(varied, design)
    sound = [
        (cell.lapped, cell.plain)
        for cell in section_table(design, (9.0, 20.0, 24.0), workshop, vary=vary, boxes=BOXES)
        if cell.verdict and cell.verdict.verdict == "sound"
    ]
    assert sound
    for lapped, plain in sound:
        solids = build(vary(lapped=lapped, plain=plain))
        assert overlaps([part for part in box_arrays(solids) if part.facts.group != "fittings"]) == {}
        assert write_step(solids, tmp_path / f"{lapped}_{plain}.step")


# Bad input


def test_a_section_thicker_than_the_box_is_wide(box):
    with pytest.raises(InputError) as refused:
        varied(box, plain=45)
    assert str(refused.value) == (
        "box.width: got 90 mm, but two laps of 45 mm with 10 mm between them (shop rule 2, project choice) need "
        "100 mm; raise width or make timber.plain thinner"
    )


def test_plain_walls_thicker_than_lapped_ones_are_told(box, workshop):
    notes = study_section(box, varied(box, lapped=12, plain=15), workshop, boxes=BOXES).notes
    assert (
        "the plain walls (15 mm) are thicker than the lapped ones (12 mm): the lap is longer than its wall is thick, "
        "and the tongue stands out further for its thickness"
    ) in notes


def test_an_unknown_timber_names_the_nearest(box):
    with pytest.raises(InputError, match=r"^timber 'pine, Scotts': not in the table; nearest: pine, Scots;.*or give"):
        timber_of(varied(box, timber="pine, Scotts").timber)


def test_a_bare_genus_lists_its_species(box):
    with pytest.raises(InputError, match=r"^timber 'pine': several go by that name and differ; name one of: pine, e"):
        timber_of(varied(box, timber="pine").timber)


def test_properties_of_the_design_stand_before_the_table(box):
    given_ = box.timber.model_copy(update={"specific_gravity": 0.42, "shrinkage_radial": 4.0})
    found = timber_of(given_)
    assert (found.specific_gravity, found.shrinkage_radial, found.coefficient_radial) == (0.42, 4.0, None)
    assert found.coefficient_tangential == timber_of(box.timber).coefficient_tangential
    assert found.source.startswith("specific_gravity, shrinkage_radial: given in the design; else ")


def test_another_timber_leaves_the_old_one_s_properties_behind(box):
    own = box.model_copy(update={"timber": box.timber.model_copy(update={"specific_gravity": 0.42, "sawing": "flat"})})
    tried = varied(own, timber="oak, European").timber
    assert (tried.specific_gravity, tried.sawing) == (None, None)


STOCK_FAULTS = {
    'sections = [9, "9 mm"]': "line 1: sections: 9 and '9 mm' are both 9 mm; leave one of them out",
    "sections = [0.375]": ('line 1: sections: got 0.375 mm, must be 3 to 60 mm; for inches write "0.375 in"'),
    'sections = ["3/8"]': "line 1: sections: got '3/8', an inch size is written with its unit: \"3/8 in\"",
    'sections = ["thin"]': (
        'line 1: sections: got \'thin\', must be a thickness with its unit, such as "12 mm", "3/8 in" or "1 1/4 in"'
    ),
    "sections = [100]": "line 1: sections: got 100 mm, must be 3 to 60 mm",
    "sections = [true]": (
        'line 1: sections: got True, must be a thickness in mm, or text with its unit such as "3/8 in"'
    ),
    'sections = ["1/0 in"]': 'line 1: sections: got \'1/0 in\', which is no number; write "1 1/4 in" or "32 mm"',
    "sections = []": 'line 1: sections: must be a list of 1 to 40 thicknesses, such as [6, 9, 12, "3/8 in"]',
    "sections = [9]\ntimber = 3": "line 2: timber: unknown key; a stock file has one key, sections",
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


def test_the_shipped_stock_is_found_by_name():
    assert read_stock("stock") == (6, 8, 9, 10, 12, 15, 18, 20)


# The map and the command


def test_the_map_s_levels_are_told_apart_in_grey_and_by_symbol():
    tones = [float(grey(TINTS[name])[0]) for name in ("sound", "with care", "not sound")]
    assert min(tones[0] - tones[1], tones[1] - tones[2]) > 0.05
    assert len(set(SYMBOLS.values())) == 3


def test_the_map_has_a_tint_and_a_symbol_for_every_pair(box, workshop):
    cells = section_table(box, (9.0, 15.0), workshop, boxes=200)
    axes = section_map(cells, "map", (15.0, 9.0)).axes[0]
    assert len(axes.lines) == 4
    assert len(axes.patches) == 5  # one of them outlines the present section


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    monkeypatch.chdir(tmp_path)

    def _run(*words):
        monkeypatch.setattr(sys, "argv", ["lapwright", "section", "frost_watch", "--boxes", "200", *words])
        with pytest.raises(SystemExit) as end:
            cli.main()
        out, err = capsys.readouterr()
        return int(end.value.code or 0), out, err

    return _run


def test_the_command_tells_a_verdict_and_why(run):
    code, out, err = run("--lapped", "12", "--plain", "9", "--set", "lid.screw.pilot=2")
    assert (code, err) == (0, "")
    assert "\nVerdict: with care.\nDecided by: edge distance, screw loaded along itself" in out
    assert "Both faces of the lap join end grain to side grain, so both count as weak" in out
    assert out.endswith(
        "This is not a structural design, and no figure here is a strength to rely on.\n"
        "Local rules, your own risk assessment and competent supervision come before it.\n"
    )


def test_the_command_s_json(run):
    code, out, _ = run("--lapped", "8", "--set", "lid.screw.pilot=2", "--json")
    told = json.loads(out)
    assert (code, told["verdict"]) == (1, "not sound")
    assert set(told["reasons"][0]) == {"row", "figure", "unit", "limit", "margin", "level", "source"}
    margins = [reason["margin"] for reason in told["reasons"]]
    assert margins == sorted(margins)
    assert told["cure"]["words"] == "lapped walls of 10 mm"


def test_the_command_s_table_writes_its_map(run, tmp_path):
    stock = tmp_path / "few.toml"
    stock.write_text("sections = [9, 15]")
    code, out, _ = run("--stock", str(stock), "--set", "lid.screw.pilot=2", "--to", "out")
    assert (code, out.splitlines()[-1]) == (0, "wrote out/frost_watch_sections.png")
    assert (tmp_path / "out" / "frost_watch_sections.png").read_bytes().startswith(b"\x89PNG")


REFUSALS = {
    (): "section: nothing to try; give --lapped and --plain in mm, or --stock FILE for every pair on sale",
    ("--lapped", "80"): "timber.lapped: got 80.0, must be 4 to 60 mm (thickness of the lapped walls)",
    ("--lapped", "12", "--keep", "both"): "--keep: got 'both', must be outside or inside",
    ("--lapped", "12", "--boxes", "1"): "boxes: got 1, must be 2 or more",
    ("--lapped", "12", "--seed", "-1"): "seed: got -1, must be 0 or more",
    ("--timber", "spruce"): (
        "timber 'spruce': several go by that name and differ; name one of: spruce, Sitka; spruce, European; or give "
        "timber.kind and its properties in the design"
    ),
}


@pytest.mark.parametrize("words", REFUSALS)
def test_what_the_command_refuses(run, words):
    code, out, err = run(*words)
    assert (code, out, err) == (2, "", f"lapwright: {REFUSALS[words]}\n")


def test_humidity_over_100_is_refused(run):
    code, _, err = run("--lapped", "12", "--set", "climate.home.humidity=120")
    assert code == 2
    assert "--set climate.home.humidity: got 120, must be 0 to 100" in err


@pytest.mark.parametrize(("words", "proven"), [((), True), (("--set", "timber.lapped=12"), False)])
def test_a_section_set_on_the_command_line_is_not_taken_as_proven(monkeypatch, capsys, tmp_path, words, proven):
    """The mark is for the sizes in the file."""
    file = tmp_path / "ours.toml"
    text = design_file("frost_watch").read_text(encoding="utf-8")
    file.write_text(text.replace("proven = false", "proven = true"), encoding="utf-8")
    asked = ["lapwright", "section", str(file), "--plain", "9", "--boxes", "200", "--json", *words]
    monkeypatch.setattr(sys, "argv", asked)
    with pytest.raises(SystemExit):
        cli.main()
    notes = json.loads(capsys.readouterr().out)["notes"]
    assert any(note.startswith("the present section is not marked as proven") for note in notes) is not proven
