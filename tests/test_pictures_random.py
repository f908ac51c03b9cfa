"""Every picture and every step of the making, of shipped designs and of random ones: laid out without graphics.

Words are measured letter by letter where they are set, by a writer that draws nothing; leaders are measured against
words and dots. A sample is drawn for real.
"""

import itertools
import math
import os
import pickle
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, assume, given, seed, settings
from PIL import Image

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.made.gap_classes import gap_scale_of
from assembly.planning.making import making_order
from assembly.solids.as_made import as_made
from assembly.solids.box import box_arrays, build
from assembly.study.check import sampled_box
from tests.designs import designs
from tests.sweep import ALL, some
from viewer.picture.compose import set_words
from viewer.picture.layout import planned
from viewer.picture.write import possible_windows
from viewer.scene.box_scene import scene
from viewer.scene.scene import TitleBlock
from viewer.scene.step_scene import step_scene
from viewer.scene.visibility import seen

ROOT = Path(__file__).parent.parent
SHIPPED = ("frost_watch", "label_box", "seed_box")
LENIENT = list(HealthCheck)
EACH = some(25, one_in=10)  # random designs, of each half
SIZES = ((640, 480), (1920, 1080), (1200, 900), (800, 1000))
DRAW = """
import pickle, sys
from viewer.picture.render import _still
for sheet, file in pickle.load(sys.stdin.buffer):
    _still(sheet, transparent=False).save(file)
"""


@dataclass
class Measurer:
    """Takes the words as a writer does, and keeps where their letters come to stand, and how large they are."""

    boxes: list = field(default_factory=list)

    def text(self, place, words, font, fill, anchor="la"):
        assert len(fill) in {3, 4}
        left, top, right, bottom = font.getbbox(words, anchor=anchor)
        x, y = place
        self.boxes.append((x + left, y + top, x + right, y + bottom, font.size, words))


def measured(sheet):
    writer = Measurer()
    set_words(writer, sheet)
    return writer.boxes


def check(sheet):
    """Assert that words are large enough, inside the picture and apart, and that leaders pass no dot and no words."""
    (width, height), boxes = sheet.size, measured(sheet)
    assert [note.worst for note in sheet.notes].count(True) == bool(sheet.scene.joints)
    assert min(box[4] for box in boxes) >= (0.83 * width if height >= 1.2 * width else height) / 40
    for left, top, right, bottom, _, words in boxes:
        assert left >= 0, words
        assert top >= 0, words
        assert right <= width, words
        assert bottom <= height, words
    whole = np.array([box[:4] for box in boxes])
    over = (whole[:, None, :2] < whole[None, :, 2:]).all(axis=2) & (whole[None, :, :2] < whole[:, None, 2:]).all(axis=2)
    pairs = [(boxes[i][5], boxes[j][5]) for i, j in np.argwhere(np.triu(over, 1))]
    assert not pairs, pairs
    leaders(sheet, whole)


def leaders(sheet, words):
    share = np.linspace(0, 1, 200)[:, None]
    plates = np.array([sheet.plate(i) for i in range(len(sheet.notes))])
    for i, (port, anchor) in enumerate(zip(sheet.ports, sheet.anchors, strict=True)):
        line = port + share * (anchor - port)
        inside = ((line[1:, None] > words[:, :2]) & (line[1:, None] < words[:, 2:])).all(axis=2)
        assert not inside.any(), sheet.notes[i].lines
        other = np.arange(len(plates)) != i
        covered = ((line[:, None] > plates[other, :2]) & (line[:, None] < plates[other, 2:])).all(axis=2)
        assert not covered.any(), sheet.notes[i].lines
        for j in np.flatnonzero(other):
            dot = (0.31 if sheet.notes[j].worst else 0.21) * sheet.em  # with its rim, as it is drawn
            assert np.linalg.norm(line - sheet.anchors[j], axis=1).min() >= dot, (sheet.notes[i], sheet.notes[j])


