"""What `lapwright section --json` prints: one section, or a table of pairs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from pydantic import Field

from assembly.section.cure import LOST
from assembly.section.notes import UNMARKED
from assembly.section.section import CAUTIONS
from assembly.section.verdict import sound_limits
from viewer.reports.output.change import ChangeOutput, change_output
from viewer.reports.output.record import EstimateOutput, Output, Range

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.changes.change import Change
    from assembly.model.design import Design
    from assembly.section.cure import Cure
    from assembly.section.pairs import Cell, Table
    from assembly.section.section import SectionStudy
    from assembly.section.verdict import Verdict

Level = Literal["sound", "with care", "does not fit", "not sound"]
_ROWS = "; ".join(f"{row}: {limit.title}" for row, limit in sound_limits().items())
_XY = "along the plain walls, then along the lapped walls"


class ReasonOutput(Output):
    """One row of a verdict."""

    row: str = Field(description=f"the row. {_ROWS}")
    figure: EstimateOutput = Field(description="the section's figure, in the row's unit")
    unit: str = Field(description="mm, share, ratio, count, or 'of core', the screw's")
    limit: float = Field(description="what the figure must keep to be sound")
    margin: float = Field(description="how far it keeps the limit, as a share of that; below 0 it does not")
    level: Level = Field(description="sound, with care, does not fit (the contents) or not sound")
    source: str = Field(description="where the limit comes from")


class FaultOutput(Output):
    """What does not go together in a section, so that `check` refuses the box, or no box can be made."""

    where: str = Field(description="the design's key to change first")
    what: str = Field(description="what was found, what is allowed and the cure")


class VerdictOutput(Output):
    """Whether a section is sound, and every row that says so."""

    verdict: Level = Field(description="the worst level of all rows, or with care where no section is proven")
    note: str = Field(description="why the verdict is lower than its rows; empty where it is not")
    reasons: list[ReasonOutput] = Field(description="every row, the least margin first")


class SizesOutput(Output):
    """A section, and the box that it is of; sizes in mm."""

    lapped: float = Field(description="thickness of the lapped walls, mm")
    plain: float = Field(description="thickness of the plain walls, mm")
    lap_share: float = Field(description="depth of the lap as a share of the lapped thickness")
    height: float = Field(description="height of the walls, mm")
    length: float = Field(description="outside length, mm")
    width: float = Field(description="outside width, mm")
    timber: str = Field(description="the timber, or the sheet")


class DrawnOutput(Output):
    """One size of the drawing, with the present section and with the one tried."""

    name: str = Field(description="what the size is of")
    before: float = Field(description="with the present section")
    after: float = Field(description="with the section tried")
    unit: str = Field(description="mm, or cm³ of timber")
    marked: bool = Field(description="whether a pupil marks it")
    change: float = Field(description="after less before")
    between_marks: bool = Field(description="whether it is marked and lies between a rule's half millimetres")


class FitOutput(Output):
    """How boxes come out with the section tried against the present one, made by the same makers."""

    boxes: int = Field(description="how many boxes were simulated of either section")
    pass_before: EstimateOutput = Field(description="share of the present section's boxes that keep every limit")
    pass_after: EstimateOutput = Field(description="the same of the section tried")
    pass_share: EstimateOutput = Field(description="the second less the first, over the same makers")
    joint_gap: EstimateOutput = Field(description="mean widest gap, section tried less present, mm")
    closed_share: EstimateOutput = Field(
        description="mean share of the worst corner that glue closes, tried less present"
    )
    from_drawing: EstimateOutput = Field(
        description="share that keeps every limit with shoulders marked from the drawing, less marked from the wall"
    )


class NeededOutput(Output):
    """What a box takes of one section: blanks, with the waste that the making takes off their ends."""

    walls: Literal["lapped", "plain"] = Field(description="which walls")
    thickness: float = Field(description="thickness, mm")
    height: float = Field(description="height, mm")
    length: float = Field(description="length of both blanks of a box, mm")


class PilotOutput(Output):
    """The lid screw's pilot hole beside what is published for it, mm."""

    hole: float = Field(description="diameter of the hole, mm")
    core: float = Field(description="diameter of the screw's core, mm")
    core_source: str = Field(description="where the core's diameter comes from")
    best: float | None = Field(description="hole for the best hold, mm; null for a sheet, for which none is published")
    kind: str = Field(description="softwood, hardwood or sheet")
    must_be_drilled: bool | None = Field(description="whether EN 1995-1-1 has it drilled; null for a sheet")
    effective: float = Field(description="diameter that EN 1995-1-1 counts with, mm")
    thickest: float = Field(description="effective diameter that it lets into the middle of the wall's edge, mm")


