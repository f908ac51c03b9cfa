"""What changes to a box cost one maker, as a school's own table says it: money and minutes.

money    : in the school's own currency, a maker
minutes  : of a maker's time, more than now
possible : whether it can be done in that workshop at all
"""

from __future__ import annotations

from pydantic import Field

from assembly.model.workshop import LineOfText, Record, Text


class Cost(Record):
    """What one change costs a maker."""

    money: float = Field(default=0.0, ge=0, le=10_000, description="money that one maker's share of it costs")
    minutes: float = Field(default=0.0, ge=0, le=600, description="minutes of a maker's time that it takes more")
    possible: bool = Field(default=True, description="whether it can be done here; what can't is never proposed")


class CostByLength(Cost):
    """What a change costs that is more or less of a length."""

    minutes_per_mm: float = Field(default=0.0, ge=0, le=600, description="minutes more for each mm")


class CostByTimber(Cost):
    """What another section costs."""

    money_per_litre: float = Field(
        default=0.0, ge=0, le=10_000, description="money for each litre, 1000 cm³, of timber more than now"
    )


class Costs(Record):
    """The table: what every kind of change costs a maker."""

    currency: LineOfText = Field(default="", max_length=12, description="what is written after a sum of money")
    minute: float = Field(
        default=0.0, ge=0, le=1000, description="what a maker's minute counts for in money, where costs are weighed"
    )
    aid: Cost = Field(default=Cost(), description="an aid that is not named under aids")
    aids: dict[Text, Cost] = Field(default={}, description="aids of the workshop, by name")
    marked_from_part: Cost = Field(default=Cost(), description="shoulders marked along the part itself")
    squared: Cost = Field(default=Cost(), description="diagonals made equal in the glue")
    one_more_paring: Cost = Field(default=Cost(), description="one more round of paring")
    gauge_side: Cost = Field(default=Cost(), description="the marking gauge run along the other face")
    marked_through: Cost = Field(default=Cost(), description="the lid's holes marked through the plaque")
    lap_share: Cost = Field(default=Cost(), description="deeper or shallower laps")
    left_to_sand: CostByLength = Field(default=CostByLength(), description="more left to sand at the walls' ends")
    lid_left_to_sand: CostByLength = Field(default=CostByLength(), description="more left to sand at the lid's edges")
    overlength: CostByLength = Field(default=CostByLength(), description="plain walls marked longer than drawn")
    section: CostByTimber = Field(default=CostByTimber(), description="walls of other thicknesses")
