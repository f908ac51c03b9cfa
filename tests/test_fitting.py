"""Sheets and holes: every disturbance alone, its sign and place worked out by hand."""

import math

import numpy as np
import pytest
from boxes import still_workshop
from fitted import bird_design
from hypothesis import given
from hypothesis import strategies as st

from assembly.made.faces import FRAME_PLACES
from assembly.made.sampling import draw_block, values
from assembly.made.sheets_and_holes import (
    DRILLED,
    FITTING_PLACES,
    Fitting,
    base_overhangs,
    drilled_errors,
    lid_overhangs,
    plaque_arms,
    plaque_holes,
    screw_woods,
)
from assembly.model.design import Design, Limit, Limits
from assembly.model.workshop import Disturbance, Operations, quantities
from assembly.nominal.frame import BACK, FRONT, LEFT, RIGHT
from assembly.study.check import BoxModel, check

# Base 2 oversize, lid 3 over; T = 15, screw pilot 2.5; stem 6 in 7; plaque screws 3 in 3.6, 40 apart, stem between them
BIRD = bird_design()
STILL = {
    "base_overhang": 0.0,  # 2 flushed to 0
    "lid_overhang": 0.0,
    "screw_wood": (15 - 2.5) / 2,
    "cable_hole": 0.0,
    "plaque_spare": (3.6 - 3) / 2,
    "plaque_leg": 0.0,
    "plaque_angle": 0.0,
}


def value_with(errors: dict[tuple[str, int], float]) -> dict[str, np.ndarray]:
    """Return the inputs' values, (places, 1) each, with these errors alone by (quantity, place); mm and radians."""
    value = {name: np.zeros((places, 1)) for name, places in (FRAME_PLACES | FITTING_PLACES).items()}
    for (name, place), amount in errors.items():
        value[name][place] += amount
    return value


def outcomes_of(errors: dict[tuple[str, int], float], design: Design = BIRD) -> dict[str, float]:
    outcomes = Fitting(design=design, workshop=still_workshop()).outcomes(value_with(errors))
    return {name: float(row[0]) for name, row in outcomes.items()}


def marked_through(**plaque) -> Design:
    return bird_design(**plaque).model_copy(update={"lid_holes": "marked through"})


def hole(name: str, axis: int) -> int:
    return 2 * DRILLED.index(name) + axis


def test_every_quantity_is_used_once():
    assert [*FRAME_PLACES, *FITTING_PLACES] == list(quantities())


def test_no_errors():
    assert outcomes_of({}) == pytest.approx(STILL, abs=1e-12)


