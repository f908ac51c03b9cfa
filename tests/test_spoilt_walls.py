"""Which walls are spoilt: each way on its own a little to either side of its limit, and shares in closed form.

A workshop without chance makes every wall alike, so a wall that is spoilt once is spoilt until it is given up. The box
is that of MODEL.md, 3: T = 15, t = 10, D = K = 7.5, H = 45, plain walls 145 long, lapped walls 90.
"""

import itertools
import math
import random
from functools import cache

import numpy as np
import pytest
from boxes import still_workshop, with_rows
from designs import designs
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from assembly.files.reading import read_design, read_workshop
from assembly.learning.features import FEATURES, Place, Spot
from assembly.model.workshop import Disturbance, Pare, Scrap
from assembly.nominal.frame import frame
from assembly.order.making_again import BLANKS, FAULTS, KINDS, QUANTITIES
from assembly.order.spoilt_classes import WallModel

DESIGN = read_design("frost_watch")
DEGREE = math.radians(1)
FAR = Disturbance(bias=20)  # sawn so far out that only the sander counts
ROOMY = Scrap(overcut=20)


def spoilt_always(rows, *, design=DESIGN, **settings):
    """Return which kinds of wall are spoilt however often they are made, and how, by a workshop of biases alone."""
    workshop = with_rows(still_workshop(**settings), {name: Disturbance(bias=bias) for name, bias in rows.items()})
    made = WallModel(design=design, workshop=workshop).block(1, size=1, seed=1, block=0)
    assert set(made.spoilt.ravel()) <= {0, 2 * BLANKS}
    assert (made.given_up.sum(axis=1) * BLANKS == made.spoilt[0]).all()
    return {kind: FAULTS[row.argmax()] for kind, row in zip(KINDS, made.given_up, strict=True) if row.any()}


SHORT = dict.fromkeys(KINDS, "short")
OVERCUT, THIN = {"lapped": "overcut"}, {"lapped": "tongue"}


@pytest.mark.parametrize(
    ("rows", "settings", "expected"),
    [
        # Both ends of a wall are sawn and sanded, one of its lines is marked.
        ({"mark.offset": -1.5}, {}, SHORT),
        ({"sand.offset": -0.75}, {}, SHORT),
        ({"saw.offset": -0.75}, {}, SHORT),
        ({"mark.offset": -0.5, "saw.offset": -0.5, "sand.offset": 3}, {}, SHORT),
        ({"mark.offset": -2.5}, {"scrap": Scrap(short=2.5)}, SHORT),
        # A slope takes half a width, or half the height, times its angle off the worst edge at both ends.
        ({"sand.plan": 1.5 / 15 / DEGREE, "saw.offset": 9}, {}, {"lapped": "short"}),
        ({"sand.plan": 1.5 / 10 / DEGREE, "saw.offset": 9}, {}, SHORT),
        ({"saw.plan": -1.5 / 10 / DEGREE, "sand.offset": 9}, {}, SHORT),
        ({"saw.upright": 1.5 / 45 / DEGREE, "sand.offset": 9}, {}, SHORT),
        ({"sand.upright": -1.5 / 45 / DEGREE, "saw.offset": 9}, {}, SHORT),
        ({"square.plan": -1.5 / 10 / DEGREE}, {"scrap": ROOMY}, SHORT),
        ({"square.upright": 1.5 / 45 / DEGREE}, {}, SHORT),
        # Sawn and sanded faces that slope against each other leave the smaller of both: 0.6 off at every corner.
        ({"sand.plan": 1.5 / 10 / DEGREE, "saw.plan": -1.5 / 10 / DEGREE}, {}, SHORT),
        # A shoulder 1 mm too far from the end, whose line or whose cut it was; a cheek cut 1 mm too deep.
        ({"lap_saw.offset": -1.0}, {}, OVERCUT),
        ({"lap_mark.offset": 1.0}, {}, OVERCUT),
        ({"lap_saw.plan": -1 / 3.75 / DEGREE}, {}, OVERCUT),
        ({"lap_saw.upright": 1 / 22.5 / DEGREE}, {}, OVERCUT),
        ({"square.plan": 1 / 3.75 / DEGREE}, {"scrap": Scrap(short=20)}, OVERCUT),
        ({"square.upright": -1 / 22.5 / DEGREE}, {"scrap": Scrap(short=20)}, OVERCUT),
        ({"gauge.offset": -0.4, "chisel.offset": -0.6}, {}, OVERCUT),
        ({"chisel.along": 1 / 5 / DEGREE}, {}, OVERCUT),
        ({"chisel.upright": -1 / 22.5 / DEGREE}, {}, OVERCUT),
        ({"chisel.uneven": -1.0}, {}, OVERCUT),
        ({"chisel.uneven": -0.3}, {"scrap": Scrap(overcut=0.3)}, OVERCUT),
        # The tongue is 7.5, so 5 may be gone; the stock's error counts where the gauge ran along the inside.
        ({"gauge.offset": -5.0}, {"scrap": ROOMY}, THIN),
        ({"stock.thickness": -5.0}, {"scrap": ROOMY}, THIN),
        ({"gauge.offset": -5.0}, {"scrap": ROOMY, "gauge_from": "outside"}, THIN),
        ({"gauge.offset": -3.0}, {"scrap": Scrap(overcut=20, tongue=4.5)}, THIN),
        # A thin plain wall leaves an open shoulder where its drawn thickness was measured.
        ({"stock.thickness": -1.0}, {"shoulder_from": "drawing"}, OVERCUT),
    ],
)
def test_one_way_to_spoil_a_wall(rows, settings, expected):
    over, under = ({name: bias * times for name, bias in rows.items()} for times in (1.004, 0.996))
    assert spoilt_always(over, **settings) == expected
    inside = spoilt_always(under, **settings)
    assert inside == ({"lapped": "short"} if expected == SHORT and "lapped" in inside else {})


