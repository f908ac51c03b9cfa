"""The box studied in runs: blocks until the figures hold still, or scrambles of Sobol' points.

Boxes of a run need not be independent of each other, nor is their number fixed beforehand, so that no interval that
counts boxes holds: every interval is Student's t over a figure's values in the runs. Where all boxes or none keep a
limit, runs do not differ and tell nothing; the interval is then that of as many independent boxes.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from assembly.model.outcomes import OUTCOMES
from assembly.nominal.frame import CORNERS
from assembly.study.check import QUANTILES, BoxModel, told_study
from assembly.study.intervals import Share, wilson
from assembly.study.sobol_points import SCRAMBLES, power_for, scrambled
from assembly.study.stopping import adaptive

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.study.check import OutcomeSummary, StudyResult
    from assembly.study.stopping import Adaptive, Figure

Told = dict[tuple[str, str], "Figure"]


def adaptive_study(
    model: BoxModel, *, digits: int, seed: int = 1, progress: Callable[[int, int], None] | None = None
) -> tuple[StudyResult, Adaptive]:
    """Return the study of as many boxes as so many digits take, and how it stopped.

    Raises
    ------
    InputError
        If `digits` is not 1 to 4, or more than a tenth of the boxes are beyond the model's first order.
    """
    quantiles = tuple(q for q in QUANTILES if q != max(QUANTILES))  # the furthest is not told
    found = adaptive(
        model, tuple(OUTCOMES), shares=_shares(model), quantiles=quantiles, digits=digits, seed=seed, progress=progress
    )
    study = told_study(model, found.total, seed=seed, partial=found.stopped == "interrupted")
    return in_runs(study, found.figures), found


def scrambled_study(
    model: BoxModel,
    *,
    boxes: int,
    scrambles: int = SCRAMBLES,
    seed: int = 1,
    threads: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> StudyResult:
    """Return the study of at least `boxes` boxes at scrambled Sobol' points.

    Raises
    ------
    InputError
        If a number is out of its range, or more than a tenth of the boxes are beyond the model's first order.
    """
    found = scrambled(
        model,
        (*OUTCOMES, *(f"gap {corner}" for corner in CORNERS)),
        shares=_shares(model),
        quantiles=QUANTILES,
        power=power_for(boxes, scrambles),
        scrambles=scrambles,
        seed=seed,
        threads=threads,
        progress=progress,
    )
    return in_runs(told_study(model, found.total, seed=seed, partial=found.partial), found.figures)


def in_runs(study: StudyResult, figures: Sequence[Figure]) -> StudyResult:
    """Return a study with the intervals that its figures have over the runs."""
    told = {(each.row, each.what): each for each in figures}
    passes = told["passes", "mean"]
    return replace(
        study,
        runs=passes.runs,
        pass_share=_share(passes, study.boxes),
        outcomes={
            name: _summary(found, told, name, f"keeps {name}", study.boxes) for name, found in study.outcomes.items()
        },
        corners={
            name: _summary(found, told, f"gap {name}", f"keeps gap {name}", study.boxes)
            for name, found in study.corners.items()
        },
    )


def _shares(model: BoxModel) -> list[str]:
    return [row for row in model.rows if row.startswith("keeps ") or row == "passes"]


def _summary(found: OutcomeSummary, told: Told, row: str, keeps: str, boxes: int) -> OutcomeSummary:
    half = {what: each.interval[1] - each.value for (of, what), each in told.items() if of == row}
    share = _share(told[keeps, "mean"], boxes) if found.limit else None
    return replace(
        found,
        half_widths=half or None,
        share_within=share.share if share else None,
        low=share.low if share else None,
        high=share.high if share else None,
    )


def _share(figure: Figure, boxes: int) -> Share:
    if figure.value in {0.0, 1.0}:
        return wilson(figure.value * boxes, boxes)
    low, high = (min(max(end, 0.0), 1.0) for end in figure.interval)
    return Share(share=figure.value, low=low, high=high)
