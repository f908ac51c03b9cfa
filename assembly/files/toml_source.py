"""A TOML file as values, with what is needed to place a fault: the line of each key, and what was set over it."""

from __future__ import annotations

import re
import tomllib
from copy import deepcopy
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from assembly.errors import ConfigError, Problem
from assembly.files.number_words import number_meant

if TYPE_CHECKING:
    from pathlib import Path

    from pydantic import BaseModel

    from assembly.files.settings import Setting


@dataclass(slots=True)
class TomlSource:
    """The values of one file, with settings laid over them; faults gather as they are met."""

    name: str  # as the user gave it
    data: bytes  # the file, as UTF-8 without a byte-order mark
    values: dict[str, Any]
    faults: list[Problem] = field(default_factory=list)
    laid: list[Setting] = field(default_factory=list)  # in the order in which they were laid

    def refuse_another_kind(self, wanted: type[BaseModel], other: type[BaseModel], kind: str, instead: str) -> None:
        """Refuse a file of the other kind in one sentence, where most of its keys are keys of that kind."""
        keys = set(self.values)
        if len(keys & set(other.model_fields)) > len(keys & set(wanted.model_fields)):
            what = f"this is a {instead} file, but a {kind} file is wanted here; give the {kind}'s file"
            raise ConfigError(self.name, [Problem(where="file", line=None, what=what)])

    def lay(self, setting: Setting) -> None:
        """Lay a setting over the values; one that can't be laid is a fault."""
        if setting.fault:
            self.faults.append(Problem(where=setting.place, line=None, what=setting.fault))
            return
        table = self.values
        for depth, part in enumerate(setting.key[:-1], start=1):
            inner = table.setdefault(part, {})
            if not isinstance(inner, dict):
                what = f"{'.'.join(setting.key[:depth])} is a value and has no keys of its own; set it whole"
                self.faults.append(Problem(where=setting.place, line=None, what=what))
                return
            table = inner
        table[setting.key[-1]] = deepcopy(setting.value)  # a later setting may reach into it
        self.laid.append(setting)

    def laid_over(self, below: dict[str, Any]) -> TomlSource:
        """Return the source with its values laid over others, tables into tables; faults keep the lines of its file."""
        return replace(self, values=_over(below, self.values))

    def placed(self, faults: list[Problem]) -> list[Problem]:
        """Give each fault its line, or the setting that caused it; faults without a line come last."""
        if not faults:
            return faults
        from assembly.files.key_lines import key_lines  # noqa: PLC0415 - the parser is only needed to place a fault

        lines = {".".join(map(str, key)): line for key, line in key_lines(self.data).items()}
        placed = [self._placed(fault, lines) for fault in faults]
        return sorted(placed, key=lambda fault: fault.line or len(self.data) + 1)

    def _placed(self, fault: Problem, lines: dict[str, int]) -> Problem:
        """Find the longest part of a fault's key that was set or that stands in the file."""
        parts, was_set = fault.where.split("."), {".".join(each.key): each for each in self.laid}
        for size in range(len(parts), 0, -1):
            key, rest = ".".join(parts[:size]), parts[size:]
            if found := was_set.get(key):
                return replace(fault, where=".".join([found.place, *rest]))
            inside = [each for other, each in was_set.items() if other.startswith(f"{key}.")]
            if inside and not (rest and key in lines):  # a setting reached into the very table that is at fault
                return replace(fault, where=": ".join([inside[0].place, *rest]))
            if key in lines:
                return replace(fault, line=lines[key])
        return fault


def _over(below: dict[str, Any], above: dict[str, Any]) -> dict[str, Any]:
    """Return a table with the keys of another laid over its own, tables inside likewise."""
    shared = [key for key in above if isinstance(below.get(key), dict) and isinstance(above[key], dict)]
    return {**below, **above, **{key: _over(below[key], above[key]) for key in shared}}


_EMPTY = "is empty; `lapwright new FILE` writes a design to start from"