@pytest.mark.parametrize(
    ("rows", "settings"),
    [
        ({"stock.thickness": -5.5}, {"scrap": ROOMY, "gauge_from": "outside"}),
        ({"stock.thickness": -1.5}, {"shoulder_from": "part"}),
        ({"stock.bow": 5, "stock.twist": 5, "stock.height": 5}, {}),
        ({"saw.offset": 5, "sand.offset": 5, "lap_saw.offset": 5, "chisel.offset": 5}, {}),
    ],
)
def test_what_spoils_no_wall(rows, settings):
    assert spoilt_always(rows, **settings) == {}


def test_a_wall_may_be_marked_longer_and_is_held_to_that():
    longer = DESIGN.model_copy(update={"overlength": 1.0})
    assert spoilt_always({"mark.offset": -1.49}, design=longer) == {}
    assert spoilt_always({"mark.offset": -1.51}, design=longer) == SHORT


def test_paring_can_spoil_a_lap_and_only_where_it_is_noticed():
    proud = {"chisel.offset": 0.3}
    for pare, expected in (
        (Pare(notice=0.29, bias=-1.01, rounds=1), OVERCUT),
        (Pare(notice=0.29, bias=-0.99, rounds=1), {}),
        (Pare(notice=0.31, bias=-1.01, rounds=1), {}),
        (Pare(notice=0.29, bias=-1.01, rounds=0), {}),
    ):
        workshop = with_rows(still_workshop(), {name: Disturbance(bias=bias) for name, bias in proud.items()})
        model = WallModel(design=DESIGN, workshop=workshop.model_copy(update={"pare": pare}))
        assert model.block(1, size=1, seed=1, block=0).given_up[0, 1] == (2 if expected else 0)


# Shares of walls spoilt from their first blank, in closed form

MAKERS = 10_000


def first_shares(rows, *, pare=None, **settings):
    """Return the share of lapped and of plain walls that are spoilt from their first blank."""
    workshop = with_rows(still_workshop(**settings), rows)
    workshop = workshop.model_copy(update={"pare": pare}) if pare else workshop
    made = WallModel(design=DESIGN, workshop=workshop).block(MAKERS, size=1, seed=5, block=0)
    return made.first.mean(axis=0) / 2


def any_of(share, places):
    """Return the share that is spoilt at one place or more, of so many that are alike and independent."""
    return 1 - (1 - share) ** places


