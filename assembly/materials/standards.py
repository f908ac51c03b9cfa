"""How far bought stock, rules and general tolerances may be out, by their standards.

tolerance : the permitted deviation above and below a nominal size, mm, both as positive numbers
class     : a standard's own grade of accuracy

A measured thickness is always better than these. They are limits for makers of stock, not what a class achieves.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

from assembly.data.tables import banded, given, number, rows
from assembly.errors import InputError

if TYPE_CHECKING:
    from assembly.data.tables import Row

Isoclass = Literal["f", "m", "c", "v"]
RuleClass = Literal["I", "II", "III"]


def sheet_tolerance(rule: str, thickness_mm: float) -> tuple[float, float]:
    """Return how much thicker and how much thinner (mm) a sheet may be than its nominal thickness.

    Parameters
    ----------
    rule : str
        "plywood, sanded", "plywood, unsanded", "MDF", "MDF, unsanded", "acrylic, cast" or "acrylic, extruded".
    thickness_mm : float
        Nominal thickness.
    """
    row = _banded("sheet_thickness", "rule", rule, thickness_mm)
    plus = given(row, "plus_mm") + given(row, "plus_per_mm") * thickness_mm
    return plus, given(row, "minus_mm") + given(row, "minus_per_mm") * thickness_mm


def section_tolerance(grade: str, dimension: Literal["thickness", "width"], size_mm: float) -> tuple[float, float]:
    """Return how much bigger and how much smaller (mm) a timber section may be than its nominal size.

    Parameters
    ----------
    grade : str
        "planed", "EN 336 T1", "EN 336 T2" or "EN 1313-1 sawn".
    dimension : {"thickness", "width"}
        Which size of the section.
    size_mm : float
        Nominal size.
    """
    row = _banded("section_tolerances", "grade", grade, size_mm, dimension=dimension)
    return given(row, "plus_mm"), given(row, "minus_mm")


def stock_thicknesses() -> tuple[float, ...]:
    """Return the planed thicknesses that school suppliers often list, mm; common practice, no source."""
    return tuple(given(r, "thickness_mm") for r in rows("sections"))


def iso2768_linear(cls: Isoclass, size_mm: float) -> float:
    """Return the ± deviation (mm) that ISO 2768-1 allows a size without its own tolerance."""
    return _iso2768("linear", cls, size_mm)


def iso2768_angle(cls: Isoclass, leg_mm: float) -> float:
    """Return the ± deviation (radians) that ISO 2768-1 allows an angle, by its shorter leg (mm)."""
    return math.radians(_iso2768("angle", cls, leg_mm) / 60)


def _iso2768(kind: str, cls: Isoclass, size_mm: float) -> float:
    limit = number(_banded("iso2768", "class", cls, size_mm, kind=kind), "limit")
    if limit is None:
        msg = f"ISO 2768-1 {kind} class {cls} at {size_mm:g} mm: not in our tables; see the standard"
        raise InputError(msg)
    return limit


def rule_limit(cls: RuleClass, length_mm: float, *, from_end: bool) -> float:
    """Return the legal limit (± mm) of a rule's error over a length, more if its end face is the zero.

    Notes
    -----
    a + b L, L in metres rounded up. UK Statutory Instrument 2016/1153, Schedule 1I.
    """
    row = next(r for r in rows("rule_limits") if r["class"] == cls)
    limit = given(row, "constant_mm") + given(row, "per_metre_mm") * max(1, math.ceil(length_mm / 1000))
    return limit + given(row, "from_end_mm") if from_end else limit


def _banded(table: str, key: str, value: str, size_mm: float, **others: str) -> Row:
    """Return the row for a value of the key column whose band holds a size; refuse what the table has not."""
    keyed = [r for r in rows(table) if all(r[c] == v for c, v in others.items())]
    named = [r for r in keyed if r[key] == value]
    if not named:
        msg = f"{key} {value!r}: not in the table; there are: {'; '.join(dict.fromkeys(r[key] for r in keyed))}"
        raise InputError(msg)
    row = banded(named, size_mm)
    if row is None:
        top = max(number(r, "to_mm") or math.inf for r in named)
        ends = f"{min(given(r, 'from_mm') for r in named):g} to {top:g}"
        msg = f"{key} {value!r}: no value at {size_mm:g} mm; there are values from {ends} mm"
        raise InputError(msg)
    return row
