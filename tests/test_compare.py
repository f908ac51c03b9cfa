"""Two models on the same boxes: what they share falls out, and paired intervals cover what they say."""

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from models import Formula, plain
from stopped import stopped_at

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.made.sampling import Input, draw_block
from assembly.study.check import check
from assembly.study.compare import compare, compare_models, comparison_of, shared_draws
from assembly.study.driver import Run
from assembly.study.intervals import Z95, paired_share

DESIGN = read_design("configs/frost_watch.toml")


def shifted(mean: float, extra: float = 0.0, limit: float = 1.0) -> Formula:
    """Return x + e with a shift, where e is only drawn if it varies; passes below the limit."""
    inputs = [plain("x", mean, 1.0), plain("e", 0.0, extra)]
    return Formula(inputs, lambda x, e: (x + e, x + e < limit), rows=("y", "passes"))


def test_a_shift_is_told_exactly():
    """Both models draw the same x: mean and median differ by the shift, with no sampling error at all."""
    found = compare_models(shifted(0.0), shifted(0.3), ["y"], boxes=20_000)
    for estimate in (found.outcomes["y"].mean, found.outcomes["y"].median):
        assert [estimate.value, estimate.low, estimate.high] == pytest.approx([0.3] * 3, abs=1e-9)


def test_pass_shares_differ_by_the_normal_distribution():
    boxes = 400_000
    found = compare_models(shifted(0.0), shifted(0.3), ["y"], boxes=boxes)
    before, after = NormalDist().cdf(1.0), NormalDist().cdf(0.7)
    lost = before - after  # whoever passes after the shift passed before
    error = math.sqrt(lost * (1 - lost) / boxes)
    assert found.pass_share.value == pytest.approx(-lost, abs=4 * error)
    assert found.pass_share.high - found.pass_share.low == pytest.approx(2 * Z95 * error, rel=0.01)
    assert found.first.value == pytest.approx(before, abs=4 * math.sqrt(before * (1 - before) / boxes))
    assert found.second.value - found.first.value == pytest.approx(found.pass_share.value, abs=1e-12)


def test_interval_of_a_mean_is_that_of_the_difference():
    """y' - y = e of standard deviation 0.2, whatever x does."""
    boxes = 100_000
    mean = compare_models(shifted(0.0), shifted(0.0, 0.2), ["y"], boxes=boxes).outcomes["y"].mean
    assert mean.high - mean.low == pytest.approx(2 * Z95 * 0.2 / math.sqrt(boxes), rel=0.01)
    assert mean.low < 0 < mean.high


def test_median_of_a_wider_spread():
    """The median of exp(s x) is 1 for every s; its mean exp(s²/2) is not."""
    wide, narrow = (
        Formula([plain("x", 0.0, s)], lambda x: (np.exp(x), x < 9), rows=("y", "passes")) for s in (1.0, 0.5)
    )
    found = compare_models(wide, narrow, ["y"], boxes=200_000).outcomes["y"]
    # 1,000 boxes' median of exp(s x) has a mean of about 1 + s² π/(4 · 1000): 0.0006 between the two.
    assert found.median.value == pytest.approx(-0.0006, abs=4 * (found.median.high - found.median.value) / Z95)
    assert found.mean.value == pytest.approx(math.exp(0.125) - math.exp(0.5), abs=0.025)


def test_paired_intervals_cover_what_they_say():
    """2,000 studies of 400 boxes."""
    rng = np.random.default_rng(12)
    cells = rng.multinomial(400, [0.6, 0.08, 0.12, 0.2], size=2_000)
    estimates = [paired_share(gained, lost, 400) for _, lost, gained, _ in cells]
    assert 0.935 < np.mean([each.low < 0.04 < each.high for each in estimates]) < 0.965


@pytest.mark.parametrize("batches", [2, 10])
def test_intervals_of_a_median_cover_what_they_say_however_few_its_batches(batches):
    """2,000 rows of batch medians around 0: Student's t for their number, 12.7 and not 1.96 for two."""
    rows = [f"y{at}" for at in range(2_000)]
    medians = np.random.default_rng(13).standard_normal((len(rows), batches))
    cells, sums = np.array([1.0, 0, 0, 1]), np.zeros((2, len(rows)))
    found = comparison_of(rows, cells, sums, medians, seed=1, partial=False).outcomes.values()
    assert 0.935 < np.mean([each.median.low < 0 < each.median.high for each in found]) < 0.965


