"""The limit case: of all errors within their limits, those that open one joint the most, searched for and proved.

Every place's error may lie anywhere within bias ± limit, on its own (levels collapsed, cuts independent). The frame
settles by plain weights, so that of places with equal gap volume the worst for the joint counts.

search : sampled boxes, each improved one error at a time until no single error at a limit opens the joint further
proof  : a mixed-integer programme (`assembly.tolerance.limit_programme`); its bound says that no errors do worse
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.frame import CORNERS, contact_matrix, free_columns, point_areas
from assembly.made import SettledBox
from assembly.tolerance.check import TIE, BoxModel
from assembly.tolerance.limit_programme import LimitProgramme
from assembly.tolerance.making import FRAME_PLACES, PARE, beyond_first_order
from assembly.tolerance.outcomes import frame_outcomes
from assembly.tolerance.sampling import BLOCK, draw_block, values

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.design import Design
    from assembly.frame import FloatArray
    from assembly.tolerance.sampling import Input
    from assembly.workshop import Workshop

STARTS = 40  # sampled boxes that the search starts from
CEILING = 4.0  # the proof looks at gaps up to so many times the largest found


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitCase:
    """The worst that errors within their limits do to one joint."""

    corner: str
    found: float  # largest gap at the joint that the errors of `box` give, mm
    proved: float  # no errors within the limits give more than this, mm; inf where that was not reached
    box: SettledBox
    beyond_first_order: bool  # the box has faces outside what the model's first order holds for
    ceiling: float = math.inf  # the proof covers boxes in which no gap anywhere is over this, mm


class Errors:
    """The errors of the frame as one vector: every place of every input that can move a gap, and paring's draws."""

    def __init__(self, model: BoxModel) -> None:
        """Lay out the places of `model`, with the least and the most that each may be."""
        self._model = model
        self.inputs: Sequence[Input] = [i for i in model.making.inputs if i.name in FRAME_PLACES or i.name == PARE]
        self.starts = np.cumsum([0, *(i.places for i in self.inputs)])
        bias, limit = (
            np.concatenate([np.full(i.places, getattr(i, name)) for i in self.inputs]) for name in ("bias", "limit")
        )
        self.least, self.most = bias - limit, bias + limit

    def values(self, errors: FloatArray) -> dict[str, FloatArray]:
        """Return the inputs' values (places, boxes) for many boxes' errors (boxes, all places)."""
        columns = np.ascontiguousarray(errors.T)
        return {i.name: columns[a:b] for i, a, b in zip(self.inputs, self.starts, self.starts[1:], strict=False)}

    def vector(self, value: dict[str, FloatArray]) -> FloatArray:
        """Return the errors (boxes, all places) of the inputs' values, brought within the limits."""
        boxes = max(array.shape[-1] for array in value.values())
        rows = [np.broadcast_to(value[i.name], (i.places, boxes)) for i in self.inputs]
        return np.clip(np.concatenate(rows).T, self.least, self.most)


