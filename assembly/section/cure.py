"""The nearest cure: the smallest change that takes a section out of those that fail.

change   : another lap share, another thickness of lapped or plain walls, or another lid screw with its holes; where the
           room inside is too small on plan, also the present inside kept, and where height is what fails, higher walls
relative : how far a change goes, as share of what it changes; of a screw, the larger of diameter and pilot; of the
           inside kept, the larger of outside length and width
timber   : volume of the four walls, mm³

Single changes come first, then pairs of different sorts; each by least relative change, then by least timber. Each is
judged anew, and the first that holds is the cure: no row fails, so that `check` answers, and less than `LOST` of all
boxes are good in the present section and no longer so. The present section is the measure, as whoever asks can stay
with it; the section tried fails, so its boxes are nobody's to lose.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from assembly.changes.change import combined
from assembly.errors import InputError
from assembly.materials.screws import pilot_band
from assembly.materials.timbers import drilled_as
from assembly.nominal.frame import frame
from assembly.section.judging import spare_room
from assembly.section.variants import (
    broken_rules,
    changed,
    inside_kept,
    other_screw,
    section_change,
    table_screws,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from assembly.changes.change import Change
    from assembly.data.tables import ScrewSize
    from assembly.model.design import Design
    from assembly.nominal.frame import Frame
    from assembly.section.variants import Keep
    from assembly.section.verdict import Verdict

LAP_SHARES = tuple(at / 20 for at in range(5, 16))  # 0.25 to 0.75 by 0.05
LOST = 0.02  # share of boxes, half a box of a class of 26: a cure that loses as many good ones is none
REACH = (0.5, 2.0)  # without a stock file, 1 mm steps from half to twice the thickness
SAME = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Single:
    """One change to a section, and how far it goes as a share of what it changes."""

    change: Change
    relative: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One or two changes, taken together, and the design that comes of them."""

    changes: tuple[Change, ...]
    relative: float  # sum of the changes' shares
    design: Design

    @property
    def change(self) -> Change:
        """All changes as one."""
        return self.changes[0] if len(self.changes) == 1 else combined(*self.changes)

    @property
    def order(self) -> tuple[int, float, float]:
        """Singles before pairs, then least relative change, then least timber; rounded so that equals tie."""
        return len(self.changes), round(self.relative, 9), round(timber_volume(frame(self.design)), 6)


def timber_volume(box: Frame) -> float:
    """Return the volume of the four walls' blanks, mm³; laps are cut out of it, not saved."""
    walls = box.lapped_length * box.lapped + box.plain_length * box.plain
    return 2 * box.height * walls


def single_changes(
    design: Design, stock: Sequence[float] | None = None, keep: Keep = "outside", present: Design | None = None
) -> list[Single]:
    """Return every single change in the list; a change to what is there already is none."""
    timber = design.timber
    found = [
        Single(change=section_change(design, lap_share=share), relative=_relative(share, timber.lap_share))
        for share in LAP_SHARES
    ]
    found += [
        Single(change=section_change(design, lapped=size, keep=keep), relative=_relative(size, timber.lapped))
        for size in stock or _steps(timber.lapped)
    ]
    found += [
        Single(change=section_change(design, plain=size, keep=keep), relative=_relative(size, timber.plain))
        for size in stock or _steps(timber.plain)
    ]
    found += [_screw(design, size) for size in table_screws()]
    found += [*_inside(design, present), *_heights(design, present)]
    return [single for single in found if single.relative > SAME]


def _relative(value: float, now: float) -> float:
    return abs(value - now) / now


def _inside(design: Design, present: Design | None) -> list[Single]:
    """Return the change that keeps the present inside, where the contents do not go in on plan."""
    spare = spare_room(design)
    if present is None or spare is None or min(spare[:2]) >= 0:
        return []
    change = inside_kept(design, present)
    try:
        box = changed(design, change).box
    except InputError:
        return []
    relative = max(_relative(box.length, design.box.length), _relative(box.width, design.box.width))
    return [Single(change=change, relative=relative)]


def _heights(design: Design, present: Design | None) -> list[Single]:
    """Return higher walls in 1 mm steps, where height is what fails: contents or screw too long, or it was lowered."""
    now, spare = design.box.height, spare_room(design)
    short = spare is not None and spare[2] < 0
    lowered = present is not None and now < present.box.height
    if not (short or lowered or any(fault.where == "lid.screw.length" for fault in broken_rules(design))):
        return []
    sizes = range(math.floor(now) + 1, math.floor(REACH[1] * now) + 1)
    return [Single(change=section_change(design, height=size), relative=_relative(size, now)) for size in sizes]


def _steps(size: float) -> list[float]:
    low, high = (round(share * size) for share in REACH)
    return [float(step) for step in range(max(low, 3), min(high, 60) + 1)]


def _screw(design: Design, size: ScrewSize) -> Single:
    now, drilled = design.lid.screw, drilled_as(design.timber)
    share = max(_relative(size.diameter, now.diameter), _relative(pilot_band(size, drilled)[1], now.pilot))
    return Single(change=other_screw(size, drilled, now.round_head), relative=share)


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
    singles = single_changes(design, stock, keep, present)
    make = partial(_candidate, design, present)
    yield from _ordered(make, ((single,) for single in singles))
    pairs = (pair for pair in itertools.combinations(singles, 2) if pair[0].change.kind != pair[1].change.kind)
    yield from _ordered(make, pairs)


def _ordered(
    make: Callable[[tuple[Single, ...]], Candidate | None], listed: Iterable[tuple[Single, ...]]
) -> list[Candidate]:
    return sorted((each for each in map(make, listed) if each is not None), key=lambda each: each.order)


def _candidate(design: Design, present: Design | None, singles: tuple[Single, ...]) -> Candidate | None:
    """Return the design after the changes; None where no box can be so."""
    changes = [single.change for single in singles]
    try:
        if present is not None and len(changes) == 2 and changes[1].kind == "inside":
            first = _but_plan(changes[0])
            changes = [first, inside_kept(changed(design, first), present)]  # other walls take other room
        made = changed(design, combined(*changes))
    except InputError:
        return None
    return Candidate(changes=tuple(changes), relative=sum(single.relative for single in singles), design=made)


def _but_plan(change: Change) -> Change:
    """Return a change without what it does to the outside on plan."""
    plan = {("box", "length"), ("box", "width")}
    return replace(change, settings=tuple(each for each in change.settings if each.key not in plan))


@dataclass(frozen=True, slots=True, kw_only=True)
class Cure:
    """The nearest change that holds and loses no good boxes, and the verdict on what comes of it."""

    candidate: Candidate
    verdict: Verdict


def nearest_cure(found: Iterable[Candidate], held: Callable[[Design], Verdict | None]) -> Cure | None:
    """Return the first candidate, nearest first, that holds and loses no good boxes; None where nothing does.

    `held` returns the verdict on a section that holds against the present one, None of another.
    """
    judged = ((each, held(each.design)) for each in found)
    cures = (Cure(candidate=each, verdict=verdict) for each, verdict in judged if verdict and _keeps_boxes(verdict))
    return next(cures, None)


def _keeps_boxes(verdict: Verdict) -> bool:
    lost = verdict.figure_of("pass_share_lost")
    return lost is not None and lost < LOST
