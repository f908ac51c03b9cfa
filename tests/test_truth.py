"""Geometric truth (MODEL.md, 6): settled boxes built as solids show the gaps that the first order predicts.

Predicted: gaps of the settled frame. Measured: the distance of the vertices that meet at each contact point of the
solids, the space that walls share and the space between them, by the mesh kernel and by the exact one.
"""

from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np
import pytest
from sweep import some
from together import corner_clearances, corner_overlaps, separations, settled_walls

from assembly.files.reading import read_design, read_workshop
from assembly.made.sampling import draw_block, values
from assembly.nominal.frame import LAPPED_AT, PLAIN_AT, Frame
from assembly.solids.kernel import location, solid_of
from assembly.solids.walls import contact_vertices, matrix_of, walls
from assembly.study.check import BoxModel

BOXES = 1_000  # of each workshop, by their points
WHOLE, EXACT = some(1_000), some(50)  # of those, as whole walls, by the mesh kernel and by the exact one
HALVED = some(250)  # of the former, measured again with halved errors
WORKSHOPS = ("new_to_tools", "practised")
REACH = 5.0  # mm; the furthest that walls of a corner are looked for


def scaled(faces, share):
    """Return one box's faces with every error multiplied by `share`."""
    arrays = {f.name: getattr(faces, f.name) * share for f in fields(faces) if f.name != "gauge_from"}
    return replace(faces, **arrays)


@dataclass(frozen=True)
class Truth:
    """One workshop's boxes; faces, gaps (32,) mm and poses (4, 4) of each, as predicted."""

    name: str
    frame: Frame
    boxes: list

    def smaller(self, share):
        """Return the boxes with every error, and so every gap and every move, multiplied by `share`."""
        return [(scaled(faces, share), gaps * share, poses * share) for faces, gaps, poses in self.boxes]

    @cached_property
    def gaps(self):
        """Predicted gaps: (boxes, 32), mm."""
        return np.array([gaps for _, gaps, _ in self.boxes])

    @cached_property
    def angles(self):
        """The largest angle that a wall of each box turned or leans by where it settled: (boxes,), degrees."""
        return np.degrees([np.abs(poses[:, 2:]).max() for _, _, poses in self.boxes])

    @cached_property
    def groups(self):
        """Numbers of the boxes in five groups of equal size, by their largest angle."""
        return np.array_split(np.argsort(self.angles), 5)

    def off(self, share=1.0):
        """Return measured less predicted gap at every point: (boxes, 32), mm."""
        return np.array(
            [
                separations(contact_vertices(self.frame, faces), poses) - gaps
                for faces, gaps, poses in self.smaller(share)
            ]
        )


@pytest.fixture(scope="module", params=WORKSHOPS)
def truth(request):
    """Return the first 1,000 boxes of a study."""
    model = BoxModel(read_design("configs/frost_watch.toml"), read_workshop(request.param))
    faces, gaps, poses = model.settle(values(model.inputs, draw_block(model.inputs, BOXES, seed=2, block=0)))
    boxes = [(faces.box(i), gaps[..., i].reshape(32), poses[..., i]) for i in range(BOXES)]
    return Truth(request.param, model.frame, boxes)


def comparison(truth, off, worst):
    """Return the table of predicted against measured, the boxes in groups by their largest angle."""
    rows = [
        f"{truth.name}: {len(truth.boxes)} boxes as solids, 32 points each; mm",
        "largest turn     widest gap, median of boxes    |measured - predicted|, worst point of a box",
        "or lean          predicted       measured       median      most   errors halved   quartered",
    ]
    for group in truth.groups:
        predicted = np.median(truth.gaps[group].max(axis=1))
        measured = np.median((truth.gaps + off)[group].max(axis=1))
        low, high = truth.angles[group[[0, -1]]]
        rows.append(
            f"{low:4.1f} to {high:4.1f}°  {predicted:11.4f}{measured:15.4f}{np.median(worst[1.0][group]):13.5f}"
            f"{worst[1.0][group].max():10.5f}{worst[0.5][group].max():16.5f}{worst[0.25][group].max():12.6f}"
        )
    return "\n".join(rows)


