"""How a section's boxes come out against the present one's, in words: before, after, and the change.

of 100 made : shares of boxes are given as boxes of a hundred, and as good boxes of a class
change      : of the same makers' boxes, known better than either figure; 95 in 100 trials give one between the two ends
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from assembly.study.intervals import exact, normal
from assembly.text import decimal, mm
from viewer.reports.rounding import with_interval
from viewer.reports.section.short_answer import good_boxes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from assembly.section.section import SectionFit, SectionStudy
    from assembly.section.ties import Tolerance
    from assembly.study.intervals import Estimate

_ROUNDING = 1e-9
_ROUGH = "- many of these boxes have errors too large to predict: take the figures here as rough"


def paired(found: Estimate, unit: str, finest: int = 2) -> str:
    """Return between which figures a paired difference lies, 95 % sure, to the digits that the interval carries."""
    value, low, high = with_interval(found, finest)
    if not (value.value or low.value or high.value):
        return f"no change that matters (under {decimal(10.0**-finest)}{unit})"
    if low == high:
        return f"a change of {low.signed}{unit}"
    return f"a change between {low.signed} and {high.signed}{unit}"


def fit_lines(study: SectionStudy) -> list[str]:
    """Return how the boxes come out before and after, what marking from the drawing costs, and how stock varies.

    Where many boxes have errors too large to predict, a line says so and figures are printed a digit more roughly.
    """
    fit, makers = _fit_of(study), study.tried.makers
    rough = study.verdict.level_of("beyond") != "sound"
    shares, sizes = (0, 1) if rough else (1, 2)
    expected = [good_boxes(s.pass_share.value, makers) for s in (fit.before, fit.after)]
    gaps = [s.joint_gap for s in (fit.before, fit.after)]
    closed = [100 * s.closed_share for s in (fit.before, fit.after)]
    closing = fit.closed_share.times(100)
    return [
        (
            f"From {fit.boxes:,} simulated boxes of each section by the same makers. A change is given as two figures; "
            "in 95 of 100 such trials it falls between them."
        ),
        *([_ROUGH] if rough else []),
        (
            f"- good boxes, which keep every limit, of 100 made: {_good(fit, shares)}; of a class of {makers}: "
            f"{expected[0]} before, {expected[1]} after"
        ),
        f"- widest joint gap, mean: {_means(gaps, fit.joint_gap, ' mm', sizes)}",
        f"- joint closed by glue, mean of the worst corner: {_means(closed, closing, ' %', shares)}",
        (
            "- shoulders marked from the drawing instead of from the wall itself, good boxes of 100: "
            f"{paired(fit.from_drawing.times(100), '', shares)}"
        ),
        *_tolerances(study.ties.tolerances),
    ]


def _fit_of(study: SectionStudy) -> SectionFit:
    """Return the fit; a section against itself changes nothing at all."""
    none = exact(0.0)
    same = study.tried == study.present
    return replace(study.fit, pass_share=none, joint_gap=none, closed_share=none) if same else study.fit


def _good(fit: SectionFit, finest: int) -> str:
    """Return the good boxes of a hundred before and after."""
    shares = [each.pass_share.times(100) for each in (fit.before, fit.after)]
    return before_after(shares, fit.pass_share.times(100), "", finest)


def _means(values: Sequence[FloatArray], change: Estimate, unit: str, finest: int) -> str:
    """Return means before and after, and their change."""
    found = [normal(float(each.mean()), float(each.std(ddof=1)) / len(each) ** 0.5, len(each)) for each in values]
    return before_after(found, change, unit, finest)


def before_after(found: Sequence[Estimate], change: Estimate, unit: str, finest: int) -> str:
    """Return two figures, each to the first digit of its 95 % half-width, and their change.

    The change of the same makers' boxes is known better than either figure; where rounding would make the three
    contradict each other, one figure is printed for both.
    """
    before, after = (with_interval(each, finest)[0] for each in found)
    _, low, high = with_interval(change, finest)
    both = f"{before}{unit} before, {after}{unit} after"
    if not low.value - _ROUNDING <= after.value - before.value <= high.value + _ROUNDING:
        both = f"about {before}{unit} before and after"
    elif before == after:
        both = f"{before}{unit} before and after"
    return f"{both}, {paired(change, unit, finest)}"


def _tolerances(found: Sequence[Tolerance]) -> list[str]:
    """Return how far bought stock may be out, once where both walls' stock may be out alike."""
    alike = len({(each.plus, each.minus, each.source) for each in found}) == 1
    tolerance_of = (
        [(" and ".join(mm(each.thickness) for each in found), found[0])]
        if alike
        else [(mm(each.thickness), each) for each in found]
    )
    return [
        f"- bought stock of {sizes} may come {decimal(each.plus)} mm thicker or {decimal(each.minus)} mm thinner "
        f"({each.source}): measure what you get, and mark shoulders from the wall itself"
        for sizes, each in tolerance_of
    ]
