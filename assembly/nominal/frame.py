"""The nominal wall frame as numbers: where every wall, contact face and contact point lies (MODEL.md, 1).

Frame of reference: right-handed, millimetres, origin at the centre of the box on plan and at mid-height of the walls;
x runs along the plain walls, y along the lapped walls, z up.

left, right (lapped, at -x and +x), front, back (plain, at -y and +y)
drawing  : the box as it is looked at, its front to the front; x runs to the right, y to the back, z up. Where the
           design has the lapped walls at front and back, it is this frame after a quarter turn clockwise, seen from
           above, and walls and corners have other names on it. Whatever is shown, made or written is on the drawing
cheek    : face of the lap along the lapped wall; the end of the plain wall closes on it
shoulder : face of the lap across the lapped wall; the inside face of the plain wall closes on it
v, w     : place on a contact face from its centre; v away from the middle of the box, w up
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from assembly.errors import InputError
from assembly.text import near_names

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray
    from assembly.model.design import Design


WALLS = ("left", "right", "front", "back")
LEFT, RIGHT, FRONT, BACK = range(4)
CORNERS = ("right-back", "right-front", "left-back", "left-front")
CORNER_LETTERS = dict(zip(CORNERS, "ABCD", strict=True))  # as pupils write them on the wood
SX = np.array([1, 1, -1, -1])  # side of each corner along x
SY = np.array([1, -1, 1, -1])  # side of each corner along y
LAPPED_AT = np.array([RIGHT, RIGHT, LEFT, LEFT])  # the lapped wall at each corner
PLAIN_AT = np.array([BACK, FRONT, BACK, FRONT])  # the plain wall at each corner
FACES = ("cheek", "shoulder")
_TURNED = (BACK, FRONT, LEFT, RIGHT)  # the wall that a quarter turn clockwise makes of each wall,
_TURNED_CORNERS = (1, 3, 0, 2)  # and of each corner
V_SIGN = np.array([-1, -1, 1, 1])  # the four corners of a contact face: v minus then plus,
W_SIGN = np.array([-1, 1, -1, 1])  # and for each v, w minus then plus

# What a wall may do on the bench: shift along x, along y, turn about z, lean about its own length
# (rotation about y for lapped walls, about x for plain walls); all turns about the origin.
SHIFT_X, SHIFT_Y, TURN, LEAN = range(4)
HELD = ((LEFT, SHIFT_X), (LEFT, SHIFT_Y), (LEFT, TURN))  # the left wall locates the others
PATTERNS = 32  # fixed tie patterns that decide between places of equal gap volume


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Sizes of the nominal wall frame in mm; symbols as in the formulas of `assembly.made`."""

    along_x: float  # L: outside size along x, along the plain walls
    along_y: float  # W: outside size along y, along the lapped walls
    height: float  # H
    lapped: float  # T: thickness of the lapped walls
    plain: float  # t: thickness of the plain walls
    depth: float  # D: depth cut away by the lap
    length_axis: Literal["x", "y"]  # the axis that the drawing calls the length
    turned: bool = False  # whether the drawing has the lapped walls at front and back

    @property
    def tongue(self) -> float:
        """K: thickness that the lap leaves standing."""
        return self.lapped - self.depth

    @property
    def plain_length(self) -> float:
        """Length of a plain wall, between the cheeks."""
        return self.along_x - 2 * self.tongue

    @property
    def lapped_length(self) -> float:
        """Length of a lapped wall, the full outside size."""
        return self.along_y

    @property
    def inside(self) -> tuple[float, float]:
        """Clear sizes inside the walls along x and y."""
        return self.along_x - 2 * self.lapped, self.along_y - 2 * self.plain

    @property
    def face_widths(self) -> tuple[float, float]:
        """Horizontal sizes of the two contact faces: cheek (along y), shoulder (along x); both are `height` high."""
        return self.plain, self.depth

    @property
    def turn(self) -> FloatArray:
        """The turn from this frame to the drawing: (3, 3); none, or a quarter turn."""
        return np.array([[0.0, 1, 0], [-1, 0, 0], [0, 0, 1]]) if self.turned else np.eye(3)

    @property
    def walls(self) -> tuple[str, ...]:
        """What the drawing calls the walls, in the order of `WALLS`: the lapped ones first."""
        return tuple(WALLS[at] for at in _TURNED) if self.turned else WALLS

    @property
    def corners(self) -> tuple[str, ...]:
        """What the drawing calls the corners, in the order of `CORNERS`."""
        return tuple(CORNERS[at] for at in _TURNED_CORNERS) if self.turned else CORNERS

    @property
    def on_plan(self) -> tuple[float, float]:
        """Outside sizes on the drawing, from left to right and from front to back."""
        return (self.along_y, self.along_x) if self.turned else (self.along_x, self.along_y)

    def as_drawn(self, right: float, back: float) -> tuple[float, float]:
        """Return sizes on the drawing, from left to right and from front to back, as length and width."""
        return (right, back) if (self.length_axis == "x") != self.turned else (back, right)

    @property
    def side_names(self) -> dict[str, str]:
        """What the drawing calls each wall, by its place: also whether it is an end or a side."""
        lapped, plain = ("end", "side") if self.length_axis == "x" else ("side", "end")
        return {wall: f"{wall} {lapped if slot in LAPPED_AT else plain}" for slot, wall in enumerate(self.walls)}


def corner_words(corner: str) -> str:
    """Return what a corner is called wherever it is read: its name, and its letter on the wood.

    Examples
    --------
    >>> corner_words("right-back")
    'right-back (A)'
    """
    return f"{corner} ({CORNER_LETTERS[corner]})"


