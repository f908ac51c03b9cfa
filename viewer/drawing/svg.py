"""A scene as SVG: small, with no style of its own but classes, so that a page's style sheet decides widths and letters.

drawing : the faces of a scene in the order in which they are painted (`viewer.drawing.faces`)
still   : a drawing with what is written beside it

Places are whole quarters of a pixel, each from the one before, which is what keeps a still small.

Classes: `o` outlines, `g` grain, `s` and `s f` strokes drawn before and now, `i` areas, `m` a size's line, `t` its end
lines, `h` arrowheads, `p` plates under words, `w` words, `l` leaders, `d` their dots.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import escaped
from viewer.drawing.faces import faces_of
from viewer.picture.dimensions import Taken, drawn_measures, heads
from viewer.picture.drawn_plan import HEAD as PLAN_HEAD
from viewer.picture.drawn_plan import HIGH as PLAN_HIGH
from viewer.picture.drawn_plan import drawn_plan
from viewer.picture.lettering import LEADING, rgb
from viewer.scene import tints
from viewer.scene.camera import fitted
from viewer.scene.patterns import pattern

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from assembly.arrays import FloatArray
    from assembly.made.gap_classes import Word
    from assembly.planning.plan import Plan
    from viewer.drawing.faces import Face, Mark
    from viewer.picture.dimensions import DrawnMeasure
    from viewer.picture.layout import PictureLayout
    from viewer.picture.lettering import Rectangle
    from viewer.scene.camera import View
    from viewer.scene.scene import Scene
    from viewer.scene.tints import Tint

_FINE = 4  # steps to a pixel
_ROUND = 1.6  # ems from the edge to a step's drawing where sizes stand beside it
_EDGE = 0.4  # ems, where none do
PLAN_WIDE = 22.0  # ems
_CLASS = {"grain": "g", "earlier": "s", "fresh": "s f", "ground": "i", "ink": "i"}
_AREAS = {"ground", "ink"}
_CHIP, _CHIP_PITCH = (16.0, 22.0), 8.0  # pixels
_LINED = {"fresh", "earlier", "ground", "ink"}


def hexadecimal(colour: Tint) -> str:
    """Return a tint as SVG and style sheets write it."""
    red, green, blue = rgb(colour)
    return f"#{red:02x}{green:02x}{blue:02x}"


def drawing(scene: Scene, view: View) -> tuple[str, ...]:
    """Return the faces of a scene and what lies on them, in order, as SVG in quarters of its pixels; no grain."""
    painted = [element for face in faces_of(scene, view) for element in _face(face)]
    ghosts = [view.pixels(ghost) for ghost in scene.ghosts]
    return (*painted, *(f'<path class="s" d="{_path(ghost, closed=False)}"/>' for ghost in ghosts))


def _face(face: Face) -> list[str]:
    clear = "" if face.opacity == 1 else f' fill-opacity="{face.opacity:g}"'
    area = f'<path class="o" fill="{hexadecimal(face.colour)}"{clear} d="{_path(face.loops, closed=True)}"/>'
    return [area, *(_mark(mark) for mark in face.marks if mark.kind in _LINED)]


def _mark(mark: Mark) -> str:
    area = mark.kind in _AREAS
    fill = f' fill="{hexadecimal(mark.colour)}"' if area else ""
    return f'<path class="{_CLASS[mark.kind]}"{fill} d="{_path(mark.shape, closed=area)}"/>'


def _path(shapes: Iterable[FloatArray], *, closed: bool) -> str:
    """Return lines or outlines, each (n, 2) pixels, as the data of one path; what is of no length is left out."""
    words: list[str] = []
    at = np.zeros(2, dtype=np.int64)
    for shape in shapes:
        steps = np.rint(np.asarray(shape) * _FINE).astype(np.int64)
        moves = np.diff(steps, axis=0)
        moves = moves[moves.any(axis=1)]
        if not len(moves):
            continue
        if words and not closed and not (steps[0] - at).any():  # it goes on where the last one ended
            words.append(_joined(_pairs(moves)))
        else:
            words.append("m" + _pairs([steps[0] - at]) + "l" + _pairs(moves) + "z" * closed)
        at = steps[0] if closed else steps[0] + moves.sum(axis=0)
    return "".join(words).replace("m", "M", 1)


def _joined(pairs: str) -> str:
    return pairs if pairs.startswith("-") else f" {pairs}"


def _pairs(moves: Sequence[FloatArray] | FloatArray) -> str:
    """Return pairs of whole numbers as a path has them: a minus sign parts them as well as a space does."""
    return " ".join(f"{x} {y}" for x, y in np.asarray(moves).tolist()).replace(" -", "-")


@dataclass(frozen=True, slots=True, kw_only=True)
class Still:
    """A drawing with what is written over it."""

    size: tuple[int, int]
    title: str
    drawn: tuple[str, ...]
    written: str

    def svg(self, shared: Mapping[str, str]) -> str:
        """Return the still as SVG; `shared` names elements of its drawing that stand elsewhere (see `defined`)."""
        drawn = "".join(f'<use href="#{shared[one]}"/>' if one in shared else one for one in self.drawn)
        return _svg(self.size, self.title, f'<g transform="scale({1 / _FINE:g})">{drawn}</g>{self.written}')


def step_still(
    scene: Scene, size: tuple[int, int], em: int, title: str, draw: Callable[[Scene, View], tuple[str, ...]] = drawing
) -> Still:
    """Return the still of a step: its timber, lines, sizes and names.

    Parameters
    ----------
    scene : Scene
        The step.
    size : (int, int)
        Width and height, pixels.
    em : int
        Size of the letters, pixels.
    title : str
        What it is, for who can't see it.
    draw : callable
        Gives the drawing; one that keeps what it has drawn saves time where steps look alike.
    """
    width, height = size
    off = (_ROUND if scene.measures or scene.holes else _EDGE) * em
    view = fitted(scene.corners(), scene.direction, size, np.array([[off, off], [width - off, height - off]]))
    taken = Taken(room=(0.0, 0.0, float(width), float(height)), plates=(), leaders=np.empty((0, 2, 2)))
    measures = drawn_measures(scene, view, taken, em)
    written = "".join(_measure(one, em) for one in measures)
    return Still(size=size, title=title, drawn=draw(scene, view), written=written)


def plan_still(plan: Plan, em: int) -> str:
    """Return the plan of the frame, with its walls' names and its corners' letters, as SVG."""
    size = (round(PLAN_WIDE * em), round(PLAN_HIGH * em))
    drawn = drawn_plan(plan, em, (0.0, float(size[0])), float(size[1]))
    words = "".join(_word(text, (x, y + 0.36 * em), em, "middle", bold=text != PLAN_HEAD) for text, x, y in drawn.words)
    return _svg(size, PLAN_HEAD, f'<path class="m" d="{_lines(drawn.lines)}"/>{words}')


def defined(drawn: Mapping[str, str]) -> str:
    """Return pieces of drawings by name, which are not seen where they stand, for others to use."""
    groups = "".join(f'<g id="{name}">{one}</g>' for name, one in drawn.items())
    return f'<svg class="shared" aria-hidden="true" width="0" height="0"><defs>{groups}</defs></svg>'


def group(name: str, scale: float = 1.0, off: tuple[float, float] = (0.0, 0.0)) -> str:
    """Return a drawing that stands elsewhere, `scale` times as large and moved by `off` pixels."""
    moved = "" if off == (0.0, 0.0) else f"translate({off[0]:.2f} {off[1]:.2f})"
    return f'<use href="#{name}" transform="{moved}scale({scale / _FINE:.6g})"/>'


def labels_still(sheet: PictureLayout, title: str, drawn: str) -> str:
    """Return the still of a box with its labels; `drawn` is its drawing, such as a `<use>` of one."""
    leaders = "".join(_leader(port, anchor, sheet.em) for port, anchor in zip(sheet.ports, sheet.anchors, strict=True))
    notes = []
    for index, note in enumerate(sheet.notes):
        left, top, right, _ = sheet.plate(index)
        on_right = bool(sheet.on_right[index])
        x, anchor = (left + 0.3 * sheet.em, "start") if on_right else (right - 0.3 * sheet.em, "end")
        for row, line in enumerate(note.lines):
            y = top + (0.2 + LEADING * row + 0.8) * sheet.em
            notes.append(_word(line, (x, y), sheet.em, anchor, bold=row == 0))
    return _svg(sheet.size, title, drawn + leaders + "".join(notes))


def _leader(port: FloatArray, anchor: FloatArray, em: int) -> str:
    (x0, y0), (x1, y1) = port.tolist(), anchor.tolist()
    line = f'<path class="l" d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}"/>'
    return f'{line}<circle class="d" cx="{x1:.1f}" cy="{y1:.1f}" r="{0.16 * em:.1f}"/>'


def _svg(size: tuple[int, int], title: str, inside: str) -> str:
    said = escape(escaped(title))
    return f'<svg class="still" viewBox="0 0 {size[0]} {size[1]}" role="img" aria-label="{said}">{inside}</svg>'


def _measure(measure: DrawnMeasure, em: int) -> str:
    """Return a size with its end lines and arrows, the name of a line or the label of a hole, on a plate."""
    parts = []
    if len(measure.ticks):
        parts.append(f'<path class="t" d="{_lines(measure.ticks)}"/>')
        parts.append(f'<path class="m" d="{_lines(measure.line[None])}"/>')
        arrows = (
            "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in head) + "z" for head in heads(measure.line, em).tolist()
        )
        parts.append(f'<path class="h" d="{"".join(arrows)}"/>')
    if measure.leader is not None:
        parts.append(f'<path class="l" d="{_lines(measure.leader[None])}"/>')
    left, top, right, bottom = measure.box
    parts.append(_plate(measure.box))
    middle = ((left + right) / 2, (top + bottom) / 2 + 0.36 * em)
    parts.append(_word(measure.text, middle, em, "middle", bold=True, width=right - left - 0.4 * em))
    return "".join(parts)


def _plate(box: Rectangle) -> str:
    left, top, right, bottom = box
    return f'<rect class="p" x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" height="{bottom - top:.1f}"/>'


def _lines(ends: FloatArray) -> str:
    return "".join(f"M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}" for (x0, y0), (x1, y1) in ends.tolist())


def _word(
    text: str, place: tuple[float, float], em: int, anchor: str, *, bold: bool, width: float | None = None
) -> str:
    """Return words; where their `width` is given, they take just that, whatever letters the browser has."""
    long = "" if width is None else f' textLength="{width:.1f}" lengthAdjust="spacingAndGlyphs"'
    kind = "w b" if bold else "w"
    x, y = place
    said = escape(escaped(text))
    return f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}" font-size="{em}" text-anchor="{anchor}"{long}>{said}</text>'


def pattern_chip(word: Word) -> str:
    """Return the pattern of a word for how a joint fits, on its ground, as a small picture."""
    wide, high = _CHIP
    ink = pattern(word, wide, high, _CHIP_PITCH)
    ground = hexadecimal(tints.GROUNDS[word])
    area = f'<path class="i" fill="{hexadecimal(tints.INK)}" d="{_path(ink, closed=True)}"/>'
    return (
        f'<svg viewBox="0 0 {wide * _FINE:g} {high * _FINE:g}" aria-hidden="true">'
        f'<rect width="100%" height="100%" fill="{ground}"/>{area}</svg>'
    )
