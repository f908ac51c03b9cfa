"""The window, driven off screen by its handlers: the same that mouse and keys call."""

import os
from dataclasses import replace

import numpy as np
import pytest
from shown import graded, parts

from assembly.errors import LibraryError
from viewer.libraries import need_screen
from viewer.panel import track
from viewer.picture import possible_windows
from viewer.scene import Telling, scene
from viewer.state import Bounds, State

SIZE = (1000, 720)
SCENE = scene(parts(), graded(), 0.2, 0.0, Telling(name="Test box", boxes=10_000))


@pytest.fixture(scope="module")
def window():
    from viewer.window import Window  # noqa: PLC0415 - VTK, which the tests that need no window do without

    before = os.environ.get("VTK_DEFAULT_OPENGL_WINDOW")
    os.environ["VTK_DEFAULT_OPENGL_WINDOW"] = possible_windows()[0]
    state = State(bounds=Bounds(steps=0, most_times=1.0))
    opened = Window(state, lambda _: SCENE, {part.name: "pine" for part in SCENE.parts}, SIZE, off_screen=True)
    opened.plotter.show(interactive=False, auto_close=False)
    yield opened
    opened.plotter.close()
    if before is None:
        del os.environ["VTK_DEFAULT_OPENGL_WINDOW"]


def shot(window):
    window.plotter.render()
    return np.asarray(window.plotter.screenshot(return_img=True)).astype(int)


def slider():
    return track((round(0.36 * SIZE[0]), SIZE[1]))


def click(window, x, y):
    window.press(x, y)
    window.release(x, y)


@pytest.mark.parametrize("explode", [0.2, 0.3, 0.7, 1.0])  # closed, the blocks of these tests overlap
def test_a_click_picks_the_part_that_is_drawn_there(window, explode):
    """Second method: VTK's own cell picker on the actors as they are placed, at pixels strewn over the drawing."""
    from vtkmodules.vtkRenderingCore import vtkCellPicker  # noqa: PLC0415 - the same

    place = slider()
    click(window, round(place.left + explode * (place.right - place.left)), round(place.middle))
    assert window.state.explode == pytest.approx(explode, abs=0.01)
    picker = vtkCellPicker()
    picker.SetTolerance(0)
    picker.PickFromListOn()
    bodies = {id(actors[0]): part.name for part, actors in zip(SCENE.parts, window.actors, strict=True)}
    for actors in window.actors:
        picker.AddPickList(actors[0])
    found = set()
    for x in range(400, 1000, 47):
        for y in range(10, 720, 41):
            picker.Pick(x + 0.5, SIZE[1] - 1 - y + 0.5, 0, window.plotter.renderer)
            expected = bodies.get(id(picker.GetActor()))
            assert window.part_under(x + 0.5, y + 0.5) == expected
            found.add(expected)
    assert len(found) > 5


@pytest.mark.parametrize("explode", [0.0, 0.5, 1.0])
def test_what_is_picked_is_outlined_where_it_now_stands(window, explode):
    window.show(replace(window.state, explode=explode, picked=None, marked=False))
    plain = shot(window)
    view = window.view()
    lid = next(part for part in SCENE.parts if part.name == "lid")
    x, y = view.pixels(lid.points[4:].mean(axis=0) + explode * lid.away)
    across = view.pixels(lid.points[4:] + explode * lid.away)
    x, y = across[0] * 0.4 + across[1] * 0.1 + across[2] * 0.5  # on its upper face, clear of the plaque's middle
    click(window, round(x), round(y))
    assert window.state.picked == "lid"
    changed = np.argwhere(np.abs(shot(window) - plain).sum(axis=2)[:, 360:] > 60)[:, ::-1] + [360, 0]
    all_corners = view.pixels(lid.points + explode * lid.away)
    assert changed.min(axis=0) == pytest.approx(all_corners.min(axis=0), abs=6)
    assert changed.max(axis=0) == pytest.approx(all_corners.max(axis=0), abs=6)


def test_a_drag_turns_the_view_and_picks_nothing(window):
    window.show(replace(window.state, explode=1.0, picked=None, round=33.0, up=32.0, zoom=1.0))
    window.press(700, 400)
    window.move(750, 400)
    window.move(750, 425)
    window.release(750, 425)
    assert (window.state.round, window.state.up, window.state.picked) == (13.0, 42.0, None)
    window.wheel(1.5)
    assert window.state.zoom == 1.5
    window.key("h")
    assert (window.state.round, window.state.up, window.state.zoom) == (33.0, 32.0, 1.0)


def test_the_box_keeps_clear_of_the_panel(window):
    for explode in (0.0, 1.0):
        window.show(replace(window.state, explode=explode, zoom=1.0))
        pixels = window.view().pixels(replace(SCENE, explode=explode).corners())
        assert pixels[:, 0].min() >= 0.36 * SIZE[0]
        assert pixels.max(axis=0) == pytest.approx(np.minimum(pixels.max(axis=0), SIZE))
        assert pixels[:, 1].min() >= 0


def test_keys_reach_the_state_and_the_panel(window):
    window.show(replace(window.state, told=False))
    before = shot(window)[:, :360]
    window.key("question")
    assert window.state.told
    assert (shot(window)[:, :360] != before).any()
    window.key("question")


def test_without_a_screen_the_message_says_so(monkeypatch):
    monkeypatch.setattr("viewer.libraries.sys.platform", "linux")
    monkeypatch.setattr("viewer.libraries._answered", lambda: False)
    cure = "run it on a desktop, or use `lapwright picture` instead"
    for display, found in ((None, "DISPLAY is not set"), (":9", "DISPLAY is ':9' and nothing answers there")):
        monkeypatch.delenv("DISPLAY", raising=False)
        if display:
            monkeypatch.setenv("DISPLAY", display)
        with pytest.raises(LibraryError) as error:
            need_screen()
        assert str(error.value) == f"view: no screen to open a window on ({found}); {cure}"
