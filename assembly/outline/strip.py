"""Strips by which a school finds its own k: bent once, both legs measured, the neutral line follows.

k     : the share of its thickness at which bent sheet neither stretches nor shrinks (`neutral_share` in a design),
        from the inside of the bend
strip : a narrow piece of the same sheet, `length` long, with a bend line across its middle
legs  : the two outside sizes of a bent strip, from each end to the outside of the other leg
gain  : what both legs have more than the strip's length before it was bent; it tells k
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.outline.contours import Contour, Drawing, Layer, Line, box_of_loops, moved
from assembly.outline.glyphs import outlines
from assembly.outline.kerf import outside
from assembly.outline.plaque_drawing import beside, kerf_words
from assembly.text import mm

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.nominal.plaque import BentPlaque
    from assembly.outline.contours import Loop, Shape

STRIPS = 3  # their mean is taken
ANGLE = math.pi / 2  # turned through, which a try square checks
LEAST_K, MOST_K = 0.2, 0.6  # what a design takes
WIDTH = 20.0  # mm
_APART, _TICK, _LETTER = 10.0, 3.0, 3.0  # mm
_LEAST_LENGTH, _LEAST_LEG, _STEP = 100.0, 30.0, 10.0  # mm; of a leg, what stays straight


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A strip to be bent by a right angle, as a plaque is."""

    thickness: float
    inside_radius: float

    @property
    def length(self) -> float:
        """A whole number of 10 mm, with `_LEAST_LEG` of straight sheet on either side of the bend."""
        bend = ANGLE * (self.inside_radius + MOST_K * self.thickness)
        return max(_LEAST_LENGTH, _STEP * math.ceil((2 * _LEAST_LEG + bend) / _STEP))

    @property
    def set_back(self) -> float:
        """What the bend takes off both legs together."""
        return 2 * (self.inside_radius + self.thickness) * math.tan(ANGLE / 2)

    def neutral_share(self, gain: float) -> float:
        """Return k from a strip's gain, mm."""
        return ((self.set_back - gain) / ANGLE - self.inside_radius) / self.thickness

    def gain(self, neutral_share: float) -> float:
        """Return the gain of a strip with some k, mm."""
        return self.set_back - ANGLE * (self.inside_radius + neutral_share * self.thickness)

    @property
    def per_mm(self) -> float:
        """How much k rises when a leg is read 1 mm too short, or the strip 1 mm too long."""
        return 1 / (ANGLE * self.thickness)

    @property
    def per_degree(self) -> float:
        """How much k seems to rise when a bend is 1 degree more than the right angle that the sum counts on.

        Derivative of the true sum of legs by the angle, at k = 1/2: it shrinks by the arc and grows by the set-back.
        """
        arc = self.inside_radius + self.thickness / 2
        grows = (self.inside_radius + self.thickness) / math.cos(ANGLE / 2) ** 2 - arc
        return -math.radians(1) * grows * self.per_mm


def strip_of(plaque: BentPlaque) -> Strip:
    """Return the strip that a plaque's bend is tried on."""
    return Strip(thickness=plaque.thickness, inside_radius=plaque.inside_radius)


def strip_drawing(strip: Strip, *, name: str, kerf: float) -> Drawing:
    """Return three strips, one over the other, the first one on top, with a scale along each."""
    contours = tuple(
        Contour(layer=layer, name=f"strip {number}: {what}", shape=shape)
        for number in range(1, STRIPS + 1)
        for layer, what, shape in _one(strip, number, (STRIPS - number) * (WIDTH + _APART), kerf)
    )
    notes = (
        f"{name}: test strips for k, {mm(strip.length)} long, from the plaque's {mm(strip.thickness)} acrylic",
        kerf_words(kerf),
        f"Bend along the middle line by 90 degrees round an inside radius of {mm(strip.inside_radius)}; see the page",
    )
    return Drawing(title=f"{name}: test strips", contours=(*contours, *beside(contours, notes)))


def _one(strip: Strip, number: int, bottom: float, kerf: float) -> Iterator[tuple[Layer, str, Shape]]:
    """Yield what is done to one strip: letters and scale, bend line, then the cut that sets it free."""
    middle = strip.length / 2
    for loop in _written(f"{number}  {mm(strip.length)}", bottom):
        yield Layer.ENGRAVE, "number and length", loop
    clear = ANGLE * (strip.inside_radius + strip.thickness) / 2 + 2.0  # a scratch in the bend would start a crack
    for place in range(int(_STEP), int(strip.length), int(_STEP)):
        if abs(place - middle) > clear:
            tick = _TICK * (2 if place % 50 == 0 else 1)
            yield Layer.ENGRAVE, "scale", Line(start=(place, bottom), end=(place, bottom + tick))
    yield Layer.BEND, "bend line", Line(start=(middle, bottom), end=(middle, bottom + WIDTH))
    yield Layer.CUT, "outline", moved(outside(strip.length, WIDTH, kerf), 1.0, (0.0, bottom))


def _written(text: str, bottom: float) -> tuple[Loop, ...]:
    loops = outlines(text)
    left, low, _, _ = box_of_loops(loops)
    off = _TICK - _LETTER * left, bottom + WIDTH - _TICK - _LETTER * (1 + low)
    return tuple(moved(loop, _LETTER, off) for loop in loops)


def strip_rows(strip: Strip) -> tuple[tuple[float, float], ...]:
    """Return gains in even steps, mm, with the k that each tells; the smallest k first.

    The steps are tenths of a millimetre, as many as give at most 20 rows.
    """
    most, least = strip.gain(LEAST_K), strip.gain(MOST_K)
    tenths = math.ceil(10 * (most - least) / 20)
    first, last = math.floor(10 * most / tenths), math.ceil(10 * least / tenths)
    gains = (tenths * number / 10 for number in range(first, last - 1, -1))
    return tuple((gain, strip.neutral_share(gain)) for gain in gains)
