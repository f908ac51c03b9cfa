"""What `lapwright learn` tells: each figure before and after, what a class can expect, what to measure next."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.learning.steadiness import BLADES, COARSE, FEW, USED
from assembly.model.workshop import ANGLES
from assembly.text import decimal, listed
from viewer.reports.check_report import folded, table

if TYPE_CHECKING:
    from assembly.learning.habits import Habit, Setting
    from assembly.learning.learned import Figure, Learned
    from assembly.learning.next_readings import Next
    from assembly.learning.other_design import Another
    from assembly.learning.steadiness import Spread, Steadiness
    from assembly.model.design import Design
    from assembly.study.forecast import ClassCounts

SHORT = {"bias": "mean", "class_spread": "class spread", "maker_spread": "maker spread", "spread": "cut spread"}
TOLD = 0.25  # of what there was to know: figures of which readings said less stand behind --details
MOST_NEXT = 5
SLIGHT = 0.02  # of the forecast's variance
FEW_MAKERS, FEW_READINGS = 3, 10  # fewer show hardly how makers differ; common practice, no source
MOSTLY = 0.5  # of what there was to know: a figure of which readings said less is mostly as it was
WIDER = (
    "Plan by the second range, which counts what is not known. Its top may be lower than the other's: an error that is "
    "not known may lie on either side of the learned figure, and mostly makes boxes worse. A figure that no reading "
    "touches counts as certain there; so the first readings of a kind can make the range wider, until more of them "
    "make it narrower."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Taught:
    """What readings taught, and what follows from it; None where Ctrl-C came before."""

    learned: Learned
    another: tuple[Another, ...]
    habits: tuple[Habit, ...]
    medians: ClassCounts | None
    unsure: ClassCounts | None
    next_readings: tuple[Next, ...]


def taught_text(design: Design, told: Taught, *, details: bool = False) -> str:
    """Return the whole report."""
    learned = told.learned
    heading = f"{design.name}: {read_words(learned)}\nBefore: {learned.workshop.name}"
    another = another_sentences(told.another)
    habits = [] if another else habit_sentences(design, told.habits)
    parts = [heading, folded(another), folded(hardly_sentences(learned)), folded(few_readings(learned)), folded(habits)]
    parts += [folded(expected(design, told))] if told.medians and told.unsure else []
    parts += [folded(next_sentences(told.next_readings))] if told.next_readings else []
    parts += [figure_table(learned, details=details), folded(notes(learned, details=details))]
    return "\n\n".join(part for part in parts if part)


def figure_table(learned: Learned, *, details: bool = False) -> str:
    """Return each figure before and after; without details those that readings said something of.

    Quantities of which they said most come first, a quantity's figures together.
    """
    most = _said_of(learned)
    ranked = sorted(learned.figures, key=lambda each: -most[each.quantity])
    rows = [_row(each, learned) for each in ranked if details or each.said >= TOLD]
    heads = ("quantity", "figure", "before", "learned", "90 % between", "readings", "makers", "said")
    title = "What was learned, mm and degrees"
    return (
        f"{title}\n{table(heads, rows, words=(0, 1))}" if rows else f"{title}: nothing that readings said a quarter of."
    )


def _said_of(learned: Learned) -> dict[str, float]:
    """Return for each quantity the most that readings said of any of its figures."""
    most: dict[str, float] = {}
    for each in learned.figures:
        most[each.quantity] = max(each.said, most.get(each.quantity, 0.0))
    return most


def read_words(learned: Learned) -> str:
    """Return how many readings there are, of how many makers in how many classes."""
    counts = ((len(learned.readings), "reading"), (learned.makers, "maker"), (learned.classes, "class"))
    readings, makers, classes = (
        f"{count:,} {word}{'' if count == 1 else 'es' if word == 'class' else 's'}" for count, word in counts
    )
    return f"{readings} of {makers} in {classes}"


def another_sentences(another: tuple[Another, ...]) -> list[str]:
    """Return the warning that sizes look like another design's, none where none does."""
    sizes = [
        f"The readings of {each.feature} of {listed(each.parts)} look like another design's: "
        f"{decimal(each.read)} read, {decimal(each.drawn)} drawn."
        for each in another
    ]
    ask = (
        "Is this the right design? If it is, give it the size that was read: till then no habit is told, and nothing "
        "learned is to be relied on."
    )
    return [*sizes, ask] if sizes else []


