"""What is read off a settled frame, each against a second method: exact geometry, or integration over a grid."""

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from boxes import TABLE_BOX, faces_with
from hypothesis import given
from hypothesis import strategies as st

from assembly.files.reading import read_design, read_workshop
from assembly.made.frame_outcomes import (
    closed_shares,
    corner_angles,
    diagonal_difference,
    face_closed_share,
    frame_outcomes,
    leans,
    overall_sizes,
    steps,
    top_steps,
)
from assembly.model.outcomes import OUTCOMES
from assembly.nominal.frame import BACK, CORNERS, FRONT, LAPPED_AT, LEFT, PLAIN_AT, RIGHT, SX, SY, Frame
from assembly.study.blocks import block_rows
from assembly.study.check import BoxModel

RNG = np.random.default_rng(77)

# The test that works each outcome out another way than the model does: module and function.
SECOND_METHODS = {
    "joint_gap": ("test_truth", "test_predicted_gaps_are_those_of_the_solids_up_to_second_order"),
    "closed_share": ("test_outcomes", "test_closed_share_against_a_fine_grid"),
    "step": ("test_outcomes", "test_steps_against_moved_points"),
    "top_step": ("test_outcomes", "test_top_steps_are_lapped_less_plain"),
    "out_of_square": ("test_outcomes", "test_inside_angles_against_directions_of_the_walls"),
    "diagonal_difference": ("test_outcomes", "test_diagonals_against_the_corners_where_outside_faces_meet"),
    "lean": ("test_outcomes", "test_lean_is_how_far_the_top_goes_out"),
    "length": ("test_outcomes", "test_overall_sizes"),
    "width": ("test_outcomes", "test_overall_sizes"),
    "base_overhang": ("test_fitting", "test_base_by_side"),
    "lid_overhang": ("test_fitting", "test_lid_by_side"),
    "screw_wood": ("test_fitting", "test_screw_wood_from_places_along_x"),
    "cable_hole": ("test_fitting", "test_cable_hole_of_many_boxes"),
    "plaque_spare": ("test_plaque_fit", "test_against_a_general_solver"),
    "plaque_leg": ("test_fitting", "test_one_error_alone"),
    "plaque_angle": ("test_fitting", "test_one_error_alone"),
}
TINY = 1e-5  # poses so small that second-order terms vanish beside 1e-9


def test_every_outcome_is_worked_out_another_way():
    """An outcome that is added needs a test by a second method (exact geometry, a sum by hand, a general solver)."""
    missing = OUTCOMES.keys() - SECOND_METHODS.keys()
    assert not missing, f"write a test that works {missing} out another way, and name it in SECOND_METHODS"
    assert SECOND_METHODS.keys() == OUTCOMES.keys()
    for module, function in set(SECOND_METHODS.values()):
        tests = Path(__file__).with_name(f"{module}.py").read_text(encoding="utf-8")
        assert f"\ndef {function}(" in tests, f"SECOND_METHODS names {module}.{function}, which is not there"


def tiny_poses():
    poses = RNG.normal(size=(4, 4, 1)) * TINY
    poses[LEFT, :3] = 0
    return poses


def rotated(poses, wall, point):
    """Return a wall's point after its pose, on plan."""
    shift_x, shift_y, turn, _ = poses[wall, :, 0]
    c, s = math.cos(turn), math.sin(turn)
    return np.array([c * point[0] - s * point[1] + shift_x, s * point[0] + c * point[1] + shift_y])


def meeting(poses, corner):
    """Return where the outside faces at a corner meet on plan, as two lines."""
    lapped, plain = LAPPED_AT[corner], PLAIN_AT[corner]
    x, y = SX[corner] * 80.0, SY[corner] * 45.0
    a, b = rotated(poses, lapped, (x, -45)), rotated(poses, lapped, (x, 45))
    c, d = rotated(poses, plain, (-80, y)), rotated(poses, plain, (80, y))
    along = np.linalg.solve(np.column_stack([b - a, c - d]), c - a)
    return a + along[0] * (b - a)


