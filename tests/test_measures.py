"""Sizes drawn beside the parts: they are those of the step, drawn to scale, and clear of every word and leader."""

import itertools
import math

import numpy as np
import pytest
from sweep import long

from assembly.files.reading import read_design, read_workshop
from assembly.made.gap_classes import gap_scale_of
from assembly.planning.making import making_order
from assembly.solids.box import box_arrays, build
from viewer.picture.dimensions import ARROW, Taken, drawn_measures, heads
from viewer.picture.layout import planned
from viewer.scene.scene import ShownMeasure
from viewer.scene.step_scene import step_scene

SHIPPED = ("frost_watch", "label_box", "seed_box")
SIZES = [(1920, 1080), pytest.param((1200, 900), marks=long), (800, 1000), (640, 480)]
MARKING = {"square", "mark", "lap_mark", "lap_mark round", "gauge", "bend line"}


@pytest.fixture(scope="module", params=SHIPPED)
def steps(request):
    design = read_design(request.param, ())
    order, parts = making_order(design, read_workshop(design.made_by)), box_arrays(build(design))
    return [(step, step_scene(order, step.number, parts, design.name, gap_scale_of(design))) for step in order.steps]


@pytest.fixture(scope="module")
def sheet():
    """Return a function that returns the layout of a picture, made once for all tests; scenes are known by identity."""
    made = {}

    def of(shown, size):
        if (id(shown), size) not in made:
            made[id(shown), size] = shown, planned(shown, size)
        return made[id(shown), size][1]

    return of


def test_a_marking_step_draws_its_size_on_every_wall_it_marks(steps):
    for step, _ in steps:
        if step.operation in MARKING:
            assert {one.part for one in step.measures} == set(step.parts)
            for one in step.measures:
                assert math.dist(one.start, one.end) == pytest.approx(step.sizes[0].mm)
            assert {one.text for one in step.names} <= {"datum", "shoulder", "gauge line", "bend line"}


def test_frost_watch_s_figures():
    """10 of waste, walls 90 and 145 long, shoulders 10, laps 7.5 deep, base 164 by 94, screws 7.5 and 30, bend 47.5.

    Where holes are marked, and again where they are made.
    """
    design = read_design("frost_watch", ())
    order = making_order(design, read_workshop(design.made_by))
    texts = [sorted({one.text for one in step.measures}) for step in order.steps if step.measures]
    assert texts == [
        ["30"], ["10"], ["90"], ["145"], ["10"], ["10"], ["7.5"], ["7.5"], ["164", "94"],
        ["7.5"], ["30"], ["7.5"], ["30"], ["7.5"], ["7.5"], ["77.1", "90"], ["18"], ["18", "30"], ["47.5"],
    ]  # fmt: skip


def test_a_measure_is_drawn_as_long_as_what_it_tells_and_parallel_to_it(steps, sheet):
    for (_, shown), size in zip(steps, itertools.cycle(((1920, 1080), (800, 1000)))):
        laid = sheet(shown, size)
        there = [laid.view.pixels(one.ends) for one in shown.measures if one.away is not None]
        for drawn in (one for one in laid.measures if len(one.ticks)):
            run = drawn.line[1] - drawn.line[0]
            assert min(np.abs(run - (ends[1] - ends[0])).max() for ends in there) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("size", SIZES)
def test_every_size_finds_room_and_a_line_is_named_at_least_once(steps, size, sheet):
    for step, shown in steps:
        drawn = sheet(shown, size).measures
        assert sum(len(one.ticks) > 0 for one in drawn) == len(step.measures)
        assert {one.text for one in drawn if not len(one.ticks) and one.leader is None} == {
            one.text for one in step.names
        }


def test_figures_keep_clear_of_labels_of_leaders_and_of_one_another(steps, sheet):
    for (_, shown), size in zip(steps, itertools.cycle(((640, 480), (1920, 1080)))):
        laid = sheet(shown, size)
        boxes = [one.box for one in laid.measures]
        for a, b in itertools.combinations(boxes + [laid.plate(i) for i in range(len(laid.notes))], 2):
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        for (port, anchor), share in itertools.product(
            zip(laid.ports, laid.anchors, strict=True), np.linspace(0, 1, 101)
        ):
            x, y = port + share * (anchor - port)
            assert not any(left < x < right and top < y < bottom for left, top, right, bottom in boxes)


