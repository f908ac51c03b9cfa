"""Clear acrylic as it is drawn: at every pixel its faces show through one another, the farthest first."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest
from colours import shade

from assembly.solids.box import box_arrays
from viewer.commands import jobs
from viewer.scene.camera import Direction, fitted
from viewer.window.state import Bounds, State

pytestmark = pytest.mark.usefixtures("off_screen")
SIZE = (400, 300)
ROUND = 3  # levels of 255: rounding of the lit tint and of each of up to four layers
STEP = 5  # pixels between those that are looked at
STRIPS = 30  # mm², twice the area of the largest triangles along the bend and in holes
_AROUND = [(-2, -2), (2, -2), (-2, 2), (2, 2)]  # pixels; within, no edge and no line along one is drawn

# From behind and from below triangles in the order of their numbers do not lie the farthest first.
SEEN_FROM = [(150, 32), (213, 60), (33, -20), (80, -20), (33, 32)]


@pytest.fixture(scope="module")
def plaque():
    """Return the scene of the demo box's bent plaque alone."""
    job = jobs.read("frost_watch")
    whole = jobs.scene_of(job, box_arrays(jobs.built(job)), jobs.sampled(job, seed=1))
    (part,) = (part for part in whole.parts if part.opacity < 1)
    return replace(whole, parts=(part,), joints=())


def layers(part, view, places):
    """Return the faces that lie at places, (n, 2) pixels, the farthest first: the numbers of triangles."""
    corners = view.pixels(part.points)[part.triangles]
    depth = (part.points @ view.direction.axes[2])[part.triangles]
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        off = places[:, None] - corners[:, 0]
        b = (off[..., 0] * two[:, 1] - off[..., 1] * two[:, 0]) / area
        c = (one[:, 0] * off[..., 1] - one[:, 1] * off[..., 0]) / area
        near = depth[:, 0] + b * (depth[:, 1] - depth[:, 0]) + c * (depth[:, 2] - depth[:, 0])
        inside = (b >= 0) & (c >= 0) & (b + c <= 1)
    return [np.flatnonzero(here)[np.argsort(near[i, here])] for i, here in enumerate(inside)]


def laid_over(part, view, triangles):
    """Return the colour of triangles laid over white, the farthest first: each covers its opacity of what is behind."""
    seen = np.ones(3)
    towards = view.direction.axes[2]
    for a, b, c in part.points[part.triangles[triangles]]:
        normal = np.cross(b - a, c - a)
        facing = normal if normal @ towards > 0 else -normal  # a face is lit on the side that is seen
        lit = shade(facing, view.direction.round) * np.array(part.colour)
        seen = part.opacity * lit + (1 - part.opacity) * seen
    return 255 * seen


def flat_places(part, view):
    """Return pixels inside flat faces, (n, 2), and their layers: those around them lie in the same faces."""
    width, height = view.size
    grid = np.array([(x, y) for y in range(8, height - 8, STEP) for x in range(8, width - 8, STEP)])
    normals = np.cross(*np.diff(part.points[part.triangles], axis=1).transpose(1, 0, 2))
    twice = np.linalg.norm(normals, axis=1)
    unit = np.round(normals / twice[:, None], 4)
    here = layers(part, view, grid + 0.5)
    large = [len(found) > 0 and (twice[found] > STRIPS).all() for found in here]
    grid, here = grid[large], [found for found, kept in zip(here, large, strict=True) if kept]
    around = [layers(part, view, grid + 0.5 + off) for off in _AROUND]
    flat = [all(np.array_equal(unit[found], unit[each[i]]) for each in around) for i, found in enumerate(here)]
    return grid[flat], [found for found, kept in zip(here, flat, strict=True) if kept]


def farthest_off(scene, view, drawn):
    """Return how far pixels inside flat faces are from what rays give, and how many were looked at."""
    places, found = flat_places(scene.parts[0], view)
    expected = np.array([laid_over(scene.parts[0], view, triangles) for triangles in found])
    return np.abs(drawn[places[:, 1], places[:, 0], :3] - expected).max(), len(places)


@pytest.mark.parametrize(("round_", "up"), SEEN_FROM)
def test_flat_faces_of_acrylic_have_no_patches(plaque, round_, up):
    """Second method: rays through the triangles, sorted by depth; each layer lit as `colours.shade` says."""
    from viewer.picture.render import draw  # noqa: PLC0415 - VTK, after its window is chosen

    room = np.array([[10.0, 10.0], [SIZE[0] - 10.0, SIZE[1] - 10.0]])
    view = fitted(plaque.corners(), Direction(round=round_, up=up), SIZE, room)
    off, count = farthest_off(plaque, view, draw(plaque, view, transparent=False).astype(float))
    assert off < ROUND
    assert count > 150


def test_nor_have_they_in_the_window(plaque):
    """The same in the window, which shows the plaque after a scene in which nothing is clear."""
    from viewer.window.window import Window  # noqa: PLC0415 - the same

    solid = replace(plaque, parts=(replace(plaque.parts[0], opacity=1.0),))

    class Source:
        materials = MappingProxyType({plaque.parts[0].name: "acrylic"})

        def bounds(self):
            return Bounds(steps=1, p95=1.0)

        def ready(self, _):
            return True

        def scene(self, state):
            return plaque if state.step else solid

    window = Window(State(bounds=Source().bounds()), Source(), (900, 400), off_screen=True)
    window.show(replace(window.state, step=1))
    window.show(replace(window.state, round=150.0, up=32.0, zoom=1.0))
    drawn = np.asarray(window.plotter.screenshot(return_img=True)).astype(float)
    off, count = farthest_off(plaque, window.view(), drawn)
    window.plotter.close()
    assert off < ROUND
    assert count > 150
