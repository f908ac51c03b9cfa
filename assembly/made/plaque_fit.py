"""The best place of a plaque over its lid: the shift and turn that leave most play at its holes (MODEL.md, 4.1).

apart : from a plaque's hole to the lid's hole under it, plaque as drawn: (3 holes, 2 axes), mm
arm   : from a point of the plaque, the same for all, to a drawn hole: (3 holes, 2 axes), mm
spare : play left at a hole, its clearance less the distance of the two centres; of a plaque, the least of three
level : minus the spare; of a plaque, the greatest of three

A shift u and a small turn θ leave |apart - u - θ J arm| between the centres, J the quarter turn (x, y) -> (-y, x);
that is the first order, and leaves out θ² arm / 2. The level is convex in shift and turn. For a fixed turn the best
shift is held by one hole, by two or by three, each in closed form; then the turn alone is sought, between two ends
from which the level falls towards one another.

The proof of a best place is its forces: each hole pulls along its distance, with shares that add to 1 at the most.
Where the forces balance and have no moment, no place has a level below Σ force · apart - Σ share · clearance. The
forces of both ends, mixed to leave no moment, bound every box so; the search stops where the level meets the bound.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.compiled import kernel

if TYPE_CHECKING:
    from assembly.arrays import FloatArray

MEETS = 1e-10  # mm by which the level found may lie above the bound that its forces prove
ROUNDING = 1e-12  # mm within which a third hole is no further out than the two that hold the shift
STILL = 1e-12  # mm a radian of slope that is none
MENDS = 6  # shifts tried at the most where three holes lie nearly in a line
LOOKS = 100  # turns tried at the most; every fourth one halves what is left

# What is known at one turn, a row of 11 numbers: turn, level, slope of the level, shift, forces by hole and axis.
_TURN, _LEVEL, _SLOPE, _SHIFT, _FORCE, _ROW = 0, 1, 2, 3, 5, 11


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaqueFit:
    """The best place of each plaque over its lid, and the forces that prove it; boxes on the last axis."""

    spare: FloatArray  # (boxes,) mm; 0 or more fits
    turn: FloatArray  # (boxes,) radians from x to y, about the point that the arms start from
    shift: FloatArray  # (2 axes, boxes) mm
    forces: FloatArray  # (3 holes, 2 axes, boxes) from the plaque's hole towards the lid's; balanced, without moment


def best_fit(apart: FloatArray, clearance: FloatArray, arms: FloatArray) -> PlaqueFit:
    """Return the place of the plaque that leaves the most spare, to 1e-9 mm and to first order in the turn.

    Parameters
    ----------
    apart : ndarray (3, 2, boxes) or (3, 2, 1)
        From the plaque's holes to the lid's holes, mm.
    clearance : ndarray (3, boxes) or (3, 1)
        Half of hole less screw or stem, mm; below zero where the hole is too small.
    arms : ndarray (3, 2)
        Where the holes are drawn, mm, in a line or not; the last two in different places.

    Examples
    --------
    Two screw holes 0.5 mm further apart in the lid than in the plaque take 0.25 mm each of the clearance:

    >>> apart = np.array([[0.0, 0.0], [0.0, -0.25], [0.0, 0.25]])[:, :, None]
    >>> arms = np.array([[0.0, 0.0], [0.0, -20.0], [0.0, 20.0]])
    >>> best_fit(apart, np.array([[0.5], [0.3], [0.3]]), arms).spare.round(9)
    array([0.05])
    """
    (boxes,) = np.broadcast_shapes(apart.shape[-1:], clearance.shape[-1:])
    given = np.broadcast_to(apart, (3, 2, boxes)), np.broadcast_to(clearance, (3, boxes)), arms
    # Copies: for views that can't be written to the loops would be compiled once more.
    rows = _fit(*(np.array(each, dtype=np.float64, order="C") for each in given))
    return PlaqueFit(
        spare=-rows[_LEVEL],
        turn=rows[_TURN],
        shift=rows[_SHIFT:_FORCE],
        forces=rows[_FORCE:].reshape(3, 2, -1),
    )


def best_fit_of_two(apart: FloatArray, clearance: FloatArray, arms: FloatArray) -> FloatArray:
    """Return the spare of plaques that two holes alone hold, to first order in the turn: (boxes,) mm.

    A turn takes up whatever the holes are apart across the line through them, and a shift halves what they are apart
    along it: of the two clearances together that much is used up.

    Parameters
    ----------
    apart : ndarray (2, 2, boxes) or (2, 2, 1)
        From the plaque's holes to the lid's holes, mm.
    clearance : ndarray (2, boxes) or (2, 1)
        Half of hole less screw, mm.
    arms : ndarray (2, 2)
        Where the holes are drawn, mm, in different places.
    """
    line = arms[1] - arms[0]
    off = np.abs((apart[1] - apart[0]).T @ (line / math.hypot(*line)))
    return np.asarray(np.minimum(clearance.min(axis=0), (clearance.sum(axis=0) - off) / 2))


@kernel
def _fit(apart: FloatArray, clearance: FloatArray, arms: FloatArray) -> FloatArray:
    """Return a row of numbers for each box's best place: (11, boxes)."""
    boxes = apart.shape[2]
    out = np.empty((_ROW, boxes))
    ends, holes = np.empty((3, _ROW)), np.empty((3, 7))
    holes[:, 3], holes[:, 4] = -arms[:, 1], arms[:, 0]
    for box in range(boxes):
        holes[:, :2], holes[:, 2] = apart[:, :, box], clearance[:, box]
        _first_ends(holes, ends)
        if ends[0, _SLOPE] != 0:
            _close_in(holes, ends)
        best = 0 if ends[0, _LEVEL] <= ends[1, _LEVEL] else 1
        out[:_FORCE, box] = ends[best, :_FORCE]
        pull = ends[1, _SLOPE] - ends[0, _SLOPE]
        share = ends[1, _SLOPE] / pull if pull > 0 else 1.0
        out[_FORCE:, box] = share * ends[0, _FORCE:] + (1 - share) * ends[1, _FORCE:]
    return out


