"""The faces of boxes as they were made: what tolerance hands to the solids and the solids to the viewer.

Arrays hold one box, or many with the boxes on the last axis. Corners, face corners and walls are in the order of
`assembly.nominal.frame`. A height is material left on, along the face's outward normal: mm, positive where a wall is
too long or a rebate too small.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Literal, Self

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.nominal.frame import Frame


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeFaces:
    """Heights at the corners of every worked face, and the timber's own errors; (…) stands for the boxes, if many."""

    plain_end: FloatArray  # (4 corners, 4, …) the plain wall's end there
    lapped_end: FloatArray  # (4 corners, 4, …) the lapped wall's end there, over its tongue
    cheek: FloatArray  # (4 corners, 4, …)
    shoulder: FloatArray  # (4 corners, 4, …) the offset of the end it was marked from included
    inside: FloatArray  # (4 corners, 4, …) the plain wall's inside face over the shoulder: bow and twist
    thickness: FloatArray  # (4 walls, …) true thickness less nominal
    height: FloatArray  # (4 walls, …) true height less nominal
    gauge_from: Literal["inside", "outside"]  # the face of the lapped walls that stays put

    @classmethod
    def nominal(cls, gauge_from: Literal["inside", "outside"] = "inside") -> Self:
        """Return one box without errors."""
        face, wall = np.zeros((4, 4)), np.zeros(4)
        return cls(
            plain_end=face,
            lapped_end=face,
            cheek=face,
            shoulder=face,
            inside=face,
            thickness=wall,
            height=wall,
            gauge_from=gauge_from,
        )

    @property
    def end_offset(self) -> FloatArray:
        """Offset η of the lapped wall's end at each corner: mean of its four heights, (4 corners, …)."""
        return np.asarray(self.lapped_end.mean(axis=1), dtype=np.float64)

    def gaps(self) -> FloatArray:
        """Return the gaps before the frame settles: (32, …), mm; minus the material left by both faces."""
        both = np.stack([self.cheek + self.plain_end, self.shoulder + self.inside], axis=1)
        return -both.reshape(32, *both.shape[3:])

    def box(self, index: int) -> Self:
        """Return one box of many."""
        arrays = {f.name: getattr(self, f.name)[..., index] for f in fields(self) if f.name != "gauge_from"}
        return type(self)(**arrays, gauge_from=self.gauge_from)


@dataclass(frozen=True, slots=True, kw_only=True)
class SettledBox:
    """One box as made and as its frame settled."""

    frame: Frame
    faces: MadeFaces
    gaps: FloatArray  # (4 corners, 2 faces, 4 points) mm, never below zero
    poses: FloatArray  # (4 walls, 4) shift along x and y (mm), turn about z and lean about its length (radians)
    outcomes: dict[str, float]  # by name, as read off the box as a whole
    index: int  # its number in the study, from 0

    @property
    def corner_gaps(self) -> FloatArray:
        """Largest gap at each corner: (4 corners,), mm."""
        return np.asarray(self.gaps.max(axis=(1, 2)), dtype=np.float64)
