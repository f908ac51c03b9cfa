"""The worst fits of a design's joints, in words, as tables and as data."""

from __future__ import annotations

import math
from dataclasses import dataclass
from textwrap import wrap
from typing import TYPE_CHECKING

from assembly.model.outcomes import OUTCOMES
from assembly.nominal.frame import corner_key, corner_words
from viewer.reports.bad_box_words import all_words, boxes_in, limit_broken, off_words
from viewer.reports.check_report import folded, table

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.limit_case.search import LimitCase
    from assembly.made.records import SettledBox
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.nominal.frame import Frame
    from assembly.rare.likeliest import BadBoxes
    from assembly.rare.sizes import Off

PAGE = 100  # characters of a line
CLOSED = 1e-3  # mm; a case this near to what is proved is the worst there is


@dataclass(frozen=True, slots=True, kw_only=True)
class WorstFits:
    """One joint's sampled boxes by percentile, and its limit case; None where it was not reached before Ctrl-C."""

    joint: str
    gaps: dict[int, float]  # mm, by percentile
    sampled: dict[int, SettledBox]
    limit_case: LimitCase | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LikeliestBox:
    """The likeliest box that breaks one limit, what is off in it, and how many boxes break the limit."""

    known: BadBoxes
    off: tuple[Off, ...] = ()  # the weightiest first; nothing where no box, or even the usual one, breaks the limit
    box: SettledBox | None = None  # None where no box was found that breaks it
    beyond_first_order: bool = False

    @property
    def frame(self) -> Frame | None:
        """The frame of the box; None without one."""
        return self.box.frame if self.box else None

    @property
    def of(self) -> str:
        """The joint, or the outcome, whose limit it breaks."""
        return self.known.broken.joint or self.known.broken.row


def likeliest_lines(each: LikeliestBox, *, details: bool) -> list[str]:
    """Return what is said of one limit and its likeliest bad box, with the statistics if `details` are asked for."""
    known = each.known
    lines = [f"{limit_broken(known.broken)}: {_how_often(known)}"]
    if known.usual:
        lines.append("  Even a box whose every error is the usual one breaks it.")
    elif each.box:
        rough = " (larger errors than these predictions hold for)" if each.beyond_first_order else ""
        lines.append(f"  likeliest so: {all_words(each.off, each.frame)}{rough}")
    if details and each.box is not None:
        shares = ", ".join(f"{off_words(off, each.frame)} {100 * off.share:.0f} %" for off in each.off[:5])
        weighed = "" if known.effective is None else f", as many as {known.effective:,.0f} of equal weight"
        lines.append(f"  beta {known.points.beta[0]:.3f} at the nearest of {len(known.points)} points; {shares}")
        lines.append(f"  share {known.share.value:.3g} from {known.boxes:,} boxes{weighed}")
    return [line for whole in lines for line in wrap(whole, PAGE, subsequent_indent="    ")]


def _how_often(known: BadBoxes) -> str:
    """Return how many boxes break a limit, or are at least as bad as the likeliest that does."""
    if not len(known.points):
        return "no simulated box, and no search, breaks it"
    if known.share.value == 1:
        return "every simulated box breaks it"
    return f"{boxes_in(known.share)} at least as bad"


def sampled_table(fits: Sequence[WorstFits]) -> str:
    """Return each joint's gap in its sampled boxes, with the number of the box, from 1 as on its picture."""
    percentiles = list(fits[0].sampled)
    headings = [word for at in percentiles for word in (f"{at} in 100 are better, mm", "box")]
    rows = [
        (
            corner_words(each.joint),
            *(w for at in percentiles for w in (f"{each.gaps[at]:.2f}", f"{each.sampled[at].index + 1:,}")),
        )
        for each in fits
    ]
    return table(("joint", *headings), rows, words=(0,))


def limit_table(cases: Sequence[LimitCase]) -> str:
    """Return what was found for each joint, what is proved, and what lies between."""
    rows = [
        (
            corner_words(case.corner),
            _mm(case.found, case),
            _mm(case.proved, case, math.ceil),  # a bound is never printed below itself
            "none" if case.proved - case.found <= CLOSED else _mm(case.proved - case.found, case),
            "yes" if case.beyond_first_order else "no",
        )
        for case in cases
    ]
    headings = ("joint", "found, mm", "proved at most, mm", "open between", "beyond 5° or a third")
    return table(headings, rows, words=(0, 4))


def _mm(size: float, case: LimitCase, rounded: Callable[[float], int] = round) -> str:
    """Return a size with the digits that it carries: two in all where it is beyond first order."""
    places = 1 - math.floor(math.log10(size)) if case.beyond_first_order and size > 0 else 2
    return f"{rounded(size * 10**places) / 10**places:.{max(places, 0)}f}"


def limit_sentences(cases: Sequence[LimitCase]) -> list[str]:
    """Return what the limit cases mean, and how far they hold."""
    lines = [
        (
            "Every error is as far out as the workshop's file allows at the most (of a normal one 3 standard "
            "deviations), all at once. That is what no class sees: expect the boxes above."
        )
    ]
    if any(case.proved - case.found > CLOSED for case in cases):
        lines.append(
            "Where something is open between, more --effort may find a worse case, or prove that no case is worse."
        )
    rough = [corner_words(case.corner) for case in cases if case.beyond_first_order]
    if rough:
        lines.append(
            f"Warning: the limit case of {', '.join(rough)} has errors larger than these predictions hold for (a face "
            "over 5° out, or over a third of the part's thickness off): read its gaps as very wide, and no more."
        )
    return lines


def most_often(likeliest: Sequence[LikeliestBox]) -> list[str]:
    """Return what goes wrong most often, and where to look first; nothing where nothing was found."""
    known = [each for each in likeliest if len(each.known.points)]
    if not known:
        return []
    worst = max(known, key=lambda each: each.known.share.value)
    said = f"What goes wrong most often: {limit_broken(worst.known.broken)}; {_how_often(worst.known)}."
    if worst.known.usual:
        return [f"{said} Even a box whose every error is the usual one breaks it."]
    return [f"{said} Look first for this: {off_words(worst.off[0], worst.frame)}." if worst.off else said]


def likeliest_text(likeliest: Sequence[LikeliestBox], *, details: bool) -> str:
    """Return what is said of every limit, under its heading."""
    heading = "The likeliest bad box: of all errors that break a limit of the design, the most probable ones (mm)"
    return "\n".join([heading, *(line for each in likeliest for line in likeliest_lines(each, details=details))])


def worst_text(
    design: Design,
    workshop: Workshop,
    fits: Sequence[WorstFits],
    likeliest: Sequence[LikeliestBox] = (),
    *,
    boxes: int,
    seed: int,
    details: bool = False,
) -> str:
    """Return the whole answer of `lapwright worst`."""
    cases = [each.limit_case for each in fits if each.limit_case]
    heading = f"Worst fits: {design.name}, made by {workshop.name}"
    sampled = f"Sampled from {boxes:,} simulated boxes (seed {seed}): the widest gap at each joint"
    parts = [folded([heading, *most_often(likeliest), corner_key()]), f"{sampled}\n{sampled_table(fits)}"]
    if likeliest:
        parts.append(likeliest_text(likeliest, details=details))
    elif not any(getattr(design.limits, name) for name in OUTCOMES):
        parts.append("The design sets no limits, so no box is bad.")
    if cases:
        limit = "The limit case: every error within its limits, each cut on its own, all set to open that joint most"
        parts.append("\n".join([limit, limit_table(cases), folded(limit_sentences(cases))]))
    return "\n\n".join(parts)
