"""A picture that is laid out, lettered: labels, close-up, key and title over the drawing; set by Pillow."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw

from viewer.picture.dimensions import heads
from viewer.picture.drawn_plan import HEAD
from viewer.picture.layout import ACTION, TITLE
from viewer.picture.legend import FIELD, key_words
from viewer.picture.lettering import CHIP, LEADING, PITCH, Lines, font, note_plate, note_words, rgb
from viewer.scene import tints

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from assembly.letters import Weight
    from viewer.picture.closeup import CloseUp
    from viewer.picture.layout import PictureLayout
    from viewer.picture.legend import Legend

_WIDE, _WORST_WIDE = 0.065, 0.13  # of leaders, ems
_TICK, _MEASURE = 0.05, 0.09  # widths of a size's end lines and of its line with arrows, ems
_FRAME = 0.08  # width of the close-up's frame, ems


def lettered(
    sheet: PictureLayout, colours: NDArray[np.uint8], close: NDArray[np.uint8] | None = None, *, transparent: bool
) -> Image.Image:
    """Return the finished picture.

    Parameters
    ----------
    sheet : Sheet
        The layout.
    colours : (height, width, 4) uint8
        The drawing.
    close : (height, width, 4) uint8, optional
        The drawing of the close-up, where the sheet has one.
    transparent : bool
        Whether the ground stays transparent; words then stand on white plates.
    """
    lines = Lines(sheet.size)
    order = sorted(range(len(sheet.notes)), key=lambda i: sheet.notes[i].worst)  # the worst on top
    for i in order:
        note = sheet.notes[i]
        colour, wide = (tints.INK, _WORST_WIDE) if note.worst else (tints.QUIET, _WIDE)
        lines.leader(sheet.ports[i], sheet.anchors[i], wide * sheet.em, colour, hidden=bool(sheet.hidden[i]))
        note_plate(lines, note, sheet.plate(i), sheet.em, on_right=bool(sheet.on_right[i]))
    _measure_lines(lines, sheet)
    _ground_plates(lines, sheet, transparent=transparent)
    if sheet.key:
        for fit, x, y in sheet.key.fields:
            lines.field((x, y, x + CHIP * sheet.em, y + FIELD * sheet.em), fit, PITCH * sheet.em)
    picture = _with_close(Image.fromarray(colours, "RGBA"), sheet, close)
    picture = lines.over(picture)
    set_words(ImageDraw.Draw(picture), sheet)
    return picture if transparent else picture.convert("RGB")


def set_words(writer: ImageDraw.ImageDraw, sheet: PictureLayout) -> None:
    """Set every word of a picture."""
    for i, note in enumerate(sheet.notes):
        note_words(writer, note, sheet.plate(i), sheet.em, on_right=bool(sheet.on_right[i]))
    if sheet.plan:
        for text, x, y in sheet.plan.words:
            weight: Weight = "Regular" if text == HEAD else "Bold"
            writer.text((x, y), text, font=font(sheet.em, weight), fill=rgb(tints.TEXT), anchor="mm")
    for measure in sheet.measures:
        left, top, right, bottom = measure.box
        middle = ((left + right) / 2, (top + bottom) / 2)
        ink = rgb(tints.INK)
        writer.text(middle, measure.text, font=font(sheet.em, "Bold"), fill=ink, anchor="mm")
    _title(writer, sheet)
    if sheet.key:
        _key_words(writer, sheet.key, sheet.em)
    if sheet.close:
        _close_words(writer, sheet.close, sheet.em)


def _measure_lines(lines: Lines, sheet: PictureLayout) -> None:
    """Draw the plan, and the sizes beside the parts: ends, line, arrows, and a plate under the figure."""
    if sheet.plan:
        for line in sheet.plan.lines:
            lines.stroke(line, _MEASURE * sheet.em, tints.QUIET)
    for measure in sheet.measures:
        for tick in measure.ticks:
            lines.stroke(tick, _TICK * sheet.em, tints.QUIET)
        if len(measure.ticks):
            lines.stroke(measure.line, _MEASURE * sheet.em, tints.INK)
            lines.areas(heads(measure.line, sheet.em), tints.INK)
        if measure.leader is not None:
            lines.stroke(measure.leader, _MEASURE * sheet.em, tints.INK)
            lines.areas(heads(measure.leader, sheet.em)[:1], tints.INK)
        lines.plate(measure.box, 0.2 * sheet.em, tints.PAPER)


def _with_close(picture: Image.Image, sheet: PictureLayout, close: NDArray[np.uint8] | None) -> Image.Image:
    """Return a picture with the close-up laid into its frame."""
    if sheet.close is None or close is None:
        return picture
    left, top, right, bottom = (int(side) for side in sheet.close.frame)
    edge = max(1, round(_FRAME * sheet.em))
    box = (left - edge, top - edge, right + edge - 1, bottom + edge - 1)
    ImageDraw.Draw(picture).rectangle(box, fill=(*rgb(tints.QUIET), 255))
    picture.paste(Image.fromarray(close, "RGBA"), (left, top))
    return picture


def _ground_plates(lines: Lines, sheet: PictureLayout, *, transparent: bool) -> None:
    """Lay white under title, key and the figures of the close-up; under the first two where the ground is clear."""
    em = sheet.em
    if transparent:
        edge = 0.3 * em
        right, foot = sheet.size[0] - edge, sheet.words_bottom() + edge
        lines.plate((edge, edge, right, foot), edge, tints.PAPER)
        if sheet.key:
            left, top, _, bottom = sheet.key.box(em, right)
            lines.plate((left - 2 * edge, top - edge, right, bottom + 2 * edge), edge, tints.PAPER)
        if sheet.close:
            left, top, *_ = sheet.close.frame
            head = (left - 2 * edge, top - 1.4 * em - edge, right, top - edge / 2)
            words = (left - 2 * edge, sheet.close.frame[3] + edge / 2, right, sheet.close.bottom(em) + edge)
            for box in (head, words):
                lines.plate(box, edge / 2, tints.PAPER)
    bar = sheet.careful_box()
    if bar:
        lines.plate(bar, 0.1 * em, tints.INK)
    if sheet.close:
        for figure in sheet.close.figures:
            lines.leader(np.array(figure.port), np.array(figure.corner), _WIDE * em, tints.QUIET, hidden=False)
            lines.plate(figure.box, 0.2 * em, tints.PAPER)


def _set(
    writer: ImageDraw.ImageDraw, place: tuple[float, float], words: str, em: float, weight: Weight = "Regular"
) -> None:
    writer.text(place, words, font=font(round(em), weight), fill=rgb(tints.TEXT))


def _title(writer: ImageDraw.ImageDraw, sheet: PictureLayout) -> None:
    for row, line in enumerate(sheet.title):
        y = sheet.margin + row * TITLE * LEADING * sheet.em
        _set(writer, (sheet.margin, y), line, TITLE * sheet.em, "Bold")
    for row, line in enumerate(sheet.caption):
        place = (sheet.margin, sheet.line_top(row))
        if sheet.is_action(row):
            _set(writer, place, line, ACTION * sheet.em, "Bold")
        else:
            _set(writer, place, line, sheet.em)


def _key_words(writer: ImageDraw.ImageDraw, key: Legend, em: int) -> None:
    """Set what the key tells."""
    for row, line in enumerate(key.lines):
        _set(writer, (key.left, key.top + row * LEADING * em), line, em)
    for each in key_words(key.fields, em):
        _set(writer, each.place, each.words, em, each.weight)


def _close_words(writer: ImageDraw.ImageDraw, close: CloseUp, em: int) -> None:
    left, top, *_ = close.frame
    _set(writer, (left, top - 1.4 * em), close.head, em, "Bold")
    for row, line in enumerate(close.lines):
        _set(writer, (left, close.words_top(em) + row * LEADING * em), line, em)
    for figure in close.figures:
        _set(writer, (figure.box[0] + 0.2 * em, figure.box[1] + 0.05 * em), figure.text, em, "Bold")
