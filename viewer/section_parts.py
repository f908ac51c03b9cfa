"""What another section changes, in words: drawing, fit, glue and screws, seasons."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.frame import frame
from assembly.shop_rules import mm, told
from assembly.soundness.bond import THUMB_LOAD_N, THUMB_WIDTH_MM
from assembly.soundness.judging import spare_room
from assembly.soundness.screws import wood_to_lap
from assembly.soundness.seasons import PlaneSeason
from assembly.soundness.standards import rule_limit
from assembly.tolerance.intervals import Z95, wilson
from viewer.causes_report import signed
from viewer.figures import figure, rounded, with_interval
from viewer.report import folded, table
from viewer.section_why import figure_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.frame import FloatArray
    from assembly.soundness.drawing import Needed, Size
    from assembly.soundness.homes import SheetSeason
    from assembly.soundness.seasons import Range, Season
    from assembly.soundness.section import SectionStudy
    from assembly.soundness.ties import Pilot, Tolerance
    from assembly.tolerance.compare import Difference

_FINE = 5e-4  # a change of a size under that is none


def sentence(text: str) -> str:
    """Return a text as a sentence."""
    return f"{text[0].upper()}{text[1:]}."


def drawing_block(study: SectionStudy) -> str:
    """Return the sizes that change, those that stay, the room left, what can't be marked, and the timber to order."""
    changed = [size for size in study.drawing if abs(size.change) >= _FINE]
    stay = ", ".join(f"{s.name}: {_told(s.after, s.unit)} {s.unit}" for s in study.drawing if s not in changed)
    rows = [(s.name, s.unit, *(_told(size, s.unit) for size in (s.before, s.after)), _change(s)) for s in changed]
    made = [table(("size", "unit", "present", "tried", "change"), rows, words=(0, 1))] if rows else ["Nothing."]
    lines = [f"As it is: {stay}."] if stay else []
    spare = spare_room(study.tried)
    if spare is not None:
        left = ", ".join(f"{name} {mm(size)}" for name, size in zip(("length", "width", "height"), spare, strict=True))
        lines.append(f"Room that the contents leave (below 0 they do not go in): {left}.")
    lines += [sentence(f"to mark: {warning}") for warning in study.marks]
    lines += [_rule(study), _to_order(study.needed, study.tried.makers)]
    return "\n".join([*made, folded(lines)])


def _change(size: Size) -> str:
    return signed(_told(size.change, size.unit))


def _told(size: float, unit: str) -> str:
    return told(size) if unit == "mm" else rounded(size, 0)


def _rule(study: SectionStudy) -> str:
    """Return how far the rule that sizes are marked with may itself be out."""
    longest = max(size.after for size in study.drawing if size.marked)
    return (
        f"A rule of class II, read from its end, may itself be out by {told(rule_limit('II', longest, from_end=True))} "
        "mm over these lengths (legal limit, UK Statutory Instrument 2016/1153): use one rule for all parts of a box."
    )


def _to_order(needed: tuple[Needed, ...], makers: int) -> str:
    """Return the timber to order: finished lengths, for a box and for a class."""
    sections = "; ".join(
        f"{told(one.thickness)} x {told(one.height)} mm ({one.walls}) {mm(one.length)} a box, "
        f"{rounded(one.length * makers / 1000, 1)} m for {makers}"
        for one in needed
    )
    return f"Timber needed, finished lengths without the saw's waste: {sections}."


def paired(found: Difference, unit: str, scale: float = 1.0, finest: int = 2) -> str:
    """Return a paired difference with its 95 % interval, to the digits that the interval carries."""
    shown = with_interval(scale * found.value, scale * found.low, scale * found.high, finest)
    value, low, high = (signed(each) for each in shown)
    if not any(each.strip("-0.,") for each in shown):
        return f"no change that matters (under {told(10.0**-finest)} {unit})"
    if low == high:
        return f"{value} {unit}"
    return f"{value} {unit} (95 % interval {low} to {high})"


def fit_lines(study: SectionStudy) -> list[str]:
    """Return how the boxes come out before and after, what marking from the drawing costs, and how stock varies."""
    fit, makers = study.fit, study.tried.makers
    shares = [wilson(float(s.passes.sum()), s.boxes) for s in (fit.before, fit.after)]
    before, after = (with_interval(100 * s.share, 100 * s.low, 100 * s.high, 1)[0] for s in shares)
    expected = [round(s.pass_share * makers) for s in (fit.before, fit.after)]
    gaps = [_mean(s.joint_gap) for s in (fit.before, fit.after)]
    closed = [_mean(100 * s.closed_share, 1) for s in (fit.before, fit.after)]
    return [
        f"{fit.boxes:,} boxes of either section, made on paper by the same makers:",
        (
            f"- boxes that keep every limit: {before} % before, {after} % after: "
            f"{paired(fit.pass_share, 'points', 100)}; of {makers} in a class {expected[0]} before, {expected[1]} after"
        ),
        f"- widest joint gap, mean: {gaps[0]} mm before, {gaps[1]} mm after: {paired(fit.joint_gap, 'mm')}",
        (
            f"- joint closed by glue, mean of the worst corner: {closed[0]} % before, {closed[1]} % after: "
            f"{paired(fit.closed_share, 'points', 100, 1)}"
        ),
        (
            "- shoulders marked from the drawing instead of from the wall itself: boxes that keep every limit: "
            f"{paired(fit.from_drawing, 'points', 100)}"
        ),
        *_tolerances(study.ties.tolerances),
    ]