def test_diagonals_against_the_corners_where_outside_faces_meet():
    poses = tiny_poses()
    right_back, right_front, left_back, left_front = (meeting(poses, corner) for corner in range(4))
    exact = math.dist(right_back, left_front) - math.dist(right_front, left_back)
    assert diagonal_difference(TABLE_BOX, poses)[0] == pytest.approx(exact, abs=1e-7)
    assert abs(exact) > 1e-4


def test_diagonals_of_a_racked_frame():
    """A frame racked by δ has sin δ = (d1² - d2²)/(4 W L) (derived); 200 × 300 at 0.5° gives 2.90439 mm.

    Source: statics of a parallelogram, from memory, recomputed exactly; the model is first order in δ.
    """
    box = Frame(along_x=200, along_y=300, height=50, lapped=12, plain=12, depth=6, length_axis="y")
    poses = np.zeros((4, 4, 1))
    poses[[FRONT, BACK], 2] = math.radians(0.5)
    assert diagonal_difference(box, poses)[0] == pytest.approx(2.90439, rel=1e-4)


def test_inside_angles_against_directions_of_the_walls():
    poses = tiny_poses()
    for corner in range(4):
        lapped, plain = LAPPED_AT[corner], PLAIN_AT[corner]
        inward_y = rotated(poses, lapped, (0, -SY[corner])) - rotated(poses, lapped, (0, 0))
        inward_x = rotated(poses, plain, (-SX[corner], 0)) - rotated(poses, plain, (0, 0))
        angle = math.degrees(math.acos(inward_x @ inward_y))
        assert corner_angles(poses)[corner, 0] == pytest.approx(angle - 90, abs=1e-9)


def test_steps_against_moved_points():
    poses = tiny_poses()
    faces = faces_with({("mark.offset", RIGHT): 0.3, ("stock.thickness", BACK): 0.2, ("stock.thickness", FRONT): -0.1})
    found = steps(TABLE_BOX, faces, poses)[:, 0]
    for corner in range(4):
        lapped, plain = LAPPED_AT[corner], PLAIN_AT[corner]
        middle = SX[corner] * (80 - 7.5 / 2)  # the middle of the tongue's end
        end = rotated(poses, lapped, (middle, SY[corner] * 45))[1]
        face = rotated(poses, plain, (middle, SY[corner] * 45))[1]
        lift = {0: 0.3 - 0.2, 1: 0.1, 2: -0.2, 3: 0.1}[corner]  # end's offset less the plain wall's thickness error
        assert found[corner] == pytest.approx(lift + SY[corner] * (end - face), abs=1e-8), CORNERS[corner]


def test_lean_is_how_far_the_top_goes_out():
    """Rotation about y moves the top by +ry H along x; about x, by -rx H along y."""
    poses = np.zeros((4, 4, 1))
    poses[:, 3, 0] = 0.01
    assert leans(TABLE_BOX, poses)[:, 0].tolist() == pytest.approx([-0.45, 0.45, 0.45, -0.45])


@pytest.mark.parametrize(("gauge_from", "along_x"), [("inside", 0.7 + 0.2 - 0.1), ("outside", 0.7)])
def test_overall_sizes(gauge_from, along_x):
    """Gauged from the inside, the outside faces of the lapped walls carry their thickness errors."""
    thick = {LEFT: 0.2, RIGHT: -0.1, FRONT: 0.05, BACK: 0.15}
    faces = faces_with({("stock.thickness", wall): t for wall, t in thick.items()}, gauge_from=gauge_from)
    poses = np.zeros((4, 4, 1))
    poses[RIGHT, 0], poses[FRONT, 1], poses[BACK, 1] = 0.7, -0.3, 0.4
    along_x_of_box, along_y_of_box = overall_sizes(faces, poses)
    assert along_x_of_box[0] == pytest.approx(along_x)
    assert along_y_of_box[0] == pytest.approx(0.4 + 0.3 + 0.05 + 0.15)


def test_top_steps_are_lapped_less_plain():
    faces = faces_with({("stock.height", RIGHT): 0.4, ("stock.height", FRONT): 0.1})
    assert top_steps(faces)[:, 0].tolist() == pytest.approx([0.4, 0.3, 0.0, -0.1])


