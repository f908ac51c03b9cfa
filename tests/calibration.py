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
from assembly.learning.files import Draws
from assembly.learning.instrument_files import read_instruments
from assembly.learning.likelihood import prior_of
from assembly.learning.simulated import simulate
from assembly.learning.unsure import unsure_rows
from assembly.model.workshop import quantities
from assembly.study.check import BoxModel

DESIGN, BEFORE, INSTRUMENTS = read_design("frost_watch"), read_workshop("new_to_tools"), read_instruments()
HELD = {name: BEFORE.disturbance(name) for name in quantities()}
LEVELS = posterior.LEVELS
KEPT = 99  # draws that a rank is counted among, so that 100 ranks are equally likely
BINS = 20
BOXES = 40  # of a class whose pass share is told


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


def ranks(truth, data, seed, enough=120, *, passes=False):
    """Return the rank of each true figure among the draws, and whether its 90 % interval holds it, by name.

    With `passes` that of the true pass share, too, in a workshop that is as before but for what was read.
    """
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
    if passes:
        rank = pass_rank(found.quantities, found.draws[chosen], truth, seed)
        out["", "pass share"] = (rank, 0.05 * (KEPT + 1) <= rank < 0.95 * (KEPT + 1))
    return out


def pass_rank(names, draws, truth, seed):
    """Return the rank of the true workshop's pass share among those of draws, each of a class of `BOXES`.

    Boxes are other ones for each, so truth and draws are alike but for what the readings tell; equal shares are put in
    order by chance.
    """
    true = np.array([truth[name] for name in names]).T
    every = Draws(quantities=tuple(names), draws=np.concatenate([true[None], draws]))
    takes = np.repeat(np.arange(KEPT + 1), BOXES)
    model = BoxModel(DESIGN, BEFORE)
    rows = unsure_rows(model, every, takes, seed=seed, block=0, class_size=BOXES)
    passed = rows[list(model.rows).index("passes")].reshape(KEPT + 1, BOXES).sum(axis=1)
    passed = passed + 0.5 * np.random.default_rng([seed, 9]).random(KEPT + 1)
    return int((passed[1:] < passed[0]).sum())


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
