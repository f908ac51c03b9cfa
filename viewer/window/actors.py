"""A scene as actors on a PyVista plotter: made once, then only moved, shown or hidden.

tag : the words beside a joint's mark or at the end of a wall, with a leader to it (see `viewer.window.tags`)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from viewer.picture.meshes_and_lights import areas, lines_of, sort_clear, surface_of
from viewer.scene import tints
from viewer.window.laid import LaidSizes, LaidTag
from viewer.window.panel import plate
from viewer.window.sizes import Placed, sizes_shown
from viewer.window.tags import beside, mark_of, tags_of

if TYPE_CHECKING:
    import pyvista as pv

    from assembly.arrays import FloatArray
    from viewer.picture.lettering import Rectangle
    from viewer.scene.camera import View
    from viewer.scene.scene import Scene, ShownPart
    from viewer.scene.tints import Tint


_OUTLINE, _EDGE, _GRAIN, _FRESH = 5.0, 1.6, 1.0, 3.0  # widths of lines, pixels


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
        self.sizes = LaidSizes(plotter)

    def clear(self) -> None:
        """Take all actors off the plotter."""
        flat = [*(actor for laid in self.laid for actor in laid.actors()), *self.sizes.actors()]
        for actor in (*(actor for actors in self.moving for actor in actors), *self.ghosts, *flat):
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
        """Lay every tag beside what it names, inside a room and clear of the others, where that is seen; then sizes."""
        if em != self._em:
            self._em, pictures = em, [plate(tag.note, em) for tag in self._tags]
            self._sizes = [picture.size for picture in pictures]
            for laid, picture in zip(self.laid, pictures, strict=True):
                laid.plate.draw(picture)
        placed = self._placed(view, explode, room) if marked else {}
        for i, laid in enumerate(self.laid):
            if i in placed:
                laid.lay(placed[i], view.size[1])
            else:
                laid.hide()
        tags = tuple(placed.values())
        self.sizes.lay(sizes_shown(self.scene, view, em, room, tags) if marked else (), em, view.size[1])

    def _placed(self, view: View, explode: float, room: Rectangle) -> dict[int, Placed]:
        """Return where each tag stands that is shown, by its number."""
        marks = [mark_of(tag, self.scene, explode, view) for tag in self._tags]
        seen = [(i, mark) for i, mark in enumerate(marks) if mark is not None]
        places = beside([mark for _, mark in seen], [self._sizes[i] for i, _ in seen], room)
        return {
            i: Placed(place=place, size=self._sizes[i], mark=mark)
            for (i, mark), place in zip(seen, places, strict=True)
            if place is not None
        }

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
