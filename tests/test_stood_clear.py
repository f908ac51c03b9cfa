"""Boxes as made for printers: no part runs into another but threads in pilots, wherever walls have settled."""

from itertools import combinations

import manifold3d
import numpy as np
import pytest

from assembly.solids.as_made import magnified, most_times
from assembly.solids.box import box_arrays, build
from assembly.solids.stood_clear import stood_clear
from viewer.commands import jobs
from viewer.commands.made_boxes import BoxAsMade, what_is_wrong

DEPTH = (
    0.02  # mm; what walls that settle to first order may run into each other on average, errors three times as large
)


def overlaps(box):
    """Return the volume that each two parts share where they stand, mm³, by names; the mesh kernel's own boolean."""
    bodies = {
        part.facts.name: manifold3d.Manifold(manifold3d.Mesh64(part.placed(), part.triangles.astype(np.uint64)))
        for part in box_arrays(box)
    }
    found = {pair: (bodies[pair[0]] ^ bodies[pair[1]]).volume() for pair in combinations(bodies, 2)}
    return {pair: volume for pair, volume in found.items() if volume > 1e-6}


@pytest.mark.parametrize("name", ["frost_watch", "label_box", "seed_box"])
@pytest.mark.parametrize("times", [1.0, 3.0])
def test_no_two_parts_of_a_box_as_made_overlap_but_threads_in_pilots(name, times):
    """Threads share with their pilots what they share on the drawing; as drawn, a lid would share thousands of mm³."""
    job = jobs.read(name)
    settled = jobs.sampled(job, seed=2)
    built = build(job.design, *magnified(settled, min(times, most_times(settled))))
    raw, found, drawn = overlaps(built), overlaps(stood_clear(built)), overlaps(build(job.design))
    area = settled.frame.height * (settled.frame.plain + settled.frame.lapped / 2)
    walls = {pair for pair in found if all(part.endswith(" wall") for part in pair)}
    assert all(found[pair] < DEPTH * area for pair in walls)
    threads = found.keys() - walls
    assert threads == {("lid", "plaque screw 1"), ("lid", "plaque screw 2")}
    assert all(found[pair] == pytest.approx(drawn[pair], rel=1e-6) for pair in threads)
    assert any(raw[pair] > 10 for pair in raw.keys() - threads if {"lid", "base"} & set(pair))


def test_base_and_lid_touch_the_walls_where_these_stand_out_most():
    job = jobs.read("frost_watch")
    settled = jobs.sampled(job, seed=2)
    box = stood_clear(build(job.design, *magnified(settled, 3.0)))
    at = {part.facts.name: part.placed() for part in box_arrays(box)}
    walls = np.vstack([points for name, points in at.items() if name.endswith(" wall")])[:, 2]
    assert at["base"][:, 2].max() == pytest.approx(walls.min(), abs=1e-9)
    assert at["lid"][:, 2].min() == pytest.approx(walls.max(), abs=1e-9)
    for screw in ("left lid screw", "right lid screw"):
        assert at[screw][:, 2].min() == pytest.approx(walls.max(), abs=1e-9)


def test_a_leg_turned_down_is_lifted_over_a_wall_that_has_come_under_it():
    """The seed box's front wall 10 mm out runs into the leg before it: the lid rises by what hangs below it."""
    design, poses = jobs.read("seed_box").design, np.zeros((4, 4))
    built = build(design)
    leg = next(part for part in box_arrays(built) if part.facts.name == "plaque").placed()
    side = {"front": (0, 1, -1), "back": (1, 1, 1), "left": (2, 0, -1), "right": (3, 0, 1)}[design.plaque.side]
    wall = f"{design.plaque.side} wall"
    points = {part.facts.name: part.placed() for part in box_arrays(built)}
    slot = [f"{each} wall" for each in built.frame.walls].index(wall)
    turned = built.frame.turn[:2, :2].T @ (10.0 * side[2] * np.eye(2)[side[1]])
    poses[slot, :2] = turned
    raw = build(design, None, poses)
    assert overlaps(raw)[wall, "plaque"] > 100
    assert (wall, "plaque") not in overlaps(stood_clear(raw))
    hangs = points["lid"][:, 2].min() - leg[:, 2].min()
    rises = stood_clear(raw).part("lid").facts.closed[2, 3] - raw.part("lid").facts.closed[2, 3]
    assert rises == pytest.approx(hangs, abs=1e-9)
    assert hangs > 5


def test_what_is_wrong_is_told_in_true_size_and_how_large_it_is_drawn():
    settled = jobs.sampled(jobs.read("frost_watch"), seed=2)
    widest = float(settled.gaps.max())  # a corner's gap is the widest of its two faces' contact points
    (corner,) = np.unique(np.nonzero(settled.gaps == widest)[0])
    plain = what_is_wrong(BoxAsMade(settled=settled), 1.0)
    told = what_is_wrong(BoxAsMade(settled=settled, limit_of="right-back", bad="A remark.", beyond=True), 3.0)
    key = "ABCD"[["right-back", "right-front", "left-back", "left-front"].index(settled.frame.corners[corner])]
    clear = (
        "Base and lid are not pressed to the walls as made: each touches only where these stand out most, and the "
        "lid's screws are drawn up out of them."
    )
    joint = f"{settled.frame.corners[corner]} ({key})"
    assert plain == (f"Worst joint: {joint}, {widest:.1f} mm wide; errors are drawn at true size.", clear)
    assert told == (
        plain[0].replace("at true size", "3 times as large"),
        "It is a limit case, not a real box: all errors at their worst for it at once.",
        "A remark.",
        "So large errors are beyond what the predictions hold for.",
        plain[1],
    )
