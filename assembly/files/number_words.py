"""What a number was meant to be that was written with a comma, a unit or a percent sign, and how it is written here."""

from __future__ import annotations

import re
from fractions import Fraction

from assembly.data.tables import INCH
from assembly.text import decimal

_WRITTEN = re.compile(
    r"(?P<number>[-+]?\d+/[1-9]\d*|[-+]?\d*[.,]?\d+)\s*(?P<unit>%|mm|cm|m|in|inch|inches|\"|''|°|degrees|deg)?",
    re.IGNORECASE,
)
_MM = {"cm": 10.0, "m": 1000.0, "in": INCH, "inch": INCH, "inches": INCH, '"': INCH, "''": INCH}


def number_meant(text: str) -> str:
    """Return how a number is written that was written otherwise; empty where a text is none, or nothing is wrong.

    Examples
    --------
    >>> number_meant("0,2"), number_meant("18 cm"), number_meant("80 %"), number_meant("9 mm")
    ('write 0.2, with a point', '18 cm is 180 mm: write 180', '80 % is 0.8: write 0.8', 'write 9, without its unit')
    >>> number_meant("120 %"), number_meant("9"), number_meant("wide")
    ("more than 100 % can't be; 80 % is 0.8", '', '')
    """
    found = _WRITTEN.fullmatch(text.strip())
    if found is None:
        return ""
    unit, point = (found["unit"] or "").lower(), found["number"].replace(",", ".")
    number = float(Fraction(point))
    if unit == "%":
        return share_meant(number)
    if unit in _MM:
        size = decimal(number * _MM[unit])
        return f"{point} {found['unit']} is {size} mm: write {size}"
    if unit:
        return f"write {point}, without its unit"
    if "/" in point:
        return f"write {decimal(number)}"
    return f"write {point}, with a point" if "," in found["number"] else ""


def share_meant(percent: float) -> str:
    """Return how a share is written that was given in percent."""
    if percent > 100:
        return "more than 100 % can't be; 80 % is 0.8"
    return f"{decimal(percent)} % is {decimal(percent / 100)}: write {decimal(percent / 100)}"


def length_meant(number: float, least: float, most: float) -> str:
    """Return what a number of mm that is too small may have been meant as: cm, or inches; empty where neither fits."""
    if not 0 < number < least:
        return ""
    cm, inch = (decimal(number * _MM[unit]) for unit in ("cm", "in"))
    parts = [f"{decimal(number)} cm is {cm}: write {cm}"] if least <= number * _MM["cm"] <= most else []
    parts += [f"{decimal(number)} in is {inch}: write {inch}"] if least <= number * INCH <= most else []
    return f"lengths are in mm: {'; '.join(parts)}" if parts else ""