ALONE = [
    ({("base.cut", LEFT): 1.0}, {}),  # flushed off again
    ({("base.cut", LEFT): -2.4}, {"base_overhang": 0.4}),  # 0.4 short of the wall: no flushing mends it
    ({("base.place", 0): 2.5}, {"base_overhang": 0.5}),
    ({("base.place", 1): -2.7}, {"base_overhang": 0.7}),
    ({("flush.offset", FRONT): 0.3}, {"base_overhang": 0.3}),
    ({("flush.offset", BACK): -0.3}, {"base_overhang": 0.3}),
    ({("flush.offset", BACK): 2.5}, {"base_overhang": 2.0}),  # no more than there was
    ({("outline.offset", BACK): 0.4}, {"lid_overhang": 0.4}),
    ({("outline.offset", FRONT): -0.4}, {"lid_overhang": 0.4}),
    ({("outline.offset", RIGHT): 0.4}, {"lid_overhang": 0.4, "screw_wood": 6.25 - 0.4}),
    ({("lid_saw.offset", BACK): 0.5}, {}),  # sanded off
    ({("lid_saw.offset", BACK): -0.5}, {"lid_overhang": 0.5}),
    ({("lid_sand.offset", BACK): 0.2}, {}),  # sawn to the line: nothing stands out to be sanded
    ({("lid_sand.offset", BACK): -0.2}, {"lid_overhang": 0.2}),
    ({("lid_saw.offset", BACK): 0.5, ("lid_sand.offset", BACK): 0.2}, {"lid_overhang": 0.2}),
    ({("hole_mark.offset", hole("left lid screw", 0)): 0.4}, {"screw_wood": 5.85}),
    ({("drill.wander", hole("right lid screw", 0)): -0.4}, {"screw_wood": 5.85}),
    ({("hole_mark.offset", hole("left lid screw", 1)): 0.4}, {}),  # along the wall
    ({("lid.place", 0): 0.4}, {"screw_wood": 5.85}),
    ({("lid.place", 1): 0.4}, {}),
    ({("stock.thickness", LEFT): 0.4}, {"screw_wood": 6.05}),
    ({("stock.thickness", FRONT): 0.4}, {}),  # a plain wall
    ({("hole_mark.offset", hole("cable", 0)): 0.3}, {"cable_hole": 0.3}),
    ({("hole_mark.offset", hole("cable", 0)): 0.3, ("drill.wander", hole("cable", 1)): -0.4}, {"cable_hole": 0.5}),
    ({("hole_mark.offset", hole("cable", 1)): 0.3, ("drill.wander", hole("cable", 1)): 0.4}, {"cable_hole": 0.7}),
    # The stem's hole beside the line of the screws: both give way, (0.5 + 0.3 - 0.6)/2.
    ({("hole_mark.offset", hole("lid centre", 0)): 0.6}, {"plaque_spare": 0.1}),
    ({("drill.wander", hole("lid centre", 0)): -0.6}, {"plaque_spare": 0.1}),
    ({("laser.place", 0): 0.6}, {"plaque_spare": 0.1}),
    ({("laser.place", 0): 0.6, ("hole_mark.offset", hole("lid centre", 0)): 0.6}, {}),
    # The screws' holes too far apart or too near: half of it each.
    ({("hole_mark.offset", hole("plaque screw +v", 1)): 0.4}, {"plaque_spare": 0.1}),
    ({("drill.wander", hole("plaque screw -v", 1)): 0.4}, {"plaque_spare": 0.1}),
    ({("laser.place", 3): 0.4}, {"plaque_spare": 0.1}),
    ({("laser.place", 3): 0.4, ("hole_mark.offset", hole("plaque screw -v", 1)): 0.4}, {}),
    ({("laser.kerf", 0): 0.1}, {"plaque_spare": 0.25, "plaque_leg": 0.05}),
    ({("laser.kerf", 0): -0.1}, {"plaque_spare": 0.35, "plaque_leg": -0.05}),
    ({("bend.line", 0): 0.3}, {"plaque_leg": 0.3}),
    ({("bend.line", 0): -0.3}, {"plaque_leg": -0.3}),
    ({("bend.angle", 0): math.radians(-2)}, {"plaque_angle": -2.0}),
]


def test_every_quantity_and_every_outcome_has_its_cases():
    """At least one case that moves something for each quantity, and one that moves it for each outcome."""
    missing = FITTING_PLACES.keys() - {name for errors, changed in ALONE if changed for name, _ in errors}
    assert not missing, f"work out by hand what {missing} do alone, and add that to ALONE"
    still = STILL.keys() - {name for _, changed in ALONE for name in changed}
    assert not still, f"add an error that moves {still} to ALONE"


@pytest.mark.parametrize(("errors", "changed"), ALONE)
def test_one_error_alone(errors, changed):
    assert outcomes_of(errors) == pytest.approx(STILL | changed, abs=1e-9)


@pytest.mark.parametrize(
    ("errors", "changed"),
    [
        ({("laser.place", 3): 0.4}, {}),  # the lid's hole is pricked through the plaque's, wherever that is
        ({("laser.place", 4): 0.4}, {}),
        ({("hole_mark.offset", hole("plaque screw +v", 1)): 0.4}, {}),  # no marks of their own
        ({("drill.wander", hole("plaque screw +v", 1)): 0.4}, {"plaque_spare": 0.1}),
        ({("hole_mark.offset", hole("lid centre", 0)): 0.6}, {"plaque_spare": 0.1}),
        ({("laser.place", 0): 0.6}, {"plaque_spare": 0.1}),
        ({("laser.place", 0): 0.6, ("drill.wander", hole("lid centre", 0)): 0.6}, {}),
        ({("laser.kerf", 0): 0.1}, {"plaque_spare": 0.25, "plaque_leg": 0.05}),
        ({("hole_mark.offset", hole("cable", 0)): 0.3}, {"cable_hole": 0.3}),
    ],
)
def test_one_error_alone_marked_through(errors, changed):
    assert outcomes_of(errors, marked_through()) == pytest.approx(STILL | changed, abs=1e-9)


