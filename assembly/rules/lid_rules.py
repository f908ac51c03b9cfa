"""Rules of the lid, its screws, the stem and the cable hole; see `assembly.rules.design_rules`.

A lid screw stands in the middle of each lapped wall: in the middle of its thickness and of its length. The centre
hole lies over the middle of the box, the cable hole in the middle of the back wall. A box may do without
stem, plaque and cable hole; without a stem the lid has a centre hole only where the design gives one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.data.tables import given, is_acrylic, round_head
from assembly.rules.shop import (
    MIN_BEARING,
    MIN_BESIDE,
    MIN_BITE,
    MIN_COVER,
    MIN_RIM,
    MIN_UNDER,
    fault,
    over,
    rule,
    screw_reach,
    under,
)
from assembly.text import decimal, mm

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.errors import Problem
    from assembly.model.design import Box, CableHole, Lid, Plaque, Screw, Stem, Timber


def cable_hole_in_the_wall(box: Box, timber: Timber, cable_hole: CableHole) -> Iterator[Problem]:
    """Check that the cable hole keeps clear of the back wall's edges and of the walls beside it."""
    kind, beside = (
        ("plain", box.along_y - 2 * timber.plain) if box.turned else ("lapped", box.along_x - 2 * timber.lapped)
    )
    sizes = {"above and below it": box.height, f"beside it, between the {kind} walls": beside}
    for place, size in sizes.items():
        left = (size - cable_hole.diameter) / 2
        if under(left, MIN_BESIDE):
            yield fault(
                "cable_hole.diameter",
                f"got {mm(cable_hole.diameter)}, which leaves {mm(left)} of the back wall {place}; at least "
                f"{mm(MIN_BESIDE)} is needed {rule(3)}; at most {mm(size - 2 * MIN_BESIDE)} fits",
            )


def centre_hole_over_the_inside(box: Box, timber: Timber, lid: Lid) -> Iterator[Problem]:
    """Check that the lid's centre hole opens into the box and not over its walls."""
    room = min(box.along_x - 2 * timber.lapped, box.along_y - 2 * timber.plain)
    if lid.centre_hole is not None and room > 0 and over(lid.centre_hole, room):
        yield fault(
            "lid.centre_hole",
            f"got {mm(lid.centre_hole)}, but the walls leave {mm(room)} between them; at most {mm(room)} fits",
        )


def centre_hole_clear_of_the_lid_screws(box: Box, timber: Timber, lid: Lid) -> Iterator[Problem]:
    """Check that lid is left between its centre hole and the holes and heads of its screws."""
    if lid.centre_hole is None:
        return
    left = (box.along_x - timber.lapped - lid.centre_hole) / 2 - screw_reach(lid.screw) + MIN_BESIDE
    if under(left, MIN_BESIDE):
        yield fault(
            "lid.centre_hole",
            f"got {mm(lid.centre_hole)}, which leaves {mm(left)} to the holes or heads of the lid's screws; at least "
            f"{mm(MIN_BESIDE)} is needed {rule(3)}; lower it or take a smaller screw",
        )


def screw_and_its_holes(where: str, screw: Screw) -> Iterator[Problem]:
    """Yield what does not go together in one screw: thread in clearance hole and pilot hole, head on its hole."""
    if under(screw.hole, screw.diameter):
        yield fault(
            f"{where}.hole",
            f"got {mm(screw.hole)}, too small for the screw; must be at least its diameter, {mm(screw.diameter)}",
        )
    if screw.pilot >= screw.diameter:
        yield fault(
            f"{where}.pilot",
            f"got {mm(screw.pilot)}, in which the thread bites nothing; must be under the screw's diameter, "
            f"{mm(screw.diameter)}",
        )
    yield from _bearing(where, screw)
    if screw.round_head and under(screw.round_head.washer_hole, screw.diameter):
        yield fault(
            f"{where}.round_head.washer_hole",
            f"got {mm(screw.round_head.washer_hole)}, too small for the screw; must be at least its diameter, "
            f"{mm(screw.diameter)}",
        )


