"""The panel of words beside the drawing or above it, with the key to the marks; and plates of words. Set by Pillow.

Pixels, x to the right and y down from the upper left corner. No library of the screen is loaded here. No word is ever
left out: where words do not fit the panel gets wider, and beyond that the letters smaller. In a window that is higher
than wide the words stand above the drawing.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw

from viewer.picture.dimensions import figure_size
from viewer.picture.legend import gaps_of, key_words
from viewer.picture.lettering import (
    CHIP,
    LEADING,
    PITCH,
    Lines,
    Note,
    WordLine,
    em_of,
    font,
    note_plate,
    note_size,
    note_words,
    rgb,
    width_of,
    wrapped,
)
from viewer.scene import tints

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.letters import Weight
    from assembly.made.gap_classes import GapClass
    from viewer.picture.legend import Field

SHARES = (0.36, 0.42, 0.48, 0.54, 0.6)  # of the window's width, as much as the words need
_MARGIN, _GAP, _TIGHT = 0.8, 0.35, 0.1  # ems: beside the words, between paragraphs, and between the lines of a list
_LIST = 16  # so many paragraphs are a list
_NARROWEST = 25  # ems; in a window that is not so wide letters are smaller
_MOST_HIGH = 0.6  # of the height above the bar, for words above the drawing
_KEY_ROW = 2.6  # ems; the key to the marks has two rows of two words


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """The words of a panel, laid out; `key` are the words of the key to the marks."""

    size: tuple[int, int]
    em: int
    lines: tuple[WordLine, ...]
    key: tuple[GapClass, ...]


@lru_cache(maxsize=4)
def laid(
    paragraphs: tuple[tuple[str, Weight], ...], key: tuple[GapClass, ...], window: tuple[int, int], bottom: int
) -> Laid:
    """Return a panel on which all words fit, as narrow as can be, with letters as large as can be.

    In a window that is higher than wide the panel lies over its whole width, above the drawing.

    Parameters
    ----------
    paragraphs : tuple of (str, weight)
        The words; an empty paragraph is a gap.
    key : tuple of GapClass
        The words of the key to the marks, which stands at the panel's foot; none where no joints are shown.
    window : (int, int)
        Width and height of the window, pixels.
    bottom : int
        Where the panel ends, y.
    """
    if window[0] < window[1]:
        return _stacked(paragraphs, key, window, bottom)
    em = em_of(window[1])
    while True:
        room = bottom - (2 * _KEY_ROW + 0.4) * em * bool(key)
        for share in SHARES:
            width = round(share * window[0])
            lines, end = _flowed(paragraphs, width, em)
            if (end <= room and _key_width(key, em) <= width) or em <= 1:
                return Laid(size=(width, bottom), em=em, lines=tuple(lines), key=key)
        em -= 1


def _stacked(
    paragraphs: tuple[tuple[str, Weight], ...], key: tuple[GapClass, ...], window: tuple[int, int], bottom: int
) -> Laid:
    """Return a panel over the whole width of a window that leaves the drawing its share of the height."""
    em, most = max(1, min(em_of(window[1]), window[0] // _NARROWEST)), round(_MOST_HIGH * bottom)
    while True:
        lines, end = _flowed(paragraphs, window[0], em)
        height = round(end + (2 * _KEY_ROW + 0.4) * em * bool(key))
        if (height <= most and _key_width(key, em) <= window[0]) or em <= 1:
            return Laid(size=(window[0], min(height, most)), em=em, lines=tuple(lines), key=key)
        em -= 1


def _key_width(key: tuple[GapClass, ...], em: int) -> float:
    """Return how wide a panel must be for the two columns of the key to the marks."""
    return (_MARGIN + 0.8) * em + 2 * _key_column(key, em)


def _key_column(key: tuple[GapClass, ...], em: int) -> float:
    """Return how wide the fields and words of one column of the key are."""
    words = (max(width_of(fit.word, em, "Bold"), width_of(gaps_of(fit), em)) for fit in key)
    return (CHIP + 0.4) * em + max(words, default=0.0)


@lru_cache(maxsize=4)
def spread(paragraphs: tuple[tuple[str, Weight], ...], window: tuple[int, int], bottom: int) -> Laid:
    """Return the words over the whole width of a window, in as many columns as hold them."""
    em = em_of(window[1])
    while True:
        for count in (1, 2, 3):
            width = window[0] / count
            lines, end = _flowed(paragraphs, width, em)
            columns = _columns(lines, end, count, bottom, em)
            if columns is not None or em <= 1:
                found = [
                    WordLine(words=line.words, weight=line.weight, place=(line.place[0] + i * width, line.place[1]))
                    for i, column in enumerate(columns or [lines])
                    for line in column
                ]
                return Laid(size=(window[0], bottom), em=em, lines=tuple(found), key=())
        em -= 1


def _columns(lines: list[WordLine], end: float, count: int, bottom: float, em: int) -> list[list[WordLine]] | None:
    """Return lines broken into columns of about equal height, each moved to the top; None where they do not fit."""
    top, target = lines[0].place[1], end / count
    columns: list[list[WordLine]] = [[] for _ in range(count)]
    for line in lines:
        columns[min(count - 1, int((line.place[1] - top) / target))].append(line)
    moved = []
    for column in columns:
        up = column[0].place[1] - top if column else 0.0
        moved.append([WordLine(words=c.words, weight=c.weight, place=(c.place[0], c.place[1] - up)) for c in column])
    fits = all(line.place[1] + LEADING * em <= bottom for column in moved for line in column)
    return moved if fits else None


def _flowed(paragraphs: Sequence[tuple[str, Weight]], width: float, em: int) -> tuple[list[WordLine], float]:
    """Return paragraphs as lines from the top of a column, and where they end."""
    y, lines = 0.7 * em, []
    gap = _TIGHT if len(paragraphs) > _LIST else _GAP
    for words, weight in paragraphs:
        for line in wrapped(words, em, width - 2 * _MARGIN * em, weight):
            lines.append(WordLine(words=line, weight=weight, place=(_MARGIN * em, y)))
            y += LEADING * em
        y += (gap if words else _GAP) * em
    return lines, y


def panel(words: Laid) -> Image.Image:
    """Return a panel's picture, (height, width) RGB."""
    fields = _key_places(words)
    picture = Image.new("RGB", words.size, rgb(tints.PAPER))
    writer = ImageDraw.Draw(picture)
    for fit, x, y in fields:
        picture.paste(_field(fit, words.em), (round(x), round(y)))
    for line in [*words.lines, *key_words(fields, words.em)]:
        writer.text(line.place, line.words, font=font(words.em, line.weight), fill=rgb(tints.TEXT))
    return picture


