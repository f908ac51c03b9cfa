"""Parts half made: blocks less waste and bores, in closed form; holes that are there only once they are drilled."""

import math
from dataclasses import replace

import numpy as np
import pytest

from assembly.files.reading import maker, read_design
from assembly.nominal.fittings import Hole
from assembly.planning.making import making_order
from assembly.planning.marks import Block, sheet_waste
from assembly.planning.steps import StepKind
from assembly.planning.strokes import HIGH, WIDE, strokes, width
from assembly.solids.bodies import corners_round
from assembly.solids.box import box_arrays, build
from assembly.solids.half_made import on_surface
from assembly.solids.part_way import worked
from assembly.solids.parts import PartArrays
from viewer.scene.step_scene import step_scene

UNCUT = Block(part="a", name="uncut", low=(0, 0, 0), high=(40, 30, 10))
WASTE = Block(part="a", name="waste", low=(35, 0, 5), high=(40, 30, 10))
CHORDS = corners_round(4)  # as many for every hole of these boxes


def disc(diameter):
    """Return the area of the polygon that stands for a circle."""
    return CHORDS / 2 * (diameter / 2) ** 2 * math.sin(2 * math.pi / CHORDS)


def hole(centre, axis, diameter, depth):
    return Hole(name="hole", use="cable", part="a", centre=centre, axis=axis, diameter=diameter, depth=depth)


@pytest.mark.parametrize(
    ("centre", "axis", "diameter", "depth"),
    [
        ((10, 15, 10), (0, 0, -1), 8, 10),
        ((20, 15, 10), (0, 0, -1), 4, 6),
        ((20, 30, 5), (0, -1, 0), 4, 30),
        ((20, 0, 5), (0, 1, 0), 4, 6),
        ((0, 15, 5), (1, 0, 0), 6, 12),
    ],
)
def test_a_bore_takes_away_its_prism(centre, axis, diameter, depth):
    left = worked(UNCUT, (WASTE,), (hole(centre, axis, diameter, depth),))
    assert left.volume == pytest.approx(40 * 30 * 10 - 5 * 30 * 5 - disc(diameter) * depth, rel=1e-12)


def test_no_wafer_is_left_between_two_pieces_of_waste_that_meet():
    """-79.2 + 10 is not -69.2 in binary: strips whose corners were a rounding off would leave a second solid."""
    sheet = Block(part="a", name="uncut", low=(-79.2, -141.4690260418206, 40.95), high=(79.2, 85.3, 42.95))
    finished = Block(part="a", name="done", low=(-69.2, -131.4690260418206, 40.95), high=(69.2, 75.3, 42.95))
    left = worked(sheet, sheet_waste(sheet, finished))
    assert left.volume == pytest.approx(138.4 * (75.3 + 131.4690260418206) * 2, rel=1e-12)
    assert len(left.edges) == 12


def test_every_edge_of_the_surface_is_met_by_its_faces_from_both_sides():
    """Second method: the sum of all areas as vectors is zero for a closed surface, and so are its moments with x."""
    left = worked(UNCUT, (WASTE,), (hole((20, 15, 10), (0, 0, -1), 4, 6),))
    a, b, c = np.moveaxis(left.vertices[left.triangles], 1, 0)
    area = np.cross(b - a, c - a) / 2
    assert area.sum(axis=0) == pytest.approx(0, abs=1e-9)
    moment = np.einsum("ij,ik->jk", (a + b + c) / 3, area)
    assert moment == pytest.approx(left.volume * np.eye(3), abs=1e-8)


def test_the_rims_of_a_bore_are_edges():
    """A bored block: 12 edges of its own, and two circles of chords."""
    edges = worked(UNCUT, (), (hole((20, 15, 10), (0, 0, -1), 8, 10),)).edges
    rims = 2 * CHORDS * 8 * math.sin(math.pi / CHORDS)
    assert np.linalg.norm(edges[:, 1] - edges[:, 0], axis=1).sum() == pytest.approx(4 * (40 + 30 + 10) + rims)


@pytest.fixture(scope="module", params=["frost_watch", "seed_box", "label_box"])
def making(request):
    design = read_design(request.param, ())
    arrays = box_arrays(build(design))
    return design, making_order(design, maker(design, request.param, None, ())), arrays


def test_a_finished_part_is_the_solid_of_the_box(making):
    """Second method: the kernel's solids. Volumes differ by what the chords of the bores leave of their circles."""
    _, order, arrays = making
    whole = {part.facts.name: part.facts for part in arrays}
    for block in (block for block in order.uncut if block.part != "plaque"):
        off = tuple(waste for step in order.steps for waste in step.removed if waste.part == block.part)
        holes = tuple(one for step in order.steps for one in step.drilled if one.part == block.part)
        chords = disc(1) / (math.pi / 4)  # what a polygon of as many sides has of its circle
        more = sum((1 - chords) * one.volume for one in holes)
        assert worked(block, off, holes).volume - more == pytest.approx(whole[block.part].volume, rel=1e-9), block.part


