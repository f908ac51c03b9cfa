"""What does not go together: rules over the sections of a design or a workshop that are each valid on their own.

A rule is a function whose parameters are named as the sections it needs; one that defaults to None may be left out of
the design. It yields a fault for each thing that does not fit: the key to change first, what was found, what is allowed
and the cure. A rule runs whenever its sections can be read, so the faults of all sections come at once. Axes are those
of `assembly.nominal.frame`; millimetres and degrees.
"""

from __future__ import annotations

import functools
import inspect
import math
from typing import TYPE_CHECKING

from assembly.data.tables import meant_by
from assembly.model.outcomes import OUTCOMES
from assembly.model.workshop import Disturbance, quantities
from assembly.rules.lid_rules import SHEET_RULES
from assembly.rules.plaque_rules import PLAQUE_RULES
from assembly.rules.shop import MIN_INSIDE, MIN_TONGUE, fault, over, rule, under
from assembly.text import decimal, did_you_mean, mm

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from assembly.errors import Problem
    from assembly.model.design import Box, CableHole, Design, Lid, Limits, Plaque, Stem, Timber
    from assembly.model.workshop import Aid

    Rule = Callable[..., Iterator[Problem]]


def lap_leaves_material(timber: Timber) -> Iterator[Problem]:
    """Check that the lap and the tongue beside it are thick enough to be worked."""
    depth = timber.lap_share * timber.lapped
    tongue = timber.lapped - depth
    start = f"got {decimal(timber.lap_share)} of {mm(timber.lapped)}, which"
    least = f"at least {mm(MIN_TONGUE)} is needed {rule(1)}"
    if under(tongue, MIN_TONGUE):
        yield fault(
            "timber.lap_share",
            f"{start} leaves a tongue of {mm(tongue)}, {least}; lower lap_share or make timber.lapped thicker",
        )
    if under(depth, MIN_TONGUE):
        yield fault(
            "timber.lap_share",
            f"{start} cuts a lap {mm(depth)} deep, {least}; raise lap_share or make timber.lapped thicker",
        )


def timber_is_one(timber: Timber) -> Iterator[Problem]:
    """Check that the timber is not a name that several go by, as their figures differ."""
    several = meant_by(timber.name) if timber.kind is None else ()
    if several:
        yield fault(
            "timber.name",
            f"got {timber.name!r}, several go by that name and differ; name one of: {'; '.join(several)}; or give "
            "timber.kind and its properties",
        )


def laps_do_not_meet(box: Box, timber: Timber) -> Iterator[Problem]:
    """Check that something is left of a lapped wall between its two laps."""
    needed = 2 * timber.plain + MIN_INSIDE
    if under(box.along_y, needed):
        name = "width" if box.lapped == "ends" else "length"
        yield fault(
            f"box.{name}",
            f"got {mm(box.along_y)}, but two laps of {mm(timber.plain)} with {mm(MIN_INSIDE)} between "
            f"them {rule(2)} need {mm(needed)}; raise {name} or make timber.plain thinner",
        )


def walls_leave_an_inside(box: Box, timber: Timber) -> Iterator[Problem]:
    """Check that there is room between the lapped walls."""
    needed = 2 * timber.lapped + MIN_INSIDE
    if under(box.along_x, needed):
        name = "length" if box.lapped == "ends" else "width"
        yield fault(
            f"box.{name}",
            f"got {mm(box.along_x)}, but two walls of {mm(timber.lapped)} with {mm(MIN_INSIDE)} between "
            f"them {rule(2)} need {mm(needed)}; raise {name} or make timber.lapped thinner",
        )


def limits_can_be_met(limits: Limits) -> Iterator[Problem]:
    """Check that every limit says something, does not contradict itself, and can be met by some box."""
    for name in type(limits).model_fields:
        limit = getattr(limits, name)
        if limit is None:
            continue
        where = f"limits.{name}"
        if limit.max is limit.min is limit.within is None:
            yield fault(where, "says nothing; give max, min or within, or leave the line out")
            continue
        within = math.inf if limit.within is None else limit.within
        low = max(-within, -math.inf if limit.min is None else limit.min)
        high = min(within, math.inf if limit.max is None else limit.max)
        least, most = OUTCOMES[name].least, OUTCOMES[name].most
        if low > high:
            yield fault(where, f"asks for at least {decimal(low)} and at most {decimal(high)}; no box can keep both")
        elif high < least:
            yield fault(
                where, f"asks for at most {decimal(high)}, but it is never under {decimal(least)}; raise the limit"
            )
        elif low > most:
            meant = f", {decimal(low)} % is {decimal(low / 100)}" if most == 1 and 2 <= low <= 100 else ""
            yield fault(
                where, f"asks for at least {decimal(low)}, but it is never over {decimal(most)}; lower the limit{meant}"
            )


