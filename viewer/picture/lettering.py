"""Letters, chips and lines as Pillow sets them: every letter at least 1/40 of the picture's height.

em   : the size of the letters, pixels
chip : a small upright field in a joint's pattern, beside the words that name the joint
note : a label's lines of words, with its chip if it speaks of a joint
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from assembly.letters import font_file
from viewer.scene import tints
from viewer.scene.patterns import pattern

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.letters import Weight
    from assembly.made.gap_classes import GapClass
    from viewer.scene.tints import Tint

LEAST_SHARE = 1 / 40  # of the picture's height: letters are no smaller
LEADING = 1.15  # from one line of words to the next, ems
FINE = 3  # lines are drawn so many times larger and then reduced, which smooths them
_BAND = 512  # rows of a picture that lines are laid over at once
CHIP = 0.8  # width of a chip, ems
PITCH = 0.56  # of a chip's pattern, ems

Rectangle = tuple[float, float, float, float]  # left, top, right, bottom; pixels


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """What one label says."""

    lines: tuple[str, ...]  # the first in bold
    fit: GapClass | None = None  # its chip
    worst: bool = False  # light letters on ink
    marks: tuple[int, ...]  # what it speaks of, by the numbers of `viewer.scene.visibility`
    aim: float = 0.5  # how far down what is seen its leader ends, 0 to 1


@dataclass(frozen=True, slots=True, kw_only=True)
class WordLine:
    """One line of words and where it starts, pixels."""

    words: str
    weight: Weight
    place: tuple[float, float]


@cache
def font(em: int, weight: Weight) -> ImageFont.FreeTypeFont:
    """Return the letters of a size."""
    return ImageFont.truetype(str(font_file(weight)), em)


def em_of(height: int) -> int:
    """Return the size of letters for a picture of this height, pixels."""
    return math.ceil(height * LEAST_SHARE)


@lru_cache(maxsize=8192)
def width_of(words: str, em: int, weight: Weight = "Regular") -> float:
    """Return the length of words, pixels."""
    return float(font(em, weight).getlength(words))


def wrapped(words: str, em: int, width: float, weight: Weight = "Regular") -> list[str]:
    """Return words in lines no longer than `width`, broken between words, and within one that is longer than a line."""
    lines: list[str] = []
    for word in words.split():
        if lines and width_of(f"{lines[-1]} {word}", em, weight) <= width:
            lines[-1] += f" {word}"
            continue
        rest = word
        while len(rest) > 1 and width_of(rest, em, weight) > width:
            count = max(1, next(n for n in range(len(rest), -1, -1) if width_of(rest[:n], em, weight) <= width))
            lines.append(rest[:count])
            rest = rest[count:]
        lines.append(rest)
    return lines


def note_size(note: Note, em: int) -> tuple[float, float]:
    """Return the width and height of a note's plate, pixels."""
    words = max(width_of(line, em, _weight(note, row)) for row, line in enumerate(note.lines))
    chip = (CHIP + 0.4) * em if note.fit else 0.0
    return words + chip + 0.6 * em, (len(note.lines) * LEADING + 0.35) * em


def _weight(note: Note, row: int) -> Weight:
    """Return the weight of a note's line: names are bold, and so is what says that a fit is the worst."""
    return "Bold" if row <= note.worst else "Regular"


def rgb(colour: Tint) -> tuple[int, int, int]:
    """Return a tint as whole numbers up to 255."""
    red, green, blue = (round(255 * share) for share in colour)
    return red, green, blue


