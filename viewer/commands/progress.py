"""A progress bar on the error stream for work that takes over a second; none where nobody watches."""

from __future__ import annotations

import sys
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

PATIENCE_S = 1.0  # work that ends sooner shows no bar


@contextmanager
def progress(words: str, patience_s: float = PATIENCE_S) -> Iterator[Callable[[int, int], None] | None]:
    """Show a bar headed `words` if the work inside takes over `patience_s`; yield what to tell (done, total).

    Yields None where the error stream is not a terminal. Until it is called, the bar says only that work goes on.
    """
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console  # rich takes 40 ms and a pipe needs none of it
    from rich.progress import Progress

    bar = Progress(console=Console(stderr=True), transient=True)
    task = bar.add_task(words, total=None)
    timer = threading.Timer(patience_s, bar.start)
    timer.daemon = True
    timer.start()
    try:
        yield lambda done, total: bar.update(task, completed=done, total=total)
    finally:
        timer.cancel()
        timer.join()
        bar.stop()
