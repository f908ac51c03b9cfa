"""Telling the facts of the parts of a design: names, roles, materials, sizes and places; no geometry kernel."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from assembly.nominal.fittings import fittings
from assembly.nominal.frame import LAPPED_AT, WALLS, frame
from assembly.solids import parts
from assembly.solids.parts import Facts

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.model.design import Design
    from assembly.nominal.fittings import Fastener, Fittings, PlacedWasher
    from assembly.nominal.frame import Frame

Description = tuple[str, parts.Group, str, parts.Colour, tuple[float, float, float]]


def tell(design: Design, volumes: dict[str, float], places: dict[str, FloatArray], *, lift: float) -> tuple[Facts, ...]:
    """Return the facts of every part: walls, base, lid, plaque, screws, washers, stem.

    Parameters
    ----------
    design : Design
        What is made.
    volumes : dict of str to float
        Closed-form volume of every part, by name, mm³.
    places : dict of str to FloatArray, (4, 4)
        Where walls have settled, and screws and washers lie, by name; mm. What has none is modelled in its place.
    lift : float
        How far the lid and what is on it lie above their nominal height, mm.
    """
    box, fitted = frame(design), fittings(design)
    described = _walls(design, box) | _sheets(design, box, fitted) | _fittings(design, fitted)
    moves = parts.apart(box, fitted)
    lapped = {f"{wall} wall" for wall in design.box.lapped_walls}
    small: tuple[Fastener | PlacedWasher, ...] = (*fitted.fasteners, *fitted.washers)
    kinds = {one.name: one.kind for one in small}  # every other part is its own
    washers = {screw.name: screw.washer.diameter for screw in fitted.fasteners if screw.washer}
    rise = np.eye(4)
    rise[2, 3] = lift
    facts = []
    for name, (role, group, material, colour, size) in described.items():
        place = places.get(name, np.eye(4))
        facts.append(
            Facts(
                name=name,
                role=role,
                group=group,
                material=material,
                colour=colour,
                size=size,
                volume=volumes[name],
                kind=kinds.get(name, name),
                closed=place if group == "walls" or name == "base" else rise @ place,
                apart=moves[name],
                washer=washers.get(name),
                lapped=name in lapped if group == "walls" else None,
            )
        )
    return tuple(facts)


def _walls(design: Design, box: Frame) -> dict[str, Description]:
    timber = design.timber.name
    lapped = ("lapped", parts.LAPPED_TONE, (box.lapped_length, box.height, box.lapped))
    plain = ("plain", parts.PLAIN_TONE, (box.plain_length, box.height, box.plain))
    kinds = {wall: lapped if slot in LAPPED_AT else plain for slot, wall in enumerate(box.walls)}
    return {
        f"{wall} wall": (f"{kind} wall, {box.side_names[wall]}", "walls", timber, tone, size)
        for wall, (kind, tone, size) in ((wall, kinds[wall]) for wall in WALLS)
    }


def _sheets(design: Design, box: Frame, fitted: Fittings) -> dict[str, Description]:
    base, lid, plaque = fitted.base, fitted.lid, fitted.plaque
    found: dict[str, Description] = {
        "base": (
            "base, glued under the walls and brought flush",
            "sheets",
            design.base.material,
            parts.BASE_TONE,
            (*box.as_drawn(base.along_x, base.along_y), base.thickness),
        ),
        "lid": (
            "lid, screwed to the lapped walls",
            "sheets",
            design.lid.material,
            parts.LID_TONE,
            (*box.as_drawn(lid.along_x, lid.along_y), lid.thickness),
        ),
    }
    if plaque:
        developed = (plaque.developed, plaque.width, plaque.thickness)
        found["plaque"] = ("plaque, bent from flat sheet", "sheets", "acrylic sheet", parts.ACRYLIC_TONE, developed)
    return found


def _fittings(design: Design, fitted: Fittings) -> dict[str, Description]:
    found: dict[str, Description] = {f.name: _screw(f) for f in fitted.fasteners}
    found |= {washer.name: _washer(washer) for washer in fitted.washers}
    if design.stem:
        size = (design.stem.length, design.stem.diameter, design.stem.diameter)
        found["stem"] = (design.stem.name, "fittings", "as bought", parts.STEM_TONE, size)
    return found


def _screw(fastener: Fastener) -> Description:
    screw = fastener.screw
    size = (screw.length, screw.head, screw.diameter)
    head = "round-head" if screw.round_head else "countersunk"
    return f"{head} screw that holds the {fastener.holds}", "fittings", "steel", parts.STEEL_TONE, size


def _washer(washer: PlacedWasher) -> Description:
    size = (washer.diameter, washer.hole, washer.thickness)
    return f"washer under a screw that holds the {washer.holds}", "fittings", "steel", parts.STEEL_TONE, size


def fitted_places(fitted: Fittings) -> dict[str, FloatArray]:
    """Return where screws and washers lie, by name: (4, 4), mm."""
    places = {}
    small: tuple[Fastener | PlacedWasher, ...] = (*fitted.fasteners, *fitted.washers)
    for one in small:
        places[one.name] = np.eye(4)
        places[one.name][:3, 3] = one.place
    return places
