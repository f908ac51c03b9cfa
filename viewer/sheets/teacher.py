"""The teacher's own pages: what `lapwright check` says of the box, as it says it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from viewer.sheets.frame import Head, content
from viewer.sheets.page import LEADING, Words

if TYPE_CHECKING:
    from viewer.sheets.page import Item, Point

_EM = 2.75  # 100 letters are 166 mm long


def teacher_pages(text: str, name: str, paper: Point) -> tuple[tuple[Head, Point, tuple[Item, ...]], ...]:
    """Return text in letters of one width: cut sizes, forecast, where to look and what would help."""
    left, top, _, bottom = content(paper)
    rows = int((bottom - top) / (LEADING * _EM))
    lines = text.splitlines()
    head = Head(
        title=f"{name}: the teacher's page", line="Cut sizes, forecast, where to look, what would help", maker=False
    )
    pages = []
    for first in range(0, len(lines), rows):
        items = tuple(
            Words(text=line, place=(left, top + LEADING * _EM * (row + 1)), em=_EM, even=True)
            for row, line in enumerate(lines[first : first + rows])
            if line
        )
        pages.append((head, paper, items))
    return tuple(pages)
