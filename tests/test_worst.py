"""The limit case: found against every combination of limits, proved against it, and settled again by another method."""

import itertools
from functools import cache

import numpy as np
import pytest
from boxes import with_rows
from scipy.optimize import linprog
from sweep import long

from assembly.errors import InputError
from assembly.files.reading import maker, read_design
from assembly.limit_case.search import BETTER, NODES, Worst
from assembly.limit_case.solver import Effort
from assembly.limit_case.symmetry import Mirrors
from assembly.made.sampling import BLOCK, draw_block, values
from assembly.model.workshop import Disturbance, Pare, Workshop
from assembly.nominal.frame import CORNERS, PATTERNS, contact_matrix, free_columns, point_areas, squared_row
from assembly.study.check import TIE
from assembly.study.driver import Run

DESIGN = read_design("frost_watch")
TIED = 2e-3  # mm: a pattern's weights leave a gap this far from that of the plain weights' worst place
FEW_ERRORS = {
    "shoulders": {"lap_saw.offset": Disturbance(spread=0.1)},
    "lengths and gauge": {"mark.offset": Disturbance(spread=0.1), "gauge.offset": Disturbance(spread=0.1)},
    "sawn or sanded": {"saw.offset": Disturbance(spread=0.1), "sand.offset": Disturbance(bias=-0.1, spread=0.05)},
    "timber": {"stock.bow": Disturbance(spread=0.2), "stock.twist": Disturbance(spread=0.3)},
}
BIASED = Disturbance(bias=0.2, spread=0.2)


def workshop(rows, pare=None):
    return with_rows(Workshop(name="few errors", pare=pare or Pare()), rows)


def widest(worst: Worst, corner: str, errors, patterns=range(PATTERNS)) -> float:
    """Return the widest gap at a corner over boxes with these errors (boxes, places), settled by some tie patterns."""
    value = worst.errors.values(errors)
    gaps = (worst.model.settle({TIE.name: np.full((1, 1), (at + 0.5) / PATTERNS), **value})[1] for at in patterns)
    return max(float(each[CORNERS.index(corner)].max()) for each in gaps)


def all_limits(worst: Worst, steps: int = 2):
    """Return every combination of the errors that vary, in so many steps from limit to limit: (boxes, places)."""
    least, most = worst.errors.least, worst.errors.most
    free = np.flatnonzero(most > least)
    shares = np.array(list(itertools.product(np.linspace(0, 1, steps), repeat=free.size)))
    errors = np.repeat((least + most)[None] / 2, len(shares), axis=0)
    errors[:, free] = least[free] + shares * (most - least)[free]
    return errors


def settled_again(box, corner: str, *, squared: bool = False) -> float:
    """Return the widest gap at a corner over all places of least gap volume, by a general solver."""
    matrix, areas = contact_matrix(box.frame).reshape(32, 16)[:, free_columns()], point_areas(box.frame)
    before = box.faces.gaps()
    free = {"bounds": (None, None), "method": "highs"}
    if squared:
        free |= {"A_eq": squared_row()[None], "b_eq": [0.0]}
    least = linprog(matrix.T @ areas, A_ub=-matrix, b_ub=before, **free).fun
    rows, limits = np.vstack([-matrix, matrix.T @ areas]), np.append(before, least + 1e-7)
    points = range(8 * CORNERS.index(corner), 8 * CORNERS.index(corner) + 8)
    return max(float(before[at] - linprog(-matrix[at], A_ub=rows, b_ub=limits, **free).fun) for at in points)


@cache
def searched(rows: str) -> tuple[Worst, list[tuple[int, int]]]:
    """Return a search with these few errors, asked of two joints already, and the progress that it told meanwhile."""
    reports: list[tuple[int, int]] = []
    worst = Worst(DESIGN, workshop(FEW_ERRORS[rows]))
    worst.cases(("right-front", "left-back"), run=Run(progress=lambda *words: reports.append(words)))
    return worst, reports


