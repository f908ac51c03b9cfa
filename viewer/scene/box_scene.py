"""The scene of a box, nominal or as made: its parts apart, its joints marked, and what is written beside them."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.nominal.fittings import SCREW_KINDS, WASHER_KINDS
from assembly.nominal.frame import corner_words
from assembly.solids.parts import moved
from viewer.scene.camera import Direction
from viewer.scene.grain import grain_lines
from viewer.scene.joints import WALL_NAMES, Joint, joints_of
from viewer.scene.scene import Caption, Scene, ShownPart, TitleBlock
from viewer.scene.visibility import worst_seen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from assembly.made.gap_classes import GapScale
    from assembly.made.records import SettledBox
    from assembly.solids.as_made import AsMade
    from assembly.solids.parts import Facts, PartArrays

_ROUND = 33.0  # degrees; every joint shows one of its faces to the front, to that side or up
_UPS = (32.0, 44.0, 56.0)  # degrees; the higher ones where tall walls hide the worst joint
_ENOUGH = 0.42  # of a face of the worst joint that must be seen
_GRAIN = 1 / 45  # mean distance of grain lines, as a share of the room that the exploded parts take up
_NO_LINES = np.empty((0, 2, 3))


def scene(
    parts: Sequence[PartArrays],
    settled: SettledBox | None,
    scale: GapScale,
    explode: float,
    title_block: TitleBlock | None = None,
    made: AsMade | None = None,
) -> Scene:
    """Return what is shown of a box.

    Parameters
    ----------
    parts : sequence of PartArrays
        The nominal parts, or those of `settled` as they were made.
    settled : SettledBox or None
        The sampled box whose joints are marked; None marks no joints.
    scale : GapScale
        The words for a gap.
    explode : float
        How far the box is taken apart, 0 to 1.
    title_block : TitleBlock, optional
        Names for the title and the sentences under it.
    made : AsMade, optional
        Where the parts are as made, how large their errors are shown and where their joints' faces stand.

    Raises
    ------
    InputError
        If `explode` is not between 0 and 1.
    """
    if not 0 <= explode <= 1:
        msg = f"explode: got {explode:g}, must be from 0 (closed) to 1 (taken apart)"
        raise InputError(msg)
    title_block, extent = title_block or TitleBlock(), extent_of(parts)
    names, contacts = [part.facts.name for part in parts], None if made is None else made.contacts
    joints = () if settled is None else joints_of(settled, scale, names, extent, contacts)
    found: list[Scene] = []
    for direction in _directions(joints):
        lift = _lift(parts, joints, direction)
        one = Scene(
            name=title_block.name,
            shows=apart_words(explode),
            caption=_caption(title_block, settled, joints, made),
            parts=tuple(shown_part(part, extent, lift) for part in parts),
            joints=joints,
            scale=scale,
            direction=direction,
            explode=explode,
        )
        if worst_seen(one) >= _ENOUGH:
            return one
        found.append(one)
    return found[0]


def apart_words(explode: float) -> str:
    """Return how far the box is taken apart, in words."""
    return "taken apart" if explode == 1 else "partly taken apart" if explode else "put together"


def extent_of(parts: Sequence[PartArrays]) -> float:
    """Return the diagonal of the room that the parts take up when apart, mm."""
    corners = np.concatenate([part.placed(1.0) for part in parts])
    return float(np.linalg.norm(np.ptp(corners, axis=0)))


def _directions(joints: Sequence[Joint]) -> list[Direction]:
    """Return from where the box may be seen, the best liked first: from the right, or from the left; then from higher.

    Seen from the right, the cheek at the left-back corner and the shoulder at the right-front corner look out of their
    laps away from the viewer; from the left, it is their mirror images.
    """
    hidden = {("left-back", "cheek"), ("right-front", "shoulder")}
    side = -_ROUND if any(j.worst and (j.corner, j.face) in hidden for j in joints) else _ROUND
    return [Direction(round=sign * side, up=up) for up in _UPS for sign in (1, -1)]


def _lift(parts: Sequence[PartArrays], joints: Sequence[Joint], direction: Direction) -> float:
    """Return how much further all that rises must rise so that it hides no joint when the box is taken apart, mm.

    A point is hidden by a convex shape if it lies within the shape's bounds in every direction on the picture.
    """
    right, up, _ = direction.axes
    turns = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    bounds = np.outer(np.cos(turns), right) + np.outer(np.sin(turns), up)  # (48, 3)
    seen = [patch.face + parts[patch.part].facts.apart for joint in joints for patch in joint.patches]
    points = np.concatenate([np.empty((0, 3)), *seen]) @ bounds.T
    rising = [part for part in parts if part.facts.apart[2] > 0]
    reach = [part.placed(1.0) @ bounds.T for part in rising]
    step = extent_of(parts) / 100
    for lift in np.arange(100) * step:
        rise = lift * bounds[:, 2]
        if not any((points <= shape.max(axis=0) + rise).all(axis=1).any() for shape in reach):
            return float(lift)
    return 0.0


@lru_cache(maxsize=256)  # many steps of the making show the same timber
def shown_part(part: PartArrays, extent: float, lift: float) -> ShownPart:
    """Return a part as it is shown; grain strewn for a room of diagonal `extent`, `lift` for what rises."""
    facts = part.facts
    points = part.placed()
    axis = _grain_axis(facts.name, points)
    return ShownPart(
        name=facts.name,
        kind=facts.kind,
        title=_title(facts),
        sizes=(_sizes(facts),),
        colour=facts.colour[:3],
        opacity=facts.colour[3],
        points=points,
        triangles=part.triangles,
        edges=moved(part.edges, facts.closed),
        grain=_NO_LINES if axis is None else grain_lines(points, part.triangles, axis, _GRAIN * extent),
        away=facts.apart + np.array([0.0, 0.0, lift if facts.apart[2] > 0 else 0.0]),
    )


def _sizes(facts: Facts) -> str:
    """Return a part's sizes as the trade tells them: screws by thread and length, round things by diameter."""
    if facts.kind in SCREW_KINDS.values():
        length, _, thread = facts.size
        washer = "" if facts.washer is None else f", washer ⌀ {facts.washer:g}"
        return sizes((thread, length)) + washer
    if facts.kind in WASHER_KINDS.values():
        across, _, thick = facts.size
        return f"⌀ {sizes((across, thick))}"
    if facts.name == "stem":
        length, across, _ = facts.size
        return f"⌀ {sizes((across, length))}"
    return ("cut " if facts.name == "plaque" else "") + sizes(facts.size)  # a plaque is cut flat, then bent


