"""From errors to made faces: lines, sawing, sanding that only removes, cutting the laps, paring to fit.

A face worked by hand is the material left at its four corners, h = o + a v + b w + e: offset, slope on plan, slope
upright, unevenness. Boxes lie on the last axis; corners, face corners and walls are in the order of `assembly.frame`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.frame import BACK, FRONT, LEFT, PLAIN_AT, RIGHT, SX, V_SIGN, W_SIGN, FloatArray
from assembly.made import MadeFaces
from assembly.tolerance.sampling import Input, disturbed

if TYPE_CHECKING:
    from assembly.frame import Frame
    from assembly.workshop import Workshop

# Places of every quantity that the frame uses: 8 ends are the plain walls' by corner, then the lapped walls' by corner;
# 12 squared lines are those ends, then the shoulders by corner; walls are in the order of `frame.WALLS`.
FRAME_PLACES = {
    "mark.offset": 4,  # by wall
    "square.plan": 12,
    "square.upright": 12,
    "saw.offset": 8,
    "saw.plan": 8,
    "saw.upright": 8,
    "sand.offset": 8,
    "sand.plan": 8,
    "sand.upright": 8,
    "lap_mark.offset": 4,  # by corner, like all of the lap
    "lap_saw.offset": 4,
    "lap_saw.plan": 4,
    "lap_saw.upright": 4,
    "gauge.offset": 4,
    "chisel.offset": 4,
    "chisel.along": 4,
    "chisel.upright": 4,
    "chisel.uneven": 16,  # by corner, then by corner of the cheek
    "stock.thickness": 4,  # by wall
    "stock.height": 4,
    "stock.bow": 2,  # front, back
    "stock.twist": 2,
}
PARE = "pare.draw"
# The end that is marked from the datum at the wall's other end, as (wall, corner): right ends of the plain walls,
# back ends of the lapped walls.
MARKED_PLAIN = ((BACK, 0), (FRONT, 1))
MARKED_LAPPED = ((RIGHT, 0), (LEFT, 2))
STEEPEST = math.tan(math.radians(5))  # slope up to which the model's first order is trusted


@dataclass(frozen=True, slots=True, kw_only=True)
class Making:
    """What a workshop does to the frame's parts: the random inputs, and how they become made faces."""

    frame: Frame
    workshop: Workshop

    @property
    def inputs(self) -> tuple[Input, ...]:
        """Every random input of the frame, paring's draws last."""
        pare = self.workshop.pare
        rows = [disturbed(name, places, self.workshop.disturbance(name)) for name, places in FRAME_PLACES.items()]
        if pare.rounds:
            rows.append(
                Input(name=PARE, group="pare", places=32 * pare.rounds, bias=pare.bias, spread=pare.spread)
            )
        return tuple(rows)

    def faces(self, value: dict[str, FloatArray]) -> MadeFaces:
        """Return the made faces for the values of all inputs, (places, boxes) each; mm and radians."""
        thickness, height = value["stock.thickness"], value["stock.height"]
        plain_end, lapped_end = self._ends(value)
        cheek, shoulder = self._laps(value, thickness)
        bow, inside = self._bow_and_twist(value)
        boxes = np.broadcast_shapes(cheek.shape, shoulder.shape, plain_end.shape, lapped_end.shape, inside.shape)[-1]
        plain_end, lapped_end = plain_end + bow, np.broadcast_to(lapped_end, (4, 4, boxes))
        return MadeFaces(
            plain_end=np.broadcast_to(plain_end, (4, 4, boxes)),
            lapped_end=lapped_end,
            cheek=np.broadcast_to(cheek, (4, 4, boxes)),
            shoulder=shoulder + lapped_end.mean(axis=1)[:, None],
            inside=np.broadcast_to(inside, (4, 4, boxes)),
            thickness=np.broadcast_to(thickness, (4, boxes)),
            height=np.broadcast_to(height, (4, boxes)),
            gauge_from=self.workshop.gauge_from,
        )

    def _ends(self, value: dict[str, FloatArray]) -> tuple[FloatArray, FloatArray]:
        """Return the heights of the plain and the lapped walls' ends: the smaller of sawn and sanded."""
        mark = value["mark.offset"]
        line = np.zeros((8, mark.shape[-1]))
        for first, marked in ((0, MARKED_PLAIN), (4, MARKED_LAPPED)):
            for wall, corner in marked:
                line[first + corner] = mark[wall]
        plan, upright = value["square.plan"][:8], value["square.upright"][:8]
        out = []
        for rows, width in ((slice(0, 4), self.frame.plain), (slice(4, 8), self.frame.tongue)):
            sawn, sanded = (
                self._heights(
                    width,
                    (line + value[f"{tool}.offset"])[rows],
                    (plan + value[f"{tool}.plan"])[rows],
                    (upright + value[f"{tool}.upright"])[rows],
                )
                for tool in ("saw", "sand")
            )
            out.append(np.minimum(sawn, sanded))
        return out[0], out[1]

    def _laps(self, value: dict[str, FloatArray], thickness: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the heights of cheeks and shoulders after paring, without the end that a shoulder was marked from."""
        mate = thickness[PLAIN_AT]
        cheek = self._heights(
            self.frame.plain,
            value["gauge.offset"] + value["chisel.offset"],
            value["chisel.along"],
            value["chisel.upright"],
        ) + value["chisel.uneven"].reshape(4, 4, -1)
        offset = value["lap_saw.offset"] - value["lap_mark.offset"]
        # Measured from the part, the maker's line moves out with the mate's thickness; judged against the mate, so
        # does the verdict: only a shoulder marked from the drawing is judged by the thickness that was overlooked.
        judged_offset = offset if self.workshop.shoulder_from == "part" else offset + mate
        judged = self._heights(
            self.frame.depth,
            judged_offset,
            value["square.plan"][8:] + value["lap_saw.plan"],
            value["square.upright"][8:] + value["lap_saw.upright"],
        )
        cheek, judged = self._pared(value, cheek, judged)
        return cheek, judged - mate[:, None]

    def _pared(
        self, value: dict[str, FloatArray], cheek: FloatArray, shoulder: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return the judged heights after paring every corner that is noticed, round by round; overcuts stay."""
        pare = self.workshop.pare
        if not pare.rounds:
            return cheek, shoulder
        draws = value[PARE].reshape(pare.rounds, 4, 2, 4, -1)
        for draw in draws:
            cheek = np.where(cheek > pare.notice, np.minimum(cheek, draw[:, 0]), cheek)
            shoulder = np.where(shoulder > pare.notice, np.minimum(shoulder, draw[:, 1]), shoulder)
        return cheek, shoulder

    def _bow_and_twist(self, value: dict[str, FloatArray]) -> tuple[FloatArray, FloatArray]:
        """Return what bow adds to the plain walls' ends, and bow and twist to their inside faces: (4, 4, boxes)."""
        wall = PLAIN_AT - FRONT
        slope = 4 * value["stock.bow"][wall] / self.frame.plain_length
        turn = value["stock.twist"][wall] / 2 * SX[:, None]
        zero = np.zeros((4, 1))
        return (
            self._heights(self.frame.plain, zero, slope, zero),
            self._heights(self.frame.depth, zero, slope, turn),
        )

    def _heights(self, width: float, offset: FloatArray, plan: FloatArray, upright: FloatArray) -> FloatArray:
        """Return h at the corners of faces `width` across: (faces, 4 corners, boxes), from (faces, boxes) each."""
        v, w = width / 2 * V_SIGN[:, None], self.frame.height / 2 * W_SIGN[:, None]
        return np.asarray(offset[:, None] + plan[:, None] * v + upright[:, None] * w)


def beyond_first_order(box: Frame, faces: MadeFaces) -> FloatArray:
    """Return which boxes have a made face too steep or too far out for the model's first order: (boxes,) bool.

    Steep: two corners of one face differ by more than tan 5° times their distance. Far out: a height of more than a
    third of the part's thickness.
    """
    shoulder = faces.shoulder - faces.end_offset[:, None]  # the face's own error; the end's is judged at the end
    checks = (
        (faces.plain_end, box.plain, box.plain),
        (faces.lapped_end, box.tongue, box.lapped),
        (faces.cheek, box.plain, box.lapped),
        (shoulder, box.depth, box.lapped),
        (faces.inside, box.depth, box.plain),
    )
    beyond = np.zeros(faces.cheek.shape[-1], dtype=bool)
    for heights, width, part in checks:
        beyond |= (np.abs(heights) > part / 3).any(axis=(0, 1))
        for i, j, distance in _corner_pairs(width, box.height):
            beyond |= (np.abs(heights[:, i] - heights[:, j]) > STEEPEST * distance).any(axis=0)
    return beyond


def _corner_pairs(width: float, height: float) -> list[tuple[int, int, float]]:
    """Return every pair of a face's corners with the distance between them, mm."""
    return [
        (i, j, math.hypot(width * (V_SIGN[i] != V_SIGN[j]), height * (W_SIGN[i] != W_SIGN[j])))
        for i in range(4)
        for j in range(i + 1, 4)
    ]
