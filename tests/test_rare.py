"""The likeliest bad boxes and how many there are: closed forms, textbooks, a search and a count written apart."""

import math
from statistics import NormalDist

import numpy as np
import pytest
from models import Formula, additive, between, plain
from rare_apart import counted, descended
from scipy.optimize import minimize
from stopped import stopped_at
from sweep import long

from assembly.errors import InputError, StoppedError
from assembly.files.reading import maker, read_design
from assembly.made.sampling import Input
from assembly.model.design import Limit
from assembly.nominal.frame import CORNERS
from assembly.rare.likeliest import bad_boxes, settled
from assembly.rare.mirrors import Mirror, to_joint
from assembly.rare.points import Points
from assembly.rare.share import Mixture, weighed
from assembly.rare.space import BrokenLimit
from assembly.study.check import BoxModel
from assembly.study.driver import Run

PHI = NormalDist().cdf
DESIGN = read_design("frost_watch")
MODELS = {hands: BoxModel(DESIGN, maker(DESIGN, "frost_watch", hands)) for hands in ("new_to_tools", "practised")}
GAP, JOINT = Limit(max=1.5), "gap right-back"


def found(model, limit, **settings):
    (bad,) = bad_boxes(model, [("y", limit)], **settings)
    return bad


def near(share, exact, errors=4):
    """Whether a share is as it should be, within so many of its standard errors, and those are some percent of it."""
    return abs(share.value - exact) < errors * share.standard_error and share.standard_error < 0.1 * exact


def test_a_straight_limit_has_its_closed_form():
    """Σ a x > b with x standard normal: the likeliest box lies b/|a| away along a, and Φ(-b/|a|) of boxes break it."""
    a = np.array([1.0, 2.0, 0.5, 3.0])
    bad = found(additive("normal", a), Limit(max=3.6 * float(np.linalg.norm(a))))
    assert bad.points.beta[0] == pytest.approx(3.6, abs=1e-4)
    assert bad.points.u[:, 0] == pytest.approx(3.6 * a / np.linalg.norm(a), abs=1e-2)
    assert near(bad.share, PHI(-3.6))
    assert bad.effective > 1_000


def test_levels_and_places_of_an_input_are_coordinates_of_their_own():
    """The sum of two places shares class and maker part: its standard deviation is √(4 (0.5² + 1.5²) + 2 · 2²)."""
    shared = Input(name="x", group="x", places=2, bias=1, class_spread=0.5, maker_spread=1.5, spread=2)
    bad = found(Formula([shared], lambda x: x.sum(axis=0)), Limit(max=2 + 3 * math.sqrt(18)))
    assert bad.points.beta[0] == pytest.approx(3, abs=1e-4)
    assert bad.points.u[:, 0] == pytest.approx(3 * np.array([1, 3, 2, 2]) / math.sqrt(18), abs=1e-2)


@pytest.mark.parametrize(("family", "reach"), [("uniform", math.sqrt(3)), ("triangular", math.sqrt(6))])
def test_other_families_go_through_their_distribution_functions(family, reach):
    """One input over b: Φ(-β) is its own share there, (c - b)/2c of a uniform, (c - b)²/2c² of a triangular one."""
    b = 0.99 * reach
    exact = 0.005 if family == "uniform" else 0.00005
    bad = found(Formula([plain("x", 0, 1, family)], lambda x: x), Limit(max=b))
    assert bad.points.beta[0] == pytest.approx(-NormalDist().inv_cdf(exact), abs=1e-4)
    assert near(bad.share, exact)
    assert found(Formula([plain("x", 0, 1, family)], lambda x: -x), Limit(min=-b)).points.beta[0] == pytest.approx(
        bad.points.beta[0], abs=1e-4
    )


def test_two_limits_alike_are_both_found():
    """|Σ x| > b: two points, and twice the share of one."""
    bad = found(additive("normal"), Limit(within=2 * 3.5))
    assert len(bad.points) == 2
    assert bad.points.beta == pytest.approx([3.5, 3.5], abs=1e-4)
    assert bad.points.u[:, 0] == pytest.approx(-bad.points.u[:, 1], abs=1e-2)
    assert near(bad.share, 2 * PHI(-3.5))


