"""What ties a section's box together, beside the verdict: glue, tongue, lid screws, and the stock as it is bought.

Ratios and sizes; no figure here is a strength to rely on. Local rules, a risk assessment and competent supervision come
first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.data.tables import SheetMaterial, core_mm
from assembly.materials.bond import base_glue_area, tongue_stress
from assembly.materials.eurocode5 import effective_diameter, must_be_drilled, thickest_in_edge
from assembly.materials.panels import wall_tolerance
from assembly.materials.screws import best_pilot_mm
from assembly.materials.standards import section_tolerance
from assembly.materials.timbers import drilled_as, walls_of
from assembly.materials.withdrawal import pull_ratio
from assembly.nominal.frame import frame
from assembly.section.trials import paired_ratio

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.section.judging import Judge
    from assembly.section.trials import Sample
    from assembly.study.intervals import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """How far bought stock of one thickness may be out, mm, both as positive numbers."""

    walls: str
    thickness: float
    plus: float
    minus: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pilot:
    """The lid screw's pilot hole beside what is published for it, mm."""

    hole: float
    core: float
    core_source: str
    best: float | None  # for the best hold; None for a sheet, for which none is published
    kind: str  # softwood, hardwood, or sheet
    must_be_drilled: bool | None  # by EN 1995-1-1, which is for timber
    effective: float  # diameter that EN 1995-1-1 counts with
    thickest: float  # effective diameter that it lets into the middle of the wall's edge, drilled


@dataclass(frozen=True, slots=True, kw_only=True)
class Ties:
    """Glue, tongue and screws: figures beside the verdict."""

    bond_ratio: Estimate
    base_glue: tuple[float, float]  # mm², present and tried
    tongue_stress: float  # N/mm² under `bond.THUMB_LOAD_N`; information only
    tongue_stress_before: float  # the present section's
    withdrawal: float | str  # over the present section's, or why there is no figure
    pilot: Pilot
    tolerances: tuple[Tolerance, ...]


def ties_of(judge: Judge, tried: Design, after: Sample) -> Ties:
    """Return glue, tongue and screws of the tried section, against the judge's reference."""
    timber = tried.timber
    return Ties(
        bond_ratio=paired_ratio(judge.before.bond, after.bond),
        base_glue=(base_glue_area(frame(judge.reference)), base_glue_area(frame(tried))),
        tongue_stress=tongue_stress(frame(tried)),
        tongue_stress_before=tongue_stress(frame(judge.reference)),
        withdrawal=pull_ratio(judge.reference, tried),
        pilot=_pilot(tried),
        tolerances=(_tolerance(tried, "lapped", timber.lapped), _tolerance(tried, "plain", timber.plain)),
    )


def _tolerance(design: Design, walls: str, thickness: float) -> Tolerance:
    material = walls_of(design.timber)
    if isinstance(material, SheetMaterial):
        plus, minus, source = wall_tolerance(material, thickness)
    else:
        plus, minus = section_tolerance("planed", "thickness", thickness)
        source = "planed softwood, Nordic grading table"
        if material.kind == "hardwood":
            source += "; none was read for hardwood: take it as a rough guide"
    return Tolerance(walls=walls, thickness=thickness, plus=plus, minus=minus, source=source)


def _pilot(design: Design) -> Pilot:
    screw, kind = design.lid.screw, drilled_as(design.timber)
    core, source = core_mm(screw.diameter)
    sheet = isinstance(walls_of(design.timber), SheetMaterial)
    return Pilot(
        hole=screw.pilot,
        core=core,
        core_source=source,
        best=None if sheet else best_pilot_mm(core, kind),
        kind="sheet" if sheet else kind,
        must_be_drilled=None if sheet else must_be_drilled(screw.diameter, kind),
        effective=effective_diameter(core),
        thickest=thickest_in_edge(design.timber.lapped),
    )
