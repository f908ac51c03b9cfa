"""The formats that a plaque's outline can be exported to: one folder of files for the machine.

Each folder has the whole drawing by layer (`all`), a file for each thing that the machine does (`cut`, `engrave`,
`bend`), and the strips to try the bend on (`test_strip`). Where a format has no layer that a machine leaves out, what
is for people is in none of these but in a file of its own (`reference`).

To add a format: a module NAME beside this one with `NAME(drawing, pens, page)` and `check_NAME(draft, drawing, page)`,
`UNPLOTTED`, and a row in `OUTLINES`.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple

from assembly.files.writing import Meant
from assembly.outline.contours import RUN, Layer, box_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from assembly.model.pens import Pens
    from assembly.outline.contours import Box, Drawing

ALL, BESIDE, STRIPS = "all", "reference", "test_strip"


class OutlineFormat(NamedTuple):
    """What a drawing becomes in a format, and what a file is held to when it is read back; both loaded now."""

    content: Callable[[Drawing, Pens, Box], bytes]
    check: Callable[[Path, Drawing, Box], None]
    unplotted: bool  # whether it has a layer that no machine runs


def _format(name: str) -> OutlineFormat:
    module = import_module(f"assembly.writers.{name}")
    return OutlineFormat(getattr(module, name), getattr(module, f"check_{name}"), module.UNPLOTTED)


OUTLINES: dict[str, Callable[[], OutlineFormat]] = {name: partial(_format, name) for name in ("dxf", "svg")}


def outline_files(name: str, plaque: Drawing, strips: Drawing, pens: Pens) -> dict[str, Meant]:
    """Return the files of a format's folder by name; a layer without a contour has none of its own."""
    made = OUTLINES[name]()
    drawings = {ALL: plaque} | {layer.lower(): plaque.only(layer) for layer in RUN if plaque.on(layer)}
    if not made.unplotted:
        title = f"{plaque.title}: for people, no machine runs it"
        drawings[BESIDE] = replace(plaque.only(Layer.REFERENCE), title=title)
    run = tuple(contour for contour in strips.contours if made.unplotted or contour.layer in RUN)
    pages = dict.fromkeys(drawings, plaque.box) | {STRIPS: box_of(run)}
    return {
        f"{stem}.{name}": Meant(
            made.content(drawing, pens, pages[stem]), partial(_read_back, made, drawing, pages[stem])
        )
        for stem, drawing in (drawings | {STRIPS: strips}).items()
    }


def _read_back(made: OutlineFormat, drawing: Drawing, page: Box, draft: Path) -> None:
    made.check(draft, drawing, page)
