"""The cut list against sizes worked out by hand from the drawing."""

import math

import pytest

from assembly.files.reading import read_design
from assembly.planning.cutting import cut_parts

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
