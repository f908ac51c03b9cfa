"""What is known of every part without the geometry kernel: names, sizes, places, triangles and edges.

facts  : what a part is called, what it is, how large it is and where it goes
arrays : a part's triangles and true edges, for the viewer and the mesh formats

A part is modelled in its own frame; `placement` puts it on the drawing (see `assembly.nominal.frame`), closed or
apart. Colours are sRGB with opacity, each from 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray
    from assembly.nominal.fittings import Fittings
    from assembly.nominal.frame import Frame

Colour = tuple[float, float, float, float]
Group = Literal["walls", "sheets", "fittings"]

# The project's own tones: light softwood, its darker mate, birch sheet, clear acrylic, steel, a painted stem.
LAPPED_TONE: Colour = (0.80, 0.60, 0.36, 1.0)
PLAIN_TONE: Colour = (0.90, 0.75, 0.52, 1.0)
BASE_TONE: Colour = (0.70, 0.54, 0.36, 1.0)
LID_TONE: Colour = (0.84, 0.70, 0.50, 1.0)
ACRYLIC_TONE: Colour = (0.70, 0.84, 0.86, 0.55)
STEEL_TONE: Colour = (0.58, 0.60, 0.63, 1.0)
STEM_TONE: Colour = (0.24, 0.42, 0.34, 1.0)

PART_NAMES = (  # of a box that has everything, its lapped walls at left and right, its lid screws countersunk
    "left wall",
    "right wall",
    "front wall",
    "back wall",
    "base",
    "lid",
    "plaque",
    "left lid screw",
    "right lid screw",
    "plaque screw 1",
    "plaque screw 2",
    "plaque washer 1",
    "plaque washer 2",
    "stem",
)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Facts:
    """What a part is and where it goes."""

    name: str  # ASCII
    role: str  # what it is in the box, in a few words
    group: Group
    material: str
    colour: Colour
    size: tuple[float, float, float]  # nominal length, width and thickness as a cutting list tells them, mm
    volume: float  # closed form, mm³
    kind: str  # parts of one kind are alike
    closed: FloatArray  # (4, 4) from the part's own frame to its place in the closed box, mm
    apart: FloatArray  # (3,) how far it moves when the box is drawn fully apart, mm
    washer: float | None = None  # of a screw, the diameter of its washer, mm; None where it has none
    lapped: bool | None = None  # of a wall, whether it carries laps; None of what is no wall


def placement(facts: Facts, explode: float) -> FloatArray:
    """Return where a part goes: (4, 4), mm; `explode` is 0 for the closed box and 1 for the box drawn apart."""
    matrix = facts.closed.copy()
    matrix[:3, 3] += explode * facts.apart
    return matrix


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PartArrays:
    """A part as triangles and edges in its own frame."""

    facts: Facts
    vertices: FloatArray  # (n, 3) mm, welded
    triangles: IntArray  # (m, 3) anticlockwise seen from outside; watertight
    edges: FloatArray  # (k, 2, 3) mm; straight pieces of the edges where two faces truly meet at an angle

    def placed(self, explode: float = 0.0) -> FloatArray:
        """Return the vertices in the box's frame: (n, 3), mm."""
        return moved(self.vertices, placement(self.facts, explode))


def moved(points: FloatArray, matrix: FloatArray) -> FloatArray:
    """Return points (…, 3) under a placement (4, 4)."""
    return np.asarray(points @ matrix[:3, :3].T + matrix[:3, 3], dtype=np.float64)


def apart(box: Frame, fitted: Fittings) -> dict[str, FloatArray]:
    """Return how far every part moves when the box is drawn apart: name to (3,), mm.

    Walls go outwards on plan, the base down; lid, plaque, washers, screws and stem rise one above the other, each clear
    of what it was fitted to.
    """
    gap = 0.3 * max(box.along_x, box.along_y)
    over_lid = over_plaque = gap
    if fitted.plaque:
        low, high = fitted.plaque.bounds()[:, 2] - fitted.plaque.underside
        over_lid = gap + max(0.0, -low)  # a leg turned down must clear the lid
        over_plaque = over_lid + gap / 2 + high
    rise = {
        "base": -gap,
        "lid": gap,
        "plaque": gap + over_lid,
        "stem": gap + over_plaque,
    }
    for screw in fitted.fasteners:
        rise[screw.name] = 1.5 * gap if screw.holds == "lid" else gap + over_plaque
        if screw.washer:
            rise[screw.washer.name] = rise[screw.name]
            rise[screw.name] += screw.screw.length + gap / 8  # its tip clear of its washer
    out = {"left wall": (-1, 0), "right wall": (1, 0), "front wall": (0, -1), "back wall": (0, 1)}
    moves = {name: np.array([gap * x, gap * y, 0.0]) for name, (x, y) in out.items()}
    return moves | {name: np.array([0.0, 0.0, z]) for name, z in rise.items()}
