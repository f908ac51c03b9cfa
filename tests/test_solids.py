"""Solids against closed forms, against a second way of making them, and against bad numbers."""

import math
import subprocess
import sys
from dataclasses import replace

import cadquery as cq
import numpy as np
import pytest
import trimesh
from designs import designs
from fitted import bird_design, made, one_face, refusal
from hypothesis import given, settings
from sweep import some
from together import CONTACT_VOLUME, corner_clearances, corner_overlaps, mesh_solid, overlaps, settled_walls

from assembly.made.records import MadeFaces
from assembly.nominal.fittings import fittings
from assembly.nominal.frame import LAPPED_AT, PLAIN_AT, frame
from assembly.solids.box import box_arrays, build
from assembly.solids.kernel import checked, exact, solid_of
from assembly.solids.meshes import mesh_of
from assembly.solids.parts import PART_NAMES, placement
from assembly.solids.polyhedron import prism
from assembly.solids.shapes import Shape, screw_shape, sheet_shape
from assembly.solids.walls import walls

IN_PLACE = np.zeros((4, 4))
BOX = frame(bird_design())
LAPPED_VOLUME = 90 * 45 * 15 - 2 * 10 * 45 * 7.5  # W H T - 2 t H D
PLAIN_VOLUME = 145 * 45 * 10  # (L - 2 K) H t


@pytest.fixture(scope="module")
def box():
    return build(bird_design())


# Nominal


def test_nominal_walls_have_the_volumes_worked_out_by_hand(box):
    pilot, cable = math.pi / 4 * 2.5**2 * 19, math.pi / 4 * 8**2 * 10
    expected = [LAPPED_VOLUME - pilot] * 2 + [PLAIN_VOLUME, PLAIN_VOLUME - cable]
    assert [exact(part.shape).Volume() for part in box.parts[:4]] == pytest.approx(expected, rel=1e-12)


def test_other_parts_have_the_volumes_worked_out_by_hand(box):
    def drill(diameter, depth):
        return math.pi / 4 * diameter**2 * depth

    sink = math.pi * 1.5 * ((3.5**2 + 3.5 * 2 + 2**2) / 3 - 2**2)  # a cone from 7 to 4 wide, less the hole in it
    lid = 166 * 96 * 6 - drill(8, 6) - 2 * drill(4, 6) - 2 * sink - 2 * drill(2, 4.5)
    plaque = 60 * (3 * 78 + math.pi / 4 * 27) - drill(7, 3) - 2 * drill(3.6, 3)
    found = {part.facts.name: exact(part.shape).Volume() for part in box.parts}
    assert found["base"] == pytest.approx(160 * 90 * 4, rel=1e-12)
    assert found["lid"] == pytest.approx(lid, rel=1e-12)
    assert found["plaque"] == pytest.approx(plaque, rel=1e-12)
    assert found["plaque washer 1"] == pytest.approx(drill(7, 0.5) - drill(3.2, 0.5), rel=1e-12)
    assert found["stem"] == pytest.approx(drill(6, 30), rel=1e-12)


def test_a_nominal_solid_is_clean(box):
    """Lapped: six faces, two laps of two more, the pilot hole's two. Plain: six, and one for the cable hole."""
    assert [len(exact(part.shape).Faces()) for part in box.parts[:4]] == [12, 12, 6, 7]
    assert [len(wall.loops) for wall in box.walls] == [10, 10, 6, 6]


def test_nominal_walls_are_those_cut_from_blocks(box):
    """A second way of making them: blocks placed by the drawing, the laps cut out; nothing differs either way."""

    def block(x, y, low_x, low_y):
        return cq.Solid.makeBox(x, y, 45, cq.Vector(low_x, low_y, -22.5))

    right = block(15, 90, 65, -45).cut(block(7.5, 10, 65, 35), block(7.5, 10, 65, -45))
    back = block(145, 10, -72.5, 35)
    for made_wall, drawn in [(box.walls[1], right), (box.walls[3], back)]:
        ours = solid_of(made_wall)
        assert ours.cut(drawn).Volume() == pytest.approx(0, abs=1e-9)
        assert drawn.cut(ours).Volume() == pytest.approx(0, abs=1e-9)


def test_nominal_walls_assemble_without_overlap_and_without_gap(box):
    """Both kernels, on the four corners: no shared volume, no distance, and the joints' whole area in touch."""
    meshes = settled_walls(BOX, MadeFaces.nominal(), IN_PLACE)
    assert corner_overlaps(meshes) == pytest.approx(np.zeros(4), abs=CONTACT_VOLUME)
    assert corner_clearances(meshes, 5.0) == pytest.approx(np.zeros(4), abs=1e-9)
    solids = [solid_of(wall) for wall in box.walls]
    for lapped, plain in zip(LAPPED_AT, PLAIN_AT, strict=True):
        assert solids[lapped].intersect(solids[plain]).Volume() == pytest.approx(0, abs=CONTACT_VOLUME)
        assert solids[lapped].distance(solids[plain]) == pytest.approx(0, abs=1e-9)
    whole = solids[0].fuse(*solids[1:])
    touching = 4 * (10 + 7.5) * 45  # mm²: cheek t H and shoulder D H at four corners, hidden from both sides
    assert sum(s.Area() for s in solids) - whole.Area() == pytest.approx(2 * touching, rel=1e-9)


