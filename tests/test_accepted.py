"""What `check` accepts can be built, exported and drawn: designs on and near every limit that fields and rules set."""

import os
import pickle
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from near_limits import CHOICES, ENDS, NUMBERS, accepted, at, near_limits, pushed, put, read
from PIL import Image
from sweep import long, some
from test_pictures_random import DRAW, ROOT, SIZES, measured
from together import CONTACT_VOLUME, mesh_solid, overlaps
from wrote import wrote

from assembly.errors import InputError
from assembly.files.reading import read_workshop
from assembly.made.gap_classes import gap_scale_of
from assembly.made.sampling import BLOCK, draw_block
from assembly.model.workshop import Workshop
from assembly.nominal.frame import WALLS
from assembly.planning.cutting import cut_parts
from assembly.planning.making import making_order
from assembly.solids.as_made import as_made, most_times
from assembly.solids.box import box_arrays, build
from assembly.study.blocks import evaluate_block
from assembly.study.check import BoxModel, sampled_box
from assembly.writers.formats import FORMATS
from viewer.picture.layout import planned
from viewer.picture.write import possible_windows
from viewer.scene.box_scene import scene
from viewer.scene.scene import TitleBlock
from viewer.scene.step_scene import step_scene

# A thread is wider than the pilot hole that it bites; no other two parts may share space.
THREADS = {(f"{wall} wall", f"{wall} lid screw") for wall in WALLS} | {("lid", f"plaque screw {n}") for n in (1, 2)}
SHAPED = ("box", "timber", "base", "lid", "stem", "plaque", "cable_hole")  # tables that shapes come from
RANDOM = {"deadline": None, "database": None, "phases": [Phase.generate], "suppress_health_check": list(HealthCheck)}


# Numbers pushed to their limits one after another, each as far as the ones before let it: corners where a rule stands
# between a design and parts that can't be made, or can't be put together.
CORNERS = {
    "a lid screw's head as narrow as may be": [("lid.screw.hole", "least"), ("lid.screw.head", "least")],
    "a plaque screw's head as narrow as may be": [
        ("plaque.screw.hole", "least"),
        ("plaque.screw.round_head.washer_hole", "least"),
        ("plaque.screw.head", "least"),
        ("plaque.screw.round_head.washer", "least"),
    ],
    "heads as wide as may be": [
        ("lid.screw.head", "most"),
        ("plaque.screw.round_head.washer", "most"),
        ("plaque.screw.head", "most"),
        ("lid.thickness", "least"),
    ],
    "screws as thick as may be": [
        ("lid.overhang", "most"),
        ("lid.screw.head", "most"),
        ("lid.screw.hole", "most"),
        ("lid.screw.diameter", "most"),
        ("timber.lapped", "least"),
        ("lid.screw.pilot", "least"),
        ("timber.lapped", "least"),
    ],
    "holes of the lid side by side": [
        ("box.length", 90.0),
        ("box.width", 160.0),
        ("plaque.width", 40.0),
        ("plaque.hole_spacing", 20.0),
        ("plaque.stem_to_bend", 60.0),
        ("plaque.flat_leg", 120.0),
        ("plaque.hole_offset", 48.0),
        ("plaque.stem_hole", 8.0),
        ("lid.overhang", "most"),
        ("timber.lapped", "least"),
        ("lid.screw.head", "most"),
        ("lid.screw.hole", "most"),
        ("lid.centre_hole", "most"),
    ],
    "plaque screws near the lid's edge": [
        ("plaque.turned", "down"),
        ("plaque.stem_to_bend", 70.0),
        ("plaque.flat_leg", 80.0),
        ("plaque.hole_offset", "most"),
    ],
    "a leg that slopes over a lid screw": [
        ("plaque.width", "least"),
        ("plaque.side", "right"),
        ("plaque.stem_to_bend", "most"),
        ("plaque.angle", 60.0),
        ("plaque.upright_leg", "most"),
    ],
    "a leg that leans over the plaque's screws": [
        ("stem.length", "least"),
        ("plaque.angle", 130.0),
        ("plaque.upright_leg", "most"),
        ("plaque.hole_offset", "most"),
    ],
    "a wide hole under a leaning leg": [
        ("plaque.angle", 130.0),
        ("plaque.stem_hole", "most"),
        ("stem.length", "least"),
    ],
}


