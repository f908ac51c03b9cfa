"""The window's state: what every key does, where a click lands, what is written; no screen."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shown import APART, SCALE, graded, parts

from viewer.picture.lettering import LEADING, em_of, width_of
from viewer.scene.box_scene import scene
from viewer.scene.camera import Direction, View, fitted
from viewer.scene.scene import Caption, TitleBlock
from viewer.scene.visibility import part_under, seen_from
from viewer.window.controls import Button, ControlWords, Slider, bar, bar_picture, slid
from viewer.window.keys import KEYS, MOUSE, SAME, pressed, with_shift
from viewer.window.looking import moved_aside, seen_as_first, turned
from viewer.window.panel import SHARES, laid, panel, plate, spread
from viewer.window.state import Bounds, State, bounded, exploded, refused, with_times
from viewer.window.tags import beside, leader, mark_of, tags_of
from viewer.window.words import heading, key_words, panel_words, part_words

SCENE = scene(parts(), graded(), SCALE, 0.0, TitleBlock(name="Test box", boxes=10_000))
BOX = seen_as_first(State(bounds=Bounds(steps=35, p95=6.2)), SCENE)
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
        (["2"], {"drawn": "p95"}),
        (["2", "1"], {}),
        (["3"], {"drawn": "limit"}),
        (["plus"], {"drawn": "p95", "times": 2.0}),
        (["plus"] * 9, {"drawn": "p95", "times": 6.2}),
        ([*["plus"] * 9, "minus"], {"drawn": "p95", "times": 6.0}),
        (["3", *["plus"] * 30], {"drawn": "limit", "times": 20.0}),
        (["3", *["plus"] * 30, "2"], {"drawn": "p95", "times": 6.2}),
        (["minus"], {"drawn": "p95", "times": 1.0}),
        (["equal"], {"drawn": "p95", "times": 2.0}),
        (["KP_3"], {"drawn": "limit"}),
        (["4"], {"drawn": "likeliest"}),
        (["4", *["plus"] * 30, "3"], {"drawn": "limit", "times": 20.0}),
        (["f"], {"marked": False}),
        (["n", "n", "n", "b"], {"step": 2}),
        (["n"] * 40, {"step": 35}),
        (["b"], {"step": 0}),
        (["n", "n", "0"], {"step": 0}),
        (["n", "2"], {"step": 0, "drawn": "p95"}),
        (["n", "c", "e", "c"], {"step": 1}),
        (["n", "plus"], {"step": 1}),
        (["2", "n", "plus", "0"], {"drawn": "p95"}),
        (["n", "f"], {"step": 1}),
        (["Tab"], {"picked": "left wall"}),
        (["Tab", "Tab"], {"picked": "right wall"}),
        (["p"], {"picked": "plaque"}),
        (["Tab", "p"], {"picked": "plaque"}),
        (["Tab", "Escape"], {"picked": None}),
        (["Tab", "n"], {"step": 1, "picked": None}),
        (["question"], {"keys_shown": True}),
        (["Left"], {"round": BOX.round - 10}),
        (["Right"], {"round": BOX.round + 10}),
        (["Up"], {"up": BOX.up + 10}),
        (["Down"] * 20, {"up": -90.0}),
        (["i"], {"zoom": 1.2}),
        (["I"], {"zoom": 1.2}),
        (["i", "o"], {"zoom": 1.0}),
        (["Left", "i", "shift+Left", "h"], {}),
        (["i", "shift+Up", "5"], {"round": 0.0, "up": 90.0}),
        (["6"], {"round": 0.0, "up": 0.0}),
        (["KP_7"], {"round": 90.0, "up": 0.0}),
        (["shift+Left", "shift+Right", "shift+Up", "shift+Down"], {}),
        (["x"], {}),
        (["q"], {}),
    ],
)
def test_each_key_changes_what_it_says_and_nothing_else(keys, expected):
    assert after(*keys) == replace(BOX, **expected)


def test_every_key_is_told_once_and_does_something_but_for_the_one_that_closes():
    assert len(MEANT) == len(KEYS) == len({key.cap for key in KEYS})
    assert [key.name for key in KEYS if key.press is None] == ["q"]
    assert set(SAME.values()) <= set(MEANT)
    words = [line for line, _ in panel_words(after("question"), SCENE, MATERIALS)]
    assert words == [line for line, _ in key_words()]
    assert {f"{key.cap}: {key.words}" for key in KEYS} | {f"{what}: {does}" for what, does in MOUSE} <= set(words)


def test_a_box_that_can_t_be_built_as_made_stays_nominal_and_says_so():
    state = replace(BOX, bounds=Bounds(steps=35, p95=0.6))
    said = "This box can't be drawn as made: its faces cross even at true size."
    for key in ("2", "plus"):
        assert after(key, state=state) == replace(state, note=said)
        assert heading(after(key, state=state), SCENE)[-1] == said
        assert after(key, "1", state=state) == state
    assert (
        heading(after(*["plus"] * 9), SCENE)[-1] == "At 6.2 times the faces are about to cross: no more can be shown."
    )


def test_a_limit_case_that_can_t_be_drawn_is_known_once_it_is_found():
    waiting = after("3", "plus", "plus")
    assert bounded(waiting, Bounds(steps=35, p95=6.2, limit=2.1)).times == 2.1
    gone = bounded(waiting, Bounds(steps=35, p95=6.2, limit=0.9))
    assert (gone.drawn, gone.times) == ("nominal", 1.0)
    assert heading(gone, SCENE)[-1] == "The limit case can't be drawn as made: its faces cross even at true size."
    assert heading(refused(waiting, "It broke."), SCENE)[-1] == "It broke."


@given(keys=st.lists(st.sampled_from([key.name for key in KEYS]), max_size=40))
def test_no_keys_lead_out_of_bounds(keys):
    state = after(*keys)
    assert 0 <= state.explode <= 1
    assert 1 <= state.times <= (20 if state.drawn == "limit" else 6.2) or state.drawn == "nominal"
    assert 0 <= state.step <= 35
    assert abs(state.up) <= 90
    assert -180 <= state.round < 180
    assert state.picked in {None, *MATERIALS}


def test_only_what_decides_on_the_arrays_is_in_the_scene_s_key():
    same = [after("c"), after("Tab"), after("f"), after("Left"), after("question"), replace(BOX, times=3.0)]
    assert {state.scene_key for state in (BOX, *same)} == {("nominal", 1.0, 0)}
    assert after("plus").scene_key == ("p95", 2.0, 0)
    assert after("3").scene_key == ("limit", 1.0, 0)
    assert replace(after("plus"), step=4).scene_key == ("nominal", 1.0, 4)


@pytest.mark.parametrize(("key", "way"), [("Left", (-1, 0)), ("Right", (1, 0)), ("Up", (0, 1)), ("Down", (0, -1))])
@pytest.mark.parametrize(("round_", "up", "zoom"), [(0.0, 0.0, 1.0), (33.0, 32.0, 4.0), (-120.0, -60.0, 0.5)])
def test_an_arrow_with_shift_moves_the_box_by_a_tenth_of_what_is_seen_across(key, way, round_, up, zoom):
    """Across: the diagonal of the parts when apart, at this zoom; second method: a point's way in a view."""
    state = replace(BOX, round=round_, up=up, zoom=zoom)
    moved = pressed(state, with_shift(key, held=True), SCENE)
    apart = replace(SCENE, explode=1.0).corners()
    seen = fitted(apart, Direction(round=round_, up=up), (640, 480), np.array([[0.0, 0.0], [640, 480]]))
    there = replace(seen, focus=seen.focus + np.array(moved.aside))
    went = (there.pixels(apart[:1]) - seen.pixels(apart[:1]))[0] / seen.scale * [1, -1]
    across = np.linalg.norm(apart.max(axis=0) - apart.min(axis=0)) / zoom
    assert went == pytest.approx(0.1 * across * np.array(way), abs=1e-9)
    assert replace(moved, aside=state.aside) == state
    assert with_shift(key, held=False) == key
    assert with_shift("question", held=True) == "question"


