"""What every page has round its content: title, where it belongs, and two bars of 100 mm that check the printer.

content : the room that is left for what a page is about
bar     : 100 mm, one along each axis, with ticks at both ends
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from viewer.sheets.page import PLAIN, SMALL, TITLE, Page, Pen, Words, folded, straight

if TYPE_CHECKING:
    from collections.abc import Sequence

    from viewer.sheets.page import Box, Item, Point

BAR = 100.0
_MARGIN = 10.0  # that no printer needs
_STRIP, _HEAD, _FOOT = 8.0, 15.0, 13.0  # mm within the margin: left, above and below the content
_TICK = 1.5
CHECK = "Both bars must be 100 mm long. If they are not, print again at actual size (100 %)."


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What stands over a page."""

    title: str
    line: str = ""  # under it
    right: str = ""  # at its right, such as the scale
    maker: bool = True  # whether there is room for a maker's number


def content(size: Point) -> Box:
    """Return the room for what a page of a size is about."""
    width, height = size
    return _MARGIN + _STRIP, _MARGIN + _HEAD, width - _MARGIN, height - _MARGIN - _FOOT


def page(size: Point, head: Head, items: Sequence[Item], foot: str) -> Page:
    """Return a page with its title, its bars and its content; `foot` says what it belongs to."""
    width, height = size
    left, right, bottom = _MARGIN + _STRIP, width - _MARGIN, height - _MARGIN
    around: list[Item] = [
        Words(text=head.title, place=(left, _MARGIN + 4.5), em=TITLE, weight="Bold"),
        Words(text=head.right, place=(right, _MARGIN + 4.5), em=TITLE, weight="Bold", anchor="end"),
        straight((left, _MARGIN + 12.5), (right, _MARGIN + 12.5), Pen.RULE),
        Words(text=foot, place=(right, bottom - 1.0), em=SMALL, anchor="end"),
        Words(text=CHECK, place=(left, bottom - 1.0), em=SMALL),
    ]
    if head.maker:
        around.append(Words(text="Class ______  Maker no. ______", place=(right, _MARGIN + 10.5), anchor="end"))
    if head.line:
        room = right - left - (52.0 if head.maker else 0.0)
        around.append(Words(text=folded(head.line, PLAIN, room)[0], place=(left, _MARGIN + 10.5), em=PLAIN))
    return Page(size=size, items=(*around, *bars(size), *items))


def bars(size: Point) -> list[Item]:
    """Return the bar across the foot and the bar up the left side."""
    x, y = _MARGIN + _STRIP, size[1] - _MARGIN - 6.0
    up_x, up_y = _MARGIN + 3.0, size[1] - _MARGIN - _FOOT
    ends = ((x, y), (x + BAR, y)), ((up_x, up_y), (up_x, up_y - BAR))
    items: list[Item] = [straight(*end, Pen.KNIFE) for end in ends]
    items += [straight((x + off, y - _TICK), (x + off, y + _TICK), Pen.KNIFE) for off in (0.0, BAR)]
    items += [straight((up_x - _TICK, up_y - off), (up_x + _TICK, up_y - off), Pen.KNIFE) for off in (0.0, BAR)]
    items.append(Words(text="100 mm", place=(x + BAR / 2, y - 1.0), em=SMALL, anchor="middle"))
    items.append(Words(text="100 mm", place=(up_x - 1.0, up_y - BAR / 2), em=SMALL, anchor="middle", turned=True))
    return items
