"""`lapwright section`: one section as text that a teacher reads.

A verdict is told first, then why, then what changes; cautions stand beside the figures that they are for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.shop_rules import mm, told
from assembly.soundness.section import CAUTIONS
from viewer.report import folded
from viewer.section_parts import drawing_block, fit_lines, season_lines, sentence, tie_lines
from viewer.section_why import reasons_table, sources, verdict_lines

if TYPE_CHECKING:
    from assembly.design import Design
    from assembly.soundness.section import SectionStudy


def section_words(design: Design) -> str:
    """Return a design's section in words."""
    timber = design.timber
    return (
        f"lapped walls {mm(timber.lapped)}, plain walls {mm(timber.plain)}, lap share {told(timber.lap_share)}, "
        f"walls {mm(design.box.height)} high, {timber.name}"
    )


def section_text(study: SectionStudy) -> str:
    """Return the whole report on one section."""
    tried, present = section_words(study.tried), section_words(study.present)
    blocks = [
        folded([f"{study.tried.name}: {tried}", f"Against the present section: {present}"]),
        folded(verdict_lines(study)),
        f"Every row, least margin first\n{reasons_table(study.verdict)}\nWho says so\n{folded(sources(study.verdict))}",
        f"What changes on the drawing\n{drawing_block(study)}",
        "\n".join(["Fit", folded(fit_lines(study))]),
        "\n".join(["Bond, tongue and screws (no figure here is a strength)", folded(tie_lines(study))]),
        "\n".join(["Seasons", folded(season_lines(study))]),
        "\n".join(["Notes", folded(f"- {sentence(note)}" for note in study.notes)]),
        "\n".join(CAUTIONS),
    ]
    return "\n\n".join(blocks)
