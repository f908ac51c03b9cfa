"""Prints how fast boxes are settled and checked, as ratios measured in one run: `python tests/bench_check.py`.

Against HiGHS: boxes settled a second by the contact programme on two threads, over those of scipy's HiGHS, one by one.
Against drawing: a whole check of a million boxes, over the time numpy needs on one thread only to draw as many normals.
Memory: the largest resident size after 100,000 and after a million boxes.
"""

import resource
import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from scipy.optimize import linprog

from assembly.frame import contact_matrix, free_columns
from assembly.reading import read_design, read_workshop
from assembly.tolerance.check import BoxModel, check, contact_programme
from assembly.tolerance.sampling import BLOCK, draw_block, parts, values

DESIGN, WORKSHOP = read_design("frost_watch"), read_workshop("new_to_tools")


def seconds(work, repeats=3):
    """Return the shortest of a few runs."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def highs_per_box(model, before, weights):
    """Return the seconds scipy's HiGHS takes for a box, given the same matrix and weights."""
    matrix = contact_matrix(model.frame).reshape(32, 16)[:, free_columns()]
    price = matrix.T @ weights

    def work():
        for gaps in before.T[:200]:
            linprog(price, A_ub=-matrix, b_ub=gaps, bounds=(None, None), method="highs")

    return seconds(work) / 200


def main():
    model = BoxModel(DESIGN, WORKSHOP)
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

    boxes = 1_000_000
    rows = sum(rows for _, _, rows in parts(model.inputs))
    rng = np.random.Generator(np.random.SFC64(1))
    buffer = np.empty((rows, BLOCK))
    rng.standard_normal(out=buffer)

    def drawing():
        for _ in range(boxes // BLOCK):
            rng.standard_normal(out=buffer)

    check(DESIGN, WORKSHOP, boxes=100_000)
    small = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    whole = seconds(lambda: check(DESIGN, WORKSHOP, boxes=boxes), repeats=3)
    large = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    alone = seconds(drawing)
    print(
        f"check of {boxes:,} boxes: {whole:.2f} s; drawing its {rows} normals a box alone: {alone:.2f} s: "
        f"{whole / alone:.2f} times"
    )
    print(f"memory: {small:.0f} MB after 100,000 boxes, {large:.0f} MB after {boxes:,}")


if __name__ == "__main__":
    main()
