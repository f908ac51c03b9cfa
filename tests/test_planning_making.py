"""The order of making: its sequence, its lines on their faces, and waste that adds up, all worked out by hand."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.made.records import MadeFaces
from assembly.model.workshop import Pare
from assembly.nominal.fittings import fittings
from assembly.nominal.frame import frame
from assembly.planning.lines import hatching
from assembly.planning.making import making_order
from assembly.planning.measures import Datum
from assembly.solids.walls import walls
from tests.boxes import still_workshop
from tests.designs import designs

SIZES = [
    "box.length=160", "box.width=90", "box.height=45", "timber.lapped=15", "timber.plain=10", "timber.lap_share=0.4",
    'box.lapped="ends"', "base.oversize=2", "lid.overhang=0", 'lid_holes="measured"', 'glue_up="as it falls"',
]  # fmt: skip
WALL_PARTS = {"left wall", "right wall", "front wall", "back wall"}
NEAR = 1e-6
quick = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def order(*more, workshop=None, **keywords):
    design = read_design("frost_watch", [*SIZES, *more])
    return making_order(design, workshop or read_workshop("new_to_tools"), **keywords)


def of(made, operation):
    return [step for step in made.steps if step.operation == operation]


def one(made, operation):
    (step,) = of(made, operation)
    return step


def size(step):
    """Return the size that a step is about, mm."""
    return step.sizes[0].mm


def ends(lines):
    """Return the segments as a set of rounded end pairs, whichever way they were drawn."""
    return {frozenset(tuple(round(c, 6) + 0.0 for c in point) for point in (line.start, line.end)) for line in lines}


def box_volume(block):
    return np.prod(np.subtract(block.high, block.low))


def overlap(a, b):
    return np.prod(np.clip(np.minimum(a.high, b.high) - np.maximum(a.low, b.low), 0, None))


# Where every face of a part lies, worked out from the drawing alone: (axis, coordinate).
def planes(design):
    half, found = design.box.height / 2, {}
    tongue = design.timber.lapped * (1 - design.timber.lap_share)
    for side, (axis, sign) in {"left": (0, -1), "right": (0, 1), "front": (1, -1), "back": (1, 1)}.items():
        part, lapped, outside = f"{side} wall", side in design.box.lapped_walls, design.box.on_plan[axis] / 2
        found[part, "outside"] = axis, sign * outside
        found[part, "inside"] = axis, sign * (outside - (design.timber.lapped if lapped else design.timber.plain))
        reach = design.box.on_plan[1 - axis] / 2 - (0 if lapped else tongue)
        first, last = ("left", "right") if axis else ("front", "back")
        found[part, f"{first} end"], found[part, f"{last} end"] = (1 - axis, -reach), (1 - axis, reach)
    for part in WALL_PARTS:
        found[part, "bottom"], found[part, "top"] = (2, -half), (2, half)
    found["base", "underside"] = 2, -half - design.base.thickness
    found["lid", "underside"], found["lid", "top"] = (2, half), (2, half + design.lid.thickness)
    if design.plaque:
        found["plaque", "top"] = 2, half + design.lid.thickness + design.plaque.thickness
    return found


def test_the_walls_are_made_in_the_trade_s_order():
    """Marks, datum, lengths, hatching, saw, sander; shoulders, gauge, hatching, saw, chisel, trying; hole's centre."""
    made = order()
    assert [step.number for step in made.steps] == list(range(1, len(made.steps) + 1))
    of_walls = [step.operation for step in made.steps if step.stage in BEFORE_GLUE]
    assert of_walls == [step.operation for step in made.steps[: len(of_walls)]]
    assert of_walls == [
        "face side", "face edge", "names", "letters", "square", "mark", "mark", "carry round", "hatch",
        "saw", "sand", "compare",
        "gauge setting", "gauge trial", "lay along", "lap_mark", "lay along", "lap_mark", "lap_mark round", "gauge",
        "hatch", "lap_saw", "chisel", "try", "pare", "dry fit", "press closed", "take apart",
        "diagonals", "hole_mark", "clamp", "drill",
    ]  # fmt: skip
    rest = [(step.stage, step.operation) for step in made.steps[len(of_walls) :]]
    assert [stage for stage, _ in itertools.groupby(stage for stage, _ in rest)] == [
        "gluing the frame", "base", "lid", "holes", "plaque", "cleaning up", "finish", "screws",
    ]  # fmt: skip
    for stage, operations in AFTER.items():
        assert ", ".join(operation for one, operation in rest if one == stage) == operations


BEFORE_GLUE = {"marking out", "cutting to length", "making the laps", "cable hole"}
AFTER = {
    "gluing the frame": (
        "wipe inside, smooth inside, glue, put together, press, clamp, wipe glue, setting, flush ends"
    ),
    "base": "base outline, base, level, glue, base on, clamp, setting, flush",
    "lid": "front outside, stand on sheet, outline, front inside, lid_saw, lid_sand, try the lid",
    "holes": (
        "turn over, front on top, diagonals, screw line, hole_mark, hole_mark, prick, clamp, drill, drill, tape, "
        "drill, countersink, try the heads, clamp, tape, drill"
    ),
    "plaque": "laser, laser holes, laser holes, engrave, film, bend line, heat, try softness, bend, cool, wipe line",
    "cleaning up": "clean up, ease edges",
    "finish": "finish, seal ends, finish dry",
    "screws": "plaque on, washers, plaque screws, stem, fix stem, cable, lid on, lid screws",
}


