"""The sheets: exact scale in the PDF, arrows as long as they say, nothing over anything, the same bytes, refusals."""

import csv
import io
import math
from functools import cache, partial
from itertools import combinations, pairwise

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from pypdf import PdfReader

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.learning.features import FEATURES
from assembly.learning.instrument_files import read_instruments
from assembly.learning.readings import read_readings
from assembly.made.gap_classes import gap_scale_of
from assembly.nominal.fittings import fittings
from assembly.nominal.frame import frame
from assembly.planning.dimensions import drawn_parts
from assembly.planning.making import making_order
from assembly.solids.box import box_arrays, build
from tests.commands import runner
from tests.designs import designs
from tests.papers import POINT, check_pages, shrunk, strokes_in
from tests.sweep import some
from viewer.commands import jobs, sheets_job
from viewer.scene.box_scene import scene
from viewer.scene.scene import TitleBlock
from viewer.sheets.assembly_page import assembly_pages
from viewer.sheets.book import book, decisive, templates
from viewer.sheets.flow import Block, flowed
from viewer.sheets.frame import BAR, bars, page
from viewer.sheets.page import PAPERS, Area, Pen, Stroke, Words, extent, paper_size, straight
from viewer.sheets.part_drawing import RADIUS
from viewer.sheets.part_sheet import SCALES, part_sheet, steps_of, together, views_of
from viewer.sheets.readings import measuring_blocks, readings
from viewer.sheets.templates import template_pages
from viewer.sheets.typeset import pdf

SHIPPED = ("frost_watch", "label_box", "seed_box")
NEAR = 1e-3  # mm
CURE = "they have Latin, Greek and Cyrillic; write it so in the design"


@pytest.fixture
def run(monkeypatch, capsys):
    return runner(monkeypatch, capsys)


@cache
def whole(name, paper="A4", causes=("chisel",), teacher=None):
    job = jobs.read(name)
    return book(job.design, job.workshop, sheets_job.apart(job), PAPERS[paper], causes, teacher)


def parts_and_pages(design, workshop, size):
    """Return the part sheets and all pages but the assembly page, which takes solids."""
    order, parts = making_order(design, workshop), drawn_parts(design, workshop)
    caliper = decisive(parts, ["chisel"])
    sheets = []
    for part in parts:
        measured = partial(measuring_blocks, [one for one in readings(design) if one.spot.part in part.called], order)
        views = views_of(part, frame(design), order, design.overlength)
        sheets.append(part_sheet(part, views, steps_of(part, order), measured, size, caliper))
    contents = [each for sheet in sheets for each in sheet.pages]
    contents += template_pages(templates(design, size), size, ["A3"])
    return sheets, [page(paper, head, items, "Page 10 of 20") for head, paper, items in contents]


# In the PDF


@cache
def content(name="frost_watch", paper="A4"):
    return pdf(whole(name, paper).pages, "A box")


@pytest.mark.parametrize("paper", PAPERS)
def test_a_hundred_millimetres_are_a_hundred_in_the_pdf_on_both_axes_of_every_page(paper):
    """Set are one page upright and one lying; that all pages have the same bars is asked of their records."""
    pages = whole("frost_watch", paper).pages
    assert all(set(bars(one.size)) <= set(one.items) for one in pages)
    data = pdf(tuple({one.size: one for one in pages}.values()), "A box")
    for number, sheet in enumerate(PdfReader(io.BytesIO(data)).pages):
        size = float(sheet.mediabox.width) * POINT, float(sheet.mediabox.height) * POINT
        assert sorted(size) == pytest.approx(sorted(PAPERS[paper]), abs=NEAR)
        long = [(a, b) for a, b in strokes_in(data, number) if math.dist(a, b) == pytest.approx(BAR, abs=NEAR)]
        level = [(a, b) for a, b in long if a[1] == pytest.approx(b[1], abs=NEAR)]
        upright = [(a, b) for a, b in long if a[0] == pytest.approx(b[0], abs=NEAR)]
        assert level
        assert upright


@pytest.mark.parametrize("name", SHIPPED)
def test_each_arrow_in_the_pdf_is_as_long_as_its_figure_says(name):
    book_of, data = whole(name), content(name)
    for sheet in book_of.parts:
        number = next(i for i, one in enumerate(book_of.pages) if set(sheet.drawing.items) <= set(one.items))
        height = book_of.pages[number].size[1]
        pieces = {
            frozenset((round(x, 2), round(height - y, 2)) for x, y in piece) for piece in strokes_in(data, number)
        }
        for drawn in sheet.drawing.dimensions:
            length = math.dist(*drawn.line) * sheet.scale
            assert length == pytest.approx(drawn.dimension.value, abs=NEAR)
            assert abs(float(drawn.dimension.text.strip("()")) - length) <= 0.05 + NEAR
            ends = frozenset((round(x, 2), round(y, 2)) for x, y in drawn.line)
            near = [
                piece
                for piece in pieces
                if len(piece) == 2 and all(min(math.dist(end, other) for other in piece) < 0.02 for end in ends)
            ]
            assert near, (sheet.part.name, drawn.dimension.text)