def cornered(steps):
    """Return a design, box and lid made longer so that the steps have room, with its numbers pushed one by one."""
    design = put(put(read("frost_watch"), ("box", "length"), 200.0), ("plaque", "flat_leg"), 60.0)
    for key, to in steps:
        path = tuple(key.split("."))
        design = pushed(design, path, to, 0.0) if to in ENDS else put(design, path, to)
    return design


def parts_of(design):
    """Return the names of a design's parts: those of plaque and stem only where it has them."""
    screws = [f"{wall} lid screw" for wall in design.box.lapped_walls]
    upper = ["plaque", "plaque screw 1", "plaque screw 2"] if design.plaque else []
    upper += ["plaque washer 1", "plaque washer 2"] if design.plaque else []
    screws += [f"{wall} lid washer" for wall in design.box.lapped_walls if design.lid.screw.round_head]
    return {*(f"{wall} wall" for wall in WALLS), "base", "lid", *screws, *upper, *(["stem"] if design.stem else [])}


def built(design):
    """Build a design as meshes, each checked as it is made; nothing is where something else is or must be reached."""
    box = build(design)
    parts = box_arrays(box)
    assert {part.facts.name for part in parts} == parts_of(design)
    assert overlaps(parts).keys() <= THREADS
    assert not covered(box, parts)
    for screw in box.fittings.fasteners:
        assert outside(screw, box, parts) <= CONTACT_VOLUME
    return box, parts


def covered(box, parts):
    """Return every screw whose head has a part above it, where the screwdriver comes from."""
    return [
        (screw.name, part.facts.name)
        for screw in box.fittings.fasteners
        for part in parts
        if part.facts.name != screw.name and above(screw, part) > CONTACT_VOLUME
    ]


def outside(screw, box, parts):
    """Return how much of a screw, below the part that it holds, is outside the part that it bites, mm³."""
    side, lid = screw.name.split()[0], box.fittings.lid
    bitten, level, hole = (
        (f"{side} wall", lid.bottom, f"{side} pilot hole")
        if side in WALLS
        else ("lid", lid.top, screw.name.replace("screw", "pilot hole"))
    )
    of_name = {part.facts.name: mesh_solid(part) for part in parts if part.facts.name in {bitten, screw.name}}
    (drilled,) = (each for each in box.fittings.holes if each.name == hole)
    # Round its circle, so that no chord of the drilled hole is left over: 1e-4 of its radius more at the corners.
    bore = Manifold.cylinder(drilled.depth, drilled.diameter / 2 / np.cos(np.pi / 256), circular_segments=256)
    bore = bore.translate((drilled.centre[0], drilled.centre[1], level - drilled.depth))
    below = of_name[screw.name].trim_by_plane((0.0, 0.0, -1.0), -level)
    return (below - of_name[bitten] - bore).volume()


def above(screw, part):
    """Return how much of a part is in the column above a screw's head, mm³."""
    x, y, top = screw.place
    if part.placed()[:, 2].max() <= top:
        return 0.0
    column = Manifold.cylinder(5000.0, screw.screw.head / 2, circular_segments=32).translate((x, y, top))
    return (mesh_solid(part) ^ column).volume()


# Where the limits are


def test_limits_are_looked_for_in_every_number_and_every_choice():
    """Numbers without bounds are those of limits of outcomes; none other is passed over."""
    assert {path[0] for path in NUMBERS} >= {*SHAPED, "contents", "climate", "glue_limit", "required_share"}
    assert NUMBERS["timber", "lapped"] == (4.0, 60.0)
    assert NUMBERS["plaque", "screw", "head"] == (2.0, 18.0)
    assert CHOICES["plaque", "turned"] == ("up", "down")


