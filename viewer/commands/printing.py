"""Answers on standard output, as text or as JSON; an output that can't be written ends a command in good order."""

from __future__ import annotations

import json
import math
import os
import sys
from typing import TYPE_CHECKING, Any

import typer

from assembly.errors import ExportError, escaped, unseen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from viewer.commands.answer import Answer

NOT_WRITTEN, INTERRUPTED = 3, 130  # exit codes


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


def answer(text: str, data: dict[str, Any], as_json: bool) -> None:  # noqa: FBT001 - the command's own flag
    """Print an answer as text, or its data as JSON; what is not seen is escaped in both."""
    if not as_json:
        say(escaped(text, keep="\n"))
        return
    told = json.dumps(_known(data), indent=2, allow_nan=False, ensure_ascii=False)
    say("".join(json.dumps(c)[1:-1] if unseen(c) and c != "\n" else c for c in told))


def _known(data: Any) -> Any:  # noqa: ANN401 - whatever JSON holds
    """Return data in which a number that is not finite, such as an interval of one box, is null: JSON has no other."""
    if isinstance(data, dict):
        return {key: _known(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_known(value) for value in data]
    return None if isinstance(data, float) and not math.isfinite(data) else data


def tell(found: Answer, as_json: bool) -> None:  # noqa: FBT001 - the command's own flag
    """Print an answer; one that Ctrl-C cut short ends the command as interrupted."""
    answer(found.text, found.all_data() if as_json else {}, as_json)
    if found.partial:
        raise typer.Exit(INTERRUPTED)


def list_files(files: Sequence[str], as_json: bool) -> None:  # noqa: FBT001 - the command's own flag
    """Print the names of the files that a command wrote."""
    answer("\n".join(f"wrote {file}" for file in files), {"files": list(files)}, as_json)
