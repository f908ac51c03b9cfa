"""A printed model's play: what touches on the drawing is a gap apart, in numbers, in meshes and in the exact kernel."""

import math
from dataclasses import replace
from itertools import combinations

import manifold3d
import numpy as np
import pytest
from designs import designs
from fitted import bird_design
from hypothesis import HealthCheck, Phase, assume, given, settings

from assembly.errors import SolidError
from assembly.model.design import RoundHead
from assembly.nominal.fittings import fittings
from assembly.solids.box import box_arrays, build
from assembly.solids.easing import as_drawn, eased
from assembly.solids.thin import walls_of
from assembly.writers.step import assembly_of, placed_solids

FEW = settings(
    max_examples=5, deadline=None, derandomize=True, phases=[Phase.generate], suppress_health_check=list(HealthCheck)
)


def bird(**plaque):
    """Return the design of `fitted`, its plaque changed."""
    design = bird_design()
    return design.model_copy(update={"plaque": design.plaque.model_copy(update=plaque)})


def turned():
    """Return that design with its lapped walls at front and back, and lid screws that end over the cable hole."""
    design = bird_design(flat_leg=40, stem_to_bend=20)
    screw = design.lid.screw.model_copy(update={"length": 18})
    lid = design.lid.model_copy(update={"screw": screw})
    return design.model_copy(update={"lid": lid, "box": design.box.model_copy(update={"lapped": "sides"})})


def touching(design):
    """Return the pairs of parts whose flat faces touch on the drawing."""
    fitted, walls = fittings(design), [f"{wall} wall" for wall in as_drawn(design).frame.walls]
    pairs = {(lapped, plain) for lapped in walls[:2] for plain in walls[2:]}
    pairs |= {(wall, sheet) for wall in walls for sheet in ("base", "lid")}
    pairs |= {("lid", "plaque")} if fitted.plaque else set()
    return pairs | {(washer.holds, washer.name) for washer in fitted.washers}


def bodies(box, scale):
    """Return every part of a closed box as a body of the mesh kernel, at a scale."""
    return {
        part.facts.name: manifold3d.Manifold(
            manifold3d.Mesh64(
                vert_properties=np.ascontiguousarray(part.placed() * scale), tri_verts=part.triangles.astype(np.uint64)
            )
        )
        for part in box_arrays(box)
    }


@given(design=designs())
@FEW
def test_faces_that_touch_are_the_clearance_apart_and_nothing_is_nearer_than_half_of_it(design):
    """Random designs at 1:2: flat faces 0.2 mm apart; round ones half of that on each side, less a chord's 0.1 %.

    A countersunk head's cone, at 45 degrees, is nearer to its own by that angle's sine; a lid whose edge is where the
    plaque's bend begins is nearer to its first chord.
    """
    clearance, size = 0.2, 2.0
    assume(min(wall.size for wall in walls_of(eased(as_drawn(design), clearance * size))) > 0.05)
    found = bodies(build(design, gap=clearance * size), 1 / size)
    flat = touching(design)
    cones = {fastener.name for fastener in fittings(design).fasteners if not fastener.screw.round_head}
    for one, other in combinations(found, 2):
        apart = found[one].min_gap(found[other], 0.3)
        if (one, other) in flat or (other, one) in flat:
            near = 5e-4 if "plaque" in {one, other} else 1e-9
            assert apart == pytest.approx(clearance, abs=near), (one, other)
        else:
            assert apart > clearance / 2 * (math.sin(math.pi / 4) if {one, other} & cones else 1) * 0.997, (one, other)


def sizes(fitted):
    """Return the diameters of holes and of what passes them, by name."""
    holes = {hole.name: hole.diameter for hole in fitted.holes} | {each.name: each.hole for each in fitted.washers}
    pins = {each.name: each.screw.diameter for each in fitted.fasteners}
    return holes | pins | ({"stem": fitted.stem.diameter} if fitted.stem else {})


def test_round_pairs_differ_by_the_gap_in_diameter_and_each_gives_half_of_what_it_lacks():
    """By hand, for a gap of 0.4. The stem of 6 lacks nothing in 8, and in 6.3 lacks 0.1: half each, 5.95 and 6.35.

    A screw gives half to its pilot hole, as if that were drilled to its thread: 3.5 is 3.3, its pilot 3.7, and its hole
    of 4 does; 3 is 2.8 with a pilot of 3.2, its hole of 3.6 does, its washer's of 3.1 is 3.2 as 2.8 + 0.4.
    """
    screw = bird_design().plaque.screw
    head = RoundHead(height=2.1, washer=7, washer_hole=3.1, washer_thickness=0.5)
    design = bird(stem_hole=6.3, screw=screw.model_copy(update={"round_head": head}))
    drawn = as_drawn(design)
    before, after = sizes(drawn.fittings), sizes(eased(drawn, 0.4).fittings)
    changed = {name: (size, after[name]) for name, size in before.items() if after[name] != pytest.approx(size)}
    assert {name: pytest.approx(pair) for name, pair in changed.items()} == {
        "stem": (6, 5.95),
        "stem hole": (6.3, 6.35),
        "left lid screw": (3.5, 3.3),
        "right lid screw": (3.5, 3.3),
        "left lid screw countersink": (7, 7.2),
        "right lid screw countersink": (7, 7.2),
        "left pilot hole": (2.5, 3.7),
        "right pilot hole": (2.5, 3.7),
        "plaque screw 1": (3, 2.8),
        "plaque screw 2": (3, 2.8),
        "plaque pilot hole 1": (2, 3.2),
        "plaque pilot hole 2": (2, 3.2),
        "plaque washer 1": (3.1, 3.2),
        "plaque washer 2": (3.1, 3.2),
    }
    assert eased(drawn, 0.4).fittings.fasteners[0].screw.head == pytest.approx(6.8)


