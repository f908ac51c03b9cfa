"""Random valid designs for property tests: each keeps every rule of `assembly.rules.design_rules` by construction."""

import itertools

from hypothesis import strategies as st

from assembly.model.design import (
    Base,
    Box,
    CableHole,
    Design,
    Lid,
    Limit,
    Limits,
    Plaque,
    RoundHead,
    Screw,
    Stem,
    Timber,
)

SCREWS = (  # diameter, head, clearance hole, pilot hole; mm
    (2.2, 4.2, 2.4, 1.4),
    (3.0, 5.6, 3.2, 2.0),
    (3.5, 7.0, 4.0, 2.4),
    (4.0, 7.8, 4.5, 2.8),
)


CLOCKWISE = {"left": "back", "back": "right", "right": "front", "front": "left"}  # by a quarter turn, seen from above
# Whether a design has a stem, a plaque and a cable hole: all eight ways, that with everything as often as the others.
EIGHT = tuple(itertools.product((True, False), repeat=3))
LEFT_IN = st.sampled_from([EIGHT[0]] * 7 + [*EIGHT[1:]])


def between(draw, low, high):
    """Draw a size between two others, on a grid of 0.1 mm inside them; rounding may have put `high` under `low`."""
    high = max(low, high)
    return min(max(round(draw(st.floats(low, high)), 1), low), high)


WASHER = 0.3  # mm; thickness


def screw(kind, depth, *, domed):
    """Return a screw whose tip is so deep under the face of its part, its head countersunk, or round on a washer."""
    diameter, head, hole, pilot = kind
    washer = RoundHead(height=0.7 * diameter, washer=head, washer_hole=diameter + 0.1, washer_thickness=WASHER)
    return Screw(
        diameter=diameter,
        length=depth + WASHER if domed else depth,
        head=head,
        hole=hole,
        pilot=pilot,
        round_head=washer if domed else None,
    )


