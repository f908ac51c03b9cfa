"""What `lapwright learn` and `outcome` print with `--json`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from pydantic import Field

from viewer.reports.learning_report import habit_sentence, setting_words
from viewer.reports.output.record import EstimateOutput, Output

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.learning.habits import Habit
    from assembly.learning.outcome_check import OutcomeVerdict
    from assembly.study.forecast import ClassCounts
    from viewer.reports.learning_report import Taught

Range = tuple[EstimateOutput, EstimateOutput]


class FigureOutput(Output):
    """One figure of the workshop, before and after, in mm or degrees as the workshop's file has it."""

    quantity: str = Field(description="the quantity, as the workshop's file names it")
    number: Literal["bias", "class_spread", "maker_spread", "spread"] = Field(description="which of its numbers")
    before: float = Field(description="the figure before")
    value: float = Field(description="the learned figure: the middle of what the readings leave possible")
    low: float = Field(description="below it with 5 % probability")
    high: float = Field(description="above it with 5 % probability")
    said: float = Field(description="1 - variance after/variance before, of a mean or the log of a spread")
    learned: bool = Field(description="false for class spreads where one class read: they stay as they were")
    readings: int = Field(description="readings that touch the quantity")
    makers: int = Field(description="makers who took them")


class AnotherOutput(Output):
    """A size whose readings look like another design's; they count all the same."""

    feature: str = Field(description="thickness, height or length")
    parts: list[str] = Field(description="the parts that are drawn so")
    read: float = Field(description="median of the readings, mm")
    drawn: float = Field(description="what is drawn, mm")
    readings: int = Field(description="how many readings, all of them far off to one side")


class SettingOutput(Output):
    """A setting of a tool that mends a habit, tried on the same random numbers."""

    do: str = Field(description="what to set, in words")
    by: float = Field(description="by how much, mm or degrees")
    gained: EstimateOutput = Field(description="share of boxes that it gains; its low end is over 0")


class HabitOutput(Output):
    """A mean whose 90 % interval leaves out the old one, and that moves a size by 0.1 mm or more."""

    quantity: str = Field(description="the quantity, as the workshop's file names it")
    before: float = Field(description="the mean before, mm or degrees")
    value: float = Field(description="the learned mean")
    low: float = Field(description="below it with 5 % probability")
    high: float = Field(description="above it with 5 % probability")
    says: str = Field(description="the habit as a sentence")
    setting: SettingOutput | None = Field(description="what mends it; null where no setting surely gains boxes")


class HardlyOutput(Output):
    """A reading that hardly fits; it counts all the same."""

    file: str = Field(description="the file")
    line: int = Field(description="the line in it")
    feature: str = Field(description="what was read")
    value: float = Field(description="what it read, mm or degrees")
    chance: float = Field(description="chance of a reading as far out by another maker, both sides")


class SpreadOutput(Output):
    """A standard deviation, in the instrument's unit."""

    value: float = Field(description="the standard deviation")
    low: float = Field(description="lower end of its 90 % interval")
    high: float = Field(description="upper end of its 90 % interval")


class SteadinessOutput(Output):
    """What things that were read over again show of an instrument: analysis of variance of the two-way layout."""

    instrument: str = Field(description="the instrument")
    things: int = Field(description="things in the layout")
    readers: int = Field(description="readers of every one of them")
    times: int = Field(description="how often each reader read each")
    degrees_of_freedom: int = Field(description="of its own unsteadiness")
    table: float = Field(description="its unsteadiness by the table of instruments")
    own: SpreadOutput = Field(description="its own unsteadiness (repeatability), the division's share taken off")
    between: SpreadOutput | None = Field(description="readers' own spread; null of a single reader")
    together: SpreadOutput | None = Field(
        description="interaction of reader and thing; null where it is counted to own"
    )
    counts: Literal["used", "few", "coarse", "blades"] = Field(
        description="used in place of the table's figure, or why not: too few degrees of freedom, a division that "
        "hides it, or blades"
    )


class NextOutput(Output):
    """One feature that could be read more."""

    feature: str = Field(description="the feature")
    share: float = Field(description="share of the forecast's variance that would go if its quantities were known")
    gained: float = Field(description="share that 20 more readings by the same makers would take away")


class LearnOutput(Output):
    """What readings taught of a workshop."""

    command: Literal["learn"] = Field(description="the command that printed this")
    seed: int = Field(description="start of the random numbers; the same seed gives the same figures")
    readings: int = Field(description="how many readings")
    makers: int = Field(description="of how many makers")
    classes: int = Field(description="in how many classes")
    dates: list[str] = Field(description="the dates that the readings give")
    another_design: list[AnotherOutput] = Field(description="sizes that look like another design's; usually none")
    habits: list[HabitOutput] = Field(description="means that are surely others than before, the largest first")
    figures: list[FigureOutput] = Field(description="every figure that readings touch")
    untouched: list[str] = Field(description="quantities that no reading touches: they stay as they were")
    hardly: list[HardlyOutput] = Field(description="readings that hardly fit")
    instruments: list[SteadinessOutput] = Field(description="what things that were read over again show of instruments")
    settled: bool = Field(description="whether R-hat is below 1.01 and the effective size over 400 for every figure")
    rhat: float = Field(description="largest rank-normalised split R-hat of all figures")
    effective_draws: float = Field(description="least effective size of all figures, bulk and tails")
    range: Range | None = Field(
        description="good boxes of a class that one class in twenty falls below, and exceeds, by the learned figures "
        "alone; null where Ctrl-C came before"
    )
    unsure_range: Range | None = Field(
        description="the same with what the readings leave open; null where Ctrl-C came before"
    )
    next_readings: list[NextOutput] = Field(description="what to measure next, the most telling first")
    files: list[str] = Field(description="the files written")
    partial: bool = Field(description="whether Ctrl-C cut it short")


