"""What is seen where, against a second method: every pixel asks every triangle."""

import numpy as np
import pytest
from shown import SCALE, graded, parts

from viewer.scene.box_scene import scene
from viewer.scene.camera import fitted
from viewer.scene.visibility import seen

SIZE = (80, 60)
NOTHING = -1e9  # mm; further off than anything


def brute(shown, view):
    """Return the mark of the nearest triangle at the middle of each pixel, and by how much it is nearer than others."""
    towards, height = view.direction.axes[2], view.size[1]
    triangles, marks, lift = [], [], []
    for index, part in enumerate(shown.parts):
        triangles += list(shown.placed(index, part.points)[part.triangles])
        marks += [index + 1] * len(part.triangles)
        lift += [0.0] * len(part.triangles)
    for index, joint in enumerate(shown.joints):
        for patch in joint.patches:
            triangles += list(shown.placed(patch.part, patch.ground))
            marks += [len(shown.parts) + index + 1] * 4
            lift += [height / view.scale / 1600] * 4
    best, margin, found = np.full(SIZE[::-1], NOTHING), np.full(SIZE[::-1], -NOTHING), np.zeros(SIZE[::-1], dtype=int)
    x, y = np.meshgrid(np.arange(SIZE[0]) + 0.5, np.arange(SIZE[1]) + 0.5)
    for corners, mark, more in zip(triangles, marks, lift, strict=True):
        (ax, ay), (bx, by), (cx, cy) = view.pixels(np.array(corners))
        area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        if abs(area) < 1e-9:
            continue
        s = ((x - ax) * (cy - ay) - (y - ay) * (cx - ax)) / area
        t = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / area
        depth = np.array(corners) @ towards + more
        here = np.where(
            (s >= 0) & (t >= 0) & (s + t <= 1),
            depth[0] + s * (depth[1] - depth[0]) + t * (depth[2] - depth[0]),
            NOTHING,
        )
        margin = np.where(here > best, here - best, np.minimum(margin, best - here))
        found = np.where(here > best, mark, found)
        best = np.maximum(best, here)
    return found, margin


@pytest.mark.parametrize("explode", [0.0, 0.4, 1.0])
def test_the_nearest_triangle_is_seen_at_every_pixel(explode):
    shown = scene(parts(), graded(), SCALE, explode)
    view = fitted(shown.corners(), shown.direction, SIZE, np.array([[3.0, 3], [77, 57]]))
    expected, margin = brute(shown, view)
    found = seen(shown, view)
    assert found.shape == SIZE[::-1]
    sure = margin > 1e-6
    assert (found == expected)[sure].mean() > 0.999  # the last are on an edge that two triangles share
    assert (expected > 0).mean() > 0.15


def test_what_is_outside_the_picture_is_left_out():
    shown = scene(parts(), None, SCALE, 0.0)
    view = fitted(shown.corners(), shown.direction, SIZE, np.array([[-200.0, -150], [280, 210]]))
    assert seen(shown, view).min() > 0
