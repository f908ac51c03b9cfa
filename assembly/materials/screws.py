"""Lid screws in a wall's top edge: pilot, thread in wood, wood beside the hole, and withdrawal as a ratio.

core       : diameter at the root of the thread
pilot      : hole that the thread bites in
gauge      : US screw number N, 0.060 + 0.013 N inch in diameter (ASME B18.6.1)
withdrawal : pulling out along the screw's length, from side grain

Ratios only: no figure here is a strength to rely on. Local rules, a risk assessment and competent supervision come
first.
"""

from __future__ import annotations

import bisect
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from assembly.data.tables import INCH, Species, given, rows
from assembly.errors import InputError

if TYPE_CHECKING:
    from assembly.data.tables import ScrewSize, SheetMaterial

WITHDRAWAL_N_MM2 = 108.25  # Wood Handbook (FPL-GTR-190, 2010) ch. 8: 15 700 lbf/in²; from memory, recomputed

# Share of the core that a pilot takes for best withdrawal: a screw table quoting the US code body, read.
BEST_PILOT_SHARE = {"softwood": 0.7, "hardwood": 0.9}


def us_gauge(diameter_mm: float) -> float:
    """Return the US gauge number, not rounded, that a diameter (mm) has."""
    return (diameter_mm / INCH - 0.060) / 0.013


def pilot_share(pilot_mm: float, core_mm: float) -> float:
    """Return a pilot hole as share of the screw's core."""
    return pilot_mm / core_mm


def best_pilot_mm(core_mm: float, kind: Literal["softwood", "hardwood"]) -> float:
    """Return the pilot for the best hold in a softwood or a hardwood, mm, before rounding to a drill."""
    return BEST_PILOT_SHARE[kind] * core_mm


def pilot_band(size: ScrewSize, kind: Literal["softwood", "hardwood"]) -> tuple[float, float]:
    """Return the table's least and largest pilot for a screw, mm; refused where it has none."""
    soft = size.pilot_softwood_least, size.pilot_softwood_most
    least, most = soft if kind == "softwood" else (size.pilot_hardwood_least, size.pilot_hardwood_most)
    if least is None or most is None:
        msg = f"screw {size.name!r}: no {kind} pilot in the table; give the pilot in the design"
        raise InputError(msg)
    return least, most


def wood_to_lap(from_end_mm: float, lap_length_mm: float, diameter_mm: float) -> float:
    """Return the wood along the edge between a screw and the lap, mm; a screw inside the lap's length is refused.

    Parameters
    ----------
    from_end_mm : float
        The screw's middle from the lapped wall's nearer end.
    lap_length_mm : float
        Length of the lap, which is the plain wall's thickness.
    diameter_mm : float
        Diameter of the screw.
    """
    left = from_end_mm - lap_length_mm - diameter_mm / 2
    if left < 0:
        msg = (
            f"screw {from_end_mm:g} mm from the wall's end: reaches into the lap of {lap_length_mm:g} mm, where only "
            f"the tongue stands; place it at least {lap_length_mm + diameter_mm / 2:g} mm from the end"
        )
        raise InputError(msg)
    return left


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A screw in a wall, as far as withdrawal depends on it."""

    material: Species | SheetMaterial
    diameter_mm: float  # of the shank
    length_mm: float  # of the screw
    thread_mm: float  # in the wood

    @property
    def within_range(self) -> bool:
        """Whether the withdrawal equation covers its gauge at the table's lengths on both sides of its own."""
        table = rows("withdrawal_range")
        lengths = [given(r, "length_mm") for r in table]
        if not lengths[0] <= self.length_mm <= lengths[-1]:
            return False
        around = {bisect.bisect_right(lengths, self.length_mm) - 1, bisect.bisect_left(lengths, self.length_mm)}
        gauge = us_gauge(self.diameter_mm)
        return all(given(table[i], "gauge_least") <= gauge <= given(table[i], "gauge_most") for i in around)


def withdrawal_n(specific_gravity: float, diameter_mm: float, thread_mm: float) -> float:
    """Return the mean failure load of the withdrawal equation, N; to form ratios, never to be printed.

    Notes
    -----
    p = 108.25 G² D L. Wood Handbook (FPL-GTR-190, 2010) ch. 8, seasoned wood, side grain.
    """
    return WITHDRAWAL_N_MM2 * specific_gravity**2 * diameter_mm * thread_mm


def withdrawal_ratio(hold: Hold, reference: Hold) -> float:
    """Return the withdrawal of a screw over that of the reference's.

    Raises
    ------
    InputError
        If a wall is a panel, a screw lies outside the equation's range, or a specific gravity is missing where the
        timbers differ; in one and the same timber it cancels out.
    """
    same = hold.material == reference.material
    one, other = (_withdrawal(each, 1.0 if same else None) for each in (hold, reference))
    return one / other


def _withdrawal(hold: Hold, specific_gravity: float | None) -> float:
    timber = hold.material
    if not isinstance(timber, Species):
        msg = f"screw into the edge of {timber.name!r}: no published figure here; withdrawal is for solid timber only"
        raise InputError(msg)
    if not hold.within_range:
        msg = (
            f"screw {hold.diameter_mm:g} x {hold.length_mm:g} mm: outside the range of the withdrawal equation "
            "(12.7 to 76 mm long, each length with its own gauges)"
        )
        raise InputError(msg)
    gravity = specific_gravity or timber.specific_gravity
    if gravity is None:
        msg = f"timber {timber.name!r}: no specific gravity in the table; give timber.specific_gravity in the design"
        raise InputError(msg)
    return withdrawal_n(gravity, hold.diameter_mm, hold.thread_mm)
