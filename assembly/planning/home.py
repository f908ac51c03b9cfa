"""Whether the box will live in the damp, and what glue and finish follow from that.

Dry conditions end at `assembly.materials.sheets.DRY_HUMIDITY`. Which glue and finish then serve: common practice, no
source; the glue's maker says for which places it is (durability classes of EN 204, from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.materials.sheets import DRY_HUMIDITY

if TYPE_CHECKING:
    from assembly.model.design import Design


def damp_home(design: Design) -> bool | None:
    """Return whether the box will live in the damp; None where the design does not say where it will live."""
    home = design.climate.home if design.climate else None
    return None if home is None else home.humidity > DRY_HUMIDITY


def air(design: Design) -> str:
    """Return how damp or dry it is where the box will live: "damp (80 % humidity)"; the design must say it."""
    assert design.climate
    return f"{'damp' if damp_home(design) else 'dry'} ({design.climate.home.humidity:g} % humidity)"


def glue_note(design: Design) -> tuple[str, ...]:
    """Return which glue joins timber that will live in the damp; nothing for a box that will live in dry air."""
    damp = damp_home(design)
    if damp is None:
        return ("For a box outdoors or in the damp it must be a glue for damp places.",)
    if not damp:
        return ()
    return (f"The glue must be one for damp places: the box will live where it is {air(design)}.",)
