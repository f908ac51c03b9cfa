"""Faces, poses and kinds of steps: what is drawn lies on the faces that a step names, and these are seen as it lies.

Outward directions of faces are written down here from the drawing; those that are seen are decided by the camera alone.
"""

import itertools
import re
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings

from assembly.files.reading import read_design, read_workshop
from assembly.made.gap_classes import gap_scale_of
from assembly.planning.cautions import HANDS
from assembly.planning.making import making_order
from assembly.planning.steps import StepKind
from assembly.planning.wall_faces import SEEN, SHEET_EDGES, Face, PartFace, Place, Pose, lying
from assembly.solids.bench import turned
from assembly.solids.box import box_arrays, build
from tests.boxes import still_workshop
from tests.designs import designs
from tests.sweep import some
from viewer.scene.step_scene import step_scene

SHIPPED = ("frost_watch", "label_box", "seed_box")
OTHERWISE = ('plaque.cut="by hand"', 'lid_holes="marked through"', 'glue_up="squared"', "lid.overhang=2")
NEAR = 1e-6
quick = settings(
    max_examples=some(12), deadline=None, phases=[Phase.reuse, Phase.generate], suppress_health_check=list(HealthCheck)
)  # a step takes long enough that making a failing design smaller would take minutes

X, Y, Z = np.eye(3)
INTO = {"left wall": X, "right wall": -X, "front wall": Y, "back wall": -Y}  # from a wall to the middle of the box
FRONT, BACK, LEFT, RIGHT = SHEET_EDGES
OUTWARD = {
    Face.TOP: Z, Face.BOTTOM: -Z, Face.UNDERSIDE: -Z,
    Face.FRONT_END: -Y, Face.BACK_END: Y, Face.LEFT_END: -X, Face.RIGHT_END: X,
    FRONT: -Y, BACK: Y, LEFT: -X, RIGHT: X,
}  # fmt: skip
OPPOSITE = [
    {Face.INSIDE, Face.OUTSIDE}, {Face.TOP, Face.BOTTOM}, {Face.TOP, Face.UNDERSIDE},
    {Face.FRONT_END, Face.BACK_END}, {Face.LEFT_END, Face.RIGHT_END}, {FRONT, BACK}, {LEFT, RIGHT},
]  # fmt: skip


def outward(on):
    """Return which way a face looks in the closed box."""
    if on.face in {Face.INSIDE, Face.CHEEK}:
        return INTO[on.part]
    return -INTO[on.part] if on.face is Face.OUTSIDE else OUTWARD[on.face]


def workshops():
    """Return workshops that mark and gauge in both ways."""
    return read_workshop("new_to_tools"), still_workshop(shoulder_from="drawing", gauge_from="outside")


def shown(design, workshop):
    """Return every step that draws, with its scene, and with its scene where the closed box has all parts."""
    order, parts = making_order(design, workshop), box_arrays(build(design))
    boxed = replace(order, steps=tuple(replace(step, place=Place.BOX, raised=()) for step in order.steps))
    ask = (parts, design.name, gap_scale_of(design))
    return [
        (step, step_scene(order, step.number, *ask), step_scene(boxed, step.number, *ask))
        for step in order.steps
        if step.drawn
    ]


def turn(there, here):
    """Return the turn, (3, 3), that takes one part's points to another's; neither stretched nor a mirror image."""
    flat = [points - points.mean(axis=0) for points in (there, here)]
    found = np.linalg.lstsq(*flat, rcond=None)[0].T
    assert found @ found.T == pytest.approx(np.eye(3), abs=NEAR)
    assert np.linalg.det(found) == pytest.approx(1)
    assert flat[0] @ found.T == pytest.approx(flat[1], abs=NEAR)
    return found


def drawn_on(step):
    """Return the ends of a step's strokes by the face that they say they are on: (k, 2, 3)."""
    found = {}
    for line in step.drawn:
        found.setdefault(PartFace(part=line.part, face=line.face), []).append((line.start, line.end))
    return {on: np.array(ends) for on, ends in found.items()}


