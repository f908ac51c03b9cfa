"""One step of the making as a scene: the timber as it lies on the bench, with the lines that the step draws on it.

blank : a wall as it is handed out, longer than it will be

Lengths are millimetres. Timber and lines are those of `assembly.solids.half_made`, places those of
`assembly.solids.bench`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.planning.measures import hole_label
from assembly.solids.bench import placement
from assembly.solids.half_made import is_bent, lines_at, timber_at
from assembly.solids.parts import moved
from viewer.scene.box_scene import extent_of, shown_part, sizes
from viewer.scene.camera import Direction
from viewer.scene.joints import WALL_NAMES
from viewer.scene.overlays import edges_of
from viewer.scene.scene import Scene, ShownHole, ShownMeasure, ShownPart, Strokes
from viewer.scene.step_words import caption_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from assembly.made.gap_classes import GapScale
    from assembly.nominal.fittings import Hole
    from assembly.planning.making import MakingOrder
    from assembly.planning.measures import Measure, Name
    from assembly.planning.steps import Step
    from assembly.solids.parts import PartArrays

_ROUND_A_RIM = 32  # points that stand for a hole's rim
_ROUND, _UP = 24.0, 46.0  # degrees; from here what is up, to the front and to the right is seen


def step_scene(order: MakingOrder, number: int, parts: Sequence[PartArrays], name: str, scale: GapScale) -> Scene:
    """Return the scene of one step.

    Parameters
    ----------
    order : MakingOrder
        How the box is made.
    number : int
        The step, from 1.
    parts : sequence of PartArrays
        The nominal parts.
    name : str
        What the box is called.
    scale : GapScale
        The words for a gap.

    Raises
    ------
    InputError
        If there is no such step.
    """
    if not 1 <= number <= len(order.steps):
        msg = f"step: got {number}, must be from 1 to {len(order.steps)}"
        raise InputError(msg)
    step, extent = order.steps[number - 1], extent_of(parts)
    shown: list[ShownPart] = []
    strokes: list[Strokes] = []
    measures: list[ShownMeasure] = []
    holes: list[ShownHole] = []
    ghosts: list[FloatArray] = []
    for part in (part for part in parts if part.facts.name in step.parts):
        timber, lines = timber_at(order, number, part), lines_at(order, number, part)
        place = placement(step, timber, parts)
        strokes += [
            Strokes(part=len(shown), ends=moved(ends, place), fresh=fresh)
            for ends, fresh in ((lines.earlier, False), (lines.fresh, True))
            if len(ends)
        ]
        measures += _measures(step, part.facts.name, place)
        holes += [_hole(hole, place) for hole in step.drilled if hole.part == part.facts.name]
        ghosts += [moved(edges_of(block), place) for block in step.laid_on if block.part == part.facts.name]
        one = shown_part(timber, extent, 0.0)
        shown.append(_placed(replace(one, sizes=_sizes(order, number, part, one.sizes)), place))
    return Scene(
        name=name,
        shows=f"step {number} of {len(order.steps)}: {step.stage}",
        caption=caption_of(order, step),
        parts=tuple(shown),
        joints=(),
        scale=scale,
        direction=Direction(round=_ROUND, up=_UP),
        explode=0.0,
        strokes=tuple(strokes),
        measures=tuple(measures),
        holes=tuple(holes),
        ghosts=tuple(ghosts),
        plan=step.plan,
    )


def _measures(step: Step, name: str, place: FloatArray) -> list[ShownMeasure]:
    """Return a part's sizes, and the names of the lines on it, where a step has the part."""
    sizes_on = [one for one in step.measures if one.part == name]
    names_on = [one for one in step.names if one.part == name]
    return [
        ShownMeasure(text=one.text, ends=_moved_ends(one, place), away=place[:3, :3] @ one.away) for one in sizes_on
    ] + [ShownMeasure(text=one.text, ends=_moved_ends(one, place), away=None) for one in names_on]


def _hole(hole: Hole, place: FloatArray) -> ShownHole:
    axis, turns = np.array(hole.axis), np.linspace(0, 2 * np.pi, _ROUND_A_RIM, endpoint=False)
    across = np.stack([np.roll(axis, 1), np.roll(axis, 2)])  # axes run along one of the frame's
    rim = hole.centre + hole.diameter / 2 * np.column_stack([np.cos(turns), np.sin(turns)]) @ across
    return ShownHole(text=hole_label(hole), rim=moved(rim, place))


def _moved_ends(one: Measure | Name, place: FloatArray) -> FloatArray:
    return moved(np.array([one.start, one.end]), place)


def _sizes(order: MakingOrder, number: int, part: PartArrays, finished: tuple[str, ...]) -> tuple[str, ...]:
    """Return a part's sizes in a step, `finished` but for blanks: what is marked on one, and how long it is.

    The base is marked, sawn and glued on larger than it will be; until it is flush, its label tells the larger size.
    """
    name, size = part.facts.name, part.facts.size
    if name == "plaque":
        return finished if is_bent(order, number, name) else (f"{sizes(size)}, flat",)
    offs = [step.number for step in order.steps if any(block.part == name for block in step.removed)]
    if name in WALL_NAMES and number < offs[1]:
        blank = np.ptp(timber_at(order, 1, part).vertices, axis=0).max()
        return (f"finished {sizes(size)}", *((f"blank {sizes((blank,))} long",) if number < offs[0] else ()))
    if name != "base":
        return finished
    extra = _extent(timber_at(order, max(number, offs[0]), part)) - _extent(part)
    along = int(np.argmin(np.abs(_extent(part)[:2] - size[0])))
    return (sizes((size[0] + extra[along], size[1] + extra[1 - along], size[2])),)


def _extent(part: PartArrays) -> FloatArray:
    """Return a part's size along each axis of the box, mm."""
    return np.asarray(np.ptp(moved(part.vertices[part.triangles], part.facts.closed), axis=(0, 1)), dtype=np.float64)


def _placed(part: ShownPart, place: FloatArray) -> ShownPart:
    return replace(
        part,
        points=moved(part.points, place),
        edges=moved(part.edges, place),
        grain=moved(part.grain, place),
        away=np.zeros(3),
    )