def corner_key() -> str:
    """Return which corner each letter means, as a sentence for text that uses them."""
    return f"Letters of the corners: {', '.join(f'{letter} = {name}' for name, letter in CORNER_LETTERS.items())}."


# Every way to type a corner: its name, the same the other way round, and its letter.
_AS_TYPED = {
    typed: corner
    for corner, lapped, plain in zip(CORNERS, LAPPED_AT.tolist(), PLAIN_AT.tolist(), strict=True)
    for typed in (corner, f"{WALLS[plain]}-{WALLS[lapped]}", CORNER_LETTERS[corner], CORNER_LETTERS[corner].lower())
}


def corner_typed(where: str, word: str) -> str:
    """Return the corner that a word means: `right-back`, `back-right` or its letter.

    Raises
    ------
    InputError
        If it is none; the nearest is offered, or all where none is near.
    """
    if word in _AS_TYPED:
        return _AS_TYPED[word]
    near = near_names(word, [typed for typed in _AS_TYPED if len(typed) > 1])
    known = f"must be one of {', '.join(map(corner_words, CORNERS))}; name or letter will do"
    msg = f"{where}: unknown name {word!r}; " + (f"did you mean {_AS_TYPED[near[0]]!r}?" if near else known)
    raise InputError(msg)


def frame(design: Design) -> Frame:
    """Return the nominal frame of `design`."""
    return Frame(
        along_x=design.box.along_x,
        along_y=design.box.along_y,
        height=design.box.height,
        lapped=design.timber.lapped,
        plain=design.timber.plain,
        depth=design.timber.lap_share * design.timber.lapped,
        length_axis="x" if design.box.lapped == "ends" else "y",
        turned=design.box.turned,
    )


def face_points(box: Frame) -> FloatArray:
    """Return v and w of the four corners of both contact faces: (2 faces, 4 corners, 2), mm."""
    half = np.array(box.face_widths)[:, None] / 2
    v = half * V_SIGN
    w = np.broadcast_to(box.height / 2 * W_SIGN, v.shape)
    return np.stack([v, w], axis=-1)


def contact_points(box: Frame) -> FloatArray:
    """Return the place of every contact point: (4 corners, 2 faces, 4 points, 3 axes), mm."""
    points = np.empty((4, 2, 4, 3))
    v, w = np.moveaxis(face_points(box), -1, 0)
    cheek_x, shoulder_y = box.along_x / 2 - box.tongue, box.along_y / 2 - box.plain
    points[..., 2] = w
    points[:, 0, :, 0] = SX[:, None] * cheek_x
    points[:, 0, :, 1] = SY[:, None] * (shoulder_y + box.plain / 2 + v[0])
    points[:, 1, :, 0] = SX[:, None] * (cheek_x - box.depth / 2 + v[1])
    points[:, 1, :, 1] = SY[:, None] * shoulder_y
    return points


def contact_matrix(box: Frame) -> FloatArray:
    """Return what each wall's movement does to each gap: (32 points, 4 walls, 4 freedoms), mm per mm or per radian.

    A positive entry opens the gap (MODEL.md, 3). Points run over corners, faces and face corners in the order of
    `contact_points`.
    """
    x, y, z = np.moveaxis(contact_points(box), -1, 0)
    matrix = np.zeros((4, 2, 4, 4, 4))
    for corner in range(4):
        sx, sy, lapped, plain = SX[corner], SY[corner], LAPPED_AT[corner], PLAIN_AT[corner]
        cheek, shoulder = matrix[corner]
        cheek[:, lapped, SHIFT_X], cheek[:, plain, SHIFT_X] = sx, -sx
        cheek[:, lapped, TURN], cheek[:, plain, TURN] = -sx * y[corner, 0], sx * y[corner, 0]
        cheek[:, lapped, LEAN] = sx * z[corner, 0]
        shoulder[:, plain, SHIFT_Y], shoulder[:, lapped, SHIFT_Y] = sy, -sy
        shoulder[:, plain, TURN], shoulder[:, lapped, TURN] = sy * x[corner, 1], -sy * x[corner, 1]
        shoulder[:, plain, LEAN] = -sy * z[corner, 1]
    return matrix.reshape(32, 4, 4)


def point_areas(box: Frame) -> FloatArray:
    """Return the share of contact area that belongs to each point: (32,), mm²; a quarter of its face."""
    return np.tile(np.repeat(np.array(box.face_widths) * box.height / 4, 4), 4)


def tie_patterns() -> FloatArray:
    """Return the fixed patterns that decide between places of equal gap volume (MODEL.md, 3): (32 patterns, 32 points).

    Pattern 4b + m is sin(k (b + 1)), k = 1…32, with its corner blocks permuted by m:
    0 as numbered, 1 front and back swapped, 2 left and right swapped, 3 both.
    """
    k = np.arange(1, 33)
    swaps = np.array([[0, 1, 2, 3], [1, 0, 3, 2], [2, 3, 0, 1], [3, 2, 1, 0]])
    base = np.sin(np.outer(np.arange(1, 9), k)).reshape(8, 1, 4, 8)
    return np.take_along_axis(base, swaps[None, :, :, None], axis=2).reshape(PATTERNS, 32)


def free_columns() -> IntArray:
    """Return the 13 columns of the flattened (4 walls, 4 freedoms) that are free to move."""
    held = {wall * 4 + freedom for wall, freedom in HELD}
    return np.array([column for column in range(16) if column not in held])


def squared_row() -> FloatArray:
    """Return the row c of c u = 0 that makes the diagonals equal, over the 13 free columns."""
    row = np.zeros((4, 4))
    row[[FRONT, BACK], TURN], row[[LEFT, RIGHT], TURN] = 1, -1
    return row.reshape(16)[free_columns()]
