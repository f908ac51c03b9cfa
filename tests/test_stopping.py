"""When a study stops by itself: the standard's own examples of δ, and the stop where theory puts it."""

import math
import subprocess
import sys

import numpy as np
import pytest
from models import Formula, additive, plain
from stopped import stopped_at

from assembly.errors import InputError
from assembly.made.sampling import BLOCK
from assembly.study import blocks
from assembly.study.blocks import tally
from assembly.study.driver import Run
from assembly.study.intervals import t95
from assembly.study.stopping import adaptive, numerical_tolerance, standard_errors


@pytest.mark.parametrize(
    ("u", "digits", "expected"),
    [
        (0.00035, 2, 0.000005),  # JCGM 101:2008, 7.9.2, example 1 (from memory): 35 × 10⁻⁵ g
        (0.00035, 1, 0.00005),  # example 2: 4 × 10⁻⁴ g
        (2.0, 1, 0.5),  # example 3: 2 K
        (2.0, 2, 0.05),  # additive models of 9.2: 20 × 10⁻¹
        (0.0996, 2, 0.005),  # rounds to 10 × 10⁻²
        (0.0994, 2, 0.0005),  # 99 × 10⁻³
        (0.0, 2, 0.0),
    ],
)
def test_numerical_tolerance(u, digits, expected):
    assert numerical_tolerance(u, digits) == expected


@pytest.mark.parametrize(("freedom", "t"), [(1, 12.706), (2, 4.303), (10, 2.228), (30, 2.042), (1000, 1.962)])
def test_students_t(freedom, t):
    """Source: Student's table, as in JCGM 100:2008, Table G.2, with one digit more."""
    assert t95(freedom) == pytest.approx(t, abs=0.0005)


def test_nothing_is_known_of_a_spread_from_one_block():
    assert t95(0) == math.inf


def test_additive_example_stops_where_theory_puts_it():
    """Ends of the 95 % interval of N(0, 2): the last to settle, at 2 √(p(1 - p)/N)/f < 0.05, so N = 45,800.

    Two blocks or three would often agree by chance; five are the least: over 12 studies some 5 to 8.
    """
    counts = []
    for seed in range(12):
        found = adaptive(additive("normal"), ["y"], quantiles=(0.025, 0.975), seed=seed)
        assert found.stopped == "settled"
        assert numerical_tolerance(found.total.std("y"), 2) == 0.05
        assert all(2 * each.half_width / t95(found.blocks - 1) < 0.05 for each in found.figures.values())
        counts.append(found.blocks)
        for (_, what), each in found.figures.items():
            expected = {"mean": 0, "sd": 2, "0.025": -3.92, "0.975": 3.92}[what]
            assert each.value == pytest.approx(expected, abs=0.1)  # twice δ
    assert 5 <= min(counts) <= np.mean(counts) < 8


def test_standard_errors_are_those_of_theory():
    """Never settled, as 4 digits are asked for: 100 blocks, whose s is known to 1/√(2 · 99), 7 %; 4 times that."""
    found = adaptive(additive("normal"), ["y"], quantiles=(0.5,), digits=4, cap=1_000_000)
    assert (found.stopped, found.total.boxes) == ("cap", 1_000_000)
    estimates = {what: each for (_, what), each in found.figures.items()}
    boxes, sd = 1_000_000, 2.0
    expected = {
        "mean": sd / math.sqrt(boxes),
        "sd": sd / math.sqrt(2 * boxes),
        "0.5": sd * math.sqrt(math.pi / 2 / boxes),
    }
    for what, error in expected.items():
        assert estimates[what].half_width == pytest.approx(t95(99) * error, rel=0.28)
    assert estimates["mean"].value == pytest.approx(0, abs=4 * expected["mean"])
    assert {each.interval for each in estimates.values()} == {"student-blocks"}


@pytest.fixture
def whole_blocks(monkeypatch):
    """Have small models evaluated a block at a time: a window that fits a box's memory is many calls for them."""
    monkeypatch.setattr(blocks, "WINDOW", BLOCK)


