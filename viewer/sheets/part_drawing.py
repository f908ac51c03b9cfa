"""A part's views on paper: set out at a scale, with dimensions, holes, and the numbers of the steps that draw lines.

balloon : the number of a step in a ring, on a leader to a line that the step draws
blank   : a part as it is handed out, with its waste
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from string import ascii_lowercase
from typing import TYPE_CHECKING

from viewer.sheets.dimensioned import Drawn, Spanned, Strip, deep, dimensioned
from viewer.sheets.page import PLAIN, SMALL, Area, Pen, Stroke, Words, extent, overlap, rectangle, straight

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from assembly.planning.dimensions import Dimension
    from assembly.planning.marks import LineKind
    from viewer.sheets.page import Box, Item, Point
    from viewer.sheets.views import Flat, PartViews, SeenHole, View

RADIUS = 2.5  # of a balloon, mm
_PITCH = 2 * RADIUS + 0.8  # of balloons in a row
_TITLE, _BALLOONS, _APART = 5.0, 9.0, 4.0  # mm over a view: its title, its balloons; and under the view before
_BESIDE = 8.0  # between the main view and the one at its right
_CHORDS = 48  # of a circle
_TURN = math.tau / _CHORDS
_KINDS: dict[LineKind, Pen] = {
    "face mark": Pen.PENCIL,
    "datum": Pen.KNIFE,
    "cut line": Pen.KNIFE,
    "gauge line": Pen.KNIFE,
    "hatched waste": Pen.HATCH,
    "centre": Pen.CENTRE,
    "letter": Pen.PENCIL,
    "bend line": Pen.FOLD,
    "engraving": Pen.PENCIL,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PartDrawing:
    """A part as it is drawn on paper."""

    items: tuple[Item, ...]
    dimensions: tuple[Drawn, ...]
    balloons: tuple[tuple[int, Point], ...]
    size: Point  # width and height that it takes up


@dataclass(frozen=True, slots=True, kw_only=True)
class _Placed:
    """A view with its place: the paper's point of its lower left corner, and paper's mm to a mm of it."""

    view: View
    left: float
    bottom: float
    scale: float

    def at(self, point: Flat) -> Point:
        """Return where a point of the view is on the paper."""
        return (
            self.left + (point[0] - self.view.low[0]) * self.scale,
            self.bottom - (point[1] - self.view.low[1]) * self.scale,
        )

    @property
    def box(self) -> Box:
        """What the view takes up."""
        width, height = (size * self.scale for size in self.view.size)
        return self.left, self.bottom - height, self.left + width, self.bottom


def part_drawing(views: PartViews, scale: float, corner: Point, caliper: Dimension | None) -> PartDrawing:
    """Return a part's drawing with its upper left corner at `corner`.

    Parameters
    ----------
    views : PartViews
        What is drawn.
    scale : float
        Drawn over true size.
    corner : Point
        Place on the paper, mm.
    caliper : Dimension, optional
        The one that is framed; on this part or another.
    """
    beside = [_beside(view, scale, caliper) for view in views.stack]
    margin = max(deep(each, upright=True) for each in beside)
    left, y = corner[0] + margin, corner[1]
    items: list[Item] = []
    drawn: list[Drawn] = []
    balloons: list[tuple[int, Point]] = []
    right, letters = left, letters_of(views)
    for index, view in enumerate(views.stack):
        steps = {mark.step for mark in view.marks} - {0}
        bottom = y + _TITLE + (_BALLOONS if steps else 0.0) + view.size[1] * scale
        placed = _Placed(view=view, left=left, bottom=bottom, scale=scale)
        found, rings = _view(placed, letters, caliper)
        items += found
        balloons += rings
        below = _below(placed, caliper)
        here = [
            *dimensioned(Strip(edge=bottom, upright=False), below),
            *dimensioned(Strip(edge=left, upright=True), _moved(beside[index], bottom)),
        ]
        drawn += here
        right = max(right, placed.box[2], extent(found)[2], *(extent(one.items)[2] for one in here))
        if views.right is not None and index == views.main:
            aside = max(placed.box[2], extent(found)[2]) + _BESIDE
            beyond = _Placed(view=views.right, left=aside, bottom=bottom, scale=scale)
            found, rings = _view(beyond, letters, None)
            items += found
            balloons += rings
            right = max(right, beyond.box[2] + long_title(views.right))
        foot = bottom + deep(below, upright=False)
        y = max(foot, *(extent(one.items)[3] for one in here), bottom) + _APART if here else foot + _APART
    items += [item for one in drawn for item in one.items]
    size = right - corner[0], y - _APART - corner[1]
    return PartDrawing(items=tuple(items), dimensions=tuple(drawn), balloons=tuple(balloons), size=size)


def long_title(view: View) -> float:
    """Return how far the title of a narrow view stands out beyond it, mm at the most."""
    return Words(text=view.title, place=(0.0, 0.0), em=PLAIN, weight="Bold").width


def _beside(view: View, scale: float, caliper: Dimension | None) -> list[Spanned]:
    """Return a view's upright dimensions, places up from its foot as runs below 0."""
    sign = -1.0 if view.turned_over else 1.0
    found = []
    for one in view.beside:
        ends = sorted(-(sign * feature.at - view.low[1]) * scale for feature in (one.start, one.end))
        found.append(Spanned(dimension=one, low=ends[0], high=ends[1], caliper=one == caliper))
    return found


