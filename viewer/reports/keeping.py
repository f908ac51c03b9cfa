"""How advice is kept: which files to copy first, what to write where, and how the design comes to name the copy.

kept file : the file that a change is written into: the user's own, or the copy to be made of one that ships
"""

from __future__ import annotations

import shlex
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.files.settings import toml_key, toml_value

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from collections.abc import Set as AbstractSet

    from assembly.changes.file_rows import FileRow
    from assembly.files.settings import File, KeyPath

MADE_BY = ("made_by",)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptFile:
    """A file that a change is written into, and the line at which each of its keys stands now, from 1."""

    path: str  # as somebody types it
    copy_of: str = ""  # path of the file that ships and is copied; empty where it is the user's own already
    lines: Mapping[KeyPath, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """Both files that changes are written into, and what else keeps them."""

    design: KeptFile
    workshop: KeptFile
    design_typed: str  # the design as it was typed
    made_by: str  # what the design then has to name
    override: str | None = None  # the workshop that was given in the stead of the design's
    asked: tuple[FileRow, ...] = ()  # what was typed after `--set` already

    def file(self, kind: File) -> KeptFile:
        """Return one of the two."""
        return self.design if kind == "design" else self.workshop


def row_words(row: FileRow, kept: Kept) -> str:
    """Return one row of a file, with the file and the place in it: a line that is there, or one to add."""
    return f"in the {row.file} file, {_place(row, kept)}: {row.line}"


def _place(row: FileRow, kept: Kept) -> str:
    line = kept.file(row.file).lines.get(row.key)
    under = f"under [{row.table}]" if row.table else ""
    if line is not None:
        return ", ".join(filter(None, [under, f"change the line of {_key(row)} (line {line}) to"]))
    where = under or "above its first table"
    return f"{where}, which keeps nothing else, write" if row.alone else f"{where}, write"


def _key(row: FileRow) -> str:
    """Return a row's key as its line begins."""
    return toml_key(row.key[row.depth :])


def steps_to_keep(rows: Sequence[FileRow], kept: Kept) -> list[str]:
    """Return what to do, step by step, so that files say what `rows` do; what was typed already goes with it."""
    rows = tuple(dict.fromkeys((*kept.asked, *rows)))
    named_anew = _named_anew(rows, kept)
    if named_anew:
        rows = tuple(row for row in rows if row.key != MADE_BY)
    touched = {row.file for row in rows} | ({"design"} if named_anew else set())
    files = [kept.file(kind) for kind in ("design", "workshop") if kind in touched]
    steps = [
        _copied([file for file in files if file.copy_of]),
        [f"In {kept.file(row.file).path}, {_place(row, kept)}: {row.line}" for row in rows],
        _names_copy(kept) if named_anew else [],
        ["To see that it is kept, type this; its second line names the workshop file and the aids in use:"],
    ]
    numbered = [line for at, step in enumerate(filter(None, steps), start=1) for line in _item(at, step)]
    return [*numbered, f"   {_check(touched, kept)}"]


def _named_anew(rows: Sequence[FileRow], kept: Kept) -> bool:
    """Tell whether the design has to name a copied workshop."""
    return bool(kept.workshop.copy_of) and kept.override is None and any(row.file == "workshop" for row in rows)


def _item(number: int, lines: Sequence[str]) -> list[str]:
    return [f"{number}. {lines[0]}", *(f"   {line}" for line in lines[1:])]


def _copied(files: Sequence[KeptFile]) -> list[str]:
    if not files:
        return []
    what = "this file, which ships" if len(files) == 1 else "these files, which ship"
    return [f"Copy {what} with the program:", *(f"{file.copy_of} as {file.path}" for file in files)]


def _names_copy(kept: Kept) -> list[str]:
    line = kept.design.lines.get(MADE_BY)
    place = "above its first table, write" if line is None else f"change the line of made_by (line {line}) to"
    return [f"In {kept.design.path}, {place}: made_by = {toml_value(kept.made_by)}"]


def _check(touched: AbstractSet[str], kept: Kept) -> str:
    """Return the check of the files as they then are."""
    words = ["lapwright", "check", shlex.quote(kept.design.path if "design" in touched else kept.design_typed)]
    if kept.override is not None:
        words += ["--workshop", shlex.quote(kept.workshop.path if "workshop" in touched else kept.override)]
    return " ".join(words)
