"""Tints of the picture, and the measures by which they are told apart.

tint     : a colour as three shares (red, green, blue) of full, 0 to 1, sRGB
ink      : the one dark tint of every outline and pattern that marks a joint
ground   : the tint under a pattern; all grounds and the ink are of a single hue
lit, shaded : a tint as the lights leave it on the brightest and on the darkest face that is seen

What must be seen against the timber is the ink, so ink keeps 3:1 against lit and shaded timber
(WCAG 2.2, success criterion 1.4.11: non-text contrast of at least 3:1), and against its own ground.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from assembly.arrays import FloatArray

Tint = tuple[float, float, float]


def tint(written: str) -> Tint:
    """Return the tint of six hexadecimal digits, `0b2a5b` for one."""
    red, green, blue = bytes.fromhex(written)
    return red / 255, green / 255, blue / 255


INK = tint("071c40")
GROUNDS = {"closed": tint("f6f9ff"), "usable": tint("d3e2f7"), "weak": tint("a3c0e8"), "open": tint("86a9da")}
PAPER = tint("ffffff")
TEXT = tint("1c1a17")
QUIET = tint("55504a")  # rules and leader lines
EDGE = tint("4a3721")  # the true edges of the parts

GRAIN_SHADE = 0.80  # a grain line's tint as a share of its timber's

# Directions to the three lights (x right, y back, z up) with their strength, and the light that is everywhere.
# For a box that is seen from the left they are mirrored. Faces that look up, to the front and to the viewer's side
# come out at about 1.00, 0.85 and 0.74 of their tint.
LIGHTS = (((0.10, -0.42, 0.90), 0.43), ((-0.55, -0.80, 0.24), 0.12), ((0.95, 0.20, 0.24), 0.145))
AMBIENT = 0.56

# sRGB to relative luminance. Source: WCAG 2.2, definition of relative luminance.
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722])
# Encoded sRGB to grey. Source: Recommendation ITU-R BT.601-7, luminance signal E'Y.
_LUMA = np.array([0.299, 0.587, 0.114])
# Linear sRGB as a deuteranope sees it. Source: Machado, Oliveira and Fernandes, A Physiologically-based Model for
# Simulation of Color Vision Deficiency, IEEE TVCG 15 (2009), deuteranomaly of severity 1.0; doi 10.1109/TVCG.2009.113.
_DEUTERANOPE = np.array(
    [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
)


def linear(tints: ArrayLike) -> FloatArray:
    """Return the light of sRGB tints: (…, 3), 0 to 1. Source: WCAG 2.2, definition of relative luminance."""
    encoded = np.asarray(tints, dtype=np.float64)
    return np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)


def encoded(light: ArrayLike) -> FloatArray:
    """Return the sRGB tints of linear light: (…, 3); the inverse of `linear`, light beyond 0 to 1 cut off."""
    kept = np.clip(np.asarray(light, dtype=np.float64), 0, 1)
    return np.where(kept <= 0.04045 / 12.92, kept * 12.92, 1.055 * kept ** (1 / 2.4) - 0.055)


def luminance(tints: ArrayLike) -> FloatArray:
    """Return the relative luminance of sRGB tints: (…), 0 (black) to 1 (white)."""
    return np.asarray(linear(tints) @ _LUMINANCE, dtype=np.float64)


def contrast(one: ArrayLike, other: ArrayLike) -> FloatArray:
    """Return the contrast ratio of tints, 1 to 21. Source: WCAG 2.2, definition of contrast ratio."""
    both = np.stack(np.broadcast_arrays(luminance(one), luminance(other)))
    return np.asarray((both.max(axis=0) + 0.05) / (both.min(axis=0) + 0.05), dtype=np.float64)


def lightness(tints: ArrayLike) -> FloatArray:
    """Return CIE 1976 lightness L* of tints: (…), 0 to 100. Source: CIE 15:2004, 8.2.1.1."""
    y = luminance(tints)
    return np.where(y > (6 / 29) ** 3, 116 * np.cbrt(y) - 16, y * (29 / 3) ** 3)


def grey(tints: ArrayLike) -> FloatArray:
    """Return tints as a grey copy shows them: (…, 3), sRGB."""
    luma = np.asarray(tints, dtype=np.float64) @ _LUMA
    return np.repeat(luma[..., None], 3, axis=-1)


def deuteranope(tints: ArrayLike) -> FloatArray:
    """Return tints as a reader without the green-sensitive cones sees them: (…, 3), sRGB."""
    return encoded(linear(tints) @ _DEUTERANOPE.T)


def lights(side: float) -> tuple[tuple[FloatArray, float], ...]:
    """Return the lights, unit direction and strength, for a viewer on the right (`side` above 0) or on the left."""
    mirror = np.array([1.0 if side > 0 else -1.0, 1.0, 1.0])
    return tuple((mirror * towards / np.linalg.norm(towards), strength) for towards, strength in LIGHTS)


def shade(normal: ArrayLike, side: float = 1.0) -> float:
    """Return the share of its tint that a face of this outward normal keeps under the lights, 0 to 1."""
    outward = np.asarray(normal, dtype=np.float64)
    outward = outward / np.linalg.norm(outward)
    falling = sum(strength * max(0.0, float(towards @ outward)) for towards, strength in lights(side))
    return min(1.0, AMBIENT + falling)


def lit_and_shaded(colour: Tint) -> FloatArray:
    """Return a tint on the faces that are seen, up, front and right: (3, 3), sRGB."""
    return np.array([shade(normal) * np.array(colour) for normal in np.array([[0, 0, 1], [0, -1, 0], [1, 0, 0]])])
