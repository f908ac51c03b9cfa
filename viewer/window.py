"""The window on a box: PyVista shows what `viewer.state` says; it remembers nothing and writes nothing.

Every part is one actor that is moved when the box is taken apart. A click sends a ray through the parts where they now
stand. The panel on the left is a picture (`viewer.panel`); what is dragged on it is worked out here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pyvista as pv
from vtkmodules.vtkInteractionStyle import vtkInteractorStyleUser
from vtkmodules.vtkRenderingCore import vtkPolyDataMapper2D, vtkTexturedActor2D

from viewer import tints
from viewer.drawing import areas, lines_of, surface_of
from viewer.lettering import em_of
from viewer.panel import SHARE, apart, panel, tag_of, track
from viewer.state import State, exploded, part_at, pressed, seen_as_first, turned, with_pick, zoomed
from viewer.view import Direction, View, fitted

if TYPE_CHECKING:
    from collections.abc import Callable

    from PIL import Image

    from viewer.joints import Joint
    from viewer.scene import Scene, ShownPart
    from viewer.tints import FloatArray, Tint

_STILL = 4  # pixels; a mouse that moves less between press and release has clicked
_DEGREES = 0.4  # turned for every pixel dragged
_OUTLINE, _EDGE, _GRAIN, _FRESH = 5.0, 1.6, 1.0, 3.0  # widths of lines, pixels
_MARGIN = 0.06  # of the room for the box, left free


@dataclass(slots=True)
class Press:
    """Where the mouse was pressed and where it was seen last; pixels from the window's upper left corner."""

    start: tuple[int, int]
    last: tuple[int, int]
    on_slider: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """The words over a joint's mark."""

    joint: Joint
    picture: Image.Image
    actor: vtkTexturedActor2D


