"""The four walls as made, as polyhedra: every worked face through the heights of its corners (MODEL.md, 6).

Frame of reference as in `assembly.nominal.frame`; walls stand where they stand in the nominal box, before they settle.
Without errors the walls are the nominal ones: there is no other way to make them.

column : a point of a wall's plan, at the bottom and at the top

Columns of a lapped wall run round it: 0 outside front, 1 outside back, 2 tongue's end back, 3 lap's inner edge back
(where cheek and shoulder meet), 4 inside face back, then 5, 6, 7 the same in front, from the inside face outwards.
Columns of a plain wall: 0 to 3 along its inside face from left to right (end, edge of the shoulder, edge of the
shoulder, end), 4 to 7 along its outside face from right to left.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import SolidError
from assembly.nominal.frame import BACK, LAPPED_AT, LEFT, PLAIN_AT, RIGHT, SX, SY, V_SIGN, W_SIGN, WALLS
from assembly.solids.polyhedron import PLANAR, Polyhedron, in_order, prism

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.made.records import MadeFaces
    from assembly.nominal.frame import Frame

# Columns that touch the cheek and the shoulder of a lap (v minus, v plus), at the back and the front end.
_CHEEK_AT = {1: (3, 2), -1: (6, 7)}
_SHOULDER_AT = {1: (4, 3), -1: (5, 6)}
# Columns of a plain wall at its end (v minus, v plus) and at its inside face over the shoulder, right and left.
_END_AT = {1: (3, 4), -1: (0, 7)}
_INSIDE_AT = {1: (2, 3), -1: (1, 0)}


def walls(box: Frame, faces: MadeFaces) -> tuple[Polyhedron, ...]:
    """Return the four walls in the order of `frame.WALLS`, without their holes.

    Raises
    ------
    SolidError
        If a number is not finite, if errors are so large that faces cross, or if an inside face is not planar.
    """
    return tuple(_wall(box, faces, wall) for wall in range(4))


def contact_vertices(box: Frame, faces: MadeFaces) -> FloatArray:
    """Return the two vertices that meet at every contact point, before the frame settles.

    Returns
    -------
    FloatArray, (4 corners, 2 faces, 4 points, 2, 3)
        First the lapped wall's vertex, then the plain wall's; mm.
    """
    columns = [_columns(box, faces, wall) for wall in range(4)]
    points = np.empty((4, 2, 2, 2, 2, 3))  # corner, face, v, w, body
    for corner in range(4):
        sx, sy = int(SX[corner]), int(SY[corner])
        lapped, plain = columns[LAPPED_AT[corner]], columns[PLAIN_AT[corner]]
        for face, (lap, wall) in enumerate([(_CHEEK_AT[sy], _END_AT[sx]), (_SHOULDER_AT[sy], _INSIDE_AT[sx])]):
            points[corner, face, :, :, 0], points[corner, face, :, :, 1] = lapped[list(lap)], plain[list(wall)]
    return points.reshape(4, 2, 4, 2, 3)


def matrix_of(wall: int, pose: FloatArray) -> FloatArray:
    """Return where a wall's pose puts it: (4, 4); the rotation vector's turn about the origin, then the shift.

    The rotation vector is (0, ry, rz) for lapped walls and (rx, 0, rz) for plain ones, radians.
    """
    shift_x, shift_y, turn, lean = pose
    vector = np.array([0.0, lean, turn] if wall in (LEFT, RIGHT) else [lean, 0.0, turn])
    matrix = np.eye(4)
    matrix[:3, :3] = _rotation(vector)
    matrix[:2, 3] = shift_x, shift_y
    return matrix


def drawn_matrix(box: Frame, wall: int, pose: FloatArray) -> FloatArray:
    """Return where a wall's pose puts it on the drawing: (4, 4)."""
    matrix = matrix_of(wall, pose)
    if not box.turned:
        return matrix
    turn = np.eye(4)
    turn[:3, :3] = box.turn
    return np.asarray(turn @ matrix @ turn.T)


def _rotation(vector: FloatArray) -> FloatArray:
    """Return the rotation by a rotation vector (Rodrigues' formula): (3, 3)."""
    angle = float(np.linalg.norm(vector))
    if angle == 0:
        return np.eye(3)
    x, y, z = vector / angle
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.asarray(np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * cross @ cross, dtype=np.float64)


def _wall(box: Frame, faces: MadeFaces, wall: int) -> Polyhedron:
    name, columns = f"{WALLS[wall]} wall", _columns(box, faces, wall)
    if wall in (LEFT, RIGHT):
        _check_lapped(name, columns, outward=int(np.sign(wall - 0.5)))
    else:
        _check_plain(name, columns, outward=1 if wall == BACK else -1)
    return prism(columns)