def _mean(values: FloatArray, finest: int = 2) -> str:
    """Return a mean to the first digit of its 95 % half-width, as the paired difference beside it is told."""
    mean, half = float(values.mean()), Z95 * float(values.std(ddof=1)) / len(values) ** 0.5
    return with_interval(mean, mean - half, mean + half, finest)[0]


def _tolerances(found: Sequence[Tolerance]) -> list[str]:
    """Return how far bought stock may be out, once where both walls' stock may be out alike."""
    alike = len({(each.plus, each.minus, each.source) for each in found}) == 1
    told_of = (
        [(" and ".join(mm(each.thickness) for each in found), found[0])]
        if alike
        else [(mm(each.thickness), each) for each in found]
    )
    return [
        f"- bought stock of {sizes} may come {told(each.plus)} mm thicker or {told(each.minus)} mm thinner "
        f"({each.source}): measure what you get, and mark shoulders from the wall itself"
        for sizes, each in told_of
    ]


def tie_lines(study: SectionStudy) -> list[str]:
    """Return glue, tongue and screws: figures beside the verdict, none of them a strength."""
    ties = study.ties
    ratio, error = ties.bond_ratio
    glue = f"{figure(ratio, error)} times" if error else "as much as"
    pulled = (
        ties.withdrawal if isinstance(ties.withdrawal, str) else f"{ties.withdrawal:.2f} times the present section's"
    )
    code = (
        "- rows of EN 1995-1-1 come from a code for structures: a warning, not a verdict on a school box; by it the "
        f"middle of a {mm(study.tried.timber.lapped)} edge takes a drilled screw of up to {ties.pilot.thickest:.1f} mm "
        f"effective diameter (1.1 times the core), and this one has {ties.pilot.effective:.1f} mm"
    )
    return [
        (
            f"- glue that closes at the joints: {glue} the present section's; no strength is given, since no "
            "published value covers such a joint"
        ),
        (
            f"- base glued under the walls, the real tie: {ties.base_glue[0]:.0f} mm² before, {ties.base_glue[1]:.0f} "
            "mm² after"
        ),
        (f"- tongue in all but one box in twenty: {_tongue(study)}"),
        (
            f"- bending stress in a bare tongue under a thumb of {THUMB_LOAD_N:g} N on {THUMB_WIDTH_MM:g} mm: "
            f"{ties.tongue_stress:.1f} N/mm²; for information, no verdict and no strength"
        ),
        f"- {_pilot(ties.pilot)}",
        f"- pull on a lid screw: {pulled}",
        f"- wood along the edge between a lid screw and the lap: {mm(_to_lap(study))}",
        *((code,) if ties.pilot.best is not None else ()),
    ]


def _tongue(study: SectionStudy) -> str:
    """Return the sampled tongue, and its share of the wall."""
    reason = next(r for r in study.verdict.reasons if r.row == "tongue")
    lapped = study.tried.timber.lapped
    share = figure(100 * reason.figure / lapped, 100 * reason.error / lapped, 0)
    return f"{figure_of(reason)}, {share} % of its wall of {mm(lapped)}"


def _pilot(pilot: Pilot) -> str:
    start = (
        f"pilot hole {mm(pilot.hole)}: {100 * pilot.hole / pilot.core:.0f} % of the thread's core of {mm(pilot.core)} "
        f"({pilot.core_source.partition(';')[0]})"
    )
    if pilot.best is None:
        return f"{start}; for a sheet's edge no published figure here"
    drilled = " by EN 1995-1-1, a code for structures, always drilled;" if pilot.must_be_drilled else ""
    return f"{start}; in {pilot.kind}{drilled} holds best at about {rounded(pilot.best, 1)} mm (a screw table)"


def _to_lap(study: SectionStudy) -> float:
    box = frame(study.tried)
    return wood_to_lap(box.lapped_length / 2, box.plain, study.tried.lid.screw.diameter)


def _moved(change: Range | float) -> str:
    """Return a change or its range with signs; below a hundredth of a millimetre it is hardly any.

    Two sources of the same movement differ by up to a quarter, so from 1 mm on no more than tenths are told.
    """
    pair = change if isinstance(change, tuple) else (change, change)
    places = 2 if max(map(abs, pair)) < 1 else 1
    low, high = (signed(rounded(each, places)) for each in pair)
    if not (low + high).strip("+-0."):
        return "hardly any"
    return f"{low} mm" if low == high else f"{low} to {high} mm"


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
            f"{season.method}); {lengths}"
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
    text = rounded(step, 2 if step < 1 else 1)
    return f"top edges up to {text} mm apart" if text.strip("0.") else "top edges stay level"


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
