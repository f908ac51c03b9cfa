"""What `lapwright causes`, `worst` and `compare` print with `--json`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field

from assembly.changes.file_rows import file_rows
from assembly.model.outcomes import FRAME_OUTCOMES
from assembly.nominal.frame import CORNER_LETTERS
from viewer.reports.bad_box_words import off_words
from viewer.reports.output.change import ChangeOutput, change_output
from viewer.reports.output.record import BEYOND, EstimateOutput, Output, by_outcome

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.compare import Comparison
    from assembly.study.improvements import Helps
    from assembly.study.intervals import Estimate
    from assembly.study.sensitivity import Causes
    from viewer.reports.worst_report import LikeliestBox, WorstFits

BeforeAndAfter = tuple[EstimateOutput, EstimateOutput]


class CauseOutput(Output):
    """What is behind the variation of an outcome, and how much of it."""

    name: str = Field(description="an operation, a level (class, maker, cut), or both, as in 'saw cut'")
    share: EstimateOutput = Field(
        description="share of the outcome's variance that would go if this alone were always the same; shares need "
        "not add to 1"
    )


class MissedOutput(Output):
    """The limit that a change loses most boxes by, before and after it."""

    name: str = Field(description="the outcome")
    kept: BeforeAndAfter = Field(description="share of boxes within the limit, before and after")
    mean: BeforeAndAfter = Field(description="mean of the outcome, before and after, in its unit")


class WhyOutput(Output):
    """What a change that makes things worse moves, as far as the boxes show it."""

    boxes: int = Field(description="how many boxes were looked at")
    missed: MissedOutput | None = Field(
        description="the limit most often missed by it; null where none is beyond chance"
    )
    where: Literal["ends", "laps"] | None = Field(
        description="faces of which more corners come out short, that is below their line; null where none clearly do"
    )
    short: BeforeAndAfter | None = Field(description="share of those faces' corners that are short, before and after")


class GainOutput(Output):
    """What one change is worth."""

    change: ChangeOutput = Field(description="the change")
    boxes: EstimateOutput = Field(description="good boxes that a class gains; below 0 it loses them")
    pass_share: EstimateOutput = Field(description="share of boxes that keep every limit with the change")
    same: bool = Field(description="whether no box came out any different")
    why: WhyOutput | None = Field(description="why it makes things worse; null where it does not")


class HelpsOutput(Output):
    """What would help: every single change that was tried, on the same boxes."""

    makers: int = Field(description="boxes of a class, one a maker")
    boxes: int = Field(description="how many boxes each change was tried on")
    seed: int = Field(description="start of the random numbers")
    pass_share: EstimateOutput = Field(description="share of boxes that keep every limit as things are")
    gains: list[GainOutput] = Field(description="every change, the most helpful first")
    partial: bool = Field(description="whether Ctrl-C cut it short")


class CausesOutput(Output):
    """What is behind the variation of one outcome, and what would help."""

    command: Literal["causes"] = Field(description="the command that printed this")
    of: str = Field(description="the outcome")
    boxes: int = Field(description="how many boxes were simulated for each operation")
    seed: int = Field(description="start of the random numbers")
    sd: EstimateOutput = Field(description="standard deviation of the outcome, in its unit")
    operations: list[CauseOutput] = Field(description="every operation, the largest share first")
    levels: list[CauseOutput] | None = Field(
        description="by who shares an error: a class, a maker, or nobody (cut); null where Ctrl-C came before"
    )
    split: list[CauseOutput] | None = Field(description="by both; null where Ctrl-C came before")
    helps: HelpsOutput | None = Field(description="what would help; null where Ctrl-C came before")
    beyond_first_order: EstimateOutput = Field(description=BEYOND)
    files: list[str] = Field(description="the files written")
    partial: bool = Field(description="whether Ctrl-C cut it short")


def causes_output(
    of: str,
    found: Mapping[str, Causes | None],
    helps: HelpsOutput | None,
    *,
    beyond: Estimate,
    files: Sequence[str],
    partial: bool,
) -> CausesOutput:
    """Return what `lapwright causes --json` prints, found by `operations`, `levels` and `split`: the first at least."""
    whole = found["operations"]
    assert whole
    return CausesOutput.model_validate(
        {
            **{by: each and each.causes[of] for by, each in found.items()},
            "command": "causes",
            "of": of,
            "boxes": whole.boxes,
            "seed": whole.seed,
            "sd": whole.sd[of],
            "helps": helps,
            "beyond_first_order": beyond,
            "files": files,
            "partial": partial,
        }
    )


def helps_output(design: Design, workshop: Workshop, helps: Helps) -> HelpsOutput:
    """Return what would help, each change with what is typed for it and what is written in files."""
    gains = [
        {
            "change": change_output(gain.change, file_rows(gain.change, design, workshop)),
            "boxes": gain.boxes,
            "pass_share": gain.pass_share,
            "same": gain.same,
            "why": gain.why,
        }
        for gain in helps.gains
    ]
    kept = ("makers", "boxes", "seed", "pass_share", "partial")
    return HelpsOutput.model_validate({**{name: getattr(helps, name) for name in kept}, "gains": gains})


class SampledOutput(Output):
    """A simulated box near a percentile of one joint's gap."""

    percentile: int = Field(description="so many boxes in 100 have a narrower gap at this joint")
    box: int = Field(description="its number, from 1")
    gap: float = Field(description="its gap at this joint, mm")
    outcomes: Annotated[dict[str, float], by_outcome()] = Field(description="every outcome of this box")


