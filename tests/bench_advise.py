"""How long advice takes, and how near brute force it comes: `python tests/bench_advise.py [DESIGN ...]`, by hand.

Brute force makes every single change and every pair of all candidates anew, on fresh boxes: some 1,600 to 2,100 sets,
two minutes a design on one core. The best that a check does not warn of and whose section holds is set against the best
set of at most two that is advised, on those very boxes. It is the best of so many by the boxes that rank it, so chance
favours it. The reduced list is `tests/test_advise.py`.
"""

import resource
import sys
import time

from test_advise import SHIPPED, best_by_brute_force

from assembly.advice.advice import advise
from assembly.changes.apply import apply
from assembly.files.reading import maker, read_design
from assembly.files.shipped import shipped_designs
from assembly.study.check import check

BOXES, SEED = 2_000, 11


def processor():
    """Return the seconds of processor that this process has taken, its own and the system's."""
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


def main():
    """Print for each design how long the advice takes, and what brute force finds beyond it."""
    print("good boxes of a class, advised and by brute force")
    print("design      | advice, s | user+sys, s |  sets | brute force | advised | ahead | best by brute force")
    for name in sys.argv[1:] or shipped_designs():
        design = read_design(name)
        workshop = maker(design, name)
        advise(design, workshop, SHIPPED, at_most=1, boxes=1_000)  # loops are compiled, libraries loaded
        start, used = time.perf_counter(), processor()
        advise(design, workshop, SHIPPED)
        took, cost = time.perf_counter() - start, processor() - used
        found = advise(design, workshop, SHIPPED, at_most=2)
        best = max(found.rows, key=lambda row: row.share.value)
        again = check(*apply(best.change, design, workshop), boxes=BOXES, seed=SEED).pass_share.value
        change, share, sets = best_by_brute_force(design, workshop, SHIPPED, BOXES, SEED)
        brute, advised = design.makers * share, design.makers * again
        print(
            f"{name:11} | {took:9.1f} | {cost:11.1f} | {sets:5,} | {brute:11.2f} | {advised:7.2f} | "
            f"{brute - advised:+5.2f} | {change.words}",
            flush=True,
        )


if __name__ == "__main__":
    main()
