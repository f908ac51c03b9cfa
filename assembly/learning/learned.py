"""What readings taught: each figure before and after, how much the readings said of it, and which readings hardly fit.

figure : bias, class, maker or cut spread of a quantity, in mm or degrees as the workshop's file has it
said   : 1 - variance after / variance before, of a bias, or of the log of a spread
hardly : a reading that the learned workshop gives a chance of under 1 in 1,000, both sides counted
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.learning.likelihood import LOG_SD, bias_sd
from assembly.learning.posterior import AGREED, ENOUGH, LEVELS, Posterior, learned
from assembly.learning.readings import data_of
from assembly.learning.steadiness import Steadiness, found_in, with_found
from assembly.model.workshop import quantities
from assembly.study.driver import UNWATCHED

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from assembly.arrays import FloatArray
    from assembly.learning.features import Form, Size
    from assembly.learning.likelihood import Datum
    from assembly.learning.readings import Reading
    from assembly.model.design import Design
    from assembly.model.workshop import Disturbance, Workshop
    from assembly.study.driver import Run

HARDLY = 0.001
LOW, HIGH = 0.05, 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One figure, before and after."""

    quantity: str
    number: str  # one of `posterior.LEVELS`
    before: float
    value: float  # median of the draws
    low: float  # 5 % and 95 % of the draws
    high: float
    said: float
    learned: bool  # whether readings can tell it: of one class the class spread is as it was


@dataclass(frozen=True, slots=True, kw_only=True)
class Behind:
    """What is behind a quantity's figures."""

    readings: int
    makers: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Hardly:
    """A reading that hardly fits."""

    reading: Reading
    chance: float
    quantities: tuple[str, ...]  # that it bears on


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Learned:
    """What readings taught of a workshop."""

    workshop: Workshop  # that was replaced
    readings: tuple[Reading, ...]
    posterior: Posterior
    figures: tuple[Figure, ...]
    behind: dict[str, Behind]
    hardly: tuple[Hardly, ...]
    untouched: tuple[str, ...]  # quantities that no reading touches
    steadiness: tuple[Steadiness, ...]  # of instruments that read anything over again
    seed: int

    @property
    def makers(self) -> int:
        """How many makers read."""
        return len({each.maker for each in self.readings})

    @property
    def classes(self) -> int:
        """How many classes they are of."""
        return len({each.maker[0] for each in self.readings})

    @property
    def doubtful(self) -> frozenset[str]:
        """Quantities that a reading bears on which hardly fits."""
        return frozenset(name for each in self.hardly for name in each.quantities)

    @property
    def settled(self) -> bool:
        """Whether the chains agree on every figure."""
        return self.posterior.rhat < AGREED and self.posterior.ess > ENOUGH

    @property
    def dates(self) -> tuple[str, ...]:
        """The dates that the readings give, in order."""
        return tuple(sorted({each.date for each in self.readings if each.date}))


def learn(
    design: Design, workshop: Workshop, readings: Sequence[Reading], *, seed: int = 1, run: Run = UNWATCHED
) -> Learned:
    """Return what `readings` teach of `workshop`, by the unsteadiness of instruments that they show where they do.

    Raises
    ------
    InputError
        If a quantity that is read is not normal in the workshop, or the seed is below 0.
    """
    if seed < 0:
        msg = f"seed: got {seed}, must be 0 or more"
        raise InputError(msg)
    steadiness = found_in(readings)
    readings = with_found(readings, steadiness)
    data = data_of(readings, design, workshop)
    held = {name: workshop.disturbance(name) for name in quantities()}
    touched = {name for each in data for name in each.size.quantities}
    for name, each in held.items():
        if name in touched and each.family != "normal":
            where = f"workshop {workshop.name!r}: {'.'.join(workshop.key_of(name, 'family'))}"
            msg = f"{where}: got {each.family!r}, and only what is normal can be learned; set it to 'normal'"
            raise InputError(msg)
    found = learned(data, held, seed=seed, watched=run)
    classes = len({each.maker[0] for each in data})
    return Learned(
        workshop=workshop,
        readings=tuple(readings),
        posterior=found,
        figures=tuple(figures_of(found, held, classes)),
        behind={name: _behind(name, data) for name in found.quantities},
        hardly=tuple(
            Hardly(reading=each, chance=chance, quantities=datum.size.quantities)
            for each, datum, chance in zip(readings, data, chances(data, found, seed), strict=True)
            if chance < HARDLY
        ),
        untouched=tuple(name for name in held if name not in touched),
        steadiness=tuple(steadiness),
        seed=seed,
    )


