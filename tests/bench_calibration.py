"""Whether what is learned is calibrated, over workshops drawn from the priors.

    python tests/bench_calibration.py RANKS.jsonl [WORKSHOPS] [PART/PARTS]

Each workshop is read as a class would, two features at a time, every third time those of sawing and sanding, and
learned; ranks of the true figures, and of the true pass share, stand in a line of RANKS.jsonl. What stands there is not
done again, so it can be stopped and gone on with; parts, 0/2 and 1/2, can run side by side into files of their own, and
a last run over all their lines tells the tables. Of each workshop one figure of a kind counts, taken at random, so that
ranks are independent: told are chi-square, the largest difference from the even distribution beside its 5 and 0.1 %
points (Kolmogorov), and how many 90 % intervals hold the truth, beside its binomial error. With two wrong likelihoods,
a fifth of the workshops each, the ranks must be uneven.
"""

import json
import sys
import time
from pathlib import Path

import numpy as np
from calibration import BEFORE, DESIGN, LEVELS, as_points, ranks, taken, uniformity, without_leasts

from assembly.learning import posterior
from assembly.learning.readings import data_of

NAMES = (
    "waste", "length", "lap_line", "shoulder", "gauge_line", "tongue", "line", "thickness", "base_overhang",
    "lid_overhang", "hole_off_x", "bend_angle", "line_drift_upright",
)  # fmt: skip
RIGHT = "as it is"
WRONG = {"points for intervals": as_points, "sanding alone, no smaller of two": without_leasts}
ENOUGH = 400  # effective draws, of which 99 are taken; of the wrong likelihoods
ROUGH = 100  # do, as they are to be far off
KINDS = (*LEVELS, "pass share")


def ranked(at, kind):
    """Return the ranks of one workshop by one likelihood: figure -> rank, whether its interval holds the truth."""
    rng = np.random.default_rng([2026, at])
    paired = at % 3 == 0 or kind != RIGHT
    truth, readings = taken(rng, ["waste", "length"] if paired else list(rng.permutation(NAMES)[:2]))
    data = data_of(readings, DESIGN, BEFORE)
    right = kind == RIGHT
    found = ranks(truth, data if right else WRONG[kind](data), at, ENOUGH if right else ROUGH, passes=right)
    return [[*name, rank, inside] for name, (rank, inside) in found.items()]


def go_on(file, number, part, parts):
    """Work out what is not in the file yet; return all its lines."""
    lines = [json.loads(line) for line in file.read_text().splitlines()] if file.exists() else []
    done = {(line["kind"], line["at"]) for line in lines}
    plan = [(at // 5, kind) for at in range(0, number, 5) for kind in WRONG] + [(at, RIGHT) for at in range(number)]
    for at, kind in sorted(plan, key=lambda each: each[0] * (1 if each[1] == RIGHT else 5)):
        if at % parts == part and (kind, at) not in done:
            lines.append({"kind": kind, "at": at, "ranks": ranked(at, kind)})
            with file.open("a", encoding="utf-8") as out:
                out.write(json.dumps(lines[-1]) + "\n")
    return lines


def table(title, lines):
    print(f"\n{len(lines)} workshops, {title}\n{'figure':14}{'ranks':>7}{'chi-square':>12}{'largest':>9}{'5 %':>7}"
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
    found = go_on(Path(words[0]), count, first, of)
    for kind in (RIGHT, *WRONG):
        table(kind, [line for line in found if line["kind"] == kind])
    print(f"\n{time.perf_counter() - began:.0f} s")