class LimitCaseOutput(Output):
    """Every error within its limits, all set to open one joint most."""

    found: float = Field(description="widest gap found, mm")
    proved: float = Field(
        description="what no such gap can exceed, mm; equal to found but for rounding where proved so"
    )
    beyond_first_order: bool = Field(description="whether its errors are larger than the predictions hold for")
    outcomes: Annotated[dict[str, float], by_outcome(FRAME_OUTCOMES)] = Field(description="outcomes of its frame")


class JointOutput(Output):
    """The worst fits of one joint."""

    joint: str = Field(description="the corner, such as right-back")
    letter: str = Field(description="the corner's letter on the wood, A to D")
    sampled: list[SampledOutput] = Field(description="real boxes out of those simulated")
    limit_case: LimitCaseOutput | None = Field(
        description="the limit case; null where it was not asked for, or Ctrl-C came before"
    )


class OffOutput(Output):
    """One feature that is off in a bad box."""

    words: str = Field(description="what is off, in words")
    size: float = Field(description="by how much, made less drawn: mm; of the plaque's bend, degrees")
    share: float = Field(description="its errors' share of the squared distance from the usual box, 0 to 1")


class LikeliestOutput(Output):
    """The likeliest box that breaks a limit, and how many boxes break it."""

    of: str = Field(description="the joint, or the outcome, whose limit it breaks")
    share: EstimateOutput = Field(description="share of boxes that break the limit")
    boxes: int = Field(description="how many boxes were counted, or drawn around the likeliest and weighed")
    effective: float | None = Field(
        description="how many boxes of equal weight tell as much as those weighed; null where boxes were counted"
    )
    points: int = Field(description="how many distinct bad boxes the search found that are likelier than all near them")
    beta: float | None = Field(
        description="distance of the likeliest from the usual box, in standard deviations of all errors together; 0 "
        "where the usual box breaks the limit, null where no box was found that does"
    )
    off: list[OffOutput] = Field(description="what is off in it, the weightiest first; empty where beta is null or 0")
    beyond_first_order: bool | None = Field(
        description="whether its errors are larger than the predictions hold for; null where beta is"
    )
    outcomes: Annotated[dict[str, float], by_outcome()] | None = Field(
        description="every outcome of this box; null where beta is"
    )


