"""The map of sections as a picture: lapped walls downwards and plain walls across, as in the table, by tint and symbol.

The tints are of one hue and differ in lightness, and every pair bears its symbol in ink, so a grey copy says the same.
Beside the symbol stands how many boxes of a class are good, under it what decides, in a word or two of
`assembly/data/sound_limits.csv`. What the words mean stands below; the legend names only what is drawn.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

from assembly.section.verdict import sound_limits
from assembly.text import decimal
from viewer.reports.section.short_answer import NO_STRENGTH, good_boxes
from viewer.scene.tints import GROUNDS, INK, PAPER

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from assembly.section.pairs import Cell
    from assembly.section.verdict import Soundness
    from viewer.scene.tints import Tint

SYMBOLS: dict[Soundness, str] = {"sound": "o", "with care": "!", "does not fit": "<", "not sound": "x"}
TINTS: dict[Soundness, Tint] = {
    "sound": GROUNDS["closed"],
    "with care": GROUNDS["usable"],
    "does not fit": GROUNDS["open"],
    "not sound": GROUNDS["open"],
}
NO_BOX = "no such box"
REFUSED = "refused"  # the map's word for a pair that `check` refuses
REFUSED_MEANS = "lapwright check refuses it: a rule is broken or errors are too large to predict"
_HATCH = "////"  # a pair of which no box can be made
_INCHES, _DPI = 7.5, 150
_SYMBOL, _WORD, _TICK = 13.0, 8.0, 10.0  # points, at the most
_ROOM = 430.0  # points that all pairs of a side share
_LETTER, _BOLD = 0.6, 0.7  # width of a letter over its height, and of a bold one
_WORDS_FIT = 12  # pairs a side up to which a word fits under the symbol
_FOLD = 100  # letters in a line below the map
_SAME = 1e-6  # mm


def section_map(cells: Sequence[Cell], title: str, makers: int, present: tuple[float, float] | None = None) -> Figure:
    """Return the map as a figure.

    Parameters
    ----------
    cells : sequence of Cell
        Every pair.
    title : str
        What stands over it.
    makers : int
        Size of the class whose good boxes are given.
    present : (float, float), optional
        Lapped and plain thickness of the present section, mm; outlined if it is one of the pairs.
    """
    from matplotlib.figure import Figure  # noqa: PLC0415 - only the map needs it

    lapped = list(dict.fromkeys(cell.lapped for cell in cells))
    plain = list(dict.fromkeys(cell.plain for cell in cells))
    figure = Figure(figsize=(_INCHES, _INCHES + 1.9), dpi=_DPI, layout="constrained", facecolor=PAPER)
    axes = figure.add_subplot()
    room = _ROOM / max(len(lapped), len(plain))
    words = max(len(lapped), len(plain)) <= _WORDS_FIT
    for cell in cells:
        at = (plain.index(cell.plain), lapped.index(cell.lapped))
        _draw(axes, at, cell, (cell_text(cell, makers), word_of(cell) if words else ""), room)
        if same_pair(cell, present):
            _outline(axes, at)
    _sides(axes, lapped, plain, room)
    figure.suptitle("\n".join(textwrap.wrap(title, _FOLD - 20)), fontsize=11)
    _key(figure, cells, _below(cells, makers, words=words), present=any(same_pair(cell, present) for cell in cells))
    return figure


def same_pair(cell: Cell, present: tuple[float, float] | None) -> bool:
    """Return whether a pair is the present section's."""
    return present is not None and abs(cell.lapped - present[0]) + abs(cell.plain - present[1]) < _SAME


def cell_text(cell: Cell, makers: int) -> str:
    """Return a pair's symbol and good boxes of a class, no figure where `check` refuses it; nothing for no such box."""
    if cell.verdict is None:
        return ""
    if cell.pass_share is None:
        return SYMBOLS[cell.verdict.verdict]
    return f"{SYMBOLS[cell.verdict.verdict]} {good_boxes(cell.pass_share.value, makers)}"


def word_of(cell: Cell) -> str:
    """Return the word or two for what decides a pair that is not sound."""
    if cell.verdict is None or cell.verdict.deciding.level == "sound":
        return ""
    return REFUSED if cell.refused else sound_limits()[cell.verdict.deciding.row].short


