"""The worst fits of a design's joints, in words, as tables and as data."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from viewer.reports.check_report import folded, table

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.limit_case.search import LimitCase
    from assembly.made.records import SettledBox
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop

CLOSED = 1e-3  # mm; a case this near to what is proved is the worst there is


@dataclass(frozen=True, slots=True, kw_only=True)
class WorstFits:
    """One joint's sampled boxes by percentile, and its limit case; None where it was not reached before Ctrl-C."""

    joint: str
    gaps: dict[int, float]  # mm, by percentile
    sampled: dict[int, SettledBox]
    limit_case: LimitCase | None = None


def sampled_table(fits: Sequence[WorstFits]) -> str:
    """Return each joint's gap in its sampled boxes, with the number of the box, from 1 as on its picture."""
    percentiles = list(fits[0].sampled)
    headings = [word for at in percentiles for word in (f"{at} in 100 are better, mm", "box")]
    rows = [
        (each.joint, *(w for at in percentiles for w in (f"{each.gaps[at]:.2f}", f"{each.sampled[at].index + 1:,}")))
        for each in fits
    ]
    return table(("joint", *headings), rows, words=(0,))


def limit_table(cases: Sequence[LimitCase]) -> str:
    """Return what was found for each joint, what is proved, and what lies between."""
    rows = [
        (
            case.corner,
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
    lines = ["All errors at their worst at once is what no class sees: expect the boxes of the table above."]
    if any(case.proved - case.found > CLOSED for case in cases):
        lines.append(
            "Where something is open between, more --effort may find a worse case, or prove that no case is worse."
        )
    rough = [case.corner for case in cases if case.beyond_first_order]
    if rough:
        lines.append(
            f"Warning: the limit case of {', '.join(rough)} has errors larger than these predictions hold for (a face "
            "over 5° out, or over a third of the part's thickness off): read its gaps as very wide, and no more."
        )
    return lines


def worst_text(design: Design, workshop: Workshop, fits: Sequence[WorstFits], *, boxes: int, seed: int) -> str:
    """Return the whole answer of `lapwright worst`."""
    cases = [each.limit_case for each in fits if each.limit_case]
    heading = f"Worst fits: {design.name}, made by {workshop.name}"
    sampled = f"Sampled from {boxes:,} simulated boxes (seed {seed}): the widest gap at each joint"
    parts = [heading, f"{sampled}\n{sampled_table(fits)}"]
    if cases:
        limit = "The limit case: every error within its limits, each cut on its own, all set to open that joint most"
        parts.append("\n".join([limit, limit_table(cases), folded(limit_sentences(cases))]))
    return "\n\n".join(parts)
