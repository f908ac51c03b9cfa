"""The study of a whole box: properties over random valid designs, symmetry, scaling, refusals, and the same numbers."""

import numpy as np
import pytest
from boxes import TABLE_BOX
from designs import designs
from hypothesis import given, settings
from sweep import some

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.made.frame_outcomes import corner_angles, diagonal_difference, leans
from assembly.made.limits import kept
from assembly.made.records import MadeFaces
from assembly.made.sampling import draw_block, values
from assembly.model.design import Limit
from assembly.model.outcomes import FRAME_OUTCOMES
from assembly.model.workshop import Workshop
from assembly.nominal.frame import PATTERNS, contact_matrix, free_columns, point_areas
from assembly.study.check import BoxModel, check, contact_programme, refuse_beyond, sampled_box
from assembly.study.driver import Run

DESIGN, WORKSHOP = read_design("frost_watch"), read_workshop("new_to_tools")
LINEAR = ("joint_gap", "step", "top_step", "out_of_square", "diagonal_difference", "lean", "length", "width")
HOMOGENEOUS = (*LINEAR, "lid_overhang", "cable_hole", "plaque_leg", "plaque_angle")  # no size of the drawing enters


def scaled(workshop: Workshop, factor: float) -> Workshop:
    """Return a workshop whose every error and paring figure is `factor` times as large."""
    fields = workshop.model_dump()
    for rows in fields["operations"].values():
        for row in rows.values():
            for key in ("bias", "class_spread", "maker_spread", "spread"):
                row[key] *= factor
    for key in ("notice", "bias", "spread"):
        fields["pare"][key] *= factor
    return Workshop.model_validate(fields)


@settings(max_examples=some(60))
@given(designs())
def test_every_valid_design_is_checked_without_overlap(design):
    model = BoxModel(design, scaled(WORKSHOP, 0.3))
    draws = draw_block(model.inputs, 300, seed=4, block=0)
    faces, gaps, poses = model.settle(values(model.inputs, draws))
    study = check(design, scaled(WORKSHOP, 0.3), boxes=300, seed=4)
    assert gaps.min() >= -1e-9
    predicted = faces.gaps() + contact_matrix(model.frame).reshape(32, 16) @ poses.reshape(16, -1)
    np.testing.assert_allclose(gaps.reshape(32, -1), predicted, atol=1e-9)
    assert study.boxes == 300
    assert study.outcomes["joint_gap"].quantiles[0.5].value > 0
    assert 0 <= study.pass_share.low <= study.pass_share.value <= study.pass_share.high <= 1


@pytest.mark.parametrize(
    ("swap", "corners", "flips"), [(1, [1, 0, 3, 2], True), (2, [2, 3, 0, 1], True), (3, [3, 2, 1, 0], False)]
)
def test_mirrored_errors_give_the_mirrored_box(swap, corners, flips):
    """Swapping front and back, left and right, or both, with the tie pattern swapped alike."""
    programme = contact_programme(TABLE_BOX)
    before = np.random.default_rng(3).normal(-0.1, 0.4, size=(4, 8, 500))
    pattern = np.arange(500) % PATTERNS
    once = programme.settle(before.reshape(32, -1), pattern)
    mirrored = programme.settle(before[corners].reshape(32, -1), pattern ^ swap)
    np.testing.assert_allclose(mirrored.gaps.reshape(4, 8, -1), once.gaps.reshape(4, 8, -1)[corners], rtol=0, atol=1e-9)
    one, other = poses_of(once), poses_of(mirrored)
    sign = -1 if flips else 1
    np.testing.assert_allclose(
        diagonal_difference(TABLE_BOX, other), sign * diagonal_difference(TABLE_BOX, one), rtol=0, atol=1e-8
    )
    np.testing.assert_allclose(corner_angles(other), corner_angles(one)[corners], rtol=0, atol=1e-8)
    walls = {1: [0, 1, 3, 2], 2: [1, 0, 2, 3], 3: [1, 0, 3, 2]}[swap]
    np.testing.assert_allclose(leans(TABLE_BOX, other), leans(TABLE_BOX, one)[walls], rtol=0, atol=1e-8)


def poses_of(settled):
    poses = np.zeros((16, settled.moves.shape[1]))
    poses[free_columns()] = settled.moves
    return poses.reshape(4, 4, -1)


def test_errors_of_another_size_scale_every_linear_outcome():
    once, thrice = (check(DESIGN, scaled(WORKSHOP, k), boxes=10_000, seed=6) for k in (0.25, 0.75))
    for name in HOMOGENEOUS:
        large, small = thrice.outcomes[name], once.outcomes[name]
        assert large.mean.value == pytest.approx(3 * small.mean.value, rel=1e-9, abs=1e-9), name
        assert large.sd.value == pytest.approx(3 * small.sd.value, rel=1e-9), name


