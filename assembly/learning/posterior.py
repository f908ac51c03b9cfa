"""The posterior of everything that readings touch: chains run until they agree, and joint draws of all figures.

figure : bias, class, maker or cut spread of a quantity, in the workshop file's units
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.learning.convergence import ess, rhat
from assembly.learning.likelihood import groups_of
from assembly.learning.sampler import State, run
from assembly.study.driver import UNWATCHED

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from assembly.arrays import FloatArray, IntArray
    from assembly.learning.likelihood import Datum, Group
    from assembly.model.workshop import Disturbance
    from assembly.study.driver import Run

CHAINS = 4
KEPT = 500  # draws of each chain
EVERY = 4  # sweeps from one draw to the next that is looked at
PIECE = 25  # of these, between which a stop is heard
WARM = 500  # sweeps before the first
SWEEPS = 1_000  # of a chain in a round
MOST_ROUNDS = 8
AGREED, ENOUGH = 1.01, 400  # R-hat below, effective size over
LEVELS = ("bias", "class_spread", "maker_spread", "spread")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Levels:
    """What the makers who read do on average: bias, class part and maker part of each quantity together."""

    quantities: tuple[str, ...]
    makers: tuple[tuple[int, int], ...]
    draws: FloatArray  # (draws, makers, quantities)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posterior:
    """Joint draws of every figure that readings touch."""

    quantities: tuple[str, ...]
    draws: FloatArray  # (draws, 4, quantities): bias, class, maker and cut spread
    told: FloatArray  # (draws, quantities): the bias as it is told: of one class, with that class's part
    levels: tuple[Levels, ...]  # of each group of quantities that readings link
    rhat: float  # largest of all figures
    ess: float  # least


def learned(
    data: Sequence[Datum],
    disturbances: Mapping[str, Disturbance],
    *,
    seed: int = 1,
    watched: Run = UNWATCHED,
    kept: int = KEPT,
    enough: float = ENOUGH,
) -> Posterior:
    """Return the posterior of every quantity that `data` touch.

    Groups that no reading links are independent in the posterior, so their draws side by side are joint draws.
    """
    groups = groups_of(data, disturbances)
    results = []
    for number, group in enumerate(groups):
        results.append(_agreed(group, np.random.SeedSequence([seed, number]), watched, kept, enough))
        watched.report(number + 1, len(groups))
    order = {name: at for at, name in enumerate(disturbances)}
    names = [name for group in groups for name in group.quantities]
    by_report = sorted(range(len(names)), key=lambda at: order[names[at]])
    draws = np.concatenate([each.draws for each in results], axis=2)[:, :, by_report]
    return Posterior(
        quantities=tuple(names[at] for at in by_report),
        draws=draws[:, :4],
        told=draws[:, 4] if len({each.maker[0] for each in data}) == 1 else draws[:, 0],
        levels=tuple(
            Levels(quantities=group.quantities, makers=group.makers, draws=each.levels)
            for group, each in zip(groups, results, strict=True)
        ),
        rhat=max(each.rhat for each in results),
        ess=min(each.ess for each in results),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Agreed:
    draws: FloatArray  # (draws, 5, Q)
    levels: FloatArray  # (draws, J, Q)
    rhat: float
    ess: float


def start_of(group: Group, rng: np.random.Generator) -> State:
    """Return where a chain begins: rows within their readings, figures drawn from the prior."""
    cells, prior, many = group.cells, group.prior, len(group.quantities)
    patterns, n = cells.noise.shape
    factor = np.exp(prior.log_sd * rng.standard_normal((3, many)))
    return State(
        y=group.start.copy(),
        pattern=cells.first_pattern.copy(),
        bias=prior.bias + prior.bias_sd * rng.standard_normal(many),
        class_part=np.zeros((len(cells.class_has), many)),
        maker_part=np.zeros((len(group.makers), many)),
        spread=prior.median * factor,
        factor=np.zeros((patterns, n, n)),
        precision=np.zeros((patterns, n, n)),
        log_det=np.zeros(patterns),
    )


def _agreed(group: Group, seeds: np.random.SeedSequence, watched: Run, kept: int, enough: float) -> _Agreed:
    """Run chains until they agree, and return so many draws of each."""
    rngs = [np.random.Generator(np.random.PCG64(each)) for each in seeds.spawn(CHAINS)]
    states = [start_of(group, rng) for rng in rngs]
    many, makers, varies = len(group.quantities), len(group.makers), _varies(group)

    def go(at: int, sweeps: int) -> tuple[FloatArray, FloatArray]:
        """Go on with one chain in pieces, so that a stop is heard."""
        number = sweeps // (PIECE * EVERY)
        pieces, levels = np.zeros((number, PIECE, 5, many)), np.zeros((number, PIECE, makers, many))
        for piece, level in zip(pieces, levels, strict=True):
            watched.goes_on()
            run(rngs[at], group.cells, group.prior, states[at], PIECE * EVERY, EVERY, piece, level)
        return pieces.reshape(-1, 5, many), levels.reshape(-1, makers, many)

    found: list[list[tuple[FloatArray, FloatArray]]] = []
    with ThreadPoolExecutor(min(watched.threads, CHAINS)) as pool:
        list(pool.map(go, range(CHAINS), [WARM] * CHAINS))
        for _ in range(MOST_ROUNDS):
            found.append(list(pool.map(go, range(CHAINS), [SWEEPS] * CHAINS)))
            chains = np.stack([np.concatenate([each[at][0] for each in found]) for at in range(CHAINS)])
            figures = chains[:, :, varies[0], varies[1]]
            worst, size = float(rhat(figures).max()), float(ess(figures).min())
            if worst < AGREED and size > enough:
                break
    at = np.linspace(0, chains.shape[1] - 1, kept).round().astype(np.int64)
    levels = np.stack([np.concatenate([each[chain][1] for each in found])[at] for chain in range(CHAINS)])
    return _Agreed(
        draws=chains[:, at].reshape(-1, 5, many), levels=levels.reshape(-1, makers, many), rhat=worst, ess=size
    )


def _varies(group: Group) -> tuple[IntArray, IntArray]:
    """Return the indices of the figures that are not fixed: (row, quantity) of kept draws."""
    free = np.ones((5, len(group.quantities)), dtype=np.bool_)
    free[1:4] = group.prior.median > 0
    row, quantity = np.nonzero(free)
    return row, quantity