@given(ways=st.lists(st.tuples(*[st.floats(-1e4, 1e4)] * 3), max_size=6))
def test_the_view_never_goes_farther_than_the_parts_reach(ways):
    state, apart = BOX, replace(SCENE, explode=1.0).corners()
    for way in ways:
        state = moved_aside(state, np.array(way), SCENE)
        assert np.linalg.norm(state.aside) <= np.linalg.norm(np.ptp(apart, axis=0)) / 2 * (1 + 1e-12)


def test_turning_comes_round_again():
    assert turned(BOX, 360, 0).round == pytest.approx(BOX.round)
    assert seen_as_first(turned(BOX, 77, 5), SCENE) == BOX


@pytest.mark.parametrize("explode", [0.0, 0.25, 0.6, 1.0])
def test_a_click_finds_the_part_where_it_now_stands(explode):
    """The lid's lower face is at 22.5 mm closed; from the left at its height only the lid is met."""

    def under(way, height):
        view = View(direction=Direction(round=way, up=0), focus=np.zeros(3), scale=2.0, size=(800, 600))
        return part_under(SCENE, explode, view, (400.3, 300 - 2 * height))

    lid = next(part for part in SCENE.parts if part.name == "lid")
    assert lid.away[2] >= APART
    assert under(-90, 27.0 + explode * lid.away[2]) == "lid"
    assert [under(way, 0.1) for way in (-90, 90, 0)] == ["left wall", "right wall", "front wall"]
    assert under(0, -500) is None


