"""What is to be made: sizes, materials, holes and the limits to keep; millimetres and degrees.

lapped walls : the two walls with a lap (a rebate) at each end
plain walls  : the two walls that seat in those laps
tongue       : the thickness that the lap leaves standing
length, width : the outside sizes of the wall frame on the drawing; the lapped walls are the ends or the sides

A box may do without stem, plaque and cable hole: the design leaves the section out, and the record has None.

Each record refuses what no box can have; `assembly.rules.design_rules` refuses what does not go together.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from assembly.model.outcomes import OUTCOMES
from assembly.model.workshop import CELSIUS, DEGREES, MM, LineOfText, Record, Text

if TYPE_CHECKING:
    from assembly.model.outcomes import Outcome

# No size is under 0.1 mm: the geometry kernel hangs or lies on thinner things (and on NaN, which `Record` refuses).
Millimetres = Annotated[float, Field(ge=0.1, le=2000)]
HOLE = (0.5, 100.0)  # mm
HoleSize = Annotated[float, Field(ge=HOLE[0], le=HOLE[1])]


class Box(Record):
    """The wall frame's outside sizes."""

    length: float = Field(ge=40, le=1200, description="outside length of the wall frame", json_schema_extra=MM)
    width: float = Field(ge=40, le=1200, description="outside width of the wall frame", json_schema_extra=MM)
    height: float = Field(ge=15, le=600, description="height of the walls", json_schema_extra=MM)
    lapped: Literal["ends", "sides"] = Field(
        default="ends", description="the walls that carry the laps: the ends or the sides"
    )
    front: Literal["side", "end"] = Field(
        default="side",
        description="the wall at the front: a side, along the box's length, or an end",
    )

    @property
    def turned(self) -> bool:
        """Whether front and back are the lapped walls; else left and right are."""
        return (self.lapped == "ends") != (self.front == "side")

    @property
    def lapped_walls(self) -> tuple[str, str]:
        """The names of the two lapped walls."""
        return ("front", "back") if self.turned else ("left", "right")

    @property
    def on_plan(self) -> tuple[float, float]:
        """Outside sizes from left to right and from front to back, mm."""
        return (self.length, self.width) if self.front == "side" else (self.width, self.length)

    @property
    def along_x(self) -> float:
        """Outside size along the plain walls, mm."""
        return self.length if self.lapped == "ends" else self.width

    @property
    def along_y(self) -> float:
        """Outside size along the lapped walls, mm."""
        return self.width if self.lapped == "ends" else self.length


class Timber(Record):
    """The sections that the walls are cut from."""

    name: Text = Field(min_length=1, max_length=60, description="the timber, by name")
    lapped: float = Field(ge=4, le=60, description="thickness of the lapped walls", json_schema_extra=MM)
    plain: float = Field(ge=3, le=60, description="thickness of the plain walls", json_schema_extra=MM)
    lap_share: float = Field(
        default=0.5, ge=0.1, le=0.9, description="depth of the lap as a share of the lapped thickness"
    )
    proven: bool = Field(
        default=False, description="whether boxes of this section have held, so that others are measured against it"
    )
    kind: Literal["softwood", "hardwood"] | None = Field(
        default=None, description="softwood or hardwood, for a timber that the tables do not have"
    )
    sawing: Literal["flat", "quarter"] | None = Field(
        default=None,
        title="how the boards were sawn",
        description="how the boards were sawn; left out where it is not known",
    )
    specific_gravity: float | None = Field(
        default=None, gt=0, le=1.5, description="oven-dry mass over volume at 12 % moisture, over that of water"
    )
    shrinkage_radial: float | None = Field(
        default=None, gt=0, le=25, description="shrinkage from green to oven-dry across the rings, %"
    )
    shrinkage_tangential: float | None = Field(
        default=None, gt=0, le=25, description="shrinkage from green to oven-dry along the rings, %"
    )
    coefficient_radial: float | None = Field(
        default=None, gt=0, le=0.02, description="movement across the rings per 1 % of moisture, as a share of the size"
    )
    coefficient_tangential: float | None = Field(
        default=None, gt=0, le=0.02, description="movement along the rings per 1 % of moisture, as a share of the size"
    )


class Base(Record):
    """The sheet glued under the walls oversize and brought flush."""

    material: Text = Field(min_length=1, max_length=60, description="the sheet, by name")
    thickness: float = Field(ge=1, le=40, description="thickness of the sheet", json_schema_extra=MM)
    oversize: float = Field(
        default=2.0,
        ge=0,
        le=20,
        description="how far it stands out on every side before flushing",
        json_schema_extra=MM,
    )


class RoundHead(Record):
    """A round head, flat underneath, and the washer that it presses on."""

    height: float = Field(ge=0.5, le=15, description="height of the head", json_schema_extra=MM)
    washer: float = Field(ge=2, le=40, description="outside diameter of the washer under it", json_schema_extra=MM)
    washer_hole: HoleSize = Field(description="hole in the washer", json_schema_extra=MM)
    washer_thickness: float = Field(ge=0.1, le=4, description="thickness of the washer", json_schema_extra=MM)


