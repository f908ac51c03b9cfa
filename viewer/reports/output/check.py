"""What `lapwright check --json` and `lapwright demo --json` print."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from assembly.nominal.frame import CORNERS, corner_words
from assembly.planning.cutting import cut_parts
from assembly.rules.remarks import remarks
from assembly.study.check import QUANTILES
from viewer.reports.output.change import ChangeOutput, change_output
from viewer.reports.output.record import EstimateOutput, Keyed, Output, by_outcome

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.advice.first_step import FirstStep
    from assembly.model.design import Design
    from assembly.study.check import StudyResult
    from assembly.study.forecast import Forecast
    from viewer.reports.forecast_report import Beside

_LEVELS = {str(at): f"{100 * at:g} boxes in 100 have so much or less" for at in QUANTILES}
_AT_CORNERS = {corner: f"gap of the joint at the corner {corner_words(corner)}" for corner in CORNERS}
Ends = tuple[float | None, float | None]


def _named(quantiles: dict[float, Any]) -> dict[str, Any]:
    return {str(at): each for at, each in quantiles.items()}


class LimitOutput(Output):
    """A limit of the design, in its outcome's unit; null is open."""

    max: float | None = Field(description="the most that is allowed")
    min: float | None = Field(description="the least that is allowed")
    within: float | None = Field(description="the most that is allowed to either side of 0")


class OutcomeOutput(Output):
    """One outcome over all boxes. Errors of size and of the plaque, and its play, keep their sign; others have none."""

    unit: Literal["mm", "deg", "1"] = Field(description="mm, deg (degrees), or 1, a share between 0 and 1")
    limit: LimitOutput | None = Field(description="the design's limit; null where it sets none")
    mean: EstimateOutput = Field(description="mean over the boxes")
    sd: EstimateOutput = Field(description="standard deviation over the boxes")
    quantiles: Annotated[dict[str, EstimateOutput], BeforeValidator(_named), Keyed(_LEVELS)] = Field(
        description="quantiles, by the share of boxes that have no more"
    )
    share_within: EstimateOutput | None = Field(description="share of boxes within the limit; null where there is none")


class PartOutput(Output):
    """Parts to cut to one size; sizes are finished, in mm."""

    name: str = Field(description="what the part is")
    count: int = Field(description="how many a box takes")
    length: float = Field(description="length, mm: along the grain of a wall")
    width: float = Field(description="width, mm")
    thickness: float = Field(description="thickness, mm")
    blank_length: float = Field(description="length of the blank, mm: with the waste that the making takes off")
    blank_width: float = Field(description="width of the blank, mm; of a wall that of its section")
    material: str = Field(description="what it is cut from")
    then: str = Field(description="what is then done to it")


class FailureOutput(Output):
    """How often a limit is missed in the simulated classes, and by how much."""

    name: str = Field(description=f"the outcome, or the corner of the joint: {', '.join(map(corner_words, CORNERS))}")
    unit: Literal["mm", "deg", "1"] = Field(description="unit of the excess")
    share: EstimateOutput = Field(description="share of boxes that miss the limit")
    excess: EstimateOutput | None = Field(
        description="mean of what lies beyond the limit where it is missed; null where less than one box misses it"
    )


class ForecastOutput(Output):
    """What a class can expect, from whole simulated classes."""

    makers: int = Field(description="boxes of a class, one a maker")
    expected: EstimateOutput = Field(description="good boxes of a class: those that keep every limit")
    range: tuple[EstimateOutput, EstimateOutput] = Field(
        description="good boxes of a class that one class in twenty falls below, and one in twenty exceeds"
    )
    classes: int = Field(description="how many classes were simulated")
    design_effect: float = Field(description="over 1: classes differ by more than chance")
    limits: list[FailureOutput] = Field(description="every limit, the most often missed first")
    joints: list[FailureOutput] = Field(
        description="the gap limit at each corner, the most often missed first; empty where the design sets none"
    )
    partial: bool = Field(description="whether Ctrl-C cut the simulated classes short")


class LinearOutput(Output):
    """One outcome as a plain sum of tolerances tells it, in the outcome's unit."""

    mean: float = Field(description="mean over the boxes that the sum was fitted to")
    worst_case: float = Field(description="half-width with every error at its limit at once")
    rss: float = Field(description="standard deviation of the sum: root of the sum of squares")
    explained: EstimateOutput = Field(description="share of the outcome's variance that the sum explains")
    coverage: tuple[float, float] = Field(description="between what the sum puts 95 boxes in 100")
    sampled: tuple[EstimateOutput, EstimateOutput] = Field(description="between what 95 simulated boxes in 100 fall")
    agrees: bool = Field(description="whether coverage and sampled agree to two digits of the spread")


class MisreadOutput(Output):
    """One limit that a rule reads, judged alone."""

    name: str = Field(description="the outcome")
    limit: Ends = Field(description="the least and the most that the limit allows, mm; null is open")
    works_like: Ends | None = Field(
        description="the least and the most that are in effect allowed, mm, where the least is not below the most no "
        "reading keeps it; null where two readings are subtracted"
    )
    refused: EstimateOutput = Field(description="share of all boxes that keep it and are read not to")
    passed: EstimateOutput = Field(description="share of all boxes that do not keep it and are read to")


