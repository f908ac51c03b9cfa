"""Simulation-based calibration: workshops drawn from the priors, read as a class would, and what is learned of them.

Over such workshops the rank of every true figure among its posterior draws is uniform, if the posterior is exact:
Talts, Betancourt, Simpson, Vehtari & Gelman, arXiv 1804.06788 (2018).
"""

from dataclasses import replace

import numpy as np
from scipy.stats import chi2

from assembly.files.reading import read_design, read_workshop
from assembly.learning import posterior
from assembly.learning.features import FEATURES, Size
from assembly.learning.instrument_files import read_instruments
from assembly.learning.likelihood import prior_of
from assembly.learning.simulated import simulate
from assembly.model.workshop import quantities

DESIGN, BEFORE, INSTRUMENTS = read_design("frost_watch"), read_workshop("new_to_tools"), read_instruments()
HELD = {name: BEFORE.disturbance(name) for name in quantities()}
LEVELS = posterior.LEVELS
KEPT = 99  # draws that a rank is counted among, so that 100 ranks are equally likely
BINS = 20


def from_prior(rng):
    """Return the figures of a workshop drawn from the priors, by quantity."""
    prior = prior_of(list(HELD.values()))
    bias = prior.bias + prior.bias_sd * rng.standard_normal(len(HELD))
    spreads = prior.median * np.exp(prior.log_sd * rng.standard_normal(prior.median.shape))
    return {name: (bias[q], *spreads[:, q]) for q, name in enumerate(HELD)}


def read_plan(rng, names):
    """Return which readings a class takes: two places of each feature, with one instrument or another."""
    rows = []
    for name in names:
        feature = FEATURES[name]
        spots = feature.spots(DESIGN)
        fitting = [each for each in INSTRUMENTS.values() if each.unit == feature.unit]
        rows += [(name, spots[at], fitting[rng.integers(len(fitting))]) for at in rng.permutation(len(spots))[:2]]
    return rows


def taken(rng, names, classes=(1, 2), makers=(3, 26), missing=0.15):
    """Return the truth and the readings of a workshop drawn from the priors: mixed instruments, readings missing."""
    truth = from_prior(rng)
    group = {
        1 + at: int(rng.integers(makers[0], makers[1] + 1)) for at in range(rng.integers(classes[0], classes[1] + 1))
    }
    readings = simulate(DESIGN, BEFORE, truth, read_plan(rng, names), group, rng)
    kept = [each for each in readings if rng.random() >= missing] or readings[:1]
    return truth, sorted(kept, key=lambda each: each.key)


def as_points(data):
    """Return readings taken for points: a wrong likelihood."""
    return [replace(each, low=(m := (each.low + each.high) / 2) - 1e-6, high=m + 1e-6, unsteadiness=1e-3)
            if np.isfinite(each.low + each.high) else each for each in data]  # fmt: skip


def without_leasts(data):
    """Return sanded sizes as if the sander alone left them, not the smaller of two: a wrong likelihood."""
    found = []
    for each in data:
        form = each.size.form
        for _, second in each.size.pairs:
            form = form.plus(second)
        found.append(replace(each, size=Size(form)))
    return found


def ranks(truth, data, seed, enough=120):
    """Return the rank of each true figure among the draws, and whether its 90 % interval holds it, by name."""
    found = posterior.learned(data, HELD, seed=seed, kept=KEPT, enough=enough)
    rng = np.random.default_rng([seed, 7])
    chosen = rng.permutation(len(found.draws))[:KEPT]
    out = {}
    for q, name in enumerate(found.quantities):
        for level, number in enumerate(LEVELS):
            draws = found.draws[:, level, q]
            if draws.std() > 0:
                low, high = np.quantile(draws, [0.05, 0.95])
                out[name, number] = (
                    int((draws[chosen] < truth[name][level]).sum()),
                    bool(low <= truth[name][level] <= high),
                )
    return out


def uniformity(ranked):
    """Return the chance of ranks as uneven by chi-square, and their largest difference from the even distribution."""
    ranked = np.asarray(ranked)
    bins = min(BINS, max(4, len(ranked) // 10))
    counts = np.bincount(ranked * bins // (KEPT + 1), minlength=bins)
    expected = len(ranked) / bins
    chance = float(chi2.sf(((counts - expected) ** 2 / expected).sum(), bins - 1))
    steps = np.arange(1, KEPT + 2)
    below = np.searchsorted(np.sort(ranked), steps, side="left") / len(ranked)
    return chance, float(np.abs(below - steps / (KEPT + 1)).max())
