"""Moisture in wood: what it settles at in a climate, and how much a piece of wood then moves.

moisture content (MC) : mass of water over oven-dry mass, percent
equilibrium (EMC)     : the moisture content at which wood in a climate neither dries nor wets
start                 : the moisture content below which drying wood starts to shrink, 30 % (22 % for some cedars)
movement              : change of a size; positive where the piece grows

A piece that takes up water never shrinks: above the start it keeps its size. Movement goes by the shrinkage formula
throughout where the shrinkage is known, else by a coefficient, which is flagged outside its range of 6 to 14 %.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from assembly.data.tables import given, rows
from assembly.errors import InputError

if TYPE_CHECKING:
    from assembly.data.tables import GrainDirection, Species

Sawing = Literal["flat", "quarter"]
Across = Literal["height", "thickness"]

START_MC = 30.0  # percent; Wood Handbook (FPL-GTR-190, 2010) ch. 13
LINEAR_MC = (6.0, 14.0)  # percent, the coefficient's range; Wood Handbook ch. 13, eq. 13-2
REFERENCE_MC = 10.0  # percent, the size that a coefficient refers to; Wood Handbook Table 13-5
ALONG_PER_MC = 0.0001  # 0.01 % per 1 %; German trade journal, "Quellen und Schwinden"
EMC_TABLE_C = (-1.2, 60.1)  # the shared rows of Table 4-2, 30 to 140 °F, with half a digit of rounding
TEMPERATURES_C = (-30.0, 60.0)  # where a box may live; project choice

# Which way each size runs across the growth rings. Wood Handbook ch. 13: boards are rarely purely one or the other.
_RING_DIRECTION: dict[tuple[Sawing, Across], GrainDirection] = {
    ("flat", "height"): "tangential",
    ("flat", "thickness"): "radial",
    ("quarter", "height"): "radial",
    ("quarter", "thickness"): "tangential",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Climate:
    """Air that a box is made or lives in."""

    name: str  # where it is, for messages
    temperature_c: float
    humidity: float  # relative, percent

    def __post_init__(self) -> None:
        """Refuse air that there is none of."""
        if not 0 <= self.humidity <= 100:
            msg = f"{self.name}: humidity of {self.humidity:g} %; relative humidity lies between 0 and 100 %"
            raise InputError(msg)
        if not TEMPERATURES_C[0] <= self.temperature_c <= TEMPERATURES_C[1]:
            low, high = TEMPERATURES_C
            msg = f"{self.name}: temperature of {self.temperature_c:g} °C; must lie between {low:g} and {high:g} °C"
            raise InputError(msg)

    @property
    def emc(self) -> float:
        """Equilibrium moisture content of solid wood in this air, percent."""
        return emc(self.humidity, self.temperature_c)

    @property
    def within_table(self) -> bool:
        """Whether the temperature lies where the equation was checked against its published table."""
        return EMC_TABLE_C[0] <= self.temperature_c <= EMC_TABLE_C[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """Change of one size between two moisture contents."""

    change_mm: float
    method: str
    within: bool  # whether the method holds over all of the range it was used in
    source: str
    near_room: bool = False  # whether it is worked out from a slope near room conditions


@functools.cache
def _emc_terms() -> dict[str, tuple[float, float, float]]:
    return {
        r["term"]: (given(r, "constant"), given(r, "per_degree"), given(r, "per_degree_squared")) for r in rows("emc")
    }


def emc(humidity: float, temperature_c: float) -> float:
    """Return the equilibrium moisture content of solid wood, percent of oven-dry mass.

    Not for panels: they have their own slopes (`assembly.materials.sheets.sheet_change`).

    Parameters
    ----------
    humidity : float
        Relative humidity, percent.
    temperature_c : float
        Temperature, °C.

    Notes
    -----
    Wood Handbook (FPL-GTR-190, 2010) eq. 4-5. It leaves out species, stress and hysteresis.
    """
    w, k, k1, k2 = (a + b * temperature_c + c * temperature_c**2 for a, b, c in _emc_terms().values())
    kh = k * humidity / 100
    first = kh / (1 - kh)
    second = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (first + second)


def coefficient_from_shrinkage(shrinkage: float, start_mc: float = START_MC) -> float:
    """Return the movement coefficient that goes with a shrinkage (percent): per 1 % MC, of the size at 10 %.

    Notes
    -----
    C = (S/100/f) / (1 - (S/100)(f - 10)/f). Wood Handbook (FPL-GTR-190, 2010) Tables 4-3 and 13-5 agree within 0.00001.
    """
    share = shrinkage / 100
    return share / start_mc / (1 - share * (start_mc - REFERENCE_MC) / start_mc)


def coefficient(timber: Species, direction: GrainDirection) -> float:
    """Return the movement coefficient of a timber: as tabulated, else from its shrinkage; refused where neither is."""
    tabulated, shrinkage = timber.coefficient(direction), timber.shrinkage(direction)
    if tabulated is not None:
        return tabulated
    if shrinkage is None:
        msg = (
            f"timber {timber.name!r}: no {direction} shrinkage and no {direction} movement coefficient in the table; "
            "give one of them in the design"
        )
        raise InputError(msg)
    return coefficient_from_shrinkage(shrinkage, timber.start_mc or START_MC)


def shrinkage_change(size_mm: float, from_mc: float, to_mc: float, shrinkage: float, start_mc: float) -> float:
    """Return the change (mm) of a size measured at `from_mc`, by the shrinkage formula; no movement above the start.

    Notes
    -----
    Wood Handbook (FPL-GTR-190, 2010) eq. 13-3, formula from memory, recomputed:
    ΔD = D (MF - MI) / (100 f/S - f + MI), with f the start of shrinkage and S in percent.
    """
    before, after = min(from_mc, start_mc), min(to_mc, start_mc)
    return size_mm * (after - before) / (100 * start_mc / shrinkage - start_mc + before)


def coefficient_change(size_mm: float, from_mc: float, to_mc: float, per_mc: float) -> float:
    """Return the change (mm) of a size by its coefficient; no movement above 30 %.

    Notes
    -----
    Wood Handbook (FPL-GTR-190, 2010) eq. 13-2, ΔD = D C (MF - MI), for 6 to 14 %.
    """
    return size_mm * per_mc * (min(to_mc, START_MC) - min(from_mc, START_MC))


def along_change(size_mm: float, from_mc: float, to_mc: float, start_mc: float = START_MC) -> float:
    """Return the change (mm) of a length along the grain: hardly any, 0.01 % per 1 %, and none above the start."""
    return coefficient_change(size_mm, min(from_mc, start_mc), min(to_mc, start_mc), ALONG_PER_MC)


def across_change(timber: Species, direction: GrainDirection, size_mm: float, from_mc: float, to_mc: float) -> Movement:
    """Return how a size across the grain changes in one ring direction; refused where the table has no figure."""
    shrinkage = timber.shrinkage(direction)
    if shrinkage:
        change = shrinkage_change(size_mm, from_mc, to_mc, shrinkage, timber.start_mc or START_MC)
        return Movement(change_mm=change, method="shrinkage formula", within=True, source=timber.source)
    per_mc = coefficient(timber, direction)
    return Movement(
        change_mm=coefficient_change(size_mm, from_mc, to_mc, per_mc),
        method=f"coefficient, {timber.system}",
        within=all(LINEAR_MC[0] <= mc <= LINEAR_MC[1] for mc in (from_mc, to_mc)),
        source=timber.source,
        near_room=timber.near_room,
    )


def directions(sawing: Sawing | None, across: Across) -> tuple[GrainDirection, ...]:
    """Return the ring directions that a size across the grain may run in: one if the sawing is known, else both."""
    return (_RING_DIRECTION[sawing, across],) if sawing else ("radial", "tangential")


def across_range(
    timber: Species, sawing: Sawing | None, across: Across, size_mm: float, mc: tuple[float, float]
) -> tuple[Movement, Movement]:
    """Return the least and the most that a wall's height or thickness changes, by signed change.

    Parameters
    ----------
    timber : Species
        The timber.
    sawing : {"flat", "quarter"} or None
        How the board was sawn; None where it is not known, which leaves a range from radial to tangential.
    across : {"height", "thickness"}
        Which size; a wall's height is its board's width.
    size_mm : float
        The size at the first moisture content, mm.
    mc : tuple of float
        Moisture content before and after, percent.
    """
    found = [across_change(timber, d, size_mm, *mc) for d in directions(sawing, across)]
    ordered = sorted(found, key=lambda m: m.change_mm)
    return ordered[0], ordered[-1]
