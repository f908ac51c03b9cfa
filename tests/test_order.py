"""What a class orders, against sums by hand: pieces, spares, lengths, sheets, glue, costs; plans over designs."""

import math
from collections import Counter

import pytest
from boxes import still_workshop, with_rows
from designs import designs
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.files.stock import read_on_sale
from assembly.made.sampling import draw_block, values
from assembly.model.on_sale import Stock, sheets_of
from assembly.model.workshop import Disturbance
from assembly.order.class_pieces import Kind, SpareRule, class_pieces
from assembly.order.glue import glue_for
from assembly.order.layouts import fault_of
from assembly.order.order import Sort, order_for, sawing_cautions
from assembly.order.ready import ready
from assembly.order.sawn_lengths import sawn_sections
from assembly.order.sawn_sheets import sawn_sheets
from assembly.order.spoilage import spares_of_share
from assembly.order.straight_cuts import straight_cut
from assembly.planning.cutting import bought, cut_parts
from assembly.study.check import BoxModel

SHIPS = read_on_sale()
NONE = SpareRule(share=0.0)


def on_sale(*, timber=None, sheet=None, sheets=None, prices=None) -> Stock:
    """Return what ships, but for some keys of its tables; no sheet is named unless it is given."""
    return SHIPS.model_copy(
        update={
            "timber": SHIPS.timber.model_copy(update=timber or {}),
            "sheet": SHIPS.sheet.model_copy(update=sheet or {}),
            "sheets": sheets or {},
            "prices": SHIPS.prices.model_copy(update=prices or {}),
        }
    )


def pieces(design, spare=0) -> tuple[Kind, ...]:
    """Return the pieces of a design without a simulation, so many of each kind spare."""
    return tuple(
        Kind(letter=letter, part=part, needed=part.count * design.makers, spares=spare, walls=None)
        for letter, part in zip("ABCDE", cut_parts(design), strict=False)
    )


def made_by(makers, *changes):
    return read_design("frost_watch", [*changes, f"makers={makers}"])


# By hand: blanks are 10 mm longer at each end, so 90 + 20 = 110 and 145 + 20 = 165


def test_the_lengths_of_a_class_by_hand():
    """26 makers, 1 m lengths, kerf 2, no trim: 8 of 110 take 894 and 9 take 1006; 6 of 165 take 1000, to the mm."""
    stock = on_sale(timber={"lengths": [1000.0], "kerf": 2.0, "end_trim": 0.0})
    lapped, plain = sawn_sections(pieces(made_by(26)), stock)
    assert (lapped.thickness, lapped.height, lapped.count, lapped.plan.proved) == (15, 45, math.ceil(52 / 8), True)
    assert (plain.thickness, plain.height, plain.count, plain.plan.proved) == (10, 45, math.ceil(52 / 6), True)
    assert (lapped.metres, plain.metres) == (7, 9)
    assert lapped.waste == pytest.approx(1 - 52 * 110 / 7000)
    first, last = plain.patterns
    assert (first.times, first.runs[0][1], first.offcut) == (8, 6, 0)
    assert (last.times, last.runs[0][1]) == (1, 52 - 8 * 6)
    assert last.offcut == pytest.approx(1000 - 4 * 165 - 4 * 2)
    assert [(round(a, 9), round(b, 9)) for _, a, b in last.pieces] == [(167 * n, 167 * n + 165) for n in range(4)]


def test_a_trim_comes_off_both_ends_before_the_first_piece():
    stock = on_sale(timber={"lengths": [1000.0], "kerf": 2.0, "end_trim": 1.0})
    plain = sawn_sections(pieces(made_by(26)), stock)[1]
    assert plain.count == math.ceil(52 / 5), "998 mm take five of 165, not six"
    assert plain.patterns[0].pieces[0][1:] == (1, 166)


