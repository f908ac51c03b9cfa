"""Boxes drawn as they were made: true size is true, and the worst joint is the widest."""

from dataclasses import fields, replace

import numpy as np
import pytest
from shown import SCALE, graded, parts, settled
from together import separations

from assembly.errors import InputError
from assembly.files.reading import maker, read_design
from assembly.made.gap_classes import gap_scale_of
from assembly.made.records import MadeFaces
from assembly.nominal.frame import CORNERS, FACES
from assembly.planning.making import making_order
from assembly.planning.marks import Block
from assembly.solids.as_made import AsMade, as_made, checked_times, contacts_of, magnified, most_times
from assembly.solids.box import box_arrays, build
from assembly.solids.part_way import worked
from assembly.solids.walls import contact_vertices
from assembly.study.check import sampled_box
from viewer.scene.box_scene import extent_of, scene
from viewer.scene.joints import LIFT
from viewer.scene.scene import TitleBlock
from viewer.scene.step_scene import step_scene


@pytest.fixture(scope="module")
def design():
    return read_design("frost_watch", ())


@pytest.fixture(scope="module")
def sampled(design):
    return sampled_box(design, maker(design, "frost_watch", None, ()), quantile=0.95)


@pytest.fixture(scope="module")
def true_size(design, sampled):
    built, made = as_made(design, sampled, 1.0)
    return scene(built, sampled, gap_scale_of(design), 0.0, TitleBlock(name=design.name, boxes=10_000), made)


def opening(joint):
    """Return the widest opening between a joint's two faces in the scene, along the face's nominal normal, mm."""
    (lap, wall), axis = (patch.face for patch in joint.patches), FACES.index(joint.face)
    side, end = joint.corner.split("-")
    sign = (1 if side == "right" else -1) if axis == 0 else -(1 if end == "back" else -1)
    return float((sign * (lap - wall)[:, axis]).max())


def second_order(box):
    """Return a bound on what turns leave of first order, mm: angle times angle times reach, angle times offset."""
    turn = np.abs(box.poses[:, 2:]).sum(axis=1).max()
    reach = np.linalg.norm([box.frame.along_x / 2, box.frame.along_y / 2, box.frame.height / 2])
    offset = max(np.abs(getattr(box.faces, f.name)).max() for f in fields(box.faces) if f.name != "gauge_from")
    return 2 * (turn**2 * reach / 2 + turn * offset)


