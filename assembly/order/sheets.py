"""The fewest sheets on sale that rectangles can be sawn from, and where each of them lies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.order.layouts import Laid, SheetOnSale, SheetPlan
from assembly.order.pieces import UNITS_PER_MM, held_pieces, named, rectangle, units_down, units_up
from assembly.order.sheet_search import searched
from assembly.order.wanted import Wanted
from assembly.text import mm

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from assembly.order.wanted import Placed

__all__ = ["Laid", "SheetOnSale", "SheetPlan", "fewest_sheets"]


NODES = 3_000  # of the exact search for a few pieces, in each order in which it tries them


def fewest_sheets(
    sizes: Sequence[tuple[float, float]],
    counts: Sequence[int],
    on_sale: SheetOnSale,
    *,
    nodes: int = NODES,
    names: Sequence[str] = (),
) -> SheetPlan:
    """Return a plan with as few sheets as are found, and a bound of how few can do.

    Parameters
    ----------
    sizes, counts : Sequence
        Of each kind of piece length and width, mm, and how many are wanted. Sizes and kerf count as rounded up to
        0.001 mm.
        Unless it is turned, a piece lies with its length along that of the sheet.
    on_sale : SheetOnSale
        What they are sawn from.
    nodes : int
        How much work the exact search may take, so that every machine finds the same plan.
    names : Sequence[str]
        What the kinds are called in a refusal; by their place without.

    Raises
    ------
    InputError
        If a piece does not go onto a sheet, with every such piece.

    Examples
    --------
    >>> sheet = SheetOnSale(length=600, width=300, kerf=3, edge_trim=10, straight=True, turn=False)
    >>> plan = fewest_sheets([(180, 110)], [8], sheet)
    >>> len(plan.sheets), plan.proved
    (2, True)
    """
    held_pieces(sizes, counts, names)
    _held_to_go_on(sizes, counts, on_sale, names)
    kinds = [kind for kind, n in enumerate(counts) if n]
    if not kinds:
        return SheetPlan(sheets=(), bound=0)
    kerf = units_up(on_sale.kerf)
    wanted = Wanted(
        sizes=tuple((units_up(sizes[k][0]) + kerf, units_up(sizes[k][1]) + kerf) for k in kinds),
        counts=tuple(counts[kind] for kind in kinds),
        room=(units_down(on_sale.usable[0]) + kerf, units_down(on_sale.usable[1]) + kerf),
        straight=on_sale.straight,
        turn=on_sale.turn,
    )
    best, bound = searched(wanted, nodes=nodes)
    sheets = [_laid(each, kinds, on_sale) for each in best]
    return SheetPlan(sheets=tuple(sorted(sheets, key=sheets.index)), bound=bound)


def _laid(sheet: Iterable[Placed], kinds: Sequence[int], on_sale: SheetOnSale) -> tuple[Laid, ...]:
    """Return a layout in mm, from the sheet's own corner."""
    trim = on_sale.edge_trim
    return tuple(
        Laid(kind=kinds[kind], x=trim + x / UNITS_PER_MM, y=trim + y / UNITS_PER_MM, turned=turned)
        for kind, x, y, turned in sheet
    )


def _held_to_go_on(
    sizes: Sequence[tuple[float, float]], counts: Sequence[int], on_sale: SheetOnSale, names: Sequence[str]
) -> None:
    """Refuse pieces that are larger than what is left of a sheet."""
    wrong = [
        _too_large(named(names, kind), piece, on_sale)
        for kind, (piece, n) in enumerate(zip(sizes, counts, strict=True))
        if n and not on_sale.takes(piece)
    ]
    if wrong:
        raise InputError("\n".join(wrong))


def _too_large(name: str, piece: tuple[float, float], on_sale: SheetOnSale) -> str:
    """Word that a piece is larger than what is left of a sheet, and how large a sheet must be."""
    trim = on_sale.edge_trim
    left = f", of which {rectangle(*on_sale.usable)} is left once {mm(trim)} is trimmed off each edge" if trim else ""
    turned = "" if on_sale.turn else ", and it may not be turned"
    least = rectangle(piece[0] + 2 * trim, piece[1] + 2 * trim)
    return (
        f"{name} of {rectangle(*piece)} does not go onto a {on_sale.words}{left}{turned}; "
        f"take sheets of at least {least}"
    )