class WorstOutput(Output):
    """How wide joints open, and what the likeliest bad boxes are."""

    command: Literal["worst"] = Field(description="the command that printed this")
    boxes: int = Field(description="how many boxes were simulated")
    seed: int = Field(description="start of the random numbers")
    joints: list[JointOutput] = Field(description="the joints asked for")
    likeliest: list[LikeliestOutput] = Field(
        description="the likeliest bad box of each limit asked for, as far as Ctrl-C let it be found"
    )
    beyond_first_order: EstimateOutput = Field(description=BEYOND)
    partial: bool = Field(description="whether Ctrl-C cut it short")


def worst_output(
    fits: Sequence[WorstFits],
    likeliest: Sequence[LikeliestBox] = (),
    *,
    beyond: Estimate,
    boxes: int,
    seed: int,
    partial: bool,
) -> WorstOutput:
    """Return what `lapwright worst --json` prints."""
    return WorstOutput.model_validate(
        {
            "command": "worst",
            "boxes": boxes,
            "seed": seed,
            "joints": [_joint(each) for each in fits],
            "likeliest": [_likeliest(each) for each in likeliest],
            "beyond_first_order": beyond,
            "partial": partial,
        }
    )


def _likeliest(each: LikeliestBox) -> dict[str, Any]:
    known = each.known
    return {
        "of": each.of,
        "share": known.share,
        "boxes": known.boxes,
        "effective": known.effective,
        "points": len(known.points),
        "beta": None if each.box is None else float(known.points.beta[0]),
        "off": [{"words": off_words(off, each.frame), "size": off.size, "share": off.share} for off in each.off],
        "beyond_first_order": None if each.box is None else each.beyond_first_order,
        "outcomes": each.box and each.box.outcomes,
    }


def _joint(fits: WorstFits) -> dict[str, Any]:
    case = fits.limit_case
    return {
        "joint": fits.joint,
        "letter": CORNER_LETTERS[fits.joint],
        "sampled": [
            {"percentile": at, "box": box.index + 1, "gap": fits.gaps[at], "outcomes": box.outcomes}
            for at, box in fits.sampled.items()
        ],
        "limit_case": case
        and {
            "found": case.found,
            "proved": case.proved,
            "beyond_first_order": case.beyond_first_order,
            "outcomes": case.box.outcomes,
        },
    }


class SideOutput(Output):
    """One of two that are compared."""

    design: str = Field(description="the design's name")
    workshop: str = Field(description="the workshop's name")
    pass_share: EstimateOutput = Field(description="share of boxes that keep every limit")
    beyond_first_order: EstimateOutput = Field(description=BEYOND)


class DifferenceOutput(Output):
    """What differs in one outcome, second less first, in its unit."""

    mean: EstimateOutput = Field(description="difference of the means")
    median: EstimateOutput = Field(description="difference of the medians")


class CompareOutput(Output):
    """What differs between two designs or workshops, made by the same hands."""

    command: Literal["compare"] = Field(description="the command that printed this")
    boxes: int = Field(description="how many boxes were simulated, both ways")
    seed: int = Field(description="start of the random numbers")
    first: SideOutput = Field(description="the first")
    second: SideOutput = Field(description="the second")
    pass_share: EstimateOutput = Field(description="share of boxes that keep every limit, second less first")
    outcomes: Annotated[dict[str, DifferenceOutput], by_outcome()] = Field(description="every outcome that both have")
    partial: bool = Field(description="whether Ctrl-C cut it short")


def compare_output(
    pair: tuple[tuple[Design, Workshop], tuple[Design, Workshop]],
    found: Comparison,
    beyond: Sequence[Estimate],
) -> CompareOutput:
    """Return what `lapwright compare --json` prints; `beyond` is the share beyond first order of either."""
    sides = {
        which: {
            "design": design.name,
            "workshop": workshop.name,
            "pass_share": getattr(found, which),
            "beyond_first_order": share,
        }
        for which, (design, workshop), share in zip(("first", "second"), pair, beyond, strict=True)
    }
    kept = {name: getattr(found, name) for name in ("boxes", "seed", "pass_share", "outcomes", "partial")}
    return CompareOutput.model_validate({**kept, **sides, "command": "compare"})