def test_without_errors_every_box_is_the_nominal_one():
    study = check(DESIGN, Workshop(name="no errors"), boxes=500, seed=1)
    assert all(study.outcomes[name].mean.value == 0 for name in LINEAR)
    assert study.outcomes["closed_share"].mean.value == 1
    assert study.beyond_first_order.value == 0


def test_same_seed_same_numbers_whatever_the_threads():
    one, two, three = (check(DESIGN, WORKSHOP, boxes=35_000, seed=9, run=Run(threads=n)) for n in (1, 2, 3))
    assert one == two == three
    assert check(DESIGN, WORKSHOP, boxes=35_000, seed=10) != one


def test_forces_balance_and_vanish_where_there_is_a_gap():
    """The dual of the settled frame: Aᵀλ = Aᵀw, λ >= 0, λ s = 0, on every box of a block."""
    model = BoxModel(DESIGN, WORKSHOP)
    before = model.making.faces(values(model.inputs, draw_block(model.inputs, 10_000, seed=2, block=0))).gaps()
    programme, pattern = model.programme, np.arange(10_000) % PATTERNS
    settled = programme.settle(np.ascontiguousarray(before), pattern)
    forces = programme.forces(settled, pattern)
    weights = programme.weights[pattern].T
    matrix = contact_matrix(model.frame).reshape(32, 16)[:, free_columns()]
    scale = point_areas(model.frame).max()
    assert forces.min() >= -1e-9 * scale
    assert np.abs(forces * settled.gaps).max() <= 1e-9 * scale
    assert np.abs(matrix.T @ (forces - weights)).max() <= 1e-9 * np.abs(matrix.T @ weights).max()


def test_too_wild_a_workshop_is_refused():
    with pytest.raises(InputError) as refused:
        check(DESIGN, scaled(WORKSHOP, 4), boxes=2000, seed=1)
    assert str(refused.value).startswith("workshop 'New to tools': ")
    assert str(refused.value).endswith(
        " of the boxes have a face more than 5° out or more than a third of its thickness off, and at most 10% may; "
        "such boxes are outside what these predictions hold for: make the spreads smaller, or the timber thicker"
    )


@pytest.mark.parametrize(("beyond", "text"), [(0.1004, "10.04%"), (0.106, "11%"), (0.101, "10.1%"), (1.0, "100%")])
def test_a_share_just_over_what_is_allowed_is_told_as_over_it(beyond, text):
    with pytest.raises(InputError) as refused:
        refuse_beyond(WORKSHOP, beyond)
    assert str(refused.value).startswith(f"workshop 'New to tools': {text} of the boxes have ")
    refuse_beyond(WORKSHOP, 0.1)  # as many as may


@pytest.mark.parametrize(
    ("settings_", "message"),
    [({"boxes": 0}, "boxes: got 0, must be 1 or more"), ({"seed": -1}, "seed: got -1, must be 0 or more")],
)
def test_numbers_of_a_study_that_are_none(settings_, message):
    with pytest.raises(InputError) as refused:
        check(DESIGN, WORKSHOP, **settings_)
    assert str(refused.value) == message


def test_a_value_on_its_limit_is_kept():
    row = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
    assert kept(Limit(max=1), row).tolist() == [True, True, True, True, False]
    assert kept(Limit(min=-1), row).tolist() == [False, True, True, True, True]
    assert kept(Limit(within=1), row).tolist() == [False, True, True, True, False]
    assert kept(Limit(min=0, max=1), row).tolist() == [False, False, True, True, False]


def test_shares_are_counted_from_the_boxes_themselves():
    model = BoxModel(DESIGN, WORKSHOP)
    study = check(DESIGN, WORKSHOP, boxes=10_000, seed=3)
    draws = draw_block(model.inputs, 10_000, seed=3, block=0)
    rows = dict(zip(model.rows, model.evaluate(values(model.inputs, draws)), strict=True))
    passes = np.ones(10_000, dtype=bool)
    for name, limit in model.limits.items():
        within = kept(limit, rows[name])
        assert study.outcomes[name].share_within.value == pytest.approx(within.mean(), abs=1e-12)
        passes &= within
    assert study.pass_share.value == pytest.approx(passes.mean(), abs=1e-12)
    for corner, summary in study.corners.items():
        assert summary.mean.value == pytest.approx(rows[f"gap {corner}"].mean(), rel=1e-9)


def test_a_sampled_box_carries_its_own_outcomes():
    box = sampled_box(DESIGN, WORKSHOP, seed=3, quantile=0.95, of="out_of_square")
    assert box.outcomes["joint_gap"] == pytest.approx(box.gaps.max(), abs=1e-12)
    assert set(FRAME_OUTCOMES) <= set(box.outcomes)
    assert isinstance(box.faces, MadeFaces)
    assert box.corner_gaps.max() == pytest.approx(box.gaps.max())
