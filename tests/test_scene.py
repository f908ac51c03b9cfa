"""What is shown: words, patterns, tints that can be kept apart, joints on their faces, grain on the timber."""

import math
from functools import cache

import colours
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw
from scipy.spatial import ConvexHull
from shown import APART, BOX, SCALE, block, graded, parts, settled

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.made.gap_classes import gap_scale, gap_scale_of
from assembly.made.limits import kept
from assembly.model.design import Limit
from assembly.nominal.frame import CORNERS, FACES
from assembly.solids.parts import LAPPED_TONE, PLAIN_TONE
from assembly.study.check import sampled_box
from viewer.scene import tints
from viewer.scene.box_scene import scene
from viewer.scene.camera import Direction, View, fitted
from viewer.scene.grain import grain_lines
from viewer.scene.patterns import pattern
from viewer.scene.scene import TitleBlock

READERS = {"in colour": np.asarray, "grey": colours.grey, "deuteranope": colours.deuteranope}
WORDS = ("closed", "usable", "to fill", "open")


def shown(box=None, *, explode=1.0, scale=SCALE):
    return scene(parts(), graded() if box is None else box, scale, explode, TitleBlock(name="Test box", boxes=10_000))


# words and figures


def test_each_word_ends_where_the_design_says_a_gap_on_a_limit_being_the_better_word():
    scale = gap_scale(0.2, 1.5)
    limits = {0.0: "closed", 0.1: "closed", 0.2: "usable", 1.5: "to fill", 9.0: "open"}
    assert {gap: scale.fit_of(gap).word for gap in limits} == limits
    over = {0.1: "usable", 0.2: "to fill", 1.5: "open"}
    assert {gap: scale.fit_of(math.nextafter(gap, 9)).word for gap in over} == over


@pytest.mark.parametrize(
    ("glue_limit", "joint_limit", "words"),
    [
        (0.2, 0.2, ["closed", "usable", "open"]),
        (0.2, 0.15, ["closed", "usable", "open"]),
        (0.2, 0.1, ["closed", "open"]),
        (0.2, None, ["closed", "usable", "to fill"]),
    ],
)
def test_a_word_that_covers_no_gap_is_left_out(glue_limit, joint_limit, words):
    classes = gap_scale(glue_limit, joint_limit).classes
    assert [fit.word for fit in classes] == words
    assert [fit.over for fit in classes[1:]] == [fit.up_to for fit in classes[:-1]]
    assert classes[0].over == 0
    assert classes[-1].up_to == math.inf


@pytest.mark.parametrize("name", ["frost_watch", "label_box", "seed_box"])
@pytest.mark.parametrize("allowed", ["max", "within"])
def test_a_box_has_a_joint_drawn_open_just_where_check_counts_its_gap_as_too_wide(name, allowed):
    design = read_design(name, ())
    limit = Limit(**{allowed: design.limits.joint_gap.max})
    design = design.model_copy(update={"limits": design.limits.model_copy(update={"joint_gap": limit})})
    workshop, scale = read_workshop(design.made_by), gap_scale_of(design)
    boxes = [sampled_box(design, workshop, quantile=share) for share in (0.02, 0.2, 0.5, 0.8, 0.98, 1.0)]
    drawn = [any(joint.fit.word == "open" for joint in shown(box, scale=scale).joints) for box in boxes]
    counted = [not kept(limit, np.array(box.outcomes["joint_gap"])) for box in boxes]
    assert set(counted) == {True, False}
    assert drawn == counted


@given(gap=st.floats(0, 20), glue_limit=st.floats(0.01, 2), joint_limit=st.none() | st.floats(0.01, 5))
def test_a_printed_figure_never_contradicts_its_word(gap, glue_limit, joint_limit):
    scale = gap_scale(glue_limit, joint_limit)
    *side, number, _ = scale.figure(gap).split()
    printed = float(number)
    assert (scale.fit_of(printed) == scale.fit_of(gap)) is not bool(side)
    assert not side or side == ["over" if gap > printed else "under"]
    assert len(number.partition(".")[2]) == 2
    assert printed == pytest.approx(gap, abs=0.005 + 1e-12)


# patterns


@cache
def ink_share(word, width, height, pitch):
    """Return the share of a rectangle under ink by counting points, so that overlaps count once."""
    x, y = np.meshgrid((np.arange(400) + 0.5) * width / 400, (np.arange(400) + 0.5) * height / 400)
    points = np.column_stack([x.ravel(), y.ravel()])
    inked = np.zeros(len(points), dtype=bool)
    for area in pattern(word, width, height, pitch):
        sides = np.roll(area, -1, axis=0) - area
        away = points[:, None, :] - area
        turns = sides[:, 0] * away[..., 1] - sides[:, 1] * away[..., 0]
        inked |= (turns >= 0).all(axis=1) | (turns <= 0).all(axis=1)
    return inked.mean()


