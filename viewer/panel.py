"""The panel beside the box in the window: what is shown, the slider, the part that is picked, the key; set by Pillow.

Pixels, x to the right and y down from the panel's upper left corner. No library of the screen is loaded here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw

from viewer import tints
from viewer.lettering import (
    CHIP,
    LEADING,
    PITCH,
    Lines,
    Note,
    em_of,
    font,
    note_plate,
    note_size,
    note_words,
    rgb,
    wrapped,
)
from viewer.sheet import gaps_of
from viewer.state import KEYS, heading, part_words

if TYPE_CHECKING:
    from viewer.fits import Fit
    from viewer.joints import Joint
    from viewer.lettering import Weight
    from viewer.scene import Scene
    from viewer.state import State

SHARE = 0.36  # of the window's width
_HINT = "Drag to turn, wheel for nearer, click a part. ? tells the keys."


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """The slider's track."""

    left: float
    right: float
    middle: float  # y
    reach: float  # how far from it a click still counts

    def explode_at(self, x: float) -> float:
        """Return the explosion that a place on the track stands for, brought between 0 and 1."""
        return min(1.0, max(0.0, (x - self.left) / (self.right - self.left)))

    def holds(self, x: float, y: float) -> bool:
        """Whether a click is on the slider."""
        return abs(y - self.middle) <= self.reach and self.left - self.reach <= x <= self.right + self.reach


def track(size: tuple[int, int]) -> Track:
    """Return the slider's track on a panel of a size."""
    width, height = size
    em = em_of(height)
    return Track(left=2.0 * em, right=width - 2.0 * em, middle=height - 2.6 * em, reach=0.9 * em)


def panel(state: State, scene: Scene, materials: dict[str, str], size: tuple[int, int]) -> Image.Image:
    """Return the panel's picture, (height, width) RGB; words that do not fit end in an ellipsis."""
    em, slider, lines = em_of(size[1]), track(size), Lines(size)
    sliding = not state.step and not state.told
    bottom = slider.middle - 2.2 * em if sliding else float(size[1])
    key = _key_places(scene, size, bottom, em) if sliding else []
    if sliding:
        _slider(lines, slider, state.explode, em)
    for fit, x, y in key:
        lines.field((x, y, x + CHIP * em, y + 2.2 * em), fit, PITCH * em)
    picture = lines.over(Image.new("RGBA", size, (*rgb(tints.PAPER), 255)))
    writer = ImageDraw.Draw(picture)
    for fit, x, y in key:
        for row, (words, weight) in enumerate(((fit.word, "Bold"), (gaps_of(fit), "Regular"))):
            place = x + (CHIP + 0.4) * em, y + (row * LEADING - 0.05) * em
            writer.text(place, words, font=font(em, weight), fill=rgb(tints.TEXT))
    if sliding:
        words = f"taken apart: {state.explode:.0%}"
        writer.text((0.8 * em, slider.middle - 1.9 * em), words, font=font(em, "Bold"), fill=rgb(tints.TEXT))
    _words(writer, told(state, scene, materials), size[0], min([bottom, *(y for _, _, y in key)]), em)
    return picture.convert("RGB")


