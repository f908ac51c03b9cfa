"""A small, fast part of `bench_calibration.py`: ranks of true figures are even, and uneven with a wrong likelihood."""

import numpy as np
from calibration import BEFORE, DESIGN, HELD, INSTRUMENTS, KEPT, as_points, from_prior, uniformity

from assembly.learning import posterior
from assembly.learning.features import Spot
from assembly.learning.likelihood import groups_of
from assembly.learning.readings import data_of
from assembly.learning.sampler import run
from assembly.learning.simulated import simulate

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
