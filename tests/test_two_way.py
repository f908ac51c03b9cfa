"""The two-way layout: printed examples to their digits, a second method, intervals that hold, and what `learn` does."""

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest
from pandas import DataFrame
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm

from assembly.files.reading import read_design, read_workshop
from assembly.learning.instrument_files import read_instruments
from assembly.learning.instruments import Instrument
from assembly.learning.readings import COLUMNS, read_readings
from assembly.learning.steadiness import _steadiness, found_in, with_found
from assembly.learning.two_way import largest_layout, two_way
from viewer.reports.learning_report import steadiness_line

DESIGN, WORKSHOP = read_design("frost_watch"), read_workshop("new_to_tools")

# Automotive Industry Action Group, Measurement Systems Analysis, 4th ed., worked example: ten parts, three trials each
# by appraisers A, B and C; data and results as printed in three independent open test suites.
AIAG = np.array(
    [
        [[0.29, -0.56, 1.34, 0.47, -0.80, 0.02, 0.59, -0.31, 2.26, -1.36],
         [0.41, -0.68, 1.17, 0.50, -0.92, -0.11, 0.75, -0.20, 1.99, -1.25],
         [0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31]],
        [[0.08, -0.47, 1.19, 0.01, -0.56, -0.20, 0.47, -0.63, 1.80, -1.68],
         [0.25, -1.22, 0.94, 1.03, -1.20, 0.22, 0.55, 0.08, 2.12, -1.62],
         [0.07, -0.68, 1.34, 0.20, -1.28, 0.06, 0.83, -0.34, 2.19, -1.50]],
        [[0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49],
         [-0.11, -1.13, 1.09, 0.20, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77],
         [-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16]],
    ]
).transpose(2, 0, 1)  # fmt: skip


def test_the_worked_example_of_the_manual():
    """Sums of squares and variances by McNeese (2015) on it: to all printed digits."""
    found = two_way(AIAG)
    assert (round(found.things.sum, 3), round(found.readers.sum, 3)) == (88.362, 3.167)
    assert round(found.both.plus(found.rest).sum, 3) == 3.118
    assert found.pooled
    assert found.both.mean / found.rest.mean == pytest.approx(0.434, abs=0.0005)
    assert (round(found.repeated.value, 4), round(found.between.value, 4)) == (0.0400, 0.0515)
    assert (round(found.measuring, 4), round(found.thing, 3)) == (0.0914, 1.086)
    share = 100 * math.sqrt(found.measuring / (found.measuring + found.thing))
    assert share == pytest.approx(27.86, abs=0.005)
    assert found.together is None


@pytest.mark.parametrize(("things", "readers", "times"), [(5, 3, 2), (8, 2, 4), (3, 6, 3)])
def test_statsmodels_finds_the_same(things, readers, times):
    """Sums of squares, degrees of freedom and the chance of the interaction, of layouts with one."""
    rng = np.random.default_rng([things, readers])
    values = rng.standard_normal((things, 1, 1)) + 0.5 * rng.standard_normal((things, readers, 1))
    values = values + 0.3 * rng.standard_normal((things, readers, times))
    thing, reader, _ = np.indices(values.shape)
    data = DataFrame({"y": values.ravel(), "thing": thing.ravel(), "reader": reader.ravel()})
    table = anova_lm(ols("y ~ C(thing) * C(reader)", data).fit())
    found = two_way(values)
    for each, (_, row) in zip((found.things, found.readers, found.both, found.rest), table.iterrows(), strict=True):
        assert (each.sum, each.freedom) == (pytest.approx(row["sum_sq"]), row["df"])
    assert found.chance == pytest.approx(table["PR(>F)"].iloc[2])


@pytest.mark.parametrize("spreads", [(1.0, 1.0, 1.0), (0.3, 0.5, 1.0)])
def test_nine_intervals_in_ten_hold_the_truth(spreads):
    """6 things, 4 readers, 3 times; the two differences and the repeated part, each within 2 of 100 of 90."""
    reader, both, own = spreads
    rng, held = np.random.default_rng(4), []
    for _ in range(1_500):
        values = rng.standard_normal((6, 1, 1)) + reader * rng.standard_normal((1, 4, 1))
        values = values + both * rng.standard_normal((6, 4, 1)) + own * rng.standard_normal((6, 4, 3))
        found = two_way(values)
        if not found.pooled:
            pairs = ((found.repeated, own), (found.between, reader), (found.together, both))
            held.append([each.low <= spread**2 <= each.high for each, spread in pairs])
    shares = np.mean(held, axis=0)
    assert shares[:2] == pytest.approx([0.9, 0.9], abs=0.025)
    if both == 1.0:  # smaller interactions are left out where they are not found
        assert shares[2] == pytest.approx(0.9, abs=0.025)


def test_nothing_repeated_is_refused():
    with pytest.raises(ValueError, match=r"^a layout of 4 things, 1 readers, 1 times has nothing repeated$"):
        two_way(np.zeros((4, 1, 1)))


