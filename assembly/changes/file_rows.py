"""What a change writes into files, for who would rather edit than type options: each row, and where it belongs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from assembly.changes.apply import apply, as_written
from assembly.files.settings import toml_key, toml_value
from assembly.model.workshop import quantities_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.changes.change import Change
    from assembly.files.settings import File, KeyPath, Setting
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop

# What files write on one row of a table: the parts of the row's key, and how many of them are the table's heading.
_ROWS = {
    ("workshop", "operations"): (3, 1),  # [operations] with saw.offset = { ... }
    ("workshop", "aids", "replaces"): (4, 3),  # [aids.stop_block.replaces] with "saw.offset" = { ... }
    ("design", "limits"): (3, 1),  # [limits] with joint_gap.max = ...
    ("design", "climate"): (2, 1),  # [climate] with making = { ... }
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FileRow:
    """One row of a file: it takes the place of the row of its key, or joins its table where there is none."""

    file: File
    table: str  # the heading that it stands under, without brackets; empty at the top of the file
    line: str  # key = value; empty where the table is left empty
    alone: bool = False  # whether the table keeps no rows and no tables of its own but those of this change
    key: KeyPath = ()  # of the row, its table's parts first
    depth: int = 0  # how many parts of the key are its table's


def file_rows(change: Change, design: Design, workshop: Workshop) -> tuple[FileRow, ...]:
    """Return what a change writes into the files of a design and its workshop.

    Notes
    -----
    The numbers of a quantity stand on one row, so that a change of one of them writes the others, too, as they are.

    Raises
    ------
    ConfigError
        As `assembly.changes.apply.apply`.
    """
    after = dict(zip(("design", "workshop"), apply(change, design, workshop), strict=True))
    found = (row for each in change.settings for row in _rows(each, as_written(after[each.file])))
    return tuple(dict.fromkeys(found))


def _rows(setting: Setting, values: dict[str, Any]) -> Iterator[FileRow]:
    key, heading = _row_of(setting)
    if setting.file == "workshop" and key[0] == "operations" and len(key) == 2:  # all quantities of an operation
        written = values["operations"][key[1]]
        for quantity in quantities_of(key[1]):
            yield _row(setting.file, (*key, quantity.partition(".")[2]), 1, written.get(quantity.partition(".")[2], {}))
        return
    value: Any = values
    for part in key:
        value = value[part]
    if isinstance(value, dict) and len(key) <= heading:
        for name, inner in value.items():
            yield _row(setting.file, (*key, name), len(key), inner, alone=True)
        if not value:
            yield FileRow(file=setting.file, table=toml_key(key), line="", alone=True, key=key, depth=len(key))
        return
    yield _row(setting.file, key, heading, value)


def _row(file: File, key: KeyPath, heading: int, value: object, *, alone: bool = False) -> FileRow:
    line = f"{toml_key(key[heading:])} = {toml_value(value)}"
    return FileRow(file=file, table=toml_key(key[:heading]), line=line, alone=alone, key=key, depth=heading)


def _row_of(setting: Setting) -> tuple[KeyPath, int]:
    """Return the key that a setting's row has, and how many of its parts are the table's heading."""
    key = setting.key
    parts, heading = _ROWS.get((setting.file, key[0]), _ROWS.get((setting.file, key[0], *key[2:3]), (len(key), -1)))
    if heading < 0:
        return key, len(key) if isinstance(setting.value, dict) else len(key) - 1
    return key[:parts], heading