def few_readings(learned: Learned) -> list[str]:
    """Return the line that says how much so few readings tell, none where they are more."""
    if learned.makers >= FEW_MAKERS and len(learned.readings) >= FEW_READINGS:
        return []
    figures = [each for each in learned.figures if each.learned]
    told = sum(each.said >= MOSTLY for each in figures)
    left = "" if told == len(figures) else ", and the rest is mostly what the workshop said before"
    return [
        (
            f"These are few readings: {read_words(learned)}. They say over half of what was not known of {told} of "
            f"the {len(figures)} figures that they touch{left}. Let {FEW_MAKERS} makers or more take {FEW_READINGS} "
            "readings or more."
        )
    ]


def habit_sentences(design: Design, habits: tuple[Habit, ...]) -> list[str]:
    """Return what the makers surely do otherwise than the workshop said, and the setting that mends it."""
    if not habits:
        return ["No habit shows: every mean may be as the workshop said, or is off by less than 0.1 mm."]
    lines = ["What these makers surely do otherwise than the workshop said, the largest first:"]
    for each in habits:
        lines.append(f"- {habit_sentence(each)}")
        if found := each.setting:
            low, value, high = (
                design.makers * end for end in (found.gained.low, found.gained.value, found.gained.high)
            )
            set_so = setting_words(each.figure.quantity, found)
            boxes = "1 box" if design.makers == 1 else f"{design.makers:,} boxes"
            lines.append(
                f"- {set_so}: simulated with that, {value:.1f} more of {boxes} are good ({low:.1f} to {high:.1f}). To "
                f"see it, check with the learned workshop and --set {setting_key(each.figure, found)}."
            )
    return lines


def habit_sentence(habit: Habit) -> str:
    """Return one habit as a sentence: what is left, what was said, and what it means."""
    figure, row = habit.figure, habit.row
    sign = 1 if figure.value >= 0 else -1
    low, high = sorted((sign * figure.low, sign * figure.high))
    does = row["plus" if sign > 0 else "minus"].format(_size(figure.quantity, abs(figure.value)))
    means = row["above" if figure.value > figure.before else "below"]
    before = sign * figure.before
    if round(before, 2) < 0:
        was = f"where the workshop said the other way, {abs(before):.2f}"
    else:
        was = f"not {abs(before):.2f}"
    return f"{row['act']} {does}, {was} (between {low:.2f} and {high:.2f}): {means}."


def setting_words(quantity: str, setting: Setting) -> str:
    """Return what to set, and by how much."""
    return setting.words.format(_size(quantity, setting.by, decimals=1))


def setting_key(figure: Figure, setting: Setting) -> str:
    """Return the change that has the mean as the setting leaves it, as the command line takes it."""
    left = figure.value - math.copysign(setting.by, figure.value - figure.before)
    return f"workshop.{figure.quantity}.bias={left:.2f}"


def _size(quantity: str, value: float, decimals: int = 2) -> str:
    return f"{value:.{decimals}f}{'°' if quantity in ANGLES else ' mm'}"


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
    most = _said_of(learned)
    hidden = sum(each.said < TOLD for each in learned.figures)
    if hardly := [name for name, said in most.items() if said < TOLD]:
        lines.append(f"Hardly touched by these readings, so mostly as before: {', '.join(hardly)}.")
    if hidden and not details:
        figures = "1 figure" if hidden == 1 else f"{hidden} figures"
        lines.append(f"Of {figures} the readings said under a quarter: --details lists them.")
    lines.append(
        "Where said is low the range is wide, and wider than sense may be: it is what the old figures and half a mm "
        "of doubt about each mean allow."
    )
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
    return lines


def hardly_sentences(learned: Learned) -> list[str]:
    """Return each reading that hardly fits, and what waits for it; none where all fit."""
    lines = []
    for each in learned.hardly:
        found = each.reading
        lines.append(
            f"- {found.file}, line {found.line}: {found.feature} of {decimal(found.value)} hardly fits (one reading in "
            f"{1 / max(each.chance, 1e-6):,.0f} is as far out): read it again, or leave it blank. It counts all the "
            "same."
        )
    wait = "What such a reading bears on is not called a habit below, and the forecast may hang on it."
    return [*lines, wait] if lines else []


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
    return [f"{alone} With what the readings leave open, nine in ten have {least:.0f} to {most:.0f}.", WIDER]


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
