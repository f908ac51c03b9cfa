"""The box studied in runs: intervals over blocks or scrambles, from figures set by hand and from the box itself."""

import math

import pytest

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.model.outcomes import OUTCOMES
from assembly.nominal.frame import CORNERS
from assembly.study.check import BoxModel, check
from assembly.study.intervals import Interval, student, wilson
from assembly.study.replications import adaptive_study, in_runs, scrambled_study
from assembly.study.sobol_points import power_for

DESIGN, WORKSHOP = read_design("configs/frost_watch.toml"), read_workshop("new_to_tools")
MODEL = BoxModel(DESIGN, WORKSHOP)
T3 = 3.182446  # Student's t of 3 degrees of freedom, 97.5 %: JCGM 100:2008, Table G.2 gives 3.18


def figures(*rows, runs=4):
    """Return figures from (row, what, value, standard error) each."""
    return {(row, what): student(value, error, runs, Interval.STUDENT_BLOCKS) for row, what, value, error in rows}


def kinds(study):
    """Return the kinds of interval of everything that a study tells of outcomes and corners, shares aside."""
    summaries = [*study.outcomes.values(), *study.corners.values()]
    return {each.interval for found in summaries for each in (found.mean, found.sd, *found.quantiles.values())}


@pytest.fixture(scope="module")
def random():
    return check(DESIGN, WORKSHOP, boxes=20_000, seed=5)


def test_intervals_are_student_s_over_the_runs(random):
    """Four runs: half-widths are 3.182 standard errors; what no figure tells stays as it was."""
    shares = [(row, "mean", 0.9, 0.01) for row in MODEL.rows if row.startswith("keeps ")]
    given = figures(
        *shares,
        ("passes", "mean", 0.6, 0.02),
        ("joint_gap", "mean", 1.07, 0.003),
        ("joint_gap", "0.5", 1.0, 0.004),
        ("gap left-back", "0.95", 1.4, 0.1),
    )
    found = in_runs(random, given, 4)
    assert (found.runs, found.exact_pass_share) == (4, None)
    ends = [0.6 - T3 * 0.02, 0.6, 0.6 + T3 * 0.02]
    assert [found.pass_share.low, found.pass_share.value, found.pass_share.high] == pytest.approx(ends, rel=1e-6)
    gap = found.outcomes["joint_gap"]
    assert (gap.mean.value, gap.mean.interval) == (1.07, "student-blocks")
    assert [gap.mean.half_width, gap.quantiles[0.5].half_width] == pytest.approx([T3 * 0.003, T3 * 0.004], rel=1e-6)
    assert gap.quantiles[0.95] == random.outcomes["joint_gap"].quantiles[0.95]
    within = gap.share_within
    assert [within.low, within.value, within.high] == pytest.approx([0.9 - T3 * 0.01, 0.9, 0.9 + T3 * 0.01], rel=1e-6)
    assert found.corners["left-back"].quantiles[0.95].half_width == pytest.approx(T3 * 0.1, rel=1e-6)
    assert found.outcomes["lid_overhang"] == random.outcomes["lid_overhang"]
    assert found.outcomes["lid_overhang"].share_within is None


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_runs_that_all_say_the_same_are_not_taken_for_certain(random, share):
    """No spread over the runs, no interval of Student's: that of as many independent boxes stands in."""
    rows = ["passes", *(row for row in MODEL.rows if row.startswith("keeps "))]
    found = in_runs(random, figures(*((row, "mean", share, 0.0) for row in rows)), 4)
    expected = wilson(share * 20_000, 20_000)
    assert found.pass_share == expected
    assert found.outcomes["lean"].share_within == expected
    assert expected.high - expected.low > 0


def test_shares_stay_between_none_and_all(random):
    rows = ["passes", *(row for row in MODEL.rows if row.startswith("keeps "))]
    low = in_runs(random, figures(*((row, "mean", 0.001, 0.01) for row in rows)), 4).pass_share
    high = in_runs(random, figures(*((row, "mean", 0.999, 0.01) for row in rows)), 4).pass_share
    assert (low.low, high.high) == (0.0, 1.0)


def test_sobol_points_tell_the_same_box_with_smaller_errors(random):
    """Against 20,000 random boxes, within four errors of both.

    Means that are nearly sums err less than half as much as from as many random boxes, and none errs more; a standard
    error over 16 scrambles is itself known to 1/√30, 18 %, so twice that is allowed.
    """
    found = scrambled_study(MODEL, boxes=60_000, seed=1)
    assert (found.boxes, found.runs, found.partial) == (65_536, 16, False)
    for name in OUTCOMES:
        mean, other = found.outcomes[name].mean, random.outcomes[name].mean
        assert mean.interval == "student-scrambles"
        error = math.hypot(mean.standard_error, other.standard_error)
        assert mean.value == pytest.approx(other.value, abs=4 * error), name
        most = 0.5 if name in {"top_step", "length", "width", "base_overhang"} else 1.36
        assert mean.standard_error < most * found.outcomes[name].sd.value / math.sqrt(found.boxes), name
    assert set(found.corners) == set(CORNERS)
    assert kinds(found) == {"student-scrambles"}
    error = math.hypot(found.pass_share.standard_error, random.pass_share.standard_error)
    assert found.pass_share.value == pytest.approx(random.pass_share.value, abs=4 * error)


def test_a_study_that_stops_by_itself_is_the_fixed_one_of_as_many_boxes():
    study, found = adaptive_study(MODEL, digits=1, seed=5)
    assert (study.runs, found.stopped) == (found.blocks, "settled")
    assert study.runs == study.boxes / 10_000
    fixed = check(DESIGN, WORKSHOP, boxes=study.boxes, seed=5)
    for name in OUTCOMES:
        summary, other = study.outcomes[name], fixed.outcomes[name]
        assert {at: each.value for at, each in summary.quantiles.items()} == {
            at: each.value for at, each in other.quantiles.items()
        }
        assert not summary.limit or summary.share_within.value == other.share_within.value
    assert kinds(study) == {"student-blocks"}


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
