"""Words as outlines of letters, for machines that know no letters: each a set of loops, curves kept as curves.

Loops have a capital's height as their unit; the first letter starts at x = 0 and letters stand on y = 0.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from typing import TYPE_CHECKING

from fontTools.pens.basePen import BasePen
from fontTools.ttLib import TTFont

from assembly.errors import InputError
from assembly.letters import CAPITAL, font_file, refuse_unknown
from assembly.outline.contours import Loop, moved

if TYPE_CHECKING:
    from assembly.outline.contours import Point


class _Loops(BasePen):  # type: ignore[misc]
    """Gathers the outline of a letter, in the font's units."""

    def __init__(self, letters: object) -> None:
        """Start with none."""
        super().__init__(letters)
        self.found: list[Loop] = []
        self._start: Point = (0.0, 0.0)
        self._pieces: list[tuple[Point] | tuple[Point, Point]] = []

    def _moveTo(self, pt: Point) -> None:  # noqa: N802 - the font library's name
        self._start, self._pieces = pt, []

    def _lineTo(self, pt: Point) -> None:  # noqa: N802
        self._pieces.append((pt,))

    def _qCurveToOne(self, pt1: Point, pt2: Point) -> None:  # noqa: N802
        self._pieces.append((pt1, pt2))

    def _closePath(self) -> None:  # noqa: N802
        if len(self._pieces) > 1:  # some letters hold a lone point, which accents are hung on
            self.found.append(Loop(start=self._start, pieces=tuple(self._pieces)))


@cache
def _letter(sign: str) -> tuple[tuple[Loop, ...], float]:
    """Return the loops of a letter and how far on the next one stands, in heights of a capital."""
    letters, names, capital = _font()
    pen, glyph = _Loops(letters), letters[names[ord(sign)]]  # type: ignore[index]
    glyph.draw(pen)
    return tuple(moved(loop, 1 / capital, (0.0, 0.0)) for loop in pen.found), glyph.width / capital


@cache
def _font() -> tuple[object, dict[int, str], float]:
    """Return the letters, their names by character, and the height of a capital in their units."""
    font = TTFont(font_file("Regular"), lazy=True)
    return font.getGlyphSet(), font.getBestCmap(), CAPITAL * font["head"].unitsPerEm


def outlines(text: str) -> tuple[Loop, ...]:
    """Return the outlines of one line of words; none where nothing of it is seen, as of spaces.

    Raises
    ------
    InputError
        If the letters lack a character, or can't be set one after the other from left to right.
    """
    found: list[Loop] = []
    x = 0.0
    for sign in _single(text):
        loops, on = _letter(sign)
        found += [moved(loop, 1.0, (x, 0.0)) for loop in loops]
        x += on
    return tuple(found)


def width(text: str) -> float:
    """Return how long a line of words is, in heights of a capital; what the letters lack counts as wide as an M."""
    return sum(_letter(sign if ord(sign) in _font()[1] else "M")[1] for sign in text)


def _single(text: str) -> str:
    """Return a text in which an accent is part of its letter, or refuse it."""
    whole = unicodedata.normalize("NFC", text)
    refuse_unknown([whole], "the engraving", ("Regular",))
    for sign in whole:
        if unicodedata.bidirectional(sign) in {"R", "AL", "NSM"}:
            msg = (
                f"{text}: {sign!r} (U+{ord(sign):04X}) is no letter that is written by itself from left to right; "
                "write it in Latin, Greek or Cyrillic letters in the design"
            )
            raise InputError(msg)
    return whole
