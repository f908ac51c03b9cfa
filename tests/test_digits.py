"""Nothing is printed to more digits than its uncertainty carries: every figure of a report against its own interval.

The intervals here are not those that the report rounds by: order statistics of the very boxes for a quantile, Clopper
and Pearson's for a share, the sample's own spread for a mean.
"""

import math
import re

import numpy as np
import pytest
from scipy.stats import binom

from assembly.files.reading import maker, read_design
from assembly.made.limits import excess
from assembly.model.outcomes import OUTCOMES
from assembly.nominal.frame import CORNERS
from assembly.study.blocks import block_rows
from assembly.study.check import BoxModel
from assembly.study.intervals import Z95, clopper_pearson
from viewer.commands.checking import CLASSES, LINEAR_BOXES
from viewer.reports.rounding import UNITS

BOXES, MAKERS, SEEDS = 400, 26, (1, 2)
FIGURE = r"[+-]?\d[\d,]*(?:\.\d+)?"
MODEL = BoxModel(read_design("frost_watch"), maker(read_design("frost_watch"), "frost_watch"))


def unit(figure):
    """Return the place of the last digit that a figure tells; zeros at the end of a whole number tell none."""
    whole, _, decimals = figure.replace(",", "").strip("+-").partition(".")
    return 10.0 ** -len(decimals) if decimals else 10.0 ** (len(whole) - len(whole.rstrip("0") or whole))


def digits(figure):
    """Return how many digits a figure tells, zeros before the first one aside."""
    return len(re.sub(r"[^\d]", "", figure).lstrip("0").rstrip("" if "." in figure else "0"))


def carried(figure, half):
    """Return whether a figure is printed to no finer a place than its 95 % half-width leaves it.

    One that tells a single digit may reach the first digit of the half-width, others only a place that holds it; twice
    that, as both half-widths are estimates.
    """
    return half < (10 if digits(figure) <= 1 else 2) * unit(figure)


def quantile_half(values, share):
    """Return half the 95 % interval between order statistics, whatever the distribution."""
    low, high = np.clip(binom.ppf((0.025, 0.975), values.size, share).astype(int), 0, values.size - 1)
    return float(np.diff(np.sort(values)[[low, high]])[0]) / 2


def share_half(count, boxes):
    found = clopper_pearson(round(count), boxes)
    return 100 * found.half_width


def mean_half(values):
    return Z95 * float(values.std(ddof=1)) / math.sqrt(values.size)


def scale(name):
    return 100.0 if OUTCOMES[name].unit == "1" else 1.0


def named(label):
    """Return the outcome that a report tells under a label."""
    return next(name for name, words in OUTCOMES.items() if label.startswith(words.label))


def cells(out):
    return [[cell.strip() for cell in line.split("|")] for line in out.splitlines() if " | " in line]


def no_signed_zero(out):
    return not re.search(r"(?<![\d.])-0(\.0+)?(?![\d.])", out)


@pytest.mark.parametrize("seed", SEEDS)
def test_check_tells_no_digit_too_many(printed, seed):
    out = printed("check", "frost_watch", "--boxes", str(BOXES), "--seed", str(seed), "--rule", "1", "--details")
    rows_of = dict(zip(MODEL.rows, block_rows(MODEL, seed=seed, block=0, boxes=BOXES), strict=True))
    rows = [row for row in cells(out) if len(row) == 5][1:]
    assert len(rows) == len(OUTCOMES)
    for label, _, middle, ends, keep in rows:
        name = named(label)
        for figure, share in zip((middle, *ends.split(" to ")), (0.5, 0.05, 0.95), strict=True):
            assert carried(figure, scale(name) * quantile_half(rows_of[name], share)), (name, share, figure)
        if keep != "-":
            count = rows_of[f"keeps {name}"].sum()
            assert carried(keep.removesuffix(" %"), share_half(count, BOXES)), (name, keep)
    text = out.replace("\n", " ")
    share = share_half(rows_of["passes"].sum(), BOXES)
    good, kept = re.search(rf"About ({FIGURE}) of 26 boxes keep every limit: ({FIGURE}) %", text).groups()
    assert carried(kept, share)
    assert MAKERS * share / 100 < 10 * unit(good)
    assert no_signed_zero(out)
    class_figures(text, seed, rows_of)
    linear_figures(text, seed)


