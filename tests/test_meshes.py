"""Triangles and edges made without the exact kernel, against that kernel: its corners, edges, surfaces and volumes."""

import math
from dataclasses import fields, replace

import numpy as np
import pytest
import trimesh
from designs import designs
from fitted import bird_design, refusal
from hypothesis import given, settings
from OCP.BRepAdaptor import BRepAdaptor_Surface
from sweep import some

from assembly.files.reading import read_design, read_workshop
from assembly.files.shipped import shipped_designs
from assembly.made.sampling import draw_block, values
from assembly.nominal.fittings import fittings
from assembly.solids.bodies import CHORD, TURN, bit, chords
from assembly.solids.box import box_arrays, build
from assembly.solids.kernel import exact, solid_of
from assembly.solids.meshes import EDGE, mesh_of
from assembly.solids.polyhedron import Polyhedron, prism, unevenness, volume_in_bore
from assembly.solids.shapes import Shape, sheet_shape
from assembly.study.check import BoxModel

LOST = 1 - math.sin(TURN) / TURN  # the most that chords that turn by `TURN` lose of a disc
SEEDS, TIMES = (1, 2, 3), (1.0, 3.0)


def as_made_boxes(seeds=SEEDS):
    """Yield three boxes of each seed as beginners make the demo box, at true size and with larger errors."""
    design = read_design("frost_watch")
    model = BoxModel(design, read_workshop("new_to_tools"))
    for seed in seeds:
        faces, _, poses = model.settle(values(model.inputs, draw_block(model.inputs, 3, seed=seed, block=0)))
        for number in range(3):
            one, pose = faces.box(number), poses[..., number]
            for times in TIMES:
                arrays = {f.name: getattr(one, f.name) * times for f in fields(one) if f.name != "gauge_from"}
                yield build(design, replace(one, **arrays), pose * times)


def round_volume(shape):
    """Return the volume of what is round in a shape: all of a turned one, a plaque's bend, every bore."""
    bores = sum(bore.volume for bore in shape.bores)
    if isinstance(shape.body, Polyhedron):
        return bores
    if shape.name == "plaque":
        body = shape.body
        return bores + body.width * body.angle / 2 * (body.outside_radius**2 - body.inside_radius**2)
    return shape.gross


def off_surfaces(solid, points):
    """Return how far each point is from the nearest of the surfaces that an exact solid's faces lie on, mm."""
    found = []
    for face in solid.Faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        kind = face.geomType()
        frame = getattr(surface, kind.capitalize())().Position()
        origin, way = (
            np.array([getattr(at, axis)() for axis in "XYZ"]) for at in (frame.Location(), frame.Direction())
        )
        along = (points - origin) @ way
        off_axis = np.linalg.norm(points - origin - along[:, None] * way, axis=1)
        if kind == "PLANE":
            found.append(np.abs(along))
        elif kind == "CYLINDER":
            found.append(np.abs(off_axis - surface.Cylinder().Radius()))
        else:
            cone = surface.Cone()
            wide = cone.RefRadius() + along * math.tan(cone.SemiAngle())
            found.append(np.abs(off_axis - np.abs(wide)) * math.cos(cone.SemiAngle()))
    return np.min(found, axis=0)


def corners_of(solid):
    return np.array([vertex.toTuple() for vertex in solid.Vertices()])


def sharp_edges(solid):
    """Return the ends of a polyhedral solid's edges where two faces meet at more than `EDGE`, by the kernel."""
    normals = {}
    for face in solid.Faces():
        for edge in face.Edges():
            ends = tuple(sorted(tuple(np.round(vertex.toTuple(), 6) + 0.0) for vertex in edge.Vertices()))
            normals.setdefault(ends, []).append(np.array(face.normalAt().toTuple()))
    return {ends for ends, (one, other) in normals.items() if one @ other < math.cos(EDGE)}


def edge_set(edges):
    return {tuple(sorted(tuple(point) for point in np.round(ends, 6) + 0.0)) for ends in edges}


def agrees(part):
    """Assert that a part's mesh is the kernel's solid, with chords for arcs."""
    mesh, shape, solid = part.mesh, part.shape, exact(part.shape)
    closed = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    assert closed.is_watertight
    assert closed.is_winding_consistent
    assert off_surfaces(solid, mesh.vertices).max() < 1e-6
    volume, spare = solid.Volume(), LOST * round_volume(shape)
    assert closed.volume == pytest.approx(volume, abs=spare + 1e-9 * volume)
    if isinstance(shape.body, Polyhedron):
        assert closed.volume >= volume * (1 - 1e-12)  # a bore with chords for its circle is the smaller
        corners, whole = corners_of(solid_of(shape.body)), mesh_of(replace(shape, bores=())).vertices
        assert len(whole) == len(corners)
        assert np.linalg.norm(whole[:, None] - corners, axis=-1).min(axis=0).max() < 1e-9


