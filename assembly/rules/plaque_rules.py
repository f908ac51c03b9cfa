"""Rules of the plaque: its bend, its holes, and how it lies on the lid; see `assembly.rules.design_rules`.

The stem hole, if there is one, lies over the middle of the lid. u runs from there towards the bend line (to the lid's
edge that `plaque.side` names), v along the bend line. The outside of the standing leg is at u = `stem_to_bend`; the
flat leg runs from there back to u = `stem_to_bend` - `flat_leg`; screw holes are at u = `hole_offset`,
v = ± `hole_spacing`/2.
set-back : length of a leg that its bend takes, (inside radius + thickness) · tan(half the angle turned)
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from assembly.rules.lid_rules import passed, round_in_acrylic, screw_and_its_holes
from assembly.rules.shop import (
    MIN_BESIDE,
    MIN_BITE,
    MIN_RIM,
    MIN_STRAIGHT,
    fault,
    over,
    rule,
    screw_reach,
    thread_reach,
    under,
)
from assembly.text import decimal, mm

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.errors import Problem
    from assembly.model.design import Base, Box, Lid, Plaque, Stem, Timber


def set_back(plaque: Plaque) -> float:
    """Return the length of a leg, measured outside, that its bend takes."""
    return (plaque.inside_radius + plaque.thickness) * math.tan(math.radians(plaque.angle) / 2)


def lid_reach(box: Box, lid: Lid, plaque: Plaque) -> tuple[float, float]:
    """Return the lid's half sizes along u and v."""
    half_x, half_y = (size / 2 + lid.overhang for size in box.on_plan)
    return (half_x, half_y) if plaque.side in {"left", "right"} else (half_y, half_x)


def legs_hold_the_bend(plaque: Plaque) -> Iterator[Problem]:
    """Check that both legs are longer than the bend takes."""
    least = set_back(plaque) + MIN_STRAIGHT
    for leg in ("flat_leg", "upright_leg"):
        size = getattr(plaque, leg)
        if under(size, least):
            yield fault(
                f"plaque.{leg}",
                f"got {mm(size)}, must be at least {mm(least)}: a bend of {mm(plaque.inside_radius)} inside "
                f"radius in {mm(plaque.thickness)} sheet takes {mm(set_back(plaque))} of it and "
                f"{mm(MIN_STRAIGHT)} must stay straight {rule(6)}",
            )


def _place(key: str, got: float, what: str, left: float, cure: str) -> Iterator[Problem]:
    if under(left, MIN_BESIDE):
        yield fault(
            f"plaque.{key}",
            f"got {mm(got)}, which leaves {mm(left)} {what}; at least {mm(MIN_BESIDE)} is needed {rule(3)}; {cure}",
        )


def stem_hole_in_the_flat_leg(plaque: Plaque) -> Iterator[Problem]:
    """Check that the stem hole keeps clear of the bend and of the flat leg's edges."""
    if plaque.stem_hole is None:
        return
    hole, radius = plaque.stem_hole, plaque.stem_hole / 2
    to_bend, to_end = plaque.stem_to_bend - set_back(plaque), plaque.flat_leg - plaque.stem_to_bend
    yield from _place("stem_to_bend", plaque.stem_to_bend, "from stem hole to bend", to_bend - radius, "raise it")
    yield from _place("flat_leg", plaque.flat_leg, "beyond the stem hole", to_end - radius, "raise it")
    yield from _place("stem_hole", hole, "beside it", plaque.width / 2 - radius, "lower it or raise plaque.width")


def screw_holes_in_the_flat_leg(plaque: Plaque) -> Iterator[Problem]:
    """Check that the screw holes and heads keep clear of bend, edges, stem hole and one another."""
    u, v, extra = plaque.hole_offset, plaque.hole_spacing / 2, screw_reach(plaque.screw) - MIN_BESIDE
    to_bend, to_end = plaque.stem_to_bend - set_back(plaque) - u, u - (plaque.stem_to_bend - plaque.flat_leg)
    yield from _place("hole_offset", u, "from screw holes or washers to the bend", to_bend - extra, "lower it")
    yield from _place("hole_offset", u, "from screw holes or washers to the leg's end", to_end - extra, "raise it")
    spacing = plaque.hole_spacing
    beside = plaque.width / 2 - v - extra
    yield from _place("hole_spacing", spacing, "from screw holes or washers to the side edges", beside, "lower it")
    stem = plaque.stem_hole
    between = v if stem is None else min(math.hypot(u, v) - stem / 2, v)
    what = "between screw holes or washers" + ("" if stem is None else " and the stem hole")
    yield from _place("hole_spacing", spacing, what, between - extra, "raise it")


