"""Where leaders end: places well inside what is seen, clear of strokes on the timber, of other leaders and their dots.

place   : one of the pixels that a label's leader may end at, the first being the one liked best
strain  : how much is wrong with a choice of places; 0 where leaders keep clear of all dots and cross nowhere
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw
from scipy import ndimage

from viewer.picture.labels import crossings, lay_out
from viewer.scene.visibility import seen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import BoolArray, FloatArray, IntArray
    from viewer.picture.labels import Columns, Layout
    from viewer.picture.lettering import Note
    from viewer.scene.camera import View
    from viewer.scene.scene import Scene

DOT, WORST_DOT = 0.21, 0.31  # radius of a dot with its rim, ems
_LEADER = 0.07  # half the width of a leader, ems
_PLACES = 20  # tried for one label
_TOGETHER = 8  # tried for each of two
_PAIRS = 3  # of labels in each other's way that try their places together in one round
_ROUNDS = 4
_STARTS = 8  # from other places, where what is wrong could not be put right
_SHAKEN = 0.3  # share of the leaders that are moved with those in each other's way
_RASTER = 600  # pixels; a larger picture is looked at in steps of more than one pixel
_ALONG = (0.5, 0.3, 0.7, 0.15, 0.85, 0.4, 0.6, 0.22, 0.78, 0.08, 0.92)  # of what is hidden, the middle first


def marks_of(scene: Scene, view: View) -> tuple[IntArray, BoolArray, float]:
    """Return what is seen where, where strokes lie, and how many pixels one step of them is."""
    step = max(1.0, max(view.size) / _RASTER)
    width, height = (max(1, round(side / step)) for side in view.size)
    small = view.scaled(1 / step, (width, height))
    strokes = Image.new("1", (width, height))
    pen = ImageDraw.Draw(strokes)
    for some in scene.strokes:
        for start, end in small.pixels(scene.placed(some.part, some.ends)).tolist():
            pen.line([*start, *end], fill=1, width=3)
    return seen(scene, small), np.asarray(strokes), step


@dataclass(frozen=True, slots=True)
class Places:
    """The pixels that a note's leader may end at, the first being the one liked best."""

    seen: FloatArray  # (k, 2) where what it speaks of is seen; none where all of it is hidden
    hidden: FloatArray  # (m, 2) where it lies behind something

    @property
    def all(self) -> FloatArray:
        """Return all of them, those that are seen first: (k + m, 2)."""
        return np.concatenate([self.seen, self.hidden])

    def hides(self, anchor: FloatArray) -> bool:
        """Tell whether a leader that ends there ends at something hidden."""
        return not (self.seen == anchor).all(axis=1).any()


def places_of(scene: Scene, view: View, notes: Sequence[Note], em: float) -> list[Places]:
    """Return for each note the places where its leader may end; hidden ones only where few are seen."""
    marks, strokes, step = marks_of(scene, view)
    places = []
    for note in notes:
        found, there = np.empty((0, 2)), np.logical_or.reduce([marks == mark for mark in note.marks])
        if there.any():
            clear = there & ~strokes
            found = step * _inside(clear if clear.any() else there, note.aim, DOT * em / step)
        hidden = view.pixels(_hidden(scene, note)) if len(found) < _PLACES else np.empty((0, 2))
        places.append(Places(seen=found, hidden=hidden))
    return places


def _inside(there: BoolArray, aim: float, reach: float) -> FloatArray:
    """Return pixels inside what is seen, (k, 2): first one well inside it, about `aim` of the way down."""
    rows, columns = (np.flatnonzero(there.any(axis=axis)) for axis in (1, 0))
    depth = ndimage.distance_transform_cdt(np.pad(there[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1], 1))
    most = depth.max()
    inner = np.argwhere(depth >= 0.8 * most)[:, ::-1] - 1.0
    low, high = inner.min(axis=0), inner.max(axis=0)
    wanted = np.array([inner[:, 0].mean(), low[1] + aim * (high[1] - low[1])])
    best = inner[np.argmin(np.linalg.norm(inner - wanted, axis=1))]
    least = max(1.3 * reach, 0.3 * most) if most >= 1.3 * reach else 1.0  # of what is narrow, every pixel will do
    wide = np.argwhere(depth >= least)[:, ::-1]
    found = [best, *_strewn(np.asarray(wide - 1.0, dtype=np.float64), best, _PLACES - 1)]
    return np.asarray(np.array(found) + np.array([columns[0] + 0.5, rows[0] + 0.5]), dtype=np.float64)


