"""What drives every study: its items (blocks, scrambles, pairs) on threads, in their order, until it is stopped.

run  : on how many threads, who hears how far it is, who may stop it. No figure depends on it, but that a study which
       is stopped has fewer boxes
stop : asked by every thread, before each item and between the windows of a block. Once it says yes, what was begun is
       given up, and the study tells what is known by then

Nothing here belongs to a terminal: Ctrl-C is one way to make `stop` say yes, and the command line's matter.
"""

from __future__ import annotations

import os
import threading
from collections import deque
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import TYPE_CHECKING, TypeVar

from assembly.errors import StoppedError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from concurrent.futures import Future

DEAF_S = 0.2  # how long a wait may last: not every system's wait ends when a signal comes, and its handler waits for it

T = TypeVar("T")
Item = TypeVar("Item")


def never() -> bool:
    """Return that there is no reason to stop."""
    return False


def one(_item: object) -> int:
    """Return that an item counts once."""
    return 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """How a study is run; `progress` is called with what is done and of how much, `stop` says whether to end.

    `stop` is called from every thread of the study, `progress` from one at a time.
    """

    threads: int = field(default_factory=lambda: os.cpu_count() or 1)
    progress: Callable[[int, int], None] | None = None
    stop: Callable[[], bool] = never

    def report(self, done: int, of: int) -> None:
        """Call `progress`, where there is one, with how far the study is."""
        if self.progress:
            self.progress(done, of)

    def goes_on(self) -> None:
        """Go on, unless the run is to stop.

        Raises
        ------
        StoppedError
            If it is.
        """
        if self.stop():
            raise StoppedError

    def watched(self, items: Iterable[T]) -> Iterator[T]:
        """Yield items one after another for as long as the run is not stopped.

        Raises
        ------
        StoppedError
            Before the next item, if it is.
        """
        for item in items:
            self.goes_on()
            yield item


UNWATCHED = Run()  # nobody hears of it, nobody stops it


def drive(
    work: Callable[[Item, Run], T],
    items: Iterable[Item],
    run: Run,
    *,
    of: int,
    done: int = 0,
    size: Callable[[Item], int] = one,
    least: int = 1,
) -> Iterator[T]:
    """Yield what `work` makes of every item, in the order of the items, until all are done or the run is stopped.

    Parameters
    ----------
    work : callable
        Takes an item and the run that it is part of, whose `stop` it asks where it takes long.
    items : iterable
        Taken one by one, a few ahead of their turn.
    run : Run
        On how many threads; who hears of it, who stops it.
    of, done : int
        How much there is to do in all, and how much of it was done before.
    size : callable
        How much of it an item is.
    least : int
        How many results the study can't do without.

    Raises
    ------
    StoppedError
        If the run is stopped before there are as many.
    """
    ended = threading.Event()  # also where whoever takes the results has enough of them, or fails
    own = replace(run, progress=None, stop=lambda: ended.is_set() or run.stop())

    def begun(item: Item) -> T:
        own.goes_on()
        return work(item, own)

    found = 0
    with ThreadPoolExecutor(run.threads) as pool:
        todo = iter(items)
        waiting: deque[tuple[Item, Future[T]]] = deque()

        def ahead(count: int) -> None:
            waiting.extend((item, pool.submit(begun, item)) for item in islice(todo, count))

        try:
            ahead(2 * run.threads)
            while waiting:
                own.goes_on()
                item, future = waiting.popleft()
                while not future.done():
                    wait((future,), DEAF_S)
                result = future.result()
                ahead(1)
                yield result
                found, done = found + 1, done + size(item)
                run.report(done, of)
        except StoppedError:
            if found < least:
                raise
        finally:
            ended.set()
            for _, future in waiting:
                future.cancel()
