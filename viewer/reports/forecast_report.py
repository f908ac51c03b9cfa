"""What a class can expect, where its boxes fail, and what simpler ways would have said: in words and as data.

Figures keep only the digits that their sampling error leaves them (`viewer.reports.rounding`); data keeps them all.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.made.limits import kept, limit_ends
from assembly.model.outcomes import OUTCOMES
from assembly.nominal.frame import corner_key, corner_words
from assembly.study.intervals import Z95
from assembly.text import decimal
from viewer.reports.check_report import folded, limit_words
from viewer.reports.rounding import UNITS, counted, figure, percent, rounded

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assembly.advice.first_step import FirstStep
    from assembly.model.design import Design, Limit
    from assembly.study.check import OutcomeSummary, StudyResult
    from assembly.study.forecast import ClassCounts, Failure, Forecast
    from assembly.study.inspection import Measured, Misread
    from assembly.study.intervals import Estimate
    from assembly.study.linearised import LinearPart
    from viewer.reports.rounding import Written

NAMED = 3  # limits that are named, the most often missed first
HALF_A_BOX = 0.5  # a class has whole boxes
CLOSE = 1e-6  # mm below which two sizes are one
CLUSTERED = 1.5  # design effect from which classes are said to differ by more than chance


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """What stands beside a study; None where it was not asked for, or not reached before Ctrl-C."""

    forecast: Forecast | None = None
    linear: dict[str, LinearPart] | None = None
    measured: Measured | None = None
    first_step: FirstStep | None = None  # the single change that gains most
    unsure: ClassCounts | None = None  # classes with what is not known of a learned workshop


def class_sentences(design: Design, study: StudyResult, forecast: Forecast) -> list[str]:
    """Return how many good boxes a class can expect, as the study tells it, and the range of nine classes in ten."""
    classes, expected = forecast.classes, study.pass_share.times(design.makers)
    good = counted(expected, design.makers)
    if design.makers == 1:
        return [f"A maker alone has a good box in {percent(study.pass_share)} of cases."]
    if too_few(expected, good.value, classes):
        return [f"{study.boxes:,} boxes are too few to tell how many good boxes a class can expect: try more."]
    low, high = range_words(classes)
    sentences = [
        f"Of {design.makers:,} makers, expect {good} with a good box; nine classes in ten have {low} to {high}."
    ]
    if classes.deff > CLUSTERED:
        sentences.append(
            "Classes differ by more than chance: what a whole class shares moves all of its boxes at once."
        )
    return sentences


def unsure_sentence(unsure: ClassCounts) -> str:
    """Return the line that tells the range with what is not known of a learned workshop."""
    low, high = range_words(unsure)
    return (
        f"With what the readings behind this workshop leave open, nine classes in ten have {low} to {high} good boxes: "
        "plan by this range. Its top may be lower than the other's, as what is not known mostly makes boxes worse."
    )


def too_few(expected: Estimate, shown: float, classes: ClassCounts) -> bool:
    """Tell whether a study knows a class's good boxes less well than classes differ, or shows them outside their range.

    Classes are simulated with boxes of their own, which may be many more than the study's.
    """
    low, high = (end.value for end in classes.range)
    outside = not low - HALF_A_BOX <= shown <= high + HALF_A_BOX
    return outside or expected.high - expected.low > max(high - low, 2 * HALF_A_BOX)


def range_words(classes: ClassCounts) -> tuple[Written, Written]:
    """Return both ends of the range that nine classes in ten keep, as far as they are known."""
    low, high = (counted(end, classes.makers) for end in classes.range)
    return low, high


def missed_words(share: Estimate, failure: Failure, label: str) -> str:
    """Return how often a limit is missed, and by how much where it is."""
    words, unit = f"{label} in {percent(share)} of boxes", UNITS[failure.unit]
    return f"{words}, by {figure(failure.excess.times(unit.times))}{unit.sign} on average" if failure.excess else words


def limit_sentences(study: StudyResult, forecast: Forecast) -> list[str]:
    """Return which limits the study's boxes miss most, and by how much those of whole classes do."""
    kept = {name: found.share_within for name, found in study.outcomes.items() if found.share_within}
    missed = [(kept[each.name].complement(), each) for each in forecast.limits]
    missed = [pair for pair in missed if _shows(pair[0])]
    missed.sort(key=lambda pair: -pair[0].value)
    if not missed:
        return []
    named = [missed_words(*pair, f"{OUTCOMES[pair[1].name].label}: missed") for pair in missed[:NAMED]]
    return ["Limits missed most often:", *(f"- {words}" for words in named)]


def _shows(share: Estimate) -> bool:
    """Tell whether a share is more than 0 as it is written."""
    return figure(share.times(100), 1).value > 0