def _strewn(points: FloatArray, first: FloatArray, count: int) -> list[FloatArray]:
    """Return points far from one another and from the first: each the one furthest from those before."""
    points = points[:: max(1, len(points) // 2000)]
    found, away = [], np.linalg.norm(points - first, axis=1)
    for _ in range(min(count, len(points))):
        found.append(points[int(np.argmax(away))])
        away = np.minimum(away, np.linalg.norm(points - found[-1], axis=1))
    return found


def _hidden(scene: Scene, note: Note) -> FloatArray:
    """Return places of something that is not seen: of its parts, or along the middle of a joint's faces: (k, 3), mm."""
    found = []
    for mark in note.marks:
        if mark <= len(scene.parts):
            points = scene.placed(mark - 1, scene.parts[mark - 1].points)
            low, high = points.min(axis=0), points.max(axis=0)
            middle = points.mean(axis=0)
            axis = int(np.argmax(high - low))
            run = (high - low) * (np.arange(3) == axis)
            found += [middle + (share - 0.5) * run for share in _ALONG]
        else:
            for patch in scene.joints[mark - len(scene.parts) - 1].patches:
                face = scene.placed(patch.part, patch.face)
                foot, head = (face[0] + face[1]) / 2, (face[2] + face[3]) / 2
                found += [foot + share * (head - foot) for share in _ALONG]
    return np.array(found)


def strain(layout: Layout, anchors: FloatArray, dots: FloatArray, em: float) -> FloatArray:
    """Return how much is wrong between labels, (n, n): 0 everywhere where nothing is.

    Parameters
    ----------
    layout : Layout
        Where the labels stand.
    anchors : (n, 2) float
        Where the leaders end, pixels.
    dots : (n,) float
        Radius of each leader's dot, ems.
    em : float
        Size of the letters, pixels.
    """
    to_leaders, to_dots = _to_leaders(anchors, layout.ports), np.linalg.norm(anchors[:, None] - anchors, axis=2)
    np.fill_diagonal(to_leaders, np.inf)
    np.fill_diagonal(to_dots, np.inf)
    clear, apart = em * (dots[:, None] + _LEADER), em * (dots[:, None] + dots)
    near = np.maximum(0, 1 - to_leaders / clear) + np.maximum(0, 1 - to_dots / apart)
    return np.asarray(near + crossings(layout.ports, anchors), dtype=np.float64)


def _to_leaders(points: FloatArray, ports: FloatArray) -> FloatArray:
    """Return how far each dot is from each leader: (n dots, n leaders), pixels; every leader ends in its own dot."""
    run = points - ports
    off = points[:, None] - ports
    along = np.clip((off * run).sum(axis=2) / np.maximum((run**2).sum(axis=1), 1e-9), 0, 1)
    return np.asarray(np.linalg.norm(off - along[..., None] * run, axis=2), dtype=np.float64)


@dataclass(slots=True)
class _Search:
    """The best choice of places so far, and what it takes to judge another."""

    places: Sequence[FloatArray]
    heights: FloatArray
    dots: FloatArray
    columns: Columns
    em: float
    start: FloatArray | None = None  # where to begin; without it, with the places that are liked best
    anchors: FloatArray = field(init=False)
    layout: Layout = field(init=False)
    wrong: FloatArray = field(init=False)

    def __post_init__(self) -> None:
        """Judge what it begins with."""
        liked = np.array([some[0] for some in self.places]).reshape(-1, 2)
        self.anchors = liked if self.start is None else self.start
        self.layout = lay_out(self.anchors, self.heights, self.columns)
        self.wrong = strain(self.layout, self.anchors, self.dots, self.em)

    def take_better(self, chosen: dict[int, FloatArray]) -> None:
        """Move some labels' leaders to other places if less is wrong then."""
        anchors = self.anchors.copy()
        for i, place in chosen.items():
            anchors[i] = place
        layout = lay_out(anchors, self.heights, self.columns)
        wrong = strain(layout, anchors, self.dots, self.em)
        if wrong.sum() < self.wrong.sum() - 1e-9:
            self.anchors, self.layout, self.wrong = anchors, layout, wrong

    def settle(self, *, together: bool) -> None:
        """Move leaders as long as that helps, one by one and, if `together`, also two at a time."""
        for _ in range(_ROUNDS):
            before = self.wrong.sum()
            if before:
                self.one_by_one()
            if together and self.wrong.any():
                self.pair_by_pair()
            if self.wrong.sum() in {0, before}:
                break

    def shake(self, rng: np.random.Generator) -> None:
        """Put the leaders that are part of what is wrong, and a few others, elsewhere at random."""
        moved = self.wrong.any(axis=0) | self.wrong.any(axis=1) | (rng.random(len(self.anchors)) < _SHAKEN)
        self.anchors = self.anchors.copy()
        for i in np.flatnonzero(moved).tolist():
            self.anchors[i] = self.places[i][rng.integers(len(self.places[i]))]
        self.layout = lay_out(self.anchors, self.heights, self.columns)
        self.wrong = strain(self.layout, self.anchors, self.dots, self.em)

    def one_by_one(self) -> None:
        """Let each label that is part of what is wrong try its places."""
        for i in np.flatnonzero(self.wrong.any(axis=0) | self.wrong.any(axis=1)).tolist():
            for place in self.places[i]:
                self.take_better({i: place})

    def pair_by_pair(self) -> None:
        """Let two labels that are in each other's way try their places together."""
        for i, j in np.argwhere(np.triu(self.wrong + self.wrong.T))[:_PAIRS].tolist():
            for one, other in product(self.places[i][:_TOGETHER], self.places[j][:_TOGETHER]):
                self.take_better({i: one, j: other})
                if not self.wrong[i, j] and not self.wrong[j, i]:
                    break


def arranged(
    places: Sequence[FloatArray], heights: FloatArray, dots: FloatArray, columns: Columns, em: float
) -> tuple[FloatArray, Layout]:
    """Return where the leaders end and where the labels stand, with as little strain as was found."""
    best = _Search(places, heights, dots, columns, em)
    best.settle(together=True)
    rng = np.random.default_rng(len(places))  # the same picture whenever it is drawn
    for _ in range(_STARTS):
        if not best.wrong.any():
            break
        other = replace(best, start=best.anchors)
        other.shake(rng)
        other.settle(together=False)
        best = min(best, other, key=lambda search: float(search.wrong.sum()))
    return best.anchors, best.layout


def dots_of(notes: Sequence[Note]) -> FloatArray:
    """Return the radius of each note's dot with its rim, ems."""
    return np.array([WORST_DOT if note.worst else DOT for note in notes])
