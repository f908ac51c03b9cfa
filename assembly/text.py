"""Numbers as a person writes them, and names that a word may have meant."""

from __future__ import annotations

import unicodedata
from difflib import get_close_matches
from typing import TYPE_CHECKING

from assembly.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


DECIMALS = 3  # of a number as a person writes it, at the most


def decimal(number: float) -> str:
    """Word a number: no more than three decimals, none that are zero.

    Examples
    --------
    >>> decimal(4.5), decimal(12.0), decimal(1 / 3)
    ('4.5', '12', '0.333')
    """
    return f"{number:.{DECIMALS}f}".rstrip("0").rstrip(".")


def mm(size: float) -> str:
    """Word a size with its unit."""
    return f"{decimal(size)} mm"


def listed(words: Sequence[str]) -> str:
    """Return words as a list that is read: "A, B and C".

    Examples
    --------
    >>> listed(("LEFT", "RIGHT")), listed(("LEFT",))
    ('LEFT and RIGHT', 'LEFT')
    """
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else words[0]


def near_names(word: str, names: Iterable[str], *, most: int = 1, alike: float = 0.6) -> list[str]:
    """Return the names that are spelt most like a word, the likest first; `alike` is 1 for the same letters."""
    return get_close_matches(word, list(names), n=most, cutoff=alike)


def did_you_mean(word: str, names: Iterable[str], otherwise: str = "") -> str:
    """Ask for the name that a word may have meant; say what else to do where none is near."""
    near = near_names(word, names)
    return f"did you mean {near[0]!r}?" if near else otherwise


def one_of(where: str, word: str, names: Iterable[str]) -> str:
    """Return a word that is one of some names.

    Raises
    ------
    InputError
        If it is none of them; the nearest is offered, or all where none is near.
    """
    known = list(names)
    if word not in known:
        cure = did_you_mean(word, known, f"must be one of {', '.join(known)}")
        msg = f"{where}: unknown name {word!r}; {cure}"
        raise InputError(msg)
    return word


def ascii_name(name: str) -> str:
    """Return a name in letters that every format holds, accents dropped; "box" where nothing of it is left.

    Examples
    --------
    >>> ascii_name("Caf\u00e9 'no. 2'"), ascii_name("\u7bb1")
    ('Cafe no. 2', 'box')
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    kept = "".join(letter for letter in plain if letter.isalnum() or letter in " ._-")
    return " ".join(kept.split()) or "box"