def figures_of(found: Posterior, held: Mapping[str, Disturbance], classes: int) -> list[Figure]:
    """Return every figure that is not fixed, quantity by quantity."""
    figures = []
    for q, name in enumerate(found.quantities):
        for level, number in enumerate(LEVELS):
            before = float(getattr(held[name], number))
            draws = found.told[:, q] if number == "bias" else found.draws[:, level, q]
            if number != "bias" and before == 0:
                continue
            alone = number == "class_spread" and classes == 1
            low, value, high = np.quantile(draws, [LOW, 0.5, HIGH])
            figures.append(
                Figure(
                    quantity=name,
                    number=number,
                    before=before,
                    value=before if alone else float(value),
                    low=float(low),
                    high=float(high),
                    said=0.0 if alone else _said(draws, number, held[name], classes),
                    learned=not alone,
                )
            )
    return figures


def _said(draws: FloatArray, number: str, disturbance: Disturbance, classes: int) -> float:
    """Return how much readings say; of one class the bias has that class's part in it, before as after."""
    if number != "bias":
        return 1 - float(np.log(draws).var()) / LOG_SD**2
    before = bias_sd(disturbance) ** 2
    if classes == 1:
        before += disturbance.class_spread**2 * float(np.exp(2 * LOG_SD**2))  # mean square of a log-normal spread
    return 1 - float(draws.var()) / before


def _behind(name: str, data: Sequence[Datum]) -> Behind:
    found = [each.maker for each in data if name in each.size.quantities]
    return Behind(readings=len(found), makers=len(set(found)))


def chances(data: Sequence[Datum], found: Posterior, seed: int) -> list[float]:
    """Return for each reading how likely one as far out is, of another maker in the learned workshop: both sides."""
    rng = np.random.default_rng([seed, len(data)])
    known: dict[tuple[int, float, float, float], float] = {}
    shapes: dict[str, int] = {}
    chosen = []
    for each in data:
        shape = shapes.setdefault(repr(each.size), len(shapes))
        key = (shape, each.low, each.high, each.unsteadiness)
        if key not in known:
            known[key] = _chance(each, found, rng)
        chosen.append(known[key])
    return chosen


def _chance(datum: Datum, found: Posterior, rng: np.random.Generator) -> float:
    from scipy.special import ndtr  # noqa: PLC0415 - 0.1 s that other commands do without

    mean, variance = _normal(datum.size, found)
    if datum.size.pairs:
        mean = mean + _leasts(datum.size, found, rng)
    sd = np.sqrt(variance + datum.unsteadiness**2)
    below, above = ndtr((datum.high - mean) / sd).mean(), ndtr((mean - datum.low) / sd).mean()
    return float(min(1.0, 2 * min(below, above)))


def _normal(size: Size, found: Posterior) -> tuple[FloatArray, FloatArray]:
    """Return mean and variance of a size's plain sum in each draw, for another maker of the same class or classes."""
    mean, variance = np.full(len(found.draws), size.form.const), np.zeros(len(found.draws))
    for name in dict.fromkeys(quantity for quantity, _ in size.form.errors):
        q = found.quantities.index(name)
        coefficients = np.array([c for (quantity, _), c in size.form.errors.items() if quantity == name])
        _, shared, maker, cut = found.draws[:, :, q].T
        if np.array_equal(found.told[:, q], found.draws[:, 0, q]):  # several classes
            maker = np.hypot(maker, shared)
        mean += coefficients.sum() * found.told[:, q]
        variance += coefficients.sum() ** 2 * maker**2 + (coefficients**2).sum() * cut**2
    return mean, variance


def _leasts(size: Size, found: Posterior, rng: np.random.Generator) -> FloatArray:
    """Return the sum of the smaller of each pair in each draw, drawn."""
    errors: dict[tuple[str, str], FloatArray] = {}
    makers: dict[str, FloatArray] = {}
    number = len(found.draws)

    def value(form: Form) -> FloatArray:
        total = np.full(number, form.const)
        for (name, place), coefficient in form.errors.items():
            q = found.quantities.index(name)
            if name not in makers:
                makers[name] = found.told[:, q] + found.draws[:, 2, q] * rng.standard_normal(number)
            if (name, place) not in errors:
                errors[name, place] = makers[name] + found.draws[:, 3, q] * rng.standard_normal(number)
            total = total + coefficient * errors[name, place]
        return total

    return np.asarray(sum(np.minimum(value(first), value(second)) for first, second in size.pairs))
