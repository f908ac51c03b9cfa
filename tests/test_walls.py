"""Walls as made: closed forms for every error alone, true volumes for all together, and errors that can't be built."""

import math

import cadquery as cq
import numpy as np
import pytest
from fitted import bird_design, made, one_face, refusal
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.made.records import MadeFaces
from assembly.nominal.frame import LAPPED_AT, PLAIN_AT, frame
from assembly.solids.bodies import flat
from assembly.solids.box import build
from assembly.solids.kernel import exact, solid_of
from assembly.solids.parts import placement
from assembly.solids.polyhedron import prism, volume_in_bore
from assembly.solids.walls import contact_vertices, matrix_of, walls

BOX = frame(bird_design())
heights = st.lists(st.floats(-1, 1), min_size=4, max_size=4)


def volumes(faces: MadeFaces) -> np.ndarray:
    return np.array([wall.volume for wall in walls(BOX, faces)])


def moment(faces: MadeFaces) -> np.ndarray:
    """Return the change of the four walls' volumes from nominal, mm³."""
    return volumes(faces) - volumes(MadeFaces.nominal())


@settings(max_examples=30)
@given(corner=st.integers(0, 3), left_on=heights)
@pytest.mark.parametrize(
    ("face", "area", "at"),
    [
        ("cheek", 10 * 45, LAPPED_AT),
        ("shoulder", 7.5 * 45, LAPPED_AT),
        ("lapped_end", 7.5 * 45, LAPPED_AT),
        ("plain_end", 10 * 45, PLAIN_AT),
    ],
)
def test_material_left_on_a_face_is_its_area_times_the_mean_height(face, area, at, corner, left_on):
    """MODEL.md, 2: the volume under four triangles to a mean point; positive leaves material on that wall alone.

    Heights below 1e-9 mm are no facets of their own, which makes up to 1e-9 mm times the area.
    """
    change = moment(made(**{face: one_face(corner, left_on)}))
    expected = np.zeros(4)
    expected[at[corner]] = area * np.mean(left_on)
    assert change == pytest.approx(expected, abs=area * 1e-9)


@pytest.mark.parametrize(
    ("gauge", "lapped_area"),
    [("inside", 90 * 45), ("outside", (90 - 2 * 10) * 45)],  # the outside face moves, or the inside between the laps
)
def test_a_thicker_wall_grows_at_the_face_that_the_gauge_does_not_run_on(gauge, lapped_area):
    tau = np.array([0.3, -0.2, 0.1, -0.4])
    areas = np.array([lapped_area, lapped_area, 145 * 45, 145 * 45])
    faces = made(gauge, thickness=tau)
    assert moment(faces) == pytest.approx(areas * tau)
    left, right, front, back = (wall.bounds for wall in walls(BOX, faces))
    out = gauge == "inside"
    assert (left[0, 0], left[1, 0]) == pytest.approx((-80 - 0.3 * out, -65 + 0.3 * (not out)))
    assert (right[0, 0], right[1, 0]) == pytest.approx((65 + 0.2 * (not out), 80 - 0.2 * out))
    assert (front[0, 1], front[1, 1]) == pytest.approx((-45.1, -35))  # plain walls are located by their inside face
    assert (back[0, 1], back[1, 1]) == pytest.approx((35, 44.6))


def test_a_taller_wall_grows_at_the_top():
    faces = made(height=np.array([0.5, -0.5, 0.2, -0.2]))
    assert [wall.bounds[:, 2].tolist() for wall in walls(BOX, faces)] == [
        [-22.5, 23.0],
        [-22.5, 22.0],
        [-22.5, 22.7],
        [-22.5, 22.3],
    ]
    whole = build(bird_design(), faces)
    assert placement(whole.part("lid").facts, 0)[2, 3] == 0.5  # the lid lies on the tallest wall


def test_a_bowed_wall_keeps_its_true_thickness():
    """Both faces slope alike at each end: volume is length x height x t √(1 + a²), and the ends bend inwards."""
    slope = 0.02
    bow = slope * 3.75 * np.array([-1, -1, 1, 1])  # over the shoulder, D = 7.5
    faces = made(inside=np.tile(bow, (4, 1)))
    assert volumes(faces)[2:] == pytest.approx([145 * 45 * 10 * math.sqrt(1 + slope**2)] * 2, rel=1e-12)
    back = walls(BOX, faces)[3]
    assert len(back.loops) == 10  # three flat faces inside and outside
    assert back.bounds[0, 1] == pytest.approx(35 - slope * 3.75)


def test_a_twisted_wall_has_planar_ends_and_triangles_between():
    """+w/100 at the right shoulder, -w/100 at the left: the inside face at the top right leans in by 22.5/100."""
    twist = 0.01 * 22.5 * np.array([-1, 1, -1, 1])
    faces = made(inside=np.array([twist, twist, -twist, -twist]))
    back = walls(BOX, faces)[3]
    assert len(back.loops) == 4 + 2 * (2 + 4)
    meets = contact_vertices(BOX, faces)[0, 1, :, 1]  # right-back, shoulder, the plain wall's vertices
    assert meets[:, 1] == pytest.approx([35 + 0.225, 35 - 0.225] * 2)
    assert exact(build(bird_design(), faces).part("back wall").shape).isValid()