def test_sizes_are_those_of_the_drawing():
    """Lap 0.4 · 15 = 6, tongue 9: lapped walls 90 long, plain walls 160 - 2 · 9 = 142; base 2 over on every side."""
    made = order()
    assert [size(step) for step in of(made, "mark")] == pytest.approx([90, 142])
    assert [size(step) for step in of(made, "lap_mark")] == pytest.approx([10, 10])
    assert size(one(made, "gauge")) == pytest.approx(6)
    assert size(one(made, "base outline")) == pytest.approx(164)
    assert size(of(made, "hole_mark")[1]) == pytest.approx(7.5)


def test_shoulder_from_the_part_lays_each_plain_wall_on_its_own_end():
    made = order()
    for mate, end, corners in (
        ("front", "front", "D on LEFT and B on RIGHT"),
        ("back", "back", "C on LEFT and A on RIGHT"),
    ):
        laid, marked = (of(made, operation)[mate == "back"] for operation in ("lay along", "lap_mark"))
        assert laid.words == (
            f"Lay the {mate} wall across the {end} ends of LEFT and RIGHT, its outside face level with these ends. It "
            f"lies on the face sides of the finished ends, at corner {corners}."
        )
        assert marked.words == (
            f"Draw a knife line along the {mate} wall's inside face, about 10 mm from the {end} ends. This is the "
            f"shoulder line: the lap ends there. The {mate} wall's own thickness counts, not the drawing's."
        )
        assert marked.number == laid.number + 1
    down = one(made, "lap_mark round")
    assert down.words == "Carry each shoulder line down both edges, about 6 mm from the face side."
    by_rule = order(workshop=still_workshop(shoulder_from="drawing"))
    drawn = one(by_rule, "lap_mark")
    assert drawn.words == (
        "Square a knife line across the face sides of LEFT and RIGHT, 10 mm from each finished end. This is the "
        "shoulder line: the lap ends there."
    )
    assert ends(drawn.lines) == ends(line for step in of(made, "lap_mark") for line in step.lines)
    assert ends(one(by_rule, "lap_mark round").lines) == ends(down.lines)
    assert not of(by_rule, "lay along")


def test_a_plain_wall_is_laid_on_its_own_corners_where_an_end_is_to_the_front():
    """With lapped walls at front and back the plain ones stand left and right: they are laid on left and right ends."""
    made = order('box.lapped="sides"', "lid.screw.length=20")
    actions = [step.action for step in of(made, "lay along")]
    assert actions == [
        "Lay the left wall across the left ends of BACK and FRONT, its outside face level with these ends.",
        "Lay the right wall across the right ends of BACK and FRONT, its outside face level with these ends.",
    ]


def test_the_gauge_is_set_from_the_face_it_runs_along():
    inside = one(order(workshop=still_workshop(gauge_from="inside")), "gauge")
    outside = one(order(workshop=still_workshop(gauge_from="outside")), "gauge")
    assert (size(inside), inside.sizes[0].datum) == (pytest.approx(6), Datum.FACE_SIDE)
    assert (size(outside), outside.sizes[0].datum) == (pytest.approx(9), Datum.OUTSIDE_FACE)
    assert inside.lines == outside.lines  # 6 from the inside is 9 from the outside of 15


def test_paring_is_told_as_the_workshop_does_it():
    never = order(workshop=still_workshop())
    assert not of(never, "pare")
    assert one(never, "no paring").words == "Note where a lap does not close. It is not pared."
    once = still_workshop().model_copy(update={"pare": Pare(notice=0.2, bias=0, spread=0.1, rounds=1)})
    pared = one(order(workshop=once), "pare")
    assert (pared.tool, size(pared)) == ("chisel", 0.2)
    assert pared.words == (
        "Pare one thin shaving off the lap where a fingernail feels a step of over 0.2 mm. Only the lap is pared, not "
        "the plain wall. Only one shaving, and each is followed by a new try: wood cannot be put back."
    )
    thrice = still_workshop().model_copy(update={"pare": Pare(notice=0.2, bias=0, spread=0.1, rounds=3)})
    assert "At most 3 shavings, and each is followed by a new try" in one(order(workshop=thrice), "pare").words


def test_squaring_the_diagonals_has_steps_of_its_own():
    assert not of(order(), "measure the diagonals")
    made = order('glue_up="squared"')
    measured, pushed, held, again = (
        one(made, operation)
        for operation in ("measure the diagonals", "square the diagonals", "hold the diagonals", "measure again")
    )
    assert size(measured) == size(again) == pytest.approx(math.sqrt(160**2 + 90**2))
    assert "about 183.6 mm" in measured.words  # √33700 = 183.576
    first = one(made, "wipe glue").number + 1
    assert [step.number for step in (measured, pushed, held, again)] == list(range(first, first + 4))
    assert "must not be pulled square" not in " ".join(step.words for step in made.steps)
    assert "must not be pulled square" in next(s for s in of(order(), "clamp") if s.stage == "gluing the frame").words