@given(word=st.sampled_from(WORDS), width=st.floats(1, 60), height=st.floats(1, 600), pitch=st.floats(0.2, 50))
def test_ink_stays_on_its_face(word, width, height, pitch):
    ink = pattern(word, width, height, pitch)
    assert ink.min() >= -1e-9
    assert (ink.max(axis=(0, 1)) <= np.array([width, height]) + 1e-9).all()


def test_ink_of_lines_and_of_solid_is_what_their_sizes_give():
    """On 10 by 40 with pitch 4: outline 0.88 wide, nine lines 0.96 high inside it; solid but for a rim of 0.528."""
    edge = 0.22 * 4
    outline = 10 * 40 - (10 - 2 * edge) * (40 - 2 * edge)
    lines = math.floor((40 - 0.96) / 4) * 0.96 * (10 - 2 * edge)
    assert ink_share("usable", 10, 40, 4) == pytest.approx((outline + lines) / 400, abs=0.005)
    solid = outline + (10 - 3.2 * edge) * (40 - 3.2 * edge)
    assert ink_share("open", 10, 40, 4) == pytest.approx(solid / 400, abs=0.005)


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize(("width", "height", "pitch"), [(10, 45, 5.3), (7.5, 45, 5.3), (12, 90, 7)])
def test_every_word_can_be_told_from_the_next_by_its_darkness_alone(reader, width, height, pitch):
    """From afar a pattern is the mean light of ink and ground; its lightness falls by 10 of 100 or more each step."""
    seen = READERS[reader]
    light = []
    for word in WORDS:
        share = ink_share(word, width, height, pitch)
        mean = share * colours.linear(seen(tints.INK)) + (1 - share) * colours.linear(seen(tints.GROUNDS[word]))
        light.append(float(colours.lightness(colours.encoded(mean))))
    assert np.diff(light).max() <= -10


# tints


def test_contrast_is_that_of_its_definition():
    """From 1:1 for one tint to 21:1 for black on white; a grey's worked out by hand from the formula.

    Source: WCAG 2.2, definitions of contrast ratio and relative luminance.
    """
    assert colours.contrast(tints.tint("000000"), tints.PAPER) == pytest.approx(21)
    assert colours.contrast(tints.INK, tints.INK) == 1
    light = 0.05 + ((0x77 / 255 + 0.055) / 1.055) ** 2.4
    assert colours.contrast(tints.tint("777777"), tints.PAPER) == pytest.approx(1.05 / light)
    assert colours.luminance(np.eye(3)) == pytest.approx([0.2126, 0.7152, 0.0722])


def test_lightness_fifty_is_the_cube_of_66_over_116():
    """CIE 1976: L* = 116 (Y/Yn)^⅓ - 16, so L* = 50 at Y = (66/116)³."""
    assert colours.lightness(colours.encoded(np.full(3, (66 / 116) ** 3))) == pytest.approx(50)


def test_light_and_its_encoding_are_inverse():
    values = np.linspace(0, 1, 1001)[:, None] * np.ones(3)
    assert colours.encoded(colours.linear(values)) == pytest.approx(values, abs=1e-9)


def test_grey_is_that_of_an_independent_converter():
    """Pillow's "L" is BT.601 luma too, in whole steps of 1/255."""
    some = np.random.default_rng(5).integers(0, 256, (40, 40, 3), dtype=np.uint8)
    expected = np.asarray(Image.fromarray(some).convert("L")) / 255
    assert colours.grey(some / 255)[..., 0] == pytest.approx(expected, abs=1.01 / 255)


def test_a_deuteranope_sees_greys_unchanged_and_red_and_green_alike():
    """Machado's matrix has rows that sum to one; and for him red and green of one lightness run together."""
    greys = np.linspace(0, 1, 11)[:, None] * np.ones(3)
    assert colours.deuteranope(greys) == pytest.approx(greys, abs=2e-6)
    red, green = tints.tint("d00000"), tints.tint("6e6e00")
    apart, seen = np.subtract(red, green), np.subtract(colours.deuteranope(red), colours.deuteranope(green))
    assert np.linalg.norm(seen) < np.linalg.norm(apart) / 3


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("tone", [LAPPED_TONE, PLAIN_TONE])
def test_ink_stands_out_from_lit_and_shaded_timber_three_to_one(reader, tone):
    """Source of the 3:1: WCAG 2.2, success criterion 1.4.11."""
    seen = READERS[reader]
    faces = colours.lit_and_shaded(tone[:3])
    assert faces[0].sum() > faces[1].sum() > faces[2].sum()  # lit above, darker in front, darkest at the side
    assert colours.contrast(seen(faces), seen(tints.INK)).min() >= 3


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("word", WORDS)
def test_ink_stands_out_from_every_ground(reader, word):
    seen = READERS[reader]
    assert colours.contrast(seen(tints.GROUNDS[word]), seen(tints.INK)) >= 3


