"""What to measure next: what of a forecast's variance would go if a feature's quantities were known (MODEL.md, 8.3).

Y      : boxes of a class that pass; its variance is over classes that each take one draw
share  : first-order index of a feature's quantities, Var E[Y | their figures] / Var Y
gained : Var E[Y | what 20 more readings of the feature would say] / Var Y, by the makers who read

Both are found by least squares on the same classes: Y on the figures of the quantities and the squares of their biases;
or on mean, its square, and the logs of spread within and between makers, of 20 readings simulated for each draw. What
chance explains of a sum of squares is taken off. Least squares explain no more than there is: both err to the low side.
A quantity that nobody has read is drawn from its prior, as starting figures are nobody's measurements.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.arrays import FloatArray
from assembly.learning.features import FEATURES, Place
from assembly.learning.files import Draws
from assembly.learning.likelihood import prior_of
from assembly.model.workshop import quantities

if TYPE_CHECKING:
    from collections.abc import Mapping

    from assembly.learning.features import Form, Size
    from assembly.learning.instruments import Instrument
    from assembly.learning.posterior import Posterior
    from assembly.learning.unsure import UnsureClasses
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop

MORE = 20  # readings
ROUNDS = 2  # of a maker, so that a maker's own spread is seen
Levels = dict[str, FloatArray]  # of a quantity: (draws, makers)


@dataclass(frozen=True, slots=True, kw_only=True)
class Next:
    """One feature that could be read more."""

    feature: str
    share: float
    gained: float


def explained(terms: FloatArray, y: FloatArray) -> float:
    """Return the variance of E[y | terms] by least squares, (n, k) terms; what chance explains is taken off."""
    terms = terms[:, terms.std(axis=0) > 0]
    terms = (terms - terms.mean(axis=0)) / terms.std(axis=0) if terms.size else terms
    off = y - y.mean()
    fitted = terms @ np.linalg.lstsq(terms, off, rcond=None)[0] if terms.size else np.zeros_like(off)
    n, k = len(y), np.linalg.matrix_rank(terms) if terms.size else 0
    left = ((off - fitted) ** 2).sum() / max(n - k - 1, 1)
    return float(max((fitted**2).sum() / n - k * left / n, 0.0))


def of_figures(draws: Draws, names: tuple[str, ...]) -> FloatArray:
    """Return the figures of some quantities as terms: (draws, k); spreads by their logs."""
    terms = []
    for name in names:
        if name in draws.quantities:
            figures = draws.draws[:, :, draws.quantities.index(name)]
            terms += [figures[:, 0], (figures[:, 0] - figures[:, 0].mean()) ** 2]
            terms += [np.log(spread) for spread in figures[:, 1:].T if (spread > 0).all()]
    return np.stack(terms, axis=1) if terms else np.zeros((len(draws.draws), 0))


def of_readings(values: FloatArray) -> FloatArray:
    """Return what readings (draws, makers, readings of each) say as terms: (draws, 4)."""
    means = values.mean(axis=2)
    mean = means.mean(axis=1)
    within = values.var(axis=2, ddof=1).mean(axis=1) if values.shape[2] > 1 else np.ones(len(values))
    between = means.var(axis=1, ddof=1) if means.shape[1] > 1 else np.ones(len(values))
    return np.stack([mean, (mean - mean.mean()) ** 2, np.log(within + 1e-4), np.log(between + 1e-4)], axis=1)


def simulated(size: Size, instrument: Instrument, draws: Draws, levels: Levels, rng: np.random.Generator) -> FloatArray:
    """Return readings of a size, new cuts of the makers whose levels are given: (draws, makers, rounds)."""
    shape = (*levels[size.quantities[0]].shape, ROUNDS)
    errors: dict[tuple[str, str], FloatArray] = {}

    def value(form: Form) -> FloatArray:
        total = np.full(shape, form.const)
        for error, coefficient in form.errors.items():
            if error not in errors:
                cut = (
                    draws.draws[:, 3, draws.quantities.index(error[0])] if error[0] in draws.quantities else np.zeros(1)
                )
                errors[error] = levels[error[0]][:, :, None] + cut[:, None, None] * rng.standard_normal(shape)
            total = total + coefficient * errors[error]
        return total

    read = value(size.form) + sum(np.minimum(value(first), value(second)) for first, second in size.pairs)
    read = read + instrument.unsteadiness * rng.standard_normal(shape)
    step = instrument.division or (min(instrument.blades) if instrument.blades else 0.0)
    return np.asarray(np.round(read / step) * step if step else read)


def with_priors(
    design: Design, workshop: Workshop, posterior: Posterior | None, *, number: int = 2_000, seed: int = 1
) -> Draws:
    """Return joint draws of every quantity that a feature of the design holds: learned ones, the others from priors."""
    rng = np.random.default_rng([seed, number])
    known = posterior.quantities if posterior else ()
    held = {
        name
        for feature in FEATURES.values()
        for spot in feature.spots(design)[:1]
        for name in feature.size(Place(design, workshop, spot)).quantities
    }
    names = tuple(name for name in quantities() if name in held or name in known)
    count = len(posterior.draws) if posterior else number
    draws = np.zeros((count, 4, len(names)))
    for at, name in enumerate(names):
        if posterior and name in known:
            draws[:, :, at] = posterior.draws[:, :, known.index(name)]
            continue
        prior = prior_of([workshop.disturbance(name)])
        draws[:, 0, at] = prior.bias + prior.bias_sd * rng.standard_normal(count)
        draws[:, 1:, at] = prior.median[:, 0] * np.exp(prior.log_sd * rng.standard_normal((count, 3)))
    return Draws(quantities=names, draws=draws)


def levels_of(draws: Draws, posterior: Posterior | None, makers: int, rng: np.random.Generator) -> Levels:
    """Return every quantity's levels of some makers in each draw: of those who read it, else of new ones."""
    found = {}
    for at, name in enumerate(draws.quantities):
        bias, _, spread, _ = draws.draws[:, :, at].T
        found[name] = bias[:, None] + spread[:, None] * rng.standard_normal((len(bias), makers))
    for group in posterior.levels if posterior else ():
        for q, name in enumerate(group.quantities):
            known = group.draws[:, :makers, q]
            found[name][:, : known.shape[1]] = known
    return found


