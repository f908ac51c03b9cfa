"""Labels in two columns: none over another, none outside its column, no leader across another."""

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, minimize

from assembly.errors import InputError
from viewer.picture.labels import Columns, crossings, lay_out, spread

COLUMNS = Columns(left=300, right=700, top=50, bottom=850, gap=6)


def random_labels(seed):
    """Return anchors between the columns and label heights that fit; sometimes crowded, sometimes on one spot."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 21))
    spread_of = rng.choice([0.0, 20.0, 400.0])
    anchors = np.column_stack(
        [np.clip(rng.normal(500, spread_of, count), 310, 690), np.clip(rng.normal(450, spread_of, count), 60, 840)]
    )
    return anchors, rng.uniform(20, 70, count)


@pytest.mark.parametrize("seed", range(200))
def test_no_labels_overlap_and_none_is_clipped(seed):
    """Counted on a grid of pixels: each row of a column belongs to one label at the most."""
    anchors, heights = random_labels(seed)
    layout = lay_out(anchors, heights, COLUMNS)
    for side in (False, True):
        chosen = layout.on_right == side
        tops, bottoms = (layout.middles + sign * heights / 2 for sign in (-1, 1))
        rows = np.arange(0, 900, 0.25)
        taken = ((rows >= tops[chosen, None]) & (rows < bottoms[chosen, None])).sum(axis=0)
        assert taken.max(initial=0) <= 1
        assert not taken[(rows < COLUMNS.top - 1e-9) | (rows > COLUMNS.bottom + 1e-9)].any()
        order = np.argsort(tops[chosen])
        between = tops[chosen][order][1:] - bottoms[chosen][order][:-1]
        assert between.min(initial=np.inf) >= COLUMNS.gap - 1e-9


@pytest.mark.parametrize("seed", range(200))
def test_no_leaders_cross(seed):
    anchors, heights = random_labels(seed)
    layout = lay_out(anchors, heights, COLUMNS)
    assert not crossings(layout.ports, anchors).any()


@pytest.mark.parametrize("seed", range(40))
def test_labels_stand_as_near_to_their_anchors_as_a_general_solver_puts_them(seed):
    rng = np.random.default_rng(seed)
    count = int(rng.integers(2, 9))
    wanted, heights = rng.uniform(0, 900, count), rng.uniform(20, 70, count)
    found = spread(wanted, heights, COLUMNS)
    apart = np.eye(count)[1:] - np.eye(count)[:-1]
    least = (heights[1:] + heights[:-1]) / 2 + COLUMNS.gap
    ends = np.eye(count)[[0, -1]]
    bounds = [COLUMNS.top + heights[0] / 2, -np.inf], [np.inf, COLUMNS.bottom - heights[-1] / 2]
    start = COLUMNS.top + heights[0] / 2 + np.concatenate([[0], np.cumsum(least)])
    best = minimize(
        lambda y: ((y - wanted) ** 2).sum() / 1e4,
        start,
        jac=lambda y: 2 * (y - wanted) / 1e4,
        method="SLSQP",
        constraints=[LinearConstraint(apart, least, np.inf), LinearConstraint(ends, *bounds)],
        options={"ftol": 1e-13, "maxiter": 500},
    )
    assert ((found - wanted) ** 2).sum() / 1e4 == pytest.approx(best.fun, rel=1e-6, abs=1e-9)
    assert found == pytest.approx(best.x, abs=0.05)


def test_two_labels_for_one_place_stand_half_above_and_half_below_it():
    """Heights 40 and 20 and a gap of 6: middles 36 apart, their mean at the place."""
    assert spread(np.array([400.0, 400.0]), np.array([40.0, 20.0]), COLUMNS) == pytest.approx([382, 418])


def test_a_lone_label_stands_level_with_its_anchor():
    layout = lay_out(np.array([[480.0, 333.0]]), np.array([30.0]), COLUMNS)
    assert layout.middles == pytest.approx([333])


def test_a_label_is_kept_in_its_column():
    layout = lay_out(np.array([[480.0, 55.0]]), np.array([30.0]), COLUMNS)
    assert layout.middles == pytest.approx([65])


def test_labels_go_to_the_side_that_their_anchors_are_on():
    anchors = np.array([[650.0, 100], [320, 200], [640, 300], [350, 400]])
    layout = lay_out(anchors, np.full(4, 30.0), COLUMNS)
    assert layout.on_right.tolist() == [True, False, True, False]
    assert layout.ports[:, 0].tolist() == [700, 300, 700, 300]


def test_too_many_labels_are_refused():
    with pytest.raises(InputError) as error:
        lay_out(np.full((40, 2), 500.0), np.full(40, 60.0), COLUMNS)
    # 20 labels of 60 and 19 gaps of 6 in one column: 1,314; the column is 850 - 50 = 800 high
    assert str(error.value) == "the labels need 1314 pixels of height and have 800; ask for a wider picture"


def test_crossing_is_told_from_touching():
    ports = np.array([[0.0, 0], [0, 10]])
    assert crossings(ports, np.array([[10.0, 10], [10, 0]]))[0, 1]
    assert not crossings(ports, np.array([[10.0, 0], [10, 10]]))[0, 1]
    assert not crossings(ports, np.array([[10.0, 5], [10, 5]]))[0, 1]