def _moved(spanned: Iterable[Spanned], bottom: float) -> list[Spanned]:
    return [
        Spanned(dimension=one.dimension, low=bottom + one.low, high=bottom + one.high, caliper=one.caliper)
        for one in spanned
    ]


def _below(placed: _Placed, caliper: Dimension | None) -> list[Spanned]:
    found = []
    for one in placed.view.below:
        ends = sorted(placed.at((feature.at, 0.0))[0] for feature in (one.start, one.end))
        found.append(Spanned(dimension=one, low=ends[0], high=ends[1], caliper=one == caliper))
    return found


def _view(
    placed: _Placed, letters: dict[str, str], caliper: Dimension | None
) -> tuple[list[Item], list[tuple[int, Point]]]:
    """Return a view with its title, lines, holes and balloons."""
    view, (left, top, _, _) = placed.view, placed.box
    steps = {mark.step for mark in view.marks} - {0}
    head = top - 1.5 - (_BALLOONS if steps else 0.0)
    title = Words(text=view.title, place=(left, head), em=PLAIN, weight="Bold")
    items: list[Item] = [title]
    if caliper in (*view.below, *view.beside):
        items.append(_caliper_words(caliper, (left + title.width + 5.0, head)))
    items.append(rectangle(placed.box, Pen.OUTLINE))
    kinds = sorted({mark.kind for mark in view.marks}, key=list(_KINDS).index)
    for kind in kinds:
        items += [
            straight(placed.at(mark.start), placed.at(mark.end), _KINDS[kind])
            for mark in view.marks
            if mark.kind == kind
        ]
    items += [*_reached(placed), *_lettered(placed, letters)]
    rings, found = _balloons(placed)
    return [*items, *found], rings


def _caliper_words(caliper: Dimension, place: Point) -> Words:
    return Words(text=f"{caliper.text} in its frame: check with a caliper", place=place, em=SMALL, weight="Bold")


def circle(middle: Point, radius: float) -> Stroke:
    """Return a circle as chords."""
    points = tuple(
        (middle[0] + radius * math.cos(_TURN * n), middle[1] + radius * math.sin(_TURN * n)) for n in range(_CHORDS + 1)
    )
    return Stroke(points=points, pen=Pen.PENCIL)


def cross(middle: Point, reach: float) -> list[Item]:
    """Return the two centre lines of a hole."""
    x, y = middle
    return [straight((x - reach, y), (x + reach, y), Pen.CENTRE), straight((x, y - reach), (x, y + reach), Pen.CENTRE)]


def _balloons(placed: _Placed) -> tuple[list[tuple[int, Point]], list[Item]]:
    """Return the balloons of a view in a row over it, in the order of what they point to."""
    anchors = sorted((_anchor(placed, step), step) for step in {mark.step for mark in placed.view.marks} - {0})
    if not anchors:
        return [], []
    y = placed.box[1] - RADIUS - 3.0
    places = _spread([x for (x, _), _ in anchors], placed.box[0] + RADIUS, placed.box[2] - RADIUS)
    rings: list[tuple[int, Point]] = []
    items: list[Item] = []
    for ((ax, ay), step), x in zip(anchors, places, strict=True):
        far = math.dist((x, y), (ax, ay))
        foot = (x + (ax - x) * RADIUS / far, y + (ay - y) * RADIUS / far)
        items += [
            straight(foot, (ax, ay), Pen.GUIDE),
            _dot((ax, ay)),
            *balloon(step, (x, y)),
        ]
        rings.append((step, (x, y)))
    return rings, items


