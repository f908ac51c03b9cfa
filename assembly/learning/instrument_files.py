"""The instruments that readings may name: the table that ships, or a file of one's own with the same columns."""

from __future__ import annotations

import csv
import io
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from assembly.errors import ConfigError, Problem
from assembly.files.writing import Meant, misread
from assembly.learning.csv_table import Line, number_in, read_lines
from assembly.learning.instruments import Instrument

if TYPE_CHECKING:
    from collections.abc import Iterable

COLUMNS = ("name", "unit", "division", "unsteadiness", "blades", "source")
UNITS = ("mm", "degrees")


def read_instruments(file: str | None = None) -> dict[str, Instrument]:
    """Return the instruments of a file by name, or of the table that ships.

    Raises
    ------
    ConfigError
        With every fault of the file.
    """
    if file is None:
        with resources.as_file(resources.files("assembly").joinpath("data", "instruments.csv")) as path:
            return _read(path, "instruments.csv")
    return _read(Path(file), file)


def instruments_file(instruments: Iterable[Instrument], option: str = "--to") -> Meant:
    """Return what a file of instruments is to hold, for `publish_each`: `read_instruments` takes it."""
    page = io.StringIO()
    sheet = csv.writer(page, lineterminator="\n")
    sheet.writerow(COLUMNS)
    kept = {each.name: each for each in instruments}
    for each in kept.values():
        division = "" if each.blades else f"{each.division:.10g}"
        unsteady = "" if each.given is None else f"{each.given:.10g}"
        blades = " ".join(f"{blade:.10g}" for blade in each.blades)
        sheet.writerow((each.name, each.unit, division, unsteady, blades, each.source))

    def check(draft: Path) -> None:
        if read_instruments(str(draft)) != kept:
            raise misread(draft, "as other instruments", option)

    return Meant(page.getvalue().encode(), check)


def _read(path: Path, name: str) -> dict[str, Instrument]:
    table = read_lines(path, COLUMNS, (), f"is empty; its first line is {','.join(COLUMNS)}")
    found: dict[str, Instrument] = {}
    faults = list(table.faults)
    for line in table.lines:
        made = _instrument(line, comma=table.comma)
        if isinstance(made, Instrument) and made.name in found:
            faults.append(Problem(where="name", line=line.number, what=f"{made.name!r} is there twice; leave one out"))
        elif isinstance(made, Instrument):
            found[made.name] = made
        else:
            faults += made
    if faults or not found:
        nothing = Problem(where="file", line=None, what="has no instrument; write a line for each")
        raise ConfigError(name, faults or [nothing])
    return found


def _instrument(line: Line, *, comma: bool) -> Instrument | list[Problem]:
    faults, cells = [], line.cells
    numbers: dict[str, list[float]] = {}
    for column in ("division", "unsteadiness", "blades"):
        numbers[column] = []
        for cell in cells[column].split():
            value = number_in(cell, comma=comma)
            if isinstance(value, str) or value < 0 or (column == "blades" and value == 0):
                what = value if isinstance(value, str) else f"got {cell}, must be over 0, or 0 where none is added"
                faults.append(Problem(where=column, line=line.number, what=what))
            else:
                numbers[column].append(value)
    if cells["unit"] not in UNITS:
        what = f"got {cells['unit']!r}, must be one of {', '.join(UNITS)}"
        faults.append(Problem(where="unit", line=line.number, what=what))
    if not cells["name"]:
        faults.append(Problem(where="name", line=line.number, what="is blank; give the instrument a name"))
    if bool(cells["division"]) == bool(cells["blades"]):
        what = "an instrument has either a division, 0 where the value is kept as it stands, or blades"
        faults.append(Problem(where="division", line=line.number, what=what))
    if faults:
        return faults
    return Instrument(
        name=cells["name"].casefold(),
        unit=cells["unit"],
        division=numbers["division"][0] if numbers["division"] else 0.0,
        given=numbers["unsteadiness"][0] if numbers["unsteadiness"] else None,
        blades=tuple(sorted(numbers["blades"])),
        source=cells["source"],
    )