def test_the_largest_balanced_layout_is_taken():
    """Three things by readers 1 and 2 twice, one of which reader 2 read once; a fourth by reader 1 alone."""
    read = {name: {1: [1.0, 1.1], 2: [1.2, 1.3]} for name in "abc"}
    read["d"] = {1: [2.0, 2.1]}
    read["c"][2] = [1.2]
    values, readers = largest_layout(read)
    assert (values.shape, readers) == ((2, 2, 2), (1, 2))  # 4 + 1 free, where all three once have 2, reader 1 has 4
    assert largest_layout({"a": {1: [1.0]}}) is None


@pytest.mark.parametrize(
    ("sd", "division", "blades", "counts"),
    [(0.05, 0.05, (), "used"), (0.02, 0.05, (), "coarse"), (0.2, 0.0, (0.1,), "blades")],
)
def test_when_what_is_found_counts(sd, division, blades, counts):
    """What the division adds, d²/12, is taken off where it counts."""
    values = np.random.default_rng(3).standard_normal((40, 5, 1)) * sd + 15
    each = Instrument(name="x", division=division, blades=blades)
    found = _steadiness(each, values.shape, two_way(values))
    assert found.counts == counts
    own = two_way(values).repeated.value
    assert found.own.value == pytest.approx(math.sqrt(max(own - division**2 / 12, 0)))
    few = _steadiness(each, (3, 5, 1), two_way(values[:3]))
    assert few.counts == ("blades" if blades else "few")  # 2 times 4 degrees of freedom


LINES = [  # a tenth's caliper in hands that are less steady than the table has it: 6 walls, 3 readers, twice each
    f"1,{maker},{part},,thickness,,{15 + value / 10:.1f},caliper,{reader},{trial}"
    for maker, part, values in (
        (1, "left", ((1, 4), (2, 0), (3, 3))),
        (1, "right", ((0, 3), (1, 1), (4, 1))),
        (2, "left", ((2, 0), (-1, 2), (2, 4))),
        (2, "right", ((5, 1), (2, 3), (2, 5))),
        (3, "left", ((-1, 1), (0, -3), (2, 0))),
        (3, "right", ((3, 2), (-1, 2), (1, 3))),
    )
    for reader, trials in enumerate(values, start=1)
    for trial, value in enumerate(trials, start=1)
]


def test_learn_takes_what_readings_over_again_show(run):
    Path("r.csv").write_text("\n".join([",".join([*COLUMNS, "reader", "trial"]), *LINES]), encoding="utf-8")
    code, out, err = run("learn", "frost_watch", "r.csv", "--json")
    assert (code, err) == (0, "")
    values = np.array([float(line.split(",")[6]) for line in LINES]).reshape(6, 3, 2)
    found = two_way(values)
    (told,) = json.loads(out)["instruments"]
    assert (told["instrument"], told["things"], told["readers"], told["times"]) == ("caliper", 6, 3, 2)
    assert (told["table"], told["counts"]) == (0.05, "used")
    own = math.sqrt(found.repeated.value - 0.01 / 12)
    assert told["own"]["value"] == pytest.approx(own)
    instruments = read_instruments("exports/frost_watch_instruments.csv")
    assert instruments["caliper"].given == pytest.approx(own, abs=5e-5)
    source = "unsteadiness: found from 6 things that 3 readers read 2 times each"
    assert instruments["caliper"].source == source
    assert {name: each for name, each in instruments.items() if name != "caliper"} == {
        name: each for name, each in read_instruments().items() if name != "caliper"
    }
    with Path("exports/frost_watch_instruments.csv").open(encoding="utf-8") as file:
        assert [row["name"] for row in csv.DictReader(file)] == list(read_instruments())


def test_each_instrument_is_told_in_one_line(tmp_path):
    """What is found and whether it counts; of two things 2 * 3 * 1 + 1 * 2 = 8 degrees of freedom are too few."""
    told = {}
    for number, lines in (("six", LINES), ("two", LINES[:12])):
        (tmp_path / "r.csv").write_text("\n".join([",".join([*COLUMNS, "reader", "trial"]), *lines]), encoding="utf-8")
        readings = read_readings([str(tmp_path / "r.csv")], DESIGN, WORKSHOP, read_instruments())
        (found,) = found_in(readings)
        told[number] = steadiness_line(found)
        counted = {each.instrument.given for each in with_found(readings, [found])}
        assert counted == {found.found.given if number == "six" else 0.05}
    assert told["six"] == (
        "- caliper: 6 things that 3 readers read 2 times each show an unsteadiness of its own of 0.14 mm, 90 % between "
        "0.11 and 0.18; readers differ by 0.08 (0.03 to 0.40). It counts in place of the table's 0.05."
    )
    assert told["two"] == (
        "- caliper: 2 things that 3 readers read 2 times each show an unsteadiness of its own of 0.14 mm, 90 % between "
        "0.10 and 0.24; readers differ by 0.05 (0.00 to 0.38). That is too few to count: let three readers read five "
        "things twice each. The table's 0.05 stays."
    )
