"""Layouts of sheets by rectpack: rectangles put one by one where they fit best, by several rules and orders.

placed : a rectangle in units, its kerf added: kind, x, y from the trimmed sheet's corner, and whether it is turned
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterator

Placed: TypeAlias = tuple[int, int, int, bool]

RULES = ("MaxRectsBssf", "MaxRectsBaf", "MaxRectsBl", "MaxRectsBlsf")
STRAIGHT_RULES = ("GuillotineBssfSas", "GuillotineBlsfLas", "GuillotineBafMinas", "GuillotineBssfMaxas")
ORDERS = ("SORT_AREA", "SORT_LSIDE", "SORT_SSIDE", "SORT_PERI")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Rectangles that are wanted, and the room of a sheet; units, a kerf added to every length and width."""

    sizes: tuple[tuple[int, int], ...]
    counts: tuple[int, ...]
    room: tuple[int, int]
    straight: bool
    turn: bool


def packings(wanted: Wanted) -> Iterator[list[list[Placed]]]:
    """Yield a plan of sheets by each rule and each order."""
    import rectpack  # noqa: PLC0415 - only what no simpler layout serves

    for rule in STRAIGHT_RULES if wanted.straight else RULES:
        for order in ORDERS:
            packer = rectpack.newPacker(
                mode=rectpack.PackingMode.Offline,
                bin_algo=rectpack.PackingBin.BFF,
                pack_algo=getattr(rectpack, rule),
                sort_algo=getattr(rectpack, order),
                rotation=wanted.turn,
            )
            yield _packed(packer, wanted)


def _packed(packer: Any, wanted: Wanted) -> list[list[Placed]]:  # noqa: ANN401 - rectpack has no types
    straight = {"merge": False} if wanted.straight else {}  # joined, free parts reach over cuts
    packer.add_bin(*wanted.room, count=sum(wanted.counts), **straight)
    for kind, (size, n) in enumerate(zip(wanted.sizes, wanted.counts, strict=True)):
        for _ in range(n):
            packer.add_rect(*size, rid=kind)
    packer.pack()
    return [[(r.rid, r.x, r.y, (r.width, r.height) != wanted.sizes[r.rid]) for r in each] for each in packer]
