"""Sections that a school can buy, from a TOML file: thicknesses in mm, or in inches where the unit is written.

    sections = [6, 9, 12, "3/8 in", "1 1/4 in"]

A number is millimetres. A number that can only be meant in inches, a fraction without its unit and two sections of one
thickness are refused, all faults at once.
"""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from assembly.errors import ConfigError, Problem
from assembly.shipped import configs_folder
from assembly.shop_rules import mm, told
from assembly.sources import read_table
from assembly.workshop import Record

if TYPE_CHECKING:
    from collections.abc import Sequence

INCH_MM = 25.4  # exact, by definition of the inch (1959)
THINNEST, THICKEST = 3.0, 60.0  # mm, as for the walls of a design
SAME = 1e-6  # mm; nearer than this, two sections are one
MOST = 40  # sections of one file: a table of 40 by 40 already takes minutes

_LENGTH = re.compile(r"(?:(?P<whole>\d+)[ -])?(?P<number>\d+/\d+|\d+(?:\.\d+)?)\s*(?P<unit>mm|in|inch|inches|\")?")


class Stock(Record):
    """A stock file."""

    sections: list[float | Annotated[str, Field(pattern=r"^\S.*(mm|in|inch|inches)$")]] = Field(
        min_length=1, max_length=MOST, description='thicknesses on sale: numbers are mm, inches are written "3/8 in"'
    )


def read_stock(name: str) -> tuple[float, ...]:
    """Return the thicknesses of a stock file, mm, thinnest first.

    Parameters
    ----------
    name : str
        Path of the file, or the bare name of one that ships.

    Raises
    ------
    ConfigError
        With every fault of the file.
    """
    path = Path(name)
    shipped = configs_folder() / f"{path.name}.toml"
    table = read_table(shipped if not path.exists() and path.suffix == "" and shipped.exists() else path, name)
    faults = [
        Problem(where=key, line=None, what="unknown key; a stock file has one key, sections")
        for key in table.values
        if key != "sections"
    ]
    found = table.values.get("sections")
    if not isinstance(found, list) or not 1 <= len(found) <= MOST:
        what = f'must be a list of 1 to {MOST} thicknesses, such as [6, 9, 12, "3/8 in"]'
        faults.append(Problem(where="sections", line=None, what=what))
        found = []
    sizes: list[float] = []
    for item in found:
        size = thickness(item)
        if isinstance(size, str):
            faults.append(Problem(where="sections", line=None, what=size))
        else:
            sizes.append(size)
    faults += _twice(found, sizes) if len(sizes) == len(found) else []
    if faults:
        raise ConfigError(name, table.placed(faults))
    return tuple(sorted(sizes))


def thickness(item: object) -> float | str:
    """Return one section's thickness in mm, or what is wrong with it as a sentence."""
    if isinstance(item, bool) or not isinstance(item, (int, float, str)):
        return f'got {item!r}, must be a thickness in mm, or text with its unit such as "3/8 in"'
    size = millimetres(item) if isinstance(item, str) else float(item)
    if isinstance(size, str):
        return size
    if not THINNEST <= size <= THICKEST:
        inches = not isinstance(item, str) and THINNEST <= size * INCH_MM <= THICKEST
        hint = f'; for inches write "{told(size)} in"' if inches else ""
        return f"got {told(size)} mm, must be {told(THINNEST)} to {told(THICKEST)} mm{hint}"
    return size


def millimetres(text: str) -> float | str:
    """Return a size written with its unit in mm, or what is wrong as a sentence."""
    found = _LENGTH.fullmatch(text.strip())
    if found is None:
        return f'got {text!r}, must be a size with its unit, such as "12 mm", "3/8 in" or "1 1/4 in"'
    unit, number = found["unit"], found["number"]
    if unit in {None, '"'}:
        return f'got {text!r}, an inch size is written with its unit: "{text.strip().rstrip(chr(34)).strip()} in"'
    if number.endswith("/0") or (found["whole"] and "/" not in number):
        return f'got {text!r}, which is no number; write "1 1/4 in" or "32 mm"'
    size = float(Fraction(number) + int(found["whole"] or 0))
    return size if unit == "mm" else size * INCH_MM


def _twice(items: Sequence[object], sizes: Sequence[float]) -> list[Problem]:
    return [
        Problem(
            where="sections",
            line=None,
            what=f"{items[i]!r} and {items[j]!r} are both {mm(sizes[i])}; leave one of them out",
        )
        for j in range(len(sizes))
        for i in range(j)
        if abs(sizes[i] - sizes[j]) < SAME
    ]