def balloon(number: int, place: Point) -> list[Item]:
    """Return a number in a ring round `place`."""
    return [
        circle(place, RADIUS),
        Words(text=str(number), place=(place[0], place[1] + 0.36 * SMALL), em=SMALL, weight="Bold", anchor="middle"),
    ]


def _dot(place: Point) -> Area:
    return Area(
        loops=(tuple((place[0] + 0.4 * math.cos(n), place[1] + 0.4 * math.sin(n)) for n in range(6)),), fill=0.0
    )


def _anchor(placed: _Placed, step: int) -> Point:
    """Return the place on a line of a step that is nearest to the view's upper edge, a little inside it."""
    marks = [mark for mark in placed.view.marks if mark.step == step]
    ends = [(mark.start, mark.end) if mark.start[1] >= mark.end[1] else (mark.end, mark.start) for mark in marks]
    high, low = max(ends, key=lambda pair: (round(pair[0][1], 3), -round(pair[0][0], 3)))
    share = min(1.0, 1.2 / max(math.dist(high, low) * placed.scale, 1e-9))
    return placed.at((high[0] + (low[0] - high[0]) * share, high[1] + (low[1] - high[1]) * share))


def _spread(wanted: Sequence[float], low: float, high: float) -> list[float]:
    """Return places in order, `_PITCH` apart or more, as near to those wanted as a pass from each side brings them."""
    room = max(high, low + _PITCH * (len(wanted) - 1))
    places: list[float] = []
    for number, x in enumerate(wanted):
        places.append(max(x, low if number == 0 else places[-1] + _PITCH))
    for number in reversed(range(len(places))):
        most = room if number == len(places) - 1 else places[number + 1] - _PITCH
        places[number] = min(places[number], most)
    return places


def letters_of(views: PartViews) -> dict[str, str]:
    """Return the letter that stands beside each kind of hole of a part, by what such holes are."""
    labels = dict.fromkeys(hole.label for view in views.stack for hole in view.holes)
    return dict(zip(labels, ascii_lowercase, strict=False))


def _lettered(placed: _Placed, letters: dict[str, str]) -> list[Item]:
    """Return the holes of a view with their letters, each clear of the other holes."""
    rims = [(placed.at(hole.centre), _radius(hole) * placed.scale) for hole in placed.view.holes]
    taken: list[Box] = [(x - r - 1.5, y - r - 1.5, x + r + 1.5, y + r + 1.5) for (x, y), r in rims]
    items: list[Item] = []
    for hole, ((x, y), radius) in zip(placed.view.holes, rims, strict=True):
        items += [circle((x, y), each.diameter / 2 * placed.scale) for each in hole.holes]
        items += cross((x, y), radius + 1.5)
        off = radius + 2.6
        ways = ((1, -1), (1, 1), (-1, -1), (-1, 1))
        choices = [
            Words(text=letters[hole.label], place=(x + a * off, y + b * off + 1.0), weight="Bold", anchor="middle")
            for a, b in ways
        ]
        words = next((one for one in choices if not any(overlap(one.box, box) for box in taken)), choices[0])
        taken.append(words.box)
        items.append(words)
    return items


def _radius(hole: SeenHole) -> float:
    return max(each.diameter for each in hole.holes) / 2


def _reached(placed: _Placed) -> list[Item]:
    """Return the lines that carry holes to the edges where their dimensions stand."""
    items: list[Item] = []
    left, _, _, bottom = placed.box
    for hole in placed.view.holes:
        x, y = placed.at(hole.centre)
        if _told(placed.view.below, hole.centre[0]):
            items.append(straight((x, y), (x, bottom), Pen.DIMENSION))
        if _told(placed.view.beside, hole.centre[1]):
            items.append(straight((x, y), (left, y), Pen.DIMENSION))
    return items


def _told(dimensions: Iterable[Dimension], at: float) -> bool:
    return any(abs(feature.at - at) < 1e-3 for one in dimensions for feature in (one.start, one.end))
