"""The window, driven off screen by its handlers: the same that mouse and keys call."""

import os
import re
import signal
import sys
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shown import SCALE, graded, parts

from assembly.errors import LibraryError, SolidError
from viewer.commands import jobs
from viewer.commands.libraries import need_screen
from viewer.commands.showing import settled_box
from viewer.commands.window_scenes import search_limit
from viewer.picture.write import possible_windows
from viewer.scene.box_scene import scene
from viewer.scene.scene import Caption, TitleBlock
from viewer.window.controls import Button, bar
from viewer.window.keys import KEYS
from viewer.window.state import Bounds, State, seen_as_first

SIZE = (1000, 720)
SIZES = [(1280, 800), (1024, 768), (1920, 1080)]
SCENE = scene(parts(), graded(), SCALE, 0.0, TitleBlock(name="Test box", boxes=10_000))


class Shelf:
    """What a window is opened on in these tests: one scene for every state; a limit case that is found when asked."""

    def __init__(self):
        self.materials = {part.name: "pine" for part in SCENE.parts}
        self.reset()

    def reset(self):
        self.limit, self.fault, self.asked = None, None, []

    def bounds(self):
        return Bounds(steps=3, p95=6.2, limit=self.limit)

    def ready(self, state):
        return state.drawn != "p95"

    def scene(self, state):
        self.asked.append(state.scene_key)
        if state.drawn == "limit" and not state.step:
            if self.fault:
                raise self.fault
            if self.limit is None:
                return "working: looking"
        if state.step:
            return replace(SCENE, shows=f"step {state.step} of 3: sawing", joints=())
        return replace(SCENE, caption=Caption(lead=(f"{state.drawn} {state.times:g}",)))


@pytest.fixture(scope="module", autouse=True)
def off_screen():
    before = os.environ.get("VTK_DEFAULT_OPENGL_WINDOW")
    os.environ["VTK_DEFAULT_OPENGL_WINDOW"] = possible_windows()[0]
    yield
    if before is None:
        del os.environ["VTK_DEFAULT_OPENGL_WINDOW"]


def opened(source, size=SIZE):
    from viewer.window.window import Window  # noqa: PLC0415 - VTK, which the tests that need no window do without

    window = Window(State(bounds=source.bounds()), source, size, off_screen=True)
    window.plotter.show(interactive=False, auto_close=False)
    return window


@pytest.fixture(scope="module")
def one_window():
    found = opened(Shelf())
    yield found
    found.plotter.close()


@pytest.fixture
def window(one_window):
    """Return the window as it is when it opens."""
    one_window.source.reset()
    resize(one_window, SIZE)
    one_window.show(seen_as_first(State(bounds=one_window.source.bounds()), SCENE))
    one_window.source.asked.clear()
    return one_window


@pytest.fixture(scope="module")
def frost_watch():
    from viewer.commands.window_scenes import Scenes  # noqa: PLC0415 - CadQuery

    scenes = Scenes(jobs.read("frost_watch"), seed=1)
    found = opened(scenes, SIZES[0])
    yield found
    found.plotter.close()
    scenes.end()


def resize(window, size):
    """Resize a window as its frame does: the size changes, then the window is notified."""
    window.plotter.window_size = list(size)
    window.show(window.state)


def shot(window):
    window.plotter.render()
    return np.asarray(window.plotter.screenshot(return_img=True)).astype(int)


def place_of(window, key):
    """Return the middle of a button or a slider."""
    shown = bar(window.state, window.size)
    part = next(p for p in shown.parts if getattr(p, "key", getattr(p, "name", None)) == key)
    return round((part.box[0] + part.box[2]) / 2), round((part.box[1] + part.box[3]) / 2)


def slide(window, name, share):
    slider = bar(window.state, window.size).slider(name)
    x, y = round(slider.left + share * (slider.right - slider.left)), round((slider.box[1] + slider.box[3]) / 2)
    click(window, x, y)


def click(window, x, y):
    window.press(x, y)
    window.release(x, y)


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