class Window:
    """A plotter that shows states; `scene_of` builds the arrays that a state asks for."""

    def __init__(
        self,
        state: State,
        scene_of: Callable[[State], Scene],
        materials: dict[str, str],
        size: tuple[int, int] = (1400, 1000),
        *,
        off_screen: bool = False,
    ) -> None:
        """Open a window of a size, pixels, on a state; `off_screen` draws it without showing it."""
        self._scene_of, self._materials = scene_of, materials
        self._press: Press | None = None
        self._scenes: dict[tuple[bool, float, int], Scene] = {}
        self.actors: list[list[Any]] = []  # the actors that move with each part
        self._tags: list[Tag] = []
        self.plotter = pv.Plotter(off_screen=off_screen, window_size=list(size), lighting="none", title="lapwright")
        self.plotter.renderer.set_background("white")
        assert self.plotter.ren_win is not None
        self.plotter.ren_win.SetMultiSamples(0)  # several samples a pixel leave out what is translucent
        self.plotter.renderer.enable_depth_peeling(4)  # type: ignore[no-untyped-call]
        self._panel = vtkTexturedActor2D()
        self.plotter.renderer.AddViewProp(self._panel)
        self.state, self.scene = state, self._scene(state)
        self.state = seen_as_first(state, self.scene)
        self._build()
        self._move()

    # what happens

    def show(self, state: State) -> None:
        """Show another state."""
        before, self.state = self.state, state
        if state.scene_key != before.scene_key:
            self.scene = self._scene(state)
            if bool(state.step) != bool(before.step):
                self.state = seen_as_first(state, self.scene)
            self._build()
        elif state.marked != before.marked or state.picked != before.picked:
            self._build()
        self._move()

    def key(self, name: str) -> None:
        """Do what a key does; `q` closes the window."""
        if name == "q":
            self._press = None
            if self.plotter.iren is not None:
                self.plotter.iren.terminate_app()  # type: ignore[no-untyped-call]
            return
        self.show(pressed(self.state, name, self.scene))

    def press(self, x: int, y: int) -> None:
        """Begin a click, a drag of the view or of the slider."""
        on_slider = not self.state.step and track(self._panel_size).holds(x, y)
        self._press = Press(start=(x, y), last=(x, y), on_slider=on_slider)
        if on_slider:
            self.move(x, y)

    def move(self, x: int, y: int) -> None:
        """Follow the mouse."""
        if self._press is None:
            return
        (start_x, start_y), (last_x, last_y) = self._press.start, self._press.last
        if self._press.on_slider:
            self.show(exploded(self.state, track(self._panel_size).explode_at(x)))
        elif max(abs(x - start_x), abs(y - start_y)) > _STILL:
            self._press.last = (x, y)
            self.show(turned(self.state, -_DEGREES * (x - last_x), _DEGREES * (y - last_y)))

    def release(self, x: int, y: int) -> None:
        """End a drag, or pick what was clicked."""
        press, self._press = self._press, None
        if press is None or press.on_slider or press.last != press.start:
            return
        if x > self._panel_size[0] and max(abs(x - press.start[0]), abs(y - press.start[1])) <= _STILL:
            self.show(with_pick(self.state, self.part_under(x, y)))

    def wheel(self, by: float) -> None:
        """See everything `by` times as large."""
        self.show(zoomed(self.state, by))

    def part_under(self, x: float, y: float) -> str | None:
        """Return the name of the part that is seen at a pixel, or None."""
        view = self.view()
        right, up, towards = view.direction.axes
        width, height = view.size
        place = view.focus + (x - width / 2) / view.scale * right + (height / 2 - y) / view.scale * up
        eye = place + 10 * max(view.size) / view.scale * towards
        return part_at(self.scene, self.state.explode, eye, -towards)

    # what is seen

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the window, pixels."""
        width, height = self.plotter.window_size
        return int(width), int(height)

    @property
    def _panel_size(self) -> tuple[int, int]:
        return round(SHARE * self.size[0]), self.size[1]

    def view(self) -> View:
        """Return the view: what is seen at which pixel of the window."""
        placed = replace(self.scene, explode=0.0 if self.state.step else self.state.explode)
        (width, height), left = self.size, self._panel_size[0]
        edge = _MARGIN * min(width - left, height)
        room = np.array([[left + edge, edge], [width - edge, height - edge]])
        corners, direction = placed.corners(), Direction(round=self.state.round, up=self.state.up)
        seen = fitted(corners, direction, self.size, room)
        middle, scale = (corners.min(axis=0) + corners.max(axis=0)) / 2, seen.scale * self.state.zoom
        off = (room.mean(axis=0) - np.array(self.size) / 2) / scale
        right, up, _ = direction.axes
        return replace(seen, scale=scale, focus=middle - off[0] * right + off[1] * up)

    def _scene(self, state: State) -> Scene:
        if state.scene_key not in self._scenes:
            self._scenes[state.scene_key] = self._scene_of(state)
        return self._scenes[state.scene_key]

    def _build(self) -> None:
        """Make the actors of the scene anew."""
        for actor in (*(actor for actors in self.actors for actor in actors), *(tag.actor for tag in self._tags)):
            self.plotter.renderer.RemoveViewProp(actor)
        self._tags = []
        self.actors = [self._part(part) for part in self.scene.parts]
        for strokes in self.scene.strokes:
            width, colour = (_FRESH, tints.INK) if strokes.fresh else (_EDGE, tints.QUIET)
            self.actors[strokes.part].append(self._line(strokes.ends, colour, width, -6))
        if self.state.marked:
            self._mark()

    def _part(self, part: ShownPart) -> list[Any]:
        body = self.plotter.add_mesh(
            surface_of(part.points, part.triangles),
            color=part.colour,
            opacity=part.opacity,
            ambient=tints.AMBIENT,
            diffuse=1.0,
            specular=0.0,
            reset_camera=False,
            render=False,
        )
        _nearer(body, 1)
        red, green, blue = (tints.GRAIN_SHADE * share for share in part.colour)
        picked = part.name == self.state.picked
        colour, width = (tints.INK, _OUTLINE) if picked else (tints.EDGE, _EDGE)
        lines = [self._line(part.edges, colour, width, -4)]
        return [body, *lines, *([self._line(part.grain, (red, green, blue), _GRAIN, -1)] if len(part.grain) else [])]

    def _line(self, ends: FloatArray, colour: Tint, width: float, nearer: float) -> Any:  # noqa: ANN401 - an actor
        actor = self.plotter.add_mesh(
            lines_of(ends), color=colour, line_width=width, lighting=False, reset_camera=False, render=False
        )
        _nearer(actor, nearer)
        return actor

    def _mark(self) -> None:
        """Lay the joints' marks on their faces, and tell the widest of each corner that is too wide for glue."""
        for joint in self.scene.joints:
            for patch in joint.patches:
                for points, nearer, colour in ((patch.ground, -2, joint.fit.ground), (patch.ink, -3, tints.INK)):
                    actor = self.plotter.add_mesh(
                        areas(points), color=colour, lighting=False, reset_camera=False, render=False
                    )
                    _nearer(actor, nearer)
                    self.actors[patch.part].append(actor)
        corners = {joint.corner for joint in self.scene.joints}
        for corner in sorted(corners):
            widest = max((j for j in self.scene.joints if j.corner == corner), key=lambda j: j.gap)
            if widest.gap > self.scene.glue_limit:
                self._tags.append(
                    Tag(joint=widest, picture=tag_of(widest, em_of(self.size[1])), actor=vtkTexturedActor2D())
                )
                self.plotter.renderer.AddViewProp(self._tags[-1].actor)

    def _move(self) -> None:
        """Put parts, camera and panel where the state has them, and draw."""
        explode = 0.0 if self.state.step else self.state.explode
        for part, actors in zip(self.scene.parts, self.actors, strict=True):
            for actor in actors:
                actor.SetPosition(*(explode * part.away))
        self._look()
        self._set_tags(explode)
        self._draw_panel()
        self.plotter.render()

    def _look(self) -> None:
        view = self.view()
        _, up, towards = view.direction.axes
        camera = self.plotter.camera
        camera.parallel_projection = True
        camera.focal_point = tuple(view.focus)
        camera.position = tuple(view.focus + towards * 10 * max(view.size) / view.scale)
        camera.up = tuple(up)
        camera.parallel_scale = view.size[1] / 2 / view.scale
        self.plotter.remove_all_lights()
        for way, strength in tints.lights(view.direction.round):
            light = pv.Light(position=tuple(way), focal_point=(0, 0, 0), light_type="scene light", intensity=strength)
            light.positional = False
            self.plotter.add_light(light)
        self.plotter.reset_camera_clipping_range()

    def _set_tags(self, explode: float) -> None:
        """Lay every tag over the upper end of its joint's mark, inside the window and clear of the others."""
        view, (width, height), left = self.view(), self.size, self._panel_size[0]
        sizes = [one.picture.size for one in self._tags]
        wanted = []
        for one, (wide, high) in zip(self._tags, sizes, strict=True):
            patch = one.joint.patches[0]
            top = patch.face[np.argmax(patch.face[:, 2])] + explode * self.scene.parts[patch.part].away
            x, y = view.pixels(top)
            wanted.append((x - wide / 2, y - 1.4 * high))
        for one, (x, y) in zip(self._tags, apart(wanted, sizes, (left, 0, width, height)), strict=True):
            one.actor.SetTexture(_texture(one.picture))
            one.actor.SetMapper(_rectangle(one.picture.size, (x, height - y - one.picture.size[1])))

    def _draw_panel(self) -> None:
        size = self._panel_size
        self._panel.SetTexture(_texture(panel(self.state, self.scene, self._materials, size)))
        self._panel.SetMapper(_rectangle(size))


