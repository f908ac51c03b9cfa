"""The window's keys: what each is called, what it does, in words and as a function; and what the mouse does."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from viewer.window.looking import (
    ABOVE,
    FRONT,
    SIDE,
    moved_by_share,
    seen_as_first,
    seen_from,
    turned,
    zoomed,
)
from viewer.window.state import (
    exploded,
    next_pick,
    with_drawn,
    with_marks,
    with_pick,
    with_step,
    with_times,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from viewer.scene.scene import Scene
    from viewer.window.state import State

EXPLODE_STEP = 0.1
TURN_STEP, ZOOM_STEP = 10.0, 1.2  # degrees; times
MOVE_STEP = 0.1  # of what is seen of the box across
WITH_SHIFT = "shift+"  # before the name of an arrow that is pressed with the shift key held

MOUSE = (
    ("drag the box", "turn the view"),
    ("middle button and drag, or shift and drag", "move the box"),
    ("wheel", "nearer, farther off, about the pointer"),
    ("click a part", "pick it; beside all parts: pick nothing"),
    ("click or drag a slider", "set it"),
    ("click a button", "as it says"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of the window: what it is called and what it does, in words."""

    name: str  # as the window system names it
    cap: str  # what is printed on it
    words: str
    press: Callable[[State, Scene], State] | None = None  # None for the key that closes the window


def _key(name: str, words: str, press: Callable[[State, Scene], State], cap: str | None = None) -> Key:
    return Key(name=name, cap=name if cap is None else cap, words=words, press=press)


def _moved(right: int, up: int) -> Callable[[State, Scene], State]:
    """Return what moves the box on the window, by a step to the right and up: the view moves the other way."""
    return lambda state, scene: moved_by_share(state, -MOVE_STEP * right, -MOVE_STEP * up, scene)


KEYS = (
    _key("1", "draw the box at its nominal sizes", lambda state, _: with_drawn(state, "nominal")),
    _key("2", "as made: a sampled box that 95 in 100 are better than", lambda state, _: with_drawn(state, "p95")),
    _key("3", "as made: the limit case of that box's widest joint", lambda state, _: with_drawn(state, "limit")),
    _key(
        "4",
        "as made: the likeliest bad box, of that joint if none was asked for",
        lambda state, _: with_drawn(state, "likeliest"),
    ),
    _key("plus", "errors shown larger", lambda state, _: with_times(state, np.floor(state.times) + 1), "+"),
    _key("minus", "errors shown smaller", lambda state, _: with_times(state, np.ceil(state.times) - 1), "−"),
    _key("e", "take further apart", lambda state, _: exploded(state, state.explode + EXPLODE_STEP)),
    _key("c", "close up", lambda state, _: exploded(state, state.explode - EXPLODE_STEP)),
    _key("n", "next step of the making", lambda state, _: with_step(state, state.step + 1)),
    _key("b", "the step before; from the first, the box", lambda state, _: with_step(state, state.step - 1)),
    _key("0", "the finished box", lambda state, _: with_step(state, 0)),
    _key("f", "marks of the fits on or off", lambda state, _: with_marks(state)),
    _key("Left", "turn the view left", lambda state, _: turned(state, -TURN_STEP, 0), "←"),
    _key("Right", "turn the view right", lambda state, _: turned(state, TURN_STEP, 0), "→"),
    _key("Up", "look from higher up", lambda state, _: turned(state, 0, TURN_STEP), "↑"),
    _key("Down", "look from lower down", lambda state, _: turned(state, 0, -TURN_STEP), "↓"),
    _key(WITH_SHIFT + "Left", "move the box to the left", _moved(-1, 0), "Shift ←"),
    _key(WITH_SHIFT + "Right", "move the box to the right", _moved(1, 0), "Shift →"),
    _key(WITH_SHIFT + "Up", "move the box up", _moved(0, 1), "Shift ↑"),
    _key(WITH_SHIFT + "Down", "move the box down", _moved(0, -1), "Shift ↓"),
    _key("i", "nearer", lambda state, _: zoomed(state, ZOOM_STEP)),
    _key("o", "farther off", lambda state, _: zoomed(state, 1 / ZOOM_STEP)),
    _key("5", "seen from straight above", lambda state, _: seen_from(state, ABOVE)),
    _key("6", "seen from the front", lambda state, _: seen_from(state, FRONT)),
    _key("7", "seen from the right side", lambda state, _: seen_from(state, SIDE)),
    _key("h", "the usual view, as at first", seen_as_first),
    _key("Tab", "pick the next part", lambda state, scene: next_pick(state, scene, 1)),
    _key("p", "pick the part before", lambda state, scene: next_pick(state, scene, -1)),
    _key("Escape", "pick nothing", lambda state, _: with_pick(state, None), "Esc"),
    _key(
        "question",
        "tell keys and mouse, or no longer",
        lambda state, _: replace(state, keys_shown=not state.keys_shown),
        "?",
    ),
    Key(name="q", cap="q", words="close the window"),
)
# Other names of the same keys: on the number pad, and with the shift key held or not.
SAME = {
    "equal": "plus",
    "KP_Add": "plus",
    "KP_Subtract": "minus",
    "underscore": "minus",
    "slash": "question",
    "ISO_Left_Tab": "p",
    **{f"KP_{digit}": str(digit) for digit in range(8)},
}


def named(key: str) -> str:
    """Return the one name of a key: letters small, other keys by `SAME`."""
    return key.lower() if len(key) == 1 else SAME.get(key, key)


def with_shift(key: str, *, held: bool) -> str:
    """Return what a key is called that is pressed with the shift key held or not; it makes others of arrows alone."""
    return WITH_SHIFT + key if held and WITH_SHIFT + key in {known.name for known in KEYS} else key


def pressed(state: State, key: str, scene: Scene) -> State:
    """Return the state after a key; one that means nothing changes nothing."""
    press = next((known.press for known in KEYS if known.name == named(key)), None)
    return state if press is None else press(state, scene)
