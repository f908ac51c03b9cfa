"""The box studied in runs: blocks until the figures hold still, or scrambles of Sobol' points.

Boxes of a run need not be independent of each other, nor is their number fixed beforehand, so that no interval that
counts boxes holds: every interval is Student's t over a figure's values in the runs. Where all boxes or none keep a
limit, runs do not differ and tell nothing; the interval is then that of as many independent boxes.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from assembly.nominal.frame import CORNERS
from assembly.study.check import QUANTILES, BoxModel, study_of
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import wilson
from assembly.study.sobol_points import SCRAMBLES, power_for, scrambled
from assembly.study.stopping import adaptive, wanted_figures

if TYPE_CHECKING:
    from assembly.study.check import OutcomeSummary, StudyResult
    from assembly.study.intervals import Estimate
    from assembly.study.stopping import Adaptive, Figures

_CORNER_ROWS = tuple(f"gap {corner}" for corner in CORNERS)


def adaptive_study(
    model: BoxModel, *, digits: int, seed: int = 1, run: Run = UNWATCHED
) -> tuple[StudyResult, Adaptive]:
    """Return the study of as many boxes as so many digits take, and how it stopped.

    Raises
    ------
    InputError
        If `digits` is not 1 to 4, or more than a tenth of the boxes are beyond the model's first order.
    """
    furthest = max(QUANTILES)  # not printed
    found = adaptive(
        model,
        tuple(model.design.outcomes),
        shares=(*model.kept_rows, "passes"),
        quantiles=tuple(q for q in QUANTILES if q != furthest),
        also=[*((name, str(furthest)) for name in model.design.outcomes), *wanted_figures(_CORNER_ROWS, (), QUANTILES)],
        digits=digits,
        seed=seed,
        run=run,
    )
    study = study_of(model, found.total, seed=seed, partial=found.stopped == "interrupted")
    return in_runs(study, found.figures, found.blocks), found


def scrambled_study(
    model: BoxModel,
    *,
    boxes: int,
    scrambles: int = SCRAMBLES,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> StudyResult:
    """Return the study of at least `boxes` boxes at scrambled Sobol' points.

    Raises
    ------
    InputError
        If a number is out of its range, or more than a tenth of the boxes are beyond the model's first order.
    """
    found = scrambled(
        model,
        (*model.design.outcomes, *_CORNER_ROWS),
        shares=(*model.kept_rows, "passes"),
        quantiles=QUANTILES,
        power=power_for(boxes, scrambles),
        scrambles=scrambles,
        seed=seed,
        run=run,
    )
    study = study_of(model, found.total, seed=seed, partial=found.partial)
    return in_runs(study, found.figures, found.scrambles)


def in_runs(study: StudyResult, figures: Figures, runs: int) -> StudyResult:
    """Return a study with the intervals that its figures have over so many runs."""
    return replace(
        study,
        runs=runs,
        pass_share=_share(figures["passes", "mean"], study.boxes),
        outcomes={
            name: _summary(found, figures, name, f"keeps {name}", study.boxes) for name, found in study.outcomes.items()
        },
        corners={
            name: _summary(found, figures, f"gap {name}", f"keeps gap {name}", study.boxes)
            for name, found in study.corners.items()
        },
    )


def _summary(found: OutcomeSummary, figures: Figures, row: str, keeps: str, boxes: int) -> OutcomeSummary:
    return replace(
        found,
        mean=figures.get((row, "mean"), found.mean),
        sd=figures.get((row, "sd"), found.sd),
        quantiles={at: figures.get((row, str(at)), each) for at, each in found.quantiles.items()},
        share_within=_share(figures[keeps, "mean"], boxes) if found.limit else None,
    )


def _share(figure: Estimate, boxes: int) -> Estimate:
    if figure.value in {0.0, 1.0}:
        return wilson(figure.value * boxes, boxes)
    return figure.between(0.0, 1.0)
