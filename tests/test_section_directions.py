"""Which way a section's figures must go, over the whole range of sizes and air and for every timber and sheet."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sections import frost_watch, judge
from timber import BOX

from assembly.data.tables import all_sheets, all_species
from assembly.made.frame_outcomes import closed_shares
from assembly.materials.bond import bond_figure
from assembly.materials.moisture import TEMPERATURES_C, Climate
from assembly.materials.seasons import season
from assembly.nominal.frame import frame
from assembly.section.variants import varied

MOVING = [t for t in all_species() if t.shrinkage_tangential or t.coefficient_tangential]
PANELS = [s for s in all_sheets() if s.thickness_per_mc is not None]
percent = st.floats(0, 100)


@settings(max_examples=60)
@given(thin=st.floats(4, 60), more=st.floats(0, 56), share=st.floats(0.1, 0.9))
def test_a_thinner_lapped_wall_never_makes_the_tongue_thicker(thin, more, share):
    """Nominal and sampled tongue, over every thickness and lap share that a design may have."""
    slim, thick = (
        varied(frost_watch(), lapped=size, lap_share=share, keep="inside") for size in (thin, min(thin + more, 60))
    )
    assert frame(slim).tongue <= frame(thick).tongue
    assert judge(200).trials.tongue(slim).value <= judge(200).trials.tongue(thick).value


@given(st.lists(st.floats(0, 2), min_size=32, max_size=32), st.integers(0, 31), st.floats(0, 1), st.floats(0.01, 2))
def test_a_smaller_gap_never_lowers_the_closed_share_nor_the_bond(gaps, at, share, limit):
    wide = np.array(gaps)
    close = wide.copy()
    close[at] *= share
    before, after = (closed_shares(BOX, g.reshape(4, 2, 4, 1), limit) for g in (wide, close))
    assert (after >= before - 1e-12).all()
    areas = np.full(4, 787.5)
    assert bond_figure(areas, after.T) >= bond_figure(areas, before.T) - 1e-9


@given(percent, percent, st.floats(*TEMPERATURES_C), st.sampled_from([None, "flat", "quarter"]))
@pytest.mark.parametrize("walls", [*MOVING, *PANELS], ids=lambda w: f"{w.name} {w.source[-12:]}")
def test_a_damper_home_never_shrinks_a_wall(walls, one, other, celsius, sawing):
    """Every size that wood or sheet fills, in every timber and sheet with a figure; only the room inside shrinks."""
    dry, damp = (Climate(name="air", temperature_c=celsius, humidity=h) for h in sorted((one, other)))
    wetter, drier = season(BOX, walls, sawing, dry, damp), season(BOX, walls, sawing, damp, dry)
    for name in ("height", "lapped", "plain", "depth", "tongue"):
        assert 0 <= getattr(wetter, name)[0] <= getattr(wetter, name)[1], name
        assert getattr(drier, name)[0] <= getattr(drier, name)[1] <= 0, name
    for outside in (*wetter.frame, *(tuple(-size for size in axis) for axis in drier.frame)):
        assert min(outside) >= 0


@pytest.mark.parametrize("walls", [*MOVING, *PANELS], ids=lambda w: f"{w.name} {w.source[-12:]}")
def test_the_damper_the_home_the_larger_the_step(walls):
    """From 45 % up the lapped wall's end goes shy, further with every percent, until the wood is full."""
    room = Climate(name="room", temperature_c=20, humidity=45)
    steps = [
        season(BOX, walls, None, room, Climate(name="home", temperature_c=20, humidity=h)).worst_step
        for h in range(45, 101, 5)
    ]
    assert steps[0] == 0
    assert steps == sorted(steps)
    assert steps[-1] > 0.1  # it moves at all
