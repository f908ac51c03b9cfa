"""The page by which a school finds its own k: three strips bent, measured, and looked up; a form and a table.

gain : what both outside legs of a bent strip have more than its length before, A + B - L; it tells k
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from assembly.outline.strip import LEAST_K, MOST_K, STRIPS, WIDTH, strip_rows
from assembly.planning.cautions import cautions, first_cautions
from assembly.text import decimal, mm
from viewer.sheets.flow import Block, columns, flowed, moved, paragraph
from viewer.sheets.frame import Head, content, page
from viewer.sheets.page import PLAIN, SMALL, Pen, Stroke, Words, rectangle, straight
from viewer.sheets.step_list import heading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.outline.strip import Strip
    from viewer.sheets.page import Item, Page, Point

_ROW, _EM = 6.5, 2.6  # mm
_LONGEST_LEG = 30.0  # mm, in the picture
_ONE_READING = 0.1  # mm: what a caliper is read to
_FORM = ("strip", "L", "A", "B", "A + B - L", "k")
_SHARES = (0.12, 0.17, 0.17, 0.17, 0.22, 0.15)  # of the form's width


def strip_pages(strip: Strip, name: str, paper: Point) -> tuple[Page, ...]:
    """Return the page of a design's test strips, or pages where the paper is small."""
    room = content(paper)
    width = columns(room)[0][2] - columns(room)[0][0]
    head = Head(
        title="Test strips: your own k",
        line=f"{name}: {mm(strip.thickness)} acrylic, inside radius {mm(strip.inside_radius)}",
        maker=False,
    )
    found = flowed(_blocks(strip, width), room, room)
    return tuple(page(paper, head, items, f"Page {n} of {len(found)}") for n, items in enumerate(found, 1))


def _blocks(strip: Strip, width: float) -> list[Block]:
    return [
        *_told("What it is for", _purpose(strip), width),
        *_told("Before you start", _careful(), width, SMALL),
        *_told("What to do", [f"{n}. {words}" for n, words in enumerate(_steps(strip), 1)], width),
        _picture(width),
        heading("What you read, mm", width),
        _form(width),
        *_told("Your k", _result(), width),
        *_told("How sure it is", _sure(strip), width),
        heading("k from A + B - L, mm", width),
        _table(strip, width),
    ]


def _told(title: str, texts: Sequence[str], width: float, em: float = PLAIN) -> list[Block]:
    """Return a heading and a block for each text."""
    found = [heading(title, width)]
    for text in texts:
        items, y = paragraph(text, (0.0, 0.0), width, em)
        found.append(Block(items=tuple(items), height=y + 0.9))
    return found


def _purpose(strip: Strip) -> list[str]:
    tenth = mm(round(0.1 / strip.per_mm, 2))
    what = (
        "Sheet that is bent shrinks inside the bend and stretches outside it. k says where between both it keeps its "
        "length: 0 at the inside, 1 at the outside. The flat length of a plaque hangs on it: 0.1 of k is "
        f"{tenth} at a right angle."
    )
    why = (
        "No figure for acrylic bent on a hot line has been found in print; k = 0.5 is an assumption. Three strips of "
        "your own sheet, bent on your own heater, give yours. It holds for this thickness and this radius."
    )
    return [what, why]


def _careful() -> list[str]:
    return [each.words for each in (*first_cautions(), *cautions("hot bend"), *cautions("laser"))]


def _steps(strip: Strip) -> list[str]:
    strips = (
        f"Have {STRIPS} strips, {mm(strip.length)} by {mm(WIDTH)}, cut from the sheet that the plaques will be of "
        "(file test_strip), or saw them and smooth their ends square."
    )
    jig = (
        "Have a jig at hand: a block of wood planed square, one edge rounded to the plaque's inside radius, "
        f"{mm(strip.inside_radius)}."
    )
    heat = (
        "Lay a strip with its bend line over the middle of the hot line. 3 mm sheet takes about 90 s on a strip "
        "heater, thicker sheet longer (common practice, no source). Try over the jig's edge whether it gives."
    )
    bend = (
        "Bend it by 90 degrees over the jig's round edge, until both legs lie on the block. "
        "Hold it there for 30 to 60 s (common practice, no source), and let it cool on the jig."
    )
    reckon = (
        "Work out A + B - L and look up k under it in the table, or reckon k = "
        f"(({decimal(strip.set_back)} - (A + B - L)) / {decimal(math.pi / 2)} - {decimal(strip.inside_radius)}) / "
        f"{decimal(strip.thickness)}."
    )
    return [
        strips,
        "Peel the film off. Measure how long each is, L, with a caliper.",
        jig,
        heat,
        bend,
        "Hold a try square to it. Where light shows at an end of a leg, bend another strip.",
        "Measure both legs, A and B: from each end to the outside of the other leg.",
        reckon,
    ]


def _result() -> list[str]:
    into = (
        "Take the mean of the three. Write it into the design's file, under [plaque]: neutral_share = your mean. It "
        f"must be {decimal(LEAST_K)} to {decimal(MOST_K)}; outside that, measure again. Then export the plaque anew."
    )
    return [into]


