"""Whether what is learned is calibrated, over workshops drawn from the priors: python tests/bench_calibration.py [N].

Each is read as a class would, two features at a time, every third time those of sawing and sanding. Ranks of the true
figures are told by kind: chi-square, the largest difference from the even distribution beside its 5 % point, and how
many 90 % intervals hold the truth. The same ranks with two wrong likelihoods must be uneven.
"""

import sys
import time

import numpy as np
from calibration import BEFORE, DESIGN, LEVELS, as_points, ranks, taken, uniformity, without_leasts

from assembly.learning import posterior
from assembly.learning.readings import data_of

NAMES = (
    "waste", "length", "lap_line", "shoulder", "gauge_line", "tongue", "line", "thickness", "base_overhang",
    "lid_overhang", "hole_off_x", "bend_angle", "line_drift_upright",
)  # fmt: skip
WRONG = {"points for intervals": as_points, "sanding alone, no smaller of two": without_leasts}


def ranked(number, change=None, only=None):
    """Return the ranks of so many workshops, by quantity and number."""
    found = {}
    for at in range(number):
        rng = np.random.default_rng([2026, at])
        names = only or (["waste", "length"] if at % 3 == 0 else list(rng.permutation(NAMES)[:2]))
        truth, readings = taken(rng, names)
        data = data_of(readings, DESIGN, BEFORE)
        for key, value in ranks(truth, change(data) if change else data, at).items():
            found.setdefault(key, []).append(value)
    return found


def table(title, found):
    print(f"\n{title}\n{'figure':14}{'ranks':>7}{'chi-square':>12}{'largest':>9}{'5 %':>7}{'held':>7}{'error':>7}")
    for number in LEVELS:
        some = [each for (_, name), many in found.items() if name == number for each in many]
        chance, largest = uniformity([rank for rank, _ in some])
        held, error, limit = (
            np.mean([inside for _, inside in some]),
            np.sqrt(0.09 / len(some)),
            1.358 / len(some) ** 0.5,
        )
        print(f"{number:14}{len(some):7}{chance:12.3f}{largest:9.3f}{limit:7.3f}{held:7.3f}{error:7.3f}")


if __name__ == "__main__":
    posterior.SWEEPS, posterior.MOST_ROUNDS = 500, 6
    count, began = int(sys.argv[1]) if len(sys.argv) > 1 else 500, time.perf_counter()
    table(f"{count} workshops, as it is", ranked(count))
    for words, wrong in WRONG.items():
        table(f"{count // 5} workshops, wrong: {words}", ranked(count // 5, wrong, ["waste", "length"]))
    print(f"\n{time.perf_counter() - began:.0f} s")