def limits_are_of_what_is_there(
    limits: Limits, plaque: Plaque | None = None, cable_hole: CableHole | None = None
) -> Iterator[Problem]:
    """Check that no limit is set on what the design leaves out."""
    there = {"plaque": plaque, "cable_hole": cable_hole}
    for name, outcome in OUTCOMES.items():
        if outcome.section and there[outcome.section] is None and getattr(limits, name) is not None:
            yield fault(
                f"limits.{name}",
                f"limits the {outcome.label}, but the design has no [{outcome.section}]; leave the line out, or add "
                f"[{outcome.section}]",
            )


def screw_wood_can_be_met(limits: Limits, timber: Timber, lid: Lid) -> Iterator[Problem]:
    """Check that a perfectly placed lid screw has the wood beside it that its limit asks for."""
    most = (timber.lapped - lid.screw.pilot) / 2
    limit = limits.screw_wood
    if limit and limit.min is not None and over(limit.min, most):
        yield fault(
            "limits.screw_wood",
            f"asks for at least {mm(limit.min)}, but a hole of {mm(lid.screw.pilot)} in the very middle of "
            f"{mm(timber.lapped)} leaves {mm(most)}; lower the limit or make timber.lapped thicker",
        )


def plaque_spare_can_be_met(limits: Limits, plaque: Plaque, stem: Stem | None = None) -> Iterator[Problem]:
    """Check that perfectly placed plaque holes have the play that their limit asks for."""
    play = {"plaque.screw.hole": plaque.screw.hole - plaque.screw.diameter}
    if stem and plaque.stem_hole is not None:
        play = {"plaque.stem_hole": plaque.stem_hole - stem.diameter, **play}
    most = min(play.values()) / 2
    limit = limits.plaque_spare
    if limit and limit.min is not None and over(limit.min, most):
        yield fault(
            "limits.plaque_spare",
            f"asks for at least {mm(limit.min)}, but perfectly placed holes leave {mm(most)}; lower the limit "
            f"or make {' or '.join(play)} larger",
        )


def aids_replace_rows(aids: Mapping[str, Aid]) -> Iterator[Problem]:
    """Check that every row that an aid replaces is a row of a workshop."""
    for name, aid in aids.items():
        for row in aid.replaces:
            if row not in quantities():
                cure = did_you_mean(row, quantities(), f"rows are {', '.join(quantities())}")
                yield fault(f"aids.{name}.replaces.{row}", f"no such row; {cure}")


def aids_give_something(aids: Mapping[str, Aid]) -> Iterator[Problem]:
    """Check that every row of an aid gives a number, as the others stay as the workshop has them."""
    for name, aid in aids.items():
        for row in aid.replaces:
            if not aid.given(row):
                numbers = ", ".join(Disturbance.model_fields)
                yield fault(f"aids.{name}.replaces.{row}", f"gives nothing; give at least one of {numbers}")


def aids_do_not_clash(aids: Mapping[str, Aid]) -> Iterator[Problem]:
    """Check that no two aids in use give the same number, as only one of them could count."""
    first: dict[tuple[str, str], str] = {}
    for name, aid in aids.items():
        for row in aid.replaces if aid.used else ():
            for number in aid.given(row):
                other = first.setdefault((row, number), name)
                if other != name:
                    what = f"gives {number}, and so does aid {other!r}, which is used as well; use one of the two"
                    yield fault(f"aids.{name}.replaces.{row}", f"{what}, or give the number in one of them only")


DESIGN_RULES: tuple[Rule, ...] = (
    timber_is_one,
    lap_leaves_material,
    laps_do_not_meet,
    walls_leave_an_inside,
    *SHEET_RULES,
    *PLAQUE_RULES,
    limits_are_of_what_is_there,
    limits_can_be_met,
    screw_wood_can_be_met,
    plaque_spare_can_be_met,
)
WORKSHOP_RULES: tuple[Rule, ...] = (aids_replace_rows, aids_give_something, aids_do_not_clash)


def run(rules: tuple[Rule, ...], sections: Mapping[str, object]) -> list[Problem]:
    """Return the faults of every rule whose sections are all there, in the order of the rules.

    A section that the design leaves out is there as None; one that can't be read is not there.
    """
    found: list[Problem] = []
    for check in rules:
        read = _read(check)
        if all(name in sections and (optional or sections[name] is not None) for name, optional in read):
            found.extend(check(*(sections[name] for name, _ in read)))
    return found


@functools.cache
def _read(check: Rule) -> tuple[tuple[str, bool], ...]:
    """Return the sections that a rule reads, and whether it does without; a search for a cure runs the rules often."""
    return tuple((name, each.default is None) for name, each in inspect.signature(check).parameters.items())


def design_faults(design: Design) -> list[Problem]:
    """Return what does not go together in a design whose sections are valid."""
    return run(DESIGN_RULES, dict(design))
