"""What a school can buy, from a TOML file; what it leaves out is as in the file that ships.

    sections = [6, 9, 12, "3/8 in"]

    [timber]
    lengths = [2400, "96 in"]

A number is millimetres. A number that can only be meant in inches, a fraction without its unit and two sizes that are
one are refused, all faults at once.
"""

from __future__ import annotations

import tomllib
from copy import deepcopy
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assembly.errors import Problem
from assembly.files.reading import record_of
from assembly.files.shipped import configs_folder
from assembly.files.toml_source import read_table
from assembly.files.written_sizes import price_fault, size_in, sizes_named
from assembly.model.on_sale import LENGTHS, MOST, SHEETS, THICKNESSES, Stock, sized
from assembly.rules.stock_rules import STOCK_RULES

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

SHIPPED = "stock"
SAME = 1e-6  # mm; nearer than this, two sizes are one

_EXAMPLE = 'sections = [6, 9, 12, "3/8 in"]'


@dataclass(frozen=True, slots=True, kw_only=True)
class _List:
    """A list of sizes in a file: what each is, in how many numbers, between which ends, and how such a list looks."""

    what: str
    plural: str
    allowed: tuple[float, float]
    example: str
    numbers: int = 1


_SECTIONS = _List(what="thickness", plural="thicknesses", allowed=THICKNESSES, example=_EXAMPLE)
_LENGTHS = _List(what="length", plural="lengths", allowed=LENGTHS, example="lengths = [1800, 2400]")
_SIZES = _List(what="size", plural="sizes", allowed=SHEETS, example="sizes = [[1220, 610], [2440, 1220]]", numbers=2)
_NAMES = {"timber": "15 x 45", "screws": "3.5 x 30", "washers": "7 x 3.2 x 0.5"}  # of prices, as an example of each
_SHEET_NAME = "4 x 1220 x 610"


def read_stock(name: str) -> tuple[float, ...]:
    """Return the thicknesses of a stock file, mm, thinnest first; as in `read_on_sale`."""
    return tuple(sorted(read_on_sale(name).sections))


def read_on_sale(name: str | None = None) -> Stock:
    """Return what a stock file says, laid over the one that ships; that one where none is named.

    Parameters
    ----------
    name : str, optional
        Path of the file, or the bare name of one that ships.

    Raises
    ------
    ConfigError
        With every fault of the file.
    """
    shipped = tomllib.loads((configs_folder() / f"{SHIPPED}.toml").read_text(encoding="utf-8"))
    below, _ = _in_mm(shipped)
    if name is None:
        return Stock.model_validate(below)
    path = Path(name)
    ships = configs_folder() / f"{path.name}.toml"
    file = ships if not path.exists() and path.suffix == "" and ships.exists() else path
    table = read_table(file, name, f"is empty; write a line that differs, such as {_EXAMPLE}")
    own, faults = _in_mm(table.values)
    return record_of(replace(table, values=own, faults=faults).laid_over(below), Stock, STOCK_RULES)


def _in_mm(values: dict[str, Any]) -> tuple[dict[str, Any], list[Problem]]:
    """Return a file's values with all sizes in mm and prices by their proper names; what is faulty is left out."""
    values, faults = deepcopy(values), list[Problem]()
    for name in [key for key, each in values.items() if key not in Stock.model_fields and _holds_sections(each)]:
        what = f"unknown table; sections stands before all tables: delete the line [{name}]"
        faults.append(Problem(where=name, line=None, what=what))
        _convert(values.pop(name), "sections", _SECTIONS, f"{name}.", faults)
    _convert(values, "sections", _SECTIONS, "", faults)
    for key, each, where in _tables(values):
        _convert(each, key, _LENGTHS if key == "lengths" else _SIZES, f"{where}.", faults)
    for where, table, example in _priced(values.get("prices")):
        _rename(where, table, example, faults)
    return values, faults


