"""How thin a box's parts are: their walls, from its numbers, so that a printer's nozzle can be held against them.

wall : the least material between two faces of a part: its own thickness, a tongue, what stands beside a hole
bond : what a wall means to a printer. "made": the part is nothing without it. "bought": of a screw, a washer or the
       stem, which can be bought instead. "left": under a blind hole or a cone, where layers lie as thin as they come;
       it only has to be there

Lengths are millimetres at true size.
"""

from __future__ import annotations

import math
from itertools import combinations
from typing import TYPE_CHECKING, Literal, NamedTuple

from assembly.nominal.frame import FRONT, LAPPED_AT, LEFT, RIGHT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.nominal.fittings import Fittings
    from assembly.solids.easing import Numbers

Bond = Literal["made", "bought", "left"]


class Wall(NamedTuple):
    """A wall of a part."""

    part: str
    what: str  # which of its walls, in words that follow the part's name
    size: float  # mm; zero or less where nothing is left
    bond: Bond


class _Disc(NamedTuple):
    """A hole on plan."""

    name: str
    x: float
    y: float
    radius: float


def walls_of(numbers: Numbers) -> tuple[Wall, ...]:
    """Return the walls of every part, part by part in the order of the box's parts."""
    box, _, fitted = numbers
    return (
        *_timber(numbers),
        *_sheets(fitted),
        *(wall for name in box.walls for wall in _drilled(f"{name} wall", numbers)),
        *_fasteners(fitted),
    )


def _timber(numbers: Numbers) -> Iterator[Wall]:
    """Yield the walls' thickness and their tongues, as made."""
    box, faces, _ = numbers
    for slot, name in enumerate(box.walls):
        part, nominal = f"{name} wall", box.lapped if slot in {LEFT, RIGHT} else box.plain
        yield Wall(part, "thickness", nominal + float(faces.thickness[slot]), "made")
        if slot >= FRONT:
            continue
        out = float(faces.thickness[slot]) if faces.gauge_from == "inside" else 0.0
        yield Wall(part, "tongue", box.tongue + out + float(faces.cheek[slot == LAPPED_AT].min()), "made")


def _sheets(fitted: Fittings) -> Iterator[Wall]:
    base, lid, plaque = fitted.base, fitted.lid, fitted.plaque
    yield Wall("base", "thickness", base.thickness, "made")
    yield Wall("lid", "thickness", lid.thickness, "made")
    holes = fitted.holes_of("lid")
    edges = (-lid.along_x / 2, lid.along_x / 2, -lid.along_y / 2, lid.along_y / 2)
    yield from _beside("lid", edges, [_Disc(h.name, h.centre[0], h.centre[1], h.diameter / 2) for h in holes])
    for hole in holes:
        if hole.blind and hole.depth != lid.thickness:  # one that goes right through has nothing under it
            yield Wall("lid", f"under its {hole.name}", lid.thickness - hole.depth, "left")
    if plaque:
        yield Wall("plaque", "thickness", plaque.thickness, "made")
        across = plaque.width / 2
        edges = (plaque.apex - plaque.flat_leg, math.inf, -across, across)  # the sheet goes on beyond the bend
        discs = [
            _Disc(f"screw hole {n}", u, v, plaque.screw_hole / 2) for n, (v, u) in enumerate(plaque.screw_holes, 1)
        ]
        if plaque.stem_hole is not None:
            discs.append(_Disc("stem hole", 0.0, 0.0, plaque.stem_hole / 2))
        yield from _beside("plaque", edges, discs)


def _drilled(part: str, numbers: Numbers) -> Iterator[Wall]:
    """Yield what a wall has beside, under and between its holes."""
    box, faces, fitted = numbers
    cable = fitted.holes_of(part, "cable")
    half = box.lapped_length / 2 if box.turned else box.plain_length / 2
    for hole in cable:
        edges = (-half, half, -box.height / 2, box.height / 2)
        yield from _beside(part, edges, [_Disc(hole.name, 0.0, 0.0, hole.diameter / 2)])
    to_lap = box.along_y / 2 - box.plain + float(faces.shoulder.min())
    for hole in fitted.holes_of(part, "pilot"):
        edges = (-box.lapped / 2, box.lapped / 2, -to_lap, to_lap)
        yield from _beside(part, edges, [_Disc(hole.name, 0.0, 0.0, hole.diameter / 2)])
        bottom = hole.centre[2] - hole.depth
        yield Wall(part, f"under its {hole.name}", bottom + box.height / 2, "left")
        for other in cable:
            yield Wall(part, f"between its {hole.name} and its {other.name}", bottom - other.diameter / 2, "made")


def _fasteners(fitted: Fittings) -> Iterator[Wall]:
    for fastener in fitted.fasteners:
        yield Wall(fastener.name, "thread", fastener.screw.diameter, "bought")
        if fastener.screw.round_head:
            yield Wall(fastener.name, "head", fastener.screw.round_head.height, "bought")
    for washer in fitted.washers:
        yield Wall(washer.name, "thickness", washer.thickness, "bought")
        yield Wall(washer.name, "ring", (washer.diameter - washer.hole) / 2, "bought")
    if fitted.stem:
        yield Wall("stem", "diameter", fitted.stem.diameter, "bought")


def _beside(part: str, edges: tuple[float, float, float, float], discs: list[_Disc]) -> Iterator[Wall]:
    """Yield the least that stands beside each hole of a rectangle, and between each two, the widest of each place."""
    low_x, high_x, low_y, high_y = edges
    widest: dict[tuple[float, float], _Disc] = {}
    for disc in discs:
        at = (disc.x, disc.y)
        widest[at] = max(widest.get(at, disc), disc, key=lambda each: each.radius)
    for disc in widest.values():
        least = min(disc.x - low_x, high_x - disc.x, disc.y - low_y, high_y - disc.y)
        yield Wall(part, f"beside its {disc.name}", least - disc.radius, "made")
    for one, other in combinations(widest.values(), 2):
        apart = math.hypot(one.x - other.x, one.y - other.y) - one.radius - other.radius
        yield Wall(part, f"between its {one.name} and its {other.name}", apart, "made")
