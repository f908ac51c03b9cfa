"""The sizes of a step that the window draws beside the parts, from the records that pictures draw them from.

A size is shown where the line between its ends is seen, and finds room clear of tags; a hole's label wherever there is
room, as no step may leave out how wide and how deep to drill. No library of the screen is loaded here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from viewer.picture.dimensions import Taken, drawn_measures, heads
from viewer.scene.visibility import seen_from
from viewer.window.tags import leader

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from viewer.picture.dimensions import DrawnMeasure
    from viewer.picture.lettering import Rectangle
    from viewer.scene.camera import View
    from viewer.scene.scene import Scene

_SHARES = np.array([[0.8, 0.2], [0.5, 0.5], [0.2, 0.8]])  # of a size's ends: where its line must be seen


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A tag where it stands, and the mark that its leader goes to; pixels."""

    place: tuple[float, float]
    size: tuple[int, int]
    mark: Rectangle


def sizes_shown(scene: Scene, view: View, em: int, room: Rectangle, tags: Sequence[Placed]) -> tuple[DrawnMeasure, ...]:
    """Return the sizes, names of lines and labels of holes that are shown in a view, in a room and clear of tags."""
    if not (scene.measures or scene.holes):
        return ()
    kept = tuple(each for each in scene.measures if seen_from(scene, 0.0, view, _SHARES @ each.ends).all())
    plates = [(*tag.place, tag.place[0] + tag.size[0], tag.place[1] + tag.size[1]) for tag in tags]
    leaders = [leader(tag.place, tag.size, tag.mark) for tag in tags]
    taken = Taken(room=room, plates=plates, leaders=np.array(leaders).reshape(-1, 2, 2))
    return drawn_measures(replace(scene, measures=kept), view, taken, em)


@dataclass(frozen=True, slots=True, kw_only=True)
class Strokes:
    """The lines of sizes, pixels."""

    ends: FloatArray  # (n, 2, 2) from a part to beyond a size's line
    lines: FloatArray  # (m, 2, 2) from arrow to arrow, and from a hole's rim to its label
    heads: FloatArray  # (k, 3, 2) arrowheads


def strokes_of(sizes: Sequence[DrawnMeasure], em: int) -> Strokes:
    """Return the lines that are drawn of sizes."""
    measured = [each for each in sizes if len(each.ticks)]
    led = [each.leader for each in sizes if each.leader is not None]
    return Strokes(
        ends=np.concatenate([np.empty((0, 2, 2)), *(each.ticks for each in measured)]),
        lines=np.array([*(each.line for each in measured), *led]).reshape(-1, 2, 2),
        heads=np.concatenate(
            [np.empty((0, 3, 2)), *(heads(each.line, em) for each in measured), *(heads(line, em)[:1] for line in led)]
        ),
    )
