"""The window in use: what clicks, drags, sliders and buttons do, by the handlers that mouse and keys call."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sweep import long
from windows import SCENE, SIZES, click, place_of, resize, shot, slide

from viewer.window.controls import Button, bar
from viewer.window.keys import KEYS
from viewer.window.looking import seen_as_first
from viewer.window.state import State


def rastered(window):
    """Return the number of the part that VTK draws at each pixel, from 1; 0 where there is none.

    The parts alone, each in a flat colour of its own that stands for its number, through the window's own camera.
    """
    import pyvista as pv  # noqa: PLC0415 - the same

    from viewer.picture.meshes_and_lights import surface_of  # noqa: PLC0415 - the same

    plotter = pv.Plotter(off_screen=True, window_size=list(window.size), lighting="none")
    plotter.set_background("black")
    plotter.ren_win.SetMultiSamples(0)
    for number, part in enumerate(window.scene.parts, 1):
        moved = surface_of(part.points + window.state.explode * part.away, part.triangles)
        plotter.add_mesh(moved, color=(number * 16 / 255, 0.0, 0.0), lighting=False)
    plotter.camera = window.plotter.camera.copy()
    plotter.reset_camera_clipping_range()
    image = np.asarray(plotter.screenshot(return_img=True)).astype(int)
    plotter.close()
    return (image[..., 0] + 8) // 16


def shrunk(area):
    """Return an area less the pixels that touch what is not of it: where two parts meet, a pixel may be of either."""
    for axis in (0, 1):
        area = area & np.roll(area, 1, axis) & np.roll(area, -1, axis)
    return area


def sampled_pixels(numbers, number):
    """Return pixels (x, y) of a part: twelve along its outline, where a part a little off shows, and four inside."""
    inside = shrunk(numbers == number)
    outline = np.argwhere(inside & ~shrunk(inside))[:, ::-1]
    within = np.argwhere(inside)[:, ::-1]
    return [*outline[:: max(1, len(outline) // 12)].tolist(), *within[:: max(1, len(within) // 4)].tolist()]


@pytest.mark.parametrize(
    ("explode", "size"),
    [
        (0.0, SIZES[0]),
        (0.3, (900, 700)),
        (1.0, SIZES[0]),
        pytest.param(0.0, (900, 700), marks=long),
        pytest.param(0.3, SIZES[0], marks=long),
        pytest.param(1.0, (900, 700), marks=long),
    ],
)
def test_a_click_picks_the_part_that_is_seen_there(box_window, explode, size):
    """Second method: the box as VTK's rasteriser draws it, against a ray; parts and beside them."""
    window = box_window
    resize(window, size)
    window.show(replace(seen_as_first(window.state, window.scene), explode=explode, picked=None, drawn="nominal"))
    numbers, names = rastered(window), [part.name for part in window.scene.parts]
    left, top, right, bottom = (round(side) for side in window.room())
    numbers[:, : left + 2], numbers[bottom - 2 :] = -1, -1
    seen = 0
    for number in range(len(names) + 1):
        pixels = sampled_pixels(numbers, number)
        expected = names[number - 1] if number else None
        for x, y in pixels:
            assert window.part_under(x, y) == expected
        for x, y in pixels[-2:-1]:
            click(window, x, y)
            assert window.state.picked == expected
        seen += bool(number) and len(pixels) > 0
    assert seen >= {0.0: 10, 0.3: 11, 1.0: 12}[explode]
    assert (right, top) == (size[0], 0)


@pytest.mark.parametrize("drawn", ["p95"])
def test_a_click_picks_the_right_part_of_a_badly_made_box(box_window, drawn):
    window = box_window
    resize(window, SIZES[1])
    window.show(replace(seen_as_first(window.state, window.scene), explode=0.0, drawn=drawn, times=6.0, round=-60.0))
    numbers, names = rastered(window), [part.name for part in window.scene.parts]
    left, _, _, bottom = (round(side) for side in window.room())
    numbers[:, : left + 2], numbers[bottom - 2 :] = -1, -1
    for number in range(1, len(names) + 1):
        for x, y in sampled_pixels(numbers, number):
            assert window.part_under(x, y) == names[number - 1]


@pytest.mark.parametrize("explode", [0.0, 0.5, 1.0])
def test_what_is_picked_is_outlined_where_it_now_stands(window, explode):
    window.show(replace(window.state, explode=explode, picked=None, marked=False))
    plain = shot(window)
    view = window.view()
    left = round(window.room()[0])
    lid = next(part for part in SCENE.parts if part.name == "lid")
    across = view.pixels(lid.points[4:] + explode * lid.away)
    x, y = across[0] * 0.4 + across[1] * 0.1 + across[2] * 0.5  # on its upper face, clear of the plaque's middle
    click(window, round(x), round(y))
    assert window.state.picked == "lid"
    bottom = round(window.room()[3])
    changed = np.argwhere(np.abs(shot(window) - plain).sum(axis=2)[:bottom, left:] > 60)[:, ::-1] + [left, 0]
    all_corners = view.pixels(lid.points + explode * lid.away)
    assert changed.min(axis=0) == pytest.approx(all_corners.min(axis=0), abs=6)
    assert changed.max(axis=0) == pytest.approx(all_corners.max(axis=0), abs=6)