def test_words_can_be_searched():
    said = " ".join(one.extract_text() for one in PdfReader(io.BytesIO(content())).pages)
    for words in ("Lapped wall", "Scale 1:1", "face edge (bottom)", "check with a caliper", "Take care:", "100 mm"):
        assert words in said


def test_the_same_design_gives_the_same_bytes_without_a_date():
    again = pdf(whole("frost_watch").pages, "A box")
    assert again == content()
    assert PdfReader(io.BytesIO(again)).metadata.creation_date.year == 1970


# On the page


def passes(stroke, box):
    """Tell whether an upright or level stroke passes through a rectangle."""
    return any(
        max(ax, bx) > box[0] and min(ax, bx) < box[2] and max(ay, by) > box[1] and min(ay, by) < box[3]
        for (ax, ay), (bx, by) in pairwise(stroke.points)
        if math.isclose(ax, bx) or math.isclose(ay, by)
    )


def check_drawings(sheets):
    for sheet in sheets:
        strokes = [
            item
            for drawn in sheet.drawing.dimensions
            for item in drawn.items
            if isinstance(item, Stroke) and item.pen is Pen.DIMENSION
        ]
        for drawn in sheet.drawing.dimensions:
            (figure,) = (item for item in drawn.items if isinstance(item, Words))
            assert not [stroke for stroke in strokes if passes(stroke, shrunk(figure))], (sheet.part.name, figure.text)
        for (_, a), (_, b) in combinations(sheet.drawing.balloons, 2):
            assert math.dist(a, b) > 2 * RADIUS


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", SHIPPED)
def test_nothing_of_a_shipped_design_is_off_the_page_or_over_anything(name, paper):
    found = whole(name, paper)
    check_pages(found.pages)
    check_drawings(found.parts)


@settings(
    max_examples=some(50),
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
    phases=[Phase.explicit, Phase.generate],
)
@given(designs())
def test_nothing_of_random_designs_is_off_the_page_or_over_anything(design):
    sheets, pages = parts_and_pages(design, read_workshop("new_to_tools"), PAPERS["A4"])
    check_pages(pages)
    check_drawings(sheets)


def test_every_dimension_is_drawn_once_and_every_step_listed_once_on_its_sheet():
    job = jobs.read("frost_watch")
    order = making_order(job.design, job.workshop)
    found = whole("frost_watch")
    for sheet in found.parts:
        member = sheet.part.members[0]
        told = [drawn.dimension for drawn in sheet.drawing.dimensions]
        assert sorted(map(repr, told)) == sorted(map(repr, (d for d in sheet.part.dimensions if d.how != "centred")))
        balloons = {number for number, _ in sheet.drawing.balloons}
        marking = {step.number for step in steps_of(sheet.part, order) if member in {one.part for one in step.drawn}}
        seen = {s.number for s in order.steps if s.number in balloons}
        assert marking - {53} <= seen, "step 53 writes on the lid's underside"
    listed = {step.number for step in together(order)}
    for sheet in found.parts:
        listed |= {step.number for step in steps_of(sheet.part, order)}
    assert listed == {step.number for step in order.steps}


def test_where_true_size_does_not_fit_the_largest_scale_that_does_is_stated():
    assert {sheet.scale for sheet in whole("frost_watch").parts} == {1}
    design, workshop = read_design("frost_watch", ["box.length=300"]), read_workshop("new_to_tools")
    for size, scale in (("A4", 2), ("A3", 1)):
        sheets, pages = parts_and_pages(design, workshop, PAPERS[size])
        plain = next(sheet for sheet in sheets if sheet.part.name == "plain wall")
        assert plain.scale == scale
        assert f"Scale 1:{scale}" in [words.text for one in pages for words in one.words]


def test_the_caliper_goes_to_the_dimension_of_the_first_cause_that_decides_one():
    parts = drawn_parts(read_design("frost_watch"), read_workshop("new_to_tools"))
    chisel, saw = decisive(parts, ["square of nothing", "chisel", "saw"]), decisive(parts, ["saw", "chisel"])
    assert (chisel.part, chisel.end.name) == ("lapped wall", "cheek")
    assert (saw.part, saw.text) == ("plain wall", "145")
    assert decisive(parts, []) is None
    framed = [words.text for one in whole("frost_watch").pages for words in one.words if "caliper" in words.text]
    assert "7.5 in its frame: check with a caliper" in framed


