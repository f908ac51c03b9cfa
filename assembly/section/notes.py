"""What a reader has to know beside a section's figures: joint, sheet walls, reference, what was not judged, damp."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.data.tables import SheetMaterial
from assembly.materials.bond import WEAK_FACES
from assembly.materials.climates import climates, season_of, sheet_seasons
from assembly.materials.panels import panel_notes
from assembly.materials.seasons import Season
from assembly.materials.sheets import damp_cautions
from assembly.materials.timbers import known_as, walls_of
from assembly.materials.withdrawal import PULL, pull_ratio

if TYPE_CHECKING:
    from assembly.model.design import Design

UNMARKED = (
    "the present section is not marked as proven (timber.proven): nothing says that such a box has held, so the "
    "verdict is at most 'with care'"
)


def notes_on(present: Design, tried: Design) -> tuple[str, ...]:
    """Return what the reader has to know beside the figures and the verdict's own note (`UNMARKED`)."""
    timber, walls = tried.timber, walls_of(tried.timber)
    found = list(panel_notes(walls)) if isinstance(walls, SheetMaterial) else [WEAK_FACES]
    pulled = pull_ratio(present, tried)
    if isinstance(pulled, str) and not isinstance(walls, SheetMaterial):
        found.append(f"no figure for {PULL}: {pulled}")
    if timber.plain > timber.lapped:
        found.append(
            f"the plain walls ({timber.plain:g} mm) are thicker than the lapped ones ({timber.lapped:g} mm): the lap "
            "is longer than its wall is thick, and the tongue stands out further for its thickness"
        )
    if known_as(timber.name) != known_as(present.timber.name):
        found.append(
            f"the present section is of {present.timber.name}: figures against it compare sizes and fit, made with the "
            "same errors in both materials, and not how well each takes glue"
        )
    if tried.contents is None:
        found.append("the design has no [contents] table, so the room inside was not judged")
    return (*found, *_season_notes(tried))


def _season_notes(design: Design) -> tuple[str, ...]:
    if design.climate is None:
        return ("the design has no [climate] table, so no season was judged",)
    moved, home = season_of(design), climates(design)[1]
    beyond = (isinstance(moved, Season) and not moved.within) or not all(s.within for s in sheet_seasons(design))
    parts = {"walls": design.timber.name, "base": design.base.material, "lid": design.lid.material}
    outside = (
        "some of the season's movement lies outside the range that its figures hold for (coefficients: 6 to 14 % of "
        "moisture; MDF: 30 to 90 % humidity; air: -1 to 60 °C): take it as a rough guide"
    )
    return (*((outside,) if beyond else ()), *damp_cautions(home, parts))
