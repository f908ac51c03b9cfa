"""Sizes as a stock file has them: numbers of mm, and text with its unit; and the names of prices, made of sizes.

    9    "9 mm"    "3/8 in"    "1 1/4 in"        "15 x 45" = 2.4

A number is millimetres. A number that can only be meant in inches and a fraction without its unit are told as faults.
"""

from __future__ import annotations

import re
from fractions import Fraction

from assembly.data.tables import INCH
from assembly.files.number_words import number_meant
from assembly.model.on_sale import DEAREST, sized
from assembly.text import decimal

_LENGTH = re.compile(r"(?:(?P<whole>\d+)[ -])?(?P<number>\d+/\d+|\d+(?:\.\d+)?)\s*(?P<unit>mm|in|inch|inches|\")?")
_NUMBER = r"\d+(?:\.\d+)?"


def size_in(item: object, allowed: tuple[float, float], what: str = "thickness") -> float | str:
    """Return one size in mm, or what is wrong with it as a sentence; `allowed` are the least and the most."""
    if isinstance(item, bool) or not isinstance(item, (int, float, str)):
        return f'got {item!r}, must be a {what} in mm, or text with its unit such as "3/8 in"'
    size = millimetres(item) if isinstance(item, str) else float(item)
    if isinstance(size, str):
        return size
    least, most = allowed
    if not least <= size <= most:
        inches = not isinstance(item, str) and least <= size * INCH <= most
        hint = f'; for inches write "{decimal(size)} in"' if inches else ""
        return f"got {decimal(size)} mm, must be {decimal(least)} to {decimal(most)} mm{hint}"
    return size


def millimetres(text: str) -> float | str:
    """Return a size written with its unit in mm, or what is wrong as a sentence."""
    found = _LENGTH.fullmatch(text.strip())
    if found is None and re.fullmatch(r"\d+([.,]\d+)?\s*c?m", text.strip()) and (words := number_meant(text)):
        return f"got {text!r}; sizes are in mm: {words}"
    if found is None and re.fullmatch(r"\d+,\d+\D*", text.strip()):
        return f"got {text!r}; a decimal is written with a point: {text.strip().replace(',', '.')}"
    if found is None:
        return f'got {text!r}, must be a size with its unit, such as "12 mm", "3/8 in" or "1 1/4 in"'
    unit, number = found["unit"], found["number"]
    if unit is None:
        cure = "" if "/" in number else f"{number} without quotes for mm, or "
        return f'got {text!r}, which has no unit; write {cure}"{text.strip()} in" for inches'
    if number.endswith("/0") or (found["whole"] and "/" not in number):
        return f'got {text!r}, which is no number; write "1 1/4 in" or "32 mm"'
    size = float(Fraction(number) + int(found["whole"] or 0))
    return size if unit == "mm" else size * INCH


def sizes_named(name: str, example: str) -> str | None:
    """Return the name of a price as orders have it, "15x45.0" as "15 x 45"; None where it is not made like `example`.

    Examples
    --------
    >>> sizes_named("3.50 x30", "3.5 x 30"), sizes_named("15 by 45", "15 x 45")
    ('3.5 x 30', None)
    """
    count = len(re.findall(_NUMBER, example))
    if not re.fullmatch(rf"\s*{_NUMBER}(?:\s*[x×]\s*{_NUMBER}){{{count - 1}}}\s*", name):
        return None
    return sized(*map(float, re.findall(_NUMBER, name)))


def price_fault(value: object) -> str | None:
    """Return what is wrong with a price as a sentence; None where nothing is."""
    if isinstance(value, str) and (words := number_meant(value)):
        return f"got {value!r}, must be a number; {words}"
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return f"got {value!r}, must be a number, the price without its currency"
    if not 0 <= value <= DEAREST:
        return f"got {value:g}, must be 0 to {decimal(DEAREST)}"
    return None
