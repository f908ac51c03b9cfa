"""The window's state and what changes it, without a screen: what is shown is a record, a change is a function.

explode : 0 closed to 1 taken apart
drawn   : which box is drawn: nominal; as made, a sampled box (`p95`); as made, the limit case (`limit`) or
          the likeliest bad box of the widest joint (`likeliest`)
times   : how many times as large the errors are drawn, where the box is drawn as made
step    : the step of the making that is shown, from 1; 0 shows the box
picked  : the name of the part that was clicked
shown   : which box is still shown while the one that shall be drawn is looked for

A step of the making has neither errors nor marks and is not taken apart: what changes these does nothing there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from assembly.solids.as_made import MOST_TIMES

if TYPE_CHECKING:
    from viewer.scene.scene import Scene

Drawn = Literal["nominal", "p95", "limit", "likeliest"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """What the state may be: how many steps there are, and how many times as large each box's errors can be drawn.

    Below 1 that box can't be drawn as made; None where it is not known yet, as before it is found.
    """

    steps: int
    p95: float
    limit: float | None = None
    likeliest: float | None = None

    def most_times(self, drawn: Drawn) -> float:
        """Return the largest number of times for a box, `MOST_TIMES` where it is not known yet."""
        most = {"limit": self.limit, "likeliest": self.likeliest}.get(drawn, self.p95)
        return MOST_TIMES if most is None else most


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """What the window shows."""

    bounds: Bounds
    explode: float = 1.0
    drawn: Drawn = "nominal"
    times: float = 1.0
    step: int = 0
    marked: bool = True  # the joints' marks
    picked: str | None = None
    shown: Drawn | None = None  # None where it is the one that shall be drawn
    keys_shown: bool = False  # keys and mouse are explained in the panel
    note: str = ""  # why what was asked for can't be shown
    faults: tuple[str, ...] = ()  # why the files on disk can't be shown, a line each
    round: float = 33.0  # degrees; from where the box is seen, as in `viewer.scene.camera.Direction`
    up: float = 32.0
    zoom: float = 1.0  # 1 where everything fits
    aside: tuple[float, float, float] = (0.0, 0.0, 0.0)  # mm; how far the view is moved, as in `viewer.window.looking`

    @property
    def scene_key(self) -> tuple[Drawn, float, int]:
        """What decides which arrays are shown; the rest only moves or hides them."""
        if self.step:
            return "nominal", 1.0, self.step
        return self.drawn, 1.0 if self.drawn == "nominal" else self.times, 0


def exploded(state: State, explode: float) -> State:
    """Return the box at another explosion, brought between 0 and 1."""
    if state.step:
        return state
    return replace(state, explode=float(np.clip(round(explode, 6), 0, 1)))


def with_drawn(state: State, drawn: Drawn) -> State:
    """Return the state with another box drawn; the same where that one can't be drawn, with a note that says so."""
    if drawn != "nominal" and state.bounds.most_times(drawn) < 1:
        return refused(state, _UNDRAWABLE[drawn])
    most = MOST_TIMES if drawn == "nominal" else state.bounds.most_times(drawn)
    return replace(with_step(state, 0), drawn=drawn, times=min(state.times, most), note="")


_UNDRAWABLE = {
    "p95": "This box can't be drawn as made: its faces cross even at true size.",
    "limit": "The limit case can't be drawn as made: its faces cross even at true size.",
    "likeliest": "The likeliest bad box can't be drawn as made: its faces cross even at true size.",
}


def with_times(state: State, times: float) -> State:
    """Return the state with errors drawn `times` as large, brought between 1 and the largest that works; as made."""
    made = with_drawn(state, "p95") if state.drawn == "nominal" and not state.step else state
    if made.drawn == "nominal" or made.step:
        return made
    return replace(made, times=float(np.clip(times, 1, made.bounds.most_times(made.drawn))))


def with_marks(state: State) -> State:
    """Return the box with its joints' marks shown, or hidden where they are shown."""
    return state if state.step else replace(state, marked=not state.marked)


def with_step(state: State, step: int) -> State:
    """Return the state at a step of the making, from 0 (the box) to the last; nothing is picked in another step."""
    step = int(np.clip(step, 0, state.bounds.steps))
    return state if step == state.step else replace(state, step=step, picked=None)


def bounded(state: State, bounds: Bounds) -> State:
    """Return the state within other bounds, such as those known once a box that was looked for is found."""
    within = replace(state, bounds=bounds)
    return within if within.drawn == "nominal" or within.step else with_drawn(within, within.drawn)


def renewed(state: State, bounds: Bounds) -> State:
    """Return the state on a box that was read again: as before, as far as that box can be shown so."""
    within = replace(state, bounds=bounds, note="", shown=None)
    return with_step(within, within.step)


def refused(state: State, note: str) -> State:
    """Return the nominal box, with a note on why what was asked for can't be shown."""
    return replace(with_step(state, 0), drawn="nominal", times=1.0, note=note)


def with_pick(state: State, name: str | None) -> State:
    """Return the state with a part picked, or none."""
    return replace(state, picked=name)


def next_pick(state: State, scene: Scene, by: int) -> State:
    """Return the state with the next part of the scene picked, or the one before; they follow one another in a ring."""
    names = [part.name for part in scene.parts]
    if not names:
        return state
    if state.picked not in names:
        return with_pick(state, names[0 if by > 0 else -1])
    return with_pick(state, names[(names.index(state.picked) + by) % len(names)])
