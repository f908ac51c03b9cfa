"""The driver of every study: results in order, progress, and an end when it is asked for, wherever it is asked for."""

from contextlib import nullcontext
from itertools import count
from threading import Event

import pytest
from stopped import stopped_at

from assembly.errors import StoppedError
from assembly.study.driver import Run, drive


def squared(item: int, _run: Run) -> int:
    return item * item


@pytest.mark.parametrize("threads", [1, 2, 5])
def test_results_come_in_the_order_of_the_items(threads):
    assert list(drive(squared, range(40), Run(threads=threads), of=40)) == [at * at for at in range(40)]


def test_results_come_in_order_even_where_the_later_is_done_first():
    later = Event()

    def work(item, _run):
        if item == 1:
            later.set()
        else:
            later.wait()
        return item

    assert list(drive(work, [0, 1], Run(threads=2), of=2)) == [0, 1]


def test_progress_is_told_in_the_sizes_of_the_items_after_each_result_is_taken():
    reports, taken = [], []
    run = Run(threads=3, progress=lambda *words: reports.append((*words, len(taken))))
    for result in drive(squared, [3, 1, 2], run, of=16, done=10, size=lambda item: item):
        taken += [result]
    assert reports == [(13, 16, 1), (14, 16, 2), (16, 16, 3)]


def test_items_without_end_are_taken_a_few_ahead_and_can_be_stopped():
    begun = []

    def work(item, _run):
        begun.append(item)
        return item

    assert list(drive(work, count(), stopped_at(7, threads=2), of=10**15)) == list(range(7))
    assert max(begun) < 7 + 2 * 2


def test_a_run_that_is_stopped_from_the_start_begins_nothing():
    begun = []
    with pytest.raises(StoppedError) as stopped:
        list(drive(lambda item, _run: begun.append(item), range(9), Run(stop=lambda: True), of=9))
    assert (begun, str(stopped.value)) == ([], "stopped before anything was known")
    assert list(drive(squared, range(9), Run(stop=lambda: True), of=9, least=0)) == []


@pytest.mark.parametrize(("done", "least"), [(1, 2), (3, 4)])
def test_fewer_results_than_a_study_can_do_with_are_none(done, least):
    taken = []
    with pytest.raises(StoppedError):
        taken.extend(drive(squared, range(9), stopped_at(done), of=9, least=least))
    assert list(drive(squared, range(9), stopped_at(least), of=9, least=least)) == [at * at for at in range(least)]


def test_what_was_begun_is_given_up_when_the_run_is_stopped():
    """The second item goes on until it hears of it: if it did not, this test would not end."""
    stop, hearing = Event(), Event()

    def work(item, run):
        if item == 0:
            hearing.wait()
            stop.set()
        else:
            hearing.set()
            for _ in run.watched(count()):
                pass
        return item

    assert list(drive(work, [0, 1], Run(threads=2, stop=stop.is_set), of=2, least=0)) in ([], [0])


@pytest.mark.parametrize("fails", [False, True])
def test_what_was_begun_is_given_up_when_nobody_takes_its_result(fails):
    """Where the taker has enough, or fails."""

    def work(item, run):
        if item:
            for _ in run.watched(count()):
                pass
        return item

    def taken():
        for result in drive(work, range(9), Run(threads=2), of=9):
            assert result == 0
            if fails:
                raise ZeroDivisionError
            break

    with pytest.raises(ZeroDivisionError) if fails else nullcontext():
        taken()


def test_what_goes_wrong_in_an_item_ends_the_study():
    def work(item, _run):
        return 12 // (3 - item)

    taken = []
    with pytest.raises(ZeroDivisionError):
        taken.extend(drive(work, range(9), Run(threads=2), of=9))
    with pytest.raises(ZeroDivisionError):
        list(drive(work, range(9), Run(threads=2), of=9, least=0))


def test_watched_items_end_with_the_run():
    seen = []
    items = Run(stop=lambda: len(seen) == 5).watched(range(9))
    with pytest.raises(StoppedError):
        all(seen.append(item) is None for item in items)
    assert seen == [0, 1, 2, 3, 4]
    assert list(Run().watched("abc")) == ["a", "b", "c"]
