"""Drawings without a graphics library: painted in their order, faces hide what a depth buffer says that they hide."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from matplotlib.path import Path
from scipy import ndimage

from assembly.files.reading import read_design, read_workshop
from assembly.made.gap_classes import gap_scale_of
from assembly.planning.making import making_order
from assembly.solids.box import box_arrays, build
from assembly.study.check import sampled_box
from tests.designs import designs
from tests.sweep import ALL, long, some
from viewer.drawing.faces import faces_of, within
from viewer.page.arrays import Coarse
from viewer.scene.box_scene import scene
from viewer.scene.camera import Direction, fitted
from viewer.scene.step_scene import step_scene
from viewer.scene.visibility import seen

SHIPPED = ("frost_watch", "label_box", "seed_box")
SIZE = (640, 480)


def view_of(shown):
    return fitted(shown.corners(), shown.direction, SIZE, np.array([[10.0, 10.0], [630.0, 470.0]]))


def painted(shown, view):
    """Return which part is seen at each pixel, faces filled one over another in their order."""
    picture = np.zeros(SIZE[::-1], dtype=int)
    for face in faces_of(shown, view):
        low = np.maximum(np.floor(np.concatenate(face.loops).min(axis=0)), 0).astype(int)
        high = np.minimum(np.ceil(np.concatenate(face.loops).max(axis=0)) + 1, SIZE).astype(int)
        x, y = np.meshgrid(*(np.arange(a, b) for a, b in zip(low, high, strict=True)))
        middles = np.column_stack([x.ravel(), y.ravel()]) + 0.5
        inside = np.logical_xor.reduce(
            [Path(np.vstack([loop, loop[:1]])).contains_points(middles) for loop in face.loops]
        )
        picture[y.ravel()[inside], x.ravel()[inside]] = face.part + 1
    return picture


def wrongly_seen(shown):
    """Return the share of pixels, well away from outlines, at which the painted part is not the nearest."""
    view = view_of(shown)
    nearest = seen(replace(shown, joints=()), view)
    inside = ndimage.minimum_filter(nearest, 5) == ndimage.maximum_filter(nearest, 5)
    return float(((painted(shown, view) != nearest) & inside).mean())


@pytest.mark.parametrize(
    ("design", "explode"),
    [
        *((design, explode) for design in SHIPPED for explode in (0.0, 1.0)),
        (SHIPPED[0], 0.5),
        *(pytest.param(design, 0.5, marks=long) for design in SHIPPED[1:]),
    ],
)
def test_painted_faces_hide_what_a_depth_buffer_hides(design, explode):
    """The order of painting is looked up in a raster; the depth buffer knows no order."""
    made = read_design(design)
    parts = box_arrays(build(made))
    shown = Coarse().scene(scene(parts, None, gap_scale_of(made), explode))
    for turn, up in ((33, 32), (-50, 20), (140, 60), (0, 88), (-120, -8)):
        assert wrongly_seen(replace(shown, direction=Direction(round=turn, up=up))) < 2e-4


@settings(max_examples=some(30), deadline=None, suppress_health_check=list(HealthCheck), phases=(Phase.generate,))
@seed(20261129)
@given(designs(), st.floats(0, 1), st.floats(-180, 180), st.floats(-10, 89))
def test_painted_faces_of_random_boxes_hide_what_a_depth_buffer_hides(design, explode, turn, up):
    parts = box_arrays(build(design))
    shown = replace(scene(parts, None, gap_scale_of(design), explode), direction=Direction(round=turn, up=up))
    assert wrongly_seen(shown) < 1e-3


@pytest.mark.parametrize("design", SHIPPED)
def test_steps_are_painted_in_order(design):
    made = read_design(design)
    order, parts = making_order(made, read_workshop("new_to_tools")), box_arrays(build(made))
    for step in order.steps[:: 5 if ALL or design == SHIPPED[0] else 10]:
        shown = step_scene(order, step.number, parts, made.name, gap_scale_of(made))
        assert wrongly_seen(shown) < 2e-4, step.number


def test_marks_lie_on_the_faces_that_they_are_drawn_on():
    """Every stroke is held by a face turned to the viewer or lies on one turned away; patches as well."""
    design = read_design("frost_watch")
    parts = box_arrays(build(design))
    sampled = sampled_box(design, read_workshop("new_to_tools"), seed=1, quantile=0.95)
    shown = scene(parts, sampled, gap_scale_of(design), 1.0)
    view = view_of(shown)
    towards = view.direction.axes[2]
    held = [mark for face in faces_of(shown, view) for mark in face.marks if mark.kind == "ground"]
    turned = 0
    for joint in shown.joints:
        for patch in joint.patches:
            normal = np.cross(patch.face[1] - patch.face[0], patch.face[2] - patch.face[0])
            outward = shown.placed(patch.part, patch.face).mean(axis=0) - shown.placed(
                patch.part, shown.parts[patch.part].points
            ).mean(axis=0)
            turned += float(normal @ towards) * float(np.sign(normal @ outward)) > 0
    assert sum(len(mark.shape) for mark in held) > 0
    assert all(mark.shape.shape[1:] == (4, 2) for mark in held)
    assert turned


def test_a_place_is_within_an_area_but_not_in_its_hole():
    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    hole = square * 0.2 + 4
    places = np.array([[1.0, 1.0], [5.0, 5.0], [11.0, 5.0], [9.99, 9.99]])
    assert within(places, [square, hole]).tolist() == [True, False, False, True]
