"""The rows of a verdict in words: figure and limit to the digits they carry, the table of all rows, who says so."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from assembly.data.tables import SheetMaterial
from assembly.materials.panels import unpublished
from assembly.materials.timbers import walls_of
from assembly.materials.withdrawal import PULL
from assembly.section.judging import spare_room
from assembly.section.verdict import sound_limits
from assembly.text import decimal
from viewer.reports.check_report import table
from viewer.reports.rounding import figure

if TYPE_CHECKING:
    from assembly.model.design import Design
    from assembly.section.verdict import RowResult, Verdict
    from assembly.study.intervals import Estimate

# Unit of a row: what it is printed in, times what, and the finest decimals of its figure and of its limit.
_UNITS = {
    "mm": (" mm", 1, 2, 1),
    "share": (" %", 100, 1, 1),
    "of core": (" %", 100, 0, 0),
    "ratio": ("", 1, 2, 2),
    "count": ("", 1, 0, 0),
}
_ROUGH = {"seasonal_step": 1}  # decimals of a figure whose sources differ by a quarter
_BOXES = ("pass_share_lost", "good_boxes")  # printed in boxes of 100
_SENSES = {">=": "at least", "<=": "at most", "<": "under"}
_EXACT = 1e-9  # a figure nearer to its limit than that stands on it
_FINEST = 6
SOURCE_WORDS = (
    '"read": taken from the source, or from a public page that repeats it; "read twice": from two such pages; "from '
    'memory": not looked up; "common practice" and "project choice" have no source; d: the screw\'s diameter.'
)


def figure_of(reason: RowResult) -> str:
    """Return a row's figure with its unit, to the digits that it carries; never so that it contradicts its limit."""
    return _both(reason)[0]


def limit_of(reason: RowResult) -> str:
    """Return what a row's figure must keep to be sound, in words."""
    limit = _both(reason)[1]
    if reason.unit == "count" and reason.limit == 0:
        return "none"
    return f"{_SENSES[sound_limits()[reason.row].sense]} {limit}"


def _both(reason: RowResult) -> tuple[str, str]:
    """Return figure and limit, each with its unit."""
    unit, times, finest, limits = _UNITS[reason.unit]
    value, limit = times * reason.figure.value, times * reason.limit
    if reason.row in _BOXES:
        unit, finest = "", 0
        if round(value) <= 0:
            return "none", decimal(limit)
    if reason.figure.half_width > 0:
        value_text, limit_text = _sampled(reason.figure.times(times), finest, round(limit, limits))
    else:
        places = _two_digits(limit) if reason.of_code else limits
        value_text, limit_text = _exact(value, limit, _ROUGH.get(reason.row, finest), places)
    return f"{value_text}{unit}", f"{limit_text}{unit}"


def _sampled(found: Estimate, finest: int, limit: float) -> tuple[str, str]:
    """Return a sampled figure; "just over" or "just under" its limit where its digits would not show which."""
    shown, text = figure(found, finest), decimal(limit)
    if math.isfinite(shown.value) and (shown.value > limit) != (found.value > limit):
        return f"just {'over' if found.value > limit else 'under'} {text}", text
    if shown.value == limit > found.value:
        return f"just under {text}", text
    return str(shown), text


def _exact(value: float, limit: float, finest: int, limits: int) -> tuple[str, str]:
    """Return a worked-out figure and its limit, with more digits where fewer would not show which is larger."""
    side = _side(value - limit)
    for more in range(_FINEST):
        shown, bound = round(value, finest + more) + 0.0, round(limit, limits + more) + 0.0
        if _side(shown - bound) == side:
            break
    return decimal(shown), decimal(bound)


def _side(off: float) -> int:
    return (off > _EXACT) - (off < -_EXACT)


def _two_digits(limit: float) -> int:
    """Return the decimals that leave a limit two digits: it is worked out from a core that is known no better."""
    return 0 if limit >= 10 else 1


def against(reason: RowResult, design: Design) -> str:
    """Return a row's title, its figure and what would be sound; "too close to call" where as many boxes may differ."""
    close = " (too close to call)" if reason.too_close else ""
    sound = f"{limit_of(reason)} is sound"
    return f"{sound_limits()[reason.row].name}: {figure_of(reason)}{_where(reason, design)}, {sound}{close}"


def _where(reason: RowResult, design: Design) -> str:
    """Return the direction that has least room, or what no figure is known for, of the rows that count these."""
    if reason.row == "no_figure" and reason.figure.value:
        walls = walls_of(design.timber)
        return f" ({'; '.join(unpublished(walls) if isinstance(walls, SheetMaterial) else [PULL])})"
    spare = spare_room(design) if reason.row == "room" else None
    if spare is None:
        return ""
    return f" in {('length', 'width', 'height')[spare.index(min(spare))]}"


def reasons_table(verdict: Verdict) -> str:
    """Return every row, those that fail first and the code's last: figure, limit, level, who says so."""
    rows = [
        (
            sound_limits()[r.row].name,
            figure_of(r),
            limit_of(r),
            _level_words(r),
            sound_limits()[r.row].by,
        )
        for r in verdict.by_weight
    ]
    return table(("row", "figure", "sound if", "verdict", "by"), rows, words=(0, 2, 3, 4))


def _level_words(reason: RowResult) -> str:
    """Return a row's level; what the code says is information, whatever its level."""
    if reason.of_code:
        return "information"
    return reason.level + (", close" if reason.too_close else "")


def sources(verdict: Verdict) -> list[str]:
    """Return the sources behind each word of the table's last column, and how they came here."""
    found: dict[str, list[str]] = {}
    for reason in verdict.by_weight:
        texts = found.setdefault(sound_limits()[reason.row].by, [])
        if reason.source not in texts:
            texts.append(reason.source)
    lines = [f"- {by}: {' / '.join(texts)}." for by, texts in found.items() if texts != [by]]
    return ["Who says so", *lines, f"- {SOURCE_WORDS}"]


def meanings(verdict: Verdict) -> list[str]:
    """Return what each row that is not sound means."""
    rows = [reason.row for reason in verdict.by_weight if reason.level != "sound"]
    lines = [f"- {sound_limits()[row].name}: {sound_limits()[row].meaning}." for row in rows]
    return ["What they mean", *lines] if lines else []
