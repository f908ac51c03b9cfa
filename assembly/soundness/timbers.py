"""The timber of a design's walls: the tables' row for its name, with what the design itself gives laid over it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from assembly.errors import InputError
from assembly.tables import Species, species

if TYPE_CHECKING:
    from assembly.design import Timber

GIVEN = (
    "kind",
    "specific_gravity",
    "shrinkage_radial",
    "shrinkage_tangential",
    "coefficient_radial",
    "coefficient_tangential",
)
BY_DESIGN = "given in the design"


def timber_of(timber: Timber) -> Species:
    """Return the species of a design's walls.

    Parameters
    ----------
    timber : Timber
        Its name is looked up; any property that it gives stands before the tables' figure. A given shrinkage puts
        tabulated coefficients aside, and a given coefficient tabulated shrinkages, so that the two are not mixed.

    Raises
    ------
    InputError
        If the name is a bare genus, or unknown and the design does not say `kind` for it.
    """
    given = {name: getattr(timber, name) for name in GIVEN if getattr(timber, name) is not None}
    try:
        row = species(timber.name)
    except InputError as unknown:
        if timber.kind is None:
            msg = f"{unknown}; or give timber.kind and its properties in the design"
            raise InputError(msg) from None
        row = _unlisted(timber)
    if not given:
        return row
    source = BY_DESIGN if row.source == BY_DESIGN else f"{', '.join(given)}: {BY_DESIGN}; else {row.source}"
    changed: dict[str, Any] = {**_put_aside(given), **given}
    return replace(row, **changed, source=source)


def _put_aside(given: dict[str, object]) -> dict[str, None]:
    """Return the tabulated movement figures that a given one of the other sort replaces."""
    out: dict[str, None] = {}
    for direction in ("radial", "tangential"):
        for one, other in (("shrinkage", "coefficient"), ("coefficient", "shrinkage")):
            if f"{one}_{direction}" in given and f"{other}_{direction}" not in given:
                out[f"{other}_{direction}"] = None
    return out


def _unlisted(timber: Timber) -> Species:
    assert timber.kind is not None
    return Species(
        name=timber.name,
        also=(),
        genus=(),
        kind=timber.kind,
        system=BY_DESIGN,
        specific_gravity=None,
        shrinkage_radial=None,
        shrinkage_tangential=None,
        start_mc=None,
        coefficient_radial=None,
        coefficient_tangential=None,
        source=BY_DESIGN,
    )
