"""Numbers as they are typed after an option: read, or refused with what is allowed."""

from __future__ import annotations

import math

from assembly.errors import InputError


def number(option: str, words: float | str | None, bounds: tuple[float, float] | None, allowed: str) -> float:
    """Return the number that an option was given.

    Raises
    ------
    InputError
        If it is none, or not within the bounds.
    """
    try:
        found = float(words if words is not None else "")
    except ValueError:
        found = math.nan
    low, high = bounds or (-math.inf, math.inf)
    if not low <= found <= high:
        msg = f"{option}: got {as_typed(words)}, must be {allowed}"
        raise InputError(msg)
    return found


def as_typed(words: float | str | None) -> str:
    """Return what was given as it is repeated: numbers bare, other words in quotes."""
    try:
        return f"{float(words or 0):g}"
    except ValueError:
        return repr(words)
