"""Layouts of sheets by rectpack: rectangles put one by one where they fit best, by several rules and orders."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.order.wanted import Placed, Wanted

RULES = ("MaxRectsBssf", "MaxRectsBaf", "MaxRectsBl", "MaxRectsBlsf")
STRAIGHT_RULES = ("GuillotineBssfSas", "GuillotineBlsfLas", "GuillotineBafMinas", "GuillotineBssfMaxas")
ORDERS = ("SORT_AREA", "SORT_LSIDE", "SORT_SSIDE", "SORT_PERI")
MANY = 300  # pieces, for which one rule and all orders must do: the time goes by their square


def packings(wanted: Wanted) -> Iterator[list[list[Placed]]]:
    """Yield a plan of sheets by each rule and each order."""
    yield from _packed(wanted, sheets=sum(wanted.counts))


def fills(wanted: Wanted) -> Iterator[list[Placed]]:
    """Yield a layout of one sheet by each rule and each order; what does not go onto it any more is left out."""
    for sheets in _packed(wanted, sheets=1):
        yield from sheets


def _packed(wanted: Wanted, *, sheets: int) -> Iterator[list[list[Placed]]]:
    import rectpack  # noqa: PLC0415 - only where no simpler layout will do

    pieces = [(kind, n) for kind, n in enumerate(_most(wanted, sheets)) if n]
    rules = STRAIGHT_RULES if wanted.straight else RULES
    for rule in rules if sum(n for _, n in pieces) <= MANY else rules[:1]:
        for order in ORDERS:
            packer: Any = rectpack.newPacker(
                mode=rectpack.PackingMode.Offline,
                bin_algo=rectpack.PackingBin.BFF,
                pack_algo=getattr(rectpack, rule),
                sort_algo=getattr(rectpack, order),
                rotation=wanted.turn,
            )
            straight = {"merge": False} if wanted.straight else {}  # joined, free parts reach over cuts
            packer.add_bin(*wanted.room, count=sheets, **straight)
            for kind, n in pieces:
                for _ in range(n):
                    packer.add_rect(*wanted.sizes[kind], rid=kind)
            packer.pack()
            yield [[(r.rid, r.x, r.y, (r.width, r.height) != wanted.sizes[r.rid]) for r in each] for each in packer]


def _most(wanted: Wanted, sheets: int) -> list[int]:
    """Return how many of each kind can be of use on so many sheets, by area."""
    room = sheets * wanted.room[0] * wanted.room[1]
    return [min(n, room // area) for n, area in zip(wanted.counts, wanted.areas, strict=True)]
