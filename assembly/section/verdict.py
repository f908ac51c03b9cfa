"""The verdict on a section: each figure against its limits in `assembly/data/sound_limits.csv`; the worst row decides.

level  : sound, with care, does not fit (the contents), or not sound; the last two fail
limit  : what a figure must keep to be sound
margin : (figure - limit) / |limit|, turned so that + keeps it; where the limit is 0, in the figure's own unit
scale  : a size that a limit is a multiple of: T and K (lapped wall and tongue), d (screw), clearance, a3t, a4c
code   : a row of EN 1995-1-1, a code for structures: information beside the verdict, which it never changes

Rows whose care limit is "any" (grain, cupping, a step at a corner) never fall below "with care". Without a section that
the school marked as proven the verdict is at most "with care". It is no structural design: local rules, a risk
assessment and competent supervision come first.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from assembly.data.tables import rows
from assembly.errors import InputError
from assembly.study.intervals import Estimate, exact

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

Soundness = Literal["sound", "with care", "does not fit", "not sound"]
Sense = Literal[">=", "<=", "<"]

LEVELS: tuple[Soundness, ...] = ("not sound", "does not fit", "with care", "sound")  # worst first
FAILING: tuple[Soundness, ...] = ("not sound", "does not fit")
NO_REFERENCE = (
    "no section is marked as proven, so nothing says how such a box has held; the verdict is at most 'with care'"
)
_ROUNDING = 1e-9  # relative; a figure worked out to stand on its limit keeps it


@dataclass(frozen=True, slots=True, kw_only=True)
class Threshold:
    """A limit as written in the table: the stricter of several multiples of scales; a scale of "" is the plain unit."""

    terms: tuple[tuple[float, str], ...]

    def value(self, sense: Sense, scales: Mapping[str, float]) -> float:
        """Return the limit in the row's unit, for the sizes in `scales` (mm)."""
        values = [times * (scales[scale] if scale else 1.0) for times, scale in self.terms]
        return max(values) if sense == ">=" else min(values)


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundLimit:
    """A row of the table: what is sound, what is so with care, and who says so."""

    row: str
    code: str  # the code for structures that it is a warning of; "" for the joint's own rows
    title: str
    short: str  # one or two words, for a map
    unit: str
    sense: Sense
    sound: Threshold
    care: Threshold | Literal["any", "none"]  # any: never below with care; none: what is not sound has no with care
    fails: Soundness  # what a figure is that not even care helps
    meaning: str  # why the figure matters
    do: str  # what to do about it where it is not sound, in one sentence
    by: str  # who says so, in a word or two
    source: str

    @property
    def name(self) -> str:
        """The title, with its code before it."""
        return f"{self.code}: {self.title}" if self.code else self.title

    def needs(self) -> frozenset[str]:
        """Return the scales that this row's limits are multiples of."""
        both = self.sound.terms if isinstance(self.care, str) else (*self.sound.terms, *self.care.terms)
        return frozenset(scale for _, scale in both if scale)


