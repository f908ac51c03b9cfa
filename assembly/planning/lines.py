"""The lines of the making, drawn on the walls of `assembly.planning.marks` and on the lid; mm, in the box's frame."""

from __future__ import annotations

import math
from itertools import count, pairwise, takewhile
from typing import TYPE_CHECKING

from assembly.nominal.frame import CORNER_LETTERS, CORNERS, LAPPED_AT, PLAIN_AT, WALLS
from assembly.planning.marks import HATCH, Letter, Line
from assembly.planning.strokes import width
from assembly.planning.wall_faces import Face

if TYPE_CHECKING:
    from collections.abc import Callable

    from assembly.nominal.fittings import Hole
    from assembly.nominal.plaque import Point
    from assembly.planning.marks import Block, LineKind, Wall

    Flat = tuple[float, float]

_CHORDS = 64  # of a circle, as of the holes that `assembly.solids.bodies` drills: their rims are such lines
_BEYOND = 1.5  # of a cross beyond the rim of its hole, mm; the shop rules leave 2 mm beside every hole
_PRICK = 1.0  # of a prick's strokes along each side, mm; project choice

_FIVE, _CLEAR = 5.0, 2.0  # mm; letters are placed by whole fives, and stand so clear of a lap

_AT = (LAPPED_AT.tolist(), PLAIN_AT.tolist())  # the walls that meet at each corner


def _on(wall: Wall, kind: LineKind, face: Face, *ends: Point) -> Line:
    """Return a line from two points in the wall's own (along, deep, z)."""
    start, end = (wall.point(*point) for point in ends)
    return Line(part=wall.part, kind=kind, face=face, start=start, end=end)


def face_marks(wall: Wall) -> tuple[Line, ...]:
    """Return a stroke down the face side to the face edge, and the arrowhead on the face edge that points to it."""
    foot, arm, deep = -wall.height / 2, wall.height / 4, wall.thickness / 2
    return (
        _on(wall, "face mark", Face.INSIDE, (0.0, 0.0, foot + arm), (0.0, 0.0, foot)),
        _on(wall, "face mark", Face.BOTTOM, (0.0, 0.0, foot), (-deep, deep, foot)),
        _on(wall, "face mark", Face.BOTTOM, (0.0, 0.0, foot), (deep, deep, foot)),
    )


def corners(wall: Wall) -> tuple[str, str]:
    """Return the letters of the corners at a wall's datum end and far end."""
    first, last = ({wall.name, mate} for mate in wall.mates)
    letters = {frozenset((WALLS[a], WALLS[b])): CORNER_LETTERS[at] for at, a, b in zip(CORNERS, *_AT, strict=True)}
    return letters[frozenset(first)], letters[frozenset(last)]


def letters_in(walls: tuple[Wall, ...]) -> float:
    """Return how far from each rough end the corner letters are written, mm: clear of the laps, and a whole number."""
    lap = max(wall.shoulder for wall in walls)
    clear = walls[0].allowance + lap + max(_letter_height(wall) for wall in walls) / 2 + _CLEAR
    short = min(wall.allowance + 0.3 * (wall.length - 2 * lap) + lap for wall in walls)
    return float(min(_FIVE * math.ceil(clear / _FIVE), math.floor(short)))


def _letter_height(wall: Wall) -> float:
    return 0.6 * min(wall.thickness, wall.height)


def names(wall: Wall, inset: float) -> tuple[Letter, ...]:
    """Return the wall's name on its face side, and its corners' letters `inset` mm from each rough end.

    They stand on the face side and on the top edge. Who looks at the face side with the top edge up reads the name,
    and the letters under and over it.
    """
    top, word = wall.height / 2, wall.name.upper()
    inner = wall.length - 2 * wall.shoulder  # what the laps leave
    up, level, out = (0.0, 0.0, 1.0), 0.2 * wall.height, wall.length / 2 + wall.allowance - inset
    high = min(0.25 * wall.height, 0.5 * inner / width(word))
    letters = [_letter(wall, Face.INSIDE, word, wall.point(0.0, 0.0, level), up, high)]
    high = min(0.25 * wall.height, 1.6 * (inset - wall.allowance - wall.shoulder), 1.6 * out)  # clear of the lap
    for sign, corner in zip((-1, 1), corners(wall), strict=True):
        letters.append(_letter(wall, Face.INSIDE, corner, wall.point(sign * out, 0.0, -level), up, high))
        place = wall.point(sign * out, wall.thickness / 2, top)
        letters.append(_letter(wall, Face.TOP, corner, place, wall.outward, _letter_height(wall)))
    return tuple(letters)


def _letter(wall: Wall, face: Face, text: str, place: Point, up: Point, high: float) -> Letter:
    return Letter(part=wall.part, face=face, text=text, place=place, along=wall.read, up=up, height=high)


