"""The study of any model: published problems, order statistics, and the same numbers whatever the threads."""

import math

import numpy as np
import pytest
from models import CLUTCH, Formula, additive, plain
from stopped import stopped_at

from assembly.study import blocks
from assembly.study.blocks import Tally, blocks_of, tally
from assembly.study.driver import Run


def test_one_way_clutch():
    """Mean 7.014953° and sd 0.219668° over 1e9 trials. Source: see `models.CLUTCH`."""
    boxes = 2_000_000
    total = tally(CLUTCH, boxes=boxes, seed=4)
    assert total.mean("y") == pytest.approx(7.014953, abs=4 * 0.219668 / math.sqrt(boxes))
    assert total.std("y") == pytest.approx(0.219668, abs=5 * 0.219668 / math.sqrt(2 * boxes))


@pytest.mark.parametrize(("n", "expected"), [(2, 0.56419), (3, 0.84628), (4, 1.02938), (5, 1.16296), (10, 1.53875)])
def test_expected_largest_of_n_normals(n, expected):
    """Source: normal order statistics (Tippett; Harter; from memory), five decimals; n = 2 is 1/√π."""
    model = Formula([plain(f"x{i}", 0, 1) for i in range(n)], lambda **x: np.maximum.reduce(list(x.values())))
    total = tally(model, boxes=400_000, seed=9)
    assert total.mean("y") == pytest.approx(expected, abs=4 * total.std("y") / math.sqrt(total.boxes))


def test_same_numbers_whatever_the_threads_and_windows(monkeypatch):
    runs = [tally(additive("uniform"), boxes=45_678, seed=2, run=Run(threads=n)) for n in (1, 2, 5)]
    monkeypatch.setattr(blocks, "WINDOW", 777)
    runs.append(tally(additive("uniform"), boxes=45_678, seed=2, run=Run(threads=3)))
    for run in runs[1:]:
        assert (run.sums == runs[0].sums).all()
        assert (run.squares == runs[0].squares).all()
        assert (run.counts == runs[0].counts).all()


def test_quantiles_from_bins_agree_with_sorted_boxes():
    model = additive("normal")
    boxes = 30_000
    total = tally(model, boxes=boxes, seed=8)
    rows = np.hstack([blocks.block_rows(model, seed=8, block=b, boxes=n) for b, n in blocks_of(boxes)])[0]
    for share in (0.001, 0.05, 0.5, 0.95, 0.999):
        width = float(total.bins.width[0, 0])
        assert total.quantile("y", share) == pytest.approx(np.quantile(rows, share), abs=20 * width)
    assert total.mean("y") == pytest.approx(rows.mean(), rel=1e-12, abs=1e-12)
    assert total.std("y") == pytest.approx(rows.std(ddof=1), rel=1e-12)


@pytest.mark.parametrize(("shape", "kurtosis"), [(lambda x: x, 3.0), (lambda x: x**2, 15.0)])
def test_error_of_a_standard_deviation_is_that_of_the_delta_method(shape, kurtosis):
    """σ √((κ - 1)/4n): σ/√(2n) of a normal row, σ √(3.5/n) of its square, a χ² of one degree of freedom."""
    total = tally(Formula([plain("x", 0.0, 1.0)], shape), boxes=400_000, seed=9)
    expected = total.std("y") * math.sqrt((kurtosis - 1) / 4 / 400_000)
    assert total.std_error("y") == pytest.approx(expected, rel=0.01 if kurtosis == 3 else 0.05)


def test_a_row_without_spread_is_told_as_its_one_value():
    total = tally(Formula([plain("x", 0.3, 0.0)], lambda x: x), boxes=20_001, seed=1)
    assert [total.quantile("y", q) for q in (0, 0.05, 0.5, 1)] == pytest.approx([0.3] * 4, abs=1e-12)
    assert total.mean("y") == pytest.approx(0.3, abs=1e-15)
    assert total.std("y") == total.std_error("y") == 0


def test_quantiles_of_two_values_with_all_the_weight():
    rows = np.array([[0.0] * 30 + [1.0] * 70])
    total = Tally.start(("y",), rows)
    assert total.quantile("y", 0.29) == pytest.approx(0, abs=2e-4)
    assert total.quantile("y", 0.31) == pytest.approx(1, abs=2e-4)


def test_boxes_beyond_the_first_blocks_bins_are_counted_at_the_ends():
    total = Tally.start(("y",), np.linspace(0, 1, 101)[None])
    total.add(total.of(np.array([[-50.0, 70.0]])))
    assert total.counts[0, [0, -1]].tolist() == [1, 1]
    assert total.quantile("y", 0.0) == -50
    assert total.quantile("y", 1.0) == 70


def test_blocks_cover_the_boxes():
    assert list(blocks_of(25_000)) == [(0, 10_000), (1, 10_000), (2, 5_000)]
    assert list(blocks_of(20_000)) == [(0, 10_000), (1, 10_000)]


def test_more_boxes_than_memory_has_blocks_for_are_begun_and_can_be_stopped():
    reports = []
    assert tally(additive("normal"), boxes=10**15, seed=1, run=stopped_at(20_000, reports)).boxes == 20_000
    assert reports == [(20_000, 10**15)]


def test_progress_is_told_to_the_end():
    reports = []
    tally(additive("normal"), boxes=35_000, seed=1, run=Run(progress=lambda *words: reports.append(words)))
    assert reports == [(20_000, 35_000), (30_000, 35_000), (35_000, 35_000)]
