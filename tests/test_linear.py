"""A plain sum of tolerances beside sampled boxes: published stacks, closed forms, and where it misleads."""

import math
import os
import subprocess
import sys

import numpy as np
import pytest
from commands import ROOT
from models import CLUTCH, MASS, MOTOR, Formula, additive, plain, shaft

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.made.sampling import Input
from assembly.study.check import BoxModel
from assembly.study.linearised import linear_parts, products, sweep


def part_of(model, **settings):
    return linear_parts(model, ["y"], **settings)["y"]


def test_motor_gap():
    """Source: see `models.MOTOR`. Published worst case .0955, RSS .0381 (recomputed .03808), modified RSS .0505."""
    found = part_of(MOTOR)
    worst, rss = found.worst_case, 3 * found.rss  # tolerances are three standard deviations
    assert worst == pytest.approx(0.0955, abs=1e-9)
    assert rss == pytest.approx(0.03808, abs=5e-6)
    factor = 0.5 * (worst - rss) / (rss * (math.sqrt(11) - 1)) + 1
    assert factor * rss == pytest.approx(0.0505, abs=5e-5)
    assert found.mean == pytest.approx(0.0615, abs=4 * found.rss / math.sqrt(20_000))
    assert found.explained.value == pytest.approx(1, abs=1e-9)


def test_shaft_and_housing():
    """Source: see `models.shaft`: .0245, .01108; with B, D, E, F scaled by .47222 or 1.39526, the target .015."""
    assert part_of(shaft()).worst_case == pytest.approx(0.0245, abs=1e-9)
    assert 3 * part_of(shaft()).rss == pytest.approx(0.01108, abs=5e-6)
    assert part_of(shaft(0.47222)).worst_case == pytest.approx(0.015, abs=1e-6)
    assert 3 * part_of(shaft(1.39526)).rss == pytest.approx(0.015, abs=1e-6)


def test_one_way_clutch():
    """Source: see `models.CLUTCH`: linear worst case ± 0.98061°, RSS ± 0.65788°; slopes -11.9105, -23.7317, 11.8212."""
    found = part_of(CLUTCH, boxes=100_000)
    # The slopes over sampled boxes are those at the middle but for the third-order term: 0.1 % here.
    assert found.worst_case == pytest.approx(0.98061, rel=0.003)
    assert 3 * found.rss == pytest.approx(0.65788, rel=0.003)
    slopes = [float(found.coefficients[name][0]) for name in "ace"]
    assert slopes == pytest.approx([-11.9105, -23.7317, 11.8212], rel=0.004)
    assert found.is_a_sum
    # What is left is what the second-order method (sd 0.219346) adds to the linear one.
    left = (0.219346**2 - (0.65788 / 3) ** 2) / 0.219668**2
    assert 1 - found.explained.value == pytest.approx(left, abs=5e-5)


def test_where_a_plain_sum_misleads():
    """JCGM 101:2008, 9.2.4 (from memory): ± 19.9 by the sum, ± 17.0 sampled, though R² is 1; δ is 0.5 at u = 10.1."""
    found = part_of(additive("uniform", (1, 1, 1, 10)), boxes=400_000)
    assert found.rss == pytest.approx(math.sqrt(103), rel=1e-9)
    assert found.coverage == pytest.approx((-19.9, 19.9), abs=0.05)
    assert [end.value for end in found.sampled] == pytest.approx((-17.0, 17.0), abs=0.06)
    assert (found.tolerance, found.agrees, found.is_a_sum) == (0.5, False, True)


def test_where_a_plain_sum_does():
    """JCGM 101:2008, 9.2.2: both ± 3.92 within δ = 0.05."""
    found = part_of(additive("normal"), boxes=400_000)
    assert (found.tolerance, found.agrees) == (0.05, True)


def test_mass_calibration_is_not_a_sum():
    """JCGM 101:2008, 9.3, Table 6 (from memory): first order 0.0539 and [1.1285, 1.3395], sampled u 0.0754.

    The product of air density and weight density that is left out makes half of the variance.
    """
    found = part_of(MASS, boxes=400_000)
    assert found.rss == pytest.approx(0.0539, rel=0.005)
    assert found.coverage == pytest.approx((1.1285, 1.3395), abs=0.001)
    assert found.explained.value == pytest.approx((0.05385 / 0.07548) ** 2, abs=0.005)
    assert (found.is_a_sum, found.agrees) == (False, False)


def test_what_places_share_adds_up_before_it_is_squared():
    """y = Σ of three places: worst case 3 · 3 √(σc² + σm² + σ²), sum of squares (3σc)² + (3σm)² + 3σ²."""
    each = Input(name="p", group="p", places=3, class_spread=0.2, maker_spread=0.5, spread=1.1)
    found = part_of(Formula([each], lambda p: p.sum(axis=0)))
    assert found.worst_case == pytest.approx(9 * math.sqrt(0.2**2 + 0.5**2 + 1.1**2), rel=1e-9)
    assert found.rss == pytest.approx(math.sqrt(9 * 0.2**2 + 9 * 0.5**2 + 3 * 1.1**2), rel=1e-9)
    assert found.coefficients["p"] == pytest.approx([1, 1, 1])