def squared(wall: Wall, along: float, kind: LineKind) -> tuple[Line, ...]:
    """Return a line across the face side from the face edge, and carried round the other three faces."""
    foot, top, deep = -wall.height / 2, wall.height / 2, wall.thickness
    return (
        _on(wall, kind, Face.INSIDE, (along, 0.0, foot), (along, 0.0, top)),
        _on(wall, kind, Face.TOP, (along, 0.0, top), (along, deep, top)),
        _on(wall, kind, Face.OUTSIDE, (along, deep, top), (along, deep, foot)),
        _on(wall, kind, Face.BOTTOM, (along, deep, foot), (along, 0.0, foot)),
    )


def shoulder_lines(wall: Wall, sign: int) -> tuple[Line, ...]:
    """Return the shoulder line at the datum end (sign -1) or far end (+1): face side, and both edges to the depth."""
    along, foot, top = sign * (wall.length / 2 - wall.shoulder), -wall.height / 2, wall.height / 2
    return (
        _on(wall, "cut line", Face.INSIDE, (along, 0.0, foot), (along, 0.0, top)),
        _on(wall, "cut line", Face.BOTTOM, (along, 0.0, foot), (along, wall.depth, foot)),
        _on(wall, "cut line", Face.TOP, (along, 0.0, top), (along, wall.depth, top)),
    )


def gauge_lines(wall: Wall) -> tuple[Line, ...]:
    """Return the gauge line of both laps: along both edges from shoulder to end, and across the end; on no face."""
    lines = []
    foot, top, deep = -wall.height / 2, wall.height / 2, wall.depth
    for sign, name in zip((-1, 1), wall.ends, strict=True):
        end, shoulder = sign * wall.length / 2, sign * (wall.length / 2 - wall.shoulder)
        lines += [
            _on(wall, "gauge line", Face.BOTTOM, (shoulder, deep, foot), (end, deep, foot)),
            _on(wall, "gauge line", name, (end, deep, foot), (end, deep, top)),
            _on(wall, "gauge line", Face.TOP, (end, deep, top), (shoulder, deep, top)),
        ]
    return tuple(lines)


def end_hatching(wall: Wall) -> tuple[Line, ...]:
    """Return the hatching of the waste beyond both finished ends, on the face side."""
    near, far, half = wall.length / 2, wall.length / 2 + wall.allowance, wall.height / 2
    lines: list[Line] = []
    for low, high in ((-far, -near), (near, far)):
        lines += _hatched(wall, Face.INSIDE, lambda u, v: (u, 0.0, v), ((low, -half), (high, half)))
    return tuple(lines)


def lap_hatching(wall: Wall) -> tuple[Line, ...]:
    """Return the hatching of what is cut from both laps, on the face side and on both edges."""
    end, shoulder, half = wall.length / 2, wall.length / 2 - wall.shoulder, wall.height / 2
    lines: list[Line] = []
    for low, high in ((-end, -shoulder), (shoulder, end)):
        lines += _hatched(wall, Face.INSIDE, lambda u, v: (u, 0.0, v), ((low, -half), (high, half)))
        lines += _hatched(wall, Face.BOTTOM, lambda u, v: (u, v, -half), ((low, 0.0), (high, wall.depth)))
        lines += _hatched(wall, Face.TOP, lambda u, v: (u, v, half), ((low, 0.0), (high, wall.depth)))
    return tuple(lines)


def _hatched(wall: Wall, face: Face, lift: Callable[[float, float], Point], corners: tuple[Flat, Flat]) -> list[Line]:
    return [_on(wall, "hatched waste", face, lift(*a), lift(*b)) for a, b in hatching(*corners)]


def hatching(low: Flat, high: Flat) -> list[tuple[Flat, Flat]]:
    """Return parallel lines at 45 degrees, `HATCH` apart, that fill a rectangle from `low` to `high`, in its plane."""
    (u0, v0), (u1, v1) = low, high
    step = HATCH * math.sqrt(2)  # along u, for lines at 45 degrees
    lines = []
    for shift in takewhile(lambda c: c < u1 - v0, count(u0 - v1 + step / 2, step)):  # the line u - v = shift
        a, b = max(v0, u0 - shift), min(v1, u1 - shift)
        lines.append(((min(max(a + shift, u0), u1), a), (min(max(b + shift, u0), u1), b)))
    return lines


def diagonals(wall: Wall) -> tuple[Line, Line]:
    """Return both diagonals of a finished wall's outside face; they cross on its centre."""
    end, half, deep = wall.length / 2, wall.height / 2, wall.thickness
    return (
        _on(wall, "centre", Face.OUTSIDE, (-end, deep, -half), (end, deep, half)),
        _on(wall, "centre", Face.OUTSIDE, (-end, deep, half), (end, deep, -half)),
    )