@pytest.mark.parametrize("word", WORDS)
def test_grounds_and_ink_are_of_one_hue(word):
    """All are blue: green lies about halfway between red and blue, red lowest."""
    red, green, blue = tints.GROUNDS[word]
    assert red < green < blue
    assert 0.25 <= (green - red) / (blue - red) <= 0.55


# joints


@given(seed=st.integers(0, 10**6))
def test_the_marked_worst_joint_is_the_one_with_the_largest_gap(seed):
    gaps = np.random.default_rng(seed).exponential(0.3, (4, 2, 4))
    found = shown(settled(gaps)).worst
    corner, face, _ = np.unravel_index(gaps.argmax(), gaps.shape)
    assert (found.corner, found.face) == (CORNERS[corner], FACES[face])
    assert found.gap == gaps.max()


def test_one_joint_is_the_worst_even_where_several_are():
    joints = shown(settled(np.full((4, 2, 4), 0.3))).joints
    assert [joint.worst for joint in joints] == [True, *7 * [False]]


def test_each_joint_tells_its_own_largest_gap():
    joints = {joint.name: joint.words for joint in shown().joints}
    assert joints == {
        "right-back (A) cheek": "closed, 0.05 mm",
        "right-back (A) shoulder": "usable, 0.15 mm",
        "right-front (B) cheek": "to fill, 0.30 mm",
        "right-front (B) shoulder": "open, 0.70 mm",
        "left-back (C) cheek": "closed, 0.10 mm",
        "left-back (C) shoulder": "to fill, 0.30 mm",
        "left-front (D) cheek": "open, 0.60 mm",
        "left-front (D) shoulder": "open, 1.40 mm",
    }


def test_title_and_caption_say_what_is_shown():
    found = shown()
    assert found.title == "Test box, taken apart"
    drawn = "The parts are drawn without errors."
    assert found.caption.paragraphs == (
        "Joints: a sampled box that 95 in 100 are better than: box 1,234 of 10,000.",
        f"Worst fit: left-front (D) shoulder, open, 1.40 mm. {drawn}",
    )
    bare = scene(parts(), None, 0.2, 0.0)
    assert (bare.title, bare.caption.paragraphs, bare.joints, bare.worst) == (
        "Lap-jointed box, put together",
        ("The parts are drawn without errors.",),
        (),
        None,
    )
    assert shown(explode=0.5).title == "Test box, partly taken apart"


def test_patches_lie_on_their_faces_within_a_tenth_of_a_millimetre():
    """Cheeks at |x| = 160/2 - 7.5 = 72.5 over |y| 35 to 45; shoulders at |y| = 90/2 - 10 = 35 over |x| 65 to 72.5."""
    names = [part.name for part in shown().parts]
    for joint in shown().joints:
        sx, sy = (1 if "right" in joint.corner else -1), (1 if "back" in joint.corner else -1)
        across, along = (0, 1) if joint.face == "cheek" else (1, 0)
        plane = 72.5 * sx if joint.face == "cheek" else 35 * sy
        span = sorted((35 * sy, 45 * sy)) if joint.face == "cheek" else sorted((65 * sx, 72.5 * sx))
        side, end = joint.corner.split("-")
        assert [names[patch.part] for patch in joint.patches] == [f"{side} wall", f"{end} wall"]
        for patch, outward in zip(joint.patches, (1, -1), strict=True):
            lift = (patch.face[:, across] - plane) * outward * (-sx if joint.face == "cheek" else sy)
            assert (lift > 0).all()  # out of the timber,
            assert (lift < 0.1).all()
            low, high = patch.face.min(axis=0), patch.face.max(axis=0)
            assert (low[along], high[along]) == pytest.approx(span)
            assert (low[2], high[2]) == pytest.approx((-22.5, 22.5))
            assert patch.ink[..., along].min() >= span[0] - 1e-9
            assert patch.ink[..., along].max() <= span[1] + 1e-9


@pytest.mark.parametrize("explode", [0.0, 0.3, 1.0])
def test_parts_and_patches_go_apart_together(explode):
    found = shown(explode=explode)
    for joint in found.joints:
        for patch in joint.patches:
            moved = found.placed(patch.part, patch.face) - patch.face
            wall = found.parts[patch.part].name.split()[0]
            direction = {"left": (-1, 0, 0), "right": (1, 0, 0), "front": (0, -1, 0), "back": (0, 1, 0)}[wall]
            assert moved == pytest.approx(np.tile(explode * APART * np.array(direction), (4, 1)))


