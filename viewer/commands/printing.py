"""Answers on standard output, as text or as JSON; an output that can't be written ends a command in good order."""

from __future__ import annotations

import json
import os
import sys
from typing import TYPE_CHECKING

import typer

from assembly.errors import ExportError, escaped, unseen

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from viewer.commands.answer import Answer
    from viewer.reports.output.record import Output

NOT_WRITTEN, INTERRUPTED, TERMINATED = 3, 130, 143  # exit codes


def say(text: str) -> None:
    """Print a result; a reader who has gone away ends the command without a word.

    Raises
    ------
    ExportError
        If standard output can't be written.
    """
    try:
        print(text, flush=True)
    except BrokenPipeError:
        _forget_output()
        raise typer.Exit(NOT_WRITTEN) from None
    except OSError as error:
        _forget_output()
        msg = f"standard output: can't be written ({error.strerror}); free some space or send it elsewhere"
        raise ExportError(msg) from None


def _forget_output() -> None:
    """Send what is still in the buffer nowhere, so that closing it at exit can't fail again."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def answer(text: str, data: Callable[[], Output], as_json: bool) -> None:  # noqa: FBT001 - the command's own flag
    """Print an answer as text, or its record as JSON; what is not seen is escaped in both."""
    if not as_json:
        say(escaped(text, keep="\n"))
        return
    narrow = (sys.stdout.encoding or "").lower().replace("-", "") != "utf8"  # JSON has its own way to say any sign
    as_typed = json.dumps(data().model_dump(mode="json"), indent=2, allow_nan=False, ensure_ascii=narrow)
    say("".join(json.dumps(c)[1:-1] if unseen(c) and c != "\n" else c for c in as_typed))


def tell(found: Answer, as_json: bool) -> None:  # noqa: FBT001 - the command's own flag
    """Print an answer; one that Ctrl-C cut short ends the command as interrupted.

    Raises
    ------
    ExportError
        After it is printed, if its files could not be written.
    """
    answer(found.text, found.data, as_json)
    if found.unwritten:
        raise found.unwritten
    if found.partial:
        raise typer.Exit(INTERRUPTED)


def list_files(
    command: str,
    files: Sequence[str],
    as_json: bool,  # noqa: FBT001 - the command's own flag
    remarks: Sequence[str] = (),
) -> None:
    """Print the names of the files that a command wrote, and what is to be known of them."""

    def data() -> Output:
        from viewer.reports.output.files import FilesOutput

        return FilesOutput.model_validate({"command": command, "files": files, "remarks": list(remarks)})

    answer("\n".join([wrote(files), *remarks]), data, as_json)


def wrote(files: Sequence[str]) -> str:
    """Return the lines that name the files written."""
    return "\n".join(f"wrote {file}" for file in files)
