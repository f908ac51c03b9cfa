"""Putting files in their place: written in a hidden folder beside it, read back, then moved, all of a set or none.

left over : what an earlier command wrote and this one does not; it goes with the set that takes its place
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from contextlib import ExitStack, contextmanager, suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from assembly.errors import ExportError

if sys.platform != "win32":
    import fcntl

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence


_PREFIX = ".lapwright-writing-"


class Meant(NamedTuple):
    """What a file is to hold, and what reads it back: it raises ExportError if the file is not what was meant."""

    content: bytes
    check: Callable[[Path], None]


def publish(files: Mapping[Path, bytes], check: Callable[[Path], None], option: str = "--to") -> tuple[Path, ...]:
    """Write a set of files that are read back in one way: see `publish_each`."""
    return publish_each({path: Meant(content, check) for path, content in files.items()}, option=option)


def publish_each(files: Mapping[Path, Meant], leftover: Sequence[Path] = (), option: str = "--to") -> tuple[Path, ...]:
    """Write a set of files that belong together and return their paths.

    Parameters
    ----------
    files : mapping of Path to Meant
        What each file is to hold; folders that are missing are made.
    leftover : sequence of Path
        Files in the same folders that go once all the others are in place.
    option : str
        What the folder was given with, for the cure that a message names.

    Raises
    ------
    ExportError
        If a folder can't be written or is full, or a file does not read back. Files and folders are then as they were.
    """
    folders = list(dict.fromkeys(path.parent for path in files))
    whole = Path(os.path.commonpath(folders))
    with _made(folders, option), reraised_as_export_errors(whole, option), drafts(list(files), leftover) as made:
        for draft, (target, meant) in zip(made, files.items(), strict=True):
            with reraised_as_export_errors(target.parent, option):
                draft.write_bytes(meant.content)
                if draft.read_bytes() != meant.content:
                    size = draft.stat().st_size
                    raise misread(draft, f"with {size} bytes that differ from the {len(meant.content)} written", option)
                meant.check(draft)
    return tuple(files)


@contextmanager
def _made(folders: Sequence[Path], option: str) -> Iterator[None]:
    """Make the folders that are missing; where what follows fails, they are gone again."""
    missing: list[Path] = []
    try:
        for folder in folders:
            with reraised_as_export_errors(folder, option):
                missing += [each for each in (folder, *folder.parents) if not each.exists()]
                folder.mkdir(parents=True, exist_ok=True)
        yield
    except BaseException:
        for each in sorted(missing, key=lambda folder: len(folder.parts), reverse=True):
            with suppress(OSError):
                each.rmdir()
        raise


@contextmanager
def drafts(targets: Sequence[Path], leftover: Sequence[Path] = ()) -> Iterator[list[Path]]:
    """Give a place to write to for each of some files; what was written there is theirs at the end.

    Files that are left over go after that. Whatever ends the writing early, and whatever stops one of the files from
    taking its place: those that were there before are as they were, and nothing else is left.
    """
    with ExitStack() as ending:
        folders = dict.fromkeys(path.parent for path in (*targets, *leftover))
        beside = {folder: ending.enter_context(scratch(folder)) for folder in folders}
        made = [beside[target.parent] / target.name for target in targets]
        yield made
        there = [target for target in targets if target.exists()]
        before = {target: beside[target.parent] / f"before {number}" for number, target in enumerate(there)}
        for target, copy in before.items() if len(targets) + len(leftover) > 1 else ():
            shutil.copy2(target, copy)
        back: list[Callable[[], object]] = []
        try:
            for draft, target in zip(made, targets, strict=True):
                draft.replace(target)
                back.append(partial(before[target].replace, target) if target in before else target.unlink)
            for number, old in enumerate(leftover):
                aside = beside[old.parent] / f"left over {number}"
                old.replace(aside)
                back.append(partial(aside.replace, old))
        except BaseException:
            for undo in reversed(back):
                undo()
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
