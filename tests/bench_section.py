"""How long `lapwright section` takes after start-up: a table of 8 by 8 pairs, one section, and searches for a cure.

Run: python tests/bench_section.py
"""

import time

from assembly.files.reading import maker, read_design
from assembly.files.stock import read_stock
from assembly.section.pairs import section_table
from assembly.section.section import study_section
from assembly.section.variants import varied

BOXES = 20_000
ROOMY = ("box.length=300", "box.width=300")
# What is tried: settings of the present design, then the section.
TRIED = {
    "sound with care, no cure sought": ((), {"lapped": 12, "plain": 9}),
    "cure found at once": ((), {"lapped": 8}),
    "nothing in the list": ((), {"lapped": 4, "plain": 3}),
    "1,854 candidates, none holds": (ROOMY, {"lapped": 60, "plain": 60}),
    "a sixth of the reference's joints": (("timber.lapped=30", "timber.plain=28", *ROOMY), {"lapped": 6, "plain": 4}),
    "the slowest that was found": (("timber.lapped=44", "timber.plain=40", *ROOMY), {"lapped": 11, "plain": 8}),
}


def timed(work):
    """Return how long work takes, in seconds, and what it returns."""
    start = time.perf_counter()
    found = work()
    return time.perf_counter() - start, found


def main():
    """Print the time of each."""
    design = read_design("frost_watch")
    workshop = maker(design, "frost_watch")
    study_section(design, varied(design, lapped=12), workshop, boxes=200)  # start-up: compiled loops are loaded
    for words, (settings, sizes) in TRIED.items():
        present = read_design("frost_watch", settings)
        took, found = timed(lambda: study_section(present, varied(present, **sizes), workshop, boxes=BOXES))  # noqa: B023
        print(f"{took:6.2f} s  {words}: {found.cure.candidate.change.words if found.cure else 'no cure'}")
    stock = read_stock("stock")
    took, found = timed(lambda: section_table(design, stock, workshop, boxes=BOXES))
    print(f"{took:6.2f} s  table of {found.pairs} pairs at {BOXES:,} boxes")


if __name__ == "__main__":
    main()
