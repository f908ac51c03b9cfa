"""The joints of one sampled box, and the marks that tell on their faces how they fit.

joint : two faces that close on each other, cheek or shoulder of one corner
patch : the mark of a joint on one of its two faces: ground, ink pattern and outline
worst : the joint with the largest gap of the box that is shown

Lengths are millimetres, in the frame of `assembly.frame`: x right, y back, z up, origin in the middle of the walls.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.frame import CORNERS, FACES, LAPPED_AT, PLAIN_AT, SX, SY, WALLS, contact_points
from viewer.fits import Fit, figure, fit_of, pattern

if TYPE_CHECKING:
    from assembly.made import SettledBox
    from viewer.tints import FloatArray

WALL_NAMES = tuple(f"{wall} wall" for wall in WALLS)
PITCH = 1 / 70  # of a pattern, as a share of the room that the exploded parts take up
LIFT = 1 / 5000  # how far a patch stands off its face, as a share of the same


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """The mark of a joint on the face of one part; points stand where the closed box has them."""

    part: int  # index of the part whose face it lies on
    face: FloatArray  # (4 corners, 3) the contact face, going round
    ink: FloatArray  # (k, 4 corners, 3) areas of ink on it


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """One joint: where, how wide its largest gap is, and the word for that."""

    corner: str  # `right-back` for one
    face: str  # cheek or shoulder
    gap: float  # mm
    fit: Fit
    words: str  # word and figure
    worst: bool
    patches: tuple[Patch, ...]  # on the lapped and on the plain wall

    @property
    def name(self) -> str:
        """What the joint is called."""
        return f"{self.corner} {self.face}"


def joints_of(settled: SettledBox, scale: tuple[Fit, ...], names: list[str], extent: float) -> tuple[Joint, ...]:
    """Return the joints of a box in the order of its record; the first of the largest gaps is the worst.

    Parameters
    ----------
    settled : SettledBox
        The box.
    scale : tuple of Fit
        The words.
    names : list of str
        Names of the parts that are shown, in order.
    extent : float
        Diagonal of the room that the exploded parts take up, mm.
    """
    gaps = settled.gaps.max(axis=2)
    contacts = contact_points(settled.frame)
    found = []
    for corner, corner_name in enumerate(CORNERS):
        walls = [names.index(WALL_NAMES[at[corner]]) for at in (LAPPED_AT, PLAIN_AT)]
        for face, face_name in enumerate(FACES):
            gap = float(gaps[corner, face])
            fit = fit_of(gap, scale)
            normal = np.array([-SX[corner], 0.0, 0.0]) if face == 0 else np.array([0.0, SY[corner], 0.0])
            patches = tuple(
                _patch(wall, contacts[corner, face], out * normal, fit, extent)
                for wall, out in zip(walls, (1, -1), strict=True)
            )
            found.append(
                Joint(
                    corner=corner_name,
                    face=face_name,
                    gap=gap,
                    fit=fit,
                    words=f"{fit.word}, {figure(gap, scale)}",
                    worst=2 * corner + face == int(gaps.argmax()),
                    patches=patches,
                )
            )
    return tuple(found)


def _patch(part: int, contact: FloatArray, outward: FloatArray, fit: Fit, extent: float) -> Patch:
    """Return the mark on one face: the contact rectangle a little off the face, with ink twice as far off."""
    origin, along, upward = contact[0], contact[2] - contact[0], contact[1] - contact[0]
    width, height = float(np.linalg.norm(along)), float(np.linalg.norm(upward))
    ink = pattern(fit.word, width, height, extent * PITCH)
    lift = extent * LIFT * outward
    corners = np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    frame = np.stack([along, upward])
    return Patch(
        part=part,
        face=origin + lift + corners @ frame,
        ink=origin + 2 * lift + ink / [width, height] @ frame,
    )
