"""Prints how fast boxes are made, settled and summed up, as ratios measured in one run: `python tests/bench_check.py`.

Against HiGHS     : a box settled by the contact programme on two threads, against scipy's HiGHS box by box.
Against drawing   : a whole study of a million boxes with all outcomes, against drawing as many normals on one thread.
Where it goes     : processor time a box of every stage on one thread; the floor is the drawing alone.
Causes            : total effects of 12 operations on the joint gap, 20,000 boxes each.
From the shell    : a check of 100,000 boxes in a new process, against a new process that imports numpy and numba.
Memory            : the largest resident size after 100,000, a million and, with `--long`, ten million boxes.

A baseline runs in float64 on one thread with its caches warm. Other work on the machine spoils every figure.
"""

import os
import resource
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
from scipy.optimize import linprog

from assembly.files.reading import read_design, read_workshop
from assembly.made.sampling import BLOCK, draw_block, parts, values
from assembly.nominal.frame import contact_matrix, free_columns
from assembly.study.blocks import WINDOW, Tally, evaluate_block
from assembly.study.check import BoxModel, check, contact_programme
from assembly.study.sensitivity import causes, groups_of

DESIGN, WORKSHOP = read_design("frost_watch"), read_workshop("new_to_tools")
ROOT = Path(__file__).parent.parent


def seconds(work, repeats=3, clock=time.perf_counter):
    """Return the shortest of a few runs."""
    times = []
    for _ in range(repeats):
        start = clock()
        work()
        times.append(clock() - start)
    return min(times)


def highs_per_box(model, before, weights):
    """Return the seconds scipy's HiGHS takes for a box, given the same matrix and weights."""
    matrix = contact_matrix(model.frame).reshape(32, 16)[:, free_columns()]
    price = matrix.T @ weights

    def work():
        for gaps in before.T[:200]:
            linprog(price, A_ub=-matrix, b_ub=gaps, bounds=(None, None), method="highs")

    return seconds(work) / 200


def against_highs(model):
    """Print how fast boxes settle."""
    draws = draw_block(model.inputs, BLOCK, seed=1, block=0)
    before = np.ascontiguousarray(model.making.faces(values(model.inputs, draws)).gaps())
    pattern = np.arange(BLOCK) % 32
    programme = contact_programme(model.frame)
    programme.settle(before, pattern)

    def two_threads():
        with ThreadPoolExecutor(2) as pool:
            list(pool.map(lambda _: programme.settle(before, pattern), range(8)))

    settle = seconds(two_threads) / (8 * BLOCK)
    highs = highs_per_box(model, before, programme.weights[0])
    print(f"settling: {settle * 1e6:.2f} µs a box on 2 threads; HiGHS {highs * 1e6:.0f} µs: {highs / settle:.0f} times")