def test_a_beam_of_a_textbook():
    """Strength F times section modulus Z under a moment of 1140: β = 4.261.

    Source: Haldar & Mahadevan, Probability, Reliability and Statistical Methods in Engineering Design, Wiley 2000 (from
    memory), with both normal; here also by a general solver from twenty starts.
    """
    bad = found(Formula([plain("f", 38, 3.8), plain("z", 54, 2.7)], lambda f, z: f * z), Limit(min=1140))
    starts = np.random.default_rng(1).normal(size=(20, 2)) * 3
    rule = {"type": "eq", "fun": lambda u: (38 + 3.8 * u[0]) * (54 + 2.7 * u[1]) - 1140}
    again = min(each.fun**0.5 for each in (minimize(lambda u: u @ u, x, constraints=rule) for x in starts))
    assert bad.points.beta[0] == pytest.approx(again, abs=1e-3)
    assert bad.points.beta[0] == pytest.approx(4.261, abs=1e-3)


def test_a_system_of_four_branches():
    """Two bent and two straight limits, nearest at 3 and 7/2 on the diagonals; share 2.226e-3 by a fine sum here.

    Source: Waarts, Structural reliability using finite element methods, Delft 2000 (from memory).
    """
    root = math.sqrt(2)

    def worst(x, y):
        bent, straight = 3 + 0.1 * (x - y) ** 2, 7 / root
        return np.minimum(bent - np.abs(x + y) / root, straight - np.abs(x - y))

    bad = found(Formula([plain("x", 0, 1), plain("y", 0, 1)], worst), Limit(min=0))
    at = np.linspace(-9, 9, 2001)
    x, y = np.meshgrid(at, at)
    exact = float((np.exp(-(x**2 + y**2) / 2)[worst(x, y) < 0]).sum()) * (at[1] - at[0]) ** 2 / (2 * math.pi)
    assert bad.points.beta[:4] == pytest.approx([3, 3, 3.5, 3.5], abs=1e-3)
    assert near(bad.share, exact)


@pytest.fixture(scope="module")
def joints():
    """One joint of the frost watch settled by the first tie pattern, by both hands."""
    return {hands: bad_boxes(model, [(JOINT, GAP)], pattern=0)[0] for hands, model in MODELS.items()}


def test_figures_of_the_reference(joints):
    """MODEL.md, 5.7: β at most 1.891 and 3.62, shares 0.0220 and 9.9e-5 ± 0.4e-5, which 7.6 million boxes gave."""
    assert joints["new_to_tools"].points.beta[0] <= 1.891
    assert joints["practised"].points.beta[0] <= 3.62
    assert abs(joints["new_to_tools"].share.value - 0.0220) < 3 * joints["new_to_tools"].share.standard_error
    share = joints["practised"].share
    assert abs(share.value - 9.9e-5) < 3 * math.hypot(share.standard_error, 0.4e-5 / 2)
    assert share.standard_error < 1.5e-5
    assert joints["practised"].effective > 30


def test_one_centre_alone_is_not_enough(joints):
    """Around the likeliest point alone about half of the bad boxes is missed, with an error that does not say so."""
    known = joints["practised"]
    rng = np.random.default_rng(5)
    alone, together = (
        weighed(known.broken, mixture, 40_000, rng).share
        for mixture in (Mixture(known.points.u[:, :1], np.ones(1)), Mixture.around(known.seen.distinct(48, 1.5)))
    )
    assert alone.value < 0.7 * 9.9e-5
    assert abs(alone.value - 9.9e-5) > 4 * math.hypot(alone.standard_error, 0.4e-5 / 2)
    assert abs(together.value - 9.9e-5) < 3 * math.hypot(together.standard_error, 0.4e-5 / 2)