def test_a_limit_of_a_rule_is_found_to_a_millionth():
    """Shop rule 1: of 15 mm a tongue and a lap of 2 mm each; rule 9 leaves 0.5 under a cone of (head - 3.5) / 2."""
    design = read("frost_watch")
    for end, share in (("most", 13 / 15), ("least", 2 / 15)):
        found = at(pushed(design, ("timber", "lap_share"), end, 0.0), ("timber", "lap_share"))
        assert found == pytest.approx(share, abs=1e-6)
    thin = put(design, ("lid", "thickness"), 6.0)
    thin = put(put(thin, ("plaque", "screw", "length"), 9.5), ("lid", "overhang"), 20.0)
    assert at(pushed(thin, ("lid", "screw", "head"), "most", 0.0), ("lid", "screw", "head")) == 14.5


# Built


@pytest.mark.parametrize("turn", [0, pytest.param(1, marks=long), pytest.param(2, marks=long)])
@pytest.mark.parametrize("end", ENDS)
def test_a_design_with_any_one_number_on_its_limit_is_built(end, turn):
    """Lapped ends and lapped sides take turns; on the limit as rules see it, and a thousandth short of it."""
    lapped_ends, lapped_sides = read("frost_watch"), read("seed_box")
    for number, path in list(enumerate(path for path in NUMBERS if path[0] in SHAPED))[turn::3]:
        design = (lapped_ends, lapped_sides)[(number // 2 + (end == "most")) % 2]
        if at(design, path) is None:
            design = lapped_ends
        if at(design, path) is not None:
            built(pushed(design, path, end, (0.0, 1e-3)[number // 4 % 2]))


@given(near_limits())
@settings(max_examples=some(25), deadline=None, suppress_health_check=list(HealthCheck))
def test_designs_with_several_numbers_near_their_limits_are_built(design):
    built(design)


@pytest.mark.parametrize("steps", CORNERS.values(), ids=CORNERS)
def test_a_corner_where_several_limits_meet_is_accepted_and_built(steps):
    design = cornered(steps)
    assert accepted(design)
    built(design)


# Exported


def test_designs_near_their_limits_are_exported_in_every_format(tmp_path):
    """Writers read back what they wrote: names, volumes, watertight; STEP holds the exact kernel's solids."""
    met = []

    @seed(20260109)
    @settings(max_examples=some(8), **RANDOM)
    @given(near_limits())
    def exported(design):
        box = build(design)
        for name, (suffix, load) in FORMATS.items():
            files = wrote(load(), box, tmp_path / f"{len(met)}{name}{suffix}", 1.0)
            parts = len(parts_of(design))
            assert len(files) == {"stl": parts, "3mf": parts + 1}.get(name, 1)
        met.append(design)

    exported()
    assert len(met) == some(8)


# Drawn


def pictures(design, workshop, number):
    """Return scenes of a design: closed and apart, as made if its faces do not cross, and some steps of its making."""
    _, parts = built(design)
    order = making_order(design, workshop)
    assert cut_parts(design)
    steps = order.steps[number % 8 :: 8]
    shown = [step_scene(order, step.number, parts, design.name, gap_scale_of(design)) for step in steps]
    try:
        settled = sampled_box(design, workshop, quantile=0.95)
    except InputError as refusal:
        if "outside what these predictions hold for" in str(refusal):
            return shown
        raise
    telling = TitleBlock(name=design.name, boxes=10_000)
    shown += [scene(parts, settled, gap_scale_of(design), apart, telling) for apart in (0.0, 1.0)]
    made_parts, made = as_made(design, settled, 1.0)
    return [*shown, scene(made_parts, settled, gap_scale_of(design), float(number % 2), telling, made)]


def test_designs_near_their_limits_are_laid_out_and_some_are_drawn(tmp_path):
    """Every word of every picture stands inside it, every array is finite; one picture of each is drawn for real."""
    sheets = []

    @seed(20260110)
    @settings(max_examples=some(6), **RANDOM)
    @given(near_limits())
    def laid_out(design):
        size = SIZES[len(sheets) % len(SIZES)]
        of_design = []
        for one in pictures(design, read_workshop(design.made_by), len(sheets)):
            assert all(np.isfinite(part.points).all() for part in one.parts)
            of_design.append(planned(one, size))
            for left, top, right, bottom, _, words in measured(of_design[-1]):
                assert 0 <= left <= right <= size[0], words
                assert 0 <= top <= bottom <= size[1], words
        sheets.append(of_design[-1])

    laid_out()
    asked = [(sheet, str(tmp_path / f"{number}.png")) for number, sheet in enumerate(sheets)]
    screen = {"VTK_DEFAULT_OPENGL_WINDOW": possible_windows()[0], "DISPLAY": "", "PYTHONPATH": str(ROOT)}
    done = subprocess.run(  # our own interpreter
        [sys.executable, "-c", DRAW],
        input=pickle.dumps(asked),
        env={**os.environ, **screen},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode()
    for sheet, file in asked:
        with Image.open(file) as image:
            assert image.size == sheet.size
            values = np.asarray(image.convert("RGB")).astype(int)
        assert (values[..., 0] > values[..., 2] + 40).sum() > 100, file  # timber is there to be seen


# As made


def wilder(workshop, times):
    """Return a workshop whose spreads are so many times as large."""
    data = workshop.model_dump()
    for rows in data["operations"].values():
        for row in rows.values():
            row.update({key: min(times * row[key], 20.0) for key in ("class_spread", "maker_spread", "spread")})
    return Workshop.model_validate(data)


@given(near_limits(), st.sampled_from([1, 1, 2, 3]))
@settings(max_examples=some(12), deadline=None, suppress_health_check=list(HealthCheck))
def test_a_box_as_made_is_built_at_true_size_or_refused_in_words(design, times):
    """The sampled box is within first order, where faces rarely cross; a workshop that is beyond it is refused."""
    said, parts = "", ()
    try:
        settled = sampled_box(design, wilder(read_workshop(design.made_by), times))
        parts, _ = as_made(design, settled, 1.0)
    except InputError as refusal:
        said = str(refusal)
    beyond = "outside what these predictions hold for: make the spreads smaller, or the timber thicker"
    crossed = "its faces cross even at true size; make the workshop's spreads smaller or the timber thicker"
    assert len(parts) == len(parts_of(design)) or beyond in said or crossed in said
    assert not parts or most_times(settled) >= 1


def test_the_sampled_box_is_the_nearest_to_the_quantile_within_first_order():
    """Where the nearest of all is beyond first order, the box that is drawn is the next, by going through them all."""
    design, workshop = read("frost_watch"), wilder(read_workshop("new_to_tools"), 1.5)
    model = BoxModel(design, workshop)
    rows = evaluate_block(model, draw_block(model.inputs, BLOCK, seed=1, block=0), BLOCK)
    gaps, beyond = rows[model.rows.index("joint_gap")], rows[model.rows.index("beyond")] == 1
    assert 0.01 < beyond.mean() < 0.1
    tried = np.linspace(0.9, 1.0, 41)
    orders = {share: np.argsort(np.abs(gaps - np.quantile(gaps, share)), kind="stable") for share in tried}
    share = next(share for share in tried if beyond[orders[share][0]])
    expected = next(int(box) for box in orders[share] if not beyond[box])
    assert sampled_box(design, workshop, quantile=float(share)).index == expected


def test_every_design_drawn_here_is_accepted():
    """The strategy keeps what it promises."""

    @seed(20260111)
    @settings(max_examples=20, **RANDOM)
    @given(near_limits())
    def kept(design):
        assert accepted(design)

    kept()
