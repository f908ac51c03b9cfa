"""What can be measured on the parts of a box, at which moment, and the size that is read, as a sum of errors.

feature : one kind of reading, such as the waste left by the saw
spot    : where on which part it is taken: part, end, at; an empty name where there is only one
size    : the true size there, a constant plus errors, plus the smaller of pairs of such sums
form    : a constant plus errors; an error is a quantity at a place, by its coefficient

Sizes and their signs are those of MODEL.md, 8.1; mm, and degrees for the bend's angle. Errors are in the units of the
workshop's file, so a slope's coefficient holds the turn from degrees. Names are those of the drawing.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING

from assembly.nominal.frame import FRONT, WALLS, Frame, frame

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop

Error = tuple[str, str]  # quantity, place
Where = Callable[["Design"], "list[Spot]"]  # spots of a design
Read = Callable[["Place"], "Size"]  # the size at a place
DEGREE = math.radians(1)
ENDS = {"left": ("front", "back"), "right": ("front", "back"), "front": ("left", "right"), "back": ("left", "right")}
CORNERS = ("inside-bottom", "inside-top", "outside-bottom", "outside-top")
SQUARE = ("square.plan", "square.upright")


@dataclass(frozen=True, slots=True)
class Form:
    """A constant plus errors."""

    const: float = 0.0
    errors: dict[Error, float] = field(default_factory=dict)

    def plus(self, other: Form, times: float = 1.0) -> Form:
        """Return the sum of this form and another one's multiple."""
        errors = dict(self.errors)
        for error, coefficient in other.errors.items():
            errors[error] = errors.get(error, 0.0) + times * coefficient
        return Form(self.const + times * other.const, errors)


@dataclass(frozen=True, slots=True)
class Size:
    """A size that is read: a form plus the smaller of each pair of forms."""

    form: Form
    pairs: tuple[tuple[Form, Form], ...] = ()

    @property
    def quantities(self) -> tuple[str, ...]:
        """The quantities that it holds, each once."""
        forms = (self.form, *(each for pair in self.pairs for each in pair))
        return tuple(dict.fromkeys(quantity for form in forms for quantity, _ in form.errors))


@dataclass(frozen=True, slots=True, order=True)
class Spot:
    """Where a reading is taken."""

    part: str
    end: str = ""
    at: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature:
    """One kind of reading."""

    name: str
    after: tuple[str, ...]  # operations of the making after whose last step it is taken; none: before the first
    how: str  # how it is taken, one or two sentences
    instrument: str  # that suits it, of the table that ships
    seconds: float  # that a pupil takes for one; common practice, no source
    spots: Where
    size: Read
    unit: str = "mm"


@dataclass(frozen=True, slots=True)
class Place:
    """A spot of a design made in a workshop, with what sizes are worked out from."""

    design: Design
    workshop: Workshop
    spot: Spot

    @property
    def frame(self) -> Frame:
        """The nominal frame."""
        return frame(self.design)

    @property
    def plain(self) -> bool:
        """Whether the part is a plain wall."""
        return self.frame.walls.index(self.spot.part) >= FRONT

    @property
    def thickness(self) -> float:
        """Thickness of the part, a wall."""
        return self.frame.plain if self.plain else self.frame.lapped

    def corner(self, width: float) -> tuple[float, float]:
        """Return v and w of a corner `width` across: outside and top are positive."""
        across, up = self.spot.at.split("-")
        return (
            width / 2 * (1 if across == "outside" else -1),
            self.frame.height / 2 * (1 if up == "top" else -1),
        )

    @property
    def lap(self) -> str:
        """The lap at the end of a lapped wall, and the end of the plain wall that seats there."""
        return f"{self.spot.part} {self.spot.end}"


def face(tool: str, place: str, v: float, w: float, names: tuple[str, str] = ("plan", "upright")) -> Form:
    """Return the height that an operation leaves at (v, w) of a face."""
    plan, upright = names
    return Form(
        errors={
            (f"{tool}.offset", place): 1.0,
            (f"{tool}.{plan}", place): v * DEGREE,
            (f"{tool}.{upright}", place): w * DEGREE,
        }
    )


def one(quantity: str, place: str, coefficient: float = 1.0, const: float = 0.0) -> Form:
    """Return the form of a single error."""
    return Form(const, {(quantity, place): coefficient})


def squared(place: str, v: float, w: float) -> Form:
    """Return the height that a squared line leaves at (v, w)."""
    return Form(errors={(SQUARE[0], place): v * DEGREE, (SQUARE[1], place): w * DEGREE})


# Where


def _walls(_: Design) -> list[Spot]:
    return [Spot(wall) for wall in WALLS]


