"""An order on paper: the list for yard and supplier, the cut list, and a picture of every length and sheet to saw."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.order.order import sawing_cautions
from assembly.text import decimal
from viewer.reports.order_report import PIECE_HEADINGS, piece_rows
from viewer.reports.order_words import (
    amount_words,
    bought_words,
    cost_words,
    counted,
    kind_words,
    lay_words,
    least_words,
    money,
    pattern_words,
    remark_words,
    sawing_words,
    sawn_words,
    section_words,
    surely_words,
    tried_words,
    waste_words,
    what_words,
)
from viewer.sheets.flow import Block, paragraph, stacked
from viewer.sheets.frame import Head, content, page
from viewer.sheets.page import HEAD, PLAIN, SMALL, Pen, rectangle, straight
from viewer.sheets.sawing_pictures import length_block, scale_for, sheet_block

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from assembly.letters import Weight
    from assembly.order.order import Line, Order
    from assembly.order.sawn_lengths import SawnSection
    from assembly.order.sawn_sheets import SawnSheets
    from viewer.sheets.page import Item, Page, Point

_ORDER = (0.04, 0.17, 0.49, 0.18, 0.12)  # shares of the width: box to tick, how much, what, how surely least, sum
_PIECES = (0.08, 0.26, 0.09, 0.08, 0.08, 0.15, 0.07, 0.19)
_TICK, _AFTER = 2.6, 1.2  # mm; box to tick, and what is left under a table


def order_pages(order: Order, sections: Sequence[float], stock: str | None, paper: Point) -> tuple[Page, ...]:
    """Return an order's pages.

    Parameters
    ----------
    order : Order
        What is ordered.
    sections : sequence of float
        Thicknesses that the stock file lists, mm.
    stock : str, optional
        The school's own stock file, as it was named.
    paper : (float, float)
        Width and height of the page, mm.
    """
    left, _, right, _ = room = content(paper)
    width = right - left
    blocks = [
        *_listed(order, width),
        _heading("Spare pieces, glue, and what is on sale", width),
        *_text(remark_words(order, sections, stock), width),
        _heading("Pieces to saw: blanks, mm", width),
        _row(PIECE_HEADINGS, _PIECES, width, "Bold"),
        *(_row(row, _PIECES, width) for row in piece_rows(order.kinds)),
        _heading("Before anybody saws", width),
        *_text((caution.words for caution in sawing_cautions(order)), width),
        *(block for of in order.sections for block in _lengths(of, order, width)),
        *(block for of in order.sheets for block in _sheets(of, order, width)),
    ]
    makers = counted(order.design.makers, "maker", "makers")
    head = Head(title=f"The order for {makers}", line=order.design.name, maker=False)
    rest = stacked(blocks, room)
    return tuple(page(paper, head, items, f"Page {number} of {len(rest)}") for number, items in enumerate(rest, 1))


def _listed(order: Order, width: float) -> Iterator[Block]:
    """Yield the list to order by, a box to tick before each line."""
    yield _heading("To order", width)
    priced = order.cost is not None
    for line in order.lines:
        cells = ("", amount_words(line), what_words(line), surely_words(line), _sum(line, order, priced=priced))
        row = _row(cells, _ORDER, width)
        yield Block(items=(rectangle((0.0, 0.6, _TICK, 0.6 + _TICK), Pen.RULE), *row.items), height=row.height)
    yield Block(items=(), height=_AFTER)
    yield from _text(cost_words(order), width)


def _sum(line: Line, order: Order, *, priced: bool) -> str:
    if line.cost is None:
        return "no price" if priced else ""
    return money(line.cost, order.currency)


def _lengths(of: SawnSection, order: Order, width: float) -> Iterator[Block]:
    """Yield a section's heading, what its letters mean, and the picture of each different way to saw a length."""
    scale = scale_for(max(each.on_sale.length for each in order.sections), 0.0, width)
    yield _heading(sawn_words(of), width)
    told = (
        f"{least_words(of.plan).capitalize()}; {waste_words(of)}; {sawing_words(of)}.",
        f"{'; '.join(map(kind_words, of.kinds))} mm. Scale 1:{decimal(scale)} along the length; height not to scale.",
        tried_words(of, order.currency),
    )
    yield from _text(filter(None, told), width, together=True)
    for pattern in of.patterns:
        of_it = f"{bought_words(of, pattern.times)} of {section_words(of)}"  # a page may begin with it
        title = f"{of_it}, like this: {pattern_words(pattern)}"
        yield length_block(pattern, title, scale, width)


def _sheets(of: SawnSheets, order: Order, width: float) -> Iterator[Block]:
    """Yield a material's heading, what its letters mean, and the picture of each different layout."""
    scale = scale_for(of.on_sale.length, of.on_sale.width, width)
    yield _heading(sawn_words(of), width)
    cuts = " Cuts are numbered as they are sawn, once the edges are trimmed." if of.on_sale.straight else ""
    told = (
        f"{least_words(of.plan).capitalize()}; {waste_words(of)}; {sawing_words(of)}.",
        f"{'; '.join(map(kind_words, of.kinds))} mm. Scale 1:{decimal(scale)}.{cuts}",
        tried_words(of, order.currency),
    )
    yield from _text(filter(None, told), width, together=True)
    for lay in of.lays:
        of_it = f"{bought_words(of, lay.times)} of {section_words(of)}"
        title = f"{of_it}, like this: {lay_words(lay)}"
        yield sheet_block(lay, of.on_sale, title, scale, width)


def _heading(text: str, width: float) -> Block:
    items, y = paragraph(text, (0.0, 3.0), width, HEAD, "Bold")
    return Block(items=tuple(items), height=y + 0.8, heading=True)


def _text(sentences: Iterator[str] | Sequence[str], width: float, *, together: bool = False) -> list[Block]:
    """Return a block for each sentence; `together` with what follows it."""
    blocks = []
    for text in sentences:
        items, y = paragraph(text, (0.0, 0.0), width, PLAIN if not together else SMALL)
        blocks.append(Block(items=tuple(items), height=y + 0.8, heading=together))
    return blocks


def _row(cells: Sequence[str], shares: Sequence[float], width: float, weight: Weight = "Regular") -> Block:
    """Return a row of a table, its cells folded to their columns, with a rule under it."""
    items: list[Item] = []
    x, y = 0.0, 0.0
    for cell, share in zip(cells, shares, strict=True):
        found, low = paragraph(cell, (x, 0.4), share * width - 1.5, PLAIN, weight)
        items += found
        x, y = x + share * width, max(y, low)
    items.append(straight((0.0, y + 0.5), (width, y + 0.5), Pen.RULE))
    return Block(items=tuple(items), height=y + 0.9, heading=weight == "Bold")
