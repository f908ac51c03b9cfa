"""Whether finished boxes come out as a workshop forecasts them: each outcome apart, then one verdict (MODEL.md, 8.3).

score : of a box, how bad an outcome is as it was read: the widest gap, a step, or how far a size that may err either
        way lies from the forecast's middle
place : of a box, the share of forecast boxes, read with the same instruments at the same places, that have a lower
        score; half of those that read the same count (the probability-integral value)

Boxes of one class share what their class shares, and every forecast class takes one draw of what is not known, so whole
classes are set beside whole classes: the mean place of the boxes against that of forecast classes of the same makers.
Its rank among them gives the chance, exactly; Holm's method holds all outcomes together to 5 % (Holm, Scand. J.
Statist. 6 (1979) 65-70). Where nothing is off, it is asked how often boxes of one and a half times the spreads would
have been found out: below 80 % of the time, so few boxes can't tell.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from assembly.learning.boxes import DIAGONAL, drawn
from assembly.learning.files import Draws
from assembly.learning.posterior import LEVELS
from assembly.learning.unsure import unsure_rows
from assembly.made.limits import kept
from assembly.made.sampling import BLOCK
from assembly.model.outcomes import OUTCOMES
from assembly.model.workshop import quantities
from assembly.study.driver import UNWATCHED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import BoolArray, FloatArray
    from assembly.learning.boxes import BoxReading
    from assembly.learning.instruments import Instrument
    from assembly.model.design import Limit
    from assembly.model.workshop import Workshop
    from assembly.study.check import BoxModel
    from assembly.study.driver import Run

CLASSES = 2_000  # forecast classes
WIDER, WIDER_CLASSES = 1.5, 400  # spreads of those that should be found out, and how many classes of them are tried
LEVEL = 0.05
SURE = 0.8  # share of them that must be found out
Verdict = Literal["holds", "too hopeful", "too gloomy", "cannot tell"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OutcomeCheck:
    """One outcome: boxes as read against the forecast as it would be read."""

    outcome: str
    boxes: int
    read: FloatArray  # (boxes,) as read: errors of sizes, differences of diagonals, gaps and steps
    places: FloatArray  # (boxes,)
    median: float  # of the boxes as read, and half the width that holds their middle half
    spread: float
    forecast: tuple[float, float, float]  # 5, 50, 95 % of forecast boxes as read
    forecast_spread: float
    kept: int | None  # boxes that keep the limit as they were read; none where there is no limit
    forecast_kept: float | None  # how many forecast boxes of so many do, read alike, on average
    chance: float  # of a mean place as far out, both sides
    worse: bool  # whether the boxes are worse than forecast
    found: bool  # whether that is more than chance, all outcomes together


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomeVerdict:
    """All outcomes, and the one verdict."""

    verdict: Verdict
    boxes: int
    outcomes: tuple[OutcomeCheck, ...]
    power: float  # share of classes of wider spreads that so many boxes would have found out
    unsure: bool  # whether the forecast has draws behind it
    classes: int


def fixed_draws(workshop: Workshop, draws: Draws | None = None, *, times: float = 1.0) -> Draws:
    """Return draws of every quantity: those given, the others as the workshop has them; spreads `times` as large."""
    count, names = len(draws.draws) if draws else 1, quantities()
    found = np.zeros((count, len(LEVELS), len(names)))
    for at, name in enumerate(names):
        if draws and name in draws.quantities:
            found[:, :, at] = draws.draws[:, :, draws.quantities.index(name)]
        else:
            found[:, :, at] = [getattr(workshop.disturbance(name), number) for number in LEVELS]
    found[:, 1:] *= times
    return Draws(quantities=names, draws=found)


def read_off(instrument: Instrument, size: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Return sizes as an instrument reads them; feelers show the thickest blade that goes in."""
    moved = size + instrument.unsteadiness * rng.standard_normal(size.shape)
    if instrument.blades:
        blades = np.array([0.0, *instrument.blades])
        return np.asarray(np.sign(moved) * blades[np.searchsorted(blades, np.abs(moved), side="right") - 1])
    return np.asarray(np.round(moved / instrument.division) * instrument.division if instrument.division else moved)


def _kinds(readings: Sequence[BoxReading]) -> dict[str, list[BoxReading]]:
    """Return one box's readings by outcome; diagonals only where both are read."""
    found: dict[str, list[BoxReading]] = {}
    for each in readings:
        name = "diagonal_difference" if each.outcome == DIAGONAL else each.outcome
        found.setdefault(name, []).append(each)
    if len(found.get("diagonal_difference", ())) == 1:
        del found["diagonal_difference"]
    return found


