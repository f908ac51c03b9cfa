"""The window's tags: what is named on the box, where it is seen, and where its words stand beside it.

tag  : a plate of words beside what it names, with a leader to it
mark : the rectangle of the picture in which what a tag names is seen

Pixels, x to the right and y down from the window's upper left corner. No library of the screen is loaded here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from viewer.picture.lettering import Note, Rectangle, note_size
from viewer.scene.joints import WALL_NAMES
from viewer.scene.visibility import seen_from

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from viewer.scene.camera import View
    from viewer.scene.joints import Joint
    from viewer.scene.scene import Scene


_GAPS = (0.5, 1.0, 2.0, 3.5, 5.5, 8.0)  # from a mark to its tag, as shares of the tag's height
_AROUND = tuple((x, y) for x in (-1, 0, 1) for y in (-1, 0, 1) if (x, y) != (0, 0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """What a tag says, and the joint or the part that it names."""

    note: Note
    joint: Joint | None = None
    part: int | None = None


def tags_of(scene: Scene) -> tuple[Tag, ...]:
    """Return the tags of a scene, the worst fit first: joints too wide for the glue; walls where there are no joints.

    Of each corner the wider joint alone has a tag. Walls have theirs while they lie on the bench, without base or lid.
    """
    if not scene.joints:
        names = [part.name for part in scene.parts]
        walls = names if set(names) <= set(WALL_NAMES) else []
        return tuple(Tag(note=Note(lines=(name,), marks=()), part=i) for i, name in enumerate(walls))
    widest = [
        max((joint for joint in scene.joints if joint.corner == corner), key=lambda joint: joint.gap)
        for corner in sorted({joint.corner for joint in scene.joints})
    ]
    wide = [joint for joint in widest if joint.gap > scene.scale.glue_limit]
    return tuple(Tag(note=_said(joint), joint=joint) for joint in sorted(wide, key=lambda joint: not joint.worst))


def _said(joint: Joint) -> Note:
    name = f"worst fit: {joint.name}" if joint.worst else joint.name
    return Note(lines=(name, joint.words), fit=joint.fit, worst=joint.worst, marks=())


def mark_of(tag: Tag, scene: Scene, explode: float, view: View) -> Rectangle | None:
    """Return where what a tag names is seen; None where nothing of it is."""
    if tag.joint is None:
        assert tag.part is not None
        part = scene.parts[tag.part]
        x, y = min(view.pixels(part.points + explode * part.away).tolist())
        return (x, y, x, y)
    grounds = [patch.ground + explode * scene.parts[patch.part].away for patch in tag.joint.patches]
    seen = [ground[seen_from(scene, explode, view, ground.mean(axis=1))] for ground in grounds]
    most = max(seen, key=len)
    return _bounds(view.pixels(most.reshape(-1, 3))) if len(most) else None


def side_of(scene: Scene, em: int) -> float:
    """Return how much of a room is left free at its left for the names of walls, so that they stand beside them."""
    names = [note_size(tag.note, em) for tag in tags_of(scene) if tag.part is not None]
    return max((width + height for width, height in names), default=0.0)


def _bounds(pixels: FloatArray) -> Rectangle:
    (left, top), (right, bottom) = pixels.min(axis=0).tolist(), pixels.max(axis=0).tolist()
    return (left, top, right, bottom)


def beside(marks: list[Rectangle], sizes: list[tuple[int, int]], room: Rectangle) -> list[tuple[float, float] | None]:
    """Return the upper left corner of each tag: in a room, over no mark and no other tag, near to what it names.

    Parameters
    ----------
    marks : list of Box
        Where what the tags name is seen.
    sizes : list of (int, int)
        Widths and heights of the tags.
    room : Box
        Where tags may stand.

    Returns
    -------
    list of (float, float) or None
        None for a tag that finds no place beside what it names.
    """
    middle = np.mean(
        [[(mark[0] + mark[2]) / 2, (mark[1] + mark[3]) / 2] for mark in marks or [(0.0, 0.0, 0.0, 0.0)]], axis=0
    )
    taken, found = list(marks), list[tuple[float, float] | None]()
    for mark, size in zip(marks, sizes, strict=True):
        places = _places(mark, size, middle)
        place = next((at for at in places if _free((*at, at[0] + size[0], at[1] + size[1]), taken, room)), None)
        found.append(place)
        if place is not None:
            taken.append((*place, place[0] + size[0], place[1] + size[1]))
    return found


def _places(mark: Rectangle, size: tuple[int, int], middle: FloatArray) -> list[tuple[float, float]]:
    """Return the places round a mark, the nearest first; of these those that lead away from all marks' middle.

    A wall on the bench, whose mark is its left end, has its name to the left.
    """
    (wide, high), centre = size, np.array([(mark[0] + mark[2]) / 2, (mark[1] + mark[3]) / 2])
    outward = centre - middle if mark[2] > mark[0] else np.array([-1.0, 0.0])
    around = sorted(_AROUND, key=lambda way: -float(np.dot(way, outward)) / float(np.hypot(*way)))
    half = np.array([mark[2] - mark[0] + wide, mark[3] - mark[1] + high]) / 2
    corners = [centre + way * (half + gap * high) - np.array([wide, high]) / 2 for gap in _GAPS for way in around]
    return [(float(x), float(y)) for x, y in corners]


def _free(box: Rectangle, taken: list[Rectangle], room: Rectangle) -> bool:
    inside = room[0] <= box[0] and room[1] <= box[1] and box[2] <= room[2] and box[3] <= room[3]
    return inside and not any(
        box[0] < right and left < box[2] and box[1] < bottom and top < box[3] for left, top, right, bottom in taken
    )


def leader(place: tuple[float, float], size: tuple[int, int], mark: Rectangle) -> FloatArray:
    """Return the ends of the line from a tag to the middle of its mark: (2, 2), from the tag's nearest edge."""
    end = np.array([(mark[0] + mark[2]) / 2, (mark[1] + mark[3]) / 2])
    return np.array([np.clip(end, place, np.add(place, size)), end])
