"""The flat plaque as a machine cuts it: holes, outline, wording, bend line, and what people read beside it.

up : the face that is up on the machine, and later on the lid's side of the plaque: the one inside the bend where the
     leg turns up, the one outside it where the leg hangs down

The sheet lies with its wording upright: x along the wording. So the flat leg is below where the leg turns up, and above
where it hangs down. The wording is read from over the lid, or from outside the box where the leg hangs; it is never
mirrored.
"""

from __future__ import annotations

import math
from itertools import chain
from textwrap import wrap
from typing import TYPE_CHECKING

from assembly.model.design import Plaque
from assembly.outline.contours import Contour, Drawing, Layer, Line, Point, Words, box_of, moved
from assembly.outline.glyphs import width
from assembly.outline.kerf import inside, outside
from assembly.outline.lettering import lettering
from assembly.planning.cautions import machine_cautions
from assembly.text import decimal, mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.nominal.plaque import BentPlaque
    from assembly.outline.contours import Shape

BAR = 100.0  # mm
_HEIGHT, _LEADING, _BELOW = 2.5, 2.2, 8.0  # of notes: letters and lines in letter heights, and mm under the part
_LETTERS = 105  # in a line of notes, at most


def plaque_drawing(plaque: BentPlaque, *, name: str, wording: str, kerf: float) -> Drawing:
    """Return the flat plaque, the path of the beam beside its edges by half the kerf.

    Parameters
    ----------
    plaque : BentPlaque
        The plaque as drawn.
    name : str
        What the box is called.
    wording : str
        What is engraved on the standing leg.
    kerf : float
        Width of the cut, mm; 0 where the machine allows for it.

    Raises
    ------
    InputError
        If the wording does not fit or can't be written, or the kerf is as wide as a hole.
    """
    loops = lettering(wording, width=plaque.width, straight=plaque.upright_straight, set_back=plaque.setback)
    foot = plaque.developed - plaque.upright_straight if plaque.up else 0.0
    engraved = (moved(loop, 1.0, (0.0, foot)) for loop in loops)
    bend = _on_sheet(plaque, 0.0, plaque.bend_line)[1]
    holes = (
        (name, inside(name, _on_sheet(plaque, along, up), diameter, kerf))
        for name, along, up, diameter in plaque.flat_holes
    )
    run: tuple[tuple[Layer, str, Shape], ...] = (
        *((Layer.ENGRAVE, "wording", loop) for loop in engraved),
        (Layer.BEND, "bend line", Line(start=(0.0, bend), end=(plaque.width, bend))),
        *((Layer.CUT, name, hole) for name, hole in holes),
        (Layer.CUT, "outline", outside(plaque.width, plaque.developed, kerf)),
    )
    contours = tuple(Contour(layer=layer, name=each, shape=shape) for layer, each, shape in run)
    return Drawing(title=f"{name}: plaque", contours=(*contours, *beside(contours, _notes(plaque, name, kerf))))


def _on_sheet(plaque: BentPlaque, along: float, up: float) -> Point:
    """Return where a place of the flat sheet is on the drawing; `up` is from the flat leg's free edge."""
    if plaque.up:
        return plaque.width / 2 + along, up
    return plaque.width / 2 - along, plaque.developed - up


def _notes(plaque: BentPlaque, name: str, kerf: float) -> tuple[str, ...]:
    turned = decimal(round(math.degrees(plaque.angle), 3))
    edge, way = ("lower", "inside") if plaque.up else ("upper", "outside")
    size = f"{decimal(plaque.width)} by {mm(round(plaque.developed, 2))}"
    line = f"Bend line {mm(round(plaque.bend_line, 2))} from the {edge} edge"
    return (
        f"{name}: plaque, flat, {size}, from {mm(plaque.thickness)} acrylic",
        kerf_words(kerf),
        f"This side up on the machine: it will be {way} the bend",
        f"{line}, marked lightly or not at all: {turned} degrees round an inside radius of {mm(plaque.inside_radius)}",
        f"The flat size counts on k = {decimal(plaque.neutral_share)}{_whence(plaque.neutral_share)}",
    )


def _whence(neutral_share: float) -> str:
    """Return where k is from: what a design without one counts on is assumed, any other is the design's own."""
    assumed = neutral_share == Plaque.model_fields["neutral_share"].default
    return ": an assumption until test strips have told it" if assumed else ", as the design's file says"


def kerf_words(kerf: float) -> str:
    """Return what the paths of a drawing allow for."""
    if not kerf:
        return "True sizes: the machine must allow for its kerf"
    return f"Cut paths lie half a kerf of {mm(kerf)} outside edges and inside holes"


def beside(contours: Sequence[Contour], notes: Sequence[str]) -> tuple[Contour, ...]:
    """Return a bar of `BAR`, notes and what can hurt at the machine, under contours, for people alone."""
    left, bottom, _, _ = box_of(tuple(contours))
    below = bottom - _BELOW
    shapes: list[Shape] = [Line(start=(left, below), end=(left + BAR, below))]
    shapes += [Line(start=(x, below - 2.0), end=(x, below + 2.0)) for x in (left, left + BAR)]
    hurts = chain.from_iterable(wrap(words, _LETTERS) for words in machine_cautions())
    lines = (f"For people: no machine runs these words or the bar, which is {mm(BAR)} long", *notes, *hurts)
    for number, text in enumerate(lines):
        place = left, below - 2.0 - _HEIGHT * (1.5 + _LEADING * number)
        shapes.append(Words(text=text, place=place, height=_HEIGHT, wide=_HEIGHT * width(text)))
    return tuple(Contour(layer=Layer.REFERENCE, name="reference", shape=shape) for shape in shapes)
