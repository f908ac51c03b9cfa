"""How a box is made: the operations of a workshop and the errors they leave.

operation   : one thing a maker does (marking, sawing, sanding, chiselling)
quantity    : what an operation disturbs, named `operation.quantity`; mm, or degrees where the name says so below
disturbance : the four numbers (bias and three spreads) and the family that describe one quantity
class, maker, cut : who shares a part of the error: every box of one class, every cut of one maker, nobody

Error is made minus intended, positive where material is left on. Files hold millimetres and degrees;
`Disturbance` values are as in the file, and `assembly.made.sampling` turns degrees into radians. See MODEL.md, 2.
"""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field
from pydantic_core import PydanticCustomError

from assembly.errors import unseen

if TYPE_CHECKING:
    from pydantic.config import JsonDict

UNSEEN = "unseen_character"  # the type of the fault of a text that has one


def _seen(text: str) -> str:
    if not text.isprintable() and any(map(unseen, text)):  # nothing unseen is printable
        raise PydanticCustomError(UNSEEN, "a character that is not seen")
    return text


# What `unseen` refuses among the first 65536 characters, for the schemas that editors read: no line ends, no controls,
# no direction marks.
_LINE = (
    r"\x00-\x1f\x7f-\x9f\xad\u0600-\u0605\u061c\u06dd\u070f\u0890\u0891\u08e2\u180e\u200b\u200e\u200f\u2028-\u202e"
    r"\u2060-\u2064\u2066-\u206f\ufeff\ufff9-\ufffb"
)
# Text that is shown or engraved, and text that is a name, too: it begins with something that is seen.
LineOfText = Annotated[str, Field(pattern=rf"^[^{_LINE}]*$"), AfterValidator(_seen)]
Text = Annotated[str, Field(pattern=rf"^[^\s{_LINE}][^{_LINE}]*$"), AfterValidator(_seen)]
Family = Literal["normal", "uniform", "triangular"]
Spread = Annotated[float, Field(ge=0, le=20)]

# Units of the numbers in a file, as a field's schema tells them.
MM: JsonDict = {"unit": "mm"}
DEGREES: JsonDict = {"unit": "degrees"}
CELSIUS: JsonDict = {"unit": "degrees Celsius"}

# Half-width over standard deviation.
# Source: JCGM 100:2008, 4.3.7 (uniform: u² = a²/3) and 4.3.9 (triangular: u² = a²/6).
HALF_WIDTH_PER_STD = {"uniform": math.sqrt(3), "triangular": math.sqrt(6)}


class Record(BaseModel):
    """A frozen record read from a file: no unknown keys, no coerced types, no NaN or infinity."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class Disturbance(Record):
    """What one operation leaves on one quantity: mean, and the spread of three independent parts of one family."""

    bias: float = Field(
        default=0.0, ge=-20, le=20, title="mean error", description="mean error; positive leaves material on"
    )
    class_spread: Spread = Field(default=0.0, description="standard deviation of the part that one whole class shares")
    maker_spread: Spread = Field(
        default=0.0, description="standard deviation of the part that all cuts of one maker share"
    )
    spread: Spread = Field(default=0.0, description="standard deviation of the part drawn anew for each cut")
    family: Family = Field(default="normal", description="shape of the distribution of each part")

    @property
    def std(self) -> float:
        """Standard deviation of one cut's value."""
        return math.hypot(self.class_spread, self.maker_spread, self.spread)

    @property
    def limit(self) -> float:
        """Largest deviation from the bias that a worst case allows (MODEL.md, 2)."""
        if self.family == "normal":
            return 3 * self.std
        return HALF_WIDTH_PER_STD[self.family] * (self.class_spread + self.maker_spread + self.spread)


NO_ERROR = Disturbance()


class _Straight(Record):
    offset: Disturbance = NO_ERROR


class _Angled(_Straight):
    plan: Disturbance = NO_ERROR  # degrees
    upright: Disturbance = NO_ERROR  # degrees


class _Square(Record):
    plan: Disturbance = NO_ERROR  # degrees
    upright: Disturbance = NO_ERROR  # degrees


class _Chisel(_Straight):
    along: Disturbance = NO_ERROR  # degrees
    upright: Disturbance = NO_ERROR  # degrees
    uneven: Disturbance = NO_ERROR


