"""A scene drawn by PyVista off screen, to pixels; letters are no concern of this module.

Every pixel of the drawing is the mean of four. The ground is white, or transparent by what a white and a black ground
let through: opacity is 1 - (white - black). Only a child process may load this module (see `viewer.picture.write`).
"""

from __future__ import annotations

import math
import pickle
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pyvista as pv

from assembly.errors import InputError
from viewer.picture.compose import lettered
from viewer.picture.layout import bare, planned
from viewer.picture.meshes_and_lights import aim, areas, light, lines_of, sort_clear, surface_of
from viewer.picture.write import REFUSED, UNWRITTEN
from viewer.scene import tints
from viewer.scene.camera import fitted

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from PIL import Image

    from assembly.arrays import FloatArray
    from viewer.picture.layout import PictureLayout
    from viewer.scene.camera import View
    from viewer.scene.scene import Scene, ShownPart

_TURN_MS = 7200  # one turn takes so long
FINE = 2  # pixels drawn for one pixel kept, each way
# Pixels of a picture that are drawn at once, and rows more on either side for what reaches over their edge: the largest
# picture, 4096 by 4096, with what is clear sorted by depth, takes 5.5 GB at once; in such bands it takes 1.2.
_AT_ONCE, _MARGIN = 2_200_000, 32
_EDGE_WIDTH = 1 / 750  # of the picture's height
_GRAIN_WIDTH = 1 / 1100
_GHOST_WIDTH = 1 / 500  # of the edges of what is only laid on
_FRESH_WIDTH = 1 / 320  # of the lines that are drawn in the step that is shown
# How far what lies on a face is moved to the viewer so that it is not lost in the face, as a share of the picture's
# height; in a parallel view that moves nothing on the picture.
_NEARER = {"clear": 1 / 3000, "grain": 1 / 3000, "ground": 1 / 1600, "ink": 1 / 1100, "edges": 1 / 900}


def draw(scene: Scene, view: View, *, transparent: bool) -> NDArray[np.uint8]:
    """Return a scene as seen in a view: (height, width, 4) red, green, blue, opacity; not multiplied by opacity."""
    width, height = view.size
    drawn = np.empty((height, width, 4), dtype=np.uint8)
    band = math.ceil(height / math.ceil(width * height / _AT_ONCE))
    for top in range(0, height, band):
        rows = slice(top, min(top + band, height))
        drawn[rows] = _band(scene, view, rows, transparent=transparent)
    return drawn


def _band(scene: Scene, view: View, rows: slice, *, transparent: bool) -> NDArray[np.uint8]:
    """Return some rows of a picture, of which only they and a margin are drawn: a whole large one would take gigabytes.

    A line is drawn where its own middle is within what is drawn, so the margin is wider than any line.
    """
    first, last = max(rows.start - _MARGIN, 0), min(rows.stop + _MARGIN, view.size[1])
    seen = view.rows(first, last - first)
    kept = slice(FINE * (rows.start - first), FINE * (rows.stop - first))
    white = _shot(_lit(scene, view, seen), seen, FINE, "white")[kept]
    return _colours(white, _shot(_lit(scene, view, seen), seen, FINE, "black")[kept] if transparent else None)


def _colours(white: NDArray[np.uint8], black: NDArray[np.uint8] | None) -> NDArray[np.uint8]:
    """Return pixels from their drawing on a white ground and, for a transparent one, from that on a black ground."""
    on_white = _mean(white)
    if black is None:
        colours = np.dstack([on_white, np.full(on_white.shape[:2], 255.0)])
    else:
        on_black = _mean(black)
        opacity = 1 - (on_white - on_black).mean(axis=2, keepdims=True) / 255
        colours = np.dstack([np.where(opacity > 0, on_black / np.maximum(opacity, 1e-6), 0), 255 * opacity])
    return np.asarray(np.clip(np.rint(colours), 0, 255), dtype=np.uint8)


