"""Four plots, SVG and PNG: gap by joint, the class forecast, causes, what would help.

They are read without colour: one ink, light and dark, hatches that differ in direction, and words at everything that
a legend would have to explain. Matplotlib takes a second, so only `--plots` loads this module.
"""

from __future__ import annotations

import io
import math
import textwrap
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator, StrMethodFormatter
from PIL import Image

from assembly.files.writing import misread, publish
from assembly.made.limits import limit_ends
from assembly.model.outcomes import OUTCOMES
from assembly.model.workshop import operation_words
from assembly.nominal.frame import corner_words
from viewer.reports.causes_report import NOTHING, effect, slight
from viewer.reports.forecast_report import range_words
from viewer.reports.rounding import percent, with_interval
from viewer.scene.tints import GROUNDS, INK, PAPER, QUIET, TEXT

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from matplotlib.axes import Axes

    from assembly.model.design import Design
    from assembly.study.check import StudyResult
    from assembly.study.forecast import ClassCounts
    from assembly.study.improvements import Helps
    from assembly.study.intervals import Estimate
    from assembly.study.sensitivity import Causes

LIGHT, MIDDLE = GROUNDS["usable"], GROUNDS["open"]
DOTS_PER_INCH = 150
MOST_BARS = 60  # of a forecast; larger classes are counted in groups
LABEL = 42  # letters in a line of a label
MOST_ROWS = 16  # of a ranked list; the rest is in the text
STYLE: dict[Any, Any] = {
    "font.size": 10.0,
    "text.color": TEXT,
    "axes.labelcolor": TEXT,
    "xtick.color": TEXT,
    "ytick.color": TEXT,
    "axes.edgecolor": QUIET,
    "hatch.color": INK,
    "hatch.linewidth": 0.8,
    "svg.fonttype": "none",  # words stay words: they can be searched and read aloud
    "svg.hashsalt": "lapwright",  # the same plot is the same file
}


def _axes(rows: float, title: str, xlabel: str, left: float = 0.3) -> tuple[Figure, Axes]:
    """Return a figure high enough for `rows` rows, with its one pair of axes."""
    height = 1.5 + 0.42 * rows
    figure = Figure(figsize=(9.0, height), facecolor=PAPER)
    axes = figure.add_axes((left, 0.75 / height, 0.96 - left, 1 - 1.4 / height))
    figure.text(0.02, 1 - 0.35 / height, title, fontsize=12, fontweight="bold", va="center")
    axes.set_xlabel(xlabel)
    axes.spines[["top", "right"]].set_visible(False)
    return figure, axes


def _listed(axes: Axes, labels: Sequence[str]) -> None:
    """Put one label a row, the first at the top."""
    axes.set_yticks(range(len(labels)), labels)
    axes.set_ylim(len(labels) - 0.4, -0.6)
    axes.tick_params(axis="y", length=0)


def gap_by_joint(design: Design, study: StudyResult) -> Figure:
    """Return the plot of each joint's gap: nine boxes in ten, the middle one, one in a hundred, and the limit."""
    with mpl.rc_context(STYLE):
        figure, axes = _axes(5, f"{design.name}: gap by joint", "widest gap at the joint, mm", left=0.18)
        corners = {corner_words(corner): found for corner, found in study.corners.items()}
        rows = {**corners, "widest of all": study.outcomes["joint_gap"]}
        _listed(axes, list(rows))
        for at, found in enumerate(rows.values()):
            low, middle, high, far = (found.quantiles[q].value for q in (0.05, 0.5, 0.95, 0.99))
            axes.barh(at, high - low, left=low, height=0.5, facecolor=LIGHT, edgecolor=INK, hatch="////")
            axes.plot([middle, middle], [at - 0.33, at + 0.33], color=PAPER, linewidth=6, solid_capstyle="butt")
            axes.plot([middle, middle], [at - 0.33, at + 0.33], color=INK, linewidth=3, solid_capstyle="butt")
            axes.plot([high, far], [at, at], color=INK, linewidth=1.2)
            axes.plot([far, far], [at - 0.12, at + 0.12], color=INK, linewidth=1.2)
        axes.set_xlim(0, 1.08 * max(found.quantiles[0.99].value for found in rows.values()) or 1.0)
        _gap_limit(axes, study)
        figure.text(
            0.02,
            0.03,
            "hatched: nine boxes in ten; thick line: the middle box; end of thin line: one box in a hundred is wider",
            fontsize=8.5,
        )
    return figure