def test_half_the_difference_off_the_longer_diagonal_makes_both_equal():
    """A frame of 160 by 90, racked by up to 3 degrees at corners that stay closed: a parallelogram of the same sides.

    Its diagonals are √(a² + b² ± 2ab sin t). Half the difference off the longer one leaves them equal to 1 % of it.
    """
    a, b, words = 160.0, 90.0, one(order('glue_up="squared"'), "square the diagonals").words
    assert "two corners of the longer diagonal together, until it is shorter by half the difference." in words
    for degrees in (0.2, 1.0, 3.0):
        turn = math.radians(degrees)
        longer, shorter = (math.sqrt(a * a + b * b + sign * 2 * a * b * math.sin(turn)) for sign in (1, -1))
        pushed = longer - (longer - shorter) / 2
        sine = (pushed**2 - a * a - b * b) / (2 * a * b)
        other = math.sqrt(a * a + b * b - 2 * a * b * sine)
        assert abs(pushed - other) < 0.03 * (longer - shorter)


def test_gluing_is_prepared_and_followed_up():
    """Tried dry and smoothed inside before glue, proud ends off when it is dry, bottom levelled before the base."""
    made = order()
    (frame_glue, base_glue), (frame_dry, _) = of(made, "glue"), of(made, "setting")
    turns = ("take apart", "wipe inside", "smooth inside", "flush ends", "level")
    apart, wiped, smooth, ends_off, level = (one(made, operation).number for operation in turns)
    assert apart < wiped < smooth < frame_glue.number < frame_dry.number < ends_off < level < base_glue.number
    papered = [step.operation for step in made.steps if "paper or film" in step.needs]
    assert papered == ["put together", "clamp"]
    assert {on.face for on in one(made, "level").faces} == {"bottom"}
    assert one(made, "clean up").number < one(made, "finish").number < one(made, "plaque screws").number


@pytest.mark.parametrize(
    ("home", "finish", "glue", "sealed"),
    [
        (
            66,
            (
                "Brush an exterior finish on the outside, as its label says. The box will live where it is damp (66 % "
                "humidity). The holes stay free of finish."
            ),
            "The glue must be one for damp places: the box will live where it is damp (66 % humidity).",
            True,
        ),
        (
            65,
            (
                "Brush a thin coat of an indoor finish on the outside, as its label says. The box will live where it "
                "is dry (65 % humidity). The holes stay free of finish."
            ),
            None,
            False,
        ),
        (
            None,
            (
                "Brush a thin coat of an indoor finish on the outside, as its label says. A box outdoors or in the "
                "damp needs an exterior finish, end grain and edges twice. The holes stay free of finish."
            ),
            "For a box outdoors or in the damp it must be a glue for damp places.",
            False,
        ),
    ],
)
def test_glue_and_finish_suit_where_the_box_lives(home, finish, glue, sealed):
    """Dry conditions end at 65 % humidity: EN 1995-1-1, service class 1, from memory."""
    design = read_design("frost_watch", SIZES)
    climate = design.climate.model_copy(update={"home": design.climate.home.model_copy(update={"humidity": home})})
    design = design.model_copy(update={"climate": None if home is None else climate})
    made = making_order(design, read_workshop("new_to_tools"))
    assert one(made, "finish").words == finish
    assert bool(of(made, "seal ends")) == sealed
    assert [step.notes for step in of(made, "glue")] == [(glue,) if glue else ()] * 2


def test_what_holds_the_stem_follows_from_its_smallest_hole():
    """Of 6 mm in holes of 8 and 8, and of 6.3 and 6.2: it falls through, or is held by friction."""
    loose = one(order(), "fix stem")
    assert loose.words == (
        "Fix it under the lid with a grommet, or with glue that its label allows for both. Its hole is 2 mm wider, so "
        "it does not hold by itself."
    )
    tight = order("lid.centre_hole=6.3", "plaque.stem_hole=6.2")
    assert one(tight, "stem").words == (
        "Press the frost indicator (6 mm) up through lid and plaque by hand. It must hold by friction."
    )
    assert one(tight, "tape stem").needs == ("tape",)
    assert not of(tight, "fix stem")
    assert "Its hole is 0.3 mm wider" in one(order("lid.centre_hole=6.3", "plaque.stem_hole=6.4"), "fix stem").words


def test_holes_marked_through_wait_for_the_bent_plaque():
    measured, through = order(), order('lid_holes="marked through"')
    pilots = [
        next(s for s in m.steps if "plaque pilot hole 1" in {h.name for h in s.drilled}) for m in (measured, through)
    ]
    assert pilots[0].number < one(measured, "laser").number
    assert pilots[1].number > one(through, "bend").number
    assert any(step.tool == "bradawl" and "plaque" in step.parts for step in through.steps)
    for made in (measured, through):
        drilled = [hole for step in made.steps for hole in step.drilled]
        assert sorted(h.name for h in drilled) == sorted(
            h.name for h in fittings(read_design("frost_watch", SIZES)).holes
        )


