"""`lapwright section`: one section as text that a teacher reads.

The short answer fits a screen: verdict, what decides, what to do. Details, if asked for, follow under a heading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.section.section import CAUTIONS
from viewer.reports.check_report import folded
from viewer.reports.section.before_after import fit_lines
from viewer.reports.section.changed_parts import drawing_block, season_lines, sentence, tie_lines
from viewer.reports.section.rows import meanings, reasons_table, sources
from viewer.reports.section.short_answer import cure_lines, deciding_lines, heading_lines, verdict_lines

if TYPE_CHECKING:
    from assembly.section.section import SectionStudy

IN_DETAIL = "In detail"
MORE = "Every row, what changes on the drawing, fit, screws and seasons: the same command with --details."


def short_text(study: SectionStudy) -> str:
    """Return the short answer on one section: verdict, what decides, what to do."""
    blocks = (heading_lines(study), verdict_lines(study), deciding_lines(study), cure_lines(study))
    return "\n\n".join(folded(lines) for lines in blocks if lines)


def section_text(study: SectionStudy, *, details: bool) -> str:
    """Return what is said of one section, every row and figure behind it if `details` are asked for."""
    if not details:
        return f"{short_text(study)}\n\n{MORE}"
    rows = [reasons_table(study.verdict), folded([*meanings(study.verdict), *sources(study.verdict)])]
    blocks = [
        short_text(study),
        f"{IN_DETAIL}\n{'=' * len(IN_DETAIL)}",
        "\n".join(["Every row, those that fail first", *rows]),
        f"What changes on the drawing\n{drawing_block(study)}",
        "\n".join(["Fit", folded(fit_lines(study))]),
        "\n".join(["Bond, tongue and screws (no figure here is a strength)", folded(tie_lines(study))]),
        "\n".join(["Seasons", folded(season_lines(study))]),
        "\n".join(["Notes", folded(f"- {sentence(note)}" for note in study.notes)]),
        "\n".join(CAUTIONS),
    ]
    return "\n\n".join(blocks)
