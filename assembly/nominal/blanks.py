"""Blanks: parts as they are handed out, with the waste that the making takes off them.

blank : a part before any saw or sander: its finished size, and an allowance of waste beyond each end or side
"""

from __future__ import annotations

ALLOWANCE = 10.0  # waste beyond each finished end of a wall and each side of a sheet, mm; project choice, no source


def blank(finished: float, allowance: float = ALLOWANCE) -> float:
    """Return the length or width of a blank, mm, from the finished one.

    Examples
    --------
    >>> blank(145.0)
    165.0
    """
    return finished + 2 * allowance
