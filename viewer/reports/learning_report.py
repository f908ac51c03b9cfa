"""What `lapwright learn` tells: each figure before and after, what a class can expect, what to measure next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.learning.steadiness import BLADES, COARSE, FEW, USED
from assembly.text import decimal
from viewer.reports.check_report import folded, table

if TYPE_CHECKING:
    from assembly.learning.learned import Figure, Learned
    from assembly.learning.next_readings import Next
    from assembly.learning.steadiness import Spread, Steadiness
    from assembly.model.design import Design
    from assembly.study.forecast import ClassCounts

SHORT = {"bias": "mean", "class_spread": "class spread", "maker_spread": "maker spread", "spread": "cut spread"}
TOLD = 0.1  # of what there was to know: figures of which readings said less stand behind --details
MOST_NEXT = 5
SLIGHT = 0.005  # of the forecast's variance


@dataclass(frozen=True, slots=True, kw_only=True)
class Taught:
    """What readings taught, and what follows from it; None where Ctrl-C came before."""

    learned: Learned
    medians: ClassCounts | None
    unsure: ClassCounts | None
    next_readings: tuple[Next, ...]


def taught_text(design: Design, told: Taught, *, details: bool = False) -> str:
    """Return the whole report."""
    learned = told.learned
    classes = "1 class" if learned.classes == 1 else f"{learned.classes} classes"
    heading = (
        f"{design.name}: {len(learned.readings):,} readings of {learned.makers} makers in {classes}\n"
        f"Before: {learned.workshop.name}"
    )
    parts = [heading, figure_table(learned, details=details), folded(notes(learned, details=details))]
    parts += [folded(expected(design, told))] if told.medians and told.unsure else []
    parts += [folded(next_sentences(told.next_readings))] if told.next_readings else []
    return "\n\n".join(part for part in parts if part)


def figure_table(learned: Learned, *, details: bool = False) -> str:
    """Return each figure before and after; without details those that readings said something of."""
    rows = [_row(each, learned) for each in learned.figures if details or each.said >= TOLD]
    heads = ("quantity", "figure", "before", "learned", "90 % between", "readings", "makers", "said")
    title = "What was learned, mm and degrees"
    return (
        f"{title}\n{table(heads, rows, words=(0, 1))}" if rows else f"{title}: nothing that readings said a tenth of."
    )


def _row(each: Figure, learned: Learned) -> tuple[str, ...]:
    behind = learned.behind[each.quantity]
    between = f"{each.low:.2f} to {each.high:.2f}" if each.learned else "as before"
    said = f"{100 * max(each.said, 0.0):.0f} %"
    return (
        each.quantity,
        SHORT[each.number],
        f"{each.before:.2f}",
        f"{each.value:.2f}",
        between,
        str(behind.readings),
        str(behind.makers),
        said,
    )


def notes(learned: Learned, *, details: bool = False) -> list[str]:
    """Return what has to be known of the table."""
    lines = ["said: how much of what was not known before the readings took away."]
    hidden = sum(each.said < TOLD for each in learned.figures)
    if hidden and not details:
        lines.append(f"Of {hidden} more figures the readings said under a tenth: --details lists them.")
    if learned.classes == 1:
        lines.append(
            "One class cannot tell its own part from the mean: the mean has it in it, and class spreads are as before."
        )
    if learned.untouched:
        lines.append(f"As before, as no reading touches them: {', '.join(learned.untouched)}; and all of paring.")
    lines += [steadiness_line(each) for each in learned.steadiness]
    if not learned.settled:
        rhat, ess = learned.posterior.rhat, learned.posterior.ess
        lines.append(
            f"Not settled: the chains behind these figures agree to an R-hat of {rhat:.3f} and are worth "
            f"{ess:.0f} draws, where below 1.01 and over 400 are wanted. Learn again with another --seed: what "
            "then changes by more than you mind is not known yet."
        )
    for each in learned.hardly:
        found = each.reading
        lines.append(
            f"- {found.file}, line {found.line}: {found.feature} of {decimal(found.value)} hardly fits (one reading in "
            f"{1 / max(each.chance, 1e-6):,.0f} is as far out): read it again. It counts all the same."
        )
    return lines


def steadiness_line(each: Steadiness) -> str:
    """Return what readings over again show of an instrument, and whether it counts."""
    name, unit, table = each.instrument.name, each.instrument.unit, each.instrument.unsteadiness
    readers = "1 reader" if each.readers == 1 else f"{each.readers} readers"
    times = "once" if each.times == 1 else f"{each.times} times"
    line = (
        f"- {name}: {each.things} things that {readers} read {times} each show an unsteadiness of its own of "
        f"{_told(each.own)} {unit}, 90 % between {each.own.low:.2f} and {each.own.high:.2f}"
    )
    others = (("readers differ by", each.between), ("and by the thing that they read", each.together))
    line += "".join(f"; {words} {_told(spread)} ({spread.low:.2f} to {spread.high:.2f})" for words, spread in others
                    if spread)  # fmt: skip
    why = {
        USED: f"It counts in place of the table's {decimal(table)}.",
        FEW: "That is too few to count: let three readers read five things twice each.",
        COARSE: f"Its division of {decimal(each.instrument.division)} hides what is smaller.",
        BLADES: "Blades are read by steps of many widths, which this does not count.",
    }
    stays = "" if each.used else f" The table's {decimal(table)} stays."
    return f"{line}. {why[each.counts]}{stays}"


def _told(spread: Spread) -> str:
    return f"{spread.value:.2f}"


def expected(design: Design, told: Taught) -> list[str]:
    """Return how many boxes of a class pass, by the figures alone and with what is not known."""
    assert told.medians
    assert told.unsure
    low, high = (end.value for end in told.medians.range)
    least, most = (end.value for end in told.unsure.range)
    middle = told.medians.expected.value
    good = f"Of {design.makers:,} makers, expect {middle:.0f} with a good box by the learned figures alone"
    alone = f"{good}; nine classes in ten have {low:.0f} to {high:.0f}."
    return [f"{alone} With what the readings leave open, nine in ten have {least:.0f} to {most:.0f}."]


def next_sentences(ranked: tuple[Next, ...]) -> list[str]:
    """Return what to measure next, the most telling first."""
    worth = [each for each in ranked if each.gained >= SLIGHT][:MOST_NEXT]
    if not worth:
        return ["More readings of any one kind would hardly make this forecast surer."]
    head = "What to measure next; 20 more readings by the same makers would take so much off the forecast's variance:"
    rows = (
        f"- {each.feature}: {100 * each.gained:.0f} % (knowing it fully: {100 * each.share:.0f} %)" for each in worth
    )
    return [head, *rows]
