"""Pictures of boxes as made, measured on their pixels: true size is true, and no two words of fit look alike."""

import re
from dataclasses import replace
from itertools import pairwise

import colours
import numpy as np
import pytest
from shown import SCALE, settled
from test_picture import READERS, WORDS, drawings

from assembly.files.reading import maker, read_design
from assembly.made.records import MadeFaces
from assembly.solids.as_made import as_made
from assembly.solids.parts import LAPPED_TONE, PLAIN_TONE
from assembly.study.check import sampled_box
from viewer.commands.jobs import read
from viewer.commands.made_boxes import box_as_made
from viewer.commands.showing import PictureRequest
from viewer.commands.showing import shown as commanded
from viewer.picture.layout import planned
from viewer.scene.box_scene import scene
from viewer.scene.camera import Direction, fitted
from viewer.scene.scene import TitleBlock
from viewer.scene.visibility import seen

SIZE = (1200, 900)
ENOUGH = 250  # pixels of a joint whose pattern is measured
QUANTILES = (0.5, 0.3, 0.7, 0.1, 0.2, 0.4, 0.6, 0.8)


@pytest.fixture(scope="module")
def design():
    return read_design("frost_watch", ())


def of_all_words(design):
    """Return a sampled box, taken apart as it was made, that shows all four words, and its marks."""
    for name in ("practised", "new_to_tools"):
        for quantile in QUANTILES:
            box = sampled_box(design, maker(design, "frost_watch", name, ()), quantile=quantile)
            if len(set(words_of(box))) < len(WORDS):
                continue
            built, made = as_made(design, box, 1.0)
            shown = scene(built, box, SCALE, 1.0, TitleBlock(name=design.name, boxes=10_000), made)
            marks = seen(shown, planned(shown, SIZE).view)
            counts = np.bincount(marks.ravel(), minlength=1 + len(shown.parts) + len(shown.joints))[
                1 + len(shown.parts) :
            ]
            if {joint.fit.word for joint, count in zip(shown.joints, counts, strict=True) if count > ENOUGH} == set(
                WORDS
            ):
                return shown, marks
    return pytest.fail("no sampled box shows joints of all four words")


def words_of(box):
    return [SCALE.fit_of(float(gap)).word for gap in box.gaps.max(axis=2).ravel()]


@pytest.fixture(scope="module")
def made(design, tmp_path_factory):
    """Return the scene, marks and pixels of a box as made that has joints of every word."""
    shown, marks = of_all_words(design)
    file = tmp_path_factory.mktemp("made") / "made.npz"
    return shown, marks, drawings(file, ("white", shown, planned(shown, SIZE).view))["white"][..., :3] / 255


@pytest.mark.parametrize("reader", READERS)
def test_measured_on_a_box_as_made_every_word_is_darker_than_the_better_ones(made, reader):
    """The mean light over what is seen of a joint: at least 8 of 100 in lightness apart."""
    shown, marks, pixels = made
    light = {}
    for index, joint in enumerate(shown.joints):
        there = marks == len(shown.parts) + index + 1
        if there.sum() > ENOUGH:
            mean = colours.linear(READERS[reader](pixels[there])).mean(axis=0)
            light.setdefault(joint.fit.word, []).append(float(colours.lightness(colours.encoded(mean))))
    assert set(light) == set(WORDS)
    assert min(min(light[a]) - max(light[b]) for a, b in pairwise(WORDS)) >= 8, light


