"""The plot of `lapwright outcome`: for each outcome the forecast as a band, the boxes as marks, and the limits."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure

from assembly.made.limits import limit_ends
from viewer.reports.check_report import heading_of
from viewer.reports.plots import LIGHT, STYLE, limit_line
from viewer.scene.tints import INK, PAPER

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from assembly.learning.outcome_check import OutcomeCheck, OutcomeVerdict
    from assembly.model.design import Design, Limit


def outcome_figure(design: Design, found: OutcomeVerdict) -> Figure:
    """Return the plot: an outcome a row, each on its own scale."""
    rows = len(found.outcomes)
    height = 1.3 + 0.95 * rows
    with mpl.rc_context(STYLE):
        figure = Figure(figsize=(9.0, height), facecolor=PAPER)
        title = f"{design.name}: {found.boxes} {'box' if found.boxes == 1 else 'boxes'} against their forecast"
        figure.text(0.02, 1 - 0.3 / height, title, fontsize=12, fontweight="bold", va="center")
        for at, each in enumerate(found.outcomes):
            bottom = 1 - (0.6 + 0.95 * (at + 1) - 0.35) / height
            axes = figure.add_axes((0.3, bottom, 0.66, 0.5 / height))
            _outcome(axes, each, getattr(design.limits, each.outcome))
            figure.text(0.02, bottom + 0.25 / height, heading_of(each.outcome), va="center")
        words = "band: nine forecast boxes in ten, thick line: the middle one; marks: your boxes, as read"
        if any(getattr(design.limits, each.outcome) for each in found.outcomes):
            words += "; broken lines: limits"
        figure.text(0.02, 0.16 / height, words, fontsize=8.5)
    return figure


def _outcome(axes: Axes, each: OutcomeCheck, limit: Limit | None) -> None:
    low, middle, high = each.forecast
    axes.barh(0, high - low, left=low, height=0.9, facecolor=LIGHT, edgecolor=INK, hatch="////")
    for width, tint in ((6, PAPER), (3, INK)):
        axes.plot([middle, middle], [-0.55, 0.55], color=tint, linewidth=width, solid_capstyle="butt")
    values, counts = np.unique(each.read, return_counts=True)
    for value, count in zip(values, counts, strict=True):  # equal readings stand above each other
        axes.plot(
            [value] * count,
            0.8 * (np.arange(count) - (count - 1) / 2) / max(counts.max() - 1, 1),
            linestyle="none",
            marker="o",
            markersize=4.5,
            color=PAPER,
            markeredgecolor=INK,
        )
    limits = [end for end in limit_ends(limit) if math.isfinite(end)] if limit else []
    for end in limits:
        limit_line(axes, end)
    ends = [low, high, float(values[0]), float(values[-1]), *limits]
    room = 0.06 * (max(ends) - min(ends) or 1.0)
    axes.set_xlim(min(ends) - room, max(ends) + room)
    axes.set_ylim(-0.75, 0.75)
    axes.set_yticks([])
    axes.spines[["top", "right", "left"]].set_visible(False)
