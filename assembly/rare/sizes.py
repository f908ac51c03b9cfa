"""What is off in a bad box, as sizes that a rule or a square finds on its parts, the weightiest first (MODEL.md, 5.7).

feature : an end of a wall, a face of a lap, a board, an edge of a sheet, a hole: what one cut or one piece leaves
share   : of u²/|u|², by the errors that make the feature. What all cuts of a maker or a class share is divided among
          them as their own parts are, each taken as far as it goes the same way
size    : made less drawn, mm (of the bend, degrees); + is material left on
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from assembly.made.faces import MARKED_LAPPED, MARKED_PLAIN, PARE
from assembly.made.sheets_and_holes import base_overhangs, drilled_errors, lid_overhangs
from assembly.nominal.frame import PLAIN_AT, V_SIGN, W_SIGN
from assembly.study.check import BoxModel

if TYPE_CHECKING:
    from collections.abc import Callable

    from assembly.arrays import BoolArray, FloatArray
    from assembly.made.records import MadeFaces
    from assembly.rare.points import Points
    from assembly.rare.space import BrokenLimit

Feature = Literal[
    "plain end", "lapped end", "cheek", "shoulder", "thickness", "height", "bow", "twist", "base edge", "base place",
    "lid edge", "lid place", "hole", "kerf", "plaque hole", "leg", "angle",
]  # fmt: skip
Edge = Literal["", "top", "bottom", "inner", "outer"]
_ENDS = {f"{tool}.{part}" for tool in ("saw", "sand", "square") for part in ("offset", "plan", "upright")}
_SHOULDER = {"lap_mark.offset", "lap_saw.offset", "lap_saw.plan", "lap_saw.upright"}
_ALONE: dict[str, Feature] = {
    "stock.thickness": "thickness",
    "stock.height": "height",
    "stock.bow": "bow",
    "stock.twist": "twist",
    "base.cut": "base edge",
    "base.place": "base place",
    "flush.offset": "base edge",
    "outline.offset": "lid edge",
    "lid_saw.offset": "lid edge",
    "lid_sand.offset": "lid edge",
    "lid.place": "lid place",
    "laser.kerf": "kerf",
    "bend.line": "leg",
    "bend.angle": "angle",
}
_EVEN = 0.75  # an edge is named where the whole face is off by less than so much of what the edge is


@dataclass(frozen=True, slots=True, kw_only=True)
class Off:
    """One feature that is off: which (its corner, wall, side or hole by number), where on it, by how much."""

    feature: Feature
    at: int
    edge: Edge
    size: float
    share: float


def what_is_off(limit: BrokenLimit, points: Points) -> list[Off]:
    """Return what is off in the first of some points, the weightiest feature first."""
    model, first = limit.model, points.take([0])
    assert isinstance(model, BoxModel)
    value = limit.values(first)
    faces = model.making.faces(value).box(0)
    shares = feature_shares(limit, first.u[:, 0])
    found = [_off(model, value, faces, feature, at, share) for (feature, at), share in shares.items()]
    return sorted(found, key=lambda off: (-off.share, off.feature, off.at))


def feature_shares(limit: BrokenLimit, u: FloatArray) -> dict[tuple[Feature, int], float]:
    """Return each feature's share of u²: they add to 1, or to 0 where u is 0."""
    total, found = float(u @ u) or 1.0, defaultdict[tuple[Feature, int], float](float)
    own: dict[str, FloatArray] = {}
    at = 0
    rows = {}
    for each, level, count in limit.parts:
        rows[each, level], at = u[at : at + count], at + count
        if level == "cut":
            own[each.name] = rows[each, level]
    for (each, level), part in rows.items():
        weights = part**2
        if level != "cut":
            along = np.maximum(own.get(each.name, np.zeros(each.places)) * np.sign(part[0]), 0)
            weights = part[0] ** 2 * (along / along.sum() if along.any() else np.full(each.places, 1 / each.places))
        for place, weight in enumerate(weights):
            found[feature_of(each.name, place)] += float(weight) / total
    return dict(found)


