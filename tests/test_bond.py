"""Glue area, bond figure and the tongue, by closed form."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from timber import BOX

from assembly.errors import InputError
from assembly.materials.bond import (
    base_glue_area,
    bond_figure,
    bond_ratio,
    grain_runout,
    joint_area,
    tongue_stress,
)


def test_joint_area():
    """A cheek of 10 x 45 and a shoulder of 7.5 x 45."""
    assert joint_area(BOX) == 787.5


def test_base_glue_area_is_what_the_walls_cover():
    """Second way: two lapped walls less their laps, and two plain walls."""
    lapped = 2 * (15 * 90 - 2 * 7.5 * 10)
    plain = 2 * 145 * 10
    assert base_glue_area(BOX) == lapped + plain == 5300


def test_bond_figure_weighs_area_by_closed_share():
    areas = np.array([100.0, 200.0, 300.0, 400.0])
    closed = np.array([[1, 1, 1, 1], [0.5, 0.25, 0, 1], [0, 0, 0, 0]])
    assert bond_figure(areas, closed) == pytest.approx([1000, 500, 0])


@given(st.lists(st.floats(0, 1), min_size=4, max_size=4), st.integers(0, 3), st.floats(0, 1))
def test_a_better_closed_joint_never_lowers_the_bond(closed, joint, share):
    better = closed.copy()
    better[joint] = max(closed[joint], share)
    areas = np.full(4, joint_area(BOX))
    assert bond_figure(areas, np.array(better)) >= bond_figure(areas, np.array(closed))


def test_bond_ratio():
    assert bond_ratio(450, 500) == 0.9
    assert bond_ratio(500, 500) == 1
    with pytest.raises(InputError) as caught:
        bond_ratio(450, 0)
    assert str(caught.value) == "reference section: its bond figure is 0 mm², so no ratio can be formed to it"


def test_tongue_stress_is_a_cantilever():
    """M = 50 N · 10 mm; W = 20 · 7.5²/6 = 187.5 mm³; 500/187.5 N/mm²."""
    assert tongue_stress(BOX) == pytest.approx(500 / 187.5)


def test_tongue_stress_shares_no_more_than_the_wall_is_high():
    low = dataclasses.replace(BOX, height=15)
    assert tongue_stress(low) == pytest.approx(tongue_stress(BOX) * 20 / 15)
    assert tongue_stress(low, load_n=100) == pytest.approx(2 * tongue_stress(low))


def test_grain_runs_out_by_a_tenth_of_the_lap():
    assert grain_runout(BOX) == pytest.approx(1.0)
    assert grain_runout(BOX, slope=0.05) == pytest.approx(0.5)


@given(st.floats(4, 60), st.floats(4, 60), st.floats(0.1, 0.9))
def test_a_thinner_lapped_wall_never_makes_the_tongue_thicker(one, other, share):
    thin, thick = sorted((one, other))
    tongues = [dataclasses.replace(BOX, lapped=t, depth=share * t).tongue for t in (thin, thick)]
    assert tongues[0] <= tongues[1]
