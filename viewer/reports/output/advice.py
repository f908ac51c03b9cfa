"""What `lapwright advise --json` prints."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from pydantic import Field

from assembly.changes.file_rows import file_rows
from assembly.model.outcomes import OUTCOMES
from viewer.reports.output.change import ChangeOutput, change_output
from viewer.reports.output.check import LimitOutput  # noqa: TC001 - pydantic reads it
from viewer.reports.output.record import BEYOND, EstimateOutput, Output

if TYPE_CHECKING:
    from assembly.advice.advice import Advice
    from assembly.advice.in_the_way import InTheWay
    from assembly.advice.rows import Row
    from assembly.model.costs import Costs
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.intervals import Estimate


class AdviceRowOutput(Output):
    """A set of changes that is worth its price, or none: things as they are."""

    change: ChangeOutput = Field(description="all of its changes as one, with what is typed and what is written")
    changes: list[ChangeOutput] = Field(description="each of them, in words of its own")
    pass_share: EstimateOutput = Field(description="share of boxes that keep every limit with them")
    boxes: EstimateOutput = Field(description="good boxes of a class with them")
    gained: EstimateOutput = Field(description="good boxes more than as things are, on the same boxes")
    reaches: bool = Field(description="whether the share reaches what is asked for")
    close: bool = Field(description="whether more boxes could decide otherwise")
    worst: str | None = Field(description="the outcome whose limit then fails most; null where there is no limit")
    worst_kept: EstimateOutput | None = Field(description="share of boxes that keep that limit")
    ties: list[int] = Field(description="rows, counted from 1, that the boxes can't tell apart from it")


class InTheWayOutput(Output):
    """A limit that no changes bring enough boxes to keep."""

    name: str = Field(description="its outcome")
    unit: Literal["mm", "deg", "1"] = Field(description="unit of the limit")
    limit: LimitOutput = Field(description="the limit")
    kept: EstimateOutput = Field(description="share of boxes that keep it with what helps it most")
    changes: list[ChangeOutput] = Field(description="what helps it most; empty where nothing does")
    needed: LimitOutput = Field(description="what it would have to be for the share asked for")
    by: float = Field(description="how much wider that is")


class AdviceOutput(Output):
    """The fewest and cheapest changes that make enough boxes good."""

    command: Literal["advise"] = Field(description="the command that printed this")
    makers: int = Field(description="boxes of a class, one a maker")
    boxes: int = Field(description="how many boxes each set of changes was settled by")
    seed: int = Field(description="start of the random numbers")
    reach: float = Field(description="the share of boxes that is to keep every limit")
    reached: bool = Field(description="whether it is reached, with changes or without")
    currency: str = Field(description="what is written after a sum of money; empty where the costs name none")
    now: AdviceRowOutput = Field(description="things as they are")
    best: int | None = Field(
        description="the row to take, counted from 1; null where the share is reached as things are or nothing helps"
    )
    rows: list[AdviceRowOutput] = Field(
        description="every set that is ahead of all that are no dearer, fewest changes first, then the cheapest"
    )
    in_the_way: list[InTheWayOutput] = Field(description="where no set reaches: the limits that are in the way")
    tried: int = Field(description="how many sets of changes were tried")
    beyond_first_order: EstimateOutput = Field(description=BEYOND)
    partial: bool = Field(description="whether Ctrl-C cut it short")


def advice_output(design: Design, workshop: Workshop, costs: Costs, found: Advice, beyond: Estimate) -> AdviceOutput:
    """Return the answer; `beyond` is the share of boxes beyond first order as things are."""
    same = ("makers", "boxes", "seed", "reach", "reached", "tried", "partial")
    return AdviceOutput.model_validate(
        {
            "command": "advise",
            **{name: getattr(found, name) for name in same},
            "beyond_first_order": beyond,
            "currency": costs.currency,
            "now": _row(design, workshop, found, found.now),
            "best": None if found.best is None else found.best + 1,
            "rows": [_row(design, workshop, found, row) for row in found.rows],
            "in_the_way": [_in_the_way(each) for each in found.in_the_way],
        }
    )


def _row(design: Design, workshop: Workshop, found: Advice, row: Row) -> dict[str, Any]:
    change = row.change
    return {
        **{name: getattr(row, name) for name in ("reaches", "close", "worst", "worst_kept")},
        "change": change_output(change, file_rows(change, design, workshop)),
        "changes": [change_output(each, file_rows(each, design, workshop)) for each in row.changes],
        "pass_share": row.share,
        "boxes": row.share.times(found.makers),
        "gained": row.gained.times(found.makers),
        "ties": [at + 1 for at in row.ties],
    }


def _in_the_way(each: InTheWay) -> dict[str, Any]:
    return {
        **{name: getattr(each, name) for name in ("name", "limit", "kept", "needed", "by")},
        "unit": OUTCOMES[each.name].unit,
        "changes": [change_output(change) for change in each.changes],
    }
