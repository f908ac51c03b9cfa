"""What a study found, as text that a teacher reads.

Figures keep only the digits that their sampling error leaves them (`viewer.reports.rounding`); JSON keeps them all
(`viewer.reports.output`). Outcomes of unit "1" are shares: in percent in the text, between 0 and 1 in JSON.
"""

from __future__ import annotations

import io
import math
import textwrap
from typing import TYPE_CHECKING

from assembly.model.outcomes import OUTCOMES
from assembly.planning.cutting import bought, totals
from assembly.text import decimal, listed
from viewer.reports.rounding import (
    UNITS,
    Unit,
    counted,
    figure,
    percent,
    percent_beside,
    rounded,
    with_interval,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from assembly.model.design import Design, Limit
    from assembly.model.workshop import Workshop
    from assembly.planning.cutting import CutPart, Total
    from assembly.study.check import OutcomeSummary, StudyResult
    from assembly.study.intervals import Estimate
    from viewer.reports.rounding import Written

WIDTH = 100  # letters in a line of a report


def folded(lines: Iterable[str]) -> str:
    """Return sentences in lines of a report's width; what follows the first line of an item is set in."""
    return "\n".join(
        textwrap.fill(
            line,
            WIDTH,
            subsequent_indent="  " if line.startswith("- ") else "",
            break_long_words=False,
            break_on_hyphens=False,
        )
        for line in lines
    )


def table(headings: Sequence[str], rows: Iterable[Sequence[str]], *, words: Sequence[int]) -> str:
    """Return a table in plain text; the columns numbered in `words` hold words, the others figures."""
    from rich import box  # rich takes 40 ms and only reports need it
    from rich.console import Console
    from rich.table import Table

    made = Table(box=box.ASCII2, show_edge=False, pad_edge=False)
    for at, heading in enumerate(headings):
        made.add_column(heading, justify="left" if at in words else "right", overflow="fold")
    for row in rows:
        made.add_row(*row)
    page = Console(file=io.StringIO(), width=WIDTH, color_system=None, markup=False, highlight=False, emoji=False)
    page.print(made)
    assert isinstance(page.file, io.StringIO)
    return "\n".join(line.rstrip() for line in page.file.getvalue().splitlines())


def cut_list(design: Design, parts: Sequence[CutPart]) -> str:
    """Return the cut sizes of every part and its blank, mm, what is bought, and the totals of a class."""
    rows = [
        (
            *(part.name, str(part.count)),
            *(f"{size:.1f}" for size in (part.length, part.width, part.thickness)),
            f"{part.blank_length:.0f} x {part.blank_width:.0f}",
            part.material,
        )
        for part in parts
    ]
    headings = ("part", "how many", "length", "width", "thickness", "blank", "of")
    heading = "What to cut: finished sizes in mm; a blank has the waste of saw and sander on it"
    lines = [f"{part.name}: {part.then}." for part in parts]
    makers = design.makers
    lines.append(f"For all {makers:,}, from the blanks:" if makers > 1 else "From the blanks:")
    lines += [f"- {total_words(total)}" for total in totals(parts, makers)]
    lines += [f"- {each}" for each in bought(design, makers)]
    return "\n".join([heading, table(headings, rows, words=(0, 6)), folded(lines)])


def total_words(total: Total) -> str:
    """Return what a class takes of one material, in words."""
    thick = decimal(total.thickness)
    if total.width is None:
        return f"{total.material}, {thick} mm: {rounded(total.amount, 2)} m²"
    return f"{total.material}, {thick} x {decimal(total.width)} mm: {rounded(total.amount, 1)} m"


def unit_of(name: str) -> Unit:
    """Return how the unit of an outcome is printed."""
    return UNITS[OUTCOMES[name].unit]


def heading_of(name: str) -> str:
    """Return an outcome with its unit, as it heads a row of a table."""
    return f"{OUTCOMES[name].label},{unit_of(name).words}"


def _quantile(summary: OutcomeSummary, at: float) -> Written:
    return figure(summary.quantiles[at].times(UNITS[summary.unit].times), 0 if summary.unit == "1" else 2)


def limit_words(limit: Limit | None, unit: str) -> str:
    """Return a limit in words, or a dash where there is none."""
    if limit is None:
        return "-"
    scale, tail = UNITS[unit].times, UNITS[unit].sign if unit == "1" else ""
    named = [("at most ", limit.max), ("at least ", limit.min), ("within ±", limit.within)]
    return ", ".join(f"{words}{decimal(scale * value)}{tail}" for words, value in named if value is not None) or "-"


def _kept(summary: OutcomeSummary) -> str:
    return "-" if summary.share_within is None else percent(summary.share_within)


OUTCOME_HEADINGS = ("outcome", "limit", "typical box", "nine boxes in ten", "keep it")


def outcome_rows(study: StudyResult) -> list[tuple[str, ...]]:
    """Return a row for each outcome, under `OUTCOME_HEADINGS`; 5 to 95 % of boxes are nine in ten."""
    rows: list[tuple[str, ...]] = []
    for name, found in study.outcomes.items():
        low, middle, high = (_quantile(found, at) for at in (0.05, 0.5, 0.95))
        limit = limit_words(found.limit, found.unit)
        rows.append((heading_of(name), limit, str(middle), f"{low} to {high}", _kept(found)))
    return rows


def outcome_table(study: StudyResult) -> str:
    """Return what is expected of each outcome: limit, median, 5 to 95 % of boxes, share that keeps the limit."""
    return table(OUTCOME_HEADINGS, outcome_rows(study), words=(0, 1))


def worst_limit(study: StudyResult) -> str | None:
    """Return the name of the outcome whose limit fewest boxes keep; None where the design sets no limit."""
    shares = {name: o.share_within.value for name, o in study.outcomes.items() if o.share_within is not None}
    return min(shares, key=lambda name: shares[name]) if shares else None


def worst_sentences(study: StudyResult, name: str) -> list[str]:
    """Return the sentences that tell how often an outcome keeps its limit, and how far boxes go."""
    found, words = study.outcomes[name], OUTCOMES[name]
    assert found.limit is not None
    if found.share_within is not None and found.share_within.value == 1:
        return [f"No limit fails in any of the boxes tried{_assured(study)}."]
    unit = UNITS[found.unit].sign
    low, middle, high = (_quantile(found, at) for at in (0.05, 0.5, 0.95))
    tail = "" if found.unit == "1" else unit  # `limit_words` tells a share's percent itself
    first = (
        f"The limit that fails most: {words.label}, {limit_words(found.limit, found.unit)}{tail}. "
        f"{_kept(found)} of boxes keep it."
    )
    if found.quantiles[0.05].value < 0:
        second = f"Nine boxes in ten fall between {low} and {high}{unit}."
    elif found.limit.max is None and found.limit.within is None:
        second = f"Half of all boxes {words.does} {middle}{unit} or less; one in twenty reaches only {low}{unit}."
    else:
        second = f"Half of all boxes {words.does} {middle}{unit} or more; one in twenty reaches {high}{unit}."
    return [first, second]


def _assured(study: StudyResult) -> str:
    """Return what a study without a failure assures, if its boxes are independent: the exact bound, rounded up."""
    exact = study.exact_pass_share
    if exact is None or exact.value < 1:
        return ""
    failing = 100 * (1 - exact.low)
    if failing > 50:
        return ""  # a handful of boxes assures nothing
    places = -math.floor(math.log10(failing))
    most = rounded(math.ceil(failing * 10**places) / 10**places, places)
    return f", so with 95 % confidence at most {most} % of boxes miss one"


def verdict(design: Design, study: StudyResult) -> list[str]:
    """Return the sentences that say whether enough boxes of a class keep every limit."""
    share, needed = study.pass_share, design.required_share
    kept = share.value >= needed
    boxes = f"About {counted(share.times(design.makers), design.makers)} of {design.makers:,} boxes keep every limit"
    lines = [f"{boxes}: {percent_beside(share, needed)}, with {decimal(100 * needed)} % required."]
    if share.low < needed < share.high:
        _, low, high = with_interval(share.times(100), 1)
        lines.append(
            f"Too close to call: {study.boxes:,} boxes put it between {low} and {high} %. "
            f"The estimate itself is {'enough' if kept else 'not enough'}; try more boxes.",
        )
    else:
        lines.append("That is enough." if kept else "That is not enough.")
    return lines


def beyond_sentences(beyond: Estimate, whose: str = "boxes") -> list[str]:
    """Return the warning about the share of boxes that are outside the model's first order; none where few are."""
    from assembly.study.check import WARNED_BEYOND  # numba, which a report of given figures can do without

    if beyond.value <= WARNED_BEYOND:
        return []
    return [
        (
            f"Warning: {percent(beyond)} of {whose} have errors so large that these figures are "
            "only rough for them (a face over 5° out, or over a third of the part's thickness off)."
        )
    ]


def aid_words(name: str) -> str:
    """Return an aid by the name that its table has in the file: saw_guide is the saw guide."""
    return name.replace("_", " ")


def maker_words(workshop: Workshop, made_in: str) -> str:
    """Return who makes the boxes, from which file, and the aids in use."""
    used = [aid_words(name) for name, aid in workshop.aids.items() if aid.used]
    aids = f"with {listed(used)}" if used else "no aids in use"
    return f"Made by: {workshop.name} ({made_in}), {aids}"


def check_text(
    design: Design, workshop: Workshop, parts: Sequence[CutPart], study: StudyResult, *, made_in: str
) -> str:
    """Return the whole report of `lapwright check`; `made_in` names the workshop's file."""
    box, worst = design.box, worst_limit(study)
    heading = (
        f"{design.name}: {decimal(box.length)} x {decimal(box.width)} x {decimal(box.height)} mm outside the walls, "
        f"{design.timber.name}\n{maker_words(workshop, made_in)}\n"
        f"Glued {design.glue_up}; glue closes gaps up to {decimal(design.glue_limit)} mm"
    )
    expected = f"What to expect, from {study.boxes:,} simulated boxes (seed {study.seed})"
    ending = verdict(design, study) if worst else ["The design sets no limits, so no box can fail."]
    ending += worst_sentences(study, worst) if worst else []
    ending += beyond_sentences(study.beyond_first_order)
    return "\n\n".join([heading, folded(ending), cut_list(design, parts), f"{expected}\n{outcome_table(study)}"])