def test_a_picked_wall_tells_its_size_timber_and_joints():
    assert part_words("left wall", SCENE, MATERIALS) == (
        "left wall, lapped",
        "90 × 45 × 15 mm; pine",
        "joins the back wall, left-back (C): cheek closed, 0.10 mm; shoulder to fill, 0.30 mm",
        "joins the front wall, left-front (D): cheek open, 0.60 mm; shoulder open, 1.40 mm",
    )
    assert part_words("base", SCENE, MATERIALS)[-1] == "glued under the four walls"


def test_the_heading_says_how_far_apart_the_box_is():
    titles = [heading(exploded(BOX, explode), SCENE)[0] for explode in (0, 0.5, 1)]
    assert titles == [f"Test box, {way}" for way in ("put together", "partly taken apart", "taken apart")]


def test_a_name_with_a_comma_is_told_whole():
    named = replace(SCENE, name="Kim, Lea")
    assert heading(BOX, named)[0] == "Kim, Lea, taken apart"


SIZES = [(1280, 800), (1024, 768), (1920, 1080)]
WINDOWS = st.tuples(st.integers(160, 2600), st.integers(120, 1500))
STATES = st.lists(st.sampled_from([key.name for key in KEYS]), max_size=12).map(lambda keys: after(*keys))


@given(window=WINDOWS, state=STATES)
def test_controls_lie_in_the_window_and_none_over_another(window, state):
    shown = bar(state, window)
    boxes = [part.box for part in shown.parts]
    for i, (left, top, right, bottom) in enumerate(boxes):
        assert 0 <= left <= right <= window[0] + 0.5
        assert shown.top <= top <= bottom <= window[1]
        for a, b, c, d in boxes[i + 1 :]:
            assert right <= a + 1e-6 or c <= left + 1e-6 or bottom <= b + 1e-6 or d <= top + 1e-6
    for part in shown.parts:
        if not isinstance(part, Slider):
            weight = "Bold" if isinstance(part, ControlWords) else "Regular"
            assert width_of(part.words, shown.em, weight) <= part.box[2] - part.box[0] + 1


@pytest.mark.parametrize("window", SIZES)
def test_controls_are_lettered_as_large_as_the_rest_and_stay_where_they_are(window):
    shown = bar(BOX, window)
    assert shown.em == em_of(window[1]) >= window[1] / 40
    for keys in (["n"] * 9, ["plus"] * 5, ["c"] * 4, ["3"], ["question"]):
        assert [part.box for part in bar(after(*keys), window).parts] == [part.box for part in shown.parts]


def test_what_keys_alone_did_has_a_control_and_each_button_is_a_key():
    buttons = {part.key for part in bar(BOX, SIZES[0]).parts if isinstance(part, Button)}
    assert buttons == {*"1234567nb0fh", "question"}
    assert buttons <= set(MEANT)
    on = {part.key for part in bar(after("2", "f"), SIZES[0]).parts if isinstance(part, Button) and part.on}
    assert on == {"2", "0"}


