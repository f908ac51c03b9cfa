"""The verdict on finished boxes: how often it is wrong where the forecast holds, and finds out wider spreads."""

from dataclasses import replace

import numpy as np
import pytest

from assembly.files.reading import read_design, read_workshop
from assembly.learning.boxes import BoxReading
from assembly.learning.example_class import BOX_ROWS
from assembly.learning.instrument_files import read_instruments
from assembly.learning.outcome_check import (
    Reader,
    chances,
    check_outcome,
    fixed_draws,
    forecast_boxes,
    holm,
    places,
    scores,
    verdict_of,
)
from assembly.learning.simulated import exact
from assembly.study.check import BoxModel, check
from viewer.reports.outcome_report import kept_sentences

MODEL, INSTRUMENTS = BoxModel(read_design("frost_watch"), read_workshop("new_to_tools")), read_instruments()


def verdicts(times, seed, makers=26):
    """Return the verdicts on 1,000 classes whose spreads are so many times as large: 1 hopeful, -1 gloomy."""
    plan = [
        BoxReading(maker=(1, maker), outcome=outcome, at=at, value=0.0, instrument=INSTRUMENTS[name])
        for maker in range(1, makers + 1)
        for outcome, at, name in BOX_ROWS
    ]
    reader = Reader(MODEL, plan, 1)
    rows = forecast_boxes(MODEL, fixed_draws(MODEL.workshop), reader.makers, classes=2000, seed=1)
    tried = forecast_boxes(MODEL, fixed_draws(MODEL.workshop, times=times), reader.makers, classes=1000, seed=seed)
    found = []
    for outcome in reader.outcomes:
        forecast = reader.forecast(rows, outcome)
        middle = float(np.median(forecast))
        score = scores(outcome, forecast, middle)
        mine = places(scores(outcome, reader.forecast(tried, outcome, 2), middle), score).mean(axis=0)
        found.append(chances(mine, places(score, score).mean(axis=0)))
    chance, worse = (np.array([each[at] for each in found]) for at in (0, 1))
    return verdict_of(holm(chance), worse.astype(bool), chance)


def test_where_the_forecast_holds_it_is_seldom_called_wrong():
    """At most 5 % of 1,000 classes, but for what chance adds to a count: 2 √(0.05 · 0.95/1000) = 1.4 %."""
    assert (verdicts(1.0, 7) != 0).mean() <= 0.05 + 0.014


@pytest.mark.parametrize(("times", "side"), [(1.5, 1), (1 / 1.5, -1)])
def test_spreads_half_as_large_again_or_as_small_are_found_out(times, side):
    """Of classes of 26, at least 80 %; 99 % are."""
    assert (verdicts(times, 8) == side).mean() >= 0.8


def test_holm_by_hand():
    """Four chances at 5 %: 0.01 against 0.0125, 0.015 against 0.0167, then 0.03 against 0.025, which ends it."""
    assert holm(np.array([0.03, 0.01, 0.5, 0.015])).tolist() == [False, True, False, True]


def test_equal_readings_share_their_place():
    """Two of four forecast boxes read less and one the same: (2 + 0.5)/4."""
    assert places(np.array([1.0]), np.array([[0.0, 0.5, 1.0, 2.0]])).tolist() == [0.625]


def test_boxes_that_keep_a_limit_are_counted_as_they_were_read():
    """A reading on the limit keeps it; true sizes read to nothing keep it as often as a check says."""
    feelers, exact_one = INSTRUMENTS["feeler blades"], exact(INSTRUMENTS["caliper"])
    most = MODEL.design.limits.step.max
    read = [0.3, most, most + 0.1, 0.7, most]
    boxes = [
        BoxReading(maker=(1, maker), outcome="step", at="", value=value, instrument=exact_one)
        for maker, value in enumerate(read, start=1)
    ]
    found = check_outcome(MODEL, boxes, classes=2000)
    (step,) = found.outcomes
    assert step.kept == 4
    share = check(MODEL.design, MODEL.workshop, boxes=100_000).outcomes["step"].share_within.value
    assert step.forecast_kept == pytest.approx(5 * share, abs=5 * 4 * (share * (1 - share) / 10_000) ** 0.5)
    told = f"- end proud or shy: 4 of 5, where {step.forecast_kept:.1f} are forecast"
    assert kept_sentences(found) == ["Boxes that keep the limit, as read:", told]
    by_feelers = [replace(each, value=most, instrument=feelers) for each in boxes]
    assert check_outcome(MODEL, by_feelers, classes=400).outcomes[0].kept == 5