@pytest.fixture(
    scope="module",
    params=[name if name in {"shoulders", "timber"} else pytest.param(name, marks=long) for name in FEW_ERRORS],
)
def few(request):
    """One workshop of few errors with its search and the limit case of one joint."""
    worst, _ = searched(request.param)
    (case,) = worst.cases(("right-back",))
    return worst, case


def test_no_combination_of_limits_is_worse_than_what_was_found_and_proved(few):
    worst, case = few
    free = np.count_nonzero(worst.errors.most > worst.errors.least)
    tried = all_limits(worst, 9 if free == 4 else 2)  # four of timber: also between the limits
    brute = widest(worst, case.corner, tried, range(0, PATTERNS, 8 if free > 8 else 1))
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
    (case,) = searched("shoulders")[0].cases(("left-front",))
    faces = case.box.faces
    assert np.abs(faces.shoulder).max() == pytest.approx(0.3, abs=1e-12)
    assert np.abs(faces.shoulder - faces.shoulder[:, :1]).max() < 1e-12  # an offset moves all four corners alike
    for others in (faces.plain_end, faces.lapped_end, faces.cheek, faces.inside, faces.thickness):
        assert np.abs(others).max() < 1e-12


def test_pared_shoulders_end_within_what_paring_leaves():
    """Pared at 0.1 to a bias of 0.02 and a spread of 0.03: none ends prouder than max(0.1, 0.02 + 3 x 0.03) = 0.11."""
    pare = Pare(notice=0.1, bias=0.02, spread=0.03, rounds=1)
    worst = Worst(DESIGN, workshop(FEW_ERRORS["shoulders"], pare))
    (case,) = worst.cases(("right-back",))
    assert case.box.faces.shoulder.max() <= 0.11 + 1e-9
    assert case.box.faces.shoulder.min() >= -0.3 - 1e-9
    assert settled_again(case.box, case.corner) == pytest.approx(case.found, abs=1e-5)


@long
def test_no_pared_lap_is_worse_than_what_was_found_and_proved():
    """Every shoulder at a limit, as cut, or as pared: noticed and each of its corners left at a limit of the draws."""
    pare = Pare(notice=0.1, bias=0.02, spread=0.03, rounds=1)
    worst = Worst(DESIGN, workshop(FEW_ERRORS["shoulders"], pare))
    (case,) = worst.cases(("right-back",))
    offsets = worst.errors.starts[[each.name for each in worst.errors.inputs].index("lap_saw.offset")] + np.arange(4)
    one = [(height, *([0.1] * 4)) for height in (-0.3, 0.1)]
    one += [(0.3, *draws) for draws in itertools.product((0.02 - 0.09, 0.02 + 0.09), repeat=4)]
    draws_of = np.array(list(itertools.product(one, repeat=4)))  # (boxes, 4 shoulders, offset and 4 draws)
    errors = np.tile((worst.errors.least + worst.errors.most) / 2, (len(draws_of), 1))
    errors[:, offsets] = draws_of[..., 0]
    draws = errors[:, worst.errors.count :].reshape(-1, 4, 2, 4)
    draws[:, :, 1] = draws_of[..., 1:]
    errors[:, worst.errors.count :] = draws.reshape(len(draws_of), 32)
    brute = widest(worst, case.corner, errors, (0, 9, 18, 27))
    assert case.found == pytest.approx(brute, abs=TIED * brute)
    assert brute <= case.proved <= case.found + 1e-3


@pytest.mark.parametrize("box", range(3))
def test_errors_that_are_given_settle_as_they_do(box):
    """Limits drawn in to one sampled box leave the programme nothing but to settle it: it must, and prove as much."""
    rows = maker(DESIGN, "frost_watch", "new_to_tools").model_copy(update={"pare": Pare()})
    worst = Worst(DESIGN, rows)
    inputs = worst.errors.inputs
    drawn = worst.errors.vector(values(inputs, draw_block(inputs, 3, seed=4, block=0)))[box]
    worst.errors.least, worst.errors.most, worst.errors.usual = drawn, drawn, drawn
    (case,) = worst.cases(("left-back",))
    assert np.array_equal(
        case.box.faces.gaps(), worst.model.making.faces(worst.errors.values(drawn[None])).gaps()[:, 0]
    )
    assert case.found == pytest.approx(settled_again(case.box, "left-back"), abs=1e-5)
    assert case.found > 0.1
    assert case.proved <= case.found + 1e-3