def _holds_sections(value: object) -> bool:
    return isinstance(value, dict) and "sections" in value


def _tables(values: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any], str]]:
    """Yield the key of each list of sizes within a table, the table, and where that stands."""
    if isinstance(each := values.get("timber"), dict):
        yield "lengths", each, "timber"
    if isinstance(each := values.get("sheet"), dict):
        yield "sizes", each, "sheet"
    named = values.get("sheets")
    for name, each in named.items() if isinstance(named, dict) else ():
        if isinstance(each, dict):
            yield "sizes", each, f"sheets.{name}"


def _convert(table: dict[str, Any], key: str, kind: _List, before: str, faults: list[Problem]) -> None:
    """Put the sizes of a list in mm in its place, or take it out with its faults told."""
    if key not in table:
        return
    found, where = table.pop(key), f"{before}{key}"
    if not isinstance(found, list) or not 1 <= len(found) <= MOST:
        what = f"must be a list of 1 to {MOST} {kind.plural}, such as {kind.example}"
        faults.append(Problem(where=where, line=None, what=what))
        return
    sizes = [_size(item, kind) for item in found]
    wrong = [f"item {number}: {size}" for number, size in enumerate(sizes, 1) if isinstance(size, str)]
    good = [size for size in sizes if not isinstance(size, str)]
    wrong += _twice(found, good) if not wrong else []
    faults += [Problem(where=where, line=None, what=what) for what in wrong]
    if not wrong:
        table[key] = [size if kind.numbers > 1 else size[0] for size in good]


def _size(item: object, kind: _List) -> tuple[float, ...] | str:
    """Return the sizes of an item, mm, or what is wrong with it."""
    numbers = [item] if kind.numbers == 1 else item
    if not isinstance(numbers, list) or len(numbers) != kind.numbers:
        return f"got {item!r}, must be [length, width], such as [1220, 610]"
    sizes = [size_in(each, kind.allowed, kind.what) for each in numbers]
    wrong = next((each for each in sizes if isinstance(each, str)), None)
    return wrong or tuple(map(float, sizes))


def _twice(items: Sequence[object], sizes: Sequence[tuple[float, ...]]) -> list[str]:
    """Return what is wrong with each item that is as large as an earlier one, named beside the first that is."""
    found = []
    for later, size in enumerate(sizes):
        first = next(
            at for at, other in enumerate(sizes) if all(abs(a - b) < SAME for a, b in zip(size, other, strict=True))
        )
        if first < later:
            both = f"{items[first]!r} (item {first + 1}) and {items[later]!r} are both {sized(*size)} mm"
            found.append(f"item {later + 1}: {both}; leave one out")
    return found


def _priced(prices: object) -> Iterator[tuple[str, dict[str, Any], str]]:
    """Yield each table of prices: where it stands, itself, and a name as its rows have it; "" where any will do."""
    if not isinstance(prices, dict):
        return
    for key in ("timber", "screws", "washers", "stems"):
        if isinstance(each := prices.get(key), dict):
            yield f"prices.{key}", each, _NAMES.get(key, "")
    sheets = prices.get("sheets")
    for name, each in sheets.items() if isinstance(sheets, dict) else ():
        if isinstance(each, dict):
            yield f"prices.sheets.{name}", each, _SHEET_NAME


def _rename(where: str, table: dict[str, Any], example: str, faults: list[Problem]) -> None:
    """Give the rows of a table of prices the names that an order looks for; take out what is faulty."""
    good: dict[str, Any] = {}
    for name, price in table.items():
        known = sizes_named(name, example) if example else name
        if known is None:
            what = f'is no name of a price here; write sizes in mm with an x between them, such as "{example}"'
        elif known in good:
            what = f'is priced before as "{known}"; leave one out'
        else:
            what = price_fault(price) or ""
        if what:
            faults.append(Problem(where=f"{where}.{name}", line=None, what=what))
        else:
            good[known or name] = price
    table.clear()
    table.update(good)
