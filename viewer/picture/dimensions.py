"""Sizes drawn beside the parts, laid out without a graphics library: lines with arrows and their figures, and names.

figure : the words of a measure or of a marked line, on a white plate; where no plate keeps clear of labels, leaders and
         other figures, the measure is left out, and the words of the step alone tell it

The name of a line stands on the line itself, as a figure does on its measure; beyond an end of it only where the line
is too short for that. Beside the line it would stand on the next wall, and be read as the name of a line there.

A hole that is drilled has its label beyond its rim, with a leader to it; that of a hole is tried in so many places that
it is found one, as no step may leave out how wide and how deep to drill.

Pixels, x to the right and y down.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from viewer.picture.lettering import Rectangle, width_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from assembly.arrays import FloatArray
    from viewer.scene.camera import View
    from viewer.scene.scene import Scene, ShownMeasure

MEASURED = 1.2  # ems round the parts for the sizes that are drawn beside them
_OFF = 1.1  # ems from a part to the line of a measure
_HIGH = 1.15  # ems; height of a figure's plate
_CLEAR = 0.12  # ems that plates keep clear of everything
ARROW = 0.45  # ems; length of an arrowhead
_SHARES = (0.5, 0.35, 0.65, 0.2, 0.8)  # along a measure, where its figure may stand
_NAMED = (
    0.7,
    0.6,
    0.5,
    0.85,
    0.4,
    0.3,
    0.2,
)  # along a named line, from the face edge up; corner letters are below the middle
_LABEL_OFF = (1.0, 1.8, 2.8, 4.0, 5.5, 7.5, 10.0)  # ems from a hole's rim to its label
_LABEL_TURNS = np.radians([45, -45, 20, -20, 70, -70, 0, 135, -135, 160, -160, 110, -110, 90, -90, 180])  # 0 is up
_SEEN = 0.3  # ems; of a named line that must be seen at either side of its name


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnMeasure:
    """A measure or a name as it is drawn."""

    text: str
    box: Rectangle  # of its plate
    line: FloatArray  # (2, 2) from arrow to arrow; of no length for a name
    ticks: FloatArray  # (2, 2, 2) from the part to beyond the line; none for a name
    leader: FloatArray | None = None  # (2, 2) from a hole's rim to its label's plate


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What figures must keep clear of."""

    room: Rectangle
    plates: Sequence[Rectangle]
    leaders: FloatArray  # (n, 2, 2) from port to anchor

    def free(self, box: Rectangle, clear: float) -> bool:
        """Whether a plate is inside the room and meets neither plates nor leaders."""
        left, top, right, bottom = box[0] - clear, box[1] - clear, box[2] + clear, box[3] + clear
        inside = self.room[0] <= left and self.room[1] <= top and right <= self.room[2] and bottom <= self.room[3]
        apart = all(right <= p[0] or p[2] <= left or bottom <= p[1] or p[3] <= top for p in self.plates)
        return inside and apart and not self._passed((left, top, right, bottom))

    def clear(self, line: FloatArray) -> bool:
        """Whether a line, (2, 2), passes through no plate."""
        points = line[0] + np.linspace(0, 1, 100)[:, None] * (line[1] - line[0])
        boxes = np.reshape(self.plates, (-1, 4))[:, None]
        return not bool(((points > boxes[..., :2]) & (points < boxes[..., 2:])).all(axis=2).any())

    def _passed(self, box: Rectangle) -> bool:
        """Whether a leader passes through a box; looked at in so many places of it that none is missed."""
        share = np.linspace(0, 1, 400)[:, None, None]
        points = self.leaders[:, 0] + share * (self.leaders[:, 1] - self.leaders[:, 0])
        return bool(((points > box[:2]) & (points < box[2:])).all(axis=2).any())


def figure_size(words: str, em: int) -> tuple[float, float]:
    """Return width and height of a figure's plate."""
    return width_of(words, em, "Bold") + 0.4 * em, _HIGH * em


def drawn_measures(scene: Scene, view: View, taken: Taken, em: int) -> tuple[DrawnMeasure, ...]:
    """Return the measures and names of a scene that find room, in their order, and then the labels of its holes."""
    found: list[DrawnMeasure] = []
    rims = [view.pixels(hole.rim) for hole in scene.holes]
    taken = replace(taken, plates=(*taken.plates, *(_around(rim) for rim in rims)))
    for measure in scene.measures:
        drawn = next((one for one in _ways(measure, view, em) if taken.free(one.box, _CLEAR * em)), None)
        if drawn is not None:
            found.append(drawn)
            taken = replace(taken, plates=(*taken.plates, drawn.box))
    taken = replace(taken, leaders=np.concatenate([taken.leaders, *(one.line[None] for one in found)]))
    for hole, rim in zip(scene.holes, rims, strict=True):
        others = replace(taken, plates=tuple(box for box in taken.plates if box != _around(rim)))
        drawn = next((one for one in _labels(hole.text, rim, em) if _fits(one, taken, others, em)), None)
        if drawn is not None and drawn.leader is not None:
            found.append(drawn)
            leaders = np.concatenate([taken.leaders, drawn.leader[None]])
            taken = replace(taken, plates=(*taken.plates, drawn.box), leaders=leaders)
    return tuple(found)


