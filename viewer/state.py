"""The window's state and all that changes it, without a screen: what is shown is a record, a key is a function.

explode : 0 closed to 1 taken apart
times   : how many times as large the errors are drawn, where the box is shown as made
step    : the step of the making that is shown, from 1; 0 shows the box
picked  : the name of the part that was clicked
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from viewer.joints import WALL_NAMES

if TYPE_CHECKING:
    from collections.abc import Callable

    from viewer.scene import Scene
    from viewer.tints import FloatArray

EXPLODE_STEP = 0.1
TURN_STEP, ZOOM_STEP = 10.0, 1.2  # degrees; times
MOST_UP = 89.0  # degrees


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """What the state may be: how many steps there are, and up to how many times errors can be drawn."""

    steps: int
    most_times: float  # below 1 the box can't be drawn as made


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """What the window shows."""

    bounds: Bounds
    explode: float = 1.0
    made: bool = False
    times: float = 1.0
    step: int = 0
    marked: bool = True  # the joints' marks
    picked: str | None = None
    told: bool = False  # the keys are told
    round: float = 33.0  # degrees; from where the box is seen, as in `viewer.view.Direction`
    up: float = 32.0
    zoom: float = 1.0  # 1 where everything fits

    @property
    def scene_key(self) -> tuple[bool, float, int]:
        """What decides which arrays are shown; the rest only moves or hides them."""
        return (False, 1.0, self.step) if self.step else (self.made, self.times if self.made else 1.0, 0)


def exploded(state: State, explode: float) -> State:
    """Return the state at another explosion, brought between 0 and 1."""
    return replace(state, explode=float(np.clip(round(explode, 6), 0, 1)))


def made_or_nominal(state: State) -> State:
    """Return the state with nominal and as made exchanged; nominal stays where the box can't be drawn as made."""
    return replace(state, made=not state.made and state.bounds.most_times >= 1, step=0)


def with_times(state: State, times: float) -> State:
    """Return the state with errors drawn `times` as large, brought between 1 and the largest that works; as made."""
    if state.bounds.most_times < 1:
        return state
    return replace(state, times=float(np.clip(times, 1, state.bounds.most_times)), made=True, step=0)


def with_step(state: State, step: int) -> State:
    """Return the state at a step of the making, from 0 (the box) to the last; nothing is picked in another step."""
    step = int(np.clip(step, 0, state.bounds.steps))
    return state if step == state.step else replace(state, step=step, picked=None)


def with_pick(state: State, name: str | None) -> State:
    """Return the state with a part picked, or none."""
    return replace(state, picked=name)


def turned(state: State, round_by: float, up_by: float) -> State:
    """Return the state seen from further round and further up, degrees; never from beyond straight above or below."""
    up = float(np.clip(state.up + up_by, -MOST_UP, MOST_UP))
    return replace(state, round=(state.round + round_by + 180) % 360 - 180, up=up)


def zoomed(state: State, by: float) -> State:
    """Return the state seen `by` times as large, between a third and twenty times what fits."""
    return replace(state, zoom=float(np.clip(state.zoom * by, 1 / 3, 20)))


def seen_as_first(state: State, scene: Scene) -> State:
    """Return the state seen as its scene is seen at first."""
    return replace(state, round=scene.direction.round, up=scene.direction.up, zoom=1.0)


