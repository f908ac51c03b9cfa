"""What the drawing calls front is at the front, whichever walls are lapped and whichever stand there.

right: +x, back: +y. Length and width are those of the drawing everywhere, also where the width runs from left to right.
"""

import json

import numpy as np
import pytest
from designs import designs, leaving_out
from fitted import bird_design
from hypothesis import given, settings

from assembly.files.reading import read_design, read_workshop
from assembly.made.faces import Making
from assembly.made.gap_classes import gap_scale_of
from assembly.model.design import Design
from assembly.nominal.fittings import fittings
from assembly.nominal.frame import CORNERS, LAPPED_AT, PLAIN_AT, SX, SY, corner_typed, corner_words, frame
from assembly.planning.cutting import cut_parts
from assembly.planning.making import making_order
from assembly.planning.marks import bench_walls
from assembly.rare.sizes import Off
from assembly.rules.design_rules import design_faults
from assembly.section.drawing_sizes import sizes_of
from assembly.solids.as_made import as_made, contacts_of
from assembly.solids.box import box_arrays, build
from assembly.study.blocks import block_rows
from assembly.study.check import BoxModel, sampled_box
from viewer.reports.bad_box_words import off_words
from viewer.scene.box_scene import scene
from viewer.scene.joints import joints_of

WORKSHOP = read_workshop("new_to_tools")
SIDE = {"left": (0, -1), "right": (0, 1), "front": (1, -1), "back": (1, 1)}  # axis and sign of each wall's place
WAYS = [(lapped, front) for lapped in ("ends", "sides") for front in ("side", "end")]
ways = pytest.mark.parametrize(("lapped", "front"), WAYS)
quick = settings(max_examples=15, deadline=None)


def laid(lapped, front, **without) -> Design:
    """Return the tests' box 160 by 90 by 45, a short lid screw in it so that every way goes with the cable hole."""
    design = leaving_out(bird_design(), **without)
    lid = design.lid.model_copy(update={"screw": design.lid.screw.model_copy(update={"length": 17.0})})
    plaque = design.plaque and design.plaque.model_copy(
        update={"screw": design.plaque.screw.model_copy(update={"length": 9.5})}
    )
    box = design.box.model_copy(update={"lapped": lapped, "front": front})
    return design.model_copy(update={"lid": lid, "plaque": plaque, "box": box})


def middles(parts, explode=0.0):
    """Return the middle of each part's reach, by name."""
    placed = {part.facts.name: part.placed(explode) for part in parts}
    return {name: (points.min(axis=0) + points.max(axis=0)) / 2 for name, points in placed.items()}


@quick
@given(designs())
def test_each_wall_is_where_its_name_says_in_solids_steps_and_holes(design):
    whole = build(design)
    at, apart = middles(box_arrays(whole)), middles(box_arrays(whole), 1.0)
    order = making_order(design, WORKSHOP)
    uncut = {block.part: block for block in order.uncut}
    for wall, (axis, sign) in SIDE.items():
        part, outside = f"{wall} wall", design.box.on_plan[axis] / 2
        thickness = design.timber.lapped if wall in design.box.lapped_walls else design.timber.plain
        assert at[part][:2] == pytest.approx(sign * (outside - thickness / 2) * np.eye(2)[axis], abs=1e-9)
        assert sign * (apart[part] - at[part])[axis] > 0
        middle = (np.array(uncut[part].low) + uncut[part].high) / 2
        assert middle == pytest.approx(at[part], abs=1e-9)
        assert whole.part(part).facts.lapped == (wall in design.box.lapped_walls)
    for hole in whole.fittings.holes:
        if hole.use == "cable":
            assert (hole.part, hole.centre) == ("back wall", (0, design.box.on_plan[1] / 2, 0))
            assert hole.depth == pytest.approx(
                design.timber.lapped if "back" in design.box.lapped_walls else design.timber.plain
            )
    for name in ("left", "right", "front", "back"):
        screw = next((each for each in whole.fittings.fasteners if each.name == f"{name} lid screw"), None)
        assert (screw is not None) == (name in design.box.lapped_walls)
        if screw:
            assert screw.place[:2] == pytest.approx(at[f"{name} wall"][:2], abs=1e-9)
    if design.plaque:
        axis, sign = SIDE[design.plaque.side]
        assert sign * (at["plaque"] - middles(box_arrays(whole))["lid"])[axis] + design.plaque.flat_leg / 2 >= 0
        assert np.array(whole.fittings.plaque.towards)[axis] == sign


def lettered(design):
    """Return the step in which the corners' letters are written."""
    return next(step for step in making_order(design, WORKSHOP).steps if step.operation == "letters")