def test_limits_of_a_shared_uniform_error():
    """Without a cut part one coefficient stands for all places: |2| times √3 (σc + σm)."""
    each = Input(name="p", group="p", places=2, family="uniform", class_spread=0.2, maker_spread=0.5)
    found = part_of(Formula([each], lambda p: p.sum(axis=0)))
    assert found.worst_case == pytest.approx(2 * math.sqrt(3) * 0.7, rel=1e-9)


def test_chance_in_the_fit_does_not_add_up():
    """y is noise in x1² alone: 60 other inputs have no part in it, and √Σ stays within chance of zero."""
    inputs = [plain(f"x{i}", 0, 1) for i in range(60)]
    found = part_of(Formula(inputs, lambda **x: x["x1"] ** 2))
    # Left alone, 60 coefficients of standard error √2/√20000 would add to 0.077.
    assert found.rss < 0.077
    assert found.explained.value < 0.002
    assert not found.is_a_sum


@pytest.mark.parametrize(
    "shape",
    [lambda **x: x["x1"] ** 2, lambda **x: x["x1"] + 0.3 * x["x2"] ** 2, lambda **x: x["x1"] + x["x2"] * x["x3"]],
)
def test_what_is_explained_is_no_less_sure_than_repeated_fits_show(shape):
    """200 fits of 1,000 boxes: they differ by no more than is said, and by a third of that at least."""
    inputs = [plain(f"x{i}", 0, 1) for i in range(10)]
    found = [part_of(Formula(inputs, shape), boxes=1_000, seed=seed).explained for seed in range(200)]
    said = np.mean([each.standard_error for each in found])
    assert said / 3 < np.std([each.value for each in found], ddof=1) < 1.1 * said


def test_an_outcome_without_spread():
    found = part_of(Formula([plain("x", 0, 1)], lambda x: x * 0 + 3))
    assert (found.mean, found.rss, found.explained.value) == (pytest.approx(3), pytest.approx(0, abs=1e-9), 1)


def test_the_last_digits_of_sums_are_no_spread():
    """What differs by 1e-16 from box to box has no δ to disagree by."""
    found = part_of(Formula([plain("x", 0, 1)], lambda x: 0.6 + 1e-16 * np.floor(x)))
    assert (found.sd, found.rss, found.worst_case, found.tolerance, found.explained.value) == (0, 0, 0, 0, 1)
    assert found.agrees
    assert found.coverage == tuple(end.value for end in found.sampled)


def test_a_gap_of_the_box_is_not_a_sum_of_errors_and_a_size_nearly_is():
    box = BoxModel(read_design("configs/frost_watch.toml"), read_workshop("new_to_tools"))
    found = linear_parts(box, ["joint_gap", "length"], boxes=10_000)
    assert found["joint_gap"].explained.value < 0.2
    assert 0.75 < found["length"].explained.value < 0.9
    assert found["length"].rss == pytest.approx(
        found["length"].sd * math.sqrt(found["length"].explained.value), rel=0.02
    )


def test_second_method_is_a_library_fit():
    rng_free = Formula([plain("x", 0.4, 0.3), plain("z", 0, 1)], lambda x, z: np.exp(x) + 0.3 * z)
    found = part_of(rng_free, boxes=10_000)
    # Stein: the least-squares slope on a normal input is the mean derivative, exp(0.4 + 0.3²/2) here.
    assert float(found.coefficients["x"][0]) == pytest.approx(math.exp(0.445), rel=0.01)
    assert float(found.coefficients["z"][0]) == pytest.approx(0.3, abs=0.01)


def test_too_few_boxes():
    with pytest.raises(InputError) as caught:
        part_of(additive("normal"), boxes=9)
    assert str(caught.value) == "boxes: got 9, must be 10 or more to fit 4 disturbances"


def test_products_and_sweep_are_those_of_a_library():
    """500 boxes, which slabs do not divide, 70 columns, three outcomes; numpy's own product, inverse and fit."""
    rng = np.random.default_rng(20260101)
    x, y = rng.standard_normal((500, 70)), rng.standard_normal((500, 3))
    sums = products(np.vstack([x.T, y.T]))
    assert sums == pytest.approx(np.hstack([x, y]).T @ np.hstack([x, y]), abs=1e-11)
    swept, (slopes, left, *_) = sweep(sums, 70), np.linalg.lstsq(x, y)
    assert swept[:70, :70] == pytest.approx(np.linalg.inv(x.T @ x), abs=1e-15)
    assert swept[:70, 70:] == pytest.approx(slopes, abs=1e-13)
    assert np.diag(swept)[70:] == pytest.approx(left, abs=1e-10)


def test_the_same_figures_with_any_number_of_threads():
    """All that a check tells, to the last digit, with one thread of linear algebra and with two."""
    printed = []
    for threads in ("1", "2"):
        words = ["check", "frost_watch", "--boxes", "1000", "--json"]
        environment = os.environ | {"OPENBLAS_NUM_THREADS": threads, "PYTHONPATH": str(ROOT)}
        code = [sys.executable, "-m", "viewer", *words]
        printed.append(subprocess.run(code, env=environment, capture_output=True, text=True, check=False).stdout)
    assert '"worst_case"' in printed[0]
    assert printed[0] == printed[1]
