"""A change as plain data, the same in every command's JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.changes.change import Change
    from assembly.changes.file_rows import FileRow


def change_data(change: Change, rows: Sequence[FileRow] = ()) -> dict[str, Any]:
    """Return a change: what it is, what is typed after `--set`, its rows in files where given, what it costs."""
    return {
        "kind": change.kind,
        "what": change.what,
        "words": change.words,
        "settings": [setting.text for setting in change.settings],
        **({"rows": [asdict(row) for row in rows]} if rows else {}),
        "money": change.money,
        "minutes": change.minutes,
    }
