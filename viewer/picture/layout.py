"""The picture around the drawing, laid out before anything is drawn: title above, labels beside, key below or beside.

note     : what a label says (see `viewer.picture.lettering`)
anchor   : a place well inside what is seen, where the leader line ends (see `viewer.picture.leaders`)
key      : what the patterns stand for; in a wide picture it stands in a panel at the right, under the close-up
close-up : the lap of the worst joint, larger (see `viewer.picture.closeup`)
upright  : a good deal higher than wide, such as a page of A4: letters go by its width, and key and close-up stand
           side by side under the drawing
narrow   : too narrow for every label: the worst joint alone is labelled or, without joints, the parts by their names

Nothing here needs a graphics library: where all words stand is known before a picture is drawn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.nominal.frame import corner_words
from viewer.picture.closeup import HEAD_HIGH, CloseUp, close_up
from viewer.picture.dimensions import MEASURED, DrawnMeasure, Taken, drawn_measures
from viewer.picture.drawn_plan import HIGH as PLAN_HIGH
from viewer.picture.drawn_plan import DrawnPlan, drawn_plan
from viewer.picture.labels import Columns, lay_out
from viewer.picture.leaders import arranged, dots_of, places_of
from viewer.picture.legend import legend_of, level_key
from viewer.picture.lettering import LEADING, Note, Rectangle, em_of, note_size, wrapped
from viewer.scene.camera import fitted
from viewer.scene.scene import labels_of

if TYPE_CHECKING:
    from assembly.arrays import BoolArray, FloatArray
    from viewer.picture.legend import Legend
    from viewer.scene.camera import View
    from viewer.scene.scene import Caption, Scene

_LEAST_DRAWING = 0.3  # share of the width beside the panel that the labels must leave for the drawing
_NARROW = 12.0  # ems that the labels must leave for the drawing in a narrow picture
_LEAST_HEIGHT = 8.0  # ems that title and key must leave for the drawing
PANEL, _APART = 14.5, 1.5  # ems: width of the panel, and what parts it from the labels
_BESIDE_PANEL = 22.0  # ems; a picture is wide if labels and panel leave so much for the drawing
_UPRIGHT = 1.2  # height over width from which a picture is upright
_ACROSS = 0.83  # of its width, which gives the letters of an upright picture as its height does of others
_CLOSE = 10.4  # ems; height of the close-up with its head
_GAP, _TIGHT = 0.22, 0.04  # ems between two labels; and where they would not fit otherwise
TITLE = 1.5  # ems; size of the title's letters
ACTION = 1.25  # ems; size of the letters that tell what to do in a step


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureLayout:
    """A picture laid out: what is said where, and the view that fits between."""

    scene: Scene
    size: tuple[int, int]
    em: int
    margin: float
    title: tuple[str, ...]  # in lines that fit
    caption: tuple[str, ...]  # the same
    action: tuple[int, int]  # first line of the caption that tells what to do, set larger, and how many do
    careful: tuple[int, int]  # first line of the caption that tells what can hurt, and how many do
    notes: tuple[Note, ...]
    columns: Columns
    view: View
    anchors: FloatArray  # (n, 2) where the notes' leaders end, pixels
    hidden: BoolArray  # (n,) whether what a note tells is hidden
    ports: FloatArray  # (n, 2) where they start
    on_right: BoolArray  # (n,)
    key: Legend | None
    close: CloseUp | None
    measures: tuple[DrawnMeasure, ...] = ()
    plan: DrawnPlan | None = None

    def caption_top(self) -> float:
        """Return where the caption begins."""
        return self.margin + TITLE * LEADING * len(self.title) * self.em

    def line_top(self, row: int) -> float:
        """Return where a line of the caption begins; after the last, where the caption ends."""
        return self.caption_top() + LEADING * _rows_high(row, self.action) * self.em

    def words_bottom(self) -> float:
        """Return where the caption ends."""
        return self.line_top(len(self.caption))

    def is_action(self, row: int) -> bool:
        """Return whether a line of the caption tells what to do."""
        first, count = self.action
        return first <= row < first + count

    def careful_box(self) -> Rectangle | None:
        """Return the upright bar beside what can hurt, None where nothing is said."""
        first, count = self.careful
        if not count:
            return None
        top = self.line_top(first) + 0.1 * self.em
        left = self.margin - 0.55 * self.em
        return left, top, left + 0.2 * self.em, top + LEADING * count * self.em

    def plate(self, index: int) -> Rectangle:
        """Return the plate of a note."""
        (x, y), (width, height) = self.ports[index].tolist(), note_size(self.notes[index], self.em)
        left = x if self.on_right[index] else x - width
        return left, y - height / 2, left + width, y + height / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class _Words:
    """What is written beside the labels."""

    title: tuple[str, ...]
    caption: tuple[str, ...]
    action: tuple[int, int]
    careful: tuple[int, int]
    key: Legend | None
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
            gap=_GAP * em,
            right_only=self.one_side,
        )


def planned(scene: Scene, size: tuple[int, int]) -> PictureLayout:
    """Return the layout of a picture of a scene.

    Raises
    ------
    InputError
        If the picture is too narrow or too low, so that words would leave no room for the drawing.
    """
    (width, height), em = size, letters_of(size)
    margin = 1.0 * em
    title = tuple(wrapped(scene.title, round(TITLE * em), width - 2 * margin, "Bold"))
    caption, action, careful = _caption(scene.caption, em, width - 2 * margin)
    top = margin + ((TITLE * len(title) + _rows_high(len(caption), action)) * LEADING + 0.5) * em
    notes = notes_of(scene)
    narrow = width < _need(notes, em)
    if narrow:
        notes = _fewer(scene, notes)
    widest = max(note_size(note, em)[0] for note in notes)
    key, close = level_key(scene, em, size), None
    if _is_upright(size):
        key, close = _foot(scene, em, size) or (key, None)
    elif width - 2 * (margin + widest) >= (_BESIDE_PANEL + PANEL + _APART) * em:
        key, close = _panel(scene, em, size, top) or (key, None)
    beside = close is not None and not _is_upright(size)
    right = close.frame[0] - _APART * em if close and beside else width - margin
    below = height - margin if key is None or beside else key.top - 0.7 * em
    if close and not beside:
        below = min(below, close.frame[1] - HEAD_HIGH * em - 0.7 * em)
    below -= PLAN_HIGH * em if scene.plan else 0.0
    need = math.ceil(2 * margin + widest + _NARROW * em)
    if width < need or below - top < _LEAST_HEIGHT * em:
        least = max(need, math.ceil(1.1 * width) if below - top < _LEAST_HEIGHT * em else need)
        msg = f"size: {width} × {height} is too narrow for its words; make it at least {least} wide or less high"
        raise InputError(msg)
    room = _Room(left=margin, right=right, top=top, bottom=below, one_side=narrow)
    return _labelled(
        scene,
        size,
        em,
        notes,
        room,
        _Words(title=title, caption=caption, action=action, careful=careful, key=key, close=close),
    )


def _caption(words: Caption, em: int, wide: float) -> tuple[tuple[str, ...], tuple[int, int], tuple[int, int]]:
    """Return a caption in lines that fit; of those on what to do and on what can hurt the first, and how many."""
    before = [line for part in words.before for line in wrapped(part, em, wide)]
    action = wrapped(words.action, round(ACTION * em), wide, "Bold") if words.action else []
    parts = [wrapped(part, em, wide) for part in words.paragraphs[len(words.before) + bool(words.action) :]]
    lines = (*before, *action, *(line for part in parts for line in part))
    care = len(parts[-1]) if words.care else 0
    return lines, (len(before), len(action)), (len(lines) - care, care)


def _rows_high(rows: int, action: tuple[int, int]) -> float:
    """Return how high the first rows of a caption are, in lines of plain letters."""
    first, count = action
    return rows + (ACTION - 1) * min(max(rows - first, 0), count)


def labels_alone(scene: Scene, size: tuple[int, int], em: int, notes: tuple[Note, ...]) -> PictureLayout:
    """Return the layout of a drawing with its labels and nothing else: no title, no words under it, no key.

    Raises
    ------
    InputError
        If the labels are higher than the picture.
    """
    room = _Room(left=0.0, right=float(size[0]), top=0.0, bottom=float(size[1]), one_side=False)
    return _labelled(
        scene, size, em, notes, room, _Words(title=(), caption=(), action=(0, 0), careful=(0, 0), key=None, close=None)
    )


def letters_of(size: tuple[int, int]) -> int:
    """Return the size of a picture's letters: by its height or, where it is upright, by its width; pixels."""
    return em_of(math.ceil(_ACROSS * size[0]) if _is_upright(size) else size[1])


