"""What another section changes on the drawing, and which sizes a pupil could no longer mark.

mark : a size that a pupil sets off with a rule; rules are divided in half millimetres, so it should be a multiple
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.nominal.blanks import blank
from assembly.nominal.fittings import fittings
from assembly.nominal.frame import frame
from assembly.section.cure import timber_volume
from assembly.section.judging import room_inside
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.model.design import Design

MARK_MM = 0.5  # what a school rule is divided in; common practice, no source
_OFF = 1e-6  # mm; a size this near a mark is on it


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawingSize:
    """One size of the drawing before and after, mm (timber: cm³), and whether a pupil marks it."""

    name: str
    before: float
    after: float
    unit: str = "mm"
    marked: bool = False

    @property
    def change(self) -> float:
        """After less before."""
        return self.after - self.before

    @property
    def between_marks(self) -> bool:
        """Whether a pupil has to mark it and no mark of the rule is there."""
        return self.marked and abs(self.after - nearest_mark(self.after)) > _OFF


def nearest_mark(size: float) -> float:
    """Return the nearest multiple of half a millimetre, mm."""
    return round(size / MARK_MM) * MARK_MM


def sizes_of(design: Design) -> dict[str, tuple[float, str, bool]]:
    """Return every size of the drawing by name: value, unit, and whether a pupil marks it."""
    box, lid, base = frame(design), design.lid, design.base
    length, width, height = room_inside(box)
    outside = box.as_drawn(*box.on_plan)
    across, along = ("end", "side") if box.length_axis == "x" else ("side", "end")  # of the lid, over and beside them
    millimetres = {
        "outside length": (outside[0], False),
        "outside width": (outside[1], False),
        "wall height": (box.height, True),
        "lap width (shoulder from the end)": (box.plain, True),
        "lap depth": (box.depth, True),
        "tongue": (box.tongue, False),
        "length of the lapped walls": (box.lapped_length, True),
        "length of the plain walls": (box.plain_length, True),
        "room inside, length": (length, False),
        "room inside, width": (width, False),
        "room inside, height": (height, False),
        "lid, length": (outside[0] + 2 * lid.overhang, False),
        "lid, width": (outside[1] + 2 * lid.overhang, False),
        "base as sawn, length": (outside[0] + 2 * base.oversize, True),
        "base as sawn, width": (outside[1] + 2 * base.oversize, True),
        f"lid screw from the lid's {across}": (box.lapped / 2 + lid.overhang, True),
        f"lid screw from the lid's {along}": (box.along_y / 2 + lid.overhang, True),
    }
    holes = {f"{name}, {what}": (size, False) for name, hole in _screw_holes(design).items() for what, size in hole}
    millimetres |= holes
    sizes = {name: (value, "mm", marked) for name, (value, marked) in millimetres.items()}
    return sizes | {"timber of the four walls": (timber_volume(box) / 1000, "cm³", False)}


def _screw_holes(design: Design) -> dict[str, tuple[tuple[str, float], ...]]:
    """Return the sizes of a lid screw's holes, by what they are; a hole without a depth goes right through."""
    fitted, (wall, _) = fittings(design), design.box.lapped_walls
    (clearance, *_), sunk = fitted.holes_of("lid", "clearance"), fitted.holes_of("lid", "countersink")
    (pilot,) = fitted.holes_of(f"{wall} wall", "pilot")
    found: dict[str, tuple[tuple[str, float], ...]] = {
        "lid screw's hole in the lid": (("diameter", clearance.diameter),)
    }
    if sunk:
        found["lid screw's countersink"] = (("diameter", sunk[0].diameter), ("depth", sunk[0].depth))
    return found | {"lid screw's pilot hole in the wall": (("diameter", pilot.diameter), ("depth", pilot.depth))}


@dataclass(frozen=True, slots=True, kw_only=True)
class Needed:
    """What a box takes of one section: blanks, with the waste that the making takes off their ends."""

    walls: str  # "lapped" or "plain"
    thickness: float  # mm
    height: float  # mm
    length: float  # of both walls of a box, mm


def timber_needed(design: Design) -> tuple[Needed, Needed]:
    """Return what one box takes of the lapped and of the plain walls' section."""
    box = frame(design)
    lapped = ("lapped", box.lapped, box.lapped_length)
    plain = ("plain", box.plain, box.plain_length + design.overlength)
    first, second = (
        Needed(walls=walls, thickness=thickness, height=box.height, length=2 * blank(length))
        for walls, thickness, length in (lapped, plain)
    )
    return first, second


def drawing_changes(before: Design, after: Design) -> tuple[DrawingSize, ...]:
    """Return every size of the drawing in both designs."""
    old = sizes_of(before)
    return tuple(
        DrawingSize(name=name, before=old[name][0], after=value, unit=unit, marked=marked)
        for name, (value, unit, marked) in sizes_of(after).items()
    )


def nearest_lap_share(design: Design) -> float:
    """Return the lap share that puts the lap's depth on the nearest half millimetre."""
    lapped = design.timber.lapped
    return nearest_mark(design.timber.lap_share * lapped) / lapped


def mark_warnings(design: Design) -> tuple[str, ...]:
    """Return a warning for each size that a pupil marks and no half millimetre meets, with the nearest that does."""
    return tuple(
        _warning(name, value, design)
        for name, (value, _, marked) in sizes_of(design).items()
        if marked and abs(value - nearest_mark(value)) > _OFF
    )


def _warning(name: str, value: float, design: Design) -> str:
    start = f"{name}: {mm(value)} lies between the half millimetres of a rule"
    nearest = mm(nearest_mark(value))
    if name == "lap depth":
        return f"{start}; a lap share of about {nearest_lap_share(design):.3f} makes it {nearest}"
    return f"{start}; the nearest is {nearest}"
