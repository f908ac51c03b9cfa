"""Names of a stock file that count for nothing in an order, though they are spelt nearly as one that would.

A stock file serves several designs, so a sheet or a stem of another one is left alone: stray is only a name that nobody
knows, and that is nearest to one that this design goes by.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.data.tables import all_sheets
from assembly.model.on_sale import named_like, names_for
from assembly.text import near_names

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from assembly.model.design import Design
    from assembly.model.on_sale import Stock

ALIKE = 0.8  # of the letters of two names, as `near_names` counts them


@dataclass(frozen=True, slots=True, kw_only=True)
class StrayName:
    """A name that counts for nothing."""

    table: str  # of the stock file, where it stands
    name: str
    sort: str  # of what the design has: "sheets", "stem"
    used: tuple[str, ...]  # what they are there
    meant: str  # the name that it may stand for


def stray_names(design: Design, stock: Stock) -> tuple[StrayName, ...]:
    """Return the stray names of a stock file: of sheets, of their prices, of the prices of stems."""
    return (
        *_of_sheets("sheets", stock.sheets, design),
        *_of_sheets("prices.sheets", stock.prices.sheets, design),
        *_of_stems(stock.prices.stems, design),
    )


def _of_sheets(table: str, names: Iterable[str], design: Design) -> Iterator[StrayName]:
    materials = (design.base.material, design.lid.material, *(("acrylic",) if design.plaque else ()))
    words = {word.casefold(): word for material in materials for word in names_for(material)}
    known = {word.casefold() for row in all_sheets() for word in (row.name, *row.also, *row.genus)}
    count = {named_like(material, names) for material in materials}
    for name in names:
        if name not in count and name.casefold() not in known and (meant := _nearest(name, {*known, *words})) in words:
            yield StrayName(
                table=table, name=name, sort="sheets", used=tuple(dict.fromkeys(materials)), meant=words[meant]
            )


def _of_stems(names: Iterable[str], design: Design) -> Iterator[StrayName]:
    own = design.stem.name if design.stem else ""
    for name in names:
        if name != own and _nearest(name, {own.casefold()}):
            yield StrayName(table="prices.stems", name=name, sort="stem", used=(own,), meant=own)


def _nearest(name: str, words: set[str]) -> str:
    """Return the word that a name is spelt most like; nothing where it is like none."""
    return next(iter(near_names(name.casefold(), sorted(words), alike=ALIKE)), "")