def test_corners_of_equal_height_are_noticed_together():
    """A shoulder that is out of square upright only: on the very edge of being noticed both corners are, or neither."""
    pare = Pare(notice=0.22, bias=0.06, spread=0.04, rounds=1)
    rows = {"square.upright": Disturbance(spread=0.29), "chisel.uneven": Disturbance(spread=0.08)}
    worst = Worst(DESIGN, workshop(rows, pare))
    (case,) = worst.cases(("right-back",))
    assert case.found <= case.proved <= case.found + 1e-3


@pytest.fixture(scope="module", params=["frost_watch", pytest.param("seed_box", marks=long)])  # as it falls, squared
def shipped(request):
    """One shipped design made by practised hands, with the limit case of one joint."""
    design = read_design(request.param)
    worst = Worst(design, maker(design, request.param, "practised"))
    (case,) = worst.cases(("left-back",))
    return worst, case


def test_a_shipped_design_is_proved_to_the_last_digit(shipped):
    worst, case = shipped
    squared = worst.model.design.glue_up == "squared"
    assert case.found <= case.proved <= case.found + 1e-3
    assert settled_again(case.box, case.corner, squared=squared) == pytest.approx(case.found, abs=1e-6)
    turns = case.box.poses[:, 2]  # of left, right, front, back
    assert abs(turns[2] + turns[3] - turns[0] - turns[1]) < (1e-9 if squared else np.inf)


def test_every_joint_that_opens_alike_has_its_own_box(shipped):
    """What one joint's points tell is mirrored to the others: each has errors of its own that open it as far."""
    worst, case = shipped
    others = worst.cases(("right-back", "right-front", "left-front"))
    assert [worst.like(corner) for corner in CORNERS] == ["right-back"] * 4
    for other in others:
        assert other.found == pytest.approx(case.found, abs=1e-5)
        assert other.proved == pytest.approx(case.proved, abs=1e-5)
        assert np.argmax(other.box.corner_gaps) == CORNERS.index(other.corner)


