"""The cut list against sizes worked out by hand from the drawing."""

import math

import pytest

from assembly.files.reading import read_design, read_workshop
from assembly.planning.cutting import bought, cut_parts, totals
from assembly.planning.making import making_order

SIZES = [
    "box.length=160", "box.width=90", "box.height=45", "timber.lapped=15", "timber.plain=10", "timber.lap_share=0.4",
    "base.thickness=6", "base.oversize=2", "lid.overhang=3",
]  # fmt: skip


def sizes(**more):
    settings = [f"{key.replace('__', '.')}={value}" for key, value in more.items()]
    return {part.name: part for part in cut_parts(read_design("frost_watch", SIZES + settings))}


def size(part):
    return part.count, part.length, part.width, part.thickness


def test_lapped_ends():
    """Depth 0.4 · 15 = 6, tongue 9: lapped walls run the full width, plain walls 160 - 2 · 9 between the cheeks."""
    parts = sizes(box__lapped="ends")
    assert size(parts["lapped wall (end)"]) == pytest.approx((2, 90, 45, 15))
    assert size(parts["plain wall (side)"]) == pytest.approx((2, 142, 45, 10))
    assert parts["lapped wall (end)"].then == "a lap at each end: shoulder 10 from the end, 6 deep, tongue of 9 left"
    assert size(parts["base"]) == pytest.approx((1, 164, 94, 6))
    assert size(parts["lid"])[:3] == pytest.approx((1, 166, 96))


def test_the_flat_plaque_keeps_the_length_of_its_neutral_line():
    """Quarter turn: each leg loses r + t, the arc gives (r + k t) · π/2."""
    parts = sizes()
    drawn = read_design("frost_watch", SIZES).plaque
    assert drawn.angle == 90
    arc = math.pi / 2 * (drawn.inside_radius + drawn.neutral_share * drawn.thickness)
    flat = drawn.flat_leg + drawn.upright_leg - 2 * (drawn.inside_radius + drawn.thickness) + arc
    assert size(parts["plaque, flat"]) == pytest.approx((1, flat, drawn.width, drawn.thickness))


# Blanks, what is bought, and a class


def test_a_blank_is_the_part_as_the_making_hands_it_out():
    """The uncut blocks of the steps: their longest sides lie in the drawing's plane, or along the wall."""
    for settings in (
        [],
        ["overlength=1", "box.lapped=sides", "box.front=end", "plaque.width=60", "plaque.hole_spacing=40"],
        ["base.oversize=3"],
    ):
        design = read_design("frost_watch", SIZES + settings)
        uncut = {block.part: block for block in making_order(design, read_workshop("new_to_tools")).uncut}
        lapped, plain, *sheets = cut_parts(design)
        sizes = {part: [h - low for low, h in zip(b.low, b.high, strict=True)] for part, b in uncut.items()}
        first, second = ("front wall", "left wall") if design.box.turned else ("left wall", "front wall")
        for part, wall in ((lapped, first), (plain, second)):
            assert max(sizes[wall]) == pytest.approx(part.blank_length)
            assert sizes[wall][2] == pytest.approx(part.blank_width)
        for part, name in zip(sheets, ("base", "lid", "plaque"), strict=True):
            assert sorted(sizes[name][:2]) == pytest.approx(sorted((part.blank_length, part.blank_width)))


def test_what_is_bought_is_what_the_steps_drive():
    design = read_design("frost_watch", SIZES)
    steps = making_order(design, read_workshop("new_to_tools")).steps
    driven = {each for step in steps if step.tool == "screwdriver" for each in step.counted}
    assert set(bought(design)) == {*driven, "1 x frost indicator (6 x 60 mm)"}
    assert bought(design, 26) == (
        "52 countersunk screws 3.5 x 30 mm",
        "52 round-head screws 3 x 10 mm",
        "52 washers 7 x 3.2 x 0.5 mm",
        "26 x frost indicator (6 x 60 mm)",
    )


def test_a_class_takes_the_blanks_of_all_its_boxes():
    """Half laps: walls of 90 and 145, 20 more each, twice; base 164 x 94 and lid 160 x 90, 20 more on either side."""
    found = totals(cut_parts(read_design("frost_watch")), 26)
    assert [(each.material, each.thickness, each.width) for each in found] == [
        ("pine, Scots", 15, 45), ("pine, Scots", 10, 45), ("birch plywood", 4, None), ("birch plywood", 9, None),
        ("acrylic", 3, None),
    ]  # fmt: skip
    metres = [26 * 2 * 0.110, 26 * 2 * 0.165, 26 * 0.184 * 0.114, 26 * 0.180 * 0.110]
    assert [each.amount for each in found[:4]] == pytest.approx(metres)
    one = totals(cut_parts(read_design("frost_watch", ["timber.plain=15", "base.thickness=9"])), 1)
    assert [each.thickness for each in one] == [15, 9, 3]