def _check_lapped(name: str, columns: FloatArray, outward: int) -> None:
    across = ((4, 5), (2, 3, 6, 7), (0, 1))
    in_order(name, columns, 0, across[::outward])
    in_order(name, columns, 1, ((0, 7), (5, 6), (3, 4), (1, 2)))
    _check_levels(name, columns)


def _check_plain(name: str, columns: FloatArray, outward: int) -> None:
    in_order(name, columns, 0, ((0, 7), (1, 6), (2, 5), (3, 4)))
    for column in range(4):
        across = ((column,), (7 - column,))
        in_order(name, columns, 1, across[::outward])
    _check_levels(name, columns)


def _check_levels(name: str, columns: FloatArray) -> None:
    levels = columns.transpose(1, 0, 2)  # bottoms and tops as two groups
    in_order(name, levels, 2, ((0,), (1,)))


def _columns(box: Frame, faces: MadeFaces, wall: int) -> FloatArray:
    return _lapped_columns(box, faces, wall) if wall in (LEFT, RIGHT) else _plain_columns(box, faces, wall)


def _levels(box: Frame, faces: MadeFaces, wall: int) -> FloatArray:
    """Return z of the wall's bottom and top edges: (2,), mm."""
    return np.array([-box.height / 2, box.height / 2 + faces.height[wall]])


def _lapped_columns(box: Frame, faces: MadeFaces, wall: int) -> FloatArray:
    corners = np.flatnonzero(wall == LAPPED_AT)
    side = SX[corners[0]]
    inside_gauged = faces.gauge_from == "inside"
    outside_x = box.along_x / 2 + (faces.thickness[wall] if inside_gauged else 0.0)
    inside_x = box.along_x / 2 - box.lapped - (0.0 if inside_gauged else faces.thickness[wall])
    columns = np.empty((8, 2, 3))
    columns[..., 2] = _levels(box, faces, wall)
    for corner in corners:
        end, cheek, shoulder = (
            heights[corner].reshape(2, 2) for heights in (faces.lapped_end, faces.cheek, faces.shoulder)
        )
        lap_x = box.along_x / 2 - box.tongue - cheek
        end_y, lap_y = box.along_y / 2 + end, box.along_y / 2 - box.plain + shoulder
        at = [1, 2, 3, 4] if SY[corner] > 0 else [0, 7, 6, 5]
        columns[at, :, 0] = side * np.stack([np.full(2, outside_x), lap_x[1], lap_x[0], np.full(2, inside_x)])
        columns[at, :, 1] = SY[corner] * np.stack([end_y[1], end_y[0], lap_y[1], lap_y[0]])
    return columns


def _plain_columns(box: Frame, faces: MadeFaces, wall: int) -> FloatArray:
    outward = 1 if wall == BACK else -1
    columns = np.empty((8, 2, 3))
    columns[..., 2] = _levels(box, faces, wall)
    for corner in np.flatnonzero(wall == PLAIN_AT):
        side, end = SX[corner], faces.plain_end[corner].reshape(2, 2)
        height, along, up = _patch(box, faces.inside[corner], f"{WALLS[wall]} wall")
        end_x = box.along_x / 2 - box.tongue + end
        edge_x = np.full(2, box.along_x / 2 - box.lapped)
        outer = (box.plain + faces.thickness[wall]) * math.sqrt(
            1 + along**2 + up**2
        )  # true thickness, square to the face
        at = [0, 1, 6, 7] if side < 0 else [3, 2, 5, 4]  # end and edge inside, edge and end outside
        x = np.stack([end_x[0], edge_x, edge_x, end_x[1]])
        middle = box.along_x / 2 - box.tongue - box.depth / 2
        face = height + along * (x - middle) + up * columns[at, :, 2]
        columns[at, :, 0] = side * x
        columns[at, :, 1] = outward * (box.along_y / 2 - box.plain - face + np.array([0.0, 0.0, outer, outer])[:, None])
    return columns


def _patch(box: Frame, heights: FloatArray, name: str) -> tuple[float, float, float]:
    """Return height at the centre and both slopes of an inside face over its shoulder."""
    mean = float(heights.mean())
    along = float(heights @ V_SIGN) / 4 / (box.depth / 2)
    up = float(heights @ W_SIGN) / 4 / (box.height / 2)
    uneven = float(np.abs(heights @ (V_SIGN * W_SIGN)) / 4)
    if uneven > PLANAR:
        msg = f"{name}: its inside face over a shoulder is {uneven:.3g} mm off a plane; bow and twist leave it planar"
        raise SolidError(msg)
    return mean, along, up
