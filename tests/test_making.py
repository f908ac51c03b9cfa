"""Every disturbance, set alone to 1 (mm or degree) at one place, against gaps worked out by hand."""

import math

import numpy as np
import pytest
from boxes import TABLE_BOX, faces_with, gaps_with

from assembly.made.faces import FRAME_PLACES, Making, beyond_first_order
from assembly.model.workshop import Operations, Pare, Workshop
from assembly.nominal.frame import BACK, FRONT, LEFT, RIGHT

DEG = math.pi / 180
CHEEK, SHOULDER = 0, 1
ALL = np.ones(4)
# Signs of a face's four corners: v minus then plus, and for each v, w minus then plus.
V, W = np.array([-1, -1, 1, 1]), np.array([-1, 1, -1, 1])
CHEEK_V, SHOULDER_V, TONGUE_V, UP_W = 5.0, 3.75, 3.75, 22.5  # half of t, D, K and H
BOW = 4 / 145  # slope of 1 mm of bow over the plain wall's 145 mm


def only_removed(heights):
    """Sanding to a perfect line takes off what stands proud of it."""
    return np.minimum(heights, 0)


def end_cases():
    """Yield errors of ends: plain ends close on cheeks, lapped ends carry their shoulders with them."""
    for corner, wall in ((0, BACK), (1, FRONT)):
        yield ("mark.offset", wall), 1.0, {(corner, CHEEK): -ALL}
    for corner, wall in ((0, RIGHT), (2, LEFT)):
        yield ("mark.offset", wall), 1.0, {(corner, SHOULDER): -ALL}
    for corner in range(4):
        yield ("square.plan", corner), 1.0, {(corner, CHEEK): -DEG * CHEEK_V * V}
        yield ("square.upright", corner), 1.0, {(corner, CHEEK): -DEG * UP_W * W}
        for name in ("square.plan", "square.upright"):  # a lapped end's slope leaves its mean, and so the shoulder
            yield (name, 4 + corner), 1.0, {}
        for tool in ("saw", "sand"):
            yield (f"{tool}.offset", corner), 1.0, {}  # the other of the two brings the end to the line
            yield (f"{tool}.offset", corner), -1.0, {(corner, CHEEK): ALL}
            yield (f"{tool}.offset", 4 + corner), -1.0, {(corner, SHOULDER): ALL}
            yield (f"{tool}.plan", corner), 1.0, {(corner, CHEEK): -only_removed(DEG * CHEEK_V * V)}
            yield (f"{tool}.upright", corner), 1.0, {(corner, CHEEK): -only_removed(DEG * UP_W * W)}
            yield (f"{tool}.plan", 4 + corner), 1.0, {(corner, SHOULDER): DEG * TONGUE_V / 2 * ALL}
            yield (f"{tool}.upright", 4 + corner), 1.0, {(corner, SHOULDER): DEG * UP_W / 2 * ALL}


def lap_cases():
    """Yield errors of shoulders and cheeks."""
    for corner in range(4):
        yield ("square.plan", 8 + corner), 1.0, {(corner, SHOULDER): -DEG * SHOULDER_V * V}
        yield ("square.upright", 8 + corner), 1.0, {(corner, SHOULDER): -DEG * UP_W * W}
        yield ("lap_mark.offset", corner), 1.0, {(corner, SHOULDER): ALL}
        yield ("lap_saw.offset", corner), 1.0, {(corner, SHOULDER): -ALL}
        yield ("lap_saw.plan", corner), 1.0, {(corner, SHOULDER): -DEG * SHOULDER_V * V}
        yield ("lap_saw.upright", corner), 1.0, {(corner, SHOULDER): -DEG * UP_W * W}
        yield ("gauge.offset", corner), 1.0, {(corner, CHEEK): -ALL}
        yield ("chisel.offset", corner), 1.0, {(corner, CHEEK): -ALL}
        yield ("chisel.along", corner), 1.0, {(corner, CHEEK): -DEG * CHEEK_V * V}
        yield ("chisel.upright", corner), 1.0, {(corner, CHEEK): -DEG * UP_W * W}
        for point in range(4):
            yield ("chisel.uneven", 4 * corner + point), 1.0, {(corner, CHEEK): -np.eye(4)[point]}


def stock_cases():
    """Yield errors of the timber, for laps measured from the part."""
    for wall, corners in ((FRONT, (1, 3)), (BACK, (0, 2))):
        yield ("stock.thickness", wall), 1.0, {(corner, SHOULDER): ALL for corner in corners}
        bowed = {(corner, CHEEK): -BOW * CHEEK_V * V for corner in corners}
        yield ("stock.bow", wall - FRONT), 1.0, bowed | {(c, SHOULDER): -BOW * SHOULDER_V * V for c in corners}
        right, left = corners
        wound = {(right, SHOULDER): -DEG / 2 * UP_W * W, (left, SHOULDER): DEG / 2 * UP_W * W}
        yield ("stock.twist", wall - FRONT), 1.0, wound
    for wall in (LEFT, RIGHT):
        yield ("stock.thickness", wall), 1.0, {}
    for wall in range(4):
        yield ("stock.height", wall), 1.0, {}


