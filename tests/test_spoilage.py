"""How many spares a class needs: closed forms, a computation apart, promises held by other classes, refusals."""

import math
from itertools import pairwise

import numpy as np
import pytest
from boxes import still_workshop, with_rows
from scipy.stats import nbinom, norm
from stopped import stopped_at

from assembly.changes.apply import apply
from assembly.changes.change import asked
from assembly.errors import InputError, StoppedError
from assembly.files.reading import read_design, read_workshop
from assembly.files.shipped import shipped_designs, shipped_workshops
from assembly.learning.files import Draws
from assembly.model.workshop import Disturbance
from assembly.order import spoilt_classes as module
from assembly.order.spoilage import spares
from assembly.order.spoilt_classes import WallModel, spoilt_classes
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import Z95, Interval, wilson

DESIGN = read_design("frost_watch")
SEED = 7
MAKERS = 26
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(60)  # Gauss and Hermite's, for a standard normal variable
WEIGHTS = WEIGHTS / WEIGHTS.sum()


def workshop_of(**row):
    """Return a workshop in which marking a wall's length errs so, and nothing else does."""
    return with_rows(still_workshop(), {"mark.offset": Disturbance(**row)})


def short_share(bias, spread):
    """Return the share of walls that are over 1.5 mm short, of lengths so marked."""
    return norm.cdf((-1.5 - bias) / spread)


def classes_of(workshop, makers=MAKERS, classes=2_000, *, draws=None, seed=SEED, run=UNWATCHED):
    model = WallModel(design=DESIGN, workshop=workshop, draws=draws)
    return spoilt_classes(model, makers=makers, classes=classes, seed=seed, run=run)


def about(share, classes):
    """Return what a share of so many classes should be, to three standard errors."""
    return pytest.approx(share, abs=3 * math.sqrt(max(share * (1 - share), 1 / classes) / classes))


# Closed forms


def test_without_errors_no_spares():
    for each in spares(DESIGN, still_workshop(), makers=26, seed=SEED):
        assert (each.needed, each.spares, each.given_up, each.classes) == (52, 0, 0, 2_000)
        for figure in (each.runs_out, each.spoilt):
            assert (figure.value, figure.low, figure.high, figure.interval) == (0, 0, 0, Interval.EXACT)


@pytest.mark.parametrize(
    ("rows", "p"),
    [
        ({"mark.offset": Disturbance(spread=1.2)}, short_share(0, 1.2)),
        (
            {"saw.offset": Disturbance(bias=0.3, spread=0.6), "sand.offset": Disturbance(bias=9)},
            short_share(0.6, 0.6 * math.sqrt(2)),
        ),
    ],
)
def test_independent_pieces_spoil_as_the_negative_binomial_says(rows, p):
    """With no part shared, each wall takes a geometric number of blanks, and n walls a negative binomial number."""
    found = classes_of(with_rows(still_workshop(), rows), classes=4_000)
    for kind in found.spoilt:
        for number in nbinom.ppf((0.05, 0.25, 0.5, 0.75, 0.95, 0.99), 2 * MAKERS, 1 - p):
            assert (kind <= number).mean() == about(nbinom.cdf(number, 2 * MAKERS, 1 - p), 4_000)
    for each in spares(DESIGN, with_rows(still_workshop(), rows), makers=MAKERS, seed=SEED):
        assert each.runs_out.value == about(nbinom.sf(each.spares, 2 * MAKERS, 1 - p), 2_000)
        assert each.runs_out.value <= 0.05
        assert abs(each.spares - nbinom.isf(0.05, 2 * MAKERS, 1 - p)) <= 1
        assert each.spoilt.low < p < each.spoilt.high
        assert each.spoilt.value == pytest.approx(p, abs=3 * math.sqrt(p * (1 - p) / (2_000 * 52)))


def test_a_part_that_the_class_shares_is_integrated_over():
    """Given the class part c the walls are independent: the negative binomial's mean over c, by Gauss and Hermite."""
    shared, spread, classes = 0.4, 0.8, 4_000
    given = short_share(shared * NODES, spread)
    found = classes_of(workshop_of(class_spread=shared, spread=spread), classes=classes)
    for number in (0, 1, 3, 6, 10, 16):
        expected = float(WEIGHTS @ nbinom.cdf(number, 2 * MAKERS, 1 - given))
        for kind in found.spoilt:
            assert (kind <= number).mean() == about(expected, classes)
    alone = nbinom.cdf(6, 2 * MAKERS, 1 - short_share(0, math.hypot(shared, spread)))
    assert abs(alone - float(WEIGHTS @ nbinom.cdf(6, 2 * MAKERS, 1 - given))) > 0.05  # else nothing is shown