def test_lines_of_the_left_wall_stand_where_the_drawing_has_them():
    """Left wall: outside x = -80, inside -65, cheek -80 + 9 = -71; ends y = ∓45, shoulders ∓35; edges z = ∓22.5."""
    made = order(allowance=12.0)

    def drawn(operation, which=0):
        return ends(line for line in of(made, operation)[which].lines if line.part == "left wall")

    datum = {(-65, -45, -22.5), (-65, -45, 22.5), (-80, -45, 22.5), (-80, -45, -22.5)}
    ring = {frozenset(pair) for pair in itertools.combinations(datum, 2)}
    around = {pair for pair in ring if math.dist(*pair) < 47}  # four sides, no diagonals (47.4)
    assert drawn("square") == {frozenset({(-65, -45, -22.5), (-65, -45, 22.5)})}
    assert drawn("mark") == {frozenset({(-65, 45, -22.5), (-65, 45, 22.5)})}
    both = {frozenset((x, sign * y, z) for x, y, z in pair) for pair in around for sign in (1, -1)}
    assert drawn("carry round") == both - drawn("square") - drawn("mark")
    assert drawn("lap_mark", 1) == {frozenset({(-65, 35, -22.5), (-65, 35, 22.5)})}
    assert drawn("lap_mark round") == {
        frozenset({(-65, s * 35, z), (-71, s * 35, z)}) for s in (-1, 1) for z in (-22.5, 22.5)
    }
    assert drawn("gauge") == {
        frozenset({(-71, s * 35, z), (-71, s * 45, z)}) for s in (-1, 1) for z in (-22.5, 22.5)
    } | {frozenset({(-71, s * 45, -22.5), (-71, s * 45, 22.5)}) for s in (-1, 1)}
    uncut = next(block for block in made.uncut if block.part == "left wall")
    assert (uncut.low, uncut.high) == (pytest.approx((-80, -57, -22.5)), pytest.approx((-65, 57, 22.5)))


def test_corner_letters_match_on_the_walls_that_meet():
    made = order()
    written = [letter for operation in ("names", "letters") for letter in one(made, operation).letters]
    letters = [letter for letter in written if letter.face == "top"]
    assert len(letters) == 8
    for text in "ABCD":
        first, second = (np.array(letter.place) for letter in letters if letter.text == text)
        assert np.all(np.sign(first[:2]) == np.sign(second[:2]))  # the same quarter of the plan
    assert {letter.text for letter in one(made, "names").letters} == {"LEFT", "RIGHT", "FRONT", "BACK"}
    assert {letter.text for letter in written if letter.face == "inside"} == {
        "LEFT",
        "RIGHT",
        "FRONT",
        "BACK",
        *"ABCD",
    }


PLAIN_ORDER = [  # (1) to (10) of the trade's order: what is done, with which tool
    ("face side", "pencil"),
    ("face edge", "pencil"),
    ("names", "pencil"),
    ("letters", "pencil and rule"),
    ("square", "marking knife and try square"),
    ("mark", "rule, marking knife and try square"),
    ("carry round", "marking knife and try square"),
    ("hatch", "pencil"),
    ("saw", "saw"),
    ("sand", "sander"),
    ("compare", "hands"),
    ("gauge setting", "marking gauge"),
    ("gauge trial", "marking gauge"),
    ("lay along", "hands"),
    ("lap_mark", "marking knife and try square"),
    ("lay along", "hands"),
    ("lap_mark", "marking knife and try square"),
    ("lap_mark round", "marking knife and try square"),
    ("gauge", "marking gauge"),
    ("hatch", "pencil"),
    ("lap_saw", "saw"),
    ("chisel", "chisel"),
    ("try", "hands"),
    ("pare", "chisel"),
    ("dry fit", "hands"),
    ("press closed", "hands"),
    ("take apart", "hands"),
    ("diagonals", "pencil and rule"),
    ("hole_mark", "bradawl"),
    ("clamp", "clamps"),
    ("drill", "drill"),
    ("wipe inside", "hands"),
    ("smooth inside", "sanding block"),
    ("glue", "glue"),
]


@pytest.mark.parametrize("name", ["frost_watch", "label_box", "seed_box", "starter"])
def test_shipped_designs_are_made_in_the_trade_s_order(name):
    """Every operation in its turn, equal ones that follow one another named once; the rest after the gluing."""
    design = read_design(name)
    made = making_order(design, read_workshop(design.made_by))
    kept = [key for key, _ in itertools.groupby((step.operation, step.tool) for step in made.steps)]
    assert kept[: len(PLAIN_ORDER)] == PLAIN_ORDER
    first = {stage: number for number, stage in reversed(list(enumerate(step.stage for step in made.steps)))}
    assert sorted(first, key=first.get) == [
        "marking out", "cutting to length", "making the laps", "cable hole", "gluing the frame", "base", "lid", "holes",
        "plaque", "cleaning up", "finish", "screws",
    ]  # fmt: skip
    flushed = next(step.number for step in made.steps if step.operation == "flush")
    assert flushed < one(made, "outline").number < one(made, "laser").number < one(made, "bend").number


