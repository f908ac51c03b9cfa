"""What a reader has to know of a design that no rule refuses: materials that the tables have no figures for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.data.tables import all_sheets, sheet, wall_material
from assembly.errors import InputError, Problem
from assembly.text import near_names

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.model.design import Design

_NEAR = 0.75  # how alike two names are that may be one misspelt, of 1


def remarks(design: Design) -> tuple[Problem, ...]:
    """Return what has to be known of a design, by the key that says it; no key has to be changed."""
    return (*_sheets(design), *_walls(design))


def _sheets(design: Design) -> Iterator[Problem]:
    known = [name for panel in all_sheets() for name in (panel.name, *panel.also)]
    for part, material in (("base", design.base.material), ("lid", design.lid.material)):
        try:
            sheet(material)
        except InputError:
            near = near_names(material.casefold(), known, alike=_NEAR)
            cure = f"Did you mean {near[0]!r}?" if near else f"There are figures for {'; '.join(known)}."
            what = (
                f"no figures here for {material!r}. The {part} is cut, drawn and checked as any sheet is. What other "
                f"air does to it is not known here, nor whether it can be glued, sanded and screwed. {cure}"
            )
            yield Problem(where=f"{part}.material", line=None, what=what)


def _walls(design: Design) -> Iterator[Problem]:
    try:
        wall_material(design.timber.name)
    except InputError:
        if design.timber.kind is None:
            what = (
                f"no figures here for {design.timber.name!r}. The walls are cut, drawn and checked as any timber is. "
                "Whether they make a sound joint can't be judged. Give timber.kind and its properties for that."
            )
            yield Problem(where="timber.name", line=None, what=what)
