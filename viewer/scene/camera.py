"""The view of a drawing: from which side, at what scale, and where on the picture.

A parallel projection, so that parallel edges stay parallel and equal lengths equal, wherever they lie.
x right, y back, z up in millimetres; on the picture pixels, x to the right and y down.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Direction:
    """Where the viewer stands: degrees round from the front towards the right, and up from the level."""

    round: float
    up: float

    @property
    def axes(self) -> FloatArray:
        """Unit vectors to the right and up on the picture, and towards the viewer: (3, 3), not to be written to."""
        return _axes(self.round, self.up)


@lru_cache(maxsize=64)
def _axes(turned: float, raised: float) -> FloatArray:
    """Return the axes of a direction, which every array of a drawing asks for."""
    a, e = np.radians([turned, raised])
    right = [np.cos(a), np.sin(a), 0.0]
    up = [-np.sin(a) * np.sin(e), np.cos(a) * np.sin(e), np.cos(e)]
    towards = [np.sin(a) * np.cos(e), -np.cos(a) * np.cos(e), np.sin(e)]
    found = np.array([right, up, towards])
    found.flags.writeable = False
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A direction with a scale and a place: `focus` (mm) is seen at the middle of the picture."""

    direction: Direction
    focus: FloatArray  # (3,) mm
    scale: float  # pixels per mm
    size: tuple[int, int]  # width and height of the picture, pixels

    def pixels(self, points: FloatArray) -> FloatArray:
        """Return where points are seen: (…, 3) mm to (…, 2) pixels."""
        right, up, _ = self.direction.axes
        moved = (points - self.focus) * self.scale
        width, height = self.size
        found = np.empty((*moved.shape[:-1], 2))
        found[..., 0] = width / 2 + moved @ right
        found[..., 1] = height / 2 - moved @ up
        return found

    def rows(self, top: int, count: int) -> View:
        """Return the view of `count` rows of the picture, from its row `top` on; they may reach beyond it."""
        lower = top + count / 2 - self.size[1] / 2  # pixels from the picture's middle down to theirs
        focus = self.focus - self.direction.axes[1] * lower / self.scale
        return View(direction=self.direction, focus=focus, scale=self.scale, size=(self.size[0], count))

    def scaled(self, by: float, size: tuple[int, int]) -> View:
        """Return the view on a picture `by` times as large, of this size."""
        return View(direction=self.direction, focus=self.focus, scale=by * self.scale, size=size)


def fitted(points: FloatArray, direction: Direction, size: tuple[int, int], room: FloatArray) -> View:
    """Return the view at which `points` just fill `room`.

    Parameters
    ----------
    points : (n, 3) float
        What must be seen, mm.
    direction : Direction
        Where the viewer stands.
    size : (int, int)
        Width and height of the picture, pixels.
    room : (2, 2) float
        Upper left and lower right corner of the room for the drawing, pixels.
    """
    axes = direction.axes
    seen = points @ axes.T
    low, high = seen.min(axis=0), seen.max(axis=0)
    extent = np.maximum(high - low, 1e-6)
    scale = float(((room[1] - room[0]) / extent[:2]).min())
    off = (room.mean(axis=0) - np.array(size) / 2) / scale
    middle = (low + high) / 2 + np.array([-off[0], off[1], 0.0])
    return View(direction=direction, focus=middle @ axes, scale=scale, size=size)