def joint_sentences(forecast: Forecast) -> list[str]:
    """Return which joint misses the gap limit most, or that none stands out."""
    joints, boxes = forecast.joints, forecast.classes.independent
    if not joints or not _shows(joints[0].share):
        return []
    first, second = (each.share.value for each in joints[:2])
    # Joints of one box go together, so the error of the difference is at most that of independent counts.
    error = math.sqrt((first * (1 - first) + second * (1 - second)) / boxes)
    if first - second > Z95 * error:
        words = missed_words(joints[0].share, joints[0], f"{corner_words(joints[0].name)}, missed")
        return [f"The joint that fails most: {words}.", corner_key()]
    alike = [each for each in joints if first - each.share.value <= 2 * Z95 * error]
    names = "all four" if len(alike) == len(joints) else " and ".join(corner_words(each.name) for each in alike)
    share = percent(joints[0].share)
    said = f"No single joint fails most: {names} are alike, and each is too wide in {share} of boxes."
    return [said] if len(alike) == len(joints) else [said, corner_key()]


def linear_sentences(
    design: Design, study: StudyResult, linear: dict[str, LinearPart], *, details: bool = False
) -> list[str]:
    """Return where a plain sum of tolerances would have changed the answer; with details, where it is off at all.

    It changes the answer where by it a limit is kept by enough boxes, and by the simulated ones it is not, or the other
    way round: enough are as many as the design requires.
    """
    changed = [name for name, part in linear.items() if _changes(study.outcomes[name], part, design.required_share)]
    lines = [_changed_words(name, study.outcomes[name], linear[name]) for name in changed]
    return lines + (_off_sentences(study, linear) if details else [])


def by_plain_sum(limit: Limit, part: LinearPart) -> float:
    """Return the share of boxes that keep a limit where the outcome is normal about its mean, with the sum's spread."""
    if part.rss == 0:
        return float(kept(limit, np.array(part.mean)))
    low, high = ((end - part.mean) / part.rss for end in limit_ends(limit))
    return (math.erf(high / math.sqrt(2)) - math.erf(low / math.sqrt(2))) / 2


def _changes(found: OutcomeSummary, part: LinearPart, required: float) -> bool:
    if found.limit is None or found.share_within is None:
        return False
    sampled = found.share_within
    by_sum = by_plain_sum(found.limit, part) >= required
    return by_sum != (sampled.value >= required) and not sampled.low < required < sampled.high


def _changed_words(name: str, found: OutcomeSummary, part: LinearPart) -> str:
    assert found.limit is not None
    assert found.share_within is not None
    share = rounded(100 * by_plain_sum(found.limit, part), 0)
    return (
        f"A plain sum of tolerances would change the answer: by it {share} % of boxes keep {OUTCOMES[name].label}, "
        f"{limit_words(found.limit, found.unit)}; of the simulated boxes {percent(found.share_within)} do."
    )


def _off_sentences(study: StudyResult, linear: dict[str, LinearPart]) -> list[str]:
    """Return how far a plain sum of tolerances misleads, for the outcome where it does so most.

    An end of its interval counts as off where it differs from the sampled one by more than two digits of the spread
    (JCGM 101:2008, clause 8) and twice the sampled one's own error.
    """
    off = {name: part for name, part in linear.items() if misleads(part)}
    if not off:
        return ["A plain sum of tolerances gives the same, as far as this many boxes can show."]
    limited = {name: part for name, part in off.items() if study.outcomes[name].limit} or off
    name = max(limited, key=lambda each: max(_differences(limited[each])) / limited[each].sd)
    part, unit = linear[name], OUTCOMES[name].unit
    alike = [each.plus(end - each.value) for each, end in zip(part.sampled, part.coverage, strict=True)]  # in digits
    plain, sampled = (_ends(ends, unit) for ends in (alike, part.sampled))
    lines = [
        (
            f"A plain sum of tolerances misleads. For {OUTCOMES[name].label} it puts 95 boxes in 100 between {plain}. "
            f"The simulated boxes fall between {sampled}."
        ),
        f"Such a sum misleads in {len(off)} of {len(linear)} outcomes.",
    ]
    if not part.is_a_sum:
        explained = figure(part.explained.times(100), 0)
        lines.insert(1, f"This outcome is not a sum of errors: a sum explains {explained} % of its variance.")
    return lines


def _differences(part: LinearPart) -> list[float]:
    return [abs(a - b.value) for a, b in zip(part.coverage, part.sampled, strict=True)]


def misleads(part: LinearPart) -> bool:
    """Tell whether a plain sum is off at either end, beyond two digits of the spread and chance in the sample."""
    chance = [2 * end.standard_error for end in part.sampled]
    return any(off > part.tolerance + each for off, each in zip(_differences(part), chance, strict=True))


def _ends(ends: Iterable[Estimate], unit: str) -> str:
    """Return both ends with the digits that sampling leaves them."""
    low, high = (figure(end.times(UNITS[unit].times), 0 if unit == "1" else 2) for end in ends)
    return f"{low} and {high}{UNITS[unit].sign}"


