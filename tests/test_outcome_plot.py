"""The plot of `outcome`: boxes as marks where they were read, the forecast as a band, the limits as broken lines."""

from dataclasses import replace

import numpy as np
import pytest

from assembly.files.reading import read_design
from assembly.learning.outcome_check import OutcomeCheck, OutcomeVerdict
from viewer.reports.outcome_plot import outcome_figure

DESIGN = read_design("frost_watch")
GAP = OutcomeCheck(
    outcome="joint_gap",
    boxes=4,
    read=np.array([0.7, 0.9, 0.9, 1.0]),
    places=np.full(4, 0.5),
    median=0.9,
    spread=0.1,
    forecast=(0.4, 0.8, 1.2),
    forecast_spread=0.2,
    kept=4,
    forecast_kept=3.9,
    chance=0.5,
    worse=False,
    found=False,
)
DIAGONALS = replace(GAP, outcome="diagonal_difference", forecast=(-2.0, 0.0, 2.0))


def drawn(outcomes, design=DESIGN):
    found = OutcomeVerdict(verdict="holds", boxes=4, outcomes=outcomes, power=0.9, unsure=False, classes=2000)
    return outcome_figure(design, found)


def broken(axes):
    return sorted(line.get_xdata()[0] for line in axes.lines if line.get_linestyle() == "--")


def test_boxes_band_and_limits_stand_where_they_were_read():
    gap, diagonals = drawn((GAP, DIAGONALS)).axes
    assert broken(gap) == [DESIGN.limits.joint_gap.max]
    within = DESIGN.limits.diagonal_difference.within
    assert broken(diagonals) == [-within, within]
    (band,) = gap.patches
    assert (band.get_x(), band.get_x() + band.get_width()) == pytest.approx((0.4, 1.2), abs=1e-12)
    marks = [x for line in gap.lines if line.get_marker() == "o" for x in line.get_xdata()]
    assert marks == [0.7, 0.9, 0.9, 1.0]
    ends = gap.get_xlim()
    assert all(ends[0] < x < ends[1] for x in (*marks, 0.4, 1.2, DESIGN.limits.joint_gap.max))


def test_without_limits_none_are_drawn_or_explained():
    limits = DESIGN.limits.model_copy(update={"joint_gap": None})
    figure = drawn((GAP,), DESIGN.model_copy(update={"limits": limits}))
    assert broken(figure.axes[0]) == []
    words = " ".join(text.get_text() for text in figure.texts)
    assert "broken lines" not in words
    assert "broken lines: limits" in " ".join(text.get_text() for text in drawn((GAP,)).texts)