def _bearing(where: str, screw: Screw) -> Iterator[Problem]:
    """Yield a head, or the washer under it, that pulls through its hole; or a washer smaller than the head."""
    washer = screw.round_head
    bears = [("head", "head", screw.head, "hole", screw.hole)]
    if washer:
        bears = [
            ("head", "head", screw.head, "washer's hole", washer.washer_hole),
            ("round_head.washer", "washer", washer.washer, "hole", screw.hole),
        ]
    for key, name, size, through, hole in bears:
        least = hole + 2 * MIN_BEARING
        if under(size, least):
            yield fault(
                f"{where}.{key}",
                f"got {mm(size)}, which pulls through its {through} of {mm(hole)}; must be at least {mm(least)}, "
                f"{mm(MIN_BEARING)} more on every side {rule(7)}; take a larger {name} or a smaller hole",
            )
    if washer and under(washer.washer, screw.head):
        yield fault(
            f"{where}.round_head.washer",
            f"got {mm(washer.washer)}, smaller than the head on it; must be at least {mm(screw.head)}",
        )


def round_in_acrylic(where: str, screw: Screw) -> Iterator[Problem]:
    """Yield a countersunk head in acrylic, which its cone would crack: common practice, no source."""
    if screw.round_head:
        return
    row = round_head(screw.diameter)
    washer = max(given(row, "washer"), screw.head, screw.hole + 2 * MIN_BEARING)
    yield fault(
        f"{where}.round_head",
        f"missing, so that the head is countersunk, and its cone cracks acrylic; add round_head = "
        f"{{ height = {row['height']}, washer = {decimal(washer)}, washer_hole = {row['washer_hole']}, "
        f"washer_thickness = {row['washer_thickness']} }} under [{where}], or the sizes of your own",
    )


def passed(screw: Screw) -> str:
    """Return what a screw passes before its part, in words."""
    return "washer and " if screw.round_head else "the "


def countersink(where: str, screw: Screw, part: str, thickness: float) -> Iterator[Problem]:
    """Yield a countersunk head, a cone of 90 degrees, that goes deeper than its sheet lets it."""
    if screw.round_head:
        return
    deep, most = (screw.head - screw.diameter) / 2, thickness - MIN_UNDER
    if over(deep, most):
        yield fault(
            f"{where}.head",
            f"got {mm(screw.head)}, whose cone is {mm(deep)} deep; at most {mm(most)} goes into the {part} of "
            f"{mm(thickness)}, as {mm(MIN_UNDER)} is left under it {rule(9)}; take a smaller head or a thicker sheet",
        )


def lid_screw(lid: Lid) -> Iterator[Problem]:
    """Check that the lid's screws go with their own holes and with the lid's thickness."""
    yield from screw_and_its_holes("lid.screw", lid.screw)
    yield from countersink("lid.screw", lid.screw, "lid", lid.thickness)
    if is_acrylic(lid.material):
        yield from round_in_acrylic("lid.screw", lid.screw)


def lid_screw_in_the_wall(box: Box, timber: Timber, lid: Lid) -> Iterator[Problem]:
    """Check that the lid's screws bite the lapped walls between their laps, without leaving them."""
    screw, through = lid.screw, lid.screw.raised + lid.thickness
    least, most = through + MIN_BITE * screw.diameter, through + box.height - MIN_BESIDE
    if under(screw.length, least) or over(screw.length, most):
        yield fault(
            "lid.screw.length",
            f"got {mm(screw.length)}, must be {decimal(least)} to {mm(most)}: through {passed(screw)}lid, then at "
            f"least {decimal(MIN_BITE)} diameters {rule(5)} into a wall {mm(box.height)} high and not out of its "
            "bottom",
        )
    for key, size, least, number in (
        ("pilot", screw.pilot, MIN_BESIDE, 3),
        ("diameter", screw.diameter, MIN_COVER, 8),
    ):
        beside, before_lap = (timber.lapped - size) / 2, box.along_y / 2 - timber.plain - size / 2
        needed = f"at least {mm(least)} is needed {rule(number)}; take a thinner screw"
        if under(beside, least):
            yield fault(
                f"lid.screw.{key}",
                f"got {mm(size)}, which leaves {mm(beside)} of the lapped wall on either side; {needed} or make "
                "timber.lapped thicker",
            )
        if under(before_lap, least):
            yield fault(
                f"lid.screw.{key}",
                f"got {mm(size)} in the middle of a wall {mm(box.along_y)} long, which leaves {mm(before_lap)} "
                f"before the laps; {needed}, longer lapped walls or thinner plain walls",
            )


