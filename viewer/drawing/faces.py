"""The faces of a scene that are turned to the viewer, in the order in which they are painted: what is nearer later.

face  : a smooth piece of a part's surface as it is seen, one area with holes; what bounds it is drawn as a line
mark  : what lies on a face, strokes and the patches of joints, painted right after it

Painted in this order, with its outlines, a face hides what lies behind it, lines included. No line is cut, so what is
drawn stays small: a box in some thirty kilobytes, a step of its making in two.

Which of two faces is nearer is looked up in a raster of them. A face that passes through another, as a stem does
through a lid, is cut along it. Faces that hide each other in a ring have no order; then the one that has the least
against it is painted first. Pixels, x to the right and y down.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from assembly.arrays import cross
from viewer.scene import tints
from viewer.scene.visibility import fragments

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from assembly.arrays import BoolArray, FloatArray, IntArray
    from viewer.scene.camera import Direction, View
    from viewer.scene.scene import Scene
    from viewer.scene.tints import Tint

_SMOOTH = np.cos(np.radians(30.0))  # two triangles that meet at less are one face
_RASTER = 320  # pixels; the longer side of the raster in which faces are set in order
_SAME = 0.02  # mm; faces no further apart lie in one another's plane, and hide nothing of each other
_SEEN = 0.08  # pixels; a point no further off the line past it is not missed
_THINNED, _LEAST = 6, 3  # rounds in which points are left out, and how many stay
_PASSING = 3  # pixels at which one face is before another that is before it elsewhere
_CUTS = 4  # rounds in which faces that pass through one another are cut
_ON = 0.25  # mm; a mark no further from a face's plane lies on it: patches are lifted off theirs


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """What lies on a face: lines, (k, 2 ends, 2), or areas, (k, n corners, 2)."""

    shape: FloatArray
    colour: Tint
    kind: str  # fresh, earlier, grain, ground or ink


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """One face as it is painted."""

    part: int  # index of its part
    loops: tuple[FloatArray, ...]  # (k, 2) each: outlines, holes among them
    colour: Tint  # as the lights leave it
    opacity: float
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Piece:
    """Triangles of one part that are turned to the viewer and make one face."""

    part: int
    corners: FloatArray  # (n, 3 corners, 3) mm
    ends: IntArray | None = None  # (n, 3) numbers of their points; None of what was cut

    @property
    def across(self) -> FloatArray:
        """Outward normals, each as long as twice the triangle's area: (n, 3)."""
        one, two = self.corners[:, 1] - self.corners[:, 0], self.corners[:, 2] - self.corners[:, 0]
        return cross(one, two)

    @property
    def area(self) -> float:
        """Area, mm²."""
        return float(np.linalg.norm(self.across, axis=1).sum()) / 2


def faces_of(scene: Scene, view: View) -> tuple[Face, ...]:
    """Return the faces of a scene that are turned to the viewer, the furthest first, with what lies on them."""
    pieces = [piece for index in range(len(scene.parts)) for piece in _seen(scene, view, index)]
    order = _Order(pieces, view)
    for _ in range(_CUTS):
        through = order.passing()
        if not through:
            break
        order = _Order(_cut(order.pieces, through), view)
    marks = {index: _marks(scene, index) for index in range(len(scene.parts))}
    return tuple(_face(scene, view, order.pieces[i], marks[order.pieces[i].part]) for i in order.painted())


def _seen(scene: Scene, view: View, index: int) -> tuple[_Piece, ...]:
    """Return what is seen of a part's surface, in smooth pieces."""
    part = scene.parts[index]
    triangles = np.asarray(part.triangles, dtype=np.int64)
    return _pieces(index, scene.placed(index, part.points).tobytes(), triangles.tobytes(), view.direction)


@lru_cache(maxsize=256)
def _pieces(index: int, points: bytes, triangles: bytes, direction: Direction) -> tuple[_Piece, ...]:
    """Return what is seen of part `index`, given by the bytes of (n, 3) float points and (m, 3) int triangles.

    Two of three parts in the steps of a making look as in a step before, and get the same pieces.
    """
    numbers = np.frombuffer(triangles, dtype=np.int64).reshape(-1, 3)
    corners = np.frombuffer(points).reshape(-1, 3)[numbers]
    across = cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    twice = np.linalg.norm(across, axis=1)
    turned = across @ direction.axes[2] > 1e-9 * np.maximum(twice, 1e-12)
    corners, ends, normals = corners[turned], numbers[turned], across[turned] / twice[turned, None]
    count, group = _smooth(ends, normals)
    chosen = [group == number for number in range(count)]
    return tuple(_Piece(part=index, corners=corners[some], ends=ends[some]) for some in chosen)


