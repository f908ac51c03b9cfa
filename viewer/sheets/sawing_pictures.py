"""How lengths and sheets are sawn, to scale: each piece with its letter, kerfs black, trims grey, offcuts hatched.

bar : the picture of a length: to scale along it, higher than to scale, so that letters go in
lay : the picture of a sheet, to scale both ways, as it lies with its length across the paper
run : pieces of one kind beside each other
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from assembly.planning.lines import hatching
from assembly.text import decimal
from viewer.sheets.flow import Block, paragraph
from viewer.sheets.page import PLAIN, SMALL, Area, Pen, Words, long, overlap, rectangle, straight

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from assembly.order.class_pieces import Kind
    from assembly.order.layouts import SheetOnSale
    from assembly.order.sawn_lengths import Pattern
    from assembly.order.sawn_sheets import Lay
    from viewer.sheets.page import Box, Item, Point

SCALES = (1.0, 2.0, 2.5, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 75.0, 100.0)  # 1:N
HIGHEST = 125.0  # mm of paper that a sheet's width takes at the most
_BAR = 8.0  # mm; height of a length's picture
_TICK = 1.0
_EMS = (2.6, 2.2, 1.8, 1.4)  # of letters in a piece, the largest that goes in
_TRIM, _KERF, _WHITE = 0.8, 0.0, 1.0  # greys
_NUMBER = 1.9  # em of a cut's number
_PLACES = 12  # along a cut that are tried for its number


def scale_for(length: float, width: float, room: float) -> float:
    """Return the largest scale, 1:N, at which something goes into a width of paper and `HIGHEST`; mm."""
    return next(n for n in SCALES if length / n <= room and width / n <= HIGHEST)


def length_block(pattern: Pattern, title: str, scale: float, width: float) -> Block:
    """Return the picture of a length under its title, with its left end at the left."""
    items, top = paragraph(title, (0.0, 0.0), width, PLAIN, "Bold")
    top += 0.8
    foot, on_sale = top + _BAR, pattern.on_sale

    def part(start: float, end: float) -> Box:
        return start / scale, top, end / scale, foot

    ends = (0.0, on_sale.end_trim), (on_sale.length - on_sale.end_trim, on_sale.length)
    items += [_filled(part(*end), _TRIM) for end in ends if on_sale.end_trim]
    pieces = pattern.pieces
    last = pieces[-1][2]
    kerf_end = min(last + on_sale.kerf, ends[1][0])
    gaps = [(end, start) for (_, _, end), (_, start, _) in pairwise(pieces)] + [(last, kerf_end)]
    items += [_filled(part(*gap), _KERF) for gap in gaps if gap[1] - gap[0] > 1e-6]
    if pattern.offcut:
        items += _offcut(part(kerf_end, ends[1][0]), f"offcut {decimal(round(pattern.offcut, 1))}")
    for kind, start, end in pieces:
        box = part(start, end)
        items += [rectangle(box, Pen.OUTLINE), *_label(box, _said(kind, kind.size[:1]))]
    items.append(rectangle(part(0.0, on_sale.length), Pen.OUTLINE))
    items += _runs(pattern, scale, foot + 2.0)
    return Block(items=tuple(items), height=foot + 7.5)


def _runs(pattern: Pattern, scale: float, y: float) -> Iterator[Item]:
    """Yield a line under each run of pieces, with their number and size where these go under it."""
    at, pieces = 0, pattern.pieces
    for kind, number in pattern.runs:
        start, end = pieces[at][1] / scale, pieces[at + number - 1][2] / scale
        at += number
        yield straight((start, y), (end, y), Pen.DIMENSION)
        yield from (straight((x, y - _TICK), (x, y + _TICK), Pen.DIMENSION) for x in (start, end))
        said = f"{number} x {kind.letter}, {decimal(round(kind.size[0], 1))} mm each"
        text = next((each for each in (said, f"{number} x {kind.letter}") if long(each, SMALL) < end - start), "")
        if text:
            yield Words(text=text, place=((start + end) / 2, y + 3.0), em=SMALL, anchor="middle")


def sheet_block(lay: Lay, on_sale: SheetOnSale, title: str, scale: float, width: float) -> Block:
    """Return the picture of a sheet under its title, its cuts numbered in their order where it has any."""
    items, top = paragraph(title, (0.0, 0.0), width, PLAIN, "Bold")
    top += 0.8
    foot = top + on_sale.width / scale

    def at(x: float, y: float) -> Point:
        return x / scale, foot - y / scale

    whole, trim = (*at(0.0, on_sale.width), *at(on_sale.length, 0.0)), on_sale.edge_trim
    inside = (*at(trim, on_sale.width - trim), *at(on_sale.length - trim, trim))
    items += [Area(loops=(_corners(whole), _corners(inside)), fill=_TRIM)] if trim else []
    items += [straight(a, b, Pen.HATCH) for a, b in hatching((inside[0], inside[1]), (inside[2], inside[3]))]
    taken: list[Box] = []
    for kind, box, turned in lay.pieces:
        part = (*at(box.left, box.high), *at(box.right, box.low))
        label = list(_label(part, _said(kind, kind.size[::-1] if turned else kind.size)))
        items += [Area(loops=(_corners(part),), fill=_WHITE, pen=Pen.OUTLINE), *label]
        taken += [each.box for each in label]
    items.append(rectangle(whole, Pen.OUTLINE))
    for number, cut in enumerate(lay.cuts, 1):
        items += _numbered(number, (at(cut.x, cut.y), at(cut.to_x, cut.to_y)), taken)
    return Block(items=tuple(items), height=foot + 4.0)


def _numbered(number: int, cut: tuple[Point, Point], taken: list[Box]) -> Iterator[Item]:
    """Yield a cut with its number on it, where that is over nothing else, as near to its start as can be."""
    (x0, y0), (x1, y1) = cut
    yield straight((x0, y0), (x1, y1), Pen.KNIFE)
    for step in range(_PLACES):
        share = (step + 0.5) / _PLACES
        place = x0 + share * (x1 - x0), y0 + share * (y1 - y0) + 0.36 * _NUMBER
        words = Words(text=str(number), place=place, em=_NUMBER, weight="Bold", anchor="middle")
        left, high, right, low = words.box
        box = (left - 0.3, high, right + 0.3, low)
        if not any(overlap(box, other) for other in taken):
            break
    taken.append(box)
    yield Area(loops=(_corners(box),), fill=_WHITE)
    yield words


def _said(kind: Kind, size: Sequence[float]) -> tuple[tuple[str, ...], ...]:
    """Return what may stand in a piece, line by line, the most first."""
    sizes = " x ".join(decimal(round(each, 1)) for each in size)
    return (f"{kind.letter}  {kind.name}", sizes), (kind.letter, sizes), (f"{kind.letter} {sizes}",), (kind.letter,)


def _label(box: Box, ways: Sequence[tuple[str, ...]]) -> Iterator[Words]:
    """Yield the most that goes into a rectangle, in the largest letters that do; nothing where no letter goes in."""
    left, top, right, foot = box
    for lines in ways:
        for em in _EMS:
            high = 1.25 * em * len(lines)
            if max(long(line, em) for line in lines) <= right - left - 0.8 and high <= foot - top - 0.8:
                middle, y = (left + right) / 2, (top + foot) / 2 - high / 2
                for number, line in enumerate(lines):
                    place = middle, y + 1.25 * em * number + 0.95 * em
                    yield Words(text=line, place=place, em=em, anchor="middle")
                return


def _offcut(box: Box, text: str) -> Iterator[Item]:
    """Yield an offcut, hatched around what it is called, where that goes in."""
    yield from (straight(a, b, Pen.HATCH) for a, b in hatching((box[0], box[1]), (box[2], box[3])))
    for words in _label(box, ((text,),)):
        left, top, right, foot = words.box
        yield Area(loops=(_corners((left - 0.5, top, right + 0.5, foot)),), fill=_WHITE)
        yield words


def _filled(box: Box, grey: float) -> Area:
    return Area(loops=(_corners(box),), fill=grey)


def _corners(box: Box) -> tuple[Point, ...]:
    x0, y0, x1, y1 = box
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)