def forecast_boxes(
    model: BoxModel,
    draws: Draws,
    makers: Sequence[int],
    *,
    classes: int,
    seed: int,
    run: Run = UNWATCHED,
) -> list[FloatArray]:
    """Return rows of forecast boxes, class by class of those that were read: (rows, forecasts, makers of the class)."""
    rng = np.random.default_rng([seed, classes])
    taken = rng.integers(len(draws.draws), size=classes)
    found = []
    for number, size in enumerate(makers):
        whole = BLOCK // size
        pieces = []
        for at in range(0, classes, whole):
            draw = np.repeat(taken[at : at + whole], size)
            block = (number + 1) * 1_000_000 + at // whole
            pieces.append(unsure_rows(model, draws, draw, seed=seed, block=block, class_size=size, run=run))
        found.append(np.concatenate(pieces, axis=1).reshape(len(model.rows), classes, size))
    return found


class Reader:
    """Reads forecast boxes just as the class read its own."""

    def __init__(self, model: BoxModel, readings: Sequence[BoxReading], seed: int) -> None:
        """Take the boxes that were read."""
        self.model, self.seed = model, seed
        by_box: dict[tuple[int, int], list[BoxReading]] = {}
        for each in readings:
            by_box.setdefault(each.maker, []).append(each)
        self.boxes = {maker: kinds for maker, some in sorted(by_box.items()) if (kinds := _kinds(some))}
        groups = sorted({maker[0] for maker in self.boxes})
        self.makers = [sum(maker[0] == group for maker in self.boxes) for group in groups]
        self.outcomes = [name for name in OUTCOMES if any(name in kinds for kinds in self.boxes.values())]
        self._place = {}
        for maker in self.boxes:
            within = [other for other in self.boxes if other[0] == maker[0]]
            self._place[maker] = groups.index(maker[0]), within.index(maker)

    def observed(self, outcome: str) -> FloatArray:
        """Return what was read of an outcome: (boxes,)."""
        return np.array([self._value(kinds[outcome], [each.value for each in kinds[outcome]]) for kinds in
                         self.boxes.values() if outcome in kinds])  # fmt: skip

    def forecast(self, rows: Sequence[FloatArray], outcome: str, stream: int = 0) -> FloatArray:
        """Return the same of forecast boxes: (boxes, forecasts)."""
        rng = np.random.default_rng([self.seed, list(OUTCOMES).index(outcome), stream])
        found = []
        for maker, kinds in self.boxes.items():
            if outcome in kinds:
                group, at = self._place[maker]
                box = rows[group][:, :, at]
                read = [read_off(each.instrument, self.size(each, box), rng) for each in kinds[outcome]]
                found.append(self._value(kinds[outcome], read))
        return np.array(found)

    def size(self, reading: BoxReading, box: FloatArray) -> FloatArray:
        """Return the true size of what a reading reads, of boxes (rows, forecasts)."""
        names, design = list(self.model.rows), self.model.design
        if reading.outcome == "joint_gap":
            return np.asarray(box[names.index(f"gap {reading.at}")])
        if reading.outcome == DIAGONAL:
            size = drawn(design, DIAGONAL)
            along = design.box.length * box[names.index("length")] + design.box.width * box[names.index("width")]
            half = box[names.index("diagonal_difference")] / 2
            return np.asarray(size + along / size + (half if reading.at == "right-back" else -half))
        return np.asarray(drawn(design, reading.outcome) + box[names.index(reading.outcome)])

    def _value(self, readings: Sequence[BoxReading], values: Sequence[float | FloatArray]) -> FloatArray:
        """Return an outcome from its readings: the widest gap, the diagonals' difference, an error of size, a step."""
        first = readings[0]
        if first.outcome == DIAGONAL:
            by = {each.at: value for each, value in zip(readings, values, strict=True)}
            return np.asarray(by["right-back"] - by["right-front"])
        if first.outcome == "joint_gap":
            return np.asarray(np.max(np.array(values), axis=0))
        return np.asarray(values[0] - drawn(self.model.design, first.outcome))


def scores(outcome: str, values: FloatArray, middle: float) -> FloatArray:
    """Return how bad values are: as they are, or by how far from the middle where an outcome errs either way."""
    return values if OUTCOMES[outcome].least == 0 else np.abs(values - middle)


def places(score: FloatArray, forecast: FloatArray) -> FloatArray:
    """Return the place of each box's score, (boxes, …), among forecast boxes (boxes, forecasts)."""
    found = np.empty(score.shape)
    for at, (mine, theirs) in enumerate(zip(score, np.sort(forecast, axis=1), strict=True)):
        close = 1e-9 + 0 * mine
        below = np.searchsorted(theirs, mine - close, side="left")
        found[at] = (below + np.searchsorted(theirs, mine + close, side="right")) / (2 * len(theirs))
    return found


