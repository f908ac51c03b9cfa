"""The bar of buttons and sliders along the window's foot: where each lies, what it does, and its picture.

Whatever a button does a key does too, and a button is known by its key's name. Pixels, x to the right and y down from
the window's upper left corner. No library of the screen is loaded here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np
from PIL import Image, ImageDraw

from assembly.solids.as_made import MOST_TIMES
from viewer.picture.lettering import Rectangle, em_of, font, rgb, width_of
from viewer.scene import tints
from viewer.window.state import exploded, with_times

if TYPE_CHECKING:
    from viewer.window.state import Drawn, State


_ROW, _EDGE = 2.2, 0.5  # ems: height of a row, and what is left free at the window's sides
_BETWEEN, _PAD = 0.5, 0.45  # ems: between neighbours, and beside a button's words
_LEAST_TRACK = 8.0  # ems
_NARROWEST = 25  # ems; in a window that is not so wide the bar's letters are smaller
_DRAWN: tuple[tuple[str, Drawn, str], ...] = (
    ("1", "nominal", "nominal"),
    ("2", "p95", "95 in 100"),
    ("3", "limit", "limit case"),
    ("4", "likeliest", "bad box"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Button:
    """A button; `key` is the key that does the same."""

    key: str
    words: str
    box: Rectangle
    on: bool  # what it says is what is shown
    sought: bool  # what it says is being looked for
    usable: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Slider:
    """A slider: its track from `left` to `right`, of which the part up to `most`, a share, can be had."""

    name: Literal["errors", "apart"]
    box: Rectangle  # where a click counts
    left: float
    right: float
    share: float  # where its knob stands, 0 to 1
    most: float = 1.0
    usable: bool = True

    def share_at(self, x: float) -> float:
        """Return what a place on the track stands for, brought between 0 and 1."""
        return min(1.0, max(0.0, (x - self.left) / (self.right - self.left)))


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlWords:
    """Words between the controls."""

    words: str
    box: Rectangle
    middle: bool  # of their box, not at its left edge
    usable: bool  # whether what they speak of can be used


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """The whole bar."""

    top: int
    size: tuple[int, int]
    em: int
    parts: tuple[Button | Slider | ControlWords, ...]

    def at(self, x: float, y: float) -> Button | Slider | None:
        """Return the control at a place of the window, or None; a slider that can't be used is none."""
        for part in self.parts:
            left, top, right, bottom = part.box
            if isinstance(part, ControlWords) or (isinstance(part, Slider) and not part.usable):
                continue
            if left <= x <= right and top <= y <= bottom:
                return part
        return None

    def slider(self, name: str) -> Slider:
        """Return a slider by its name."""
        return next(part for part in self.parts if isinstance(part, Slider) and part.name == name)


