"""The lines of the making, drawn on the walls of `assembly.planning.marks` and on the lid; mm, in the box's frame."""

from __future__ import annotations

import math
from itertools import count, takewhile
from typing import TYPE_CHECKING

from assembly.frame import CORNERS
from assembly.planning.marks import HATCH, Letter, Line

if TYPE_CHECKING:
    from collections.abc import Callable

    from assembly.fittings import Hole
    from assembly.planning.marks import Block, LineKind, Wall
    from assembly.plaque import Point

    Flat = tuple[float, float]

CORNER_LETTERS = dict(zip(CORNERS, "ABCD", strict=True))


def _on(wall: Wall, kind: LineKind, face: str, *ends: Point) -> Line:
    """Return a line from two points in the wall's own (along, deep, z)."""
    start, end = (wall.point(*point) for point in ends)
    return Line(part=wall.part, kind=kind, face=face, start=start, end=end)


def face_marks(wall: Wall) -> tuple[Line, ...]:
    """Return a stroke down the face side to the face edge, and the arrowhead on the face edge that points to it."""
    foot, arm, deep = -wall.height / 2, wall.height / 4, wall.thickness / 2
    return (
        _on(wall, "face mark", "inside", (0.0, 0.0, foot + arm), (0.0, 0.0, foot)),
        _on(wall, "face mark", "bottom", (0.0, 0.0, foot), (-deep, deep, foot)),
        _on(wall, "face mark", "bottom", (0.0, 0.0, foot), (deep, deep, foot)),
    )


def names(wall: Wall) -> tuple[Letter, ...]:
    """Return the wall's name on its face side, and the letter of the corner near each end of its top edge."""
    top, side = wall.height / 2, wall.name
    name = Letter(part=wall.part, face="inside", text=side.upper(), place=wall.point(0.0, 0.0, 0.0))
    letters = [name]
    for sign, end in zip((-1, 1), wall.end_names, strict=True):
        corner = f"{side}-{end.removesuffix(' end')}" if wall.lapped else f"{end.removesuffix(' end')}-{side}"
        # Four fifths of the way to where the lap or the mate begins, so that the letter outlives the lap.
        along = sign * 0.8 * (wall.length / 2 - wall.shoulder)
        place = wall.point(along, wall.thickness / 2, top)
        letters.append(Letter(part=wall.part, face="top", text=CORNER_LETTERS[corner], place=place))
    return tuple(letters)


def squared(wall: Wall, along: float, kind: LineKind) -> tuple[Line, ...]:
    """Return a line across the face side from the face edge, and carried round the other three faces."""
    foot, top, deep = -wall.height / 2, wall.height / 2, wall.thickness
    return (
        _on(wall, kind, "inside", (along, 0.0, foot), (along, 0.0, top)),
        _on(wall, kind, "top", (along, 0.0, top), (along, deep, top)),
        _on(wall, kind, "outside", (along, deep, top), (along, deep, foot)),
        _on(wall, kind, "bottom", (along, deep, foot), (along, 0.0, foot)),
    )


def shoulder_lines(wall: Wall, sign: int) -> tuple[Line, ...]:
    """Return the shoulder line at the datum end (sign -1) or far end (+1): face side, and both edges to the depth."""
    along, foot, top = sign * (wall.length / 2 - wall.shoulder), -wall.height / 2, wall.height / 2
    return (
        _on(wall, "cut line", "inside", (along, 0.0, foot), (along, 0.0, top)),
        _on(wall, "cut line", "bottom", (along, 0.0, foot), (along, wall.depth, foot)),
        _on(wall, "cut line", "top", (along, 0.0, top), (along, wall.depth, top)),
    )


def gauge_lines(wall: Wall) -> tuple[Line, ...]:
    """Return the gauge line of both laps: along both edges from shoulder to end, and across the end; on no face."""
    lines = []
    foot, top, deep = -wall.height / 2, wall.height / 2, wall.depth
    for sign, name in zip((-1, 1), wall.end_names, strict=True):
        end, shoulder = sign * wall.length / 2, sign * (wall.length / 2 - wall.shoulder)
        lines += [
            _on(wall, "gauge line", "bottom", (shoulder, deep, foot), (end, deep, foot)),
            _on(wall, "gauge line", name, (end, deep, foot), (end, deep, top)),
            _on(wall, "gauge line", "top", (end, deep, top), (shoulder, deep, top)),
        ]
    return tuple(lines)


def end_hatching(wall: Wall) -> tuple[Line, ...]:
    """Return the hatching of the waste beyond both finished ends, on the face side."""
    near, far, half = wall.length / 2, wall.length / 2 + wall.allowance, wall.height / 2
    lines: list[Line] = []
    for low, high in ((-far, -near), (near, far)):
        lines += _hatched(wall, "inside", lambda u, v: (u, 0.0, v), ((low, -half), (high, half)))
    return tuple(lines)


def lap_hatching(wall: Wall) -> tuple[Line, ...]:
    """Return the hatching of what is cut from both laps, on the face side and on both edges."""
    end, shoulder, half = wall.length / 2, wall.length / 2 - wall.shoulder, wall.height / 2
    lines: list[Line] = []
    for low, high in ((-end, -shoulder), (shoulder, end)):
        lines += _hatched(wall, "inside", lambda u, v: (u, 0.0, v), ((low, -half), (high, half)))
        lines += _hatched(wall, "bottom", lambda u, v: (u, v, -half), ((low, 0.0), (high, wall.depth)))
        lines += _hatched(wall, "top", lambda u, v: (u, v, half), ((low, 0.0), (high, wall.depth)))
    return tuple(lines)


def _hatched(wall: Wall, face: str, lift: Callable[[float, float], Point], corners: tuple[Flat, Flat]) -> list[Line]:
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
        _on(wall, "centre", "outside", (-end, deep, -half), (end, deep, half)),
        _on(wall, "centre", "outside", (-end, deep, half), (end, deep, -half)),
    )


def sheet_diagonals(sheet: Block) -> tuple[Line, Line]:
    """Return both diagonals of a sheet's upper face."""
    (x0, y0, _), (x1, y1, z) = sheet.low, sheet.high
    return (
        Line(part=sheet.part, kind="centre", face="top", start=(x0, y0, z), end=(x1, y1, z)),
        Line(part=sheet.part, kind="centre", face="top", start=(x0, y1, z), end=(x1, y0, z)),
    )


def outline(sheet: Block) -> tuple[Line, ...]:
    """Return a sheet's finished outline on its underside, where it is drawn round the frame; anticlockwise."""
    (x0, y0, z), (x1, y1, _) = sheet.low, sheet.high
    ring = ((x0, y0, z), (x1, y0, z), (x1, y1, z), (x0, y1, z))
    return tuple(
        Line(part=sheet.part, kind="cut line", face="underside", start=a, end=b)
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
    )


def cross(hole: Hole) -> tuple[Line, Line]:
    """Return the two strokes that cross on the centre of a hole that is drilled down, as long as the hole is wide."""
    (x, y, z), reach, part = hole.centre, hole.diameter / 2, hole.part
    return (
        Line(part=part, kind="centre", face="top", start=(x - reach, y, z), end=(x + reach, y, z)),
        Line(part=part, kind="centre", face="top", start=(x, y - reach, z), end=(x, y + reach, z)),
    )
