"""The posterior of everything that readings touch: chains run until they agree, and joint draws of all figures.

figure : bias, class, maker or cut spread of a quantity, in the workshop file's units
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from threading import Lock
from typing import TYPE_CHECKING

import numpy as np

from assembly.learning.convergence import ess, rhat
from assembly.learning.features import Form, Size
from assembly.learning.likelihood import Datum, groups_of
from assembly.learning.sampler import State, run
from assembly.model.workshop import Disturbance
from assembly.study.driver import UNWATCHED

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from assembly.arrays import FloatArray, IntArray
    from assembly.learning.likelihood import Group
    from assembly.study.driver import Run

CHAINS = 4
KEPT = 500  # draws of each chain
EVERY = 3  # sweeps from one draw to the next that is looked at: odd, as levels go from one side to the other
PIECE = 25  # of these, between which a stop is heard
WARM = 300  # sweeps before the first
FIRST, MORE = 1_500, 450  # sweeps of a chain in the first round, and in each that is needed after it
MOST_ROUNDS = 20
PARTS = 100  # of a group's work, for progress
FIRST_SHARE = 0.7  # of it that the first round stands for: mostly no more rounds are needed
FARTHEST = 4.0  # standard deviations of a spread's log, where a chain begins: within its prior's ends
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
        tell = partial(_report, watched, number, len(groups))
        chains = _Chains(group, np.random.SeedSequence([seed, number]), watched, tell)
        chains.until(enough)
        results.append(chains.agreed(kept))
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


def _report(watched: Run, number: int, of: int, share: float) -> None:
    """Tell how far all groups are, from how far the one with that number is."""
    watched.report(int(PARTS * (number + share)), PARTS * of)


def ready() -> None:
    """Load the compiled loop of the chains; it is compiled now where that has never been done, which takes long."""
    size = Size(Form(errors={("a", ""): 1.0}))
    datum = Datum(maker=(1, 1), size=size, low=0.0, high=1.0, unsteadiness=0.1)
    (group,) = groups_of([datum], {"a": Disturbance(maker_spread=1.0, spread=1.0)})
    rng = np.random.Generator(np.random.PCG64(1))
    run(rng, group.cells, group.prior, start_of(group, rng), 0, 1, np.zeros((0, 5, 1)), np.zeros((0, 1, 1)))


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
    factor = np.exp(prior.log_sd * np.clip(rng.standard_normal((3, many)), -FARTHEST, FARTHEST))
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


class _Chains:
    """The chains of one group, each with random numbers of its own: how far they are does not depend on threads."""

    def __init__(
        self, group: Group, seeds: np.random.SeedSequence, watched: Run, tell: Callable[[float], None]
    ) -> None:
        self.group, self.watched, self.tell, self.varies = group, watched, tell, _varies(group)
        self.rngs = [np.random.Generator(np.random.PCG64(each)) for each in seeds.spawn(CHAINS)]
        self.states = [start_of(group, rng) for rng in self.rngs]
        self.draws = np.zeros((CHAINS, 0, 5, len(group.quantities)))
        self.levels = np.zeros((CHAINS, 0, len(group.makers), len(group.quantities)))
        self.rhat, self.ess = np.inf, 0.0
        self.lock, self.done = Lock(), 0  # pieces of all chains

    def until(self, enough: float) -> None:
        """Run all chains until they agree and are worth `enough` draws; tell how near that is, 1 at the end."""
        with ThreadPoolExecutor(min(self.watched.threads, CHAINS)) as pool:
            list(pool.map(self._went, range(CHAINS), [WARM] * CHAINS))
            for number in range(MOST_ROUNDS):
                pieces = list(pool.map(self._went, range(CHAINS), [MORE if number else FIRST] * CHAINS))
                self.draws = np.concatenate([self.draws, np.stack([draws for draws, _ in pieces])], axis=1)
                self.levels = np.concatenate([self.levels, np.stack([levels for _, levels in pieces])], axis=1)
                figures = self.draws[:, :, self.varies[0], self.varies[1]]
                self.rhat, self.ess = float(rhat(figures).max()), float(ess(figures).min())
                if self.rhat < AGREED and self.ess > enough:
                    break
                self.tell(max(FIRST_SHARE, min(self.ess / enough, 1 - 1 / PARTS)))
        self.tell(1.0)

    def _went(self, at: int, sweeps: int) -> tuple[FloatArray, FloatArray]:
        """Go on with one chain in pieces, so that a stop is heard and the first round is seen to go on."""
        number, many, makers = sweeps // (PIECE * EVERY), len(self.group.quantities), len(self.group.makers)
        pieces, levels = np.zeros((number, PIECE, 5, many)), np.zeros((number, PIECE, makers, many))
        first = CHAINS * (WARM + FIRST) // (PIECE * EVERY)
        for piece, level in zip(pieces, levels, strict=True):
            self.watched.goes_on()
            group = self.group
            run(self.rngs[at], group.cells, group.prior, self.states[at], PIECE * EVERY, EVERY, piece, level)
            with self.lock:
                self.done += 1
                if self.done < first:
                    self.tell(FIRST_SHARE * self.done / first)
        return pieces.reshape(-1, 5, many), levels.reshape(-1, makers, many)

    def agreed(self, kept: int) -> _Agreed:
        """Return so many draws of each chain."""
        at = np.linspace(0, self.draws.shape[1] - 1, kept).round().astype(np.int64)
        draws, levels = self.draws[:, at], self.levels[:, at]
        return _Agreed(
            draws=draws.reshape(-1, *draws.shape[2:]),
            levels=levels.reshape(-1, *levels.shape[2:]),
            rhat=self.rhat,
            ess=self.ess,
        )


def _varies(group: Group) -> tuple[IntArray, IntArray]:
    """Return the indices of the figures that are not fixed: (row, quantity) of kept draws."""
    free = np.ones((5, len(group.quantities)), dtype=np.bool_)
    free[1:4] = group.prior.median > 0
    row, quantity = np.nonzero(free)
    return row, quantity
