"""From errors to made faces: lines, sawing, sanding that only removes, cutting the laps, paring to fit.

A face worked by hand is the material left at its four corners, h = o + a v + b w + e: offset, slope on plan, slope
upright, unevenness. Ends follow MODEL.md, 2.1, laps MODEL.md, 2.2. Boxes lie on the last axis; corners, face corners
and walls are in the order of `assembly.nominal.frame`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.compiled import kernel
from assembly.made.records import MadeFaces
from assembly.made.sampling import Input, disturbed
from assembly.nominal.frame import BACK, FRONT, LEFT, PLAIN_AT, RIGHT, SX, V_SIGN, W_SIGN

if TYPE_CHECKING:
    from assembly.arrays import BoolArray, FloatArray
    from assembly.model.workshop import Workshop
    from assembly.nominal.frame import Frame

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
OVERLENGTH = "overlength"  # what the plain walls are marked longer than drawn: an input that never varies
# The end that is marked from the datum at the wall's other end, as (wall, corner): right ends of the plain walls,
# back ends of the lapped walls.
MARKED_PLAIN = ((BACK, 0), (FRONT, 1))
MARKED_LAPPED = ((RIGHT, 0), (LEFT, 2))
STEEPEST = math.tan(math.radians(5))  # slope up to which the model's first order is trusted


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """Heights as the tools leave them, each linear in the inputs; boxes on the last axis, mm."""

    sawn: FloatArray  # (8 ends, 4, …)
    sanded: FloatArray  # (8 ends, 4, …)
    cheek: FloatArray  # (4 corners, 4, …)
    shoulder: FloatArray  # (4 corners, 4, …) as judged with the plain wall in the lap
    bow: FloatArray  # (4 corners, 4, …) what bow adds to a plain wall's end
    inside: FloatArray  # (4 corners, 4, …)
    thickness: FloatArray  # (4 walls, …)
    height: FloatArray  # (4 walls, …)


@dataclass(frozen=True, slots=True, kw_only=True)
class Making:
    """What a workshop does to the frame's parts: the random inputs, and how they become made faces."""

    frame: Frame
    workshop: Workshop
    overlength: float = 0.0  # mm

    @property
    def inputs(self) -> tuple[Input, ...]:
        """Every random input of the frame, paring's draws last."""
        pare = self.workshop.pare
        rows = [disturbed(name, places, self.workshop.disturbance(name)) for name, places in FRAME_PLACES.items()]
        if self.overlength:
            rows.append(Input(name=OVERLENGTH, group="mark", bias=self.overlength))
        if pare.rounds:
            rows.append(Input(name=PARE, group="pare", places=32 * pare.rounds, bias=pare.bias, spread=pare.spread))
        return tuple(rows)

    def faces(self, value: dict[str, FloatArray]) -> MadeFaces:
        """Return the made faces for the values of all inputs, (places, boxes) each; mm and radians."""
        return self.finished(self.worked(value), value.get(PARE))

    def worked(self, value: dict[str, FloatArray]) -> Worked:
        """Return what saw, sander and chisel leave, before the smaller is taken and the laps are pared: linear."""
        line, thickness = self._line(marked(value)), value["stock.thickness"]
        sawn, sanded = (
            self._end_heights(
                line + value[f"{tool}.offset"],
                value["square.plan"][:8] + value[f"{tool}.plan"],
                value["square.upright"][:8] + value[f"{tool}.upright"],
            )
            for tool in ("saw", "sand")
        )
        bow, inside = self._bow_and_twist(value)
        return Worked(
            sawn=sawn,
            sanded=sanded,
            cheek=self._cheek(value),
            shoulder=self._judged_shoulder(value, thickness[PLAIN_AT]),
            bow=bow,
            inside=inside,
            thickness=thickness,
            height=value["stock.height"],
        )

    def finished(self, worked: Worked, pare_draws: FloatArray | None) -> MadeFaces:
        """Return the made faces: of sawn and sanded the smaller, laps pared by `pare_draws` (places, boxes)."""
        ends = np.minimum(worked.sawn, worked.sanded)
        cheek, judged = self._pared(worked.cheek, worked.shoulder, pare_draws)
        shoulder = judged - worked.thickness[PLAIN_AT, None] + ends[4:].mean(axis=1)[:, None]
        boxes = np.broadcast_shapes(*(a.shape[-1:] for a in (ends, cheek, shoulder, worked.inside, worked.height)))
        plain_end, lapped_end, inside = ends[:4] + worked.bow, ends[4:], worked.inside
        return MadeFaces(
            plain_end=np.broadcast_to(plain_end, (4, 4, *boxes)),
            lapped_end=np.broadcast_to(lapped_end, (4, 4, *boxes)),
            cheek=np.broadcast_to(cheek, (4, 4, *boxes)),
            shoulder=np.broadcast_to(shoulder, (4, 4, *boxes)),
            inside=np.broadcast_to(inside, (4, 4, *boxes)),
            thickness=np.broadcast_to(worked.thickness, (4, *boxes)),
            height=np.broadcast_to(worked.height, (4, *boxes)),
            gauge_from=self.workshop.gauge_from,
        )

    def _line(self, mark: FloatArray) -> FloatArray:
        """Return the offset of each end's line: (8, boxes); the end the rule starts from has none."""
        line = np.zeros((8, mark.shape[-1]))
        for first, marked in ((0, MARKED_PLAIN), (4, MARKED_LAPPED)):
            for wall, corner in marked:
                line[first + corner] = mark[wall]
        return line

    def _end_heights(self, offset: FloatArray, plan: FloatArray, upright: FloatArray) -> FloatArray:
        """Return h of all ends: (8, 4 corners, boxes); a plain wall's over t, a lapped wall's over its tongue."""
        return np.concatenate(
            [
                self._heights(width, offset[rows], plan[rows], upright[rows])
                for rows, width in ((slice(0, 4), self.frame.plain), (slice(4, 8), self.frame.tongue))
            ]
        )

    def _cheek(self, value: dict[str, FloatArray]) -> FloatArray:
        """Return the cheeks' heights before paring: (4, 4, boxes)."""
        offset = value["gauge.offset"] + value["chisel.offset"]
        smooth = self._heights(self.frame.plain, offset, value["chisel.along"], value["chisel.upright"])
        return smooth + value["chisel.uneven"].reshape(4, 4, -1)

    def _judged_shoulder(self, value: dict[str, FloatArray], mate: FloatArray) -> FloatArray:
        """Return the shoulders' heights before paring tried with a mate `mate` too thick: (4, 4, boxes).

        Measured from the part, the maker's line moves out with the mate's thickness, and so does the verdict; marked
        from the drawing, a thick mate stands proud by the thickness that was overlooked.
        """
        offset = value["lap_saw.offset"] - value["lap_mark.offset"]
        if self.workshop.shoulder_from == "drawing":
            offset = offset + mate
        return self._heights(
            self.frame.depth,
            offset,
            value["square.plan"][8:] + value["lap_saw.plan"],
            value["square.upright"][8:] + value["lap_saw.upright"],
        )

    def _pared(
        self, cheek: FloatArray, shoulder: FloatArray, draws: FloatArray | None
    ) -> tuple[FloatArray, FloatArray]:
        """Return the judged heights after paring every corner that is noticed, round by round; overcuts stay."""
        pare = self.workshop.pare
        if draws is None:
            return cheek, shoulder
        boxes = max(cheek.shape[-1], shoulder.shape[-1], draws.shape[-1])
        judged = np.empty((4, 2, 4, boxes))
        judged[:, 0], judged[:, 1] = cheek, shoulder
        draws = draws if draws.shape[-1] == boxes else np.repeat(draws, boxes, axis=1)
        _pare(judged.reshape(32, boxes), draws, pare.notice)
        return judged[:, 0], judged[:, 1]

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


