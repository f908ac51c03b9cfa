"""What runs on in columns, from page to page: blocks of words that are never broken.

block  : items with their own upper left corner at (0, 0), and how high they are
column : room for blocks, one under the other
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from viewer.sheets.page import LEADING, Stroke, Words, folded

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from assembly.letters import Weight
    from viewer.sheets.page import Box, Item, Point

BETWEEN = 6.0  # columns, mm
LEAST = 82.0  # width of a column, mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """What stands together."""

    items: tuple[Item, ...]
    height: float
    heading: bool = False  # never the last in a column


def moved(items: Iterable[Item], off: Point) -> list[Item]:
    """Return items moved by `off`, mm."""
    return [_moved(item, off) for item in items]


def _moved(item: Item, off: Point) -> Item:
    def at(point: Point) -> Point:
        return point[0] + off[0], point[1] + off[1]

    if isinstance(item, Words):
        return replace(item, place=at(item.place))
    if isinstance(item, Stroke):
        return replace(item, points=tuple(map(at, item.points)))
    return replace(item, loops=tuple(tuple(map(at, loop)) for loop in item.loops))


def paragraph(text: str, place: Point, width: float, em: float, weight: Weight = "Regular") -> tuple[list[Item], float]:
    """Return words in lines under `place`, their upper left corner, and the y at which they end."""
    x, y = place
    items: list[Item] = []
    for line in folded(text, em, width, weight):
        items.append(Words(text=line, place=(x, y + 0.95 * em), em=em, weight=weight))
        y += LEADING * em
    return items, y


def columns(room: Box) -> list[Box]:
    """Return as many columns as a room has the width for."""
    left, top, right, bottom = room
    count = max(1, int((right - left + BETWEEN) // (LEAST + BETWEEN)))
    width = column_width(right - left)
    return [(left + n * (width + BETWEEN), top, left + n * (width + BETWEEN) + width, bottom) for n in range(count)]


def column_width(width: float) -> float:
    """Return how wide columns are in a room of a width, mm."""
    count = max(1, int((width + BETWEEN) // (LEAST + BETWEEN)))
    return (width - BETWEEN * (count - 1)) / count


def flowed(blocks: Sequence[Block], first: Box | None, further: Box) -> list[list[Item]]:
    """Return blocks set in columns: what stands in `first`, if there is such a room, then on each further page.

    A block that is higher than a column stands alone in one and runs over; none here is.
    """
    pages: list[list[Item]] = [[]]
    places = _rooms(first, further)
    page, column = next(places)
    y = column[1]
    for number, block in enumerate(blocks):
        need = _together(blocks, number)
        while y + need > column[3] + 1e-6:
            page, column = next(places)
            y = column[1]
            if column[3] - column[1] >= further[3] - further[1]:
                break
        while len(pages) <= page:
            pages.append([])
        pages[page] += moved(block.items, (column[0], y))
        y += block.height
    return pages


def stacked(blocks: Sequence[Block], room: Box) -> list[list[Item]]:
    """Return blocks set one under the other over a room's whole width, on as many pages as they take."""
    left, top, _, bottom = room
    pages: list[list[Item]] = [[]]
    y = top
    for number, block in enumerate(blocks):
        if y > top and y + _together(blocks, number) > bottom + 1e-6:
            pages.append([])
            y = top
        pages[-1] += moved(block.items, (left, y))
        y += block.height
    return pages


def _together(blocks: Sequence[Block], number: int) -> float:
    """Return how high a block is with what must stand under it: of a heading all up to the first that is none."""
    high = 0.0
    for block in blocks[number:]:
        high += block.height
        if not block.heading:
            break
    return high


def _rooms(first: Box | None, further: Box) -> Iterator[tuple[int, Box]]:
    """Return all columns in order, each with its page: 0 the first room."""
    if first is not None:
        yield from ((0, column) for column in columns(first))
    page = 1
    while True:
        yield from ((page, column) for column in columns(further))
        page += 1
