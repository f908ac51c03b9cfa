"""An order as text: first what a teacher reads out to the yard, then the pieces, then how all of it is sawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.order.order import sawing_cautions
from assembly.order.sawn_lengths import SawnSection
from assembly.text import decimal
from viewer.reports.check_report import beyond_sentences, folded, table
from viewer.reports.order_words import (
    bought_words,
    cost_words,
    counted,
    lay_words,
    least_words,
    line_words,
    money,
    pattern_words,
    remark_words,
    sawing_words,
    sawn_words,
    surely_words,
    tried_words,
    waste_words,
    what_words,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.order.class_pieces import Kind
    from assembly.order.order import Line, Order
    from assembly.order.sawn_sheets import SawnSheets


def order_text(order: Order, sections: Sequence[float], stock: str | None) -> str:
    """Return an order as text.

    Parameters
    ----------
    order : Order
        What is ordered.
    sections : sequence of float
        Thicknesses that the stock file lists, mm.
    stock : str, optional
        The school's own stock file, as it was named.
    """
    makers = order.design.makers
    head = f"{order.design.name}: the order for {counted(makers, 'maker', 'makers')}"
    parts = [
        folded([head, *(f"- {_told(line)}" for line in order.lines)]),
        folded(remark_words(order, sections, stock)),
        *([f"{_costs(order)}\n{folded(cost_words(order))}"] if order.cost is not None else []),
        f"Pieces to saw: blanks in mm, with the waste of saw and sander on them\n{pieces_table(order.kinds)}",
        folded(["How the timber is sawn", *(line for of in order.sections for line in _sawn(of, order.currency))]),
        folded(["How the sheets are cut", *(line for of in order.sheets for line in _sawn(of, order.currency))]),
        folded(["Before anybody saws", *(f"- {caution.words}" for caution in sawing_cautions(order))]),
    ]
    return "\n\n".join([*beyond_sentences(order.glue.beyond), *parts])


def _told(line: Line) -> str:
    return ", ".join(filter(None, (line_words(line), surely_words(line))))


PIECE_HEADINGS = ("letter", "piece", "needed", "spare", "in all", "blank", "thick", "of")


def piece_rows(kinds: Sequence[Kind]) -> list[tuple[str, ...]]:
    """Return a row for each kind of piece, under `PIECE_HEADINGS`."""
    return [
        (
            kind.letter,
            kind.name,
            *(f"{number:,}" for number in (kind.needed, kind.spares, kind.count)),
            " x ".join(decimal(round(each, 1)) for each in kind.size),
            decimal(kind.part.thickness),
            kind.part.material,
        )
        for kind in kinds
    ]


def pieces_table(kinds: Sequence[Kind]) -> str:
    """Return all pieces as a table."""
    return table(PIECE_HEADINGS, piece_rows(kinds), words=(0, 1, 7))


def _costs(order: Order) -> str:
    rows = [(what_words(line), money(line.cost, order.currency)) for line in order.lines if line.cost is not None]
    return table(("what it costs", "sum"), rows, words=(0,))


def _sawn(of: SawnSection | SawnSheets, currency: str) -> list[str]:
    """Return how all lengths of a section, or all sheets of a material, are sawn: a line for each different way."""
    if isinstance(of, SawnSection):
        ways = [(each.times, pattern_words(each)) for each in of.patterns]
    else:
        ways = [(each.times, lay_words(each)) for each in of.lays]
    head = f"{sawn_words(of)}, {least_words(of.plan)}; {waste_words(of)}; {sawing_words(of)}"
    tried = tried_words(of, currency)
    return [head, *(f"- {bought_words(of, times)}: {said}" for times, said in ways), *([tried] if tried else [])]
