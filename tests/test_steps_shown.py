"""What a step's picture tells and shows besides its lines: sizes, words, cautions, the plan, what is laid on."""

from dataclasses import replace

import numpy as np
import pytest

from assembly.files.reading import read_design, read_workshop
from assembly.made.gap_classes import gap_scale_of
from assembly.planning.making import making_order
from assembly.planning.plan import Plan
from assembly.solids.box import box_arrays, build
from viewer.picture.drawn_plan import HEAD, HIGH, drawn_plan
from viewer.picture.layout import planned
from viewer.picture.lettering import width_of
from viewer.scene.overlays import edges_of
from viewer.scene.step_scene import step_scene


@pytest.fixture(scope="module")
def frost():
    design = read_design("frost_watch", ())
    order, parts = making_order(design, read_workshop("new_to_tools")), box_arrays(build(design))
    return order, [step_scene(order, step.number, parts, design.name, gap_scale_of(design)) for step in order.steps]


def shown(frost, operation, which=0):
    order, scenes = frost
    return [scenes[step.number - 1] for step in order.steps if step.operation == operation][which]


def words(scene, name):
    return "\n".join(next(part.sizes for part in scene.parts if part.name == name))


def test_a_label_tells_the_size_that_is_marked(frost):
    """Base 164 by 94 until it is flush; a wall's blank is 10 longer at both ends; the plaque is bent from 77.1."""
    for operation in ("base outline", "base"):
        assert words(shown(frost, operation), "base") == "164 × 94 × 4 mm"
    assert words(shown(frost, "base on"), "base") == "164 × 94 × 4 mm"
    assert words(shown(frost, "flush"), "base") == "160 × 90 × 4 mm"
    assert words(shown(frost, "square"), "left wall") == "finished 90 × 45 × 15 mm\nblank 110 mm long"
    assert words(shown(frost, "saw"), "left wall") == "finished 90 × 45 × 15 mm"
    assert words(shown(frost, "glue"), "left wall") == "90 × 45 × 15 mm"
    assert words(shown(frost, "outline"), "lid") == "160 × 90 × 9 mm"
    assert words(shown(frost, "bend line"), "plaque") == "77.1 × 90 × 3 mm, flat"
    assert words(shown(frost, "bend"), "plaque") == "cut 77.1 × 90 × 3 mm"


def test_a_step_says_what_it_needs_and_what_can_hurt_last(frost):
    caption = shown(frost, "lap_saw").caption.paragraphs
    assert caption == (
        "Saw each shoulder on the waste side of its line, 7.5 mm down to the gauge line.",
        "The cut must stop at the gauge line on both edges.",
        "You need: saw; bench hook or vice; eye protection.",
        "⚠ Take care: Eye protection. Thumb and other hand clear of the blade. (In full: step 10.)",
    )
    assert (
        shown(frost, "saw")
        .caption.paragraphs[3]
        .startswith("⚠ Take care: Hold the piece firmly against the bench hook")
    )
    assert not any(line.startswith("You need") for line in shown(frost, "setting").caption.paragraphs)


def test_the_first_step_begins_with_a_list(frost):
    order, scenes = frost
    caption = scenes[0].caption.paragraphs
    assert caption[0] == "Before you start:"
    assert caption[1 : 1 + len(order.first)] == tuple(f"• {caution.words}" for caution in order.first)
    assert caption[1 + len(order.first)] == order.steps[0].action


@pytest.mark.parametrize("operation", ["face side", "saw", "take apart"])
@pytest.mark.parametrize("size", [(1920, 1080), (1200, 900), (800, 1000), (640, 480)])
def test_what_to_do_is_set_a_quarter_larger_than_what_is_told_of_it(frost, operation, size):
    """Its lines are a quarter higher, nothing else is, and no line of it is wider than the picture."""
    scene = shown(frost, operation)
    sheet = planned(scene, size)
    first, count = sheet.action
    assert " ".join(sheet.caption[first : first + count]) == scene.caption.action
    rows = np.diff([sheet.line_top(row) for row in range(len(sheet.caption) + 1)]) / (1.15 * sheet.em)
    large = np.arange(len(rows))
    assert rows == pytest.approx(np.where((large >= first) & (large < first + count), 1.25, 1.0))
    assert [sheet.is_action(row) for row in range(len(rows))] == [row > 1.1 for row in rows]
    assert sheet.line_top(len(sheet.caption)) == pytest.approx(sheet.words_bottom())
    wide = max(width_of(line, round(1.25 * sheet.em), "Bold") for line in sheet.caption[first : first + count])
    assert 2 * sheet.margin + wide <= size[0]


def test_what_can_hurt_has_a_bar_of_its_height(frost):
    sheet = planned(shown(frost, "saw"), (1200, 900))
    first, count = sheet.careful
    assert sheet.caption[first].startswith("⚠ Take care:")
    assert first + count == len(sheet.caption)
    left, top, right, bottom = sheet.careful_box()
    assert 0 < left < right < sheet.margin
    assert bottom - top == pytest.approx(1.15 * count * sheet.em, rel=0.1)
    assert planned(shown(frost, "letters"), (1200, 900)).careful_box() is None


def test_the_bar_stands_beside_what_can_hurt_however_it_is_worded(frost):
    scene = shown(frost, "saw")
    for caption, count in (
        (replace(scene.caption, care="Mind the blade."), 1),
        (replace(scene.caption, lead=("⚠ Take care: not of this.",), care=""), 0),
    ):
        assert planned(replace(scene, caption=caption), (1200, 900)).careful[1] == count