def test_heights_of_what_lies_on_one_another():
    """By hand, for a gap of 0.4, on walls from -22.5 to 22.5, a base of 4, a lid of 6, a plaque of 3, a washer of 0.5.

    Every face gives 0.2; the washer keeps its thickness and lies 0.2 higher, its screw's head 0.4 over it. Tips are
    0.4 over the bottoms of their holes.
    """
    box, _, fitted = eased(as_drawn(bird_design()), 0.4)
    assert box.height == pytest.approx(44.6)
    assert (fitted.base.bottom, fitted.base.top) == pytest.approx((-26.5, -22.7))
    assert (fitted.lid.bottom, fitted.lid.top) == pytest.approx((22.7, 28.3))
    assert (fitted.plaque.underside, fitted.plaque.thickness) == pytest.approx((28.7, 2.6))
    washer, screw, pilot = fitted.washers[0], fitted.fasteners[2], fitted.holes_of("lid", "pilot")[0]
    assert (washer.place[2], washer.thickness) == pytest.approx((31.7, 0.5))
    assert screw.place[2] == pytest.approx(32.6)
    assert screw.place[2] - screw.screw.length == pytest.approx(32 - 8 + 0.2)
    assert pilot.centre[2] - pilot.depth == pytest.approx(32 - 8 - 0.2)
    screw, pilot = fitted.fasteners[0], fitted.holes_of("left wall", "pilot")[0]
    assert (screw.place[2], pilot.centre[2]) == pytest.approx((28.3, 22.3))
    assert screw.place[2] - screw.screw.length == pytest.approx(28.5 - 25 + 0.2)
    assert pilot.centre[2] - pilot.depth == pytest.approx(28.5 - 25 - 0.2)


@pytest.mark.parametrize("angle", [60.0, 90.0, 120.0])
@pytest.mark.parametrize("turns", ["up", "down"])
def test_the_plaques_faces_are_parallel_to_those_drawn(angle, turns):
    """Each of its outline's points lies half the gap inside the drawn outline, but for the ends of the legs."""
    if turns == "down" and angle > 90:
        return  # it would swing into the walls
    down = {"turned": "down", "stem_to_bend": 60, "flat_leg": 80, "upright_leg": 20} if turns == "down" else {}
    drawn = as_drawn(bird_design(angle=angle, **down))
    sheet, model = drawn.fittings.plaque, eased(drawn, 0.4).fittings.plaque
    shift = np.array([0, model.underside - sheet.underside if sheet.up else sheet.thickness - model.thickness - 0.2])
    ends, moved = sheet.profile(), model.profile() + (shift if sheet.up else [0, 0.2])
    assert shift[1] == pytest.approx(0.2)
    inwards = np.array([math.sin(sheet.angle), -math.cos(sheet.angle)]) * -0.2
    assert moved[4] == pytest.approx(ends[4] + inwards, abs=1e-9)  # the standing leg's end, outside
    assert moved[5] == pytest.approx(ends[5] - inwards, abs=1e-9)  # and inside
    assert moved[[0, 1]] == pytest.approx(ends[[0, 1]] + [0, 0.2], abs=1e-9)
    assert (model.flat_straight, model.upright_straight) == pytest.approx((sheet.flat_straight, sheet.upright_straight))


@pytest.mark.parametrize("design", [bird_design(), turned()])
def test_the_exact_kernel_measures_the_same_gaps(design):
    """A second kernel, at 1:2, both kinds of box: 0.2 between flat faces, 0.1 round a thread in its hole's middle."""
    solids = placed_solids(assembly_of(build(design, gap=0.4), 0.5))
    for one, other in touching(design):
        assert solids[one].distance(solids[other]) == pytest.approx(0.2, abs=1e-6), (one, other)
    screws = [fastener.name for fastener in fittings(design).fasteners if fastener.holds == "lid"]
    for screw in screws:
        wall = f"{screw.removesuffix(' lid screw')} wall"
        assert solids[screw].distance(solids[wall]) == pytest.approx(0.1, abs=1e-6)
        assert solids[screw].distance(solids["lid"]) == pytest.approx(0.1 * math.sqrt(0.5), abs=1e-6)  # cone in cone
    assert solids["plaque screw 1"].distance(solids["lid"]) == pytest.approx(0.1, abs=1e-6)


