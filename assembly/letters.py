"""The letters that all that is drawn, set or engraved is written in: their files, and the characters that they have.

They are DejaVu Sans, which comes with matplotlib and so is the same on every machine.
"""

from __future__ import annotations

import importlib.util
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from assembly.errors import InputError, LibraryError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

Weight = Literal["Regular", "Bold"]
CAPITAL = 1493 / 2048  # height of a capital, ems: that of H in both weights


def font_file(weight: Weight) -> Path:
    """Return the file of the letters.

    Raises
    ------
    LibraryError
        If matplotlib is missing.
    """
    found = importlib.util.find_spec("matplotlib")
    name = "DejaVuSans.ttf" if weight == "Regular" else "DejaVuSans-Bold.ttf"
    if found is None or found.origin is None:
        msg = "drawing letters: matplotlib can't be found, and its letters are needed; `pip install matplotlib`"
        raise LibraryError(msg)
    return Path(found.origin).parent / "mpl-data" / "fonts" / "ttf" / name


def refuse_unknown(texts: Iterable[str], what: str, weights: Sequence[Weight]) -> None:
    """Refuse words that can't be written; `what` is what the letters are of.

    Raises
    ------
    InputError
        If a character is none of those that every weight has.
    """
    for text in texts:
        missing = "" if text.isascii() else "".join(sign for sign in text if ord(sign) not in _known(tuple(weights)))
        if missing:
            msg = (
                f"{text}: the letters of {what} (DejaVu Sans) have no {missing[0]!r} (U+{ord(missing[0]):04X}); "
                "they have Latin, Greek and Cyrillic; write it so in the design"
            )
            raise InputError(msg)


@cache
def _known(weights: tuple[Weight, ...]) -> frozenset[int]:
    """Return the characters that all of some weights have."""
    from fontTools.ttLib import TTFont  # noqa: PLC0415 - asked only of words that are not ASCII

    found = []
    for weight in weights:
        with TTFont(font_file(weight), lazy=True) as letters:
            found.append(frozenset(letters.getBestCmap()))
    return frozenset.intersection(*found)
