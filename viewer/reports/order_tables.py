"""An order as two tables for a spreadsheet: a row for each line of the order, and one for each kind of piece."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.order.glue import Glue
from assembly.order.ready import Ready
from assembly.order.sawn_lengths import SawnSection
from viewer.reports.order_words import what_words

if TYPE_CHECKING:
    from assembly.order.class_pieces import Kind
    from assembly.order.order import Line, Order

    Row = tuple[str | float | None, ...]

ORDER_COLUMNS = (
    "sort",
    "amount",
    "unit",
    "what",
    "material",
    "thickness_mm",
    "height_mm",
    "length_mm",
    "width_mm",
    "fewest_possible",
    "waste_percent",
    "price_each",
    "cost",
    "currency",
)
PIECE_COLUMNS = (
    "letter",
    "piece",
    "material",
    "thickness_mm",
    "blank_length_mm",
    "blank_width_mm",
    "needed",
    "spare",
    "in_all",
    "finished_length_mm",
    "finished_width_mm",
    "then",
)


def order_table(order: Order) -> list[Row]:
    """Return the head and a row for each line of an order; cells that do not apply are empty."""
    return [ORDER_COLUMNS, *(_line(line, order) for line in order.lines)]


def _line(line: Line, order: Order) -> Row:
    of, currency = line.of, order.currency
    paid = (_money(line.price), _money(line.cost), currency if line.price is not None else "")
    if isinstance(of, Glue):
        of_a_litre = (_money(order.glue_price), *paid[1:])
        return (line.sort, round(of.ml / 1000, 4), "l", of.name, *[None] * 7, *of_a_litre)
    if isinstance(of, Ready):
        return (line.sort, of.count, "pieces", of.name, *[None] * 7, *paid)
    if isinstance(of, SawnSection):
        sizes: Row = (of.thickness, of.height, of.on_sale.length, None)
    else:
        sizes = (of.thickness, None, of.on_sale.length, of.on_sale.width)
    unit = "lengths" if isinstance(of, SawnSection) else "sheets"
    sawn = (of.plan.bound, round(100 * of.waste, 1))
    return (line.sort, of.count, unit, what_words(line), of.material, *sizes, *sawn, *paid)


def _money(amount: float | None) -> float | None:
    """Return a price or a cost without the digits that only binary numbers have."""
    return None if amount is None else round(amount, 9)


def piece_table(order: Order) -> list[Row]:
    """Return the head and a row for each kind of piece; sizes in mm to a hundredth."""
    return [PIECE_COLUMNS, *map(_piece, order.kinds)]


def _piece(kind: Kind) -> Row:
    part, (length, width) = kind.part, kind.size
    sizes = part.thickness, round(length, 2), round(width, 2)
    counts = kind.needed, kind.spares, kind.count
    finished = round(part.length, 2), round(part.width, 2)
    return (kind.letter, kind.name, part.material, *sizes, *counts, *finished, part.then)