def _around(rim: FloatArray) -> Rectangle:
    """Return the box round a hole's rim."""
    (left, top), (right, bottom) = rim.min(axis=0).tolist(), rim.max(axis=0).tolist()
    return float(left), float(top), float(right), float(bottom)


def _fits(label: DrawnMeasure, taken: Taken, others: Taken, em: int) -> bool:
    """Whether a hole's label is clear of everything, and its leader of every plate but the box round its own hole."""
    return taken.free(label.box, _CLEAR * em) and label.leader is not None and others.clear(label.leader)


def _labels(text: str, rim: FloatArray, em: int) -> Iterator[DrawnMeasure]:
    """Yield the ways to draw a hole's label, the nearest first."""
    middle = rim.mean(axis=0)
    half = np.array(figure_size(text, em)) / 2
    for off in _LABEL_OFF:
        for turn in _LABEL_TURNS:
            way = np.array([np.sin(turn), -np.cos(turn)])
            start = rim[int(np.argmax((rim - middle) @ way))]
            place = start + off * em * way + half * way
            box = _box(place, (2 * half[0], 2 * half[1]))
            leader = np.stack([start, np.clip(start, box[:2], box[2:])])
            none = np.stack([place, place])
            yield DrawnMeasure(text=text, box=box, line=none, ticks=np.empty((0, 2, 2)), leader=leader)


def _ways(measure: ShownMeasure, view: View, em: int) -> Iterator[DrawnMeasure]:
    """Yield the ways to draw a measure or a name, the best liked first."""
    start, end = view.pixels(measure.ends)
    size = figure_size(measure.text, em)
    if measure.away is None:
        yield from _names(measure.text, start, end, size, em)
        return
    away = view.pixels(measure.ends[0] + measure.away) - start
    far = float(np.linalg.norm(away))
    way = away / far if far > 0 else np.zeros(2)
    for off in (_OFF, 2 * _OFF) if far > 0 else (0.0,):
        line = np.stack([start, end]) + off * em * way
        ticks = np.stack([np.stack([start, end]), line + 0.3 * em * way], axis=1)
        for middle in _middles(line, way, size, em):
            yield DrawnMeasure(text=measure.text, box=_box(middle, size), line=line, ticks=ticks)


def _middles(line: FloatArray, way: FloatArray, size: tuple[float, float], em: int) -> Iterator[FloatArray]:
    """Yield where the middle of a figure may stand: on a long line, else beyond it or beyond its ends."""
    run = line[1] - line[0]
    long = float(np.linalg.norm(run))
    along = run / max(long, 1e-9)
    reach = (size[0] * abs(along[0]) + size[1] * abs(along[1])) / 2  # of a plate, along the line
    if long > 2 * reach + 2.4 * ARROW * em:
        for share in _SHARES:
            yield line[0] + share * run
        return
    beside = (size[0] * abs(way[0]) + size[1] * abs(way[1])) / 2 + 0.45 * em
    yield line.mean(axis=0) + beside * way
    for end, sign in ((1, 1.0), (0, -1.0)):
        yield line[end] + sign * (reach + (ARROW + 0.4) * em) * along


def _names(text: str, start: FloatArray, end: FloatArray, size: tuple[float, float], em: int) -> Iterator[DrawnMeasure]:
    long = float(np.linalg.norm(end - start))
    run = (end - start) / max(long, 1e-9)
    along, across = (float((np.array(size) / np.maximum(np.abs(way), 1e-9)).min()) for way in (run, run[::-1]))
    places = [start + share * (end - start) for share in _NAMED]
    middles = [(place, place) for place in places] if long > along + 2 * _SEEN * em else []
    if abs(run[0]) > abs(
        run[1]
    ):  # a level line: beyond its end there is the same edge of its wall, above and below it none
        level = np.array([np.copysign(size[0] / 2 + 0.2 * em, run[0]), 0.0])
        middles += [(start, start - level), (end, end + level)]
    aside = (across / 2 + 0.2 * em) * np.array([-run[1], run[0]])
    middles += [(place, place + sign * aside) for place in places for sign in (1.0, -1.0)]
    for place, middle in middles:
        yield DrawnMeasure(text=text, box=_box(middle, size), line=np.stack([place, place]), ticks=np.empty((0, 2, 2)))


def _box(middle: FloatArray, size: tuple[float, float]) -> Rectangle:
    x, y = middle.tolist()
    return x - size[0] / 2, y - size[1] / 2, x + size[0] / 2, y + size[1] / 2


def heads(line: FloatArray, em: int) -> FloatArray:
    """Return the two arrowheads of a measure, (2, 3, 2): at its ends, turned inwards where the line is too short."""
    run = line[1] - line[0]
    long = max(float(np.linalg.norm(run)), 1e-9)
    along = run / long * (1.0 if long > 2.4 * ARROW * em else -1.0)
    across = np.array([-along[1], along[0]])
    back = ARROW * em * along
    wide = 0.32 * ARROW * em * across
    return np.stack(
        [
            [line[0], line[0] + back + wide, line[0] + back - wide],
            [line[1], line[1] - back + wide, line[1] - back - wide],
        ]
    )