@pytest.mark.parametrize(
    ("rows", "settings", "lapped", "plain"),
    [
        ({"mark.offset": Disturbance(spread=1.2)}, {}, norm.cdf(-1.5 / 1.2), norm.cdf(-1.5 / 1.2)),
        # Two ends: their sum has √2 times the spread of one.
        (
            {"saw.offset": FAR, "sand.offset": Disturbance(bias=-0.1, spread=0.8)},
            {},
            *[norm.cdf((-1.5 + 0.2) / (0.8 * math.sqrt(2)))] * 2,
        ),
        # One family, one width: uniform on ±√3 spread, triangular on ±√6 spread, the sum of two halves.
        ({"mark.offset": Disturbance(spread=1.2, family="uniform")}, {}, *[0.5 - 1.5 / (2 * math.sqrt(3) * 1.2)] * 2),
        (
            {"mark.offset": Disturbance(spread=1.2, family="triangular")},
            {},
            *[(1 - 1.5 / (math.sqrt(6) * 1.2)) ** 2 / 2] * 2,
        ),
        # Eight corners of two cheeks, each uneven on its own; two gauge lines; two shoulders.
        ({"chisel.uneven": Disturbance(spread=0.5)}, {}, any_of(norm.cdf(-1 / 0.5), 8), 0),
        ({"chisel.offset": Disturbance(spread=0.7)}, {}, any_of(norm.cdf(-1 / 0.7), 2), 0),
        ({"lap_saw.offset": Disturbance(spread=0.7)}, {}, any_of(norm.cdf(-1 / 0.7), 2), 0),
        ({"lap_mark.offset": Disturbance(spread=0.7)}, {}, any_of(norm.cdf(-1 / 0.7), 2), 0),
        # A slope opens one side of a shoulder or the other, so both tails count.
        (
            {"lap_saw.upright": Disturbance(spread=0.7 / 22.5 / DEGREE)},
            {},
            any_of(2 * norm.cdf(-1 / 0.7), 2),
            0,
        ),
        # A tongue of 7.5 that must be 7: two laps with a gauge line each, but one thickness.
        (
            {"gauge.offset": Disturbance(spread=0.5)},
            {"scrap": Scrap(overcut=20, tongue=7)},
            any_of(norm.cdf(-1), 2),
            0,
        ),
        ({"stock.thickness": Disturbance(spread=0.5)}, {"scrap": Scrap(tongue=7)}, norm.cdf(-1), 0),
        # Marked at the drawn thickness, each lap has a plain wall of its own.
        (
            {"stock.thickness": Disturbance(spread=0.5)},
            {"shoulder_from": "drawing", "gauge_from": "outside"},
            any_of(norm.cdf(-2), 2),
            0,
        ),
    ],
)
def test_shares_of_walls_spoilt_at_first(rows, settings, lapped, plain):
    found = first_shares(rows, **settings)
    for share, expected in zip(found, (lapped, plain), strict=True):
        assert share == pytest.approx(expected, abs=3 * math.sqrt(2 * expected * (1 - expected) / (2 * MAKERS)))


def test_shares_spoilt_by_paring():
    """All 16 corners stand 1 proud and are pared twice at most: too deep at first, or still proud and then too deep."""
    pare = Pare(notice=0.2, bias=-0.2, spread=0.4, rounds=2)
    deep, proud = norm.cdf(-0.8 / 0.4), norm.sf(0.4 / 0.4)
    expected = any_of(deep + proud * deep, 16)
    rows = {"chisel.offset": Disturbance(bias=1), "lap_saw.offset": Disturbance(bias=1)}
    found = first_shares(rows, pare=pare)
    assert found[0] == pytest.approx(expected, abs=3 * math.sqrt(expected * (1 - expected) / (2 * MAKERS)))
    assert found[1] == 0


# A computation apart: maker by maker, blank by blank, from the sizes that can be measured (MODEL.md, 8.1)

ENDS = {"left": ("front", "back"), "right": ("front", "back"), "front": ("left", "right"), "back": ("left", "right")}
SIDES = ("inside-bottom", "inside-top", "outside-bottom", "outside-top")


class Hands:
    """A design in a workshop, with sizes and rows worked out once."""

    def __init__(self, design, workshop):
        self.design, self.workshop, self.frame = design, workshop, frame(design)
        self.lapped, self.plain = self.frame.walls[:2], self.frame.walls[2:]
        self.row, self.size = cache(workshop.disturbance), cache(self.size_of)

    def size_of(self, feature, *spot):
        return FEATURES[feature].size(Place(self.design, self.workshop, Spot(*spot)))


