"""A scene as actors on a PyVista plotter: made once, then only moved, shown or hidden.

tag : the words over a joint's mark; the widest of each corner whose gap is too wide for the glue has one
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pyvista as pv
from vtkmodules.vtkRenderingCore import vtkPolyDataMapper2D, vtkTexturedActor2D

from viewer import tints
from viewer.drawing import areas, lines_of, surface_of
from viewer.panel import apart, tag_of

if TYPE_CHECKING:
    from PIL import Image

    from viewer.joints import Joint
    from viewer.scene import Scene, ShownPart
    from viewer.tints import FloatArray, Tint
    from viewer.view import View

_OUTLINE, _EDGE, _GRAIN, _FRESH = 5.0, 1.6, 1.0, 3.0  # widths of lines, pixels


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """The words over a joint's mark."""

    joint: Joint
    plate: Plate


class Stage:
    """The actors of one scene."""

    def __init__(self, plotter: pv.Plotter, scene: Scene) -> None:
        """Make the actors."""
        self._plotter, self.scene = plotter, scene
        self._edges: dict[str, Any] = {}
        self._marks: list[Any] = []
        self._em, self._tag_sizes = 0, list[tuple[int, int]]()
        self.moving = [self._part(part) for part in scene.parts]  # what moves with each part, its body first
        for strokes in scene.strokes:
            width, colour = (_FRESH, tints.INK) if strokes.fresh else (_EDGE, tints.QUIET)
            self.moving[strokes.part].append(self._line(strokes.ends, colour, width, -6))
        self._mark()
        self._tags = [Tag(joint=joint, plate=Plate(plotter)) for joint in _told(scene)]

    def clear(self) -> None:
        """Take all actors off the plotter."""
        for actor in (*(actor for actors in self.moving for actor in actors), *(tag.plate.actor for tag in self._tags)):
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

    def tag(
        self, view: View, explode: float, em: int, room: tuple[float, float, float, float], *, marked: bool
    ) -> None:
        """Lay every tag over the upper end of its joint's mark, inside a room (see `apart`) and clear of the others."""
        if em != self._em:
            self._em, pictures = em, [tag_of(tag.joint, em) for tag in self._tags]
            self._tag_sizes = [picture.size for picture in pictures]
            for tag, picture in zip(self._tags, pictures, strict=True):
                tag.plate.draw(picture)
        if not marked or room[3] - room[1] < sum(height for _, height in self._tag_sizes):
            for tag in self._tags:
                tag.plate.hide()
            return
        wanted = []
        for tag, (wide, high) in zip(self._tags, self._tag_sizes, strict=True):
            patch = tag.joint.patches[0]
            top = patch.face[np.argmax(patch.face[:, 2])] + explode * self.scene.parts[patch.part].away
            x, y = view.pixels(top)
            wanted.append((x - wide / 2, y - 1.4 * high))
        for tag, size, (x, y) in zip(self._tags, self._tag_sizes, apart(wanted, self._tag_sizes, room), strict=True):
            tag.plate.lay(size, (x, view.size[1] - y - size[1]))

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
                for points, nearer, colour in ((patch.ground, -2, joint.fit.ground), (patch.ink, -3, tints.INK)):
                    actor = self._plotter.add_mesh(
                        areas(points), color=colour, lighting=False, reset_camera=False, render=False
                    )
                    _nearer(actor, nearer)
                    self.moving[patch.part].append(actor)
                    self._marks.append(actor)


def _told(scene: Scene) -> list[Joint]:
    """Return the widest joint of each corner that is too wide for the glue."""
    widest = {
        corner: max((joint for joint in scene.joints if joint.corner == corner), key=lambda joint: joint.gap)
        for corner in sorted({joint.corner for joint in scene.joints})
    }
    return [joint for joint in widest.values() if joint.gap > scene.glue_limit]


def _nearer(actor: Any, units: float) -> None:  # noqa: ANN401 - an actor
    """Let what lies on a face win over it: fewer units are nearer to the viewer."""
    mapper = actor.mapper
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(0 if units < 1 else 1, 2 * units)
    mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0, 2 * units)
