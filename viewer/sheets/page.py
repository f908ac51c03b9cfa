"""A page of paper as records: strokes, areas and words, each with its place; nothing is printed here.

Millimetres on the paper, x from its left edge to the right, y from its top edge down.

pen    : how a stroke looks
em     : the size of letters, mm
anchor : which end of the words their place is
turned : words that are read from the right, as beside an upright dimension (ISO 129-1)
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from assembly.errors import InputError
from viewer.picture.lettering import width_of, wrapped

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assembly.letters import Weight

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # left, top, right, bottom
Grey = float  # 0 black to 1 white

PAPERS: dict[str, Point] = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4)}  # ISO 216; ANSI Y14.1
PLAIN, SMALL, HEAD, TITLE = 3.0, 2.6, 3.6, 5.0  # ems
LEADING = 1.28  # from one line of words to the next, ems
_ASCENT, _DESCENT = 0.76, 0.24  # ems above and under the line that letters stand on: DejaVu Sans
_EVEN = 0.602  # ems that a letter of DejaVu Sans Mono takes
_FINE = 200  # pixels to an em when words are measured


class Pen(StrEnum):
    """How a stroke looks."""

    OUTLINE = "outline"  # of the timber
    KNIFE = "knife"  # lines that a cut goes by
    PENCIL = "pencil"
    HATCH = "hatch"
    CENTRE = "centre"  # chain line
    FOLD = "fold"  # dashes
    DIMENSION = "dimension"
    RULE = "rule"  # of tables
    GUIDE = "guide"  # leaders
    EDGE = "edge"  # of parts in a view of the box


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A line through points."""

    points: tuple[Point, ...]
    pen: Pen


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """An area between outlines, holes among them."""

    loops: tuple[tuple[Point, ...], ...]
    fill: Grey
    opacity: float = 1.0
    pen: Pen | None = None  # of its outlines


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One line of words."""

    text: str
    place: Point  # on the line that the letters stand on
    em: float = PLAIN
    weight: Weight = "Regular"
    anchor: Literal["start", "middle", "end"] = "start"
    turned: bool = False
    even: bool = False  # in letters of one width, as tables of text need

    @property
    def width(self) -> float:
        """Length, mm."""
        return _EVEN * self.em * len(self.text) if self.even else long(self.text, self.em, self.weight)

    @property
    def start(self) -> Point:
        """Where the first letter begins."""
        x, y = self.place
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width
        return (x, y + back) if self.turned else (x - back, y)

    @property
    def box(self) -> Box:
        """What they take up."""
        (x, y), up, down = self.start, _ASCENT * self.em, _DESCENT * self.em
        return (x - up, y - self.width, x + down, y) if self.turned else (x, y - up, x + self.width, y + down)


Item = Stroke | Area | Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One page."""

    size: Point
    items: tuple[Item, ...]

    @property
    def words(self) -> tuple[Words, ...]:
        """All words on it."""
        return tuple(item for item in self.items if isinstance(item, Words))


def paper_size(name: str) -> Point:
    """Return the size of a paper, upright.

    Raises
    ------
    InputError
        If it is none of those known.
    """
    for known, size in PAPERS.items():
        if name.lower() == known.lower():
            return size
    msg = f"--paper: got {name!r}, must be one of {', '.join(PAPERS)}"
    raise InputError(msg)


@lru_cache(maxsize=1 << 14)
def long(text: str, em: float, weight: Weight = "Regular") -> float:
    """Return the length of words, mm."""
    return width_of(text, _FINE, weight) * em / _FINE


@lru_cache(maxsize=1 << 12)
def folded(text: str, em: float, width: float, weight: Weight = "Regular") -> tuple[str, ...]:
    """Return words in lines no longer than `width`, mm."""
    return tuple(wrapped(text, _FINE, width * _FINE / em, weight))


def rectangle(box: Box, pen: Pen) -> Stroke:
    """Return the outline of a rectangle."""
    x0, y0, x1, y1 = box
    return Stroke(points=((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)), pen=pen)


def straight(start: Point, end: Point, pen: Pen) -> Stroke:
    """Return a straight stroke."""
    return Stroke(points=(start, end), pen=pen)


def extent(items: Iterable[Item]) -> Box:
    """Return the rectangle that items take up."""
    found: list[Box] = []
    for item in items:
        if isinstance(item, Words):
            found.append(item.box)
            continue
        points = item.points if isinstance(item, Stroke) else [point for loop in item.loops for point in loop]
        xs, ys = zip(*points, strict=True)
        found.append((min(xs), min(ys), max(xs), max(ys)))
    left, top, right, bottom = zip(*found, strict=True)
    return min(left), min(top), max(right), max(bottom)


def overlap(one: Box, two: Box) -> bool:
    """Tell whether two rectangles have an area in common."""
    return one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]
