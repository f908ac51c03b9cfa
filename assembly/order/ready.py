"""What is bought ready for a class: screws, washers, and what stands in the lid, each line with its price.

Screws of one head and size are one line, whatever they hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.model.on_sale import sized
from assembly.planning.cutting import SCREWS, stem_words
from assembly.planning.needs import screw_words, washer_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.model.design import Design
    from assembly.model.on_sale import Prices


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """Things of one sort, bought ready."""

    name: str  # with their sizes
    count: int
    named: bool  # by the design, as one thing: "26 x knob", not "52 washers"
    price: float | None  # of one


def ready(design: Design, prices: Prices) -> tuple[Ready, ...]:
    """Return what is bought ready for all makers of a design, in the order of the cut list."""
    found: dict[str, Ready] = {}
    for name, count, price in _screws(design, prices):
        before = found[name].count if name in found else 0
        found[name] = Ready(name=name, count=before + count * design.makers, price=price, named=False)
    stem = design.stem
    stems = [] if stem is None else [(stem_words(stem), prices.stems.get(stem.name))]
    return (
        *found.values(),
        *(Ready(name=name, count=design.makers, price=price, named=True) for name, price in stems),
    )


def _screws(design: Design, prices: Prices) -> Iterator[tuple[str, int, float | None]]:
    """Yield the name of each sort of screw and washer, how many a box takes, and the price of one."""
    for screw in [design.lid.screw, *([design.plaque.screw] if design.plaque else [])]:
        yield screw_words(screw), SCREWS, prices.screws.get(sized(screw.diameter, screw.length))
        if head := screw.round_head:
            size = sized(head.washer, head.washer_hole, head.washer_thickness)
            yield washer_words(head), SCREWS, prices.washers.get(size)
