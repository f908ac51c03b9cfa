"""The nominal frame: facts of the trade, and the contact matrix against rigid motion worked out point by point."""

import numpy as np
import pytest
from boxes import TABLE_BOX

from assembly.nominal.frame import (
    CORNERS,
    FACES,
    LAPPED_AT,
    PLAIN_AT,
    SX,
    SY,
    WALLS,
    contact_matrix,
    contact_points,
    free_columns,
    point_areas,
    squared_row,
    tie_patterns,
)


def test_sizes_of_the_table_box():
    assert TABLE_BOX.tongue == 7.5
    assert TABLE_BOX.plain_length == 160 - 2 * 7.5
    assert TABLE_BOX.lapped_length == 90
    assert TABLE_BOX.inside == (130, 70)


def test_contact_points_of_one_corner_by_hand():
    """Left-front: the cheek stands at x = -(80 - 7.5), over the 10 mm at the end; the shoulder at y = -(45 - 10)."""
    cheek, shoulder = contact_points(TABLE_BOX)[CORNERS.index("left-front")]
    assert cheek.tolist() == [[-72.5, -35, -22.5], [-72.5, -35, 22.5], [-72.5, -45, -22.5], [-72.5, -45, 22.5]]
    assert shoulder.tolist() == [[-65, -35, -22.5], [-65, -35, 22.5], [-72.5, -35, -22.5], [-72.5, -35, 22.5]]


def test_matrix_is_what_rigid_motion_does_to_each_gap():
    """Second method: move both faces' points by u + ω × p and take the opening along the nominal contact normal."""
    rng = np.random.default_rng(5)
    poses = rng.normal(size=(4, 4))
    predicted = np.einsum("kwf,wf->k", contact_matrix(TABLE_BOX), poses).reshape(4, 2, 4)
    points = contact_points(TABLE_BOX)
    for corner in range(4):
        for face, normal in enumerate(([SX[corner], 0, 0], [0, -SY[corner], 0])):
            for k, point in enumerate(points[corner, face]):
                lapped = moved(poses, LAPPED_AT[corner], point)
                plain = moved(poses, PLAIN_AT[corner], point)
                # A cheek opens when the lapped wall goes outward; a shoulder, when the plain wall does.
                opening = np.dot(normal, lapped - plain)
                assert predicted[corner, face, k] == pytest.approx(opening, abs=1e-12), (CORNERS[corner], FACES[face])


def moved(poses, wall, point):
    shift_x, shift_y, turn, lean = poses[wall]
    omega = np.array([0, lean, turn]) if WALLS[wall] in ("left", "right") else np.array([lean, 0, turn])
    return np.array([shift_x, shift_y, 0]) + np.cross(omega, point)


def test_thirteen_unknowns_locate_the_frame():
    matrix = contact_matrix(TABLE_BOX).reshape(32, 16)
    assert np.linalg.matrix_rank(matrix) == 13  # 16 less shifting and turning the box as a whole
    assert np.linalg.matrix_rank(matrix[:, free_columns()]) == 13


def test_areas_are_those_of_the_faces():
    per_corner = (10 + 7.5) * 45
    assert point_areas(TABLE_BOX).sum() == pytest.approx(4 * per_corner)
    assert point_areas(TABLE_BOX)[:8].tolist() == [112.5] * 4 + [84.375] * 4


def test_tie_patterns_by_hand():
    """Pattern 4b + m: sin(k (b + 1)); m = 1 swaps front and back, m = 2 left and right, m = 3 both."""
    patterns = tie_patterns()
    assert patterns[0, :3] == pytest.approx(np.sin([1, 2, 3]).tolist())
    assert patterns[4 * 5, 31] == pytest.approx(np.sin(32 * 6))
    assert patterns[1, :8] == pytest.approx(np.sin(np.arange(9, 17)).tolist())  # right-back takes right-front's
    assert patterns[2, :8] == pytest.approx(np.sin(np.arange(17, 25)).tolist())  # right-back takes left-back's
    assert patterns[3, :8] == pytest.approx(np.sin(np.arange(25, 33)).tolist())  # right-back takes left-front's


def test_squared_row_is_the_diagonals():
    row = dict(zip(free_columns().tolist(), squared_row().tolist(), strict=True))
    assert {column: value for column, value in row.items() if value} == {6: -1, 10: 1, 14: 1}
