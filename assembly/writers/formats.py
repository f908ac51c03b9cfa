"""The formats that a box can be exported to, by the name that a user gives; nothing heavy is loaded until one is used.

To add a format: a module NAME beside this one with `write_NAME(box, target, scale)`, and a row in `FORMATS`.
"""

from __future__ import annotations

import math
from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple

from assembly.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from assembly.solids.box import Box

    Writer = Callable[[Box, Path, float], tuple[Path, ...]]


class Format(NamedTuple):
    """A format: what its file's name (or its folder's, if it takes several files) ends in, and its writer."""

    suffix: str
    write: Writer


def _writer(name: str) -> Writer:
    """Return the writer of a module that is loaded when it is first used: the kernel takes two seconds."""

    def write(box: Box, target: Path, scale: float) -> tuple[Path, ...]:
        writer: Writer = getattr(import_module(f"assembly.writers.{name}"), f"write_{name}")
        return writer(box, target, scale)

    return write


FORMATS: dict[str, Format] = {
    "step": Format(".step", _writer("step")),
    "stl": Format("-stl", _writer("stl")),  # a folder, one file a part
    "glb": Format(".glb", _writer("glb")),
}


def read_scale(words: str) -> float:
    """Return the scale that `1:2`, `2:1` or `0.5` means.

    Raises
    ------
    InputError
        If it is none of these, or not from 0.01 to 100.
    """
    drawn, _, true = words.partition(":")
    try:
        scale = float(drawn) / (float(true) if true else 1.0)
    except (ValueError, ZeroDivisionError):
        scale = math.nan
    if not 0.01 <= scale <= 100:
        msg = f"--scale: got {words!r}, must be a scale such as 1:2 or 0.5, from 1:100 to 100:1"
        raise InputError(msg)
    return scale
