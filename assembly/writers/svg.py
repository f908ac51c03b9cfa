"""SVG: a drawing for a machine that cuts and engraves, its size and its numbers in millimetres, a group for each layer.

y runs down, as in every SVG. Curves stay curves. Every file of one drawing has the same page, so that they lie over one
another.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET
from xml.sax.saxutils import escape

from assembly.files.writing import misread
from assembly.letters import CAPITAL
from assembly.outline.contours import RUN, Circle, Layer, Line, Loop, Words
from assembly.text import decimal

if TYPE_CHECKING:
    from pathlib import Path

    from assembly.model.pens import Pens
    from assembly.outline.contours import Box, Contour, Drawing, Point, Shape

UNPLOTTED = False  # a machine would run all lines: what is for people has a drawing of its own

_MARGIN = 5.0  # mm round all that is drawn
_SVG = "{http://www.w3.org/2000/svg}"
_NEAR = 1e-4  # mm
_NUMBERS = re.compile(r"-?[0-9.]+")


def svg(drawing: Drawing, pens: Pens, page: Box) -> bytes:
    """Return a drawing as an SVG file.

    Parameters
    ----------
    drawing : Drawing
        What is drawn.
    pens : Pens
        How its lines look.
    page : tuple of float
        Left, bottom, right and top of what the page is to hold, mm of the drawing.
    """
    wide, high = _size(page)
    groups = "".join(_group(drawing.on(layer), layer, pens, page) for layer in _layers(drawing))
    size = f'width="{_n(wide)}mm" height="{_n(high)}mm" viewBox="0 0 {_n(wide)} {_n(high)}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size}>\n<title>{escape(drawing.title)}</title>\n'
    told = _told(drawing)
    head += f"<desc>{escape(told)}</desc>\n" if told else ""
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{head}{groups}</svg>\n'.encode()


def _layers(drawing: Drawing) -> tuple[Layer, ...]:
    """Return the layers that are drawn: those that a machine runs, or, where it runs none, what is for people."""
    return tuple(filter(drawing.on, RUN)) or (Layer.REFERENCE,)


def _told(drawing: Drawing) -> str:
    """Return the words of what is not drawn, a line each, for who reads the file."""
    beside = () if Layer.REFERENCE in _layers(drawing) else drawing.on(Layer.REFERENCE)
    return "\n".join(contour.shape.text for contour in beside if isinstance(contour.shape, Words))


def _size(page: Box) -> Point:
    left, bottom, right, top = page
    return right - left + 2 * _MARGIN, top - bottom + 2 * _MARGIN


def _at(point: Point, page: Box) -> Point:
    """Return where a place of the drawing is on the page, from its upper left corner, y down."""
    return point[0] - page[0] + _MARGIN, page[3] + _MARGIN - point[1]


def _n(number: float) -> str:
    """Return a number to a ten-thousandth of a millimetre; none is minus nothing."""
    return f"{round(number, 4) + 0.0:.4f}"


def _group(contours: tuple[Contour, ...], layer: Layer, pens: Pens, page: Box) -> str:
    if not contours:
        return ""
    pen = pens.of(layer)
    drawn = "\n".join(_element(contour, page, pen.colour) for contour in contours)
    return f'<g id="{layer}" fill="none" stroke="{pen.colour}" stroke-width="{decimal(pen.width)}">\n{drawn}\n</g>\n'


def _element(contour: Contour, page: Box, colour: str) -> str:
    shape, title = contour.shape, f"<title>{escape(contour.name)}</title>"
    if isinstance(shape, Circle):
        x, y = map(_n, _at(shape.centre, page))
        return f'<circle cx="{x}" cy="{y}" r="{_n(shape.radius)}">{title}</circle>'
    if isinstance(shape, Words):
        x, y = map(_n, _at(shape.place, page))
        letters = f'font-family="DejaVu Sans, sans-serif" font-size="{_n(shape.height / CAPITAL)}"'
        return f'<text x="{x}" y="{y}" {letters} fill="{colour}" stroke="none">{escape(shape.text)}</text>'
    start, pieces, end = _path(shape)
    drawn = " ".join(
        f"{'L' if len(piece) == 1 else 'Q'} {' '.join(_n(c) for point in piece for c in _at(point, page))}"
        for piece in pieces
    )
    first = " ".join(map(_n, _at(start, page)))
    return f'<path d="M {first} {drawn}{end}">{title}</path>'


def _path(shape: Line | Loop) -> tuple[Point, tuple[tuple[Point, ...], ...], str]:
    """Return where a path starts, its pieces, and what closes it."""
    return (shape.start, ((shape.end,),), "") if isinstance(shape, Line) else (shape.start, shape.pieces, " Z")


def check_svg(draft: Path, drawing: Drawing, page: Box) -> None:
    """Refuse a file that is not a drawing: its size in mm, its layers, and each contour's kind, numbers and end.

    Raises
    ------
    ExportError
        With what it reads back as.
    """
    try:
        root = ET.parse(draft).getroot()  # noqa: S314 - written a moment ago by this module
    except ET.ParseError as error:
        raise misread(draft, f"as no SVG file ({error})") from error
    wide, high = map(_n, _size(page))
    if (root.get("width"), root.get("height"), root.get("viewBox")) != (f"{wide}mm", f"{high}mm", f"0 0 {wide} {high}"):
        raise misread(draft, "with a page of another size")
    groups = {group.get("id"): list(group) for group in root.iter(f"{_SVG}g")}
    if root.findtext(f"{_SVG}desc", "") != _told(drawing):
        raise misread(draft, "with other words beside the drawing")
    for layer in Layer:
        there, meant = groups.get(layer, []), drawing.on(layer) if layer in _layers(drawing) else ()
        if len(there) != len(meant):
            raise misread(draft, f"with other contours on layer {layer}")
        for element, contour in zip(there, meant, strict=True):
            if not _same(element, contour.shape, page):
                raise misread(draft, f"with {contour.name} of another size or place")


def _same(element: ET.Element, shape: Shape, page: Box) -> bool:
    """Tell whether an element is what a shape is: of its kind, its numbers, and closed where it is."""
    kind, meant = _numbers(shape, page)
    if kind == "path":
        drawn = element.get("d", "")
        closed, found = drawn.endswith("Z"), [float(each) for each in _NUMBERS.findall(drawn)]
    else:
        names = ("cx", "cy", "r") if kind == "circle" else ("x", "y")
        closed, found = False, [float(element.get(name, "nan")) for name in names]
    near = len(found) == len(meant) and all(abs(a - b) < _NEAR for a, b in zip(found, meant, strict=True))
    return near and element.tag == f"{_SVG}{kind}" and closed == isinstance(shape, Loop)


def _numbers(shape: Shape, page: Box) -> tuple[str, tuple[float, ...]]:
    """Return the kind of a shape's element and its numbers, on the page."""
    if isinstance(shape, Circle):
        return "circle", (*_at(shape.centre, page), shape.radius)
    if isinstance(shape, Words):
        return "text", _at(shape.place, page)
    start, pieces, _ = _path(shape)
    points = (start, *(point for piece in pieces for point in piece))
    return "path", tuple(each for point in points for each in _at(point, page))