def test_a_maker_keeps_what_is_the_maker_s_own():
    """A maker who marks short spoils again: blanks by wall are E[p/(1 - p)] over the makers, not p/(1 - p) of all."""
    own, spread, makers = 0.5, 0.8, 30_000
    given = short_share(own * NODES, spread)
    by_wall = given / (1 - given)
    mean, square = 2 * float(WEIGHTS @ by_wall), float(WEIGHTS @ (2 * given / (1 - given) ** 2 + 4 * by_wall**2))
    found = classes_of(workshop_of(maker_spread=own, spread=spread), makers=1, classes=makers)
    for kind in found.spoilt:
        assert kind.mean() == pytest.approx(mean, abs=3 * math.sqrt((square - mean**2) / makers))
    all_alike = float(WEIGHTS @ given) / (1 - float(WEIGHTS @ given))
    assert mean > 1.1 * 2 * all_alike  # else nothing is shown


def test_a_class_of_any_size_is_grown_from_a_sample():
    """Mean and variance of the total: n E[m(c)] and n E[v(c)] + n² var m(c), m and v of two walls of one maker."""
    shared, spread, makers, classes = 0.15, 0.8, 5_000, 3_000
    given = short_share(shared * NODES, spread)
    m, v = 2 * given / (1 - given), 2 * given / (1 - given) ** 2
    mean, between = float(WEIGHTS @ m), float(WEIGHTS @ m**2 - (WEIGHTS @ m) ** 2)
    variance = makers * float(WEIGHTS @ v) + makers**2 * between
    found = classes_of(workshop_of(class_spread=shared, spread=spread), makers, classes)
    assert found.size == module.SAMPLED
    for kind in found.spoilt:
        sampled = (
            makers**2 * float(WEIGHTS @ v) / module.SAMPLED
        )  # what chance in the samples adds before it is drawn in
        assert kind.mean() == pytest.approx(makers * mean, abs=3 * math.sqrt((variance + sampled) / classes))
        error = 3 * (variance + sampled) * math.sqrt(3 / classes)  # skewed: kurtosis up to about 5
        assert kind.var() == pytest.approx(variance, abs=error)
        assert sampled > 2 * error  # else nothing is shown


def test_a_large_class_without_shared_parts_is_negative_binomial():
    """The mean of 500,000 makers errs by 0.08 of the standard deviation of a class of 3,000, and intervals say so."""
    p, makers = short_share(0, 1.2), 3_000
    for each in spares(DESIGN, workshop_of(spread=1.2), makers=makers, seed=SEED):
        expected = nbinom.sf(each.spares, 2 * makers, 1 - p)
        assert each.runs_out.interval == Interval.WILSON_CLASSES
        assert each.runs_out.value == pytest.approx(expected, abs=3 * each.runs_out.standard_error)
        error = math.sqrt(0.05 * 0.95 / 2_000 + (norm.pdf(norm.isf(0.05)) ** 2) * makers / 500_000)
        assert (each.runs_out.high - each.runs_out.low) / 2 == pytest.approx(Z95 * error, rel=0.05)


def test_each_class_takes_a_draw_of_a_learned_workshop():
    """Two draws in turn, of different spread: each half of the classes is negative binomial by its own."""
    figures = np.array([[[0.0], [0.0], [0.0], [0.8]], [[-0.2], [0.0], [0.0], [1.3]]])
    draws = Draws(quantities=("mark.offset",), draws=figures)
    found = classes_of(workshop_of(spread=1.0), classes=4_000, draws=draws)
    p = [short_share(0, 0.8), short_share(-0.2, 1.3)]
    for kind in found.spoilt:
        for number in (0, 2, 4, 8, 12):
            expected = np.mean([nbinom.cdf(number, 2 * MAKERS, 1 - each) for each in p])
            assert (kind <= number).mean() == about(expected, 4_000)
    [lapped, _] = spares(DESIGN, workshop_of(spread=1.0), makers=MAKERS, seed=SEED, draws=draws)
    assert lapped.spares > spares(DESIGN, workshop_of(spread=1.0), makers=MAKERS, seed=SEED)[0].spares


# What is promised


@pytest.fixture(scope="module")
def as_shipped():
    """Return design, workshop and spares of every design that ships in every workshop that does."""
    pairs = [(read_design(d), read_workshop(w)) for d in shipped_designs() for w in shipped_workshops()]
    return [(design, workshop, spares(design, workshop, makers=MAKERS, seed=1)) for design, workshop in pairs]