@pytest.mark.parametrize("name", shipped_designs())
def test_shipped_designs_are_the_kernel_s_solids(name):
    for part in build(read_design(name)).parts:
        agrees(part)


@settings(max_examples=some(25))
@given(designs())
def test_any_valid_design_is_the_kernel_s_solids(design):
    for part in build(design).parts:
        agrees(part)


def test_boxes_as_made_are_the_kernel_s_solids():
    for box in as_made_boxes():
        for part in box.parts[:4]:
            agrees(part)


def test_polyhedral_parts_have_the_kernel_s_edges():
    boxes = [build(bird_design()), *as_made_boxes((4,))]
    for box in boxes:
        for body in box.walls:
            shape = Shape(name="wall", body=body, gross=body.volume, bounds=body.bounds)
            assert edge_set(mesh_of(shape).edges) == sharp_edges(solid_of(body))
        assert edge_set(box.part("base").mesh.edges) == sharp_edges(exact(box.part("base").shape))


def test_the_kernel_s_own_triangles_enclose_what_ours_enclose():
    """Its tessellation, whose chords turn by half of what it is given, against ours: both within the chords' bound."""
    for part in build(read_design("frost_watch")).parts:
        points, triangles = exact(part.shape).tessellate(CHORD, 2 * TURN)
        theirs = trimesh.Trimesh([point.toTuple() for point in points], triangles)
        ours = trimesh.Trimesh(part.mesh.vertices, part.mesh.triangles, process=False)
        assert ours.volume == pytest.approx(theirs.volume, abs=LOST * round_volume(part.shape) + 1e-6)
        assert ours.bounds == pytest.approx(theirs.bounds, abs=1e-2 if part.facts.group == "fittings" else 1e-9)


def test_a_rim_is_an_edge_and_the_facets_of_a_bore_are_not():
    """The lid's edges: a block's twelve, and two circles for each of seven bores, polygons of 64 sides.

    Of a countersink they are its mouth, 7 wide, and where it meets the hole, 4 wide, whose upper rim it takes away.
    """
    design = bird_design()
    lid, around = build(design).part("lid"), 64 * math.sin(math.pi / 64)
    found = np.linalg.norm(lid.mesh.edges[:, 1] - lid.mesh.edges[:, 0], axis=1).sum()
    straight = [bore.hole for bore in lid.shape.bores if bore.hole.use != "countersink"]
    rims = sum(2 * around * hole.diameter for hole in straight) + 2 * around * 7
    assert len(lid.shape.bores) - len(straight) == 2
    assert found == pytest.approx(4 * (166 + 96 + 6) + rims, rel=1e-12)


def test_a_screw_shows_its_head_s_rim_its_neck_and_its_point_s_shoulder():
    """Cone to cylinder turns at the neck by 45 degrees, at the tip by 27: that cone is as long as it is wide."""
    screw = build(bird_design()).part("left lid screw")
    around = 64 * math.sin(math.pi / 64)
    found = np.linalg.norm(screw.mesh.edges[:, 1] - screw.mesh.edges[:, 0], axis=1).sum()
    assert found == pytest.approx(around * (7 + 3.5 + 3.5), rel=1e-12)


def test_a_bent_plaque_shows_no_line_where_its_bend_begins():
    """Edges along the bend line are the four of the legs' ends; the two profiles and six rims are the others."""
    plaque = build(bird_design()).part("plaque")
    along = np.abs(plaque.mesh.edges[:, 1] - plaque.mesh.edges[:, 0])[:, 0]
    assert np.count_nonzero(np.isclose(along, 60)) == 4


def test_chords_keep_both_bounds():
    """0.1 rad: 63 of them go round. On a radius of 200 chords of 0.1 mm height turn by 2 arccos(1 - 0.1/200)."""
    assert chords(math.tau, 0.05) == chords(math.tau, 50.0) == 63
    turn = math.tau / chords(math.tau, 200.0)
    assert 200 * (1 - math.cos(turn / 2)) <= CHORD
    assert chords(math.tau, 200.0) == math.ceil(math.tau / (2 * math.acos(1 - 0.1 / 200)))


def test_equal_screws_share_arrays_and_one_shape():
    box = build(bird_design())
    arrays = {part.facts.name: part for part in box_arrays(box)}
    assert arrays["left lid screw"].vertices is arrays["right lid screw"].vertices
    assert arrays["left lid screw"].vertices is not arrays["plaque screw 1"].vertices
    assert box.part("plaque screw 1").shape is box.part("plaque screw 2").shape


def test_thickness_in_a_bore_varies_no_more_than_is_told():
    """A wedge that is x/10 thicker: 0.1 x 8 over a bore of radius 4. Level faces vary by nothing."""
    plan = np.array([[-20, 0], [20, 0], [20, 12.0], [-20, 8.0]])
    wedge = prism(np.stack([np.column_stack([plan, np.full(4, z)]) for z in (-15.0, 15.0)], axis=1))
    assert unevenness(wedge, (3.0, 2.0), 4.0) == pytest.approx(0.8)
    assert unevenness(build(bird_design()).walls[3], (0.0, 0.0), 4.0) == 0