def _key_places(scene: Scene, size: tuple[int, int], bottom: float, em: int) -> list[tuple[Fit, float, float]]:
    """Return each word of the key with the upper left corner of its field, in two columns over `bottom`."""
    if not scene.joints:
        return []
    top = bottom - 2 * 2.6 * em - 0.4 * em
    return [(fit, 0.8 * em + i % 2 * (size[0] - em) / 2, top + i // 2 * 2.6 * em) for i, fit in enumerate(scene.scale)]


def tag_of(joint: Joint, em: int) -> Image.Image:
    """Return the words of a joint as a small picture to lay over its mark: RGB, the worst one light on ink."""
    note = Note(lines=(*("worst fit",) * joint.worst, joint.words), fit=joint.fit, worst=joint.worst, marks=())
    width, height = (round(side) for side in note_size(note, em))
    size, box = (width + 4, height + 4), (2.0, 2.0, width + 2.0, height + 2.0)
    lines = Lines(size)
    lines.plate((0, 0, *size), 0, tints.QUIET)
    note_plate(lines, note, box, em, on_right=True)
    picture = lines.over(Image.new("RGBA", size, (*rgb(tints.PAPER), 255)))
    note_words(ImageDraw.Draw(picture), note, box, em, on_right=True)
    return picture.convert("RGB")


def apart(
    wanted: list[tuple[float, float]], sizes: list[tuple[int, int]], room: tuple[float, float, float, float]
) -> list[tuple[float, float]]:
    """Return places near to those wanted, where rectangles lie in a room and none over another.

    Parameters
    ----------
    wanted : list of (float, float)
        Upper left corners, pixels.
    sizes : list of (int, int)
        Widths and heights, pixels.
    room : (float, float, float, float)
        Left, top, right, bottom; it must be higher than all rectangles on top of each other.
    """
    left, top, right, bottom = room
    found: list[tuple[float, float]] = []
    for (over_x, y), (width, height) in zip(wanted, sizes, strict=True):
        x = min(max(over_x, left), right - width)
        over = [(b, sizes[i][1]) for i, (a, b) in enumerate(found) if a < x + width and x < a + sizes[i][0]]
        free = [y, top, bottom - height, *(b - height for b, _ in over), *(b + high for b, high in over)]
        usable = [
            at
            for at in free
            if top <= at <= bottom - height and not any(b < at + height and at < b + high for b, high in over)
        ]
        found.append((x, min(usable, key=lambda at: abs(at - y))))
    return found


def told(state: State, scene: Scene, materials: dict[str, str]) -> list[tuple[str, Weight]]:
    """Return the panel's paragraphs with their weight; an empty one parts what does not belong together."""
    if state.told:
        return [("Keys", "Bold"), *((f"{key.cap}  {key.words}", "Regular") for key in KEYS)]
    title, *rest = heading(state, scene)
    found: list[tuple[str, Weight]] = [(title, "Bold"), *((line, "Regular") for line in rest)]
    if state.picked in {part.name for part in scene.parts}:
        name, *facts = part_words(str(state.picked), scene, materials)
        found += [("", "Regular"), (name, "Bold"), *((line, "Regular") for line in facts)]
        return found
    return [*found, ("", "Regular"), (_HINT, "Regular")]


def _words(
    writer: ImageDraw.ImageDraw, paragraphs: list[tuple[str, Weight]], width: float, bottom: float, em: int
) -> None:
    y = 0.7 * em
    for words, weight in paragraphs:
        for line in wrapped(words, em, (width - 1.6 * em) * (0.9 if weight == "Bold" else 1.0)):
            if y + 2 * LEADING * em > bottom:
                writer.text((0.8 * em, y), "…", font=font(em, "Bold"), fill=rgb(tints.TEXT))
                return
            writer.text((0.8 * em, y), line, font=font(em, weight), fill=rgb(tints.TEXT))
            y += LEADING * em
        y += (0.1 if words and len(paragraphs) > 16 else 0.35) * em


def _slider(lines: Lines, slider: Track, explode: float, em: int) -> None:
    thick, knob = 0.1 * em, 0.5 * em
    place = slider.left + explode * (slider.right - slider.left)
    lines.plate((slider.left, slider.middle - thick, slider.right, slider.middle + thick), thick, tints.QUIET)
    lines.plate((slider.left, slider.middle - 2 * thick, place, slider.middle + 2 * thick), thick, tints.INK)
    upright = (place - 0.6 * knob, slider.middle - 1.3 * knob, place + 0.6 * knob, slider.middle + 1.3 * knob)
    lines.plate(upright, 0.3 * knob, tints.INK)
