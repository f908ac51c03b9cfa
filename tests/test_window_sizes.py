"""The sizes that the window's steps show: all that their pictures show, true to scale, and only where they are seen."""

import re
from dataclasses import replace
from functools import cache
from itertools import combinations

import numpy as np
import pytest
import sweep
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from windows import opened, place_of, resize, shot

from assembly.planning.making import making_order
from viewer.commands import jobs
from viewer.commands.showing import steps_shown
from viewer.commands.window_scenes import Scenes
from viewer.scene.camera import Direction, fitted
from viewer.window.sizes import Placed, sizes_shown, strokes_of

pytestmark = pytest.mark.usefixtures("off_screen")

ROOM, EM = (440.0, 0.0, 1280.0, 706.0), 21
DESIGNS = ("frost_watch", "seed_box")


@cache
def all_steps(name):
    job = jobs.read(name)
    return steps_shown(job, list(range(1, len(making_order(job.design, job.workshop).steps) + 1)))


ALL = all_steps("frost_watch")
STEPS = [scene for scene in ALL if scene.measures or scene.holes]


def seen_at(scene, direction):
    room = np.array([[540.0, 80.0], [1200.0, 640.0]])
    return fitted(scene.corners(), direction, (1280, 800), room)


@pytest.mark.usefixtures("undrawn")
@pytest.mark.parametrize("name", DESIGNS)
def test_every_size_of_every_step_is_shown_at_first(name):
    """Beside the names of the walls, in the window as it opens; of steps without sizes, every tenth shows none."""
    scenes = Scenes(jobs.read(name), seed=1)
    window = opened(scenes, (1280, 800))
    sized = 0
    for number, scene in enumerate(all_steps(name), 1):
        if not (sweep.ALL or scene.measures or scene.holes or number % 10 == 0):
            continue
        if window.state.step != number - 1:
            window.show(replace(window.state, step=number - 1))
        window.key("n")
        said = [
            words
            for (words, _), laid in zip(window.stage.sizes.said, window.stage.sizes.plates, strict=True)
            if laid.actor.GetVisibility()
        ]
        assert sorted(said) == sorted(each.text for each in (*scene.measures, *scene.holes))
        sized += len(said)
    assert sized > 40
    window.plotter.close()
    scenes.end()


def test_a_figure_is_the_length_that_is_drawn_beside_it():
    """Seen plain from above, what lies level is as long between its arrows as its figure says, at the view's scale."""
    looked_at = 0
    for scene in STEPS:
        view = seen_at(scene, Direction(round=0.0, up=90.0))
        level = tuple(each for each in scene.measures if each.away is not None and np.ptp(each.ends[:, 2]) < 1e-9)
        drawn = sizes_shown(replace(scene, measures=level, holes=()), view, EM, ROOM, [])
        for each in drawn:
            long = np.linalg.norm(each.line[1] - each.line[0]) / view.scale
            assert float(re.match(r"[0-9.]+", each.text).group()) == pytest.approx(long, abs=0.051)
            looked_at += 1
    assert looked_at > 15


def test_what_is_turned_away_shows_no_size():
    """The sizes on the lid's upper face, from above and from below."""
    lid = next(scene for scene in STEPS if scene.measures and [part.name for part in scene.parts] == ["lid"])
    sizes = len(lid.measures)
    for up, count in ((80.0, sizes), (40.0, sizes), (-40.0, 0), (-80.0, 0)):
        view = seen_at(lid, Direction(round=20.0, up=up))
        assert len(sizes_shown(replace(lid, holes=()), view, EM, ROOM, [])) == count


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(
    scene=st.sampled_from(STEPS),
    round_=st.floats(-180, 180),
    up=st.floats(-90, 90),
    zoom=st.floats(0.5, 6),
    tag=st.tuples(st.floats(440, 1100), st.floats(0, 600)),
)
def test_figures_stay_in_the_room_clear_of_tags_and_of_one_another(scene, round_, up, zoom, tag):
    view = seen_at(scene, Direction(round=round_, up=up))
    view = replace(view, scale=zoom * view.scale)
    placed = Placed(place=tag, size=(120, 30), mark=(tag[0] - 30, tag[1], tag[0] - 30, tag[1]))
    boxes = [each.box for each in sizes_shown(scene, view, EM, ROOM, [placed])]
    for left, top, right, bottom in boxes:
        assert ROOM[0] <= left < right <= ROOM[2]
        assert ROOM[1] <= top < bottom <= ROOM[3]
    boxes.append((*tag, tag[0] + 120, tag[1] + 30))
    for a, b in combinations(boxes, 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_lines_and_figures_are_drawn_where_they_were_laid(box_window):
    """Ink under each arrow's line, paper and ink on each plate; gone with the step, and while keys are told."""
    window = box_window
    resize(window, (1280, 800))
    number = next(i for i, scene in enumerate(ALL, 1) if scene.measures and scene.holes)
    window.show(replace(window.state, step=number, drawn="nominal"))
    window.key("h")
    scene, view, em = window.scene, window.view(), window.em
    drawn = sizes_shown(scene, view, em, window.room(), [])
    strokes, image = strokes_of(drawn, em), shot(window)
    middles = strokes.heads.mean(axis=1).round().astype(int)
    assert len(middles) == 2 * len(scene.measures) + len(scene.holes)
    dark = image.sum(axis=2) < 250
    assert np.mean([dark[y - 1 : y + 2, x - 1 : x + 2].any() for x, y in middles]) == 1.0
    for each in drawn:
        left, top, right, bottom = (round(side) for side in each.box)
        plate = image[top + 2 : bottom - 2, left + 2 : right - 2]
        assert (plate == 255).all(axis=2).mean() > 0.3
        assert (plate.sum(axis=2) < 250).mean() > 0.05
    actors = window.stage.sizes.actors()
    window.key("question")
    assert not any(actor.GetVisibility() for actor in actors)
    window.key("question")
    assert any(actor.GetVisibility() for actor in actors)
    window.press(*place_of(window, "0"))
    window.release(*place_of(window, "0"))
    assert not any(window.plotter.renderer.HasViewProp(actor) for actor in actors)
