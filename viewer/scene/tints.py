"""Tints of the picture, and the lights on it.

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
    from assembly.arrays import FloatArray

Tint = tuple[float, float, float]


def tint(written: str) -> Tint:
    """Return the tint of six hexadecimal digits, `0b2a5b` for one."""
    red, green, blue = bytes.fromhex(written)
    return red / 255, green / 255, blue / 255


INK = tint("071c40")
GROUNDS = {"closed": tint("f6f9ff"), "usable": tint("d3e2f7"), "to fill": tint("a3c0e8"), "open": tint("86a9da")}
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


def lights(side: float) -> tuple[tuple[FloatArray, float], ...]:
    """Return the lights, unit direction and strength, for a viewer on the right (`side` above 0) or on the left."""
    mirror = np.array([1.0 if side > 0 else -1.0, 1.0, 1.0])
    return tuple((mirror * towards / np.linalg.norm(towards), strength) for towards, strength in LIGHTS)


def lit(colour: Tint, normal: FloatArray, from_where: tuple[tuple[FloatArray, float], ...]) -> Tint:
    """Return a tint as the lights of `lights` leave it on a face with a unit normal."""
    bright = AMBIENT + sum(strength * max(0.0, float(towards @ normal)) for towards, strength in from_where)
    red, green, blue = (min(1.0, bright * share) for share in colour)
    return red, green, blue