class Maker:
    """One maker of one class: what is the maker's own of each error, drawn when it is first met."""

    def __init__(self, hands, rng):
        self.hands, self.rng, self.own, self.kept = hands, rng, {}, {}

    def unit(self, family):
        if family == "normal":
            return self.rng.gauss(0, 1)
        assert family == "uniform"
        return self.rng.uniform(-math.sqrt(3), math.sqrt(3))

    def error(self, of, blank):
        """Return an error of a blank; of a plain wall's thickness always the same, as laps are tried with that wall."""
        row = self.hands.row(of[0])
        if of[0] not in self.own:
            parts = row.class_spread * self.unit(row.family) + row.maker_spread * self.unit(row.family)
            self.own[of[0]] = row.bias + parts
        drawn = self.kept if of[0] == "stock.thickness" and of[1] in self.hands.plain else blank
        if of not in drawn:
            drawn[of] = self.own[of[0]] + row.spread * self.unit(row.family)
        return drawn[of]

    def size(self, blank, *where):
        found = self.hands.size(*where)

        def value(form):
            return form.const + sum(times * self.error(of, blank) for of, times in form.errors.items())

        return value(found.form) + sum(min(value(one), value(other)) for one, other in found.pairs)

    def pared(self, left):
        pare = self.hands.workshop.pare
        for _ in range(pare.rounds):
            left = min(left, self.rng.gauss(pare.bias, pare.spread)) if left > pare.notice else left
        return left

    def is_spoilt(self, wall, blank):
        """Tell whether a wall is spoilt from this blank."""
        box, scrap = self.hands.frame, self.hands.workshop.scrap
        meant = box.lapped_length if wall in self.hands.lapped else box.plain_length + self.hands.design.overlength
        if min(self.size(blank, "length", wall, "", at) for at in SIDES) < meant - scrap.short:
            return True
        for end in ENDS[wall] if wall in self.hands.lapped else ():
            mate = self.error(("stock.thickness", end), blank)
            own = self.error(("stock.thickness", wall), blank) if self.hands.workshop.gauge_from == "inside" else 0.0
            for at in SIDES:
                shoulder = self.pared(box.plain + mate - self.size(blank, "shoulder", wall, end, at))
                cheek = self.pared(self.size(blank, "tongue", wall, end, at) - own - box.tongue)
                if min(shoulder, cheek) < -scrap.overcut or box.tongue + cheek + own < scrap.tongue:
                    return True
        return False

    def spoils(self, wall):
        """Return from how many blanks the wall is spoilt."""
        return next(n for n in itertools.count() if n == BLANKS or not self.is_spoilt(wall, {}))


OTHER = {
    "shoulder_from": "drawing",
    "gauge_from": "outside",
    "scrap": Scrap(short=1.3, overcut=1.2, tongue=6.8),
}


@pytest.mark.parametrize("changes", [{}, OTHER], ids=["as shipped", "the other way about"])
def test_makers_one_by_one_spoil_as_many(changes):
    """Shares of walls spoilt from the first blank, and blanks, of which at most five a maker count: tails are long."""
    design = DESIGN.model_copy(update={"overlength": 0.7})
    workshop = read_workshop("new_to_tools").model_copy(update=changes)
    if changes:
        workshop = with_rows(workshop, {"mark.offset": Disturbance(maker_spread=0.3, spread=0.5, family="uniform")})
    hands, rng, makers = Hands(design, workshop), random.Random(3), 600
    rows, box = [], hands.frame
    for _ in range(makers):
        maker = Maker(hands, rng)
        rows.append([maker.spoils(wall) for wall in box.walls])
    apart = np.array(rows).reshape(makers, 2, 2)
    made = WallModel(design=design, workshop=workshop).block(MAKERS, size=1, seed=3, block=0)
    for kind in range(2):
        for one, other in (
            ((apart[:, kind] > 0).sum(axis=1), made.first[:, kind]),
            (np.minimum(apart[:, kind].sum(axis=1), 5), np.minimum(made.spoilt[:, kind], 5)),
        ):
            error = math.sqrt(one.var() / makers + other.var() / MAKERS)
            assert one.mean() == pytest.approx(other.mean(), abs=3 * error)
            assert 0.02 < other.mean() > 5 * error  # else nothing is shown


@settings(max_examples=25)
@given(design=designs(), seed=st.integers(0, 10**6))
def test_any_box_without_chance_is_judged_alike_apart(design, seed):
    """Every error has a bias, in mm or degrees; all limits lie near what such errors leave."""
    rng = random.Random(seed)
    rows = {name: Disturbance(bias=rng.gauss(0, 0.3)) for name in QUANTITIES}
    rows |= {"saw.offset": Disturbance(bias=rng.gauss(0.3, 0.3))}
    workshop = with_rows(still_workshop(), rows).model_copy(
        update={
            "scrap": Scrap(
                short=rng.uniform(0.1, 2),
                overcut=rng.uniform(0.3, 1.5),
                tongue=frame(design).tongue - rng.uniform(0, 1),
            ),
            "pare": Pare(notice=0.2, bias=rng.gauss(0, 0.3), rounds=rng.choice((0, 1, 3))),
            "shoulder_from": rng.choice(("part", "drawing")),
            "gauge_from": rng.choice(("inside", "outside")),
        }
    )
    maker = Maker(Hands(design, workshop), rng)
    first = WallModel(design=design, workshop=workshop).block(1, size=1, seed=1, block=0).first[0]
    for kind, walls in zip(first, (maker.hands.lapped, maker.hands.plain), strict=True):
        assert [maker.is_spoilt(wall, {}) for wall in walls] == [kind == 2] * 2
        assert kind in {0, 2}
