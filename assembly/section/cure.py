"""The nearest cure: the smallest change that takes a section out of "not sound".

change   : another lap share, another thickness of lapped or plain walls, or another lid screw with its holes; where the
           room inside is too small on plan, also the present inside kept, and where height is what fails, higher walls
relative : how far a change goes, as share of what it changes; of a screw, the larger of diameter and pilot; of the
           inside kept, the larger of outside length and width
timber   : volume of the four walls, mm³

Single changes come first, then pairs of different sorts; each by least relative change, then by least timber. Each is
judged anew, and the first that holds (no row "not sound") is the cure.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Literal

from assembly.errors import InputError
from assembly.materials.screws import pilot_band
from assembly.materials.timbers import drilled_as
from assembly.nominal.frame import frame
from assembly.section.judging import spare_room
from assembly.section.variants import broken_rules, table_screws, varied, with_inside, with_screw

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from assembly.data.tables import ScrewSize
    from assembly.model.design import Design
    from assembly.nominal.frame import Frame
    from assembly.section.variants import Keep
    from assembly.section.verdict import Verdict

Sort = Literal["lap share", "lapped", "plain", "screw", "inside", "height"]

LAP_SHARES = tuple(at / 20 for at in range(5, 16))  # 0.25 to 0.75 by 0.05
REACH = (0.5, 2.0)  # without a stock file, 1 mm steps from half to twice the thickness
SAME = 1e-9
_SIZES = ("lap share", "lapped", "plain", "height")  # what `varied` changes


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change to a section, in words and as a share of what it changes."""

    sort: Sort
    value: float  # share, or mm; of the inside kept, the outside length
    relative: float
    screw: ScrewSize | None = None

    def words(self) -> str:
        """Return the change as it is told."""
        if self.screw is not None:
            return f"lid screws of {self.screw.name} with the table's holes"
        if self.sort == "lap share":
            return f"a lap share of {self.value:g}"
        if self.sort == "inside":
            return "the present inside kept (--keep inside)"
        if self.sort == "height":
            return f"walls {self.value:g} mm high"
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


def single_changes(design: Design, stock: Sequence[float] | None = None, present: Design | None = None) -> list[Change]:
    """Return every single change in the list; a change to what is there already is none."""
    timber = design.timber
    found = [_change("lap share", share, timber.lap_share) for share in LAP_SHARES]
    found += [_change("lapped", size, timber.lapped) for size in stock or _steps(timber.lapped)]
    found += [_change("plain", size, timber.plain) for size in stock or _steps(timber.plain)]
    found += [_screw_change(design, size) for size in table_screws()]
    found += [*_inside_kept(design, present), *_heights(design, present)]
    return [change for change in found if change.relative > SAME]


def _inside_kept(design: Design, present: Design | None) -> list[Change]:
    """Return the change that keeps the present inside, where the contents do not go in on plan."""
    spare = spare_room(design)
    if present is None or spare is None or min(spare[:2]) >= 0:
        return []
    try:
        box = with_inside(design, present).box
    except InputError:
        return []
    relative = max(abs(box.length - design.box.length) / design.box.length, abs(box.width / design.box.width - 1))
    return [Change(sort="inside", value=box.length, relative=relative)]


def _heights(design: Design, present: Design | None) -> list[Change]:
    """Return higher walls in 1 mm steps, where height is what fails: contents or screw too long, or it was lowered."""
    now, spare = design.box.height, spare_room(design)
    short = spare is not None and spare[2] < 0
    lowered = present is not None and now < present.box.height
    if not (short or lowered or any(fault.where == "lid.screw.length" for fault in broken_rules(design))):
        return []
    return [_change("height", float(size), now) for size in range(math.floor(now) + 1, math.floor(REACH[1] * now) + 1)]


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


def candidates(
    design: Design,
    stock: Sequence[float] | None = None,
    keep: Keep = "outside",
    present: Design | None = None,
) -> Iterator[Candidate]:
    """Yield all singles, then all pairs, that make a box at all, nearest first.

    Parameters
    ----------
    design : Design
        The section to be cured.
    stock : sequence of float, optional
        Thicknesses on sale, mm; 1 mm steps if left out.
    keep : {"outside", "inside"}
        What a change of thickness keeps on plan.
    present : Design, optional
        The present design, whose inside a change may keep; no such change, and none of a lowered height, without it.
    """
    singles = single_changes(design, stock, present)
    make = partial(_candidate, design, present, keep)
    yield from _ordered(make, ((single,) for single in singles))
    pairs = (pair for pair in itertools.combinations(singles, 2) if pair[0].sort != pair[1].sort)
    yield from _ordered(make, pairs)


def _ordered(
    make: Callable[[tuple[Change, ...]], Candidate | None], listed: Iterable[tuple[Change, ...]]
) -> list[Candidate]:
    return sorted((each for each in map(make, listed) if each is not None), key=lambda each: each.order)


def _candidate(design: Design, present: Design | None, keep: Keep, changes: tuple[Change, ...]) -> Candidate | None:
    """Return the design after the changes; None where no box can be so."""
    sizes = {change.sort.replace(" ", "_"): change.value for change in changes if change.sort in _SIZES}
    try:
        made = varied(design, keep=keep, **sizes)  # type: ignore[arg-type]
        for change in changes:
            if change.screw is not None:
                made = with_screw(made, change.screw, drilled_as(design.timber))
        if present is not None and any(change.sort == "inside" for change in changes):
            made = with_inside(made, present)
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