def test_a_drag_turns_the_view_and_picks_nothing(window):
    first = SCENE.direction
    window.press(700, 400)
    window.move(750, 400)
    window.move(750, 425)
    window.release(750, 425)
    assert (window.state.round, window.state.up, window.state.picked) == (first.round - 20, first.up + 10, None)
    window.wheel(1.5, 700, 400)
    assert window.state.zoom == 1.5
    click(window, *place_of(window, "h"))
    assert (window.state.round, window.state.up, window.state.zoom) == (first.round, first.up, 1.0)


def under(window, x, y):
    """Return the place of the picture's plane that is seen at a pixel: mm to the right and up."""
    view = window.view()
    right, up, _ = view.direction.axes
    off = np.array([x - view.size[0] / 2, view.size[1] / 2 - y]) / view.scale
    place = view.focus + off[0] * right + off[1] * up
    return [place @ right, place @ up]


@pytest.mark.usefixtures("undrawn")
@pytest.mark.parametrize("explode", [0.0, 1.0])
def test_the_wheel_enlarges_about_the_pointer(window, explode):
    """What is under the pointer stays there, however often; keys, and the wheel beside the room, keep the middle."""
    window.show(replace(window.state, explode=explode))
    for x, y in window.view().pixels(replace(SCENE, explode=explode).corners())[::9].tolist():
        before = under(window, x, y)
        for by in (1.3, 1.3, 1 / 1.2):
            window.wheel(by, x, y)
            assert under(window, x, y) == pytest.approx(before, abs=1e-9)
        window.wheel(1000.0, x, y)  # beyond the largest
        assert (window.state.zoom, under(window, x, y)) == (20.0, pytest.approx(before, abs=1e-9))
        window.key("h")
    left, top, right, bottom = window.room()
    middle = ((left + right) / 2, (top + bottom) / 2)
    before = under(window, *middle)
    window.key("i")
    window.wheel(2.0, 5, 5)
    assert under(window, *middle) == pytest.approx(before, abs=1e-9)
    assert window.state.zoom == pytest.approx(2.4)


@pytest.mark.parametrize("zoom", [1.0, 5.0])
def test_a_drag_with_shift_or_the_middle_button_moves_the_box_with_the_mouse(window, zoom):
    """The place under the mouse goes with it; no click, no button, and no turning."""
    window.show(replace(window.state, zoom=zoom, picked="lid"))
    before, state = under(window, 700, 400), window.state
    window.press(700, 400, moves=True)
    for x, y in ((710, 390), (735, 385), (745, 412)):
        window.move(x, y)
        assert under(window, x, y) == pytest.approx(before, abs=1e-9)
    window.release(745, 412)
    assert replace(window.state, aside=state.aside) == state
    window.press(700, 400, moves=True)
    window.release(700, 400)
    assert window.state.picked == "lid"
    x, y = place_of(window, "2")
    window.press(x, y, moves=True)
    window.release(x, y)
    assert window.state.drawn == "nominal"


def test_turning_keeps_the_place_that_was_moved_to_the_middle(window):
    """Second method: the middle of the front wall, brought to the room's middle, stays near it from every side."""
    wall = next(part for part in SCENE.parts if part.name == "front wall")
    window.show(replace(window.state, explode=0.0))
    left, top, right, bottom = window.room()
    middle, place = np.array([(left + right) / 2, (top + bottom) / 2]), wall.points.mean(axis=0)
    x, y = window.view().pixels(place)
    window.press(700, 400, moves=True)
    window.move(round(700 + middle[0] - x), round(400 + middle[1] - y))
    window.release(700, 400)
    assert window.view().pixels(place) == pytest.approx(middle, abs=1)
    window.key("Up")
    assert window.view().pixels(place) == pytest.approx(middle, abs=60)