class CheckedOutput(Output):
    """One outcome of finished boxes against its forecast, as read, in the outcome's unit."""

    outcome: str = Field(description="the outcome")
    boxes: int = Field(description="how many boxes were read")
    read: list[float] = Field(description="what was read of each box: errors of sizes, differences, gaps, steps")
    places: list[float] = Field(
        description="probability-integral value of each box: share of forecast boxes that are less bad, as read"
    )
    median: float = Field(description="median of the boxes")
    spread: float = Field(description="half of what holds the boxes' middle half")
    forecast: tuple[float, float, float] = Field(description="5, 50 and 95 % of forecast boxes")
    forecast_spread: float = Field(description="half of what holds the middle half of forecast boxes")
    kept: int | None = Field(description="boxes that keep the limit as read; null where there is none")
    forecast_kept: float | None = Field(description="how many of so many forecast boxes do, on average; null likewise")
    chance: float = Field(description="of forecast classes, the share whose mean place is as far out, both sides")
    worse: bool = Field(description="whether the boxes are on the worse side")
    found: bool = Field(description="whether that is more than chance, at 5 % for all outcomes together (Holm)")


class OutcomeVerdictOutput(Output):
    """Finished boxes against their forecast."""

    command: Literal["outcome"] = Field(description="the command that printed this")
    verdict: Literal["holds", "too hopeful", "too gloomy", "cannot tell"] = Field(description="the verdict")
    boxes: int = Field(description="how many boxes were read")
    outcomes: list[CheckedOutput] = Field(description="every outcome that was read")
    power: float = Field(description="share of classes with spreads half as large again that so many boxes find out")
    unsure: bool = Field(description="whether the forecast counts what readings left open")
    classes: int = Field(description="how many forecast classes were simulated")
    files: list[str] = Field(description="the files written")


def learn_output(told: Taught, *, files: Sequence[str], partial: bool) -> LearnOutput:
    """Return what `lapwright learn --json` prints."""
    learned = told.learned
    return LearnOutput.model_validate(
        {
            "command": "learn",
            **{name: getattr(learned, name) for name in ("seed", "makers", "classes", "untouched")},
            "readings": len(learned.readings),
            "dates": learned.dates,
            "another_design": told.another,
            "habits": [_habit(each) for each in told.habits],
            "figures": [
                {name: getattr(each, name) for name in _FIGURE}
                | {name: getattr(learned.behind[each.quantity], name) for name in ("readings", "makers")}
                for each in learned.figures
            ],
            "hardly": [
                {name: getattr(each.reading, name) for name in ("file", "line", "feature", "value")}
                | {"chance": each.chance}
                for each in learned.hardly
            ],
            "instruments": [
                {name: getattr(each, name) for name in ("things", "readers", "times", "own", "between", "together")}
                | {"instrument": each.instrument.name, "table": each.instrument.unsteadiness}
                | {"degrees_of_freedom": each.freedom, "counts": each.counts}
                for each in learned.steadiness
            ],
            "settled": learned.settled,
            "rhat": learned.posterior.rhat,
            "effective_draws": learned.posterior.ess,
            "range": _range(told.medians),
            "unsure_range": _range(told.unsure),
            "next_readings": told.next_readings,
            "files": files,
            "partial": partial,
        }
    )


def _habit(habit: Habit) -> dict[str, Any]:
    found, figure = habit.setting, habit.figure
    return {name: getattr(figure, name) for name in ("quantity", "before", "value", "low", "high")} | {
        "says": habit_sentence(habit),
        "setting": {"do": setting_words(habit.figure.quantity, found), "by": found.by, "gained": found.gained}
        if found
        else None,
    }


_FIGURE = ("quantity", "number", "before", "value", "low", "high", "said", "learned")


def _range(classes: ClassCounts | None) -> Any:  # noqa: ANN401 - estimates, which the record takes
    return classes.range if classes else None


def outcome_output(found: OutcomeVerdict, *, files: Sequence[str]) -> OutcomeVerdictOutput:
    """Return what `lapwright outcome --json` prints."""
    names = ("verdict", "boxes", "power", "unsure", "classes")
    return OutcomeVerdictOutput.model_validate(
        {
            "command": "outcome",
            **{name: getattr(found, name) for name in names},
            "outcomes": [
                {name: getattr(each, name) for name in CheckedOutput.model_fields if name not in {"read", "places"}}
                | {"read": each.read.tolist(), "places": each.places.tolist()}
                for each in found.outcomes
            ],
            "files": files,
        }
    )
