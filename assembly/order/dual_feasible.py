"""Lower bounds on how many bins sizes take, by dual feasible functions.

dual feasible : a function f from sizes to shares of a bin such that sizes that go into one bin never have shares of
                over 1 together. So all shares together, rounded up, are a bound of the bins, whatever goes where. Size
                itself is such a function and gives the bound of the material; others count what is over half of a bin
                as much as a bin, and nothing of what is small

Source of the functions: Fekete and Schepers 2001; Carlier, Clautiaux and Moukrim 2007 (from memory). The tests hold
every one of them against all fillings of a bin.
"""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

STEPS = 8  # the coarsest functions only: a finer one is near to the size itself
NOISE = 1e-9  # of a sum of shares


def _linear(size: int, *, room: int) -> float:
    return size / room


def _stepped(size: int, *, room: int, step: int) -> float:
    """Return the share in whole `step`-ths, rounded up past every step; at a step the size itself."""
    steps, rest = divmod((step + 1) * size, room)
    return steps / step if rest else size / room


def _cut_off(size: int, *, room: int, small: int) -> float:
    """Return nothing for what is below `small`, a whole bin for what leaves less than `small` free."""
    return 0.0 if size < small else 1.0 if size > room - small else size / room


def _counted(size: int, *, room: int, small: int) -> float:
    """Return how many of `small` go in; of a size over half, by how many fewer go in beside it."""
    most = room // small
    if 2 * size == room:
        return 0.5
    return (most - (room - size) // small if 2 * size > room else size // small) / most


def functions(room: int, sizes: Iterable[int]) -> list[Callable[[int], float]]:
    """Return the dual feasible functions that are worth trying for some sizes in a bin of `room`; all are units."""
    marks = sorted({small for size in sizes for small in (size, room - size) if 0 < 2 * small <= room})
    return [
        partial(_linear, room=room),
        *(partial(_stepped, room=room, step=step) for step in range(1, STEPS)),
        *(partial(function, room=room, small=small) for small in marks for function in (_cut_off, _counted)),
    ]


def shares(room: int, sizes: Sequence[int]) -> list[tuple[float, ...]]:
    """Return the shares that each function gives to the sizes, each row once, without rows that another one beats."""
    rows = sorted({tuple(f(size) for size in sizes) for f in functions(room, sizes)}, reverse=True)
    return [row for row in rows if not any(_beats(other, row) for other in rows)]


def _beats(row: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return row != other and all(a >= b for a, b in zip(row, other, strict=True))


def whole(total: float) -> int:
    """Return the least whole number that is not below a sum of shares."""
    return math.ceil(total - NOISE)


def fewest_bins(room: int, sizes: Sequence[int], counts: Sequence[int]) -> int:
    """Return a number of bins that no plan can do with fewer of."""
    return max((whole(sum(f * n for f, n in zip(row, counts, strict=True))) for row in shares(room, sizes)), default=0)