def test_a_name_is_read_from_its_face_side_with_the_top_edge_up():
    """Right times up is the way that a word looks at its reader: into the box on a face side, up on an edge."""
    box = order()
    inward = {"left wall": (1, 0, 0), "right wall": (-1, 0, 0), "front wall": (0, 1, 0), "back wall": (0, -1, 0)}
    for letter in (*one(box, "names").letters, *one(box, "letters").letters):
        looks = np.cross(letter.along, letter.up)
        assert looks == pytest.approx(inward[letter.part] if letter.face == "inside" else (0, 0, 1))
        if letter.face == "inside":
            assert letter.up == (0, 0, 1)
        points = np.array([point for line in letter.lines for point in (line.start, line.end)])
        assert np.ptp(points @ np.array(letter.up)) == pytest.approx(letter.height)
        assert points.mean(axis=0) == pytest.approx(letter.place, abs=letter.height * len(letter.text))


def test_letters_keep_clear_of_the_laps():
    """The laps begin 10 from each end of the lapped walls: names and letters lie within 35 of the middle."""
    made = order()
    for letter in (*one(made, "names").letters, *one(made, "letters").letters):
        if letter.part in {"left wall", "right wall"}:
            assert max(abs(line.start[1]) for line in letter.lines) < 35


def test_the_plaque_s_lines_are_those_of_its_flat_drawing():
    """Flat 50 + 32 less twice the setback of 6 plus the arc π/2 · 4.5; its flat leg ends 18 before the stem hole."""
    design = read_design("frost_watch")
    made = making_order(design, read_workshop("new_to_tools"))
    cut, flat = one(made, "laser"), 50 + 32 - 12 + math.pi / 2 * 4.5
    edge = 32 - 50
    corners = {(x, y) for x in (-45.0, 45.0) for y in (edge, round(edge + flat, 6))}
    assert {(round(p[0], 6), round(p[1], 6)) for line in cut.lines for p in (line.start, line.end)} == corners
    holed = [line for step in of(made, "laser holes") for line in step.lines]
    for number, (x, y, diameter) in enumerate(((0, 0, 8), (-30, 0, 4.2), (30, 0, 4.2))):
        rims = holed[64 * number : 64 + 64 * number]
        for line in rims:
            assert math.dist(line.start[:2], (x, y)) == pytest.approx(diameter / 2)
        assert sum(line.length for line in rims) == pytest.approx(64 * diameter * math.sin(math.pi / 64))
    (bend,) = one(made, "bend line").lines
    assert bend.start[1] == bend.end[1] == pytest.approx(edge + 50 - 6 + math.pi / 2 * 4.5 / 2)
    assert bend.length == pytest.approx(90)
    words = [letter for letter in one(made, "engrave").letters if letter.kind == "engraving"]
    assert [letter.text for letter in words] == ["PLOT 14 - FIVE BARS"]
    assert all(line.start[1] > bend.start[1] for line in words[0].lines)


@quick
@given(design=designs())
def test_every_line_lies_on_its_face_and_on_the_uncut_part(design):
    made = making_order(design, read_workshop("new_to_tools"))
    uncut, faces = {block.part: block for block in made.uncut}, planes(design)
    for line in (line for step in made.steps for line in step.drawn):
        axis, at = faces[line.part, line.face]
        for point in (line.start, line.end):
            assert point[axis] == pytest.approx(at, abs=NEAR)
            assert np.all(np.array(point) >= np.array(uncut[line.part].low) - NEAR), line
            assert np.all(np.array(point) <= np.array(uncut[line.part].high) + NEAR), line
        assert line.length > 0


@quick
@given(design=designs())
def test_waste_and_made_part_are_the_uncut_part(design):
    """Exact by volume, in closed form and by the as-made polyhedron; waste lies in the uncut part and never twice."""
    made, box = making_order(design, read_workshop("practised"), allowance=7.5), frame(design)
    waste = {block.part: [] for block in made.uncut}
    for block in (block for step in made.steps for block in step.removed):
        waste[block.part].append(block)
    lap = box.plain * box.depth * box.height
    lapped = box.along_y * box.lapped * box.height - 2 * lap
    plain = (box.along_x - 2 * box.tongue) * box.plain * box.height
    closed = {
        **{
            part: lapped if part in {f"{wall} wall" for wall in design.box.lapped_walls} else plain
            for part in WALL_PARTS
        },
        "base": box.along_x * box.along_y * design.base.thickness,
        "lid": (box.along_x + 2 * design.lid.overhang) * (box.along_y + 2 * design.lid.overhang) * design.lid.thickness,
    }
    if drawn := design.plaque:
        turn = math.radians(drawn.angle)
        straight = drawn.flat_leg + drawn.upright_leg - 2 * (drawn.inside_radius + drawn.thickness) * math.tan(turn / 2)
        arc = turn * (drawn.inside_radius + drawn.neutral_share * drawn.thickness)
        closed["plaque"] = (straight + arc) * drawn.width * drawn.thickness  # flat
    polyhedra = walls(box, MadeFaces.nominal())
    solid = {f"{name} wall": wall.volume for name, wall in zip(box.walls, polyhedra, strict=True)}
    for uncut in made.uncut:
        cut = sum(box_volume(block) for block in waste[uncut.part])
        assert box_volume(uncut) == uncut.volume
        assert uncut.volume - cut == pytest.approx(closed[uncut.part], rel=1e-12)
        if uncut.part in solid:
            assert uncut.volume - cut == pytest.approx(solid[uncut.part], rel=1e-9)
        for block in waste[uncut.part]:
            assert overlap(block, uncut) == pytest.approx(block.volume, rel=1e-9)
        for a, b in itertools.combinations(waste[uncut.part], 2):
            assert overlap(a, b) == pytest.approx(0, abs=1e-9)


