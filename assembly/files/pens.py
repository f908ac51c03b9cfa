"""The pens of cutting files, from a TOML file; what it leaves out is as in the one that ships."""

from __future__ import annotations

import tomllib
from pathlib import Path

from assembly.files.reading import record_of
from assembly.files.shipped import configs_folder
from assembly.files.toml_source import read_table
from assembly.model.pens import Pens

SHIPPED = "pens"


def read_pens(name: str | None = None) -> Pens:
    """Return the pens of a file laid over those that ship; those that ship where none is named.

    Raises
    ------
    ConfigError
        With every fault of the file.
    """
    shipped = tomllib.loads((configs_folder() / f"{SHIPPED}.toml").read_text(encoding="utf-8"))
    if name is None:
        return Pens.model_validate(shipped)
    table = read_table(Path(name), name, 'is empty; write a row that differs, such as cut = { colour = "#a8552f" }')
    return record_of(table.laid_over(shipped), Pens)
