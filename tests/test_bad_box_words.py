"""What is off in a bad box: which part, where on it and by how much; in words, and how many boxes are as bad."""

import numpy as np
import pytest

from assembly.files.reading import maker, read_design
from assembly.made.faces import FRAME_PLACES, PARE
from assembly.made.sheets_and_holes import FITTING_PLACES
from assembly.model.design import Limit
from assembly.nominal.frame import frame
from assembly.rare.points import Points
from assembly.rare.sizes import Off, feature_of, feature_shares, what_is_off
from assembly.rare.space import BrokenLimit
from assembly.study.check import BoxModel
from assembly.study.intervals import Estimate, Interval
from viewer.reports.bad_box_words import all_words, boxes_in, off_words

DESIGN = read_design("frost_watch")
BOX = frame(DESIGN)
LIMIT = BrokenLimit(BoxModel(DESIGN, maker(DESIGN, "frost_watch", "new_to_tools")), "gap right-back", Limit(max=1.5))


def at(name, level, place, size):
    """Return u of a box of which one part of one quantity is `size` standard deviations off."""
    u, start = np.zeros((LIMIT.dims, 1)), 0
    for each, lies, rows in LIMIT.parts:
        if (each.name, lies) == (name, level):
            u[start + place] = size
        start += rows
    return u


def off(*errors):
    return what_is_off(LIMIT, Points(sum(at(*each) for each in errors), np.array([0])))


@pytest.mark.parametrize(
    ("error", "words"),
    [
        # chisel 0.15 + 0.25 x 2 and gauge 0: 0.65, pared to 0.05 as it is proud by over 0.3
        (("chisel.offset", "cut", 2, -3.0), "the left-back (C) lap chiselled 0.6 too deep"),  # 0.15 - 3 x 0.25
        (("lap_mark.offset", "cut", 1, 2.0), "the right-front (B) lap cut 0.3 too wide for its wall"),  # 0.2 - 2 x 0.25
        (("sand.offset", "cut", 2, -3.5), "the back wall 0.6 short at its left end"),  # 0.1 - 3.5 x 0.2
        (("sand.offset", "cut", 5, -4.0), "the right wall 0.7 short at its front end"),
        (("mark.offset", "cut", 1, 2.0), "the right wall 0.7 long at its back end"),  # 0.3 x 2 + 0.1
        (("mark.offset", "cut", 2, 2.0), "the front wall 0.7 long at its right end"),
        (("stock.thickness", "cut", 0, -4.0), "the left wall 0.4 too thin"),
        (("stock.height", "cut", 3, 4.0), "the back wall 0.4 too high"),
        (("stock.bow", "cut", 0, 2.0), "the front wall bowed 0.4 outward"),
        (("stock.twist", "cut", 1, 3.0), "the back wall twisted, 0.7 out over its height"),  # 0.9 degrees over 45
    ],
    ids=lambda told: told[0] if isinstance(told, tuple) else "",
)
def test_one_error_is_told_by_its_size_on_the_part(error, words):
    """Sizes are bias plus so many spreads, of MODEL.md, 2.3; the box of MODEL.md, 3, is 45 high, as the watch is."""
    assert DESIGN.box.height == 45
    assert all_words(off(error), BOX) == words
    assert off(error)[0].share == pytest.approx(1)


def test_a_slope_is_told_at_the_edge_that_it_moves():
    """Sanded 3 x 0.4 = 1.2 degrees out of upright, material left at the top: 1.2° x 22.5 less 0.1 at the bottom edge.

    Sawing leaves 0.8 on, so that the top, 0.1 + 0.47 high, is the sander's, too.
    """
    (end, *_) = off(("sand.upright", "cut", 0, -3.0))
    assert (end.feature, end.at, end.edge) == ("plain end", 0, "bottom")
    assert end.size == pytest.approx(0.1 + np.radians(1.2) * 22.5, abs=1e-9)
    assert off_words(end, BOX) == "the back wall 0.6 long at its right end, at the bottom"


def test_what_a_maker_shares_is_divided_as_the_cuts_are():
    """A gauge off by 2 maker spreads, laps by 1 and 3 cut spreads the same way: 1 + 4/4 and 9 + 4 · 3/4 of 14."""
    errors = [("gauge.offset", "maker", 0, 2.0), ("gauge.offset", "cut", 0, 1.0), ("gauge.offset", "cut", 3, 3.0)]
    shares = feature_shares(LIMIT, sum(at(*each) for each in errors)[:, 0])
    assert shares["cheek", 0] == pytest.approx((1 + 4 * 1 / 4) / 14)
    assert shares["cheek", 3] == pytest.approx((9 + 4 * 3 / 4) / 14)
    assert sum(shares.values()) == pytest.approx(1)
    alone = feature_shares(LIMIT, at("gauge.offset", "maker", 0, 2.0)[:, 0])
    assert [alone["cheek", corner] for corner in range(4)] == pytest.approx([0.25] * 4)


