"""A box as it was made: its errors built as solids, at true size or shown several times as large.

times    : how many times as large as they are the errors are shown; 1 is true size
contacts : the vertices that meet at every contact point, where the settled walls have put them

Faces and places are both multiplied, so a gap is shown `times` as wide as it is; the words and figures of the joints
stay those of the true box. Lengths are millimetres, in the frame of `assembly.nominal.frame`.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

from assembly.errors import InputError, SolidError
from assembly.nominal.frame import LAPPED_AT, PLAIN_AT
from assembly.solids.walls import contact_vertices, matrix_of, walls

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from assembly.made.records import MadeFaces, SettledBox
    from assembly.model.design import Design
    from assembly.solids.parts import PartArrays

MOST_TIMES = 20.0  # beyond it every box is beyond its timber; project choice
_STEPS = 10  # the largest that works is given to a tenth


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AsMade:
    """What a scene needs to know of a box that is drawn as it was made."""

    times: float
    contacts: FloatArray  # (4 corners, 2 faces, 4 points, 2 walls, 3): the lapped wall's vertex, then the plain wall's
    limit_of: str | None = None  # the joint whose limit case it is; None for a sampled box
    bad: str = ""  # of a likeliest bad box, what is said of it
    beyond: bool = False  # its errors are outside the model's first order

    @property
    def words(self) -> str:
        """How large the errors are drawn, as a sentence."""
        large = "at true size" if self.times == 1 else f"their errors shown {self.times:g} times as large"
        doubt = " So large errors are beyond what the predictions hold for." if self.beyond else ""
        return f"The walls are drawn as they were made, {large}.{doubt}"


def checked_times(times: float, settled: SettledBox) -> float:
    """Return how many times the errors are shown.

    Raises
    ------
    InputError
        If it is not from 1 to the largest number that works for the box, or none works for it.
    """
    most = drawable_times(settled)
    if not 1 <= times <= most:
        why = "beyond that its faces cross" if most < MOST_TIMES else "beyond that every box's faces cross"
        msg = f"--times: got {times:g}, must be 1 (true size) to {most:g} for this box; {why}"
        raise InputError(msg)
    return times


def drawable_times(settled: SettledBox) -> float:
    """Return the largest number of times at which a box can be drawn.

    Raises
    ------
    InputError
        If it can't be drawn even at true size.
    """
    most = most_times(settled)
    if most < 1:
        msg = (
            "as made: the errors of this box are so large that its faces cross even at true size; make the workshop's "
            "spreads smaller or the timber thicker, or draw the box as it is designed"
        )
        raise InputError(msg)
    return most


def magnified(settled: SettledBox, times: float) -> tuple[MadeFaces, FloatArray]:
    """Return faces and poses, (4, 4), of a box with every error `times` as large."""
    heights = {f.name: times * getattr(settled.faces, f.name) for f in fields(settled.faces) if f.name != "gauge_from"}
    return replace(settled.faces, **heights), times * settled.poses


def contacts_of(settled: SettledBox, times: float) -> FloatArray:
    """Return the two vertices at every contact point where the walls settled, on the drawing: (4, 2, 4, 2, 3), mm."""
    faces, poses = magnified(settled, times)
    points = contact_vertices(settled.frame, faces)
    for corner in range(4):
        for body, at in enumerate((LAPPED_AT, PLAIN_AT)):
            matrix = matrix_of(int(at[corner]), poses[at[corner]])
            points[corner, :, :, body] = points[corner, :, :, body] @ matrix[:3, :3].T + matrix[:3, 3]
    return points @ settled.frame.turn.T if settled.frame.turned else points


def most_times(settled: SettledBox) -> float:
    """Return the largest number of times, to a tenth and at most `MOST_TIMES`, at which the walls' faces do not cross.

    Below 1 the box can't be built even at true size. What keeps faces in order is linear in the errors but for the
    slant of a bowed wall, so what works at one number of times works at every smaller one.
    """
    low, high = 0, round(MOST_TIMES * _STEPS) + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if _in_order(settled, middle / _STEPS) else (low, middle)
    return low / _STEPS


def _in_order(settled: SettledBox, times: float) -> bool:
    try:
        shapes = walls(settled.frame, magnified(settled, times)[0])
    except SolidError:
        return False
    return all(shape.volume > 0 for shape in shapes)


def as_made(
    design: Design, settled: SettledBox, times: float, limit_of: str | None = None
) -> tuple[tuple[PartArrays, ...], AsMade]:
    """Return the parts of a box with its errors `times` as large, and what a scene must know of them.

    Raises
    ------
    InputError
        If `times` is out of its range, or so large that faces cross; the message names the largest that works, or says
        that none does.
    """
    times = checked_times(times, settled)
    from assembly.solids.box import box_arrays, build  # noqa: PLC0415 - manifold3d

    parts = box_arrays(build(design, *magnified(settled, times)))
    return parts, AsMade(times=times, contacts=contacts_of(settled, times), limit_of=limit_of)
