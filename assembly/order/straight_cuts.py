"""Whether straight cuts, each from edge to edge of what is being sawn, can make a layout, and in what order.

region : a rectangle that is still to be sawn: the trimmed sheet at first
axis   : 0 where cuts part the region along the sheet's length, 1 along its width

A region is parted wherever a kerf goes through between pieces, then each part across, and so on. Nothing is lost by
taking every cut that there is: what straight cuts can make, they can make of any part of it. After all cuts along one
axis only the other is left, so the one choice is where to begin.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from assembly.order.layouts import CLOSE, Box, box_of, inside_of
from assembly.order.pieces import UNITS_PER_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.order.layouts import Layout, SheetOnSale

Span: TypeAlias = tuple[float, float]

SLIVER = 2 / UNITS_PER_MM  # mm; pieces lie in units, so ends that are meant as one differ by less: nothing to cut off


@dataclass(frozen=True, slots=True, kw_only=True)
class SawCut:
    """One cut: the middle of its kerf, from edge to edge of the region that is sawn, mm."""

    x: float
    y: float
    to_x: float
    to_y: float


def straight_cut(layout: Layout, sizes: Sequence[tuple[float, float]], on_sale: SheetOnSale) -> bool:
    """Tell whether cuts from edge to edge can make a layout."""
    return saw_cuts(layout, sizes, on_sale) is not None


def saw_cuts(layout: Layout, sizes: Sequence[tuple[float, float]], on_sale: SheetOnSale) -> tuple[SawCut, ...] | None:
    """Return the cuts that make a layout of a trimmed sheet, in the order in which they are sawn; None if none do.

    Cuts that free a piece of what is left beside it are among them. Of the two ways to begin the one with fewer cuts is
    taken.
    """
    return parted(inside_of(on_sale), [box_of(laid, sizes) for laid in layout], on_sale.kerf)


def parted(region: Box, boxes: Sequence[Box], kerf: float) -> tuple[SawCut, ...] | None:
    """Return the cuts that part a region into boxes, in whatever unit it is given; None if no straight cuts do."""
    if not boxes:
        return ()
    ways = [_sawn(region, list(boxes), kerf, axis) for axis in (0, 1)]
    return min((way for way in ways if way is not None), key=len, default=None)


def _sawn(sheet: Box, boxes: list[Box], kerf: float, axis: int) -> tuple[SawCut, ...] | None:
    """Return the cuts of a sheet that is first parted along an axis; None where pieces hold each other."""
    cuts: list[SawCut] = []
    left = [(sheet, boxes, axis, False)]
    while left:
        region, within, axis, whole = left.pop()
        blocks = _blocks(within, kerf, axis)
        if whole and len(blocks) == 1 < len(within):
            return None
        spans = [
            (min(_span(box, axis)[0] for box in block), max(_span(box, axis)[1] for box in block)) for block in blocks
        ]
        cuts += [_cut(region, at, axis) for at in _places(_span(region, axis), spans, kerf)]
        parts = [
            (_part(region, span, axis), block, 1 - axis, len(blocks) == 1)
            for span, block in zip(spans, blocks, strict=True)
        ]
        left += [part for part in reversed(parts) if len(part[1]) > 1 or part[0] != part[1][0]]
    return tuple(cuts)


def _span(box: Box, axis: int) -> Span:
    return (box.low, box.high) if axis else (box.left, box.right)


def _blocks(boxes: list[Box], kerf: float, axis: int) -> list[list[Box]]:
    """Return the boxes in blocks between which a kerf goes through, in their order along the axis."""
    blocks: list[list[Box]] = []
    end = 0.0
    for box in sorted(boxes, key=lambda box: _span(box, axis)):
        low, high = _span(box, axis)
        if blocks and low < end + kerf - CLOSE:
            blocks[-1].append(box)
        else:
            blocks.append([box])
            end = high
        end = max(end, high)
    return blocks


def _places(region: Span, spans: list[Span], kerf: float) -> list[float]:
    """Return the middles of the cuts that part a region into blocks and free them of what is beside them."""
    at, places = region[0], []
    for low, high in spans:
        if low > at + SLIVER:
            places.append((max(low - kerf, at) + low) / 2)
        at = min(high + kerf, region[1])
        if region[1] > high + SLIVER:
            places.append((high + at) / 2)
    return places


def _cut(region: Box, at: float, axis: int) -> SawCut:
    if axis:
        return SawCut(x=region.left, y=at, to_x=region.right, to_y=at)
    return SawCut(x=at, y=region.low, to_x=at, to_y=region.high)


def _part(region: Box, span: Span, axis: int) -> Box:
    """Return the part of a region between two ends along an axis."""
    low, high = span
    return Box(region.left, low, region.right, high) if axis else Box(low, region.low, high, region.high)