def measured_sentences(measured: Measured) -> list[str]:
    """Return what a class would call good with a rule, how often wrongly, which limits do it, and what would help."""
    lines = [
        (
            f"Checked with a steel rule read to {decimal(measured.division)} mm, {percent(measured.called_good)} of "
            f"boxes would be called good, where {percent(measured.good)} are:"
        ),
        (
            f"{percent(measured.false_accept)} of all boxes would be called good and are not, "
            f"{percent(measured.false_reject)} are good and would be called bad."
        ),
    ]
    misread = [each for each in measured.limits if each.refused.value + each.passed.value > 0][:NAMED]
    if misread:
        lines.append("Limits that this rule gets wrong, each by itself, the most often wrong first:")
        lines += [f"- {misread_words(each)}" for each in misread]
    return [
        *lines,
        *_too_coarse(measured),
        *_finer(measured),
        "The rule reads length, width, diagonals and steps; the rest is judged true.",
    ]


def ends_words(ends: tuple[float | None, float | None]) -> str:
    """Return a limit in words, from the least and the most that it allows, mm."""
    low, high = ends
    if low is None or high is None:
        return f"at most {decimal(high)} mm" if high is not None else f"at least {decimal(low or 0.0)} mm"
    return f"within ±{decimal(high)} mm" if abs(low + high) < CLOSE else f"from {decimal(low)} to {decimal(high)} mm"


def misread_words(each: Misread) -> str:
    """Return one limit, what it works like with the rule, and how often the rule gets it wrong."""
    effect = ""
    if each.works_like is not None:
        low, high = each.works_like
        effect = f"works like {ends_words(each.works_like)}; "
        if low is not None and high is not None and low > high - CLOSE:
            effect = "no reading keeps it; "
        elif all(_alike(*pair) for pair in zip(each.limit, each.works_like, strict=True)):
            effect = ""
    return (
        f"{OUTCOMES[each.name].label}, {ends_words(each.limit)}: {effect}{percent(each.refused)} of boxes wrongly "
        f"refused, {percent(each.passed)} wrongly passed"
    )


def _alike(first: float | None, second: float | None) -> bool:
    return first is second if first is None or second is None else abs(first - second) < CLOSE


def _too_coarse(measured: Measured) -> list[str]:
    """Return the warning about limits that are less than one division, none where there are none."""
    small = []
    for each in measured.limits:
        size = max(abs(end) for end in each.limit if end is not None)
        if size < measured.division - CLOSE:
            small.append(f"{OUTCOMES[each.name].label} ({decimal(size)} mm)")
    if not small:
        return []
    last = "whether they are" if len(small) > 1 else "whether that is"
    return [
        (
            f"Warning: a division of {decimal(measured.division)} mm is more than is allowed of {', '.join(small)}: "
            f"such a rule can't tell {last} kept, and the share called good says little."
        )
    ]


def _finer(measured: Measured) -> list[str]:
    """Return what a finer rule would have said of the same boxes, none where none was tried."""
    finer = measured.finer
    if finer is None:
        return []
    if finer.wrong.high < measured.wrong.low:
        cure = f"take {decimal(finer.division)} mm"
    elif finer.wrong.low > measured.wrong.high:
        cure = "worse, so keep yours"
    else:
        cure = "about as often wrong, so keep yours"
    return [
        (
            f"The same boxes, read to {decimal(finer.division)} mm: {percent(finer.called_good)} would be called good, "
            f"{percent(finer.false_accept)} wrongly passed, {percent(finer.false_reject)} wrongly refused: {cure}."
        )
    ]


def beside_text(design: Design, study: StudyResult, beside: Beside, *, details: bool = False) -> str:
    """Return the report's part on the class and on simpler ways of looking; empty where nothing is known."""
    lines: list[str] = []
    if beside.forecast and study_has_limits(study):
        lines += class_sentences(design, study, beside.forecast)
        lines += [unsure_sentence(beside.unsure)] if beside.unsure else []
        lines += limit_sentences(study, beside.forecast) + joint_sentences(beside.forecast)
    if beside.linear:
        lines += linear_sentences(design, study, beside.linear, details=details)
    if beside.measured:
        lines += measured_sentences(beside.measured)
    return folded(["In a class", *lines]) if lines else ""


def help_is_wanted(design: Design, study: StudyResult) -> bool:
    """Tell whether boxes fail that a change could help: of a class that has all boxes good, none does."""
    good = counted(study.pass_share.times(design.makers), design.makers).value
    return study_has_limits(study) and good < design.makers


def study_has_limits(study: StudyResult) -> bool:
    """Tell whether the design limits anything, so that boxes can fail."""
    return any(each.limit for each in study.outcomes.values())
