"""The picture around the drawing: title above, labels beside, key below; laid out first, lettered when drawn.

note   : what a label says (see `viewer.lettering`)
mark   : the number of what is seen at a pixel (see `viewer.drawing`)
anchor : a place well inside what is seen, where the leader line ends
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw
from scipy import ndimage

from assembly.errors import InputError
from viewer import tints
from viewer.labels import Columns, lay_out
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
from viewer.view import fitted

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from viewer.fits import Fit
    from viewer.scene import Scene
    from viewer.tints import FloatArray
    from viewer.view import View

_KEY = "How a joint fits, by its largest gap; glue closes up to {limit:g} mm."
_HIDDEN = "A ring ends a line to what is hidden."
_LEAST_DRAWING = 0.3  # share of the picture's width that the labels must leave for the drawing
_LEAST_WIDTH = 44  # ems; the key's four words need them


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A picture laid out: what is said where, and the view that fits between."""

    scene: Scene
    size: tuple[int, int]
    em: int
    margin: float
    caption: tuple[str, ...]  # in lines that fit
    notes: tuple[Note, ...]
    columns: Columns
    key_top: float
    view: View


def planned(scene: Scene, size: tuple[int, int]) -> Sheet:
    """Return the layout of a picture of a scene.

    Raises
    ------
    InputError
        If the picture is too narrow, so that labels would leave no room for the drawing.
    """
    (width, height), em = size, em_of(size[1])
    margin = 1.0 * em
    caption = tuple(line for part in scene.caption for line in wrapped(part, em, width - 2 * margin))
    notes = _notes(scene)
    widest = max(note_size(note, em)[0] for note in notes)
    left, right = margin + widest, width - margin - widest
    need = math.ceil(max(2 * left / (1 - _LEAST_DRAWING), _LEAST_WIDTH * em))
    if width < need:
        msg = f"size: {width} × {height} is too narrow for its labels; make it at least {need} wide or less high"
        raise InputError(msg)
    top = margin + (1.5 * LEADING + len(caption) * LEADING + 0.5) * em
    key = _key_lines(scene, em, width - 2 * margin, hidden=True)
    key_top = height - margin - (2.5 + LEADING * len(key)) * em * bool(scene.joints)
    columns = Columns(left=left, right=right, top=top, bottom=key_top - 0.7 * em, gap=0.22 * em)
    room = np.array([[left + 1.2 * em, top], [right - 1.2 * em, columns.bottom]])
    return Sheet(
        scene=scene,
        size=size,
        em=em,
        margin=margin,
        caption=caption,
        notes=notes,
        columns=columns,
        key_top=key_top,
        view=fitted(scene.corners(), scene.direction, size, room),
    )


def _notes(scene: Scene) -> tuple[Note, ...]:
    """Return a note for each part, equal ones together, and for each joint."""
    kinds: dict[str, list[int]] = {}
    for index, part in enumerate(scene.parts):
        kinds.setdefault(part.kind, []).append(index)
    notes = []
    for kind, members in kinds.items():
        name = scene.parts[members[0]].title if len(members) == 1 else f"{len(members)} {kind}s"
        notes.append(Note(lines=(name, scene.parts[members[0]].words), marks=tuple(i + 1 for i in members)))
    for index, joint in enumerate(scene.joints):
        lines = ("worst fit",) * joint.worst + (joint.name, joint.words)
        marks = (len(scene.parts) + index + 1,)
        aim = 0.3 if joint.face == "cheek" else 0.7  # apart, where the two lie side by side
        notes.append(Note(lines=lines, fit=joint.fit, worst=joint.worst, marks=marks, aim=aim))
    return tuple(notes)


def lettered(sheet: Sheet, colours: NDArray[np.uint8], marks: NDArray[np.intp], *, transparent: bool) -> Image.Image:
    """Return the finished picture.

    Parameters
    ----------
    sheet : Sheet
        The layout.
    colours : (height, width, 4) uint8
        The drawing.
    marks : (height, width) int
        What is seen at each pixel.
    transparent : bool
        Whether the ground stays transparent; words then stand on white plates.
    """
    anchors, hidden = _anchors(sheet, marks)
    sizes = np.array([note_size(note, sheet.em) for note in sheet.notes]).reshape(-1, 2)
    layout = lay_out(anchors, sizes[:, 1], sheet.columns)
    boxes = [
        _box(port, size, on_right=bool(right))
        for port, size, right in zip(layout.ports, sizes, layout.on_right, strict=True)
    ]
    lines = Lines(sheet.size)
    order = sorted(range(len(sheet.notes)), key=lambda i: sheet.notes[i].worst)  # the worst on top
    for i in order:
        note = sheet.notes[i]
        colour, wide = (tints.INK, 0.13) if note.worst else (tints.QUIET, 0.065)
        lines.leader(layout.ports[i], anchors[i], wide * sheet.em, colour, hidden=bool(hidden[i]))
        note_plate(lines, note, boxes[i], sheet.em, on_right=bool(layout.on_right[i]))
    _ground_plates(lines, sheet, transparent=transparent)
    if sheet.scene.joints:
        _key_fields(lines, sheet)
    picture = lines.over(Image.fromarray(colours, "RGBA"))
    writer = ImageDraw.Draw(picture)
    for i in order:
        note_words(writer, sheet.notes[i], boxes[i], sheet.em, on_right=bool(layout.on_right[i]))
    _title(writer, sheet)
    if sheet.scene.joints:
        _key_words(writer, sheet, hidden=bool(hidden.any()))
    return picture if transparent else picture.convert("RGB")


