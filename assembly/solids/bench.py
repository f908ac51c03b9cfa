"""Where the parts of a step are taken: turned over, lifted off, or side by side on the bench.

Placements are (4, 4), mm, from a part's place in the closed box (`assembly.nominal.frame`); each is a turn and a shift,
never a mirror image. On the bench x is to the right, y to the back and z up; rows follow one another from back to
front, so that whoever stands before it sees what is up and what is to the front (`assembly.planning.wall_faces.SEEN`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from assembly.planning.wall_faces import Pose
from assembly.solids.parts import moved

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from assembly.planning.steps import Step
    from assembly.solids.parts import PartArrays

_BETWEEN = 0.5  # from one wall on the bench to the next, as a share of a wall's depth there or of twice its height
_RAISED = 0.35  # how far parts are lifted off, as a share of the box's larger side on plan
# How far above a hole parts are lifted, over how far it lies behind their front edge: who looks down at 45 degrees, a
# little from the side, sees it then.
_OVER = 1.25

# Which way a wall's length runs from left to right, for who looks at the inside face with the top edge up.
_ALONG = {"left wall": (0, 1, 0), "right wall": (0, -1, 0), "front wall": (-1, 0, 0), "back wall": (1, 0, 0)}


def placement(step: Step, timber: PartArrays, box: Sequence[PartArrays]) -> FloatArray:
    """Return where a part is taken for a step: (4, 4).

    Parameters
    ----------
    step : Step
        The step.
    timber : PartArrays
        The part as it is then.
    box : sequence of PartArrays
        The nominal parts.
    """
    name, place = timber.facts.name, np.eye(4)
    if name in step.raised:
        place[2, 3] = _lifted(step, box)
    elif step.pose is Pose.UPSIDE_DOWN:
        place[:3, :3] = np.diag([-1.0, 1.0, -1.0])
    elif step.pose is not Pose.IN_PLACE:
        return _on_bench(step, timber)
    return place


def _lifted(step: Step, box: Sequence[PartArrays]) -> float:
    """Return how far a step's raised parts are lifted, mm: far enough that holes drilled under them are seen."""
    points = {part.facts.name: moved(part.vertices, part.facts.closed) for part in box}
    front = min(float(points[name][:, 1].min()) for name in step.raised)
    under = [_OVER * (hole.centre[1] - front) for hole in step.drilled if hole.part not in step.raised]
    return max(_RAISED * max(float(np.ptp(each, axis=0)[:2].max()) for each in points.values()), *under, 0.0)


def turned(pose: Pose, wall: str) -> FloatArray:
    """Return how a wall is turned on the bench: (3, 3), rows to the right, to the back and up in the box's frame."""
    along, up = np.array(_ALONG[wall], dtype=np.float64), np.array([0.0, 0.0, 1.0])
    inward = np.cross(along, up)
    if pose is Pose.TOP_EDGE_UP:
        return np.stack([along, -inward, up])
    if pose is Pose.OUTSIDE_UP:
        return np.stack([-along, up, -inward])
    return np.stack([along, up, inward])


def _on_bench(step: Step, timber: PartArrays) -> FloatArray:
    place = np.eye(4)
    place[:3, :3] = turned(step.pose, timber.facts.name)
    points = moved(timber.vertices, timber.facts.closed) @ place[:3, :3].T
    deep, high = np.ptp(points, axis=0)[1:]
    row = step.parts.index(timber.facts.name)
    place[:3, 3] = [0.0, -row * (deep + _BETWEEN * max(deep, 2 * high)) - points[:, 1].max(), -points[:, 2].min()]
    return place