class _StockErrors(Record):
    thickness: Disturbance = NO_ERROR
    height: Disturbance = NO_ERROR
    bow: Disturbance = NO_ERROR
    twist: Disturbance = NO_ERROR  # degrees


class _BaseErrors(Record):
    cut: Disturbance = NO_ERROR
    place: Disturbance = NO_ERROR


class _Drill(Record):
    wander: Disturbance = NO_ERROR


class _LidPlace(Record):
    place: Disturbance = NO_ERROR


class _Laser(Record):
    kerf: Disturbance = NO_ERROR
    place: Disturbance = NO_ERROR


class _Bend(Record):
    line: Disturbance = NO_ERROR
    angle: Disturbance = NO_ERROR  # degrees


class Operations(Record):
    """Every operation of the making, in the order in which it is met; an operation left out leaves no error."""

    mark: _Straight = Field(default=_Straight(), description="marking the length of a wall")
    square: _Square = Field(default=_Square(), description="squaring a line round a wall")
    saw: _Angled = Field(
        default=_Angled(),
        title="sawing a wall to length",
        description="sawing a wall to length, on the waste side of the line",
    )
    sand: _Angled = Field(default=_Angled(), description="sanding an end to the line")
    lap_mark: _Straight = Field(
        default=_Straight(),
        title="marking a shoulder line",
        description="marking a shoulder line; positive is further from the end",
    )
    lap_saw: _Angled = Field(default=_Angled(), description="sawing a shoulder")
    gauge: _Straight = Field(
        default=_Straight(), description="setting and running the marking gauge for the lap's depth"
    )
    chisel: _Chisel = Field(default=_Chisel(), description="chiselling a cheek to the gauge line")
    stock: _StockErrors = Field(
        default=_StockErrors(),
        title="the timber as it comes",
        description="the timber as it comes, before anyone works it",
    )
    base: _BaseErrors = Field(default=_BaseErrors(), description="cutting the base and placing it under the frame")
    flush: _Straight = Field(default=_Straight(), description="bringing the base flush with the walls")
    outline: _Straight = Field(default=_Straight(), description="drawing the lid's outline round the frame")
    lid_saw: _Straight = Field(default=_Straight(), description="sawing the lid outside its outline")
    lid_sand: _Straight = Field(default=_Straight(), description="sanding the lid to its outline")
    hole_mark: _Straight = Field(
        default=_Straight(), title="marking a hole's centre", description="marking a hole's centre, each axis"
    )
    drill: _Drill = Field(
        default=_Drill(), title="drilling", description="drilling: how far the bit wanders from the mark, each axis"
    )
    lid: _LidPlace = Field(
        default=_LidPlace(), title="placing the lid on the frame", description="placing the lid on the frame, each axis"
    )
    laser: _Laser = Field(default=_Laser(), description="laser cutting of the plaque")
    bend: _Bend = Field(
        default=_Bend(),
        title="bending the plaque on the hot line",
        description="bending the plaque on the hot line; angle in degrees",
    )


# Quantities in degrees; every other quantity is in millimetres.
ANGLES = frozenset(
    {
        "square.plan",
        "square.upright",
        "saw.plan",
        "saw.upright",
        "sand.plan",
        "sand.upright",
        "lap_saw.plan",
        "lap_saw.upright",
        "chisel.along",
        "chisel.upright",
        "stock.twist",
        "bend.angle",
    }
)

# Quantities whose bias is an allowance: material that is left on with intent, for the sander to take off to the line.
# How much is a choice of the workshop's and no fault of the makers'.
ALLOWANCES = frozenset({"saw.offset", "lid_saw.offset"})

_BESIDE_OPERATIONS = {"pare": "paring to fit", "settling": "chance in settling"}


class Pare(Record):
    """Paring to fit: when a lap is pared again, and how well each time."""

    notice: float = Field(
        default=0.0, ge=0, le=10, description="a corner proud by more than this is pared again", json_schema_extra=MM
    )
    bias: float = Field(
        default=0.0,
        ge=-5,
        le=5,
        title="mean of a pared corner",
        description="mean of a pared corner; positive leaves material on",
        json_schema_extra=MM,
    )
    spread: Spread = Field(default=0.0, description="standard deviation of a pared corner", json_schema_extra=MM)
    rounds: int = Field(
        default=0,
        ge=0,
        le=20,
        title="how often a corner is pared at the most",
        description="how often a corner is pared at the most; 0 means never",
    )


