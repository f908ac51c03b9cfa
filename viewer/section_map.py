"""The map of sections as a picture: thickness of lapped walls against plain walls, each pair by tint and symbol.

The tints are of one hue and differ in lightness, and every pair bears its symbol in ink, so a grey copy says the same.
Under the symbol stands what decides, in a word or two of `assembly/data/sound_limits.csv`.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assembly.errors import ExportError
from assembly.shop_rules import told
from assembly.soundness.section import CAUTIONS
from assembly.soundness.verdict import sound_limits
from viewer.tints import GROUNDS, INK, PAPER

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from assembly.soundness.pairs import Cell
    from assembly.soundness.verdict import Level
    from viewer.tints import Tint

SYMBOLS: dict[Level, str] = {"sound": "o", "with care": "^", "not sound": "x"}
TINTS: dict[Level, Tint] = {
    "sound": GROUNDS["closed"],
    "with care": GROUNDS["usable"],
    "not sound": GROUNDS["open"],
}
_MARKS: dict[Level, str] = {"sound": "o", "with care": "^", "not sound": "x"}
_HATCH = "////"  # a pair of which no box can be made
_INCHES, _DPI = 7.5, 150
_SYMBOL, _ROOM = 12.0, 220.0  # points: a symbol's size, and half the room that a row of them has
_WORDS_FIT = 12  # pairs a side up to which a word fits under the symbol


def section_map(cells: Sequence[Cell], title: str, present: tuple[float, float] | None = None) -> Figure:
    """Return the map as a figure.

    Parameters
    ----------
    cells : sequence of Cell
        Every pair.
    title : str
        What stands over it.
    present : (float, float), optional
        Lapped and plain thickness of the present section, mm; outlined if it is one of the pairs.
    """
    from matplotlib.figure import Figure  # noqa: PLC0415 - only the map needs it

    lapped = list(dict.fromkeys(cell.lapped for cell in cells))
    plain = list(dict.fromkeys(cell.plain for cell in cells))
    figure = Figure(figsize=(_INCHES, _INCHES + 1.3), dpi=_DPI, layout="constrained", facecolor=PAPER)
    axes = figure.add_subplot()
    most = max(len(lapped), len(plain))
    words = most <= _WORDS_FIT
    for cell in cells:
        at = (lapped.index(cell.lapped), plain.index(cell.plain))
        _draw(axes, cell, at, words=words, size=min(_SYMBOL, _ROOM / most))
        if _same(cell, present):
            _outline(axes, at)
    axes.set_xlim(-0.5, len(lapped) - 0.5)
    axes.set_ylim(-0.5, len(plain) - 0.5)
    axes.set_xticks(range(len(lapped)), [told(round(size, 2)) for size in lapped])
    axes.set_yticks(range(len(plain)), [told(round(size, 2)) for size in plain])
    axes.set_xlabel("thickness of the lapped walls, mm")
    axes.set_ylabel("thickness of the plain walls, mm")
    axes.set_aspect("equal")
    axes.tick_params(length=0, labelsize=min(10.0, _ROOM / most))
    axes.tick_params(axis="x", rotation=90 if most > _WORDS_FIT else 0)
    axes.set_title(title, fontsize=11)
    told_below = ("Under each symbol: what decides.",) if words else ()
    _key(figure, (*told_below, *CAUTIONS), present=any(_same(cell, present) for cell in cells))
    return figure


def _same(cell: Cell, present: tuple[float, float] | None) -> bool:
    return present is not None and abs(cell.lapped - present[0]) + abs(cell.plain - present[1]) < 1e-6


def _draw(axes: Axes, cell: Cell, at: tuple[int, int], *, words: bool, size: float) -> None:
    from matplotlib.patches import Rectangle  # noqa: PLC0415 - only the map needs it

    verdict = cell.verdict
    tint, hatch = (TINTS[verdict.verdict], None) if verdict else (PAPER, _HATCH)
    x, y = at
    axes.add_patch(Rectangle((x - 0.5, y - 0.5), 1, 1, facecolor=tint, edgecolor=INK, linewidth=0.6, hatch=hatch))
    if verdict is None:
        return
    deciding = verdict.deciding
    word = sound_limits()[deciding.row].short if words and deciding.level != "sound" else ""
    mark = _MARKS[verdict.verdict]
    rise = 0.1 if word else 0.0
    axes.plot(x, y + rise, marker=mark, color=INK, markersize=size, markerfacecolor="none", markeredgewidth=1.4)
    if word:
        axes.text(x, y - 0.3, word, color=INK, fontsize=8, ha="center", va="center")


def _outline(axes: Axes, at: tuple[int, int]) -> None:
    """Outline the present section's pair."""
    from matplotlib.patches import Rectangle  # noqa: PLC0415 - only the map needs it

    low = (at[0] - 0.46, at[1] - 0.46)
    axes.add_patch(Rectangle(low, 0.92, 0.92, fill=False, edgecolor=INK, linewidth=2.6))


def _key(figure: Figure, words: Sequence[str], *, present: bool) -> None:
    from matplotlib.legend_handler import HandlerTuple  # noqa: PLC0415 - only the map needs it
    from matplotlib.lines import Line2D  # noqa: PLC0415 - only the map needs it
    from matplotlib.patches import Patch  # noqa: PLC0415 - only the map needs it

    handles: list[Any] = [  # a tint with its symbol is a pair, which matplotlib's own types leave out
        (
            Patch(facecolor=TINTS[level], edgecolor=INK, linewidth=0.6),
            Line2D([], [], linestyle="none", marker=mark, color=INK, markerfacecolor="none", markersize=8),
        )
        for level, mark in _MARKS.items()
    ]
    handles.append(Patch(facecolor=PAPER, edgecolor=INK, hatch=_HATCH))
    labels = [*_MARKS, "no such box"]
    if present:
        handles.append(Patch(facecolor=PAPER, edgecolor=INK, linewidth=2.6))
        labels.append("present section")
    figure.legend(
        handles,
        labels,
        loc="outside lower center",
        ncols=5,
        frameon=False,
        fontsize=9,
        handleheight=1.6,
        handlelength=2.4,
        handler_map={tuple: HandlerTuple(ndivide=1, pad=0)},
        title="\n".join(words),
        title_fontsize=8,
    )


def write_map(figure: Figure, path: Path) -> None:
    """Write the map as a PNG file; the file appears whole or not at all.

    Raises
    ------
    ExportError
        If the file can't be written.
    """
    made: Path | None = None
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.stem}.", suffix=".png")
        os.close(handle)
        made = Path(name)
        figure.savefig(made, format="png", metadata={"Software": None})
        made.chmod(0o644)
        made.replace(path)
    except OSError as error:
        msg = f"{path}: can't be written ({error.strerror}); choose another folder with --to"
        raise ExportError(msg) from None
    finally:
        if made is not None:
            made.unlink(missing_ok=True)
