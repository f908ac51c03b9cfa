"""The short answer on a section: the verdict, what it means, what decides, what to do, the boxes of a class, the cure.

All of it is meant to be read on one screen; what follows it is for those who want to know more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.files.stock import SAME
from assembly.materials.timbers import drilled_as, known_as
from assembly.section.cure import LOST
from assembly.section.judging import refused
from assembly.section.verdict import LEVELS, sound_limits
from assembly.text import decimal, mm
from viewer.reports.check_report import limit_words
from viewer.reports.rounding import rounded
from viewer.reports.section.rows import against

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.materials.climates import SheetSeason
    from assembly.model.design import Design
    from assembly.section.section import SectionStudy
    from assembly.section.verdict import RowResult, Soundness, Verdict

MEANS: dict[Soundness, str] = {
    "sound": "Nothing fails or wants care.",
    "with care": "Nothing fails, but at least one thing wants care.",
    "does not fit": "The joints hold, but the contents do not go in: do not build it so.",
    "not sound": "At least one thing fails: do not build it so.",
}
VERDICTS: dict[Soundness, str] = {"does not fit": "does not fit the contents"}
NO_STRENGTH = (
    "This is not a strength: make one box and try it before the class begins. Local rules, your own risk assessment "
    "and competent supervision come first."
)
UNPROVEN = "No section is marked as proven (timber.proven in the design), so the verdict is 'with care' at most."
_MOST_ROWS = 3  # rows that decide, each with what to do; the others are named
_AS_NOW = "as in the present section"
_KEPT = f"with under {100 * LOST:g} good boxes of 100 fewer than before"  # "before" is the present section, as above it
_NONE = f"nothing in this list that lapwright check takes without a failing row, {_KEPT}"
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
    if study.tried == study.present:
        return [f"{study.tried.name}, as it is: {', '.join(tried.values())}", *season_words(study)]
    other = [words for key, words in present.items() if words != tried[key]]
    now = f"{', '.join(other)}; all else is alike" if other else "the same"
    lines = [f"{study.tried.name}: {', '.join(tried.values())}", f"Present section: {now}."]
    if study.keep == "inside":
        box = study.tried.box
        lines.append(f"The inside is kept (--keep inside): {decimal(box.length)} x {mm(box.width)} outside.")
    return lines


def season_words(study: SectionStudy) -> list[str]:
    """Return what base and lid do when the box has taken up its home's air, a line each."""
    if study.tried.climate is None:
        return ["Base and lid: what the seasons do is not judged, as the design has no [climate] table."]
    return [_sheet_words(each) for each in study.sheets]


def _sheet_words(moved: SheetSeason) -> str:
    if isinstance(moved.overhang, str):
        return f"The {moved.part} of {moved.material}: {moved.overhang}."
    ends = [end for each in moved.overhang for end in each]
    low, high = (rounded(pick(ends), 1) for pick in (min, max))
    less, further = (f"{abs(end.value):.1f} mm" for end in (low, high))
    if not low.value and not high.value:
        how = "hardly moves against the walls"
    elif high.value <= 0:
        how = f"comes to stand up to {less} less far out at each side"
    elif low.value >= 0:
        how = f"comes to stand up to {further} further out at each side"
    else:
        how = f"comes to stand between {less} less far and {further} further out at each side"
    held = ", if its glue lets it" if moved.part == "base" else ""
    return f"In its home's air the {moved.part} of {moved.material} {how}{held}."


def verdict_lines(study: SectionStudy) -> list[str]:
    """Return the verdict, what it means, what it is measured against, and the class before and after."""
    verdict, makers = study.verdict, study.tried.makers
    return [
        f"Verdict: {VERDICTS.get(verdict.verdict, verdict.verdict)}. {MEANS[verdict.verdict]} {NO_STRENGTH}",
        _proven(study.present),
        f"Good boxes of a class of {makers}: {_good(study.before, makers)} before, {_good(verdict, makers)} after.",
        *_other_timber(study),
        *_no_worse(study),
    ]


def _good(verdict: Verdict, makers: int) -> str:
    """Return the good boxes of a class; no figure where `check` refuses the box."""
    if refused(verdict):
        return "no figure (lapwright check refuses it)"
    return str(good_boxes(verdict.figure_of("good_boxes") or 0.0, makers))


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


