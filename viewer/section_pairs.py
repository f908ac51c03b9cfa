"""`lapwright section --stock`: every pair of sections as a table, and what decides how many of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.shop_rules import mm, told
from assembly.soundness.section import CAUTIONS
from assembly.soundness.verdict import sound_limits
from viewer.report import WIDTH, folded, table
from viewer.section_map import SYMBOLS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from assembly.design import Design
    from assembly.soundness.pairs import Cell, Table

IMPOSSIBLE = "-"  # a pair of which no box can be made
NOT_REACHED = "?"  # a pair that Ctrl-C left out
_CORNER = "lapped \\ plain, mm"
_HEAD = len(_CORNER) + 1
_NONE_SO = "no such box: laps or walls would meet, or a wall is too thin to work"
_RUN_ONE = (
    "For the reasons, the sizes and the nearest cure of one pair: lapwright section with --lapped and --plain. With "
    "care: no row fails, but one at least wants care."
)


def table_title(design: Design) -> str:
    """Return what the pairs are of: box, timber and height; `design` is any pair's, as it was tried."""
    return f"{design.name}, {design.timber.name}, walls {mm(design.box.height)} high"


def table_text(design: Design, stock: Sequence[float], found: Table) -> str:
    """Return the table of pairs: lapped walls downwards, plain walls across; symbols as on the map."""
    at = {(cell.lapped, cell.plain): cell for cell in found.cells}
    fits = max((WIDTH - _HEAD) // (max(len(told(size)) for size in stock) + 3), 1)
    parts = [stock[start : start + fits] for start in range(0, len(stock), fits)]
    marks = [f"{symbol} {level}" for level, symbol in SYMBOLS.items()]
    marks += [f"{IMPOSSIBLE} no such box"] if any(cell.verdict is None for cell in found.cells) else []
    marks += [f"{NOT_REACHED} not reached"] if found.partial else []
    made = "\n\n".join(_part(at, stock, plains) for plains in parts)
    head = f"Every pair of sections: {table_title(design)}\n{', '.join(marks)}"
    why = "\n".join(_whys(found.cells))
    blocks = [f"{head}\n{made}", f"What decides, and for how many pairs\n{why}", folded([_RUN_ONE])]
    return "\n\n".join([*blocks, "\n".join(CAUTIONS)])


def _part(at: Mapping[tuple[float, float], Cell], stock: Sequence[float], plains: Sequence[float]) -> str:
    """Return the table for as many plain walls as a page is wide."""
    lines = [(told(lapped), *(_symbol(at.get((lapped, plain))) for plain in plains)) for lapped in stock]
    return table((_CORNER, *map(told, plains)), lines, words=())


def _symbol(cell: Cell | None) -> str:
    if cell is None:
        return NOT_REACHED
    return SYMBOLS[cell.verdict.verdict] if cell.verdict else IMPOSSIBLE


def _whys(cells: Sequence[Cell]) -> list[str]:
    """Return what decides the pairs that are not sound, most frequent first."""
    counted: dict[str, int] = {}
    for cell in cells:
        if cell.verdict is not None and cell.verdict.deciding.level == "sound":
            continue
        row = cell.verdict.deciding if cell.verdict else None
        words = f"{row.level}: {sound_limits()[row.row].title}" if row else _NONE_SO
        counted[words] = counted.get(words, 0) + 1
    return [f"  {count} {words}" for words, count in sorted(counted.items(), key=lambda item: -item[1])]
