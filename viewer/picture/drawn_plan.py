"""A small plan of the frame from above, with the walls' names and its corners' letters; laid out, not drawn.

Millimetres, x right and y back, as in `assembly.nominal.frame`; on the picture pixels, so the back is at the top.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.nominal.frame import CORNER_LETTERS, CORNERS, SX, SY
from viewer.picture.lettering import width_of

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.planning.plan import Plan

HEAD = "The frame from above"
_WIDE, _DEEP = 11.0, 4.2  # ems; the frame is drawn no larger
_AROUND = 1.3  # ems round it, for names and letters
HIGH = _DEEP + 2 * _AROUND + 1.6  # ems that it takes up at most, with its head


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPlan:
    """The plan as it is drawn: lines, (k, 2, 2) pixels, and words with the places of their middles."""

    lines: FloatArray
    words: tuple[tuple[str, float, float], ...]


def drawn_plan(plan: Plan, em: int, across: tuple[float, float], bottom: float) -> DrawnPlan:
    """Return the plan over `bottom`, in the middle of the room `across` (left and right); pixels."""
    scale = em * min(_WIDE / plan.along_x, _DEEP / plan.along_y)
    x, y = scale * plan.along_x / 2, scale * plan.along_y / 2
    middle = np.array([sum(across) / 2, bottom - _AROUND * em - y])
    beside = {name: x + 1.5 * em + width_of(name, em, "Bold") / 2 for name in ("LEFT", "RIGHT")}
    places = {
        "LEFT": (-beside["LEFT"], 0.0),
        "RIGHT": (beside["RIGHT"], 0.0),
        "FRONT": (0.0, y + 0.75 * em),
        "BACK": (0.0, -y - 0.75 * em),
        HEAD: (0.0, -y - 2.0 * em),
    }
    out = max(x + 0.7 * em, width_of("FRONT", em, "Bold") / 2 + 0.7 * em)  # clear of the names, where it is narrow
    for corner, side, end in zip(CORNERS, SX.tolist(), SY.tolist(), strict=True):
        places[CORNER_LETTERS[corner]] = (out * side, -(y + 0.6 * em) * end)
    return DrawnPlan(
        lines=middle + scale * plan.lines * [1, -1],
        words=tuple((text, middle[0] + right, middle[1] + down) for text, (right, down) in places.items()),
    )
