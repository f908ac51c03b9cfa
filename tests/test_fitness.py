"""What does not go together: every rule's message whole, and where each rule starts to bite."""

import math

import pytest
from designs import designs
from hypothesis import given, settings

from assembly.files.reading import read_design
from assembly.rules.design_rules import design_faults
from assembly.rules.plaque_rules import set_back

# 160 x 90 x 45, lapped 15, plain 10, lid 9, plaque 3 thick with 3 radius; holes of the tests' own, so that the shipped
# design may change its
HOLES = (
    "plaque.stem_hole=7", "plaque.screw.hole=3.6", "plaque.screw.head=5.5", "lid.screw.pilot=2.5",
    "plaque.screw.round_head={ height = 2, washer = 5.5, washer_hole = 3.2, washer_thickness = 0.5 }",
)  # fmt: skip
DEMO = read_design("frost_watch", HOLES)


def changed(record, **changes):
    """Return a record with values at dotted keys (dots as `__`) changed, read afresh."""
    data = record.model_dump()
    for key, value in changes.items():
        *tables, last = key.split("__")
        table = data
        for name in tables:
            table = table[name]
        table[last] = value
    return type(record).model_validate(data)


def faults(**changes):
    return [str(fault) for fault in design_faults(changed(DEMO, **changes))]


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        (
            {"timber__lap_share": 0.9},
            (
                "timber.lap_share: got 0.9 of 15 mm, which leaves a tongue of 1.5 mm, at least 2 mm is needed "
                "(shop rule 1, project choice); lower lap_share or make timber.lapped thicker"
            ),
        ),
        (
            {"timber__lap_share": 0.1},
            (
                "timber.lap_share: got 0.1 of 15 mm, which cuts a lap 1.5 mm deep, at least 2 mm is needed (shop "
                "rule 1, project choice); raise lap_share or make timber.lapped thicker"
            ),
        ),
        (
            {"timber__plain": 41},
            (
                "box.width: got 90 mm, but two laps of 41 mm with 10 mm between them (shop rule 2, project choice) "
                "need 92 mm; raise width or make timber.plain thinner"
            ),
        ),
        (
            {"cable_hole__diameter": 43},
            (
                "cable_hole.diameter: got 43 mm, which leaves 1 mm of the back wall above and below it; at least 2 "
                "mm is needed (shop rule 3, project choice); at most 41 mm fits"
            ),
        ),
        (
            {"box__height": 150, "cable_hole__diameter": 100, "timber__lapped": 29, "lid__screw__length": 40},
            (
                "cable_hole.diameter: got 100 mm, which leaves 1 mm of the back wall beside it, between the lapped "
                "walls; at least 2 mm is needed (shop rule 3, project choice); at most 98 mm fits"
            ),
        ),
        (
            {"lid__centre_hole": 71, "plaque__hole_spacing": 82, "plaque__width": 96},
            "lid.centre_hole: got 71 mm, but the walls leave 70 mm between them; at most 70 mm fits",
        ),
        (
            {"lid__screw__hole": 3.4},
            "lid.screw.hole: got 3.4 mm, too small for the screw; must be at least its diameter, 3.5 mm",
        ),
        (
            {"lid__screw__pilot": 3.5},
            (
                "lid.screw.pilot: got 3.5 mm, in which the thread bites nothing; must be under the screw's "
                "diameter, 3.5 mm"
            ),
        ),
        (
            {"lid__screw__head": 4.9},
            (
                "lid.screw.head: got 4.9 mm, which pulls through its hole of 4 mm; must be at least 5 mm, 0.5 mm more "
                "on every side (shop rule 7, project choice); take a larger head or a smaller hole"
            ),
        ),
        (
            {"lid__thickness": 2, "lid__screw__head": 7, "plaque": None, "limits__plaque_spare": None},
            (
                "lid.screw.head: got 7 mm, whose cone is 1.75 mm deep; at most 1.5 mm goes into the lid of 2 "
                "mm, as 0.5 mm is left under it (shop rule 9, project choice); take a smaller head or a thicker sheet"
            ),
        ),
        (
            {"plaque__screw__round_head": None},
            (
                "plaque.screw.round_head: missing, so that the head is countersunk, and its cone cracks acrylic; add "
                "round_head = { height = 2.1, washer = 7, washer_hole = 3.2, washer_thickness = 0.5 } under "
                "[plaque.screw], or the sizes of your own"
            ),
        ),
        (
            {"lid__material": "cast acrylic"},
            (
                "lid.screw.round_head: missing, so that the head is countersunk, and its cone cracks acrylic; add "
                "round_head = { height = 2.4, washer = 8, washer_hole = 3.7, washer_thickness = 0.5 } under "
                "[lid.screw], or the sizes of your own"
            ),
        ),
        (
            {"plaque__screw__round_head__washer_hole": 2.9},
            (
                "plaque.screw.round_head.washer_hole: got 2.9 mm, too small for the screw; must be at least its "
                "diameter, 3 mm"
            ),
        ),
        (
            {"plaque__screw__round_head__washer_hole": 4.6},
            (
                "plaque.screw.head: got 5.5 mm, which pulls through its washer's hole of 4.6 mm; must be at least 5.6 "
                "mm, 0.5 mm more on every side (shop rule 7, project choice); take a larger head or a smaller hole"
            ),
        ),
        (
            {"plaque__screw__hole": 4.6},
            (
                "plaque.screw.round_head.washer: got 5.5 mm, which pulls through its hole of 4.6 mm; must be at least "
                "5.6 mm, 0.5 mm more on every side (shop rule 7, project choice); take a larger washer or a smaller "
                "hole"
            ),
        ),
        (
            {"plaque__screw__round_head__washer": 5},
            "plaque.screw.round_head.washer: got 5 mm, smaller than the head on it; must be at least 5.5 mm",
        ),
        (
            {"timber__lapped": 5.4, "lid__overhang": 2, "lid__screw__pilot": 1.4, "limits__screw_wood": None},
            (
                "lid.screw.diameter: got 3.5 mm, which leaves 0.95 mm of the lapped wall on either side; at least 1 mm "
                "is needed (shop rule 8, project choice); take a thinner screw or make timber.lapped thicker"
            ),
        ),
        (
            {
                "timber__plain": 40,
                "lid__screw__diameter": 8,
                "lid__screw__pilot": 6,
                "lid__screw__hole": 8,
                "lid__screw__head": 10,
                "timber__lapped": 20,
                "box__width": 89.9,
            },
            (
                "lid.screw.diameter: got 8 mm in the middle of a wall 89.9 mm long, which leaves 0.95 mm before the "
                "laps; at least 1 mm is needed (shop rule 8, project choice); take a thinner screw, longer lapped "
                "walls or thinner plain walls"
            ),
        ),
        (
            {
                "box__length": 104,
                "lid__centre_hole": 70,
                "lid__overhang": 10,
                "lid__screw__hole": 16,
                "lid__screw__head": 17,
                "plaque__width": 75,
            },
            (
                "lid.centre_hole: got 70 mm, which leaves 1.5 mm to the holes or heads of the lid's screws; at least 2 "
                "mm is needed (shop rule 3, project choice); lower it or take a smaller screw"
            ),
        ),
        (
            {"lid__screw__length": 52.5},
            (
                "lid.screw.length: got 52.5 mm, must be 16 to 52 mm: through the lid, then at least 2 diameters "
                "(shop rule 5, project choice) into a wall 45 mm high and not out of its bottom"
            ),
        ),
        (
            {"lid__screw__length": 15.5},
            (
                "lid.screw.length: got 15.5 mm, must be 16 to 52 mm: through the lid, then at least 2 diameters "
                "(shop rule 5, project choice) into a wall 45 mm high and not out of its bottom"
            ),
        ),
        (
            {"timber__lapped": 6, "lid__overhang": 2, "lid__screw__pilot": 2.4, "limits__screw_wood": None},
            (
                "lid.screw.pilot: got 2.4 mm, which leaves 1.8 mm of the lapped wall on either side; at least 2 mm "
                "is needed (shop rule 3, project choice); take a thinner screw or make timber.lapped thicker"
            ),
        ),
        (
            {
                "timber__plain": 40,
                "lid__screw__pilot": 6.2,
                "lid__screw__diameter": 7,
                "lid__screw__hole": 7.5,
                "lid__screw__head": 10,
                "lid__centre_hole": 8,
                "limits__screw_wood": None,
            },
            (
                "lid.screw.pilot: got 6.2 mm in the middle of a wall 90 mm long, which leaves 1.9 mm before the "
                "laps; at least 2 mm is needed (shop rule 3, project choice); take a thinner screw, longer lapped "
                "walls or thinner plain walls"
            ),
        ),
        (
            {"timber__lapped": 8.4, "lid__screw__head": 6.6, "limits__screw_wood": None, "lid__screw__hole": 4.6},
            (
                "lid.screw.hole: got 4.6 mm, which leaves 1.9 mm to the lid's edge; at least 2 mm is needed (shop "
                "rule 3, project choice); take a smaller screw, more lid.overhang or a thicker timber.lapped"
            ),
        ),
        (
            {"timber__lapped": 8.8, "limits__screw_wood": None},
            (
                "lid.screw.head: got 7 mm, which leaves 0.9 mm to the lid's edge; at least 1 mm is needed (shop "
                "rule 4, project choice); take a smaller screw, more lid.overhang or a thicker timber.lapped"
            ),
        ),
        (
            {"stem__diameter": 8.5, "plaque__stem_hole": 9},
            "stem.diameter: got 8.5 mm, thicker than its hole in the lid; at most lid.centre_hole, 8 mm, passes",
        ),
        (
            {"stem__diameter": 7.5, "limits__plaque_spare": None},
            "stem.diameter: got 7.5 mm, thicker than its hole in the plaque; at most plaque.stem_hole, 7 mm, passes",
        ),
        (
            {"stem__length": 11.5},
            (
                "stem.length: got 11.5 mm, which ends inside lid and plaque; must be at least 12 mm from the lid's "
                "underside"
            ),
        ),
        (
            {"plaque__upright_leg": 6.5},
            (
                "plaque.upright_leg: got 6.5 mm, must be at least 7 mm: a bend of 3 mm inside radius in 3 mm sheet "
                "takes 6 mm of it and 1 mm must stay straight (shop rule 6, project choice)"
            ),
        ),
        (
            {"plaque__stem_to_bend": 11, "plaque__flat_leg": 30, "plaque__hole_offset": -2},
            (
                "plaque.stem_to_bend: got 11 mm, which leaves 1.5 mm from stem hole to bend; at least 2 mm is "
                "needed (shop rule 3, project choice); raise it"
            ),
        ),
        (
            {"plaque__flat_leg": 37, "plaque__hole_offset": 2},
            (
                "plaque.flat_leg: got 37 mm, which leaves 1.5 mm beyond the stem hole; at least 2 mm is needed "
                "(shop rule 3, project choice); raise it"
            ),
        ),
        (
            {"plaque__hole_offset": 23},
            (
                "plaque.hole_offset: got 23 mm, which leaves 1.2 mm from screw holes or washers to the bend; at "
                "least 2 mm is needed (shop rule 3, project choice); lower it"
            ),
        ),
        (
            {"plaque__hole_offset": -15},
            (
                "plaque.hole_offset: got -15 mm, which leaves 1.2 mm from screw holes or washers to the leg's end; "
                "at least 2 mm is needed (shop rule 3, project choice); raise it"
            ),
        ),
        (
            {"plaque__hole_spacing": 84},
            (
                "plaque.hole_spacing: got 84 mm, which leaves 1.2 mm from screw holes or washers to the side edges; "
                "at least 2 mm is needed (shop rule 3, project choice); lower it"
            ),
        ),
        (
            {"plaque__hole_spacing": 13, "lid__centre_hole": 7},
            (
                "plaque.hole_spacing: got 13 mm, which leaves 1.2 mm between screw holes or washers and the stem "
                "hole; at least 2 mm is needed (shop rule 3, project choice); raise it"
            ),
        ),
        (
            {"lid__centre_hole": 55},
            (
                "plaque.hole_spacing: got 60 mm, which leaves 1.5 mm between its pilot holes and the lid's centre "
                "hole; at least 2 mm is needed (shop rule 3, project choice); raise it or lower lid.centre_hole"
            ),
        ),
        (
            {"plaque__width": 10},
            (
                "plaque.stem_hole: got 7 mm, which leaves 1.5 mm beside it; at least 2 mm is needed (shop rule 3, "
                "project choice); lower it or raise plaque.width"
            ),
        ),
        (
            {"plaque__screw__length": 13},
            (
                "plaque.screw.length: got 13 mm, must be 9.5 to 12.5 mm: through washer and plaque, then at least 2 "
                "diameters (shop rule 5, project choice) into the lid, and no point out of its underside"
            ),
        ),
        (
            {"lid__thickness": 5},
            (
                "plaque.screw.diameter: got 3 mm, whose 2 diameters of thread (shop rule 5, project choice) do not "
                "go into a lid of 5 mm; at most 2.5 mm does"
            ),
        ),
        (
            {"plaque__side": "right", "plaque__width": 91},
            "plaque.width: got 91 mm, wider than the lid; at most 90 mm fits",
        ),
        (
            {"plaque__flat_leg": 78},
            "plaque.flat_leg: got 78 mm, which reaches 1 mm over the lid's far edge; at most 77 mm fits",
        ),
        (
            {"plaque__stem_to_bend": 45.5, "plaque__flat_leg": 60},
            (
                "plaque.stem_to_bend: got 45.5 mm, which puts the standing leg beyond the lid's back edge; at most "
                "45 mm stands on the lid"
            ),
        ),
        (
            {"plaque__turned": "down", "plaque__stem_to_bend": 50.5, "plaque__flat_leg": 60},
            (
                "plaque.stem_to_bend: got 50.5 mm, but a leg turned down passes the lid's back edge, 45 mm from "
                "its middle, only when the bend's 6 mm lie beyond it; must be at least 51 mm, or plaque.turned = "
                '"up"'
            ),
        ),
        (
            {"plaque__turned": "down", "plaque__stem_to_bend": 60, "plaque__flat_leg": 70, "plaque__angle": 100},
            "plaque.angle: got 100 degrees, which swings a leg turned down into the walls; must be at most 90",
        ),
        (
            {"plaque__turned": "down", "plaque__stem_to_bend": 51, "plaque__flat_leg": 70, "plaque__upright_leg": 62},
            (
                "plaque.upright_leg: got 62 mm, which reaches below the base; turned down, at most 61 mm leaves "
                "the box standing on its base"
            ),
        ),
        (
            {"plaque__width": 137},
            (
                "plaque.width: got 137 mm, which reaches 68.5 mm from the lid's middle and covers a lid screw's "
                "head; at most 68 mm from there leaves it free by 1 mm (shop rule 4, project choice)"
            ),
        ),
        (
            {"plaque__side": "left", "plaque__stem_to_bend": 69, "plaque__flat_leg": 80},
            (
                "plaque.flat_leg: got 80 mm, which reaches 69 mm from the lid's middle and covers a lid screw's "
                "head; at most 68 mm from there leaves it free by 1 mm (shop rule 4, project choice)"
            ),
        ),
        (
            {"plaque__turned": "down", "plaque__stem_to_bend": 60, "plaque__flat_leg": 70, "plaque__hole_offset": 42.1},
            (
                "plaque.hole_offset: got 42.1 mm, which leaves 1.9 mm from the screws' pilot holes to the lid's edge; "
                "at least 2 mm is needed (shop rule 3, project choice); lower it"
            ),
        ),
        (
            {"plaque__side": "right", "plaque__width": 96, "plaque__hole_spacing": 84.2},
            (
                "plaque.hole_spacing: got 84.2 mm, which leaves 1.9 mm from the screws' pilot holes to the lid's side "
                "edges; at least 2 mm is needed (shop rule 3, project choice); lower it"
            ),
        ),
        (
            {
                "plaque__side": "right",
                "plaque__stem_to_bend": 50,
                "plaque__flat_leg": 60,
                "plaque__angle": 60.0,
                "plaque__upright_leg": 36.5,
            },
            (
                "plaque.upright_leg: got 36.5 mm, which at 60 degrees slopes over the head of a lid screw, where no "
                "screwdriver gets to it; at most 36 mm leaves it free by 1 mm (shop rule 4, project choice), or bring "
                "plaque.angle nearer to 90"
            ),
        ),
        ({"limits__step": {}}, "limits.step: says nothing; give max, min or within, or leave the line out"),
        (
            {"limits__lean": {"min": 2.0, "within": 1.5}},
            "limits.lean: asks for at least 2 and at most 1.5; no box can keep both",
        ),
        (
            {"limits__joint_gap": {"max": -0.1}},
            "limits.joint_gap: asks for at most -0.1, but it is never under 0; raise the limit",
        ),
        (
            {"limits__closed_share": {"min": 1.1}},
            "limits.closed_share: asks for at least 1.1, but it is never over 1; lower the limit",
        ),
        (
            {"limits__closed_share": {"min": 20}},
            "limits.closed_share: asks for at least 20, but it is never over 1; lower the limit, 20 % is 0.2",
        ),
        (
            {"limits__screw_wood": {"min": 6.5}},
            (
                "limits.screw_wood: asks for at least 6.5 mm, but a hole of 2.5 mm in the very middle of 15 mm "
                "leaves 6.25 mm; lower the limit or make timber.lapped thicker"
            ),
        ),
        (
            {"limits__plaque_spare": {"min": 0.4}},
            (
                "limits.plaque_spare: asks for at least 0.4 mm, but perfectly placed holes leave 0.3 mm; lower the "
                "limit or make plaque.stem_hole or plaque.screw.hole larger"
            ),
        ),
    ],
)
def test_one_thing_that_does_not_fit_is_told_whole(changes, message):
    assert message in faults(**changes)