def pictures(design, workshop, explode=(0.0, 1.0), every=slice(None)):
    """Return the scenes of a design: nominal closed and apart, as made at some explosions; and `every` step."""
    parts, box = box_arrays(build(design)), sampled_box(design, workshop, quantile=0.95)
    made_parts, made = as_made(design, box, 1.0)
    telling = TitleBlock(name=design.name, boxes=10_000)
    shown = [scene(parts, box, gap_scale_of(design), apart, telling) for apart in (0.0, 1.0)]
    shown += [scene(made_parts, box, gap_scale_of(design), apart, telling, made) for apart in explode]
    order = making_order(design, workshop)
    return (
        box,
        shown,
        [step_scene(order, s.number, parts, design.name, gap_scale_of(design)) for s in order.steps[every]],
    )


def check_all(design, sizes, explode=(0.0, 1.0), every=slice(None)):
    """Check every picture at each of some sizes, and `every` step at one of them in turn."""
    box, shown, steps = pictures(design, read_workshop(design.made_by), explode, every)
    for one in shown:
        assert one.worst.gap == box.gaps.max()
    for one, size in (*itertools.product(shown, sizes), *zip(steps, itertools.cycle(SIZES), strict=False)):
        check(planned(one, size))
    worst_is_seen(shown[1])


def worst_is_seen(shown):
    """Taken apart, at least two fifths of one face of the worst joint look at the viewer, unhidden."""
    view = planned(shown, (640, 480)).view.scaled(4, (2560, 1920))  # a low lap may be narrower than a pixel
    mark = 1 + len(shown.parts) + shown.joints.index(shown.worst)
    faces = [view.pixels(shown.placed(patch.part, patch.face)) for patch in shown.worst.patches]
    area = max(shoelace(face) for face in faces)
    assert (seen(shown, view) == mark).sum() >= 0.4 * area - 4


def shoelace(corners):
    x, y = corners.T
    return abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


@pytest.mark.parametrize("name", SHIPPED)
def test_every_picture_and_step_of_the_shipped_designs_is_clear_at_every_size(name):
    design = read_design(name, ())
    whole = ALL or name == SHIPPED[0]
    check_all(design, SIZES if whole else SIZES[::2], every=slice(None, None, 1 if whole else 4))


@pytest.mark.parametrize("start", [20260105, 20260106])  # two halves, so that two cores share them
def test_every_picture_and_step_of_random_designs_is_clear(start):
    """Fifty in a whole sweep. Sizes take turns, and so do closed and taken apart as made, and every fourth step.

    A design whose boxes are beyond first order is passed over: studies and pictures refuse it.
    """
    met = []

    @seed(start)
    @settings(max_examples=EACH, deadline=None, database=None, phases=[Phase.generate], suppress_health_check=LENIENT)
    @given(design=designs())
    def random_designs(design):
        number = len(met) + 3 * (start % 2)  # each half begins with another size
        try:
            check_all(design, (SIZES[number % 4],), (float(number % 2),), slice(number // 2 % 4, None, 4))
        except InputError as refusal:
            if "outside what these predictions hold for" not in str(refusal):
                raise
            assume(condition=False)
        met.append(repr(design))

    random_designs()
    assert len(met) == EACH
    assert len(set(met)) >= 0.8 * EACH  # now and then one is drawn twice


def test_a_sample_is_drawn_for_real(tmp_path):
    """Of each shipped design a picture as made and a step: nothing at the edge, timber and ink in the middle."""
    asked = []
    for name in ("frost_watch", "label_box", "seed_box"):
        design = read_design(name, ())
        _, shown, (step,) = pictures(design, read_workshop(design.made_by), every=slice(11, 12))
        for number, one in enumerate((shown[2], step)):
            asked.append((planned(one, (640, 480)), str(tmp_path / f"{name}{number}.png")))
    done = subprocess.run(  # our own interpreter
        [sys.executable, "-c", DRAW],
        input=pickle.dumps(asked),
        env={**os.environ, "PYTHONPATH": str(ROOT), "VTK_DEFAULT_OPENGL_WINDOW": possible_windows()[0], "DISPLAY": ""},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode()
    for _, file in asked:
        with Image.open(file) as image:
            values = np.asarray(image.convert("RGB")).astype(int)
        rim = np.ones(values.shape[:2], dtype=bool)
        rim[3:-3, 3:-3] = False
        assert (values[rim] == 255).all()
        timber = (values[..., 0] > values[..., 2] + 40).mean()
        assert timber > 0.02, file
        assert math.isfinite(timber)