@quick
@given(design=designs())
def test_what_a_step_draws_lies_on_its_faces_and_these_are_seen(design):
    """A face is the outermost plane of its part; of two opposite ones that are both worked on, one is seen."""
    for step, scene, boxed in (one for workshop in workshops() for one in shown(design, workshop)):
        right, up, towards = scene.direction.axes
        points = {part.name: part.points[part.triangles].reshape(-1, 3) for part in boxed.parts}
        turns = {one.name: turn(other.points, one.points) for one, other in zip(scene.parts, boxed.parts, strict=True)}
        seen = {on for on in step.faces if turns[on.part] @ outward(on) @ towards > 0.1}  # by over 6 degrees
        strokes = drawn_on(step)
        assert strokes.keys() <= set(step.faces)
        assert step.faces[0] in seen
        for on, ends in strokes.items():
            assert np.abs(ends @ outward(on) - (points[on.part] @ outward(on)).max()).max() < NEAR, (step.number, on)
            assert any(o.part == on.part and (o == on or {o.face, on.face} in OPPOSITE) for o in seen), (
                step.number,
                on,
            )
        assert {PartFace(part=name.part, face=name.face) for name in step.names} <= seen
        for letter in (letter for letter in step.letters if letter.kind == "letter"):
            assert PartFace(part=letter.part, face=letter.face) in seen
            assert turns[letter.part] @ letter.along @ right > 0.5  # read from left to right,
            assert turns[letter.part] @ letter.up @ up > 0.5  # and upright


ENDS = {Face.FRONT_END, Face.BACK_END, Face.LEFT_END, Face.RIGHT_END}
SPOKEN = {  # how words name faces that a step works on
    r"the inside faces": {Face.INSIDE},
    r"the frame's bottom|edges that you have levelled": {Face.BOTTOM},
    r"(Saw|Sand) both ends": ENDS,
    r"Sand all four edges|Sand the base flush|Saw the (base|lid) out|sawn edges of sheets": set(SHEET_EDGES),
    r"Write each wall's name on its face side|across (each|the) face side|best face of each wall": {Face.INSIDE},
    r"arrowhead on the face edge": {Face.BOTTOM},
    r"on face side and top edge": {Face.INSIDE, Face.TOP},
    r"round the other three faces": {Face.OUTSIDE, Face.BOTTOM, Face.TOP},
    r"shoulder line down both edges": {Face.BOTTOM, Face.TOP},
    r"on the face side and on both edges": {Face.INSIDE, Face.BOTTOM, Face.TOP},
    r"on the outside face of the back wall|its outside face up": {Face.OUTSIDE},
    r"Chisel the waste": {Face.CHEEK},
    r"both faces of every lap": {Face.SHOULDER, Face.CHEEK},
    r"FRONT on the outside of the front wall": {Face.OUTSIDE},
    r"FRONT on the sheet": {Face.UNDERSIDE},
    r"FRONT on the upper face": {Face.TOP},
    r"stands proud at the corners|finish on the outside": {Face.OUTSIDE},
}


@pytest.mark.parametrize(("name", "changes"), [*zip(SHIPPED, itertools.repeat(())), ("frost_watch", OTHERWISE)])
def test_a_face_that_the_words_name_is_worked_on_and_is_seen(name, changes):
    """One of the named sort at least looks at who looks at the picture; shoulders, which look sideways, apart."""
    design, heard = read_design(name, changes), set()
    order, parts = making_order(design, read_workshop(design.made_by)), box_arrays(build(design))
    boxed = replace(order, steps=tuple(replace(step, place=Place.BOX, raised=()) for step in order.steps))
    for step in (step for step in order.steps if step.faces):
        scenes = [step_scene(one, step.number, parts, name, gap_scale_of(design)) for one in (boxed, order)]
        there, here = ({part.name: part.points for part in scene.parts} for scene in scenes)
        towards = scenes[1].direction.axes[2]
        looking = [on for on in step.faces if on.face not in {Face.SHOULDER, Face.STANDING_LEG}]
        seen = {on.face for on in looking if turn(there[on.part], here[on.part]) @ outward(on) @ towards > 0.1}
        assert seen, step.operation
        for words in (words for words in SPOKEN if re.search(words, step.words)):
            heard.add(words)
            assert SPOKEN[words] <= {on.face for on in step.faces}, (step.operation, words)
            assert SPOKEN[words] & seen, (step.operation, words)
    assert heard == set(SPOKEN)


@quick
@given(design=designs())
def test_the_first_face_of_walls_on_the_bench_is_seen_and_each_other_one_or_its_opposite(design):
    for workshop in workshops():
        for step in making_order(design, workshop).steps:
            if step.place is Place.BENCH:
                assert step.pose in SEEN
                faces = [on for on in step.faces if on.face is not Face.SHOULDER]  # which looks sideways
                for on in faces:
                    ways = {one.face: turned(step.pose, on.part) @ outward(one) for one in faces if one.part == on.part}
                    looks = {face: way[2] > 0.9 or way[1] < -0.9 or way[0] > 0.9 for face, way in ways.items()}
                    assert any(looks[face] for face in ways if face is on.face or {face, on.face} in OPPOSITE)
            else:
                assert step.pose in {Pose.IN_PLACE, Pose.UPSIDE_DOWN}