def test_a_slider_stands_for_its_place_from_end_to_end():
    slider = bar(BOX, SIZES[0]).slider("apart")
    assert (slider.share_at(slider.left), slider.share_at(slider.right)) == (0, 1)
    assert slid(BOX, "apart", slider.share_at((3 * slider.left + slider.right) / 4)).explode == 0.25
    assert (slider.share_at(-50), slider.share_at(9000)) == (0, 1)
    assert slid(BOX, "errors", 9 / 19) == with_times(BOX, 6.2)
    assert slid(BOX, "errors", 3 / 19).times == 4
    assert bar(with_times(BOX, 6.2), SIZES[0]).slider("errors").share == pytest.approx(5.2 / 19)
    assert bar(BOX, SIZES[0]).slider("errors").most == pytest.approx(5.2 / 19)


@given(x=st.floats(0, 1280), y=st.floats(0, 800))
def test_what_is_hit_is_what_lies_there(x, y):
    shown = bar(BOX, SIZES[0])
    hit = shown.at(x, y)
    inside = [p for p in shown.parts if p.box[0] <= x <= p.box[2] and p.box[1] <= y <= p.box[3]]
    assert [hit] == [p for p in inside if not isinstance(p, ControlWords)] or hit is None


@pytest.mark.parametrize("window", SIZES)
def test_the_bar_is_of_its_size_and_its_knobs_follow(window):
    for explode in (0.2, 0.8):
        shown = bar(exploded(BOX, explode), window)
        picture = np.asarray(bar_picture(shown)).astype(int)
        assert picture.shape == (window[1] - shown.top, window[0], 3)
        slider = shown.slider("apart")
        row = round((slider.box[1] + slider.box[3]) / 2 - shown.top - 0.5 * shown.em)  # above the track: the knob alone
        across = np.arange(round(slider.left + 0.1 * shown.em), round(slider.box[2]))
        dark = across[picture[row, across].sum(axis=1) < 200]
        assert dark.mean() == pytest.approx(slider.left + explode * (slider.right - slider.left), abs=1.5)


LONG = (("A title, long enough for two lines at the least", "Bold"), (" ".join(["sawdust"] * 90), "Regular"))


def words_of(lines):
    return "".join(line.words for line in lines).replace(" ", "")


@given(
    window=WINDOWS,
    paragraphs=st.lists(
        st.tuples(st.text("abc ,.é×", max_size=400), st.sampled_from(["Bold", "Regular"])), min_size=1, max_size=9
    ),
    joints=st.booleans(),
)
def test_no_word_is_lost_and_none_leaves_the_panel(window, paragraphs, joints):
    bottom = round(0.85 * window[1])
    words = laid(tuple(paragraphs), SCENE.scale.classes if joints else (), window, bottom)
    assert words_of(words.lines) == "".join(text for text, _ in paragraphs).replace(" ", "")
    for line in words.lines:
        assert line.place[1] + LEADING * words.em <= bottom - (5.2 * words.em if joints else 0) + 1 or words.em == 1
        assert width_of(line.words, words.em, line.weight) <= words.size[0] - 1.6 * words.em or len(line.words) == 1
    assert panel(words).size == words.size


@pytest.mark.parametrize("window", SIZES)
def test_every_word_has_room_at_full_size(window):
    bottom = bar(BOX, window).top
    for part in SCENE.parts:
        words = laid(panel_words(replace(BOX, picked=part.name), SCENE, MATERIALS), SCENE.scale.classes, window, bottom)
        assert words.em == em_of(window[1])
        assert words.size[0] == round(SHARES[0] * window[0])
    assert laid(LONG, (), window, bottom).em == em_of(window[1])
    keys = spread(key_words(), window, bottom)
    assert keys.em == em_of(window[1])
    assert words_of(keys.lines) == "".join(text for text, _ in key_words()).replace(" ", "")
    assert max(line.place[1] for line in keys.lines) + LEADING * keys.em <= bottom


BOXES = st.tuples(st.floats(-200, 1500), st.floats(-200, 1200), st.floats(0, 300), st.floats(0, 300)).map(
    lambda at: (at[0], at[1], at[0] + at[2], at[1] + at[3])
)


