"""The picture around the drawing, laid out before anything is drawn: title above, labels beside, key below or beside.

note     : what a label says (see `viewer.lettering`)
anchor   : a place well inside what is seen, where the leader line ends (see `viewer.anchors`)
key      : what the patterns stand for; in a wide picture it stands in a panel at the right, under the close-up
close-up : the lap of the worst joint, larger (see `viewer.closeup`)
narrow   : too narrow for every label: the worst joint alone is labelled or, without joints, the parts by their names

Nothing here needs a graphics library: where all words stand is known before a picture is drawn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from viewer.anchors import arranged, dots_of, places_of
from viewer.closeup import CloseUp, close_up
from viewer.labels import Columns, lay_out
from viewer.lettering import CHIP, LEADING, Note, em_of, note_size, wrapped
from viewer.view import fitted

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from viewer.fits import Fit
    from viewer.scene import Scene
    from viewer.tints import FloatArray
    from viewer.view import View

Box = tuple[float, float, float, float]  # left, top, right, bottom; pixels

_KEY = "How a joint fits, by its largest gap; glue closes up to {limit:g} mm."
_HIDDEN = "A ring ends a line to what is hidden."
_LEAST_DRAWING = 0.3  # share of the width beside the panel that the labels must leave for the drawing
_NARROW = 12.0  # ems that the labels must leave for the drawing in a narrow picture
_LEAST_HEIGHT = 8.0  # ems that title and key must leave for the drawing
_FIELD_WIDE = 8.8  # ems; a word of the key with its gaps
PANEL, _APART = 14.5, 1.5  # ems: width of the panel, and what parts it from the labels
_BESIDE_PANEL = 22.0  # ems; a picture is wide if labels and panel leave so much for the drawing
_CLOSE = 10.4  # ems; height of the close-up with its head
TITLE = 1.5  # ems; size of the title's letters
FIELD = 2.2  # ems; height of a field of the key
_LINE = 2.6  # ems from one field of the key to the next below it


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """What the patterns stand for, laid out."""

    lines: tuple[str, ...]  # the sentences over it
    left: float
    top: float
    fields: tuple[tuple[Fit, float, float], ...]  # each word with the upper left corner of its field, pixels
    wide: float  # of the room for the sentences, pixels

    def without_rings(self, em: float) -> Key:
        """Return the key of a picture in which no line ends in a ring."""
        lines = tuple(wrapped(" ".join(self.lines).removesuffix(_HIDDEN), round(em), self.wide))
        return replace(self, lines=lines, top=self.top + (len(self.lines) - len(lines)) * LEADING * em)

    def box(self, em: float, right: float) -> Box:
        """Return the room that it takes up, out to `right`."""
        return self.left, self.top, right, max(y for _, _, y in self.fields) + FIELD * em


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A picture laid out: what is said where, and the view that fits between."""

    scene: Scene
    size: tuple[int, int]
    em: int
    margin: float
    title: tuple[str, ...]  # in lines that fit
    caption: tuple[str, ...]  # the same
    notes: tuple[Note, ...]
    columns: Columns
    view: View
    anchors: FloatArray  # (n, 2) where the notes' leaders end, pixels
    hidden: NDArray[np.bool_]  # (n,) whether what a note tells is hidden
    ports: FloatArray  # (n, 2) where they start
    on_right: NDArray[np.bool_]  # (n,)
    key: Key | None
    close: CloseUp | None

    def caption_top(self) -> float:
        """Return where the caption begins."""
        return self.margin + TITLE * LEADING * len(self.title) * self.em

    def words_bottom(self) -> float:
        """Return where the caption ends."""
        return self.caption_top() + LEADING * len(self.caption) * self.em

    def plate(self, index: int) -> Box:
        """Return the plate of a note."""
        (x, y), (width, height) = self.ports[index].tolist(), note_size(self.notes[index], self.em)
        left = x if self.on_right[index] else x - width
        return left, y - height / 2, left + width, y + height / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class _Words:
    """What is told beside the labels."""

    title: tuple[str, ...]
    caption: tuple[str, ...]
    key: Key | None
    close: CloseUp | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Room:
    """What is left for labels and drawing."""

    left: float
    right: float
    top: float
    bottom: float
    one_side: bool  # labels stand at the right only

    def columns(self, widest: float, em: float) -> Columns:
        """Return the columns for labels that are at most so wide."""
        return Columns(
            left=self.left if self.one_side else self.left + widest,
            right=self.right - widest,
            top=self.top,
            bottom=self.bottom,
            gap=0.22 * em,
            right_only=self.one_side,
        )


def planned(scene: Scene, size: tuple[int, int]) -> Sheet:
    """Return the layout of a picture of a scene.

    Raises
    ------
    InputError
        If the picture is too narrow or too low, so that words would leave no room for the drawing.
    """
    (width, height), em = size, em_of(size[1])
    margin = 1.0 * em
    title = tuple(wrapped(scene.title, round(TITLE * em), width - 2 * margin, "Bold"))
    caption = tuple(line for part in scene.caption for line in wrapped(part, em, width - 2 * margin))
    top = margin + ((TITLE * len(title) + len(caption)) * LEADING + 0.5) * em
    notes = notes_of(scene)
    narrow = width < _need(notes, em)
    if narrow:
        notes = _fewer(scene, notes)
    widest = max(note_size(note, em)[0] for note in notes)
    key, close = _key(scene, em, size), None
    if width - 2 * (margin + widest) >= (_BESIDE_PANEL + PANEL + _APART) * em:
        key, close = _panel(scene, em, size, top) or (key, None)
    right = width - margin if close is None else close.frame[0] - _APART * em
    below = height - margin if key is None or close else key.top - 0.7 * em
    need = math.ceil(2 * margin + widest + _NARROW * em)
    if width < need or below - top < _LEAST_HEIGHT * em:
        least = max(need, math.ceil(1.1 * width) if below - top < _LEAST_HEIGHT * em else need)
        msg = f"size: {width} × {height} is too narrow for its words; make it at least {least} wide or less high"
        raise InputError(msg)
    room = _Room(left=margin, right=right, top=top, bottom=below, one_side=narrow)
    return _labelled(scene, size, notes, room, _Words(title=title, caption=caption, key=key, close=close))