def plaque_screw(lid: Lid, plaque: Plaque) -> Iterator[Problem]:
    """Check that the plaque's screws go with their holes, bite the lid, and do not come out under it."""
    screw = plaque.screw
    yield from screw_and_its_holes("plaque.screw", screw)
    yield from round_in_acrylic("plaque.screw", screw)
    through = screw.raised + plaque.thickness
    least, most = through + MIN_BITE * screw.diameter, through + lid.thickness
    if over(least, most):
        yield fault(
            "plaque.screw.diameter",
            f"got {mm(screw.diameter)}, whose {decimal(MIN_BITE)} diameters of thread {rule(5)} do not go into a lid "
            f"of {mm(lid.thickness)}; at most {mm(lid.thickness / MIN_BITE)} does",
        )
    elif under(screw.length, least) or over(screw.length, most):
        yield fault(
            "plaque.screw.length",
            f"got {mm(screw.length)}, must be {decimal(least)} to {mm(most)}: through {passed(screw)}plaque, then at "
            f"least {decimal(MIN_BITE)} diameters {rule(5)} into the lid, and no point out of its underside",
        )


def plaque_pilots_in_the_lid(box: Box, lid: Lid, plaque: Plaque) -> Iterator[Problem]:
    """Check that the plaque's screws bite the lid clear of its centre hole and of its edges."""
    u, v, extra = plaque.hole_offset, plaque.hole_spacing / 2, thread_reach(plaque.screw) - MIN_BESIDE
    if lid.centre_hole is not None:
        apart = math.hypot(u, v) - lid.centre_hole / 2 - extra
        what = "between its pilot holes and the lid's centre hole"
        yield from _place("hole_spacing", plaque.hole_spacing, what, apart, "raise it or lower lid.centre_hole")
    half_u, half_v = lid_reach(box, lid, plaque)
    inside, cure = half_u - abs(u) - extra, "lower it" if u > 0 else "raise it"
    yield from _place("hole_offset", u, "from the screws' pilot holes to the lid's edge", inside, cure)
    what = "from the screws' pilot holes to the lid's side edges"
    yield from _place("hole_spacing", plaque.hole_spacing, what, half_v - v - extra, "lower it")


def plaque_lies_on_the_lid(box: Box, lid: Lid, plaque: Plaque) -> Iterator[Problem]:
    """Check that the flat leg lies on the lid; the standing leg is over the lid or, turned down, outside its edge."""
    half_u, half_v = lid_reach(box, lid, plaque)
    if over(plaque.width, 2 * half_v):
        yield fault("plaque.width", f"got {mm(plaque.width)}, wider than the lid; at most {mm(2 * half_v)} fits")
    behind = plaque.flat_leg - plaque.stem_to_bend
    if over(behind, half_u):
        yield fault(
            "plaque.flat_leg",
            f"got {mm(plaque.flat_leg)}, which reaches {mm(behind - half_u)} over the lid's far edge; at most "
            f"{mm(half_u + plaque.stem_to_bend)} fits",
        )
    if plaque.turned == "up" and over(plaque.stem_to_bend, half_u):
        yield fault(
            "plaque.stem_to_bend",
            f"got {mm(plaque.stem_to_bend)}, which puts the standing leg beyond the lid's {plaque.side} edge; at most "
            f"{mm(half_u)} stands on the lid",
        )
    if plaque.turned == "down" and under(plaque.stem_to_bend, half_u + set_back(plaque)):
        yield fault(
            "plaque.stem_to_bend",
            f"got {mm(plaque.stem_to_bend)}, but a leg turned down passes the lid's {plaque.side} edge, "
            f"{mm(half_u)} from its middle, only when the bend's {mm(set_back(plaque))} lie beyond it; must be at "
            f'least {mm(half_u + set_back(plaque))}, or plaque.turned = "up"',
        )


