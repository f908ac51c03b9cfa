"""Rules of the lid, its screws, the stem and the cable hole; see `assembly.fitness`.

A lid screw stands in the middle of each lapped wall: in the middle of its thickness and of its length. The centre
hole lies over the middle of the box, the cable hole in the middle of the back wall, a plain one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.shop_rules import MIN_BESIDE, MIN_BITE, MIN_RIM, fault, rule, told

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.design import Box, CableHole, Lid, Plaque, Screw, Stem, Timber
    from assembly.errors import Problem


def cable_hole_in_the_wall(box: Box, timber: Timber, cable_hole: CableHole) -> Iterator[Problem]:
    """The cable hole keeps clear of the back wall's edges and of the lapped walls beside it."""
    sizes = {"above and below it": box.height, "beside it, between the lapped walls": box.along_x - 2 * timber.lapped}
    for place, size in sizes.items():
        left = (size - cable_hole.diameter) / 2
        if left < MIN_BESIDE:
            yield fault(
                "cable_hole.diameter",
                f"got {told(cable_hole.diameter)} mm, which leaves {told(left)} mm of the back wall {place}; at least "
                f"{told(MIN_BESIDE)} mm is needed {rule(3)}; at most {told(size - 2 * MIN_BESIDE)} mm fits",
            )


def centre_hole_over_the_inside(box: Box, timber: Timber, lid: Lid) -> Iterator[Problem]:
    """The lid's centre hole opens into the box and not over its walls."""
    room = min(box.along_x - 2 * timber.lapped, box.along_y - 2 * timber.plain)
    if lid.centre_hole > room > 0:
        yield fault(
            "lid.centre_hole",
            f"got {told(lid.centre_hole)} mm, but the walls leave {told(room)} mm between them; "
            f"at most {told(room)} mm fits",
        )


def screw_and_its_holes(where: str, screw: Screw) -> Iterator[Problem]:
    """Yield what does not go together in one screw: thread through the clearance hole, bite in the pilot, head."""
    if screw.hole < screw.diameter:
        yield fault(
            f"{where}.hole",
            f"got {told(screw.hole)} mm, too small for the screw; must be at least its diameter, "
            f"{told(screw.diameter)} mm",
        )
    if screw.pilot >= screw.diameter:
        yield fault(
            f"{where}.pilot",
            f"got {told(screw.pilot)} mm, in which the thread bites nothing; must be under the screw's diameter, "
            f"{told(screw.diameter)} mm",
        )
    if screw.head <= screw.hole:
        yield fault(
            f"{where}.head",
            f"got {told(screw.head)} mm, which slips through its hole; must be over {told(screw.hole)} mm",
        )


def countersink(where: str, screw: Screw, part: str, thickness: float) -> Iterator[Problem]:
    """Yield a countersink of 90 degrees that is as deep as its sheet is thick."""
    deep = (screw.head - screw.hole) / 2
    if deep >= thickness:
        yield fault(
            f"{where}.head",
            f"got {told(screw.head)} mm, whose countersink is {told(deep)} mm deep; must be less than the {part}'s "
            f"thickness, {told(thickness)} mm; take a smaller head or a thicker sheet",
        )


def lid_screw(lid: Lid) -> Iterator[Problem]:
    """The lid's screws go with their own holes and with the lid's thickness."""
    yield from screw_and_its_holes("lid.screw", lid.screw)
    yield from countersink("lid.screw", lid.screw, "lid", lid.thickness)


def lid_screw_in_the_wall(box: Box, timber: Timber, lid: Lid) -> Iterator[Problem]:
    """The lid's screws bite the lapped walls between their laps, without leaving them."""
    screw = lid.screw
    least, most = lid.thickness + MIN_BITE * screw.diameter, lid.thickness + box.height - MIN_BESIDE
    if not least <= screw.length <= most:
        yield fault(
            "lid.screw.length",
            f"got {told(screw.length)} mm, must be {told(least)} to {told(most)} mm: through the lid, then at least "
            f"{told(MIN_BITE)} diameters {rule(5)} into a wall {told(box.height)} mm high and not out of its bottom",
        )
    beside = (timber.lapped - screw.pilot) / 2
    if beside < MIN_BESIDE:
        yield fault(
            "lid.screw.pilot",
            f"got {told(screw.pilot)} mm, which leaves {told(beside)} mm of the lapped wall on either side; at least "
            f"{told(MIN_BESIDE)} mm is needed {rule(3)}; take a thinner screw or make timber.lapped thicker",
        )
    before_lap = box.along_y / 2 - timber.plain - screw.pilot / 2
    if before_lap < MIN_BESIDE:
        yield fault(
            "lid.screw.pilot",
            f"got {told(screw.pilot)} mm in the middle of a wall {told(box.along_y)} mm long, which leaves "
            f"{told(before_lap)} mm before the laps; at least {told(MIN_BESIDE)} mm is needed {rule(3)}; "
            "take a thinner screw, longer lapped walls or thinner plain walls",
        )


def lid_screw_in_the_lid(timber: Timber, lid: Lid) -> Iterator[Problem]:
    """The lid's screws keep clear of the lid's edge."""
    screw, from_edge = lid.screw, timber.lapped / 2 + lid.overhang
    for key, size, least, number in (("hole", screw.hole, MIN_BESIDE, 3), ("head", screw.head, MIN_RIM, 4)):
        left = from_edge - size / 2
        if left < least:
            yield fault(
                f"lid.screw.{key}",
                f"got {told(size)} mm, which leaves {told(left)} mm to the lid's edge; at least {told(least)} mm is "
                f"needed {rule(number)}; take a smaller screw, more lid.overhang or a thicker timber.lapped",
            )


def stem_through_the_lid(lid: Lid, stem: Stem) -> Iterator[Problem]:
    """The stem goes through the lid's centre hole."""
    if stem.diameter > lid.centre_hole:
        yield fault(
            "stem.diameter",
            f"got {told(stem.diameter)} mm, thicker than its hole in the lid; at most lid.centre_hole, "
            f"{told(lid.centre_hole)} mm, passes",
        )


def stem_through_the_plaque(lid: Lid, stem: Stem, plaque: Plaque) -> Iterator[Problem]:
    """The stem goes through the plaque's hole and comes out above it."""
    if stem.diameter > plaque.stem_hole:
        yield fault(
            "stem.diameter",
            f"got {told(stem.diameter)} mm, thicker than its hole in the plaque; at most plaque.stem_hole, "
            f"{told(plaque.stem_hole)} mm, passes",
        )
    least = lid.thickness + plaque.thickness
    if stem.length < least:
        yield fault(
            "stem.length",
            f"got {told(stem.length)} mm, which ends inside lid and plaque; must be at least {told(least)} mm from the "
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