def test_the_frame_stands_on_its_head_on_the_lid_s_sheet(frost):
    """The lid's underside is up and the frame over it; front stays in front."""
    scene = shown(frost, "outline")
    heights = {part.name: part.points[:, 2] for part in scene.parts}
    assert heights["lid"].max() <= min(heights[f"{side} wall"].min() for side in ("left", "right", "front", "back"))
    assert heights["base"].min() >= heights["front wall"].max() - 1e-9
    middles = {part.name: part.points.mean(axis=0) for part in scene.parts}
    assert middles["front wall"][1] < middles["back wall"][1]
    assert middles["left wall"][0] > middles["right wall"][0]


def test_a_wall_is_tried_in_its_lap(frost):
    """The front wall is where the closed box has it, the back wall lifted off; all four in place at the dry fit."""
    tried, dry = shown(frost, "try"), shown(frost, "dry fit")
    for name, lifted in (("front wall", False), ("back wall", True)):
        one, other = (next(p.points for p in scene.parts if p.name == name) for scene in (tried, dry))
        assert np.ptp(one[:, 2] - other[:, 2]) == pytest.approx(0, abs=1e-9)
        assert (one[0, 2] - other[0, 2] > 10) == lifted


def test_lines_are_gone_when_they_have_been_rubbed_out_but_engraving_stays(frost):
    order, scenes = frost
    last = scenes[-1]
    assert {last.parts[some.part].name for some in last.strokes} == {"plaque"}
    assert len(last.strokes[0].ends) == sum(len(x.lines) for step in order.steps for x in step.bent)


def test_the_bend_line_is_in_the_bend_until_it_is_wiped_off(frost):
    """Engraved strokes and one more when it is bent and cools, without it after; 45 degrees round a radius of 3.

    The inner arc's middle is 3 (1 - cos 45) over the flat leg's top and 3 sin 45 from where the bend begins.
    """
    order, _ = frost
    engraved = sum(len(x.lines) for step in order.steps for x in step.bent)
    strokes = {
        operation: sum(len(some.ends) for some in shown(frost, operation).strokes)
        for operation in ("bend", "cool", "wipe line")
    }
    assert strokes == {"bend": engraved + 1, "cool": engraved + 1, "wipe line": engraved}
    (line,) = next(step for step in order.steps if step.operation == "bend").bent_lines
    top = 45 / 2 + 9 + 3  # half the walls, lid and acrylic
    begins = 32 - 3 - 3  # the standing leg's outside, less thickness and radius
    x, y, z = np.array([line.start, line.end]).T
    assert sorted(x) == [-45, 45]
    assert y == pytest.approx(begins + 3 * np.sin(np.pi / 4))
    assert z == pytest.approx(top + 3 * (1 - np.cos(np.pi / 4)))


def test_the_wall_to_mark_along_is_shown_on_the_face_side_level_with_the_end(frost):
    order, scenes = frost
    for step in (step for step in order.steps if step.operation in {"lay along", "lap_mark"}):
        assert step.laid_on
        for block in step.laid_on:
            assert block.high[1] - block.low[1] == pytest.approx(10)  # the plain wall's thickness
            assert max(abs(block.low[1]), abs(block.high[1])) == pytest.approx(45)  # level with the end
            assert (
                min(abs(block.low[0]), abs(block.high[0]))
                < max(abs(block.low[0]), abs(block.high[0]))
                == (pytest.approx(65))
            )  # from the face side inwards
        assert len(scenes[step.number - 1].ghosts) == 2
    drawn = read_workshop("new_to_tools").model_copy(update={"shoulder_from": "drawing"})
    order = making_order(read_design("frost_watch", ()), drawn)
    assert not any(step.laid_on for step in order.steps)


def test_dashes_lie_on_the_edges_of_a_block(frost):
    order, _ = frost
    block = next(step for step in order.steps if step.laid_on).laid_on[0]
    ends = edges_of(block)
    on = np.isclose(ends[..., None], [*zip(block.low, block.high, strict=True)]).any(axis=3)
    assert (on.sum(axis=2) >= 2).all()
    assert (np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) < 5).all()


PLAN = Plan(along_x=160.0, along_y=90.0, lapped=15.0, plain=10.0, tongue=7.5, turned=False)


def test_the_plan_shows_walls_and_laps_to_scale(frost):
    """Ring and inside 4 lines each, cheek and shoulder at each corner: cheek 10 long, shoulder 15 - 7.5."""
    assert shown(frost, "letters").plan == PLAN
    lengths = np.linalg.norm(PLAN.lines[:, 1] - PLAN.lines[:, 0], axis=1)
    assert sorted(lengths) == pytest.approx(sorted([160, 160, 90, 90, 130, 130, 70, 70, *[10] * 4, *[7.5] * 4]))
    drawn = drawn_plan(PLAN, 20, (0, 800), 600)
    scale = np.ptp(drawn.lines[..., 0]) / 160
    assert np.linalg.norm(drawn.lines[:, 1] - drawn.lines[:, 0], axis=1) == pytest.approx(scale * lengths)


def test_the_plan_s_letters_stand_at_their_corners_back_uppermost():
    drawn = drawn_plan(PLAN, 20, (0, 800), 600)
    at = {text: (x, y) for text, x, y in drawn.words}
    assert at["BACK"][1] < at["LEFT"][1] < at["FRONT"][1]
    assert at["LEFT"][0] < 400 < at["RIGHT"][0]
    assert at["A"][0] == at["B"][0] > 400 > at["C"][0] == at["D"][0]
    assert at["A"][1] == at["C"][1] < at["B"][1] == at["D"][1]
    assert 600 - at[HEAD][1] + 10 <= HIGH * 20