def leg_turned_down(box: Box, base: Base, lid: Lid, plaque: Plaque) -> Iterator[Problem]:
    """Check that a leg turned down does not swing into the walls nor reach below the base."""
    if plaque.turned == "up":
        return
    if plaque.angle > 90:
        yield fault(
            "plaque.angle",
            f"got {decimal(plaque.angle)} degrees, which swings a leg turned down into the walls; must be at most 90",
        )
    most = plaque.thickness + lid.thickness + box.height + base.thickness
    if over(plaque.upright_leg, most):
        yield fault(
            "plaque.upright_leg",
            f"got {mm(plaque.upright_leg)}, which reaches below the base; turned down, at most {mm(most)} leaves "
            "the box standing on its base",
        )


def leg_clear_of_the_stem(lid: Lid, stem: Stem, plaque: Plaque) -> Iterator[Problem]:
    """Check that a leg bent back over the stem (by more than 90 degrees) does not touch it."""
    turn = math.radians(plaque.angle)
    if plaque.turned == "down" or turn <= math.pi / 2:
        return
    height = min(stem.length - lid.thickness, plaque.upright_leg * math.sin(turn))
    # The leg's inner face starts a thickness inside the outer apex and runs along (cos, sin) of the angle turned.
    along = (height - plaque.thickness * math.cos(turn)) / math.sin(turn)
    inner = plaque.stem_to_bend - plaque.thickness * math.sin(turn) + along * math.cos(turn)
    if under(inner - stem.diameter / 2, MIN_BESIDE):
        yield fault(
            "plaque.angle",
            f"got {decimal(plaque.angle)} degrees, which leans the standing leg to {mm(inner - stem.diameter / 2)} "
            f"from the stem; at least {mm(MIN_BESIDE)} is needed; lower it or raise plaque.stem_to_bend",
        )


def _free_of_lid_screws(box: Box, timber: Timber, lid: Lid) -> float:
    """Return how far from the lid's middle, towards a lid screw, the lid is free for the plaque."""
    return (box.along_x - timber.lapped - lid.screw.across) / 2 - MIN_RIM


def plaque_clear_of_the_lid_screws(box: Box, timber: Timber, lid: Lid, plaque: Plaque) -> Iterator[Problem]:
    """Check that the flat leg leaves the heads of the lid's screws free, so that the box can be opened."""
    free = _free_of_lid_screws(box, timber, lid)
    behind = plaque.flat_leg - plaque.stem_to_bend
    over_a_lapped_wall = plaque.side in box.lapped_walls
    reach, key = (max(plaque.stem_to_bend, behind), "flat_leg") if over_a_lapped_wall else (plaque.width / 2, "width")
    if over(reach, free):
        yield fault(
            f"plaque.{key}",
            f"got {mm(getattr(plaque, key))}, which reaches {mm(reach)} from the lid's middle and covers a lid "
            f"screw's head; at most {mm(free)} from there leaves it free by {mm(MIN_RIM)} {rule(4)}",
        )


def standing_leg_clear_of_the_screws(box: Box, timber: Timber, lid: Lid, plaque: Plaque) -> Iterator[Problem]:
    """Check that a sloping leg is over no screw's head: a screwdriver comes from straight above."""
    turn = math.radians(plaque.angle)
    sine, cosine = math.sin(turn), math.cos(turn)
    if plaque.turned == "down":
        return
    free = _free_of_lid_screws(box, timber, lid)
    if plaque.angle < 90 and plaque.side in box.lapped_walls and plaque.stem_to_bend <= free:
        room, whose = free - plaque.stem_to_bend, "a lid screw"
    elif plaque.angle > 90:
        inside = plaque.stem_to_bend - plaque.thickness * sine
        room, whose = inside - plaque.hole_offset - plaque.screw.across / 2 - MIN_RIM, "the plaque's screws"
    else:
        return
    if over(plaque.upright_leg * abs(cosine), room):
        yield fault(
            "plaque.upright_leg",
            f"got {mm(plaque.upright_leg)}, which at {decimal(plaque.angle)} degrees slopes over the head of {whose}, "
            f"where no screwdriver gets to it; at most {mm(room / abs(cosine))} leaves it free by {mm(MIN_RIM)} "
            f"{rule(4)}, or bring plaque.angle nearer to 90",
        )


PLAQUE_RULES = (
    legs_hold_the_bend,
    stem_hole_in_the_flat_leg,
    screw_holes_in_the_flat_leg,
    plaque_screw,
    plaque_pilots_in_the_lid,
    plaque_lies_on_the_lid,
    leg_turned_down,
    leg_clear_of_the_stem,
    plaque_clear_of_the_lid_screws,
    standing_leg_clear_of_the_screws,
)