class CallsOutput(Output):
    """What a class would call good with a rule; shares are of all boxes."""

    boxes: int = Field(description="how many boxes were read")
    seed: int = Field(description="start of the random numbers")
    division: float = Field(description="what the rule is read to, mm")
    good: EstimateOutput = Field(description="share of boxes that keep every limit")
    called_good: EstimateOutput = Field(description="share of boxes called good")
    false_accept: EstimateOutput = Field(description="share of boxes called good that are not")
    false_reject: EstimateOutput = Field(description="share of boxes called bad that are good")
    limits: list[MisreadOutput] = Field(description="every limit that is read, the most often wrong first")


class MeasuredOutput(CallsOutput):
    """What a class would call good with the rule asked for, and with a finer one."""

    finer: CallsOutput | None = Field(
        description="the same boxes read to 0.5 mm, without limits; null where that is no finer"
    )


class RemarkOutput(Output):
    """What has to be known of a design that no rule refuses."""

    where: str = Field(description="the design's key")
    what: str = Field(description="what has to be known")


class FirstStepOutput(Output):
    """One change, and what it is worth by itself."""

    change: ChangeOutput = Field(description="the change")
    gained: EstimateOutput = Field(description="good boxes more in a class, on the same boxes")


class CheckOutput(Output):
    """What is expected of a design in a workshop."""

    command: Literal["check", "demo"] = Field(description="the command that printed this")
    boxes: int = Field(description="how many boxes were simulated")
    seed: int = Field(description="start of the random numbers; the same seed gives the same figures")
    points: Literal["random", "sobol"] = Field(description="random boxes, or boxes at scrambled Sobol' points")
    scrambles: int | None = Field(description="how many scrambles; null where points are random")
    digits: int | None = Field(description="what --digits asked for; null where it was not given")
    required_share: float = Field(description="share of boxes that must keep every limit, by the design")
    pass_share: EstimateOutput = Field(description="share of boxes that keep every limit")
    exact_pass_share: EstimateOutput | None = Field(
        description="the same with an interval that holds whatever the true share; null with --digits or Sobol' "
        "points, where boxes hang together or their number is not fixed beforehand"
    )
    outcomes: Annotated[dict[str, OutcomeOutput], by_outcome()] = Field(description="every outcome that the box has")
    corners: Annotated[dict[str, OutcomeOutput], Keyed(_AT_CORNERS)] = Field(description="the gap of each joint")
    beyond_first_order: EstimateOutput = Field(
        description="share of boxes with errors larger than the predictions hold for"
    )
    parts: list[PartOutput] = Field(description="what to cut")
    forecast: ForecastOutput | None = Field(description="what a class can expect; null where Ctrl-C came before")
    unsure_range: tuple[EstimateOutput, EstimateOutput] | None = Field(
        description="of a learned workshop with draws beside it: the forecast's range with what readings leave open; "
        "null where there are none, or Ctrl-C came before"
    )
    linear: Annotated[dict[str, LinearOutput], by_outcome()] | None = Field(
        description="every outcome as a plain sum of tolerances tells it; null where Ctrl-C came before"
    )
    measured: MeasuredOutput | None = Field(
        description="with --rule, what a class would call good; null without, or where Ctrl-C came before"
    )
    first_step: FirstStepOutput | None = Field(
        description="the single change to the making that gains most; null where none surely gains any, or Ctrl-C came "
        "before"
    )
    remarks: list[RemarkOutput] = Field(description="what has to be known of the design")
    files: list[str] = Field(description="the files written")
    partial: bool = Field(description="whether Ctrl-C cut the study short: fewer boxes than were asked for")


def check_output(
    design: Design,
    study: StudyResult,
    beside: Beside,
    *,
    points: str,
    digits: int | None,
    files: Sequence[str],
    partial: bool,
) -> CheckOutput:
    """Return what `lapwright check --json` prints; the exact interval is worked out here, not for the text."""
    kept = ("boxes", "seed", "pass_share", "exact_pass_share", "outcomes", "corners", "beyond_first_order")
    return CheckOutput.model_validate(
        {
            **{name: getattr(study, name) for name in kept},
            "command": "check",
            "points": points,
            "scrambles": study.runs if points == "sobol" else None,
            "digits": digits,
            "required_share": design.required_share,
            "parts": cut_parts(design),
            "forecast": _forecast(beside.forecast) if beside.forecast else None,
            "unsure_range": beside.unsure.range if beside.unsure else None,
            "linear": beside.linear,
            "measured": beside.measured,
            "first_step": _first_step(beside.first_step, design.makers),
            "remarks": remarks(design),
            "files": files,
            "partial": partial,
        }
    )


def _first_step(step: FirstStep | None, makers: int) -> dict[str, Any] | None:
    return None if step is None else {"change": change_output(step.change), "gained": step.gained.times(makers)}


def _forecast(forecast: Forecast) -> dict[str, Any]:
    classes = forecast.classes
    return {
        "makers": classes.makers,
        "expected": classes.expected,
        "range": classes.range,
        "classes": int(classes.counts.size),
        "design_effect": classes.deff,
        "limits": forecast.limits,
        "joints": forecast.joints,
        "partial": classes.partial,
    }