def test_walls_of_one_section_share_lengths():
    """4 of 165 and 3 of 110 take 990 mm and 6 kerfs of 1 mm; 2 and 6 take 990 and 7: so 18 and 18 go into five of 1 m.

    Four hold no more than 4 x 1000 mm, and the pieces alone are 18 x 275 mm = 4950 mm.
    """
    stock = on_sale(timber={"lengths": [1000.0], "kerf": 1.0, "end_trim": 0.0})
    (both,) = sawn_sections(pieces(made_by(9, "timber.plain=15")), stock)
    assert [kind.name for kind in both.kinds] == ["lapped wall (end)", "plain wall (side)"]
    assert both.count == both.plan.bound == 5


def test_the_length_taken_is_the_least_timber_then_the_fewest_lengths():
    """25 makers, 50 of 110 without a kerf: 550 and 1100 both take 5.5 m, 1000 takes 6 x 1 m, 700 takes 9 x 0.7 m."""
    stock = on_sale(timber={"lengths": [550.0, 700.0, 1000.0, 1100.0], "kerf": 0.0, "end_trim": 0.0})
    lapped = sawn_sections(pieces(made_by(25)), stock)[0]
    assert (lapped.on_sale.length, lapped.count) == (1100, 5)
    assert [(each.on_sale.length, each.count, each.metres) for each in lapped.others] == [
        (550, 10, 5.5), (700, 9, pytest.approx(6.3)), (1000, 6, 6),
    ]  # fmt: skip


def test_a_length_that_is_too_short_is_named_among_those_tried():
    stock = on_sale(timber={"lengths": [2400.0, 150.0], "kerf": 2.0, "end_trim": 0.0})
    lapped, plain = sawn_sections(pieces(made_by(1)), stock)
    assert lapped.on_sale.length == 150, "two of 110 from two of 150 take 0.3 m"
    assert [(each.on_sale.length, each.plan) for each in plain.others] == [(150, None)]


def test_the_sheets_of_a_class_by_hand():
    """Blanks of 184 x 114, kerf 3, on 600 x 400 less 10 all round: 3 along (3 x 187 <= 583), 3 up: 9 a sheet."""
    stock = on_sale(sheet={"sizes": [(600.0, 400.0)], "kerf": 3.0, "edge_trim": 10.0, "turn": False})
    base = sawn_sheets(pieces(made_by(18)), stock)[0]
    assert (base.material, base.thickness, base.count, base.plan.proved) == ("birch plywood", 4, 2, True)
    assert base.waste == pytest.approx(1 - 18 * 184 * 114 / (2 * 600 * 400))
    assert [lay.times * count for lay in base.lays for _, count in lay.counts] in ([18], [9, 9])


def test_base_and_lid_of_one_sheet_share_it_and_the_plaque_has_its_own():
    design = made_by(2, "base.thickness=9")
    both, acrylic = sawn_sheets(pieces(design), on_sale())
    assert [kind.name for kind in both.kinds] == ["base", "lid"]
    assert (acrylic.material, acrylic.thickness) == ("acrylic", 3)


def test_of_priced_sheets_the_cheapest_is_taken_and_else_the_least_area():
    """One of 600 x 400 would do (0.24 m²); where that costs more than one of 1000 x 600 it is not taken."""
    sheet = {"sizes": [(600.0, 400.0), (1000.0, 600.0)], "turn": True}
    small, large = "4 x 600 x 400", "4 x 1000 x 600"
    for prices, length in (
        ({}, 600),
        ({small: 9.0}, 600),
        ({small: 9.0, large: 8.0}, 1000),
        ({small: 7.0, large: 8.0}, 600),
    ):
        stock = on_sale(sheet=sheet, prices={"sheets": {"plywood": prices}})
        base = sawn_sheets(pieces(made_by(1)), stock)[0]
        assert base.on_sale.length == length
        assert base.taken.cost == prices.get(small if length == 600 else large)