def test_the_lid_rises_until_it_hides_no_joint():
    """Seen along the view, no middle of a patch lies under the lid; with the lid at its first height, some do."""
    found = shown()
    view = fitted(found.corners(), found.direction, (1000, 1000), np.array([[0, 0], [1000, 1000]]))
    lid = next(i for i, part in enumerate(found.parts) if part.name == "lid")
    patches = [found.placed(p.part, p.face).mean(axis=0) for joint in found.joints for p in joint.patches]
    places = view.pixels(np.array(patches))

    def covered(corners):
        mask = Image.new("1", (1000, 1000))
        hull = corners[ConvexHull(corners).vertices]
        ImageDraw.Draw(mask).polygon([tuple(corner) for corner in hull], fill=1)
        pixels = np.asarray(mask)
        return sum(bool(pixels[int(y), int(x)]) for x, y in places)

    assert covered(view.pixels(found.placed(lid, found.parts[lid].points))) == 0
    assert covered(view.pixels(found.parts[lid].points + np.array([0, 0, APART]))) > 0


@pytest.mark.parametrize(
    ("place", "side"), [((2, 0), -1), ((1, 1), -1), ((0, 0), 1), ((3, 1), 1), ((2, 1), 1), ((1, 0), 1)]
)
def test_the_box_is_turned_so_that_the_worst_joint_shows(place, side):
    gaps = np.full((4, 2, 4), 0.1)
    gaps[place] = 1.0
    assert np.sign(shown(settled(gaps)).direction.round) == side


def test_an_explosion_beyond_taken_apart_is_refused():
    with pytest.raises(InputError) as error:
        shown(explode=1.5)
    assert str(error.value) == "explode: got 1.5, must be from 0 (closed) to 1 (taken apart)"


# grain and view


def test_grain_lines_run_along_the_board_on_its_faces_and_leave_end_grain_bare():
    points, triangles, _ = block((0, 0, 0), (145, 10, 45))
    lines = grain_lines(points, triangles, 0, 5.0)
    whole = lines[:, 1] - lines[:, 0]
    assert np.abs(whole[:, 1:]).max() < 1e-9
    # Planes: 2 across 10 mm, each met by two faces; 9 across 45 mm, each met by two faces; whole lines of 145 mm.
    assert np.abs(whole[:, 0]).sum() == pytest.approx(145 * 2 * (2 + 9))
    on_y = np.isin(lines[..., 1].round(9), (0, 10)).all(axis=1)
    on_z = np.isin(lines[..., 2].round(9), (0, 45)).all(axis=1)
    assert (on_y ^ on_z).all()


def test_grain_of_the_walls_runs_along_their_length():
    found = {part.name: part for part in shown().parts}
    for name, axis in (("left wall", 1), ("front wall", 0), ("lid", 0)):
        runs = np.abs(found[name].grain[:, 1] - found[name].grain[:, 0])
        assert (runs.argmax(axis=1) == axis).all()
        assert len(runs) > 10
    assert not len(found["plaque"].grain)


def test_a_view_is_a_parallel_projection_at_its_scale():
    """Seen from 30° round and 20° up at 2 px/mm, a unit along z is 2 cos 20° high; along x 2 cos 30° wide."""
    view = View(direction=Direction(round=30, up=20), focus=np.array([1.0, 2, 3]), scale=2.0, size=(400, 300))
    middle, x, z = view.pixels(np.array([[1.0, 2, 3], [2, 2, 3], [1, 2, 4]]))
    assert middle == pytest.approx([200, 150])
    assert z - middle == pytest.approx([0, -2 * math.cos(math.radians(20))])
    across = 2 * math.sin(math.radians(30)) * math.sin(math.radians(20))  # x runs away to the right and down
    assert x - middle == pytest.approx([2 * math.cos(math.radians(30)), across])


@given(seed=st.integers(0, 10**6))
def test_a_fitted_view_fills_its_room_and_no_more(seed):
    rng = np.random.default_rng(seed)
    points = rng.normal(0, 50, (30, 3))
    room = np.array([[100.0, 50], [500, 420]])
    pixels = fitted(points, Direction(round=33, up=32), (640, 480), room).pixels(points)
    spare = np.stack([pixels.min(axis=0) - room[0], room[1] - pixels.max(axis=0)])
    assert spare.min() >= -1e-6
    assert spare.min() == pytest.approx(0, abs=1e-6)
    assert spare[0] == pytest.approx(spare[1])


def test_the_box_of_these_tests_is_the_one_that_its_figures_are_told_for():
    assert (BOX.along_x / 2 - BOX.tongue, BOX.along_y / 2 - BOX.plain) == (72.5, 35)
