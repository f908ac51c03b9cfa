"""Walls cut from a sheet, plywood or MDF: which figures are published here for them, and which are not.

edge : the sheet's thickness side, where glue and screws meet the inside of the panel

No figure of solid timber is carried over but the length of thread, and that row says so. Local rules, a risk
assessment and competent supervision come first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.materials.sheets import is_mdf
from assembly.materials.standards import sheet_tolerance

if TYPE_CHECKING:
    from assembly.data.tables import SheetMaterial

EDGE_JOINT = (
    "the walls are a sheet: at both faces of the lap a sawn edge meets a face, and no published figure here tells how "
    "such a joint holds, so both count as weak and the base glued under the walls is the real tie"
)
_PRACTICE = "(common practice, no source)"
_MDF_NOTES = (
    f"glue soaks into the sawn edge of MDF and starves the joint: size the edge with thinned glue first {_PRACTICE}",
    f"a screw splits the edge of MDF easily: a full pilot hole, well off the ends, and a trial offcut {_PRACTICE}",
    "fine dust of MDF harms lungs: saw and sand it under dust extraction only, never sweep it dry; local rules first",
)
_PLY_NOTES = (
    f"the lap cuts through plywood's layers, and plies may part at the cheek: try it on an offcut {_PRACTICE}",
    f"a screw splits plywood's layers apart at its edge: a full pilot hole, and a trial offcut {_PRACTICE}",
)


def unpublished(walls: SheetMaterial) -> tuple[str, ...]:
    """Return what is judged of timber and has no published figure here for a sheet, in words."""
    found = ["withdrawal of a screw from its edge", "distances of a screw in its edge to faces and ends"]
    if walls.thickness_per_mc is None:
        found.append("its thickness against moisture, so no seasonal step")
    return tuple(found)


def panel_notes(walls: SheetMaterial) -> tuple[str, ...]:
    """Return what a reader has to know of walls that are a sheet."""
    missing = "; ".join(unpublished(walls))
    return (
        EDGE_JOINT,
        f"no published figure here for {walls.name}: {missing}; grain run-out was not judged, as a sheet has none",
        *(_MDF_NOTES if is_mdf(walls.name) else _PLY_NOTES),
    )


def wall_tolerance(walls: SheetMaterial, thickness_mm: float) -> tuple[float, float, str]:
    """Return how much thicker and thinner (mm) a sheet of that thickness may come, and by which rule."""
    rule, source = ("MDF", "EN 622-1") if is_mdf(walls.name) else ("plywood, sanded", "EN 315, form read for EN 14279")
    plus, minus = sheet_tolerance(rule, thickness_mm)
    return plus, minus, f"{rule}: {source}"
