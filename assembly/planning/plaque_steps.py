"""The plaque: cut flat, bent on the hot line and, where the design says so, marked through onto the lid.

flat sheet : the plaque before it is bent, lying where its flat leg will lie

A laser cuts outline and holes from the drawing; by hand, they are marked, scored and snapped with a craft knife, and
drilled. The film stays on until the bend is marked.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from assembly.planning.lid_steps import OPPOSITE, pilot_drilling
from assembly.planning.lines import cross, outline, rim
from assembly.planning.marks import Block, Letter, Line, sheet_waste
from assembly.planning.measures import (
    Datum,
    Size,
    bend_measure,
    bores,
    named,
    plaque_hole_measures,
    sheet_measures,
)
from assembly.planning.needs import Item
from assembly.planning.steps import Step, StepKind
from assembly.planning.strokes import width
from assembly.planning.wall_faces import Face, on_parts
from assembly.text import decimal, mm

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.nominal.fittings import Fittings, Hole
    from assembly.nominal.plaque import BentPlaque

_PLAQUE = "plaque"
_plaque = partial(Step, stage=_PLAQUE, part=_PLAQUE, parts=(_PLAQUE,), faces=on_parts((_PLAQUE,), Face.TOP))


def flat_sheet(plaque: BentPlaque, name: str, beyond: float) -> Block:
    """Return the flat sheet as a block that stands out `beyond` (mm) on every side."""
    start, half = plaque.apex - plaque.flat_leg, plaque.width / 2
    along, towards = np.array(plaque.along), np.array(plaque.towards)
    ends = np.array(
        [
            (half + beyond) * side * along + u * towards
            for side, u in ((-1, start - beyond), (1, start + plaque.developed + beyond))
        ]
    )
    (x0, y0), (x1, y1) = ends.min(axis=0).tolist(), ends.max(axis=0).tolist()
    z = plaque.underside
    return Block(part=_PLAQUE, name=name, low=(x0, y0, z), high=(x1, y1, z + plaque.thickness))


def plaque_steps(design: Design, fitted: Fittings, sheet: Block) -> tuple[Step, ...]:
    """Return the cutting of the plaque from `sheet` and its bending, and the holes that wait for it."""
    drawn, plaque, holes = design.plaque, fitted.plaque, fitted.holes_of(_PLAQUE)
    assert drawn
    assert plaque
    through, laser = design.lid_holes == "marked through", drawn.cut == "laser"
    return (
        *(_by_laser(plaque, holes, drawn.wording, sheet) if laser else _by_hand(plaque, holes, sheet)),
        *_bent(plaque, drawn.wording if laser else ""),
        *(_marked_through(plaque, fitted, drawn.side) if through else ()),
    )


def _by_laser(plaque: BentPlaque, holes: tuple[Hole, ...], wording: str, sheet: Block) -> tuple[Step]:
    engraved = (f'Have "{wording}" engraved on the part that will stand.',) if wording else ()
    finished = flat_sheet(plaque, "finished", 0.0)
    cut = _plaque(
        kind=StepKind.CUT,
        tool="laser cutter",
        operation="laser",
        sizes=(*_flat_sizes(plaque), *_hole_sizes(plaque, holes)),
        measures=plaque_hole_measures(plaque, holes),
        lines=(*outline(finished, Face.TOP), *(line for hole in holes for line in rim(hole))),
        letters=_engraving(plaque, wording),
        removed=sheet_waste(sheet, finished),
        drilled=holes,
        sentences=(
            f"Have the flat plaque cut on the laser cutter, {_flat_size(plaque)}, from {mm(plaque.thickness)} acrylic.",
            *_placed(plaque),
            "The technician's file has it so.",
            *engraved,
        ),
    )
    return (cut,)


def _flat_sizes(plaque: BentPlaque) -> tuple[Size, Size]:
    return Size(of="length", mm=plaque.developed), Size(of="width", mm=plaque.width)


def _flat_size(plaque: BentPlaque) -> str:
    return f"{mm(round(plaque.developed, 1))} by {mm(plaque.width)}"


def _hole_sizes(plaque: BentPlaque, holes: tuple[Hole, ...]) -> tuple[Size, ...]:
    """Return the sizes of the plaque's holes, and how far they are from its free edge and from its middle."""
    places = (
        size
        for _, along, up, _ in plaque.flat_holes
        for size in (
            Size(of="distance", mm=up, datum=Datum.FREE_EDGE),
            *((Size(of="distance", mm=abs(along), datum=Datum.CENTRE),) if along else ()),
        )
    )
    return (*bores(holes), *dict.fromkeys(places))


