"""What can be changed about a box or its making by who teaches it: each change with what it costs a maker.

group : changes of which only one can be taken, such as amounts left to sand; no set takes two of a group

Only what somebody can do is here. A spread that should be half as wide is a wish, and a limit is the teacher's to
choose: neither is a candidate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from assembly.changes.apply import apply
from assembly.changes.change import Change, combined
from assembly.changes.of_making import (
    aid_used,
    gauged_from,
    left_to_sand,
    lid_marked_through,
    one_more_paring,
    plain_walls_longer,
    shoulders_from,
    squared_glue_up,
)
from assembly.errors import ConfigError, InputError
from assembly.materials.timbers import walls_of
from assembly.nominal.frame import frame
from assembly.section.cure import LAP_SHARES, timber_volume
from assembly.section.variants import section_change
from assembly.study.improvements import works_alike

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from assembly.changes.of_making import Allowance
    from assembly.model.costs import Cost, CostByLength, Costs
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop

AMOUNTS = 0.2, 4  # mm: what is left to sand is tried in such steps above what it is now, and so many of them
LONGER = (0.5, 1.0)  # mm that the plain walls may be marked longer
LITRE = 1e6  # mm³
SECTION_GROUPS = ("section", "lap share")  # what `lapwright section` judges


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidate:
    """One change that may be proposed, its cost filled in, and the group of which it is one."""

    group: str
    change: Change


@dataclass(frozen=True, slots=True)
class Price:
    """What a set of changes costs a maker: money, minutes, and how many changes there are to see to."""

    money: float
    minutes: float
    changes: int


def price_of(changes: Sequence[Change]) -> Price:
    """Return what changes cost a maker together; every one of them has its cost filled in."""
    return Price(
        money=sum(each.money or 0.0 for each in changes),
        minutes=sum(each.minutes or 0.0 for each in changes),
        changes=len(changes),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplies:
    """What a school can get: what changes cost a maker, and the thicknesses of timber on sale, mm."""

    costs: Costs
    stock: Sequence[float]


def candidates(design: Design, workshop: Workshop, supplies: Supplies) -> list[Candidate]:
    """Return every change that can be done and that makes a difference.

    Parameters
    ----------
    design, workshop : Design, Workshop
        The box and its making as they are.
    supplies : Supplies
        What its costs say is not possible is left out; another section is proposed where the timber is known.
    """
    sections = _of_section(design, supplies)
    others = [each for each in sections if _makes_a_difference(each.change, design, workshop)]
    return [*candidates_of_making(design, workshop, supplies.costs), *others]


def candidates_of_making(design: Design, workshop: Workshop, costs: Costs) -> list[Candidate]:
    """Return every change to how the box is made that can be done and that makes a difference; the section stays."""
    found = _of_making(design, workshop, costs)
    return [each for each in found if _makes_a_difference(each.change, design, workshop)]


def _makes_a_difference(change: Change, design: Design, workshop: Workshop) -> bool:
    """Tell whether design and workshop can take a change, and are not what they were."""
    try:
        after = apply(change, design, workshop)
    except ConfigError:  # such as a paring more than are allowed, or a hole too near the face of thinner walls
        return False
    return after[0] != design or not works_alike(design, after[1], workshop)


def _priced(group: str, change: Change, cost: Cost, *, money: float = 0.0, minutes: float = 0.0) -> Iterator[Candidate]:
    """Yield a change with its cost, and what it costs beyond; nothing where it is not possible."""
    if cost.possible:
        priced = replace(change, money=cost.money + money, minutes=cost.minutes + minutes)
        yield Candidate(group=group, change=priced)


def _by_length(group: str, change: Change, cost: CostByLength, length: float) -> Iterator[Candidate]:
    return _priced(group, change, cost, minutes=cost.minutes_per_mm * length)


def _of_making(design: Design, workshop: Workshop, costs: Costs) -> Iterator[Candidate]:
    for name in workshop.aids:
        yield from _priced(f"aid {name}", aid_used(workshop, name), costs.aids.get(name, costs.aid))
    yield from _priced("shoulder from", shoulders_from("part"), costs.marked_from_part)
    yield from _priced("squared", squared_glue_up(), costs.squared)
    yield from _priced("paring", one_more_paring(workshop), costs.one_more_paring)
    other = gauged_from("outside" if workshop.gauge_from == "inside" else "inside")
    yield from _priced("gauge side", other, costs.gauge_side)
    if design.plaque:
        yield from _priced("marked through", lid_marked_through(), costs.marked_through)
    yield from _allowance(workshop, "saw.offset", costs.left_to_sand)
    yield from _allowance(workshop, "lid_saw.offset", costs.lid_left_to_sand)
    for length in LONGER:
        yield from _by_length("overlength", plain_walls_longer(design, length), costs.overlength, length)


def _allowance(workshop: Workshop, quantity: Allowance, cost: CostByLength) -> Iterator[Candidate]:
    """Yield the amounts above what is left to sand now, on a grid of whole steps."""
    now, (step, most) = workshop.disturbance(quantity).bias, AMOUNTS
    first = math.floor(now / step + 1e-9) + 1
    for amount in (round(step * number, 6) for number in range(first, first + most)):
        change = left_to_sand(workshop, quantity, amount)
        yield from _by_length(f"{quantity} left to sand", change, cost, amount - now)


def _of_section(design: Design, supplies: Supplies) -> Iterator[Candidate]:
    costs, stock = supplies.costs, supplies.stock
    try:
        walls_of(design.timber)
    except InputError:  # nothing can judge the section of a timber without figures
        return
    for share in LAP_SHARES:
        yield from _priced("lap share", section_change(design, lap_share=share), costs.lap_share)
    timber, now = design.timber, timber_volume(frame(design))
    for lapped in sorted({*stock, timber.lapped}):
        for plain in sorted({*stock, timber.plain}):
            change = section_change(
                design,
                lapped=None if lapped == timber.lapped else lapped,
                plain=None if plain == timber.plain else plain,
            )
            if change.settings:
                more = max(_volume(design, lapped, plain) - now, 0.0) / LITRE
                yield from _priced("section", change, costs.section, money=costs.section.money_per_litre * more)


def _volume(design: Design, lapped: float, plain: float) -> float:
    timber = design.timber.model_copy(update={"lapped": lapped, "plain": plain})
    return timber_volume(frame(design.model_copy(update={"timber": timber})))


def together(one: Candidate, other: Candidate) -> bool:
    """Tell whether two candidates can be taken in one set: of different groups, and no number decided by both."""
    if one.group == other.group:
        return False
    try:
        combined(one.change, other.change)
    except InputError:
        return False
    return True
