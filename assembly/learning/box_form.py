"""A form for finished boxes: a line for each place of each box that `lapwright outcome` takes, and how each is read."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from assembly.data.tables import rows
from assembly.learning.boxes import AT, COLUMNS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from assembly.learning.instruments import Instrument

TABLE = "box_readings"


def box_form_text(makers: int, instruments: Mapping[str, Instrument]) -> str:
    """Return the form as CSV: a line for each place of each maker's box, nothing measured yet."""
    page = io.StringIO()
    sheet = csv.writer(page, lineterminator="\n")
    sheet.writerow(COLUMNS)
    for maker in range(1, makers + 1):
        for row in rows(TABLE):
            for at in AT[row["outcome"]]:
                sheet.writerow([1, maker, row["outcome"], at, "", _instrument(row["instrument"], instruments)])
    return page.getvalue()


def box_lines(form: str, instruments: Mapping[str, Instrument]) -> list[str]:
    """Return what the page says of finished boxes: `form` is the form's name."""
    lines = [
        "# How to measure finished boxes",
        "",
        f"Before base and lid are on. Write into {form}, as the instrument shows it; leave blank what nobody read.",
        "",
    ]
    for row in rows(TABLE):
        at = ", ".join(AT[row["outcome"]])
        lines += [
            f"## {row['outcome']}{f', at {at}' if at else ''}",
            "",
            f"With: {_instrument(row['instrument'], instruments)}.",
            "",
            row["how"],
            "",
        ]
    return lines


def _instrument(suited: str, instruments: Mapping[str, Instrument]) -> str:
    """Return the instrument that suits, of those that there are."""
    fitting = [name for name, each in instruments.items() if each.unit == "mm"]
    return suited if suited in instruments else next(iter(fitting), "")
