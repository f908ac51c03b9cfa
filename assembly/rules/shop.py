"""Shop rules: the least material that a small box keeps beside its laps, holes and screws; millimetres.

They are numbered as in DEVELOPERS.md. None of them is a published value: each is the project's own choice, on the
safe side of common practice, and is there so that a part can be cut, held and drilled at all. Whether the joint is
sound is another question: `assembly.section`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.errors import Problem

if TYPE_CHECKING:
    from assembly.model.design import Screw

MIN_TONGUE = 2.0  # shop rule 1: a thinner tongue, or a shallower lap, breaks out or holds nothing
MIN_INSIDE = 10.0  # shop rule 2: between the laps, and between the lapped walls
MIN_BESIDE = 2.0  # shop rule 3: material beside a hole, on every side
MIN_RIM = 1.0  # shop rule 4: material beside a countersunk head or a washer
MIN_BITE = 2.0  # shop rule 5: thread in the part that holds it, in diameters of the screw
MIN_STRAIGHT = 1.0  # shop rule 6: straight sheet left of a leg beyond its bend
MIN_BEARING = 0.5  # shop rule 7: a countersunk head or a washer beyond its clearance hole, on every side
MIN_COVER = 1.0  # shop rule 8: material beside a thread in the part that it bites
MIN_UNDER = 0.5  # shop rule 9: sheet under the cone of a countersunk head

SLACK = 1e-9  # a size written exactly on a limit keeps it, whatever the last binary digit of a sum says


def under(size: float, least: float) -> bool:
    """Tell whether a size is under the least that is allowed, rounding aside."""
    return size < least - SLACK


def over(size: float, most: float) -> bool:
    """Tell whether a size is over the most that is allowed, rounding aside."""
    return size > most + SLACK


def fault(where: str, what: str) -> Problem:
    """Return a fault of a key; whoever knows the file adds the line."""
    return Problem(where=where, line=None, what=what)


def rule(number: int) -> str:
    """Name a shop rule in a message."""
    return f"(shop rule {number}, project choice)"


def screw_reach(screw: Screw) -> float:
    """Return how far from a screw's axis the part that it holds must still be there, by shop rules 3 and 4."""
    return max(screw.hole / 2 + MIN_BESIDE, screw.across / 2 + MIN_RIM)


def thread_reach(screw: Screw) -> float:
    """Return how far from a screw's axis the part that it bites must still be there, by shop rules 3 and 8."""
    return max(screw.pilot / 2 + MIN_BESIDE, screw.diameter / 2 + MIN_COVER)
