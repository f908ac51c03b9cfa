"""A first look at a section's bond by few boxes: enough to tell that one is far off, at a tenth of the time.

A section's programme of settling is made ready for all 32 tie patterns, which takes longer than to settle a thousand
boxes by it. So a glance takes boxes of the first pattern only; they are boxes of the study, made by the same makers.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.contact.programme import ContactProgramme
from assembly.made.frame_outcomes import closed_shares
from assembly.materials.bond import bond_figure, joint_area
from assembly.nominal.frame import PATTERNS, contact_matrix, free_columns, point_areas, squared_row, tie_patterns
from assembly.study.check import TIE, TIE_WEIGHT, BoxModel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray, IntArray

    Window = tuple[dict[str, FloatArray], int]  # values of the inputs, and of how many boxes

FEW = 1  # tie patterns that a glance takes; each is in one box of 32
MOST = 400  # boxes of a glance; fewer would leave more sections in doubt, each of which costs a whole sample


@dataclass(frozen=True)
class Glance:
    """Some boxes of a study: their numbers in it, their inputs' values, and the tie pattern of each."""

    numbers: IntArray
    value: dict[str, FloatArray]
    pattern: IntArray  # all under FEW

    def bonds(self, model: BoxModel) -> FloatArray:
        """Return the bond figure of each box, mm²: (boxes,), as a whole sample has them."""
        box = model.frame
        weights = point_areas(box) * (1 + TIE_WEIGHT * tie_patterns()[:FEW])
        programme = ContactProgramme(
            contact_matrix(box).reshape(32, 16)[:, free_columns()],
            weights,
            equality=squared_row() if model.design.glue_up == "squared" else None,
        )
        gaps = np.broadcast_to(model.making.faces(self.value).gaps(), (32, self.numbers.size))
        settled = programme.settle(np.ascontiguousarray(gaps), self.pattern)
        closed = closed_shares(box, settled.gaps.reshape(4, 2, 4, self.numbers.size), model.design.glue_limit)
        return bond_figure(np.full(4, joint_area(box)), closed.T)


def glance_at(windows: Sequence[Window]) -> Glance:
    """Return a glance at a study's boxes; `windows` hold them all, in order."""
    ties = np.concatenate([np.broadcast_to(value[TIE.name][0], boxes) for value, boxes in windows])
    pattern = np.minimum(ties * PATTERNS, PATTERNS - 1).astype(np.int64)
    numbers = np.flatnonzero(pattern < FEW)[:MOST]
    return Glance(numbers=numbers, value=_of_boxes(windows, numbers), pattern=pattern[numbers])


def _of_boxes(windows: Sequence[Window], numbers: IntArray) -> dict[str, FloatArray]:
    """Return the inputs' values of some boxes; an input that does not vary stays (places, 1)."""
    found: dict[str, list[FloatArray]] = {}
    start = 0
    for value, boxes in windows:
        own = numbers[(numbers >= start) & (numbers < start + boxes)] - start
        for name, each in value.items():
            found.setdefault(name, []).append(each[:, own] if each.shape[1] == boxes else each)
        start += boxes
    steady = {name for name, each in windows[0][0].items() if each.shape[1] != windows[0][1]}
    return {name: parts[0] if name in steady else np.hstack(parts) for name, parts in found.items()}
