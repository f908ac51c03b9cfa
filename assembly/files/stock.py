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

from assembly.data.tables import INCH
from assembly.errors import ConfigError, Problem
from assembly.files.number_words import number_meant
from assembly.files.shipped import configs_folder
from assembly.files.toml_source import read_table
from assembly.model.workshop import Record
from assembly.text import decimal, mm

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


THINNEST, THICKEST = 3.0, 60.0  # mm, as for the walls of a design
SAME = 1e-6  # mm; nearer than this, two sections are one
MOST = 40  # sections of one file: a table of 40 by 40 already takes minutes

_EXAMPLE = 'sections = [6, 9, 12, "3/8 in"]'
_LENGTH = re.compile(r"(?:(?P<whole>\d+)[ -])?(?P<number>\d+/\d+|\d+(?:\.\d+)?)\s*(?P<unit>mm|in|inch|inches|\")?")


class Stock(Record):
    """A stock file."""

    sections: list[float | Annotated[str, Field(pattern=r"^\S.*(mm|in|inch|inches|\")$")]] = Field(
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
    file = shipped if not path.exists() and path.suffix == "" and shipped.exists() else path
    table = read_table(file, name, f"is empty; write one line, such as {_EXAMPLE}")
    faults = [Problem(where=key, line=None, what=_unknown(key, value)) for key, value in table.values.items()]
    faults = [fault for fault in faults if fault.where != "sections"]
    where, found = _listed(table.values)
    if found is None:
        what = f"must be a list of 1 to {MOST} thicknesses, such as {_EXAMPLE}"
        faults.append(Problem(where=where, line=None, what=what))
        found = []
    sizes: list[float] = []
    for number, item in enumerate(found, start=1):
        size = thickness(item)
        if isinstance(size, str):
            faults.append(Problem(where=where, line=None, what=f"item {number}: {size}"))
        else:
            sizes.append(size)
    faults += _twice(where, found, sizes) if len(sizes) == len(found) else []
    if faults:
        raise ConfigError(name, table.placed(faults))
    return tuple(sorted(sizes))


def _listed(values: Mapping[str, object]) -> tuple[str, list[object] | None]:
    """Return key and list of sections, also where it stands in a table of its own; None for what is no such list."""
    inside = {f"{key}.sections": value for key, value in values.items() if isinstance(value, dict)}
    where, inner = next(((key, each) for key, each in inside.items() if "sections" in each), ("sections", values))
    found = inner.get("sections")
    return where, found if isinstance(found, list) and 1 <= len(found) <= MOST else None


def _unknown(key: str, value: object) -> str:
    if isinstance(value, dict):
        return f"unknown table; a stock file has one key, sections: delete the line [{key}]"
    return "unknown key; a stock file has one key, sections"


def thickness(item: object) -> float | str:
    """Return one section's thickness in mm, or what is wrong with it as a sentence."""
    if isinstance(item, bool) or not isinstance(item, (int, float, str)):
        return f'got {item!r}, must be a thickness in mm, or text with its unit such as "3/8 in"'
    size = millimetres(item) if isinstance(item, str) else float(item)
    if isinstance(size, str):
        return size
    if not THINNEST <= size <= THICKEST:
        inches = not isinstance(item, str) and THINNEST <= size * INCH <= THICKEST
        hint = f'; for inches write "{decimal(size)} in"' if inches else ""
        return f"got {decimal(size)} mm, must be {decimal(THINNEST)} to {decimal(THICKEST)} mm{hint}"
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


def _twice(where: str, items: Sequence[object], sizes: Sequence[float]) -> list[Problem]:
    """Return a fault for each item that is as thick as an earlier one, named beside the first that is."""
    found = []
    for later, size in enumerate(sizes):
        first = next(at for at, other in enumerate(sizes) if abs(size - other) < SAME)
        if first < later:
            what = f"{items[first]!r} (item {first + 1}) and {items[later]!r} are both {mm(size)}; leave one out"
            found.append(Problem(where=where, line=None, what=f"item {later + 1}: {what}"))
    return found
