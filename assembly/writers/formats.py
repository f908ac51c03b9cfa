"""The formats that a box can be exported to, by the name that a user gives; nothing heavy is loaded until one is used.

To add a format: a module NAME beside this one with `NAME_files(box, target, scale)`, and a row in `FORMATS`.
"""

from __future__ import annotations

import re
from functools import partial
from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple

from assembly.errors import InputError
from assembly.text import decimal

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from assembly.files.writing import Meant
    from assembly.solids.box import BuiltBox

    Writer = Callable[[BuiltBox, Path, float], dict[Path, Meant]]


class Format(NamedTuple):
    """A format: what its file's name (or its folder's, if it takes several files) ends in, and its writer's loader."""

    suffix: str
    load: Callable[[], Writer]


def _writer(module: str) -> Writer:
    """Return the writer of a module, loaded now: the kernel takes two seconds."""
    writer: Writer = getattr(import_module(f"assembly.writers.{module}"), f"{module}_files")
    return writer


FORMATS: dict[str, Format] = {
    "step": Format(".step", partial(_writer, "step")),
    "stl": Format("-stl", partial(_writer, "stl")),  # a folder, one file a part
    "glb": Format(".glb", partial(_writer, "glb")),
    "3mf": Format("-3mf", partial(_writer, "threemf")),  # a folder: the whole box, and one file a part
}


class Scale(NamedTuple):
    """How large files are drawn against true size, and what that adds to their names."""

    factor: float
    ending: str  # nothing at true size, so that files to scale never replace those in true size


LEAST = 100  # 1:100 is the smallest scale
_SCALE = re.compile(r"1:(\d{1,3}(?:\.\d{1,3})?)")


def read_scale(words: str) -> Scale:
    """Return the scale that words such as 1:2 mean.

    Raises
    ------
    InputError
        If they are not 1:N with N from 1 to `LEAST`.
    """
    found = _SCALE.fullmatch(words.strip())
    size = float(found[1]) if found else 0.0
    if not 1 <= size <= LEAST:
        msg = f"--scale: got {words!r}, must be 1:N with N from 1 (true size) to {LEAST}, such as 1:2{_meant(words)}"
        raise InputError(msg)
    return Scale(1 / size, "" if size == 1 else f"_1to{decimal(size)}")


def _meant(words: str) -> str:
    """Return the cure for a scale that is written in another way, nothing where none is known."""
    drawn, colon, true = words.replace(",", ".").partition(":")
    try:
        size = (float(true) if colon else 1.0) / float(drawn)
    except (ValueError, ZeroDivisionError):
        return ""
    if 0 < size < 1:
        return "; files are never larger than true size"
    return f"; write 1:{decimal(size)}" if 1 <= size <= LEAST else ""
