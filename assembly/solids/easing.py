"""Play for a printed model: faces give way, so that what touches on the drawing goes together as it is printed.

gap   : how far faces that touch on the drawing are apart in the model; each of the two gives way by half of it
round : of a hole and what passes through it the gap is how much their diameters differ (as ISO 286-1 tells a fit, from
        memory). They give way by half of what they lack on the drawing, what is passed by as much as its closest hole
        asks for. A thread passes its pilot hole so, too, as if it had been drilled to the thread's diameter, and a
        countersunk head its cone, at every height
tip   : a screw's tip ends a gap over the bottom of its pilot hole

Numbers only, in millimetres at true size: a model at 1:N that shall have a gap of C is eased by C N and made N times
smaller. Faces that touch nothing stay where they are, but for the plaque's standing leg, which is as thick as its
sheet. Washers are too thin to give way: they keep their thickness, and they and the heads over them are lifted.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from assembly.made.records import MadeFaces
from assembly.nominal.fittings import HEAD_SLOPE, Fittings, fittings
from assembly.nominal.frame import BACK, FRONT, Frame, frame

if TYPE_CHECKING:
    from assembly.model.design import Design, Screw
    from assembly.nominal.fittings import Fastener, Hole, PlacedSheet, PlacedStem
    from assembly.nominal.plaque import BentPlaque


class Numbers(NamedTuple):
    """All that a box's solids are made from."""

    frame: Frame
    faces: MadeFaces
    fittings: Fittings


def as_drawn(design: Design, faces: MadeFaces | None = None) -> Numbers:
    """Return the numbers of a design, its walls' faces nominal or as they were made."""
    return Numbers(frame(design), MadeFaces.nominal() if faces is None else faces, fittings(design))


def eased(numbers: Numbers, gap: float) -> Numbers:
    """Return the numbers of a model in which what touches is a gap apart, mm at true size; 0 changes nothing.

    Sizes that a gap eats up come out at zero or below; `assembly.solids.thin` tells of them.
    """
    if not gap:
        return numbers
    box, faces, fitted = numbers
    return Numbers(replace(box, height=box.height - gap), _faces(faces, gap / 2), _fittings(box, fitted, gap / 2))


def _faces(faces: MadeFaces, give: float) -> MadeFaces:
    """Return the walls' faces, those of the joints lower by `give`, the plain walls' outside faces where they are."""
    thickness = faces.thickness.copy()
    thickness[[FRONT, BACK]] -= give
    return replace(
        faces,
        plain_end=faces.plain_end - give,
        cheek=faces.cheek - give,
        shoulder=faces.shoulder - give,
        inside=faces.inside - give,
        thickness=thickness,
    )


def _fittings(box: Frame, drawn: Fittings, give: float) -> Fittings:
    """Return base, lid and what is on it; base and lid also give way to the walls, which are as much lower."""
    on_lid = drawn.plaque is not None or any(washer.holds == "lid" for washer in drawn.washers)
    thickness = drawn.lid.thickness - give * (2 if on_lid else 1)
    lid = replace(drawn.lid, bottom=drawn.lid.bottom + give, thickness=thickness)
    stem = _stem(drawn, give)
    return replace(
        drawn,
        base=replace(drawn.base, thickness=drawn.base.thickness - give),
        lid=lid,
        plaque=_plaque(drawn.plaque, drawn, give) if drawn.plaque else None,
        stem=stem,
        fasteners=tuple(_fastener(each, lid, give) for each in drawn.fasteners),
        holes=tuple(_hole(hole, box, drawn, lid, give) for hole in drawn.holes),
    )