def _ends(_: Design) -> list[Spot]:
    return [Spot(wall, end) for wall in WALLS for end in ENDS[wall]]


def _end_corners(design: Design) -> list[Spot]:
    return [Spot(spot.part, spot.end, at) for at in CORNERS for spot in _ends(design)]


def _corners(design: Design) -> list[Spot]:
    return [Spot(spot.part, "", at) for at in CORNERS for spot in _walls(design)]


def _laps(design: Design) -> list[Spot]:
    return [Spot(wall, end) for wall in frame(design).walls[:FRONT] for end in ENDS[wall]]


def _lap_corners(design: Design, corners: tuple[str, ...] = CORNERS) -> list[Spot]:
    return [Spot(spot.part, spot.end, at) for at in corners for spot in _laps(design)]


def _sides(part: str, _: Design) -> list[Spot]:
    return [Spot(part, side) for side in WALLS]


def _holes(design: Design) -> list[Spot]:
    first, second = frame(design).walls[:FRONT]
    found = [Spot("lid", f"{first} screw"), Spot("lid", f"{second} screw")]
    found += [Spot("lid", "centre")] if design.lid.centre_hole else []
    measured = design.plaque is not None and design.lid_holes == "measured"
    found += [Spot("lid", f"plaque screw {number}") for number in (1, 2)] if measured else []
    return found + ([Spot("back", "cable")] if design.cable_hole else [])


def _plaque(design: Design) -> list[Spot]:
    return [Spot("plaque")] if design.plaque else []


# How large


def _section(quantity: str, place: Place) -> Size:
    nominal = place.thickness if quantity == "stock.thickness" else place.frame.height
    return Size(one(quantity, place.spot.part, const=nominal))


def _finished(place: Place) -> float:
    plain = place.frame.plain_length + place.design.overlength
    return plain if place.plain else place.frame.lapped_length


def _line(place: Place) -> Size:
    return Size(one("mark.offset", place.spot.part, const=_finished(place)))


def _drift(quantity: str, place: Place) -> Size:
    span = place.thickness if quantity == SQUARE[0] else place.frame.height
    return Size(one(quantity, place.lap, span * DEGREE))


def _waste(place: Place) -> Size:
    return Size(face("saw", place.lap, *place.corner(place.thickness)))


def _length(place: Place) -> Size:
    v, w = place.corner(place.thickness)
    form, pairs = one("mark.offset", place.spot.part, const=_finished(place)), []
    for end in ENDS[place.spot.part]:
        at = f"{place.spot.part} {end}"
        form = form.plus(squared(at, v, w))
        pairs.append((face("saw", at, v, w), face("sand", at, v, w)))
    return Size(form, tuple(pairs))


def _lap_line(place: Place) -> Size:
    form = one("lap_mark.offset", place.lap, const=place.frame.plain)
    mate = one("stock.thickness", place.spot.end)  # the wall at that end of a wall is the one that seats there
    return Size(form.plus(mate) if place.workshop.shoulder_from == "part" else form)


def _shoulder(place: Place) -> Size:
    v, w = place.corner(place.frame.depth)
    cut = face("lap_saw", place.lap, v, w).plus(squared(f"shoulder {place.lap}", v, w))
    return Size(_lap_line(place).form.plus(cut, -1.0))


def _gauge_line(place: Place) -> Size:
    inside = place.workshop.gauge_from == "inside"
    nominal = place.frame.depth if inside else place.frame.tongue
    return Size(one("gauge.offset", place.lap, -1.0 if inside else 1.0, nominal))


def _tongue(place: Place) -> Size:
    v, w = place.corner(place.frame.plain)
    form = one("gauge.offset", place.lap, const=place.frame.tongue)
    form = form.plus(face("chisel", place.lap, v, w, ("along", "upright")))
    form = form.plus(one("chisel.uneven", f"{place.lap} {place.spot.at}"))
    thicker = one("stock.thickness", place.spot.part)
    return Size(form.plus(thicker) if place.workshop.gauge_from == "inside" else form)


def _base_overhang(place: Place) -> Size:
    side = place.spot.end
    axis, sign = ("x", 1.0) if side in {"left", "right"} else ("y", 1.0)
    sign = -1.0 if side in {"left", "front"} else sign
    raw = one("base.cut", side, const=place.design.base.oversize).plus(one("base.place", axis, sign))
    return Size(Form(), ((raw, one("flush.offset", side)),))


def _lid_overhang(place: Place) -> Size:
    side = place.spot.end
    made = (one("lid_saw.offset", side), one("lid_sand.offset", side))
    return Size(one("outline.offset", side, const=place.design.lid.overhang), (made,))


def _hole_off(axis: str, place: Place) -> Size:
    hole = f"{place.spot.part} {place.spot.end} {axis}"
    return Size(one("hole_mark.offset", hole).plus(one("drill.wander", hole)))