def lid_screw_clear_of_the_cable_hole(box: Box, lid: Lid, cable_hole: CableHole) -> Iterator[Problem]:
    """Check that a lid screw in the middle of the back wall ends above the cable hole there."""
    most = lid.screw.raised + lid.thickness + (box.height - cable_hole.diameter) / 2 - MIN_BESIDE
    if "back" in box.lapped_walls and over(lid.screw.length, most):
        yield fault(
            "lid.screw.length",
            f"got {mm(lid.screw.length)}, but in the middle of the back wall the cable hole is under it; at most "
            f"{mm(most)} leaves {mm(MIN_BESIDE)} between them {rule(3)}; take a shorter screw or a smaller hole, or "
            "have the plain walls at front and back with box.front",
        )


def lid_screw_in_the_lid(timber: Timber, lid: Lid) -> Iterator[Problem]:
    """Check that the lid's screws keep clear of the lid's edge."""
    screw, from_edge = lid.screw, timber.lapped / 2 + lid.overhang
    widest = "round_head.washer" if screw.round_head else "head"
    for key, size, least, number in (("hole", screw.hole, MIN_BESIDE, 3), (widest, screw.across, MIN_RIM, 4)):
        left = from_edge - size / 2
        if under(left, least):
            yield fault(
                f"lid.screw.{key}",
                f"got {mm(size)}, which leaves {mm(left)} to the lid's edge; at least {mm(least)} is "
                f"needed {rule(number)}; take a smaller screw, more lid.overhang or a thicker timber.lapped",
            )


def stem_has_its_holes(lid: Lid, stem: Stem | None = None, plaque: Plaque | None = None) -> Iterator[Problem]:
    """Check that lid and plaque have a hole for the stem, and that the plaque has none without one."""
    if stem is None:
        if plaque and plaque.stem_hole is not None:
            yield fault(
                "plaque.stem_hole",
                f"got {mm(plaque.stem_hole)}, but there is no [stem] to pass it; leave the line out, or add [stem]",
            )
        return
    holes = [("lid", "centre_hole", lid.centre_hole), *([("plaque", "stem_hole", plaque.stem_hole)] if plaque else [])]
    for part, name, size in holes:
        if size is None:
            cure = f"add {name} = ..., at least {mm(stem.diameter)}, or leave [stem] out"
            yield fault(f"{part}.{name}", f"missing, but the stem passes there; {cure}")


def stem_through_the_lid(lid: Lid, stem: Stem) -> Iterator[Problem]:
    """Check that the stem goes through the lid's centre hole."""
    if lid.centre_hole is not None and over(stem.diameter, lid.centre_hole):
        yield fault(
            "stem.diameter",
            f"got {mm(stem.diameter)}, thicker than its hole in the lid; at most lid.centre_hole, "
            f"{mm(lid.centre_hole)}, passes",
        )


def stem_through_the_plaque(stem: Stem, plaque: Plaque) -> Iterator[Problem]:
    """Check that the stem goes through the plaque's hole."""
    if plaque.stem_hole is not None and over(stem.diameter, plaque.stem_hole):
        yield fault(
            "stem.diameter",
            f"got {mm(stem.diameter)}, thicker than its hole in the plaque; at most plaque.stem_hole, "
            f"{mm(plaque.stem_hole)}, passes",
        )


def stem_comes_out(lid: Lid, stem: Stem, plaque: Plaque | None = None) -> Iterator[Problem]:
    """Check that the stem comes out above the lid, and above the plaque on it."""
    passed = {"lid": lid.thickness} | ({"plaque": plaque.thickness} if plaque else {})
    least = sum(passed.values())
    if under(stem.length, least):
        yield fault(
            "stem.length",
            f"got {mm(stem.length)}, which ends inside {' and '.join(passed)}; must be at least {mm(least)} from the "
            "lid's underside",
        )


SHEET_RULES = (
    cable_hole_in_the_wall,
    centre_hole_over_the_inside,
    centre_hole_clear_of_the_lid_screws,
    lid_screw,
    lid_screw_in_the_wall,
    lid_screw_clear_of_the_cable_hole,
    lid_screw_in_the_lid,
    stem_has_its_holes,
    stem_through_the_lid,
    stem_through_the_plaque,
    stem_comes_out,
)
