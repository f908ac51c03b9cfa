"""An order on paper: to scale, nothing over anything, whatever the design."""

import io
import math
from functools import cache

import pytest
from designs import designs
from hypothesis import given, settings
from hypothesis import strategies as st
from papers import check_pages, strokes_in
from pypdf import PdfReader
from sweep import some

from assembly.files.reading import maker, read_design
from assembly.files.stock import read_on_sale
from assembly.order.class_pieces import Kind, SpareRule
from assembly.order.glue import Glue
from assembly.order.order import Order, order_for
from assembly.order.ready import ready
from assembly.order.sawn_lengths import sawn_sections
from assembly.order.sawn_sheets import sawn_sheets
from assembly.order.spoilage import Spares
from assembly.planning.cutting import cut_parts
from assembly.study.intervals import wilson
from viewer.reports.order_pages import order_pages
from viewer.reports.order_report import order_text
from viewer.sheets.page import PAPERS
from viewer.sheets.sawing_pictures import SCALES, scale_for
from viewer.sheets.typeset import pdf

NEAR = 1e-3  # mm
SHIPPED = ("frost_watch", "label_box", "seed_box")


@cache
def order_of(name, *, straight=False):
    design, stock = read_design(name), read_on_sale()
    return order_for(design, maker(design, name), stock, SpareRule(share=0.1), straight=straight)


@cache
def pages_of(name, paper="A4", *, straight=False):
    return order_pages(order_of(name, straight=straight), read_on_sale().sections, None, PAPERS[paper])


@pytest.mark.parametrize("straight", [False, True])
@pytest.mark.parametrize("name", SHIPPED)
def test_nothing_on_the_pages_is_off_the_paper_or_over_anything(name, straight):
    check_pages(pages_of(name, straight=straight))
    check_pages(pages_of(name, "Letter", straight=straight))


def unsimulated(design, *, straight):
    """Return an order of a design whose glue and chances are made up: only what is sawn is worked out."""
    stock, told = read_on_sale(), wilson(60, 2000)
    spares = Spares(wall="lapped", needed=1, spares=1, runs_out=told, spoilt=told, given_up=0.0, classes=2000)
    kinds = tuple(
        Kind(letter=letter, part=part, needed=part.count * design.makers, spares=at, walls=spares if at < 2 else None)
        for at, (letter, part) in enumerate(zip("ABCDE", cut_parts(design), strict=False))
    )
    return Order(
        design=design,
        workshop=maker(read_design("frost_watch"), "frost_watch"),
        rule=SpareRule(),
        kinds=kinds,
        sections=sawn_sections(kinds, stock),
        sheets=sawn_sheets(kinds, stock, straight=straight),
        ready=ready(design, stock.prices),
        glue=Glue(name="glue", gap_volume=told, contact=1.0, makers=design.makers, boxes=2000, beyond=wilson(0, 2000)),
        currency="",
        glue_price=None,
        seed=1,
    )


@settings(max_examples=some(20), deadline=None)
@given(designs(), st.booleans())
def test_pages_of_random_designs_are_clear(design, straight):
    order, sections = unsimulated(design, straight=straight), read_on_sale().sections
    check_pages(order_pages(order, sections, None, PAPERS["A4"]))
    assert order_text(order, sections, None).startswith("Random box: the order for ")


def test_the_longest_names_keep_to_the_paper():
    """A design's names have at most 60 letters, a stem's 40."""
    design, stock = read_design("frost_watch"), read_on_sale()
    wide = "W" * 60
    design = design.model_copy(
        update={
            "name": wide,
            "timber": design.timber.model_copy(update={"name": wide}),
            "base": design.base.model_copy(update={"material": wide}),
            "stem": design.stem.model_copy(update={"name": "W" * 40}),
        }
    )
    order = order_for(design, maker(read_design("frost_watch"), "frost_watch"), stock, SpareRule(share=0.0))
    check_pages(order_pages(order, stock.sections, f"{wide}/{wide}.toml", PAPERS["A4"]))


def test_pictures_are_to_scale_in_the_pdf():
    """Lengths of 2.4 m at 1:15 are 160 mm long; the sheet at 1:7.5 is 1220/7.5 by 610/7.5; so are the bars 100 mm."""
    pages = pages_of("frost_watch")
    data = pdf(pages, "An order")
    found = [piece for number in range(len(pages)) for piece in strokes_in(data, number)]

    def there(length, level):
        axis = 1 if level else 0
        return [
            (a, b)
            for a, b in found
            if math.dist(a, b) == pytest.approx(length, abs=NEAR) and a[axis] == pytest.approx(b[axis], abs=NEAR)
        ]

    order = order_of("frost_watch")
    ways = sum(len(of.patterns) for of in order.sections)
    assert len(there(2400 / 15, level=True)) == 2 * ways, "upper and lower edge of each length"
    assert there(1220 / 7.5, level=True)
    assert there(610 / 7.5, level=False)
    assert there(100, level=True)
    assert there(100, level=False)
    pieces = sum(len(pattern.kinds) for of in order.sections for pattern in of.patterns if of.thickness == 15)
    assert len(there(110 / 15, level=True)) >= 2 * pieces
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
    for said in ("To order", "3 lengths of", "A = lapped wall (end) 110 x 45", "Scale 1:15", "Scale 1:7.5", "MDF"):
        assert said in words


def test_every_cut_of_a_straight_layout_has_its_number():
    """14 bases lie in two columns of seven, sawn by 2 + 2 x 7 cuts, 14 lids as well; 14 plaques in a row, by 1 + 14."""
    words = [one.text for page in pages_of("label_box", straight=True) for one in page.words]
    assert [len(lay.cuts) for of in order_of("label_box", straight=True).sheets for lay in of.lays] == [16, 16, 15]
    assert all(words.count(str(number)) >= 3 for number in range(1, 16))
    assert words.count("16") >= 2


def test_every_length_and_sheet_on_sale_goes_onto_the_paper():
    """The longest that a stock file may have, and the largest sheet, on the narrowest paper (A4, 182 mm)."""
    assert scale_for(12_000, 0, 182) in SCALES
    assert scale_for(5_000, 5_000, 182) in SCALES
