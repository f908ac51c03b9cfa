"""The close-up of the worst joint: which lap, seen from where, with which figures."""

from dataclasses import replace

import numpy as np
import pytest
from shown import SCALE, graded, parts, settled

from assembly.files.reading import read_design
from assembly.nominal.frame import CORNERS, FACES
from assembly.solids.as_made import AsMade, contacts_of
from assembly.solids.box import box_arrays, build
from viewer.picture.closeup import close_up
from viewer.picture.layout import planned
from viewer.picture.lettering import em_of
from viewer.scene.box_scene import scene
from viewer.scene.visibility import seen

ROOM = (100.0, 50.0, 460.0, 310.0)
EM = 24


@pytest.fixture(scope="module")
def arrays():
    """Return the parts of a real box, with laps, of the same sizes as the blocks of `shown`."""
    return box_arrays(build(read_design("frost_watch", ())))


def close(gaps, built=None):
    return close_up(scene(built or parts(), settled(gaps), SCALE, 1.0), EM, ROOM)


def widest_at(corner, face):
    gaps = np.full((4, 2, 4), 0.05)
    gaps[corner, face] = [0.4, 0.9, 0.6, 0.5]
    return gaps


@pytest.mark.parametrize("corner", range(4))
@pytest.mark.parametrize("face", range(2))
def test_both_faces_of_any_lap_are_seen_whole(corner, face, arrays):
    """Wherever the worst joint is; but for pixels along their rims, half of whose middles lie outside."""
    found = close(widest_at(corner, face), arrays)
    (wall,) = found.scene.parts
    assert wall.name.startswith(CORNERS[corner].split("-")[0])
    marks = seen(found.scene, found.view)
    for index, joint in enumerate(found.scene.joints):
        corners = found.view.pixels(joint.patches[0].face)
        x, y = corners.T
        area = abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2
        around = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1).sum()
        assert joint.corner == CORNERS[corner]
        assert area > 200
        assert (marks == index + 2).sum() == pytest.approx(area, abs=around / 2)
    assert found.scene.joints[face].face == FACES[face]


def test_the_figures_are_the_gaps_at_the_corners_of_the_face_that_they_stand_beside():
    """Left-front shoulder: v runs outward along x, w up; the corner furthest out and highest has the last gap."""
    found = close(widest_at(3, 1))
    texts = [figure.text for figure in found.figures]
    assert sorted(texts) == ["0.40", "0.50", "0.60", "0.90"]
    worst = next(joint for joint in found.scene.joints if joint.worst)
    places = worst.patches[0].face
    for figure, place in zip(found.figures, places, strict=True):
        outward, up = place[0] < places[:, 0].mean(), place[2] > 0
        assert (
            figure.text
            == {(False, False): "0.40", (False, True): "0.90", (True, False): "0.60", (True, True): "0.50"}[
                bool(outward), bool(up)
            ]
        )
        x, y = found.view.pixels(place) + np.array(found.frame[:2])
        assert figure.corner == pytest.approx((x, y))


def leaning(gaps):
    """Return a box whose left wall leans, its errors shown so large that a face's corners lie almost level."""
    box = settled(gaps)
    poses = np.zeros((4, 4))
    poses[0, 3] = 0.5
    return replace(box, poses=poses)


def test_figures_stay_in_the_frame_and_apart():
    for corner in range(4):
        for face in range(2):
            box = leaning(widest_at(corner, face))
            made = AsMade(times=1.0, contacts=contacts_of(box, 1.0))
            found = close_up(scene(parts(), box, SCALE, 1.0, made=made), EM, ROOM)
            left, top, right, bottom = found.frame
            boxes = np.array([figure.box for figure in found.figures])
            assert boxes[:, 0].min() >= left
            assert boxes[:, 1].min() >= top
            assert boxes[:, 2].max() <= right
            assert boxes[:, 3].max() <= bottom
            over = (boxes[:, None, :2] < boxes[None, :, 2:]).all(axis=2)
            over &= over.T
            assert over.sum() == len(boxes)  # each over itself alone


def test_a_wide_picture_has_the_close_up_and_its_key_beside_the_labels():
    found = scene(parts(), graded(), SCALE, 1.0)
    wide, usual = planned(found, (1920, 1080)), planned(found, (1600, 1200))
    assert usual.close is None
    assert wide.close.head == "Worst fit, close up"
    assert " ".join(wide.close.lines) == (
        "left-front (D) shoulder, the front wall taken out. Figures: the gap at the corners of its face, mm."
    )
    assert wide.columns.right < wide.close.frame[0] < wide.key.fields[0][1] + em_of(1080)
    assert [fit.word for fit, _, _ in wide.key.fields] == ["closed", "usable", "to fill", "open"]
    assert planned(scene(parts(), None, SCALE, 1.0), (1920, 1080)).close is None
