"""A scene as actors on a PyVista plotter: made once, then only moved, shown or hidden.

tag : the words beside a joint's mark or at the end of a wall, with a leader to it (see `viewer.window.tags`)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pyvista as pv
from vtkmodules.vtkRenderingCore import vtkActor2D, vtkPolyDataMapper2D, vtkTexturedActor2D

from viewer.picture.meshes_and_lights import areas, lines_of, sort_clear, surface_of
from viewer.scene import tints
from viewer.window.panel import plate
from viewer.window.tags import beside, leader, mark_of, tags_of

if TYPE_CHECKING:
    from PIL import Image

    from assembly.arrays import FloatArray
    from viewer.picture.lettering import Rectangle
    from viewer.scene.camera import View
    from viewer.scene.scene import Scene, ShownPart
    from viewer.scene.tints import Tint


_OUTLINE, _EDGE, _GRAIN, _FRESH, _LEADER = 5.0, 1.6, 1.0, 3.0, 2.0  # widths of lines, pixels


class Plate:
    """A picture laid over the window at a place; its pixels are handed over only when they change."""

    def __init__(self, plotter: pv.Plotter) -> None:
        """Lay nothing yet."""
        self.actor = vtkTexturedActor2D()
        self.actor.SetVisibility(0)
        plotter.renderer.AddViewProp(self.actor)
        self._laid: tuple[int, int, float, float] | None = None

    def draw(self, picture: Image.Image) -> None:
        """Take another picture."""
        self.actor.SetTexture(pv.Texture(np.asarray(picture)))  # type: ignore[no-untyped-call]

    def lay(self, size: tuple[int, int], place: tuple[float, float] = (0.0, 0.0)) -> None:
        """Lay the picture, of a size, with its lower left corner at a place of the window, y up; pixels."""
        (width, height), (x, y) = size, (round(place[0]), round(place[1]))
        self.actor.SetVisibility(1)
        if self._laid == (width, height, x, y):
            return
        self._laid = (width, height, x, y)
        corners = np.array([[x, y, 0.0], [x + width, y, 0], [x + width, y + height, 0], [x, y + height, 0]])
        mesh = pv.PolyData(corners, faces=[4, 0, 1, 2, 3])
        mesh.active_texture_coordinates = np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]])
        mapper = vtkPolyDataMapper2D()
        mapper.SetInputData(mesh)
        self.actor.SetMapper(mapper)

    def hide(self) -> None:
        """Show it no longer."""
        self.actor.SetVisibility(0)


class LaidTag:
    """A tag's plate, and the leader from it to what it names."""

    def __init__(self, plotter: pv.Plotter) -> None:
        """Lay nothing yet."""
        self.leader = vtkActor2D()
        self.leader.SetVisibility(0)
        self.leader.GetProperty().SetColor(*tints.INK)
        self.leader.GetProperty().SetLineWidth(_LEADER)
        plotter.renderer.AddViewProp(self.leader)
        self.plate = Plate(plotter)

    def lay(self, size: tuple[int, int], place: tuple[float, float], mark: Rectangle, height: int) -> None:
        """Lay a plate of a size with its upper left corner at a place of a window of a height, pixels."""
        self.plate.lay(size, (place[0], height - place[1] - size[1]))
        ends = leader(place, size, mark)
        line = pv.PolyData(np.column_stack([ends[:, 0], height - ends[:, 1], np.zeros(2)]), lines=[2, 0, 1])
        mapper = vtkPolyDataMapper2D()
        mapper.SetInputData(line)
        self.leader.SetMapper(mapper)
        self.leader.SetVisibility(1)

    def hide(self) -> None:
        """Show it no longer."""
        self.plate.hide()
        self.leader.SetVisibility(0)


