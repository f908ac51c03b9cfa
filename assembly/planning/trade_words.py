"""Words of the trade in a step's sentences, and what they mean; the table is `assembly/data/trade_words.csv`.

form  : a trade word as a sentence has it: "laps" of "lap", "waste side" of "waste"
piece : a run of a sentence, which is a form of one trade word, or of none

Where forms overlap the longest holds: in "gauge line" nothing else is looked for.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.data.tables import rows

if TYPE_CHECKING:
    from collections.abc import Container, Iterable

_START = re.compile(r"(^|[.!?] )([A-Z])(?=[a-z])")  # of a sentence, where a form has a capital letter


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeWord:
    """A word of the trade, its forms, and its meaning in a pupil's language."""

    word: str
    forms: tuple[str, ...]
    meaning: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A run of a sentence; `word` is the trade word that it is, None for what needs no explanation."""

    text: str
    word: TradeWord | None = None


@functools.cache
def trade_words() -> tuple[TradeWord, ...]:
    """Return every trade word, in the table's order; its forms are parted by semicolons there."""
    return tuple(
        TradeWord(
            word=row["word"],
            forms=tuple(form.strip() for form in row["forms"].split(";")),
            meaning=row["meaning"],
            source=row["source"],
        )
        for row in rows("trade_words")
    )


@functools.cache
def _by_form() -> dict[str, TradeWord]:
    return {form: word for word in trade_words() for form in word.forms}


@functools.cache
def _forms() -> re.Pattern[str]:
    """Return a pattern of whole words that finds the longest form."""
    longest = sorted(_by_form(), key=len, reverse=True)
    return re.compile(rf"(?<![\w-])(?:{'|'.join(map(re.escape, longest))})(?![\w-]|'\w)")


def pieces(sentence: str, told: Container[str] = ()) -> tuple[Piece, ...]:
    """Return a sentence in pieces, each trade word marked the first time that it comes.

    Parameters
    ----------
    sentence : str
        What is said; it may be several sentences.
    told : container of str
        Trade words that are not marked any more, as `TradeWord.word` has them.

    Examples
    --------
    >>> [(piece.text, piece.word and piece.word.word) for piece in pieces("Laps have a gauge line.")]
    [('Laps', 'lap'), (' have a ', None), ('gauge line', 'gauge line'), ('.', None)]
    """
    plain = _START.sub(lambda start: start[1] + start[2].lower(), sentence)
    found: list[Piece] = []
    end, seen = 0, set[str]()
    for match in _forms().finditer(plain):
        word = _by_form()[match[0]]
        if word.word in told or word.word in seen:
            continue
        seen.add(word.word)
        if match.start() > end:
            found.append(Piece(text=sentence[end : match.start()]))
        end = match.end()
        found.append(Piece(text=sentence[match.start() : end], word=word))
    return (*found, *((Piece(text=sentence[end:]),) if sentence[end:] else ()))


def in_pieces(sentences: Iterable[str]) -> tuple[tuple[Piece, ...], ...]:
    """Return the sentences of a step in pieces, each trade word marked the first time that it comes in any of them."""
    told: set[str] = set()
    found = []
    for sentence in sentences:
        found.append(pieces(sentence, told))
        told |= {piece.word.word for piece in found[-1] if piece.word}
    return tuple(found)
