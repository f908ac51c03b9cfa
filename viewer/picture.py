"""Pictures written to files, drawn in a child process, so that a graphics library that fails takes no command with it.

window : the kind of window that VTK draws in without a screen: by EGL, or by OSMesa, which needs no graphics driver

The child is `viewer.drawing`; it gets the scene on its standard input and writes a PNG.
"""

from __future__ import annotations

import ctypes
import os
import pickle
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from assembly.errors import ExportError, InputError, LibraryError

if TYPE_CHECKING:
    from viewer.scene import Scene

Ground = Literal["white", "transparent"]

LEAST_SIDE, MOST_SIDE = 480, 4096  # pixels; beyond it, drawing takes gigabytes
REFUSED, UNWRITTEN = 3, 4  # exit codes of a child that says on its standard error what can't be had or written
_SECONDS = 300  # a child that takes longer has hung

# VTK's windows without a screen, in the order in which they are tried, and the libraries each of them loads.
_WINDOWS = {
    "vtkEGLRenderWindow": ("libEGL.so.1", "libEGL.so"),
    "vtkOSOpenGLRenderWindow": ("libOSMesa.so.8", "libOSMesa.so"),
}
_CURE = (
    "install one of the Debian and Ubuntu packages libosmesa6 (needs no graphics driver) or libegl1 with libgl1: "
    "apt-get install libosmesa6"
)
_LIBRARY_CURE = "run `pip install lapwright` again into this Python, and report it if that does not help"
_SILENT = "the drawing process ended without a word"


def write_picture(
    scene: Scene, path: Path | str, size: tuple[int, int] = (1920, 1080), ground: Ground = "white", *, turns: int = 0
) -> None:
    """Draw a scene into a PNG file, or its turn into a GIF file; the file appears whole or not at all.

    Parameters
    ----------
    scene : Scene
        What is shown.
    path : Path or str
        The file; its name ends in `.png`, or in `.gif` for a turn. One that is there is replaced.
    size : (int, int)
        Width and height, pixels.
    ground : {"white", "transparent"}
        What is behind the parts.
    turns : int
        How many pictures make one turn; 0 for a single picture that stands still.

    Raises
    ------
    InputError
        If the size or the ground can't be had.
    ExportError
        If the file can't be written.
    LibraryError
        If nothing can be drawn on this machine.
    """
    target = Path(path)
    suffix = ".gif" if turns else ".png"
    _check(target, size, ground, suffix)
    try:
        handle, made = tempfile.mkstemp(dir=target.parent, prefix=f".{target.stem}.", suffix=suffix)
    except OSError as error:
        msg = f"{target}: can't be written ({error.strerror}); make the folder or choose another"
        raise ExportError(msg) from None
    os.close(handle)
    try:
        _draw(pickle.dumps((scene, size, ground == "transparent", made, turns)), target)
        _publish(Path(made), target)
    finally:
        Path(made).unlink(missing_ok=True)


def _check(target: Path, size: tuple[int, int], ground: str, suffix: str) -> None:
    if target.suffix.lower() != suffix:
        msg = f"{target}: ends in {target.suffix or 'nothing'!r}, must end in {suffix!r}"
        raise InputError(msg)
    if not all(LEAST_SIDE <= side <= MOST_SIDE for side in size):
        msg = f"size: got {size[0]} × {size[1]}, each side must be from {LEAST_SIDE} to {MOST_SIDE} pixels"
        raise InputError(msg)
    if ground not in {"white", "transparent"}:
        msg = f"ground: got {ground!r}, must be 'white' or 'transparent'"
        raise InputError(msg)


def _publish(made: Path, target: Path) -> None:
    """Move a finished picture into its place, readable as any new file is."""
    mask = os.umask(0)
    os.umask(mask)
    try:
        made.chmod(0o666 & ~mask)
        made.replace(target)
    except OSError as error:
        msg = f"{target}: can't be written ({error.strerror}); choose another name or folder"
        raise ExportError(msg) from None


def _draw(asked: bytes, target: Path) -> None:
    """Let a child draw, by the first window that can be had; one that dies by a signal had a window of no use."""
    windows = possible_windows()
    for window in windows:
        done = _child(asked, window)
        if done.returncode == 0:
            return
        said = done.stderr.decode(errors="replace").strip()
        if done.returncode == REFUSED:
            raise InputError(said)
        if done.returncode == UNWRITTEN:
            msg = f"{target}: can't be written ({said}); make room or choose another folder"
            raise ExportError(msg)
        if done.returncode > 0:
            msg = f"no picture can be drawn: {said.splitlines()[-1] if said else _SILENT}; {_LIBRARY_CURE}"
            raise LibraryError(msg)
    msg = f"no picture can be drawn: {_why(windows)}; {_CURE}"
    raise LibraryError(msg)


def _why(windows: tuple[str, ...]) -> str:
    if not windows:
        return "neither libEGL.so.1 nor libOSMesa.so.8 can be loaded"
    return f"the graphics libraries are there but failed ({', '.join(windows)})"


def possible_windows() -> tuple[str, ...]:
    """Return the windows whose library can be loaded; on other systems than Linux VTK's own choice, an empty name."""
    if not sys.platform.startswith("linux"):
        return ("",)
    return tuple(window for window, names in _WINDOWS.items() if any(map(loadable, names)))


def loadable(library: str) -> bool:
    """Whether a system library can be loaded."""
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def _child(asked: bytes, window: str) -> subprocess.CompletedProcess[bytes]:
    """Run the child; one that hangs counts as failed."""
    root = str(Path(__file__).parent.parent)
    env = {name: value for name, value in os.environ.items() if name != "DISPLAY"}
    env["PYTHONPATH"] = os.pathsep.join(filter(None, [root, env.get("PYTHONPATH")]))
    if window:
        env["VTK_DEFAULT_OPENGL_WINDOW"] = window
    command = [sys.executable, "-m", "viewer.drawing"]
    try:
        return subprocess.run(  # noqa: S603 - our own interpreter
            command, input=asked, env=env, capture_output=True, timeout=_SECONDS, check=False
        )
    except subprocess.TimeoutExpired:
        return subprocess.CompletedProcess(command, -signal.SIGTERM, b"", b"")
