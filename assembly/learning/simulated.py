"""Readings that a class would take whose workshop is known: for the example that ships, and to hold learning to it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.learning.features import FEATURES, Place
from assembly.learning.instruments import STEADIEST
from assembly.learning.readings import Reading

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from assembly.learning.features import Form, Spot
    from assembly.learning.instruments import Instrument
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop

Drawn = dict[tuple[str, str], float]  # errors by quantity and place
Figures = tuple[float, float, float, float]  # bias, class, maker and cut spread, in the workshop file's units


def figures_of(workshop: Workshop, quantities: Sequence[str]) -> dict[str, Figures]:
    """Return the figures of some quantities."""
    found = {}
    for name in quantities:
        each = workshop.disturbance(name)
        found[name] = (each.bias, each.class_spread, each.maker_spread, each.spread)
    return found


def read_value(instrument: Instrument, size: float, rng: np.random.Generator) -> float:
    """Return what an instrument reads of a size."""
    moved = size + instrument.unsteadiness * float(rng.standard_normal())
    if instrument.blades:
        inside = [blade for blade in (0.0, *instrument.blades) if blade <= abs(moved)]
        return float(np.copysign(max(inside), moved))
    return round(moved / instrument.division) * instrument.division if instrument.division else moved


def simulate(
    design: Design,
    workshop: Workshop,
    figures: Mapping[str, Figures],
    rows: Sequence[tuple[str, Spot, Instrument]],
    makers: Mapping[int, int],
    rng: np.random.Generator,
) -> list[Reading]:
    """Return readings of every row by each maker of each class, `makers` being how many by class."""
    found: list[Reading] = []
    for group, count in makers.items():
        shared = {name: figures[name][0] + figures[name][1] * float(rng.standard_normal()) for name in figures}
        for maker in range(1, count + 1):
            own = {name: shared[name] + figures[name][2] * float(rng.standard_normal()) for name in figures}
            errors: Drawn = {}

            def value(
                form: Form, own: Mapping[str, float] = own, errors: dict[tuple[str, str], float] = errors
            ) -> float:
                total = form.const
                for error, coefficient in form.errors.items():
                    if error not in errors:
                        errors[error] = own[error[0]] + figures[error[0]][3] * float(rng.standard_normal())
                    total += coefficient * errors[error]
                return total

            for feature, spot, instrument in rows:
                size = FEATURES[feature].size(Place(design, workshop, spot))
                true = value(size.form) + sum(min(value(first), value(second)) for first, second in size.pairs)
                found.append(
                    Reading(
                        maker=(group, maker),
                        feature=feature,
                        spot=spot,
                        value=read_value(instrument, true, rng),
                        instrument=instrument,
                        reader=1,
                        trial=1,
                        date="",
                        file="simulated",
                        line=len(found) + 2,
                    )
                )
    return found


def exact(instrument: Instrument) -> Instrument:
    """Return an instrument that reads every size as it is."""
    return replace(instrument, division=0.0, given=STEADIEST, blades=())