def _is_upright(size: tuple[int, int]) -> bool:
    return size[1] >= _UPRIGHT * size[0]


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
    em: int,
    notes: tuple[Note, ...],
    room: _Room,
    words: _Words,
) -> PictureLayout:
    """Return a sheet with its labels in columns beside the drawing."""
    sizes = np.array([note_size(note, em) for note in notes])
    columns = room.columns(float(sizes[:, 0].max()), em)
    beside = MEASURED * em if scene.measures or scene.holes else 0.0
    inner = np.array(
        [
            [columns.left + 1.2 * em + beside, room.top + beside],
            [columns.right - 1.2 * em - beside, room.bottom - beside],
        ]
    )
    view = fitted(scene.corners(), scene.direction, size, inner)
    places = places_of(scene, view, notes, em)
    choices = [some.all for some in places]
    if not scene.joints:  # without a key that tells what a ring means, what is hidden has no label
        kept = [i for i, some in enumerate(places) if len(some.seen)]
        notes, places, sizes = tuple(notes[i] for i in kept), [places[i] for i in kept], sizes[kept]
        choices = [some.seen for some in places]
    try:
        anchors, layout = arranged(choices, sizes[:, 1], dots_of(notes), columns, em)
    except InputError:  # a caption of a line more leaves them less height: they move together as far as they may
        columns = replace(columns, gap=_TIGHT * em)
        anchors, layout = arranged(choices, sizes[:, 1], dots_of(notes), columns, em)
    hidden = np.array([some.hides(anchor) for some, anchor in zip(places, anchors, strict=True)], dtype=np.bool_)
    key = words.key
    sheet = PictureLayout(
        scene=scene,
        size=size,
        em=em,
        margin=1.0 * em,
        title=words.title,
        caption=words.caption,
        action=words.action,
        careful=words.careful,
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
    if scene.plan:
        plan = drawn_plan(scene.plan, em, (room.left, room.right), size[1] - 1.0 * em)
        sheet = replace(sheet, plan=plan)
    return replace(sheet, measures=drawn_measures(scene, view, _taken(sheet), em))


def _taken(sheet: PictureLayout) -> Taken:
    """Return what sizes and names must keep clear of: labels, their leaders and dots, and all that is not drawing."""
    edge = 0.5 * sheet.em
    plates = [sheet.plate(i) for i in range(len(sheet.notes))]
    dots = [(x - edge, y - edge, x + edge, y + edge) for x, y in sheet.anchors.tolist()]
    foot = sheet.columns.bottom if sheet.plan else sheet.size[1] - edge
    room = (edge, sheet.words_bottom() + edge, sheet.size[0] - edge, foot)
    return Taken(room=room, plates=(*plates, *dots), leaders=np.stack([sheet.ports, sheet.anchors], axis=1))


def bare(sheet: PictureLayout, view: View) -> PictureLayout:
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
        measures=(),
        plan=None,
    )


