"""A small, fast part of `bench_calibration.py`: ranks of true figures are even, and uneven with a wrong likelihood."""

import numpy as np
import pytest
from calibration import BEFORE, DESIGN, HELD, INSTRUMENTS, KEPT, as_points, from_prior, uniformity, without_leasts

from assembly.learning import posterior
from assembly.learning.features import Form, Size, Spot, one
from assembly.learning.likelihood import Datum, groups_of
from assembly.learning.readings import data_of
from assembly.learning.sampler import run
from assembly.learning.simulated import simulate
from assembly.model.workshop import Disturbance

WORKSHOPS = 120


def ranked(change=None):
    """Return the ranks of bias and cut spread of wall heights read with a coarse rule, by 8 makers, two each."""
    rule, found = INSTRUMENTS["steel rule to 1 mm"], ([], [])
    rows = [("height", Spot(part), rule) for part in ("left", "front")]
    for at in range(WORKSHOPS):
        rng = np.random.default_rng([11, at])
        truth = from_prior(rng)
        data = data_of(simulate(DESIGN, BEFORE, truth, rows, {1: 8}, rng), DESIGN, BEFORE)
        (group,) = groups_of(change(data) if change else data, HELD)
        chain, many = np.random.Generator(np.random.PCG64(at)), len(group.makers)
        state, kept, levels = posterior.start_of(group, chain), np.zeros((KEPT, 5, 1)), np.zeros((KEPT, many, 1))
        run(chain, group.cells, group.prior, state, 300, 300, kept[:1], levels[:1])
        run(chain, group.cells, group.prior, state, 10 * KEPT, 10, kept, levels)
        for into, level in zip(found, (0, 3), strict=True):
            into.append(int((kept[:, level, 0] < truth["stock.height"][level]).sum()))
    return found


def test_ranks_are_even():
    """Chi-square at 0.1 %, and the largest difference below its 0.1 % point, 1.95/√n (Kolmogorov)."""
    for ranks in ranked():
        chance, largest = uniformity(ranks)
        assert chance > 0.001
        assert largest < 1.95 / WORKSHOPS**0.5


def test_points_for_intervals_are_found_out():
    """A rule of 1 mm on timber that varies by a tenth: the cut spread's ranks are far from even."""
    chance, largest = uniformity(ranked(as_points)[1])
    assert chance < 1e-6 or largest > 1.95 / WORKSHOPS**0.5


ENDS = {"saw.offset": Disturbance(bias=0.8, spread=0.4), "sand.offset": Disturbance(bias=0.6, spread=0.2)}
SANDED = 80  # workshops


def sanded_ranks(change=None):
    """Return ranks of both biases and cut spreads, of 12 sanded ends read to 0.1 mm: each the smaller of two."""
    found = [[] for _ in range(4)]
    for at in range(SANDED):
        rng = np.random.default_rng([12, at])
        truth = [
            (each.bias + 0.5 * rng.standard_normal(), each.spread * np.exp(0.7 * rng.standard_normal()))
            for each in ENDS.values()
        ]
        heights = [bias + spread * rng.standard_normal(12) for bias, spread in truth]
        size = Size(Form(), (tuple(one(name, "end") for name in ENDS),))
        data = [
            Datum(maker=(1, maker), size=size, low=value - 0.05, high=value + 0.05, unsteadiness=1e-4)
            for maker, value in enumerate(np.round(np.minimum(*heights), 1))
        ]
        (group,) = groups_of(change(data) if change else data, ENDS)
        chain, many = np.random.Generator(np.random.PCG64(at)), len(group.quantities)
        state, kept = posterior.start_of(group, chain), np.zeros((KEPT, 5, many))
        levels = np.zeros((KEPT, 12, many))
        run(chain, group.cells, group.prior, state, 301, 301, kept[:1], levels[:1])
        run(chain, group.cells, group.prior, state, 9 * KEPT, 9, kept, levels)
        for q, name in enumerate(ENDS):
            if name in group.quantities:
                mine = kept[:, :, group.quantities.index(name)]
                for level, into in ((0, 2 * q), (3, 2 * q + 1)):
                    found[into].append(int((mine[:, level] < truth[q][level > 0]).sum()))
    return found


@pytest.fixture(scope="module")
def sanded():
    return sanded_ranks()


@pytest.mark.parametrize("figure", range(4))
def test_ranks_of_what_leaves_the_smaller_of_two_are_even(sanded, figure):
    chance, largest = uniformity(sanded[figure])
    assert chance > 0.001
    assert largest < 1.95 / SANDED**0.5


def test_sanding_taken_alone_is_found_out():
    """Taken for all that leaves the end, the sander's bias comes out too low."""
    chance, largest = uniformity(sanded_ranks(without_leasts)[2])
    assert chance < 1e-6
    assert largest > 1.95 / SANDED**0.5
