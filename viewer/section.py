"""`lapwright section`: one section, or a table of pairs, as text that a teacher reads.

A verdict is told first, then why, then what changes; cautions stand beside the figures that they are for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.frame import frame
from assembly.shop_rules import mm, told
from assembly.soundness.bond import THUMB_LOAD_N, THUMB_WIDTH_MM
from assembly.soundness.judging import spare_room
from assembly.soundness.screws import wood_to_lap
from assembly.soundness.section import CAUTIONS
from assembly.soundness.verdict import sound_limits
from viewer.report import table
from viewer.section_map import SYMBOLS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.design import Design
    from assembly.soundness.seasons import Range
    from assembly.soundness.section import Cell, SectionStudy
    from assembly.soundness.verdict import Reason, Verdict
    from assembly.tolerance.compare import Difference

IMPOSSIBLE = "-"  # a pair of which no box can be made


def section_words(design: Design) -> str:
    """Return a design's section in words."""
    timber = design.timber
    return (
        f"lapped walls {mm(timber.lapped)}, plain walls {mm(timber.plain)}, lap share {told(timber.lap_share)}, "
        f"walls {mm(design.box.height)} high, {timber.name}"
    )


def section_text(study: SectionStudy) -> str:
    """Return the whole report on one section."""
    blocks = [
        (
            f"{study.tried.name}: {section_words(study.tried)}\nAgainst the present section: "
            f"{section_words(study.present)}"
        ),
        "\n".join(_verdict_lines(study)),
        f"Why, least margin first\n{_reasons_table(study.verdict)}\nSources:\n{_sources(study.verdict)}",
        f"What changes on the drawing\n{_drawing_table(study)}",
        "\n".join(["Fit", *_fit_lines(study)]),
        "\n".join(["Bond, tongue and screws", *_tie_lines(study)]),
        "\n".join(["Seasons", *_season_lines(study)]),
        "\n".join(["Notes", *(_sentence(note) for note in study.notes)]),
        "\n".join(CAUTIONS),
    ]
    return "\n\n".join(blocks)


def _sentence(text: str) -> str:
    return text[0].upper() + text[1:] + "."


def _verdict_lines(study: SectionStudy) -> list[str]:
    verdict, deciding = study.verdict, study.verdict.deciding
    title = sound_limits()[deciding.row].title
    lines = [f"Verdict: {verdict.verdict}."]
    if deciding.level != "sound":
        lines.append(
            f"Decided by: {title}: {_number(deciding.figure)} {deciding.unit}, where {_limit(deciding)} is sound."
        )
    lines += [f"Not possible so: {fault}." for fault in study.faults]
    lines += [_sentence(verdict.note)] if verdict.note else []
    if study.cure is not None:
        lines.append(f"Nearest cure: {study.cure.words()}; no row is then not sound.")
    elif study.cure_sought:
        lines.append("Nearest cure: nothing in this list.")
    return lines


def _number(value: float) -> str:
    return f"{value:.3g}" if abs(value) < 100 else f"{value:.0f}"


def _limit(reason: Reason) -> str:
    sense = {">=": "at least", "<=": "at most", "<": "under"}[sound_limits()[reason.row].sense]
    return f"{sense} {_number(reason.limit)}"


def _reasons_table(verdict: Verdict) -> str:
    rows = [(sound_limits()[r.row].title, _number(r.figure), r.unit, _limit(r), r.level) for r in verdict.reasons]
    return table(("row", "figure", "unit", "sound if", "so"), rows, words=(0, 2, 3, 4))


def _sources(verdict: Verdict) -> str:
    """Return each source with the rows that it stands for."""
    by_source: dict[str, list[str]] = {}
    for reason in verdict.reasons:
        by_source.setdefault(reason.source, []).append(sound_limits()[reason.row].title)
    return "\n".join(f"  {'; '.join(titles)}: {source}" for source, titles in by_source.items())


def _drawing_table(study: SectionStudy) -> str:
    rows = [(s.name, s.unit, told(s.before), told(s.after), _signed(s.change)) for s in study.drawing]
    lines = [table(("size", "unit", "present", "tried", "change"), rows, words=(0, 1))]
    spare = spare_room(study.tried)
    if spare is not None:
        names = ("length", "width", "height")
        left = ", ".join(f"{name} {mm(size)}" for name, size in zip(names, spare, strict=True))
        lines.append(f"Room that the contents leave: {left}.")
    return "\n".join([*lines, *(_sentence(f"to mark: {warning}") for warning in study.marks)])


def _signed(value: float) -> str:
    return "0" if abs(value) < 5e-4 else f"{value:+.3f}".rstrip("0").rstrip(".")


def _paired(found: Difference, unit: str, scale: float = 1.0) -> str:
    low, high = scale * found.low, scale * found.high
    return f"{scale * found.value:+.3g} {unit} (95 % interval {low:+.3g} to {high:+.3g})"


