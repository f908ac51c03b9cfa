"""Whether what is learned is calibrated, over workshops drawn from the priors.

    python tests/bench_calibration.py RANKS.jsonl [WORKSHOPS] [PART/PARTS]

Each workshop is read as a class would, two features at a time, every third time those of sawing and sanding, and
learned; ranks of the true figures, and of the true pass share, stand in a line of RANKS.jsonl. What stands there is not
done again, so it can be stopped and gone on with; parts, 0/2 and 1/2, can run side by side into files of their own, and
a last run over all their lines tells the table. Of each workshop one figure of a kind counts, taken at random, so that
ranks are independent: told are chi-square, the largest difference from the even distribution beside its 5 and 0.1 %
points (Kolmogorov), and how many 90 % intervals hold the truth, beside its binomial error. That wrong likelihoods are
found out by the same measures is shown in `test_calibration.py`, where readings are coarse, or sanding takes as much as
sawing left: in workshops like these neither matters enough to be seen in a hundred.
"""

import json
import sys
import time
from pathlib import Path

import numpy as np
from calibration import BEFORE, DESIGN, LEVELS, ranks, taken, uniformity

from assembly.learning import posterior
from assembly.learning.readings import data_of

NAMES = (
    "waste", "length", "lap_line", "shoulder", "gauge_line", "tongue", "line", "thickness", "base_overhang",
    "lid_overhang", "hole_off_x", "bend_angle", "line_drift_upright",
)  # fmt: skip
ENOUGH = 400  # effective draws, of which 99 are taken
KINDS = (*LEVELS, "pass share")


def ranked(at):
    """Return the ranks of one workshop: figure, kind, rank, whether its interval holds the truth."""
    rng = np.random.default_rng([2026, at])
    truth, readings = taken(rng, ["waste", "length"] if at % 3 == 0 else list(rng.permutation(NAMES)[:2]))
    found = ranks(truth, data_of(readings, DESIGN, BEFORE), at, ENOUGH, passes=True)
    return [[*name, rank, inside] for name, (rank, inside) in found.items()]


def go_on(file, number, part, parts):
    """Work out what is not in the file yet; return all its lines."""
    lines = [json.loads(line) for line in file.read_text().splitlines()] if file.exists() else []
    done = {line["at"] for line in lines}
    for at in range(part, number, parts):
        if at not in done:
            lines.append({"at": at, "ranks": ranked(at)})
            with file.open("a", encoding="utf-8") as out:
                out.write(json.dumps(lines[-1]) + "\n")
    return lines


def table(lines):
    print(f"\n{len(lines)} workshops\n{'figure':14}{'ranks':>7}{'chi-square':>12}{'largest':>9}{'5 %':>7}"
          f"{'0.1 %':>7}{'held':>7}{'error':>7}")  # fmt: skip
    for kind in KINDS:
        chosen = []
        for line in sorted(lines, key=lambda line: line["at"]):
            mine = [each for each in line["ranks"] if each[1] == kind]
            if mine:
                chosen.append(mine[np.random.default_rng([line["at"], 5]).integers(len(mine))])
        if len(chosen) < 40:
            continue
        chance, largest = uniformity([rank for _, _, rank, _ in chosen])
        held, root = np.mean([inside for *_, inside in chosen]), len(chosen) ** 0.5
        print(f"{kind:14}{len(chosen):7}{chance:12.3g}{largest:9.3f}{1.358 / root:7.3f}{1.949 / root:7.3f}"
              f"{held:7.3f}{0.3 / root:7.3f}")  # fmt: skip


if __name__ == "__main__":
    posterior.WARM, posterior.FIRST, posterior.MORE, posterior.MOST_ROUNDS = 300, 900, 300, 12
    began, words = time.perf_counter(), sys.argv[1:]
    count = int(words[1]) if len(words) > 1 else 500
    first, of = map(int, words[2].split("/")) if len(words) > 2 else (0, 1)
    table(go_on(Path(words[0]), count, first, of))
    print(f"\n{time.perf_counter() - began:.0f} s")