class Screw(Record):
    """A wood screw, countersunk unless it has a round head, and the holes it goes through."""

    diameter: float = Field(ge=1, le=8, description="outside diameter of the thread", json_schema_extra=MM)
    length: float = Field(
        ge=4, le=120, description="length with a countersunk head, or under a round one", json_schema_extra=MM
    )
    head: float = Field(ge=2, le=18, description="diameter of the head", json_schema_extra=MM)
    hole: HoleSize = Field(description="clearance hole in the part that the screw holds", json_schema_extra=MM)
    pilot: HoleSize = Field(description="pilot hole in the part that the thread bites", json_schema_extra=MM)
    round_head: RoundHead | None = Field(
        default=None,
        title="the round head and its washer",
        description="the round head and its washer; left out, the head is countersunk and lies flush",
    )

    @property
    def raised(self) -> float:
        """How far above its part's face the plane lies from which its length counts: a washer's thickness, or 0."""
        return self.round_head.washer_thickness if self.round_head else 0.0

    @property
    def depth(self) -> float:
        """How deep under the face of the part that it holds its tip is, mm."""
        return self.length - self.raised

    @property
    def across(self) -> float:
        """Diameter of what lies on or in its part: the head, or the washer under it, mm."""
        return max(self.head, self.round_head.washer) if self.round_head else self.head


class Lid(Record):
    """The sheet drawn round the frame, sanded to the line and screwed to the lapped walls' top edges."""

    material: Text = Field(min_length=1, max_length=60, description="the sheet, by name")
    thickness: float = Field(ge=2, le=40, description="thickness of the sheet", json_schema_extra=MM)
    overhang: float = Field(
        default=0.0, ge=0, le=20, description="how far it is meant to stand out on every side", json_schema_extra=MM
    )
    centre_hole: float | None = Field(
        default=None,
        ge=HOLE[0],
        le=HOLE[1],
        title="hole in the middle of the lid",
        description="hole in the middle of the lid; a stem needs one, and without a stem it may be left out",
        json_schema_extra=MM,
    )
    screw: Screw = Field(description="the two screws into the lapped walls")


class Stem(Record):
    """What stands in the lid's centre hole and passes the plaque: an indicator, a knob, a handle."""

    name: Text = Field(min_length=1, max_length=40, description="what it is")
    diameter: HoleSize = Field(description="diameter where it passes lid and plaque", json_schema_extra=MM)
    length: Millimetres = Field(description="length above the lid's underside", json_schema_extra=MM)
    soldered: bool = Field(
        default=False,
        title="whether makers solder its wires",
        description="whether makers solder its wires; then the making warns of it",
    )


class Plaque(Record):
    """The acrylic plaque: cut flat, bent on a hot line, one leg on the lid and one standing."""

    thickness: float = Field(ge=1, le=10, description="sheet thickness", json_schema_extra=MM)
    width: float = Field(ge=10, le=1000, description="size along the bend line", json_schema_extra=MM)
    flat_leg: float = Field(
        ge=5, le=1000, description="outside size of the leg that lies on the lid", json_schema_extra=MM
    )
    upright_leg: float = Field(ge=5, le=1000, description="outside size of the leg that stands", json_schema_extra=MM)
    side: Literal["front", "back", "left", "right"] = Field(
        default="back", description="edge of the lid beside the bend line"
    )
    turned: Literal["up", "down"] = Field(
        default="up", description="whether the standing leg goes up or down past the edge"
    )
    angle: float = Field(
        default=90.0, ge=10, le=150, description="angle through which the sheet is turned", json_schema_extra=DEGREES
    )
    inside_radius: float = Field(ge=0.5, le=50, description="radius inside the bend", json_schema_extra=MM)
    neutral_share: float = Field(
        default=0.5,
        ge=0.2,
        le=0.6,
        description="where the sheet neither stretches nor shrinks, as a share of its thickness",
    )
    stem_hole: float | None = Field(
        default=None,
        ge=HOLE[0],
        le=HOLE[1],
        title="hole for the stem",
        description="hole for the stem, over the lid's centre hole; left out where there is no stem",
        json_schema_extra=MM,
    )
    hole_spacing: Millimetres = Field(
        description="distance between the two screw holes, along the bend line", json_schema_extra=MM
    )
    hole_offset: float = Field(
        default=0.0,
        ge=-500,
        le=500,
        description="screw holes from the lid's middle, where the stem is, positive towards the bend line",
        json_schema_extra=MM,
    )
    stem_to_bend: Millimetres = Field(
        description="from the lid's middle, where the stem is, to the outside of the standing leg", json_schema_extra=MM
    )
    screw: Screw = Field(description="the two screws that hold the plaque on the lid")
    cut: Literal["laser", "by hand"] = Field(
        default="laser",
        title="cut by laser, or scored, snapped and drilled by hand",
        description="cut by laser, or scored, snapped and drilled by hand; the workshop's `laser` rows tell its errors",
    )
    wording: LineOfText = Field(default="", max_length=60, description="what is engraved on the standing leg")


