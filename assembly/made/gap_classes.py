"""How a joint fits, in words.

gap    : the largest opening between the two faces of a joint, mm
closed : at most 0.1 mm; usable : at most what the glue closes; weak : at most 0.5 mm; open : wider
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Word = Literal["closed", "usable", "weak", "open"]

CLOSED_MM = 0.1  # a gap that a thin film of glue fills; common practice, no source
WEAK_MM = 0.5  # beyond it the joint wants a shaving glued in; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class GapClass:
    """One word of the scale: the gaps that it covers."""

    word: Word
    over: float  # mm; the gaps of this word are wider than this,
    up_to: float  # mm; and at most this


def fits(glue_limit: float) -> tuple[GapClass, ...]:
    """Return the words of the scale for a glue that closes gaps up to `glue_limit` mm, best first.

    A word that covers no gap is left out: "usable" where the glue closes no more than 0.1 mm, "weak" where it
    closes 0.5 mm or more.

    Examples
    --------
    >>> [(fit.word, fit.up_to) for fit in fits(0.2)]
    [('closed', 0.1), ('usable', 0.2), ('weak', 0.5), ('open', inf)]
    """
    found: list[GapClass] = []
    over = 0.0
    limits: tuple[tuple[Word, float], ...] = (
        ("closed", CLOSED_MM),
        ("usable", glue_limit),
        ("weak", WEAK_MM),
        ("open", math.inf),
    )
    for word, up_to in limits:
        if up_to > over:
            found.append(GapClass(word=word, over=over, up_to=up_to))
            over = up_to
    return tuple(found)


def fit_of(gap: float, scale: tuple[GapClass, ...]) -> GapClass:
    """Return the word of `scale` for a joint whose largest gap is `gap` mm."""
    return next(fit for fit in scale if gap <= fit.up_to)


def figure(gap: float, scale: tuple[GapClass, ...]) -> str:
    """Return a gap as it is printed: two decimals, and where those would belong to another word, on which side it is.

    Examples
    --------
    >>> figure(0.204, fits(0.2)), figure(0.337, fits(0.2))
    ('over 0.20 mm', '0.34 mm')
    """
    shown = round(gap, 2)
    if fit_of(shown, scale).word == fit_of(gap, scale).word:
        return f"{shown:.2f} mm"
    return f"{'over' if shown < gap else 'under'} {shown:.2f} mm"
