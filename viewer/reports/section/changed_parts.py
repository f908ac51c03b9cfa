"""What another section changes, in words: drawing, glue and screws, seasons."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.materials.bond import THUMB_LOAD_N, THUMB_WIDTH_MM
from assembly.materials.screws import wood_to_lap
from assembly.materials.seasons import PlaneSeason
from assembly.materials.standards import rule_limit
from assembly.nominal.frame import frame
from assembly.section.judging import spare_room
from assembly.text import DECIMALS, decimal, mm
from viewer.reports.check_report import folded, table
from viewer.reports.rounding import figure, rounded
from viewer.reports.section.rows import figure_of

if TYPE_CHECKING:
    from assembly.materials.climates import SheetSeason
    from assembly.materials.seasons import Range, Season
    from assembly.section.drawing_sizes import DrawingSize, Needed
    from assembly.section.section import SectionStudy
    from assembly.section.ties import Pilot
    from viewer.reports.rounding import Written

_FINE = 5e-4  # a change of a size under that is none
_SYSTEM = ": change of size for 1 % of moisture near room conditions, a European table's way"


def sentence(text: str) -> str:
    """Return a text as a sentence."""
    return f"{text[0].upper()}{text[1:]}."


def drawing_block(study: SectionStudy) -> str:
    """Return the sizes that change, those that stay, the room left, what can't be marked, and the timber to order."""
    changed = [size for size in study.drawing if abs(size.change) >= _FINE]
    stay = ", ".join(f"{s.name}: {_formatted(s.after, s.unit)} {s.unit}" for s in study.drawing if s not in changed)
    rows = [(s.name, s.unit, *(_formatted(size, s.unit) for size in (s.before, s.after)), _change(s)) for s in changed]
    made = [table(("size", "unit", "present", "tried", "change"), rows, words=(0, 1))] if rows else ["Nothing."]
    lines = [f"As it is: {stay}."] if stay else []
    spare = spare_room(study.tried)
    if spare is not None:
        left = ", ".join(f"{name} {mm(size)}" for name, size in zip(("length", "width", "height"), spare, strict=True))
        lines.append(f"Room that the contents leave (below 0 they do not go in): {left}.")
    lines += [sentence(f"to mark: {warning}") for warning in study.marks]
    lines += [_rule(study), _to_order(study.needed, study.tried.makers)]
    return "\n".join([*made, folded(lines)])


def _change(size: DrawingSize) -> str:
    more = round(size.change, DECIMALS if size.unit == "mm" else 0) > 0
    return f"{'+' if more else ''}{_formatted(size.change, size.unit)}"


def _formatted(size: float, unit: str) -> str:
    return decimal(size) if unit == "mm" else str(rounded(size, 0))


def _rule(study: SectionStudy) -> str:
    """Return how far the rule that sizes are marked with may itself be out."""
    out = mm(rule_limit("II", max(size.after for size in study.drawing if size.marked), from_end=True))
    return (
        f"A rule of class II, read from its end, may itself be out by {out} over these lengths (legal limit, UK "
        "Statutory Instrument 2016/1153): use one rule for all parts of a box."
    )


def _to_order(needed: tuple[Needed, ...], makers: int) -> str:
    """Return the timber to order: lengths of blanks, for a box and for a class."""
    sections = "; ".join(
        f"{decimal(one.thickness)} x {decimal(one.height)} mm ({one.walls}) {mm(one.length)} a box, "
        f"{rounded(one.length * makers / 1000, 1)} m for {makers}"
        for one in needed
    )
    return f"Timber needed, with the waste at each wall's ends: {sections}."


def tie_lines(study: SectionStudy) -> list[str]:
    """Return glue, tongue and screws: figures beside the verdict, none of them a strength."""
    ties = study.ties
    glue = f"{figure(ties.bond_ratio)} times" if ties.bond_ratio.half_width else "as much as"
    pulled = ties.withdrawal if isinstance(ties.withdrawal, str) else _pull(ties.withdrawal)
    box = frame(study.tried)
    to_lap = wood_to_lap(box.lapped_length / 2, box.plain, study.tried.lid.screw.diameter)
    code = (
        "- by EN 1995-1-1, a code for structures and no verdict on a school box, the middle of a "
        f"{mm(study.tried.timber.lapped)} edge takes a drilled screw of up to {ties.pilot.thickest:.1f} mm effective "
        f"diameter (1.1 times the core), and this one has {ties.pilot.effective:.1f} mm"
    )
    return [
        (
            f"- glued area that closes at the joints: {glue} the present section's; an area and no strength, since no "
            "published value covers such a joint"
        ),
        (
            f"- area of the base's glue under the walls, the real tie: {_cm2(ties.base_glue[0])} cm² before, "
            f"{_cm2(ties.base_glue[1])} cm² after; an area and no strength"
        ),
        (f"- tongue that 19 boxes in 20 reach: {_tongue(study)}"),
        (
            f"- bending stress in a bare tongue under a thumb of {THUMB_LOAD_N:g} N on {THUMB_WIDTH_MM:g} mm: "
            f"{ties.tongue_stress:.1f} N/mm², the present section's {ties.tongue_stress_before:.1f} N/mm²; to compare "
            "the two, no verdict and no strength"
        ),
        f"- {_pilot(ties.pilot)}",
        f"- pull on a lid screw: {pulled}",
        f"- wood along the edge between a lid screw and the lap: {rounded(to_lap, 0 if to_lap >= 10 else 1)} mm",
        *((code,) if ties.pilot.best is not None else ()),
    ]