def next_pick(state: State, scene: Scene, by: int) -> State:
    """Return the state with the next part of the scene picked, or the one before; they follow one another in a ring."""
    names = [part.name for part in scene.parts]
    if state.picked not in names:
        return with_pick(state, names[0 if by > 0 else -1])
    return with_pick(state, names[(names.index(state.picked) + by) % len(names)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of the window: what it is called and what it does, in words."""

    name: str  # as the window system names it
    cap: str  # what is printed on it
    words: str
    press: Callable[[State, Scene], State] | None = None  # None for the key that closes the window


KEYS = (
    Key(name="Left", cap="←", words="turn the view left", press=lambda state, _: turned(state, -TURN_STEP, 0)),
    Key(name="Right", cap="→", words="turn the view right", press=lambda state, _: turned(state, TURN_STEP, 0)),
    Key(name="Up", cap="↑", words="look from higher up", press=lambda state, _: turned(state, 0, TURN_STEP)),
    Key(name="Down", cap="↓", words="look from lower down", press=lambda state, _: turned(state, 0, -TURN_STEP)),
    Key(name="i", cap="i", words="nearer", press=lambda state, _: zoomed(state, ZOOM_STEP)),
    Key(name="o", cap="o", words="farther off", press=lambda state, _: zoomed(state, 1 / ZOOM_STEP)),
    Key(name="h", cap="h", words="the view as at first", press=seen_as_first),
    Key(
        name="e",
        cap="e",
        words="take further apart",
        press=lambda state, _: exploded(state, state.explode + EXPLODE_STEP),
    ),
    Key(name="c", cap="c", words="close up", press=lambda state, _: exploded(state, state.explode - EXPLODE_STEP)),
    Key(name="m", cap="m", words="nominal or as made", press=lambda state, _: made_or_nominal(state)),
    Key(
        name="plus",
        cap="+",
        words="errors shown larger",
        press=lambda state, _: with_times(state, np.floor(state.times) + 1),
    ),
    Key(
        name="minus",
        cap="−",
        words="errors shown smaller",
        press=lambda state, _: with_times(state, np.ceil(state.times) - 1),
    ),
    Key(
        name="f",
        cap="f",
        words="marks of the fits on or off",
        press=lambda state, _: replace(state, marked=not state.marked),
    ),
    Key(name="n", cap="n", words="next step of the making", press=lambda state, _: with_step(state, state.step + 1)),
    Key(
        name="b",
        cap="b",
        words="the step before; from the first, the box",
        press=lambda state, _: with_step(state, state.step - 1),
    ),
    Key(name="0", cap="0", words="the finished box", press=lambda state, _: with_step(state, 0)),
    Key(name="Tab", cap="Tab", words="pick the next part", press=lambda state, scene: next_pick(state, scene, 1)),
    Key(name="p", cap="p", words="pick the part before", press=lambda state, scene: next_pick(state, scene, -1)),
    Key(name="Escape", cap="Esc", words="pick nothing", press=lambda state, _: with_pick(state, None)),
    Key(
        name="question",
        cap="?",
        words="tell the keys, or no longer",
        press=lambda state, _: replace(state, told=not state.told),
    ),
    Key(name="q", cap="q", words="close the window"),
)
SAME = {"equal": "plus", "KP_Add": "plus", "KP_Subtract": "minus", "underscore": "minus", "slash": "question"}


def pressed(state: State, key: str, scene: Scene) -> State:
    """Return the state after a key; one that means nothing changes nothing."""
    name = SAME.get(key, key)
    press = next((known.press for known in KEYS if known.name == name), None)
    return state if press is None else press(state, scene)


def part_at(scene: Scene, explode: float, eye: FloatArray, towards: FloatArray) -> str | None:
    """Return the name of the first part that a ray meets where the parts now stand, or None.

    Parameters
    ----------
    scene : Scene
        What is shown.
    explode : float
        How far the parts stand apart.
    eye, towards : (3,) float
        Where the ray starts, mm, and its direction, of any length.

    Notes
    -----
    Source: Möller and Trumbore, Fast, Minimum Storage Ray/Triangle Intersection, Journal of Graphics Tools 2 (1997).
    """
    best, found = np.inf, None
    for part in scene.parts:
        corners = (part.points + explode * part.away)[part.triangles]
        distance = _distance(corners, eye, towards)
        if distance < best:
            best, found = distance, part.name
    return found


def _distance(corners: FloatArray, eye: FloatArray, towards: FloatArray) -> float:
    """Return how far along a ray the first of some triangles, (m, 3, 3), is met; infinity if none is."""
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    across = np.cross(towards, two)
    det = (one * across).sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        off = eye - corners[:, 0]
        u = (off * across).sum(axis=1) / det
        turned = np.cross(off, one)
        v = (turned @ towards) / det
        along = (turned * two).sum(axis=1) / det
        met = (u >= 0) & (v >= 0) & (u + v <= 1) & (along > 0)
    return float(along[met].min()) if met.any() else float("inf")


def heading(state: State, scene: Scene) -> tuple[str, ...]:
    """Return what the window says of what it shows, a paragraph each; the first is the title."""
    if state.step:
        return (scene.title, *scene.caption)
    apart = "put together" if state.explode == 0 else "taken apart" if state.explode == 1 else "partly taken apart"
    return (f"{scene.title.split(',')[0]}, {apart}", *scene.caption, *_refused(state))


def _refused(state: State) -> tuple[str, ...]:
    """Say how large errors may be drawn, where more was asked for or none can be."""
    most = state.bounds.most_times
    if most < 1:
        return ("This box can't be drawn as made: its faces cross even at true size.",)
    return (f"At {most:g} times the faces are about to cross: no more can be shown.",) * (
        state.made and state.times == most
    )


def part_words(name: str, scene: Scene, materials: dict[str, str]) -> tuple[str, ...]:
    """Return what is told of a picked part: name, size, timber, and what it joins with how each joint fits."""
    part = next(part for part in scene.parts if part.name == name)
    index = scene.parts.index(part)
    lines = [part.title, f"{part.words}; {materials[name]}"]
    for joint in scene.joints:
        ends = [patch.part for patch in joint.patches]
        if index in ends:
            mate = scene.parts[next(other for other in ends if other != index)].name
            lines.append(f"joins the {mate}, {joint.name}: {joint.words}")
    if name not in WALL_NAMES:
        lines.append(_JOINS[name.rstrip(" 12")])
    return tuple(lines)


# What parts without a lap are joined to, by name without a number.
_JOINS = {
    "base": "glued under the four walls",
    "lid": "joined to the left and right walls by two screws",
    "plaque": "joined to the lid by two screws",
    "left lid screw": "joins the lid to the left wall",
    "right lid screw": "joins the lid to the right wall",
    "plaque screw": "joins the plaque to the lid",
    "stem": "stands in the lid's centre hole, through the plaque",
}
