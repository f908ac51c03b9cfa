"""What pictures and the window are drawn with alike: arrays as PyVista's meshes, a plotter's camera and its lights."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyvista as pv

from viewer.scene import tints

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assembly.arrays import FloatArray, IntArray
    from viewer.scene.camera import View
    from viewer.scene.scene import ShownPart

_PEELS = 6  # passes, each of which takes the nearest and the farthest of what is left; a bent sheet has four at a pixel


def areas(corners: FloatArray) -> pv.PolyData:
    """Return areas of equally many corners as a surface: (k, corners, 3)."""
    return surface_of(corners.reshape(-1, 3), np.arange(corners[..., 0].size).reshape(corners.shape[:2]))


def surface_of(points: FloatArray, faces: IntArray) -> pv.PolyData:
    """Return faces of equally many corners, (m, corners) indices of points (n, 3), as a mesh."""
    surface = pv.PolyData.from_regular_faces(points, faces.tolist())
    assert isinstance(surface, pv.PolyData)
    return surface


def lines_of(ends: FloatArray) -> pv.PolyData:
    """Return lines as a mesh: (k, 2, 3)."""
    count = len(ends)
    cells = np.column_stack([np.full(count, 2), np.arange(2 * count).reshape(-1, 2)])
    return pv.PolyData(ends.reshape(-1, 3), lines=cells)


def aim(plotter: pv.Plotter, view: View) -> None:
    """Set the camera so that a picture of the view's size shows what the view does."""
    camera = plotter.camera
    _, up, towards = view.direction.axes
    camera.parallel_projection = True
    camera.focal_point = tuple(view.focus)
    camera.position = tuple(view.focus + towards * 10 * max(view.size) / view.scale)
    camera.up = tuple(up)
    camera.parallel_scale = view.size[1] / 2 / view.scale


def light(plotter: pv.Plotter, side: float, turn: float = 0.0) -> None:
    """Add the three lights of `tints.lights` for a viewer on one side, gone round the box by `turn` degrees."""
    a = np.radians(turn)
    round_z = np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])
    for towards, strength in tints.lights(side):
        each = pv.Light(
            position=tuple(round_z @ towards), focal_point=(0, 0, 0), light_type="scene light", intensity=strength
        )
        each.positional = False
        plotter.add_light(each)


def sort_clear(plotter: pv.Plotter, parts: Iterable[ShownPart]) -> None:
    """Have a clear part's faces blended pixel by pixel, the farthest first; where no part is clear, sort nothing.

    Blended in the order of its triangles instead, a face would be darker wherever one behind it happens to come later.
    """
    renderer = plotter.renderer
    renderer.SetUseOIT(0)
    renderer.SetUseDepthPeeling(any(part.opacity < 1 for part in parts))
    renderer.SetMaximumNumberOfPeels(_PEELS)
    renderer.SetOcclusionRatio(0.0)
