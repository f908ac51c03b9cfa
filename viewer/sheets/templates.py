"""Full-size templates: laps, cable hole, lid and plaque, to cut out and lay or fold on the wood; always at 1:1.

flap : a part of a template that is folded over an edge of the wall
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.planning.lines import hatching
from assembly.text import decimal
from viewer.sheets.flow import moved, paragraph
from viewer.sheets.frame import Head, content
from viewer.sheets.page import HEAD, PLAIN, Pen, Words, extent, rectangle, straight
from viewer.sheets.part_drawing import circle, cross

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.nominal.fittings import Fittings, Hole
    from assembly.nominal.plaque import BentPlaque
    from assembly.planning.marks import Wall
    from viewer.sheets.page import Item, Point

_GRIP = 30.0  # what a lap's template covers beyond its shoulder, mm
_WORDS = 12.0  # over a template: its name and how it is laid on, mm
_APART = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Template:
    """A template with its upper left corner at (0, 0)."""

    name: str
    how: str  # it is laid on
    items: tuple[Item, ...]
    size: Point


def lap_template(wall: Wall) -> Template:
    """Return the template of a lap: the face side between two flaps, for both edges."""
    thick, high, shoulder, deep = wall.thickness, wall.height, wall.shoulder, wall.depth
    wide = shoulder + min(_GRIP, wall.length / 2 - shoulder)
    foot = thick + high
    items: list[Item] = [rectangle((0.0, 0.0, wide, foot + thick), Pen.OUTLINE)]
    items += [straight((0.0, y), (wide, y), Pen.FOLD) for y in (thick, foot)]
    waste = ((0.0, thick - deep), (shoulder, foot + deep))
    items += [straight(a, b, Pen.HATCH) for a, b in hatching(*waste)]
    items += [
        straight((shoulder, thick - deep), (shoulder, foot + deep), Pen.KNIFE),
        straight((0.0, thick - deep), (shoulder, thick - deep), Pen.KNIFE),
        straight((0.0, foot + deep), (shoulder, foot + deep), Pen.KNIFE),
    ]
    items += _along("finished end", (-1.2, thick + high / 2))
    items += _along("shoulder", (shoulder + 4.0, thick + high / 2))
    return Template(
        name="Lap, either end of a lapped wall",
        how="Fold both flaps back. The left edge lies on the finished end, the middle on the face side.",
        items=tuple(items),
        size=(wide, foot + thick),
    )


def cable_template(wall: Wall, hole: Hole, most: float) -> Template:
    """Return the template of the cable hole: the outside between two flaps; its whole length if no more than `most`."""
    thick, high, wide = wall.thickness, wall.height, wall.length
    whole = wide <= most
    wide = wide if whole else 40.0
    middle = (wide / 2, thick + high / 2)
    items: list[Item] = [rectangle((0.0, 0.0, wide, high + 2 * thick), Pen.OUTLINE)]
    items += [straight((0.0, y), (wide, y), Pen.FOLD) for y in (thick, thick + high)]
    items += [straight((middle[0], 0.0), (middle[0], high + 2 * thick), Pen.CENTRE)]
    items += [circle(middle, hole.diameter / 2), *cross(middle, hole.diameter / 2 + 3.0)]
    ends = "Its ends lie on the wall's ends." if whole else "Its chain line lies on the middle of the wall's length."
    return Template(
        name=f"Cable hole, {hole.part}",
        how=f"Fold both flaps back. The middle lies on the outside. {ends}",
        items=tuple(items),
        size=(wide, high + 2 * thick),
    )


def lid_template(fitted: Fittings) -> Template:
    """Return the template of the lid's holes, seen from above."""
    lid = fitted.lid
    return _sheet(
        "Lid, from above",
        "Check it against the lid as it was made: the lid is drawn round its own frame. FRONT lies to the front.",
        (lid.along_x, lid.along_y),
        [((hole.centre[0], hole.centre[1]), hole.diameter) for hole in fitted.holes_of("lid")],
        (lid.along_x / 2, lid.along_y / 2),
        front=True,
    )