def test_the_chance_of_running_out_holds_in_other_classes(as_shipped):
    assert any(each.spares > 20 for *_, found in as_shipped for each in found)
    for design, workshop, found in as_shipped:
        model = WallModel(design=design, workshop=workshop)
        others = spoilt_classes(model, makers=MAKERS, classes=2_000, seed=1_000, run=UNWATCHED)
        for each, spoilt, first in zip(found, others.spoilt, others.first, strict=True):
            said, seen = each.runs_out.value, (spoilt > each.spares).mean()
            assert said <= 0.05
            error = math.sqrt((said * (1 - said) + seen * (1 - seen)) / 2_000)
            assert abs(seen - said) <= 3 * max(error, 1 / 2_000)
            assert abs(first.mean() / 52 - each.spoilt.value) <= 3 * math.sqrt(2) * max(
                each.spoilt.standard_error, 1e-5
            )


def test_the_spares_are_the_least(as_shipped):
    """With one spare fewer of a kind too many classes would run out of it."""
    assert sum(each.spares > 0 for *_, found in as_shipped[::3] for each in found) > 3
    for design, workshop, found in as_shipped[::3]:
        model = WallModel(design=design, workshop=workshop)
        same = spoilt_classes(model, makers=MAKERS, classes=2_000, seed=1, run=UNWATCHED)
        for each, spoilt in zip(found, same.spoilt, strict=True):
            assert each.runs_out == wilson(int((spoilt > each.spares).sum()), 2_000)
            assert each.spares == 0 or (spoilt > each.spares - 1).mean() > 0.05


def test_a_share_is_rounded_up_for_each_kind_and_its_chance_told():
    workshop = workshop_of(spread=1.2)
    for makers, share, expected in ((26, 0.1, 6), (15, 0.1, 3), (25, 0.1, 5), (1, 0.01, 1), (26, 0.0, 0), (2, 1.0, 4)):
        same = classes_of(workshop, makers, classes=500)
        found = spares(DESIGN, workshop, makers=makers, share=share, classes=500, seed=SEED)
        for each, spoilt in zip(found, same.spoilt, strict=True):
            assert (each.needed, each.spares) == (2 * makers, expected)
            assert each.runs_out == wilson(int((spoilt > expected).sum()), 500)


def test_more_makers_and_smaller_chances_need_no_fewer_spares():
    workshop = read_workshop("new_to_tools")
    found = [spares(DESIGN, workshop, makers=makers, classes=1_000, seed=1) for makers in (5, 10, 20, 40)]
    found += [spares(DESIGN, workshop, makers=40, classes=1_000, chance=chance, seed=1) for chance in (0.02, 0.01)]
    for fewer, more in pairwise(found):
        assert all(a.spares <= b.spares for a, b in zip(fewer, more, strict=True))
    assert found[0][0].spares < found[3][0].spares < found[5][0].spares


def test_a_shorter_study_is_the_start_of_a_longer_one_whatever_the_threads():
    workshop = read_workshop("new_to_tools")
    long = classes_of(workshop, classes=1_000, run=Run(threads=2))
    short = classes_of(workshop, classes=400, run=Run(threads=1))
    assert (short.spoilt == long.spoilt[:, :400]).all()
    assert (short.first == long.first[:, :400]).all()
    assert (classes_of(workshop, classes=400, seed=SEED + 1).spoilt != short.spoilt).any()


def test_a_study_that_is_stopped_tells_of_the_classes_that_it_made():
    workshop, reports = workshop_of(spread=1.2), []
    for each in spares(DESIGN, workshop, makers=100, seed=SEED, run=stopped_at(20_000, reports)):
        assert 200 <= each.classes < 2_000
        assert each.spares == spares(DESIGN, workshop, makers=100, classes=each.classes, seed=SEED)[0].spares
    assert {of for _, of in reports} == {200_000}
    with pytest.raises(StoppedError):
        spares(DESIGN, workshop, makers=100, seed=SEED, run=Run(stop=lambda: True))


# Refusals, whole