def sheet_diagonals(sheet: Block) -> tuple[Line, Line]:
    """Return both diagonals of a sheet's upper face."""
    (x0, y0, _), (x1, y1, z) = sheet.low, sheet.high
    return _on_top(sheet.part, "centre", (x0, y0), (x1, y1), z), _on_top(sheet.part, "centre", (x0, y1), (x1, y0), z)


def _on_top(part: str, kind: LineKind, start: Flat, end: Flat, z: float) -> Line:
    return Line(part=part, kind=kind, face=Face.TOP, start=(*start, z), end=(*end, z))


def outline(sheet: Block, face: Face = Face.UNDERSIDE) -> tuple[Line, ...]:
    """Return a sheet's finished outline on its underside, where it is drawn round the frame, or on top; anticlockwise.

    Seen from above it is anticlockwise on either face.
    """
    (x0, y0, z0), (x1, y1, z1) = sheet.low, sheet.high
    z = z0 if face is Face.UNDERSIDE else z1
    ring = ((x0, y0, z), (x1, y0, z), (x1, y1, z), (x0, y1, z))
    return tuple(
        Line(part=sheet.part, kind="cut line", face=face, start=a, end=b)
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
    )


def midline(sheet: Block, way: Flat, aside: Flat = (0.0, 0.0)) -> Line:
    """Return a line across a sheet's upper face, from edge to edge along `way`, through its middle moved by `aside`."""
    half = [(high - low) / 2 for low, high in zip(sheet.low[:2], sheet.high[:2], strict=True)]
    reach = abs(way[0]) * half[0] + abs(way[1]) * half[1]
    start, end = ((aside[0] + side * reach * way[0], aside[1] + side * reach * way[1]) for side in (-1, 1))
    return _on_top(sheet.part, "centre", start, end, sheet.high[2])


def front_letters(sheet: Block, face: Face) -> Letter:
    """Return the word FRONT inside a sheet's front edge, read by who stands before it with that face up."""
    high = min(0.12 * (sheet.high[1] - sheet.low[1]), 0.3 * (sheet.high[0] - sheet.low[0]) / width("FRONT"))
    z, right = (sheet.high[2], 1.0) if face is Face.TOP else (sheet.low[2], -1.0)
    place = (0.0, sheet.low[1] + 1.2 * high, z)
    return Letter(
        part=sheet.part, face=face, text="FRONT", place=place, along=(right, 0.0, 0.0), up=(0.0, 1.0, 0.0), height=high
    )


def front_outside(wall: Wall) -> Letter:
    """Return the word FRONT on the outside face of the front wall, the right way up when the frame is on its head."""
    high = min(0.25 * wall.height, 0.3 * wall.length / width("FRONT"))
    place = wall.point(0.0, wall.thickness, 0.0)
    return Letter(
        part=wall.part,
        face=Face.OUTSIDE,
        text="FRONT",
        place=place,
        along=(-1.0, 0.0, 0.0),
        up=(0.0, 0.0, -1.0),
        height=high,
    )


def cross(hole: Hole, reach: float | None = None) -> tuple[Line, Line]:
    """Return strokes that cross on the centre of a hole that is drilled down; by default a little beyond its rim."""
    x, y, z = hole.centre
    reach = hole.diameter / 2 + _BEYOND if reach is None else reach
    return (
        _on_top(hole.part, "centre", (x - reach, y), (x + reach, y), z),
        _on_top(hole.part, "centre", (x, y - reach), (x, y + reach), z),
    )


def pricked(hole: Hole, face: Face = Face.TOP) -> tuple[Line, Line]:
    """Return a small saltire where a bradawl has pricked the centre of a hole, on the face that it is drilled from."""
    axes = zip(((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), hole.axis, strict=True)
    u, v = (axis for axis, along in axes if not along)

    def at(a: float, b: float) -> Point:
        x, y, z = (c + _PRICK * (a * p + b * q) for c, p, q in zip(hole.centre, u, v, strict=True))
        return x, y, z

    ends = ((at(-1, -1), at(1, 1)), (at(-1, 1), at(1, -1)))
    first, second = (Line(part=hole.part, kind="centre", face=face, start=a, end=b) for a, b in ends)
    return first, second


def rim(hole: Hole) -> tuple[Line, ...]:
    """Return the rim of a hole that is cut down, as chords between points on it."""
    (x, y, z), radius = hole.centre, hole.diameter / 2
    turns = [2 * math.pi * n / _CHORDS for n in range(_CHORDS + 1)]
    ring = [(x + radius * math.cos(turn), y + radius * math.sin(turn)) for turn in turns]
    return tuple(_on_top(hole.part, "cut line", a, b, z) for a, b in pairwise(ring))