def test_predicted_gaps_are_those_of_the_solids_up_to_second_order(truth, record_property):
    """The difference falls as the square: by 4 when all errors are halved, for the largest and for every box.

    It is angle times angle or angle times offset: over boxes it grows faster than their largest angle, and no faster
    than its square.
    """
    off = truth.off()
    found = {share: np.abs(off if share == 1 else truth.off(share)).max(axis=1) for share in (1.0, 0.5, 0.25)}
    record_property("table", comparison(truth, off, found))
    for whole, half in ((1.0, 0.5), (0.5, 0.25)):
        ratio = found[whole] / found[half]
        assert ratio.min() >= 3.5
        assert ratio.max() <= 4.5
        assert 3.9 <= found[whole].max() / found[half].max() <= 4.1
    assert found[1.0].max() < 0.1 * truth.gaps.max()
    worst, angles = (np.array([np.median(row[group]) for group in truth.groups]) for row in (found[1.0], truth.angles))
    assert (np.diff(worst) > 0).all()
    assert 1 < np.polyfit(np.log(angles), np.log(worst), 1)[0] <= 2


def test_every_joint_touches_somewhere_and_overlap_is_of_second_order(truth, record_property):
    """Predicted: each corner touches. As solids: what clearance and overlap is left falls as the square of the errors.

    An overlap is at most as deep as prediction and solids differ, over both faces of the joint.
    """
    area = (truth.frame.plain + truth.frame.depth) * truth.frame.height
    assert truth.gaps.reshape(-1, 4, 8).min(axis=2).max() <= 1e-9
    overlap, clearance = {}, {}
    for share, boxes in ((1.0, WHOLE), (0.5, HALVED)):
        solids = [settled_walls(truth.frame, faces, poses) for faces, _, poses in truth.smaller(share)[:boxes]]
        overlap[share] = np.array([corner_overlaps(walls) for walls in solids])
        clearance[share] = np.array([corner_clearances(walls, REACH) for walls in solids])
        deepest = np.abs(truth.off(share)[:boxes]).max(axis=1)
        assert (overlap[share].max(axis=1) <= deepest * area).all()
    record_property(
        "table",
        f"{truth.name}: walls of a corner share at most {overlap[1.0].max():.3f} mm³ "
        f"and are at most {clearance[1.0].max():.4f} mm apart",
    )
    whole, half = clearance[1.0][:HALVED], clearance[0.5]
    apart = whole > 1e-4
    assert 0.24 <= np.median(half[apart] / whole[apart]) <= 0.26
    assert 3.5 <= whole.max() / half.max() <= 4.5
    whole, half = overlap[1.0][:HALVED], overlap[0.5]
    shared = whole > 0.1  # a face that cuts in falls as the square, an edge as the cube, a corner faster
    assert (half[shared] <= whole[shared] / 3.5).all()
    assert 3.9 <= whole.sum() / half.sum() <= 8


def test_the_exact_kernel_finds_the_same_overlaps_and_clearances(truth):
    """A second opinion on some boxes, from the most askew to the least; volumes to 1e-4, distances to 1e-9 mm."""
    pairs = list(zip(LAPPED_AT, PLAIN_AT, strict=True))
    for index in np.argsort(truth.angles)[:: -(BOXES // EXACT)]:
        faces, _, poses = truth.boxes[index]
        mesh = settled_walls(truth.frame, faces, poses)
        shapes = walls(truth.frame, faces)
        solids = [solid_of(shape).moved(location(matrix_of(i, poses[i]))) for i, shape in enumerate(shapes)]
        volumes = [solids[lapped].intersect(solids[plain]).Volume() for lapped, plain in pairs]
        assert corner_overlaps(mesh) == pytest.approx(volumes, rel=1e-4, abs=1e-5)
        apart = [solids[lapped].distance(solids[plain]) for lapped, plain in pairs]
        assert corner_clearances(mesh, REACH) == pytest.approx(apart, abs=1e-9)