def test_no_attack_within_the_limits_opens_more_than_is_proved(shipped):
    """A hundred thousand boxes: spread evenly within the limits, at the limits, and between them and the worst case."""
    worst, case = shipped
    rng, (least, most) = np.random.default_rng(3), (worst.errors.least, worst.errors.most)
    even = rng.uniform(least, most, (30_000, len(least)))
    extreme = np.where(rng.random((30_000, len(least))) < 0.5, least, most)
    (known,) = (each for each in worst.known if each.gap == max(every.gap for every in worst.known))
    errors = worst.programme.gentlest(known.point, known.pattern, known.gap)
    near = np.where(rng.random((40_000, len(least))) < rng.random((40_000, 1)) * 0.2, extreme[:1], errors)
    for boxes in (even, extreme, near):
        assert max(widest(worst, corner, boxes, (5,)) for corner in CORNERS) <= case.proved
    assert widest(worst, CORNERS[known.point // 8], near, (5,)) > 0.9 * case.found  # the attack comes near


def test_the_programme_has_the_case_that_was_found(shipped):
    """Asked for a little less than was proved to be the most, the programme has a case at each point that opens so."""
    worst, case = shipped
    widest_known = [known for known in worst.known if known.gap > case.found - BETTER]
    assert widest_known
    for known in widest_known:
        assert worst.programme.beyond(known.point, case.found - BETTER, Effort(nodes=NODES)).pattern is not None


def test_ceilings_hold_in_every_box(shipped):
    """What linear programmes alone say of every gap holds in boxes with all errors at their limits."""
    worst, _ = shipped
    rng = np.random.default_rng(8)
    errors = np.where(rng.random((5_000, len(worst.errors.least))) < 0.5, worst.errors.least, worst.errors.most)
    gaps = worst.model.settle({TIE.name: np.full((1, 1), 0.3), **worst.errors.values(errors)})[1]
    plain = Worst(worst.model.design, worst.model.workshop).programme.ceilings
    assert (gaps.reshape(32, -1).max(axis=1) <= plain).all()
    assert (worst.programme.ceilings <= plain).all()


def test_mirrors_are_those_of_the_errors():
    """Left, right, front and back are alike; up and down only if no angle leans to one side; twist tells left too."""
    rows = {"sand.offset": Disturbance(spread=0.1), "sand.upright": Disturbance(spread=0.3), "mark.offset": BIASED}
    assert len(Worst(DESIGN, workshop(rows)).mirrors.orders) == 8
    leaning = rows | {"sand.upright": BIASED}
    assert len(Worst(DESIGN, workshop(leaning)).mirrors.orders) == 4
    twisted = Worst(DESIGN, workshop(rows | {"stock.twist": BIASED}))
    assert len(twisted.mirrors.orders) == 4  # left for right and up for down undo each other: only both together
    assert [twisted.like(corner) for corner in CORNERS] == ["right-back"] * 4


def test_a_joint_is_proved_alike_without_its_mirrors():
    mirrored, plain = searched("timber")[0], Worst(DESIGN, workshop(FEW_ERRORS["timber"]))
    plain.mirrors = Mirrors((np.arange(32),), np.arange(32))
    (whole,), (alone,) = (each.cases(("left-front",)) for each in (mirrored, plain))
    assert mirrored.like("left-front") == "right-back"
    assert whole.found == pytest.approx(alone.found, abs=1e-6)
    assert whole.proved == pytest.approx(alone.proved, abs=2 * BETTER)


def test_no_effort_leaves_a_bound_all_the_same():
    design = read_design("frost_watch")
    (case,) = Worst(design, maker(design, "frost_watch", "practised")).cases(("right-front",), nodes=0)
    assert 1 < case.found < case.proved < 100


def test_progress_counts_the_points_of_all_joints():
    _, reports = searched("shoulders")
    assert reports == sorted(reports)
    assert reports[-1] == (16, 16)


@long  # boxes of other errors are held against their limit case above
def test_no_sampled_box_within_the_limits_is_worse():
    worst = Worst(DESIGN, workshop({"saw.plan": Disturbance(spread=0.4), "chisel.uneven": Disturbance(spread=0.05)}))
    (case,) = worst.cases(("left-back",))
    drawn = values(worst.model.inputs, draw_block(worst.model.inputs, BLOCK, seed=5, block=0))
    sampled = widest(worst, "left-back", worst.errors.vector(drawn), (16,))
    assert case.found > sampled > 0.1
    assert case.proved >= case.found


def test_errors_twice_as_large_open_the_joint_twice_as_far():
    """Without paring all is linear or a smaller of two, so gaps scale with the errors."""
    found = []
    for k in (1, 2):
        rows = {"lap_saw.offset": Disturbance(bias=0.02 * k, spread=0.05 * k)}
        (case,) = Worst(DESIGN, workshop(rows)).cases(("right-front",))
        found.append(case.found)
    assert found[1] == pytest.approx(2 * found[0], abs=5e-6)  # each within 2e-6 of the widest of its pattern


def test_hands_without_errors_open_nothing():
    (case,) = Worst(DESIGN, workshop({})).cases(("right-back",))
    assert case.found == pytest.approx(0, abs=1e-6)
    assert np.abs(case.box.gaps).max() < 1e-6


def test_a_joint_that_is_none_is_refused():
    with pytest.raises(InputError) as refusal:
        Worst(DESIGN, workshop({})).cases(("top",))
    assert str(refusal.value) == "joint: got 'top', must be one of right-back, right-front, left-back, left-front"
