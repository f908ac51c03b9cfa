"""The window beside the rest of the machine: it writes nothing, closes when told to, and needs a screen."""

import os
import signal
import sys

import pytest
from windows import SIZES, click, resize, slide

from assembly.errors import LibraryError
from viewer.commands.libraries import need_screen

WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_APPEND | os.O_TRUNC


watched = []


def _watch(event, args):
    """Note what is opened to be written, made, moved or removed, while `watched` holds a list."""
    if not watched:
        return
    if event in {"os.mkdir", "os.rename", "os.remove", "os.truncate", "os.link", "os.symlink"}:
        watched[0].append(args[0])
    if event == "open" and args[2] & WRITES and "__pycache__" not in str(args[0]) and str(args[0]) != os.devnull:
        watched[0].append(args[0])


def test_the_window_writes_nothing(window, box_window):
    sys.addaudithook(_watch)
    found = []
    watched.append(found)
    try:
        for one in (window, box_window):
            for key in ("2", "plus", "n", "0", "Tab", "f", "question", "question", "h"):
                one.key(key)
            click(one, 700, 300)
            slide(one, "apart", 0.5)
            resize(one, SIZES[0])
    finally:
        watched.clear()
    assert found == []


@pytest.mark.parametrize("sent", [0, signal.SIGINT, signal.SIGTERM])
def test_a_signal_closes_the_window_and_is_raised_only_afterwards(sent):
    from viewer.window.events import until_closed  # noqa: PLC0415 - the same

    class Interactor:
        closed = False

        def Start(self):  # noqa: N802 - VTK's name
            if sent:
                signal.raise_signal(sent)

        def TerminateApp(self):  # noqa: N802 - VTK's name
            self.closed = True

    handlers = [signal.getsignal(each) for each in (signal.SIGINT, signal.SIGTERM)]
    interactor = Interactor()
    assert (until_closed(interactor), interactor.closed) == (sent, bool(sent))
    assert [signal.getsignal(each) for each in (signal.SIGINT, signal.SIGTERM)] == handlers


def test_without_a_screen_the_message_says_so(monkeypatch):
    monkeypatch.setattr("viewer.commands.libraries.sys.platform", "linux")
    monkeypatch.setattr("viewer.commands.libraries._answered", lambda: False)
    cure = "run it on a desktop, or use `lapwright picture` instead"
    for display, found in ((None, "DISPLAY is not set"), (":9", "DISPLAY is ':9' and nothing answers there")):
        monkeypatch.delenv("DISPLAY", raising=False)
        if display:
            monkeypatch.setenv("DISPLAY", display)
        with pytest.raises(LibraryError) as error:
            need_screen()
        assert str(error.value) == f"view: no screen to open a window on ({found}); {cure}"