def _mean(fine: NDArray[np.uint8]) -> FloatArray:
    """Return the mean of every `FINE` by `FINE` pixels."""
    height, width, channels = fine.shape
    blocks = fine.reshape(height // FINE, FINE, width // FINE, FINE, channels)
    return np.asarray(blocks.mean(axis=(1, 3)), dtype=np.float64)


def _lit(scene: Scene, view: View, seen: View, turn: float = 0.0) -> pv.Plotter:
    """Return a plotter with the parts under the three lights, their lines, and the patches unlit.

    Lines are as wide as the picture of `view` has them; `seen`, that or some rows of it, is what is drawn. `turn`,
    degrees, is how far the viewer has gone round the box with the lights.
    """
    plotter = _plotter(seen, FINE)
    light(plotter, view.direction.round - turn, turn)
    for index, part in enumerate(scene.parts):
        _add_part(plotter, scene, view, index, part)
    for joint in scene.joints:
        for patch in joint.patches:
            for points, what, colour in (
                (patch.ground, "ground", tints.GROUNDS[joint.fit.word]),
                (patch.ink, "ink", tints.INK),
            ):
                marks = areas(scene.placed(patch.part, points) + _nearer(view, what))
                plotter.add_mesh(marks, color=colour, lighting=False)
    for strokes in scene.strokes:
        placed = lines_of(scene.placed(strokes.part, strokes.ends) + _nearer(view, "edges"))
        width, colour = (_FRESH_WIDTH, tints.INK) if strokes.fresh else (_EDGE_WIDTH, tints.QUIET)
        plotter.add_mesh(placed, color=colour, lighting=False, line_width=max(1.0, width * view.size[1] * FINE))
    for ghost in scene.ghosts:
        width = max(1.0, _GHOST_WIDTH * view.size[1] * FINE)
        plotter.add_mesh(lines_of(ghost), color=tints.QUIET, lighting=False, line_width=width)
    sort_clear(plotter, scene.parts)
    return plotter


def _add_part(plotter: pv.Plotter, scene: Scene, view: View, index: int, part: ShownPart) -> None:
    clear = 0.0 if part.opacity == 1 else _nearer(view, "clear")  # a clear part lies on what it touches
    surface = surface_of(scene.placed(index, part.points) + clear, part.triangles)
    plotter.add_mesh(surface, color=part.colour, opacity=part.opacity, ambient=tints.AMBIENT, diffuse=1.0, specular=0.0)
    red, green, blue = part.colour
    grain = (tints.GRAIN_SHADE * red, tints.GRAIN_SHADE * green, tints.GRAIN_SHADE * blue)
    height = view.size[1] * FINE
    kinds = (("grain", part.grain, grain, _GRAIN_WIDTH), ("edges", part.edges, tints.EDGE, _EDGE_WIDTH))
    for what, lines, colour, width in kinds:
        if len(lines):
            placed = lines_of(scene.placed(index, lines) + _nearer(view, what))
            plotter.add_mesh(placed, color=colour, lighting=False, line_width=max(1.0, width * height))


def _nearer(view: View, what: str) -> FloatArray:
    """Return how far something is moved to the viewer: (3,), mm."""
    return np.asarray(view.direction.axes[2] * view.size[1] / view.scale * _NEARER[what], dtype=np.float64)


def _plotter(view: View, fine: int) -> pv.Plotter:
    size = [side * fine for side in view.size]
    plotter = pv.Plotter(off_screen=True, window_size=size, lighting="none")
    # Several samples a pixel would blend marks, and leave out what is translucent.
    assert plotter.ren_win is not None
    plotter.ren_win.SetMultiSamples(0)
    aim(plotter, view)
    return plotter


def _shot(plotter: pv.Plotter, view: View, fine: int, ground: str) -> NDArray[np.uint8]:
    """Return the pixels of a plotter, (height, width, 3), and close it."""
    plotter.renderer.set_background(ground)
    plotter.reset_camera_clipping_range()
    shot = plotter.screenshot(return_img=True, window_size=[side * fine for side in view.size])
    plotter.close()
    return np.asarray(shot, dtype=np.uint8)[..., :3]


def turned(sheet: PictureLayout, turns: int) -> list[Image.Image]:
    """Return the pictures of one turn on white, at one scale, about the middle; without labels, which would jump."""
    first, corners = sheet.scene.direction, sheet.scene.corners()
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    both_ways = np.concatenate([corners, 2 * middle - corners])  # so that every view is about the middle
    right = sheet.size[0] - sheet.margin if sheet.close is None else sheet.close.frame[0] - sheet.margin
    room = np.array([[sheet.margin, sheet.columns.top], [right, sheet.columns.bottom]])
    ways = [replace(first, round=first.round + 360 * turn / turns) for turn in range(turns)]
    views = [fitted(both_ways, way, sheet.size, room) for way in ways]
    scale = min(view.scale for view in views)
    down = (room.mean(axis=0) - np.array(sheet.size) / 2)[1] / scale  # mm from the picture's middle to the room's
    return [_turned(sheet, replace(view, scale=scale, focus=middle + down * view.direction.axes[1])) for view in views]


def _turned(sheet: PictureLayout, view: View) -> Image.Image:
    turn = view.direction.round - sheet.scene.direction.round
    colours = _colours(_shot(_lit(sheet.scene, view, view, turn), view, FINE, "white"), None)
    return lettered(bare(sheet, view), colours, transparent=False)


def main() -> None:
    """Draw the scenes that come in on standard input; see `viewer.picture.write`, which starts this as a child."""
    for asked in pickle.load(sys.stdin.buffer):  # noqa: S301 - from our own parent
        _draw_one(*asked)
        sys.stdout.buffer.write(b".")
        sys.stdout.buffer.flush()


def _draw_one(scene: Scene, size: tuple[int, int], transparent: bool, path: str, turns: int) -> None:  # noqa: FBT001
    try:
        sheet = planned(scene, size)
        pictures = turned(sheet, turns) if turns else [_still(sheet, transparent=transparent)]
    except InputError as error:
        sys.stderr.write(str(error))
        sys.exit(REFUSED)
    try:
        _save(pictures, path)
    except OSError as error:
        sys.stderr.write(error.strerror or str(error))
        sys.exit(UNWRITTEN)


def _save(pictures: list[Image.Image], path: str) -> None:
    if len(pictures) == 1:
        pictures[0].save(path)
    else:
        each = _TURN_MS // len(pictures)
        pictures[0].save(path, save_all=True, append_images=pictures[1:], duration=each, loop=0)


def _still(sheet: PictureLayout, *, transparent: bool) -> Image.Image:
    colours = draw(sheet.scene, sheet.view, transparent=transparent)
    close = None if sheet.close is None else draw(sheet.close.scene, sheet.close.view, transparent=False)
    return lettered(sheet, colours, close, transparent=transparent)


if __name__ == "__main__":
    main()
