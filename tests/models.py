"""Published problems, put as models of random inputs, to run through the project's own study."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from assembly.made.sampling import Input


@dataclass(frozen=True)
class Formula:
    """A model of one row `y` (and more, where named); inputs of one place come as (boxes,), else as (places, boxes)."""

    inputs: Sequence[Input]
    formula: Callable[..., object]
    rows: Sequence[str] = ("y",)

    def evaluate(self, value):
        boxes = max(array.shape[-1] for array in value.values())
        arguments = {name: array[0] if len(array) == 1 else array for name, array in value.items()}
        outcomes = self.formula(**arguments)
        return np.vstack(
            [np.broadcast_to(row, boxes) for row in (outcomes if isinstance(outcomes, tuple) else (outcomes,))]
        )


def plain(name: str, mean: float, sd: float, family: str = "normal") -> Input:
    """Return an input drawn anew for every box; the group is its own name."""
    return Input(name=name, group=name, family=family, bias=mean, spread=sd)


def additive(family: str, sds=(1, 1, 1, 1)) -> Formula:
    """Return the sum of inputs with mean 0 (JCGM 101:2008, 9.2.1)."""
    inputs = [plain(f"x{i}", 0, sd, family) for i, sd in enumerate(sds)]
    return Formula(inputs, lambda **x: sum(x.values()))


def between(name: str, low: float, high: float) -> Input:
    """Return an input uniform from `low` to `high`."""
    return plain(name, (low + high) / 2, (high - low) / math.sqrt(12), "uniform")


def stack(sizes: dict[str, float], tolerances: dict[str, float]) -> Formula:
    """Return a gap, the sum of signed sizes; each is normal with a third of its tolerance as standard deviation."""
    signs = {name: math.copysign(1, size) for name, size in sizes.items()}
    inputs = [plain(name, abs(size), tolerances[name] / 3) for name, size in sizes.items()]
    return Formula(inputs, lambda **x: sum(signs[name] * size for name, size in x.items()))


# One-way clutch: hub a, roller radius c, ring radius e, mm; standard deviations a third of .050, .010, .0125.
# Source: Chase, Gao & Magleby 1995; Cvetko, Chase & Magleby 1998; Glancy & Chase 1999 (figures from memory, recomputed
# by quadrature): pressure angle of mean 7.014953° and standard deviation 0.219668° over 1e9 trials.
CLUTCH = Formula(
    [plain("a", 27.645, 0.050 / 3), plain("c", 11.430, 0.010 / 3), plain("e", 50.800, 0.0125 / 3)],
    lambda a, c, e: np.degrees(np.arccos((a + c) / (e - c))),
)

# Ishigami & Homma 1990, with a = 7, b = 0.1. Source of the indices: OpenTURNS, all digits; closed form.
ISHIGAMI = Formula(
    [between(f"x{i}", -math.pi, math.pi) for i in (1, 2, 3)],
    lambda x1, x2, x3: np.sin(x1) + 7 * np.sin(x2) ** 2 + 0.1 * x3**4 * np.sin(x1),
)
ISHIGAMI_TOTAL = {"x1": 0.557589, "x2": 0.442411, "x3": 0.243684}
ISHIGAMI_VARIANCE = 13.844588

# Mass calibration, mg: source JCGM 101:2008, 9.3.1 and Table 5.
MASS = Formula(
    [
        plain("reference", 100_000.0, 0.050),
        plain("added", 1.234, 0.020),
        between("air", 1.10, 1.30),
        between("weight", 7e3, 9e3),
        between("standard", 7.95e3, 8.05e3),
    ],
    lambda reference, added, air, weight, standard: (
        (reference + added) * (1 + (air - 1.2) * (1 / weight - 1 / standard)) - 100_000.0
    ),
)

# Eleven-part motor gap, inch. Source: Drake (ed.), Dimensioning and Tolerancing Handbook, 1999, ch. 9 (from memory).
MOTOR_SIZES = (-0.3595, 0.0320, 0.0600, 0.4305, 0.1200, 1.5030, 0.1200, 0.4305, 0.4500, -3.0250, 0.3000)
MOTOR_TOLERANCES = (0.0155, 0.0020, 0.0030, 0.0075, 0.0050, 0.0070, 0.0050, 0.0075, 0.0070, 0.0060, 0.0300)
MOTOR = stack(
    {f"d{i}": size for i, size in enumerate(MOTOR_SIZES)},
    {f"d{i}": tolerance for i, tolerance in enumerate(MOTOR_TOLERANCES)},
)

# Shaft and housing, inch. Source: Chase, Tolerance Allocation Methods for Designers, ADCATS 99-6, 1999 (from memory).
SHAFT_SIZES = {"A": -0.0505, "B": 8.000, "C": -0.5093, "D": 0.400, "E": -7.711, "F": 0.400, "G": -0.5093}
SHAFT_TOLERANCES = {"A": 0.0015, "B": 0.008, "C": 0.0025, "D": 0.002, "E": 0.006, "F": 0.002, "G": 0.0025}


def shaft(factor: float = 1.0) -> Formula:
    """Return the shaft and housing's gap with the tolerances of B, D, E, F scaled; A, C, G are bought parts."""
    scaled = {name: t if name in "ACG" else factor * t for name, t in SHAFT_TOLERANCES.items()}
    return stack(SHAFT_SIZES, scaled)


def classed(limit: float = 0.0, *, shared: float = 1.0, own: float = 1.0) -> Formula:
    """Return boxes that pass where a class's part and a maker's own stay below `limit` together."""
    inputs = [Input(name="x", group="x", class_spread=shared, maker_spread=own)]
    return Formula(inputs, lambda x: (x, x < limit), rows=("x", "passes"))
