"""What a design's walls are cut from: the tables' row for its name, with what the design itself gives laid over it.

sheet : plywood or MDF in the timber's place; it has no grain along the wall, and most published figures end with timber
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal

from assembly.data.tables import SheetMaterial, Species, wall_material
from assembly.errors import InputError

if TYPE_CHECKING:
    from assembly.model.design import Timber

GIVEN = (
    "kind",
    "specific_gravity",
    "shrinkage_radial",
    "shrinkage_tangential",
    "coefficient_radial",
    "coefficient_tangential",
)
BY_DESIGN = "given in the design"


def walls_of(timber: Timber) -> Species | SheetMaterial:
    """Return the timber or the sheet of a design's walls.

    Parameters
    ----------
    timber : Timber
        Its name is looked up; any property that it gives stands before the tables' figure. A given shrinkage puts
        tabulated coefficients aside, and a given coefficient tabulated shrinkages, so that the two are not mixed.

    Raises
    ------
    InputError
        If the name is a bare genus, or unknown and the design does not say `kind` for it; if it is acrylic, or a
        sheet for which the design gives a timber's properties.
    """
    given = {name: getattr(timber, name) for name in GIVEN if getattr(timber, name) is not None}
    row = _row_of(timber)
    if isinstance(row, SheetMaterial):
        _refuse_as_walls(row, given)
        return row
    if not given:
        return row
    source = BY_DESIGN if row.source == BY_DESIGN else f"{', '.join(given)}: {BY_DESIGN}; else {row.source}"
    changed: dict[str, Any] = {**_put_aside(given), **given}
    return replace(row, **changed, source=source)


def known_as(name: str) -> str:
    """Return the tables' own name of a timber or sheet, "pine, Scots" for "Kiefer"; else the name as it is."""
    try:
        return wall_material(name).name
    except InputError:
        return name


def drilled_as(timber: Timber) -> Literal["softwood", "hardwood"]:
    """Return whose pilot holes the walls take; a sheet's edge splits easily and takes the larger ones (no source)."""
    found = walls_of(timber)
    return "hardwood" if isinstance(found, SheetMaterial) else found.kind


def _row_of(timber: Timber) -> Species | SheetMaterial:
    try:
        return wall_material(timber.name)
    except InputError as unknown:
        if timber.kind is None:
            msg = f"{unknown}; or give timber.kind and its properties in the design"
            raise InputError(msg) from None
        return _unlisted(timber)


def _refuse_as_walls(row: SheetMaterial, given: dict[str, object]) -> None:
    if row.expansion_per_k is not None:
        msg = f"timber {row.name!r}: wood glue does not hold acrylic; name a timber, plywood or MDF for the walls"
        raise InputError(msg)
    if given:
        msg = f"timber {row.name!r}: is a sheet, which has no {', '.join(given)}; leave out what is for solid timber"
        raise InputError(msg)


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
