"""How large the wording of a plaque is, and where it stands: as large as its leg allows, up to 8 mm, in its middle.

It takes one line where its letters are then at least 5 mm high, else one or two, whichever gives larger letters; what
would need letters under 3 mm is refused.

letter height : height of a capital, mm
field         : the standing leg's straight part, less a margin all round
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.outline.contours import box_of_loops, moved
from assembly.outline.glyphs import outlines
from assembly.text import decimal, mm

if TYPE_CHECKING:
    from assembly.outline.contours import Loop

# Project choices, no source: read from an arm's length, and no letter that fills the leg.
LEAST, CLEAR, MOST = 3.0, 5.0, 8.0  # letter height
MARGIN = 3.0  # mm to edges and to the bend
LEADING = 1.7  # from one line to the next, letter heights


@dataclass(frozen=True, slots=True, kw_only=True)
class _Set:
    """A wording set in lines, in letter heights: its loops, the lower left corner of them all, and their size."""

    loops: tuple[Loop, ...]
    corner: tuple[float, float]
    wide: float
    high: float

    def height_in(self, wide: float, high: float) -> float:
        """Return the largest letter height that fits a field."""
        return min(wide / self.wide, high / self.high, MOST)


def lettering(wording: str, *, width: float, straight: float, set_back: float) -> tuple[Loop, ...]:
    """Return the outlines of a wording, in the middle of a standing leg.

    Parameters
    ----------
    wording : str
        The words; spaces on end count as one.
    width, straight : float
        The leg's size along the bend line, and its straight part beyond the bend, mm.
    set_back : float
        What the bend takes of the leg's outside size, for the cure that a refusal names, mm.

    Returns
    -------
    tuple of Loop
        In mm from the lower left corner of the straight part, its lower edge along the wording; of two lines the first
        one's loops first.

    Raises
    ------
    InputError
        If it does not fit in letters of `LEAST`, with the height at which it would, or can't be written.
    """
    ways = _ways(wording)
    if not ways:
        return ()
    wide, high = width - 2 * MARGIN, straight - 2 * MARGIN
    one, *_ = ways
    clear = one.height_in(wide, high) >= CLEAR
    best = one if clear else max(ways, key=lambda way: way.height_in(wide, high))
    height = best.height_in(wide, high)
    if height < LEAST - 1e-9:
        raise InputError(_too_large(wording, ways, wide, high, set_back))
    (x, y), half = best.corner, height / 2
    off = width / 2 - height * x - half * best.wide, straight / 2 - height * y - half * best.high
    return tuple(moved(loop, height, off) for loop in best.loops)


def _ways(wording: str) -> tuple[_Set, ...]:
    """Return a wording on one line, and on two where it has as many words, each way to break it."""
    words = wording.split()
    breaks = range(1, len(words))
    lines = [[" ".join(words)], *([" ".join(words[:at]), " ".join(words[at:])] for at in breaks)]
    return tuple(way for each in lines if (way := _set(each)))


def _set(lines: list[str]) -> _Set | None:
    """Return lines set one under the other, each in the middle; None where nothing is seen of them."""
    found: list[tuple[Loop, ...]] = []
    for number, line in enumerate(lines):
        loops = outlines(line)
        if not loops:
            return None
        left, _, right, _ = box_of_loops(loops)
        found.append(tuple(moved(loop, 1.0, (-(left + right) / 2, -LEADING * number)) for loop in loops))
    every = tuple(chain.from_iterable(found))
    left, bottom, right, top = box_of_loops(every)
    return _Set(loops=every, corner=(left, bottom), wide=right - left, high=top - bottom)


def _too_large(wording: str, ways: tuple[_Set, ...], wide: float, high: float, set_back: float) -> str:
    """Word the refusal of a wording, with every single size of the leg that would do."""
    fits = max(way.height_in(wide, high) for way in ways)
    wider = [LEAST * way.wide for way in ways if LEAST * way.high <= high]
    longer = [LEAST * way.high for way in ways if LEAST * way.wide <= wide]
    cures = [f"plaque.width to at least {mm(_up(min(wider) + 2 * MARGIN))}"] if wider else []
    cures += [f"plaque.upright_leg to at least {mm(_up(min(longer) + 2 * MARGIN + set_back))}"] if longer else []
    if not cures:
        both = min(ways, key=lambda way: (way.high, way.wide))
        wide_enough, high_enough = LEAST * both.wide + 2 * MARGIN, LEAST * both.high + 2 * MARGIN + set_back
        cures = [f"plaque.width to at least {mm(_up(wide_enough))} and plaque.upright_leg to {mm(_up(high_enough))}"]
    field = f"{decimal(_down(max(0.0, wide)))} by {mm(_down(max(0.0, high)))}"
    would = f"; it would in letters {mm(_down(fits))} high, and they" if _down(fits) > 0 else ", and letters"
    return (
        f"plaque.wording: {wording!r} does not fit on the standing leg, which has {field} for it {mm(MARGIN)} from its "
        f"edges and its bend{would} must be at least {mm(LEAST)}; shorten it, or raise {', or '.join(cures)}"
    )


def _up(size: float) -> float:
    return math.ceil(10 * size - 1e-6) / 10


def _down(size: float) -> float:
    return math.floor(10 * size + 1e-6) / 10