def test_of_many_boxes_it_is_the_interval_of_a_mean():
    """300 boxes gained and 100 lost of 10,000: differences of +1, -1 and 0, whose standard error is elementary."""
    estimate = paired_share(300, 100, 10_000)
    differences = np.repeat([1.0, -1.0, 0.0], [300, 100, 9_600])
    assert estimate.value == differences.mean()
    assert estimate.high - estimate.low == pytest.approx(2 * Z95 * differences.std() / 100, rel=0.002)


def test_no_box_gained_or_lost_is_not_taken_for_certain():
    """By the formula, ± z/(N + 2) for an empty middle: half a box in each of four cells."""
    estimate = paired_share(0, 0, 98)
    assert [estimate.value, estimate.low, estimate.high] == pytest.approx([0, -Z95 / 100 * 1.0, Z95 / 100 * 1.0])


def test_draws_in_common_are_the_same_numbers():
    """Kept, widened, of another family, new, and with more places: each as if drawn for itself."""
    before = [plain("kept", 0, 1), plain("wider", 0, 1), plain("other", 0, 1), Input(name="more", group="m", spread=1)]
    after = [
        plain("kept", 2, 1),
        plain("wider", 0, 3),
        plain("other", 0, 1, "uniform"),
        Input(name="more", group="m", places=2, spread=1, maker_spread=0.1),
        plain("new", 0, 1),
    ]
    draws = draw_block(before, 50, seed=4, block=2)
    found = shared_draws(after, before, draws, 50, seed=4, block=2)
    alone = draw_block(after, 50, seed=4, block=2)
    assert set(alone) <= set(found)
    for key, array in alone.items():
        np.testing.assert_array_equal(found[key], array)
    assert found["kept", "cut"] is draws["kept", "cut"]
    np.testing.assert_array_equal(found["more", "cut"][:1], draws["more", "cut"])


def test_two_workshops_differ_by_what_each_is_told_alone():
    """Second method: two studies with the same seed."""
    new, practised = read_workshop("new_to_tools"), read_workshop("practised")
    found = compare((DESIGN, new), (DESIGN, practised), boxes=20_000, seed=4)
    first, second = (check(DESIGN, workshop, boxes=20_000, seed=4) for workshop in (new, practised))
    assert found.first.value == pytest.approx(first.pass_share.value, abs=1e-12)
    assert found.second.value == pytest.approx(second.pass_share.value, abs=1e-12)
    for name, difference in found.outcomes.items():
        a, b = first.outcomes[name], second.outcomes[name]
        assert difference.mean.value == pytest.approx(b.mean.value - a.mean.value, abs=1e-9)
        assert difference.median.value == pytest.approx(b.quantiles[0.5].value - a.quantiles[0.5].value, abs=0.02)
        mean = difference.mean
        assert mean.low < mean.value < mean.high or a == b  # of what the timber alone decides
    assert not found.partial


def test_the_same_twice_differs_in_nothing():
    pair = DESIGN, read_workshop("practised")
    found = compare(pair, pair, boxes=2_000)
    assert found.pass_share.value == 0
    assert all(each.mean.low == each.mean.high == each.median.high == 0 for each in found.outcomes.values())


def test_same_numbers_whatever_the_threads_and_stopped_half_way():
    one, many = (compare_models(shifted(0), shifted(1, 0.4), ["y"], boxes=32_500, run=Run(threads=n)) for n in (1, 3))
    assert one == many
    part = compare_models(shifted(0), shifted(1, 0.4), ["y"], boxes=32_500, run=stopped_at(10_000))
    whole = compare_models(shifted(0), shifted(1, 0.4), ["y"], boxes=10_000)
    assert part == replace(whole, partial=True)


def test_too_few_boxes():
    with pytest.raises(InputError) as caught:
        compare_models(shifted(0), shifted(1), ["y"], boxes=1_999)
    assert str(caught.value) == "boxes: got 1999, must be 2000 or more to compare medians"