@pytest.mark.parametrize("hands", MODELS)
def test_no_search_written_apart_comes_nearer(joints, hands):
    """From 24 broken boxes, by plain steps to the linearised limit (`bench_rare.py` takes many more)."""
    assert joints[hands].points.beta[0] < 1.01 * descended(MODELS[hands], JOINT, GAP, starts=24, seed=3)


@pytest.mark.parametrize(("hands", "most"), [("new_to_tools", 2.5), pytest.param("practised", 1.25, marks=long)])
def test_weighed_shares_are_those_of_a_plain_count(hands, most):
    """1 in 1,000 boxes or so, among 200,000 of another seed, settled by every tie pattern."""
    limit = Limit(max=most)
    (bad,) = bad_boxes(MODELS[hands], [(JOINT, limit)])
    share = counted(MODELS[hands], JOINT, limit, boxes=200_000, seed=9)
    assert bad.effective > 30
    assert abs(bad.share.value - share) < 4 * math.hypot(bad.share.standard_error, math.sqrt(share / 200_000))


def test_what_ten_times_as_many_boxes_show_often_is_counted_among_those():
    limit = Limit(max=1.7)
    (bad,) = bad_boxes(MODELS["new_to_tools"], [(JOINT, limit)])
    assert (bad.effective, bad.boxes, bad.share.interval) == (None, 100_000, "wilson")
    share = counted(MODELS["new_to_tools"], JOINT, limit, boxes=60_000, seed=9)
    assert bad.share.value == pytest.approx(share, abs=4 * math.sqrt(share * (1 / 100_000 + 1 / 60_000)))


def test_the_interval_of_a_weighed_share_holds_it_in_95_of_100_studies():
    """A bent limit, x + y²/10 > 3, around its one nearest point: few boxes far off it weigh much.

    The share by a fine sum over y of φ(y) (1 - Φ(3 - y²/10)). 1,000 studies of 600 boxes know a coverage of 95 % to
    ±1.4 % (two binomial errors). 1.96 standard errors either side cover less.
    """
    model = Formula([plain("x", 0, 1), plain("y", 0, 1)], lambda x, y: x + 0.1 * y**2)
    at = np.linspace(-9, 9, 4001)
    beyond = np.array([1 - PHI(3 - 0.1 * y**2) for y in at])
    exact = float((np.exp(-(at**2) / 2) * beyond).sum() * (at[1] - at[0]) / math.sqrt(2 * math.pi))
    limit, mixture = (
        BrokenLimit(model, "y", Limit(max=3.0)),
        Mixture(np.array([[0, 3.0], [0, 0]]), np.array([0.1, 0.9])),
    )
    rng = np.random.default_rng(3)
    studies = [weighed(limit, mixture, 600, rng) for _ in range(1_000)]
    held = [each.share.low <= exact <= each.share.high for each in studies]
    assert np.mean(held) == pytest.approx(0.95, abs=2 * math.sqrt(0.95 * 0.05 / 1_000))
    assert np.mean([each.share.value for each in studies]) == pytest.approx(exact, rel=0.015)
    assert np.mean([abs(each.share.value - exact) < 1.96 * plain_error(each) for each in studies]) < 0.93


def plain_error(study):
    """Return the standard error of a weighed share, from the spread of weights around each centre."""
    total = 0.0
    for part, boxes in enumerate(study.drawn):
        weights = np.zeros(boxes)
        some = study.weight[study.of == part]
        weights[: some.size] = some
        total += boxes * weights.var()
    return math.sqrt(total) / study.drawn.sum()


def test_what_is_often_broken_is_counted():
    limit = Limit(max=1.0)
    (bad,) = bad_boxes(MODELS["new_to_tools"], [(JOINT, limit)])
    assert (bad.effective, bad.boxes, bad.share.interval) == (None, 10_000, "wilson")
    share = counted(MODELS["new_to_tools"], JOINT, limit, boxes=20_000, seed=9)
    assert bad.share.value == pytest.approx(share, abs=4 * math.sqrt(share * (1 / 10_000 + 1 / 20_000)))


