"""Boxes at both ends of the search for a limit case: sampled ones to start from, and the one of the answer, settled.

The box of the answer is settled by a general solver from its errors alone, so that the programme is not taken at its
word.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from assembly.limit_case.milp import Pattern
from assembly.made.frame_outcomes import frame_outcomes
from assembly.made.records import SettledBox
from assembly.made.sampling import BLOCK, draw_block, values
from assembly.nominal.frame import contact_matrix, free_columns, point_areas, squared_row

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.limit_case.error_vector import Errors
    from assembly.made.records import MadeFaces
    from assembly.study.check import BoxModel

STARTS = 16  # sampled boxes that the search for a point starts from
_PLAY = 1e-7  # mm, over all contact: gap volumes that differ by no more are equal; a solver's own tolerance


class SampledPatterns:
    """What kinds of case the boxes of a sampled block are; each block is settled once."""

    def __init__(self, model: BoxModel, errors: Errors) -> None:
        """Prepare for the boxes of `model`, with `errors` brought within their limits."""
        self.model, self.errors = model, errors
        self._blocks: dict[int, tuple[FloatArray, Pattern]] = {}

    def patterns(self, point: int, seed: int) -> list[Pattern]:
        """Return the patterns of the sampled boxes that open `point` most, each once."""
        if seed not in self._blocks:
            self._blocks[seed] = self._settled_block(seed)
        gaps, all_of = self._blocks[seed]
        boxes = np.argsort(-gaps[point], kind="stable")[:STARTS]
        rows = np.concatenate([all_of.touch, all_of.sawn, all_of.pared])[:, boxes]
        _, first = np.unique(rows, axis=1, return_index=True)
        return [
            Pattern(all_of.touch[:, box], all_of.sawn[:, box], all_of.pared[:, box]) for box in boxes[np.sort(first)]
        ]

    def _settled_block(self, seed: int) -> tuple[FloatArray, Pattern]:
        """Return the gaps (32, boxes) of a sampled block within the limits, and its boxes' patterns: (…, boxes)."""
        inputs = self.errors.inputs
        value = self.errors.values(self.errors.vector(values(inputs, draw_block(inputs, BLOCK, seed=seed, block=0))))
        worked, before = self.model.making.worked(value), self.model.making.faces(value).gaps()
        boxes = before.shape[1]
        settled = self.model.programme.settle(np.ascontiguousarray(before), np.zeros(boxes, np.int64))
        touch = np.zeros((32, boxes), dtype=bool)
        np.put_along_axis(touch, settled.bearing.astype(np.intp), values=True, axis=0)
        laps = np.stack([worked.cheek, worked.shoulder], axis=1).reshape(32, -1)
        return settled.gaps, Pattern(
            touch,
            np.broadcast_to((worked.sawn < worked.sanded)[:4].reshape(16, -1), (16, boxes)),
            np.broadcast_to((laps > self.errors.notice) & bool(self.errors.pare.rounds), (32, boxes)),
        )


def worst_place(model: BoxModel, faces: MadeFaces, corner: int) -> tuple[FloatArray, float]:
    """Return the moves (13,) and gap at `corner` of the worst place among those of least gap volume, for one box."""
    from scipy.optimize import linprog  # noqa: PLC0415 - 0.3 s that a check does without

    before, areas = faces.gaps()[:, 0], point_areas(model.frame)
    matrix = contact_matrix(model.frame).reshape(32, 16)[:, free_columns()]
    held = {"A_eq": squared_row()[None], "b_eq": [0.0]} if model.design.glue_up == "squared" else {}
    free = {"bounds": (None, None), "method": "highs", **held}
    settled = linprog(matrix.T @ areas, A_ub=-matrix, b_ub=before, **free)
    rows = np.vstack([-matrix, matrix.T @ areas])
    bounds = np.append(before, settled.fun + _PLAY * areas.sum())
    points = range(8 * corner, 8 * corner + 8)
    best: tuple[FloatArray, float] = settled.x, float((before + matrix @ settled.x)[points].max())
    for point in points:
        solution = linprog(-matrix[point], A_ub=rows, b_ub=bounds, **free)
        if solution.x is not None and (gap := float(before[point] + matrix[point] @ solution.x)) > best[1]:
            best = solution.x, gap
    return best


def settled_worst(model: BoxModel, faces: MadeFaces, corner: int) -> tuple[float, SettledBox]:
    """Return the widest gap that one box can have at `corner`, mm, and the box settled so."""
    frame = model.frame
    moves, found = worst_place(model, faces, corner)
    poses = np.zeros(16)
    poses[free_columns()] = moves
    gaps = np.maximum(faces.gaps()[:, 0] + contact_matrix(frame).reshape(32, 16) @ poses, 0).reshape(4, 2, 4)
    outcomes = frame_outcomes(frame, faces, gaps[..., None], poses.reshape(4, 4, 1), glue_limit=model.design.glue_limit)
    return found, SettledBox(
        frame=frame,
        faces=faces.box(0),
        gaps=gaps,
        poses=poses.reshape(4, 4),
        outcomes={name: float(row[0]) for name, row in outcomes.items()},
        index=-1,
    )
