"""The finished sizes of every part to cut and of its blank, in mm, what is bought besides, and the totals of a class.

`then` names sizes in mm too. Length runs along the grain of a wall, along the box's drawn length for base and lid,
and across the bend line for the plaque, which is cut flat and bent after.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

from assembly.nominal.blanks import blank
from assembly.nominal.fittings import fittings
from assembly.nominal.frame import frame
from assembly.planning.needs import screws_needed
from assembly.text import decimal, mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.model.design import Design, Plaque, Stem
    from assembly.nominal.plaque import BentPlaque

WallKind: TypeAlias = Literal["lapped", "plain"]
SCREWS = 2  # that hold the lid, and as many the plaque


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPart:
    """Parts of one size: what they are, how many, finished sizes in mm, and what is then done to them."""

    name: str
    count: int
    length: float
    width: float
    thickness: float
    material: str
    then: str
    sheet: bool  # cut from a sheet, with waste on all sides; walls are cut from a section, with waste at their ends
    wall: WallKind | None = None  # which of the walls it is, where it is one
    outlined: bool = False  # a machine cuts its very outline, out of whatever sheet it is given

    @property
    def blank_length(self) -> float:
        """Length of the blank, mm."""
        return blank(self.length)

    @property
    def blank_width(self) -> float:
        """Width of the blank, mm: that of the section for a wall."""
        return blank(self.width) if self.sheet else self.width


@dataclass(frozen=True, slots=True, kw_only=True)
class Total:
    """What a class takes of one section or sheet, blanks laid end to end or side by side without a gap."""

    material: str
    thickness: float  # mm
    width: float | None  # of the section, mm; None of a sheet
    amount: float  # metres of a section, square metres of a sheet


def _walls(design: Design) -> tuple[CutPart, CutPart]:
    box, timber = frame(design), design.timber
    lapped, plain = ("end", "side") if design.box.lapped == "ends" else ("side", "end")
    lap = (
        f"a lap at each end: shoulder {decimal(box.plain)} from the end, {decimal(box.depth)} deep, "
        f"tongue of {decimal(box.tongue)} left"
    )
    cable, longer = design.cable_hole, design.overlength
    hole = [f"a hole of {decimal(cable.diameter)} in the very centre of the back one"] if cable else []
    of_plain = [f"{decimal(longer)} longer than drawn"] if longer else []
    return (
        CutPart(
            name=f"lapped wall ({lapped})",
            wall="lapped",
            count=2,
            length=box.lapped_length,
            width=box.height,
            thickness=box.lapped,
            material=timber.name,
            sheet=False,
            then="; ".join([lap, *(hole if box.turned else [])]),
        ),
        CutPart(
            name=f"plain wall ({plain})",
            wall="plain",
            count=2,
            length=box.plain_length + design.overlength,
            width=box.height,
            thickness=box.plain,
            material=timber.name,
            sheet=False,
            then="; ".join([*of_plain, *([] if box.turned else hole)] or ["seats in the laps"]),
        ),
    )


def _sheets(design: Design) -> tuple[CutPart, CutPart]:
    box, fitted, base, lid = frame(design), fittings(design), design.base, design.lid
    sunk = "" if lid.screw.round_head else f", countersunk to {decimal(lid.screw.head)}"
    screws = f"{decimal(lid.screw.hole)} for its screws{sunk}"
    middle = f"a hole of {decimal(lid.centre_hole)} in the middle, two of " if lid.centre_hole else "two holes of "
    base_size = box.as_drawn(*fitted.base_raw)
    lid_size = box.as_drawn(fitted.lid.along_x, fitted.lid.along_y)
    return (
        CutPart(
            name="base",
            count=1,
            length=base_size[0],
            width=base_size[1],
            thickness=base.thickness,
            material=base.material,
            sheet=True,
            then=f"glued on {decimal(base.oversize)} oversize all round, then brought flush with the walls",
        ),
        CutPart(
            name="lid",
            count=1,
            length=lid_size[0],
            width=lid_size[1],
            thickness=lid.thickness,
            material=lid.material,
            sheet=True,
            then=f"drawn round the frame as it was made; {middle}{screws}",
        ),
    )


def _plaque(drawn: Plaque, plaque: BentPlaque) -> CutPart:
    return CutPart(
        name="plaque, flat",
        count=1,
        length=plaque.developed,
        width=plaque.width,
        thickness=plaque.thickness,
        material="acrylic",
        sheet=True,
        outlined=drawn.cut == "laser",
        then=f"bent {drawn.turned} by {decimal(drawn.angle)} degrees, middle of the bend "
        f"{decimal(round(plaque.bend_line, 1))} from the flat leg's edge",
    )


def cut_parts(design: Design) -> tuple[CutPart, ...]:
    """Return every part to cut, walls first."""
    drawn, bent = design.plaque, fittings(design).plaque
    return (*_walls(design), *_sheets(design), *((_plaque(drawn, bent),) if drawn and bent else ()))


def bought(design: Design, boxes: int = 1) -> tuple[str, ...]:
    """Return what is bought ready for so many boxes: screws, washers, and what stands in the lid."""
    screws = [design.lid.screw, *([design.plaque.screw] if design.plaque else [])]
    named = [f"{boxes} x {stem_words(design.stem)}"] if design.stem else []
    return (*(each for screw in screws for each in screws_needed(screw, SCREWS * boxes)), *named)


def stem_words(stem: Stem) -> str:
    """Return what a stem is called: its name, diameter and length."""
    return f"{stem.name} ({decimal(stem.diameter)} x {mm(stem.length)})"


def totals(parts: Sequence[CutPart], boxes: int) -> tuple[Total, ...]:
    """Return what so many boxes take of each section and each sheet, in the order of the parts."""
    found: dict[tuple[str, float, float | None], float] = {}
    for part in parts:
        key = (part.material, part.thickness, None if part.sheet else part.width)
        one = part.blank_length / 1e3 * (part.blank_width / 1e3 if part.sheet else 1.0)
        found[key] = found.get(key, 0.0) + boxes * part.count * one
    return tuple(Total(material=m, thickness=t, width=w, amount=amount) for (m, t, w), amount in found.items())