def test_pupils_see_no_tolerance():
    assert not [words.text for one in whole("frost_watch").pages for words in one.words if "±" in words.text]


# Templates


def test_templates_are_at_true_size_and_those_too_large_are_named():
    design = read_design("frost_watch")
    sizes = {one.name: one.size for one in templates(design, PAPERS["A4"])}
    assert sizes["Lap, either end of a lapped wall"] == pytest.approx((10 + 30, 15 + 45 + 15))
    assert sizes["Cable hole, back wall"] == pytest.approx((145, 10 + 45 + 10))
    assert sizes["Lid, from above"] == pytest.approx((160, 90))
    developed = fittings(design).plaque.developed
    assert sizes["Plaque, flat, from above"] == pytest.approx((developed, 90))
    wide = read_design("frost_watch", ["box.length=300"])
    said = " ".join(
        item.text
        for _, _, items in template_pages(templates(wide, PAPERS["A4"]), PAPERS["A4"], ["A3"])
        for item in items
        if isinstance(item, Words)
    )
    assert "Too large for this paper at full size: Lid, from above (300 × 90 mm). Print the sheets on A3" in said


def test_holes_of_templates_lie_where_the_frame_has_them():
    lid = next(one for one in templates(read_design("frost_watch"), PAPERS["A4"]) if one.name.startswith("Lid"))
    middles = set()
    for item in lid.items:
        if isinstance(item, Stroke) and item.pen is Pen.PENCIL:
            left, top, right, bottom = extent([item])
            middles.add((round((left + right) / 2, 3), round((top + bottom) / 2, 3)))
    # screws 7.5 from the ends of 160, the plaque's 30 to either side of the middle
    assert middles == {(7.5, 45.0), (50.0, 45.0), (80.0, 45.0), (110.0, 45.0), (152.5, 45.0)}


# The form


def test_the_form_has_a_row_for_each_maker_and_place_and_is_read_back_when_it_is_filled_in(run, tmp_path):
    """What `lapwright learn` refuses of it is only that nothing has been measured yet."""
    assert run("sheets", "frost_watch", "--to", str(tmp_path))[0] == 0
    file = tmp_path / "frost_watch_sheets_readings.csv"
    rows, asked = list(csv.DictReader(io.StringIO(file.read_text()))), readings(read_design("frost_watch"))
    assert tuple(rows[0]) == ("class", "maker", "part", "end", "feature", "at", "measured_mm", "instrument")
    assert {row["maker"] for row in rows} == {str(number) for number in range(1, 27)}
    assert len(rows) == 26 * len(asked)
    assert {row["measured_mm"] for row in rows} == {""}
    with pytest.raises(InputError, match="no reading is filled in"):
        read_readings([str(file)], read_design("frost_watch"), read_workshop("new_to_tools"), read_instruments())


def test_a_reading_says_how_and_after_which_step_it_is_taken():
    order = making_order(read_design("frost_watch"), read_workshop("new_to_tools"))
    sawn = next(step.number for step in order.steps if step.operation == "saw")
    shown = " ".join(words.text for one in whole("frost_watch").pages for words in one.words)
    assert f"waste, after step {sawn} (cutting to length): {FEATURES['waste'].how}" in shown
    assert f"thickness, before the first step, as the timber came: {FEATURES['thickness'].how}" in shown


# The command


def test_sheets_writes_a_pdf_and_the_form(run, tmp_path):
    code, out, _ = run("sheets", "seed_box", "--to", str(tmp_path))
    assert code == 0
    assert out.splitlines() == [
        f"wrote {tmp_path.as_posix()}/seed_box_{name}" for name in ("sheets.pdf", "sheets_readings.csv")
    ]
    assert len(PdfReader(tmp_path / "seed_box_sheets.pdf").pages) > 8


def test_the_teachers_edition_begins_with_what_check_says(run, tmp_path):
    code, _, _ = run("sheets", "label_box", "--for", "teacher", "--to", str(tmp_path))
    assert code == 0
    first = PdfReader(tmp_path / "label_box_sheets_teacher.pdf").pages[0].extract_text()
    assert "In a class" in first
    assert "lapped wall" in first


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--paper", "A5"], "--paper: got 'A5', must be one of A4, A3, Letter"),
        (["--for", "head"], "--for: unknown name 'head'; must be one of pupil, teacher"),
        (
            ["--set", "name=箱"],
            f"箱: the letters of the sheets (DejaVu Sans) have no '箱' (U+7BB1); {CURE}",
        ),
        (
            ["--set", "plaque.wording=苗"],
            f"苗: the letters of the sheets (DejaVu Sans) have no '苗' (U+82D7); {CURE}",
        ),
    ],
)
def test_what_can_not_be_printed_is_refused_with_nothing_written(run, tmp_path, words, message):
    code, out, err = run("sheets", "frost_watch", "--to", str(tmp_path / "out"), *words)
    assert (code, out, err.strip()) == (2, "", f"lapwright: {message}")
    assert not (tmp_path / "out").exists()