@pytest.mark.parametrize(("key", "axes"), [("5", (0, 1)), ("6", (0, 2)), ("7", (1, 2))])
def test_plain_views_show_lengths_and_right_angles_as_they_are(window, key, axes):
    """From above x goes to the right and y up; from the front x and z; from the right side y and z."""
    window.show(replace(window.state, zoom=3.0, aside=(5.0, 5.0, 5.0)))
    click(window, *place_of(window, key))
    view = window.view()
    points = np.array([[0.0, 0.0, 0.0], *np.eye(3)])
    pixels = (view.pixels(points) - view.pixels(points[0])) / view.scale * [1, -1]
    assert pixels[1:][list(axes)] == pytest.approx(np.eye(2), abs=1e-12)
    corners = view.pixels(replace(SCENE, explode=1.0).corners())
    left, top, right, bottom = window.room()
    assert (corners > [left, top]).all()
    assert (corners < [right, bottom]).all()


def test_the_slider_takes_the_box_apart(window):
    for share in (0.0, 0.37, 1.0):
        slide(window, "apart", share)
        assert window.state.explode == pytest.approx(share, abs=0.01)
        lid = next(i for i, part in enumerate(SCENE.parts) if part.name == "lid")
        assert window.stage.moving[lid][0].GetPosition() == pytest.approx(window.state.explode * SCENE.parts[lid].away)


def test_taking_apart_builds_nothing_anew(window):
    before = [actor for actors in window.stage.moving for actor in actors]
    meshes = [actor.mapper.GetInput().GetMTime() for actor in before]
    slide(window, "apart", 0.4)
    window.key("c")
    window.key("Tab")
    window.key("f")
    assert [actor for actors in window.stage.moving for actor in actors] == before
    assert [actor.mapper.GetInput().GetMTime() for actor in before] == meshes
    assert window.source.asked == []


def test_errors_are_built_once_the_slider_is_let_go(window):
    slider = bar(window.state, window.size).slider("errors")
    y, wide = round((slider.box[1] + slider.box[3]) / 2), slider.right - slider.left
    window.press(round(slider.left + wide / 19), y)
    for step in (2, 3, 4):
        window.move(round(slider.left + step * wide / 19), y)
    assert (window.state.times, window.source.asked, window.scene.caption.lead) == (5.0, [], ("nominal 1",))
    window.release(round(slider.left + 4 * wide / 19), y)
    assert (window.state.times, window.source.asked, window.scene.caption.lead) == (5.0, [("p95", 5.0, 0)], ("p95 5",))


@pytest.mark.usefixtures("undrawn")
def test_every_button_does_what_its_key_does(window):
    for button in [part for part in bar(window.state, window.size).parts if isinstance(part, Button) and part.usable]:
        start = window.state
        window.key(button.key)
        by_key = window.state
        window.show(start)
        click(window, *place_of(window, button.key))
        assert window.state == by_key
        window.show(start)


def test_a_button_that_is_left_before_the_mouse_is_released_does_nothing(window):
    before = window.state
    window.press(*place_of(window, "2"))
    window.move(700, 300)
    window.release(700, 300)
    assert window.state == before


ACTIONS = st.one_of(
    st.tuples(
        st.just("key"), st.sampled_from([*(key.name for key in KEYS), "x", "", "F1", "Control_L", "é", "Delete"])
    ),
    st.tuples(st.sampled_from(["press", "move", "release"]), st.integers(-50, 700), st.integers(-50, 500)),
    st.tuples(st.just("wheel"), st.sampled_from([1.1, 1 / 1.1]), st.integers(-50, 700), st.integers(-50, 500)),
    st.tuples(st.just("moving"), st.integers(-50, 700), st.integers(-50, 500)),
    st.tuples(st.just("slide"), st.sampled_from(["errors", "apart"]), st.floats(0, 1)),
    st.tuples(st.just("size"), st.integers(1, 700), st.integers(1, 500)),
    st.tuples(st.just("limit"), st.sampled_from([None, 0.5, 3.0, 20.0])),
    st.tuples(st.just("tick")),
)


@settings(
    max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], deadline=None
)
@given(actions=st.lists(ACTIONS, max_size=20))
def test_nothing_that_is_pressed_clicked_or_slid_raises_or_leaves_the_bounds(one_window, actions):
    window, source = one_window, one_window.source
    source.limit = None
    resize(window, (320, 240))
    window.show(State(bounds=source.bounds()))
    for what, *rest in actions:
        if what == "size":
            resize(window, rest)
        elif what == "limit":
            source.limit = rest[0] or source.limit
        elif what == "slide":
            slide(window, *rest)
        elif what == "moving":
            window.press(*rest, moves=True)
        else:
            getattr(window, what)(*rest)
        state = window.state
        assert 0 <= state.explode <= 1
        assert state.drawn == "nominal" or 1 <= state.times <= state.bounds.most_times(state.drawn)
        assert 0 <= state.step <= 3
        assert abs(state.up) <= 90
        assert -180 <= state.round < 180
        assert 1 / 3 <= state.zoom <= 20
        assert state.picked in {None, *source.materials}
    window.release(0, 0)
