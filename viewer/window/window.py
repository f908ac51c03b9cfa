"""The window on a box: PyVista shows what `viewer.window.state` says; it remembers nothing and writes nothing.

Every part is one actor that is moved when the box is taken apart. A click sends a ray through the parts where they now
stand. Words and controls are pictures laid over the window (`viewer.window.panel`, `viewer.window.controls`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

import numpy as np
import pyvista as pv

from assembly.errors import LapwrightError
from viewer.picture.dimensions import MEASURED
from viewer.picture.meshes_and_lights import aim, light
from viewer.scene.camera import Direction, View, fitted
from viewer.scene.visibility import part_under
from viewer.window.actors import SceneActors
from viewer.window.controls import Button, Slider, bar, bar_picture, slid
from viewer.window.keys import named, pressed
from viewer.window.laid import Plate
from viewer.window.looking import moved_aside, seen_as_first, seen_like, turned, zoomed
from viewer.window.panel import banner_of, laid, panel, spread
from viewer.window.state import bounded, refused, renewed, with_pick
from viewer.window.tags import side_of
from viewer.window.words import panel_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from assembly.arrays import FloatArray
    from viewer.scene.scene import Scene
    from viewer.window.controls import Bar
    from viewer.window.panel import Laid
    from viewer.window.state import Bounds, State

_STILL = 4  # pixels; a mouse that moves less between press and release has clicked
_DEGREES = 0.4  # turned for every pixel dragged
_MARGIN = 0.06  # of the room for the box, left free
_MOST_SIDE = 0.3  # of the room's width, at most, for names beside what lies on the bench
_LEAST = (160, 120)  # pixels; a smaller window is left as it is
_READING = "working: reading the changed file"
_WORKING = "working: building the box with these errors"


class SceneSource(Protocol):
    """What a window is opened on."""

    @property
    def materials(self) -> Mapping[str, str]:
        """The material of every part, by name."""

    def bounds(self) -> Bounds:
        """Return what the state may be, as far as it is known by now."""

    def ready(self, state: State) -> bool:
        """Whether a state's scene is there at once."""

    def scene(self, state: State) -> Scene | str:
        """Return a state's scene; or in words what is being worked out before it can be had."""

    def changed(self) -> bool:
        """Whether the files on disk are others than those that were read."""

    def reload(self) -> tuple[str, ...]:
        """Read the files again; return their faults, a line each, with which the last good box is kept."""


@dataclass(slots=True)
class Press:
    """Where the mouse was pressed and where it was seen last, pixels; and the control that was pressed."""

    start: tuple[int, int]
    last: tuple[int, int]
    control: Button | Slider | None
    moves: bool  # whether a drag moves the view, and does not turn it


