"""Does another timber section still make a sound joint: one section, or every pair on sale, against the present one.

Reading starts here: `study_section` is what `lapwright section` prints, `section_table` its table of pairs.

present : the section that the design has; the reference of bond and fit, proven or not
tried   : the section asked about
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.frame import frame
from assembly.soundness.bond import (
    WEAK_FACES,
    base_glue_area,
    bond_ratio,
    tongue_stress,
)
from assembly.soundness.cure import candidates, nearest_cure
from assembly.soundness.drawing import drawing_changes, mark_warnings
from assembly.soundness.judging import Judge, climates, faults_of, season_of, thread_reach
from assembly.soundness.screws import Hold, withdrawal_ratio
from assembly.soundness.seasons import damp_cautions, overhang_change
from assembly.soundness.standards import section_tolerance
from assembly.soundness.timbers import timber_of
from assembly.soundness.trials import Trials, paired_mean, paired_passes
from assembly.soundness.variants import Keep, varied
from assembly.tables import sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.design import Design
    from assembly.soundness.cure import Candidate
    from assembly.soundness.drawing import Size
    from assembly.soundness.seasons import Range, Season
    from assembly.soundness.trials import Sample
    from assembly.soundness.verdict import Verdict
    from assembly.tolerance.compare import Difference
    from assembly.workshop import Workshop

CAUTIONS = (
    "This is not a structural design, and no figure here is a strength to rely on.",
    "Local rules, your own risk assessment and competent supervision come before it.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """How the tried section's boxes come out against the present one's, made by the same makers."""

    boxes: int
    before: Sample
    after: Sample
    pass_share: Difference
    joint_gap: Difference  # mean, mm
    closed_share: Difference  # mean of each box's least corner
    from_drawing: Difference  # pass share lost or won where shoulders are marked from the drawing, not from the wall


@dataclass(frozen=True, slots=True, kw_only=True)
class Ties:
    """Glue and tongue: figures beside the verdict."""

    bond_ratio: float
    base_glue: tuple[float, float]  # mm², present and tried
    tongue_stress: float  # N/mm² under `bond.THUMB_LOAD_N`; information only
    withdrawal: float | str  # over the present section's, or why there is no figure
    thickness_tolerance: tuple[tuple[float, float], tuple[float, float]]  # + and - of lapped and plain stock, planed


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionStudy:
    """Everything that is told of one section."""

    present: Design
    tried: Design
    verdict: Verdict
    faults: tuple[str, ...]
    drawing: tuple[Size, ...]
    marks: tuple[str, ...]
    fit: Fit
    ties: Ties
    season: Season | None
    lid_season: tuple[Range, Range] | str | None  # lid's overhang along x and y, or why there is no figure
    cure: Candidate | None
    cure_sought: bool
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One pair of the table; `verdict` is None where no box can have the pair, and `why` says so."""

    lapped: float
    plain: float
    verdict: Verdict | None
    why: str


def study_section(
    present: Design,
    tried: Design,
    workshop: Workshop,
    *,
    keep: Keep = "outside",
    stock: Sequence[float] | None = None,
    boxes: int = 20_000,
    seed: int = 1,
) -> SectionStudy:
    """Return what another section changes, whether it is sound, and the nearest cure where it is not.

    Parameters
    ----------
    present, tried : Design
        The design as it is, and with the other section (`assembly.soundness.variants.varied`).
    workshop : Workshop
        Who makes it.
    keep : {"outside", "inside"}
        What the cure's own changes of thickness keep.
    stock : sequence of float, optional
        Thicknesses on sale that the cure may take, mm; 1 mm steps if left out.
    boxes, seed : int
        How many boxes are made of either section, and where the random numbers start.

    Raises
    ------
    InputError
        If the timber is unknown or a figure that is needed is missing.
    """
    timber_of(tried.timber)  # an unknown timber is refused, whether or not a row needs its figures
    judge = Judge(Trials(present, workshop, boxes=boxes, seed=seed), present)
    after = judge.before if tried == present else judge.trials.sample(tried)
    verdict = judge.verdict_with(tried, after)
    lost = verdict.verdict == "not sound"
    return SectionStudy(
        present=present,
        tried=tried,
        verdict=verdict,
        faults=faults_of(tried),
        drawing=drawing_changes(present, tried),
        marks=mark_warnings(tried),
        fit=_fit(judge, tried, after),
        ties=_ties(judge, tried, after),
        season=season_of(tried),
        lid_season=_lid_season(tried),
        cure=nearest_cure(candidates(tried, stock, keep), judge.holds) if lost else None,
        cure_sought=lost,
        notes=_notes(present, tried),
    )