def _plaque(plaque: BentPlaque, drawn: Fittings, give: float) -> BentPlaque:
    """Return the plaque, its sheet thinner by `give` on both faces; the straight parts of its legs stay as long."""
    outwards = give * math.tan(plaque.angle / 2)
    return replace(
        plaque,
        thickness=plaque.thickness - 2 * give,
        inside_radius=plaque.inside_radius + give,
        flat_leg=plaque.flat_leg - outwards,
        upright_leg=plaque.upright_leg - outwards,
        apex=plaque.apex - outwards,
        underside=plaque.underside + give,
        stem_hole=None if plaque.stem_hole is None else _stem_hole(plaque.stem_hole, drawn, give),
        screw_hole=_screw_hole(plaque.screw_hole, _screw_in(drawn, "plaque"), give),
    )


def _stem(drawn: Fittings, give: float) -> PlacedStem | None:
    return replace(drawn.stem, diameter=drawn.stem.diameter - _off_stem(drawn, give)) if drawn.stem else None


def _off_stem(drawn: Fittings, give: float) -> float:
    """Return what the stem's diameter gives way: half of what its closest hole lacks."""
    if drawn.stem is None:
        return 0.0
    closest = min(hole.diameter for hole in drawn.holes if hole.use in {"centre", "stem"})
    return max(0.0, 2 * give - (closest - drawn.stem.diameter)) / 2


def _stem_hole(diameter: float, drawn: Fittings, give: float) -> float:
    """Return the diameter of a hole that the stem passes, if there is one: the gap more than the stem's at least."""
    if drawn.stem is None:
        return diameter
    return max(diameter, drawn.stem.diameter - _off_stem(drawn, give) + 2 * give)


def _screw_in(drawn: Fittings, holds: str) -> Screw:
    return next(each.screw for each in drawn.fasteners if each.holds == holds)


def _screw_hole(diameter: float, screw: Screw, give: float) -> float:
    """Return the diameter of a hole that a screw passes: it is thinner by `give`, as it has a pilot hole to go into."""
    return max(diameter, screw.diameter + give)


def _hole(hole: Hole, box: Frame, drawn: Fittings, lid: PlacedSheet, give: float) -> Hole:
    x, y, z = hole.centre
    if hole.use == "cable":
        return replace(hole, depth=hole.depth if box.turned else hole.depth - give)
    in_lid, in_plaque = hole.part == "lid", hole.part == "plaque"
    screw = _screw_in(drawn, "plaque" if in_plaque or (in_lid and hole.use == "pilot") else "lid")
    top = lid.top if in_lid else z - give
    thickness = lid.thickness if in_lid else hole.depth - 2 * give
    at = replace(hole, centre=(x, y, top))
    if hole.use in {"centre", "stem"}:
        return replace(at, diameter=_stem_hole(hole.diameter, drawn, give), depth=thickness)
    if hole.use == "clearance":
        return replace(at, diameter=_screw_hole(hole.diameter, screw, give), depth=thickness)
    if hole.use == "countersink":
        mouth = hole.diameter + give
        return replace(at, diameter=mouth, depth=HEAD_SLOPE * (mouth - _screw_hole(screw.hole, screw, give)) / 2)
    depth = top - (z - hole.depth - give)
    if in_lid and z - hole.depth - drawn.lid.bottom <= 2 * give:  # no skin is left under it
        depth = lid.thickness
    return replace(at, diameter=screw.diameter + give, depth=depth)


def _fastener(fastener: Fastener, lid: PlacedSheet, give: float) -> Fastener:
    """Return a screw: thinner, its flat head flush as before or its round one a gap over its washer; its tip higher."""
    x, y, z = fastener.place
    head = fastener.screw.round_head
    top = z + 3 * give if head else lid.top
    sizes: dict[str, object] = {
        "diameter": fastener.screw.diameter - give,
        "length": top - (z - fastener.screw.length + give),
    }
    if head:
        hole = _screw_hole(head.washer_hole, fastener.screw, give)
        sizes["round_head"] = head.model_copy(update={"washer_hole": hole})
    else:
        sizes["head"] = fastener.screw.head - give
    screw = fastener.screw.model_copy(update=sizes)
    return replace(fastener, screw=screw, place=(x, y, top), over_washer=2 * give if head else 0.0)