def _sure(strip: Strip) -> list[str]:
    # Three readings, each even over its last digit: variance 1/12 each (JCGM 100:2008, 4.3.7, from memory).
    one = strip.per_mm * math.sqrt(3) * _ONE_READING / math.sqrt(12)
    wrong = (
        f"A reading that is 0.1 mm off moves k of its strip by {0.1 * strip.per_mm:.3f}; a bend 1 degree past the "
        f"right angle lowers it by about {-strip.per_degree:.3f}, in all three if it is the jig."
    )
    spread = (
        f"Read to 0.1 mm, one strip's k has a standard uncertainty of {one:.3f}, the mean of three "
        f"{one / math.sqrt(STRIPS):.3f}, the angle left out. If the three lie "
        f"further apart than {4 * one:.2f}, heat and place on the line differed: bend three more."
    )
    return [wrong, spread]


def _form(width: float) -> Block:
    rows = [_FORM, *((str(n), "", "", "", "", "") for n in range(1, STRIPS + 1)), ("mean", "", "", "", "", "")]
    items = [item for n, cells in enumerate(rows) for item in _cells(cells, _SHARES, width, n * _ROW, bold=n == 0)]
    return Block(items=tuple(items), height=_ROW * len(rows) + 1.5)


def _table(strip: Strip, width: float) -> Block:
    """Return the table, its rows in two halves beside each other."""
    rows = strip_rows(strip)
    half, high, gap = math.ceil(len(rows) / 2), 4.6, 6.0
    column = (width - gap) / 2
    items: list[Item] = []
    for number, some in enumerate((rows[:half], rows[half:])):
        texts = [("A + B - L", "k"), *((f"{gain:.1f}", f"{share:.2f}") for gain, share in some)]
        for n, cells in enumerate(texts):
            found = _cells(cells, (0.6, 0.4), column, n * high, bold=n == 0, high=high)
            items += moved(found, (number * (column + gap), 0.0))
    return Block(items=tuple(items), height=high * (half + 1) + 1.5)


def _cells(
    cells: Sequence[str], shares: Sequence[float], width: float, top: float, *, bold: bool, high: float = _ROW
) -> list[Item]:
    """Return one row of a table, each cell in its frame."""
    items: list[Item] = []
    x = 0.0
    for cell, share in zip(cells, shares, strict=True):
        wide = share * width
        items.append(rectangle((x, top, x + wide, top + high), Pen.RULE))
        if cell:
            place = (x + wide / 2, top + high / 2 + 0.36 * _EM)
            items.append(Words(text=cell, place=place, em=_EM, weight="Bold" if bold else "Regular", anchor="middle"))
        x += wide
    return items


def _picture(width: float) -> Block:
    """Return a bent strip from the side with its legs A and B, and how it was before, with L."""
    thick, radius, left, apart = 2.4, 2.4, 10.0, 8.0
    off = radius + thick
    gain = 2 * off - math.pi / 2 * (radius + thick / 2)  # of a strip whose k is one half
    long = min(_LONGEST_LEG, (width - left - apart + gain) / 3)
    foot = long + 4.0
    outer = _quarter((left + off, foot - off), off)
    inner = _quarter((left + off, foot - off), radius)
    ends = ((left + thick, foot - long), (left, foot - long)), ((left + long, foot), (left + long, foot - thick))
    bent = (ends[0][1], *outer, *ends[1], *inner[::-1], ends[0][0], ends[0][1])
    flat, end = left + long + apart, left + long + apart + 2 * long - gain
    items: list[Item] = [
        Stroke(points=bent, pen=Pen.OUTLINE),
        *_size("B", (left - 4.0, foot), (left - 4.0, foot - long)),
        *_size("A", (left, foot + 5.0), (left + long, foot + 5.0)),
        rectangle((flat, foot - thick, end, foot), Pen.OUTLINE),
        straight(((flat + end) / 2, foot - thick - 2.0), ((flat + end) / 2, foot + 2.0), Pen.FOLD),
        *_size("L", (flat, foot + 5.0), (end, foot + 5.0)),
        Words(text="bent", place=(left + long / 2 + 3.0, foot - 8.0), em=SMALL, anchor="middle"),
        Words(text="before", place=((flat + end) / 2, foot - 8.0), em=SMALL, anchor="middle"),
    ]
    return Block(items=tuple(items), height=foot + 9.0)


def _quarter(centre: Point, radius: float) -> tuple[Point, ...]:
    """Return an arc from the left of a centre to under it."""
    turns = (math.pi / 2 * n / 12 for n in range(13))
    return tuple((centre[0] - radius * math.cos(turn), centre[1] + radius * math.sin(turn)) for turn in turns)


def _size(letter: str, start: Point, end: Point) -> list[Item]:
    """Return a size's line with a tick at either end and its letter in the middle."""
    (x0, y0), (x1, y1) = start, end
    upright = x0 == x1
    tick = (1.2, 0.0) if upright else (0.0, 1.2)
    items: list[Item] = [straight(start, end, Pen.DIMENSION)]
    items += [straight((x - tick[0], y - tick[1]), (x + tick[0], y + tick[1]), Pen.DIMENSION) for x, y in (start, end)]
    place = ((x0 + x1) / 2 - (2.6 if upright else 0.0), (y0 + y1) / 2 + (1.0 if upright else 3.6))
    items.append(Words(text=letter, place=place, em=PLAIN, weight="Bold", anchor="middle"))
    return items