def _smooth(ends: IntArray, normals: FloatArray) -> tuple[int, IntArray]:
    """Return how many smooth pieces triangles make, and which piece each belongs to."""
    if not len(ends):
        return 0, np.empty(0, dtype=np.intp)
    sides = np.concatenate([ends[:, [0, 1]], ends[:, [1, 2]], ends[:, [2, 0]]])
    triangle = np.tile(np.arange(len(ends)), 3)
    key = np.sort(sides, axis=1)
    order = np.lexsort((key[:, 1], key[:, 0]))
    same = (key[order[1:]] == key[order[:-1]]).all(axis=1)
    one, two = triangle[order[:-1][same]], triangle[order[1:][same]]
    smooth = (normals[one] * normals[two]).sum(axis=1) > _SMOOTH
    links = coo_array((np.ones(int(smooth.sum())), (one[smooth], two[smooth])), shape=(len(ends), len(ends)))
    count, group = connected_components(links, directed=False)
    return int(count), np.asarray(group, dtype=np.intp)


def _face(scene: Scene, view: View, piece: _Piece, marks: Sequence[_Loose]) -> Face:
    part = scene.parts[piece.part]
    normal, flat = _turned(piece)
    around = (_without_straights(view.pixels(loop)) for loop in _loops(piece))
    loops = tuple(loop for loop in around if len(loop) > 2)
    return Face(
        part=piece.part,
        loops=loops,
        colour=tints.lit(part.colour, normal, tints.lights(view.direction.round)),
        opacity=part.opacity,
        marks=_held(marks, piece.corners[0, 0], normal, loops, view) if flat and marks else (),
    )


@lru_cache(maxsize=1024)
def _turned(piece: _Piece) -> tuple[FloatArray, bool]:
    """Return a piece's mean normal, a unit vector (3,), and whether it is flat."""
    normals = piece.across
    normal = normals.sum(axis=0)
    normal /= np.linalg.norm(normal)
    return normal, bool((normals @ normal > (1 - 1e-6) * np.linalg.norm(normals, axis=1)).all())


@lru_cache(maxsize=1024)
def _loops(piece: _Piece) -> list[FloatArray]:
    """Return what bounds a piece, in closed loops of points, (k, 3) mm: sides that no triangle runs back along."""
    numbers, corners = _numbers(piece), piece.corners.reshape(-1, 3)
    place = {number: row for row, number in enumerate(number for ends in numbers for number in ends)}
    onward: dict[int, list[int]] = {}
    for one, two, three in numbers:
        for a, b in ((one, two), (two, three), (three, one)):
            if a in onward.get(b, ()):
                onward[b].remove(a)
            else:
                onward.setdefault(a, []).append(b)
    loops = []
    for start, following in onward.items():
        while following:
            loop, at = list[int](), start
            while onward.get(at):
                loop.append(place[at])
                at = onward[at].pop()
            loops.append(corners[loop])
    return loops


def _numbers(piece: _Piece) -> list[list[int]]:
    """Return a number for each corner of a piece's triangles; corners in one place have the same."""
    if piece.ends is not None:
        return [list(map(int, ends)) for ends in piece.ends.tolist()]
    known: dict[tuple[float, ...], int] = {}
    rounded = piece.corners.round(7).tolist()
    return [[known.setdefault(tuple(corner), len(known)) for corner in corners] for corners in rounded]


