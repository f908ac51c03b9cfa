"""What parts are measured with: an instrument's division and unsteadiness, and what a reading of it says.

division     : what it is read to; 0 where the value is kept as it stands
unsteadiness : standard deviation of what instrument and hand add before it is read; 0.2 divisions where none is given
blades       : of a set of feelers: the thickest that goes in is the reading, and the next does not go in
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass

from assembly.text import decimal

UNSTEADY = 0.2  # divisions (MODEL.md, 8.1)
STEADIEST = 1e-4  # mm or degrees: no hand is steadier, and rows of one size never coincide
CLOSE = 1e-6  # of a division within which a reading is on it


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """One instrument; mm, or degrees where `unit` says so."""

    name: str
    unit: str = "mm"
    division: float = 0.0
    given: float | None = None  # unsteadiness, where a figure is given
    blades: tuple[float, ...] = ()
    source: str = ""

    @property
    def unsteadiness(self) -> float:
        """Standard deviation of what it adds."""
        usual = UNSTEADY * (min(self.blades) if self.blades else self.division)
        return max(usual if self.given is None else self.given, STEADIEST)

    @property
    def shows(self) -> str:
        """What it can show, and how a stack of blades is written, in words."""
        if not self.blades:
            return f"it is read to {decimal(self.division)}"
        blades = ", ".join(map(decimal, self.blades))
        return f"its blades are 0, {blades}; of a stack write the thickest of these that is no thicker"

    def can_read(self, value: float) -> bool:
        """Tell whether a value is one that the instrument can show."""
        if self.blades:
            return value == 0 or any(math.isclose(abs(value), blade, abs_tol=CLOSE) for blade in self.blades)
        return self.division == 0 or abs(value / self.division - round(value / self.division)) < CLOSE * 1e3

    def interval(self, value: float) -> tuple[float, float]:
        """Return between what the unrounded value lies: from the first, included, to the second.

        A size that has a sign is read with feelers on the side that it shows; 0 says that no blade goes in on either.
        """
        if not self.blades:
            half = self.division / 2 or STEADIEST / 1e3
            return value - half, value + half
        blades = (0.0, *sorted(self.blades), math.inf)
        at = bisect_right(blades, abs(value) + CLOSE) - 1
        if at == 0:
            return -blades[1], blades[1]
        return (blades[at], blades[at + 1]) if value > 0 else (-blades[at + 1], -blades[at])
