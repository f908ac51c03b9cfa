"""Pages as a PDF, set by typst with the letters that come with matplotlib: the same bytes everywhere.

What a page holds is written as typst's own lines, areas and words, each at its place, so that 100 mm are 100 mm and
words can be searched. No date goes into the file.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from assembly.errors import escaped
from assembly.letters import font_file
from assembly.letters import refuse_unknown as refuse
from viewer.sheets.page import Area, Page, Pen, Stroke, Words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from assembly.letters import Weight
    from viewer.sheets.page import Item, Point

_PENS = {  # width in mm, grey, dashes
    Pen.OUTLINE: (0.35, 0, None),
    Pen.KNIFE: (0.5, 0, None),
    Pen.PENCIL: (0.25, 0, None),
    Pen.HATCH: (0.13, 45, None),
    Pen.CENTRE: (0.18, 0, (6, 1, 1, 1)),
    Pen.FOLD: (0.25, 0, (2, 1)),
    Pen.DIMENSION: (0.18, 0, None),
    Pen.RULE: (0.15, 50, None),
    Pen.GUIDE: (0.13, 40, None),
    Pen.EDGE: (0.2, 10, None),
}
_WEIGHTS: tuple[Weight, ...] = ("Regular", "Bold")
_HEAD = """#set page(margin: 0mm)
#set text(font: "DejaVu Sans", top-edge: "baseline", bottom-edge: "baseline", lang: "en", hyphenate: false)
#let m(x, y) = curve.move((x * 1mm, y * 1mm))
#let l(x, y) = curve.line((x * 1mm, y * 1mm))
#let c(pen, ..parts) = place(top + left, curve(stroke: pen, ..parts))
#let a(pen, grey, clear, ..parts) = place(top + left, curve(stroke: pen,
  fill: luma(grey * 1%).transparentize(clear * 1%), fill-rule: "even-odd", ..parts))
#let w(x, y, em, weight, turn, letters, words) = place(top + left, dx: x * 1mm, dy: y * 1mm, rotate(turn * 1deg,
  origin: top + left, box(text(font: letters, size: em * 1mm, weight: weight, words))))
"""


def pdf(pages: Sequence[Page], title: str) -> bytes:
    """Return pages as the bytes of a PDF.

    Raises
    ------
    InputError
        If words hold a character that the letters do not have.
    """
    for page in pages:
        refuse_unknown(words.text for words in page.words)
    import typst  # noqa: PLC0415 - 80 MB, which no other command needs

    pens = "".join(f"#let {pen} = {_stroke(pen)}\n" for pen in Pen)
    head = f"#set document(title: {_quoted(title)})\n{_HEAD}{pens}"
    source = head + "#pagebreak()\n".join(_page(page) for page in pages)
    folder = str(font_file("Regular").parent)
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[folder])
    return typst.compile(
        source.encode(), font_paths=fonts, ignore_system_fonts=True, format="pdf", timestamp=0, pdf_tags=False
    )


def refuse_unknown(texts: Iterable[str]) -> None:
    """Refuse words that can't be set.

    Raises
    ------
    InputError
        If a character is none of those that the letters have.
    """
    refuse(texts, "the sheets", _WEIGHTS)


def _stroke(pen: Pen) -> str:
    width, grey, dashes = _PENS[pen]
    dashed = f", dash: ({', '.join(f'{each}mm' for each in dashes)})" if dashes else ""
    return f'(paint: luma({grey}%), thickness: {width}mm, cap: "round", join: "round"{dashed})'


def _page(page: Page) -> str:
    width, height = page.size
    drawn = "".join(_together(pen, list(items)) for pen, items in groupby(page.items, _pen_of))
    return f"#set page(width: {width}mm, height: {height}mm)\n{drawn}"


def _pen_of(item: Item) -> Pen | None:
    return item.pen if isinstance(item, Stroke) else None


def _together(pen: Pen | None, items: list[Item]) -> str:
    """Return items that follow one another: strokes of one pen as one curve."""
    if pen is None:
        return "".join(_area(item) if isinstance(item, Area) else _words(item) for item in items)  # type: ignore[arg-type]
    return f"#c({pen}, {', '.join(_path(item.points) for item in items if isinstance(item, Stroke))})\n"


def _path(points: Sequence[Point]) -> str:
    return ", ".join(f"{'l' if number else 'm'}({x:.5f}, {y:.5f})" for number, (x, y) in enumerate(points))


def _area(area: Area) -> str:
    loops = ", ".join(f"{_path(loop)}, curve.close()" for loop in area.loops)
    return f"#a({area.pen or 'none'}, {100 * area.fill:.0f}, {100 * (1 - area.opacity):.0f}, {loops})\n"


def _words(words: Words) -> str:
    (x, y), weight = words.start, "400" if words.weight == "Regular" else "700"
    turn = -90 if words.turned else 0
    letters = '"DejaVu Sans Mono"' if words.even else '"DejaVu Sans"'
    said = _quoted(escaped(words.text))
    return f"#w({x:.4f}, {y:.4f}, {words.em:.3f}, {weight}, {turn}, {letters}, {said})\n"


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