def limit_line(axes: Axes, at: float) -> None:
    """Draw the broken line of a limit across a plot."""
    axes.axvline(at, color=TEXT, linestyle=(0, (5, 3)), linewidth=1.5)


def _gap_limit(axes: Axes, study: StudyResult) -> None:
    """Draw the gap's limit, if there is one, and say at each joint how many boxes miss it."""
    limit = study.outcomes["joint_gap"].limit
    most = limit_ends(limit)[1] if limit else math.inf
    if math.isinf(most):
        return
    axes.set_xlim(0, 1.2 * max(axes.get_xlim()[1], most))
    limit_line(axes, most)
    axes.text(most, -0.72, f"limit {most:g} mm", ha="center", va="bottom")
    for at, found in enumerate([*study.corners.values(), study.outcomes["joint_gap"]]):
        if found.share_within is not None:
            missed = percent(found.share_within.complement())
            axes.text(axes.get_xlim()[1], at, f"{missed} miss it", ha="right", va="center")


def class_forecast(design: Design, classes: ClassCounts) -> Figure:
    """Return the plot of how many good boxes a class has: nine classes in ten, and the others."""
    low, high = (end.value for end in classes.range)
    with mpl.rc_context(STYLE):
        figure, axes = _axes(
            6, f"{design.name}: good boxes in a class of {classes.makers:,}", "boxes that keep every limit", 0.1
        )
        each = max(1, -(-(classes.makers + 1) // MOST_BARS))
        counts = np.bincount(classes.counts // each, minlength=classes.makers // each + 1)
        share, middle = 100 * counts / classes.counts.size, each * np.arange(counts.size) + (each - 1) / 2
        inside = (middle >= low - each / 2) & (middle <= high + each / 2)
        for chosen, tint, hatch in ((inside, MIDDLE, ""), (~inside, PAPER, "////")):
            axes.bar(middle[chosen], share[chosen], width=0.86 * each, facecolor=tint, edgecolor=INK, hatch=hatch)
        top = 1.3 * float(share.max())
        axes.set_ylim(0, top)
        axes.set_xlim(-0.6 * each, classes.makers + 0.6 * each)
        axes.xaxis.set_major_formatter(StrMethodFormatter("{x:,.0f}"))
        axes.xaxis.set_major_locator(MaxNLocator(integer=True))
        axes.set_ylabel("of 100 classes")
        axes.plot([low, high], [0.85 * top] * 2, color=INK, linewidth=2, marker="|", markersize=12)
        _within(
            axes,
            (low + high) / 2,
            0.9 * top,
            f"nine classes in ten: {' to '.join(map(str, range_words(classes)))}",
            classes.makers,
        )
        required = design.required_share * classes.makers
        limit_line(axes, required)
        _within(axes, required, 0.62 * top, f"required: {100 * design.required_share:g} %", classes.makers)
    return figure


def _within(axes: Axes, x: float, y: float, words: str, most: float) -> None:
    """Write words at a place, kept inside the axes."""
    side = "left" if x < 0.25 * most else "right" if x > 0.75 * most else "center"
    box = {"facecolor": PAPER, "edgecolor": "none", "pad": 1.5}
    axes.text(x, y, f" {words} ", ha=side, va="center", bbox=box)


def cause_bars(design: Design, causes: Causes, of: str) -> Figure:
    """Return the plot of the operations' total effects on one outcome, with their intervals."""
    shown = [cause for cause in causes.causes[of] if cause.share.value >= NOTHING][:MOST_ROWS]
    title = f"{design.name}: what is behind the variation of: {OUTCOMES[of].label}"
    with mpl.rc_context(STYLE):
        figure, axes = _axes(max(len(shown), 2), title, "share of the variance, % (they need not add to 100)", 0.4)
        _listed(axes, [_folded(operation_words(cause.name)) for cause in shown])
        for at, cause in enumerate(shown):
            chance = cause.name == "settling"
            share = cause.share.times(100)
            axes.barh(
                at,
                share.value,
                height=0.6,
                facecolor=PAPER if chance else MIDDLE,
                edgecolor=INK,
                hatch="xxx" if chance else "",
            )
            _interval(axes, at, share)
            axes.text(share.high, at, f"  {with_interval(share, 1)[0]} %", va="center")
        axes.set_xlim(0, 1.15 * max((100 * cause.share.high for cause in shown), default=100))
        if not shown:
            axes.text(50, 0, "it does not vary", ha="center", va="center")
    return figure


def _interval(axes: Axes, at: float, found: Estimate) -> None:
    axes.plot([found.low, found.high], [at, at], color=TEXT, linewidth=1.4, marker="|", markersize=7)


def help_bars(design: Design, helps: Helps) -> Figure:
    """Return the plot of the boxes that a class gains or loses by each change; a long list's middle is left out."""
    gains = [gain for gain in helps.gains if not slight(gain)]
    shown = gains if len(gains) <= MOST_ROWS else [*gains[: MOST_ROWS - MOST_ROWS // 3], *gains[-(MOST_ROWS // 3) :]]
    title = f"{design.name}: what would help in a class of {helps.makers:,}"
    looks = {"helps": (MIDDLE, ""), "makes it worse": (LIGHT, "\\\\\\\\")}  # others, either way: as paper, dotted
    with mpl.rc_context(STYLE):
        figure, axes = _axes(max(len(shown), 2), title, "good boxes gained in a class; below zero: lost", 0.47)
        _listed(axes, [_folded(gain.change.words) for gain in shown])
        for at, gain in enumerate(shown):
            tint, hatch = looks.get(effect(gain), (PAPER, "...."))
            axes.barh(at, gain.boxes.value, height=0.6, facecolor=tint, edgecolor=INK, hatch=hatch)
            _interval(axes, at, gain.boxes)
            value = with_interval(gain.boxes, 1)[0].signed
            axes.text(max(gain.boxes.high, 0), at, f"  {value} {effect(gain)}", va="center")
        axes.axvline(0, color=TEXT, linewidth=1)
        ends = [0.0, *(gain.boxes.low for gain in shown), *(gain.boxes.high for gain in shown)]
        span = max(ends) - min(ends) or 1.0
        axes.set_xlim(min(ends) - 0.04 * span, max(ends) + 0.4 * span)
        if len(gains) > len(shown):
            figure.text(0.02, 0.012, f"{len(gains) - len(shown)} changes between these are left out", fontsize=8.5)
        if not shown:
            axes.text(0, 0, "nothing that was tried changes how many boxes are good", ha="center", va="center")
    return figure


def _folded(words: str) -> str:
    """Return words in as many lines as a label needs."""
    return "\n".join(textwrap.wrap(words, LABEL))


def write_plots(figures: Mapping[str, Figure], folder: Path, stem: str) -> list[str]:
    """Write every figure as SVG and PNG, all of them or none, and return the files written."""
    files = {folder / f"{stem}_{name}.{kind}": figure for name, figure in figures.items() for kind in ("svg", "png")}
    return write_figures(files, "--plots")


def write_figures(figures: Mapping[Path, Figure], option: str) -> list[str]:
    """Write figures into files of one folder, given by `option`, and return the files written.

    Raises
    ------
    ExportError
        If a file can't be written or does not read back; none is then there.
    """
    files = {file: _drawn(figure, file.suffix[1:]) for file, figure in figures.items()}
    return [file.as_posix() for file in publish(files, lambda draft: _check(draft, option), option)]


def drawn_svg(figure: Figure) -> str:
    """Return a figure as SVG."""
    return _drawn(figure, "svg").decode()


def _drawn(figure: Figure, kind: str) -> bytes:
    page = io.BytesIO()
    with mpl.rc_context(STYLE):
        metadata = {"Date": None, "Creator": "lapwright"} if kind == "svg" else {"Software": "lapwright"}
        figure.savefig(page, format=kind, dpi=DOTS_PER_INCH, metadata=metadata)
    return page.getvalue()


def _check(file: Path, option: str) -> None:
    """Refuse a file that does not read back as what it is."""
    try:
        if file.suffix == ".svg":
            ET.parse(file)  # noqa: S314 - our own file, written a moment ago
        else:
            with Image.open(file) as image:
                image.verify()
    except (ET.ParseError, OSError, SyntaxError) as error:
        raise misread(file, f"as no plot ({error})", option) from error