def test_no_errors_are_the_nominal_box(box):
    same = build(bird_design(), MadeFaces.nominal(), IN_PLACE)
    for one, other in zip(box.walls, same.walls, strict=True):
        assert np.array_equal(one.vertices, other.vertices)
        assert one.loops == other.loops
    for one, other in zip(box.parts, same.parts, strict=True):
        assert exact(one.shape).Volume() == exact(other.shape).Volume()
        assert np.array_equal(one.facts.closed, other.facts.closed)


@settings(max_examples=some(30))
@given(designs())
def test_any_valid_design_builds_and_assembles_without_overlap(design):
    """Walls, base, lid and plaque share nothing; what threads share with their pilot holes is left out."""
    whole = build(design)
    meshes = settled_walls(whole.frame, MadeFaces.nominal(), IN_PLACE)
    assert corner_overlaps(meshes) == pytest.approx(np.zeros(4), abs=CONTACT_VOLUME)
    assert corner_clearances(meshes, 5.0) == pytest.approx(np.zeros(4), abs=1e-9)
    flat = [part for part in box_arrays(whole) if part.facts.group != "fittings"]
    assert overlaps(flat) == {}


def test_heads_and_stem_are_clear_of_the_sheets_and_threads_bite_their_pilots(box):
    """What is shared is the thread beyond its pilot hole alone: a cylinder about a smaller one, less the tip's part."""
    shared = overlaps(box_arrays(box))
    bites = {("left wall", "left lid screw"), ("right wall", "right lid screw")}
    bites |= {("lid", f"plaque screw {n}") for n in (1, 2)}
    assert {pair for pair, volume in shared.items() if volume > 1e-4} == bites  # chords on the rim leave 1e-6 mm³
    # Wall: thread from z = 22.5 down to 28.5 - 25 + 3.5 = 7, then a 3.5 high cone down to the pilot's radius
    thread = math.pi * (1.75**2 - 1.25**2) * (22.5 - 7)
    cone = 3.5 * (1 - 1.25 / 1.75)
    tip = math.pi * cone / 3 * (1.75**2 + 1.75 * 1.25 + 1.25**2) - math.pi * 1.25**2 * cone
    assert shared["left wall", "left lid screw"] == pytest.approx(thread + tip, rel=5e-3)  # triangles for circles


# Facts, places, arrays


def test_parts_are_fourteen_and_told_in_full(box):
    assert tuple(part.facts.name for part in box.parts) == PART_NAMES
    facts_of = {part.facts.name: part.facts for part in box.parts}
    assert facts_of["left wall"].role == "lapped wall, left end"
    assert facts_of["back wall"].role == "plain wall, back side"
    assert facts_of["left wall"].size == (90, 45, 15)
    assert facts_of["back wall"].size == (145, 45, 10)
    assert facts_of["lid"].size == (166, 96, 6)
    assert facts_of["plaque"].size == pytest.approx((78 + math.pi / 2 * 4.5, 60, 3))
    assert facts_of["left wall"].material == "pine, Scots"
    assert facts_of["stem"].role == "knob"
    assert {facts.group for facts in facts_of.values()} == {"walls", "sheets", "fittings"}
    assert all(name.isascii() for name in facts_of)
    assert [facts_of[name].kind for name in PART_NAMES[7:13]] == [
        *["lid screw"] * 2, *["plaque screw"] * 2, *["plaque washer"] * 2
    ]  # fmt: skip
    with pytest.raises(KeyError):
        box.part("hinge")


@pytest.mark.parametrize("turned", ["up", "down"])
def test_drawn_apart_no_part_touches_another(turned):
    """Least distance between any two parts, by the mesh kernel, at explode 1."""
    plaque = {"turned": turned, "stem_to_bend": 60.0, "flat_leg": 80.0}
    meshes = [mesh_solid(part, 1.0) for part in box_arrays(build(bird_design(**plaque)))]
    gaps = [a.min_gap(b, 100.0) for i, a in enumerate(meshes) for b in meshes[:i]]
    assert min(gaps) > 1.5


def test_parts_move_apart_in_proportion(box):
    lid = box.part("lid").facts
    assert np.array_equal(placement(lid, 0.0), np.eye(4))
    assert placement(lid, 0.5)[:3, 3] == pytest.approx(placement(lid, 1.0)[:3, 3] / 2)


