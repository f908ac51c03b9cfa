"""Printed dimensions as records: a tree over each axis, the frame's numbers when solved, the solid when rebuilt."""

import math

import pytest
from hypothesis import HealthCheck, given, settings

from assembly.files.reading import read_design, read_workshop
from assembly.nominal.fittings import fittings
from assembly.nominal.frame import frame
from assembly.planning.dimensions import drawn_parts
from assembly.planning.making import making_order
from assembly.solids.box import build
from tests.designs import designs

NEAR = 1e-6
FINEST = 0.05  # mm; half a unit of a printed figure's last place
quick = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
SHIPPED = ("frost_watch", "label_box", "seed_box")
WORKSHOPS = ("new_to_tools", "practised")


def of(design, workshop="new_to_tools"):
    return {part.name: part for part in drawn_parts(design, read_workshop(workshop))}


def solved(part, axis, figure):
    """Return the place of every feature of an axis from the first, walking from dimension to dimension.

    That each one is reached just once is what makes them a tree.
    """
    edges = [one for one in part.dimensions if one.axis == axis and one.how != "reference"]
    places = {edges[0].start: 0.0}
    left = list(edges)
    while left:
        one = next((e for e in left if (e.start in places) or (e.end in places)), None)
        assert one is not None, "not connected"
        left.remove(one)
        assert not (one.start in places and one.end in places), "doubled"
        way = math.copysign(1.0, one.end.at - one.start.at)
        if one.start in places:
            places[one.end] = places[one.start] + way * figure(one)
        else:
            places[one.start] = places[one.end] - way * figure(one)
    return {feature.name: place for feature, place in places.items()}


def printed(one):
    """Return the figure that a sheet shows; a place half-way between two is found, not read."""
    return one.value if one.how == "centred" else float(one.text)


def check_trees(design):
    for part in of(design).values():
        for axis in ("along", "up", "deep"):
            found = solved(part, axis, lambda one: one.value)
            features = part.features[axis]
            assert set(found) == {feature.name for feature in features}
            assert len(found) == len(features), "two features of one name"
            rounded = solved(part, axis, printed)
            first = features[0]
            for feature in features:
                assert found[feature.name] == pytest.approx(feature.at - first.at, abs=NEAR)
                assert rounded[feature.name] == pytest.approx(feature.at - first.at, abs=FINEST * len(features))


@pytest.mark.parametrize("name", SHIPPED)
def test_dimensions_of_the_shipped_designs_are_trees_that_solve_to_the_frame(name):
    check_trees(read_design(name))


@quick
@given(designs())
def test_dimensions_of_random_designs_are_trees_that_solve_to_the_frame(design):
    check_trees(design)


def squared(order, wall, along):
    """Return where knife lines run across a wall's face side or lie deep on its edges, from the steps' own lines."""
    return {
        round(line.start[along], 6) + 0.0
        for step in order.steps
        for line in step.lines
        if line.part == wall and line.kind in {"datum", "cut line"} and line.face == "inside"
    }


@quick
@given(designs())
def test_every_line_and_hole_that_is_marked_has_its_dimension(design):
    """Second method: the places come from the lines and crosses of the steps, not from the frame."""
    order = making_order(design, read_workshop("new_to_tools"))
    for part in of(design).values():
        at = {axis: [feature.at for feature in features] for axis, features in part.features.items()}
        if part.name.endswith("wall"):
            name = part.members[0]
            lines = squared(order, name, 0 if name in {"front wall", "back wall"} else 1)
            told = [
                place for place in at["along"] if abs(place) < max(map(abs, at["along"]))
            ]  # the rough end is farthest
            assert all(min(abs(abs(line) - abs(place)) for place in told) < 1e-4 for line in lines)
            assert len(lines) == len(told) - ("cable hole" in {f.name for f in part.features["along"]})
            continue
        marked = design.lid_holes == "measured" or part.name != "lid"
        for hole in part.holes:
            if hole.use == "pilot" and not marked:
                continue
            for axis, place in zip(("along", "up"), hole.centre, strict=False):
                assert min(abs(place - known) for known in at[axis]) < NEAR, (part.name, hole.name)


def span(part, axis, first, last, figure):
    places = solved(part, axis, figure)
    return abs(places[first] - places[last])


def bored(holes, thickness):
    """Return what holes take as their labels tell them: through, so deep, or a cone of 90 degrees that widens one."""
    volume, straight = 0.0, [hole for hole in holes if hole.use != "countersink"]
    for hole in straight:
        volume += math.pi / 4 * hole.diameter**2 * (hole.depth if hole.use == "pilot" else thickness)
    for cone in (hole for hole in holes if hole.use == "countersink"):
        (inner,) = (hole.diameter / 2 for hole in straight if hole.centre == cone.centre)
        outer = cone.diameter / 2
        volume += math.pi / 3 * (outer**3 - inner**3) - math.pi * inner**2 * (outer - inner)  # slope of 45 degrees
    return volume


