"""A box as made for a printer: base, and lid with what is on it, stand clear of the walls wherever these have settled.

Walls that lean and warp no longer meet a flat base and lid everywhere. The base goes down to the lowest point of the
walls and the lid up to the highest, so each touches at one point and runs into none. The lid's screws are drawn up
until their tips are level with the lid's underside, as their pilots have gone with the walls.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.solids.parts import moved

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.solids.box import BuiltBox, Part

CLEAR_WORDS = (
    "Base and lid are not pressed to the walls as made: each touches only where these stand out most, and the lid's "
    "screws are drawn up out of them."
)


def stood_clear(box: BuiltBox) -> BuiltBox:
    """Return a box whose base, lid and what is on it run into no wall; walls stay where they settled."""
    points = {part.facts.name: moved(part.mesh.vertices, part.facts.closed) for part in box.parts}
    walls = [points[part.facts.name] for part in box.parts if part.facts.group == "walls"]
    low, high = (float(level) for level in (min(w[:, 2].min() for w in walls), max(w[:, 2].max() for w in walls)))
    rises = {part.facts.name: 0.0 for part in box.parts if part.facts.group == "walls"}
    rises["base"] = low - float(points["base"][:, 2].max())
    screws = {screw.name for screw in box.fittings.fasteners if screw.holds == "lid"}
    underside = float(points["lid"][:, 2].min())
    on_lid = [at for name, at in points.items() if name not in rises and name not in screws]
    under = max((underside - float(at[:, 2].min()) for at in on_lid if _beside(at, underside, walls)), default=0.0)
    lift = high - underside + under
    for name in points.keys() - rises.keys():
        out = max(0.0, underside - float(points[name][:, 2].min())) if name in screws else 0.0
        rises[name] = lift + out
    return replace(box, parts=tuple(_risen(part, rises[part.facts.name]) for part in box.parts))


def _beside(part: FloatArray, underside: float, walls: list[FloatArray]) -> bool:
    """Tell whether what a part, (n, 3), has below the lid, as a leg turned down, is on plan within reach of a wall."""
    hanging = part[part[:, 2] < underside][:, :2]
    if not len(hanging):
        return False
    low, high = hanging.min(axis=0), hanging.max(axis=0)
    return any(bool(np.all((low < w[:, :2].max(axis=0)) & (high > w[:, :2].min(axis=0)))) for w in walls)


def _risen(part: Part, rise: float) -> Part:
    place = part.facts.closed.copy()
    place[2, 3] += rise
    return replace(part, facts=replace(part.facts, closed=place))
