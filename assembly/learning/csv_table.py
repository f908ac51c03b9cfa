"""A table that people fill in: a CSV as spreadsheets save it, as rows by column, or every fault with its line.

Cells are separated by commas, semicolons or tabs, as the first line has them; with semicolons or tabs a comma is a
decimal sign. A byte-order mark, blank lines and blank columns at the end are passed over. Formulas stay text.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assembly.errors import ConfigError, Problem
from assembly.files.shipped import configs_folder
from assembly.text import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Sequence

OTHERS = {  # by columns that only they have: tables of ours that are given in each other's place
    "holds finished boxes; `lapwright outcome` takes it": {"outcome"},
    "holds readings of parts; `lapwright learn` takes it": {"part", "feature"},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a table: its number in the file and its cells by column."""

    number: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The lines of a table that hold anything, and whether a decimal comma is one."""

    lines: tuple[Line, ...]
    comma: bool
    faults: tuple[Problem, ...]


def read_lines(file: Path, columns: Sequence[str], optional: Sequence[str], empty: str) -> Table:
    """Return the lines of a table with `columns`, and those of `optional` that it has.

    Raises
    ------
    ConfigError
        If it can't be read, is empty (`empty` says what to do) or lacks a column: then no line can be judged.
    """
    text = _text(file)
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = max(",;\t", key=first.count)
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    starts = _starts(text, rows)
    filled = [(at, row) for at, row in zip(starts, rows, strict=True) if any(cell.strip() for cell in row)]
    if not filled:
        raise ConfigError(str(file), [Problem(where="file", line=None, what=empty)])
    (at, head), *body = filled
    names = [cell.strip().casefold() for cell in head]
    while names and not names[-1]:
        names.pop()
    if other := next((words for words, own in OTHERS.items() if own <= {*names} - {*columns}), ""):
        raise ConfigError(str(file), [Problem(where="file", line=None, what=other)])
    if faults := _heading_faults(names, columns, optional, at):
        raise ConfigError(str(file), faults)
    lines, faults = [], []
    for number, row in body:
        cells = [cell.strip() for cell in row]
        if any(cells[len(names) :]):
            faults.append(Problem(where="line", line=number, what=_too_many(cells, names, separator)))
            continue
        cells += [""] * (len(names) - len(cells))
        lines.append(Line(number=number, cells=dict(zip(names, cells, strict=False))))
    return Table(lines=tuple(lines), comma=separator != ",", faults=tuple(faults))


def table_file(name: str) -> Path:
    """Return the file that a name means: a path, else a table that ships, by its bare name."""
    shipped = configs_folder() / f"{name}.csv"
    return shipped if Path(name).name == name and not Path(name).exists() and shipped.is_file() else Path(name)


def _text(file: Path) -> str:
    try:
        data = file.read_bytes()
    except FileNotFoundError:
        fault = Problem(where="file", line=None, what="does not exist; give the path of a CSV file")
        raise ConfigError(str(file), [fault]) from None
    except OSError as error:
        fault = Problem(where="file", line=None, what=f"can't be read ({error.strerror}); give the path of a CSV file")
        raise ConfigError(str(file), [fault]) from None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        fault = Problem(where="text", line=line, what="is not UTF-8; save the sheet as CSV, UTF-8")
        raise ConfigError(str(file), [fault]) from None


def _starts(text: str, rows: Sequence[Sequence[str]]) -> list[int]:
    """Return the line on which each row begins; a quoted cell may go over several."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max(",;\t", key=text.partition("\n")[0].count))
    starts, last = [], 0
    for _ in rows:
        next(reader, None)
        starts.append(last + 1)
        last = reader.line_num
    return starts


def _heading_faults(names: Sequence[str], columns: Sequence[str], optional: Sequence[str], line: int) -> list[Problem]:
    """Return a fault for each column that is missing, unknown or there twice."""
    known, faults = [*columns, *optional], []
    missing = [name for name in columns if name not in names]
    for name in dict.fromkeys(names):
        if name not in known:
            cure = did_you_mean(name, missing or known, f"columns are {', '.join(known)}")
            faults.append(Problem(where=f"column {name!r}", line=line, what=f"unknown; {cure}"))
        elif names.count(name) > 1:
            faults.append(Problem(where=f"column {name!r}", line=line, what="is there twice; leave one out"))
    faults += [
        Problem(where=f"column {name!r}", line=line, what=f"missing; the first line is {','.join(columns)}")
        for name in missing
    ]
    return faults


def _too_many(cells: Sequence[str], names: Sequence[str], separator: str) -> str:
    found = f"has {len(cells)} cells, and there are {len(names)} columns"
    if separator == ",":
        return f"{found}; where a comma is the decimal sign write a point, or separate the cells by semicolons"
    return f"{found}; leave out what is beyond them"


def number_in(cell: str, *, comma: bool) -> float | str:
    """Return the number that a cell holds, or what is wrong with it as a sentence."""
    if cell.startswith(("=", "+=", "@")):
        return f"got {cell!r}, a formula; write the number that it gives"
    plain = cell.replace(",", ".") if comma else cell
    try:
        value = float(plain)
    except ValueError:
        value = math.nan
    if math.isfinite(value):
        return value
    try:
        with_point = float(cell.replace(",", "."))
    except ValueError:
        bare = cell.rstrip("abcdefghijklmnopqrstuvwxyz°. ")
        return f"got {cell!r}, must be a number; {_alone(bare)}"
    if not math.isfinite(with_point):
        return f"got {cell!r}, must be a number"
    return f"got {cell!r}; where cells are separated by commas write a point: {cell.replace(',', '.')}"


def _alone(bare: str) -> str:
    """Return the cure of a number with words behind it, or of what is none."""
    try:
        float(bare.replace(",", "."))
    except ValueError:
        return "read it again, or leave the cell blank"
    return f"write the number alone: {bare}"


def whole_in(cell: str, *, what: str, cure: str) -> int | str:
    """Return the whole number of 1 or more that a cell holds, or what is wrong with it as a sentence."""
    if cell.isascii() and cell.isdigit() and len(cell) <= 9 and int(cell) >= 1:
        return int(cell)
    return f"got {cell!r}, must be {what}, 1 or more{cure}" if cell else f"is blank, must be {what}, 1 or more{cure}"
