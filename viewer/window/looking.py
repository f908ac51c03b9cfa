"""From where the window's box is seen: what turns, moves and enlarges the view, as functions of its state.

aside : how far the point that is seen in the middle of the box's room lies from the one that is seen there at first
plain : straight from above, from the front or from the side, where lengths and right angles are seen as they are
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from viewer.scene.camera import Direction

if TYPE_CHECKING:
    from assembly.arrays import FloatArray
    from viewer.scene.scene import Scene
    from viewer.window.state import State

MOST_UP = 90.0  # degrees
LEAST_ZOOM, MOST_ZOOM = 1 / 3, 20.0
ABOVE, FRONT, SIDE = Direction(round=0.0, up=90.0), Direction(round=0.0, up=0.0), Direction(round=90.0, up=0.0)
HERE = (0.0, 0.0, 0.0)  # mm; the view is not moved


def turned(state: State, round_by: float, up_by: float) -> State:
    """Return the state seen from further round and further up, degrees; never from beyond straight above or below."""
    up = float(np.clip(state.up + up_by, -MOST_UP, MOST_UP))
    return replace(state, round=(state.round + round_by + 180) % 360 - 180, up=up)


def zoomed(state: State, by: float) -> State:
    """Return the state seen `by` times as large, between a third and twenty times what fits."""
    return replace(state, zoom=float(np.clip(state.zoom * by, LEAST_ZOOM, MOST_ZOOM)))


def moved_aside(state: State, by: FloatArray, scene: Scene) -> State:
    """Return the state with the view moved by (3,), mm; never farther than the parts reach when they are apart."""
    aside, most = np.array(state.aside) + by, _across(scene) / 2
    x, y, z = (aside * min(1.0, most / max(float(np.linalg.norm(aside)), 1e-9))).tolist()
    return replace(state, aside=(x, y, z))


def moved_by_share(state: State, right: float, up: float, scene: Scene) -> State:
    """Return the state with the view moved to the right and up, by shares of how much of the box is seen across."""
    axes = Direction(round=state.round, up=state.up).axes
    return moved_aside(state, (right * axes[0] + up * axes[1]) * _across(scene) / state.zoom, scene)


def _across(scene: Scene) -> float:
    """Return the diagonal of the room that a scene's parts take up when they are apart, mm."""
    return float(np.linalg.norm(np.ptp(replace(scene, explode=1.0).corners(), axis=0)))


def seen_from(state: State, direction: Direction) -> State:
    """Return the whole box seen from a side."""
    return replace(state, round=direction.round, up=direction.up, zoom=1.0, aside=HERE)


def seen_as_first(state: State, scene: Scene) -> State:
    """Return the state seen as its scene is seen at first."""
    return seen_from(state, scene.direction)


def seen_like(state: State, other: State) -> State:
    """Return the state seen from where another is seen."""
    return replace(state, round=other.round, up=other.up, zoom=other.zoom, aside=other.aside)
