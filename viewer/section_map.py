"""The map of sections as a picture: thickness of lapped walls against plain walls, each pair by tint and symbol.

The tints are of one hue and differ in lightness, and every pair bears its symbol in ink, so a grey copy says the same.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from assembly.errors import ExportError
from assembly.shop_rules import told
from viewer.tints import GROUNDS, INK, PAPER

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from assembly.soundness.section import Cell
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
    figure = Figure(figsize=(_INCHES, _INCHES + 0.6), dpi=_DPI, layout="constrained", facecolor=PAPER)
    axes = figure.add_subplot()
    for cell in cells:
        _draw(axes, cell, lapped.index(cell.lapped), plain.index(cell.plain), outlined=_same(cell, present))
    axes.set_xlim(-0.5, len(lapped) - 0.5)
    axes.set_ylim(-0.5, len(plain) - 0.5)
    axes.set_xticks(range(len(lapped)), [told(round(size, 2)) for size in lapped])
    axes.set_yticks(range(len(plain)), [told(round(size, 2)) for size in plain])
    axes.set_xlabel("thickness of the lapped walls, mm")
    axes.set_ylabel("thickness of the plain walls, mm")
    axes.set_aspect("equal")
    axes.tick_params(length=0)
    axes.set_title(title, fontsize=11)
    _key(figure)
    return figure


def _same(cell: Cell, present: tuple[float, float] | None) -> bool:
    return present is not None and abs(cell.lapped - present[0]) + abs(cell.plain - present[1]) < 1e-6


def _draw(axes: Axes, cell: Cell, x: int, y: int, *, outlined: bool) -> None:
    from matplotlib.patches import Rectangle  # noqa: PLC0415 - only the map needs it

    level = cell.verdict.verdict if cell.verdict else None
    tint = TINTS[level] if level else PAPER
    hatch = None if level else _HATCH
    axes.add_patch(Rectangle((x - 0.5, y - 0.5), 1, 1, facecolor=tint, edgecolor=INK, linewidth=0.6, hatch=hatch))
    if level:
        axes.plot(x, y, marker=_MARKS[level], color=INK, markersize=13, markerfacecolor="none", markeredgewidth=1.4)
    if outlined:
        axes.add_patch(Rectangle((x - 0.44, y - 0.44), 0.88, 0.88, fill=False, edgecolor=INK, linewidth=2.6))


def _key(figure: Figure) -> None:
    from matplotlib.lines import Line2D  # noqa: PLC0415 - only the map needs it
    from matplotlib.patches import Patch  # noqa: PLC0415 - only the map needs it

    handles: list[Line2D | Patch] = [
        Line2D([], [], linestyle="none", marker=mark, color=INK, markerfacecolor="none", markersize=10, label=level)
        for level, mark in _MARKS.items()
    ]
    handles.append(Patch(facecolor=PAPER, edgecolor=INK, hatch=_HATCH, label="no such box"))
    handles.append(Patch(facecolor=PAPER, edgecolor=INK, linewidth=2.6, label="present section"))
    figure.legend(handles=handles, loc="outside lower center", ncols=5, frameon=False, fontsize=9)


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