def _field(fit: GapClass, em: int) -> Image.Image:
    size = (round(CHIP * em), round(2.2 * em))
    lines = Lines(size)
    lines.field((0, 0, *size), fit, PITCH * em)
    return lines.over(Image.new("RGBA", size, (*rgb(tints.PAPER), 255))).convert("RGB")


def _key_places(words: Laid) -> list[Field]:
    """Return each word of the key with the upper left corner of its field, in two columns at the panel's foot."""
    em, (width, height) = words.em, words.size
    top, left = height - (2 * _KEY_ROW) * em, _MARGIN * em
    second = min(left + width / 2, width - 0.3 * em - _key_column(words.key, em))
    return [(fit, second if i % 2 else left, top + i // 2 * _KEY_ROW * em) for i, fit in enumerate(words.key)]


def banner_of(words: str, em: int, width: float) -> Image.Image:
    """Return a word on what is being worked out as a small picture, RGB, in lines of at most `width`."""
    return plate(Note(lines=tuple(wrapped(words, em, width - 0.8 * em, "Bold")), worst=True, marks=()), em)


def plate(note: Note, em: int) -> Image.Image:
    """Return a note as a small picture to lay over the box, RGB: dark words on paper, of the worst fit light on ink."""
    width, height = (round(side) for side in note_size(note, em))
    size, box = (width + 4, height + 4), (2.0, 2.0, width + 2.0, height + 2.0)
    lines = Lines(size)
    lines.plate((0, 0, *size), 0, tints.QUIET)
    note_plate(lines, note, box, em, on_right=True)
    picture = lines.over(Image.new("RGBA", size, (*rgb(tints.PAPER), 255)))
    note_words(ImageDraw.Draw(picture), note, box, em, on_right=True)
    return picture.convert("RGB")


def figure(words: str, em: int) -> Image.Image:
    """Return a size's figure as a small picture to lay over the box, RGB."""
    width, height = (round(side) for side in figure_size(words, em))
    picture = Image.new("RGB", (width, height), rgb(tints.PAPER))
    writer = ImageDraw.Draw(picture)
    writer.text((width / 2, height / 2), words, font=font(em, "Bold"), fill=rgb(tints.INK), anchor="mm")
    return picture