def test_base_by_side():
    """Moved by +2.5 along x the base falls 0.5 short on the left; by -2.7 along y, 0.7 short at the back."""
    value = value_with({("base.place", 0): 2.5, ("base.place", 1): -2.7, ("flush.offset", RIGHT): 0.1})
    assert base_overhangs(2.0, value)[[LEFT, RIGHT, FRONT, BACK], 0] == pytest.approx([-0.5, 0.1, 0, -0.7], abs=1e-12)


def test_lid_by_side():
    value = value_with(
        {("outline.offset", LEFT): 0.3, ("lid_saw.offset", RIGHT): -0.2, ("lid_sand.offset", BACK): -0.1}
    )
    assert lid_overhangs(value)[[LEFT, RIGHT, FRONT, BACK], 0] == pytest.approx([0.3, -0.2, 0, -0.1], abs=1e-12)


small = st.floats(-0.5, 0.5)


@given(st.lists(small, min_size=9, max_size=9))
def test_screw_wood_from_places_along_x(amounts):
    """Second method: where hole and wall lie along x, the frame's outside faces at ±80."""
    names = [("outline.offset", LEFT), ("outline.offset", RIGHT), ("lid.place", 0)]
    names += [("stock.thickness", LEFT), ("stock.thickness", RIGHT)]
    names += [
        (name, hole(f"{side} lid screw", 0))
        for name in ("hole_mark.offset", "drill.wander")
        for side in ("left", "right")
    ]
    over_l, over_r, shift, thick_l, thick_r, mark_l, mark_r, wander_l, wander_r = amounts
    hole_l = -80 - 3 - over_l + shift + (15 / 2 + 3) + mark_l + wander_l
    hole_r = 80 + 3 + over_r + shift - (15 / 2 + 3) - mark_r - wander_r
    middle_l, middle_r = -80 + (15 + thick_l) / 2, 80 - (15 + thick_r) / 2
    expected = [7.5 - abs(hole_l - middle_l) - 1.25, 7.5 - abs(hole_r - middle_r) - 1.25]
    value = value_with(dict(zip(names, amounts, strict=True)))
    assert screw_woods(BIRD, value)[:, 0] == pytest.approx(expected, abs=1e-12)
    assert Fitting(design=BIRD, workshop=still_workshop()).outcomes(value)["screw_wood"][0] == pytest.approx(
        min(expected)
    )


def test_holes_by_place_and_axis():
    """Marks 1 to 12 and wander in thousandths, in the order of `DRILLED`, then by axis."""
    value = value_with({("hole_mark.offset", i): i + 1 for i in range(12)} | {("drill.wander", 4): 0.001})
    assert drilled_errors(value)[..., 0].tolist() == [[1, 2], [3, 4], [5.001, 6], [7, 8], [9, 10], [11, 12]]
    apart, _ = plaque_holes(BIRD, value | {"laser.place": np.arange(6.0)[:, None] / 10})
    assert apart[..., 0] == pytest.approx(np.array([[3, 3.9], [4.801, 5.7], [6.6, 7.5]]), abs=1e-12)


def test_clearances_and_drawn_places():
    design = bird_design(hole_offset=-6)
    _, clearance = plaque_holes(design, value_with({("laser.kerf", 0): 0.2}))
    assert clearance[:, 0] == pytest.approx([(7 - 6 - 0.2) / 2, 0.2, 0.2], abs=1e-12)
    assert plaque_arms(design.plaque).tolist() == [[0, 0], [-6, -20], [-6, 20]]


def test_screw_holes_off_the_stem_turn_the_plaque():
    """Lid holes turned by 0.02 about the stem, screws 6 before it: a turn takes all of it up, the whole play stays."""
    turned = {
        ("hole_mark.offset", hole("plaque screw -v", 0)): 0.4,
        ("hole_mark.offset", hole("plaque screw +v", 0)): -0.4,
    }
    shifted = {("hole_mark.offset", hole(f"plaque screw {side}v", 1)): -0.12 for side in "-+"}
    assert outcomes_of(turned | shifted, bird_design(hole_offset=-6))["plaque_spare"] == pytest.approx(0.3, abs=1e-9)


