"""Marking-out lines and waste as geometry: segments on the faces of the uncut timber, and boxes of what is cut away.

uncut    : a wall as it is handed out: its finished length, and an allowance of waste beyond each finished end
finished end : the plane of an end as drawn; lines that are marked on an end lie there, when the waste is off
datum end : from which the rule starts: the left end of plain walls and the front end of lapped walls (MODEL.md, 2.1);
            turned, the back end of plain walls and the left end of lapped walls, as a quarter turn takes them there

Everything stands where it stands in the closed nominal box, in mm, on the drawing (`assembly.nominal.frame`). On a
wall, `along` runs along its length from its middle, away from the datum end; `deep` from its inside face (0) to its
outside face.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from assembly.nominal.blanks import ALLOWANCE, blank
from assembly.nominal.frame import LAPPED_AT
from assembly.nominal.plaque import TOWARDS
from assembly.planning.strokes import strokes
from assembly.planning.wall_faces import Face

if TYPE_CHECKING:
    from assembly.nominal.frame import Frame
    from assembly.nominal.plaque import Point

LineKind = Literal[
    "face mark", "datum", "cut line", "gauge line", "hatched waste", "centre", "letter", "bend line", "engraving"
]

HATCH = 3.0  # distance between hatching lines, mm; project choice
SPARE = 1.0  # what the saw leaves outside a line for the sander, mm; common practice, no source
KERF = 1.0  # width of a saw's cut, mm; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight line on a face of an uncut part; mm."""

    part: str  # as named in `assembly.solids.parts`
    kind: LineKind
    face: Face
    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Length, mm."""
        return math.dist(self.start, self.end)


@dataclass(frozen=True, slots=True, kw_only=True)
class Letter:
    """A word or letter written on a part; mm."""

    part: str
    face: Face
    text: str
    place: Point  # its middle
    along: Point  # unit vector in which it is read
    up: Point  # unit vector from its foot to its head
    height: float
    kind: LineKind = "letter"

    @property
    def lines(self) -> tuple[Line, ...]:
        """Its strokes, on the face that it is written on."""
        return _written(self)

    def on_face(self, point: tuple[float, float]) -> Point:
        """Return the place of a point that is given in letters' heights, to the right of its middle and up."""
        right, up = self.height * point[0], self.height * point[1]
        x, y, z = (o + right * a + up * b for o, a, b in zip(self.place, self.along, self.up, strict=True))
        return x, y, z


