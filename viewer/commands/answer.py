"""What commands that study many boxes have in common: steps that Ctrl-C ends early, an answer, plots, nearest names."""

from __future__ import annotations

import signal
import threading
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Self, TypeVar

from assembly.errors import ExportError, StoppedError
from assembly.study.driver import Run
from viewer.commands.jobs import folder_for
from viewer.commands.libraries import loading
from viewer.commands.progress import progress

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from matplotlib.figure import Figure

    from viewer.reports.output.record import Output

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A command's answer: text, a record for JSON, whether every limit is kept as required, whether it is partial."""

    text: str
    data: Callable[[], Output]  # worked out when it is asked for
    kept: bool = True
    partial: bool = False
    unwritten: ExportError | None = None  # why its files could not be written; the answer is printed all the same


class Steps:
    """Steps of a command, one after another until Ctrl-C; what was not reached is None.

    Within its context Ctrl-C raises nothing: it asks the studies to stop, and they tell what they know by then. Pressed
    again, it ends the command at once.
    """

    def __init__(self) -> None:
        """Begin with nothing known."""
        self.stopped = self._known = False
        self._asked = threading.Event()

    def __enter__(self) -> Self:
        """Take Ctrl-C over, where it can be: in the main thread of a process that heeds it."""
        self._before: Any = None
        if threading.current_thread() is threading.main_thread() and signal.getsignal(signal.SIGINT) != signal.SIG_IGN:
            self._before = signal.signal(signal.SIGINT, self._ask)
        return self

    def __exit__(self, *_: object) -> None:
        """Give Ctrl-C back."""
        if self._before is not None:
            signal.signal(signal.SIGINT, self._before)

    def _ask(self, *_: object) -> None:
        if self._asked.is_set():
            raise KeyboardInterrupt
        self._asked.set()

    @contextmanager
    def run(self, words: str) -> Iterator[Run]:
        """Yield how the studies of a step are run: with a progress bar headed `words`, until Ctrl-C."""
        with progress(words) as bar:
            yield Run(progress=bar, stop=self._asked.is_set)

    def take(self, work: Callable[[], T]) -> T | None:
        """Return what a step finds; None once the command is stopped.

        Raises
        ------
        StoppedError
            If it is stopped while nothing at all is known.
        """
        if self.stopped:
            return None
        try:
            found = work()
        except StoppedError:
            if not self._known:
                raise
            self.stopped = True
            return None
        self._known = True
        self.stopped = bool(getattr(found, "partial", False))
        return found


def partial_line(partial: bool, words: str) -> list[str]:  # noqa: FBT001 - said once, at the head of an answer
    """Return the line that marks an answer as partial, none where it is whole."""
    return [f"Partial: stopped by Ctrl-C after {words}; what follows is what is known so far.\n"] if partial else []


def plotted(
    plots: str | None, stem: str, figures: Callable[[], Mapping[str, Figure]]
) -> tuple[list[str], ExportError | None]:
    """Draw and write plots into the folder that was asked for, if one was; return the files, or why there are none."""
    if plots is None:
        return [], None
    folder = folder_for(plots, "--plots")
    with loading("drawing plots"):
        from viewer.reports.plots import write_plots  # matplotlib, 1 s

    return attempted(lambda: write_plots(figures(), folder, stem))


def attempted(write: Callable[[], list[str]]) -> tuple[list[str], ExportError | None]:
    """Return the files that were written, or why there are none."""
    try:
        return write(), None
    except ExportError as error:
        return [], error


def written(files: list[str]) -> list[str]:
    """Return the lines that name the files written, none where none are."""
    return ["", *(f"wrote {file}" for file in files)] if files else []