def over(one, other):
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@given(marks=st.lists(BOXES, min_size=1, max_size=4))
def test_tags_lie_in_the_room_beside_what_they_name_and_none_over_another(marks):
    sizes = [plate(tag.note, 25).size for tag in tags_of(SCENE)] + [(300, 60)] * 3
    found = beside(marks, sizes[: len(marks)], (500, 0, 1400, 1000))
    placed = [(at, size, mark) for at, size, mark in zip(found, sizes, marks, strict=False) if at]
    boxes = [(*at, at[0] + size[0], at[1] + size[1]) for at, size, _ in placed]
    for i, box in enumerate(boxes):
        assert box[0] >= 500
        assert box[1] >= 0
        assert box[2] <= 1400
        assert box[3] <= 1000
        assert not any(over(box, other) for other in [*marks, *boxes[i + 1 :]])
    for at, size, mark in placed:
        start, end = leader(at, size, mark)
        assert end.tolist() == [(mark[0] + mark[2]) / 2, (mark[1] + mark[3]) / 2]
        assert (at <= start).all()
        assert (start <= np.add(at, size)).all()


def test_a_tag_stands_next_to_a_mark_that_is_alone_and_outward_of_many():
    (place,) = beside([(600, 500, 640, 540)], [(100, 40)], (500, 0, 1400, 1000))
    assert max(abs(place[0] + 50 - 620) - 70, abs(place[1] + 20 - 520) - 40) == pytest.approx(0.5 * 40)
    left, right = beside([(700, 500, 710, 510), (1000, 500, 1010, 510)], [(100, 40)] * 2, (500, 0, 1400, 1000))
    assert left == (700 - 20 - 100, 505 - 20)
    assert right == (1010 + 20, 505 - 20)
    assert beside([(500, 0, 1400, 1000)], [(100, 40)], (500, 0, 1400, 1000)) == [None]


def test_tags_name_the_wider_joint_of_each_corner_with_its_corner_the_worst_first():
    """Gaps of `graded`, mm: right-back 0.05, 0.15; right-front 0.3, 0.7; left-back 0.1, 0.3; left-front 0.6, 1.4."""
    assert [tag.note.lines for tag in tags_of(SCENE)] == [
        ("worst fit: left-front (D) shoulder", "open, 1.40 mm"),
        ("left-back (C) shoulder", "to fill, 0.30 mm"),
        ("right-front (B) shoulder", "open, 0.70 mm"),
    ]


def test_walls_on_the_bench_are_named_and_a_box_without_marks_is_not():
    bench = replace(SCENE, joints=(), parts=SCENE.parts[:4])
    assert [tag.note.lines for tag in tags_of(bench)] == [(part.name,) for part in SCENE.parts[:4]]
    assert tags_of(replace(SCENE, joints=())) == ()
    view = View(direction=Direction(round=0, up=90), focus=np.zeros(3), scale=2.0, size=(800, 600))
    x, y, *same = mark_of(tags_of(bench)[0], bench, 0.0, view)
    assert (x, [x, y]) == (400 - 2 * 80, same)  # the left wall's left edge, from above


def test_a_joint_that_is_hidden_has_no_tag():
    """Walls that are blocks without laps hold their joints' faces inside, closed; where they are clear, all show."""
    view = View(direction=SCENE.direction, focus=np.zeros(3), scale=2.0, size=(800, 600))
    assert [mark_of(tag, SCENE, 0.0, view) for tag in tags_of(SCENE)] == [None] * 3
    glass = replace(SCENE, parts=tuple(replace(part, opacity=0.5) for part in SCENE.parts))
    patch = SCENE.worst.patches[0]
    seen = view.pixels(patch.face + SCENE.parts[patch.part].away)
    expected = (*seen.min(axis=0).tolist(), *seen.max(axis=0).tolist())
    assert mark_of(tags_of(glass)[0], glass, 1.0, view) == pytest.approx(expected)


def test_what_is_seen_is_what_no_part_but_a_clear_one_is_before():
    """From above: the lid's upper face under the plaque; the wall under the lid is not seen."""
    above = View(direction=Direction(round=0, up=90), focus=np.zeros(3), scale=2.0, size=(800, 600))
    points = np.array([[0.0, 0, 31.5], [70, 0, 31.5], [-70, 0, 22.5], [0, 0, -26.5], [500, 0, 0]])
    clear = SCENE.parts[-1].opacity < 1
    assert seen_from(SCENE, 0.0, above, points).tolist() == [clear, True, False, False, True]


