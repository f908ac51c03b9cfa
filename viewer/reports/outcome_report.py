"""What `lapwright outcome` tells: finished boxes against their forecast, and one verdict in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.model.outcomes import OUTCOMES
from viewer.reports.check_report import folded, heading_of, table, unit_of

if TYPE_CHECKING:
    from assembly.learning.outcome_check import OutcomeCheck, OutcomeVerdict
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop


def outcome_text(design: Design, workshop: Workshop, found: OutcomeVerdict) -> str:
    """Return the whole report."""
    boxes = "1 box" if found.boxes == 1 else f"{found.boxes} boxes"
    heads = ("outcome", "boxes", "median", "forecast", "spread", "forecast", "mean place", "chance")
    rows = [_row(each) for each in found.outcomes]
    heading = f"{design.name}: {boxes} as read, against the forecast of {workshop.name} as it would be read"
    notes = [
        "Spread: half of what holds the middle half. Mean place: 0.5 where boxes are as forecast, more where worse.",
        "Chance: of classes that are as forecast, the share whose mean place is as far out, on either side.",
    ]
    tabled = table(heads, rows, words=(0,))
    parts = [heading, tabled, folded(notes), folded(kept_sentences(found)), folded(verdict_sentences(found))]
    return "\n\n".join(part for part in parts if part)


def _row(each: OutcomeCheck) -> tuple[str, ...]:
    times = unit_of(each.outcome).times
    chance = "under 0.001" if each.chance < 0.001 else f"{each.chance:.3f}"
    figures = (each.median, each.forecast[1], each.spread, each.forecast_spread)
    written = (f"{times * value:.2f}" for value in figures)
    return heading_of(each.outcome), str(each.boxes), *written, f"{each.places.mean():.2f}", chance


def kept_sentences(found: OutcomeVerdict) -> list[str]:
    """Return how many boxes keep each limit as they were read, beside the forecast; none where there are no limits."""
    rows = [
        f"- {OUTCOMES[each.outcome].label}: {each.kept} of {each.boxes}, where {each.forecast_kept:.1f} are forecast"
        for each in found.outcomes
        if each.kept is not None
    ]
    return ["Boxes that keep the limit, as read:", *rows] if rows else []


def verdict_sentences(found: OutcomeVerdict) -> list[str]:
    """Return the verdict, which outcomes it comes of, and how well so many boxes can tell."""
    boxes = "1 box" if found.boxes == 1 else f"{found.boxes} boxes"
    power = f"{100 * found.power:.0f} of 100 classes whose spreads are half as large again"
    off = [OUTCOMES[each.outcome].label for each in found.outcomes if each.found]
    unsure = " What the readings behind the workshop leave open is counted in." if found.unsure else ""
    words = {
        "holds": f"The forecast holds. So many boxes would find out {power}.",
        "cannot tell": f"Cannot tell with {boxes}: they would find out only {power}, and 80 would be enough.",
        "too hopeful": f"The forecast is too hopeful: boxes come out worse, as {', '.join(off)} shows.",
        "too gloomy": f"The forecast is too gloomy: boxes come out better, as {', '.join(off)} shows.",
    }
    return [words[found.verdict] + unsure]