def _need(notes: tuple[Note, ...], em: int) -> int:
    """Return the width that labels on both sides and the drawing between them need, pixels."""
    widest = max(note_size(note, em)[0] for note in notes)
    return math.ceil(2 * (em + widest) / (1 - _LEAST_DRAWING))


def _fewer(scene: Scene, notes: tuple[Note, ...]) -> tuple[Note, ...]:
    """Return the labels of a narrow picture: the worst joint or, where no joints are shown, the names of the parts."""
    if scene.joints:
        return tuple(note for note in notes if note.worst)
    return tuple(replace(note, lines=note.lines[:1]) for note in notes)


def _labelled(
    scene: Scene,
    size: tuple[int, int],
    notes: tuple[Note, ...],
    room: _Room,
    words: _Words,
) -> Sheet:
    """Return a sheet with its labels in columns beside the drawing."""
    em = em_of(size[1])
    sizes = np.array([note_size(note, em) for note in notes])
    columns = room.columns(float(sizes[:, 0].max()), em)
    inner = np.array([[columns.left + 1.2 * em, room.top], [columns.right - 1.2 * em, room.bottom]])
    view = fitted(scene.corners(), scene.direction, size, inner)
    places, hidden = places_of(scene, view, notes, em)
    if not scene.joints:  # without a key that tells what a ring means, what is hidden has no label
        kept = np.flatnonzero(~hidden).tolist()
        notes, places = tuple(notes[i] for i in kept), [places[i] for i in kept]
        sizes, hidden = sizes[kept], hidden[kept]
    anchors, layout = arranged(places, sizes[:, 1], dots_of(notes), columns, em)
    key = words.key
    return Sheet(
        scene=scene,
        size=size,
        em=em,
        margin=1.0 * em,
        title=words.title,
        caption=words.caption,
        notes=notes,
        columns=columns,
        view=view,
        anchors=anchors,
        hidden=hidden,
        ports=layout.ports,
        on_right=layout.on_right,
        key=key if key is None or hidden.any() else key.without_rings(em),
        close=words.close,
    )


def bare(sheet: Sheet, view: View) -> Sheet:
    """Return a sheet without labels and close-up, the drawing seen in another view."""
    none = np.empty((0, 2))
    layout = lay_out(none, np.empty(0), sheet.columns)
    return replace(
        sheet,
        notes=(),
        view=view,
        anchors=none,
        hidden=np.empty(0, dtype=np.bool_),
        ports=layout.ports,
        on_right=layout.on_right,
        key=None if sheet.key is None else sheet.key.without_rings(sheet.em),
        close=None,
    )


def notes_of(scene: Scene) -> tuple[Note, ...]:
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


def _key(scene: Scene, em: int, size: tuple[int, int]) -> Key | None:
    """Return the key along the bottom of a picture whose joints are marked."""
    if not scene.joints:
        return None
    (width, height), margin = size, 1.0 * em
    wide = width - 2 * margin
    lines, count = wrapped(_told(scene), em, wide), len(scene.scale)
    across = count if wide >= count * _FIELD_WIDE * em else 2
    foot = height - margin - FIELD * em - (math.ceil(count / across) - 1) * _LINE * em
    fields = tuple(
        (fit, margin + i % across * wide / across, foot + i // across * _LINE * em) for i, fit in enumerate(scene.scale)
    )
    return Key(lines=tuple(lines), left=margin, top=_over(foot, lines, em), fields=fields, wide=wide)


def _told(scene: Scene) -> str:
    return f"{_KEY.format(limit=scene.glue_limit)} {_HIDDEN}"


def _over(foot: float, lines: list[str], em: int) -> float:
    """Return where the sentences over the fields begin."""
    return foot - (0.3 + LEADING * len(lines)) * em


def _panel(scene: Scene, em: int, size: tuple[int, int], top: float) -> tuple[Key, CloseUp] | None:
    """Return key and close-up in the panel at the right, from `top` down; None without a worst joint or room."""
    (width, height), margin = size, 1.0 * em
    left = width - margin - PANEL * em
    lines = wrapped(_told(scene), em, PANEL * em)
    foot = height - margin - FIELD * em - (len(scene.scale) - 1) * _LINE * em
    fields = tuple((fit, left, foot + row * _LINE * em) for row, fit in enumerate(scene.scale))
    key = Key(lines=tuple(lines), left=left, top=_over(foot, lines, em), fields=fields, wide=PANEL * em)
    close = close_up(scene, em, (left, top, width - margin, top + _CLOSE * em))
    return (key, close) if close is not None and close.bottom(em) + 0.5 * em <= key.top else None


def gaps_of(fit: Fit) -> str:
    """Return the gaps of a word, as the key prints them."""
    if math.isinf(fit.up_to):
        return f"over {fit.over:g} mm"
    return f"{fit.over:g} to {fit.up_to:g} mm"


def words_from(field: tuple[Fit, float, float], em: float) -> tuple[float, float]:
    """Return where the words of a field of the key begin, pixels."""
    return field[1] + (CHIP + 0.4) * em, field[2] - 0.05 * em