def feature_of(name: str, place: int) -> tuple[Feature, int]:
    """Return the feature that one place of a quantity leaves, and its number."""
    kind: Feature
    if name in _ENDS:
        kinds: tuple[Feature, ...] = ("plain end", "lapped end", "shoulder")
        kind, at = kinds[place // 4], place % 4
    elif name == "mark.offset":
        plain, lapped = dict(MARKED_PLAIN), dict(MARKED_LAPPED)
        kind, at = ("plain end", plain[place]) if place in plain else ("lapped end", lapped[place])
    elif name == PARE:
        kind, at = ("shoulder" if place % 8 >= 4 else "cheek"), place % 32 // 8
    elif name == "chisel.uneven":
        kind, at = "cheek", place // 4
    elif name in {"hole_mark.offset", "drill.wander"}:
        kind, at = "hole", place // 2
    elif name == "laser.place":
        kind, at = "plaque hole", place // 2
    else:
        kind, at = _ALONE.get(name) or ("shoulder" if name in _SHOULDER else "cheek"), place
    return kind, at


def _off(
    model: BoxModel, value: dict[str, FloatArray], faces: MadeFaces, feature: Feature, at: int, share: float
) -> Off:
    heights = {
        "plain end": faces.plain_end,
        "lapped end": faces.lapped_end,
        "cheek": faces.cheek,
        # Judged with the plain wall in the lap: how much too narrow the lap is for the wall that it takes.
        "shoulder": faces.shoulder - faces.end_offset[:, None] + faces.thickness[PLAIN_AT][:, None],
    }
    edge: Edge = ""
    if feature in heights:
        edge, size = _edge_off(heights[feature][at])
    else:
        size = float(_sizes(model, value, faces, feature)[at])
    return Off(feature=feature, at=at, edge=edge, size=size, share=share)


def _edge_off(heights: FloatArray) -> tuple[Edge, float]:
    """Return where a face, (4,), is off most, and by how much on average there: nowhere in particular if all over."""
    edges: dict[Edge, BoolArray] = {"bottom": W_SIGN < 0, "top": W_SIGN > 0, "inner": V_SIGN < 0, "outer": V_SIGN > 0}
    means: dict[Edge, float] = {edge: float(heights[where].mean()) for edge, where in edges.items()}
    edge, whole = max(means, key=lambda each: abs(means[each])), float(heights.mean())
    return ("", whole) if abs(whole) >= _EVEN * abs(means[edge]) else (edge, means[edge])


def _sizes(model: BoxModel, value: dict[str, FloatArray], faces: MadeFaces, feature: Feature) -> FloatArray:
    """Return the sizes of every feature of a kind that is no worked face."""
    if feature == "hole":
        return np.asarray(np.hypot(*np.moveaxis(drilled_errors(value)[..., 0], 1, 0)))
    if feature == "plaque hole":
        return np.asarray(np.hypot(*value["laser.place"][:, 0].reshape(3, 2).T))
    sizes: dict[Feature, Callable[[], FloatArray]] = {  # of what the box has: a plaque's are asked for with one alone
        "thickness": lambda: faces.thickness,
        "height": lambda: faces.height,
        "bow": lambda: value["stock.bow"][:, 0],
        "twist": lambda: model.frame.height * value["stock.twist"][:, 0],
        "base edge": lambda: base_overhangs(model.design.base.oversize, value)[:, 0],
        "base place": lambda: value["base.place"][:, 0],
        "lid edge": lambda: lid_overhangs(value)[:, 0],
        "lid place": lambda: value["lid.place"][:, 0],
        "kerf": lambda: value["laser.kerf"][:, 0],
        "leg": lambda: value["bend.line"][:, 0],
        "angle": lambda: np.degrees(value["bend.angle"][:, 0]),
    }
    return sizes[feature]()