def slid(state: State, name: str, share: float) -> State:
    """Return the state after a slider is set to a share of its track; errors go by whole numbers."""
    if name == "apart":
        return exploded(state, round(share, 2))
    return with_times(state, round(1 + share * (MOST_TIMES - 1)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Item:
    """Something in a row before it has its place: how wide it is, ems, and what it is made into."""

    wide: float
    what: Literal["words", "button", "slider"]
    name: str
    words: str = ""
    on: bool = False
    sought: bool = False
    usable: bool = True
    middle: bool = False


@lru_cache(maxsize=4)
def bar(state: State, window: tuple[int, int]) -> Bar:
    """Return the bar for a window's size, (width, height) pixels: groups of controls in as few rows as they fit in."""
    em = max(1, min(em_of(window[1]), int(window[0] / _NARROWEST)))
    room = window[0] / em - 2 * _EDGE
    rows = _rows(_groups(state, em), room)
    height = round((len(rows) * _ROW + 0.3) * em)
    top = window[1] - height
    parts: list[Button | Slider | ControlWords] = []
    for number, row in enumerate(rows):
        parts += _placed(row, state, room, top + (0.3 + number * _ROW) * em, em)
    return Bar(top=top, size=(window[0], height), em=em, parts=tuple(parts))


def _groups(state: State, em: int) -> list[list[_Item]]:
    """Return what must stay together; as wide as its longest words, so that nothing moves when words change."""
    steps, step = state.bounds.steps, state.step
    at_step = f"step {step} of {steps}" if step else f"{steps} steps"
    box_shown = not step
    errors = "errors not drawn" if state.drawn == "nominal" else f"errors × {state.times:g}"
    drawn = [_drawn_button(state, em, *row) for row in _DRAWN]
    return [
        [_words(em, "drawn"), *drawn[:2]],
        drawn[2:],
        [
            _words(em, errors, "errors not drawn", usable=box_shown),
            _Item(wide=_LEAST_TRACK, what="slider", name="errors", usable=box_shown),
        ],
        [
            _words(em, f"apart {state.explode:.0%}", "apart 100%", usable=box_shown),
            _Item(wide=_LEAST_TRACK, what="slider", name="apart", usable=box_shown),
        ],
        [
            _words(em, "making"),
            _button(em, "b", "◀", usable=step > 0),
            _words(em, at_step, f"step {steps} of {steps}", middle=True),
            _button(em, "n", "▶", usable=step < steps),
            _button(em, "0", "box", on=box_shown),
        ],
        [
            _words(em, "seen from"),
            _button(em, "5", "above"),
            _button(em, "6", "front"),
            _button(em, "7", "side"),
            _button(em, "h", "usual"),
        ],
        [
            _button(em, "f", "marks", on=state.marked, usable=box_shown),
            _button(em, "question", "?", on=state.keys_shown),
        ],
    ]


def _drawn_button(state: State, em: int, key: str, drawn: Drawn, words: str) -> _Item:
    """Return the button of a box: on where it is shown, sought where it shall be and is still looked for."""
    is_drawn, shown = not state.step and state.drawn == drawn, state.shown or state.drawn
    usable = drawn == "nominal" or state.bounds.most_times(drawn) >= 1
    found = _button(em, key, words, on=not state.step and shown == drawn, usable=usable)
    return replace(found, sought=is_drawn and shown != drawn)


def _words(em: int, words: str, widest: str = "", *, middle: bool = False, usable: bool = True) -> _Item:
    wide = width_of(widest or words, em, "Bold") / em
    return _Item(wide=wide, what="words", name="", words=words, middle=middle, usable=usable)


def _button(em: int, key: str, words: str, *, on: bool = False, usable: bool = True) -> _Item:
    wide = width_of(words, em) / em + 2 * _PAD
    return _Item(wide=wide, what="button", name=key, words=words, on=on, usable=usable)


def _wide(groups: list[list[_Item]]) -> float:
    """Return how wide groups in a row are: twice as far from each other as the items inside one; ems."""
    items = [item for group in groups for item in group]
    return sum(item.wide for item in items) + _BETWEEN * (len(items) - 1 + len(groups) - 1)


def _rows(groups: list[list[_Item]], room: float) -> list[list[list[_Item]]]:
    """Return groups one after another in rows no wider than `room`, ems."""
    rows = [groups[:1]]
    for group in groups[1:]:
        if _wide([*rows[-1], group]) > room:
            rows.append([])
        rows[-1] = [*rows[-1], group]
    return rows


def _placed(
    row: list[list[_Item]], state: State, room: float, top: float, em: int
) -> list[Button | Slider | ControlWords]:
    """Return the parts of a row; its sliders share what room is left over, and without one its last group has it."""
    sliders = sum(item.what == "slider" for group in row for item in group)
    spare = max(0.0, room - _wide(row))
    x, placed = _EDGE, []
    for group in row:
        x += spare if group is row[-1] and not sliders and len(row) > 1 else 0.0
        for item in group:
            wide = item.wide + (spare / sliders if item.what == "slider" else 0.0)
            placed.append(_made(item, state, (x * em, top, (x + wide) * em, top + (_ROW - 0.3) * em), em))
            x += wide + _BETWEEN
        x += _BETWEEN
    return placed


def _made(item: _Item, state: State, box: Rectangle, em: int) -> Button | Slider | ControlWords:
    if item.what == "words":
        return ControlWords(words=item.words, box=box, middle=item.middle, usable=item.usable)
    if item.what == "button":
        how = {"on": item.on, "sought": item.sought, "usable": item.usable}
        return Button(key=item.name, words=item.words, box=box, **how)
    left, right = box[0] + 0.6 * em, box[2] - 0.6 * em
    if item.name == "apart":
        return Slider(name="apart", box=box, left=left, right=right, share=state.explode, usable=item.usable)
    times = 1.0 if state.drawn == "nominal" else state.times
    most = state.bounds.most_times("p95" if state.drawn == "nominal" else state.drawn)
    share, reach = ((value - 1) / (MOST_TIMES - 1) for value in (times, most))
    most_share = max(0.0, reach)
    return Slider(name="errors", box=box, left=left, right=right, share=share, most=most_share, usable=item.usable)


def bar_picture(shown: Bar) -> Image.Image:
    """Return the bar's picture, (height, width) RGB."""
    picture = Image.new("RGB", shown.size, rgb(tints.PAPER))
    writer = ImageDraw.Draw(picture)
    writer.rectangle((0, 0, shown.size[0], max(1, shown.em // 12)), fill=rgb(tints.QUIET))
    for part in shown.parts:
        left, top, right, bottom = part.box
        box = (round(left), round(top - shown.top), round(right), round(bottom - shown.top))
        if isinstance(part, Slider):
            _draw_slider(writer, part, box, shown.em)
        elif isinstance(part, Button):
            _draw_button(writer, part, box, shown.em)
        else:
            x, anchor = ((box[0] + box[2]) / 2, "mm") if part.middle else (box[0], "lm")
            place = (x, (box[1] + box[3]) / 2)
            colour = rgb(tints.TEXT if part.usable else tints.QUIET)
            writer.text(place, part.words, font=font(shown.em, "Bold"), fill=colour, anchor=anchor)
    return picture


def _draw_button(writer: ImageDraw.ImageDraw, button: Button, box: tuple[int, int, int, int], em: int) -> None:
    """Draw a button: solid where it is on, outlined where it is not, twice where it is sought, not at all where off."""
    rim, ink, paper = max(1, em // 10), rgb(tints.INK), rgb(tints.PAPER)
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    if button.usable:
        writer.rectangle(box, fill=ink if button.on else paper, outline=ink, width=rim)
    if button.usable and button.sought:
        writer.rectangle(
            (box[0] + 2 * rim, box[1] + 2 * rim, box[2] - 2 * rim, box[3] - 2 * rim), outline=ink, width=rim
        )
    colour = paper if button.on and button.usable else ink if button.usable else rgb(tints.QUIET)
    if button.words in "◀▶":
        way, reach = (-1 if button.words == "◀" else 1), 0.4 * em
        corners = [
            (middle[0] + way * reach, middle[1]),
            *((middle[0] - way * reach, middle[1] + y * reach) for y in (-1, 1)),
        ]
        writer.polygon(corners, fill=colour)
    else:
        writer.text(middle, button.words, font=font(em, "Regular"), fill=colour, anchor="mm")


def _draw_slider(writer: ImageDraw.ImageDraw, slider: Slider, box: tuple[int, int, int, int], em: int) -> None:
    """Draw a slider: a thick line up to its knob, a thin one beyond, dots where no more can be had or it is off."""
    middle, thin, ink = (box[1] + box[3]) / 2, max(1.0, 0.06 * em), rgb(tints.INK)
    long = slider.right - slider.left
    place, end = slider.left + slider.share * long, slider.left + slider.most * long * slider.usable
    writer.rectangle((slider.left, middle - thin, end, middle + thin), fill=rgb(tints.QUIET))
    for x in np.arange(end, slider.right, 0.4 * em).tolist():
        writer.rectangle((x, middle - thin / 2, x + thin, middle + thin / 2), fill=rgb(tints.QUIET))
    if not slider.usable:
        return
    for x in (slider.left, end):
        writer.rectangle((x - thin, middle - 0.3 * em, x + thin, middle + 0.3 * em), fill=rgb(tints.QUIET))
    writer.rectangle((slider.left, middle - 2.5 * thin, place, middle + 2.5 * thin), fill=ink)
    writer.rectangle((place - 0.3 * em, middle - 0.7 * em, place + 0.3 * em, middle + 0.7 * em), fill=ink)