def _pull(ratio: float) -> str:
    """Return the pull on a lid screw against the present section's, and what it leaves out."""
    alike = "the same screw as deep in the same wood" if abs(ratio - 1) < _FINE else f"{ratio:.2g} times the present's"
    return f"{alike}; how thin the walls are is not counted here, and thinner ones split sooner"


def _cm2(area: float) -> Written:
    """Return mm² as cm², to the nearest."""
    return rounded(area / 100, 0)


def _tongue(study: SectionStudy) -> str:
    """Return the sampled tongue, and its share of the wall."""
    reason = next(r for r in study.verdict.reasons if r.row == "tongue")
    lapped = study.tried.timber.lapped
    share = figure(reason.figure.times(100 / lapped), 0)
    return f"{figure_of(reason)}, {share} % of its wall of {mm(lapped)}"


def _pilot(pilot: Pilot) -> str:
    start = (
        f"pilot hole {mm(pilot.hole)}: {100 * pilot.hole / pilot.core:.0f} % of the screw's core, inside its thread, "
        f"of {mm(pilot.core)} ({pilot.core_source})"
    )
    if pilot.best is None:
        return f"{start}; for a sheet's edge no published figure here"
    drilled = " by EN 1995-1-1, a code for structures, always drilled;" if pilot.must_be_drilled else ""
    return f"{start}; in {pilot.kind}{drilled} holds best at about {rounded(pilot.best, 1)} mm (a screw table)"


def _moved(change: Range | float) -> str:
    """Return a change or its range with signs; below half a tenth of a millimetre it is hardly any.

    Two sources of the same movement differ by up to a quarter, so no more than tenths are printed.
    """
    pair = change if isinstance(change, tuple) else (change, change)
    low, high = (rounded(each, 1) for each in pair)
    if not (low.value or high.value):
        return "hardly any"
    return f"{low.signed} mm" if low == high else f"{low.signed} to {high.signed} mm"


def season_lines(study: SectionStudy) -> list[str]:
    """Return what the move from the making room to its home does to walls, base and lid."""
    season = study.season
    if season is None:
        return ["Not judged: the design has no [climate] table (temperature and humidity, making and home)."]
    lines = _plane_lines(season) if isinstance(season, PlaneSeason) else _wall_lines(season)
    return [*lines, *(_sheet_line(each) for each in study.sheets)]


def _plane_lines(season: PlaneSeason) -> list[str]:
    return [
        f"- {season.missing}, so steps, joints and inside were not judged",
        (
            f"- in the sheet's plane ({season.method}): wall height {_moved(season.height)}, plain walls' length "
            f"{_moved(season.plain_length)}, lapped walls' length {_moved(season.lapped_length)}"
        ),
    ]


def _wall_lines(season: Season) -> list[str]:
    before, after = (rounded(mc, 1) for mc in season.mc)
    lengths = "lengths hardly move, 0.01 % per 1 %" if season.grain else "all sizes but thickness move alike"
    return [
        (
            f"- moisture in the walls: {before} % where it is made, {after} % where it lives (movement by "
            f"{season.method}{_SYSTEM if season.near_room else ''}); {lengths}"
        ),
        (
            f"- wall height {_moved(season.height)}, thickness of lapped walls {_moved(season.lapped)}, of plain walls "
            f"{_moved(season.plain)}"
        ),
        (
            f"- step at a corner, lapped wall's end against the plain wall's face: {_moved(season.step)} (minus "
            f"is shy); {_top_edges(season.top_step)}"
        ),
        (
            f"- no gap opens at the joints: their glue lines are strained, {_moved(season.cheek_slip)} at the cheek, "
            f"{_moved(season.shoulder_slip)} at the shoulder"
        ),
        (
            f"- along the plain walls: outside {_moved(season.frame[0])}, inside {_moved(season.inside[0])}; along the "
            f"lapped ones: outside {_moved(season.frame[1])}, inside {_moved(season.inside[1])}"
        ),
    ]


def _top_edges(step: float) -> str:
    apart = rounded(step, 1)
    return f"top edges up to {apart} mm apart" if apart.value else "top edges stay level"


def _sheet_line(moved: SheetSeason) -> str:
    """Return what base or lid does; the base is glued, so what it would do is held back or strains its glue."""
    if isinstance(moved.overhang, str):
        edges = f"edges against the walls: {moved.overhang}"
    else:
        x, y = (_moved(each) for each in moved.overhang)
        edges = f"edges against the walls, each side, {x} along the plain walls, {y} along the lapped ones"
    held = ", if its glue let it: held back, it strains the glue or bends" if moved.part == "base" else ""
    thick = moved.thickness if isinstance(moved.thickness, str) else _moved(moved.thickness)
    same = moved.thickness == moved.overhang
    return f"- {moved.part} of {moved.material}: {edges}{held}" + ("" if same else f"; thickness: {thick}")