@dataclass(frozen=True, slots=True, kw_only=True)
class RowResult:
    """One row of a verdict."""

    row: str
    figure: Estimate
    unit: str
    limit: float  # to be sound
    margin: float  # positive keeps the limit
    level: Soundness
    source: str

    @property
    def too_close(self) -> bool:
        """Whether the figure's 95 % interval holds the limit, so that as many boxes again might say otherwise."""
        return self.figure.low < self.limit < self.figure.high

    @property
    def of_code(self) -> bool:
        """Whether the row is a warning of the code for structures and none of the joint's own."""
        return bool(sound_limits()[self.row].code)

    @property
    def fails(self) -> bool:
        """Whether not even care helps, so that the box is not to be built so."""
        return self.level in FAILING


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The worst level of all rows, and every row with the least margin first."""

    verdict: Soundness
    reasons: tuple[RowResult, ...]
    note: str  # why the verdict is lower than its rows; "" where it is not

    @property
    def deciding(self) -> RowResult:
        """The row that decides: the first of `by_weight`."""
        return self.by_weight[0]

    @property
    def fails(self) -> bool:
        """Whether the box is not to be built so."""
        return self.verdict in FAILING

    @property
    def by_weight(self) -> tuple[RowResult, ...]:
        """The joint's own rows, worst level first and in it least margin first, then the code's in the same order.

        Of one level, a figure that no source gives comes after those that are there.
        """
        return tuple(sorted(self.reasons, key=_weight))

    def level_of(self, row: str) -> Soundness | None:
        """Return the level of a row; None where it was not judged."""
        return next((reason.level for reason in self.reasons if reason.row == row), None)

    def figure_of(self, row: str) -> float | None:
        """Return the figure of a row; None where it was not judged."""
        return next((reason.figure.value for reason in self.reasons if reason.row == row), None)


def _weight(reason: RowResult) -> tuple[bool, int, bool, float]:
    return reason.of_code, LEVELS.index(reason.level), reason.row == "no_figure", reason.margin


def _threshold(text: str) -> Threshold:
    """Return a limit from its cell: "4; 1/3 T" is the stricter of 4 and a third of T."""
    parts = (part.split() for part in text.split(";"))
    return Threshold(terms=tuple((float(Fraction(p[0])), p[1] if len(p) > 1 else "") for p in parts))


def _care(text: str) -> Threshold | Literal["any", "none"]:
    if text == "any":
        return "any"
    return _threshold(text) if text else "none"


@functools.cache
def sound_limits() -> dict[str, SoundLimit]:
    """Return every row of the table by name, in file order."""
    return {r["row"]: _sound_limit(r) for r in rows("sound_limits")}


def _sound_limit(row: Mapping[str, str]) -> SoundLimit:
    sense: Sense = "<=" if row["sense"] == "<=" else "<" if row["sense"] == "<" else ">="
    return SoundLimit(
        row=row["row"],
        code=row["code"],
        title=row["title"],
        short=row["short"],
        unit=row["unit"],
        sense=sense,
        sound=_threshold(row["sound"]),
        care=_care(row["care"]),
        fails="does not fit" if row["fails"] == "does not fit" else "not sound",
        meaning=row["meaning"],
        do=row["do"],
        by=row["by"],
        source=row["source"],
    )


def judge(row: str, figure: float | Estimate, scales: Mapping[str, float] | None = None) -> RowResult:
    """Return one figure against its row's limits.

    Parameters
    ----------
    row : str
        Name of a row of `sound_limits`.
    figure : float or Estimate
        The figure, in the row's unit: worked out, or estimated from sampled boxes.
    scales : mapping of str to float, optional
        The sizes that the row's limits are multiples of, mm.

    Raises
    ------
    InputError
        If the row is unknown, the figure is no number, or a scale is missing.
    """
    limit = _known(row)
    sizes, known = scales or {}, figure if isinstance(figure, Estimate) else exact(figure)
    missing = limit.needs() - sizes.keys()
    if missing or not math.isfinite(known.value):
        found = (
            f"needs {', '.join(sorted(missing))}" if missing else f"figure is {known.value}, must be a finite number"
        )
        msg = f"row {row!r}: {found}"
        raise InputError(msg)
    sound = limit.sound.value(limit.sense, sizes)
    return RowResult(
        row=row,
        figure=known,
        unit=limit.unit,
        limit=sound,
        margin=_margin(limit.sense, known.value, sound),
        level=_level(limit, known.value, sizes),
        source=limit.source,
    )


def _known(row: str) -> SoundLimit:
    limits = sound_limits()
    if row not in limits:
        msg = f"row {row!r}: not in the table of limits; there are: {', '.join(limits)}"
        raise InputError(msg)
    return limits[row]


def _margin(sense: Sense, figure: float, limit: float) -> float:
    spare = figure - limit if sense == ">=" else limit - figure
    return spare / (abs(limit) or 1.0)


def _keeps(sense: Sense, figure: float, limit: float) -> bool:
    margin = _margin(sense, figure, limit)
    return margin > _ROUNDING if sense == "<" else margin >= -_ROUNDING


def _level(limit: SoundLimit, figure: float, scales: Mapping[str, float]) -> Soundness:
    if _keeps(limit.sense, figure, limit.sound.value(limit.sense, scales)):
        return "sound"
    if limit.care == "any":
        return "with care"
    if limit.care == "none":
        return limit.fails
    return "with care" if _keeps(limit.sense, figure, limit.care.value(limit.sense, scales)) else limit.fails


def decide(reasons: Iterable[RowResult], *, reference: bool) -> Verdict:
    """Return the verdict over rows: the worst level, at most "with care" without a proven reference section.

    Rows of the code for structures stand beside it and never change it.

    Parameters
    ----------
    reasons : iterable of Reason
        One for each row that could be judged, at least one of the joint's own.
    reference : bool
        Whether the school marked a section as proven.
    """
    ordered = tuple(sorted(reasons, key=lambda r: r.margin))
    own = [r.level for r in ordered if not r.of_code]
    if not own:
        msg = "verdict: no row was judged; give at least one figure"
        raise InputError(msg)
    worst = min(own, key=LEVELS.index)
    if worst == "sound" and not reference:
        return Verdict(verdict="with care", reasons=ordered, note=NO_REFERENCE)
    return Verdict(verdict=worst, reasons=ordered, note="")