# A hole is a row of 7 numbers: apart (2), clearance, lever J arm (2), and the lid's hole seen from the turned plaque's.
_CLEAR, _LEVER, _X, _Y = 2, 3, 5, 6


@kernel
def _first_ends(holes: FloatArray, ends: FloatArray) -> None:
    """Fill the two ends between which the best turn lies; both are the same where the first is the best.

    The first turn brings the last two holes as close to their mates as can be; where the level falls from there, it
    can't fall for longer than those two holes alone allow.
    """
    p, q = holes[1], holes[2]
    x, y = p[_LEVER] - q[_LEVER], p[_LEVER + 1] - q[_LEVER + 1]
    long = x * x + y * y
    turn = ((p[0] - q[0]) * x + (p[1] - q[1]) * y) / long
    _look(holes, turn, ends[0])
    across = (p[_X] - q[_X]) ** 2 + (p[_Y] - q[_Y]) ** 2
    within = 2 * (ends[0, _LEVEL] + MEETS) + p[_CLEAR] + q[_CLEAR]
    reach = math.sqrt(max(within * within - across, 0.0) / long)
    slope = ends[0, _SLOPE]
    if abs(slope) <= STILL:
        ends[0, _SLOPE] = 0.0
        ends[1] = ends[0]
    elif slope < 0:
        _look(holes, turn + reach, ends[1])
    else:
        ends[1] = ends[0]
        _look(holes, turn - reach, ends[0])


@kernel
def _close_in(holes: FloatArray, ends: FloatArray) -> None:
    """Move the ends together until the level at one of them meets the bound where their tangents cross."""
    for look in range(LOOKS):
        low, high, tried = ends[0], ends[1], ends[2]
        width, pull = high[_TURN] - low[_TURN], high[_SLOPE] - low[_SLOPE]
        cross = (low[_LEVEL] - high[_LEVEL] + high[_SLOPE] * width) / pull  # from the low end
        if min(low[_LEVEL], high[_LEVEL]) - (low[_LEVEL] + low[_SLOPE] * cross) <= MEETS:
            return
        step = width / 2
        if look % 4 == 0:
            step = _cubic_step(low, high)
        elif look % 4 == 1:  # twice as far from the nearer end, to bring in the other one
            step = 2 * _cubic_step(low, high)
            step = step if step < width else step - width
        elif look % 4 == 2:
            step = cross  # best where the level has an edge
        _look(holes, low[_TURN] + step, tried)
        ends[0 if tried[_SLOPE] < 0 else 1] = tried