def drawing_alone(model, boxes):
    """Return the seconds that numpy takes to draw a study's normals, a block at once, and how many a box has."""
    rows = sum(rows for _, _, rows in parts(model.inputs))
    rng = np.random.Generator(np.random.SFC64(1))
    buffer = np.empty((rows, BLOCK))

    def drawing():
        for _ in range(boxes // BLOCK):
            rng.standard_normal(out=buffer)

    return seconds(drawing), rows


def against_drawing(model, boxes):
    """Print how long a whole study takes."""
    alone, rows = drawing_alone(model, boxes)
    whole = seconds(lambda: check(DESIGN, WORKSHOP, boxes=boxes))
    print(
        f"study of {boxes:,} boxes: {whole:.2f} s on {os.cpu_count()} threads; drawing its {rows} normals a box alone "
        f"on one: {alone:.2f} s: {whole / alone:.2f} times"
    )


def where_it_goes(model):
    """Print the processor time a box of every stage, on one thread."""
    inputs = model.inputs
    draws = draw_block(inputs, BLOCK, seed=1, block=0)
    windows = [slice(at, at + WINDOW) for at in range(0, BLOCK, WINDOW)]
    value = [values(inputs, draws, window) for window in windows]
    settled = [model.settle(each) for each in value]
    rows = evaluate_block(model, draws, BLOCK)
    total = Tally.start(model.rows, rows)
    stages = {
        "drawing": lambda: draw_block(inputs, BLOCK, seed=1, block=0),
        "values": lambda: [values(inputs, draws, window) for window in windows],
        "faces": lambda: [model.making.faces(each) for each in value],
        "faces and settling": lambda: [model.settle(each) for each in value],
        "outcomes of the frame": lambda: [model.of_settled(*each) for each in settled],
        "sheets and holes": lambda: [model.fitting.outcomes(each) for each in value],
        "tally": lambda: total.of(rows),
    }
    floor, _ = drawing_alone(model, BLOCK)
    taken = {name: seconds(work, 5, time.thread_time) / BLOCK * 1e6 for name, work in stages.items()}
    taken["settling"] = taken.pop("faces and settling") - taken["faces"]
    shares = ", ".join(f"{name} {each:.2f}" for name, each in taken.items())
    print(f"where it goes, µs a box on one thread: {shares}; together {sum(taken.values()):.2f}, ", end="")
    print(f"floor {floor / BLOCK * 1e6:.2f} (drawing at once)")


def of_causes(model):
    """Print how long it takes to find what is behind the joint gap."""
    named = len(groups_of(model.inputs))
    taken = seconds(lambda: causes(model, ("joint_gap",), boxes=20_000))
    print(f"causes: {taken:.2f} s for {named} groups of 20,000 boxes, {12 * taken / named:.2f} s for 12")


def from_the_shell():
    """Print how long a check takes in a process of its own."""

    def ran(*words):
        return lambda: subprocess.run([sys.executable, *words], cwd=ROOT, capture_output=True, check=False)

    checked = ran("-m", "viewer", "check", "frost_watch")
    checked()  # fills the cache of compiled loops
    whole, alone = seconds(checked, 5), seconds(ran("-c", "import numpy, numba"), 5)
    print(f"lapwright check, 100,000 boxes: {whole:.2f} s; importing numpy and numba {alone:.2f} s: ", end="")
    print(f"{whole - alone:.2f} s more")


STAGES = """
import time
at = time.perf_counter()
def lap(name):
    global at
    print(f"{name} {time.perf_counter() - at:.2f}", end=", ")
    at = time.perf_counter()
import numpy, numba
lap("numpy and numba")
import typer, typer._adapters, rich.progress
from viewer.commands import checking, jobs
job = jobs.read("frost_watch", None, None)
lap("command line and files")
from assembly.model.outcomes import OUTCOMES
from assembly.study import check as study, forecast, linearised
from viewer.reports import check_report, forecast_report
lap("own modules")
study.check(job.design, job.workshop, boxes=1)
lap("compiled loops")
study.check(job.design, job.workshop, boxes=100_000)
lap("study")
forecast.forecast(job.design, job.workshop, classes=1_000)
lap("class forecast")
linearised.linear_parts(study.BoxModel(job.design, job.workshop), tuple(OUTCOMES), boxes=10_000)
lap("linear part")
"""


def stages_from_the_shell():
    """Print where a check's time goes in a new process, by hand through the same stages."""
    done = subprocess.run([sys.executable, "-c", STAGES], cwd=ROOT, capture_output=True, text=True, check=True)
    print(f"of which, s: {done.stdout.removesuffix(', ')}")


def memory(boxes):
    """Print the largest resident size so far, after a study of so many boxes."""
    check(DESIGN, WORKSHOP, boxes=boxes)
    print(f"memory after {boxes:,} boxes: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


def main():
    model = BoxModel(DESIGN, WORKSHOP)
    memory(100_000)
    memory(1_000_000)
    if "--long" in sys.argv:
        memory(10_000_000)
    from_the_shell()
    stages_from_the_shell()
    against_highs(model)
    against_drawing(model, 1_000_000)
    where_it_goes(model)
    of_causes(model)


if __name__ == "__main__":
    main()