def test_arrays_are_watertight_and_hold_the_part_s_volume(box):
    """Chords turn by at most 0.1 rad, so round parts lose at most 1 - sin(0.1)/0.1 = 0.17 % of what is round.

    Of the sheets only holes and a bend are round: the bend most, 1272 of 15137 mm³.
    """
    for part in box_arrays(box):
        mesh = trimesh.Trimesh(part.vertices, part.triangles, process=False)
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        round_part = part.facts.group == "fittings"
        assert mesh.volume == pytest.approx(part.facts.volume, rel=1.7e-3 if round_part else 1.5e-4)
        assert not np.isin(np.arange(len(part.vertices)), part.triangles, invert=True).any()


def test_edges_are_the_true_edges(box):
    """A block has twelve; a lap adds two uprights and leaves the way round as it was; fans show none."""
    arrays = {part.facts.name: part for part in box_arrays(box)}

    def total(edges):
        return np.linalg.norm(edges[:, 1] - edges[:, 0], axis=1).sum()

    assert total(arrays["front wall"].edges) == pytest.approx(4 * (145 + 45 + 10))
    around = 2 * (90 + 15)  # a rebate at an end leaves the way round as it was

    def alone(body):
        shape = Shape(name="left wall", body=body, gross=body.volume, bounds=body.bounds)
        return mesh_of(shape)

    lapped = alone(box.walls[0])
    assert total(lapped.edges) == pytest.approx(2 * around + 8 * 45)
    uneven = made(cheek=one_face(2, [0.2, -0.2, -0.2, 0.2]))
    wall = walls(BOX, uneven)[0]
    assert len(wall.loops) == 13
    assert len(alone(wall).edges) == len(lapped.edges)


# Bad numbers


def test_a_leg_shorter_than_its_bend_is_refused():
    assert refusal(build, bird_design(upright_leg=5)) == (
        "plaque: straight part of the standing leg is -1 mm, must be at least 0.01 mm"
    )


def test_a_hole_without_depth_is_refused():
    fitted = fittings(bird_design())
    flat = replace(fitted.holes_of("lid")[0], depth=math.nan)
    assert refusal(sheet_shape, "lid", fitted.lid, [flat]) == (
        "lid, centre hole: depth is nan mm, must be at least 0.01 mm"
    )


def test_a_hole_over_the_edge_is_told_by_its_volume():
    fitted = fittings(bird_design())
    over = replace(fitted.holes_of("lid")[0], centre=(83.0, 0.0, 28.5))
    assert refusal(exact, sheet_shape("lid", fitted.lid, [over])) == (
        "lid: volume is 95465.2 mm³, must be 95314.4 mm³; a hole or a bend runs over the part's edge or into another"
    )


def test_a_hole_wider_than_its_part_leaves_two_solids():
    fitted = fittings(bird_design())
    wide = replace(fitted.holes_of("lid")[0], diameter=100.0)
    assert refusal(exact, sheet_shape("lid", fitted.lid, [wide])) == (
        "lid: came out as 2 solids, must be 1; a hole or a bend does not fit its part"
    )


def test_a_screw_that_is_all_head_is_refused():
    fastener = fittings(bird_design()).fasteners[0]
    short = replace(fastener, screw=fastener.screw.model_copy(update={"length": 1.0}))
    assert refusal(screw_shape, short) == (
        "left lid screw: length between head and tip is -0.375 mm, must be at least 0.01 mm"
    )


def test_a_part_of_another_size_or_kind_is_told():
    cube = cq.Solid.makeBox(10, 10, 10)
    bounds = np.array([[0.0, 0, 0], [10, 10, 10]])
    assert checked("cube", cube, volume=1000, bounds=bounds) is not None
    assert refusal(checked, "cube", cube, volume=1000.1, bounds=bounds) == (
        "cube: volume is 1000 mm³, must be 1000.1 mm³; a hole or a bend runs over the part's edge or into another"
    )
    assert refusal(checked, "cube", cube, volume=1000, bounds=bounds + 0.5) == (
        "cube: reaches 0.5 mm beyond or short of its place, must be within 0.0001 mm"
    )
    plan = np.array([[0.0, 0], [10, 10], [10, 0], [0, 8]])  # an outline that crosses itself
    bow_tie = solid_of(prism(np.stack([np.column_stack([plan, np.full(4, z)]) for z in (0.0, 5.0)], axis=1)))
    assert refusal(checked, "tie", bow_tie, volume=1.0, bounds=bounds) == (
        "tie: its faces cross and make no valid solid; its sizes or errors do not go together"
    )


def test_a_hole_as_deep_as_its_part_goes_right_through():
    fitted = fittings(bird_design())
    lid = sheet_shape("lid", fitted.lid, fitted.holes_of("lid")[:1])
    assert [bore.hole.depth for bore in lid.bores] == [7.0]  # 6 mm and a run on
    assert len(exact(lid).Faces()) == 7


def test_what_the_viewer_needs_loads_no_kernel():
    code = (
        "import assembly.solids.parts, assembly.solids.facts, assembly.solids.walls, assembly.writers.formats, sys\n"
        "print({'OCP', 'cadquery', 'trimesh', 'manifold3d'} & sys.modules.keys())"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "set()\n"