@pytest.mark.parametrize("wall", INTO)
@pytest.mark.parametrize("pose", SEEN)
def test_what_a_pose_shows_is_up_or_to_the_front(wall, pose):
    turned_ = turned(pose, wall)
    assert turned_ @ turned_.T == pytest.approx(np.eye(3))
    assert np.linalg.det(turned_) == pytest.approx(1)
    sides = [Face.INSIDE, Face.OUTSIDE, Face.TOP, Face.BOTTOM, Face.CHEEK]
    looks = {face: turned_ @ outward(PartFace(part=wall, face=face)) for face in sides}
    shown_ = {face for face, way in looks.items() if way[2] > 0.9 or way[1] < -0.9}
    assert shown_ == set(SEEN[pose])


@pytest.mark.parametrize(
    ("faces", "pose"),
    [
        ((), Pose.FACE_SIDE_UP),
        ((Face.INSIDE, Face.TOP), Pose.TOP_EDGE_UP),
        ((Face.TOP,), Pose.TOP_EDGE_UP),
        ((Face.INSIDE, Face.BOTTOM, Face.TOP), Pose.FACE_SIDE_UP),
        ((Face.BOTTOM, Face.LEFT_END, Face.TOP), Pose.FACE_SIDE_UP),
        ((Face.OUTSIDE,), Pose.OUTSIDE_UP),
        ((Face.OUTSIDE, Face.INSIDE), Pose.OUTSIDE_UP),
        ((Face.BOTTOM, Face.OUTSIDE), Pose.OUTSIDE_UP),
    ],
)
def test_the_most_important_face_decides_how_walls_lie(faces, pose):
    assert lying(faces) is pose


def reworded(step):
    """Return a step with every text that is only read by people turned into another."""
    texts = {
        one.name: f"{getattr(step, one.name)}, top, outside, inside and bottom"
        for one in fields(step)
        if type(getattr(step, one.name)) is str and one.name != "tool"
    }
    return replace(step, **texts, tool=HANDS, notes=("Names: bend, clean up, the top edge.", "Outside."))


def arrays(thing):
    """Return every array and number of a scene, without its title and caption, in order."""
    if isinstance(thing, np.ndarray):
        return [thing]
    if isinstance(thing, tuple | list):
        return [one for each in thing for one in arrays(each)]
    if hasattr(thing, "__dataclass_fields__"):
        kept = [f.name for f in fields(thing) if f.name not in {"shows", "caption"}]
        return [one for name in kept for one in arrays(getattr(thing, name))]
    return [np.array(thing)]


@pytest.mark.parametrize(("name", "changes"), [*zip(SHIPPED, itertools.repeat(())), ("frost_watch", OTHERWISE)])
def test_no_picture_and_no_pose_depends_on_how_a_step_is_worded(name, changes):
    design = read_design(name, changes)
    order, parts = making_order(design, read_workshop(design.made_by)), box_arrays(build(design))
    other = replace(order, steps=tuple(map(reworded, order.steps)))
    assert {"stage", "part", "operation"} <= {
        one.name
        for one in fields(order.steps[0])
        if getattr(order.steps[0], one.name) != getattr(other.steps[0], one.name)
    }
    for before, after in zip(order.steps, other.steps, strict=True):
        assert (after.pose, after.kind, after.faces) == (before.pose, before.kind, before.faces)
        scenes = [step_scene(one, before.number, parts, design.name, gap_scale_of(design)) for one in (order, other)]
        for one, two in zip(*map(arrays, scenes), strict=True):
            assert np.array_equal(one, two), before.number


@quick
@given(design=designs())
def test_what_kind_a_step_is_shows_in_what_it_does(design):
    for workshop in workshops():
        steps = making_order(design, workshop).steps
        for step in steps:
            draws, cuts, drills = bool(step.drawn), bool(step.removed), bool(step.drilled)
            if step.kind is StepKind.CUT:
                assert cuts or drills or (step.operation == "flush" and not design.base.oversize)
            elif step.kind is StepKind.MARK:
                assert (draws, cuts, drills) == (True, False, False)
            elif step.kind is StepKind.DRILL:
                assert (draws, cuts, drills) == (False, False, True)
            else:
                assert (draws, cuts, drills) == (False, False, False)
            assert bool(step.faces) == (step.kind not in {StepKind.SET, StepKind.WAIT})
            assert {on.part for on in step.faces} <= set(step.parts)
        kinds = [step.kind for step in steps]
        assert (kinds.count(StepKind.BEND), kinds.count(StepKind.CLEAN)) == (bool(design.plaque), 1)


@quick
@given(design=designs())
def test_a_size_that_is_drawn_is_one_that_the_step_names(design):
    for workshop in workshops():
        for step, measure in ((s, m) for s in making_order(design, workshop).steps for m in s.measures):
            assert any(measure.size == pytest.approx(size.mm, abs=NEAR) for size in step.sizes), step.number
