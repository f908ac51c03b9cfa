"""Studies in a process that is not theirs alone: several at once, and nothing of the process is touched."""

import sys
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import numpy as np
import pytest
from boxes import with_rows

from assembly.files.reading import maker, read_design
from assembly.limit_case.search import Worst
from assembly.model.workshop import Disturbance, Workshop
from assembly.study.check import check

DESIGN = read_design("frost_watch")
WORKSHOP = maker(DESIGN, "frost_watch")
ROWS = {"lap_saw.offset": Disturbance(spread=0.1)}
NODES = 20
FEW = with_rows(Workshop(name="few errors"), ROWS)


def checked(seed):
    return lambda: check(DESIGN, WORKSHOP, boxes=30_000, seed=seed)


def limit_case(corner):
    """Return the work of a limit case that is left off early: after so many nodes of the search on every machine."""

    def work():
        (case,) = Worst(DESIGN, FEW).cases((corner,), nodes=NODES)
        return case.found, case.proved, case.box.gaps.tolist(), case.box.poses.tolist()

    return work


@pytest.mark.parametrize(
    "works",
    [
        (limit_case("right-back"), limit_case("left-front")),
        (checked(3), checked(4)),
    ],
    ids=["two limit cases", "two checks"],
)
def test_studies_at_once_tell_what_they_tell_one_after_the_other(works, capfd):
    """To the last digit, and what the process prints meanwhile and after stays where it goes."""
    alone = [work() for work in works]
    start = Barrier(len(works))

    def at_once(work):
        start.wait()
        sys.stdout.write("begun\n")
        return work()

    with ThreadPoolExecutor(len(works)) as pool:
        together = list(pool.map(at_once, works))
    assert together == alone
    sys.stdout.write("ended\n")
    assert capfd.readouterr() == ("begun\n" * len(works) + "ended\n", "")


def test_what_numpy_is_told_to_raise_stays_as_it_is():
    """Its settings belong to the process too."""
    before = np.geterr()
    check(DESIGN, WORKSHOP, boxes=2_000)
    limit_case("right-back")()
    assert np.geterr() == before
