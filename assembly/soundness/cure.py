"""The nearest cure: the smallest change that takes a section out of "not sound".

change   : another lap share, another thickness of lapped or plain walls, or another lid screw with its holes
relative : how far a change goes, as share of what it changes; of a screw, the larger of diameter and pilot
timber   : volume of the four walls, mm³

Single changes come first, then pairs of different sorts; each by least relative change, then by least timber. Each is
judged anew, and the first that holds (no row "not sound") is the cure.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from assembly.errors import InputError
from assembly.frame import frame
from assembly.soundness.screws import pilot_band
from assembly.soundness.timbers import drilled_as
from assembly.soundness.variants import table_screws, varied, with_screw

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from assembly.design import Design
    from assembly.frame import Frame
    from assembly.soundness.variants import Keep
    from assembly.soundness.verdict import Verdict
    from assembly.tables import ScrewSize

Sort = Literal["lap share", "lapped", "plain", "screw"]

LAP_SHARES = tuple(at / 20 for at in range(5, 16))  # 0.25 to 0.75 by 0.05
REACH = (0.5, 2.0)  # without a stock file, 1 mm steps from half to twice the thickness
SAME = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change to a section, in words and as a share of what it changes."""

    sort: Sort
    value: float  # share, or mm
    relative: float
    screw: ScrewSize | None = None

    def words(self) -> str:
        """Return the change as it is told."""
        if self.screw is not None:
            return f"lid screws of {self.screw.name} with the table's holes"
        if self.sort == "lap share":
            return f"a lap share of {self.value:g}"
        return f"{self.sort} walls of {self.value:g} mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One or two changes, and the design that comes of them."""

    changes: tuple[Change, ...]
    design: Design

    @property
    def relative(self) -> float:
        """Sum of the changes' shares."""
        return sum(change.relative for change in self.changes)

    @property
    def order(self) -> tuple[int, float, float]:
        """Singles before pairs, then least relative change, then least timber; rounded so that equals tie."""
        return len(self.changes), round(self.relative, 9), round(timber_volume(frame(self.design)), 6)

    def words(self) -> str:
        """Return all changes as they are told."""
        return " and ".join(change.words() for change in self.changes)


def timber_volume(box: Frame) -> float:
    """Return the volume of the four walls' blanks, mm³; laps are cut out of it, not saved."""
    walls = box.lapped_length * box.lapped + box.plain_length * box.plain
    return 2 * box.height * walls


def single_changes(design: Design, stock: Sequence[float] | None = None) -> list[Change]:
    """Return every single change in the list; a change to what is there already is none."""
    timber = design.timber
    found = [_change("lap share", share, timber.lap_share) for share in LAP_SHARES]
    found += [_change("lapped", size, timber.lapped) for size in stock or _steps(timber.lapped)]
    found += [_change("plain", size, timber.plain) for size in stock or _steps(timber.plain)]
    found += [_screw_change(design, size) for size in table_screws()]
    return [change for change in found if change.relative > SAME]


def _steps(size: float) -> list[float]:
    low, high = (round(share * size) for share in REACH)
    return [float(step) for step in range(max(low, 3), min(high, 60) + 1)]


def _change(sort: Sort, value: float, now: float) -> Change:
    return Change(sort=sort, value=value, relative=abs(value - now) / now)


def _screw_change(design: Design, size: ScrewSize) -> Change:
    now = design.lid.screw
    pilot = pilot_band(size, drilled_as(design.timber))[1]
    share = max(abs(size.diameter - now.diameter) / now.diameter, abs(pilot - now.pilot) / now.pilot)
    return Change(sort="screw", value=size.diameter, relative=share, screw=size)


def candidates(design: Design, stock: Sequence[float] | None = None, keep: Keep = "outside") -> Iterator[Candidate]:
    """Yield all singles, then all pairs, that make a box at all, nearest first."""
    singles = single_changes(design, stock)
    yield from _ordered(design, ((single,) for single in singles), keep)
    pairs = (pair for pair in itertools.combinations(singles, 2) if pair[0].sort != pair[1].sort)
    yield from _ordered(design, pairs, keep)


def _ordered(design: Design, listed: Iterable[tuple[Change, ...]], keep: Keep) -> list[Candidate]:
    found = (_candidate(design, changes, keep) for changes in listed)
    return sorted((each for each in found if each is not None), key=lambda each: each.order)


def _candidate(design: Design, changes: tuple[Change, ...], keep: Keep) -> Candidate | None:
    """Return the design after the changes; None where no box can be so."""
    sizes = {change.sort.replace(" ", "_"): change.value for change in changes if change.screw is None}
    try:
        made = varied(design, keep=keep, **sizes)  # type: ignore[arg-type]
        for change in changes:
            if change.screw is not None:
                made = with_screw(made, change.screw, drilled_as(design.timber))
    except InputError:
        return None
    return Candidate(changes=changes, design=made)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cure:
    """The nearest change that holds, and the verdict on what comes of it."""

    candidate: Candidate
    verdict: Verdict


def nearest_cure(found: Iterable[Candidate], held: Callable[[Design], Verdict | None]) -> Cure | None:
    """Return the first candidate, nearest first, whose section holds; None where nothing in the list does."""
    judged = ((each, held(each.design)) for each in found)
    return next((Cure(candidate=each, verdict=verdict) for each, verdict in judged if verdict is not None), None)
