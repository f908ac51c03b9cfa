"""The cable hole: its centre marked on the back wall while that still lies flat, and drilled."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.lines import diagonals, pricked
from assembly.planning.measures import bores
from assembly.planning.needs import Item
from assembly.planning.steps import Step, StepKind
from assembly.planning.wall_faces import Face, Place, on_parts
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.nominal.fittings import Hole
    from assembly.planning.marks import Wall


def cable_hole_steps(hole: Hole, back: Wall) -> tuple[Step, ...]:
    """Return the marking and the drilling of the cable hole, before the back wall is glued in."""
    step = partial(
        Step,
        stage="cable hole",
        part=back.part,
        parts=(back.part,),
        faces=on_parts((back.part,), Face.OUTSIDE),
        place=Place.BENCH,
    )
    return (
        step(
            kind=StepKind.MARK,
            tool="pencil and rule",
            operation="diagonals",
            lines=diagonals(back),
            action="Draw both diagonals on the outside face of the back wall, corner to corner.",
            notes=("The centre is where they cross.",),
        ),
        step(
            kind=StepKind.MARK,
            tool="bradawl",
            operation="hole_mark",
            lines=pricked(hole, Face.OUTSIDE),
            action="Prick the centre.",
        ),
        step(
            kind=StepKind.LAY,
            tool="clamps",
            operation="clamp",
            besides=(Item.SCRAP_WOOD,),
            action="Clamp the back wall flat on scrap wood, its outside face up.",
        ),
        step(
            kind=StepKind.DRILL,
            tool="drill",
            operation="drill",
            sizes=bores((hole,)),
            drilled=(hole,),
            also=("drill through",),
            action=f"Drill {mm(hole.diameter)} right through the centre.",
        ),
    )