def test_the_uncut_wall_is_longer_by_its_allowance_at_both_ends():
    uncut = {block.part: block for block in order(allowance=12.0).uncut}
    assert uncut["front wall"].volume == pytest.approx((142 + 24) * 10 * 45)
    assert uncut["left wall"].volume == pytest.approx((90 + 24) * 15 * 45)
    assert uncut["lid"].volume == pytest.approx((160 + 24) * (90 + 24) * (uncut["lid"].high[2] - 22.5))


def test_the_cable_hole_s_diagonals_cross_on_the_hole():
    made = order()
    marking = next(step for step in of(made, "diagonals") if step.part == "back wall")
    drilling = next(step for step in of(made, "drill") if step.part == "back wall")
    first, second = marking.lines
    for line in (first, second):
        assert line.length == pytest.approx(math.hypot(142, 45))
        assert np.add(line.start, line.end) / 2 == pytest.approx(drilling.drilled[0].centre)
    assert ends([first]) != ends([second])
    for line in of(made, "hole_mark")[0].lines:  # a saltire of 2 by 2 where the bradawl pricks
        assert np.add(line.start, line.end) / 2 == pytest.approx(drilling.drilled[0].centre)
        assert line.length == pytest.approx(math.sqrt(8))


def test_hatching_is_even_at_45_degrees_and_stays_inside():
    lines = hatching((-4.0, 1.0), (6.0, 8.0))
    shifts = []
    for (u0, v0), (u1, v1) in lines:
        assert u1 - u0 == pytest.approx(v1 - v0)
        assert -4 <= u0 < u1 <= 6
        assert 1 <= v0 < v1 <= 8
        on_edge = sum(math.isclose(a, b) for a, b in ((u0, -4), (v0, 1), (u1, 6), (v1, 8)))
        assert on_edge == 2  # each line runs from edge to edge
        shifts.append(u0 - v0)
    assert np.diff(shifts) / math.sqrt(2) == pytest.approx(3)  # 3 mm apart, square to the lines
    assert len(lines) == 4  # they range over (10 + 7)/√2 = 12.02 mm: at 1.5, 4.5, 7.5 and 10.5


@pytest.mark.parametrize("allowance", [0.0, -1.0, 200.5, math.nan, math.inf])
def test_an_allowance_that_leaves_no_waste_or_no_end_is_refused(allowance):
    with pytest.raises(InputError) as caught:
        order(allowance=allowance)
    assert str(caught.value) == f"allowance: got {allowance:g}, must be over 0 and at most 200 mm; 10 will do"


def test_plaque_and_screw_sizes_are_those_of_the_drawing():
    """Bend: a quarter turn of inside radius 2, sheet 3, neutral line in the middle: arc π/2 · 3.5, each leg loses 5."""
    made = order(
        "plaque.thickness=3", "plaque.inside_radius=2", "plaque.neutral_share=0.5", "plaque.angle=90",
        "plaque.hole_spacing=60", "plaque.hole_offset=0",
    )  # fmt: skip
    drawn, arc = read_design("frost_watch", SIZES), math.pi / 2 * 3.5
    assert size(one(made, "bend line")) == pytest.approx(drawn.plaque.flat_leg - 5 + arc / 2)
    assert size(one(made, "laser")) == pytest.approx(drawn.plaque.flat_leg + drawn.plaque.upright_leg - 10 + arc)
    assert size(of(made, "hole_mark")[-1]) == pytest.approx(30)
    assert size(one(made, "plaque screws")) == drawn.plaque.screw.length
    assert size(one(made, "stem")) == drawn.stem.diameter
    assert size(one(made, "lid screws")) == drawn.lid.screw.length


def test_a_cross_on_the_lid_reaches_beyond_its_hole_and_is_centred_on_it():
    made = order()
    for marking, holes in ((2, "lid screw hole"), (3, "plaque pilot hole")):
        lines = of(made, "hole_mark")[marking - 1].lines
        drilled = [hole for hole in fittings(read_design("frost_watch", SIZES)).holes_of("lid") if holes in hole.name]
        for hole, pair in zip(drilled, (lines[:2], lines[2:4]), strict=True):
            for line in pair:
                assert line.length == pytest.approx(hole.diameter + 3)  # 1.5 at either side
                assert np.add(line.start, line.end) / 2 == pytest.approx(hole.centre)


