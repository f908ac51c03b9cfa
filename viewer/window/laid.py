"""What lies on the window's plane, over the box: pictures, tags with their leaders, and the sizes of a step.

tag : the words beside a joint's mark or at the end of a wall, with a leader to it (see `viewer.window.tags`)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pyvista as pv
from vtkmodules.vtkRenderingCore import vtkActor2D, vtkPolyDataMapper2D, vtkTexturedActor2D

from viewer.scene import tints
from viewer.window.panel import figure
from viewer.window.sizes import strokes_of
from viewer.window.tags import leader

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PIL import Image

    from assembly.arrays import FloatArray
    from viewer.picture.dimensions import DrawnMeasure
    from viewer.scene.tints import Tint
    from viewer.window.sizes import Placed

_LEADER, _END = 2.0, 1.0  # widths of lines, pixels


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
        self.leader = _flat(plotter, tints.INK, _LEADER)
        self.plate = Plate(plotter)

    def lay(self, tag: Placed, height: int) -> None:
        """Lay a tag's plate where it stands in a window of a height, pixels."""
        self.plate.lay(tag.size, (tag.place[0], height - tag.place[1] - tag.size[1]))
        _drawn(self.leader, leader(tag.place, tag.size, tag.mark)[None], height)

    def hide(self) -> None:
        """Show it no longer."""
        self.plate.hide()
        self.leader.SetVisibility(0)

    def actors(self) -> tuple[Any, ...]:
        """Return all that is drawn of it."""
        return self.plate.actor, self.leader


class LaidSizes:
    """The sizes of a step as they are drawn: lines with arrows, and a plate for each figure."""

    def __init__(self, plotter: pv.Plotter) -> None:
        """Lay nothing yet."""
        self._plotter = plotter
        self._ends, self._lines, self._heads = (
            _flat(plotter, colour, width)
            for colour, width in ((tints.QUIET, _END), (tints.INK, _LEADER), (tints.INK, _END))
        )
        self.plates: list[Plate] = []
        self.said: list[tuple[str, int]] = []  # the text of each plate, and its size

    def lay(self, sizes: Sequence[DrawnMeasure], em: int, height: int) -> None:
        """Lay sizes over a window of a height, pixels; what was laid before is gone."""
        strokes = strokes_of(sizes, em)
        for actor, corners in ((self._ends, strokes.ends), (self._lines, strokes.lines), (self._heads, strokes.heads)):
            _drawn(actor, corners, height)
        while len(self.plates) < len(sizes):
            self.plates.append(Plate(self._plotter))
            self.said.append(("", 0))
        for i, laid in enumerate(self.plates):
            if i < len(sizes):
                self._write(i, sizes[i], em, height)
            else:
                laid.hide()

    def _write(self, i: int, size: DrawnMeasure, em: int, height: int) -> None:
        picture = figure(size.text, em)
        if self.said[i] != (size.text, em):
            self.said[i] = size.text, em
            self.plates[i].draw(picture)
        self.plates[i].lay(picture.size, (size.box[0], height - size.box[1] - picture.size[1]))

    def actors(self) -> tuple[Any, ...]:
        """Return all that is drawn of them."""
        return self._ends, self._lines, self._heads, *(laid.actor for laid in self.plates)


def _flat(plotter: pv.Plotter, colour: Tint, width: float) -> Any:  # noqa: ANN401 - an actor
    """Return an actor on the window's plane that shows nothing yet; lines in it are so wide, pixels."""
    actor = vtkActor2D()
    actor.SetVisibility(0)
    actor.GetProperty().SetColor(*colour)
    actor.GetProperty().SetLineWidth(width)
    plotter.renderer.AddViewProp(actor)
    return actor


def _drawn(actor: Any, corners: FloatArray, height: int) -> None:  # noqa: ANN401 - an actor
    """Let an actor show lines (n, 2, 2) or triangles (n, 3, 2) on a window of a height, pixels; or nothing."""
    count, sides = corners.shape[:2]
    actor.SetVisibility(count > 0)
    points = np.column_stack([corners[..., 0].ravel(), height - corners[..., 1].ravel(), np.zeros(count * sides)])
    cells = np.column_stack([np.full(count, sides), np.arange(count * sides).reshape(-1, sides)]).ravel()
    mapper = vtkPolyDataMapper2D()
    mapper.SetInputData(pv.PolyData(points, lines=cells) if sides == 2 else pv.PolyData(points, faces=cells))
    actor.SetMapper(mapper)