CHANCE = "chance of running out: got {}, must be between 0.005 and 0.5, as 2000 simulated classes tell no smaller"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ({"makers": 0}, "makers: got 0, must be 1 or more"),
        ({"classes": 1}, "classes: got 1, must be 2 or more"),
        ({"seed": -1}, "seed: got -1, must be 0 or more"),
        (
            {"chance": 0.004},
            CHANCE.format("0.004"),
        ),
        (
            {"chance": math.nan},
            "chance of running out: got nan, must be between 0.005 and 0.5, as 2000 simulated classes tell no smaller",
        ),
        ({"share": -0.1}, "share of spares: got -0.1, must be between 0 and 10, of the pieces needed"),
        ({"share": math.nan}, "share of spares: got nan, must be between 0 and 10, of the pieces needed"),
    ],
)
def test_numbers_that_can_not_be(words, message):
    with pytest.raises(InputError) as refused:
        spares(DESIGN, workshop_of(spread=1.0), **{"makers": 26, "seed": SEED, **words})
    assert str(refused.value) == message


def refusal(design, workshop):
    with pytest.raises(InputError) as refused:
        spares(design, workshop, makers=26, seed=SEED)
    return str(refused.value)


def refused_still(design, workshop, *settings):
    """Tell whether a design and a workshop with some settings are refused."""
    changed = apply(asked(settings), design, workshop)
    try:
        spares(*changed, makers=26, classes=200, seed=SEED)
    except InputError:
        return True
    return False


def test_a_tongue_that_is_drawn_too_thin_is_refused_with_cures_that_hold():
    design, workshop = apply(asked(["timber.lap_share=0.84"]), DESIGN, read_workshop("new_to_tools"))
    assert refusal(design, workshop) == (
        "workshop 'New to tools': scrap.tongue has a wall spoilt with a tongue under 2.5 mm, and the design draws "
        "tongues of 2.4 mm, so every lapped wall would be; --set workshop.scrap.tongue=1.8 or --set timber.lapped=19 "
        "will do"
    )
    assert not refused_still(design, workshop, "workshop.scrap.tongue=1.8")
    assert not refused_still(design, workshop, "timber.lapped=19")
    assert refused_still(design, workshop, "workshop.scrap.tongue=1.9")
    assert refused_still(design, workshop, "timber.lapped=18")


def never_good(share, kind, why, cure):
    """Return the refusal of a workshop without a name."""
    return (
        f"workshop 'no errors': {share} % of {kind} walls are spoilt from 100 blanks in a row, {why}, and at most 1 % "
        f"may be, as no number of spares is enough then; {cure}"
    )


SHORT = "shorter than meant by more than 1.5 mm (scrap.short)"
OVERCUT = "with a lap cut too deep by more than 1 mm (scrap.overcut)"


def test_makers_who_never_make_a_good_wall_are_refused_with_a_cure_that_holds():
    workshop = workshop_of(bias=-2, spread=0.2)
    cure = "--set workshop.scrap.short=1.88 will do"
    assert refusal(DESIGN, workshop) == never_good(54.35, "plain", SHORT, cure)
    assert short_share(-2, 0.2) ** 100 == pytest.approx(0.5435, abs=3 * math.sqrt(0.25 / 2_000))
    assert not refused_still(DESIGN, workshop, "workshop.scrap.short=1.88")


def test_several_faults_are_eased_together():
    rows = {
        "mark.offset": Disturbance(bias=-2, maker_spread=0.5),
        "chisel.offset": Disturbance(bias=-1, maker_spread=1),
    }
    workshop = with_rows(still_workshop(), rows)
    eased = ("workshop.scrap.short=3.66", "workshop.scrap.overcut=3.81")
    cure = f"--set {eased[0]} --set {eased[1]} will do"
    assert refusal(DESIGN, workshop) == never_good(92.2, "lapped", f"{SHORT} or {OVERCUT}", cure)
    assert not refused_still(DESIGN, workshop, *eased)
    assert all(refused_still(DESIGN, workshop, one) for one in eased)


def test_a_fault_that_another_hid_is_eased_too():
    """Laps that may be cut 6 mm deeper leave tongues too thin, which nobody saw before."""
    workshop = with_rows(still_workshop(), {"gauge.offset": Disturbance(bias=-4.5, maker_spread=0.5)})
    eased = ("workshop.scrap.overcut=7.45", "workshop.scrap.tongue=1.6")
    cure = f"--set {eased[0]} --set {eased[1]} will do"
    assert refusal(DESIGN, workshop) == never_good(100, "lapped", OVERCUT, cure)
    assert not refused_still(DESIGN, workshop, *eased)
    assert all(refused_still(DESIGN, workshop, one) for one in eased)


def test_where_nothing_that_may_be_allowed_is_enough():
    cure = "make the biases and spreads of its operations smaller"
    assert refusal(DESIGN, workshop_of(bias=-20)) == never_good(100, "lapped", SHORT, cure)