def marked(value: dict[str, FloatArray]) -> FloatArray:
    """Return how far out each wall's far line is marked: (4 walls, boxes), mm; the plain walls' by the overlength."""
    if OVERLENGTH not in value:
        return value["mark.offset"]
    longer = np.zeros((4, 1))
    longer[[FRONT, BACK]] = 1.0
    return np.asarray(value["mark.offset"] + longer * value[OVERLENGTH])


def beyond_first_order(box: Frame, faces: MadeFaces) -> BoolArray:
    """Return which boxes have a made face too steep or too far out for the model's first order: (boxes,) bool.

    Steep: two corners of one face differ by more than tan 5° times their distance. Far out: a height of more than a
    third of the part's thickness (MODEL.md, 5.9).
    """
    shoulder = faces.shoulder - faces.end_offset[:, None]  # the face's own error; the end's is judged at the end
    checks = (
        (faces.plain_end, box.plain, box.plain),
        (faces.lapped_end, box.tongue, box.lapped),
        (faces.cheek, box.plain, box.lapped),
        (shoulder, box.depth, box.lapped),
        (faces.inside, box.depth, box.plain),
    )
    beyond = np.zeros(faces.cheek.shape[-1], dtype=np.bool_)
    for heights, width, part in checks:
        # The loop is compiled for arrays that may be written to; a read-only one would have it compiled again.
        _mark_beyond(np.require(heights, np.float64, ["C", "W"]), part / 3, _rises(width, box.height), beyond)
    return beyond


def _rises(width: float, height: float) -> FloatArray:
    """Return by how much each two corners of a face may differ at the steepest that is trusted: (4, 4), mm."""
    across, up = V_SIGN[:, None] != V_SIGN, W_SIGN[:, None] != W_SIGN
    return np.asarray(STEEPEST * np.hypot(width * across, height * up))


@kernel
def _mark_beyond(heights: FloatArray, far: float, rises: FloatArray, beyond: BoolArray) -> None:
    """Mark boxes (k,) with a height (faces, 4, k) over `far`, or two of one face that differ by more than `rises`."""
    for face in heights:
        for i in range(4):
            for box in range(len(beyond)):
                beyond[box] |= abs(face[i, box]) > far
            for j in range(i):
                for box in range(len(beyond)):
                    beyond[box] |= abs(face[i, box] - face[j, box]) > rises[i, j]


@kernel
def _pare(judged: FloatArray, draws: FloatArray, notice: float) -> None:
    """Pare heights (32, k) by draws (32 rounds, k), round by round: one over `notice` comes down to its draw."""
    corners, boxes = judged.shape
    for at in range(len(draws)):
        height, draw = judged[at % corners], draws[at]
        for box in range(boxes):
            height[box] = min(height[box], draw[box]) if height[box] > notice else height[box]
