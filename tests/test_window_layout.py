"""What the window shows and where: the box in its room, tags, names and words, in windows of any size."""

from dataclasses import replace

import numpy as np
import pytest
from windows import SCENE, SIZE, SIZES, click, opened, resize, shot

from viewer.commands import jobs
from viewer.window.controls import bar
from viewer.window.looking import seen_as_first

pytestmark = pytest.mark.usefixtures("off_screen")


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


@pytest.mark.parametrize("explode", [0.0, 1.0])
def test_tags_stand_beside_joints_that_are_seen(box_window, explode):
    """Closed, the walls hide their joints' faces; apart, each corner that is seen is named, and no tag is over it."""
    from viewer.window.tags import mark_of, tags_of  # noqa: PLC0415 - VTK is loaded by the fixture

    window = box_window
    resize(window, SIZES[0])
    window.show(replace(seen_as_first(window.state, window.scene), explode=explode, drawn="nominal", picked=None))
    seen = [mark_of(tag, window.scene, explode, window.view()) is not None for tag in tags_of(window.scene)]
    shown = [bool(laid.plate.actor.GetVisibility()) for laid in window.stage.laid]
    assert shown == [bool(laid.leader.GetVisibility()) for laid in window.stage.laid] == seen
    assert any(seen) == bool(explode)
    window.key("f")
    assert not any(laid.plate.actor.GetVisibility() for laid in window.stage.laid)
    window.key("f")


def test_what_is_only_laid_on_the_timber_is_drawn_as_edges_and_goes_with_its_step(box_window):
    from viewer.commands.showing import steps_shown  # noqa: PLC0415 - the same

    window = box_window
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


def test_walls_on_the_bench_are_named(box_window):
    window = box_window
    for size in SIZES:
        resize(window, size)
        window.key("n")
        assert [laid.plate.actor.GetVisibility() for laid in window.stage.laid] == [1] * 4
        placed = [laid.plate.actor.GetMapper().GetInput().GetBounds() for laid in window.stage.laid]
        lefts = [window.view().pixels(part.points).min(axis=0)[0] for part in window.scene.parts]
        assert all(left < box[1] < end for left, box, end in zip([window.room()[0]] * 4, placed, lefts, strict=True))
        window.key("0")


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


@pytest.mark.usefixtures("undrawn")
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
