"""The limit case: found against every combination of limits, proved against it, and settled again by another method."""

import itertools

import numpy as np
import pytest
from scipy.optimize import linprog

from assembly.errors import InputError
from assembly.frame import CORNERS, PATTERNS, contact_matrix, free_columns, point_areas
from assembly.reading import read_design
from assembly.tolerance.check import TIE
from assembly.tolerance.helps import with_rows
from assembly.tolerance.sampling import BLOCK, draw_block, values
from assembly.tolerance.worst import Worst
from assembly.workshop import Disturbance, Pare, Workshop

DESIGN = read_design("frost_watch")
TIED = 2e-3  # mm: a pattern's weights leave a gap this far from that of the plain weights' worst place
FEW_ERRORS = {
    "shoulders": {"lap_saw.offset": Disturbance(spread=0.1)},
    "lengths and gauge": {"mark.offset": Disturbance(spread=0.1), "gauge.offset": Disturbance(spread=0.1)},
}


def workshop(rows, pare=None):
    return with_rows(Workshop(name="few errors", pare=pare or Pare()), rows)


def largest_of_all_limits(worst: Worst, corner: str) -> float:
    """Return the widest gap over every combination of errors at their limits, settled with every tie pattern."""
    errors = worst.errors
    free = np.flatnonzero(errors.most > errors.least)
    ends = np.array(list(itertools.product((False, True), repeat=free.size)))
    tried = np.repeat((errors.least + errors.most)[None] / 2, len(ends), axis=0)
    tried[:, free] = np.where(ends, errors.most[free], errors.least[free])
    value = errors.values(tried)
    return max(
        float(
            worst.model.settle({TIE.name: np.full((1, 1), (at + 0.5) / PATTERNS), **value})[1][
                CORNERS.index(corner)
            ].max()
        )
        for at in range(PATTERNS)
    )


def settled_again(box, corner: str) -> float:
    """Return the widest gap at a corner over all places of least gap volume, by a general solver."""
    matrix, areas = contact_matrix(box.frame).reshape(32, 16)[:, free_columns()], point_areas(box.frame)
    before = box.faces.gaps()
    free = {"bounds": (None, None), "method": "highs"}
    least = linprog(matrix.T @ areas, A_ub=-matrix, b_ub=before, **free).fun
    rows, limits = np.vstack([-matrix, matrix.T @ areas]), np.append(before, least + 1e-7)
    points = range(8 * CORNERS.index(corner), 8 * CORNERS.index(corner) + 8)
    return max(float(before[at] - linprog(-matrix[at], A_ub=rows, b_ub=limits, **free).fun) for at in points)


@pytest.fixture(scope="module", params=FEW_ERRORS)
def few(request):
    """One workshop of few errors with its search and the limit case of one joint."""
    worst = Worst(DESIGN, workshop(FEW_ERRORS[request.param]))
    (case,) = worst.cases(("right-back",), seconds=30)
    return worst, case


def test_no_combination_of_limits_is_worse_than_what_was_found_and_proved(few):
    worst, case = few
    brute = largest_of_all_limits(worst, case.corner)
    assert brute > 0.05
    assert case.found == pytest.approx(brute, abs=TIED * brute)
    assert brute <= case.proved
    assert case.found <= case.proved <= case.found + 1e-3


def test_the_box_settles_again_to_what_was_found(few):
    _, case = few
    assert settled_again(case.box, case.corner) == pytest.approx(case.found, abs=1e-5)
    assert case.box.corner_gaps[CORNERS.index(case.corner)] == pytest.approx(case.found, abs=1e-9)
    assert case.box.outcomes["joint_gap"] == pytest.approx(case.box.gaps.max(), abs=1e-12)
    assert not case.beyond_first_order


def test_errors_of_the_box_lie_within_their_limits():
    """Only shoulders are off, 0.1 either way in the spread: three times that is the limit, and at it each one lies."""
    worst = Worst(DESIGN, workshop(FEW_ERRORS["shoulders"]))
    (case,) = worst.cases(("left-front",), seconds=1)
    faces = case.box.faces
    assert np.abs(faces.shoulder).max() == pytest.approx(0.3, abs=1e-12)
    assert np.abs(faces.shoulder - faces.shoulder[:, :1]).max() < 1e-12  # an offset moves all four corners alike
    for others in (faces.plain_end, faces.lapped_end, faces.cheek, faces.inside, faces.thickness):
        assert np.abs(others).max() < 1e-12


def test_pared_shoulders_end_within_what_paring_leaves():
    """Pared at 0.1 to a bias of 0.02 and a spread of 0.03: none ends prouder than max(0.1, 0.02 + 3 x 0.03) = 0.11."""
    pare = Pare(notice=0.1, bias=0.02, spread=0.03, rounds=1)
    worst = Worst(DESIGN, workshop(FEW_ERRORS["shoulders"], pare))
    (case,) = worst.cases(("right-back",), seconds=1)
    assert case.box.faces.shoulder.max() <= 0.11 + 1e-9
    assert case.box.faces.shoulder.min() >= -0.3 - 1e-9
    assert settled_again(case.box, case.corner) == pytest.approx(case.found, abs=1e-5)


def test_no_sampled_box_within_the_limits_is_worse():
    worst = Worst(DESIGN, workshop({"saw.plan": Disturbance(spread=0.4), "chisel.uneven": Disturbance(spread=0.05)}))
    (case,) = worst.cases(("left-back",), seconds=1)
    drawn = values(worst.model.inputs, draw_block(worst.model.inputs, BLOCK, seed=5, block=0))
    sampled = worst.errors.values(worst.errors.vector(drawn))
    gaps = worst.model.settle({TIE.name: np.full((1, 1), 0.5), **sampled})[1][CORNERS.index("left-back")]
    assert case.found > gaps.max() > 0.1
    assert case.proved >= case.found


def test_errors_twice_as_large_open_the_joint_twice_as_far():
    """Without paring all is linear or a smaller of two, so gaps scale with the errors."""
    found = []
    for k in (1, 2):
        rows = {"lap_saw.offset": Disturbance(bias=0.02 * k, spread=0.05 * k)}
        (case,) = Worst(DESIGN, workshop(rows)).cases(("right-front",), seconds=1)
        found.append(case.found)
    assert found[1] == pytest.approx(2 * found[0], rel=1e-6)


def test_hands_without_errors_open_nothing():
    (case,) = Worst(DESIGN, workshop({})).cases(("right-back",), seconds=1)
    assert case.found == pytest.approx(0, abs=1e-6)
    assert np.abs(case.box.gaps).max() < 1e-6


def test_a_joint_that_is_none_is_refused():
    with pytest.raises(InputError) as refusal:
        Worst(DESIGN, workshop({})).cases(("top",))
    assert str(refusal.value) == "joint: got 'top', must be one of right-back, right-front, left-back, left-front"
