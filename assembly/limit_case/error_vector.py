"""The errors of one frame as one vector, and the heights that are linear in them.

error  : one place of one input; paring's draws come last
height : what one error does to a corner of a face, mm per mm or per radian
offset : mean height of a lapped wall's end; all that a frame's joints feel of that end
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from assembly.made.faces import PARE
from assembly.nominal.frame import PLAIN_AT

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray
    from assembly.made.faces import Making

_HALVINGS = 60  # of an interval, to find the errors that give an offset: down to the last digit


@dataclass(frozen=True, slots=True, kw_only=True)
class EndOffset:
    """What one lapped wall's end may be: its offset takes every value from `least` to `most`, mm."""

    columns: IntArray  # its errors; nothing else depends on them
    at_least: FloatArray  # their values where the offset is least
    at_most: FloatArray
    least: float
    most: float
    usual: float  # where all errors are at their biases


class Errors:
    """Layout of the errors: every place of every input of the frame, then paring's draws, each with its limits."""

    def __init__(self, making: Making) -> None:
        """Lay out the places of `making`, with the least and the most that each may be."""
        self.making, self.pare = making, making.workshop.pare
        self.draw_least, self.draw_most = (self.pare.bias + sign * 3 * self.pare.spread for sign in (-1, 1))
        # A corner that is noticed but lower than every draw stays as it is, as if it had not been noticed.
        self.notice = max(self.pare.notice, self.draw_least)
        self.inputs = making.inputs
        self.starts = np.cumsum([0, *(i.places for i in self.inputs)])
        bias, limit = (
            np.concatenate([np.full(i.places, getattr(i, name)) for i in self.inputs]) for name in ("bias", "limit")
        )
        self.least, self.most, self.usual = bias - limit, bias + limit, bias
        self.count = sum(i.places for i in self.inputs if i.name != PARE)  # without paring's draws

    def values(self, errors: FloatArray) -> dict[str, FloatArray]:
        """Return the inputs' values (places, boxes) for many boxes' errors (boxes, all places)."""
        columns = np.ascontiguousarray(errors.T)
        return {i.name: columns[a:b] for i, a, b in zip(self.inputs, self.starts, self.starts[1:], strict=False)}

    def vector(self, value: dict[str, FloatArray]) -> FloatArray:
        """Return the errors (boxes, all places) of the inputs' values, brought within the limits."""
        boxes = max(array.shape[-1] for array in value.values())
        rows = [np.broadcast_to(value[i.name], (i.places, boxes)) for i in self.inputs]
        return np.clip(np.concatenate(rows).T, self.least, self.most)

    @cached_property
    def heights(self) -> dict[str, FloatArray]:
        """What one of each error does: name -> (corners of faces, errors without draws).

        `sawn` and `sanded` are the plain walls' ends (16 rows), `lapped sawn` and `lapped sanded` the lapped walls',
        `lap` both faces of the laps as cut and judged (32), `stock` what the timber adds at the same places (32).
        """
        worked = self.making.worked(self.values(np.eye(self.count, len(self.least))))
        inside = worked.inside - worked.thickness[PLAIN_AT][:, None]
        faces = {
            "sawn": worked.sawn[:4],
            "sanded": worked.sanded[:4],
            "lapped sawn": worked.sawn[4:],
            "lapped sanded": worked.sanded[4:],
            "lap": np.stack([worked.cheek, worked.shoulder], axis=1),
            "stock": np.stack([worked.bow, inside], axis=1),
        }
        return {name: rows.reshape(-1, self.count) for name, rows in faces.items()}

    def reach(self, rows: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the least and the most that linear heights (rows, errors without draws) can be."""
        ends = rows * self.least[: self.count], rows * self.most[: self.count]
        return np.minimum(*ends).sum(axis=1), np.maximum(*ends).sum(axis=1)

    @cached_property
    def offsets(self) -> tuple[EndOffset, ...]:
        """The offset of every lapped end, by corner."""
        return tuple(self._offset(slice(4 * corner, 4 * corner + 4)) for corner in range(4))

    def _offset(self, rows: slice) -> EndOffset:
        """Return one end's offset, the mean of smaller ones of two: concave, so least at a corner of the limits."""
        from scipy.optimize import linprog  # noqa: PLC0415 - 0.3 s that a check does without

        both = [self.heights[name][rows] for name in ("lapped sawn", "lapped sanded")]
        columns = np.flatnonzero(np.abs(both).sum(axis=(0, 1)))
        limits = list(zip(self.least[columns], self.most[columns], strict=True))
        corners = np.array(list(itertools.product(*limits))).T
        sawn, sanded = (each[:, columns] for each in both)
        means = np.minimum(sawn @ corners, sanded @ corners).mean(axis=0)
        # Most: the largest mean of four heights that are under both tools' planes.
        solution = linprog(
            np.append(np.zeros(len(columns)), np.full(4, -0.25)),
            A_ub=np.block([[-sawn, np.eye(4)], [-sanded, np.eye(4)]]),
            b_ub=np.zeros(8),
            bounds=[*limits, *[(None, None)] * 4],
            method="highs",
        )
        best, at_bias = int(np.argmin(means)), self.usual[columns]
        return EndOffset(
            columns=columns,
            at_least=corners[:, best],
            at_most=solution.x[: len(columns)],
            least=float(means[best]),
            most=float(-solution.fun),
            usual=float(np.minimum(sawn @ at_bias, sanded @ at_bias).mean()),
        )

    def completed(self, errors: FloatArray, offsets: FloatArray, laps: FloatArray) -> FloatArray:
        """Return all errors, within their limits.

        Parameters
        ----------
        errors : FloatArray
            (errors without draws,); those of the lapped walls' ends are replaced.
        offsets : FloatArray
            (4,) the offset that each lapped wall's end is to have, mm.
        laps : FloatArray
            (32,) heights of the laps after paring, which every draw leaves, mm.
        """
        whole = np.append(errors, np.tile(laps, (len(self.least) - self.count) // 32))
        for corner, (end, wanted) in enumerate(zip(self.offsets, offsets, strict=True)):
            whole[end.columns] = self._errors_of_offset(slice(4 * corner, 4 * corner + 4), end, float(wanted))
        return np.clip(whole, self.least, self.most)

    def _errors_of_offset(self, rows: slice, end: EndOffset, wanted: float) -> FloatArray:
        """Return errors of one end, on the way from the usual ones to an extreme, at which its offset is as wanted."""
        sawn, sanded = (self.heights[name][rows][:, end.columns] for name in ("lapped sawn", "lapped sanded"))
        start, goal = self.usual[end.columns], end.at_most if wanted > end.usual else end.at_least
        near, far = 0.0, 1.0  # of the way: the offset is short of what is wanted, or there
        for _ in range(_HALVINGS):
            at = (near + far) / 2
            errors = start + at * (goal - start)
            offset = np.minimum(sawn @ errors, sanded @ errors).mean()
            short = offset < wanted if wanted > end.usual else offset > wanted
            near, far = (at, far) if short else (near, at)
        return np.asarray(start + far * (goal - start))
