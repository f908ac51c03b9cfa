"""The formats that a plaque's outline can be exported to: one folder of files for the machine.

Each folder has the whole drawing by layer (`all`), a file for each thing that the machine does (`cut`, `engrave`,
`bend`), and the strips to try the bend on (`test_strip`).

To add a format: a module NAME beside this one with `NAME(drawing, pens, page)` and `check_NAME(draft, drawing, page)`,
and a row in `OUTLINES`.
"""

from __future__ import annotations

from functools import partial
from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple

from assembly.files.writing import Meant
from assembly.outline.contours import RUN

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from assembly.model.pens import Pens
    from assembly.outline.contours import Box, Drawing

ALL, STRIPS = "all", "test_strip"


class OutlineFormat(NamedTuple):
    """What a drawing becomes in a format, and what a file is held to when it is read back; both loaded now."""

    content: Callable[[Drawing, Pens, Box], bytes]
    check: Callable[[Path, Drawing, Box], None]


def _format(name: str) -> OutlineFormat:
    module = import_module(f"assembly.writers.{name}")
    return OutlineFormat(getattr(module, name), getattr(module, f"check_{name}"))


OUTLINES: dict[str, Callable[[], OutlineFormat]] = {name: partial(_format, name) for name in ("dxf", "svg")}


def outline_files(name: str, plaque: Drawing, strips: Drawing, pens: Pens) -> dict[str, Meant]:
    """Return the files of a format's folder by name; a layer without a contour has none of its own."""
    made = OUTLINES[name]()
    drawings = {ALL: plaque} | {layer.lower(): plaque.only(layer) for layer in RUN if plaque.on(layer)}
    pages = dict.fromkeys(drawings, plaque.box) | {STRIPS: strips.box}
    return {
        f"{stem}.{name}": Meant(
            made.content(drawing, pens, pages[stem]), partial(_read_back, made, drawing, pages[stem])
        )
        for stem, drawing in (drawings | {STRIPS: strips}).items()
    }


def _read_back(made: OutlineFormat, drawing: Drawing, page: Box, draft: Path) -> None:
    made.check(draft, drawing, page)
