"""Loading the large libraries, and what to install where one of them can't be loaded."""

from __future__ import annotations

import ctypes
import os
import signal
import sys
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

from assembly.errors import LibraryError

if TYPE_CHECKING:
    from collections.abc import Iterator

# System library named in the loader's message, and Debian's package of it.
DEBIAN_PACKAGES = {"libGL.so": "libgl1", "libEGL.so": "libegl1", "libOSMesa.so": "libosmesa6", "libX11.so": "libx11-6"}


@contextmanager
def loading(purpose: str) -> Iterator[None]:
    """Turn a library that can't be loaded into one message; `purpose` is what it is needed for.

    Ctrl-C and SIGTERM are answered when it is loaded: what they raise would come out of a compiled library as if the
    library were missing.
    """
    with _answered_later():
        try:
            yield
        except ImportError as error:
            raise LibraryError(_message(purpose, error)) from error


@contextmanager
def _answered_later() -> Iterator[None]:
    """Keep the signals that end a command until the context ends."""
    heard: list[int] = []
    main, both = threading.current_thread() is threading.main_thread(), (signal.SIGINT, signal.SIGTERM)
    heeded = [each for each in both if main and callable(signal.getsignal(each))]
    before = {each: signal.signal(each, lambda number, _: heard.append(number)) for each in heeded}
    try:
        yield
    finally:
        for each, handler in before.items():
            signal.signal(each, handler)
        if heard:
            signal.raise_signal(heard[0])


def _message(purpose: str, error: ImportError) -> str:
    found = str(error)
    for library, package in DEBIAN_PACKAGES.items():
        if library in found:
            cure = f"install the system package that holds it (Debian and Ubuntu: apt-get install {package})"
            return f"{purpose}: the system library {library} can't be loaded ({found}); {cure}"
    cure = "run `sh .ci/setup` again, or `pip install lapwright` into this Python"
    return f"{purpose}: {error.name or 'a library'} can't be loaded ({found}); {cure}"


def need_screen() -> None:
    """Refuse to open a window where there is no screen; asked before VTK, which would end the whole command.

    Raises
    ------
    LibraryError
        If no X server answers on Linux; other systems always have a screen.
    """
    if sys.platform.startswith("linux") and not _answered():
        where = os.environ.get("DISPLAY")
        found = f"DISPLAY is {where!r} and nothing answers there" if where else "DISPLAY is not set"
        msg = f"view: no screen to open a window on ({found}); run it on a desktop, or use `lapwright picture` instead"
        raise LibraryError(msg)


def _answered() -> bool:
    """Whether an X server answers at DISPLAY.

    The connection stays open: some servers start afresh when their last one is closed, and the window's would fail.
    """
    try:
        library = ctypes.CDLL("libX11.so.6")
    except OSError:
        return False
    library.XOpenDisplay.restype = ctypes.c_void_p
    return bool(library.XOpenDisplay(None))
