"""What is shown of a box, worked out once for pictures and windows: arrays, names, words and tints. Nothing is drawn.

part  : one piece of the box, where it stands closed, and how far it is taken away from there
joint : two faces that close on each other, cheek or shoulder of one corner (see `viewer.scene.joints`)

Lengths are millimetres, in the frame of `assembly.nominal.frame`: x right, y back, z up, origin in the middle of the
walls.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.nominal.fittings import WASHER_KINDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray, IntArray
    from assembly.made.gap_classes import GapScale
    from assembly.planning.plan import Plan
    from viewer.scene.camera import Direction
    from viewer.scene.joints import Joint
    from viewer.scene.tints import Tint


CARE = "⚠ Take care:"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownPart:
    """One part as it is shown; points stand where the closed box has them."""

    name: str
    kind: str  # parts of one kind are named together
    title: str  # what a label calls it
    sizes: tuple[str, ...]  # in words, a line each
    colour: Tint
    opacity: float
    points: FloatArray  # (n, 3)
    triangles: IntArray  # (m, 3)
    edges: FloatArray  # (k, 2 ends, 3)
    grain: FloatArray  # (g, 2 ends, 3) lines along the grain
    away: FloatArray  # (3,) from closed to taken apart


def labels_of(parts: Sequence[ShownPart]) -> list[tuple[tuple[str, ...], tuple[int, ...]]]:
    """Return the lines of each label and the parts, by index, that it speaks of: equal ones together.

    Washers have none: they are told with their screws.
    """
    kinds: dict[str, list[int]] = {}
    for index, part in enumerate(parts):
        if part.kind not in WASHER_KINDS.values():
            kinds.setdefault(part.kind, []).append(index)
    return [
        ((parts[some[0]].title if len(some) == 1 else f"{len(some)} {kind}s", *parts[some[0]].sizes), tuple(some))
        for kind, some in kinds.items()
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strokes:
    """Marking-out lines on one part; points stand where the closed box, or the bench, has the part."""

    part: int  # index of the part that they lie on
    ends: FloatArray  # (k, 2 ends, 3)
    fresh: bool  # drawn in this step, else in one before it


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownMeasure:
    """A size between two points, or the name of the line between them; where the closed box, or the bench, has them."""

    text: str
    ends: FloatArray  # (2, 3)
    away: FloatArray | None  # (3,) unit vector to where a size is drawn; None for a name


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownHole:
    """A hole that a step drills and what is written beside it; where the closed box, or the bench, has it."""

    text: str  # its diameter, and how deep it is or that it goes through
    rim: FloatArray  # (n, 3) points round it, on the face that the bit enters


@dataclass(frozen=True, slots=True, kw_only=True)
class Caption:
    """What stands under a title, by what it is about; empty where nothing is said of it."""

    before: tuple[str, ...] = ()  # what is said before a step, a paragraph each
    action: str = ""  # what to do in a step
    lead: tuple[str, ...] = ()  # which box it is; of a step what to know and what it needs; a paragraph each
    worst: str = ""  # the worst fit
    drawn: str = ""  # how the parts are drawn
    care: str = ""  # what can hurt

    @property
    def paragraphs(self) -> tuple[str, ...]:
        """All of it in order, what can hurt last."""
        drawn = " ".join(filter(None, (self.worst, self.drawn)))
        care = f"{CARE} {self.care}" if self.care else ""
        return (*self.before, *filter(None, (self.action,)), *self.lead, *filter(None, (drawn, care)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """Everything that is shown, at one explosion."""

    name: str  # of the box
    shows: str  # how far it is taken apart, or which step of its making it is
    caption: Caption
    parts: tuple[ShownPart, ...]
    joints: tuple[Joint, ...]
    scale: GapScale  # the words of the key
    direction: Direction  # from where it is seen at first
    explode: float  # 0 closed to 1 taken apart
    strokes: tuple[Strokes, ...] = ()
    measures: tuple[ShownMeasure, ...] = ()
    holes: tuple[ShownHole, ...] = ()
    ghosts: tuple[FloatArray, ...] = ()  # (k, 2 ends, 3) each: edges of what is only laid on a part
    plan: Plan | None = None  # of the frame, beside the drawing

    @property
    def title(self) -> str:
        """What is shown."""
        return f"{self.name}, {self.shows}"

    @property
    def worst(self) -> Joint | None:
        """The joint with the largest gap, if joints are shown."""
        return next((joint for joint in self.joints if joint.worst), None)

    def placed(self, index: int, points: FloatArray) -> FloatArray:
        """Return points of part `index` where they are at this explosion."""
        return np.asarray(points + self.explode * self.parts[index].away, dtype=np.float64)

    def corners(self) -> FloatArray:
        """Return the corners of all surfaces at this explosion: (n, 3), mm."""
        shown = [self.placed(i, part.points) for i, part in enumerate(self.parts)]
        return np.concatenate([*shown, *(ends.reshape(-1, 3) for ends in self.ghosts)])


@dataclass(frozen=True, slots=True, kw_only=True)
class TitleBlock:
    """What the picture says of itself: the box's name, and of which boxes the shown one is a sample."""

    name: str = "Lap-jointed box"
    boxes: int | None = None  # how many were sampled
    percentile: int = 95