CASES = [*end_cases(), *lap_cases(), *stock_cases()]


@pytest.mark.parametrize(("place", "amount", "expected"), CASES, ids=[f"{c[0][0]}-{c[0][1]}-{c[1]:+g}" for c in CASES])
def test_one_error_gives_the_gaps_worked_out_by_hand(place, amount, expected):
    by_hand = np.zeros((4, 2, 4))
    for where, gaps in expected.items():
        by_hand[where] = gaps
    np.testing.assert_allclose(gaps_with({place: amount}), by_hand, rtol=0, atol=1e-12)


def test_every_quantity_of_the_frame_is_pinned():
    assert {case[0][0] for case in CASES} == set(FRAME_PLACES)


def test_measured_from_the_drawing_a_thick_plain_wall_is_overlooked():
    """The shoulder stays at the drawn thickness, so the plain wall, located by its inside face, leaves no gap."""
    assert not gaps_with({("stock.thickness", BACK): 1.0}, shoulder_from="drawing").any()


def test_the_shoulder_follows_the_end_it_was_marked_from_after_paring():
    """An end left 0.7 long carries its shoulder 0.7 out, however the shoulder itself is pared."""
    faces = faces_with({("mark.offset", RIGHT): 0.7, ("lap_mark.offset", 0): 0.2})
    np.testing.assert_allclose(faces.shoulder[0, :, 0], 0.7 - 0.2)
    np.testing.assert_allclose(faces.end_offset[:, 0], [0.7, 0, 0, 0])


def paring(shoulder_from, judged, draws, *, thickness=0.0, notice=0.3):
    """Return a shoulder corner's height after paring, for a corner sawn `judged` proud."""
    rounds = len(draws)
    workshop = Workshop(
        name="pares",
        shoulder_from=shoulder_from,
        pare=Pare(notice=notice, spread=1, rounds=rounds),
        operations=Operations(),
    )
    making = Making(frame=TABLE_BOX, workshop=workshop)
    value = {each.name: np.zeros((each.places, 1)) for each in making.inputs}
    value["lap_saw.offset"][0] = judged
    value["stock.thickness"][BACK] = thickness
    value["pare.draw"].reshape(rounds, 4, 2, 4, 1)[:, 0, 1] = np.array(draws)[:, None, None]
    return making.faces(value).shoulder[0, 0, 0]


@pytest.mark.parametrize(
    ("judged", "draws", "left"),
    [
        (0.30, [0.1], 0.30),  # on the notice: not seen
        (0.31, [0.1], 0.1),  # seen, pared to the draw
        (0.80, [0.9, 0.05], 0.05),  # the first stroke takes nothing off, the second does
        (0.80, [0.5, 0.45], 0.45),  # still proud when the rounds are over
        (0.80, [-0.4, -0.9], -0.4),  # overcut: seen to be in, so not pared again
        (-0.20, [-0.9], -0.20),  # wood cannot be put back, and none is taken
    ],
)
def test_paring_by_hand(judged, draws, left):
    assert paring("part", judged, draws) == pytest.approx(left, abs=1e-12)


def test_paring_judges_a_shoulder_with_the_wall_in_it():
    """Marked from the drawing, a wall 0.5 too thick stands 0.5 proud; the pared 0.1 is left against that wall."""
    assert paring("drawing", 0.0, [0.1], thickness=0.5) == pytest.approx(0.1 - 0.5, abs=1e-12)
    assert paring("part", 0.0, [0.1], thickness=0.5) == pytest.approx(0.0 - 0.5, abs=1e-12)


@pytest.mark.parametrize(
    ("error", "beyond"),
    [
        ({("lap_saw.plan", 0): 4.98}, False),  # angles are given as slopes: tan 5° is 5.0127° of slope
        ({("lap_saw.plan", 0): 5.05}, True),
        ({("chisel.upright", 1): 5.05}, True),
        ({("square.plan", 0): 5.05}, True),
        ({("square.upright", 5): 5.05}, True),
        ({("gauge.offset", 2): 4.99}, False),  # a third of 15 mm
        ({("gauge.offset", 2): 5.01}, True),
        ({("mark.offset", BACK): 3.32}, False),  # a third of 10 mm
        ({("mark.offset", BACK): 3.34}, True),
        ({("lap_saw.offset", 3): -5.01}, True),
        ({("stock.bow", 0): 3.1}, False),
        ({("stock.bow", 0): 3.2}, True),  # 4 · 3.2 / 145 = 0.0883 > tan 5° = 0.0875
    ],
)
def test_beyond_first_order(error, beyond):
    assert bool(beyond_first_order(TABLE_BOX, faces_with(error))[0]) is beyond