def _placed(plaque: BentPlaque) -> tuple[str, ...]:
    """Return in words how wide the plaque's holes are and where they are."""
    *stem, _, (_, half, up, wide) = plaque.flat_holes
    edge = "that edge" if stem else "the flat leg's free edge"
    return (
        *(
            f"The stem hole is {mm(size)}, right through, {mm(at)} from the flat leg's free edge, in the middle."
            for _, _, at, size in stem
        ),
        f"The two screw holes are {mm(wide)}, right through.",
        f"They lie {mm(up)} from {edge}, {mm(half)} to either side of the middle.",
    )


def _engraving(plaque: BentPlaque, wording: str) -> tuple[Letter, ...]:
    """Return the wording on the standing leg of the flat sheet, read with its free edge up, or down where it hangs."""
    if not wording:
        return ()
    sign = 1.0 if plaque.up else -1.0
    (along, up) = (tuple(sign * c for c in (*way, 0.0)) for way in (plaque.along, plaque.towards))
    u = plaque.apex - plaque.flat_leg + plaque.developed - plaque.upright_straight / 2
    x, y, _ = plaque.place(0.0, u, 0.0)
    letter = Letter(
        part=_PLAQUE,
        face=Face.TOP,
        text=wording,
        place=(x, y, plaque.underside + plaque.thickness),
        along=(along[0], along[1], 0.0),
        up=(up[0], up[1], 0.0),
        height=min(0.4 * plaque.upright_straight, 0.9 * plaque.width / width(wording)),
        kind="engraving",
    )
    return (letter,)


def _by_hand(plaque: BentPlaque, holes: tuple[Hole, ...], sheet: Block) -> tuple[Step, Step, Step]:
    finished = flat_sheet(plaque, "finished", 0.0)
    return (
        _plaque(
            kind=StepKind.MARK,
            tool="felt pen and rule",
            operation="plaque outline",
            sizes=(*_flat_sizes(plaque), *_hole_sizes(plaque, holes)),
            lines=(*outline(finished, Face.TOP), *(line for hole in holes for line in cross(hole))),
            measures=(*sheet_measures(finished, top=True), *plaque_hole_measures(plaque, holes)),
            sentences=(
                f"On the film of {mm(plaque.thickness)} acrylic draw the flat plaque, {_flat_size(plaque)}.",
                f"Draw a cross for each of its {('two', 'three')[len(holes) - 2]} holes.",
                *_placed(plaque),
            ),
        ),
        _plaque(
            kind=StepKind.CUT,
            tool="craft knife and safety rule",
            besides=(Item.ABRASIVE_PAPER,),
            operation="score",
            removed=sheet_waste(sheet, finished),
            sentences=(
                (
                    "Score along each line several times, from edge to edge of the sheet, and snap the waste off over "
                    "the edge of the bench."
                ),
                "Smooth the edges with wet abrasive paper.",
            ),
        ),
        _plaque(
            kind=StepKind.DRILL,
            tool="drill",
            operation="drill",
            sizes=_hole_sizes(plaque, holes),
            measures=plaque_hole_measures(plaque, holes),
            drilled=holes,
            besides=(Item.SCRAP_WOOD, Item.CLAMPS),
            also=("drill acrylic",),
            sentences=(
                "Back the sheet with scrap wood, clamp both, and drill it through at every cross.",
                *_placed(plaque),
            ),
        ),
    )


