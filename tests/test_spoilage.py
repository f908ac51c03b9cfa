"""How many spares a class needs: closed forms, a second computation, promises held by other classes, refusals."""

import math

import pytest
from boxes import still_workshop, with_rows
from scipy.stats import nbinom, norm

from assembly.files.reading import read_design
from assembly.model.workshop import Disturbance
from assembly.order.spoilage import spares
from assembly.order.spoilt_classes import WallModel, spoilt_classes
from assembly.study.driver import UNWATCHED
from assembly.study.intervals import Interval

DESIGN = read_design("frost_watch")
SEED = 7


def workshop_of(**rows):
    """Return a workshop whose marking of lengths errs so, and nothing else."""
    return with_rows(still_workshop(), {"mark.offset": Disturbance(**rows)})


def classes_of(workshop, makers, classes=2_000, **settings):
    return spoilt_classes(
        WallModel(design=DESIGN, workshop=workshop, **settings),
        makers=makers,
        classes=classes,
        seed=SEED,
        run=UNWATCHED,
    )


def within(found, expected, classes):
    """Tell whether a share of so many classes is within three standard errors of what it should be."""
    return found == pytest.approx(expected, abs=3 * math.sqrt(max(expected * (1 - expected), 1 / classes) / classes))


def test_without_errors_no_spares():
    for each in spares(DESIGN, still_workshop(), makers=26, seed=SEED):
        assert (each.needed, each.spares, each.given_up, each.classes) == (52, 0, 0, 2_000)
        for figure in (each.runs_out, each.spoilt):
            assert (figure.value, figure.low, figure.high, figure.interval) == (0, 0, 0, Interval.EXACT)


def test_independent_pieces_spoil_as_the_negative_binomial_says():
    """With no part shared, each wall needs a geometric number of blanks, and n walls a negative binomial number."""
    p, makers, classes = norm.cdf(-1.5 / 1.2), 26, 4_000
    found = classes_of(workshop_of(spread=1.2), makers, classes)
    for kind in found.spoilt:
        for number in (1, 4, 6, 9, 12):
            assert within((kind <= number).mean(), nbinom.cdf(number, 2 * makers, 1 - p), classes)