class Lines:
    """Lines and areas over a picture, smooth: drawn `FINE` times larger, then reduced."""

    def __init__(self, size: tuple[int, int]) -> None:
        """Start with nothing drawn."""
        self._image = Image.new("RGBA", (size[0] * FINE, size[1] * FINE), (0, 0, 0, 0))
        self._draw = ImageDraw.Draw(self._image)

    def areas(self, corners: FloatArray, colour: Tint) -> None:
        """Fill areas, (k, n corners, 2) pixels."""
        for area in corners * FINE:
            self._draw.polygon([(float(x), float(y)) for x, y in area], fill=(*rgb(colour), 255))

    def leader(self, port: FloatArray, anchor: FloatArray, width: float, colour: Tint, *, hidden: bool) -> None:
        """Draw a leader with a pale rim: it ends in a dot, or in a ring where its anchor is hidden."""
        reach = 1.5 * width + 0.045 * self._image.height / FINE * LEAST_SHARE
        for extra, tint in ((0.07 * self._image.height / FINE * LEAST_SHARE, tints.PAPER), (0.0, colour)):
            line = [*(port * FINE).tolist(), *(anchor * FINE).tolist()]
            self._draw.line(line, fill=(*rgb(tint), 255), width=round((width + 2 * extra) * FINE))
            self.disc(anchor, reach + extra, tint)
        if hidden:
            self.disc(anchor, 0.55 * reach, tints.PAPER)

    def stroke(self, ends: FloatArray, width: float, colour: Tint) -> None:
        """Draw a straight line, (2, 2) pixels."""
        self._draw.line(
            [*(ends * FINE).ravel().tolist()], fill=(*rgb(colour), 255), width=max(FINE, round(width * FINE))
        )

    def disc(self, middle: FloatArray, radius: float, colour: Tint) -> None:
        """Fill a disc."""
        (x, y), reach = (middle * FINE).tolist(), radius * FINE
        self._draw.ellipse((x - reach, y - reach, x + reach, y + reach), fill=(*rgb(colour), 255))

    def plate(self, box: tuple[float, float, float, float], radius: float, colour: Tint) -> None:
        """Fill a rectangle with round corners: left, top, right, bottom."""
        self._draw.rounded_rectangle([side * FINE for side in box], radius * FINE, fill=(*rgb(colour), 255))

    def field(self, box: tuple[float, float, float, float], fit: GapClass, pitch: float) -> None:
        """Fill an upright rectangle with the ground and the pattern of a word."""
        left, top, right, bottom = box
        whole = np.array([[[left, top], [right, top], [right, bottom], [left, bottom]]])
        self.areas(whole, tints.GROUNDS[fit.word])
        self.areas(pattern(fit.word, right - left, bottom - top, pitch) * [1, -1] + [left, bottom], tints.INK)

    def over(self, picture: Image.Image) -> Image.Image:
        """Return a picture with the lines on it."""
        whole = picture.copy()
        for top in range(0, picture.height, _BAND):  # at once, the reducing of a large picture takes half a gigabyte
            bottom = min(top + _BAND, picture.height)
            rows = (0, top, picture.width, bottom)
            small = self._image.crop((0, FINE * top, FINE * picture.width, FINE * bottom)).reduce(FINE)
            whole.paste(Image.alpha_composite(picture.crop(rows), small), rows)
        return whole


def note_plate(lines: Lines, note: Note, box: tuple[float, float, float, float], em: int, *, on_right: bool) -> None:
    """Draw a note's plate and chip; the chip is on the side of the drawing."""
    lines.plate(box, 0.25 * em, tints.INK if note.worst else tints.PAPER)
    if note.fit:
        left, top, right, bottom = box
        edge = left + 0.3 * em if on_right else right - (0.3 + CHIP) * em
        chip = (edge, top + 0.25 * em, edge + CHIP * em, bottom - 0.25 * em)
        if note.worst:
            rim = 0.08 * em
            lines.plate((chip[0] - rim, chip[1] - rim, chip[2] + rim, chip[3] + rim), 0, tints.PAPER)
        lines.field(chip, note.fit, PITCH * em)


def note_words(
    picture: ImageDraw.ImageDraw, note: Note, box: tuple[float, float, float, float], em: int, *, on_right: bool
) -> None:
    """Set a note's words: from its left edge in the right column, up to its right edge in the left column."""
    left, top, right, _ = box
    chip = (CHIP + 0.4) * em if note.fit else 0.0
    x, anchor = (left + 0.3 * em + chip, "la") if on_right else (right - 0.3 * em - chip, "ra")
    for row, line in enumerate(note.lines):
        colour = rgb(tints.PAPER if note.worst else tints.TEXT)
        y = top + (0.2 + row * LEADING) * em
        picture.text((x, y), line, font=font(em, _weight(note, row)), fill=(*colour, 255), anchor=anchor)
