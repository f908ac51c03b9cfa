"""Sizes and places of everything but the walls, against figures worked out by hand for 160 x 90 x 45, T 15, t 10."""

import itertools
import math

import numpy as np
import pytest
from fitted import bird_design

from assembly.nominal.fittings import fittings


def hole(design, name, part):
    return next(h for h in fittings(design).holes if (h.name, h.part) == (name, part))


def test_the_cable_hole_is_at_the_very_centre_of_the_back_wall():
    """A fact of the trade (common practice, no source): centre of the wall, square through it."""
    found = hole(bird_design(), "cable hole", "back wall")
    assert found.centre == (0, 45, 0)
    assert found.axis == (0, -1, 0)
    assert (found.diameter, found.depth) == (8, 10)


def test_the_base_is_sawn_oversize_and_finished_flush():
    """A fact of the trade (common practice, no source): 2 mm over on every side, brought flush with the frame."""
    fitted = fittings(bird_design())
    assert fitted.base_raw == (164, 94)
    assert (fitted.base.along_x, fitted.base.along_y, fitted.base.bottom, fitted.base.top) == (160, 90, -26.5, -22.5)


def test_the_lid_stands_out_by_its_overhang_and_lies_on_the_walls():
    lid = fittings(bird_design()).lid
    assert (lid.along_x, lid.along_y, lid.bottom, lid.top) == (166, 96, 22.5, 28.5)
    assert lid.volume == 166 * 96 * 6


def test_lid_screws_stand_in_the_middle_of_the_lapped_walls_top_edges():
    fitted = fittings(bird_design())
    left, right = fitted.holes_of("left wall") + fitted.holes_of("right wall")
    assert (left.centre, right.centre) == ((-72.5, 0, 22.5), (72.5, 0, 22.5))
    assert (left.diameter, left.depth) == (2.5, 25 - 6)
    assert {h.name for h in fitted.holes_of("lid")} == {
        "centre hole",
        "left lid screw hole",
        "right lid screw hole",
        "left lid screw countersink",
        "right lid screw countersink",
        "plaque pilot hole 1",
        "plaque pilot hole 2",
    }
    clearance = hole(bird_design(), "left lid screw hole", "lid")
    assert (clearance.centre, clearance.diameter, clearance.depth) == ((-72.5, 0, 28.5), 4, 6)


def test_lapped_sides_take_the_lid_screws_to_front_and_back_and_leave_the_lid_where_it_is():
    """Screws are in the middle of 15 mm walls, 90/2 from the middle: 45 - 7.5 = 37.5; also with an end to the front."""
    design = bird_design()
    for front, lid, places in (
        ("side", (166, 96), [(0, -37.5), (0, 37.5)]),
        ("end", (96, 166), [(-37.5, 0), (37.5, 0)]),
    ):
        drawn = design.box.model_copy(update={"lapped": "sides", "front": front})
        fitted = fittings(design.model_copy(update={"box": drawn}))
        assert (fitted.lid.along_x, fitted.lid.along_y) == lid
        assert [f.place[:2] for f in fitted.fasteners[:2]] == places


def test_a_countersunk_head_lies_flush_and_a_round_one_on_its_washer():
    """Lengths count from the lid's face at 28.5, and from a washer of 0.5 on the plaque's at 31.5: common practice."""
    lid_screw, *_, plaque_screw = fittings(bird_design()).fasteners
    assert lid_screw.place[2] == 28.5
    assert plaque_screw.place[2] == 31.5 + 0.5
    assert lid_screw.washer is None
    washer = plaque_screw.washer
    assert (washer.name, washer.diameter, washer.hole, washer.thickness) == ("plaque washer 2", 7, 3.2, 0.5)
    assert washer.place == (*plaque_screw.place[:2], 31.5)


def test_a_countersink_goes_down_to_where_its_cone_meets_the_hole():
    """90 degrees from 7 to 4 wide: 1.5 deep; a frustum of 5.5 less the hole's cylinder of that depth."""
    found = hole(bird_design(), "left lid screw countersink", "lid")
    assert (found.centre, found.diameter, found.depth) == ((-72.5, 0, 28.5), 7, 1.5)
    frustum = math.pi * 1.5 / 3 * (3.5**2 + 3.5 * 2 + 2**2)
    assert found.volume == pytest.approx(frustum - math.pi * 2**2 * 1.5, rel=1e-12)
    assert not [each for each in fittings(bird_design()).holes_of("plaque") if each.use == "countersink"]


def test_a_round_head_is_half_a_spheroid():
    """2/3 π r² h, in twelve bands that lie inside it; below, a shank of 8 - 3 and a point of 3."""
    screw = fittings(bird_design()).fasteners[-1]
    below = math.pi * 1.5**2 * (5 + 3 / 3)
    head = screw.volume - below
    assert 0.985 < head / (2 / 3 * math.pi * 2.75**2 * 2.1) < 1
    # the same from Simpson's rule, exact for frustums, over the squares of the bands' radii
    rim = [(2.75 * math.sin(t), 2.1 * math.cos(t)) for t in np.linspace(0, math.pi / 2, 13)]
    parts = [(a[1] - b[1]) / 6 * (a[0] ** 2 + (a[0] + b[0]) ** 2 + b[0] ** 2) for a, b in itertools.pairwise(rim)]
    assert head == pytest.approx(math.pi * sum(parts), rel=1e-12)