def rebuilt(part, design, fitted, figure):
    """Return the volume of a part from its printed dimensions and hole labels alone."""
    thick = {"lapped wall": ("face side", "outside face"), "plain wall": ("face side", "outside face")}
    deep = span(part, "deep", *thick.get(part.name, ("upper face", "underside")), figure)
    holes = [hole for hole in part.holes if hole.part == part.members[0]]
    if part.name.endswith("wall"):
        high = span(part, "up", "face edge", "top edge", figure)
        volume = high * deep * span(part, "along", "datum end", "far end", figure)
        if part.name == "lapped wall":
            cut = span(part, "deep", "face side", "cheek", figure)
            shoulders = (span(part, "along", f"{end} end", f"{end} shoulder", figure) for end in ("datum", "far"))
            volume -= high * cut * sum(shoulders)
        return volume - bored(holes, deep)
    if part.name == "base":
        outside = "outside of {} wall" if design.base.oversize else "{} edge"
        sides = (("along", "left", "right"), ("up", "front", "back"))
        return deep * math.prod(span(part, a, outside.format(b), outside.format(c), figure) for a, b, c in sides)
    if part.name == "lid":
        area = span(part, "along", "left edge", "right edge", figure) * span(
            part, "up", "front edge", "back edge", figure
        )
        return area * deep - bored(holes, deep)
    axes = ("along", "up") if fitted.plaque.towards[0] else ("up", "along")
    length = span(part, axes[0], "free edge", "standing leg's edge", figure)
    width = span(part, axes[1], "one side", "other side", figure)
    # bent, the sheet's middle keeps its length: θ ((r + t)² − r²) / 2 against θ (r + k t) t
    gained = fitted.plaque.angle * deep**2 * (0.5 - fitted.plaque.neutral_share) * width
    return length * width * deep + gained - bored(holes, deep)


def check_rebuilt(design):
    box, fitted = build(design), fittings(design)
    for part in of(design).values():
        solid = box.part(part.members[0]).facts.volume
        exact = rebuilt(part, design, fitted, lambda one: one.value)
        assert exact == pytest.approx(solid, rel=1e-9), part.name
        loosest = sum(
            abs(rebuilt(part, design, fitted, lambda one, at=at: one.value + FINEST * (one == at)) - exact)
            for at in part.dimensions
        )
        assert abs(rebuilt(part, design, fitted, printed) - exact) <= 1.1 * loosest + NEAR, part.name


@pytest.mark.parametrize("name", SHIPPED)
def test_a_part_of_a_shipped_design_is_rebuilt_from_what_is_printed(name):
    check_rebuilt(read_design(name))


@settings(quick, max_examples=15)
@given(designs())
def test_a_part_of_a_random_design_is_rebuilt_from_what_is_printed(design):
    check_rebuilt(design)


def test_the_dimensions_of_the_frost_watch_are_those_worked_out_by_hand():
    """Walls of 160 x 90 x 45, ends of 15, sides of 10, half laps: 160 - 2 x 7.5 = 145."""
    parts = of(read_design("frost_watch"))
    told = {(one.part, one.start.name, one.end.name): one.text for one in parts["lapped wall"].dimensions}
    assert told == {
        ("lapped wall", "rough end", "datum end"): "10",
        ("lapped wall", "datum end", "far end"): "90",
        ("lapped wall", "rough end", "other rough end"): "(110)",
        ("lapped wall", "datum end", "datum shoulder"): "10",
        ("lapped wall", "far end", "far shoulder"): "10",
        ("lapped wall", "face edge", "top edge"): "45",
        ("lapped wall", "face side", "outside face"): "15",
        ("lapped wall", "face side", "cheek"): "7.5",
        ("lapped wall", "outside face", "cheek"): "(7.5)",
    }
    length = next(one for one in parts["plain wall"].dimensions if one.end.name == "far end")
    assert length.text == "145"


def test_a_gauge_along_the_outside_has_its_depth_from_there():
    design = read_design("frost_watch", ["timber.lap_share=0.4"])
    outside = read_workshop("new_to_tools").model_copy(update={"gauge_from": "outside"})
    (lapped, *_) = drawn_parts(design, outside)
    told = {(one.start.name, one.end.name): one.text for one in lapped.dimensions if one.axis == "deep"}
    assert told[("outside face", "cheek")] == "9"
    assert told[("face side", "cheek")] == "(6)"


def test_lapped_walls_at_the_front_are_told_alike():
    design = read_design("frost_watch", ['box.front="end"', "lid.screw.length=25"])
    parts, box = of(design), frame(design)
    assert box.turned
    assert parts["lapped wall"].members[0] in {"front wall", "back wall"}
    check_trees(design)
