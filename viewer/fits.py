"""How a joint fits, in words, and the pattern and ground that stand for each word.

gap    : the largest opening between the two faces of a joint, mm
closed : at most 0.1 mm; usable : at most what the glue closes; weak : at most 0.5 mm; open : wider

No word is told by colour alone: dots, lines, chevrons and solid ink, each darker than the last, go with them.
A pattern is a list of four-cornered areas of ink on a rectangle, so that the same one is laid on a face in the
scene and printed in the key.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from viewer.tints import GROUNDS, FloatArray, Tint

Word = Literal["closed", "usable", "weak", "open"]

CLOSED_MM = 0.1  # a gap that a thin film of glue fills; common practice, no source
WEAK_MM = 0.5  # beyond it the joint wants a shaving glued in; common practice, no source
OUTLINE_SHARE = 0.22  # width of a patch's outline, as a share of the pattern's pitch


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """One word of the scale: the gaps that it covers and the ground under its pattern."""

    word: Word
    over: float  # mm; the gaps of this word are wider than this,
    up_to: float  # mm; and at most this
    ground: Tint


def fits(glue_limit: float) -> tuple[Fit, ...]:
    """Return the words of the scale for a glue that closes gaps up to `glue_limit` mm, best first.

    A word that covers no gap is left out: "usable" where the glue closes no more than 0.1 mm, "weak" where it
    closes 0.5 mm or more.

    Examples
    --------
    >>> [(fit.word, fit.up_to) for fit in fits(0.2)]
    [('closed', 0.1), ('usable', 0.2), ('weak', 0.5), ('open', inf)]
    """
    found: list[Fit] = []
    over = 0.0
    limits: tuple[tuple[Word, float], ...] = (
        ("closed", CLOSED_MM),
        ("usable", glue_limit),
        ("weak", WEAK_MM),
        ("open", math.inf),
    )
    for word, up_to in limits:
        if up_to > over:
            found.append(Fit(word=word, over=over, up_to=up_to, ground=GROUNDS[word]))
            over = up_to
    return tuple(found)


def fit_of(gap: float, scale: tuple[Fit, ...]) -> Fit:
    """Return the word of `scale` for a joint whose largest gap is `gap` mm."""
    return next(fit for fit in scale if gap <= fit.up_to)


def figure(gap: float, scale: tuple[Fit, ...]) -> str:
    """Return a gap as it is printed: two decimals, and where those would belong to another word, on which side it is.

    Examples
    --------
    >>> figure(0.204, fits(0.2)), figure(0.337, fits(0.2))
    ('over 0.20 mm', '0.34 mm')
    """
    text = f"{gap:.2f}"
    if fit_of(float(text), scale).word == fit_of(gap, scale).word:
        return f"{text} mm"
    return f"{'over' if float(text) < gap else 'under'} {text} mm"


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
        inner = {"closed": _dots, "usable": _lines, "weak": _chevrons}[word](width, height, pitch)
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
