"""Rows as CSV that a spreadsheet opens: text is never taken for a formula, whoever wrote it into a design."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    Cell = str | float | None

_FORMULA = ("=", "+", "-", "@")  # with which a spreadsheet takes a cell for a formula: common practice, no source


def csv_text(rows: Iterable[Sequence[Cell]]) -> str:
    r"""Return rows as CSV, a line each; text that begins like a formula has an apostrophe in front.

    Examples
    --------
    >>> csv_text([("=1+1", "3 mm", -2, None)])
    "'=1+1,3 mm,-2,\n"
    """
    page = io.StringIO()
    csv.writer(page, lineterminator="\n").writerows([_safe(cell) for cell in row] for row in rows)
    return page.getvalue()


def _safe(cell: Cell) -> Cell:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA) else cell