@pytest.mark.parametrize("hands", MODELS)
def test_the_likeliest_box_only_just_breaks_the_limit(joints, hands):
    box, beyond = settled(joints[hands].broken, joints[hands].points)
    assert 1.5 < box.corner_gaps[CORNERS.index("right-back")] < 1.5 + 1e-4
    assert box.outcomes["joint_gap"] == pytest.approx(box.gaps.max(), abs=1e-12)
    assert not beyond


@pytest.mark.parametrize("corner", CORNERS)
def test_mirrored_boxes_open_the_mirrored_joint_alike(corner):
    """No error is biased to one side but marks, and those shift a wall along: gaps are the same to rounding."""
    model = MODELS["new_to_tools"]
    limit, other = (BrokenLimit(model, f"gap {at}", GAP) for at in ("right-back", corner))
    boxes = limit.sampled(300, np.random.default_rng(2))
    assert other.margins(to_joint(other, boxes, 0)) == pytest.approx(limit.margins(boxes), abs=1e-9)


def test_upside_down_the_faces_are_those_of_the_box():
    """Up for down swaps the corners of every face; where a frame then goes in its play is up to its tie pattern."""
    model = MODELS["new_to_tools"]
    limit = BrokenLimit(model, "joint_gap", GAP)
    boxes = limit.sampled(50, np.random.default_rng(2))
    first, image = (model.making.faces(limit.values(at)) for at in (boxes, Mirror(up_down=True).image(limit, boxes)))
    swapped = image.gaps().reshape(4, 2, 4, -1)[:, :, [1, 0, 3, 2]]
    assert swapped == pytest.approx(first.gaps().reshape(4, 2, 4, -1), abs=1e-12)


def test_a_limit_that_nothing_breaks_has_no_box():
    bad = found(Formula([between("x", -1, 1)], lambda x: x), Limit(max=1.5))
    assert (len(bad.points), bad.share.value, bad.usual) == (0, 0.0, False)
    assert bad.share.high < 1e-3


def test_a_limit_that_the_usual_box_breaks_has_that_one():
    bad = found(additive("normal"), Limit(max=-1.0))
    assert bad.usual
    assert bad.share.value == pytest.approx(PHI(1 / 2), abs=0.02)
    assert (found(additive("normal"), Limit(max=-100.0)).share.value) == 1.0


def test_the_same_whatever_the_threads():
    limits = [(name, MODELS["practised"].limits[name]) for name in ("screw_wood", "plaque_spare")]
    one, two = (bad_boxes(MODELS["practised"], limits, run=Run(threads=threads)) for threads in (1, 2))
    assert [each.broken.row for each in one] == ["screw_wood", "plaque_spare"]
    for first, second in zip(one, two, strict=True):
        assert first.share == second.share
        assert np.array_equal(first.points.u, second.points.u)


def test_a_run_that_is_stopped_tells_of_the_limits_that_are_done():
    model = Formula([plain("x", 0, 1)], lambda x: (x, 2 * x, 3 * x), rows=("y", "z", "w"))
    limits = [(row, Limit(max=3.0)) for row in model.rows]
    reports: list[tuple[int, int]] = []
    assert [each.broken.row for each in bad_boxes(model, limits, run=stopped_at(1, reports, threads=1))] == ["y"]
    assert reports == [(1, 3)]
    with pytest.raises(StoppedError):
        bad_boxes(model, limits, run=Run(stop=lambda: True))


def test_a_row_that_is_none_is_refused():
    with pytest.raises(InputError) as refusal:
        bad_boxes(MODELS["practised"], [("joint_gaps", GAP)])
    assert str(refusal.value) == "outcome: unknown name 'joint_gaps'; did you mean 'joint_gap'?"


def test_points_that_lie_alike_are_one():
    u = np.array([[2.0, 0.0], [0.0, 3.0], [2.1, 0.5], [-4.0, 0.0]]).T
    points = Points(u, np.zeros(4, dtype=np.int64))
    assert points.distinct(9).beta == pytest.approx([2, 3, 4])
    assert points.distinct(9, 1.5).beta == pytest.approx([2, 3])
    assert points.distinct(1).beta == pytest.approx([2])
