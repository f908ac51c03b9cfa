"""The laps, in the trade's order: marked, sawn, chiselled and tried with their walls; and the cable hole's centre."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assembly.planning.lines import diagonals, gauge_lines, lap_hatching, shoulder_lines
from assembly.planning.marks import lap_waste
from assembly.planning.steps import Step
from assembly.planning.wall_steps import parts_of
from assembly.shop_rules import mm

if TYPE_CHECKING:
    from assembly.fittings import Hole
    from assembly.frame import Frame
    from assembly.planning.marks import Wall
    from assembly.workshop import Workshop

_LAPS, _LAPPED = "making the laps", "lapped walls"


def lap_steps(box: Frame, workshop: Workshop, walls: tuple[Wall, ...]) -> tuple[Step, ...]:
    """Return the steps that make the laps on the lapped walls and try them."""
    lapped = walls[:2]
    return (
        *(_shoulder(box, workshop, lapped, sign) for sign in (-1, 1)),
        _gauge(box, workshop, lapped),
        _hatched(lapped),
        *_cut(box, lapped),
        _tried(workshop, walls),
    )


def _shoulder(box: Frame, workshop: Workshop, lapped: tuple[Wall, ...], sign: int) -> Step:
    end, mate = lapped[0].end_names[(sign + 1) // 2], "front wall" if sign < 0 else "back wall"
    carry = f"Then carry the line down both edges to the gauge depth, {mm(box.depth)}."
    if workshop.shoulder_from == "part":
        tool = "marking knife and try square"
        how = (
            f"Lay the {mate} here, across the face side, its outside face level with the finished {end}, and mark "
            f"along its inside face (about {mm(box.plain)}): its own thickness counts, not the drawing's."
        )
    else:
        tool = "rule, marking knife and try square"
        how = f"From the finished {end} measure {mm(box.plain)} and square a line across the face side."
    return Step(
        stage=_LAPS,
        part=f"{_LAPPED}, {end}",
        parts=parts_of(lapped),
        tool=tool,
        operation="lap_mark",
        face="inside, bottom and top",
        from_where=f"the finished {end}",
        to_where="the shoulder line",
        size=box.plain,
        kind="cut line",
        lines=tuple(line for wall in lapped for line in shoulder_lines(wall, sign)),
        words=f"{how} {carry}",
    )


_both_ends = partial(Step, stage=_LAPS, part=f"{_LAPPED}, both ends")


def _gauge(box: Frame, workshop: Workshop, lapped: tuple[Wall, ...]) -> Step:
    inside = workshop.gauge_from == "inside"
    face, size = ("inside face", box.depth) if inside else ("outside face", box.tongue)
    return _both_ends(
        parts=parts_of(lapped),
        tool="marking gauge",
        operation="gauge",
        face="bottom, end and top",
        from_where=f"the {face}",
        to_where="the gauge line",
        size=size,
        kind="gauge line",
        lines=tuple(line for wall in lapped for line in gauge_lines(wall)),
        words=f"Set the gauge to {mm(size)}. Keep its stock on the {face} and gauge both edges, from shoulder to end, "
        "and the end itself; nothing else.",
    )


def _hatched(lapped: tuple[Wall, ...]) -> Step:
    return _both_ends(
        parts=parts_of(lapped),
        tool="pencil",
        operation="hatch",
        face="inside, bottom and top",
        from_where="the shoulder line",
        to_where="the end and the gauge line",
        kind="hatched waste",
        lines=tuple(line for wall in lapped for line in lap_hatching(wall)),
        words="Hatch the waste of each lap, between shoulder line, gauge line and end: on the face side and on both "
        "edges.",
    )


def _cut(box: Frame, lapped: tuple[Wall, ...]) -> tuple[Step, Step]:
    step = partial(_both_ends, parts=parts_of(lapped))
    return (
        step(
            tool="saw",
            operation="lap_saw",
            face="inside",
            from_where="the waste side of the shoulder line",
            to_where="the gauge line",
            size=box.depth,
            words=f"Saw the shoulder on the waste side of its line, {mm(box.depth)} down to the gauge line on both "
            "edges. Stop there.",
        ),
        step(
            tool="chisel",
            operation="chisel",
            face="the cheek",
            from_where="the inside face",
            to_where="the gauge line",
            size=box.depth,
            removed=tuple(block for wall in lapped for block in lap_waste(wall)),
            words="Chisel the waste away a little at a time, from both edges towards the middle, down to the gauge "
            f"line. A tongue of {mm(box.tongue)} is left.",
        ),
    )


def _tried(workshop: Workshop, walls: tuple[Wall, ...]) -> Step:
    pare = workshop.pare
    words = "Try each lap with its own wall, the corner letters together."
    if pare.rounds:
        often = "once" if pare.rounds == 1 else f"up to {pare.rounds} times"
        words += (
            f" Where wood stands proud by more than {mm(pare.notice)}, pare a shaving off and try again, {often}. "
            "Leave the rest: wood cannot be put back."
        )
    else:
        words += " Note where it does not close; it is not pared."
    return Step(
        stage=_LAPS,
        part="each lap and its wall",
        parts=parts_of(walls),
        tool="chisel" if pare.rounds else "hands",
        operation="pare",
        face="shoulder and cheek",
        size=pare.notice if pare.rounds else None,
        words=words,
    )


def cable_hole_steps(hole: Hole, back: Wall) -> tuple[Step, Step]:
    """Return the marking and the drilling of the cable hole, before the back wall is glued in."""
    step = partial(Step, stage="cable hole", part=back.part, parts=(back.part,), face="outside")
    marking = step(
        tool="pencil, rule and bradawl",
        operation="hole_mark",
        from_where="corner",
        to_where="opposite corner",
        kind="centre",
        lines=diagonals(back),
        words="Draw both diagonals of the outside face, corner to corner. Prick the centre where they cross.",
    )
    drilling = step(
        tool="drill",
        operation="drill",
        from_where="the pricked centre",
        to_where="right through, into scrap wood",
        size=hole.diameter,
        drilled=(hole,),
        words=f"Clamp the wall flat on scrap wood and drill {mm(hole.diameter)} right through the centre.",
    )
    return marking, drilling
