"""Putting files in their place: written in a hidden folder beside it, read back, then moved, all of a set or none."""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from assembly.errors import ExportError

if sys.platform != "win32":
    import fcntl

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence


_PREFIX = ".lapwright-writing-"


def publish(files: Mapping[Path, bytes], check: Callable[[Path], None], option: str = "--to") -> tuple[Path, ...]:
    """Write a set of files that belong together and return their paths.

    Parameters
    ----------
    files : mapping of Path to bytes
        What each file is to hold; all in one folder, which is made if it is missing.
    check : callable
        Reads a file back and raises ExportError if it is not what was meant.
    option : str
        What the folder was given with, for the cure that a message names.

    Raises
    ------
    ExportError
        If the folder can't be written or is full, or a file does not read back. Files that were there before are
        then as they were.
    """
    folder = next(iter(files)).parent
    with reraised_as_export_errors(folder, option):
        folder.mkdir(parents=True, exist_ok=True)
        with drafts(list(files)) as made:
            for draft, content in zip(made, files.values(), strict=True):
                draft.write_bytes(content)
                if draft.read_bytes() != content:
                    size = draft.stat().st_size
                    raise misread(draft, f"with {size} bytes that differ from the {len(content)} written", option)
                check(draft)
    return tuple(files)


@contextmanager
def drafts(targets: Sequence[Path]) -> Iterator[list[Path]]:
    """Give a place to write to for each of some files of one folder; what was written there is theirs at the end.

    Whatever ends the writing early, and whatever stops one of the files from taking its place: those that were there
    before are as they were, and nothing else is left.
    """
    with scratch(targets[0].parent) as folder:
        made = [folder / target.name for target in targets]
        yield made
        there = [target for target in targets if target.exists()]
        before = {target: folder / f"before {number}" for number, target in enumerate(there)}
        for target, copy in before.items() if len(targets) > 1 else ():
            shutil.copy2(target, copy)
        done: list[Path] = []
        try:
            for draft, target in zip(made, targets, strict=True):
                draft.replace(target)
                done.append(target)
        except BaseException:
            for target in done:
                if target in before:
                    before[target].replace(target)
                else:
                    target.unlink()
            raise


@contextmanager
def scratch(folder: Path) -> Iterator[Path]:
    """Give a hidden folder within a folder, gone at the end; those that killed commands left there go, too.

    Each is held for as long as its command lives, and the folder while one is added, so that none that is in use goes.
    """
    with ExitStack() as ending:
        with _held(folder) as alone:
            for left in folder.glob(f"{_PREFIX}*") if alone else ():
                with _held(left, wait=False) as unused:
                    if unused:
                        shutil.rmtree(left, ignore_errors=True)
            beside = tempfile.TemporaryDirectory(prefix=_PREFIX, dir=folder)
            ending.enter_context(_held(Path(beside.name)))
            ending.enter_context(beside)
        yield Path(beside.name)


@contextmanager
def _held(folder: Path, *, wait: bool = True) -> Iterator[bool]:
    """Hold a folder until the context ends, or the process, however that ends; yield whether it could be held."""
    handle, held = None, False
    with suppress(OSError):  # another holds it, or the file system has no such locks
        if sys.platform != "win32":
            handle = os.open(folder, os.O_RDONLY)
            fcntl.flock(handle, fcntl.LOCK_EX if wait else fcntl.LOCK_EX | fcntl.LOCK_NB)
            held = True
    try:
        yield held
    finally:
        if handle is not None:
            os.close(handle)


@contextmanager
def reraised_as_export_errors(folder: Path, option: str = "--to") -> Iterator[None]:
    """Turn the system's refusals into ExportError, with the folder and the cure."""
    try:
        yield
    except OSError as refusal:
        raise unwritable(folder, refusal.strerror or str(refusal), option) from refusal


def unwritable(folder: Path, reason: str, option: str = "--to") -> ExportError:
    """Return the error for a folder that can't be written into."""
    cure = f"choose another folder with {option}, or free space and check its rights"
    return ExportError(f"{folder}: can't write here: {reason}; {cure}")


def misread(path: Path, what: str, option: str = "--to") -> ExportError:
    """Return the error for a file that does not read back as what was meant."""
    cure = f"export again to another folder with {option}"
    msg = f"{path.name}: written, but it reads back {what}; nothing was kept; {cure}"
    return ExportError(msg)