def test_straight_layouts_come_with_their_cuts_in_order():
    stock = on_sale()
    assert [lay.cuts for of in sawn_sheets(pieces(made_by(3)), stock) for lay in of.lays] == [()] * 3
    for of in sawn_sheets(pieces(made_by(3)), stock, straight=True):
        assert of.on_sale.straight
        assert all(lay.cuts for lay in of.lays)
    always = on_sale(sheet={"straight": True})
    assert all(of.on_sale.straight for of in sawn_sheets(pieces(made_by(3)), always))


def test_what_is_bought_ready_is_what_the_cut_list_says():
    for name in ("frost_watch", "label_box", "seed_box"):
        design = read_design(name)
        found = [
            f"{one.count} x {one.name}" if one.named else f"{one.count} {one.name}"
            for one in ready(design, SHIPS.prices)
        ]
        assert found == list(bought(design, design.makers))


def test_screws_of_one_sort_are_one_line():
    design = read_design("frost_watch")
    lid = design.lid.model_copy(update={"screw": design.plaque.screw})
    found = ready(design.model_copy(update={"lid": lid}), SHIPS.prices)
    assert [(one.name, one.count) for one in found] == [
        ("round-head screws 3 x 10 mm", 104),
        ("washers 7 x 3.2 x 0.5 mm", 104),
        ("frost indicator (6 x 60 mm)", 26),
    ]


# Glue


def test_glue_of_hands_that_make_no_error_is_two_films():
    """No gap: 2 x 0.1 mm x (4 corners x (10 + 7.5) x 45 + 160 x 90 - 130 x 70) mm² = 1690 mm³ a box."""
    found = glue_for(made_by(26), still_workshop(), seed=1, boxes=50)
    assert (found.gap_volume.value, found.contact) == (0, pytest.approx(3150 + 5300))
    assert found.ml_a_box == pytest.approx(1.69)
    assert found.ml == pytest.approx(26 * 1.69)


def test_glue_fills_the_gaps_of_the_boxes_that_a_check_makes():
    """A second way: the gap of a face is its corners' mean, and its area 10 or 7.5 by 45 mm."""
    design, workshop = made_by(26), read_workshop("new_to_tools")
    model = BoxModel(design, workshop)
    gaps = model.settle(values(model.inputs, draw_block(model.inputs, 300, seed=5, block=0)))[1]
    cheeks, shoulders = gaps.mean(axis=2).sum(axis=0)
    volumes = 45 * (10 * cheeks + 7.5 * shoulders)
    found = glue_for(design, workshop, seed=5, boxes=300)
    assert found.gap_volume.value == pytest.approx(volumes.mean())
    assert found.gap_volume.half_width == pytest.approx(1.96 * volumes.std(ddof=1) / math.sqrt(300), rel=1e-3)
    assert found.ml == pytest.approx(26 * 2 * (volumes.mean() + 845) / 1000)


def test_glue_is_for_damp_places_where_the_box_will_live_there():
    assert glue_for(made_by(1), still_workshop(), seed=1, boxes=2).name == "wood glue for damp places"
    dry = made_by(1, "climate.home.humidity=40")
    assert glue_for(dry, still_workshop(), seed=1, boxes=2).name == "wood glue"


def test_a_workshop_that_no_study_accepts_is_refused():
    wild = with_rows(still_workshop(), {"saw.plan": Disturbance(spread=15), "sand.plan": Disturbance(spread=15)})
    with pytest.raises(InputError, match="of the boxes have a face more than 5° out"):
        order_for(made_by(1), wild, SHIPS, NONE)


# Spares


def test_a_percentage_is_rounded_up_for_every_kind():
    """10 % of 52 is 5.2 and of 26 is 2.6; of 30 it is 3, though 0.1 x 30 is a little more in binary digits."""
    kinds = class_pieces(made_by(26), read_workshop("new_to_tools"), SpareRule(share=0.1), seed=1)
    assert [kind.spares for kind in kinds] == [6, 6, 3, 3, 3]
    kinds = class_pieces(made_by(30), read_workshop("new_to_tools"), SpareRule(share=0.1), seed=1)
    assert [kind.spares for kind in kinds] == [6, 6, 3, 3, 3]
    assert [kind.spoilable for kind in kinds] == [True, True, False, False, False]


