"""Pictures of a real box: drawn in a child, measured on their pixels; and what is said where none can be drawn."""

import os
import pickle
import subprocess
import sys
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import colours
import numpy as np
import pytest
from PIL import Image
from scipy import ndimage
from shown import SCALE, graded, parts

from assembly.errors import ExportError, InputError, LibraryError
from assembly.files.reading import read_design
from assembly.nominal.frame import corner_words
from assembly.solids.box import box_arrays, build
from viewer.picture import write
from viewer.picture.layout import planned
from viewer.picture.lettering import em_of, font, note_size
from viewer.picture.write import possible_windows, write_picture, write_pictures
from viewer.scene.box_scene import scene
from viewer.scene.scene import TitleBlock
from viewer.scene.visibility import seen

ROOT = Path(__file__).parent.parent
SIZE = (1200, 900)
WORDS = ("closed", "usable", "to fill", "open")
READERS = {"in colour": np.asarray, "grey": colours.grey, "deuteranope": colours.deuteranope}
DRAW = """
import pickle, sys
import numpy as np
from viewer.picture.render import draw
asked = pickle.load(sys.stdin.buffer)
np.savez(sys.argv[1], **{name: draw(*rest, transparent=name == "clear") for name, *rest in asked})
"""


def drawings(file, *asked, code=DRAW):
    """Return drawings by name: of scenes in views, drawn in a child; the one named "clear" on a clear ground."""
    done = subprocess.run(  # our own interpreter
        [sys.executable, "-c", code, str(file)],
        input=pickle.dumps(asked),
        env={
            **os.environ,
            "PYTHONPATH": str(ROOT),
            "VTK_DEFAULT_OPENGL_WINDOW": possible_windows()[0],
            "DISPLAY": "",
        },
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode()
    return dict(np.load(file))


def opened(file):
    """Return a picture, its file closed."""
    with Image.open(file) as image:
        return image.copy()


@pytest.fixture(scope="module")
def shown():
    """Return the shipped frost-watch box, taken apart, with joints of every word."""
    design = read_design("frost_watch", ())
    return scene(box_arrays(build(design)), graded(), SCALE, 1.0, TitleBlock(name=design.name, boxes=10_000))


@pytest.fixture(scope="module")
def drawn(shown, tmp_path_factory):
    """Return the drawing alone, without labels, on both grounds."""
    view = planned(shown, SIZE).view
    file = tmp_path_factory.mktemp("drawn") / "drawn.npz"
    return drawings(file, ("white", shown, view), ("clear", shown, view)) | {"marks": seen(shown, view)}


@pytest.fixture(scope="module")
def pictures(shown, tmp_path_factory):
    """Return the finished picture on both grounds."""
    folder = tmp_path_factory.mktemp("pictures")
    for ground in ("white", "transparent"):
        write_picture(shown, folder / f"{ground}.png", size=SIZE, ground=ground)
    assert sorted(file.name for file in folder.iterdir()) == ["transparent.png", "white.png"]
    return {ground: opened(folder / f"{ground}.png") for ground in ("white", "transparent")}


# the drawing


def test_a_large_picture_is_drawn_in_bands_that_do_not_show(shown, drawn, tmp_path):
    """Of 300 rows each: the rounding of an edge puts some pixels on its other side, at the bands' edges no more."""
    code = DRAW.replace("asked =", f"from viewer.picture import render\nrender._AT_ONCE = {SIZE[0] * 300}\nasked =", 1)
    banded = drawings(tmp_path / "banded.npz", ("white", shown, planned(shown, SIZE).view), code=code)
    off = np.abs(banded["white"].astype(int) - drawn["white"]).max(axis=2) > 4
    assert off.mean() < 1e-4
    assert max(off[edge - 2 : edge + 2].mean() for edge in (300, 600)) < 1e-3


def test_every_part_and_every_joint_is_seen(shown, drawn):
    counts = np.bincount(drawn["marks"].ravel())
    assert len(counts) == 1 + len(shown.parts) + len(shown.joints)
    assert counts.min() > 10


def test_what_is_seen_of_a_joint_lies_on_its_faces(shown, drawn):
    """Within a pixel and a half of the projected contact rectangles."""
    view = planned(shown, SIZE).view
    for index, joint in enumerate(shown.joints):
        y, x = np.nonzero(drawn["marks"] == len(shown.parts) + index + 1)
        places = np.column_stack([x, y]) + 0.5
        beyond = np.full(len(places), np.inf)
        for patch in joint.patches:
            corners = view.pixels(shown.placed(patch.part, patch.face))
            sides = np.roll(corners, -1, axis=0) - corners
            outward = np.column_stack([sides[:, 1], -sides[:, 0]]) / np.linalg.norm(sides, axis=1, keepdims=True)
            turn = np.sign(sides[0, 0] * sides[1, 1] - sides[0, 1] * sides[1, 0])
            beyond = np.minimum(beyond, ((places[:, None] - corners) * outward * turn).sum(axis=2).max(axis=1))
        assert beyond.max() <= 1.5, joint.name


def face_colour(shown, drawn, name, place):
    """Return the median colour round a place on a part's face, given where the closed box has it; sRGB, 0 to 1."""
    index = next(i for i, part in enumerate(shown.parts) if part.name == name)
    x, y = planned(shown, SIZE).view.pixels(shown.placed(index, np.array(place))).astype(int)
    window = np.s_[y - 3 : y + 4, x - 3 : x + 4]
    assert (drawn["marks"][window] == index + 1).all()
    return np.median(drawn["white"][window][..., :3].reshape(-1, 3), axis=0) / 255


def timber(shown, drawn):
    """Return the colours of both kinds of wall on the faces that are seen: up, front, side."""
    side = np.sign(shown.direction.round)
    outer = "right wall" if side > 0 else "left wall"
    return {
        ("front wall", (0, 0, 1)): face_colour(shown, drawn, "front wall", (0, -40, 22.5)),
        ("front wall", (0, -1, 0)): face_colour(shown, drawn, "front wall", (0, -45, 0)),
        (outer, (0, 0, 1)): face_colour(shown, drawn, outer, (side * 72.5, 15, 22.5)),
        (outer, (side, 0, 0)): face_colour(shown, drawn, outer, (side * 80, 5, 0)),
    }


def test_timber_is_lit_as_the_tints_say(shown, drawn):
    tones = {part.name: np.array(part.colour) for part in shown.parts}
    for (name, normal), found in timber(shown, drawn).items():
        expected = tones[name] * colours.shade(normal, shown.direction.round)
        assert found == pytest.approx(expected, abs=4 / 255), (name, normal)


@pytest.mark.parametrize("reader", READERS)
def test_measured_every_joint_s_ink_stands_out_from_the_timber_three_to_one(shown, drawn, reader):
    read = READERS[reader]
    faces = read(np.array(list(timber(shown, drawn).values())))
    for index, joint in enumerate(shown.joints):
        mark = drawn["marks"] == len(shown.parts) + index + 1
        pixels = drawn["white"][mark][:, :3] / 255
        ink = pixels[np.argsort(pixels.sum(axis=1))[: max(5, len(pixels) // 10)]].mean(axis=0)
        assert colours.contrast(read(ink), faces).min() >= 3, joint.name


@pytest.mark.parametrize("reader", READERS)
def test_measured_every_word_is_darker_than_the_better_ones(shown, drawn, reader):
    """The mean light over a joint that is seen whole, at least 8 of 100 in lightness apart."""
    light = {}
    for index, joint in enumerate(shown.joints):
        mark = drawn["marks"] == len(shown.parts) + index + 1
        if mark.sum() > 300:  # of those that are hidden no more than 150 are seen
            mean = colours.linear(READERS[reader](drawn["white"][mark][:, :3] / 255)).mean(axis=0)
            light.setdefault(joint.fit.word, []).append(float(colours.lightness(colours.encoded(mean))))
    assert set(light) == {"closed", "usable", "to fill", "open"}
    steps = [min(light[a]) - max(light[b]) for a, b in pairwise(WORDS)]
    assert min(steps) >= 8, light


def test_a_clear_ground_laid_on_white_is_the_white_ground(drawn):
    clear = drawn["clear"].astype(float)
    opacity = clear[..., 3:] / 255
    laid = clear[..., :3] * opacity + 255 * (1 - opacity)
    assert np.abs(laid - drawn["white"][..., :3]).max() <= 2
    assert (opacity[drawn["marks"] == 0] == 0).mean() > 0.97
    plaque = ndimage.binary_erosion(drawn["marks"] == 7, iterations=4)
    assert 0.3 < np.median(opacity[plaque]) < 0.95  # acrylic lets the ground through


# the picture


def test_pictures_have_the_size_and_ground_that_were_asked_for(pictures):
    assert {name: (image.size, image.mode) for name, image in pictures.items()} == {
        "white": (SIZE, "RGB"),
        "transparent": (SIZE, "RGBA"),
    }


def test_nothing_is_clipped_at_the_edge(pictures):
    """A rim of a quarter of an em is bare."""
    rim = em_of(SIZE[1]) // 4
    for ground, bare in (("white", 255), ("transparent", 0)):
        values = np.asarray(pictures[ground])[..., -1 if ground == "transparent" else slice(None)]
        inner = np.zeros(values.shape[:2], dtype=bool)
        inner[rim:-rim, rim:-rim] = True
        assert (values[~inner] == bare).all()


@pytest.mark.parametrize(("height", "em"), [(1200, 30), (900, 23), (1000, 25)])
def test_letters_are_at_least_a_fortieth_of_the_height(height, em):
    assert em_of(height) == em
    assert em >= height / 40
    assert font(em, "Bold").size == em


def test_every_part_and_joint_has_a_label_with_name_and_figure(shown):
    labels = [note.lines[-2:] for note in planned(shown, SIZE).notes]
    joints = [(corner_words(joint.corner), f"{joint.face} {joint.words}") for joint in shown.joints]
    assert labels[-8:] == joints
    notes = dict(labels[:-8])
    assert notes == {
        "left wall, lapped": "90 × 45 × 15 mm",
        "right wall, lapped": "90 × 45 × 15 mm",
        "front wall, plain": "145 × 45 × 10 mm",
        "back wall, plain": "145 × 45 × 10 mm",
        "base": "160 × 90 × 4 mm",
        "lid": "160 × 90 × 9 mm",
        "plaque": notes["plaque"],
        "2 lid screws": "3.5 × 30 mm",
        "2 plaque screws": "3 × 10 mm, washer ⌀ 7",
        "stem: frost indicator": "⌀ 6 × 60 mm",
    }
    assert notes["plaque"].endswith(" × 90 × 3 mm")
    assert notes["plaque"].startswith("cut ")
    worst = [note.lines for note in planned(shown, SIZE).notes if note.worst]
    assert worst == [("worst fit", "left-front (D)", "shoulder open, 1.40 mm")]


def test_a_plate_is_as_wide_as_its_longest_line(shown):
    for note in planned(shown, SIZE).notes:
        em = em_of(SIZE[1])
        width, height = note_size(note, em)
        assert width >= max(font(em, "Regular").getlength(line) for line in note.lines) + 0.5 * em
        assert height >= len(note.lines) * em


def test_less_exploded_boxes_and_one_without_joints_are_drawn_too(tmp_path):
    shown = [scene(parts(), gaps, SCALE, explode) for gaps, explode in ((graded(), 0.0), (graded(), 0.5), (None, 1.0))]
    files = [tmp_path / f"{number}.png" for number in range(len(shown))]
    write_pictures(list(zip(shown, files, strict=True)), size=(640, 480))
    assert [opened(file).size for file in files] == [(640, 480)] * 3


# what can't be done


def message(kind, *args, **settings):
    with pytest.raises(kind) as error:
        write_picture(scene(parts(), graded(), SCALE, 1.0), *args, **settings)
    return str(error.value)


def test_a_file_of_another_kind_is_refused(tmp_path):
    file = tmp_path / "box.jpg"
    assert message(InputError, file) == f"{file}: ends in '.jpg', must end in '.png'"


def test_a_size_out_of_range_is_refused(tmp_path):
    said = message(InputError, tmp_path / "box.png", size=(100, 9000))
    assert said == "size: got 100 × 9000, each side must be from 480 to 4096 pixels"


def test_an_unknown_ground_is_refused(tmp_path):
    said = message(InputError, tmp_path / "box.png", ground="pink")
    assert said == "ground: got 'pink', must be 'white' or 'transparent'"


def test_a_picture_too_narrow_for_its_words_is_refused_and_leaves_nothing(tmp_path):
    """No scene of ours needs so many: under this many words an upright picture has no room for its drawing."""
    shown = scene(parts(), graded(), SCALE, 1.0)
    wordy = replace(shown, caption=replace(shown.caption, lead=("many words " * 150,)))
    with pytest.raises(InputError) as error:
        write_picture(wordy, tmp_path / "box.png", size=(600, 720))
    assert str(error.value) == "size: 600 × 720 is too narrow for its words; make it at least 660 wide or less high"
    assert not list(tmp_path.iterdir())


def test_a_missing_folder_is_named(tmp_path):
    file = tmp_path / "missing" / "box.png"
    assert message(ExportError, file) == (
        f"{file.parent}: can't write here: No such file or directory; choose another folder with --to, "
        "or free space and check its rights"
    )


CURE = (
    "install one of the Debian and Ubuntu packages libosmesa6 (needs no graphics driver) or libegl1 with libgl1: "
    "apt-get install libosmesa6"
)


def test_without_graphics_libraries_the_packages_are_named_and_an_old_file_stays(tmp_path, monkeypatch):
    monkeypatch.setattr(write, "loadable", lambda _library: False)
    file = tmp_path / "box.png"
    file.write_bytes(b"old")
    said = message(LibraryError, file)
    assert said == f"no picture can be drawn: neither libEGL.so.1 nor libOSMesa.so.8 can be loaded; {CURE}"
    assert file.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [file]


def killed(*_args):
    """Run a child that dies as one does whose graphics library fails: by signal 11."""
    return subprocess.run(
        [sys.executable, "-c", "import os, signal; os.kill(os.getpid(), signal.SIGSEGV)"],
        capture_output=True,
        check=False,
    )


def test_a_child_that_dies_by_a_signal_is_one_message(tmp_path, monkeypatch):
    monkeypatch.setattr(write, "_child", killed)
    monkeypatch.setattr(write, "possible_windows", lambda: ("vtkEGLRenderWindow",))
    said = message(LibraryError, tmp_path / "box.png")
    assert said == (
        f"no picture can be drawn: the graphics libraries are there but failed (vtkEGLRenderWindow); {CURE}"
    )
    assert not list(tmp_path.iterdir())


def test_a_child_without_its_python_library_says_which(tmp_path, monkeypatch):
    code = "raise ModuleNotFoundError(\"No module named 'pyvista'\")"
    run = subprocess.run
    monkeypatch.setattr(
        write, "_child", lambda *_args: run([sys.executable, "-c", code], capture_output=True, check=False)
    )
    assert message(LibraryError, tmp_path / "box.png") == (
        "no picture can be drawn: ModuleNotFoundError: No module named 'pyvista'; "
        "run `pip install lapwright` again into this Python, and report it if that does not help"
    )


def test_a_screen_that_is_not_there_is_not_asked_for(tmp_path, monkeypatch, capfd):
    """With a DISPLAY that nobody serves, the picture is drawn all the same and nothing is said."""
    monkeypatch.setenv("DISPLAY", ":77")
    write_picture(scene(parts(), graded(), SCALE, 1.0), tmp_path / "box.png", size=(640, 480))
    assert (tmp_path / "box.png").stat().st_size > 10_000
    assert capfd.readouterr() == ("", "")


def test_a_turn_is_a_moving_picture_lit_from_the_viewer_s_side(tmp_path):
    """Half a turn: opposite walls change places, so their timber is as light as before; the words stand still."""
    file = tmp_path / "turn.gif"
    write_picture(scene(parts(), None, SCALE, 0.0), file, size=(640, 480), turns=2)
    with Image.open(file) as image:
        assert image.n_frames == 2
        frames = []
        for frame in range(2):
            image.seek(frame)
            frames.append(np.asarray(image.convert("RGB")).astype(float))
    first, half = frames
    assert np.abs(first[:40] - half[:40]).mean() < 1  # but for what each frame's few colours make of smooth letters
    assert (first != half).any()
    timber = [frame[(frame[..., 0] > frame[..., 2] + 40)] for frame in frames]
    assert timber[0].mean() == pytest.approx(timber[1].mean(), abs=4)
