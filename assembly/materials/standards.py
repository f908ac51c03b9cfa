"""How far bought stock and rules may be out, by their standards.

tolerance : the permitted deviation above and below a nominal size, mm, both as positive numbers
class     : a standard's own grade of accuracy

A measured thickness is always better than these. They are limits for makers of stock, not what a class achieves.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

from assembly.data.tables import given, number, rows
from assembly.errors import InputError

if TYPE_CHECKING:
    from assembly.data.tables import Row

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
    """Return the row for a value of the key column whose band holds a size; bands include their ends."""
    keyed = [r for r in rows(table) if all(r[c] == v for c, v in others.items())]
    named = [r for r in keyed if r[key] == value]
    if not named:
        msg = f"{key} {value!r}: not in the table; there are: {'; '.join(dict.fromkeys(r[key] for r in keyed))}"
        raise InputError(msg)
    return next(r for r in named if given(r, "from_mm") <= size_mm <= (number(r, "to_mm") or math.inf))