@kernel
def _cubic_step(low: FloatArray, high: FloatArray) -> float:
    """Return how far from the low end the cubic with the levels and slopes of both ends is least."""
    width = high[_TURN] - low[_TURN]
    bend = low[_SLOPE] + high[_SLOPE] - 3 * (high[_LEVEL] - low[_LEVEL]) / width
    root = math.sqrt(bend * bend - low[_SLOPE] * high[_SLOPE])
    return float(width - width * (high[_SLOPE] + root - bend) / (high[_SLOPE] - low[_SLOPE] + 2 * root))


@kernel
def _look(holes: FloatArray, turn: float, row: FloatArray) -> None:
    """Fill `row` with what is known at one turn."""
    for hole in holes:
        hole[_X] = hole[0] - turn * hole[_LEVER]
        hole[_Y] = hole[1] - turn * hole[_LEVER + 1]
    _best_shift(holes, row)
    slope = 0.0
    for k in range(3):
        slope -= row[_FORCE + 2 * k] * holes[k, _LEVER] + row[_FORCE + 2 * k + 1] * holes[k, _LEVER + 1]
    row[_TURN], row[_SLOPE] = turn, slope


@kernel
def _best_shift(holes: FloatArray, row: FloatArray) -> None:
    """Fill level, shift and forces of the best shift at one turn.

    No level is below minus the least clearance, nor below what two holes alone allow; where the third hole is no
    further out, the greatest of these is the level. Otherwise all three holes hold the shift.
    """
    tightest = np.argmin(holes[:, _CLEAR])
    level, third, far, base, longest = -holes[tightest, _CLEAR], -1, 1.0, 0, -1.0
    for k in range(3):
        p, q = holes[(k + 1) % 3], holes[(k + 2) % 3]
        distance = math.sqrt((p[_X] - q[_X]) ** 2 + (p[_Y] - q[_Y]) ** 2)
        if distance > longest:
            longest, base = distance, k
        if (distance - p[_CLEAR] - q[_CLEAR]) / 2 > level:
            level, third, far = (distance - p[_CLEAR] - q[_CLEAR]) / 2, k, distance
    row[_FORCE:] = 0.0
    row[_SHIFT], row[_SHIFT + 1] = holes[tightest, _X], holes[tightest, _Y]
    if third >= 0:
        _held_by_two(holes, third, far, row)
    row[_LEVEL] = _level(holes, row[_SHIFT], row[_SHIFT + 1])
    if row[_LEVEL] > level + ROUNDING:
        _held_by_three(holes, base, row)


@kernel
def _level(holes: FloatArray, x: float, y: float) -> float:
    """Return the level of one shift."""
    level = -math.inf
    for hole in holes:
        level = max(level, math.sqrt((hole[_X] - x) ** 2 + (hole[_Y] - y) ** 2) - hole[_CLEAR])
    return level


@kernel
def _held_by_two(holes: FloatArray, third: int, far: float, row: FloatArray) -> None:
    """Fill shift and forces where all but the third hole, `far` from one another, are left the same spare."""
    i, j = (third + 1) % 3, (third + 2) % 3
    p, q = holes[i], holes[j]
    x, y = (q[_X] - p[_X]) / far, (q[_Y] - p[_Y]) / far
    way = (far + p[_CLEAR] - q[_CLEAR]) / 2
    row[_SHIFT], row[_SHIFT + 1] = p[_X] + way * x, p[_Y] + way * y
    row[_FORCE + 2 * i], row[_FORCE + 2 * i + 1] = -x / 2, -y / 2
    row[_FORCE + 2 * j], row[_FORCE + 2 * j + 1] = x / 2, y / 2


@kernel
def _held_by_three(holes: FloatArray, base: int, row: FloatArray) -> None:
    """Fill level, shift and forces where all three holes are left the same spare; as it was where that's no better."""
    x, y = _equally_far(holes, base)
    for _ in range(MENDS):
        level = _level(holes, x, y)
        if level < row[_LEVEL]:
            row[_LEVEL], row[_SHIFT], row[_SHIFT + 1] = level, x, y
            _three_forces(holes, x, y, row)
        step_x, step_y = _nearer(holes, x, y)
        if step_x == 0 and step_y == 0:
            return
        x, y = x + step_x, y + step_y


