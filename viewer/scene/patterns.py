"""The pattern that stands for each word of how a joint fits, laid on its face and printed in the key.

No word is shown by colour alone: dots, lines, chevrons and solid ink, each darker than the last, go with them.
A pattern is a list of four-cornered areas of ink on a rectangle, so that the same one is laid on a face in the
scene and printed in the key.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.made.gap_classes import Word

OUTLINE_SHARE = 0.22  # width of a patch's outline, as a share of the pattern's pitch


def pattern(word: Word, width: float, height: float, pitch: float) -> FloatArray:
    """Return the ink of a word's pattern on a rectangle: (k, 4 corners, 2), in the unit of its sizes.

    The corner of the rectangle is the origin; the first axis runs along `width`, the second along `height`.
    `pitch` is the distance from one dot, line or chevron to the next; the outline comes first.
    """
    pitch = min(pitch, height / 2.5)  # a low face still holds one whole chevron
    edge = min(OUTLINE_SHARE * pitch, width / 6)
    if word == "open":  # all ink, but for a rim that parts it from its neighbour
        inner = _bars(np.array([[1.6 * edge, 1.6 * edge]]), width - 3.2 * edge, height - 3.2 * edge)
    else:
        inner = {"closed": _dots, "usable": _lines, "to fill": _chevrons}[word](width, height, pitch)
    return np.concatenate([_outline(width, height, edge), inner])


def _bars(corners: FloatArray, width: float, height: float) -> FloatArray:
    """Return upright rectangles of one size from their lower left corners: (k, 4, 2)."""
    size = np.array([width, height])
    return np.asarray(corners[:, None, :] + np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * size, dtype=np.float64)


def _outline(width: float, height: float, edge: float) -> FloatArray:
    level = _bars(np.array([[0.0, 0.0], [0.0, height - edge]]), width, edge)
    upright = _bars(np.array([[0.0, 0.0], [width - edge, 0.0]]), edge, height)
    return np.concatenate([level, upright])


def _rows(height: float, pitch: float, tall: float) -> FloatArray:
    """Return the lower edges of evenly spaced rows of things `tall` high, kept clear of both ends: (k,)."""
    count = max(1, math.floor((height - tall) / pitch))
    return np.asarray((np.arange(count) + 0.5) * height / count - tall / 2, dtype=np.float64)


def _dots(width: float, height: float, pitch: float) -> FloatArray:
    half = min(0.17 * pitch, width / 6)
    rows = _rows(height, pitch, 2 * half) + half
    diamond = np.array([[0, -half], [half, 0], [0, half], [-half, 0]])
    middles = np.column_stack([np.full_like(rows, width / 2), rows])
    return np.asarray(middles[:, None, :] + diamond, dtype=np.float64)


def _lines(width: float, height: float, pitch: float) -> FloatArray:
    rows = _rows(height, pitch, 0.24 * pitch)
    return _bars(np.column_stack([np.zeros_like(rows), rows]), width, 0.24 * pitch)


def _chevrons(width: float, height: float, pitch: float) -> FloatArray:
    thick, rise = 0.5 * pitch, min(0.5 * pitch, width / 2)
    rows = _rows(height, pitch, thick + rise)[:, None]
    x = np.array([0, width / 2, width / 2, 0]) * np.ones_like(rows)
    y = rows + np.array([0, rise, rise + thick, thick])
    left = np.stack([x, y], axis=-1)
    return np.concatenate([left, left * [-1, 1] + [width, 0]])
