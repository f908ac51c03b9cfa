"""Published problems, put as models of random inputs, to run through the project's own study."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from assembly.tolerance.sampling import Input


@dataclass(frozen=True)
class Formula:
    """A model of one row `y` (and more, where named) from plain inputs of one place each."""

    inputs: Sequence[Input]
    formula: Callable[..., object]
    rows: Sequence[str] = ("y",)

    def evaluate(self, value):
        arguments = {name: array[0] for name, array in value.items()}
        boxes = max(len(array) for array in arguments.values())
        told = self.formula(**arguments)
        return np.vstack([np.broadcast_to(row, boxes) for row in (told if isinstance(told, tuple) else (told,))])


def plain(name: str, mean: float, sd: float, family: str = "normal") -> Input:
    """Return an input drawn anew for every box; the group is its own name."""
    return Input(name=name, group=name, family=family, bias=mean, spread=sd)


def additive(family: str, sds=(1, 1, 1, 1)) -> Formula:
    """Return the sum of inputs with mean 0 (JCGM 101:2008, 9.2.1)."""
    inputs = [plain(f"x{i}", 0, sd, family) for i, sd in enumerate(sds)]
    return Formula(inputs, lambda **x: sum(x.values()))


# One-way clutch: hub a, roller radius c, ring radius e, mm; standard deviations a third of .050, .010, .0125.
# Source: Chase, Gao & Magleby 1995; Cvetko, Chase & Magleby 1998; Glancy & Chase 1999 (figures from memory, recomputed
# by quadrature): pressure angle of mean 7.014953° and standard deviation 0.219668° over 1e9 trials.
CLUTCH = Formula(
    [plain("a", 27.645, 0.050 / 3), plain("c", 11.430, 0.010 / 3), plain("e", 50.800, 0.0125 / 3)],
    lambda a, c, e: np.degrees(np.arccos((a + c) / (e - c))),
)
