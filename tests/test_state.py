"""The window's state: what every key does, where a click lands, what is told; no screen."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shown import APART, graded, parts

from viewer.panel import apart, panel, tag_of, told, track
from viewer.scene import Telling, scene
from viewer.state import KEYS, Bounds, State, exploded, heading, part_at, part_words, pressed, seen_as_first, turned

SCENE = scene(parts(), graded(), 0.2, 0.0, Telling(name="Test box", boxes=10_000))
BOX = State(bounds=Bounds(steps=35, most_times=6.2))
MATERIALS = {part.name: "pine" for part in SCENE.parts}
MEANT = {key.name: key for key in KEYS}


def after(*keys, state=BOX):
    for key in keys:
        state = pressed(state, key, SCENE)
    return state


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        (["c"], {"explode": 0.9}),
        (["c"] * 12, {"explode": 0.0}),
        (["c", "e", "e"], {"explode": 1.0}),
        (["m"], {"made": True}),
        (["m", "m"], {"made": False}),
        (["plus"], {"made": True, "times": 2.0}),
        (["plus"] * 9, {"made": True, "times": 6.2}),
        ([*["plus"] * 9, "minus"], {"made": True, "times": 6.0}),
        (["minus"], {"made": True, "times": 1.0}),
        (["equal"], {"made": True, "times": 2.0}),
        (["f"], {"marked": False}),
        (["n", "n", "n", "b"], {"step": 2}),
        (["n"] * 40, {"step": 35}),
        (["b"], {"step": 0}),
        (["n", "n", "0"], {"step": 0}),
        (["n", "m"], {"step": 0, "made": True}),
        (["Tab"], {"picked": "left wall"}),
        (["Tab", "Tab"], {"picked": "right wall"}),
        (["p"], {"picked": "plaque"}),
        (["Tab", "p"], {"picked": "plaque"}),
        (["Tab", "Escape"], {"picked": None}),
        (["Tab", "n"], {"step": 1, "picked": None}),
        (["question"], {"told": True}),
        (["Left"], {"round": 23.0}),
        (["Right"], {"round": 43.0}),
        (["Up"], {"up": 42.0}),
        (["Down"] * 20, {"up": -89.0}),
        (["i"], {"zoom": 1.2}),
        (["i", "o"], {"zoom": 1.0}),
        (["Left", "i", "h"], {}),
        (["x"], {}),
        (["q"], {}),
    ],
)
def test_each_key_changes_what_it_says_and_nothing_else(keys, expected):
    assert after(*keys) == replace(BOX, **expected)


def test_every_key_is_told_once_and_does_something_but_for_the_one_that_closes():
    assert len(MEANT) == len(KEYS) == len({key.cap for key in KEYS})
    assert [key.name for key in KEYS if key.press is None] == ["q"]
    words = [line for line, _ in told(after("question"), SCENE, MATERIALS)]
    assert words == ["Keys", *(f"{key.cap}  {key.words}" for key in KEYS)]


def test_a_box_that_can_t_be_built_as_made_stays_nominal_and_says_so():
    state = replace(BOX, bounds=Bounds(steps=35, most_times=0.6))
    assert after("m", state=state) == state
    assert after("plus", state=state) == state
    assert heading(state, SCENE)[-1] == "This box can't be drawn as made: its faces cross even at true size."
    assert (
        heading(after(*["plus"] * 9), SCENE)[-1] == "At 6.2 times the faces are about to cross: no more can be shown."
    )


@given(keys=st.lists(st.sampled_from([key.name for key in KEYS]), max_size=40))
def test_no_keys_lead_out_of_bounds(keys):
    state = after(*keys)
    assert 0 <= state.explode <= 1
    assert 1 <= state.times <= 6.2
    assert 0 <= state.step <= 35
    assert abs(state.up) <= 89
    assert -180 <= state.round < 180
    assert state.picked in {None, *MATERIALS}


def test_only_what_decides_on_the_arrays_is_in_the_scene_s_key():
    same = [after("c"), after("Tab"), after("f"), after("Left"), after("question"), replace(BOX, times=3.0)]
    assert {state.scene_key for state in (BOX, *same)} == {(False, 1.0, 0)}
    assert after("plus").scene_key == (True, 2.0, 0)
    assert replace(after("plus"), step=4).scene_key == (False, 1.0, 4)


def test_turning_comes_round_again():
    assert turned(BOX, 360, 0).round == pytest.approx(BOX.round)
    assert seen_as_first(turned(BOX, 77, 5), SCENE) == BOX


@pytest.mark.parametrize("explode", [0.0, 0.25, 0.6, 1.0])
def test_a_ray_finds_the_part_where_it_now_stands(explode):
    """The lid's lower face is at 22.5 mm closed; from the left at its height only the lid is met."""
    lid = next(part for part in SCENE.parts if part.name == "lid")
    height = 27.0 + explode * lid.away[2]
    assert lid.away[2] >= APART
    assert part_at(SCENE, explode, np.array([-500.0, 0, height]), np.array([1.0, 0, 0])) == "lid"
    assert part_at(SCENE, explode, np.array([-500.0, 0, 0]), np.array([1.0, 0, 0])) == "left wall"
    assert part_at(SCENE, explode, np.array([500.0, 0, 0]), np.array([-2.0, 0, 0])) == "right wall"
    assert part_at(SCENE, explode, np.array([0.0, -500, 0]), np.array([0, 1.0, 0])) == "front wall"
    assert part_at(SCENE, explode, np.array([0.0, -500, 0]), np.array([0, -1.0, 0])) is None