@lru_cache(maxsize=256)
def _written(letter: Letter) -> tuple[Line, ...]:
    """Return the strokes of a letter; every later step of the making asks for them again."""
    return tuple(
        Line(part=letter.part, kind=letter.kind, face=letter.face, start=letter.on_face(a), end=letter.on_face(b))
        for a, b in strokes(letter.text)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A box with its faces along the axes: an uncut part, or a piece of waste; mm."""

    part: str
    name: str
    low: Point
    high: Point

    @property
    def volume(self) -> float:
        """Volume, mm³."""
        return math.prod(high - low for low, high in zip(self.low, self.high, strict=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A wall on the bench: its finished sizes, its place, the waste beyond its ends and the lap it will carry."""

    name: str  # one of `frame.WALLS`, as on the drawing
    lapped: bool
    length: float
    thickness: float
    height: float
    inside: float  # distance of the inside face from the middle of the box
    allowance: float
    shoulder: float  # from each finished end; 0 where the wall has no lap
    depth: float  # of the lap; 0 where the wall has none

    @property
    def part(self) -> str:
        """The wall's name among the parts."""
        return f"{self.name} wall"

    @property
    def way(self) -> Point:
        """Unit vector along the wall, from its datum end to its far end."""
        if self.name in {"front", "back"}:
            return 1.0, 0.0, 0.0
        return (0.0, 1.0, 0.0) if self.lapped else (0.0, -1.0, 0.0)

    @property
    def ends(self) -> tuple[Face, Face]:
        """The datum end and the far end."""
        if self.name in {"front", "back"}:
            return Face.LEFT_END, Face.RIGHT_END
        return (Face.FRONT_END, Face.BACK_END) if self.lapped else (Face.BACK_END, Face.FRONT_END)

    @property
    def mates(self) -> tuple[str, str]:
        """The names of the walls that meet it at its datum end and at its far end."""
        if self.name in {"front", "back"}:
            return "left", "right"
        return ("front", "back") if self.lapped else ("back", "front")

    def point(self, along: float, deep: float, z: float) -> Point:
        """Return a point of the wall on the drawing."""
        across, (x, y, _), (out_x, out_y, _) = self.inside + deep, self.way, self.outward
        return along * x + across * out_x, along * y + across * out_y, z

    @property
    def outward(self) -> Point:
        """Unit vector from the inside face to the outside face."""
        return (*TOWARDS[self.name], 0.0)

    @property
    def read(self) -> Point:
        """Unit vector from left to right for who looks at the inside face with the top edge up."""
        x, y, _ = self.outward
        return y, -x, 0.0

    def block(self, name: str, along: tuple[float, float], deep: tuple[float, float]) -> Block:
        """Return a block of the wall's full height."""
        ends = [self.point(a, d, z) for a, d, z in zip(along, deep, (-self.height / 2, self.height / 2), strict=True)]
        low, high = (tuple(pick(pair) for pair in zip(*ends, strict=True)) for pick in (min, max))
        return Block(part=self.part, name=name, low=low, high=high)


def bench_walls(box: Frame, allowance: float = ALLOWANCE, overlength: float = 0.0) -> tuple[Wall, ...]:
    """Return the four walls in the order of `frame.WALLS`: the lapped ones first.

    Each has `allowance` mm of waste beyond each finished end; plain walls are marked `overlength` mm longer than drawn.
    """
    return tuple(_wall(box, slot, allowance, overlength) for slot in range(4))


def _wall(box: Frame, slot: int, allowance: float, overlength: float) -> Wall:
    lapped, (inside_x, inside_y) = slot in LAPPED_AT, box.inside
    return Wall(
        name=box.walls[slot],
        lapped=lapped,
        length=box.lapped_length if lapped else box.plain_length + overlength,
        thickness=box.lapped if lapped else box.plain,
        height=box.height,
        inside=(inside_x if lapped else inside_y) / 2,
        allowance=allowance,
        shoulder=box.plain if lapped else 0.0,
        depth=box.depth if lapped else 0.0,
    )


def uncut(wall: Wall) -> Block:
    """Return the wall as it is handed out."""
    half = blank(wall.length, wall.allowance) / 2
    return wall.block("uncut", (-half, half), (0.0, wall.thickness))


def spare(allowance: float) -> float:
    """Return what the saw leaves outside a line for the sander, of an allowance of waste; mm."""
    return min(SPARE, allowance / 2)


def end_waste(wall: Wall) -> tuple[Block, Block]:
    """Return what the saw takes off beyond the datum end and the far end."""
    return _beyond(wall, "waste", wall.length / 2 + spare(wall.allowance), wall.length / 2 + wall.allowance)


def end_sanding(wall: Wall) -> tuple[Block, Block]:
    """Return what the sander takes off at the datum end and the far end, down to the line."""
    return _beyond(wall, "sanding", wall.length / 2, wall.length / 2 + spare(wall.allowance))


def _beyond(wall: Wall, what: str, near: float, far: float) -> tuple[Block, Block]:
    first, last = wall.ends
    whole = (0.0, wall.thickness)
    return (
        wall.block(f"{what} beyond the {first}", (-far, -near), whole),
        wall.block(f"{what} beyond the {last}", (near, far), whole),
    )


def lap_kerf(wall: Wall) -> tuple[Block, Block]:
    """Return what the saw takes on the waste side of both shoulder lines, at the datum end and the far end."""
    shoulder = wall.length / 2 - wall.shoulder
    return _of_laps(wall, "saw cut", shoulder, shoulder + _kerf(wall))


def lap_waste(wall: Wall) -> tuple[Block, Block]:
    """Return what is chiselled from the two laps of a lapped wall, from the saw cut to the end."""
    return _of_laps(wall, "waste", wall.length / 2 - wall.shoulder + _kerf(wall), wall.length / 2)


def _kerf(wall: Wall) -> float:
    return min(KERF, wall.shoulder / 2)


def _of_laps(wall: Wall, what: str, near: float, far: float) -> tuple[Block, Block]:
    first, last = wall.ends
    return (
        wall.block(f"{what} of the lap at the {first}", (-far, -near), (0.0, wall.depth)),
        wall.block(f"{what} of the lap at the {last}", (near, far), (0.0, wall.depth)),
    )


def laid_on(wall: Wall, sign: int) -> Block:
    """Return the end of the plain wall that is laid across a lapped wall's face side, at the datum end or the far end.

    It stands where it would stand in its lap, but on the face side; only as much of it as its own thickness twice.
    """
    end, shoulder = sign * wall.length / 2, sign * (wall.length / 2 - wall.shoulder)
    name = f"{wall.mates[(sign + 1) // 2]} wall"
    return wall.block(name, (min(end, shoulder), max(end, shoulder)), (-2 * wall.shoulder, 0.0))


def sheet_waste(raw: Block, finished: Block) -> tuple[Block, ...]:
    """Return what is taken off a sheet to bring it from `raw` to `finished`: up to four strips, none of them empty.

    The strips at left and right run the full width; those at front and back lie between them.
    """
    (x0, y0, z0), (x1, y1, z1) = raw.low, raw.high
    (left, front, _), (right, back, _) = finished.low, finished.high
    strips = {
        "left": ((x0, y0, z0), (left, y1, z1)),
        "right": ((right, y0, z0), (x1, y1, z1)),
        "front": ((left, y0, z0), (right, front, z1)),
        "back": ((left, back, z0), (right, y1, z1)),
    }
    blocks = (Block(part=raw.part, name=f"waste at the {side}", low=a, high=b) for side, (a, b) in strips.items())
    return tuple(block for block in blocks if block.volume > 0)