def _fit_lines(study: SectionStudy) -> list[str]:
    fit, makers = study.fit, study.tried.makers
    before, after = fit.before.pass_share, fit.after.pass_share
    plus, minus = study.ties.thickness_tolerance[0]
    return [
        f"{fit.boxes:,} boxes of either section by the same makers:",
        (
            f"boxes that keep every limit: {100 * before:.1f} % before, {100 * after:.1f} % after; "
            f"{_paired(fit.pass_share, 'points', 100)}; of {makers} in a class {round(before * makers)} before, "
            f"{round(after * makers)} after"
        ),
        (
            f"widest joint gap, mean: {fit.before.joint_gap.mean():.2f} mm before, {fit.after.joint_gap.mean():.2f} mm "
            f"after; {_paired(fit.joint_gap, 'mm')}"
        ),
        (
            f"joint closed by glue, mean of the worst corner: {100 * fit.before.closed_share.mean():.1f} % before, "
            f"{100 * fit.after.closed_share.mean():.1f} % after; {_paired(fit.closed_share, 'points', 100)}"
        ),
        (
            "shoulders marked from the drawing instead of from the wall itself: boxes that keep every limit "
            f"{_paired(fit.from_drawing, 'points', 100)}"
        ),
        (
            f"planed stock of {mm(study.tried.timber.lapped)} may come {told(plus)} mm thicker or {told(minus)} mm "
            "thinner (planed softwood, Nordic grading table): measure what you get"
        ),
    ]


def _tie_lines(study: SectionStudy) -> list[str]:
    ties = study.ties
    pulled = ties.withdrawal if isinstance(ties.withdrawal, str) else f"{ties.withdrawal:.2f} of the present section's"
    return [
        (
            f"glue that closes at the joints: {ties.bond_ratio:.2f} of the present section's; no strength is given, "
            "since no published value covers such a joint"
        ),
        f"base glued under the walls: {ties.base_glue[0]:.0f} mm² before, {ties.base_glue[1]:.0f} mm² after",
        (
            f"bending stress in a bare tongue under a thumb of {THUMB_LOAD_N:g} N on {THUMB_WIDTH_MM:g} mm: "
            f"{ties.tongue_stress:.1f} N/mm²; for information, no verdict and no strength"
        ),
        f"pull on a lid screw: {pulled}",
        f"wood along the edge between a lid screw and the lap: {mm(_to_lap(study.tried))}",
        "rows of EN 1995-1-1 come from a code for structures: a warning, not a verdict on a school box",
    ]


def _to_lap(design: Design) -> float:
    box = frame(design)
    return wood_to_lap(box.lapped_length / 2, box.plain, design.lid.screw.diameter)


def _range(pair: Range) -> str:
    low, high = pair
    return f"{low:+.2f} mm" if abs(high - low) < 5e-3 else f"{low:+.2f} to {high:+.2f} mm"


def _season_lines(study: SectionStudy) -> list[str]:
    season = study.season
    if season is None:
        return ["Not judged: the design has no [climate] table."]
    lines = [
        (
            f"moisture in the wood: {season.mc[0]:.1f} % where it is made, {season.mc[1]:.1f} % where it lives "
            f"({season.method}); hardly anything along the grain"
        ),
        (
            f"wall height {_range(season.height)}, lapped thickness {_range(season.lapped)}, plain thickness "
            f"{_range(season.plain)}"
        ),
        (
            f"lapped wall's end against the plain wall {_range(season.step)} (+ proud), top edges apart by up to "
            f"{season.top_step:.2f} mm"
        ),
        (
            f"no gap opens: the glue lines are strained, {_range(season.cheek_slip)} at the cheek and "
            f"{_range(season.shoulder_slip)} at the shoulder"
        ),
    ]
    if isinstance(study.lid_season, str):
        return [*lines, f"lid: {study.lid_season}"]
    assert study.lid_season is not None
    x, y = study.lid_season
    return [*lines, f"lid beyond the walls: {_range(x)} along the plain walls, {_range(y)} along the lapped ones"]


def table_text(design: Design, cells: Sequence[Cell]) -> str:
    """Return the table of pairs: lapped walls downwards, plain walls across; symbols as on the map."""
    plains = list(dict.fromkeys(cell.plain for cell in cells))
    lines = []
    for lapped in dict.fromkeys(cell.lapped for cell in cells):
        row = [SYMBOLS[cell.verdict.verdict] if cell.verdict else IMPOSSIBLE for cell in cells if cell.lapped == lapped]
        lines.append((told(lapped), *row))
    key = ", ".join(f"{symbol} {level}" for level, symbol in SYMBOLS.items())
    made = table(("lapped \\ plain, mm", *map(told, plains)), lines, words=())
    why = "\n".join(_whys(cells))
    head = f"{design.name}: every pair of sections, {design.timber.name}\n{key}, {IMPOSSIBLE} no such box"
    return "\n\n".join([f"{head}\n{made}", f"What decides, and for how many pairs\n{why}", "\n".join(CAUTIONS)])


def _whys(cells: Sequence[Cell]) -> list[str]:
    """Return what decides the pairs that are not sound, most frequent first."""
    counted: dict[str, int] = {}
    for cell in cells:
        if cell.verdict is not None and cell.verdict.deciding.level == "sound":
            continue
        row = cell.verdict.deciding if cell.verdict else None
        words = f"{row.level}: {sound_limits()[row.row].title}" if row else f"no such box: {cell.why.split(':')[0]}"
        counted[words] = counted.get(words, 0) + 1
    return [f"  {count} {words}" for words, count in sorted(counted.items(), key=lambda item: -item[1])]