def notes_of(scene: Scene) -> tuple[Note, ...]:
    """Return a note for each part, equal ones together, and for each joint; washers are told with their screws."""
    notes = [Note(lines=lines, marks=tuple(i + 1 for i in members)) for lines, members in labels_of(scene.parts)]
    for index, joint in enumerate(scene.joints):
        lines = ("worst fit",) * joint.worst + (corner_words(joint.corner), f"{joint.face} {joint.words}")
        marks = (len(scene.parts) + index + 1,)
        aim = 0.3 if joint.face == "cheek" else 0.7  # apart, where the two lie side by side
        notes.append(Note(lines=lines, fit=joint.fit, worst=joint.worst, marks=marks, aim=aim))
    return tuple(notes)


def _panel(scene: Scene, em: int, size: tuple[int, int], top: float) -> tuple[Legend, CloseUp] | None:
    """Return key and close-up in the panel at the right, from `top` down; None without a worst joint or room."""
    (width, height), margin = size, 1.0 * em
    left = width - margin - PANEL * em
    key = legend_of(scene, em, (left, PANEL * em), height - margin)
    close = close_up(scene, em, (left, top, width - margin, top + _CLOSE * em))
    return (key, close) if close is not None and close.bottom(em) + 0.5 * em <= key.top else None


def _foot(scene: Scene, em: int, size: tuple[int, int]) -> tuple[Legend, CloseUp] | None:
    """Return key and close-up side by side along the foot of an upright picture; None without a worst joint."""
    (width, height), margin = size, 1.0 * em
    left, right, bottom = margin, margin + PANEL * em, height - margin
    close = close_up(scene, em, (left, 0.0, right, _CLOSE * em))
    if close is None:
        return None
    top = bottom - close.bottom(em)  # as high as its words need
    close = close_up(scene, em, (left, top, right, top + _CLOSE * em))
    key = legend_of(scene, em, (right + _APART * em, width - margin - right - _APART * em), bottom, 2)
    return (key, close) if close is not None else None