def test_degrees_of_a_workshop_come_out_as_degrees():
    workshop = still_workshop(operations=Operations(bend={"angle": {"bias": 1.5}}))
    fitting = Fitting(design=BIRD, workshop=workshop)
    value = values(fitting.inputs, {}) | {"stock.thickness": np.zeros((4, 1))}
    assert fitting.outcomes(value)["plaque_angle"] == pytest.approx([1.5], abs=1e-12)


def test_cable_hole_of_many_boxes():
    """Independent normal errors of 0.3 and 0.4 on both axes: Rayleigh of 0.5, mean 0.5 √(π/2), median 0.5 √(2 ln 2)."""
    operations = Operations(hole_mark={"offset": {"spread": 0.3}}, drill={"wander": {"spread": 0.4}})
    fitting = Fitting(design=BIRD, workshop=still_workshop(operations=operations))
    rows = []
    for block in range(20):
        drawn = draw_block(fitting.inputs, 10_000, seed=1, block=block)
        value = values(fitting.inputs, drawn) | {"stock.thickness": np.zeros((4, 1))}
        rows.append(fitting.outcomes(value)["cable_hole"])
    distances = np.concatenate(rows)
    assert distances.mean() == pytest.approx(0.5 * math.sqrt(math.pi / 2), rel=0.005)  # four standard errors: 0.47 %
    assert np.median(distances) == pytest.approx(0.5 * math.sqrt(2 * math.log(2)), rel=0.006)


@pytest.mark.parametrize("quantity", FITTING_PLACES)
def test_one_quantity_with_spread_among_others_without(quantity):
    operation, _, name = quantity.partition(".")
    varied = {operation: {name: Disturbance(spread=0.1)}}
    fitting = Fitting(design=BIRD, workshop=still_workshop(operations=Operations(**varied)))
    drawn = draw_block(fitting.inputs, 50, seed=1, block=0)
    value = values(fitting.inputs, drawn) | {"stock.thickness": np.zeros((4, 1))}
    many = fitting.outcomes(value)
    assert {row.shape for row in many.values()} <= {(50,), (1,)}
    at = {k: v[:, 7:8] if v.shape[1] > 1 else v for k, v in value.items()}
    one = fitting.outcomes(at)
    assert {k: v[min(7, len(v) - 1)] for k, v in many.items()} == pytest.approx(
        {k: v[0] for k, v in one.items()}, abs=1e-9
    )


@pytest.mark.parametrize(("least", "share"), [(6.26, 0.0), (6.24, 1.0)])
def test_limits_of_sheets_and_holes_count(least, share):
    """Without any error the lid's screws have 6.25 mm of wood, so all boxes keep 6.24 and none keeps 6.26."""
    design = BIRD.model_copy(update={"limits": Limits(screw_wood=Limit(min=least))})
    result = check(design, still_workshop(), boxes=20, seed=1)
    assert result.pass_share.value == share
    assert result.outcomes["screw_wood"].share_within.value == share
    assert result.outcomes["screw_wood"].mean.value == pytest.approx(6.25, abs=1e-12)
    assert result.outcomes["plaque_angle"].unit == "deg"
    assert result.outcomes["base_overhang"].limit is None


def test_errors_of_sheets_leave_the_frame_as_it_was():
    workshop = still_workshop(operations=Operations(mark={"offset": {"spread": 0.2}}))
    sheets = still_workshop(operations=Operations(mark={"offset": {"spread": 0.2}}, flush={"offset": {"spread": 0.2}}))
    before, after = (check(BIRD, each, boxes=200, seed=3) for each in (workshop, sheets))
    assert after.outcomes["joint_gap"] == before.outcomes["joint_gap"]
    assert after.outcomes["base_overhang"].sd.value > 0
    assert before.outcomes["base_overhang"].sd.value == 0


def test_names_of_rows():
    model = BoxModel(BIRD, still_workshop())
    assert [each.name for each in model.inputs] == [*FRAME_PLACES, *FITTING_PLACES, "settling.tie"]
    assert model.rows[9:16] == tuple(STILL)