@st.composite
def designs(draw):
    """Draw a design whose sections are valid and go together."""
    lapped, plain, share = between(draw, 8, 30), between(draw, 4, 24), draw(st.floats(0.3, 0.7))
    small = SCREWS[0]
    fitting = [kind for kind in SCREWS if lapped / 2 >= max(kind[1] / 2 + 1, kind[2] / 2 + 2)]
    lid_kind = draw(st.sampled_from(fitting))
    along_x = between(draw, max(60, 2 * lapped + 34), 500)
    along_y = between(draw, max(60, 2 * plain + 34), 400)
    height, lid_thick = between(draw, 20, 150), between(draw, 5, 18)
    box_ends, at_front = draw(st.booleans()), draw(st.booleans())  # the lapped walls: ends; at front and back
    overhang = between(draw, 0, 8)
    lid_length = between(draw, lid_thick + 2 * lid_kind[0], min(lid_thick + height - 2, 119))
    stem = between(draw, 2, 6)
    centre, stem_hole = stem + between(draw, 0.2, 2), stem + between(draw, 0.2, 2)
    thick, radius = between(draw, 2, 3), between(draw, 0.5, 3)
    side, turned = draw(st.sampled_from([("back", "up"), ("front", "up"), ("left", "up"), ("right", "up")]))
    if along_x >= along_y:
        side, turned = draw(st.sampled_from([(side, turned), ("back", "down"), ("front", "down")]))
    straight = turned == "down" or side in {"left", "right"}  # a leg that slopes sideways would cover a lid screw
    angle = 90.0 if straight else draw(st.sampled_from([60.0, 75.0, 90.0]))
    free = along_x / 2 - lapped / 2 - lid_kind[1] / 2 - 1
    half_u, most_v = (along_x / 2, along_y / 2) if side in {"left", "right"} else (along_y / 2, along_x / 2)
    most_u = half_u + overhang
    if side in {"left", "right"}:
        most_u = min(most_u, free)
    else:
        most_v = min(most_v, free)
    clear = max(small[2] / 2 + 2, small[1] / 2 + 1)
    set_back, beside = radius + thick, max(stem_hole / 2 + 2, clear)
    if turned == "down":
        to_bend = half_u + overhang + set_back + between(draw, 0, 5)
    else:
        to_bend = between(draw, beside + set_back, max(most_u, beside + set_back))
    behind = between(draw, beside, max(beside, most_u))
    half_v = between(draw, stem_hole / 2 + 2 + 2 * clear + 0.5, max(most_v, stem_hole / 2 + 2.5 + 2 * clear))
    spacing = 2 * between(draw, max(stem_hole, centre) / 2 + clear + 0.2, half_v - clear)
    offset = between(draw, max(-2, clear - behind), min(2, to_bend - set_back - clear))
    legs_most = thick + lid_thick + height
    has_stem, has_plaque, has_cable = draw(LEFT_IN)
    most_cable = min(height - 4, 12)
    if at_front:  # a lid screw stands over the hole
        most_cable = min(most_cable, height - 4 - 2 * (lid_length - lid_thick))
        has_cable &= most_cable >= 1
    return Design(
        name="Random box",
        made_by=draw(st.sampled_from(["new_to_tools", "practised"])),
        makers=draw(st.integers(1, 60)),
        glue_up=draw(st.sampled_from(["as it falls", "squared"])),
        glue_limit=draw(st.floats(0.05, 0.5)),
        required_share=draw(st.floats(0.1, 1)),
        lid_holes=draw(st.sampled_from(["measured", "marked through"])),
        box=Box(
            length=along_x if box_ends else along_y,
            width=along_y if box_ends else along_x,
            height=height,
            lapped="ends" if box_ends else "sides",
            front="side" if box_ends != at_front else "end",
        ),
        timber=Timber(name="any", lapped=lapped, plain=plain, lap_share=share),
        base=Base(material="plywood", thickness=between(draw, 2, 12), oversize=between(draw, 0, 4)),
        lid=Lid(
            material="plywood",
            thickness=lid_thick,
            overhang=overhang,
            centre_hole=centre if has_stem or draw(st.booleans()) else None,
            screw=screw(lid_kind, lid_length, domed=draw(st.booleans())),
        ),
        stem=Stem(name="stem", diameter=stem, length=lid_thick + thick + between(draw, 1, 60)) if has_stem else None,
        plaque=None
        if not has_plaque
        else Plaque(
            thickness=thick,
            width=2 * half_v,
            flat_leg=to_bend + behind,
            upright_leg=between(draw, max(5, set_back + 1), min(legs_most, 80)),
            side=CLOCKWISE[side] if at_front else side,
            turned=turned,
            angle=angle,
            inside_radius=radius,
            stem_hole=stem_hole if has_stem else None,
            hole_spacing=spacing,
            hole_offset=offset,
            stem_to_bend=to_bend,
            screw=screw(small, between(draw, thick + 2 * small[0], thick + lid_thick), domed=True),
            wording=draw(st.sampled_from(["", "Plot 7"])),
        ),
        cable_hole=CableHole(diameter=between(draw, 1, most_cable)) if has_cable else None,
        limits=Limits(joint_gap=Limit(max=draw(st.floats(0.2, 3)))),
    )


def leaving_out(design: Design, *, stem: bool = True, plaque: bool = True, cable_hole: bool = True) -> Design:
    """Return a design without those of its stem, plaque and cable hole that are not to be there, nor their limits."""
    there = {"stem": stem, "plaque": plaque, "cable_hole": cable_hole}
    change = {name: None for name, has in there.items() if not has}
    if not stem:
        change["lid"] = design.lid.model_copy(update={"centre_hole": None})
        change["plaque"] = design.plaque.model_copy(update={"stem_hole": None}) if plaque else None
    kept = design.model_copy(update=change)
    limits = {name: None for name in type(design.limits).model_fields if name not in kept.outcomes}
    return kept.model_copy(update={"limits": design.limits.model_copy(update=limits)})
