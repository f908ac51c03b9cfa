"""One key and its value, as it is said after `--set` and as it stands in a file: read from words, and written as such.

key=value    : a dotted key as in TOML, and a value as in TOML; what is no TOML value is text
workshop.KEY : a key of the workshop and not of the design; what is no key of a workshop is taken as an operation, so
               that workshop.saw.offset.spread=0.2 is enough
"""

from __future__ import annotations

import json
import re
import shlex
import tomllib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from assembly.model.workshop import Operations, Workshop
from assembly.text import near_names

if TYPE_CHECKING:
    from collections.abc import Iterator

File = Literal["design", "workshop"]
KeyPath = tuple[str, ...]

WORKSHOP_PREFIX = "workshop"
SET, THEN = "--set", "--then"  # options that settings are typed after
_WHOLE = 1e15  # whole numbers under it are written without a point, as people write them
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_PART = r"""(?:[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*')"""
_SPLIT = re.compile(rf"(?P<key>[ \t]*{_PART}(?:[ \t]*\.[ \t]*{_PART})*[ \t]*)=(?P<value>.*)", re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One key of a design or a workshop file, and the value that it takes."""

    file: File
    key: KeyPath  # as it stands in the file
    value: Any  # as TOML has it: text, a number, true or false, a list or a table
    typed: str = field(default="", compare=False)  # the words after the option, where somebody typed them
    option: str = field(default=SET, compare=False)
    fault: str = ""  # why it is no key=value; nothing can be laid then

    @property
    def name(self) -> str:
        """The key as it is said after the option."""
        return _split(self.typed)[0].strip() if self.typed else key_words(self.file, self.key)

    @property
    def place(self) -> str:
        """The option and the key, as a fault names them."""
        return f"{self.option} {self.name}".rstrip()

    @property
    def text(self) -> str:
        """`key=value`, which reads back as this setting to the last digit."""
        return self.typed or f"{self.name}={_plain_text(self.value)}"

    @property
    def words(self) -> str:
        """The option and what follows it, as it is pasted into a command line."""
        return f"{self.option} {_quoted(self.text)}"

    @property
    def leaves(self) -> dict[KeyPath, Any]:
        """Every key below this one that has a value of its own, with that value; a table without keys is its own."""
        return dict(_leaves(self.key, self.value))


def _leaves(key: KeyPath, value: object) -> Iterator[tuple[KeyPath, object]]:
    if isinstance(value, dict) and value:
        for name, inner in value.items():
            yield from _leaves((*key, name), inner)
    else:
        yield key, value


def setting_of(text: str, option: str = SET) -> Setting:
    """Return the setting that `key=value` after an option says; with its fault where it says none."""
    given, sign, value = _split(text)
    file: File = "workshop" if given.strip().startswith(f"{WORKSHOP_PREFIX}.") else "design"
    key: KeyPath = ()
    fault = ""
    if not _is_text(text):
        fault = f"got {text!r}, which holds bytes that are not UTF-8; type it again"
    elif not sign or not (key := _key(given)):
        fault = f"got {text!r}, must be key=value with a dotted key, as in timber.plain=9"
    if fault:
        return Setting(file=file, key=(), value=None, typed=text, option=option, fault=fault)
    place = _workshop_key(key) if file == "workshop" else key
    return Setting(file=file, key=place, value=_value(value), typed=text, option=option)


def _is_text(words: str) -> bool:
    """Tell whether words of a command are text: the system hands bytes that it can't read over as halves of letters."""
    try:
        words.encode()
    except UnicodeEncodeError:
        return False
    return True


def _split(text: str) -> tuple[str, str, str]:
    """Return key, sign and value of `key=value`; a key in quotes may hold a sign of its own."""
    found = _SPLIT.fullmatch(text)
    return (found["key"], "=", found["value"]) if found else text.partition("=")


def _key(text: str) -> KeyPath:
    """Return the parts of a dotted key, spelt as in TOML; none if it is no key."""
    if not _SPLIT.fullmatch(f"{text}="):
        return ()
    try:
        inner: Any = tomllib.loads(f"{text} = 0")
    except (ValueError, RecursionError):
        return ()
    parts = []
    while isinstance(inner, dict) and len(inner) == 1:
        [(part, inner)] = inner.items()
        parts.append(part)
    return tuple(parts)


def _workshop_key(key: KeyPath) -> KeyPath:
    """Turn a key as said into its place in a workshop file: an operation's name may stand alone."""
    rest = key[1:]
    near = near_names(rest[0], [*Operations.model_fields, *Workshop.model_fields])
    return rest if near and near[0] in Workshop.model_fields else ("operations", *rest)


def _value(text: str) -> object:
    """Return a value spelt as in TOML; what is not TOML is text."""
    try:
        table = tomllib.loads(f"value = {text}")
    except (ValueError, RecursionError):
        return text.strip()
    return table["value"] if set(table) == {"value"} else text.strip()


def key_words(file: File, key: KeyPath) -> str:
    """Return a key of a file as it is said after an option."""
    if file == "design":
        return toml_key(key)
    short = (WORKSHOP_PREFIX, *key[1:])
    whole = (WORKSHOP_PREFIX, *key)
    return toml_key(short if key[0] == "operations" and len(key) > 1 and _workshop_key(short) == key else whole)


def toml_key(key: KeyPath) -> str:
    """Return a dotted key as TOML spells it."""
    return ".".join(part if _BARE.fullmatch(part) else _toml_string(part) for part in key)


def toml_value(value: object) -> str:
    """Return a value as TOML spells it, on one line; a number to its last digit."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return _toml_string(value)
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(toml_value, value))}]"
    if isinstance(value, dict):
        pairs = ", ".join(f"{toml_key((name,))} = {toml_value(inner)}" for name, inner in value.items())
        return f"{{ {pairs} }}" if pairs else "{}"
    if isinstance(value, float) and value.is_integer() and abs(value) < _WHOLE:
        return str(int(value))
    return repr(value)


def _toml_string(text: str) -> str:
    """Return text in TOML's double quotes: JSON's escapes, of which TOML knows all, and one that JSON does without."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _plain_text(value: object) -> str:
    """Return a value as it is said after a key: text without quotes where it reads back as that text."""
    return value if isinstance(value, str) and _value(value) == value else toml_value(value)


def _quoted(text: str) -> str:
    """Return a word as shells take it: as it is, in double quotes, which every shell knows, or in single ones."""
    if shlex.quote(text) == text:
        return text
    return shlex.quote(text) if re.search(r'["$`\\!%]', text) else f'"{text}"'