def sizes(size: tuple[float, ...]) -> str:
    """Return sizes as they are printed, to a tenth of a millimetre.

    Examples
    --------
    >>> sizes((145.0, 45.0, 10.0))
    '145 × 45 × 10 mm'
    """
    return " × ".join(f"{round(value, 1):g}" for value in size) + " mm"


def _title(facts: Facts) -> str:
    """Return what a label calls a part: walls with their kind, the stem with what it is."""
    if facts.name in WALL_NAMES:
        return f"{facts.name}, {'lapped' if facts.lapped else 'plain'}"
    return f"stem: {facts.role}" if facts.name == "stem" else facts.name


def _grain_axis(name: str, points: FloatArray) -> int | None:
    """Return the axis of a part's grain: along a wall's length, along a sheet's longer side; None if it has none."""
    if name in WALL_NAMES:
        return 0 if name in {"front wall", "back wall"} else 1
    return int(np.argmax(np.ptp(points, axis=0)[:2])) if name in {"base", "lid"} else None


def _caption(
    title_block: TitleBlock, settled: SettledBox | None, joints: tuple[Joint, ...], made: AsMade | None
) -> Caption:
    drawn = "The parts are drawn without errors." if made is None else made.words
    if settled is None:
        return Caption(drawn=drawn)
    worst = next(joint for joint in joints if joint.worst)
    return Caption(
        lead=(_which(title_block, settled, made),), worst=f"Worst fit: {worst.name}, {worst.words}.", drawn=drawn
    )


def _which(title_block: TitleBlock, settled: SettledBox, made: AsMade | None) -> str:
    """Return which box is shown."""
    if made is not None and made.limit_of is not None:
        return (
            f"Joints: the limit case of the {corner_words(made.limit_of)} joint. Not a real box: all errors at their "
            "worst for it at once. Base, lid and plaque stay as drawn, so walls may pass through them."
        )
    if made is not None and made.bad:
        return f"{made.bad} Base, lid and plaque stay as drawn."
    among = "" if title_block.boxes is None else f" of {title_block.boxes:,}"
    which = f"box {settled.index + 1:,}{among}"
    return f"Joints: a sampled box that {title_block.percentile} in 100 are better than: {which}."
