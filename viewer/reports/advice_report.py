"""What to change, as one screen that says what to do and what to type; then every set of changes worth its price."""

from __future__ import annotations

import math
from textwrap import wrap
from typing import TYPE_CHECKING

from assembly.changes.file_rows import file_rows
from assembly.changes.of_making import SPREADS
from assembly.model.outcomes import OUTCOMES
from assembly.model.workshop import operation_words
from assembly.text import decimal, listed
from viewer.reports.check_report import WIDTH, folded, limit_words, table, unit_of
from viewer.reports.keeping import row_words, steps_to_keep
from viewer.reports.rounding import counted, percent, percent_beside, rounded, with_interval

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.advice.advice import Advice
    from assembly.advice.first_step import FirstStep
    from assembly.advice.in_the_way import InTheWay
    from assembly.advice.rows import Row
    from assembly.changes.change import Change
    from assembly.files.settings import KeyPath
    from assembly.model.costs import Costs
    from assembly.model.design import Design, Limit
    from assembly.model.workshop import Workshop
    from assembly.study.check import StudyResult
    from viewer.reports.keeping import Kept

NUMBERS = ("no", "one", "two", "three", "four", "five", "six")
CAUTION = (
    "An aid or another size changes how timber and tools are held. Your own rules, your risk assessment and competent "
    "supervision come before it."
)
_TAKEN = {"aid": "use", "section": "take", "lapped": "take", "plain": "take", "lap share": "take"}


def to_do(change: Change) -> str:
    """Return a change as something to do: use a stop block, take walls of 12 mm; most are worded so anyway."""
    verb = _TAKEN.get(change.kind)
    return f"{verb} {change.words}" if verb else change.words


def why_words(change: Change, workshop: Workshop) -> list[str]:
    """Return which operations an aid steadies, from the numbers that it gives; nothing of other changes."""
    spreads = [each for each in change.replaces if each.key[-1] in SPREADS]
    steadied = dict.fromkeys(each.key[1] for each in spreads if each.value < _spread_now(workshop, each.key))
    if not steadied:
        return []
    said = f"It steadies {listed([operation_words(name) for name in steadied])}."
    return wrap(said, WIDTH, initial_indent="   ", subsequent_indent="   ")


def _spread_now(workshop: Workshop, key: KeyPath) -> float:
    """Return the spread that a workshop has at the key of an operation's number."""
    return float(getattr(workshop.disturbance(".".join(key[1:3])), key[3]))


def all_to_do(changes: Sequence[Change]) -> str:
    """Return several changes as one sentence's worth."""
    return "; ".join(to_do(change) for change in changes)


def good_words(row: Row, makers: int) -> str:
    """Return how many boxes of a class come out good."""
    return f"about {counted(row.share.times(makers), makers)} of {makers:,} boxes"


def cost_words(row: Row, costs: Costs) -> str:
    """Return what a row costs a maker, in words."""
    money = f"{rounded(row.money, 2)} {costs.currency}".rstrip() + ("" if costs.currency else " in money")
    parts = [money] if row.money else []
    minutes = _minutes(row)
    parts += [f"{minutes} minute{'' if minutes == '1' else 's'}"] if row.minutes else []
    return " and ".join(parts) or "nothing"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _in_unit(name: str, limit: Limit) -> str:
    """Return a limit on an outcome, with its unit."""
    unit = OUTCOMES[name].unit
    return f"{limit_words(limit, unit)}{'' if unit == '1' else unit_of(name).sign}"


def advice_text(
    design: Design, workshop: Workshop, costs: Costs, found: Advice, *, command: str, kept: Kept, warning: str = ""
) -> str:
    """Return the whole answer; `command` is the check that is typed, up to what a row adds to it."""
    parts = [folded(_now(design, workshop, found)), *_what_to_do(design, workshop, costs, found, command, kept)]
    parts += [folded(_in_the_way(found))] if found.in_the_way else []
    parts += [warning] if warning else []
    if found.rows:
        parts += [_listed(found, costs), _pasted(design, workshop, found, kept), folded([CAUTION])]
    return "\n\n".join(parts)


def _now(design: Design, workshop: Workshop, found: Advice) -> list[str]:
    good, share = good_words(found.now, found.makers), percent_beside(found.now.share, found.reach)
    whose = f"{design.name}, made by: {workshop.name}"
    return [f"{whose}. As things are, {good} come out good, {share}. {decimal(100 * found.reach)} % are wanted."]


def _what_to_do(design: Design, workshop: Workshop, costs: Costs, found: Advice, command: str, kept: Kept) -> list[str]:
    if found.best is None:
        if found.now.reaches:
            return [_enough_now(found)]
        return [f"Nothing that was tried helps: {found.tried:,} sets of changes, on the same boxes."]
    row = found.rows[found.best]
    lines = [] if row.reaches else [_short(found)]
    number = len(row.changes)
    things = f"{'this' if number == 1 else 'these'} {NUMBERS[number]} thing{'' if number == 1 else 's'}"
    share = percent_beside(row.share, found.reach)
    lines.append(f"Do {things}, and {good_words(row, found.makers)} come out good, {share}:")
    for at, change in enumerate(row.changes, start=1):
        lines += [f"{at}. {_capital(to_do(change))}.", *why_words(change, workshop)]
    return [folded([*lines, *_about(row, costs)]), _to_paste(design, workshop, row, command, kept)]