def plaque_template(plaque: BentPlaque, holes: Sequence[Hole]) -> Template:
    """Return the template of the flat plaque, its bend line upright; the flat leg's free edge at the left."""
    found = []
    for hole in holes:
        x, y = hole.centre[:2]
        u, v = (x * way[0] + y * way[1] for way in (plaque.towards, plaque.along))
        found.append(((u - (plaque.apex - plaque.flat_leg), -v), hole.diameter))
    made = _sheet(
        "Plaque, flat, from above",
        "The left edge is the flat leg's free edge. The dashes are the bend line.",
        (plaque.developed, plaque.width),
        found,
        (0.0, plaque.width / 2),
        front=False,
    )
    line = straight((plaque.bend_line, 0.0), (plaque.bend_line, plaque.width), Pen.FOLD)
    return Template(name=made.name, how=made.how, items=(*made.items, line), size=made.size)


def _sheet(
    name: str, how: str, size: Point, holes: Sequence[tuple[Point, float]], origin: Point, *, front: bool
) -> Template:
    """Return a template of a sheet with holes at places from `origin`, y up."""
    width, height = size
    items: list[Item] = [rectangle((0.0, 0.0, width, height), Pen.OUTLINE)]
    for (x, y), diameter in holes:
        middle = (origin[0] + x, origin[1] - y)
        items += [circle(middle, diameter / 2), *cross(middle, diameter / 2 + 2.0)]
    if front:
        items.append(Words(text="FRONT", place=(width / 2, height - 4.0), em=PLAIN, weight="Bold", anchor="middle"))
    return Template(name=name, how=how, items=tuple(items), size=size)


def _along(text: str, place: Point) -> list[Item]:
    return [Words(text=text, place=place, em=PLAIN, anchor="middle", turned=True)]


def template_pages(
    templates: Sequence[Template], paper: Point, larger: Sequence[str]
) -> tuple[tuple[Head, Point, tuple[Item, ...]], ...]:
    """Return templates on pages, one under the other; those too large for the paper are named at the end."""
    pages: list[tuple[Point, list[Item]]] = []
    left_out: list[Template] = []
    y = 0.0
    for one in templates:
        size = next((size for size in (paper, paper[::-1]) if _fits(one, size)), None)
        if size is None:
            left_out.append(one)
            continue
        left, top, _, bottom = content(size)
        if not pages or pages[-1][0] != size or y + _high(one, size) > bottom:
            pages.append((size, []))
            y = top
        pages[-1][1].extend(_placed(one, (left, y), size))
        y += _high(one, size) + _APART
    if left_out:
        words = _left_out(left_out, larger)
        left, top, right, bottom = content(paper)
        if not pages or pages[-1][0] != paper or y + 20.0 > bottom:
            pages.append((paper, []))
            y = top
        pages[-1][1].extend(paragraph(words, (left, y), right - left, PLAIN)[0])
    head = Head(
        title="Templates", line="Full size: check the bars first. Cut out along the outlines.", right="Scale 1:1"
    )
    return tuple((head, size, tuple(items)) for size, items in pages)


def _left_out(templates: Sequence[Template], larger: Sequence[str]) -> str:
    names = "; ".join(
        f"{one.name} ({decimal(round(one.size[0], 1))} × {decimal(round(one.size[1], 1))} mm)" for one in templates
    )
    cure = f" Print the sheets on {larger[0]} for more of them." if larger else ""
    return f"Too large for this paper at full size: {names}.{cure}"


def _words(one: Template, width: float) -> tuple[list[Item], float]:
    name, y = paragraph(one.name, (0.0, 0.0), width, HEAD, "Bold")
    how, y = paragraph(one.how, (0.0, y), width, PLAIN)
    return [*name, *how], y + 2.0


def _high(one: Template, size: Point) -> float:
    left, _, right, _ = content(size)
    return _words(one, right - left)[1] + one.size[1]


def _fits(one: Template, size: Point) -> bool:
    left, top, right, bottom = content(size)
    wide = max(one.size[0], extent(one.items)[2]) - min(0.0, extent(one.items)[0])
    return wide <= right - left and _high(one, size) <= bottom - top


def _placed(one: Template, corner: Point, size: Point) -> list[Item]:
    left, _, right, _ = content(size)
    words, y = _words(one, right - left)
    aside = max(0.0, -extent(one.items)[0])
    return moved([*words, *moved(one.items, (aside, y))], corner)
