"""The pens of cutting files, from a TOML file; what it leaves out is as in the one that ships."""

from __future__ import annotations

import tomllib
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING

from assembly.errors import ConfigError, Problem
from assembly.files.reading import record_of
from assembly.files.shipped import configs_folder
from assembly.files.toml_source import read_table
from assembly.model.pens import Pens

if TYPE_CHECKING:
    from typing import Any

SHIPPED = "pens"


def read_pens(name: str | None = None) -> Pens:
    """Return the pens of a file laid over those that ship; those that ship where none is named.

    Raises
    ------
    ConfigError
        With every fault of the file, or where two pens have one number.
    """
    shipped = tomllib.loads((configs_folder() / f"{SHIPPED}.toml").read_text(encoding="utf-8"))
    if name is None:
        return Pens.model_validate(shipped)
    table = read_table(Path(name), name, 'is empty; write a row that differs, such as cut = { colour = "#a8552f" }')
    source = table.laid_over(shipped)
    pens = record_of(source, Pens)
    if faults := _alike(pens, table.values):
        raise ConfigError(table.name, source.placed(faults))
    return pens


def _alike(pens: Pens, own: dict[str, Any]) -> list[Problem]:
    """Return a fault for each two pens of one number, at one that the file itself has."""
    numbers: dict[str, int | None] = {name: getattr(pens, name).number for name in Pens.model_fields}
    free = next(number for number in range(1, 256) if number not in numbers.values())
    faults = []
    for one, other in combinations(numbers, 2):
        if numbers[one] is None or numbers[one] != numbers[other]:
            continue
        at, also = (other, one) if "number" in own.get(other, {}) else (one, other)
        what = f"got {numbers[one]}, which is {also}'s too, must be a number of its own; give one of them {free}, say"
        faults.append(Problem(where=f"{at}.number", line=None, what=what))
    return faults