def _bend_leg(place: Place) -> Size:
    assert place.design.plaque
    form = one("bend.line", "", const=place.design.plaque.upright_leg)
    return Size(form.plus(one("laser.kerf", "", 0.5)))


def _bend_angle(place: Place) -> Size:
    assert place.design.plaque
    return Size(one("bend.angle", "", const=place.design.plaque.angle))


RULE, FINE_RULE, CALIPER = "steel rule to 1 mm", "steel rule to 0.5 mm", "caliper"
SQUARE_AND_FEELERS, PROTRACTOR = "try square with feelers", "protractor"
DEGREES = frozenset({"bend_angle"})  # what is read in degrees

# Name, after which operation, instrument, seconds, where, size, how.
_ROWS: tuple[tuple[str, tuple[str, ...], str, float, Where, Read, str], ...] = (
    ("thickness", (), CALIPER, 20, _walls, partial(_section, "stock.thickness"),
     "Close the caliper on the wall's faces, in the middle of its length."),
    ("height", (), CALIPER, 20, _walls, partial(_section, "stock.height"),
     "Close the caliper on the wall's bottom and top edges, in the middle of its length."),
    ("line", ("mark",), FINE_RULE, 30, _walls, _line,
     "Lay the rule along the inside face, from the datum line to the line at the other end."),
    ("line_drift_plan", ("mark",), SQUARE_AND_FEELERS, 60, _ends, partial(_drift, SQUARE[0]),
     ("Set the try square on the line where it crosses the bottom edge, and read with feelers how far the line is "
     "off the blade at the outside face: + if further from the wall's middle.")),
    ("line_drift_upright", ("mark",), SQUARE_AND_FEELERS, 60, _ends, partial(_drift, SQUARE[1]),
     ("Stand the try square on the bottom edge where the line begins, and read with feelers how far the line is off "
     "the blade at the top edge: + if further from the wall's middle.")),
    ("waste", ("saw",), FINE_RULE, 30, _end_corners, _waste,
     ("At a corner of the sawn end, read from the line to the sawn face: + if wood is left beyond the line, - if it is "
     "cut beyond it.")),
    ("length", ("sand",), FINE_RULE, 30, _corners, _length,
     "Read the length of the sanded wall along one of its four long edges, from end to end."),
    ("lap_line", ("lap_mark",), CALIPER, 30, _laps, _lap_line,
     "On the inside face, read from the finished end to the shoulder line."),
    ("shoulder", ("lap_saw",), CALIPER, 30, partial(_lap_corners, corners=CORNERS[:2]), _shoulder,
     "With the caliper's depth rod on the finished end, read down to the shoulder, at the inside face."),
    ("gauge_line", ("gauge",), CALIPER, 30, _laps, _gauge_line,
     "On the finished end, read from the face that the gauge ran along, which its step names, to the gauge line."),
    ("tongue", ("chisel",), CALIPER, 30, _lap_corners, _tongue,
     ("Close the caliper on the tongue at one of its corners: inside is beside the shoulder, outside at the wall's "
     "end.")),
    ("base_overhang", ("flush",), FINE_RULE, 30, partial(_sides, "base"), _base_overhang,
     "In the middle of a side, read how far the base stands out beyond the wall: - if it falls short."),
    ("lid_overhang", ("lid_sand",), FINE_RULE, 30, partial(_sides, "lid"), _lid_overhang,
     "In the middle of a side, read how far the lid stands out beyond the wall: - if it falls short."),
    ("hole_off_x", ("drill",), FINE_RULE, 40, _holes, partial(_hole_off, "x"),
     ("As the part is drawn, read from its left edge to the hole's middle, and write how much more than drawn that is: "
     "- if it is less.")),
    ("hole_off_y", ("drill",), FINE_RULE, 40, _holes, partial(_hole_off, "y"),
     ("As the part is drawn, read from its near edge to the hole's middle, and write how much more than drawn that is: "
     "- if it is less.")),
    ("bend_leg", ("bend",), CALIPER, 30, _plaque, _bend_leg,
     "Close the caliper on the plaque's standing leg, from its free edge to the outside of the bend."),
    ("bend_angle", ("bend",), PROTRACTOR, 30, _plaque, _bend_angle,
     "Read with the protractor the angle through which the plaque was bent, in degrees."),
)  # fmt: skip

FEATURES: dict[str, Feature] = {
    name: Feature(
        name=name,
        after=after,
        how=how,
        instrument=instrument,
        seconds=seconds,
        spots=spots,
        size=size,
        unit="degrees" if name in DEGREES else "mm",
    )
    for name, after, instrument, seconds, spots, size, how in _ROWS
}