def class_figures(text, seed, studied):
    """Hold what is said of classes against the classes themselves, and shares of boxes against those studied."""
    classes = -(-CLASSES[0] // (10_000 // MAKERS)) * (10_000 // MAKERS)
    rows = block_rows(MODEL, seed=seed, block=0, boxes=classes * MAKERS, class_size=MAKERS)
    rows_of = dict(zip(MODEL.rows, rows, strict=True))
    expected, low, high = re.search(
        rf"Of 26 makers, expect ({FIGURE}) with a good box; nine classes in ten have ({FIGURE}) to ({FIGURE})\.", text
    ).groups()
    counts = rows_of["passes"].reshape(classes, MAKERS).sum(axis=1)
    assert MAKERS * share_half(studied["passes"].sum(), BOXES) / 100 < 10 * unit(expected)
    for figure, share in ((low, 0.05), (high, 0.95)):
        assert quantile_half(counts, share) < 10 * unit(figure)
    for label, share, mean in re.findall(rf"- ([^-]+?): missed in ({FIGURE}) % of boxes, by ({FIGURE})", text):
        name = named(label)
        beyond = excess(MODEL.limits[name], rows_of[name])
        assert carried(share, share_half((excess(MODEL.limits[name], studied[name]) > 0).sum(), BOXES)), label
        assert carried(mean, scale(name) * mean_half(beyond[beyond > 0])), label
    (joints,) = re.findall(rf"and each is too wide in ({FIGURE}) % of boxes", text) or ["0"]
    missed = 1 - rows_of[f"keeps gap {CORNERS[0]}"]
    assert carried(joints, share_half(missed.sum(), missed.size))


def linear_figures(text, seed):
    """Hold what is said of a plain sum, and of the boxes that it is fitted over, against those boxes."""
    rows_of = dict(zip(MODEL.rows, block_rows(MODEL, seed=seed, block=0, boxes=LINEAR_BOXES), strict=True))
    label, *ends = re.search(
        rf"misleads\. For (.+?) it puts 95 boxes in 100 between ({FIGURE}) and ({FIGURE})"
        rf".+? between ({FIGURE}) and ({FIGURE})",
        text,
    ).groups()
    halves = [scale(named(label)) * quantile_half(rows_of[named(label)], share) for share in (0.025, 0.975)]
    assert all(carried(figure, half) for figure, half in zip(ends, halves * 2, strict=True))


CALLED = ("called_good", "good", "false_accept", "false_reject")


def measured_figures(data):
    measured, finer = data["measured"], data["measured"]["finer"]
    counts = {name: measured[name]["value"] * BOXES for name in CALLED}
    counts |= {f"finer {name}": finer[name]["value"] * BOXES for name in CALLED}
    return counts, {
        each["name"]: [each[w]["value"] * BOXES for w in ("refused", "passed")] for each in measured["limits"]
    }


@pytest.mark.parametrize("seed", SEEDS)
def test_what_a_rule_calls_good_is_told_with_no_digit_too_many(both, seed):
    _, out, data = both("check", "frost_watch", "--boxes", str(BOXES), "--seed", str(seed), "--rule", "1")
    out = out.replace("\n", " ")
    printed_shares = re.search(
        rf"mm, ({FIGURE}) % of boxes would be called good, where ({FIGURE}) % are: "
        rf"({FIGURE}) % of all boxes would be called good and are not, ({FIGURE}) %",
        out,
    ).groups()
    counts, limits = measured_figures(data)
    for figure, name in zip(printed_shares, CALLED, strict=True):
        assert carried(figure, share_half(counts[name], BOXES)), (name, figure)
    finer = re.search(
        rf"to 0.5 mm: ({FIGURE}) % would be called good, ({FIGURE}) % wrongly passed, ({FIGURE}) % wrongly refused", out
    ).groups()
    for figure, name in zip(finer, ("called_good", "false_accept", "false_reject"), strict=True):
        assert carried(figure, share_half(counts[f"finer {name}"], BOXES)), (name, figure)
    wrong = re.findall(rf"- ([^-]+?), [^-]+?; ({FIGURE}) % of boxes wrongly\s+refused, ({FIGURE}) %\s+wrongly", out)
    assert len(wrong) >= 1
    for label, *figures in wrong:
        for figure, count in zip(figures, limits[named(label)], strict=True):
            assert carried(figure, share_half(count, BOXES)), (label, figure)


def in_interval(value, ends, low, high, finest):
    """Return whether a figure and its ends are printed alike, to the first digit of the half-width and no finer."""
    half = (high - low) / 2
    if ends.startswith("under ±"):  # printed alike at both ends
        return half < float(ends.removeprefix("under ±")) == unit(value) == 10.0**-finest
    figures = (value, *ends.split(" to "))
    places = {len(figure.partition(".")[2]) for figure in figures}
    return (
        len(places) == 1
        and (half == 0 or half < 10 * min(map(unit, figures)) or max(places) == 0)
        and max(places) <= finest
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_causes_tells_no_digit_too_many(both, seed):
    _, out, data = both("causes", "frost_watch", "--details", "--boxes", str(BOXES), "--seed", str(seed))
    sd = re.search(rf"standard deviation ({FIGURE}) mm", out.replace("\n", " "))[1]
    gap = block_rows(MODEL, seed=seed, block=0, boxes=BOXES)[0]
    squares = (gap - gap.mean()) ** 2
    assert carried(sd, mean_half(squares) / (2 * gap.std()))
    found = {each["name"]: each for each in data["operations"]}
    rows = [row for row in cells(out) if len(row) == 6][1:]
    for label, value, ends, *split in rows:
        name = "settling" if label == "chance in settling" else re.search(r"\((\w+)\)$", label)
        each = found[name if isinstance(name, str) else name[1]] if name else None
        if each:
            assert in_interval(value, ends, 100 * each["share"]["low"], 100 * each["share"]["high"], 1), label
        assert all(figure == "-" or re.fullmatch(FIGURE, figure) for figure in split if figure)
    parts = {each["name"]: each for each in (*data["split"], *data["levels"])}
    levels = dict(
        zip(("class", "maker", "cut"), re.findall(rf"({FIGURE}) %", out.partition("By who shares")[2]), strict=False)
    )
    for level, figure in levels.items():
        half = 50 * (parts[level]["share"]["high"] - parts[level]["share"]["low"])
        assert half < 10 * unit(figure), (level, figure)
    gains = data["helps"]["gains"]
    for label, value, ends, _ in [row for row in cells(out) if len(row) == 4 and re.fullmatch(FIGURE, row[1])]:
        near = [each for each in gains if abs(each["boxes"]["value"] - float(value)) <= unit(value)]
        assert any(in_interval(value, ends, each["boxes"]["low"], each["boxes"]["high"], 1) for each in near), label
    assert no_signed_zero(out)


@pytest.mark.parametrize("seed", SEEDS)
def test_compare_tells_no_digit_too_many(both, seed):
    _, out, data = both("compare", "frost_watch", "seed_box", "--boxes", "2000", "--seed", str(seed), "--details")
    for which in ("first", "second"):
        share = data[which]["pass_share"]["value"]
        figure = re.search(rf"{which.title()}: .+?: ({FIGURE}) %", out)[1]
        assert carried(figure, share_half(2000 * share, 2000))
    points, ends, boxes, box_ends = re.search(
        rf"less first: ({FIGURE}) percentage points \((.+?)\); in a class of \d+, ({FIGURE}) boxes \((.+?)\)",
        out.replace("\n", " "),
    ).groups()
    low, high = data["pass_share"]["low"], data["pass_share"]["high"]
    assert in_interval(points, ends, 100 * low, 100 * high, 1)
    makers = read_design("seed_box").makers
    assert in_interval(boxes, box_ends, makers * low, makers * high, 1)
    rows = [row for row in cells(out) if len(row) == 5][1:]
    lines = out.replace("\n", " ").split("The same in both: ")[1]
    slight = re.findall(r"Too small a difference to show: (.+?)\.", out.replace("\n", " "))
    assert len(rows) + sum(len(each.split(", ")) for each in (lines, *slight)) == len(OUTCOMES)
    for label, median, median_ends, mean, mean_ends in rows:
        name = named(label)
        for value, ends, what in ((median, median_ends, "median"), (mean, mean_ends, "mean")):
            found = data["outcomes"][name][what]
            finest = 1 if scale(name) == 100 else 2
            ends_of = scale(name) * found["low"], scale(name) * found["high"]
            assert in_interval(value, ends, *ends_of, finest), (label, what)
    assert no_signed_zero(out)


def test_every_unit_has_a_sign():
    assert set(UNITS) == {each.unit for each in OUTCOMES.values()}
