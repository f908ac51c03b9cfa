"""Putting files in their place: written beside it, read back, then moved there, all of a set or none of it."""

from __future__ import annotations

import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from assembly.errors import ExportError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping


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
    with told_as_export_errors(folder, option):
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".writing-", dir=folder) as beside:
            for path, content in files.items():
                draft = Path(beside) / path.name
                draft.write_bytes(content)
                _same(draft, content, path, option)
                check(draft)
            for path in files:
                (Path(beside) / path.name).replace(path)
    return tuple(files)


@contextmanager
def told_as_export_errors(folder: Path, option: str = "--to") -> Iterator[None]:
    """Turn the system's refusals into ExportError, with the folder and the cure."""
    try:
        yield
    except OSError as refusal:
        reason = refusal.strerror or str(refusal)
        msg = (
            f"{folder}: can't write here: {reason}; choose another folder with {option}, "
            "or free space and check its rights"
        )
        raise ExportError(msg) from refusal


def misread(path: Path, what: str, option: str = "--to") -> ExportError:
    """Return the error for a file that does not read back as what was meant."""
    cure = f"export again to another folder with {option}"
    msg = f"{path.name}: written, but it reads back {what}; nothing was kept; {cure}"
    return ExportError(msg)


def _same(draft: Path, content: bytes, path: Path, option: str) -> None:
    if draft.read_bytes() != content:
        what = f"with {draft.stat().st_size} bytes that differ from the {len(content)} written"
        raise misread(path, what, option)
