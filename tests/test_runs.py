"""The box studied in runs: intervals over blocks or scrambles, from figures set by hand and from the box itself."""

import math

import pytest

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.model.outcomes import OUTCOMES
from assembly.nominal.frame import CORNERS
from assembly.study.check import BoxModel, check
from assembly.study.intervals import Z95, wilson
from assembly.study.replications import adaptive_study, in_runs, scrambled_study
from assembly.study.sobol_points import power_for
from assembly.study.stopping import Figure

DESIGN, WORKSHOP = read_design("configs/frost_watch.toml"), read_workshop("new_to_tools")
MODEL = BoxModel(DESIGN, WORKSHOP)
T3 = 3.182446  # Student's t of 3 degrees of freedom, 97.5 %: JCGM 100:2008, Table G.2 gives 3.18


def figure(row, what, value, error, runs=4):
    return Figure(row=row, what=what, value=value, standard_error=error, tolerance=0.0, runs=runs)


@pytest.fixture(scope="module")
def random():
    return check(DESIGN, WORKSHOP, boxes=20_000, seed=5)


def test_intervals_are_student_s_over_the_runs(random):
    """Four runs: half-widths are 3.182 standard errors; what no figure tells stays as it was."""
    shares = [figure(row, "mean", 0.9, 0.01) for row in MODEL.rows if row.startswith("keeps ")]
    told = [
        *shares,
        figure("passes", "mean", 0.6, 0.02),
        figure("joint_gap", "mean", 1.07, 0.003),
        figure("joint_gap", "0.5", 1.0, 0.004),
        figure("gap left-back", "0.95", 1.4, 0.1),
    ]
    found = in_runs(random, told)
    assert (found.runs, found.exact_pass_share) == (4, None)
    ends = [0.6 - T3 * 0.02, 0.6, 0.6 + T3 * 0.02]
    assert [found.pass_share.low, found.pass_share.share, found.pass_share.high] == pytest.approx(ends, rel=1e-6)
    gap = found.outcomes["joint_gap"]
    assert gap.half_widths == pytest.approx({"mean": T3 * 0.003, "0.5": T3 * 0.004}, rel=1e-6)
    assert [gap.low, gap.share_within, gap.high] == pytest.approx([0.9 - T3 * 0.01, 0.9, 0.9 + T3 * 0.01], rel=1e-6)
    assert found.corners["left-back"].half_widths == pytest.approx({"0.95": T3 * 0.1}, rel=1e-6)
    assert found.outcomes["lid_overhang"].half_widths is None
    assert found.outcomes["lid_overhang"].quantiles == random.outcomes["lid_overhang"].quantiles
    assert (found.outcomes["lid_overhang"].share_within, found.outcomes["lid_overhang"].low) == (None, None)


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_runs_that_all_say_the_same_are_not_taken_for_certain(random, share):
    """No spread over the runs, no interval of Student's: that of as many independent boxes stands in."""
    rows = ["passes", *(row for row in MODEL.rows if row.startswith("keeps "))]
    found = in_runs(random, [figure(row, "mean", share, 0.0) for row in rows])
    expected = wilson(share * 20_000, 20_000)
    assert found.pass_share == expected
    assert (found.outcomes["lean"].low, found.outcomes["lean"].high) == (expected.low, expected.high)
    assert expected.high - expected.low > 0


def test_shares_stay_between_none_and_all(random):
    rows = ["passes", *(row for row in MODEL.rows if row.startswith("keeps "))]
    low = in_runs(random, [figure(row, "mean", 0.001, 0.01) for row in rows]).pass_share
    high = in_runs(random, [figure(row, "mean", 0.999, 0.01) for row in rows]).pass_share
    assert (low.low, high.high) == (0.0, 1.0)


def test_sobol_points_tell_the_same_box_with_smaller_errors(random):
    """Against 20,000 random boxes, within four errors of both.

    Means that are nearly sums err less than half as much as from as many random boxes, and none errs more; a standard
    error over 16 scrambles is itself known to 1/√30, 18 %, so twice that is allowed.
    """
    found = scrambled_study(MODEL, boxes=60_000, seed=1)
    assert (found.boxes, found.runs, found.partial) == (65_536, 16, False)
    for name in OUTCOMES:
        told, other = found.outcomes[name], random.outcomes[name]
        error = math.hypot(told.half_widths["mean"] / Z95, other.sd / math.sqrt(20_000))
        assert told.mean == pytest.approx(other.mean, abs=4 * error), name
        most = 0.5 if name in {"top_step", "length", "width", "base_overhang"} else 1.36
        assert told.half_widths["mean"] / Z95 < most * told.sd / math.sqrt(found.boxes), name
    assert set(found.corners) == set(CORNERS)
    assert all(
        set(each.half_widths) == {"mean", "sd", "0.05", "0.5", "0.95", "0.99"} for each in found.corners.values()
    )
    share = found.pass_share
    error = math.hypot((share.high - share.share) / Z95, math.sqrt(0.24 / 20_000))
    assert share.share == pytest.approx(random.pass_share.share, abs=4 * error)


def test_a_study_that_stops_by_itself_is_the_fixed_one_of_as_many_boxes():
    study, found = adaptive_study(MODEL, digits=1, seed=5)
    assert (study.runs, found.stopped) == (found.figures[0].runs, "settled")
    assert study.runs == study.boxes / 10_000
    fixed = check(DESIGN, WORKSHOP, boxes=study.boxes, seed=5)
    for name in OUTCOMES:
        assert study.outcomes[name].quantiles == fixed.outcomes[name].quantiles
        assert study.outcomes[name].share_within == fixed.outcomes[name].share_within
        assert set(study.outcomes[name].half_widths) == {"mean", "sd", "0.05", "0.5", "0.95"}


@pytest.mark.parametrize(
    ("boxes", "scrambles", "power"),
    [(100_000, 16, 13), (1, 2, 1), (8_192, 4, 11), (8_193, 4, 12), (2_097_152, 16, 17)],
)
def test_scrambles_have_the_next_power_of_two(boxes, scrambles, power):
    assert power_for(boxes, scrambles) == power


@pytest.mark.parametrize(
    ("boxes", "scrambles", "message"),
    [
        (0, 16, "boxes: got 0, must be 1 to 2097152 for 16 scrambles of Sobol' points"),
        (2_097_153, 16, "boxes: got 2097153, must be 1 to 2097152 for 16 scrambles of Sobol' points"),
        (100, 1001, "scrambles: got 1001, must be 2 to 1000, as the error is taken over them"),
    ],
)
def test_what_scrambles_can_not_hold(boxes, scrambles, message):
    with pytest.raises(InputError) as caught:
        power_for(boxes, scrambles)
    assert str(caught.value) == message