def test_a_window_higher_than_wide_has_its_words_above_the_drawing():
    for window in ((420, 900), (700, 900), (768, 1024)):
        bottom = bar(BOX, window).top
        words = laid(panel_words(BOX, SCENE, MATERIALS), SCENE.scale.classes, window, bottom)
        assert words.size[0] == window[0]
        assert words.size[1] <= 0.6 * bottom
        assert words.em >= window[0] // 25 or words.em == em_of(window[1])
        assert max(line.place[1] for line in words.lines) + LEADING * words.em <= words.size[1] - 5.2 * words.em


def test_the_likeliest_bad_box_is_sought_and_bounded_as_the_limit_case_is():
    waiting = replace(after("2", "4"), shown="p95")
    assert heading(waiting, SCENE)[0] == "Test box: the likeliest bad box is being looked for"
    assert bounded(after("4", *["plus"] * 30), Bounds(steps=35, p95=6.2, likeliest=2.1)).times == 2.1
    gone = bounded(after("4"), Bounds(steps=35, p95=6.2, likeliest=0.9))
    assert gone.drawn == "nominal"
    assert (
        heading(gone, SCENE)[-1] == "The likeliest bad box can't be drawn as made: its faces cross even at true size."
    )


def test_while_the_limit_case_is_sought_the_bar_and_the_words_say_what_is_shown():
    waiting = replace(after("2", "plus", "3"), shown="p95")
    buttons = {part.key: part for part in bar(waiting, SIZES[0]).parts if isinstance(part, Button)}
    assert [(buttons[key].on, buttons[key].sought) for key in "123"] == [(False, False), (True, False), (False, True)]
    said = heading(waiting, SCENE)
    assert said == (
        "Test box: the limit case is being looked for",
        "Until it is found, this stays shown:",
        *SCENE.caption.paragraphs,
    )
    looks = [np.asarray(bar_picture(bar(state, SIZES[0]))) for state in (waiting, replace(waiting, drawn="p95"))]
    left, top, right, bottom = (round(side) for side in buttons["3"].box)
    up = bar(waiting, SIZES[0]).top
    differ = np.argwhere((looks[0] != looks[1]).any(axis=2))
    assert differ.min(axis=0).tolist() >= [top - up, left]
    assert differ.max(axis=0).tolist() <= [bottom - up, right]


def test_in_a_step_what_does_nothing_is_off():
    shown = bar(after("2", "n"), SIZES[0])
    assert not shown.slider("errors").usable
    assert not shown.slider("apart").usable
    off = {part.key for part in shown.parts if isinstance(part, Button) and not part.usable}
    assert off == {"f"}
    for name in ("errors", "apart"):
        slider = shown.slider(name)
        assert shown.at((slider.left + slider.right) / 2, (slider.box[1] + slider.box[3]) / 2) is None
    faint = {part.words for part in shown.parts if isinstance(part, ControlWords) and not part.usable}
    assert faint == {"errors × 1", "apart 100%"}
    assert all(part.usable for part in bar(after("2"), SIZES[0]).parts if not isinstance(part, Button))


def test_without_marks_no_fit_is_told():
    plain, made = after("f"), after("f", "2")
    assert heading(plain, SCENE) == (
        "Test box, taken apart",
        "The parts are drawn without errors.",
    )
    assert heading(made, SCENE) == (
        "Test box, taken apart",
        SCENE.caption.paragraphs[0],
        "The parts are drawn without errors.",
    )
    worded = replace(SCENE, caption=replace(SCENE.caption, worst="Worst fit of all: this one."))
    assert heading(made, worded) == heading(made, SCENE)
    bare = replace(SCENE, joints=(), caption=Caption(drawn="A, b. c"))
    assert heading(plain, bare)[1:] == ("A, b. c",)


def test_errors_that_are_not_drawn_are_not_told_to_be_none():
    words = [part.words for part in bar(BOX, SIZES[0]).parts if isinstance(part, ControlWords)]
    assert words == ["drawn", "errors not drawn", "apart 100%", "making", "35 steps", "seen from"]