def _bent(plaque: BentPlaque, wording: str) -> tuple[Step, Step]:
    way, line = "up" if plaque.up else "down", mm(round(plaque.bend_line, 1))
    angle = decimal(round(math.degrees(plaque.angle), 3))
    step = partial(_plaque, sizes=(Size(of="distance", mm=plaque.bend_line, datum=Datum.FREE_EDGE),))
    middle = sum(place for _, _, place, _ in plaque.flat_holes) / len(plaque.flat_holes)
    edge = "the edge nearest the holes" if middle < plaque.developed / 2 else "the edge farther from the holes"
    return (
        step(
            kind=StepKind.MARK,
            tool="felt pen and rule",
            operation="bend line",
            lines=(_bend_line(plaque),),
            measures=(bend_measure(plaque),),
            names=named("bend line", (_bend_line(plaque),), Face.TOP),
            also=("sheet edges",),
            sentences=(
                "Take off the film.",
                f"From {edge} measure {line} and draw the bend line right across, with a felt pen that wipes off.",
            ),
        ),
        step(
            kind=StepKind.BEND,
            tool="line bender",
            besides=(Item.JIG,),
            operation="bend",
            bent=tuple(_stood(plaque, letter) for letter in _engraving(plaque, wording)),
            sentences=(
                "Lay the sheet with the bend line over the hot strip.",
                "Try whether it gives with the edge of the jig, never with a finger.",
                f"Bend it {way} by {angle} degrees and let it cool in the jig.",
                "Then wipe the line off.",
            ),
        ),
    )


def _stood(plaque: BentPlaque, letter: Letter) -> Letter:
    """Return the wording of the flat sheet where it is when the leg has been bent."""
    turn = np.array([math.cos(plaque.angle), math.sin(plaque.angle)])
    u, h = plaque.profile()[6 if plaque.up else 3] + plaque.upright_straight / 2 * turn
    sign = 1.0 if plaque.up else -1.0
    x, y = (sign * turn[0] * c for c in plaque.towards)
    return replace(
        letter, face=Face.STANDING_LEG, place=plaque.place(0.0, u, h), up=(float(x), float(y), float(turn[1]))
    )


def _bend_line(plaque: BentPlaque) -> Line:
    u, z = plaque.apex - plaque.flat_leg + plaque.bend_line, plaque.underside + plaque.thickness
    (x0, y0, _), (x1, y1, _) = (plaque.place(side * plaque.width / 2, u, 0.0) for side in (-1, 1))
    return Line(part=_PLAQUE, kind="bend line", face=Face.TOP, start=(x0, y0, z), end=(x1, y1, z))


def _laid(plaque: BentPlaque, fitted: Fittings, edge: str) -> tuple[str, tuple[Size]]:
    """Return how a plaque without a stem hole is laid on the lid, its bend beside an edge: in words, and as a size."""
    x, y = plaque.towards
    off = abs(x) * fitted.lid.along_x / 2 + abs(y) * fitted.lid.along_y / 2 - (plaque.flat_leg - plaque.apex)
    far = f"the lid's {OPPOSITE[edge]} edge"
    at = f"{mm(round(off, 1))} from {far}" if round(off, 1) else f"level with {far}"
    words = f"its flat edge {at}, with as much lid beside it on either side"
    return words, (Size(of="distance", mm=off, datum=Datum.LID_EDGE),)


def _marked_through(plaque: BentPlaque, fitted: Fittings, edge: str) -> tuple[Step, Step]:
    pilots, within = fitted.holes_of("lid", "pilot"), plaque.screw_hole / 2
    placed = "its stem hole over the centre hole"
    sizes: tuple[Size, ...] = ()
    if plaque.stem_hole is None:
        placed, sizes = _laid(plaque, fitted, edge)
    marking = Step(
        stage="holes",
        kind=StepKind.MARK,
        part="lid",
        parts=("lid", _PLAQUE),
        tool="bradawl",
        operation="hole_mark",
        faces=on_parts(("lid",), Face.TOP),
        sizes=sizes,
        lines=tuple(line for hole in pilots for line in cross(hole, within)),
        sentences=(f"Lay the plaque on the lid, {placed}, and prick the lid through the middle of both screw holes.",),
    )
    return marking, pilot_drilling(plaque, pilots)
