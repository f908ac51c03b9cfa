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
MOST_ROUNDS = 24
AGREED, ENOUGH = 1.01, 400  # R-hat below, effective size over
LEVELS = ("bias", "class_spread", "maker_spread", "spread")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posterior:
    """Joint draws of every figure that readings touch."""

    quantities: tuple[str, ...]
    draws: FloatArray  # (draws, 4, quantities): bias, class, maker and cut spread
    told: FloatArray  # (draws, quantities): the bias as it is told: of one class, with that class's part
    rhat: float  # largest of all figures
    ess: float  # least


def learned(
    data: Sequence[Datum],
    disturbances: Mapping[str, Disturbance],
    *,
    seed: int = 1,
    threads_run: Run = UNWATCHED,
    kept: int = KEPT,
    enough: float = ENOUGH,
) -> Posterior:
    """Return the posterior of every quantity that `data` touch.

    Groups that no reading links are independent in the posterior, so their draws side by side are joint draws.
    """
    groups = groups_of(data, disturbances)
    results = []
    for number, group in enumerate(groups):
        results.append(_agreed(group, np.random.SeedSequence([seed, number]), threads_run, kept, enough))
        threads_run.report(number + 1, len(groups))
    order = {name: at for at, name in enumerate(disturbances)}
    names = [name for group in groups for name in group.quantities]
    by_report = sorted(range(len(names)), key=lambda at: order[names[at]])
    draws = np.concatenate([draws for draws, _, _ in results], axis=2)[:, :, by_report]
    return Posterior(
        quantities=tuple(names[at] for at in by_report),
        draws=draws[:, :4],
        told=draws[:, 4] if len({each.maker[0] for each in data}) == 1 else draws[:, 0],
        rhat=max(worst for _, worst, _ in results),
        ess=min(size for _, _, size in results),
    )


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


def _agreed(
    group: Group, seeds: np.random.SeedSequence, watched: Run, kept: int, enough: float
) -> tuple[FloatArray, float, float]:
    """Run chains until they agree; return draws (chains × kept, 5, Q), the largest R-hat, the least effective size."""
    rngs = [np.random.Generator(np.random.PCG64(each)) for each in seeds.spawn(CHAINS)]
    states = [start_of(group, rng) for rng in rngs]
    many, varies = len(group.quantities), _varies(group)

    def go(at: int, sweeps: int) -> FloatArray:
        """Go on with one chain in pieces, so that a stop is heard."""
        pieces = [np.zeros((PIECE, 5, many)) for _ in range(sweeps // (PIECE * EVERY))]
        for piece in pieces:
            watched.goes_on()
            run(rngs[at], group.cells, group.prior, states[at], PIECE * EVERY, EVERY, piece)
        return np.concatenate(pieces)

    with ThreadPoolExecutor(min(watched.threads, CHAINS)) as pool:
        list(pool.map(go, range(CHAINS), [WARM] * CHAINS))
        chains = np.zeros((CHAINS, 0, 5, many))
        for _ in range(MOST_ROUNDS):
            more = np.stack(list(pool.map(go, range(CHAINS), [SWEEPS] * CHAINS)))
            chains = np.concatenate([chains, more], axis=1)
            figures = chains[:, :, varies[0], varies[1]]
            worst, size = float(rhat(figures).max()), float(ess(figures).min())
            if worst < AGREED and size > enough:
                break
    at = np.linspace(0, chains.shape[1] - 1, kept).round().astype(np.int64)
    return chains[:, at].reshape(-1, 5, many), worst, size


def _varies(group: Group) -> tuple[IntArray, IntArray]:
    """Return the indices of the figures that are not fixed: (row, quantity) of kept draws."""
    free = np.ones((5, len(group.quantities)), dtype=np.bool_)
    free[1:4] = group.prior.median > 0
    row, quantity = np.nonzero(free)
    return row, quantity
