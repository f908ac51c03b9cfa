"""The flat plaque: outline and holes cut by laser, or by hand.

flat sheet : the plaque before it is bent, lying where its flat leg will lie

A laser cuts outline and holes from the drawing; by hand, they are marked, scored and snapped with a craft knife, and
drilled.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from assembly.planning.lines import cross, outline, rim
from assembly.planning.marks import Block, Letter, sheet_waste
from assembly.planning.measures import Datum, Size, bores, plaque_hole_measures, sheet_measures
from assembly.planning.needs import Item
from assembly.planning.steps import Step, StepKind
from assembly.planning.strokes import width
from assembly.planning.wall_faces import Face, on_parts
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.nominal.fittings import Hole
    from assembly.nominal.plaque import BentPlaque

PLAQUE = "plaque"
of_plaque = partial(Step, stage=PLAQUE, part=PLAQUE, parts=(PLAQUE,), faces=on_parts((PLAQUE,), Face.TOP))


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
    return Block(part=PLAQUE, name=name, low=(x0, y0, z), high=(x1, y1, z + plaque.thickness))


def cut_by_laser(plaque: BentPlaque, holes: tuple[Hole, ...], wording: str, sheet: Block) -> tuple[Step, ...]:
    """Return the cutting of the flat plaque and its holes from `sheet` by a laser, and the engraving of its wording."""
    finished = flat_sheet(plaque, "finished", 0.0)
    step = partial(of_plaque, tool="laser cutter")
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
        letters=engraving(plaque, wording),
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


def engraving(plaque: BentPlaque, wording: str) -> tuple[Letter, ...]:
    """Return the wording on the standing leg of the flat sheet, read with its free edge up, or down where it hangs."""
    if not wording:
        return ()
    sign = 1.0 if plaque.up else -1.0
    (along, up) = (tuple(sign * c for c in (*way, 0.0)) for way in (plaque.along, plaque.towards))
    u = plaque.apex - plaque.flat_leg + plaque.developed - plaque.upright_straight / 2
    x, y, _ = plaque.place(0.0, u, 0.0)
    letter = Letter(
        part=PLAQUE,
        face=Face.TOP,
        text=wording,
        place=(x, y, plaque.underside + plaque.thickness),
        along=(along[0], along[1], 0.0),
        up=(up[0], up[1], 0.0),
        height=min(0.4 * plaque.upright_straight, 0.9 * plaque.width / width(wording)),
        kind="engraving",
    )
    return (letter,)


def cut_by_hand(plaque: BentPlaque, holes: tuple[Hole, ...], sheet: Block) -> tuple[Step, ...]:
    """Return the drawing, cutting and drilling of the flat plaque from `sheet` by hand."""
    return (*_drawn_by_hand(plaque, holes), *_cut_by_hand(plaque, sheet), *_drilled_by_hand(plaque, holes))


def _drawn_by_hand(plaque: BentPlaque, holes: tuple[Hole, ...]) -> tuple[Step, ...]:
    finished = flat_sheet(plaque, "finished", 0.0)
    drawing = partial(of_plaque, kind=StepKind.MARK, tool="felt pen and rule")
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
    knife = partial(of_plaque, tool="craft knife and safety rule")
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
        of_plaque(
            kind=StepKind.TREAT,
            tool="wet abrasive paper",
            operation="smooth edges",
            action="Smooth the edges with wet abrasive paper.",
        ),
    )


def _drilled_by_hand(plaque: BentPlaque, holes: tuple[Hole, ...]) -> tuple[Step, ...]:
    return (
        of_plaque(
            kind=StepKind.LAY,
            tool="clamps",
            besides=(Item.SCRAP_WOOD,),
            operation="clamp",
            also=("sheet edges",),
            action="Clamp the sheet with scrap wood behind it.",
        ),
        *(
            of_plaque(
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
