"""How long `lapwright order` takes for 120 makers, and what of it is start-up: `python tests/bench_order_command.py`.

Start-up is a process that loads all that the command loads, numba's compiled loops from their cache among it, and ends.
Both are run in turn in processes of their own; then, in this process, each part of the work by itself. What is printed
are medians of one run; wall time on an otherwise idle machine.
"""

import statistics
import subprocess
import sys
import tempfile
import time

from assembly.files.reading import maker, read_design
from assembly.files.shipped import shipped_designs
from assembly.files.stock import read_on_sale
from assembly.order.class_pieces import SpareRule, class_pieces
from assembly.order.glue import glue_for
from assembly.order.order import order_for
from assembly.order.sawn_lengths import sawn_sections
from assembly.order.sawn_sheets import sawn_sheets
from viewer.reports.order_pages import order_pages
from viewer.reports.order_report import order_text
from viewer.sheets.page import PAPERS
from viewer.sheets.typeset import pdf

MAKERS, TIMES = 120, 5
# The smallest order: what it does is next to nothing, what it loads is everything.
LEAST = """
from viewer.commands import jobs, ordering
from assembly.files.stock import read_on_sale
from assembly.order.glue import glue_for
from assembly.order.spoilage import spares
from assembly.order.sawn_sheets import sawn_sheets
from viewer.reports import order_pages, order_report
from viewer.sheets.typeset import pdf
import rectpack, typst, numba
job = jobs.read({name!r})
glue_for(job.design, job.workshop, seed=1, boxes=2)
spares(job.design, job.workshop, makers=1, share=0.0, classes=2, seed=1)
pdf([], "")
"""


def took(words):
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL, cwd=folder)
    return time.perf_counter() - start


def parts(name):
    """Return how long each part of the work takes in this process, loaded and compiled, in seconds."""
    design, stock, found = read_design(name, [f"makers={MAKERS}"]), read_on_sale(), {}
    workshop = maker(design, name)

    def timed(words, work):
        work()
        start = time.perf_counter()
        result = work()
        found[words] = time.perf_counter() - start
        return result

    timed("glue", lambda: glue_for(design, workshop, seed=1))
    pieces = timed("spares", lambda: class_pieces(design, workshop, SpareRule(), seed=1))
    timed("lengths", lambda: sawn_sections(pieces, stock))
    timed("sheets", lambda: sawn_sheets(pieces, stock))
    order = order_for(design, workshop, stock, SpareRule())
    timed("text", lambda: order_text(order, stock.sections, None))
    pages = timed("pages", lambda: order_pages(order, stock.sections, None, PAPERS["A4"]))
    timed("PDF", lambda: pdf(pages, design.name))
    return found


def main():
    """Print for each design the whole command, start-up, and what the work is made of."""
    for name in sys.argv[1:] or shipped_designs():
        least, command = ["-c", LEAST.format(name=name)], ["-m", "viewer", "order", name, "--makers", str(MAKERS)]
        took(least)
        took(command)
        runs = [(took(least), took(command)) for _ in range(TIMES)]
        start, whole = (statistics.median(each) for each in zip(*runs, strict=True))
        print(
            f"{name}: {whole:.2f} s, of it start-up {start:.2f} s ({start / whole:.0%}), the work {whole - start:.2f} s"
        )
        found = parts(name)
        total = sum(found.values())
        print(
            "  " + ", ".join(f"{words} {seconds / total:.0%}" for words, seconds in found.items()), f"of {total:.2f} s"
        )


if __name__ == "__main__":
    main()