@kernel
def _equally_far(holes: FloatArray, base: int) -> tuple[float, float]:
    """Return the shift that leaves all three holes the same spare; three holes in a line never come here.

    With ρ the distance at the base hole, q_j the other holes from it and e_j their clearances less the base's, the
    shift s from the base keeps |s| = ρ and |s - q_j| = ρ + e_j. The difference of the squares is linear,
    q_j · s = (|q_j|² - e_j²)/2 - ρ e_j, so s = α - ρ β, and |α - ρ β| = ρ is a quadratic in ρ.
    Its least root above zero is the one: squares hide a distance ρ + e_j below zero only where |q_j| <= |e_j|, and such
    a hole j or the base is never held.
    """
    o, p, q = holes[base], holes[(base + 1) % 3], holes[(base + 2) % 3]
    px, py, qx, qy = p[_X] - o[_X], p[_Y] - o[_Y], q[_X] - o[_X], q[_Y] - o[_Y]
    e, f = p[_CLEAR] - o[_CLEAR], q[_CLEAR] - o[_CLEAR]
    area = px * qy - py * qx
    m, n = (px * px + py * py - e * e) / 2, (qx * qx + qy * qy - f * f) / 2
    alpha_x, alpha_y = (m * qy - n * py) / area, (n * px - m * qx) / area
    beta_x, beta_y = (e * qy - f * py) / area, (f * px - e * qx) / area
    a, b = beta_x * beta_x + beta_y * beta_y - 1, alpha_x * beta_x + alpha_y * beta_y
    c = alpha_x * alpha_x + alpha_y * alpha_y
    root = math.sqrt(max(b * b - a * c, 0.0))
    rho = c / (b + root)
    return o[_X] + alpha_x - rho * beta_x, o[_Y] + alpha_y - rho * beta_y


@kernel
def _nearer(holes: FloatArray, x: float, y: float) -> tuple[float, float]:
    """Return a step of Newton's method, nought where none is needed: it mends digits lost to holes nearly in a line."""
    ax, ay, a = _away(holes[0], x, y)
    bx, by, b = _away(holes[1], x, y)
    cx, cy, c = _away(holes[2], x, y)
    p, q = b - holes[1, _CLEAR] - a + holes[0, _CLEAR], c - holes[2, _CLEAR] - a + holes[0, _CLEAR]
    px, py, qx, qy = bx - ax, by - ay, cx - ax, cy - ay
    area = px * qy - py * qx
    if max(abs(p), abs(q)) <= ROUNDING or area == 0:
        return 0.0, 0.0
    return (p * qy - q * py) / area, (q * px - p * qx) / area


@kernel
def _away(hole: FloatArray, x: float, y: float) -> tuple[float, float, float]:
    """Return the direction of a hole from the shift, and its distance."""
    away_x, away_y = hole[_X] - x, hole[_Y] - y
    distance = math.sqrt(away_x * away_x + away_y * away_y)
    return away_x / distance, away_y / distance, distance


@kernel
def _three_forces(holes: FloatArray, x: float, y: float, row: FloatArray) -> None:
    """Fill three forces that balance: each share goes with the sine of the angle between the other two.

    The forces stay as they are, those of two holes, where the place is not good enough to tell three.
    """
    ax, ay, _ = _away(holes[0], x, y)
    bx, by, _ = _away(holes[1], x, y)
    cx, cy, _ = _away(holes[2], x, y)
    a, b, c = bx * cy - by * cx, cx * ay - cy * ax, ax * by - ay * bx
    total = a + b + c
    least = min(a, b, c) if total > 0 else -max(a, b, c)
    if least < 0 or total == 0:  # a hole can't push; the digits that would tell are lost
        return
    row[_FORCE], row[_FORCE + 1] = ax * a / total, ay * a / total
    row[_FORCE + 2], row[_FORCE + 3] = bx * b / total, by * b / total
    row[_FORCE + 4], row[_FORCE + 5] = cx * c / total, cy * c / total
