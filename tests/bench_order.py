"""How long plans of lengths and sheets take for the shipped designs' classes, beside a plain first fit; and mixtures.

Run: python tests/bench_order.py
"""

import random
import sys
import time
from itertools import islice
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from orders import DESIGNS, length, needed, sheet

from assembly.order.layouts import SheetOnSale
from assembly.order.lengths import fewest_lengths, first_fit
from assembly.order.packing import packings
from assembly.order.patterns import Stock
from assembly.order.sheets import fewest_sheets
from assembly.order.straight_layouts import best_layouts, grids
from assembly.order.wanted import Wanted

RUNS = 5
LENGTH, SHEET = 2400, (1220, 610)


def timed(work):
    """Return the shortest time of some runs, ms, each from scratch, and what the work returns."""
    took = []
    for _ in range(RUNS):
        best_layouts.cache_clear()
        grids.cache_clear()
        start = time.perf_counter()
        found = work()
        took.append(time.perf_counter() - start)
    return 1e3 * min(took), found


def stock_of(sizes, counts):
    """Return pieces in whole units, as the plan has them."""
    on_sale = length(LENGTH)
    units = tuple(round(1000 * (size + on_sale.kerf)) for size in sizes)
    return Stock(sizes=units, counts=tuple(counts), room=round(1000 * (on_sale.usable + on_sale.kerf)))


def wanted_of(sizes, counts, on_sale):
    units = [(round(1000 * (x + on_sale.kerf)), round(1000 * (y + on_sale.kerf))) for x, y in sizes]
    room = tuple(round(1000 * (each + on_sale.kerf)) for each in on_sale.usable)
    return Wanted(sizes=tuple(units), counts=tuple(counts), room=room, straight=on_sale.straight, turn=on_sale.turn)


def row(words, count, bound, took, plain, first):
    """Print a plan: what it takes, the bound, its time, the ratio to that of a first fit, and what that takes."""
    print(f"{words:44} {count:3} of {bound:3} {took:7.2f} ms {took / plain:7.1f} x  first fit {first:3}")


def classes(makers):
    """Print the plans of a class of each shipped design, and what they take together."""
    total = 0.0
    for design in DESIGNS:
        sections, sheets = needed(design, makers)
        for (material, thickness, width), (sizes, counts) in sections.items():
            took, plan = timed(lambda: fewest_lengths(sizes, counts, length(LENGTH)))  # noqa: B023
            plain, first = timed(lambda: first_fit(stock_of(sizes, counts)))  # noqa: B023
            words = f"{makers:4} {design:12} {material} {thickness:g} x {width:g}"
            row(words, len(plan.lengths), plan.bound, took, plain, len(first))
            total += took
        for (material, thickness, _), (sizes, counts) in sheets.items():
            on_sale = sheet(SHEET, straight=material != "acrylic", turn=True)
            took, plan = timed(lambda: fewest_sheets(sizes, counts, on_sale))  # noqa: B023
            plain, first = timed(lambda: next(packings(wanted_of(sizes, counts, on_sale))))  # noqa: B023
            words = f"{makers:4} {design:12} {material} {thickness:g}"
            row(words, len(plan.sheets), plan.bound, took, plain, len(first))
            total += took
    print(f"{makers:4} makers of all three designs: {total:.0f} ms\n")


def mixtures():
    """Print how many of random orders of one to four kinds are proved least, and how long they take."""
    rng = random.Random(1)
    for kinds in (1, 2, 3, 4):
        proved, took, beyond, slowest = 0, 0.0, 0, 0.0
        for _ in range(40):
            sizes = [(rng.uniform(50, 300), rng.uniform(40, 200)) for _ in range(kinds)]
            counts = [rng.choice((5, 10, 26, 60)) for _ in range(kinds)]
            size = rng.choice(((600, 300), (600, 600), (1000, 500), (1220, 610)))
            on_sale = SheetOnSale(
                length=size[0], width=size[1], kerf=3, edge_trim=5, straight=rng.random() < 0.5, turn=rng.random() < 0.5
            )
            start = time.perf_counter()
            plan = fewest_sheets(sizes, counts, on_sale)
            took += time.perf_counter() - start
            slowest = max(slowest, time.perf_counter() - start)
            proved += plan.proved
            beyond = max(beyond, plan.beyond)
        print(
            f"{kinds} kinds: {proved} of 40 proved, at most {beyond} beyond; "
            f"mean {25 * took:.0f} ms, slowest {slowest:.2f} s"
        )


def own_sizes():
    """Print the plans of pieces that are all different."""
    for seed in islice(range(300), 0, 300, 50):
        rng = random.Random(seed)
        sizes = sorted({rng.randint(340, 790) for _ in range(60)})
        took, plan = timed(lambda: fewest_lengths(sizes, [1] * len(sizes), length(LENGTH)))  # noqa: B023
        plain, first = timed(lambda: first_fit(stock_of(sizes, [1] * len(sizes))))  # noqa: B023
        row(f"{len(sizes)} different pieces", len(plan.lengths), plan.bound, took, plain, len(first))


def main():
    """Print all of it: what is taken of what bound, the time, its ratio to a plain first fit, and what that takes."""
    start = time.perf_counter()
    import highspy  # noqa: F401, PLC0415
    import rectpack  # noqa: F401, PLC0415

    print(f"highspy and rectpack load in {time.perf_counter() - start:.2f} s, which few plans need\n")
    for makers in (26, 120, 600):
        classes(makers)
    own_sizes()
    mixtures()


if __name__ == "__main__":
    main()