def _enough_now(found: Advice) -> str:
    close = " That is too close to call; more boxes would tell." if found.now.close else ""
    more = " More can be had:" if found.rows else " Nothing that was tried makes it better."
    return f"That is enough, and nothing needs to be changed.{close}{more}"


def _short(found: Advice) -> str:
    return (
        f"Nothing that was tried reaches {decimal(100 * found.reach)} %. Of what is worth its price this comes nearest."
    )


def _about(row: Row, costs: Costs) -> list[str]:
    """Return what a row costs, how sure it is, and what then fails most."""
    it = "It costs" if len(row.changes) == 1 else "They cost"
    lines = [f"{it} a maker {cost_words(row, costs)}."]
    lines += ["Whether that is enough is too close to call; more boxes would tell."] if row.close else []
    if row.worst is not None and row.worst_kept is not None and row.worst_kept.value < 1:
        label = OUTCOMES[row.worst].label
        lines.append(f"The limit that then fails most: {label}. {percent(row.worst_kept)} of boxes keep it.")
    return [" ".join(lines)]


def _to_paste(design: Design, workshop: Workshop, row: Row, command: str, kept: Kept) -> str:
    typed = " ".join([command, *row.change.lines])
    rows = file_rows(row.change, design, workshop)
    return "\n".join(["To try it, type:", typed, "", "To keep it:", *steps_to_keep(rows, kept)])


def _in_the_way(found: Advice) -> list[str]:
    """Return which limits are in the way, by how much, and what they would have to be."""
    return [_one_in_the_way(each, found.reach) for each in found.in_the_way]


def _one_in_the_way(each: InTheWay, reach: float) -> str:
    unit, limit = unit_of(each.name), _in_unit(each.name, each.limit)
    doing = f"with what helps it most ({all_to_do(each.changes)})" if each.changes else "and nothing tried helps it"
    by = decimal(unit.times * math.ceil(100 * each.by) / 100)
    return (
        f"In the way: {OUTCOMES[each.name].label}, {limit}. {percent(each.kept)} of boxes keep it, {doing}. "
        f"{decimal(100 * reach)} % would keep {_in_unit(each.name, _outward(each.needed))}, {by}{unit.sign} wider. The "
        "limit is yours to set."
    )


def _outward(limit: Limit) -> Limit:
    """Return a limit that is wide enough, rounded to what a class measures, never so that it would be too narrow."""
    ends = {
        key: (math.floor if key == "min" else math.ceil)(100 * end) / 100
        for key, end in limit.model_dump(exclude_none=True).items()
    }
    return limit.model_copy(update=ends)


def _listed(found: Advice, costs: Costs) -> str:
    """Return every row: what is done, good boxes with their interval, and what it costs a maker."""
    heading = (
        f"What is worth its price, of {found.tried:,} sets tried: good boxes of a class of {found.makers:,}, on the "
        f"same {found.boxes:,} boxes, and what a maker spends"
    )
    rows = [_line(at, row, found) for at, row in enumerate(found.rows)]
    money = f"money, {costs.currency}" if costs.currency else "money"
    made = table(("", "do", "good", "95 % interval", money, "minutes"), rows, words=(0, 1))
    notes = ["* what is proposed above"] if found.best is not None else []
    return "\n".join([folded([heading]), made, *notes])


def _line(at: int, row: Row, found: Advice) -> tuple[str, ...]:
    value, low, high = with_interval(row.share.times(found.makers), 1)
    ties = f" (as good as {listed([str(other + 1) for other in row.ties])})" if row.ties else ""
    mark = " *" if at == found.best else ""
    money = str(rounded(row.money, 2))
    return f"{at + 1}{mark}", all_to_do(row.changes) + ties, str(value), f"{low} to {high}", money, _minutes(row)


def _minutes(row: Row) -> str:
    return decimal(round(row.minutes, 1))


def _pasted(design: Design, workshop: Workshop, found: Advice, kept: Kept) -> str:
    """Return what each change of the list is typed as, and written as."""
    each = dict.fromkeys(change for row in found.rows for change in row.changes)
    lines = ["What each of them is, typed after the check and written into files:"]
    for change in each:
        lines += [f"- {to_do(change)}", f"    {' '.join(change.lines)}"]
        lines += [f"    {row_words(each, kept)}" for each in file_rows(change, design, workshop)]
    return "\n".join(lines)


def first_step_text(design: Design, study: StudyResult, step: FirstStep | None, command: str) -> str:
    """Return what stands at the end of a check: the single change that gains most, and what finds sets of them."""
    lines = ["What would help", "No single change to the making surely gains a box."]
    if step is not None:
        share = study.pass_share.plus(step.gained.value).between(0, 1)
        good = f"about {counted(share.times(design.makers), design.makers)} of {design.makers:,} boxes"
        lines[1] = f"The single change that gains most: {to_do(step.change)}. With it {good} are good."
    more = "would gain more" if study.pass_share.value >= design.required_share else "are enough"
    return f"{folded([*lines, f'To find the fewest and cheapest changes that {more}:'])}\n{command}"
