"""Pictures written to files, drawn in a child process, so that a graphics library that fails takes no command with it.

window : the kind of window that VTK draws in without a screen: by EGL, or by OSMesa, which needs no graphics driver

The child is `viewer.picture.render`; it gets scenes on its standard input, writes a file for each, and says a byte
when it is done. It can be begun before its scenes are ready, as it takes most of a second to load what it draws with.
"""

from __future__ import annotations

import ctypes
import os
import pickle
import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, TYPE_CHECKING, Literal

from assembly.errors import InputError, LibraryError
from assembly.files.writing import drafts, reraised_as_export_errors, unwritable

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from viewer.scene.scene import Scene

    Child = subprocess.Popen[bytes]

Ground = Literal["white", "transparent"]

LEAST_SIDE, MOST_SIDE = 480, 4096  # pixels; beyond it, drawing takes gigabytes
REFUSED, UNWRITTEN = 3, 4  # exit codes of a child that says on its standard error what can't be had or written
_SECONDS = 600  # a child that takes longer has hung

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
    scene: Scene,
    path: Path | str,
    size: tuple[int, int] = (1920, 1080),
    ground: Ground = "white",
    *,
    turns: int = 0,
    child: Child | None = None,
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
    child : Popen, optional
        A child that was begun before (see `begun`).

    Raises
    ------
    InputError
        If the size or the ground can't be had.
    ExportError
        If the file can't be written.
    LibraryError
        If nothing can be drawn on this machine.
    """
    _check(Path(path), size, ground, ".gif" if turns else ".png")
    _write([(scene, Path(path))], (size, ground == "transparent", turns), child)


def write_pictures(
    pictures: Sequence[tuple[Scene, Path]],
    size: tuple[int, int] = (1920, 1080),
    ground: Ground = "white",
    progress: Callable[[int, int], None] | None = None,
    *,
    child: Child | None = None,
) -> None:
    """Draw scenes into PNG files, all by one child; files appear when all are drawn, each whole, or none does.

    Parameters are those of `write_picture`; `progress` is called with how many pictures of how many are drawn.
    """
    for _, path in pictures:
        _check(path, size, ground, ".png")
    _write(pictures, (size, ground == "transparent", 0), child, progress)


def _write(
    pictures: Sequence[tuple[Scene, Path]],
    how: tuple[tuple[int, int], bool, int],
    child: Child | None,
    progress: Callable[[int, int], None] | None = None,
) -> None:
    """Draw into files beside the targets, then move them there."""
    targets = [path for _, path in pictures]
    with reraised_as_export_errors(targets[0].parent), drafts(targets) as made:
        asked = [(scene, *how[:2], str(file), how[2]) for (scene, _), file in zip(pictures, made, strict=True)]
        _draw(pickle.dumps(asked), targets, child, progress)


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


def _draw(
    asked: bytes, targets: Sequence[Path], begun: Child | None, progress: Callable[[int, int], None] | None
) -> None:
    """Let a child draw, by the first window that can be had; one that dies by a signal had a window of no use."""
    windows = possible_windows()
    for number, window in enumerate(windows):
        done = _child(asked, window, None if number else begun, (len(targets), progress))
        if done.returncode == 0:
            return
        said = done.stderr.decode(errors="replace").strip()
        if done.returncode == REFUSED:
            raise InputError(said)
        if done.returncode == UNWRITTEN:
            raise unwritable(targets[0].parent, said)
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


@contextmanager
def begun() -> Iterator[Child | None]:
    """Start a child that loads its libraries while a scene is built; None where there is no window for it."""
    windows = possible_windows()
    if not windows:
        yield None
        return
    child = _started(windows[0])
    try:
        yield child
    finally:
        child.kill()
        with child:  # waits for its end and closes its pipes
            pass


def _started(window: str) -> Child:
    root = str(Path(__file__).parent.parent.parent)
    env = {name: value for name, value in os.environ.items() if name != "DISPLAY"}
    named = env.get("PYTHONPATH", "").split(os.pathsep)
    env["PYTHONPATH"] = os.pathsep.join([root, *filter(os.path.isabs, named)])  # never the folder one happens to be in
    if window:
        env["VTK_DEFAULT_OPENGL_WINDOW"] = window
    command = [sys.executable, "-P", "-m", "viewer.picture.render"]
    pipe = subprocess.PIPE
    return subprocess.Popen(command, env=env, stdin=pipe, stdout=pipe, stderr=pipe)  # noqa: S603 - our own interpreter


def _child(
    asked: bytes, window: str, begun: Child | None, counting: tuple[int, Callable[[int, int], None] | None]
) -> subprocess.CompletedProcess[bytes]:
    """Hand a child what it shall draw and see it through; one that hangs counts as failed."""
    with begun or _started(window) as child, ThreadPoolExecutor(1) as beside:
        assert child.stdin is not None
        assert child.stdout is not None
        assert child.stderr is not None
        said, watch = beside.submit(child.stderr.read), threading.Timer(_SECONDS, child.kill)
        watch.start()
        try:
            drawn = _handed(child.stdin, child.stdout, asked, counting)
            return subprocess.CompletedProcess(child.args, child.wait(), drawn, said.result())
        except BaseException:
            child.kill()
            raise
        finally:
            watch.cancel()


def _handed(
    to: IO[bytes], back: IO[bytes], asked: bytes, counting: tuple[int, Callable[[int, int], None] | None]
) -> bytes:
    """Hand over what shall be drawn; tell of every picture that is done; return a byte for each."""
    total, progress = counting
    with suppress(BrokenPipeError), to:  # a child that has gone tells why by its exit code
        to.write(asked)
    drawn = b""
    while byte := back.read(1):
        drawn += byte
        if progress is not None:
            progress(len(drawn), total)
    return drawn
