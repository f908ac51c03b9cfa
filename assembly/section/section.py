"""Does another timber section still make a sound joint: one section against the present one.

Reading starts here: `study_section` is what `lapwright section` prints, `assembly.section.pairs` its table of pairs.

present : the section that the design has; the reference of bond and fit, proven or not
tried   : the section asked about
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from assembly.changes.apply import apply
from assembly.changes.of_making import shoulders_from
from assembly.errors import StoppedError
from assembly.materials.climates import season_of, sheet_seasons
from assembly.materials.timbers import drilled_as, walls_of
from assembly.section.cure import candidates, nearest_cure
from assembly.section.drawing_sizes import drawing_changes, mark_warnings, timber_needed
from assembly.section.judging import Judge
from assembly.section.notes import notes_on
from assembly.section.ties import ties_of
from assembly.section.trials import Trials, paired_mean, paired_passes
from assembly.section.variants import broken_rules, changed, other_screw, table_screws
from assembly.study.driver import UNWATCHED, Run

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.changes.change import Change
    from assembly.errors import Problem
    from assembly.materials.climates import SheetSeason
    from assembly.materials.seasons import PlaneSeason, Season
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.section.cure import Cure
    from assembly.section.drawing_sizes import DrawingSize, Needed
    from assembly.section.ties import Ties
    from assembly.section.trials import Sample
    from assembly.section.variants import Keep
    from assembly.section.verdict import Verdict
    from assembly.study.intervals import Estimate

CAUTIONS = (
    "This is not a structural design, and no figure here is a strength to rely on.",
    "Local rules, your own risk assessment and competent supervision come before it.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionFit:
    """How the tried section's boxes come out against the present one's, made by the same makers."""

    boxes: int
    before: Sample
    after: Sample
    pass_share: Estimate
    joint_gap: Estimate  # mean, mm
    closed_share: Estimate  # mean of each box's least corner
    from_drawing: Estimate  # pass share lost or won where shoulders are marked from the drawing, not from the wall


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionStudy:
    """Everything that is found of one section."""

    present: Design
    tried: Design
    verdict: Verdict
    before: Verdict  # on the present section, of the same boxes
    faults: tuple[Problem, ...]
    drawing: tuple[DrawingSize, ...]
    marks: tuple[str, ...]
    needed: tuple[Needed, ...]
    fit: SectionFit
    ties: Ties
    season: Season | PlaneSeason | None
    sheets: tuple[SheetSeason, ...]
    cure: Cure | None
    cure_sought: bool
    partial: bool  # stopped in the search for a cure
    stock: tuple[float, ...] | None  # thicknesses on sale, mm, where a stock file was given
    keep: Keep
    notes: tuple[str, ...]
    screw: Change | None = None  # to the thickest lid screws of the table that would do, where wood beside them decides


def study_section(
    present: Design,
    tried: Design,
    workshop: Workshop,
    *,
    keep: Keep = "outside",
    stock: Sequence[float] | None = None,
    boxes: int = 20_000,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> SectionStudy:
    """Return what another section changes, whether it is sound, and the nearest cure where it is not.

    Parameters
    ----------
    present, tried : Design
        The design as it is, and with the other section (`assembly.section.variants.varied`).
    workshop : Workshop
        Who makes it.
    keep : {"outside", "inside"}
        What the cure's own changes of thickness keep.
    stock : sequence of float, optional
        Thicknesses on sale that the cure may take, mm; 1 mm steps if left out.
    boxes, seed : int
        How many boxes are made of either section, and where the random numbers start.
    run : Run
        Stopped in the search for a cure, it tells all but the cure.

    Raises
    ------
    InputError
        If the timber is unknown or a figure that is needed is missing.
    StoppedError
        If it is stopped before that.
    """
    walls_of(tried.timber)  # an unknown timber is refused, whether or not a row needs its figures
    judge = Judge(Trials(present, workshop, boxes=boxes, seed=seed, run=run), present)
    after = judge.before if tried == present else judge.trials.sample(tried)
    verdict = judge.verdict_with(tried, after)
    found = SectionStudy(
        present=present,
        tried=tried,
        verdict=verdict,
        before=judge.verdict_with(present, judge.before),
        faults=broken_rules(tried),
        drawing=drawing_changes(present, tried),
        marks=mark_warnings(tried),
        needed=timber_needed(tried),
        fit=_fit(judge, tried, after),
        ties=ties_of(judge, tried, after),
        season=season_of(tried),
        sheets=sheet_seasons(tried),
        cure=None,
        cure_sought=verdict.fails,
        partial=False,
        stock=tuple(stock) if stock is not None else None,
        keep=keep,
        notes=notes_on(present, tried),
        screw=_screw_that_does(judge, tried) if verdict.level_of("screw_wood") != "sound" else None,
    )
    return _cured(found, judge) if found.cure_sought else found


def _screw_that_does(judge: Judge, tried: Design) -> Change | None:
    """Return the change to the thickest thinner lid screws beside which enough wood is left and no row fails."""
    now = tried.lid.screw
    for size in sorted(table_screws(), key=lambda each: -each.diameter):
        change = other_screw(size, drilled_as(tried.timber), now.round_head)
        if size.diameter >= now.diameter:
            continue
        rows = judge.closed(changed(tried, change))
        level = next(row.level for row in rows if row.row == "screw_wood")
        if level == "sound" and not any(row.fails for row in rows):
            return change
    return None


def _cured(found: SectionStudy, judge: Judge) -> SectionStudy:
    """Return the study with the nearest cure, which takes longest and so comes last."""
    tries = candidates(found.tried, found.stock, found.keep, found.present)
    try:
        return replace(found, cure=nearest_cure(judge.trials.run.watched(tries), judge.held))
    except StoppedError:
        return replace(found, partial=True)


def _fit(judge: Judge, tried: Design, after: Sample) -> SectionFit:
    other: Literal["part", "drawing"] = "part" if judge.trials.workshop.shoulder_from == "drawing" else "drawing"
    _, workshop = apply(shoulders_from(other), judge.reference, judge.trials.workshop)
    marked = judge.trials.sample(tried, workshop)
    part, drawing = (marked, after) if other == "part" else (after, marked)
    return SectionFit(
        boxes=after.boxes,
        before=judge.before,
        after=after,
        pass_share=paired_passes(judge.before, after),
        joint_gap=paired_mean(judge.before.joint_gap, after.joint_gap),
        closed_share=paired_mean(judge.before.closed_share, after.closed_share),
        from_drawing=paired_passes(part, drawing),
    )