def read_table(path: Path, name: str, empty: str = _EMPTY) -> TomlSource:
    """Return the values of a TOML file; `empty` words the refusal of one that says nothing.

    Raises
    ------
    ConfigError
        If it can't be opened, is empty, is not UTF-8 or is not TOML; one fault, with its line where there is one.
    """
    data = _bytes(path, name)
    try:
        text = data.decode()
    except UnicodeDecodeError as error:
        line, bad = data.count(b"\n", 0, error.start) + 1, data[error.start]
        what = f"byte {error.start + 1} of the file (0x{bad:02x}) is not UTF-8; save the file as UTF-8 text"
        raise _refusal(name, line, "text", what) from None
    if not text.strip():
        raise _refusal(name, None, "file", empty)
    try:
        values = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise _refusal(name, *_not_toml(text, error)) from None
    return TomlSource(name, data, values)


def _refusal(name: str, line: int | None, where: str, what: str) -> ConfigError:
    return ConfigError(name, [Problem(where=where, line=line, what=what)])


def _bytes(path: Path, name: str) -> bytes:
    """Return a file's bytes without a byte-order mark; a reason in plain words where it can't be opened."""
    if path.is_dir():
        raise _refusal(name, None, "file", "is a folder; give the path of a TOML file")
    try:
        return path.read_bytes().removeprefix(b"\xef\xbb\xbf")
    except (FileNotFoundError, ValueError):  # a name that no file can have is a value error
        what = "does not exist; check the name and the folder"
    except PermissionError:
        what = "can't be read (no permission); change its permissions or copy it"
    except OSError as error:
        what = f"can't be read ({(error.strerror or 'no reason given').lower()})"
    raise _refusal(name, None, "file", what) from None


def _not_toml(text: str, error: Exception) -> tuple[int | None, str, str]:
    """Return line, place and words for a text that is not TOML."""
    if isinstance(error, RecursionError):
        return None, "file", "is nested too deeply to be read; a design needs tables three deep at the most"
    lines = text.split("\n")
    found = re.search(r"at line (\d+), column (\d+)", str(error))
    line, column = (int(found[1]), int(found[2])) if found else (len(lines), len(lines[-1]) + 1)
    near = lines[min(line, len(lines)) - 1].strip()
    if re.search("overwrite|twice|namespace|immutable", str(error)):
        cure = "this key or table was given before; keep one of the two"
    else:
        cure = _wanted(near)
    return line, f"column {column}", f"can't be read: {near[:60]!r}; {cure}"


_LINE = re.compile(r"(?P<key>[^=]*)=(?P<value>[^#]*)(#.*)?")
_ANY = "text stands in double quotes, a number has no unit, and every line is key = value or [table]"
# What a line looks like, by a pattern that it begins with, and what it then wants; the first that fits is told.
_LOOKS = (
    (
        re.compile(r".*=\s*(yes|no|on|off|true|false)\s*(#.*)?$", re.IGNORECASE),
        "yes is written true and no is written false, in small letters and without quotes",
    ),
    (re.compile(".*[“”„«»]"), 'text stands in straight double quotes: "'),
    (re.compile(r"\[[^\]]*$"), "a table's name stands between [ and ]"),
    (re.compile("[^=]*$"), "a line is key = value, and here is no ="),
    (re.compile(r"[^=]*=\s*(#.*)?$"), "a value is missing behind the ="),
    (re.compile(r"\w+(\s+\w+)+\s*="), "a key is one word, as the designs that ship spell it"),
    (re.compile(r"[^=]*=\s*\"[^\"]*$"), "text ends with the same double quote that it begins with"),
)


def _wanted(near: str) -> str:
    """Return what a line that can't be read looks like it wants."""
    found = _LINE.fullmatch(near)
    if found and (words := number_meant(found["value"])):
        return words
    for pattern, wants in _LOOKS:
        if pattern.match(near):
            return wants
    if found and re.fullmatch(r"\s*[^\W\d][^\"'\[\]{}=]*", found["value"]):
        return f'text stands in double quotes: {found["key"].strip()} = "{found["value"].strip()}"'
    return _ANY