class Scrap(Record):
    """When a wall is spoilt, so that its maker makes it again from a fresh blank (MODEL.md, 2.5)."""

    short: float = Field(
        default=1.5,
        ge=0.1,
        le=20,
        title="how far too short a wall may be",
        description="a wall that is shorter than meant by more than this is spoilt",
        json_schema_extra=MM,
    )
    overcut: float = Field(
        default=1.0,
        ge=0.1,
        le=20,
        title="how far too deep a lap may be",
        description="a wall with a lap that is cut too deep by more than this is spoilt",
        json_schema_extra=MM,
    )
    tongue: float = Field(
        default=2.5,
        ge=0,
        le=60,
        title="how thick a tongue must be",
        description="a wall with a tongue thinner than this is spoilt",
        json_schema_extra=MM,
    )


class Aid(Record):
    """A workshop aid (a stop block, a saw guide), and the numbers that stand in place of the workshop's own with it.

    An aid changes only what it changes: what a row of `replaces` does not give stays as the workshop has it.
    """

    title: Text = Field(min_length=1, max_length=80, description="what the aid is, in a few words")
    used: bool = Field(
        default=False,
        title="whether the aid is used",
        description="whether the aid is used; its numbers count only then",
    )
    replaces: dict[str, Disturbance] = Field(
        min_length=1,
        title="rows by their dotted name, `saw.offset` for one",
        description="rows by their dotted name, `saw.offset` for one; each number given replaces the workshop's own",
    )

    def given(self, quantity: str) -> dict[str, float | str]:
        """Return the numbers that the aid gives for a quantity, by the names of a disturbance's fields."""
        row = self.replaces.get(quantity)
        return row.model_dump(exclude_unset=True) if row else {}


class Workshop(Record):
    """How a class makes the box: reference for the laps, paring, what is spoilt, operations and the aids at hand."""

    name: Text = Field(min_length=1, max_length=80, description="what this workshop is called on screens")
    shoulder_from: Literal["part", "drawing"] = Field(
        default="part",
        description="mark the shoulder along the plain wall itself (part), or at its drawn thickness (drawing)",
    )
    gauge_from: Literal["inside", "outside"] = Field(
        default="inside", description="the face of the lapped wall that the marking gauge runs along"
    )
    pare: Pare = Field(default=Pare(), description="paring to fit")
    scrap: Scrap = Field(default=Scrap(), description="when a wall is spoilt and made again")
    operations: Operations = Field(default=Operations(), description="the errors that each operation leaves")
    aids: dict[Text, Aid] = Field(default={}, description="aids that can be tried, by name")

    def disturbance(self, quantity: str) -> Disturbance:
        """Return the disturbance of a quantity by its dotted name, `saw.offset` for one, with the aids that are used.

        No two of them give the same number (`assembly.rules.design_rules`).
        """
        operation, _, name = quantity.partition(".")
        found = getattr(getattr(self.operations, operation), name)
        assert isinstance(found, Disturbance)
        given = [aid.given(quantity) for aid in self.aids.values() if aid.used]
        numbers = {key: value for each in given for key, value in each.items()}
        return found.model_copy(update=numbers) if numbers else found

    def key_of(self, quantity: str, number: str) -> tuple[str, ...]:
        """Return where a quantity's number stands in the file: with the operations, or with the aid that gives it."""
        for name, aid in self.aids.items():
            if aid.used and number in aid.given(quantity):
                return ("aids", name, "replaces", quantity, number)
        return ("operations", *quantity.split("."), number)


def quantities() -> tuple[str, ...]:
    """Return the dotted name of every quantity, in the order of `Operations`."""
    return tuple(name for operation in Operations.model_fields for name in quantities_of(operation))


@cache
def quantities_of(operation: str) -> tuple[str, ...]:
    """Return the dotted names of one operation's quantities."""
    return tuple(f"{operation}.{name}" for name in type(Operations.model_fields[operation].default).model_fields)


def operation_words(name: str) -> str:
    """Return an operation in a few words: its field's title, or else all that it says; of paring and settling, too."""
    field = Operations.model_fields.get(name)
    return (field.title or field.description or name) if field else _BESIDE_OPERATIONS.get(name, name)