def test_a_hole_is_there_only_when_it_has_been_drilled(making):
    """Rims are known by the length of their chords: of what is drilled they are there, of what is to be drilled not."""
    design, order, arrays = making
    for step in order.steps:
        shown = step_scene(order, step.number, arrays, design.name, 0.2)
        for part in (part for part in shown.parts if part.name != "plaque" or step.number < bent(order)):
            drilled, later = (
                {one for s in some for one in s.drilled if one.part == part.name}
                for some in (order.steps[: step.number], order.steps[step.number :])
            )
            lengths = np.linalg.norm(part.edges[:, 1] - part.edges[:, 0], axis=1)
            for size in chords(drilled):
                assert np.isclose(lengths, size).sum() >= 2 * CHORDS, (step.number, part.name)
            for size in chords(later) - chords(drilled):
                assert not np.isclose(lengths, size).any(), (step.number, part.name)


def chords(holes):
    return {one.diameter * math.sin(math.pi / CHORDS) for one in holes}


def bent(order):
    return next(step.number for step in order.steps if step.kind is StepKind.BEND)


def test_strokes_lie_on_what_they_are_drawn_on(making):
    """Every stroke of every step lies on its part's surface to a millionth of a millimetre, wherever the part lies."""
    design, order, arrays = making
    for step in order.steps:
        shown = step_scene(order, step.number, arrays, design.name, 0.2)
        for some in shown.strokes:
            part = shown.parts[some.part]
            corners = part.points[part.triangles]
            normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
            normal /= np.linalg.norm(normal, axis=1, keepdims=True)
            for end in some.ends.reshape(-1, 3):
                away = np.abs(((end - corners[:, 0]) * normal).sum(axis=1))
                assert away.min() < 1e-6, (step.number, part.name)


def test_fresh_strokes_are_those_of_the_step_and_no_more(making):
    design, order, arrays = making
    for step in order.steps:
        shown = step_scene(order, step.number, arrays, design.name, 0.2)
        fresh = sum(np.linalg.norm(s.ends[:, 1] - s.ends[:, 0], axis=1).sum() for s in shown.strokes if s.fresh)
        assert fresh == pytest.approx(sum(line.length for line in step.drawn)), step.words


def test_names_and_letters_are_drawn_on_the_wood(making):
    """In their own step, with the face side to the front and the top edge up; still there on the glued frame."""
    design, order, arrays = making
    for operation, texts in (("names", {"LEFT", "RIGHT", "FRONT", "BACK"}), ("letters", set("ABCD"))):
        written = next(step for step in order.steps if step.operation == operation)
        assert {letter.text for letter in written.letters} == texts
        shown = step_scene(order, written.number, arrays, design.name, 0.2)
        for part in shown.parts:
            fresh = [s for s in shown.strokes if s.fresh and shown.parts[s.part].name == part.name]
            pieces = sum(len(s.ends) for s in fresh)
            assert pieces == sum(len(strokes(one.text)) for one in written.letters if one.part == part.name)
    glued = next(step for step in order.steps if step.operation == "put together")
    assert len(step_scene(order, glued.number, arrays, design.name, 0.2).strokes) >= 4


def test_the_bored_face_has_no_timber_over_its_hole():
    design = read_design("frost_watch", ())
    order, arrays = making_order(design, maker(design, "frost_watch", None, ())), box_arrays(build(design))
    drilling = next(step for step in order.steps if step.drilled and step.drilled[0].name == "cable hole")
    centre = np.array([drilling.drilled[0].centre])
    block = next(block for block in order.uncut if block.part == "back wall")
    facts = next(part for part in arrays if part.facts.name == "back wall").facts
    for holes, there in (((), True), (drilling.drilled, False)):
        left = worked(block, (), holes)
        part = PartArrays(
            facts=replace(facts, closed=np.eye(4)), vertices=left.vertices, triangles=left.triangles, edges=left.edges
        )
        assert on_surface(part, centre).tolist() == [there]


@pytest.mark.parametrize("text", ["A", "PLOT 14 - FIVE BARS", "é"])
def test_strokes_stay_in_the_room_of_their_letters(text):
    points = np.array(strokes(text)).reshape(-1, 2)
    assert np.abs(points[:, 0]).max() <= width(text) / 2 + 1e-12
    assert np.abs(points[:, 1]).max() <= 0.5
    assert width("A") == WIDE / HIGH


def test_every_letter_has_its_own_strokes():
    """No two of those that are written on walls and plaques look alike."""
    known = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-+.,:'!/"
    shapes = {tuple(sorted(strokes(letter))) for letter in known}
    assert len(shapes) == len(known)
    assert strokes(" ") == []
    assert len(strokes("é")) == 4  # an empty frame