def test_at_one_time_the_gaps_in_the_scene_are_the_gaps_that_are_told(design, true_size, sampled):
    """Both marks stand off their faces into the gap by `LIFT` of the room; the rest is of second order."""
    gaps, lift = sampled.gaps.max(axis=2), LIFT * extent_of(as_made(design, sampled, 1.0)[0])
    for index, joint in enumerate(true_size.joints):
        assert joint.gap == gaps[index // 2, index % 2]
        assert opening(joint) + 2 * lift == pytest.approx(joint.gap, abs=second_order(sampled))
    assert opening(true_size.worst) + 2 * lift == pytest.approx(true_size.worst.gap, rel=0.03)


def test_the_highlighted_joint_is_the_one_that_gapes_most(true_size, sampled):
    corner, face, _ = np.unravel_index(sampled.gaps.argmax(), sampled.gaps.shape)
    assert (true_size.worst.corner, true_size.worst.face) == (CORNERS[corner], FACES[face])
    assert max(true_size.joints, key=opening) is true_size.worst


def test_contacts_at_true_size_are_those_of_the_solids(sampled):
    """Second method: `separations` on the same faces and poses gives the distance along the normals."""
    placed = contacts_of(sampled, 1.0)
    gaps = separations(contact_vertices(sampled.frame, sampled.faces), sampled.poses)
    assert separations(placed, np.zeros((4, 4))) == pytest.approx(gaps, abs=1e-12)


@pytest.mark.parametrize("times", [1.0, 2.0, 5.0])
def test_gaps_are_drawn_so_many_times_as_wide_but_for_what_grows_as_the_square(sampled, times):
    gaps = sampled.gaps.reshape(32)
    left = separations(contacts_of(sampled, times), np.zeros((4, 4))) - times * gaps
    at_half = separations(contacts_of(sampled, times / 2), np.zeros((4, 4))) - times / 2 * gaps
    assert np.abs(left).max() <= times**2 * second_order(sampled)
    assert left == pytest.approx(4 * at_half, rel=0.1, abs=2e-3 * times**3)
    faces, poses = magnified(sampled, times)
    assert poses == pytest.approx(times * sampled.poses)
    assert faces.cheek == pytest.approx(times * sampled.faces.cheek)
    assert faces.gauge_from == sampled.faces.gauge_from


def test_the_corners_of_the_walls_are_those_of_the_made_walls(true_size, sampled):
    """Every contact vertex of the settled walls is a corner of the solid that is shown."""
    names = [part.name for part in true_size.parts]
    placed = contacts_of(sampled, 1.0)
    for corner, name in enumerate(CORNERS):
        for body, side in enumerate(name.split("-")):
            points = true_size.parts[names.index(f"{side} wall")].points
            for vertex in placed[corner, :, :, body].reshape(-1, 3):
                assert np.linalg.norm(points - vertex, axis=1).min() < 1e-5


def test_the_largest_number_of_times_is_where_a_lap_s_faces_meet():
    """Only error: a shoulder cut 10 mm deep of a 90 mm wall with 10 mm laps: it meets the other's at 70/10 times."""
    box = settled(np.zeros((4, 2, 4)))
    shoulder = np.zeros((4, 4))
    shoulder[0] = -10.0
    box = replace(box, faces=replace(MadeFaces.nominal(), shoulder=shoulder))
    assert most_times(box) == 6.9  # shoulders must stay in order, so just under 7


def test_too_many_times_names_the_largest_that_works(design, sampled):
    most = most_times(sampled)
    assert 1 < most < 20
    with pytest.raises(InputError) as error:
        as_made(design, sampled, 20.0)
    assert str(error.value) == (
        f"--times: got 20, must be 1 (true size) to {most:g} for this box; beyond that its faces cross"
    )
    as_made(design, sampled, most)


def test_a_box_beyond_its_timber_says_so_even_at_true_size(design, sampled):
    faces = magnified(sampled, 20.0)[0]
    with pytest.raises(InputError) as error:
        as_made(design, replace(sampled, faces=faces), 1.0)
    assert str(error.value) == (
        "as made: the errors of this box are so large that its faces cross even at true size; make the workshop's "
        "spreads smaller or the timber thicker, or draw the box as it is designed"
    )


@pytest.mark.parametrize("times", [0.5, 20.5, float("nan")])
def test_times_out_of_range_are_refused(design, sampled, times):
    with pytest.raises(InputError) as error:
        as_made(design, sampled, times)
    most = most_times(sampled)
    assert str(error.value) == (
        f"--times: got {times:g}, must be 1 (true size) to {most:g} for this box; beyond that its faces cross"
    )


def test_a_box_without_errors_is_drawn_at_any_number_of_times_that_is_drawn_at_all():
    with pytest.raises(InputError) as error:
        checked_times(21.0, settled(np.zeros((4, 2, 4))))
    assert str(error.value) == (
        "--times: got 21, must be 1 (true size) to 20 for this box; beyond that every box's faces cross"
    )
    assert checked_times(20.0, settled(np.zeros((4, 2, 4)))) == 20


def test_the_caption_says_how_large_errors_are_drawn(true_size):
    assert true_size.caption.paragraphs[1].endswith("The walls are drawn as they were made, at true size.")
    made = AsMade(times=4.0, contacts=contacts_of(graded(), 4.0), limit_of="right-back")
    assert made.words == "The walls are drawn as they were made, their errors shown 4 times as large."
    doubt = "So large errors are beyond what the predictions hold for."
    assert replace(made, beyond=True).words == f"{made.words} {doubt}"
    found = scene(parts(), graded(), SCALE, 0.0, TitleBlock(name="Test box"), made)
    which = (
        "Joints: the limit case of the right-back (A) joint. Not a real box: all errors at their worst for it at once. "
        "Base, lid and plaque stay as drawn, so walls may pass through them."
    )
    assert found.caption.paragraphs == (which, f"Worst fit: left-front (D) shoulder, open, 1.40 mm. {made.words}")


def test_marks_without_errors_stand_where_nominal_ones_do():
    plain = scene(parts(), graded(), SCALE, 0.0)
    made = scene(
        parts(), graded(), SCALE, 0.0, made=AsMade(times=1.0, contacts=contacts_of(settled(np.zeros((4, 2, 4))), 1.0))
    )
    for one, other in zip(plain.joints, made.joints, strict=True):
        for a, b in zip(one.patches, other.patches, strict=True):
            assert a.face == pytest.approx(b.face, abs=1e-9)
            assert a.ink == pytest.approx(b.ink, abs=1e-9)


def test_ink_on_a_twisted_face_lies_on_its_four_triangles():
    """A cheek with one corner 2 mm up is no plane; every corner of ink lies on the fan, a lift of the marks off."""
    cheek = np.zeros((4, 4))
    cheek[3, 3] = 2.0
    box = settled(np.full((4, 2, 4), 0.3))
    box = replace(box, faces=replace(MadeFaces.nominal(), cheek=cheek))
    found = scene(parts(), box, SCALE, 0.0, made=AsMade(times=1.0, contacts=contacts_of(box, 1.0)))
    patch = next(joint for joint in found.joints if joint.name == "left-front (D) cheek").patches[0]
    lift = np.abs(patch.ink[0, 0, 0] - patch.face[0, 0])
    for point in patch.ink.reshape(-1, 3):
        heights = []
        for a, b, c in patch.ground:
            share = np.linalg.solve(np.array([(b - a)[1:], (c - a)[1:]]).T, (point - a)[1:])
            if share.min() >= -1e-6 and share.sum() <= 1 + 1e-6:
                heights.append(abs((a + share @ np.array([b - a, c - a]) - point)[0]))
        assert min(heights) == pytest.approx(lift, abs=1e-6)


def test_waste_and_made_part_make_up_the_uncut_timber(design):

    order = making_order(design, maker(design, "frost_watch", None, ()))
    for block in order.uncut:
        off = tuple(waste for step in order.steps for waste in step.removed if waste.part == block.part)
        assert worked(block, off).volume + sum(waste.volume for waste in off) == pytest.approx(block.volume, rel=1e-9)


def test_edges_of_a_lapped_block_are_those_of_its_l_shape():
    """A 10 by 4 by 3 block less 2 by 4 by 1 at one end: twice 2 (10 + 3) round the L, 6 edges of 4 across."""

    block = Block(part="a", name="uncut", low=(0, 0, 0), high=(10, 4, 3))
    off = Block(part="a", name="waste", low=(8, 0, 2), high=(10, 4, 3))
    edges = worked(block, (off,)).edges
    assert np.linalg.norm(edges[:, 1] - edges[:, 0], axis=1).sum() == pytest.approx(2 * 2 * (10 + 3) + 6 * 4)


def test_every_step_of_the_making_is_shown_and_its_lines_lie_on_the_timber(design):

    order, arrays = making_order(design, maker(design, "frost_watch", None, ())), box_arrays(build(design))
    for step in order.steps:
        found = step_scene(order, step.number, arrays, design.name, 0.2)
        assert {part.name for part in found.parts} == set(step.parts)
        assert found.title == f"{design.name}, step {step.number} of {len(order.steps)}: {step.stage}"
        fresh = sum(np.linalg.norm(s.ends[:, 1] - s.ends[:, 0], axis=1).sum() for s in found.strokes if s.fresh)
        assert fresh == pytest.approx(sum(line.length for line in step.drawn)), step.words
    with pytest.raises(InputError) as error:
        step_scene(order, 0, arrays, design.name, 0.2)
    assert str(error.value) == f"step: got 0, must be from 1 to {len(order.steps)}"


def test_all_errors_are_magnified(sampled):
    faces = magnified(sampled, 3.0)[0]
    for field in fields(faces):
        if field.name != "gauge_from":
            assert getattr(faces, field.name) == pytest.approx(3 * getattr(sampled.faces, field.name))