@pytest.mark.parametrize("size", [SIZES[0], (900, 700)])
@pytest.mark.parametrize("explode", [0.0, 0.3, 1.0])
def test_a_click_picks_the_part_that_is_seen_there(frost_watch, explode, size):
    """Second method: the box as VTK's rasteriser draws it, against a ray; parts and beside them."""
    window = frost_watch
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
def test_a_click_picks_the_right_part_of_a_badly_made_box(frost_watch, drawn):
    window = frost_watch
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
    window.wheel(1.5)
    assert window.state.zoom == 1.5
    click(window, *place_of(window, "h"))
    assert (window.state.round, window.state.up, window.state.zoom) == (first.round, first.up, 1.0)


def test_zooming_leaves_the_middle_of_the_room_where_it_is(window):
    left, top, right, bottom = window.room()
    right_way, up, _ = window.view().direction.axes

    def middle():
        view = window.view()
        off = np.array([(left + right) / 2 - view.size[0] / 2, view.size[1] / 2 - (top + bottom) / 2]) / view.scale
        place = view.focus + off[0] * right_way + off[1] * up
        return [place @ right_way, place @ up]

    before = middle()
    window.wheel(3.0)
    assert middle() == pytest.approx(before, abs=1e-9)


@pytest.mark.parametrize("size", [*SIZES, (700, 900), (420, 900), (1600, 500)])
def test_the_layout_follows_the_window_and_nothing_is_clipped(window, size):
    """The box lies in its room, words and controls beside it, the plates laid where the layout has them."""
    for explode in (0.0, 1.0):
        window.show(replace(window.state, explode=explode))
        resize(window, size)
        left, top, right, bottom = window.room()
        assert (left == 0) == (top > 0) == (size[0] < size[1])
        pixels = window.view().pixels(replace(SCENE, explode=explode).corners())
        assert (pixels > [left, top]).all()
        assert (pixels < [right, bottom]).all()
        assert (right, bottom) == (size[0], bar(window.state, size).top)
        image = shot(window)
        assert image.shape == (size[1], size[0], 3)
        beside = (
            image[: round(bottom) - 1, round(left) - 3 : round(left)] if left else image[round(top) - 3 : round(top)]
        )
        assert (beside == 255).all()  # the strip beside the words, or under them: nothing runs over it
        assert (image[round(bottom), :] < 128).all()  # the rule over the controls, from side to side