def _without_straights(loop: FloatArray) -> FloatArray:
    """Return a loop, (n, 2) pixels, without points at which it runs straight on, or turns by too little to be seen.

    Of two neighbours only one goes at a time, so that an arc keeps every other point until these stand apart enough.
    """
    for _ in range(_THINNED):
        before, after = loop - np.roll(loop, 1, axis=0), np.roll(loop, -1, axis=0) - loop
        turn = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
        across = np.hypot(*(before + after).T)
        flat = turn <= _SEEN * np.maximum(across, 1e-9)  # the point is so far off the line past it
        gone = flat & (~np.roll(flat, 1) | (np.arange(len(loop)) % 2 == 1))
        if not gone.any() or len(loop) - int(gone.sum()) < _LEAST:
            break
        loop = loop[~gone]
    return loop


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Loose:
    """Marks of a part before it is known on which face they lie."""

    points: FloatArray  # (k, n, 3) mm
    colour: Tint
    kind: str


def _marks(scene: Scene, index: int) -> list[_Loose]:
    part = scene.parts[index]
    found = []
    if len(part.grain):
        red, green, blue = part.colour
        shade = tints.GRAIN_SHADE
        found.append(
            _Loose(
                points=scene.placed(index, part.grain), colour=(shade * red, shade * green, shade * blue), kind="grain"
            )
        )
    for joint in scene.joints:
        for patch in (patch for patch in joint.patches if patch.part == index):
            ground = scene.placed(index, patch.face)[None]
            found.append(_Loose(points=ground, colour=tints.GROUNDS[joint.fit.word], kind="ground"))
            found.append(_Loose(points=scene.placed(index, patch.ink), colour=tints.INK, kind="ink"))
    for strokes in (strokes for strokes in scene.strokes if strokes.part == index):
        kind, colour = ("fresh", tints.INK) if strokes.fresh else ("earlier", tints.QUIET)
        found.append(_Loose(points=scene.placed(index, strokes.ends), colour=colour, kind=kind))
    return found


def _held(
    marks: Sequence[_Loose], corner: FloatArray, normal: FloatArray, loops: Iterable[FloatArray], view: View
) -> tuple[Mark, ...]:
    """Return which marks lie on a flat face."""
    found = []
    for loose in marks:
        near = np.asarray((np.abs((loose.points - corner) @ normal) < _ON).all(axis=1), dtype=np.bool_)
        if near.any():
            inside = np.zeros(len(loose.points), dtype=np.bool_)
            inside[near] = within(view.pixels(loose.points[near].mean(axis=1)), loops)
            if inside.any():
                found.append(Mark(shape=view.pixels(loose.points[inside]), colour=loose.colour, kind=loose.kind))
    return tuple(found)


def within(places: FloatArray, loops: Iterable[FloatArray]) -> BoolArray:
    """Whether places, (n, 2), lie within an area, holes taken off: crossed by its outline an odd number of times."""
    inside = np.zeros(len(places), dtype=np.bool_)
    x, y = places.T[:, :, None]
    for loop in loops:
        (x0, y0), (x1, y1) = loop.T, np.roll(loop, -1, axis=0).T
        crossed = (np.minimum(y0, y1) <= y) & (y < np.maximum(y0, y1))
        at = x0 + (y - y0) * (x1 - x0) / np.where(y1 == y0, 1.0, y1 - y0)
        inside ^= (crossed & (at < x)).sum(axis=1) % 2 == 1
    return inside