def _box(port: FloatArray, size: FloatArray, *, on_right: bool) -> tuple[float, float, float, float]:
    """Return the plate of a label: left, top, right, bottom."""
    x, y = port.tolist()
    width, height = size.tolist()
    left = x if on_right else x - width
    return left, y - height / 2, left + width, y + height / 2


def _anchors(sheet: Sheet, marks: NDArray[np.intp]) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Return the anchor of each note, (n, 2) pixels, and whether what it speaks of is hidden."""
    anchors = np.empty((len(sheet.notes), 2))
    hidden = np.zeros(len(sheet.notes), dtype=np.bool_)
    for i, note in enumerate(sheet.notes):
        seen = np.isin(marks, note.marks)
        hidden[i] = not seen.any()
        if hidden[i]:
            anchors[i] = sheet.view.pixels(_middle(sheet.scene, note.marks[0]))
        else:
            anchors[i] = _inmost(seen, note.aim)
    return anchors, hidden


def _inmost(seen: NDArray[np.bool_], aim: float) -> FloatArray:
    """Return x and y of a pixel well inside what is seen, about `aim` of the way down."""
    rows, columns = (np.flatnonzero(seen.any(axis=axis)) for axis in (1, 0))
    depth = ndimage.distance_transform_edt(np.pad(seen[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1], 1))
    inner = np.argwhere(depth >= 0.8 * depth.max())[:, ::-1] - 1.0
    low, high = inner.min(axis=0), inner.max(axis=0)
    wanted = np.array([inner[:, 0].mean(), low[1] + aim * (high[1] - low[1])])
    nearest = inner[np.argmin(np.linalg.norm(inner - wanted, axis=1))]
    return np.asarray(nearest + np.array([columns[0] + 0.5, rows[0] + 0.5]), dtype=np.float64)


def _middle(scene: Scene, mark: int) -> FloatArray:
    """Return the middle of a part or of a joint's first patch: (3,), mm."""
    if mark <= len(scene.parts):
        return np.asarray(scene.placed(mark - 1, scene.parts[mark - 1].points).mean(axis=0), dtype=np.float64)
    patch = scene.joints[mark - len(scene.parts) - 1].patches[0]
    return np.asarray(scene.placed(patch.part, patch.face).mean(axis=0), dtype=np.float64)


def _ground_plates(lines: Lines, sheet: Sheet, *, transparent: bool) -> None:
    """Lay white under title and key, where the ground is not white."""
    if not transparent:
        return
    edge, right = 0.3 * sheet.em, sheet.size[0] - 0.3 * sheet.em
    bottom = sheet.margin + (1.5 + len(sheet.caption)) * LEADING * sheet.em + edge
    lines.plate((edge, edge, right, bottom), edge, tints.PAPER)
    if sheet.scene.joints:
        lines.plate((edge, sheet.key_top - edge, right, sheet.size[1] - edge), edge, tints.PAPER)


def _title(writer: ImageDraw.ImageDraw, sheet: Sheet) -> None:
    large = round(1.5 * sheet.em)
    writer.text((sheet.margin, sheet.margin), sheet.scene.title, font=font(large, "Bold"), fill=rgb(tints.TEXT))
    for row, line in enumerate(sheet.caption):
        y = sheet.margin + (1.5 + row) * LEADING * sheet.em
        writer.text((sheet.margin, y), line, font=font(sheet.em, "Regular"), fill=rgb(tints.TEXT))


def _key_lines(scene: Scene, em: int, width: float, *, hidden: bool) -> list[str]:
    """Return the sentences over the key, in lines that fit; with the one on rings if something is hidden."""
    told = _KEY.format(limit=scene.glue_limit)
    return wrapped(f"{told} {_HIDDEN}" if hidden else told, em, width)


def _key_places(sheet: Sheet) -> list[tuple[Fit, float]]:
    """Return each word of the key with its left edge, pixels."""
    edges = np.linspace(sheet.margin, sheet.size[0] - sheet.margin, len(sheet.scene.scale) + 1)
    return list(zip(sheet.scene.scale, edges[:-1].tolist(), strict=True))


def _key_fields(lines: Lines, sheet: Sheet) -> None:
    em = sheet.em
    for fit, left in _key_places(sheet):
        top = sheet.size[1] - sheet.margin - 2.2 * em
        lines.field((left, top, left + CHIP * em, top + 2.2 * em), fit, PITCH * em)


def _key_words(writer: ImageDraw.ImageDraw, sheet: Sheet, *, hidden: bool) -> None:
    """Set what the key tells: each word over the gaps that it stands for."""
    em = sheet.em
    plain, bold = font(em, "Regular"), font(em, "Bold")
    for row, line in enumerate(_key_lines(sheet.scene, em, sheet.size[0] - 2 * sheet.margin, hidden=hidden)):
        writer.text((sheet.margin, sheet.key_top + row * LEADING * em), line, font=plain, fill=rgb(tints.TEXT))
    for fit, left in _key_places(sheet):
        x, y = left + (CHIP + 0.4) * em, sheet.size[1] - sheet.margin - 2.25 * em
        writer.text((x, y), fit.word, font=bold, fill=rgb(tints.TEXT))
        writer.text((x, y + LEADING * em), gaps_of(fit), font=plain, fill=rgb(tints.TEXT))


def gaps_of(fit: Fit) -> str:
    """Return the gaps of a word, as the key prints them."""
    if math.isinf(fit.up_to):
        return f"over {fit.over:g} mm"
    return f"{fit.over:g} to {fit.up_to:g} mm"
