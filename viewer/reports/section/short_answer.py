"""The short answer on a section: the verdict, what it means, what decides, what to do, the boxes of a class, the cure.

All of it is meant to be read on one screen; what follows it is for those who want to know more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.files.stock import SAME
from assembly.section.verdict import LEVELS, sound_limits
from assembly.text import decimal, mm
from viewer.reports.section.rows import against, figure_of, limit_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.model.design import Design
    from assembly.section.section import SectionStudy
    from assembly.section.verdict import RowResult, Soundness

MEANS: dict[Soundness, str] = {
    "sound": "No rule listed below is broken.",
    "with care": "No row below fails, but at least one thing wants care.",
    "not sound": "At least one row below fails: do not build it so.",
}
NO_STRENGTH = (
    "This is not a strength: make one box and try it before the class begins. Local rules, your own risk assessment "
    "and competent supervision come first."
)
UNPROVEN = "No section is marked as proven (timber.proven in the design), so the verdict is 'with care' at most."
_AS_NOW = "as in the present section"
_CHANGES = (
    "lap share from 0.25 to 0.75, thickness of walls, lid screw, the inside kept or higher walls where room or height "
    "fails, or two of these at once"
)


def good_boxes(share: float, makers: int) -> int:
    """Return how many good boxes a class may expect."""
    return round(share * makers)


def section_sizes(design: Design) -> dict[str, str]:
    """Return a design's section in words, by what each word is about."""
    timber = design.timber
    return {
        "lapped": f"lapped walls {mm(timber.lapped)}",
        "plain": f"plain walls {mm(timber.plain)}",
        "share": f"lap share {decimal(timber.lap_share)}",
        "height": f"walls {mm(design.box.height)} high",
        "timber": timber.name,
    }


def heading_lines(study: SectionStudy) -> list[str]:
    """Return what is tried, and what the present section has that differs."""
    tried, present = section_sizes(study.tried), section_sizes(study.present)
    other = [words for key, words in present.items() if words != tried[key]]
    now = f"{', '.join(other)}; all else is alike" if other else "the same"
    lines = [f"{study.tried.name}: {', '.join(tried.values())}", f"Present section: {now}."]
    if study.keep == "inside":
        box = study.tried.box
        lines.append(f"The inside is kept (--keep inside): {decimal(box.length)} x {mm(box.width)} outside.")
    return lines


def verdict_lines(study: SectionStudy) -> list[str]:
    """Return the verdict, what it means, what it is measured against, and the class before and after."""
    verdict, makers = study.verdict, study.tried.makers
    before, after = (good_boxes(s.pass_share.value, makers) for s in (study.fit.before, study.fit.after))
    return [
        f"Verdict: {verdict.verdict}. {MEANS[verdict.verdict]} {NO_STRENGTH}",
        _proven(study.present),
        f"Good boxes of a class of {makers}: {before} before, {after} after.",
        *_no_worse(study),
    ]


def deciding_lines(study: SectionStudy) -> list[str]:
    """Return what decides and what to do about it."""
    return [*(f"Not possible so: {fault}." for fault in study.faults), *_rows(study)]


def cure_lines(study: SectionStudy) -> list[str]:
    """Return what the stock file does not list, and the nearest cure where one was looked for."""
    return [*_not_on_sale(study), *_nearest(study)]


def _proven(present: Design) -> str:
    if not present.timber.proven:
        return UNPROVEN
    return (
        f"You say that {decimal(present.timber.lapped)}/{decimal(present.timber.plain)} (lapped/plain) has held "
        "(timber.proven = true)."
    )


def _no_worse(study: SectionStudy) -> list[str]:
    """Return in which rows a section that does not fail is worse than the present one, or that it is so in none."""
    if study.verdict.verdict == "not sound":
        return []
    worse = [reason for reason in study.verdict.by_weight if _is_worse(study, reason)]
    if worse:
        return [f"Worse than the present section in: {_named(worse)}."]
    return ["No row stands at a worse level than in the present section."]


def _is_worse(study: SectionStudy, reason: RowResult) -> bool:
    before = study.before.level_of(reason.row) or "sound"
    return LEVELS.index(reason.level) < LEVELS.index(before)


