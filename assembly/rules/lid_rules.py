"""Rules of the lid, its screws, the stem and the cable hole; see `assembly.rules.design_rules`.

A lid screw stands in the middle of each lapped wall: in the middle of its thickness and of its length. The centre
hole lies over the middle of the box, the cable hole in the middle of the back wall, a plain one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.rules.shop import MIN_BESIDE, MIN_BITE, MIN_RIM, fault, mm, over, rule, told, under

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.errors import Problem
    from assembly.model.design import Box, CableHole, Lid, Plaque, Screw, Stem, Timber


def cable_hole_in_the_wall(box: Box, timber: Timber, cable_hole: CableHole) -> Iterator[Problem]:
    """Check that the cable hole keeps clear of the back wall's edges and of the lapped walls beside it."""
    sizes = {"above and below it": box.height, "beside it, between the lapped walls": box.along_x - 2 * timber.lapped}
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
    if room > 0 and over(lid.centre_hole, room):
        yield fault(
            "lid.centre_hole",
            f"got {mm(lid.centre_hole)}, but the walls leave {mm(room)} between them; at most {mm(room)} fits",
        )


def screw_and_its_holes(where: str, screw: Screw) -> Iterator[Problem]:
    """Yield what does not go together in one screw: thread through the clearance hole, bite in the pilot, head."""
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
    if screw.head <= screw.hole:
        yield fault(
            f"{where}.head",
            f"got {mm(screw.head)}, which slips through its hole; must be over {mm(screw.hole)}",
        )
    cone = (screw.head - screw.diameter) / 2
    if screw.length <= cone:
        yield fault(
            f"{where}.length",
            f"got {mm(screw.length)}, which is all head; must be over {mm(cone)}, half of what head and "
            "diameter differ by",
        )


def countersink(where: str, screw: Screw, part: str, thickness: float) -> Iterator[Problem]:
    """Yield a countersink of 90 degrees that is as deep as its sheet is thick."""
    deep = (screw.head - screw.hole) / 2
    if deep >= thickness:
        yield fault(
            f"{where}.head",
            f"got {mm(screw.head)}, whose countersink is {mm(deep)} deep; must be less than the {part}'s "
            f"thickness, {mm(thickness)}; take a smaller head or a thicker sheet",
        )


def lid_screw(lid: Lid) -> Iterator[Problem]:
    """Check that the lid's screws go with their own holes and with the lid's thickness."""
    yield from screw_and_its_holes("lid.screw", lid.screw)
    yield from countersink("lid.screw", lid.screw, "lid", lid.thickness)


def lid_screw_in_the_wall(box: Box, timber: Timber, lid: Lid) -> Iterator[Problem]:
    """Check that the lid's screws bite the lapped walls between their laps, without leaving them."""
    screw = lid.screw
    least, most = lid.thickness + MIN_BITE * screw.diameter, lid.thickness + box.height - MIN_BESIDE
    if under(screw.length, least) or over(screw.length, most):
        yield fault(
            "lid.screw.length",
            f"got {mm(screw.length)}, must be {told(least)} to {mm(most)}: through the lid, then at least "
            f"{told(MIN_BITE)} diameters {rule(5)} into a wall {mm(box.height)} high and not out of its bottom",
        )
    beside = (timber.lapped - screw.pilot) / 2
    if under(beside, MIN_BESIDE):
        yield fault(
            "lid.screw.pilot",
            f"got {mm(screw.pilot)}, which leaves {mm(beside)} of the lapped wall on either side; at least "
            f"{mm(MIN_BESIDE)} is needed {rule(3)}; take a thinner screw or make timber.lapped thicker",
        )
    before_lap = box.along_y / 2 - timber.plain - screw.pilot / 2
    if under(before_lap, MIN_BESIDE):
        yield fault(
            "lid.screw.pilot",
            f"got {mm(screw.pilot)} in the middle of a wall {mm(box.along_y)} long, which leaves "
            f"{mm(before_lap)} before the laps; at least {mm(MIN_BESIDE)} is needed {rule(3)}; "
            "take a thinner screw, longer lapped walls or thinner plain walls",
        )


def lid_screw_in_the_lid(timber: Timber, lid: Lid) -> Iterator[Problem]:
    """Check that the lid's screws keep clear of the lid's edge."""
    screw, from_edge = lid.screw, timber.lapped / 2 + lid.overhang
    for key, size, least, number in (("hole", screw.hole, MIN_BESIDE, 3), ("head", screw.head, MIN_RIM, 4)):
        left = from_edge - size / 2
        if under(left, least):
            yield fault(
                f"lid.screw.{key}",
                f"got {mm(size)}, which leaves {mm(left)} to the lid's edge; at least {mm(least)} is "
                f"needed {rule(number)}; take a smaller screw, more lid.overhang or a thicker timber.lapped",
            )


def stem_through_the_lid(lid: Lid, stem: Stem) -> Iterator[Problem]:
    """Check that the stem goes through the lid's centre hole."""
    if over(stem.diameter, lid.centre_hole):
        yield fault(
            "stem.diameter",
            f"got {mm(stem.diameter)}, thicker than its hole in the lid; at most lid.centre_hole, "
            f"{mm(lid.centre_hole)}, passes",
        )


def stem_through_the_plaque(lid: Lid, stem: Stem, plaque: Plaque) -> Iterator[Problem]:
    """Check that the stem goes through the plaque's hole and comes out above it."""
    if over(stem.diameter, plaque.stem_hole):
        yield fault(
            "stem.diameter",
            f"got {mm(stem.diameter)}, thicker than its hole in the plaque; at most plaque.stem_hole, "
            f"{mm(plaque.stem_hole)}, passes",
        )
    least = lid.thickness + plaque.thickness
    if under(stem.length, least):
        yield fault(
            "stem.length",
            f"got {mm(stem.length)}, which ends inside lid and plaque; must be at least {mm(least)} from the "
            "lid's underside",
        )


SHEET_RULES = (
    cable_hole_in_the_wall,
    centre_hole_over_the_inside,
    lid_screw,
    lid_screw_in_the_wall,
    lid_screw_in_the_lid,
    stem_through_the_lid,
    stem_through_the_plaque,
)
