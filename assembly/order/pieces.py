"""Pieces to be sawn, in whole units, and what is refused of them and of what is on sale.

piece : what is sawn: a blank that goes to a maker
kind  : pieces of one size, by its index
kerf  : width that a saw turns to dust. n pieces side by side take n - 1 kerfs at least; with one kerf added to every
        piece and one to what they are sawn from they lie without a gap, and so all is counted here
trim  : width that is cut off each end of a length, or off each edge of a sheet, with the dust of that cut
unit  : 0.001 mm. Pieces are rounded up to it, what they are sawn from down, so no sum of sizes depends on digits of
        floating-point numbers
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.text import decimal, mm

if TYPE_CHECKING:
    from collections.abc import Sequence

UNITS_PER_MM = 1000
_NOISE = 1e-4  # units; what is nearer to a whole number of them is one


def units_up(size: float) -> int:
    """Return a size, mm, in units, rounded up.

    Examples
    --------
    >>> units_up(0.1 + 0.2), units_up(9.5251)
    (300, 9526)
    """
    return math.ceil(size * UNITS_PER_MM - _NOISE)


def units_down(size: float) -> int:
    """Return a size, mm, in units, rounded down."""
    return math.floor(size * UNITS_PER_MM + _NOISE)


def rectangle(length: float, width: float) -> str:
    """Word a rectangle by its size."""
    return f"{decimal(length)} x {mm(width)}"


def named(names: Sequence[str], kind: int) -> str:
    """Return what a kind of piece is called in a message: the name that was given, or its place."""
    return names[kind] if names else f"piece {kind + 1}"


def held_to(where: str, *, over: dict[str, float], least: dict[str, float]) -> None:
    """Refuse numbers that no length or sheet on sale has.

    Raises
    ------
    InputError
        If one of `over` is not over 0, one of `least` is below 0, or any is not finite.
    """
    wrong = [f"{where}: {k} is {decimal(v)} mm, must be over 0 mm" for k, v in over.items() if not 0 < v < math.inf]
    wrong += [
        f"{where}: {k} is {decimal(v)} mm, must be 0 mm or more" for k, v in least.items() if not 0 <= v < math.inf
    ]
    if wrong:
        raise InputError("\n".join(wrong))


def held_pieces(sizes: Sequence[Sequence[float]], counts: Sequence[int], names: Sequence[str]) -> None:
    """Refuse pieces that are none: sizes that are not over 0 and finite, counts below 0.

    Raises
    ------
    InputError
        With every piece that is refused, each on its line.
    """
    wrong = [
        f"{named(names, i)}: a size is {decimal(each)} mm, must be over 0 mm"
        for i, piece in enumerate(sizes)
        for each in piece
        if not 0 < each < math.inf
    ]
    wrong += [f"{named(names, i)}: {n} are asked for, must be 0 or more" for i, n in enumerate(counts) if n < 0]
    if wrong:
        raise InputError("\n".join(wrong))