def _draw(axes: Axes, at: tuple[int, int], cell: Cell, texts: tuple[str, str], room: float) -> None:
    from matplotlib.patches import Rectangle  # noqa: PLC0415 - only the map needs it

    tint, hatch = (TINTS[cell.verdict.verdict], None) if cell.verdict else (PAPER, _HATCH)
    x, y = at
    axes.add_patch(Rectangle((x - 0.5, y - 0.5), 1, 1, facecolor=tint, edgecolor=INK, linewidth=0.6, hatch=hatch))
    text, word = texts
    if text:
        size = min(_SYMBOL, room / (_BOLD * len(text)))
        rise = 0.12 if word else 0.0
        axes.text(x, y - rise, text, color=INK, fontsize=size, weight="bold", ha="center", va="center")
    if word:
        axes.text(x, y + 0.25, word, color=INK, fontsize=min(_WORD, room / (_LETTER * 10)), ha="center", va="center")


def _sides(axes: Axes, lapped: Sequence[float], plain: Sequence[float], room: float) -> None:
    """Mark the sides with the thicknesses: the thinnest lapped wall at the top, as in the table."""
    axes.set_xlim(-0.5, len(plain) - 0.5)
    axes.set_ylim(len(lapped) - 0.5, -0.5)
    axes.set_xticks(range(len(plain)), [decimal(round(size, 2)) for size in plain])
    axes.set_yticks(range(len(lapped)), [decimal(round(size, 2)) for size in lapped])
    axes.set_xlabel("thickness of the plain walls, mm")
    axes.set_ylabel("thickness of the lapped walls, mm")
    axes.xaxis.tick_top()
    axes.xaxis.set_label_position("top")
    axes.set_aspect("equal")
    axes.tick_params(length=0, labelsize=min(_TICK, room / 2))
    axes.tick_params(axis="x", rotation=90 if len(plain) > _WORDS_FIT else 0)


def _outline(axes: Axes, at: tuple[int, int]) -> None:
    """Outline the present section's pair."""
    from matplotlib.patches import Rectangle  # noqa: PLC0415 - only the map needs it

    low = (at[0] - 0.46, at[1] - 0.46)
    axes.add_patch(Rectangle(low, 0.92, 0.92, fill=False, edgecolor=INK, linewidth=2.6))


def _below(cells: Sequence[Cell], makers: int, *, words: bool) -> list[str]:
    """Return what stands below the map: what the figures are, what each word drawn means, and the cautions."""
    meant: dict[str, list[str]] = {}
    for cell in cells if words else ():
        word = word_of(cell)
        if word and cell.verdict:
            limit = sound_limits()[cell.verdict.deciding.row]
            titles = meant.setdefault(word, [])
            title = REFUSED_MEANS if cell.refused else limit.title
            titles += [title] if title not in titles else []
    explained = [f"{word}: {' or '.join(titles)}" for word, titles in meant.items()]
    lines = [f"Beside each symbol: good boxes of a class of {makers}.{' Under it: what decides.' if words else ''}"]
    lines += textwrap.wrap("; ".join(explained), _FOLD)
    return [*lines, *textwrap.wrap(NO_STRENGTH, _FOLD)]


def _key(figure: Figure, cells: Sequence[Cell], words: Sequence[str], *, present: bool) -> None:
    from matplotlib.legend_handler import HandlerTuple  # noqa: PLC0415 - only the map needs it
    from matplotlib.lines import Line2D  # noqa: PLC0415 - only the map needs it
    from matplotlib.patches import Patch  # noqa: PLC0415 - only the map needs it

    there = {cell.verdict.verdict for cell in cells if cell.verdict}
    drawn = [level for level in SYMBOLS if level in there]
    handles: list[Any] = [  # a tint with its symbol is a pair, which matplotlib's own types leave out
        (
            Patch(facecolor=TINTS[level], edgecolor=INK, linewidth=0.6),
            Line2D([], [], linestyle="none", marker=rf"$\mathbf{{{SYMBOLS[level]}}}$", color=INK, markersize=8),
        )
        for level in drawn
    ]
    labels: list[str] = list(drawn)
    if any(cell.verdict is None for cell in cells):
        handles.append(Patch(facecolor=PAPER, edgecolor=INK, hatch=_HATCH))
        labels.append(NO_BOX)
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
