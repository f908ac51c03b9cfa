"""What is read off a settled frame: gaps, closed share, steps, squareness, lean and sizes.

Boxes lie on the last axis. `gaps` are (4 corners, 2 faces, 4 points, boxes), `poses` (4 walls, 4 freedoms, boxes), in
the orders of `assembly.nominal.frame`. Formulas and symbols as in MODEL.md, 4 and 4.1: sx, sy side of a corner; L, W,
H, T, t, K as in `frame.Frame`; η offset of a lapped wall's end; τ thickness error.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from assembly.compiled import kernel
from assembly.nominal.frame import BACK, FRONT, LAPPED_AT, LEAN, LEFT, PLAIN_AT, RIGHT, SHIFT_X, SHIFT_Y, SX, SY, TURN

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.made.records import MadeFaces
    from assembly.nominal.frame import Frame


def corner_gaps(gaps: FloatArray) -> FloatArray:
    """Return the largest gap at each corner: (4 corners, boxes), mm."""
    return np.asarray(gaps.max(axis=(1, 2)))


def closed_shares(box: Frame, gaps: FloatArray, glue_limit: float) -> FloatArray:
    """Return the share of each corner's contact area where the gap is at most `glue_limit`: (4 corners, boxes)."""
    boxes = gaps.shape[-1]
    shares = face_closed_share(np.ascontiguousarray(gaps.reshape(8, 4, boxes)), glue_limit).reshape(4, 2, boxes)
    widths = np.array(box.face_widths)
    return np.asarray(np.einsum("cfn,f->cn", shares, widths / widths.sum()))


@kernel
def face_closed_share(gaps: FloatArray, limit: float) -> FloatArray:
    """Return the share of a face whose gap is at most `limit`: (faces, boxes), from corner gaps (faces, 4, boxes).

    The gap is linear over four triangles that meet at the mean; each is taken in closed form.
    """
    faces, _, boxes = gaps.shape
    out = np.empty((faces, boxes))
    ring = (0, 1, 3, 2)
    for face in range(faces):
        for i in range(boxes):
            mean = (gaps[face, 0, i] + gaps[face, 1, i] + gaps[face, 2, i] + gaps[face, 3, i]) / 4
            total = 0.0
            for k in range(4):
                p, q = gaps[face, ring[k], i], gaps[face, ring[(k + 1) % 4], i]
                a, c = min(p, q, mean), max(p, q, mean)
                b = p + q + mean - a - c
                if c <= limit:
                    total += 1.0
                elif limit <= a:
                    total += 0.0
                elif limit <= b:
                    total += (limit - a) ** 2 / ((b - a) * (c - a))
                else:
                    total += 1.0 - (c - limit) ** 2 / ((c - a) * (c - b))
            out[face, i] = total / 4
    return out


def steps(box: Frame, faces: MadeFaces, poses: FloatArray) -> FloatArray:
    """Return how far each lapped wall's end stands proud (+) of the plain wall's outside face: (4 corners, boxes), mm.

    η - τ_p + sy[(uy_l - uy_p) + (rz_l - rz_p) sx (L - K)/2], at mid-height.
    """
    lapped, plain = poses[LAPPED_AT], poses[PLAIN_AT]
    sx, sy = SX[:, None], SY[:, None]
    arm = sx * (box.along_x - box.tongue) / 2
    apart = lapped[:, SHIFT_Y] - plain[:, SHIFT_Y] + (lapped[:, TURN] - plain[:, TURN]) * arm
    return np.asarray(faces.end_offset - faces.thickness[PLAIN_AT] + sy * apart)


def top_steps(faces: MadeFaces) -> FloatArray:
    """Return the lapped wall's height less the plain wall's at each corner: (4 corners, boxes), mm."""
    return np.asarray(faces.height[LAPPED_AT] - faces.height[PLAIN_AT])


def corner_angles(poses: FloatArray) -> FloatArray:
    """Return the change of each inside angle: sx sy (rz_l - rz_p), (4 corners, boxes), degrees."""
    return np.asarray(np.degrees((SX * SY)[:, None] * (poses[LAPPED_AT, TURN] - poses[PLAIN_AT, TURN])))


def diagonal_difference(box: Frame, poses: FloatArray) -> FloatArray:
    """Return right-back to left-front less right-front to left-back, outside faces, steps ignored: (boxes,), mm."""
    turn = poses[:, TURN]
    factor = box.along_x * box.along_y / math.hypot(box.along_x, box.along_y)
    return np.asarray(factor * (turn[FRONT] + turn[BACK] - turn[LEFT] - turn[RIGHT]))


def leans(box: Frame, poses: FloatArray) -> FloatArray:
    """Return each wall out of upright over its height, top outward positive: (4 walls, boxes), mm."""
    outward = np.array([-1, 1, 1, -1])[:, None]  # sx for left, right; -sy for front, back
    return np.asarray(outward * box.height * poses[:, LEAN])


def overall_sizes(faces: MadeFaces, poses: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the errors of the outside sizes along x and y, mid-height, bow ignored: (boxes,) each, mm."""
    thick = faces.thickness
    along_x = poses[RIGHT, SHIFT_X] - poses[LEFT, SHIFT_X]
    if faces.gauge_from == "inside":
        along_x = along_x + thick[LEFT] + thick[RIGHT]
    along_y = poses[BACK, SHIFT_Y] - poses[FRONT, SHIFT_Y] + thick[FRONT] + thick[BACK]
    return along_x, along_y


def frame_outcomes(
    box: Frame, faces: MadeFaces, gaps: FloatArray, poses: FloatArray, *, glue_limit: float
) -> dict[str, FloatArray]:
    """Return every outcome of the frame for each box: name -> (boxes,); of several places, the worst."""
    along_x, along_y = overall_sizes(faces, poses)
    length, width = (along_x, along_y) if box.length_axis == "x" else (along_y, along_x)
    return {
        "joint_gap": gaps.max(axis=(0, 1, 2)),
        "closed_share": closed_shares(box, gaps, glue_limit).min(axis=0),
        "step": np.abs(steps(box, faces, poses)).max(axis=0),
        "top_step": np.abs(top_steps(faces)).max(axis=0),
        "out_of_square": np.abs(corner_angles(poses)).max(axis=0),
        "diagonal_difference": diagonal_difference(box, poses),
        "lean": np.abs(leans(box, poses)).max(axis=0),
        "length": length,
        "width": width,
    }