@quick
@given(designs())
def test_letters_of_the_corners_stand_at_their_corners(design):
    """Each letter of a wall is written nearer to the end where the drawing has its corner: A to the right and back."""
    box = frame(design)
    at = {letter: (SX[i], SY[i]) for i, letter in enumerate("ABCD")}
    named = lettered(design)
    written = [letter for letter in named.letters if letter.text in at]
    assert len(written) == 16
    for letter in written:
        assert (np.array(letter.place[:2]) * at[letter.text] > 0).all(), letter
    for wall in bench_walls(box):
        assert {wall.name, *wall.mates} == {*SIDE} - ({"left", "right", "front", "back"} - {wall.name, *wall.mates})
        for sign, mate in zip((-1, 1), wall.mates, strict=True):
            axis, side = SIDE[mate]
            assert wall.point(sign * wall.length / 2, 0, 0)[axis] * side > 0


@ways
def test_length_and_width_are_the_drawing_s_everywhere(lapped, front):
    """Lid of 166 by 96 with an overhang of 3, base sawn 164 by 94: in cut list, facts, picture and section."""
    design = laid(lapped, front)
    assert design_faults(design) == []
    cut = {part.name: (part.length, part.width) for part in cut_parts(design)}
    assert (cut["lid"], cut["base"]) == ((166, 96), (164, 94))
    facts = {part.facts.name: part.facts for part in box_arrays(build(design))}
    assert (facts["lid"].size[:2], facts["base"].size[:2]) == ((166, 96), (160, 90))
    shown = scene(box_arrays(build(design)), None, gap_scale_of(design), 0.0)
    assert next(part for part in shown.parts if part.name == "lid").sizes == ("166 × 96 × 6 mm",)
    sizes = {name: value for name, (value, _, _) in sizes_of(design).items()}
    assert (sizes["lid, length"], sizes["lid, width"]) == (166, 96)
    fitted = fittings(design)
    assert (fitted.lid.along_x, fitted.lid.along_y) == ((166, 96) if front == "side" else (96, 166))
    # Screws in the middle of 15 mm walls: 7.5 + 3 from the edge over the wall, half the lid from the edges beside it.
    near, far = ("end", "side") if lapped == "ends" else ("side", "end")
    assert sizes[f"lid screw from the lid's {near}"] == 10.5
    assert sizes[f"lid screw from the lid's {far}"] == {"ends": 48, "sides": 83}[lapped]
    hole = "a hole of 8 in the very centre of the back one"
    drilled = {part.name: hole in part.then for part in cut_parts(design)}
    kind = "side" if front == "side" else "end"  # of the wall at the back
    assert [name for name, has in drilled.items() if has] == [
        f"{'lapped' if (lapped == 'ends') == (kind == 'end') else 'plain'} wall ({kind})"
    ]


@ways
def test_figures_do_not_ask_where_front_is(lapped, front):
    """The frame is worked out in its own frame of reference: all that changes is what its corners are called."""
    mine, its = (BoxModel(laid(lapped, each), WORKSHOP) for each in (front, "end" if front == "side" else "side"))
    rows = [block_rows(model, seed=5, block=0, boxes=50) for model in (mine, its)]
    for name in mine.design.outcomes:
        assert np.array_equal(*(row[model.rows.index(name)] for model, row in zip((mine, its), rows, strict=True)))
    gaps = [
        [row[model.rows.index(f"gap {at}")] for at in CORNERS] for model, row in zip((mine, its), rows, strict=True)
    ]
    quarter = [1, 3, 0, 2] if its.frame.turned else [2, 0, 3, 1]  # right-back goes to right-front, clockwise
    for at in range(4):
        assert np.array_equal(gaps[0][at], gaps[1][quarter[at]])


@ways
def test_joints_of_a_made_box_are_marked_at_their_corners(lapped, front):
    """Every mark stands on its own two walls, at its own corner, and faces out of the timber."""
    design = laid(lapped, front)
    settled = sampled_box(design, WORKSHOP)
    parts, made = as_made(design, settled, 1.0)
    names = [part.facts.name for part in parts]
    contacts = contacts_of(settled, 1.0)
    normals = np.stack([np.outer(SX, [1, 0, 0]), np.outer(SY, [0, 1, 0])], axis=1) @ settled.frame.turn.T
    apart = contacts[..., 0, :] - contacts[..., 1, :]
    apart[:, 1] *= -1  # a cheek opens outward from the plain wall, a shoulder towards the middle
    assert np.einsum("cfpx,cfx->cfp", apart, normals) == pytest.approx(settled.gaps, abs=0.05)  # to second order
    for joint in joints_of(settled, gap_scale_of(design), names, 300.0, made.contacts):
        corner = CORNERS.index(joint.corner)
        for patch, has_lap in zip(joint.patches, (True, False), strict=True):
            middle = patch.face.mean(axis=0)
            assert (middle[:2] * [SX[corner], SY[corner]] > 0).all()
            facts = parts[patch.part].facts
            assert facts.lapped is has_lap
            placed = parts[patch.part].placed()
            assert (middle >= placed.min(axis=0) - 0.5).all()
            assert (middle <= placed.max(axis=0) + 0.5).all()
    box = settled.frame
    for corner in range(4):
        assert {box.walls[LAPPED_AT[corner]], box.walls[PLAIN_AT[corner]]} == set(box.corners[corner].split("-"))