def test_as_made_walls_are_valid_solids_of_the_closed_form_s_volume():
    rng = np.random.default_rng(8)
    for _ in range(5):
        twist = rng.normal(0, 0.2, (4, 1)) * np.array([-1, 1, -1, 1]) + rng.normal(0, 0.2, (4, 1)) * [-1, -1, 1, 1]
        worked = {name: rng.normal(0, 0.4, (4, 4)) for name in ("plain_end", "lapped_end", "cheek", "shoulder")}
        faces = made(**worked, inside=twist, thickness=rng.normal(0, 0.2, 4), height=rng.normal(0, 0.2, 4))
        whole = build(bird_design(), faces, rng.normal(0, 0.005, (4, 4)))
        for part, shape in zip(whole.parts[:4], whole.walls, strict=True):
            assert exact(part.shape).Volume() == pytest.approx(part.facts.volume, rel=1e-9)
            assert solid_of(shape).Volume() == pytest.approx(shape.volume, rel=1e-12)
            assert flat("wall", shape).volume() == pytest.approx(shape.volume, rel=1e-12)


def test_a_bore_s_volume_is_exact_off_centre_and_on_sloping_faces():
    """A wedge of thickness 10 + x/10: a bore of radius 4 on x = 3 takes π 16 (10 + 0.3), the thickness on its axis."""
    plan = np.array([[-20, 0], [20, 0], [20, 12.0], [-20, 8.0]])
    wedge = prism(np.stack([np.column_stack([plan, np.full(4, z)]) for z in (-15.0, 15.0)], axis=1))
    assert volume_in_bore(wedge, (3.0, 2.0), 4.0) == pytest.approx(math.pi * 16 * 10.3, rel=1e-12)
    # Half over the end: half a disc, whose centroid lies 4 r / 3 π inside the end at x = 20, where it is 12 thick
    half = math.pi * 8 * (12 - 16 / (3 * math.pi) / 10)
    assert volume_in_bore(wedge, (20.0, 0.0), 4.0) == pytest.approx(half, rel=1e-12)


def test_a_cable_hole_in_a_twisted_wall_takes_what_the_kernel_takes():
    twist = 0.01 * 22.5 * np.array([-1, 1, -1, 1])
    faces = made(inside=np.array([twist, twist, -twist, -twist]), height=np.array([0, 0, 0, 0.4]))
    back = walls(BOX, faces)[3]
    bit = cq.Solid.makeCylinder(4, 40, cq.Vector(1.5, 20, -0.7), cq.Vector(0, 1, 0))
    taken = solid_of(back).intersect(bit).Volume()
    assert volume_in_bore(back, (1.5, -0.7), 4.0) == pytest.approx(taken, rel=1e-9)


def test_the_cable_hole_is_where_the_made_wall_s_diagonals_cross():
    """0.6 left on the right end moves the middle by 0.3; a wall 0.4 taller moves it up by 0.2."""
    faces = made(plain_end=one_face(0, [0.6] * 4), height=np.array([0, 0, 0, 0.4]))
    solid = exact(build(bird_design(), faces).part("back wall").shape)
    bore = next(face for face in solid.Faces() if face.geomType() == "CYLINDER")
    assert bore.Center().toTuple() == pytest.approx((0.3, 40, 0.2))


def test_a_pose_turns_about_the_origin_and_then_shifts():
    """A quarter turn about z takes (1, 0, 0) to (0, 1, 0); a lean about y takes z to x, about x takes z to -y."""
    quarter = math.pi / 2
    assert matrix_of(1, np.array([5, 6, quarter, 0])) @ [1, 0, 0, 1] == pytest.approx([5, 7, 0, 1])
    assert matrix_of(0, np.array([0, 0, 0, quarter])) @ [0, 0, 1, 1] == pytest.approx([1, 0, 0, 1])
    assert matrix_of(3, np.array([0, 0, 0, quarter])) @ [0, 0, 1, 1] == pytest.approx([0, -1, 0, 1])
    both = matrix_of(2, np.array([0, 0, 0.3, 0.4]))[:3, :3]  # one turn of 0.5 about (0.4, 0, 0.3)
    assert both @ [0.4, 0, 0.3] == pytest.approx([0.4, 0, 0.3])
    assert np.trace(both) == pytest.approx(1 + 2 * math.cos(0.5))
    assert both @ both.T == pytest.approx(np.eye(3))


def test_a_height_that_is_no_number_never_reaches_the_kernel():
    faces = made(cheek=one_face(0, [np.nan, 0, 0, 0]))
    assert refusal(build, bird_design(), faces) == (
        "right wall: a corner's place is not a number; check the sizes and errors that it was made from"
    )


def test_a_pose_that_is_no_number_never_reaches_the_kernel():
    poses = np.full((4, 4), np.inf)
    assert refusal(build, bird_design(), None, poses) == (
        "walls: a shift or a turn is not a number; check the settled place that was handed over"
    )


def test_faces_that_cross_are_refused():
    """A cheek overcut by 8 in a tongue of 7.5."""
    faces = made(cheek=one_face(0, [-8.0] * 4))
    assert refusal(build, bird_design(), faces) == (
        "right wall: faces that follow one another along x are -0.500 mm apart, must be at least 0.01 mm; "
        "the errors are too large for this timber"
    )


def test_an_inside_face_that_is_not_planar_is_refused():
    faces = made(inside=one_face(3, [0.1, -0.1, -0.1, 0.1]))
    assert refusal(build, bird_design(), faces) == (
        "front wall: its inside face over a shoulder is 0.1 mm off a plane; bow and twist leave it planar"
    )