def test_a_share_is_rounded_up_as_whole_percentages_are():
    """Against sums of whole numbers: p % of n is -(-p n // 100), whatever p / 100 is in binary digits."""
    for percent in range(201):
        assert [spares_of_share(percent / 100, n) for n in range(0, 2001, 7)] == [
            -(-percent * n // 100) for n in range(0, 2001, 7)
        ]


def test_what_is_told_of_walls_is_told_of_those_very_walls(monkeypatch):
    """Whatever the order of the cut list."""
    workshop, parts = read_workshop("new_to_tools"), cut_parts(made_by(26))
    usual = {kind.name: kind.walls for kind in class_pieces(made_by(26), workshop, SpareRule(), seed=1)}
    monkeypatch.setattr("assembly.order.class_pieces.cut_parts", lambda _: parts[::-1])
    turned = class_pieces(made_by(26), workshop, SpareRule(), seed=1)
    assert [kind.name for kind in turned] == [part.name for part in parts[::-1]]
    assert {kind.name: kind.walls for kind in turned} == usual
    assert usual["lapped wall (end)"] != usual["plain wall (side)"]


def test_hands_that_make_no_error_need_no_spares():
    kinds = class_pieces(made_by(26), still_workshop(), SpareRule(), seed=1)
    assert [(kind.count, kind.needed) for kind in kinds] == [(52, 52), (52, 52), (26, 26), (26, 26), (26, 26)]


def test_spares_by_hand():
    """One maker, each wall marked 1.5 mm too short or more with probability 1/10, all else without error.

    Uniform over 1.875 mm either side, so over a tenth of it. Blanks spoilt until two walls are good are negative
    binomial: none with 0.9 x 0.9 = 81 %, at most one with 81 + 2 x 0.1 x 81 = 97.2 %. So one spare runs out in 2.8 %,
    none in 19 %.
    """
    rows = {"mark.offset": Disturbance(spread=1.875 / math.sqrt(3), family="uniform")}
    workshop = with_rows(still_workshop(), rows)
    error = math.sqrt(0.028 * 0.972 / 2000)
    for kind in class_pieces(made_by(1), workshop, SpareRule(chance=0.05), seed=3)[:2]:
        assert (kind.needed, kind.spares) == (2, 1)
        assert kind.walls.runs_out.value == pytest.approx(0.028, abs=4 * error)
        assert kind.walls.spoilt.value == pytest.approx(0.1, abs=4 * math.sqrt(0.09 / 4000))
    for kind in class_pieces(made_by(1), workshop, SpareRule(chance=0.25), seed=3)[:2]:
        assert (kind.spares, kind.walls.runs_out.value) == (
            0,
            pytest.approx(0.19, abs=4 * math.sqrt(0.19 * 0.81 / 2000)),
        )


# Costs


def test_costs_by_hand():
    """Of 4 makers 8 lapped walls take 894 mm and 8 plain ones 1334 mm: one length of 2 m each."""
    prices = {
        "timber": {"15 x 45": 2.5},
        "sheets": {"plywood": {"4 x 1220 x 610": 14.5}},
        "screws": {"3.5 x 30": 0.06},
        "stems": {"frost indicator": 1.2},
        "glue": 12.0,
    }
    stock = on_sale(
        timber={"lengths": [2000.0], "kerf": 2.0, "end_trim": 0.0}, sheet={"sizes": [(1220.0, 610.0)]}, prices=prices
    )
    order = order_for(made_by(4), still_workshop(), stock, NONE)
    costs = [line.cost for line in order.lines]
    glue = 4 * 1.69 / 1000 * 12
    assert costs == [2 * 2.5, None, 14.5, None, None, pytest.approx(8 * 0.06), None, None, 4 * 1.2, pytest.approx(glue)]
    assert order.cost == pytest.approx(5 + 14.5 + 0.48 + 4.8 + glue)
    assert [line.sort for line in order.lines] == [
        *[Sort.LENGTHS] * 2,
        *[Sort.SHEETS] * 3,
        *[Sort.READY] * 4,
        Sort.GLUE,
    ]
    assert order_for(made_by(4), still_workshop(), on_sale(), NONE).cost is None


# Over random designs


@settings(max_examples=15, deadline=None)
@given(designs(), st.booleans(), st.integers(0, 3))
def test_every_piece_is_sawn_once_and_no_plan_takes_more_than_its_stock(design, straight, spare):
    kinds = pieces(design, spare)
    sections, sheets = sawn_sections(kinds, SHIPS), sawn_sheets(kinds, SHIPS, straight=straight)
    sawn = Counter()
    for section in sections:
        length = section.on_sale
        for pattern in section.patterns:
            sawn.update({kind.letter: pattern.times * n for kind, n in pattern.runs})
            taken = sum(kind.size[0] for kind in pattern.kinds) + length.kerf * (len(pattern.kinds) - 1)
            assert taken <= length.length - 2 * length.end_trim + 1e-3
            assert {(kind.part.thickness, kind.part.width) for kind in pattern.kinds} == {
                (section.thickness, section.height)
            }
        assert section.count >= section.plan.bound
        assert section.count * section.on_sale.length <= min(
            w.count * w.on_sale.length for w in section.others if w.plan
        )
    for of in sheets:
        sizes = [kind.size for kind in of.kinds]
        assert fault_of(of.plan.sheets, sizes, [kind.count for kind in of.kinds], of.on_sale) is None
        assert not straight or all(straight_cut(layout, sizes, of.on_sale) for layout in of.plan.sheets)
        assert of.on_sale.turn == sheets_of(of.material, SHIPS.sheet, SHIPS.sheets).turn
        for lay in of.lays:
            sawn.update({kind.letter: lay.times * n for kind, n in lay.counts})
    assert sawn == {kind.letter: kind.part.count * design.makers + spare for kind in kinds}


def test_a_plaque_that_a_laser_cuts_is_ordered_by_its_outline_and_one_cut_by_hand_by_its_blank():
    """77.07 x 90 mm: four by seven of them go onto 590 x 390 mm, turned; blanks of 97.07 x 110, four by five."""
    laser, by_hand = (
        order_for(made_by(26, *words), still_workshop(), SHIPS, NONE) for words in ((), ('plaque.cut="by hand"',))
    )
    (cut,), (sawn,) = ([each for each in order.sheets if each.material == "acrylic"] for order in (laser, by_hand))
    assert cut.kinds[0].size == pytest.approx((82 - 12 + math.pi / 2 * 4.5, 90))
    assert sawn.kinds[0].size == pytest.approx((82 - 12 + math.pi / 2 * 4.5 + 20, 110))
    assert [(each.on_sale.length, each.count) for each in (cut, sawn)] == [(600, 1), (600, 2)]


# What is said before anybody saws


def test_every_sheet_s_cautions_are_told_and_the_laser_s_where_one_cuts():
    laser = order_for(made_by(1), still_workshop(), SHIPS, NONE)
    told = [caution.operation for caution in sawing_cautions(laser)]
    assert told == [*["sawing out"] * 3, "sheet edges", "laser", "laser"]
    assert "MDF" in sawing_cautions(laser)[1].words
    by_hand = order_for(made_by(1, 'plaque.cut="by hand"'), still_workshop(), SHIPS, NONE)
    assert [caution.operation for caution in sawing_cautions(by_hand)][4:] == ["craft knife"] * 2