def _fit(judge: Judge, tried: Design, after: Sample) -> Fit:
    other = "part" if judge.trials.workshop.shoulder_from == "drawing" else "drawing"
    marked = judge.trials.sample(tried, judge.trials.workshop.model_copy(update={"shoulder_from": other}))
    part, drawing = (marked, after) if other == "part" else (after, marked)
    return Fit(
        boxes=after.boxes,
        before=judge.before,
        after=after,
        pass_share=paired_passes(judge.before, after),
        joint_gap=paired_mean(judge.before.joint_gap, after.joint_gap),
        closed_share=paired_mean(judge.before.closed_share, after.closed_share),
        from_drawing=paired_passes(part, drawing),
    )


def _ties(judge: Judge, tried: Design, after: Sample) -> Ties:
    timber = tried.timber
    plus_minus = (section_tolerance("planed", "thickness", size) for size in (timber.lapped, timber.plain))
    return Ties(
        bond_ratio=bond_ratio(float(after.bond.mean()), float(judge.before.bond.mean())),
        base_glue=(base_glue_area(frame(judge.reference)), base_glue_area(frame(tried))),
        tongue_stress=tongue_stress(frame(tried)),
        withdrawal=_withdrawal(judge.reference, tried),
        thickness_tolerance=(next(plus_minus), next(plus_minus)),
    )


def _withdrawal(present: Design, tried: Design) -> float | str:
    try:
        return withdrawal_ratio(_hold(tried), _hold(present))
    except InputError as error:
        return str(error)


def _hold(design: Design) -> Hold:
    screw = design.lid.screw
    return Hold(
        material=timber_of(design.timber),
        diameter_mm=screw.diameter,
        length_mm=screw.length,
        thread_mm=thread_reach(design),
    )


def _lid_season(design: Design) -> tuple[Range, Range] | str | None:
    moved = season_of(design)
    if moved is None:
        return None
    try:
        return overhang_change(frame(design), moved, sheet(design.lid.material), *climates(design))
    except InputError as error:
        return str(error)


def _notes(present: Design, tried: Design) -> tuple[str, ...]:
    """Return what the reader has to know beside the figures."""
    timber, found = tried.timber, [WEAK_FACES]
    if timber.plain > timber.lapped:
        found.append(
            f"the plain walls ({timber.plain:g} mm) are thicker than the lapped ones ({timber.lapped:g} mm): the lap "
            "is longer than its wall is thick, and the tongue stands out further for its thickness"
        )
    if not present.timber.proven:
        found.append(
            "the present section is not marked as proven (timber.proven): nothing says that such a box has held"
        )
    if tried.contents is None:
        found.append("the design has no [contents] table, so the room inside was not judged")
    if tried.climate is None:
        found.append("the design has no [climate] table, so no season was judged")
        return tuple(found)
    moved, home = season_of(tried), climates(tried)[1]
    if moved is not None and not moved.within:
        found.append(
            "the season's movement lies outside the range that its figures hold for (coefficients: 6 to 14 % moisture)"
        )
    return (*found, *damp_cautions(home, tried.base.material))


def section_table(
    present: Design,
    stock: Sequence[float],
    workshop: Workshop,
    *,
    vary: Callable[..., Design] | None = None,
    boxes: int = 20_000,
    seed: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Cell, ...]:
    """Return the verdict on every pair of thicknesses, lapped walls in the outer order, both in stock order.

    Parameters
    ----------
    present : Design
        The design as it is.
    stock : sequence of float
        Thicknesses on sale, mm.
    workshop : Workshop
        Who makes it.
    vary : callable, optional
        Makes a design of `lapped` and `plain`; `varied` with the outside kept if left out.
    boxes, seed : int
        How many boxes are made of each pair, and where the random numbers start.
    progress : callable, optional
        Told how many pairs are done, and of how many.

    Raises
    ------
    InputError
        If the timber is unknown or a figure that is needed is missing.
    """
    judge, make = Judge(Trials(present, workshop, boxes=boxes, seed=seed), present), vary or partial(varied, present)
    timber_of(make().timber)  # what is wrong with the timber is wrong with every pair: refused once
    found: list[Cell] = []
    for lapped in stock:
        for plain in stock:
            found.append(_cell(judge, make, lapped, plain))
            if progress:
                progress(len(found), len(stock) ** 2)
    return tuple(found)


def _cell(judge: Judge, make: Callable[..., Design], lapped: float, plain: float) -> Cell:
    try:
        design = make(lapped=lapped, plain=plain)
    except InputError as error:
        return Cell(lapped=lapped, plain=plain, verdict=None, why=str(error).splitlines()[0])
    verdict = judge.verdict(design)
    why = (
        faults_of(design)[0]
        if (verdict.deciding.row, verdict.deciding.level) == ("rules_broken", "not sound")
        else verdict.deciding.row
    )
    return Cell(lapped=lapped, plain=plain, verdict=verdict, why=why)
