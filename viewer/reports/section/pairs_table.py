"""`lapwright section --stock`: every pair of sections as a table, and what decides how many of them.

cell : symbol of the verdict, and how many boxes of a class keep every limit; the present section's stands in brackets
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.section.section import CAUTIONS
from assembly.section.verdict import sound_limits
from assembly.text import decimal, mm
from viewer.reports.check_report import WIDTH, folded, table
from viewer.reports.section.pairs_map import NO_BOX, REFUSED, REFUSED_MEANS, SYMBOLS, cell_text, same_pair
from viewer.reports.section.short_answer import NO_STRENGTH, UNPROVEN, good_boxes

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from assembly.model.design import Design
    from assembly.section.pairs import Cell, Table
    from assembly.section.variants import Keep

IMPOSSIBLE = "-"  # a pair of which no box can be made
NOT_REACHED = "?"  # a pair that Ctrl-C left out
_CORNER = "lapped \\ plain, mm"
_HEAD = len(_CORNER) + 1
_NONE_SO = "no such box: laps or walls would meet, or a wall is too thin to work"
_RUN_ONE = (
    "For the reasons, the sizes and the nearest cure of one pair: lapwright section with --lapped and --plain. With "
    "care: no row fails, but one at least wants care. Rows of EN 1995-1-1, a code for structures, change no verdict."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What a table of pairs answers, as its title has it."""

    tried: Design  # of any pair, as it was tried
    present: Design
    keep: Keep
    stock: str  # name of the stock file

    @property
    def title(self) -> str:
        """Box, timber, height, what is kept, and whose sizes."""
        kept = "inside kept (--keep inside)" if self.keep == "inside" else "outside size kept"
        design = self.tried
        height = f"walls {mm(design.box.height)} high"
        return f"{design.name}, {design.timber.name}, {height}, {kept}, sizes of stock file {self.stock}"

    @property
    def outlined(self) -> tuple[float, float] | None:
        """Lapped and plain thickness of the present section, where its timber and height are the ones tried."""
        now = self.present
        same = self.tried.timber == now.timber and self.tried.box == now.box
        return (now.timber.lapped, now.timber.plain) if same else None


def table_text(asked: Question, stock: Sequence[float], found: Table) -> str:
    """Return the table of pairs: lapped walls downwards, plain walls across; symbols as on the map."""
    at = {(cell.lapped, cell.plain): _cell(cell, asked) for cell in found.cells}
    widest = max(map(len, (*at.values(), *map(decimal, stock))))
    fits = max((WIDTH - _HEAD) // (widest + 3), 1)
    parts = [stock[start : start + fits] for start in range(0, len(stock), fits)]
    made = "\n\n".join(_part(at, stock, plains) for plains in parts)
    head = folded([f"Every pair of sections: {asked.title}", *_key(asked, found), *_present(asked, found)])
    why = folded(_whys(found.cells))
    blocks = [f"{head}\n{made}", f"What decides, and for how many pairs\n{why}", folded([_RUN_ONE, NO_STRENGTH])]
    return "\n\n".join([*blocks, "\n".join(CAUTIONS)])


def _key(asked: Question, found: Table) -> list[str]:
    """Return what the symbols and the figures mean; only those that stand in the table."""
    there = {cell.verdict.verdict for cell in found.cells if cell.verdict}
    marks = [f"{symbol} {level}" for level, symbol in SYMBOLS.items() if level in there]
    marks += [f"{IMPOSSIBLE} {NO_BOX}"] if any(cell.verdict is None for cell in found.cells) else []
    marks += [f"{NOT_REACHED} not reached"] if found.partial else []
    marks += ["[ ] present section"] if any(same_pair(cell, asked.outlined) for cell in found.cells) else []
    return [f"{', '.join(marks)}; figures: good boxes of a class of {asked.tried.makers}"]


def _present(asked: Question, found: Table) -> list[str]:
    """Return how the present section itself stands, and what caps the verdict."""
    cell, lines = found.present, []
    if cell is not None and cell.verdict is not None and cell.pass_share is not None:
        good = good_boxes(cell.pass_share.value, asked.present.makers)
        lines.append(
            f"Present section, lapped {decimal(cell.lapped)} and plain {decimal(cell.plain)}: {cell.verdict.verdict}, "
            f"{good} good boxes."
        )
    return lines if asked.present.timber.proven else [*lines, UNPROVEN]


def _part(at: Mapping[tuple[float, float], str], stock: Sequence[float], plains: Sequence[float]) -> str:
    """Return the table for as many plain walls as a page is wide."""
    lines = [(decimal(lapped), *(at.get((lapped, plain), NOT_REACHED) for plain in plains)) for lapped in stock]
    return table((_CORNER, *map(decimal, plains)), lines, words=())


def _cell(cell: Cell, asked: Question) -> str:
    """Return a pair's symbol and good boxes, in brackets where it is the present section."""
    text = cell_text(cell, asked.tried.makers) or IMPOSSIBLE
    return f"[{text}]" if same_pair(cell, asked.outlined) else text


def _whys(cells: Sequence[Cell]) -> list[str]:
    """Return what decides the pairs that are not sound, most frequent first, with the map's word for it."""
    counted: dict[str, int] = {}
    for cell in cells:
        if cell.verdict is not None and cell.verdict.deciding.level == "sound":
            continue
        row = cell.verdict.deciding if cell.verdict else None
        words = f"{row.level}: {sound_limits()[row.row].name} ({sound_limits()[row.row].short})" if row else _NONE_SO
        words = f"not sound: {REFUSED_MEANS} ({REFUSED})" if cell.refused else words
        counted[words] = counted.get(words, 0) + 1
    return [f"- {count} {words}" for words, count in sorted(counted.items(), key=lambda item: -item[1])]
