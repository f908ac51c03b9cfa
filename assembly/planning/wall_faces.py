"""The faces that a step works on, and how parts lie so that these are seen; names only, no geometry.

face  : one flat side of a part, by its name on that part
place : where the parts of a step are: where the box has them, the same upside down, or walls side by side on the bench
pose  : how they lie there; on the bench the faces that are worked on decide it

On the bench walls lie in rows, the first at the back, and who works there sees what is up and what is to the front.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


class Face(StrEnum):
    """A face by its name: of a wall, of a sheet, or of the plaque when it has been bent."""

    INSIDE = "inside"  # a wall's face side
    OUTSIDE = "outside"
    TOP = "top"  # a wall's top edge, a sheet's upper face
    BOTTOM = "bottom"  # a wall's face edge
    FRONT_END = "front end"  # of lapped walls
    BACK_END = "back end"
    LEFT_END = "left end"  # of plain walls
    RIGHT_END = "right end"
    SHOULDER = "shoulder"  # of the laps at both ends
    CHEEK = "cheek"
    UNDERSIDE = "underside"  # of a sheet
    FRONT_EDGE = "front edge"
    BACK_EDGE = "back edge"
    LEFT_EDGE = "left edge"
    RIGHT_EDGE = "right edge"
    STANDING_LEG = "standing leg"  # the bent plaque's, on the side that was its top


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFace:
    """A face of a part."""

    part: str  # as named in `assembly.solids.parts`
    face: Face


class Place(StrEnum):
    """Where the parts of a step are."""

    BOX = "box"  # where the closed box has them
    UPSIDE_DOWN = "upside down"  # the same turned over, front still to the front
    BENCH = "bench"  # walls only, side by side


class Pose(StrEnum):
    """How the parts of a step lie."""

    IN_PLACE = "in place"  # where the closed box has them
    UPSIDE_DOWN = "upside down"  # the same turned over, front still to the front
    FACE_SIDE_UP = "face side up"  # walls on the bench, face edge to the front
    OUTSIDE_UP = "outside up"  # walls on the bench, turned over, face edge to the front
    TOP_EDGE_UP = "top edge up"  # walls on the bench, stood on their face edge, face side to the front


# What is up and what is to the front of a wall on the bench, the best liked pose first.
SEEN: dict[Pose, tuple[Face, ...]] = {
    Pose.FACE_SIDE_UP: (Face.INSIDE, Face.CHEEK, Face.BOTTOM),
    Pose.OUTSIDE_UP: (Face.OUTSIDE, Face.BOTTOM),
    Pose.TOP_EDGE_UP: (Face.INSIDE, Face.CHEEK, Face.TOP),
}

SHEET_EDGES = (Face.FRONT_EDGE, Face.BACK_EDGE, Face.LEFT_EDGE, Face.RIGHT_EDGE)


def lying(faces: Sequence[Face]) -> Pose:
    """Return how walls lie on the bench when these faces are worked on, the most important first.

    The first face is seen wherever a pose shows it; among poses that show it the second decides, and so on.

    Examples
    --------
    >>> lying((Face.INSIDE, Face.TOP)), lying((Face.INSIDE, Face.BOTTOM, Face.TOP))
    (<Pose.TOP_EDGE_UP: 'top edge up'>, <Pose.FACE_SIDE_UP: 'face side up'>)
    """
    return max(SEEN, key=lambda pose: [face in SEEN[pose] for face in faces])


def on_parts(parts: Iterable[str], *faces: Face) -> tuple[PartFace, ...]:
    """Return these faces of each part."""
    return tuple(PartFace(part=part, face=face) for part in parts for face in faces)