def test_the_demo_and_sizes_exactly_on_a_limit_have_no_fault():
    """18 + 27 - 2: a screw that ends 2 mm above the bottom; a tongue of exactly 2; laps exactly 10 apart."""
    assert faults() == []
    assert faults(timber__lap_share=13 / 15) == faults(timber__lap_share=2 / 15) == []
    assert faults(timber__plain=40) == faults(lid__screw__length=52.0) == faults(lid__screw__length=16.0) == []
    assert faults(plaque__stem_to_bend=45, plaque__flat_leg=90, plaque__upright_leg=7) == []
    assert faults(plaque__turned="down", plaque__stem_to_bend=51, plaque__flat_leg=70, plaque__upright_leg=61) == []
    assert faults(lid__screw__head=5.0) == faults(lid__screw__head=13.0) == []
    down = {"plaque__turned": "down", "plaque__stem_to_bend": 60, "plaque__flat_leg": 70}
    assert faults(**down, plaque__hole_offset=42) == []


def test_walls_that_leave_no_inside_are_refused_on_the_size_the_drawing_names():
    """Ends lapped: the length holds the lapped walls; sides lapped: the width does."""
    message = (
        "got 100 mm, but two walls of 46 mm with 10 mm between them (shop rule 2, project choice) need 102 mm; "
        "raise {0} or make timber.lapped thinner"
    )
    assert f"box.length: {message.format('length')}" in faults(box__length=100, timber__lapped=46)
    wide = {"box__lapped": "sides", "box__length": 160, "box__width": 100, "timber__lapped": 46}
    assert f"box.width: {message.format('width')}" in faults(**wide)