def test_no_skin_is_left_under_a_pilot_hole():
    """A plaque screw of 9.2 ends 0.3 over the lid's underside; less than a gap of 0.4 leaves no floor, and 0.2 does."""
    screw = bird_design().plaque.screw.model_copy(update={"length": 9.2})
    drawn = as_drawn(bird(screw=screw))
    for gap, left in ((0.2, 0.1), (0.4, 0.0)):
        fitted = eased(drawn, gap).fittings
        hole = fitted.holes_of("lid", "pilot")[0]
        assert fitted.lid.thickness - hole.depth == pytest.approx(left)
        build(bird(screw=screw), gap=gap)


def test_a_gap_of_nothing_changes_nothing():
    drawn = as_drawn(bird_design())
    assert eased(drawn, 0.0) is drawn
    for one, other in zip(build(bird_design()).parts, build(bird_design(), gap=0.0).parts, strict=True):
        assert np.array_equal(one.mesh.vertices, other.mesh.vertices)


def test_a_gap_that_eats_a_part_up_is_no_solid():
    """The numbers tell of it first; who builds it all the same gets a refusal and no inside-out part."""
    design = bird_design()
    assert min(walls_of(eased(as_drawn(design), 3.0)), key=lambda wall: wall.size)[:2] == ("plaque", "thickness")
    with pytest.raises(SolidError, match="plaque: thickness is 0 mm, must be at least"):
        build(design, gap=3.0)


# Walls


def test_the_walls_of_a_box_by_hand():
    """Sizes off the drawing: T = 15, t = 10, tongue 7.5; the lid 166 by 96, its screws 72.5 from its middle."""
    found = walls_of(as_drawn(bird_design()))
    walls = {wall[:2]: (pytest.approx(wall.size), wall.bond) for wall in found}
    assert len(walls) == len(found)
    by_hand = {
        ("left wall", "thickness"): (15, "made"),
        ("right wall", "tongue"): (7.5, "made"),
        ("front wall", "thickness"): (10, "made"),
        ("base", "thickness"): (4, "made"),
        ("lid", "thickness"): (6, "made"),
        ("lid", "beside its left lid screw countersink"): (83 - 72.5 - 3.5, "made"),
        ("lid", "between its centre hole and its left lid screw countersink"): (72.5 - 4 - 3.5, "made"),
        ("lid", "between its centre hole and its plaque pilot hole 1"): (20 - 4 - 1, "made"),
        ("lid", "under its left lid screw countersink"): (6 - 1.5, "left"),
        ("lid", "under its plaque pilot hole 1"): (6 - 4.5, "left"),
        ("plaque", "thickness"): (3, "made"),
        ("plaque", "beside its screw hole 1"): (30 - 20 - 1.8, "made"),
        ("plaque", "beside its stem hole"): (20 - 3.5, "made"),
        ("plaque", "between its screw hole 2 and its stem hole"): (20 - 1.8 - 3.5, "made"),
        ("left wall", "beside its left pilot hole"): (7.5 - 1.25, "made"),
        ("left wall", "under its left pilot hole"): (45 - 19, "left"),
        ("back wall", "beside its cable hole"): (22.5 - 4, "made"),
        ("left lid screw", "thread"): (3.5, "bought"),
        ("plaque screw 1", "head"): (2.1, "bought"),
        ("plaque washer 2", "thickness"): (0.5, "bought"),
        ("plaque washer 2", "ring"): ((7 - 3.2) / 2, "bought"),
        ("stem", "diameter"): (6, "bought"),
    }
    assert {key: walls[key] for key in by_hand} == by_hand


def test_the_walls_of_a_box_as_made_are_its_own():
    """A cheek 0.5 too deep at one corner, an outside face 0.2 shy: 6.8 are left of the tongue of 7.5 there."""
    drawn = as_drawn(bird_design())
    cheek, thickness = np.zeros((4, 4)), np.array([0, -0.2, 0, 0.3])
    cheek[0, 2] = -0.5  # right-back
    faces = replace(drawn.faces, cheek=cheek, thickness=thickness)
    walls = {wall[:2]: wall.size for wall in walls_of(drawn._replace(faces=faces))}
    assert walls["right wall", "tongue"] == pytest.approx(6.8)
    assert walls["right wall", "thickness"] == pytest.approx(14.8)
    assert walls["left wall", "tongue"] == pytest.approx(7.5)
    assert walls["back wall", "thickness"] == pytest.approx(10.3)


def test_a_pilot_hole_over_a_cable_hole_leaves_what_is_between_them():
    """Lapped walls at front and back, a screw of 18 in a lid of 6: 12 deep from 22.5, the cable hole's top at 4."""
    walls = {wall[:2]: wall.size for wall in walls_of(as_drawn(turned()))}
    assert walls["back wall", "between its back pilot hole and its cable hole"] == pytest.approx(22.5 - 12 - 4)
