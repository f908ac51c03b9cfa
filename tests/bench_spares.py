"""What a class's spares cost: 120 makers in 2,000 classes, beside drawing as many numbers with numpy; one thread.

Run: python tests/bench_spares.py [makers; 120 if nothing is said]
Ratios of one run hold on any machine, seconds on a quiet one.
"""

import sys
import time

import numpy as np

from assembly.files.reading import read_design, read_workshop
from assembly.files.shipped import shipped_designs, shipped_workshops
from assembly.made.sampling import BLOCK
from assembly.order.making_again import OF_LAPS, OF_LENGTH
from assembly.order.spoilage import CLASSES, spares
from assembly.order.spoilt_classes import SAMPLED
from assembly.study.driver import Run

ALONE = Run(threads=1)
NUMBERS = 4 * len(OF_LENGTH) + 2 * len(OF_LAPS)  # of a maker who spoils nothing, paring left out


def timed(work):
    """Return the least seconds of one core over three times, and what came of it."""
    times = []
    for _ in range(3):
        start = time.process_time()
        found = work()
        times.append(time.process_time() - start)
    return min(times), found


def main(makers=120):
    simulated = min(makers, SAMPLED) * CLASSES
    rng = np.random.Generator(np.random.SFC64(1))
    drawn = timed(lambda: [rng.standard_normal((NUMBERS, BLOCK)) for _ in range(simulated // BLOCK)])[0]
    print(f"{makers} makers in {CLASSES} classes; {NUMBERS} numbers for each of {simulated} by numpy: {drawn:.2f} s")
    spares(read_design("frost_watch"), read_workshop("practised"), makers=2, seed=1, run=ALONE)  # compiled
    for name in shipped_designs():
        for hands in shipped_workshops():
            design, workshop = read_design(name), read_workshop(hands)
            took, found = timed(lambda d=design, w=workshop: spares(d, w, makers=makers, seed=1, run=ALONE))
            words = ", ".join(f"{each.spares} for {each.needed} {each.piece}s" for each in found)
            print(f"  {name:11} {hands:13} {took:.2f} s, {took / drawn:.2f} times that; {words}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
