"""The window on a file that is changed while it is open: read again when it lies still, kept where it has faults."""

import os
from dataclasses import replace
from pathlib import Path

import pytest
from windows import opened, shot

from assembly.files.shipped import shipped_designs, shipped_workshops
from viewer.commands import jobs
from viewer.commands.watching import WatchedFiles, WatchedScenes
from viewer.window.words import panel_words

TEXT = shipped_designs()["frost_watch"].read_text(encoding="utf-8")
LEAD = "The file was changed and can't be used. Until it is put right, the last good box stays shown."


def write(file, text, at):
    """Write a file, and give it a time of its own: no clock decides whether it has changed."""
    file.write_text(text, encoding="utf-8")
    os.utime(file, ns=(at, at))


def test_a_file_is_changed_once_it_lies_still(tmp_path):
    one, two = tmp_path / "one", tmp_path / "two"
    write(one, "a", 1)
    files = WatchedFiles([one, two])
    assert not files.changed()
    for at, text in ((2, ""), (3, "ab"), (4, "abc")):  # an editor at work: other at every look
        write(one, text, at)
        assert not files.changed()
    assert files.changed()
    assert files.changed()
    files.taken()
    assert not files.changed()
    write(two, "there now", 5)
    assert [files.changed(), files.changed()] == [False, True]
    files.taken()
    one.unlink()
    assert [files.changed(), files.changed()] == [False, True]
    write(tmp_path / "new", "abc", 4)
    (tmp_path / "new").replace(one)  # as long and as old as before it was removed, and yet another file
    files.taken()
    write(tmp_path / "newer", "abc", 4)
    (tmp_path / "newer").replace(one)
    assert [files.changed(), files.changed()] == [False, True]


@pytest.fixture
def mine(tmp_path, off_screen):  # noqa: ARG001 - it decides how VTK draws
    """Return a design file and a window on it."""
    file = tmp_path / "mine.toml"
    write(file, TEXT, 1)
    scenes = WatchedScenes(jobs.read(str(file)), seed=1)
    window = opened(scenes, (1000, 720))
    yield file, window
    window.plotter.close()
    scenes.end()


def ticked(window):
    """Let the window look twice: once to see a change, once to see that it lies still."""
    window.tick()
    window.tick()


def height_of(window):
    wall = next(part for part in window.scene.parts if part.name == "front wall")
    return wall.points[:, 2].max() - wall.points[:, 2].min()


def said(window):
    return [words for words, _ in panel_words(window.state, window.scene, window.source.materials)]


def changed(text, key, value):
    """Return a design with the line of a key changed."""
    lines = text.splitlines(keepends=True)
    at = next(i for i, line in enumerate(lines) if line.startswith(f"{key} = "))  # the first: of the box itself
    return "".join([*lines[:at], f"{key} = {value}\n", *lines[at + 1 :]]), at + 1


def test_the_window_follows_its_file_and_keeps_what_it_shows(mine):
    file, window = mine
    for key in ("c", "c", "Left", "i", "shift+Up", "Tab"):
        window.key(key)
    before = window.state
    assert height_of(window) == pytest.approx(45)
    write(file, changed(TEXT, "height", 40)[0], 2)
    ticked(window)
    assert height_of(window) == pytest.approx(40)
    assert replace(window.state, bounds=before.bounds) == before
    assert window.state.bounds == window.source.bounds()
    window.show(replace(window.state, picked="front wall"))
    assert any(words.startswith("145 × 40 × 10 mm; ") for words in said(window))


def test_a_file_with_faults_leaves_the_last_good_box_and_tells_them(mine):
    """Line, key, what was found, what is allowed; the window goes on, and the faults go when they are put right."""
    file, window = mine
    before, image = window.scene, shot(window)
    text, line = changed(TEXT, "height", -3)
    write(file, text, 2)
    ticked(window)
    assert window.scene is before
    told = [f"{file}, line {line}: box.height: got -3, must be 15 to 600 mm (height of the walls)"]
    assert said(window)[:2] == [LEAD, *told]
    assert (shot(window) != image).any()
    for key in ("2", "n", "0", "1", "c"):
        window.key(key)
    assert said(window)[:2] == [LEAD, *told]
    write(file, "this is = no file", 3)
    ticked(window)
    assert said(window)[0] == LEAD
    file.unlink()
    ticked(window)
    assert said(window)[1].startswith(f"{file}, file: does not exist; ")
    assert window.scene.parts[0] is before.parts[0]
    write(file, changed(TEXT, "height", 50)[0], 4)
    ticked(window)
    assert window.state.faults == ()
    assert LEAD not in said(window)
    assert height_of(window) == pytest.approx(50)


@pytest.mark.parametrize("keys", [["n", "n", "n", "Left"], ["2", "plus", "c"]], ids=" ".join)
def test_a_step_and_a_box_as_made_stay_what_is_shown(mine, keys):
    file, window = mine
    for key in keys:
        window.key(key)
    before, title = window.state, window.scene.title
    write(file, changed(TEXT, "name", '"Other box"')[0], 2)
    ticked(window)
    assert replace(window.state, bounds=before.bounds) == before
    assert window.scene.title.startswith("Other box, ")
    assert title.startswith("Frost watch, ")
    assert bool(window.scene.joints) == (not before.step)


def test_a_step_that_is_no_more_is_the_last_there_is(mine):
    file, window = mine
    window.show(replace(window.state, step=window.state.bounds.steps))
    without_stem = TEXT[: TEXT.index("[stem]")] + TEXT[TEXT.index("[", TEXT.index("[stem]") + 1) :]
    write(file, "".join(line for line in without_stem.splitlines(keepends=True) if "stem_hole" not in line), 2)
    steps = window.state.bounds.steps
    ticked(window)
    assert window.state.faults == ()
    assert window.state.step == window.state.bounds.steps < steps


def test_the_workshop_s_file_is_watched_too(tmp_path, off_screen):  # noqa: ARG001 - it decides how VTK draws
    file, workshop = tmp_path / "mine.toml", tmp_path / "shop.toml"
    write(file, changed(TEXT, "made_by", '"shop.toml"')[0], 1)
    write(workshop, shipped_workshops()["new_to_tools"].read_text(encoding="utf-8"), 1)
    job = jobs.read(str(file))
    assert jobs.files_of(job) == (file, workshop)
    shipped = shipped_workshops()["practised"]
    assert jobs.files_of(jobs.read(str(file), (), "practised")) == (file, shipped)
    scenes = WatchedScenes(job, seed=1)
    write(workshop, Path(shipped).read_text(encoding="utf-8"), 2)
    assert [scenes.changed(), scenes.changed()] == [False, True]
    assert scenes.reload() == ()
    assert scenes.sampled.gaps.max() < 1.5  # practised hands
    assert not scenes.changed()
    scenes.end()