@given(st.lists(st.floats(0, 1), min_size=4, max_size=4), st.floats(0.01, 1.2))
def test_closed_share_against_a_fine_grid(corners, limit):
    """Second method: the four triangles about the mean, each cut into 3,240 equal cells judged at their centres."""
    share = face_closed_share(np.array(corners)[None, :, None], limit)[0, 0]
    mean = sum(corners) / 4
    n = 80
    i, j = np.meshgrid(np.arange(n), np.arange(n), indexing="ij")
    a, b = ((i + 1 / 3) / n)[i + j < n], ((j + 1 / 3) / n)[i + j < n]
    ring = [corners[k] for k in (0, 1, 3, 2, 0)]
    cells = [mean + a * (p - mean) + b * (q - mean) for p, q in pairwise(ring)]
    grid = np.mean([(cell <= limit).mean() for cell in cells])
    assert share == pytest.approx(grid, abs=0.03)


def test_closed_share_of_a_wedge_by_hand():
    """A gap from 0 at the bottom to 1 at the top closes to 0.2 over the lowest fifth.

    Derived: over the bottom triangle (0, 0, mean ½) the part within q is 1 - (1 - 2q)²; over each side triangle
    (0, ½, 1) it is 2q²; over the top triangle (1, 1, ½) none. With q = 0.2: (0.64 + 2 × 0.08 + 0)/4 = 0.2.
    """
    wedge = np.array([0.0, 1.0, 0.0, 1.0])[None, :, None]
    assert face_closed_share(wedge, 0.2)[0, 0] == pytest.approx(0.2, abs=1e-12)


def test_closed_share_of_a_corner_weighs_its_faces_by_area():
    gaps = np.zeros((4, 2, 4, 1))
    gaps[1, 0] = 0.5  # a cheek, 10 wide beside a shoulder of 7.5
    assert closed_shares(TABLE_BOX, gaps, 0.2)[:, 0].tolist() == pytest.approx([1, 7.5 / 17.5, 1, 1])


def test_a_box_is_told_by_its_worst_place():
    poses = np.zeros((4, 4, 1))
    poses[FRONT, 2] = math.radians(1)
    gaps = np.zeros((4, 2, 4, 1))
    gaps[2, 1, 3] = 0.8
    outcomes = frame_outcomes(TABLE_BOX, faces_with({}), gaps, poses, glue_limit=0.2)
    assert outcomes["joint_gap"][0] == 0.8
    assert outcomes["out_of_square"][0] == pytest.approx(1)
    assert outcomes["closed_share"][0] < 1


def test_length_and_width_are_named_by_the_drawing():
    turned = Frame(along_x=160, along_y=90, height=45, lapped=15, plain=10, depth=7.5, length_axis="y")
    poses = np.zeros((4, 4, 1))
    poses[RIGHT, 0] = 0.25
    for box, name in ((TABLE_BOX, "length"), (turned, "width")):
        outcomes = frame_outcomes(box, faces_with({}), np.zeros((4, 2, 4, 1)), poses, glue_limit=0.2)
        assert outcomes[name][0] == pytest.approx(0.25)


def test_every_outcome_keeps_its_bounds_and_only_those_that_may_be_negative_have_none_below():
    """Of screw wood no sampled box has less than none, and one may: its least is not bounded either."""
    model = BoxModel(read_design("frost_watch"), read_workshop("new_to_tools"))
    rows = dict(zip(model.rows, block_rows(model, seed=5, block=0), strict=True))
    for name, outcome in OUTCOMES.items():
        assert outcome.least <= rows[name].min() <= rows[name].max() <= outcome.most, name
    negative = {name for name in OUTCOMES if rows[name].min() < 0}
    assert {name for name, each in OUTCOMES.items() if each.least == -math.inf} == negative | {"screw_wood"}
    assert {name for name, each in OUTCOMES.items() if each.unit == "1"} == {
        name for name, each in OUTCOMES.items() if each.most == 1
    }