def test_a_part_too_large_for_the_paper_is_refused_with_the_paper_that_takes_it():
    design = read_design("frost_watch", ["box.length=1200", "box.width=600", "box.height=300"])
    with pytest.raises(InputError) as refused:
        parts_and_pages(design, read_workshop("new_to_tools"), PAPERS["A4"])
    assert str(refused.value) == (
        "--paper: got A4, but the plain wall, 1205 × 300 mm with its waste, does not fit on it even at 1:5; take A3"
    )
    assert SCALES[-1] == 5


def test_a_folder_that_is_a_file_is_refused(run, tmp_path):
    (tmp_path / "out").write_text("here")
    code, out, err = run("sheets", "seed_box", "--to", str(tmp_path / "out"))
    assert (code, out) == (3, "")
    assert err.strip() == (
        f"lapwright: {tmp_path}/out: is a file, and a folder is needed to write into; give another with --to"
    )
    assert (tmp_path / "out").read_text() == "here"


def test_papers_are_found_whatever_their_case_and_have_their_standards_sizes():
    """ISO 216 (from memory): an A3 is two A4 side by side; Letter is 8.5 x 11 inches."""
    assert paper_size("a4") == (210, 297)
    assert paper_size("A3") == (297, 2 * 210)
    assert paper_size("letter") == pytest.approx((8.5 * 25.4, 11 * 25.4))


def test_the_box_taken_apart_is_drawn_as_areas_with_a_number_for_each_kind_of_part():
    first = whole("frost_watch").pages[0]
    areas = [item for item in first.items if isinstance(item, Area) and item.pen is Pen.EDGE]
    assert len(areas) > 60
    numbers = [words.text for words in first.words if words.text.isdigit() and words.place[1] < first.size[1] / 2]
    assert sorted(map(int, numbers)) == list(range(1, 11))


@settings(max_examples=6, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck))
@given(designs())
def test_the_assembly_page_of_random_designs_is_clear(design):
    order, parts = making_order(design, read_workshop("new_to_tools")), box_arrays(build(design))
    box = scene(parts, None, gap_scale_of(design), 1.0, TitleBlock(name=design.name))
    size = PAPERS["A4"]
    contents = assembly_pages(box, order, together(order), size)
    check_pages([page(size, head, items, "Page 10 of 20") for head, size, items in contents])


def test_lines_are_named_by_the_steps_that_draw_them():
    said = [words.text for one in whole("frost_watch").pages for words in one.words]
    assert "Lines by their steps: 5, 8 datum; 16, 18 shoulder; 20 gauge line." in said


def test_the_plaques_free_edge_is_named_where_it_lies():
    """Its standing leg is at the back of the lid, so the flat leg's free edge is at the front."""
    said = [words.text for one in whole("frost_watch").pages for words in one.words]
    assert "flat from above, flat leg's free edge at the bottom" in said
    turned = read_design(
        "frost_watch", ['plaque.side="left"', "plaque.stem_to_bend=25", "plaque.width=70", "plaque.hole_spacing=40"]
    )
    _, pages = parts_and_pages(turned, read_workshop("new_to_tools"), PAPERS["A4"])
    assert "flat from above, flat leg's free edge at the right" in [w.text for one in pages for w in one.words]


def test_a_step_that_is_listed_elsewhere_is_named():
    """The lid's outline is drawn round the frame, so its step is among those that put parts together."""
    order = making_order(read_design("frost_watch"), read_workshop("new_to_tools"))
    outline = next(step.number for step in together(order) if any(line.part == "lid" for line in step.lines))
    said = [words.text for one in whole("frost_watch").pages for words in one.words]
    assert f"Listed where parts are put together: step {outline}." in said


def test_a_heading_is_never_the_last_in_a_column():
    heads = [Block(items=(), height=5.0, heading=True)] * 2
    plain = Block(items=(straight((0.0, 0.0), (1.0, 0.0), Pen.RULE),), height=10.0)
    room = (0.0, 0.0, 80.0, 25.0)
    first, second = flowed([plain, *heads, plain], room, room)
    assert (len(first), len(second)) == (1, 1)
    assert second[0].points[0] == (0.0, 10.0)
