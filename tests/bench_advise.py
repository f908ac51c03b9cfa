"""How long advice takes, and how near brute force it comes: `python tests/bench_advise.py [DESIGN ...]`, by hand.

Brute force makes every pair of all candidates anew, on fresh boxes. The best pair that a check does not warn of and
whose section holds is set against the best set of at most two that is advised, on those very boxes. It takes some
minutes a design. The reduced list is `tests/test_advise.py`.
"""

import sys
import time

from test_advise import SHIPPED, best_of_all_pairs

from assembly.advice.advice import advise
from assembly.changes.apply import apply
from assembly.files.reading import maker, read_design
from assembly.files.shipped import shipped_designs
from assembly.study.check import check

BOXES, SEED = 2_000, 11


def main():
    """Print for each design how long the advice takes, and what brute force finds beyond it."""
    for name in sys.argv[1:] or shipped_designs():
        design = read_design(name)
        workshop = maker(design, name)
        start, used = time.perf_counter(), time.process_time()
        advise(design, workshop, SHIPPED)
        took = f"{time.perf_counter() - start:5.1f} s, {time.process_time() - used:5.1f} s of processor"
        found = advise(design, workshop, SHIPPED, at_most=2)
        best = max(found.rows, key=lambda row: row.share.value)
        again = check(*apply(best.change, design, workshop), boxes=BOXES, seed=SEED).pass_share.value
        brute = best_of_all_pairs(design, workshop, SHIPPED, BOXES, SEED)
        behind = design.makers * (brute - again)
        print(f"{name}: {took}; brute force is {behind:+.2f} of {design.makers} boxes better", flush=True)


if __name__ == "__main__":
    main()