def _other_timber(study: SectionStudy) -> list[str]:
    """Return what good boxes of another timber leave out, and the pilot hole that holds best in it."""
    tried, present = study.tried.timber, study.present.timber
    if known_as(tried.name) == known_as(present.name):
        return []
    hardwood, before = (drilled_as(timber) == "hardwood" for timber in (tried, present))
    harder = "harder wood: expect fewer, and try one" if hardwood and not before else "other wood: try one"
    lines = [f"The same errors are assumed in {tried.name}, as there are no figures for {harder} first."]
    best, hole = study.ties.pilot.best, study.ties.pilot.hole
    if best is not None and abs(round(best, 1) - hole) >= SAME:
        lines.append(
            f"A pilot hole of about {rounded(best, 1)} mm holds best in {tried.name}; the design has {mm(hole)}."
        )
    return lines


def _no_worse(study: SectionStudy) -> list[str]:
    """Return in which rows a section that does not fail is worse than the present one, or that it is so in none."""
    if study.verdict.fails:
        return []
    worse = [reason for reason in study.verdict.by_weight if not reason.of_code and _is_worse(study, reason)]
    if worse:
        return [f"Worse than the present section in: {_named(worse)}."]
    return ["No row stands at a worse level than in the present section."]


def _is_worse(study: SectionStudy, reason: RowResult) -> bool:
    before = study.before.level_of(reason.row) or "sound"
    return LEVELS.index(reason.level) < LEVELS.index(before)


def _rows(study: SectionStudy) -> list[str]:
    """Return what decides: rows that fail, then those that want care, each with what to do.

    The first few are told with what to do, the others named. Beside rows that fail, those that want care are only
    named, and the code's are left to the table.
    """
    own = [reason for reason in study.verdict.by_weight if not reason.of_code]
    failing, careful = [r for r in own if r.fails], [r for r in own if r.level == "with care"]
    care = [f"Wants care, too: {_named(careful)}."] if failing and careful else []
    deciding = failing or careful
    items = [_item(study, reason) for reason in deciding[:_MOST_ROWS]]
    others, level = deciding[_MOST_ROWS:], "Fails" if failing else "Wants care"
    rest = [f"{level}, too: {_named(others)}."] if others else []
    heading = ["What decides, and what to do:"] if items else []
    return [*heading, *items, *rest, *care, *([] if failing else _of_the_code(study))]


def _named(rows: Sequence[RowResult]) -> str:
    """Return rows by title."""
    return "; ".join(sound_limits()[r.row].title for r in rows)


def _item(study: SectionStudy, reason: RowResult) -> str:
    said = f"- {against(reason, study.tried)}{_now(study, [reason])}. Do: {sound_limits()[reason.row].do}."
    return f"{said} {_of_screw(study)}" if reason.row == "screw_wood" else said


def _of_screw(study: SectionStudy) -> str:
    """Return which limit counts for what beside a lid screw, and the screw of the table that would do."""
    limit = study.tried.limits.screw_wood
    own = f"the design's own limit, {limit_words(limit, 'mm')} mm" if limit else "no limit on it"
    said = f"One diameter of the screw counts here; for good boxes lapwright check counts {own}."
    return said if study.screw is None else f"{said} Would do: {study.screw.words}."


def _of_the_code(study: SectionStudy) -> list[str]:
    """Return in how many rows the code for structures asks for more; it changes no verdict."""
    code = [r for r in study.verdict.by_weight if r.of_code and r.level != "sound"]
    if not code:
        return []
    rows = f"{len(code)} row{'s' if len(code) > 1 else ''}"
    return [f"For information: EN 1995-1-1, a code for structures, asks for more in {rows}{_now(study, code)}."]


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
        return [f"Nearest cure: {_NONE}: {_CHANGES}."] if study.cure_sought else []
    return [_cure(study)]


def _cure(study: SectionStudy) -> str:
    """Return the nearest cure with what stays, the boxes of a class, what still wants care, and what was checked."""
    assert study.cure is not None
    found, verdict = study.cure.candidate, study.cure.verdict
    changed, timber = {change.kind for change in found.changes}, study.tried.timber
    walls = (("lapped", timber.lapped), ("plain", timber.plain))
    kept = ", ".join(f"{name} walls of {mm(size)}" for name, size in walls if name not in changed)
    careful = [reason for reason in verdict.by_weight if reason.level == "with care" and not reason.of_code]
    left = f"still wants care: {_named(careful)}" if careful else "no row wants care"
    box, missing = found.design.box, missing_from(study.stock, found.design)
    outside = f", {decimal(box.length)} x {mm(box.width)} outside" if "inside" in changed else ""
    return (
        f"Nearest cure: {found.change.words}{outside}{f'; {kept} kept' if kept else ''}. Then: {verdict.verdict}; good "
        f"boxes of {study.tried.makers}: {_good(verdict, study.tried.makers)}; {left}. "
        f"lapwright check takes it, {_KEPT}." + (f" Not in the stock file: {', '.join(missing)}." if missing else "")
    )