def test_plaque_pilot_holes_go_as_deep_as_the_screw_and_at_most_through_the_lid():
    assert hole(bird_design(), "plaque pilot hole 1", "lid").depth == 8 - 0.5 - 3
    design = bird_design()
    long = design.plaque.screw.model_copy(update={"length": 20.0})
    design = design.model_copy(update={"plaque": design.plaque.model_copy(update={"screw": long})})
    assert hole(design, "plaque pilot hole 1", "lid").depth == 6


def test_a_right_angle_s_developed_length_worked_out_by_hand():
    """90 degrees, t = 3, r = 3, k = 0.5: setback 6, allowance π/2 x 4.5, straights 44 and 34."""
    plaque = fittings(bird_design()).plaque
    assert (plaque.flat_straight, plaque.upright_straight) == pytest.approx((44, 34))
    assert plaque.developed == pytest.approx(44 + 34 + math.pi / 2 * 4.5, rel=1e-12)
    assert plaque.bend_line == pytest.approx(44 + math.pi / 4 * 4.5, rel=1e-12)
    assert plaque.volume == pytest.approx(60 * (3 * 78 + math.pi / 4 * (36 - 9)), rel=1e-12)


def test_a_neutral_line_in_the_middle_keeps_the_volume():
    """With k = 0.5 the flat sheet holds as much as the bent one (Pappus: the middle line is the centroid's path)."""
    for angle in (30, 90, 140):
        plaque = fittings(bird_design(angle=angle, flat_leg=80, upright_leg=80)).plaque
        assert plaque.developed * 60 * 3 == pytest.approx(plaque.volume, rel=1e-12)


def test_a_neutral_line_further_in_shortens_the_sheet():
    """k from 0.5 to 0.3 takes 0.2 t θ off: 0.6 x π/2 at 90 degrees."""
    half, less = (fittings(bird_design(neutral_share=k)).plaque.developed for k in (0.5, 0.3))
    assert half - less == pytest.approx(0.6 * math.pi / 2, rel=1e-12)


@pytest.mark.parametrize(
    ("side", "towards", "first"),
    [
        ("back", (0, 1), (-20, 5)),
        ("front", (0, -1), (20, -5)),
        ("right", (1, 0), (5, 20)),
        ("left", (-1, 0), (-5, -20)),
    ],
)
def test_the_plaque_bends_beside_the_edge_that_is_named(side, towards, first):
    """Stem hole over (0, 0); screw holes 5 towards the bend, 20 each way along it; standing leg's outside 30 away."""
    fitted = fittings(bird_design(side=side, hole_offset=5))
    low, high = fitted.plaque.bounds()
    reach = np.array(towards) * 30
    axis = int(np.abs(reach).argmax())
    assert (high if sum(towards) > 0 else low)[axis] == pytest.approx(reach[axis])
    assert (low if sum(towards) > 0 else high)[axis] == pytest.approx(reach[axis] - 50 * np.sign(reach[axis]))
    stem, one, _, two, _ = (h for h in fitted.holes if h.name.startswith(("stem", "plaque")))
    assert stem.centre[:2] == (0, 0)
    assert one.centre[:2] == pytest.approx(first)
    assert np.add(one.centre, two.centre)[:2] == pytest.approx(2 * 5 * np.array(towards))


def test_holes_on_the_flat_sheet_lie_from_its_free_edge():
    """The flat leg is 50 long and its outside 30 beyond the stem hole, so its free edge is 20 behind it."""
    holes = fittings(bird_design(hole_offset=5)).plaque.flat_holes
    assert holes == (("stem hole", 0, 20, 7), ("screw hole 1", -20, 25, 3.6), ("screw hole 2", 20, 25, 3.6))


@pytest.mark.parametrize("angle", [40, 90, 120])
@pytest.mark.parametrize("turned", ["up", "down"])
def test_bounds_are_those_of_the_outline_s_own_points(angle, turned):
    """A second way: arcs sampled every thousandth of the turn about the bend's centre, legs added at both ends."""
    plaque = fittings(bird_design(angle=angle, turned=turned, flat_leg=60, upright_leg=60)).plaque
    theta, set_back = math.radians(angle), 6 * math.tan(math.radians(angle) / 2)
    phi = np.linspace(0, theta, 1001)
    u = [30 - 60, *(30 - set_back + 6 * np.sin(phi)), *(30 - set_back + 3 * np.sin(phi))]
    h = [0, *(6 - 6 * np.cos(phi)), *(6 - 3 * np.cos(phi))]
    for radius in (3, 6):
        u.append(30 - set_back + radius * math.sin(theta) + (60 - set_back) * math.cos(theta))
        h.append(6 - radius * math.cos(theta) + (60 - set_back) * math.sin(theta))
    z = 28.5 + np.array(h) if turned == "up" else 31.5 - np.array(h)
    low, high = plaque.bounds()
    assert (low[1], high[1]) == pytest.approx((min(u), max(u)), abs=1e-5)
    assert (low[2], high[2]) == pytest.approx((z.min(), z.max()), abs=1e-5)
    assert (low[0], high[0]) == (-30, 30)


def test_stem_and_screw_volumes_worked_out_by_hand():
    fitted = fittings(bird_design())
    assert fitted.stem.volume == pytest.approx(math.pi * 9 * 30)
    assert fitted.stem.bottom == 22.5
    head = 1.75 * math.pi / 3 * (3.5**2 + 3.5 * 1.75 + 1.75**2)  # frustum from 7 to 3.5 wide
    shank, tip = math.pi * 1.75**2 * (25 - 1.75 - 3.5), math.pi * 1.75**2 * 3.5 / 3
    assert fitted.fasteners[0].volume == pytest.approx(head + shank + tip)