def test_every_hole_of_the_lid_is_pricked_before_it_is_drilled():
    made = order()
    pricked = one(made, "prick")
    drilled = [step for step in of(made, "drill") if step.part == "lid"]
    assert pricked.words == "Prick the centre and every marked place. These are five places."
    assert all(pricked.number < step.number for step in drilled)
    middles = {tuple(np.add(line.start, line.end).round(6) / 2) for line in pricked.lines}
    assert middles == {tuple(np.round(hole.centre, 6)) for step in drilled for hole in step.drilled}


def test_the_plaque_s_holes_are_marked_while_the_lid_still_has_its_centre():
    """A line through the centre, 30 mm to either side on it; a drilling for each bit, the last of two blind holes."""
    made = order()
    marked = of(made, "hole_mark")[2]
    assert marked.words == "Mark the plaque's two screws on the same line, 30 mm to either side of the centre."
    assert [step.part for step in of(made, "drill")] == ["back wall", "lid", "lid", "lid", "lapped walls"]
    assert [len(step.drilled) for step in of(made, "drill")] == [1, 1, 2, 2, 2]
    assert marked.number < of(made, "drill")[1].number
    assert of(made, "tape")[0].words == "Put tape on the bit of 2 mm, 6.5 mm from its tip."
    assert of(made, "tape")[0].needs == ("bit of 2 mm", "tape")
    sinking, tried = one(made, "countersink"), one(made, "try the heads")
    assert sinking.action == "Countersink both screw holes until they are 7 mm wide, 1.5 mm deep."
    assert tried.words == "Try a screw in each hole. Its head must lie flush."
    assert of(made, "drill")[2].number < sinking.number == tried.number - 1 < of(made, "drill")[4].number
    (middle,) = one(made, "screw line").lines
    assert (middle.start[:2], middle.end[:2]) == ((-80, 0), (80, 0))  # the lid is as long as the box, and 90 wide


@pytest.mark.parametrize(
    ("side", "offset", "words", "ends_at"),
    [
        ("right", 0, "Draw a line through the centre, parallel to the right edge.", {(0, -45), (0, 45)}),
        (
            "back",
            5,
            "Draw a line 5 mm from the centre, nearer to the back edge and parallel to it.",
            {(-80, 5), (80, 5)},
        ),
        (
            "back",
            -4,
            "Draw a line 4 mm from the centre, nearer to the front edge and parallel to it.",
            {(-80, -4), (80, -4)},
        ),
    ],
)
def test_the_line_for_the_plaque_s_holes_runs_where_they_are(side, offset, words, ends_at):
    changes = (f'plaque.side="{side}"', f"plaque.hole_offset={offset}", "plaque.hole_spacing=40")
    made = order(*changes)
    drawn = one(made, "plaque line")
    assert drawn.action == words
    assert [each.mm for each in drawn.sizes] == ([abs(offset)] if offset else [])
    place = "place beside the centre" if offset else "centre"
    assert of(made, "hole_mark")[2].action == (
        f"Mark the plaque's two screws on this line, 20 mm to either side of the {place}."
    )
    (line,) = drawn.lines
    assert {(round(x, 6), round(y, 6)) for x, y, _ in (line.start, line.end)} == ends_at
    for hole in fittings(read_design("frost_watch", [*SIZES, *changes])).holes_of("lid", "pilot"):
        assert np.cross(np.subtract(line.end, line.start), np.subtract(hole.centre, line.start)) == pytest.approx(0)


def test_a_plaque_that_is_marked_through_lies_on_the_lid_and_its_crosses_in_its_holes():
    """Crosses reach half a screw hole of 4.2 mm from its centre; nothing is lifted off."""
    step = next(s for s in order('lid_holes="marked through"').steps if "plaque" in s.parts and s.tool == "bradawl")
    assert step.raised == ()
    assert [line.length for line in step.lines] == pytest.approx([4.2] * 4)


def test_letters_are_written_where_the_words_say():
    """Rough ends 12 beyond the finished ones, laps 10; letters 0.6 · 15 = 9 high, 2 clear: 12 + 10 + 6.5, so 30."""
    made = order(allowance=12.0)
    step = one(made, "letters")
    assert size(step) == 30
    assert step.words == (
        "Write each corner's letter on face side and top edge, about 30 mm in from each rough end. Top edge up, from "
        "left to right: LEFT D C, RIGHT A B, FRONT B D, BACK C A. Walls with the same letter meet there."
    )
    assert "The top edge, the one without the arrowhead" in one(made, "names").words
    for letter in (letter for letter in step.letters if letter.text in "ABCD"):
        lapped = letter.part in {"left wall", "right wall"}
        rough = (45 if lapped else 71) + 12
        assert rough - abs(letter.place[1 if lapped else 0]) == pytest.approx(30)


def test_the_read_order_of_the_letters_is_that_on_the_wood():
    """Sorted along the direction of reading, the letters on each face side are those that the words tell."""
    step = one(order(), "letters")
    for wall in ("LEFT", "RIGHT", "FRONT", "BACK"):
        on_it = [
            x for x in step.letters if x.part == f"{wall.lower()} wall" and x.face == "inside" and len(x.text) == 1
        ]
        read = sorted(on_it, key=lambda letter: np.dot(letter.place, letter.along))
        assert f"{wall} {read[0].text} {read[1].text}" in step.words