def chances(mean: FloatArray, forecast: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Return the chance of a mean place as far out, both sides, and whether it is on the worse side."""
    order, total = np.sort(forecast), len(forecast) + 1
    above = (1 + len(order) - np.searchsorted(order, mean - 1e-12, side="left")) / total
    below = (1 + np.searchsorted(order, mean + 1e-12, side="right")) / total
    return np.asarray(np.minimum(1.0, 2 * np.minimum(above, below))), np.asarray(above < below)


def holm(chance: FloatArray, level: float = LEVEL) -> BoolArray:
    """Return which of some tests, (tests, …), are found at a level for all together."""
    order = np.argsort(chance, axis=0)
    ranked = np.take_along_axis(chance, order, axis=0)
    steps = len(chance) - np.arange(len(chance)).reshape(-1, *[1] * (chance.ndim - 1))
    passed = np.logical_and.accumulate(ranked * steps <= level, axis=0)
    found: BoolArray = np.zeros(chance.shape, dtype=np.bool_)
    np.put_along_axis(found, order, passed, axis=0)
    return found


def verdict_of(found: BoolArray, worse: BoolArray, chance: FloatArray) -> FloatArray:
    """Return 1 (too hopeful), -1 (too gloomy) or 0 for tests (tests, …): what the least chance of those found says."""
    sure = np.where(found, chance, np.inf)
    at = np.expand_dims(np.argmin(sure, axis=0), 0)
    side = np.where(np.take_along_axis(worse, at, axis=0)[0], 1, -1)
    return np.asarray(np.where(found.any(axis=0), side, 0))


def check_outcome(
    model: BoxModel,
    readings: Sequence[BoxReading],
    draws: Draws | None = None,
    *,
    classes: int = CLASSES,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> OutcomeVerdict:
    """Return how finished boxes compare with what the workshop forecasts, `draws` being what is not known of it."""
    reader = Reader(model, readings, seed)
    rows = forecast_boxes(model, fixed_draws(model.workshop, draws), reader.makers, classes=classes, seed=seed, run=run)
    run.report(1, 2)
    wider = fixed_draws(model.workshop, draws, times=WIDER)
    apart = forecast_boxes(model, wider, reader.makers, classes=WIDER_CLASSES, seed=seed + 1, run=run)
    run.report(2, 2)
    checks: list[tuple[str, FloatArray, FloatArray, FloatArray, float, bool]] = []
    wide: list[tuple[FloatArray, BoolArray]] = []
    for outcome in reader.outcomes:
        read, forecast = reader.observed(outcome), reader.forecast(rows, outcome)
        middle = float(np.median(forecast))
        score = scores(outcome, forecast, middle)
        mine = places(scores(outcome, read, middle), score)
        means = places(score, score).mean(axis=0)
        one, worse = chances(mine.mean(), means)
        others = places(scores(outcome, reader.forecast(apart, outcome, 1), middle), score).mean(axis=0)
        wide.append(chances(others, means))
        checks.append((outcome, read, mine, forecast, float(one), bool(worse)))
    chance, worse = np.array([each[4] for each in checks]), np.array([each[5] for each in checks])
    found = holm(chance)
    other_chance, other_worse = (np.array([each[at] for each in wide]) for at in (0, 1))
    power = float((verdict_of(holm(other_chance), other_worse.astype(np.bool_), other_chance) > 0).mean())
    return OutcomeVerdict(
        verdict=_worded(int(verdict_of(found, worse, chance)), power),
        boxes=len(reader.boxes),
        outcomes=tuple(
            _told(*each, limit=getattr(model.design.limits, each[0]), found=bool(sure))
            for each, sure in zip(checks, found, strict=True)
        ),
        power=power,
        unsure=draws is not None,
        classes=classes,
    )


def _worded(side: int, power: float) -> Verdict:
    if side:
        return "too hopeful" if side > 0 else "too gloomy"
    return "holds" if power >= SURE else "cannot tell"


def _kept(limit: Limit, read: FloatArray) -> BoolArray:
    """Return where readings keep a limit; a reading on it does, whatever its last binary digits."""
    return kept(limit, read.round(9))


def _told(
    outcome: str,
    read: FloatArray,
    mine: FloatArray,
    forecast: FloatArray,
    chance: float,
    worse: bool,  # noqa: FBT001 - as it was found
    *,
    limit: Limit | None,
    found: bool,
) -> OutcomeCheck:
    low, first, middle, third, high = (float(q) for q in np.quantile(forecast, [0.05, 0.25, 0.5, 0.75, 0.95]))
    lower, upper = np.quantile(read, [0.25, 0.75])
    return OutcomeCheck(
        outcome=outcome,
        boxes=len(read),
        read=read,
        places=mine,
        median=float(np.median(read)),
        spread=float(upper - lower) / 2,
        forecast=(low, middle, high),
        forecast_spread=(third - first) / 2,
        kept=int(_kept(limit, read).sum()) if limit else None,
        forecast_kept=len(read) * float(_kept(limit, forecast).mean()) if limit else None,
        chance=chance,
        worse=worse,
        found=found,
    )