class CableHole(Record):
    """The hole in the very centre of the back wall."""

    diameter: HoleSize = Field(description="diameter of the hole", json_schema_extra=MM)


class Contents(Record):
    """What must fit inside the walls, and the play that it needs."""

    length: Millimetres = Field(description="size along the box's length", json_schema_extra=MM)
    width: Millimetres = Field(description="size along the box's width", json_schema_extra=MM)
    height: Millimetres = Field(description="size upright, between base and lid", json_schema_extra=MM)
    clearance: float = Field(
        default=1.0, ge=0, le=100, description="play wanted in all in each direction", json_schema_extra=MM
    )


class Air(Record):
    """The air of a place."""

    temperature: float = Field(ge=-30, le=60, description="temperature", json_schema_extra=CELSIUS)
    humidity: float = Field(ge=0, le=100, description="relative humidity, %")


class Climates(Record):
    """The air that the box is made in, and the air that it lives in."""

    making: Air = Field(description="the room where it is made")
    home: Air = Field(description="the place where it will live")


class Limit(Record):
    """What an outcome must keep: at most `max`, at least `min`, or within ± `within`; any that are given."""

    max: float | None = Field(default=None, description="the largest value that is kept")
    min: float | None = Field(default=None, description="the smallest value that is kept")
    within: float | None = Field(default=None, gt=0, description="the largest magnitude that is kept")


def _limit_on(name: str) -> Limit | None:
    """Return the field of `Limits` for an outcome: none by default, described by what the outcome means."""
    outcome = OUTCOMES[name]
    unit = {"mm": MM, "deg": DEGREES, "1": None}[outcome.unit]
    field: Limit | None = Field(default=None, description=outcome.means, json_schema_extra=unit)
    return field


class Limits(Record):
    """The limits, by outcome; a box passes when it keeps every one of them."""

    joint_gap: Limit | None = _limit_on("joint_gap")
    closed_share: Limit | None = _limit_on("closed_share")
    step: Limit | None = _limit_on("step")
    top_step: Limit | None = _limit_on("top_step")
    out_of_square: Limit | None = _limit_on("out_of_square")
    diagonal_difference: Limit | None = _limit_on("diagonal_difference")
    lean: Limit | None = _limit_on("lean")
    length: Limit | None = _limit_on("length")
    width: Limit | None = _limit_on("width")
    base_overhang: Limit | None = _limit_on("base_overhang")
    lid_overhang: Limit | None = _limit_on("lid_overhang")
    screw_wood: Limit | None = _limit_on("screw_wood")
    cable_hole: Limit | None = _limit_on("cable_hole")
    plaque_spare: Limit | None = _limit_on("plaque_spare")
    plaque_leg: Limit | None = _limit_on("plaque_leg")
    plaque_angle: Limit | None = _limit_on("plaque_angle")


class Design(Record):
    """One box: what is made, who makes it, and what it must keep."""

    name: Text = Field(min_length=1, max_length=60, description="what the box is called")
    made_by: Text = Field(
        max_length=400, description="a shipped workshop's name, or the path of a workshop file from this file's folder"
    )
    makers: int = Field(default=26, ge=1, le=1_000_000, description="how many makers a class has, a box each")
    glue_up: Literal["as it falls", "squared"] = Field(
        default="as it falls", description="whether the diagonals are made equal while the glue is wet"
    )
    glue_limit: float = Field(
        default=0.2, gt=0, le=2, description="the widest gap that the glue still closes", json_schema_extra=MM
    )
    required_share: float = Field(default=0.8, gt=0, le=1, description="share of boxes that must keep every limit")
    lid_holes: Literal["measured", "marked through"] = Field(
        default="measured",
        description="whether the plaque's holes in the lid are measured or marked through the plaque",
    )
    overlength: float = Field(
        default=0.0,
        ge=0,
        le=10,
        description="how much longer than drawn the plain walls are marked",
        json_schema_extra=MM,
    )
    box: Box
    timber: Timber
    base: Base
    lid: Lid
    stem: Stem | None = Field(
        default=None,
        title="what comes up through the lid",
        description="what comes up through the lid; none where it is left out",
    )
    plaque: Plaque | None = Field(
        default=None, title="the acrylic plaque", description="the acrylic plaque; none where it is left out"
    )
    cable_hole: CableHole | None = Field(
        default=None,
        title="the hole in the back wall",
        description="the hole in the back wall; none where it is left out",
    )
    contents: Contents | None = Field(
        default=None, title="what must fit inside", description="what must fit inside; nothing is judged without it"
    )
    climate: Climates | None = Field(
        default=None, title="where it is made and lives", description="where it is made and lives; no season without it"
    )
    limits: Limits = Limits()

    @property
    def outcomes(self) -> dict[str, Outcome]:
        """What is read off its boxes, by name: every outcome but those of sections that it leaves out."""
        return {
            name: each
            for name, each in OUTCOMES.items()
            if each.section is None or getattr(self, each.section) is not None
        }