def test_a_leg_that_leans_over_the_stem_is_refused_before_it_touches():
    """Turned 135 degrees the inner face climbs at 45: at height h above the lid it has come back by h less t·√2.

    The outer face starts 32 from the stem; the inner one meets the lid's top at 32 - 3·√2 (a thickness along the slope
    of 45 degrees) and is h nearer at height h. The stem, 3 from its axis, needs 2 more: h = 27 - 3√2 = 22.757 at most.
    """
    most = 27 - 3 * math.sqrt(2)
    tall = {"plaque__angle": 135.0, "plaque__upright_leg": 60.0, "plaque__hole_offset": -20.0, "plaque__flat_leg": 60.0}
    assert faults(**tall, stem__length=9 + most - 0.001) == []
    assert faults(**tall, stem__length=9 + most + 0.5) == [
        (
            "plaque.angle: got 135 degrees, which leans the standing leg to 1.5 mm from the stem; at least 2 mm is "
            "needed; lower it or raise plaque.stem_to_bend"
        )
    ]


def test_a_leg_that_leans_over_the_plaques_screws_is_refused_where_it_covers_their_heads():
    """Turned 120 degrees the leg comes back by half its length, and its inner face by a thickness · √3/2 more.

    The heads, 5.5 wide, reach 2.75 from their axes, which lie 4 towards the bend; a millimetre more is left free. So
    half of the leg may be 32 - 3·√3/2 - 4 - 3.75, and the leg twice that.
    """
    most = 2 * (32 - 1.5 * math.sqrt(3) - 7.75)
    leaning = {"plaque__angle": 120.0, "plaque__hole_offset": 4.0, "stem__length": 20.0}
    assert faults(**leaning, plaque__upright_leg=most) == []
    assert faults(**leaning, plaque__upright_leg=most + 0.01) == [
        (
            f"plaque.upright_leg: got {most + 0.01:.3f} mm, which at 120 degrees slopes over the head of the plaque's "
            f"screws, where no screwdriver gets to it; at most {most:.3f} mm leaves it free by 1 mm (shop rule 4, "
            "project choice), or bring plaque.angle nearer to 90"
        )
    ]


def test_the_bend_takes_radius_plus_thickness_at_a_right_angle():
    """At 90 degrees tan 45 = 1; at 60 degrees tan 30 = 1/√3."""
    assert set_back(DEMO.plaque) == pytest.approx(3 + 3)
    assert set_back(changed(DEMO.plaque, angle=60.0)) == pytest.approx(6 / math.sqrt(3))


@given(designs())
@settings(max_examples=200, deadline=None)
def test_random_valid_designs_have_no_fault(design):
    assert design_faults(design) == []