class Worst:
    """Search and proof of the limit cases of one design in one workshop."""

    def __init__(self, design: Design, workshop: Workshop) -> None:
        """Prepare for `design` made in `workshop`."""
        self.model = BoxModel(design, workshop)
        self.errors = Errors(self.model)

    def cases(
        self,
        corners: Sequence[str] = CORNERS,
        *,
        seed: int = 1,
        seconds: float = 60.0,
        progress: Callable[[int, int], None] | None = None,
    ) -> list[LimitCase]:
        """Return the limit case of each joint, spending about `seconds` on each proof.

        Raises
        ------
        InputError
            If a joint is not one of the four corners.
        """
        for corner in corners:
            if corner not in CORNERS:
                msg = f"joint: got {corner!r}, must be one of {', '.join(CORNERS)}"
                raise InputError(msg)
        searched = [self._search(CORNERS.index(corner), seed) for corner in corners]
        ceiling = CEILING * max(1.0, *(found for _, found in searched))
        programme = LimitProgramme(self.model.making, ceiling)
        out = []
        for corner, (errors, found) in zip(corners, searched, strict=True):
            out.append(self._case(programme, corner, errors, found, seconds))
            if progress:
                progress(len(out), len(corners))
        return out

    def _case(
        self, programme: LimitProgramme, corner: str, errors: FloatArray, found: float, seconds: float
    ) -> LimitCase:
        """Return one joint's limit case: the search's errors, or the programme's where those do worse."""
        at = CORNERS.index(corner)
        proof = programme.prove(range(8 * at, 8 * at + 8), found, seconds)
        if proof.errors is not None and self._worst_place(proof.errors, at)[1] > found:
            errors = proof.errors
        proved = proof.bound if proof.bound < programme.ceiling * (1 - 1e-6) else math.inf  # the ceiling proves nothing
        return self._told(corner, errors, proved, programme.ceiling)

    def _search(self, corner: int, seed: int) -> tuple[FloatArray, float]:
        """Return the errors that open `corner` most, improved from the worst sampled boxes, and its gap."""
        draws = draw_block(self.model.inputs, BLOCK, seed=seed, block=0)
        value = values(self.model.inputs, draws)
        opened = self._opened(value, corner)
        starts = self.errors.vector(value)[np.argsort(opened)[-STARTS:]]
        improved = [self._improved(start, corner) for start in starts]
        told = [self._worst_place(errors, corner)[1] for errors in improved]
        best = int(np.argmax(told))
        return improved[best], told[best]

    def _opened(self, value: dict[str, FloatArray], corner: int) -> FloatArray:
        """Return the gap of a corner for every box: (boxes,)."""
        _, gaps, _ = self.model.settle({TIE.name: np.full((1, 1), TIE.bias), **value})
        return np.asarray(gaps[corner].max(axis=(0, 1)))

    def _improved(self, errors: FloatArray, corner: int) -> FloatArray:
        """Return `errors` after moving single errors to a limit for as long as that opens the corner further."""
        count = len(errors)
        best = float(self._opened(self.errors.values(errors[None]), corner)[0])
        while True:
            trials = np.repeat(errors[None], 2 * count, axis=0)
            places = np.arange(count)
            trials[places, places], trials[count + places, places] = self.errors.least, self.errors.most
            opened = self._opened(self.errors.values(trials), corner)
            gains = opened.reshape(2, count).max(axis=0) - best
            # Take every error that helps alone; if together they do not, only the best of them.
            target = np.where(opened[:count] > opened[count:], self.errors.least, self.errors.most)
            together = np.where(gains > 1e-9, target, errors)
            after = float(self._opened(self.errors.values(together[None]), corner)[0])
            alone = trials[int(np.argmax(opened))]
            errors_next, gap_next = (together, after) if after > opened.max() else (alone, float(opened.max()))
            if gap_next <= best + 1e-9:
                return errors
            errors, best = errors_next, gap_next

    def _worst_place(self, errors: FloatArray, corner: int) -> tuple[FloatArray, float]:
        """Return the moves (13,) and gap at `corner` of the worst place among those of least gap volume."""
        from scipy.optimize import linprog  # noqa: PLC0415 - 0.3 s that a check does without

        before = self.model.making.faces(self.errors.values(errors[None])).gaps()[:, 0]
        matrix, areas = (
            contact_matrix(self.model.frame).reshape(32, 16)[:, free_columns()],
            point_areas(self.model.frame),
        )
        volume = linprog(matrix.T @ areas, A_ub=-matrix, b_ub=before, bounds=(None, None), method="highs").fun
        rows = np.vstack([-matrix, matrix.T @ areas])
        bounds = np.append(before, volume + 1e-9 * areas.sum())
        best: tuple[FloatArray, float] = (np.zeros(13), -1.0)
        for point in range(8 * corner, 8 * corner + 8):
            told = linprog(-matrix[point], A_ub=rows, b_ub=bounds, bounds=(None, None), method="highs")
            gap = float(before[point] + matrix[point] @ told.x)
            if gap > best[1]:
                best = told.x, gap
        return best

    def _told(self, corner: str, errors: FloatArray, proved: float, ceiling: float) -> LimitCase:
        """Return the limit case that these errors make."""
        frame = self.model.frame
        faces = self.model.making.faces(self.errors.values(errors[None]))
        moves, found = self._worst_place(errors, CORNERS.index(corner))
        poses = np.zeros(16)
        poses[free_columns()] = moves
        gaps = np.maximum(faces.gaps()[:, 0] + contact_matrix(frame).reshape(32, 16) @ poses, 0).reshape(4, 2, 4)
        told = frame_outcomes(
            frame, faces, gaps[..., None], poses.reshape(4, 4, 1), glue_limit=self.model.design.glue_limit
        )
        return LimitCase(
            corner=corner,
            found=found,
            proved=max(proved, found),
            ceiling=ceiling,
            beyond_first_order=bool(beyond_first_order(frame, faces)[0]),
            box=SettledBox(
                frame=frame,
                faces=faces.box(0),
                gaps=gaps,
                poses=poses.reshape(4, 4),
                outcomes={name: float(row[0]) for name, row in told.items()},
                index=-1,
            ),
        )
