"""Readings that look like another design's: a section or a length that all of them have far from what is drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

from assembly.learning.features import FEATURES, Place
from assembly.learning.readings import nominal

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.learning.features import Size
    from assembly.learning.readings import Reading
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop

SIZES = ("thickness", "height", "length")
FAR = 5  # times the total spread of the workshop
LEAST = 3  # readings, which all have to be off by half of that and more, to one side


@dataclass(frozen=True, slots=True, kw_only=True)
class Another:
    """A size that is not the design's."""

    feature: str
    parts: tuple[str, ...]  # of one drawn size
    read: float  # median, mm
    drawn: float  # mm
    readings: int


def others(readings: Sequence[Reading], design: Design, workshop: Workshop) -> list[Another]:
    """Return the sizes whose readings look like another design's."""
    found: dict[tuple[str, float], list[tuple[Reading, float]]] = {}
    for each in readings:
        if each.feature in SIZES:
            place = Place(design, workshop, each.spot)
            feature = FEATURES[each.feature]
            sd = math.hypot(_spread(feature.size(place), workshop), each.instrument.division)
            found.setdefault((each.feature, nominal(feature, place)), []).append((each, sd))
    told = []
    for (name, drawn), group in found.items():
        far, middle = FAR * max(sd for _, sd in group), median(each.value for each, _ in group)
        side = math.copysign(1.0, middle - drawn)
        all_off = all(side * (each.value - drawn) > far / 2 for each, _ in group)
        if len(group) >= LEAST and abs(middle - drawn) > far and all_off:
            parts = tuple(dict.fromkeys(each.spot.part for each, _ in group))
            told.append(Another(feature=name, parts=parts, read=middle, drawn=drawn, readings=len(group)))
    return told


def _spread(size: Size, workshop: Workshop) -> float:
    """Return the total spread of a size in the workshop; of the smaller of two, that of both together."""
    forms = (size.form, *(each for pair in size.pairs for each in pair))
    parts = (coefficient * workshop.disturbance(name).std for form in forms for (name, _), coefficient in
             form.errors.items())  # fmt: skip
    return math.hypot(*parts)