class ToleranceOutput(Output):
    """How far bought stock of one thickness may be out, mm, both as positive numbers."""

    walls: Literal["lapped", "plain"] = Field(description="which walls")
    thickness: float = Field(description="thickness, mm")
    plus: float = Field(description="thicker by at most so much, mm")
    minus: float = Field(description="thinner by at most so much, mm")
    source: str = Field(description="where that comes from")


class TiesOutput(Output):
    """Glue, tongue and screws: figures beside the verdict, none of them a strength."""

    bond_ratio: EstimateOutput = Field(description="glued area that closes, over the present section's")
    base_glue: tuple[float, float] = Field(description="area of the base's glue under the walls, before and after, mm²")
    tongue_stress: float = Field(description="bending stress in a bare tongue under a thumb, N/mm²; to compare only")
    tongue_stress_before: float = Field(description="the same of the present section")
    withdrawal: float | str = Field(
        description="pull that a lid screw holds over the present section's; or why unknown"
    )
    pilot: PilotOutput = Field(description="the lid screw's pilot hole")
    tolerances: list[ToleranceOutput] = Field(description="how far bought stock may be out")


class SeasonOutput(Output):
    """What the air at its home does to the walls, mm, + where a size grows; a pair is the least and the most."""

    mc: tuple[float, float] = Field(description="moisture content of the walls, made and at home, percent")
    within: bool = Field(description="whether every figure lies where its method holds")
    method: str = Field(description="how the figures were worked out")
    grain: bool = Field(description="whether lengths run along a grain and so hardly move; not in a sheet")
    height: Range = Field(description="height of any wall")
    lapped: Range = Field(description="thickness of a lapped wall")
    plain: Range = Field(description="thickness of a plain wall")
    depth: Range = Field(description="depth of the lap")
    tongue: Range = Field(description="thickness of the tongue")
    step: Range = Field(description="end of the lapped wall against the plain wall's outside face, + proud")
    top_step: float = Field(description="the most that two walls' heights can differ, mm")
    frame: tuple[Range, Range] = Field(description=f"outside sizes {_XY}")
    inside: tuple[Range, Range] = Field(description=f"clear sizes inside {_XY}")
    cheek_slip: Range = Field(description="end of the plain wall against the cheek")
    shoulder_slip: Range = Field(description="shoulder against the face of the plain wall")


class PlaneSeasonOutput(Output):
    """The same of walls cut from a sheet whose thickness no source tells of, mm."""

    height: float = Field(description="height of any wall")
    plain_length: float = Field(description="length of a plain wall")
    lapped_length: float = Field(description="length of a lapped wall")
    method: str = Field(description="how the figures were worked out")
    missing: str = Field(description="what no figure is known for")


class SheetOutput(Output):
    """What the air at its home does to the base or the lid, mm; words say why there is no figure."""

    part: Literal["base", "lid"] = Field(description="which part")
    material: str = Field(description="its material")
    overhang: tuple[Range, Range] | str = Field(description=f"how much further it stands out on each side, {_XY}")
    thickness: float | str = Field(description="change of its thickness")
    within: bool = Field(description="whether every figure lies where its method holds")


class CureOutput(Output):
    """The nearest change that makes a section that fails hold."""

    words: str = Field(description="all its changes in words")
    verdict: Level = Field(description="the verdict with it")
    relative: float = Field(description="how far the changes go, as a share of what each changes, summed")
    good_boxes: EstimateOutput = Field(description="share of boxes that then keep every limit")
    lost: EstimateOutput = Field(
        description=f"share of boxes good in the present section less that with it, paired; always under {LOST:g}"
    )
    changes: list[ChangeOutput] = Field(description="one change, or two; they come on top of the section tried")


class SectionOutput(VerdictOutput):
    """One section against the present one."""

    command: Literal["section"] = Field(description="the command that printed this")
    change: ChangeOutput = Field(description="what makes the section tried of the present one")
    cure: CureOutput | None = Field(description="the nearest cure; null where none is needed or found")
    present: SizesOutput = Field(description="the design's own section")
    tried: SizesOutput = Field(description="the section asked about")
    before: VerdictOutput = Field(description="the verdict on the present section")
    faults: list[FaultOutput] = Field(description="rules of the shop that the section breaks")
    drawing: list[DrawnOutput] = Field(description="every size of the drawing")
    marks: list[str] = Field(description="sizes that a pupil marks and no half millimetre meets")
    fit: FitOutput = Field(description="how boxes come out")
    needed: list[NeededOutput] = Field(description="what a box takes of the section")
    ties: TiesOutput = Field(description="glue, tongue and screws")
    season: SeasonOutput | PlaneSeasonOutput | None = Field(
        description="what the air at its home does to the walls; null where the design gives no climate"
    )
    sheets: list[SheetOutput] = Field(description="the same of base and lid")
    notes: list[str] = Field(description="what has to be known")
    partial: bool = Field(description="whether Ctrl-C ended the search for a cure")


