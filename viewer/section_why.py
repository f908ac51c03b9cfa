"""A verdict in words: what it is, which rows want care or fail and what that means, the nearest cure, every row."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.shop_rules import told
from assembly.soundness.verdict import sound_limits
from viewer.figures import figure
from viewer.report import table

if TYPE_CHECKING:
    from assembly.soundness.section import SectionStudy
    from assembly.soundness.verdict import Level, Reason, Verdict

# Unit of a row: what it is told in, times what, and the finest decimals told.
_UNITS = {
    "mm": (" mm", 1, 2),
    "share": (" %", 100, 1),
    "of core": (" %", 100, 0),
    "ratio": ("", 1, 2),
    "count": ("", 1, 0),
}
_SENSES = {">=": "at least", "<=": "at most", "<": "under"}
_CHANGES = "lap share from 0.25 to 0.75, thickness of walls, lid screw, or two of these at once"


def verdict_lines(study: SectionStudy) -> list[str]:
    """Return the verdict, what decides it, what wants care, and the nearest cure."""
    verdict, deciding = study.verdict, study.verdict.deciding
    lines = [f"Verdict: {verdict.verdict}."]
    if deciding.level != "sound":
        lines.append(f"Decided by: {sound_limits()[deciding.row].title}.")
    lines += [f"Not possible so: {fault}." for fault in study.faults]
    lines += _at("not sound", "Not sound", verdict) + _at("with care", "Wants care", verdict)
    kept = sum(reason.level == "sound" for reason in verdict.reasons)
    lines.append(f"Sound: {kept} of {len(verdict.reasons)} rows.")
    lines += [f"{verdict.note[0].upper()}{verdict.note[1:]}."] if verdict.note else []
    return lines + _cure_lines(study)


def _at(level: Level, heading: str, verdict: Verdict) -> list[str]:
    """Return a heading and the rows of one level with what they mean; nothing where there are none."""
    rows = [reason for reason in verdict.reasons if reason.level == level and reason.row != "rules_broken"]
    items = [f"- {against(reason)}: {sound_limits()[reason.row].meaning}." for reason in rows]
    return [f"{heading}:", *items] if items else []


def _cure_lines(study: SectionStudy) -> list[str]:
    if study.partial:
        return ["Nearest cure: not known, Ctrl-C ended the search."]
    if study.cure is not None:
        found = study.cure
        return [f"Nearest cure: {found.candidate.words()}. The verdict is then: {found.verdict.verdict}."]
    return [f"Nearest cure: nothing in this list: {_CHANGES}."] if study.cure_sought else []


def against(reason: Reason) -> str:
    """Return a row's title, its figure and what would be sound; "too close to call" where as many boxes may differ."""
    close = " (too close to call)" if reason.too_close else ""
    return f"{sound_limits()[reason.row].title}: {figure_of(reason)}, where {limit_of(reason)} is sound{close}"


def figure_of(reason: Reason) -> str:
    """Return a row's figure with its unit, to the digits that it carries and no more."""
    unit, times, finest = _UNITS[reason.unit]
    if reason.error > 0:
        return f"{figure(times * reason.figure, times * reason.error, finest)}{unit}"
    return f"{_exact(times * reason.figure, times * reason.limit, finest)}{unit}"


def _exact(value: float, limit: float, finest: int) -> str:
    """Return a worked-out value; with one digit more where it would otherwise look like its limit."""
    near = round(value, finest) == round(limit, finest) and abs(value - limit) > 1e-9
    return told(round(value, finest + near) + 0.0)


def limit_of(reason: Reason) -> str:
    """Return what a row's figure must keep to be sound, in words."""
    unit, times, finest = _UNITS[reason.unit]
    return f"{_SENSES[sound_limits()[reason.row].sense]} {told(round(times * reason.limit, finest))}{unit}"


def reasons_table(verdict: Verdict) -> str:
    """Return every row: figure, limit, level."""
    rows = [
        (sound_limits()[r.row].title, figure_of(r), limit_of(r), r.level + (", close" if r.too_close else ""))
        for r in verdict.reasons
    ]
    return table(("row", "figure", "sound if", "so"), rows, words=(0, 2, 3))


def sources(verdict: Verdict) -> list[str]:
    """Return each source with the rows that it stands for."""
    by_source: dict[str, list[str]] = {}
    for reason in verdict.reasons:
        by_source.setdefault(reason.source, []).append(sound_limits()[reason.row].title)
    return [f"- {'; '.join(titles)}: {source}." for source, titles in by_source.items()]