def _rows(study: SectionStudy) -> list[str]:
    """Return what decides: rows that fail, then those that want care, each with what to do.

    Beside rows that fail, those that want care are only named.
    """
    failing, careful = (
        [reason for reason in study.verdict.by_weight if reason.level == level] for level in ("not sound", "with care")
    )
    if failing:
        items = [item for reason in failing for item in _items(study, [reason])]
        return ["What decides, and what to do:", *items, *([f"Wants care, too: {_named(careful)}."] if careful else [])]
    return ["What decides, and what to do:", *_items(study, careful)] if careful else []


def _named(rows: Sequence[RowResult]) -> str:
    """Return rows by title, those of the code by their number."""
    titles = [sound_limits()[r.row].title for r in rows if not r.of_code]
    code = sum(r.of_code for r in rows)
    return "; ".join([*titles, *([f"EN 1995-1-1 ({code} row{'s' if code > 1 else ''})"] if code else [])])


def _items(study: SectionStudy, rows: Sequence[RowResult]) -> list[str]:
    """Return each of the joint's own rows as an item, and those of the code in one."""
    own, code = ([r for r in rows if r.of_code is of_code] for of_code in (False, True))
    items = [f"- {against(r, study.tried)}{_now(study, [r])}. Do: {sound_limits()[r.row].do}." for r in own]
    if code:
        told_of = "; ".join(f"{sound_limits()[r.row].title} {figure_of(r)}, {limit_of(r)}" for r in code)
        cures = dict.fromkeys(sound_limits()[r.row].do for r in code)
        do = "; ".join(f"{cure[0].upper()}{cure[1:]}" for cure in cures)
        items.append(f"- warning of EN 1995-1-1, a code for structures: {told_of}{_now(study, code)}. {do}.")
    return items


def _now(study: SectionStudy, rows: Sequence[RowResult]) -> str:
    """Return that rows stand so in the present section, too, where they do."""
    return f"; {_AS_NOW}" if all(study.before.level_of(r.row) == r.level for r in rows) else ""


def missing_from(stock: Sequence[float] | None, design: Design) -> list[str]:
    """Return the walls of a design whose thickness the stock file does not list; none where there is no stock file."""
    if stock is None:
        return []
    walls = (("lapped", design.timber.lapped), ("plain", design.timber.plain))
    return [f"{name} walls of {mm(size)}" for name, size in walls if not any(abs(size - each) < SAME for each in stock)]


def _not_on_sale(study: SectionStudy) -> list[str]:
    missing = missing_from(study.stock, study.tried)
    return [f"Not in the stock file: {', '.join(missing)}."] if missing else []


def _nearest(study: SectionStudy) -> list[str]:
    if study.partial:
        return ["Nearest cure: not known, Ctrl-C ended the search."]
    if study.cure is None:
        return [f"Nearest cure: nothing in this list: {_CHANGES}."] if study.cure_sought else []
    return [_cure(study)]


def _cure(study: SectionStudy) -> str:
    """Return the nearest cure with what stays, the boxes of a class, and how many rows still want care."""
    assert study.cure is not None
    found, verdict = study.cure.candidate, study.cure.verdict
    changed, timber = {change.kind for change in found.changes}, study.tried.timber
    walls = (("lapped", timber.lapped), ("plain", timber.plain))
    kept = ", ".join(f"{name} walls of {mm(size)}" for name, size in walls if name not in changed)
    careful = [reason for reason in verdict.by_weight if reason.level == "with care"]
    left = f"{len(careful)} rows still want care: {_named(careful)}" if careful else "no row wants care"
    share = study.fit.before.pass_share.value - (verdict.figure_of("pass_share_lost") or 0.0)
    box, missing = found.design.box, missing_from(study.stock, found.design)
    outside = f", {decimal(box.length)} x {mm(box.width)} outside" if "inside" in changed else ""
    return (
        f"Nearest cure: {found.change.words}{outside}{f'; {kept} kept' if kept else ''}. Then: {verdict.verdict}; good "
        f"boxes of {study.tried.makers}: {good_boxes(share, study.tried.makers)}; {left}."
        + (f" Not in the stock file: {', '.join(missing)}." if missing else "")
    )