@pytest.mark.parametrize("reader", READERS)
def test_measured_on_a_box_as_made_ink_stands_out_from_its_timber_three_to_one(made, reader):
    """Source of the 3:1: WCAG 2.2, success criterion 1.4.11. Timber is measured where it is, lit and shaded."""
    shown, marks, pixels = made
    read = READERS[reader]
    walls = [i for i, part in enumerate(shown.parts) if part.colour in {LAPPED_TONE[:3], PLAIN_TONE[:3]}]
    timber = pixels[np.isin(marks, [i + 1 for i in walls])]
    tones = np.quantile(timber, [0.2, 0.5, 0.9], axis=0)  # the darkest are edges
    for index, joint in enumerate(shown.joints):
        there = pixels[marks == len(shown.parts) + index + 1]
        if len(there) > ENOUGH:
            ink = there[np.argsort(there.sum(axis=1))[: len(there) // 10]].mean(axis=0)
            assert colours.contrast(read(ink), read(tones)).min() >= 3, joint.name


def short(mm):
    """Return a box whose only error is the front wall's right end, `mm` short."""
    ends, gaps = np.zeros((4, 4)), np.zeros((4, 2, 4))
    ends[1], gaps[1, 0] = -mm, mm
    return replace(settled(gaps), faces=replace(MadeFaces.nominal(), plain_end=ends))


LOOKS = [(1.0, 12.0), (1.0, 31.0), (4.0, 12.0), (7.0, 12.0)]  # times, and pixels to a millimetre


def from_above(design, times, scale):
    """Return the four walls of the short box as made, seen from straight above at the corner with the gap."""
    built, made = as_made(design, short(1.0), times)
    walls = [part for part in built if part.facts.group == "walls"]
    shown = replace(scene(walls, None, SCALE, 0.0, made=made), direction=Direction(round=0, up=90))
    room = np.array([[50.0, 50], [850, 550]])
    view = fitted(np.array([[72.5, -40, 0], [73, -39, 1]]), shown.direction, (900, 600), room)
    return shown, replace(view, scale=scale)


@pytest.fixture(scope="module")
def gaps(design, tmp_path_factory):
    """Return each look's view and pixels."""
    asked = [(f"look{i}", *from_above(design, *look)) for i, look in enumerate(LOOKS)]
    found = drawings(tmp_path_factory.mktemp("gaps") / "gaps.npz", *asked)
    return {look: (one[2], found[one[0]][..., :3].astype(int)) for look, one in zip(LOOKS, asked, strict=True)}


@pytest.mark.parametrize("look", LOOKS)
def test_measured_a_gap_of_a_millimetre_is_a_millimetre_wide_times_as_much_as_is_asked(gaps, look):
    """Seen from straight above: from the line at the wall's end to the line at the cheek, within a pixel.

    The cheek stands at x = 160/2 - 7.5 = 72.5, the wall's end 1 mm short of it times `times`.
    """
    (times, scale), (view, pixels) = look, gaps[look]
    y = int(view.pixels(np.array([72.0, -40.0, 0.0]))[1])
    end, cheek = (view.pixels(np.array([x, -40.0, 0.0]))[0] for x in (72.5 - times, 72.5))
    row = pixels[y].sum(axis=1)
    found = [centre_of_line(row, at) for at in (end, cheek)]
    assert found[1] - found[0] == pytest.approx(times * scale, abs=1)
    assert found == pytest.approx([end, cheek], abs=1)
    between = row[int(found[0]) + 3 : int(found[1]) - 2]
    assert (between > 3 * 240).all()  # nothing stands in the gap


def centre_of_line(row, near):
    """Return the middle of the dark line nearest to a place in a row of pixels."""
    start = max(0, int(near) - 5)
    window = np.clip(3 * 130 - row[start : start + 11], 0, None).astype(float)
    assert window.sum() > 0
    return start + 0.5 + (window * np.arange(11)).sum() / window.sum()


def test_the_command_draws_the_likeliest_bad_box_with_the_shop_s_words():
    """Its widest joint is open by its limit; the caption says of which limit, what is off, and how many are as bad."""
    job = read("frost_watch", ())
    shown = commanded(job, PictureRequest(explode=0.0, as_made="likeliest", of="right-back", times=2.0))
    words, drawn = shown.caption.paragraphs
    assert words.startswith("The likeliest box to miss this limit: right-back (A) joint, gap at most 1.5 mm. ")
    assert re.search(r"; about 1 box in 2[0-9] \([0-9]+ to [0-9]+\) is at least as bad\. Base, lid and plaque ", words)
    assert (shown.worst.corner, round(shown.worst.gap, 2)) == ("right-back", 1.5)
    assert drawn.endswith("their errors shown 2 times as large.")


def test_the_command_draws_the_box_whose_gaps_it_tells():
    """`--as-made p95 --times 3` draws the sampled box that the caption names, three times its errors."""
    job = read("frost_watch", ())
    shown = commanded(job, PictureRequest(explode=0.0, as_made="p95", times=3.0))
    box = box_as_made(job, "p95", seed=1).settled
    assert shown.worst.gap == box.gaps.max()
    assert f"box {box.index + 1:,} of 10,000" in shown.caption.paragraphs[0]
    assert shown.caption.paragraphs[1].endswith("their errors shown 3 times as large.")