def test_every_place_of_every_quantity_belongs_to_a_feature_that_has_words():
    for name, places in {**FRAME_PLACES, **FITTING_PLACES, PARE: 96}.items():
        for place in range(places):
            feature, number = feature_of(name, place)
            for size in (0.5, -0.5):
                words = off_words(Off(feature=feature, at=number, edge="", size=size, share=1.0), BOX)
                assert "0.5" in words, words
                assert "{" not in words


def test_pared_corners_belong_to_their_face():
    """Draws run over rounds, corners, cheek and shoulder, corners of the face (MODEL.md, 2.2)."""
    assert feature_of(PARE, 0) == ("cheek", 0)
    assert feature_of(PARE, 32 + 8 + 4) == ("shoulder", 1)


def test_only_what_weighs_is_told():
    parts = [Off(feature="cheek", at=at, edge="", size=0.5, share=share) for at, share in enumerate((0.4, 0.3, 0.2))]
    assert all_words(parts) == (
        "the right-back (A) lap chiselled 0.5 too shallow and the right-front (B) lap chiselled 0.5 too shallow"
    )
    small = [Off(feature="cheek", at=0, edge="top", size=-0.06, share=0.5), parts[2]]
    assert all_words(small) == (
        "the right-back (A) lap chiselled 0.06 too deep at the top and the left-back (C) lap chiselled 0.5 too shallow"
    )


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        ((0.018, 0.02, 0.022), "about 1 box in 50 (45 to 56) is"),
        ((0.19, 0.2, 0.21), "about 1 box in 5 is"),
        ((0.37, 0.4, 0.43), "about 40 boxes in 100 (37 to 43) are"),
        ((0.8e-6, 2e-6, 4e-6), "about 1 box in 500,000 (250,000 to a million) is"),
        ((4e-8, 6e-8, 8e-8), "fewer than 1 box in 1,000,000 is"),
        ((0.0, 0.0, 3.8e-5), "fewer than 1 box in 26,000 is"),
    ],
)
def test_shares_are_told_in_boxes(ends, words):
    low, value, high = ends
    assert boxes_in(Estimate(value=value, low=low, high=high, interval=Interval.WEIGHED)) == words


def test_worst_tells_the_likeliest_bad_box(both):
    """Screws of 3.5 in walls of 15: less than 3 mm of wood takes a hole far off, and that is all there is to it."""
    _, out, data = both("worst", "frost_watch", "--of", "screw_wood", "--details")
    (told,) = data["likeliest"]
    assert (told["of"], told["share"]["interval"]) == ("screw_wood", "weighed")
    assert sum(each["share"] for each in told["off"]) == pytest.approx(1)
    assert told["outcomes"]["screw_wood"] == pytest.approx(3, abs=1e-3)
    out = " ".join(out.split())
    assert "wood beside a lid screw, at least 3 mm: about 1 box in 7" in out
    assert f"likeliest so: {told['off'][0]['words']}" in out
    assert f"beta {told['beta']:.3f} at the nearest of {told['points']} points; " in out
    assert "The limit case" not in out


def test_worst_says_where_nothing_breaks_a_limit_or_every_box_does(run):
    hard = ("--set", "limits.plaque_leg.max=-9", "--set", "limits.lean.max=0.000001")
    out = run("worst", "frost_watch", "--of", "plaque_leg", *hard)[1]
    assert "error of plaque's leg, at most -9 mm: every simulated box breaks it" in out
    assert "Even a box whose every error is the usual one breaks it." in out
    even = ("--set", "workshop.operations.bend.line.family=uniform", "--set", "workshop.laser.kerf.class_spread=0")
    out = run("worst", "frost_watch", "--of", "plaque_leg", *even, "--set", "limits.plaque_leg.max=2")[1]
    assert "error of plaque's leg, at most 2 mm: no simulated box, and no search, breaks it" in out


def test_a_design_without_limits_has_no_bad_box(run, tmp_path):
    text = tmp_path / "plain.toml"
    source = run("new", (tmp_path / "plain.toml").as_posix())
    assert source[0] == 0
    text.write_text(text.read_text().split("[limits]")[0])
    assert "The design sets no limits, so no box is bad." in run("worst", text.as_posix())[1]