@pytest.mark.usefixtures("whole_blocks")
def test_intervals_of_a_share_from_blocks_cover_what_they_say():
    """2,000 studies of three blocks, too few to stop by themselves: Student's t of 2 degrees of freedom."""
    model = Formula([plain("x", 0, 1)], lambda x: x < 0.5, rows=("passes",))
    estimates = [
        adaptive(model, [], shares=["passes"], cap=30_000, seed=s, run=Run(threads=1)).figures["passes", "mean"]
        for s in range(2_000)
    ]
    assert 0.935 < np.mean([each.low < 0.691462 < each.high for each in estimates]) < 0.965  # Φ(0.5)


def test_standard_error_of_a_figure_by_hand():
    """1, 2, 3, 6 in four blocks: mean 3, s² = (4 + 1 + 0 + 9)/3, standard error √(14/3)/2 (JCGM 101:2008, 7.9.4)."""
    found = standard_errors([np.array([each, 5.0]) for each in (1.0, 2.0, 3.0, 6.0)])
    assert found == pytest.approx([math.sqrt(14 / 3) / 2, 0.0], rel=1e-12)


@pytest.mark.usefixtures("whole_blocks")
def test_studies_that_stop_by_themselves_are_not_taken_in_by_blocks_that_agree():
    """Three digits of a share take millions of boxes; none of 200 studies may claim them at 50,000.

    Two blocks agree to δ = 0.0005 where s is 0.0046, by chance in 5 of 100 studies; five do in hardly any.
    """
    model = Formula([plain("x", 0, 1)], lambda x: x < 0.5, rows=("passes",))
    runs = [
        adaptive(model, [], shares=["passes"], digits=3, cap=60_000, seed=s, run=Run(threads=1)) for s in range(200)
    ]
    assert {each.stopped for each in runs} == {"cap"}


def test_a_figure_without_spread_is_settled():
    model = Formula([plain("x", 0, 1)], lambda x: (x * 0 + 0.1, x), rows=("still", "y"))
    found = adaptive(model, ["still"], cap=100_000)
    assert (found.stopped, found.total.boxes) == ("settled", 50_000)
    assert found.figures["still", "mean"].value == pytest.approx(0.1)


def test_same_numbers_whatever_the_threads_and_the_same_as_a_fixed_count():
    one, many = (adaptive(additive("uniform"), ["y"], seed=5, run=Run(threads=n)) for n in (1, 3))
    assert one.figures == many.figures
    fixed = tally(additive("uniform"), boxes=one.total.boxes, seed=5)
    assert (one.total.counts == fixed.counts).all()
    assert one.total.mean("y") == fixed.mean("y")


def test_stopped_by_hand():
    found = adaptive(additive("normal"), ["y"], digits=4, run=stopped_at(30_000))
    assert (found.stopped, found.blocks, found.total.boxes) == ("interrupted", 3, 30_000)


@pytest.mark.parametrize(
    ("settings", "message"),
    [
        ({"digits": 0}, "digits: got 0, must be 1 to 4"),
        ({"digits": 5}, "digits: got 5, must be 1 to 4"),
        ({"cap": 19_999}, "boxes: got 19999, must be 20000 or more for a study that stops by itself"),
    ],
)
def test_what_can_not_be_asked(settings, message):
    with pytest.raises(InputError) as caught:
        adaptive(additive("normal"), ["y"], **settings)
    assert str(caught.value) == message


def test_a_plain_check_loads_no_statistics_library():
    """Every tolerance module but the worst case starts without scipy's statistics and optimisers."""
    code = (
        "import sys; import assembly.study.forecast, assembly.study.sensitivity, assembly.study.improvements, "
        "assembly.study.compare, assembly.study.stopping, assembly.study.linearised, "
        "assembly.study.inspection; "
        "print([m for m in ('scipy.stats', 'scipy.optimize', 'scipy.special') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_a_check_told_in_text_needs_none_either():
    """The exact interval of the pass share takes one, and is worked out for data only."""
    code = (
        "import sys; sys.argv = ['lapwright', 'check', 'frost_watch', '--boxes', '500']\n"
        "from viewer import cli\n"
        "try: cli.main()\n"
        "except SystemExit: pass\n"
        "print([m for m in ('scipy.stats', 'scipy.optimize', 'scipy.special') if m in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr == "[]\n"