def what_next(
    design: Design,
    workshop: Workshop,
    draws: Draws,
    found: UnsureClasses,
    instruments: Mapping[str, Instrument],
    *,
    posterior: Posterior | None = None,
    seed: int = 1,
) -> list[Next]:
    """Return every feature of a design, the one whose 20 more readings would take away most first.

    Parameters
    ----------
    design, workshop, draws
        What is made, where, and what is known of it (`with_priors`).
    found : UnsureClasses
        Classes simulated from the draws.
    instruments : mapping
        By name; a feature is read with the one that suits it.
    posterior : Posterior, optional
        Whose makers read again.
    """
    rng = np.random.default_rng([seed, len(draws.draws)])
    total, y = float(found.sampled.var(ddof=1)), found.sampled.astype(np.float64)
    levels = levels_of(draws, posterior, MORE // ROUNDS, rng)
    ranked = []
    for feature in FEATURES.values():
        spots = feature.spots(design)
        if not spots or total == 0:
            continue
        size = feature.size(Place(design, workshop, spots[0]))
        share = explained(of_figures(draws, size.quantities)[found.draw], y) / total
        instrument = instruments.get(feature.instrument) or next(iter(instruments.values()))
        read = simulated(size, instrument, draws, levels, rng)
        gained = explained(of_readings(read)[found.draw], y) / total
        ranked.append(Next(feature=feature.name, share=share, gained=min(gained, share)))
    return sorted(ranked, key=lambda each: (-each.gained, -each.share))