def test_the_cable_hole_is_drilled_on_the_diagonals_of_a_made_lapped_wall():
    """The back wall's right end 0.6 proud, its left end 0.2: the diagonals cross 0.2 to the right of its middle."""
    design = laid("sides", "side")
    box = frame(design)
    faces = Making(frame=box, workshop=WORKSHOP)  # the shape of a made box, without its errors
    assert faces.frame is box
    slot = box.walls.index("back")
    ends = np.zeros((4, 4))
    for corner in np.flatnonzero(slot == LAPPED_AT):
        ends[corner] = 0.6 if "right" in box.corners[corner] else 0.2
    from fitted import made  # noqa: PLC0415

    bores = build(design, made(lapped_end=ends)).part("back wall").shape.bores
    centre = next(bore.hole.centre for bore in bores if bore.hole.use == "cable")
    assert centre[0] == pytest.approx(0.2)


def test_a_lid_screw_over_the_cable_hole_ends_above_it():
    """6 of lid, half of 45 - 8, less 2: 22.5 mm at the most."""
    design = laid("sides", "side")
    long = design.lid.screw.model_copy(update={"length": 23.0})
    design = design.model_copy(update={"lid": design.lid.model_copy(update={"screw": long})})
    assert [f"{each.where}: {each.what}" for each in design_faults(design)] == [
        (
            "lid.screw.length: got 23 mm, but in the middle of the back wall the cable hole is under it; at most 22.5 "
            "mm leaves 2 mm between them (shop rule 3, project choice); take a shorter screw or a smaller hole, or "
            "have the plain walls at front and back with box.front"
        )
    ]
    assert design_faults(leaving_out(design, cable_hole=False)) == []


@ways
def test_the_lid_s_steps_name_the_edges_that_the_screws_are_near(lapped, front):
    design = laid(lapped, front)
    steps = {step.operation: step for step in reversed(making_order(design, WORKSHOP).steps) if step.part == "lid"}
    line, marked = steps["screw line"], steps["hole_mark"]
    edges = ("front to the back", "left") if design.box.turned else ("left to the right", "front")
    assert line.action == (f"Draw a line through the centre from the {edges[0]} edge, parallel to the {edges[1]} edge.")
    assert marked.action == "Mark both lid screws on this line, 10.5 mm in from either edge."
    assert marked.sizes[0].datum == ("front and back edges" if design.box.turned else "left and right edges")
    assert [measure.size for measure in marked.measures] == [10.5, 10.5]


def test_the_shipped_box_with_an_end_to_the_front_is_where_it_was():
    design = read_design("seed_box")
    assert (design.box.lapped_walls, design.box.on_plan) == (("left", "right"), (130, 210))


@pytest.mark.parametrize("words", ["right-back back-right A a", "left-front front-left D d"])
def test_a_corner_is_understood_either_way_round_and_by_its_letter(words):
    corner, *others = words.split()
    assert [corner_typed("--joint", each) for each in (corner, *others)] == [corner] * 4
    assert corner_words(corner) == f"{corner} ({others[1]})"


def test_a_corner_has_the_letter_that_is_on_the_wood():
    """What is written at the top edges of the walls is what reports and pictures put beside the name."""
    for lapped, front in WAYS:
        design = laid(lapped, front)
        named = lettered(design)
        for letter in (each for each in named.letters if len(each.text) == 1):
            x, y = np.sign(letter.place[:2])
            corner = CORNERS[np.flatnonzero((x == SX) & (y == SY))[0]]
            assert corner_words(corner) == f"{corner} ({letter.text})"


def test_worst_takes_a_joint_the_other_way_round_and_tells_its_letter(run):
    _, out, _ = run("worst", "frost_watch", "--joint", "back-left", "--json")
    assert [(each["joint"], each["letter"]) for each in json.loads(out)["joints"]] == [("left-back", "C")]


def test_what_is_off_is_told_as_on_the_drawing():
    """By a quarter turn clockwise: what is left here is the back there, what is to the right is to the front."""
    turned = frame(laid("sides", "side"))
    for feature, at, words in (
        ("thickness", 0, "the back wall 0.5 too thick"),
        ("bow", 0, "the left wall bowed 0.5 outward"),
        ("plain end", 2, "the right wall 0.5 long at its back end"),  # of left-back here: right-back there
        ("cheek", 0, "the right-front (B) lap chiselled 0.5 too shallow"),
        ("base place", 0, "the base glued 0.5 to the front"),
        ("lid place", 1, "the lid fixed 0.5 to the right"),
        ("hole", 5, "the hole for the front lid screw 0.5 off its place"),
    ):
        assert off_words(Off(feature=feature, at=at, edge="", size=0.5, share=1.0), turned) == words