def test_a_picked_wall_tells_its_size_timber_and_joints():
    assert part_words("left wall", SCENE, MATERIALS) == (
        "left wall, lapped",
        "90 × 45 × 15 mm; pine",
        "joins the back wall, left-back cheek: closed, 0.10 mm",
        "joins the back wall, left-back shoulder: weak, 0.30 mm",
        "joins the front wall, left-front cheek: open, 0.60 mm",
        "joins the front wall, left-front shoulder: open, 1.40 mm",
    )
    assert part_words("base", SCENE, MATERIALS)[-1] == "glued under the four walls"


def test_the_heading_says_how_far_apart_the_box_is():
    titles = [heading(exploded(BOX, explode), SCENE)[0] for explode in (0, 0.5, 1)]
    assert titles == [f"Test box, {way}" for way in ("put together", "partly taken apart", "taken apart")]


def test_the_slider_stands_for_its_place_from_end_to_end():
    slider = track((500, 1000))
    assert (slider.explode_at(slider.left), slider.explode_at(slider.right)) == (0, 1)
    assert slider.explode_at((3 * slider.left + slider.right) / 4) == pytest.approx(0.25)
    assert (slider.explode_at(-50), slider.explode_at(900)) == (0, 1)
    assert slider.holds(250, slider.middle)
    assert not slider.holds(250, slider.middle - 100)


def test_the_panel_is_of_its_size_and_its_slider_follows():
    size = (500, 1000)
    slider = track(size)
    for explode in (0.2, 0.8):
        picture = np.asarray(panel(exploded(BOX, explode), SCENE, MATERIALS, size)).astype(int)
        assert picture.shape == (1000, 500, 3)
        dark = np.flatnonzero(picture[round(slider.middle) - 12].sum(axis=1) < 200)  # above the track: the knob alone
        assert dark.mean() == pytest.approx(slider.left + explode * (slider.right - slider.left), abs=1.5)


@given(
    places=st.lists(st.tuples(st.floats(-200, 1500), st.floats(-200, 1200)), min_size=1, max_size=4),
)
def test_tags_lie_in_the_window_and_none_over_another(places):
    sizes = [tag_of(joint, 25).size for joint in SCENE.joints[: len(places)]]
    found = apart(places, sizes, (500, 0, 1400, 1000))
    boxes = [(x, y, x + w, y + h) for (x, y), (w, h) in zip(found, sizes, strict=True)]
    for i, (left, top, right, bottom) in enumerate(boxes):
        assert left >= 500
        assert top >= 0
        assert right <= 1400
        assert bottom <= 1000
        for a, b, c, d in boxes[i + 1 :]:
            assert right <= a or c <= left or bottom <= b or d <= top