def test_chords_leave_of_an_uneven_bore_what_its_bound_allows():
    """Mesh less closed form, for the cable hole of boxes as made: the slivers' area times the thickness there."""
    for box in as_made_boxes((5,)):
        part = box.parts[3]
        (bore,) = part.shape.bores
        x, _, z = bore.hole.centre
        assert bore.volume == volume_in_bore(part.shape.body, (x, z), bore.hole.diameter / 2)
        section, full = bit(bore.hole)[1], math.pi / 4 * bore.hole.diameter**2
        left = trimesh.Trimesh(part.mesh.vertices, part.mesh.triangles, process=False).volume - part.shape.volume
        mean = bore.volume / full
        assert left == pytest.approx((full - section) * mean, abs=(full - section) * bore.uneven + 1e-8)
        assert bore.uneven < 0.2 * mean


# Refusals: what the exact kernel finds is found here too


def test_a_hole_over_the_edge_is_told_by_its_volume():
    """Half of the hole is taken: the chords' 64-gon of diameter 8 has 32 r² sin(2 pi/64) for its area."""
    fitted = fittings(bird_design())
    over = replace(fitted.holes_of("lid")[0], centre=(83.0, 0.0, 28.5))
    hole = 6 * 32 * 16 * math.sin(math.tau / 64)
    block = 166 * 96 * 6
    assert refusal(mesh_of, sheet_shape("lid", fitted.lid, [over])) == (
        f"lid: volume is {block - hole / 2:.6g} mm³, must be {block - hole:.6g} mm³; "
        "a hole or a bend runs over the part's edge or into another"
    )


def test_holes_that_run_into_each_other_are_told_by_their_volume():
    """Two holes in one place: one of them takes nothing."""
    fitted = fittings(bird_design())
    one = fitted.holes_of("lid")[0]
    hole, block = 6 * 32 * 16 * math.sin(math.tau / 64), 166 * 96 * 6
    assert refusal(mesh_of, sheet_shape("lid", fitted.lid, [one, one])) == (
        f"lid: volume is {block - hole:.6g} mm³, must be {block - 2 * hole:.6g} mm³; "
        "a hole or a bend runs over the part's edge or into another"
    )


@pytest.mark.parametrize(("diameter", "pieces"), [(100.0, 2), (400.0, 0)])
def test_a_hole_wider_than_its_part_leaves_no_one_solid(diameter, pieces):
    fitted = fittings(bird_design())
    wide = replace(fitted.holes_of("lid")[0], diameter=diameter)
    assert refusal(mesh_of, sheet_shape("lid", fitted.lid, [wide])) == (
        f"lid: came out as {pieces} solids, must be 1; a hole or a bend does not fit its part"
    )


def block_of(plan, height=5.0):
    body = prism(np.stack([np.column_stack([plan, np.full(len(plan), z)]) for z in (0.0, height)], axis=1))
    return Shape(name="block", body=body, gross=body.volume, bounds=body.bounds)


def test_faces_that_cross_are_refused():
    bow_tie = block_of(np.array([[0.0, 0], [10, 10], [10, 0], [0, 8]]))
    assert refusal(mesh_of, bow_tie) == (
        "block: its faces cross and make no valid solid; its sizes or errors do not go together"
    )


def test_a_part_that_reaches_elsewhere_is_refused():
    square = block_of(np.array([[0.0, 0], [10, 0], [10, 10], [0, 10]]))
    assert refusal(mesh_of, replace(square, bounds=square.bounds + 0.5)) == (
        "block: reaches 0.5 mm beyond or short of its place, must be within 0.0001 mm"
    )
    assert refusal(mesh_of, replace(square, gross=501.0)).startswith("block: volume is 500 mm³, must be 501 mm³; ")


def test_a_part_with_a_waist_thinner_than_a_vertex_is_refused():
    """Two blocks that meet in an edge: four faces at one edge enclose no one solid."""
    waist = block_of(np.array([[0.0, 0], [10, 0], [5 + 1e-7, 5], [10, 10], [0, 10], [5 - 1e-7, 5]]))
    assert refusal(mesh_of, waist) == (
        "block: its triangles do not close to a watertight surface; the solid has faces finer than 1e-6 mm"
    )


def test_a_hole_whose_place_is_no_number_is_refused():
    fitted = fittings(bird_design())
    nowhere = replace(fitted.holes_of("lid")[0], centre=(math.nan, 0.0, 28.5))
    assert refusal(mesh_of, sheet_shape("lid", fitted.lid, [nowhere])) == (
        "lid, centre hole: a corner's place is not a number; check the sizes and errors that it was made from"
    )
