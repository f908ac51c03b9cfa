"""A bar for long work that somebody watches, and for nothing else; and libraries that can't be loaded."""

import io
import sys
import threading

import pytest

from assembly.errors import LibraryError
from viewer.commands.libraries import loading
from viewer.commands.progress import progress


class Terminal(io.StringIO):
    """An error stream that a person watches."""

    def isatty(self):
        return True


def watched(monkeypatch) -> Terminal:
    """Put a terminal in place of the error stream; inside a test, since pytest lays its own before each one."""
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setenv("TERM", "xterm")
    return stream


def patience_ends() -> None:
    """Wait until the bar is shown, however long that takes."""
    for thread in threading.enumerate():
        if isinstance(thread, threading.Timer):
            thread.join()


def test_no_bar_in_a_pipe(monkeypatch):
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    with progress("sawing", patience_s=0.0) as bar:
        patience_ends()
    assert (bar, stream.getvalue()) == (None, "")


def test_no_bar_for_work_that_ends_within_its_patience(monkeypatch):
    terminal = watched(monkeypatch)
    with progress("sawing", patience_s=3600.0) as bar:
        bar(1, 2)
    assert terminal.getvalue() == ""


def test_a_bar_for_longer_work_tells_how_far_it_is(monkeypatch):
    terminal = watched(monkeypatch)
    with progress("sawing", patience_s=0.0) as bar:
        patience_ends()
        bar(1, 4)
    assert "sawing" in terminal.getvalue()
    assert "25%" in terminal.getvalue()


def test_the_bar_goes_away_when_the_work_fails(monkeypatch):
    terminal = watched(monkeypatch)
    with pytest.raises(ZeroDivisionError), progress("sawing", patience_s=0.0):
        fail()
    assert terminal.getvalue().endswith("\x1b[2K")  # the bar's line is wiped


def fail() -> float:
    """Fail once the bar is shown."""
    patience_ends()
    return 1 / 0


def test_a_missing_system_library_is_named_with_its_package():
    says = "libEGL.so.1: cannot open shared object file"
    with pytest.raises(LibraryError) as refused, loading("drawing"):
        raise ImportError(says)
    assert str(refused.value) == (
        "drawing: the system library libEGL.so can't be loaded (libEGL.so.1: cannot open shared object file); install "
        "the system package that holds it (Debian and Ubuntu: apt-get install libegl1)"
    )


def test_a_missing_python_library_is_named():
    says = "No module named 'cadquery'"
    with pytest.raises(LibraryError) as refused, loading("building solids"):
        raise ModuleNotFoundError(says, name="cadquery")
    assert str(refused.value) == (
        "building solids: cadquery can't be loaded (No module named 'cadquery'); run `sh .ci/setup` again, or "
        "`pip install lapwright` into this Python"
    )
