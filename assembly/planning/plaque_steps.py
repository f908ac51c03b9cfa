"""The plaque: cut flat, bent on the hot line and, where the design says so, marked through onto the lid.

flat sheet : the plaque before it is bent, lying where its flat leg will lie

A laser cuts outline and holes from the drawing; by hand, they are marked, scored and snapped with a craft knife, and
drilled. The film stays on until the bend is marked.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from assembly.planning.cautions import HANDS
from assembly.planning.lid_steps import OPPOSITE, marked_through_drilled
from assembly.planning.lines import cross, outline, rim
from assembly.planning.marks import Block, Letter, Line, sheet_waste
from assembly.planning.measures import Datum, Size, bend_measure, bores, named, plaque_hole_measures, sheet_measures
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


def _by_laser(plaque: BentPlaque, holes: tuple[Hole, ...], wording: str, sheet: Block) -> tuple[Step, ...]:
    finished = flat_sheet(plaque, "finished", 0.0)
    step = partial(_plaque, tool="laser cutter")
    cut = step(
        kind=StepKind.CUT,
        operation="laser",
        sizes=(*_flat_sizes(plaque), _thick(plaque)),
        lines=outline(finished, Face.TOP),
        measures=sheet_measures(finished, top=True),
        removed=sheet_waste(sheet, finished),
        action=(
            f"Have the flat plaque cut on the laser cutter, {_flat_size(plaque)}, from {mm(plaque.thickness)} acrylic."
        ),
        notes=("The technician's file has outline, holes and wording: the machine makes them in one job.",),
    )
    holed = tuple(
        step(
            kind=StepKind.CUT,
            operation="laser holes",
            sizes=(*bores(some.holes), *some.sizes),
            lines=tuple(line for hole in some.holes for line in rim(hole)),
            measures=plaque_hole_measures(plaque, some.holes),
            drilled=some.holes,
            action=f"Have {some.called} cut right through, {some.wide}, {some.place}.",
            notes=some.notes,
        )
        for some in _alike(plaque, holes)
    )
    if not wording:
        return (cut, *holed)
    engraved = step(
        kind=StepKind.MARK,
        operation="engrave",
        letters=_engraving(plaque, wording),
        action="Have the wording engraved on the part of the plaque that will stand.",
        notes=(f'It is "{wording}".',),
    )
    return (cut, *holed, engraved)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Alike:
    """Holes of the plaque that are made with one bit: the stem hole, or both screw holes; and what is said of them."""

    holes: tuple[Hole, ...]
    sizes: tuple[Size, ...]  # how far they are from the free edge and from the middle
    called: str
    wide: str
    place: str
    notes: tuple[str, ...]


def _alike(plaque: BentPlaque, holes: tuple[Hole, ...]) -> tuple[_Alike, ...]:
    """Return the stem hole, where there is one, and the screw holes, with where they are in words."""
    *stem, _, (_, half, up, wide) = plaque.flat_holes
    edge = "the flat leg's free edge"
    of_stem = tuple(
        _Alike(
            holes=holes[:1],
            sizes=(Size(of="distance", mm=at, datum=Datum.FREE_EDGE),),
            called="the stem hole",
            wide=f"{mm(size)} wide",
            place=f"{mm(at)} from {edge}",
            notes=("It is in the middle of the width.",),
        )
        for _, _, at, size in stem
    )
    screws = _Alike(
        holes=holes[-2:],
        sizes=(
            Size(of="distance", mm=up, datum=Datum.FREE_EDGE),
            Size(of="distance", mm=half, datum=Datum.CENTRE),
        ),
        called="the two screw holes",
        wide=f"{mm(wide)} wide",
        place=f"{mm(up)} from {edge}",
        notes=(f"They are {mm(half)} to either side of the middle of the width.",),
    )
    return (*of_stem, screws)


def _thick(plaque: BentPlaque) -> Size:
    return Size(of="thickness", mm=plaque.thickness)


def _flat_sizes(plaque: BentPlaque) -> tuple[Size, Size]:
    return Size(of="length", mm=plaque.developed), Size(of="width", mm=plaque.width)


def _flat_size(plaque: BentPlaque) -> str:
    return f"{mm(round(plaque.developed, 1))} by {mm(plaque.width)}"


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


def _by_hand(plaque: BentPlaque, holes: tuple[Hole, ...], sheet: Block) -> tuple[Step, ...]:
    return (*_drawn_by_hand(plaque, holes), *_cut_by_hand(plaque, sheet), *_drilled_by_hand(plaque, holes))


def _drawn_by_hand(plaque: BentPlaque, holes: tuple[Hole, ...]) -> tuple[Step, ...]:
    finished = flat_sheet(plaque, "finished", 0.0)
    drawing = partial(_plaque, kind=StepKind.MARK, tool="felt pen and rule")
    return (
        drawing(
            operation="plaque outline",
            sizes=(*_flat_sizes(plaque), _thick(plaque)),
            lines=outline(finished, Face.TOP),
            measures=sheet_measures(finished, top=True),
            action=f"Draw the flat plaque, {_flat_size(plaque)}, on the film of {mm(plaque.thickness)} acrylic.",
        ),
        *(
            drawing(
                operation="plaque holes",
                sizes=some.sizes,
                lines=tuple(line for hole in some.holes for line in cross(hole)),
                measures=plaque_hole_measures(plaque, some.holes),
                action=f"Draw a cross for {'each of ' if len(some.holes) > 1 else ''}{some.called}, {some.place}.",
                notes=some.notes,
            )
            for some in _alike(plaque, holes)
        ),
    )


def _cut_by_hand(plaque: BentPlaque, sheet: Block) -> tuple[Step, Step, Step]:
    finished = flat_sheet(plaque, "finished", 0.0)
    knife = partial(_plaque, tool="craft knife and safety rule")
    return (
        knife(
            kind=StepKind.TREAT,
            operation="score",
            action="Score along each line several times, from edge to edge of the sheet.",
        ),
        knife(
            kind=StepKind.CUT,
            operation="snap",
            removed=sheet_waste(sheet, finished),
            action="Snap the waste off over the edge of the bench.",
        ),
        _plaque(
            kind=StepKind.TREAT,
            tool="wet abrasive paper",
            operation="smooth edges",
            action="Smooth the edges with wet abrasive paper.",
        ),
    )


def _drilled_by_hand(plaque: BentPlaque, holes: tuple[Hole, ...]) -> tuple[Step, ...]:
    return (
        _plaque(
            kind=StepKind.LAY,
            tool="clamps",
            besides=(Item.SCRAP_WOOD,),
            operation="clamp",
            also=("sheet edges",),
            action="Clamp the sheet with scrap wood behind it.",
        ),
        *(
            _plaque(
                kind=StepKind.DRILL,
                tool="drill",
                operation="drill",
                sizes=(*bores(some.holes), *some.sizes),
                measures=plaque_hole_measures(plaque, some.holes),
                drilled=some.holes,
                also=("drill acrylic",),
                action=f"Drill {some.called} right through, {some.wide}, {some.place}.",
                notes=some.notes,
            )
            for some in _alike(plaque, holes)
        ),
    )


def _bent(plaque: BentPlaque, wording: str) -> tuple[Step, ...]:
    middle = sum(place for _, _, place, _ in plaque.flat_holes) / len(plaque.flat_holes)
    edge = "the edge nearest the holes" if middle < plaque.developed / 2 else "the edge farther from the holes"
    line = round(plaque.bend_line, 1)
    return (
        _plaque(
            kind=StepKind.TREAT,
            tool=HANDS,
            operation="film",
            also=("sheet edges",),
            action="Peel the film off the plaque.",
        ),
        _plaque(
            kind=StepKind.MARK,
            tool="felt pen and rule",
            operation="bend line",
            sizes=(Size(of="distance", mm=plaque.bend_line, datum=Datum.FREE_EDGE),),
            lines=(_bend_line(plaque),),
            measures=(bend_measure(plaque),),
            names=named("bend line", (_bend_line(plaque),), Face.TOP),
            also=("sheet edges",),
            action=f"Draw the bend line right across, {mm(line)} from {edge}.",
            notes=("The felt pen must be one that wipes off.",),
        ),
        *_bent_hot(plaque, wording),
    )


def _bent_hot(plaque: BentPlaque, wording: str) -> tuple[Step, ...]:
    way, angle = "up" if plaque.up else "down", decimal(round(math.degrees(plaque.angle), 3))
    hot = partial(_plaque, tool="line bender")
    return (
        hot(
            kind=StepKind.LAY,
            operation="heat",
            action="Lay the sheet with the bend line over the hot strip.",
        ),
        hot(
            kind=StepKind.CHECK,
            besides=(Item.JIG,),
            operation="try softness",
            action="Try with the edge of the jig whether the sheet gives.",
            notes=("A finger must never touch it.",),
        ),
        hot(
            kind=StepKind.BEND,
            besides=(Item.JIG,),
            operation="bend",
            bent=tuple(_stood(plaque, letter) for letter in _engraving(plaque, wording)),
            action=f"Bend the sheet {way} by {angle} degrees in the jig.",
        ),
        hot(
            kind=StepKind.WAIT,
            besides=(Item.JIG,),
            operation="cool",
            faces=(),
            action="Let it cool in the jig.",
        ),
        _plaque(
            kind=StepKind.TREAT,
            tool=HANDS,
            besides=(Item.CLOTH,),
            operation="wipe line",
            action="Wipe the bend line off with a damp cloth.",
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


def _marked_through(plaque: BentPlaque, fitted: Fittings, edge: str) -> tuple[Step, ...]:
    pilots, within = fitted.holes_of("lid", "pilot"), plaque.screw_hole / 2
    placed, sizes, notes = _placed_on_lid(plaque, fitted, edge)
    step = partial(Step, stage="holes", part="lid", parts=("lid", _PLAQUE), faces=on_parts(("lid",), Face.TOP))
    return (
        step(
            kind=StepKind.LAY,
            tool=HANDS,
            operation="plaque on lid",
            sizes=sizes,
            action=f"Lay the plaque on the lid, {placed}.",
            notes=notes,
        ),
        step(
            kind=StepKind.MARK,
            tool="bradawl",
            operation="prick through",
            lines=tuple(line for hole in pilots for line in cross(hole, within)),
            action="Prick the lid through the middle of both screw holes of the plaque.",
        ),
        *marked_through_drilled(plaque, pilots),
    )


def _placed_on_lid(plaque: BentPlaque, fitted: Fittings, edge: str) -> tuple[str, tuple[Size, ...], tuple[str, ...]]:
    """Return how a plaque is laid on the lid, its bend beside an edge: in words, as sizes, and what to know of it."""
    if plaque.stem_hole is not None:
        return "its stem hole over the centre hole", (), ()
    x, y = plaque.towards
    off = abs(x) * fitted.lid.along_x / 2 + abs(y) * fitted.lid.along_y / 2 - (plaque.flat_leg - plaque.apex)
    far = f"the lid's {OPPOSITE[edge]} edge"
    at = f"{mm(round(off, 1))} from {far}" if round(off, 1) else f"level with {far}"
    notes = ("As much lid is beside it on either side.",)
    return f"its flat edge {at}", (Size(of="distance", mm=off, datum=Datum.LID_EDGE),), notes
