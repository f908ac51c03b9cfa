"""`lapwright section --json`: one section, or a table of pairs, as plain data with every digit."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from assembly.section.notes import UNMARKED
from assembly.section.section import CAUTIONS
from viewer.reports.changes import change_data

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.section.cure import Cure
    from assembly.section.pairs import Cell, Table
    from assembly.section.section import SectionStudy
    from assembly.section.verdict import Verdict


def section_data(study: SectionStudy) -> dict[str, Any]:
    """Return what `lapwright section --json` prints for one section."""
    fit, ties = study.fit, study.ties
    return {
        **_verdict_data(study.verdict),
        "cure": _cure_data(study.cure) if study.cure else None,
        "present": _section_data(study.present),
        "tried": _section_data(study.tried),
        "faults": list(study.faults),
        "drawing": [
            {**asdict(size), "change": size.change, "between_marks": size.between_marks} for size in study.drawing
        ],
        "marks": list(study.marks),
        "fit": {
            "boxes": fit.boxes,
            "pass_before": asdict(fit.before.pass_share),
            "pass_after": asdict(fit.after.pass_share),
            "pass_share": asdict(fit.pass_share),
            "joint_gap": asdict(fit.joint_gap),
            "closed_share": asdict(fit.closed_share),
            "from_drawing": asdict(fit.from_drawing),
        },
        "needed": [asdict(each) for each in study.needed],
        "before": _verdict_data(study.before),
        "ties": {**asdict(ties), "base_glue": list(ties.base_glue)},
        "season": asdict(study.season) if study.season else None,
        "sheets": [asdict(each) for each in study.sheets],
        "notes": [*(() if study.present.timber.proven else (UNMARKED,)), *study.notes, *CAUTIONS],
        "partial": study.partial,
    }


def _cure_data(cure: Cure) -> dict[str, Any]:
    found = cure.candidate
    return {
        "words": found.change.words,
        "verdict": cure.verdict.verdict,
        "relative": found.relative,
        "changes": [change_data(change) for change in found.changes],
    }


def _section_data(design: Design) -> dict[str, Any]:
    timber = design.timber
    return {
        "lapped": timber.lapped,
        "plain": timber.plain,
        "lap_share": timber.lap_share,
        "height": design.box.height,
        "length": design.box.length,
        "width": design.box.width,
        "timber": timber.name,
    }


def _verdict_data(verdict: Verdict) -> dict[str, Any]:
    return {
        "verdict": verdict.verdict,
        "note": verdict.note,
        "reasons": [asdict(reason) for reason in verdict.reasons],
    }


def _present_data(cell: Cell | None) -> dict[str, Any] | None:
    """Return the present section as the pairs are told; None where it was not judged."""
    if cell is None or cell.verdict is None:
        return None
    own = {
        "lapped": cell.lapped,
        "plain": cell.plain,
        "why": cell.why,
        "pass_share": asdict(cell.pass_share) if cell.pass_share else None,
    }
    return {**own, **_verdict_data(cell.verdict)}


def table_data(found: Table) -> dict[str, Any]:
    """Return what `lapwright section --stock FILE --json` prints."""
    return {
        "sections": [
            {
                "lapped": cell.lapped,
                "plain": cell.plain,
                "why": cell.why,
                "pass_share": asdict(cell.pass_share) if cell.pass_share else None,
                **(_verdict_data(cell.verdict) if cell.verdict else {"verdict": None, "note": "", "reasons": []}),
            }
            for cell in found.cells
        ],
        "present": _present_data(found.present),
        "notes": list(CAUTIONS),
        "partial": found.partial,
    }