class PairOutput(Output):
    """One pair of thicknesses."""

    lapped: float = Field(description="thickness of the lapped walls, mm")
    plain: float = Field(description="thickness of the plain walls, mm")
    faults: list[FaultOutput] = Field(
        description="rules of the shop that it breaks; where the verdict is null, why no box can have the pair"
    )
    deciding: ReasonOutput | None = Field(
        description="the row that decides; null where no box can have the pair. A broken rule is the row rules_broken"
    )
    pass_share: EstimateOutput | None = Field(
        description="share of boxes that keep every limit; null where no box can have the pair, or `check` refuses it"
    )
    verdict: Level | None = Field(description="the verdict; null where no box can have the pair")
    note: str = Field(description="why the verdict is lower than its rows; empty where it is not")
    reasons: list[ReasonOutput] = Field(description="every row, the least margin first")


class PairsOutput(Output):
    """Every pair of thicknesses of a stock file."""

    command: Literal["section"] = Field(description="the command that printed this")
    sections: list[PairOutput] = Field(description="every pair, lapped walls in the outer order")
    present: PairOutput | None = Field(description="the design's own section; null where it was not judged")
    notes: list[str] = Field(description="what has to be known")
    files: list[str] = Field(description="the files written")
    partial: bool = Field(description="whether Ctrl-C left pairs out")


def section_output(study: SectionStudy, change: Change) -> SectionOutput:
    """Return what `lapwright section --json` prints for one section, which `change` makes of the present one."""
    fit = study.fit
    kept = ("faults", "drawing", "marks", "needed", "before", "ties", "season", "sheets", "partial")
    return SectionOutput.model_validate(
        {
            **_verdict(study.verdict),
            **{name: getattr(study, name) for name in kept},
            "command": "section",
            "change": change_output(change),
            "cure": _cure(study.cure) if study.cure else None,
            "present": _sizes(study.present),
            "tried": _sizes(study.tried),
            "fit": {
                **{
                    name: getattr(fit, name)
                    for name in ("boxes", "pass_share", "joint_gap", "closed_share", "from_drawing")
                },
                "pass_before": fit.before.pass_share,
                "pass_after": fit.after.pass_share,
            },
            "notes": [*(() if study.present.timber.proven else (UNMARKED,)), *study.notes, *CAUTIONS],
        }
    )


def _verdict(verdict: Verdict) -> dict[str, Any]:
    return {name: getattr(verdict, name) for name in ("verdict", "note", "reasons")}


def _cure(cure: Cure) -> dict[str, Any]:
    found = cure.candidate
    figures = {reason.row: reason.figure for reason in cure.verdict.reasons}
    return {
        "words": found.change.words,
        "verdict": cure.verdict.verdict,
        "relative": found.relative,
        "good_boxes": figures["good_boxes"],
        "lost": figures["pass_share_lost"],
        "changes": [change_output(change) for change in found.changes],
    }


def _sizes(design: Design) -> dict[str, Any]:
    timber, box = design.timber, design.box
    return {
        "lapped": timber.lapped,
        "plain": timber.plain,
        "lap_share": timber.lap_share,
        "height": box.height,
        "length": box.length,
        "width": box.width,
        "timber": timber.name,
    }


def pairs_output(found: Table, files: Sequence[str]) -> PairsOutput:
    """Return what `lapwright section --stock FILE --json` prints."""
    return PairsOutput.model_validate(
        {
            "command": "section",
            "sections": [_pair(cell) for cell in found.cells],
            "present": _pair(found.present) if found.present and found.present.verdict else None,
            "notes": CAUTIONS,
            "files": files,
            "partial": found.partial,
        }
    )


def _pair(cell: Cell) -> dict[str, Any]:
    own = {name: getattr(cell, name) for name in ("lapped", "plain", "faults", "pass_share")}
    if cell.verdict is None:
        return {**own, "deciding": None, "verdict": None, "note": "", "reasons": ()}
    return {**own, **_verdict(cell.verdict), "deciding": cell.verdict.deciding}