class _Order:
    """Which pieces hide which: looked up at every pixel of a raster."""

    def __init__(self, pieces: Sequence[_Piece], view: View) -> None:
        """Look at the pieces."""
        self.pieces = list(pieces)
        self._corners = np.concatenate([np.empty((0, 3, 3)), *(piece.corners for piece in pieces)])
        self._owner = np.repeat(np.arange(len(pieces)), [len(piece.corners) for piece in pieces])
        self._depth = self._corners @ view.direction.axes[2]
        small = view.scaled(_RASTER / max(view.size), (_side(view, 0), _side(view, 1)))
        triangles = np.arange(len(self._corners))
        pixel, near, triangle = fragments(small.pixels(self._corners), self._depth, triangles, small.size)
        several = np.bincount(pixel, minlength=1)[pixel] > 1  # alone at its pixel a piece hides nothing there
        pixel, near, triangle = pixel[several], near[several], triangle[several]
        order = np.lexsort((near, pixel))
        pixel, near, triangle = pixel[order], near[order], triangle[order]
        piece = self._owner[triangle]
        between = near[1:] - near[:-1]
        over = (pixel[1:] == pixel[:-1]) & (piece[1:] != piece[:-1]) & (between > _SAME)
        self._behind, self._before, self._between = triangle[:-1][over], triangle[1:][over], between[over]
        keys, times = np.unique(self._owner[self._behind] * self._count + self._owner[self._before], return_counts=True)
        self._pairs = dict(zip(keys.tolist(), times.tolist(), strict=True))

    @property
    def _count(self) -> int:
        return len(self.pieces)

    def passing(self) -> dict[int, tuple[FloatArray, FloatArray]]:
        """Return pieces that pass through others, each to be cut along a plane: a point and the normal of it.

        Such a piece is before the other here and behind it there. The plane is that of the other's triangle where the
        two are nearest.
        """
        found: dict[int, tuple[FloatArray, FloatArray]] = {}
        for key, times in self._pairs.items():
            one, two = divmod(key, self._count)
            if (
                one > two
                or min(times, self._pairs.get(two * self._count + one, 0)) < _PASSING
                or {one, two} & set(found)
            ):
                continue
            cut, other = sorted((one, two), key=lambda number: self.pieces[number].area)  # the slender one
            behind, before = self._owner[self._behind], self._owner[self._before]
            here = ((behind == cut) & (before == other)) | ((behind == other) & (before == cut))
            nearest = np.flatnonzero(here)[np.argmin(self._between[here])]
            of_other = self._before if before[nearest] == other else self._behind
            corners = self._corners[of_other[nearest]]
            normal = cross(corners[1] - corners[0], corners[2] - corners[0])
            found[cut] = corners[0], normal / np.linalg.norm(normal)
        return found

    def painted(self) -> list[int]:
        """Return the order in which the pieces are painted, the furthest first."""
        far = np.full(self._count, np.inf)
        np.minimum.at(far, self._owner, self._depth.mean(axis=1))
        return _sorted([(*divmod(key, self._count), times) for key, times in self._pairs.items()], far)


def _cut(pieces: Sequence[_Piece], planes: dict[int, tuple[FloatArray, FloatArray]]) -> list[_Piece]:
    """Return pieces, some of them cut in two along planes."""
    found = []
    for number, piece in enumerate(pieces):
        if number not in planes:
            found.append(piece)
            continue
        point, normal = planes[number]
        for side in (1.0, -1.0):
            corners = _on_side(piece.corners, side * ((piece.corners - point) @ normal))
            if len(corners):
                found.append(_Piece(part=piece.part, corners=corners))
    return found


def _on_side(corners: FloatArray, off: FloatArray) -> FloatArray:
    """Return what lies on one side of a plane of triangles whose corners are `off` from it, (n, 3): (m, 3, 3)."""
    found = []
    for triangle, away in zip(corners, off, strict=True):
        outline = []
        for i, j in ((0, 1), (1, 2), (2, 0)):
            if away[i] >= 0:
                outline.append(triangle[i])
            if away[i] * away[j] < 0:
                share = away[i] / (away[i] - away[j])
                outline.append(triangle[i] + share * (triangle[j] - triangle[i]))
        found += [[outline[0], outline[k], outline[k + 1]] for k in range(1, len(outline) - 1)]
    return np.array(found, dtype=np.float64).reshape(-1, 3, 3)


def _side(view: View, axis: int) -> int:
    return max(1, round(view.size[axis] * _RASTER / max(view.size)))


def _sorted(pairs: Iterable[tuple[int, int, int]], far: FloatArray) -> list[int]:
    """Return numbers so that the first of every pair stands before the second; of those free, the furthest first.

    Each pair comes with how many pixels say so. Where pairs run in a ring, the one with the
    fewest against it goes first.
    """
    before = [dict[int, int]() for _ in far]
    after = [list[int]() for _ in far]
    for one, two, count in pairs:
        before[two][one] = count
        after[one].append(two)
    left, free = set(range(len(far))), [(far[i], i) for i in range(len(far)) if not before[i]]
    heapq.heapify(free)
    order: list[int] = []
    while left:
        chosen = heapq.heappop(free)[1] if free else min(left, key=lambda i: (sum(before[i].values()), far[i]))
        if chosen not in left:
            continue
        left.remove(chosen)
        order.append(chosen)
        for other in after[chosen]:
            if before[other].pop(chosen, None) is not None and not before[other] and other in left:
                heapq.heappush(free, (far[other], other))
    return order