def distance(box, ends):
    """Return how far a line is from a rectangle, pixels; looked at in so many places that it is right to a pixel."""
    points = ends[0] + np.linspace(0, 1, 401)[:, None] * (ends[1] - ends[0])
    return np.linalg.norm(np.maximum(0, np.maximum(box[:2] - points, points - box[2:])), axis=1).min()


def covered(point, triangles):
    """Return whether a point is in any of some triangles, (n, 3, 2): on the same side of all three edges."""
    edges, to = np.roll(triangles, -1, axis=1) - triangles, point - triangles
    turns = edges[..., 0] * to[..., 1] - edges[..., 1] * to[..., 0]
    return bool(((turns > 0).all(axis=1) | (turns < 0).all(axis=1)).any())


@pytest.mark.parametrize("size", SIZES)
def test_a_name_stands_at_the_wall_and_the_end_that_carry_its_line(steps, size, sheet):
    """Of all lines like the named one, the nearest is on its wall, as far along it; no other wall is under it."""
    for step, shown in (one for one in steps if one[0].names):
        laid, named = sheet(shown, size), [one.ends for one in shown.measures if one.away is None]
        lines = [(shown.parts[some.part], ends) for some in shown.strokes for ends in some.ends]
        run = np.abs(np.diff(named[0], axis=0))
        alike = [one for one in lines if np.abs(np.diff(one[1], axis=0)) == pytest.approx(run, abs=1e-6)]
        for drawn in (one for one in laid.measures if not len(one.ticks) and one.leader is None):
            middle = np.array(drawn.box).reshape(2, 2).mean(axis=0)
            far = [distance((*middle, *middle), laid.view.pixels(ends)) for _, ends in alike]
            wall, nearest = alike[int(np.argmin(far))]
            assert distance(drawn.box, laid.view.pixels(nearest)) < 0.5 * laid.em, step.number
            along = [ends[:, 0].mean() for ends in named if covered(*on_plan(ends, wall))]
            assert along == [pytest.approx(nearest[:, 0].mean())], (step.number, wall.name)
            for other in (one for one in shown.parts if one is not wall):
                assert not covered(middle, laid.view.pixels(other.points[other.triangles])), (step.number, wall.name)


def on_plan(ends, wall):
    """Return the middle of a line a little towards the middle of a wall, and the wall's triangles, from above."""
    middle = wall.points.mean(axis=0)
    return (ends.mean(axis=0) + 0.01 * (middle - ends.mean(axis=0)))[:2], wall.points[wall.triangles][..., :2]


def test_a_measure_without_room_is_left_out(steps):
    shown = next(scene for step, scene in steps if step.operation == "mark")
    sheet = planned(shown, (1200, 900))
    nowhere = Taken(room=(0, 0, 1200, 900), plates=((0, 0, 1200, 900),), leaders=np.empty((0, 2, 2)))
    assert drawn_measures(shown, sheet.view, nowhere, sheet.em) == ()


def test_arrows_point_outwards_on_a_long_line_and_inwards_beside_a_short_one():
    em = 20
    for wide, inward in ((100.0, False), (10.0, True)):
        first, last = heads(np.array([[0.0, 0.0], [wide, 0.0]]), em)
        assert first[0] == pytest.approx((0, 0))
        assert last[0] == pytest.approx((wide, 0))
        back = ARROW * em * (-1 if inward else 1)
        assert first[1:, 0] == pytest.approx(back)
        assert last[1:, 0] == pytest.approx(wide - back)


def test_the_figure_of_a_short_measure_stands_beside_it(steps):
    """10 pixels are too short for a figure on the line: its plate does not cover the line's middle."""
    shown = next(scene for step, scene in steps if step.operation == "mark")
    view = planned(shown, (1200, 900)).view
    ends = np.array([[0.0, 0.0, 0.0], [10 / view.scale, 0.0, 0.0]])
    short = ShownMeasure(text="7.5", ends=ends, away=np.array([0.0, -1.0, 0.0]))
    free = Taken(room=(-1e4, -1e4, 1e4, 1e4), plates=(), leaders=np.empty((0, 2, 2)))
    (drawn,) = drawn_measures(type(shown)(**{**fields_of(shown), "measures": (short,)}), view, free, 23)
    x, y = drawn.line.mean(axis=0)
    left, top, right, bottom = drawn.box
    assert not (left < x < right and top < y < bottom)


def fields_of(shown):
    return {name: getattr(shown, name) for name in type(shown).__dataclass_fields__}