def _nearer(actor: Any, units: float) -> None:  # noqa: ANN401 - an actor
    """Let what lies on a face win over it: fewer units are nearer to the viewer."""
    mapper = actor.mapper
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(0 if units < 1 else 1, 2 * units)
    mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0, 2 * units)


def _texture(picture: Image.Image) -> pv.Texture:
    return pv.Texture(np.asarray(picture))  # type: ignore[no-untyped-call]


def _rectangle(size: tuple[int, int], place: tuple[float, float] = (0.0, 0.0)) -> vtkPolyDataMapper2D:
    """Return a rectangle over which a texture is laid; `place` is its lower left corner in the window, y up, pixels."""
    (width, height), (x, y) = size, (round(place[0]), round(place[1]))
    corners = np.array([[x, y, 0.0], [x + width, y, 0], [x + width, y + height, 0], [x, y + height, 0]])
    mesh = pv.PolyData(corners, faces=[4, 0, 1, 2, 3])
    mesh.active_texture_coordinates = np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]])
    mapper = vtkPolyDataMapper2D()
    mapper.SetInputData(mesh)
    return mapper


def run(window: Window) -> None:
    """Let a window be used until it is closed."""
    plotter = window.plotter
    plotter.show(interactive=False, auto_close=False)
    assert plotter.iren is not None
    interactor: Any = plotter.iren.interactor
    plotter.iren.clear_key_event_callbacks()  # type: ignore[no-untyped-call]
    style: Any = vtkInteractorStyleUser()
    style.AddObserver("CharEvent", lambda *_: None)  # its own keys would close the window or change the drawing
    interactor.SetInteractorStyle(style)

    def at() -> tuple[int, int]:
        x, y = interactor.GetEventPosition()
        return x, window.size[1] - 1 - y

    interactor.AddObserver("KeyPressEvent", lambda *_: window.key(interactor.GetKeySym()))
    interactor.AddObserver("LeftButtonPressEvent", lambda *_: window.press(*at()))
    interactor.AddObserver("MouseMoveEvent", lambda *_: window.move(*at()))
    interactor.AddObserver("LeftButtonReleaseEvent", lambda *_: window.release(*at()))
    interactor.AddObserver("MouseWheelForwardEvent", lambda *_: window.wheel(1.1))
    interactor.AddObserver("MouseWheelBackwardEvent", lambda *_: window.wheel(1 / 1.1))
    interactor.AddObserver("ConfigureEvent", lambda *_: window.show(window.state))
    interactor.Start()
    plotter.close()
