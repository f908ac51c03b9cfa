"""A close-up of the worst joint: its lap with the mating wall taken out, and the gap at each corner of its face.

A face of a lap looks at a face of the other wall, so of the two only one can look at the viewer, and in the box some
look away from every place that the others are seen from. The close-up is seen from where both faces of the one lap
look at the viewer, the worst one most.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.nominal.frame import CORNERS, SX, SY
from viewer.picture.lettering import LEADING, Rectangle, width_of, wrapped
from viewer.scene.camera import Direction, fitted

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from viewer.scene.camera import View
    from viewer.scene.joints import Joint
    from viewer.scene.scene import Scene


_ASIDE, _UP = 32.0, 28.0  # degrees: how far the worst face looks past the viewer, and how high he stands
_FREE = 0.26  # of the close-up's width at either side of the lap: the figures stand there
_PLATE = 1.2  # ems; height of a figure's plate
_HEAD = "Worst fit, close up"
HEAD_HIGH = 1.4  # ems over the frame, for the head


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A gap at a corner of a face: its words, their plate, and the line from the plate to the corner; pixels."""

    text: str
    box: Rectangle
    port: tuple[float, float]
    corner: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseUp:
    """The close-up, laid out."""

    scene: Scene  # the lapped wall alone, with the marks of one lap
    view: View  # on a picture of the size of its frame
    frame: Rectangle  # where it stands in the picture, pixels
    head: str
    lines: tuple[str, ...]  # the words under it
    figures: tuple[Figure, ...]  # gaps at the corners of the face

    def words_top(self, em: float) -> float:
        """Return where the words under the frame begin."""
        return self.frame[3] + 0.3 * em

    def bottom(self, em: float) -> float:
        """Return where the words under the frame end."""
        return self.words_top(em) + LEADING * len(self.lines) * em


def close_up(scene: Scene, em: int, room: Rectangle) -> CloseUp | None:
    """Return the close-up of a scene's worst joint in a room of a picture, its words below; None without one."""
    joint = scene.worst
    if joint is None:
        return None
    left, top, right, bottom = (round(side) for side in room)
    frame = (left, top + round(HEAD_HIGH * em), right, bottom)
    size = (frame[2] - frame[0], frame[3] - frame[1])
    lap = _lap(scene, joint)
    view = _view(lap, size, em)
    wall = scene.parts[joint.patches[1].part].name
    words = f"{joint.name}, the {wall} taken out. Figures: the gap at the corners of its face, mm."
    return CloseUp(
        scene=lap,
        view=view,
        frame=frame,
        head=_HEAD,
        lines=tuple(wrapped(words, em, size[0])),
        figures=_figures(joint, lap, view, frame, em),
    )


def _lap(scene: Scene, worst: Joint) -> Scene:
    """Return a scene of the lapped wall alone, with the marks on the lap that the worst joint is part of."""
    wall = worst.patches[0].part
    joints = tuple(
        replace(joint, patches=(replace(joint.patches[0], part=0),))
        for joint in scene.joints
        if joint.corner == worst.corner
    )
    corner = CORNERS.index(worst.corner)
    aside = math.radians(_ASIDE if worst.face == "cheek" else 90 - _ASIDE)
    # A lap's cheek looks into the box, its shoulder along the wall to the end.
    into, out = math.cos(aside), math.sin(aside)
    right, back = float(SX[corner]), float(SY[corner])
    along = scene.parts[wall].name in {"front wall", "back wall"}
    x, y = (right * out, -back * into) if along else (-right * into, back * out)
    return replace(
        scene,
        parts=(scene.parts[wall],),
        joints=joints,
        strokes=(),
        explode=0.0,
        direction=Direction(round=math.degrees(math.atan2(x, -y)), up=_UP),
    )


def _view(lap: Scene, size: tuple[int, int], em: int) -> View:
    """Return the view in which the faces of the lap fill the frame but for room for figures."""
    points = np.concatenate([joint.patches[0].face for joint in lap.joints])
    aside = _FREE * size[0]
    room = np.array([[aside, 0.8 * em], [size[0] - aside, size[1] - 0.8 * em]])
    return fitted(points, lap.direction, size, room)


def _figures(joint: Joint, lap: Scene, view: View, frame: Rectangle, em: int) -> tuple[Figure, ...]:
    """Return the gap at each corner of the worst face, beside the lap and inside the frame, none over another.

    Corners 0 and 3 are on one upright edge of the face, 1 and 2 on the other; each edge's figures stand at its side.
    """
    offset = np.array(frame[:2])
    places = view.pixels(joint.patches[0].face) + offset
    whole = view.pixels(np.concatenate([other.patches[0].face for other in lap.joints])) + offset
    beside = (float(whole[:, 0].min()) - 0.9 * em, float(whole[:, 0].max()) + 0.9 * em)
    first_left = bool(places[[0, 3], 0].mean() < places[[1, 2], 0].mean())
    found: dict[int, Figure] = {}
    for edge in ((0, 3), (1, 2)):
        on_right = (edge == (0, 3)) != first_left
        below = sorted(edge, key=lambda corner: float(places[corner, 1]))
        tops = _apart(places[below, 1] - _PLATE * em / 2, frame, em)
        for corner, top in zip(below, tops, strict=True):
            found[corner] = _figure(joint.gaps[corner], places[corner], (beside[on_right], top), frame, em)
    return tuple(found[corner] for corner in range(4))


def _apart(wanted: FloatArray, frame: Rectangle, em: int) -> tuple[float, float]:
    """Return the tops of two plates, one above the other, inside the frame, as near as they may be to those wanted."""
    edge, high = 0.2 * em, _PLATE * em
    upper = min(max(float(wanted[0]), frame[1] + edge), frame[3] - 2 * (high + edge))
    return upper, min(max(float(wanted[1]), upper + high + edge), frame[3] - edge - high)


def _figure(gap: float, corner: FloatArray, place: tuple[float, float], frame: Rectangle, em: int) -> Figure:
    """Return a figure whose plate begins at, or on the left side of a face ends at, a place."""
    text, (x, top), edge = f"{gap:.2f}", place, 0.2 * em
    wide = width_of(text, em, "Bold") + 2 * edge
    on_right = x > corner[0]
    left = min(x, frame[2] - edge - wide) if on_right else max(x - wide, frame[0] + edge)
    port = (left if on_right else left + wide, top + _PLATE * em / 2)
    return Figure(
        text=text,
        box=(left, top, left + wide, top + _PLATE * em),
        port=port,
        corner=(float(corner[0]), float(corner[1])),
    )