def test_a_window_too_small_to_show_anything_does_no_harm(window):
    for size in ((60, 60), (200, 140), (161, 900), (1000, 720)):
        resize(window, size)
        window.key("c")
        click(window, size[0] // 2, size[1] // 2)
    assert window.size == SIZE


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


def test_the_limit_case_is_worked_out_beside_the_window(window):
    """While it is looked for the window says so, shows what it showed, and does whatever else it is asked for."""
    source = window.source
    window.key("3")
    assert (window.working, window.scene.caption.lead) == ("working: looking", ("nominal 1",))
    room = window.room()
    banner = shot(window)[2:24, round(room[2]) - 60 : round(room[2]) - 4]
    assert (banner.sum(axis=2) < 250).mean() > 0.4  # letters on ink, in the corner
    window.key("c")
    window.key("plus")
    window.tick()
    assert (window.working, window.state.explode, window.scene.caption.lead) == (
        "working: looking",
        0.9,
        ("nominal 1",),
    )
    window.key("2")
    assert (window.working, window.scene.caption.lead) == ("", ("p95 2",))
    window.key("3")
    source.limit = 1.5
    window.tick()
    assert (window.working, window.scene.caption.lead, window.state.times) == ("", ("limit 1.5",), 1.5)


@pytest.mark.parametrize("keys", [["2", *["plus"] * 6, "3"], ["3", "plus", "plus"]])
def test_the_limit_case_stays_the_limit_case_at_the_largest_times_that_works(window, keys):
    """However the case is found: by a tick, or by what is pressed before the next tick."""
    source = window.source
    for press in (
        lambda: None,
        lambda: window.key("plus"),
        lambda: window.key("c"),
        lambda: slide(window, "apart", 0.3),
    ):
        source.limit = None
        window.show(seen_as_first(State(bounds=source.bounds()), SCENE))
        for key in keys:
            window.key(key)
        assert window.state.shown == ("p95" if keys[0] == "2" else "nominal")
        source.limit = 2.4
        press()
        window.tick()
        assert (window.working, window.state.drawn, window.state.times) == ("", "limit", 2.4)
        assert (window.scene.caption.lead, window.state.note, window.state.shown) == (("limit 2.4",), "", None)


def test_the_slider_s_end_is_known_as_soon_as_the_limit_case_is_found_whatever_is_shown(window):
    source = window.source
    for keys in (["3", "2"], ["3", "n"]):
        source.limit = None
        window.show(seen_as_first(State(bounds=source.bounds()), SCENE))
        for key in keys:
            window.key(key)
        source.limit = 2.4
        window.tick()
        assert window.state.bounds.limit == 2.4
        window.key("3")
        assert bar(window.state, window.size).slider("errors").most == pytest.approx(1.4 / 19)


def test_a_limit_case_is_never_asked_for_beyond_what_can_be_drawn(frost_watch, monkeypatch):
    """What was found is not shown before `bounds` has said how far it can be drawn."""
    from assembly.solids.as_made import most_times  # noqa: PLC0415 - the same
    from viewer.commands.window_scenes import Scenes  # noqa: PLC0415 - the same

    class Search:
        case = None

        def found(self):
            return self.case

        def status(self):
            return "working"

        def end(self):
            pass

    scenes, search = Scenes(frost_watch.source.job, seed=1), Search()
    monkeypatch.setattr("viewer.commands.window_scenes.LimitSearch", lambda *_: search)
    state = State(bounds=scenes.bounds(), drawn="limit", times=20.0)
    assert scenes.scene(state) == "working"
    search.case = scenes.sampled, False
    assert scenes.ready(state)
    assert scenes.scene(state) == "working"
    assert scenes.bounds().limit == most_times(scenes.sampled) < 20


def test_a_step_gives_way_to_the_box_while_the_limit_case_is_sought(window):
    window.key("n")
    window.key("3")
    assert (window.working, window.scene.caption.lead, window.state.shown) == (
        "working: looking",
        ("nominal 1",),
        "nominal",
    )
    assert window.scene.joints


@pytest.mark.parametrize("explode", [0.0, 1.0])
def test_tags_stand_beside_joints_that_are_seen(frost_watch, explode):
    """Closed, the walls hide their joints' faces; apart, each corner that is seen is named, and no tag is over it."""
    from viewer.window.tags import mark_of, tags_of  # noqa: PLC0415 - VTK is loaded by the fixture

    window = frost_watch
    resize(window, SIZES[0])
    window.show(replace(seen_as_first(window.state, window.scene), explode=explode, drawn="nominal", picked=None))
    seen = [mark_of(tag, window.scene, explode, window.view()) is not None for tag in tags_of(window.scene)]
    shown = [bool(laid.plate.actor.GetVisibility()) for laid in window.stage.laid]
    assert shown == [bool(laid.leader.GetVisibility()) for laid in window.stage.laid] == seen
    assert any(seen) == bool(explode)
    window.key("f")
    assert not any(laid.plate.actor.GetVisibility() for laid in window.stage.laid)
    window.key("f")


def test_what_is_only_laid_on_the_timber_is_drawn_as_edges_and_goes_with_its_step(frost_watch):
    from viewer.commands.showing import steps_shown  # noqa: PLC0415 - the same

    window = frost_watch
    count = window.state.bounds.steps
    laid = [scene.ghosts for scene in steps_shown(window.source.job, list(range(1, count + 1)))]
    number = next(i for i, ghosts in enumerate(laid, 1) if ghosts)
    window.show(replace(window.state, step=number))
    actors = window.stage.ghosts
    drawn = [actor.mapper.GetInput().points for actor in actors]
    for points, ends in zip(drawn, laid[number - 1], strict=True):
        assert np.allclose(np.asarray(points), ends.reshape(-1, 3), atol=1e-4)  # arrays of the screen are single
    window.key("0")
    assert not any(window.plotter.renderer.HasViewProp(actor) for actor in actors)


def test_walls_on_the_bench_are_named(frost_watch):
    window = frost_watch
    for size in SIZES:
        resize(window, size)
        window.key("n")
        assert [laid.plate.actor.GetVisibility() for laid in window.stage.laid] == [1] * 4
        placed = [laid.plate.actor.GetMapper().GetInput().GetBounds() for laid in window.stage.laid]
        lefts = [window.view().pixels(part.points).min(axis=0)[0] for part in window.scene.parts]
        assert all(left < box[1] < end for left, box, end in zip([window.room()[0]] * 4, placed, lefts, strict=True))
        window.key("0")


def test_a_limit_case_that_can_t_be_had_is_told(window):
    source = window.source
    window.key("3")
    source.limit = 0.4
    window.tick()
    assert (window.working, window.state.drawn) == ("", "nominal")
    assert window.state.note == "The limit case can't be drawn as made: its faces cross even at true size."
    source.limit, source.fault = None, SolidError("It broke.")
    window.key("1")
    window.show(replace(window.state, bounds=source.bounds()))
    window.key("3")
    assert (window.working, window.state.drawn, window.state.note) == ("", "nominal", "It broke.")


def test_keys_are_told_over_the_box(window):
    window.key("question")
    assert window.state.keys_shown
    lid = next(part for part in SCENE.parts if part.name == "lid")
    x, y = window.view().pixels(lid.points[4:].mean(axis=0) + lid.away).round().astype(int)
    click(window, x, y)
    assert window.state.picked is None
    window.key("question")
    x, y = window.view().pixels(lid.points[4:].mean(axis=0) + lid.away).round().astype(int)
    click(window, x, y)
    assert window.state.picked in {"lid", "plaque"}


ACTIONS = st.one_of(
    st.tuples(
        st.just("key"), st.sampled_from([*(key.name for key in KEYS), "x", "", "F1", "Control_L", "é", "Delete"])
    ),
    st.tuples(st.sampled_from(["press", "move", "release"]), st.integers(-50, 700), st.integers(-50, 500)),
    st.tuples(st.just("wheel"), st.sampled_from([1.1, 1 / 1.1])),
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
        else:
            getattr(window, what)(*rest)
        state = window.state
        assert 0 <= state.explode <= 1
        assert state.drawn == "nominal" or 1 <= state.times <= state.bounds.most_times(state.drawn)
        assert 0 <= state.step <= 3
        assert abs(state.up) <= 89
        assert -180 <= state.round < 180
        assert 1 / 3 <= state.zoom <= 20
        assert state.picked in {None, *source.materials}
    window.release(0, 0)


@pytest.mark.parametrize(
    ("design", "changes"), [("seed_box", ("timber.plain=11",)), ("frost_watch", ("workshop.shoulder_from=drawing",))]
)
def test_a_design_with_other_steps_opens_and_shows_each_of_them(design, changes):
    from assembly.planning.making import making_order  # noqa: PLC0415 - the same
    from viewer.commands.window_scenes import Scenes  # noqa: PLC0415 - the same

    job = jobs.read(design, changes)
    scenes = Scenes(job, seed=2)
    steps = making_order(job.design, job.workshop).steps
    window = opened(scenes, (480, 360))
    assert window.state.bounds.steps == len(steps)
    for number, step in enumerate(steps, 1):
        window.key("n")
        assert window.scene.title.endswith(f"step {number} of {len(steps)}: {step.stage}")
        assert {part.name for part in window.scene.parts} == set(step.parts)
    window.key("n")
    assert window.state.step == len(steps)
    window.plotter.close()
    scenes.end()


def test_the_limit_case_found_is_that_of_the_worst_command(frost_watch, monkeypatch):
    """What the process of its own sends is what the search gives here; the result itself is made up."""
    made_up = frost_watch.source.sampled

    class Sender:
        sent = None

        def send(self, found):
            self.sent = found

    class Case:
        box, beyond_first_order = made_up, True

    class Worst:
        def __init__(self, design, workshop):
            assert (design, workshop) == (job.design, job.workshop)

        def cases(self, corners, *, seed, nodes):
            assert (corners, seed, nodes) == (["left-back"], 7, jobs.LIMIT_NODES)
            return [Case]

    job, sender = frost_watch.source.job, Sender()
    monkeypatch.setattr("assembly.limit_case.search.Worst", Worst)
    monkeypatch.setattr("viewer.commands.window_scenes.signal.signal", lambda *_: None)
    search_limit(sender, job, "left-back", 7)
    assert sender.sent == (made_up, True)


def test_the_likeliest_bad_box_of_the_window_is_that_of_the_picture(frost_watch, monkeypatch):
    """What its process sends is shown with the words that the picture of the widest joint has."""
    from viewer.commands.window_scenes import Scenes, search_likeliest  # noqa: PLC0415 - the same

    class Sender:
        sent = None

        def send(self, found):
            self.sent = found

    class Search:
        case = None

        def __init__(self, *_):
            pass

        def found(self):
            return self.case

        def status(self):
            return "working"

        def end(self):
            pass

    monkeypatch.setattr("viewer.commands.window_scenes.signal.signal", lambda *_: None)
    monkeypatch.setattr("viewer.commands.window_scenes.LikeliestSearch", Search)
    job, sender, scenes = frost_watch.source.job, Sender(), Scenes(frost_watch.source.job, seed=1)
    state = State(bounds=scenes.bounds(), drawn="likeliest")
    assert scenes.scene(state) == "working"
    search_likeliest(sender, job, jobs.widest_joint(scenes.sampled), 1)
    Search.case = sender.sent
    assert scenes.scene(state) == "working"
    assert 1 <= scenes.bounds().likeliest <= 20
    scene = scenes.scene(state)
    assert scene.worst.corner == jobs.widest_joint(scenes.sampled)
    assert scene.worst.gap == pytest.approx(1.5, abs=0.005)
    drawn = settled_box(job, "likeliest", seed=1)
    assert scene.caption.lead == (f"{drawn.bad} Base, lid and plaque stay as drawn.",)
    scenes.end()


def test_the_limit_search_runs_beside_and_ends_with_the_window(frost_watch):
    from viewer.commands.window_scenes import LimitSearch  # noqa: PLC0415 - the same

    search = LimitSearch(frost_watch.source.job, "left-back", 1)
    assert search.found() is None
    seconds = search.status().removeprefix("working: looking for the limit case of the left-back (C) joint, ")
    assert re.fullmatch(r"[0-9]+ s", seconds)  # how many is the machine's matter
    process = search.process
    assert process.is_alive()
    process.kill()
    process.join()
    with pytest.raises(SolidError) as error:
        search.found()
    assert str(error.value) == "The search for the limit case ended without a word; run `lapwright worst`."
    search.end()
    assert not process.is_alive()


WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_APPEND | os.O_TRUNC
watched = []


def _watch(event, args):
    """Note what is opened to be written, made, moved or removed, while `watched` holds a list."""
    if not watched:
        return
    if event in {"os.mkdir", "os.rename", "os.remove", "os.truncate", "os.link", "os.symlink"}:
        watched[0].append(args[0])
    if event == "open" and args[2] & WRITES and "__pycache__" not in str(args[0]) and str(args[0]) != os.devnull:
        watched[0].append(args[0])


def test_the_window_writes_nothing(window, frost_watch):
    sys.addaudithook(_watch)
    found = []
    watched.append(found)
    try:
        for one in (window, frost_watch):
            for key in ("2", "plus", "n", "0", "Tab", "f", "question", "question", "h"):
                one.key(key)
            click(one, 700, 300)
            slide(one, "apart", 0.5)
            resize(one, SIZES[0])
    finally:
        watched.clear()
    assert found == []


@pytest.mark.parametrize("sent", [0, signal.SIGINT, signal.SIGTERM])
def test_a_signal_closes_the_window_and_is_raised_only_afterwards(sent):
    from viewer.window.events import until_closed  # noqa: PLC0415 - the same

    class Interactor:
        closed = False

        def Start(self):  # noqa: N802 - VTK's name
            if sent:
                signal.raise_signal(sent)

        def TerminateApp(self):  # noqa: N802 - VTK's name
            self.closed = True

    handlers = [signal.getsignal(each) for each in (signal.SIGINT, signal.SIGTERM)]
    interactor = Interactor()
    assert (until_closed(interactor), interactor.closed) == (sent, bool(sent))
    assert [signal.getsignal(each) for each in (signal.SIGINT, signal.SIGTERM)] == handlers


def test_without_a_screen_the_message_says_so(monkeypatch):
    monkeypatch.setattr("viewer.commands.libraries.sys.platform", "linux")
    monkeypatch.setattr("viewer.commands.libraries._answered", lambda: False)
    cure = "run it on a desktop, or use `lapwright picture` instead"
    for display, found in ((None, "DISPLAY is not set"), (":9", "DISPLAY is ':9' and nothing answers there")):
        monkeypatch.delenv("DISPLAY", raising=False)
        if display:
            monkeypatch.setenv("DISPLAY", display)
        with pytest.raises(LibraryError) as error:
            need_screen()
        assert str(error.value) == f"view: no screen to open a window on ({found}); {cure}"