class Window:
    """A plotter that shows states."""

    def __init__(
        self, state: State, source: SceneSource, size: tuple[int, int] = (1280, 860), *, off_screen: bool = False
    ) -> None:
        """Open a window of a size, pixels, on a state; `off_screen` draws it without showing it."""
        self.source = source
        self._press: Press | None = None
        self.plotter = pv.Plotter(off_screen=off_screen, window_size=list(size), lighting="none", title="lapwright")
        self.plotter.renderer.set_background("white")
        assert self.plotter.ren_win is not None
        self.plotter.ren_win.SetMultiSamples(0)  # several samples a pixel leave out what is translucent
        found = source.scene(state)
        assert not isinstance(found, str)  # the first state is the nominal box
        self.state, self.scene, self.working = seen_as_first(state, found), found, ""
        self._shown_key, self._side = state.scene_key, 0.0
        self.stage = SceneActors(self.plotter, found)
        self._panel, self._bar, self._banner = (Plate(self.plotter) for _ in range(3))
        self._drawn: tuple[Laid | Bar | str | None, ...] = (None, None, None)
        self._show()

    # what happens

    def show(self, state: State) -> None:
        """Show another state, within what is known by now of what can be shown."""
        self.state = bounded(state, self.source.bounds())
        if not (self._press and self._press.control):  # while a slider is dragged, nothing is built
            self._change()
        self._show()

    def _change(self) -> None:
        """Bring up the scene that the state asks for; the nominal box, with a note, where that can't be had."""
        self.working, self.state = "", replace(self.state, shown=None)
        if self.state.scene_key == self._shown_key:
            return
        try:
            found = self._asked()
        except LapwrightError as error:
            self.state = refused(self.state, str(error))
            self._change()
            return
        if isinstance(found, str):
            self._wait(found)
        else:
            self._bring(found, self.state)

    def _wait(self, words: str) -> None:
        """Go on showing a box while another is looked for, the nominal one where a step was shown; say in words why."""
        self.working = words
        if self._shown_key[2]:
            nominal = replace(self.state, drawn="nominal")
            found = self.source.scene(nominal)
            assert not isinstance(found, str)  # the nominal box need not be looked for
            self._bring(found, nominal)
        self.state = replace(self.state, shown=self._shown_key[0])

    def _bring(self, found: Scene, asked: State) -> None:
        """Put the scene of a state that was asked for in the place of the one that is shown."""
        if bool(asked.step) != bool(self._shown_key[2]):
            self.state = seen_as_first(self.state, found)
        self.stage.clear()
        self.scene, self.stage, self._shown_key = found, SceneActors(self.plotter, found), asked.scene_key

    def _asked(self) -> Scene | str:
        """Return the scene that the state asks for; where it has to be built first, say so before."""
        if not self.source.ready(self.state):
            self.working = _WORKING
            self._show()
            self.working = ""
        return self.source.scene(self.state)

    def tick(self) -> None:
        """Look whether files have changed, and what is being worked out is there by now, whichever box is shown."""
        if self.source.changed():
            self._reload()
        elif self.working or self.source.bounds() != self.state.bounds:
            self.show(self.state)

    def _reload(self) -> None:
        """Show the box that the changed files have; where they have faults, go on with the last good one and say so."""
        self.working = _READING
        self._show()
        self.working = ""
        before = replace(self.state, faults=self.source.reload())
        if before.faults:
            self.show(before)
            return
        after = renewed(before, self.source.bounds())
        nominal = replace(after, drawn="nominal", step=0)
        found = self.source.scene(nominal)
        assert not isinstance(found, str)  # the nominal box need not be looked for
        self._bring(found, nominal)
        self.show(after)
        if bool(self.state.step) == bool(before.step):  # a step is seen from elsewhere than the box
            self.show(seen_like(self.state, before))

    def key(self, name: str) -> None:
        """Do what a key does; `q` closes the window."""
        if named(name) == "q":
            self._press = None
            if self.plotter.iren is not None:
                self.plotter.iren.terminate_app()  # type: ignore[no-untyped-call]
            return
        self.show(pressed(self.state, name, self.scene))

    def press(self, x: int, y: int, *, moves: bool = False) -> None:
        """Begin a click, a drag of the view or of a slider; one that `moves` the view does nothing else."""
        control = None if moves else bar(self.state, self.size).at(x, y)
        self._press = Press(start=(x, y), last=(x, y), control=control, moves=moves)
        if isinstance(self._press.control, Slider):
            self.move(x, y)

    def move(self, x: int, y: int) -> None:
        """Follow the mouse."""
        if self._press is None or isinstance(self._press.control, Button):
            return
        (start_x, start_y), (last_x, last_y) = self._press.start, self._press.last
        if isinstance(self._press.control, Slider):
            name = self._press.control.name
            self.show(slid(self.state, name, bar(self.state, self.size).slider(name).share_at(x)))
        elif self._in_room(*self._press.start) and max(abs(x - start_x), abs(y - start_y)) > _STILL:
            self._press.last = (x, y)
            self.show(self._dragged(x - last_x, y - last_y))

    def _dragged(self, right: int, down: int) -> State:
        """Return the state after the mouse was dragged by so many pixels: what is seen goes with it, or turns."""
        if not (self._press and self._press.moves):
            return turned(self.state, -_DEGREES * right, _DEGREES * down)
        view = self.view()
        axes = view.direction.axes
        return moved_aside(self.state, (down * axes[1] - right * axes[0]) / view.scale, self.scene)

    def release(self, x: int, y: int) -> None:
        """End a drag, press a button, or pick what was clicked."""
        press, self._press = self._press, None
        if press is None:
            return
        if isinstance(press.control, Slider):
            self.show(self.state)
        elif isinstance(press.control, Button):
            if bar(self.state, self.size).at(x, y) == press.control and press.control.usable:
                self.key(press.control.key)
        elif press.last == press.start and self._in_room(x, y) and not press.moves:
            self.show(with_pick(self.state, self.part_under(x, y)))

    def wheel(self, by: float, x: float, y: float) -> None:
        """See everything `by` times as large, about a place of the box's room; beside it, about its middle."""
        larger, view = zoomed(self.state, by), self.view()
        if self._in_room(x, y):
            (right, up, _), (left, down) = view.direction.axes, np.array([x, y]) - self._box_room().mean(axis=0)
            kept = (left * right - down * up) / view.scale * (1 - self.state.zoom / larger.zoom)
            larger = moved_aside(larger, kept, self.scene)
        self.show(larger)

    def part_under(self, x: float, y: float) -> str | None:
        """Return the name of the part that is seen at a pixel, or None."""
        return part_under(self.scene, self._apart, self.view(), (x, y))

    # what is seen

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the window, pixels."""
        width, height = self.plotter.window_size
        return int(width), int(height)

    @property
    def _apart(self) -> float:
        """How far the parts of the shown scene stand apart: those on the bench do not."""
        return 0.0 if self._shown_key[2] else self.state.explode

    @property
    def _tagged(self) -> bool:
        """Whether tags are shown: those of joints with their marks, those of walls in every step."""
        return not self.state.keys_shown and (self.state.marked or bool(self._shown_key[2]))

    def _words(self) -> Laid:
        paragraphs, bottom = panel_words(self.state, self.scene, self.source.materials), bar(self.state, self.size).top
        if self.state.keys_shown:
            return spread(paragraphs, self.size, bottom)
        marked = self.scene.joints and self.state.marked
        return laid(paragraphs, self.scene.scale.classes if marked else (), self.size, bottom)

    @property
    def em(self) -> int:
        """The size of the letters, pixels."""
        return self._words().em

    def room(self) -> tuple[float, float, float, float]:
        """Return what of the window is for the box: left, top, right, bottom; pixels."""
        words, bottom = self._words(), bar(self.state, self.size).top
        if self.state.keys_shown:
            return (0.0, 0.0, self.size[0], bottom)
        beside = words.size[0] < self.size[0]
        return (words.size[0] if beside else 0.0, 0.0 if beside else words.size[1], self.size[0], bottom)

    def _in_room(self, x: float, y: float) -> bool:
        left, top, right, bottom = self.room()
        return not self.state.keys_shown and left < x < right and top <= y < bottom

    def _box_room(self) -> FloatArray:
        """Return the room that the whole box fits into, clear of names beside it: its corners, (2, 2) pixels."""
        left, top, end, bottom = self.room()
        left += min(side_of(self.scene, self.em), _MOST_SIDE * (end - left))
        sized = MEASURED * self.em if self.scene.measures or self.scene.holes else 0.0
        edge = _MARGIN * min(end - left, bottom - top) + sized
        return np.array([[left + edge, top + edge], [end - edge, bottom - edge]])

    def view(self) -> View:
        """Return the view: what is seen at which pixel of the window; it zooms about the middle of the room."""
        placed, room = replace(self.scene, explode=self._apart), self._box_room()
        corners, direction = placed.corners(), Direction(round=self.state.round, up=self.state.up)
        seen = fitted(corners, direction, self.size, room)
        (right, up, _), scale = direction.axes, seen.scale * self.state.zoom
        off = (room.mean(axis=0) - np.array(self.size) / 2) * (1 / seen.scale - 1 / scale)
        middle = seen.focus + off[0] * right - off[1] * up
        return replace(seen, scale=scale, focus=middle + np.array(self.state.aside))

    def _show(self) -> None:
        """Put parts, camera, tags, words and controls where the state has them, and draw."""
        if self.size[0] < _LEAST[0] or self.size[1] < _LEAST[1]:
            return
        view = self.view()
        self.stage.place(self._apart)
        self.stage.show(self.state.picked, marked=self.state.marked)
        self.stage.tag(view, self._apart, self.em, self.room(), marked=self._tagged)
        self._look(view)
        self._draw_plates()
        self.plotter.render()

    def _look(self, view: View) -> None:
        aim(self.plotter, view)
        side = 1.0 if view.direction.round > 0 else -1.0
        if side != self._side:
            self._side = side
            self.plotter.remove_all_lights()
            light(self.plotter, side)
        self.plotter.reset_camera_clipping_range()

    def _draw_plates(self) -> None:
        """Lay words, controls and the word on what is being worked out over the window; draw anew what has changed."""
        words, controls = self._words(), bar(self.state, self.size)
        was_words, was_controls, was_working = self._drawn
        if words != was_words:
            self._panel.draw(panel(words))
        if controls != was_controls:
            self._bar.draw(bar_picture(controls))
        self._panel.lay(words.size, (0, self.size[1] - words.size[1]))
        self._bar.lay(controls.size)
        self._draw_banner(changed=self.working != was_working)
        self._drawn = (words, controls, self.working)

    def _draw_banner(self, *, changed: bool) -> None:
        if not self.working:
            self._banner.hide()
            return
        left, top, right, _ = self.room()
        picture = banner_of(self.working, self.em, right - left)
        if changed:
            self._banner.draw(picture)
        self._banner.lay(picture.size, (max(left, right - picture.size[0]), self.size[1] - top - picture.size[1]))