def test_each_wall_s_datum_end_is_named_by_its_corner():
    step = one(order(), "square")
    assert step.words == (
        "Square a knife line from the face edge across each face side, about 10 mm from one rough end. The rough end "
        "is that at corner D on LEFT, B on RIGHT, D on FRONT and C on BACK. This is the datum line: all lengths are "
        "measured from it."
    )
    letters = {(x.part, x.text): x.place for x in one(order(), "letters").letters if x.face == "top"}
    for wall, corner in (("left", "D"), ("right", "B"), ("front", "D"), ("back", "C")):
        (line, *_) = (x for x in step.lines if x.part == f"{wall} wall" and x.face == "inside")
        assert math.dist(line.start[:2], letters[f"{wall} wall", corner][:2]) < 40


def test_the_lid_s_front_is_written_under_it_on_it_and_on_the_front_wall():
    made = order()
    written = [one(made, operation) for operation in ("front outside", "front inside", "front on top")]
    letters = [letter for step in written for letter in step.letters]
    assert [(x.part, x.face, x.text) for x in letters] == [
        ("front wall", "outside", "FRONT"), ("lid", "underside", "FRONT"), ("lid", "top", "FRONT"),
    ]  # fmt: skip
    assert all(letter.place[1] < 0 for letter in letters)
    turned = one(made, "turn over")
    assert turned.words.startswith("Turn the lid over, its front still to the front. The face without the outline is")
    assert written[1].number < turned.number < written[2].number
    for letter, looks in zip(letters, ((0, -1, 0), (0, 0, -1), (0, 0, 1)), strict=True):
        assert np.cross(letter.along, letter.up) == pytest.approx(looks)


def test_a_depth_through_the_lid_is_told_from_the_lid_s_top():
    """9 mm of lid and 21 mm of wall: tape at 30; no scrap wood under a hole that ends in the wall."""
    made = order()
    step = next(step for step in of(made, "drill") if step.part == "lapped walls")
    assert of(made, "tape")[-1].words == (
        "Put tape on the bit of 2 mm, 30 mm from its tip. That is 9 mm of lid and 21 mm of wall."
    )
    assert of(made, "tape")[-1].number == step.number - 1
    assert "drill through" not in {c.operation for c in step.cautions}
    through = next(step for step in of(order(), "drill") if step.part == "lid")
    assert "drill through" in {c.operation for c in through.cautions}


def test_glue_is_left_to_dry_and_lines_are_rubbed_out():
    made = order()
    after = {step.operation: following for step, following in itertools.pairwise(made.steps)}
    for glued, dry in zip(of(made, "glue"), of(made, "setting"), strict=True):
        between = [step.operation for step in made.steps[glued.number : dry.number - 1]]
        assert between[-2:] in (["clamp", "wipe glue"], ["base on", "clamp"])
    assert after["pare"].operation == "dry fit"
    cleaned = one(made, "clean up")
    assert cleaned.number < one(made, "plaque screws").number
    assert not any(step.drawn for step in made.steps[cleaned.number :])
    assert after["clean up"].action.startswith("Sand the sharpness off all outside edges")


def test_the_saw_leaves_a_millimetre_for_the_sander_and_its_cut_is_a_millimetre_wide():
    """Front wall 10 by 45, two ends; left wall's laps 6 deep and 45 high."""
    made = order(allowance=12.0)
    on = {(step.operation, block.part): [] for step in made.steps for block in step.removed}
    for step in made.steps:
        for block in step.removed:
            on[step.operation, block.part].append(block.volume)
    assert on["saw", "front wall"] == pytest.approx([11 * 450] * 2)
    assert on["sand", "front wall"] == pytest.approx([450] * 2)
    assert on["lap_saw", "left wall"] == pytest.approx([6 * 45] * 2)
    assert on["chisel", "left wall"] == pytest.approx([9 * 6 * 45] * 2)
    assert sum(on["lid_sand", "lid"]) == pytest.approx((162 * 92 - 160 * 90) * 9)


def test_engraved_words_stand_on_the_leg_that_was_bent():
    """Turned up by 90 degrees they stand on the face towards the stem, r + t - t = 3 mm from where the bend began."""
    made = order()
    (flat,), (stood,) = (x.letters for x in of(made, "engrave")), (x.bent for x in of(made, "bend"))
    assert stood[0].text == flat[0].text
    assert stood[0].up == pytest.approx((0, 0, 1))
    assert np.cross(stood[0].along, stood[0].up) == pytest.approx((0, -1, 0))
    assert stood[0].place[1] == pytest.approx(32 - 3)  # the standing leg's outside is 32 from the stem, 3 thick
    design = read_design("seed_box")  # turned down past the front edge: on the outside, still read upright
    (down,) = one(making_order(design, read_workshop("practised")), "bend").bent
    assert down.place[1] == pytest.approx(-design.plaque.stem_to_bend)
    assert down.up == pytest.approx((0, 0, 1))
    assert np.cross(down.along, down.up) == pytest.approx((0, -1, 0))
