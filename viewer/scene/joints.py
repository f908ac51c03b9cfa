"""The joints of one sampled box, and the marks that tell on their faces how they fit.

joint : two faces that close on each other, cheek or shoulder of one corner
patch : the mark of a joint on one of its two faces: ground, ink pattern and outline
worst : the joint with the largest gap of the box that is shown

Lengths are millimetres, on the drawing (`assembly.nominal.frame`): x right, y back, z up, origin in the middle of the
walls.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.nominal.frame import FACES, LAPPED_AT, PLAIN_AT, SX, SY, WALLS, contact_points, corner_words
from viewer.scene.patterns import pattern

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.made.gap_classes import GapClass, GapScale
    from assembly.made.records import SettledBox

WALL_NAMES = tuple(f"{wall} wall" for wall in WALLS)
PITCH = 1 / 70  # of a pattern, as a share of the room that the exploded parts take up
LIFT = 1 / 5000  # how far a patch stands off its face, as a share of the same
_FLAT = 0.25  # of what a patch stands off its face; with less twist than that its ink lies on it in one piece
_ROUND = [0, 2, 3, 1]  # the contact points of a face, going round
_PIECES = 8  # pieces of ink to a face's width or height, where the face is twisted


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """The mark of a joint on the face of one part; points stand where the closed box has them."""

    part: int  # index of the part whose face it lies on
    face: FloatArray  # (4 corners, 3) the contact face, going round
    ink: FloatArray  # (k, 4 corners, 3) areas of ink on it

    @property
    def ground(self) -> FloatArray:
        """The face as four triangles that meet over its middle: (4, 3 corners, 3), mm."""
        middle = np.broadcast_to(self.face.mean(axis=0), (4, 3))
        return np.stack([self.face, np.roll(self.face, -1, axis=0), middle], axis=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """One joint: where, how wide its largest gap is, and the word for that."""

    corner: str  # `right-back` for one
    face: str  # cheek or shoulder
    gap: float  # mm
    gaps: tuple[float, ...]  # mm, at the corners of its face in the order of a patch's
    fit: GapClass
    words: str  # word and figure
    worst: bool
    patches: tuple[Patch, ...]  # on the lapped and on the plain wall

    @property
    def name(self) -> str:
        """What the joint is called."""
        return f"{corner_words(self.corner)} {self.face}"


def joints_of(
    settled: SettledBox,
    scale: GapScale,
    names: list[str],
    extent: float,
    contacts: FloatArray | None = None,
) -> tuple[Joint, ...]:
    """Return the joints of a box in the order of its record; the first of the largest gaps is the worst.

    Parameters
    ----------
    settled : SettledBox
        The box.
    scale : GapScale
        The words for a gap.
    names : list of str
        Names of the parts that are shown, in order.
    extent : float
        Diagonal of the room that the exploded parts take up, mm.
    contacts : (4 corners, 2 faces, 4 points, 2 walls, 3) float, optional
        Where the corners of every face stand on the lapped and on the plain wall; without it, at their nominal places.
    """
    gaps = settled.gaps.max(axis=2)
    if contacts is None:
        contacts = np.repeat(contact_points(settled.frame)[:, :, :, None], 2, axis=3) @ settled.frame.turn.T
    found = []
    for corner, corner_name in enumerate(settled.frame.corners):
        walls = [names.index(f"{settled.frame.walls[at[corner]]} wall") for at in (LAPPED_AT, PLAIN_AT)]
        for face, face_name in enumerate(FACES):
            gap = float(gaps[corner, face])
            fit = scale.fit_of(gap)
            normal = np.array([-SX[corner], 0.0, 0.0]) if face == 0 else np.array([0.0, SY[corner], 0.0])
            normal = settled.frame.turn @ normal
            patches = tuple(
                _patch(wall, contacts[corner, face, :, body], out * normal, fit, extent)
                for body, (wall, out) in enumerate(zip(walls, (1, -1), strict=True))
            )
            found.append(
                Joint(
                    corner=corner_name,
                    face=face_name,
                    gap=gap,
                    gaps=tuple(settled.gaps[corner, face, _ROUND].tolist()),
                    fit=fit,
                    words=f"{fit.word}, {scale.figure(gap)}",
                    worst=2 * corner + face == int(gaps.argmax()),
                    patches=patches,
                )
            )
    return tuple(found)


def _patch(part: int, contact: FloatArray, outward: FloatArray, fit: GapClass, extent: float) -> Patch:
    """Return the mark on one face: the contact face a little off the timber, with ink twice as far off."""
    along, upward = contact[2] - contact[0], contact[1] - contact[0]
    width, height = float(np.linalg.norm(along)), float(np.linalg.norm(upward))
    ink = pattern(fit.word, width, height, extent * PITCH) / [width, height]
    if np.abs(_twist(contact)).max() > _FLAT * extent * LIFT:
        ink = _in_pieces(ink)
    lift = extent * LIFT * outward
    corners = np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    return Patch(part=part, face=_on_face(contact, corners) + lift, ink=_on_face(contact, ink) + 2 * lift)


def _twist(contact: FloatArray) -> FloatArray:
    """Return how far the corners of a face stand off the plane through their middle: (3,), mm."""
    return np.asarray((contact[0] - contact[1] - contact[2] + contact[3]) / 4, dtype=np.float64)


def _on_face(contact: FloatArray, places: FloatArray) -> FloatArray:
    """Return points of a face from their shares of its width and height: (…, 2) to (…, 3), mm.

    A made face is four triangles that meet over its middle (a fan, see `assembly.solids.polyhedron`), so of the
    twist a point takes the smaller of its two distances from the middle, not their product.
    """
    along = (contact[2] + contact[3] - contact[0] - contact[1]) / 4
    upward = (contact[1] + contact[3] - contact[0] - contact[2]) / 4
    s, t = np.moveaxis(2 * np.asarray(places, dtype=np.float64)[..., None] - 1, -2, 0)
    twisted = np.sign(s) * np.sign(t) * np.minimum(np.abs(s), np.abs(t)) * _twist(contact)
    return np.asarray(contact.mean(axis=0) + s * along + t * upward + twisted, dtype=np.float64)


def _in_pieces(ink: FloatArray) -> FloatArray:
    """Return areas of ink, (k, 4, 2) as shares of a face, cut into pieces small enough to lie on a twisted face."""
    pieces = []
    for area in ink:
        across, up = (max(1, math.ceil(_PIECES * side)) for side in np.ptp(area, axis=0).tolist())
        u, v = np.meshgrid(np.linspace(0, 1, across + 1), np.linspace(0, 1, up + 1), indexing="ij")
        low = area[0] + u[..., None] * (area[1] - area[0])
        high = area[3] + u[..., None] * (area[2] - area[3])
        grid = low + v[..., None] * (high - low)
        corners = (grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:])
        pieces.append(np.stack(corners, axis=2).reshape(-1, 4, 2))
    return np.concatenate(pieces)