class SceneActors:
    """The actors of one scene."""

    def __init__(self, plotter: pv.Plotter, scene: Scene) -> None:
        """Make the actors."""
        self._plotter, self.scene = plotter, scene
        sort_clear(plotter, scene.parts)
        self._edges: dict[str, Any] = {}
        self._marks: list[Any] = []
        self._em, self._sizes = 0, list[tuple[int, int]]()
        self.moving = [self._part(part) for part in scene.parts]  # what moves with each part, its body first
        for strokes in scene.strokes:
            width, colour = (_FRESH, tints.INK) if strokes.fresh else (_EDGE, tints.QUIET)
            self.moving[strokes.part].append(self._line(strokes.ends, colour, width, -6))
        self.ghosts = [self._line(ends, tints.QUIET, _EDGE, -6) for ends in scene.ghosts]
        self._mark()
        self._tags = tags_of(scene)
        self.laid = [LaidTag(plotter) for _ in self._tags]

    def clear(self) -> None:
        """Take all actors off the plotter."""
        tags = [actor for laid in self.laid for actor in (laid.plate.actor, laid.leader)]
        for actor in (*(actor for actors in self.moving for actor in actors), *self.ghosts, *tags):
            self._plotter.renderer.RemoveViewProp(actor)

    def place(self, explode: float) -> None:
        """Move every part to where it stands at an explosion."""
        for part, actors in zip(self.scene.parts, self.moving, strict=True):
            for actor in actors:
                actor.SetPosition(*(explode * part.away))

    def show(self, picked: str | None, *, marked: bool) -> None:
        """Outline one part, or none; show the joints' marks, or hide them."""
        for name, edges in self._edges.items():
            edges.prop.color = tints.INK if name == picked else tints.EDGE
            edges.prop.line_width = _OUTLINE if name == picked else _EDGE
        for mark in self._marks:
            mark.SetVisibility(marked)

    def tag(self, view: View, explode: float, em: int, room: Rectangle, *, marked: bool) -> None:
        """Lay every tag beside what it names, inside a room and clear of the others, where that is seen."""
        if em != self._em:
            self._em, pictures = em, [plate(tag.note, em) for tag in self._tags]
            self._sizes = [picture.size for picture in pictures]
            for laid, picture in zip(self.laid, pictures, strict=True):
                laid.plate.draw(picture)
        marks = [mark_of(tag, self.scene, explode, view) if marked else None for tag in self._tags]
        shown = [i for i, mark in enumerate(marks) if mark is not None]
        places = beside([mark for mark in marks if mark is not None], [self._sizes[i] for i in shown], room)
        found = dict(zip(shown, places, strict=True))
        for i, laid in enumerate(self.laid):
            place, mark = found.get(i), marks[i]
            if place is None or mark is None:
                laid.hide()
            else:
                laid.lay(self._sizes[i], place, mark, view.size[1])

    def _part(self, part: ShownPart) -> list[Any]:
        body = self._plotter.add_mesh(
            surface_of(part.points, part.triangles),
            color=part.colour,
            opacity=part.opacity,
            ambient=tints.AMBIENT,
            diffuse=1.0,
            specular=0.0,
            reset_camera=False,
            render=False,
        )
        _nearer(body, 1 if part.opacity == 1 else 0)  # a clear part lies on what it touches
        red, green, blue = (tints.GRAIN_SHADE * share for share in part.colour)
        self._edges[part.name] = self._line(part.edges, tints.EDGE, _EDGE, -4)
        grain = [self._line(part.grain, (red, green, blue), _GRAIN, -1)] if len(part.grain) else []
        return [body, self._edges[part.name], *grain]

    def _line(self, ends: FloatArray, colour: Tint, width: float, nearer: float) -> Any:  # noqa: ANN401 - an actor
        actor = self._plotter.add_mesh(
            lines_of(ends), color=colour, line_width=width, lighting=False, reset_camera=False, render=False
        )
        _nearer(actor, nearer)
        return actor

    def _mark(self) -> None:
        """Lay the joints' marks on their faces."""
        for joint in self.scene.joints:
            for patch in joint.patches:
                for points, nearer, colour in (
                    (patch.ground, -2, tints.GROUNDS[joint.fit.word]),
                    (patch.ink, -3, tints.INK),
                ):
                    actor = self._plotter.add_mesh(
                        areas(points), color=colour, lighting=False, reset_camera=False, render=False
                    )
                    _nearer(actor, nearer)
                    self.moving[patch.part].append(actor)
                    self._marks.append(actor)


def _nearer(actor: Any, units: float) -> None:  # noqa: ANN401 - an actor
    """Let what lies on a face win over it: fewer units are nearer to the viewer."""
    mapper = actor.mapper
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(0 if units < 1 else 1, 2 * units)
    mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0, 2 * units)
