"""Readings from CSV files: what is read, and every fault with its line and cure, all at once; nothing half-written."""

import numpy as np
import pytest

from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.learning.boxes import read_boxes
from assembly.learning.features import FEATURES, Place, Spot
from assembly.learning.instrument_files import read_instruments
from assembly.learning.readings import COLUMNS, data_of, read_readings

DESIGN, WORKSHOP, INSTRUMENTS = read_design("frost_watch"), read_workshop("new_to_tools"), read_instruments()
HEAD = ",".join(COLUMNS)
GOOD = "1,1,left,,thickness,,15.1,caliper"


def written(folder, *lines, head=HEAD, name="r.csv"):
    (folder / name).write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    return str(folder / name)


def read(*files):
    return read_readings(files, DESIGN, WORKSHOP, INSTRUMENTS)


def refused(*files):
    with pytest.raises(InputError) as caught:
        read(*files)
    return str(caught.value)


FAULTS = {  # a line in place of a good one, and what is said of it
    "1,1,left,,thickness,,4.5,steel rule to 0.5 mm": (
        "measured_mm: got 4.5, where 15 mm is drawn and at most 5 off is believed; read it again, or leave the cell "
        "blank"
    ),
    "1,1,left,,height,,4.5,caliper": (
        "measured_mm: got 4.5, where 45 mm is drawn and at most 15 off is believed; that is likely cm: write 45"
    ),
    "1,1,left,,thickness,,=1+1,caliper": "measured_mm: got '=1+1', a formula; write the number that it gives",
    '1,1,left,,thickness,,"15,1",caliper': (
        "measured_mm: got '15,1'; where cells are separated by commas write a point: 15.1"
    ),
    "1,1,left,,thickness,,15,1,caliper": (
        "line: has 9 cells, and there are 8 columns; where a comma is the decimal sign write a point, or separate the "
        "cells by semicolons"
    ),
    "1,Ann,left,,thickness,,15.1,caliper": (
        "maker: got 'Ann', must be the maker's number, 1 or more; makers are numbers, never names"
    ),
    ",1,left,,thickness,,15.1,caliper": "class: is blank, must be the class's number, 1 or more",
    "1,1,left,,thicknes,,15.1,caliper": "feature: got 'thicknes', no such feature; did you mean 'thickness'?",
    "1,1,base,,thickness,,15.1,caliper": "part: got 'base', must be one of left, right, front, back for thickness",
    "1,1,left,left,waste,inside-top,0.5,caliper": "end: got 'left', must be one of front, back for waste",
    "1,1,left,front,waste,,0.5,caliper": (
        "at: is blank, must be one of inside-bottom, inside-top, outside-bottom, outside-top for waste"
    ),
    "1,1,left,,thickness,,15.1,calliper": "instrument: got 'calliper', no such instrument; did you mean 'caliper'?",
    "1,1,left,,thickness,,15.1,steel rule to 1 mm": (
        "measured_mm: got 15.1, which 'steel rule to 1 mm' does not show: it is read to 1; write what was read, or "
        "name the instrument that it was read with"
    ),
    "1,1,left,,thickness,,15.1,protractor": "instrument: 'protractor' reads degrees, and thickness is in mm",
    "1,1,left,,thickness,,15 mm,caliper": "measured_mm: got '15 mm', must be a number; write the number alone: 15",
    "1,1,left,,thickness,,nan,caliper": "measured_mm: got 'nan', must be a number",
    "1,1,left,,thickness,,09. Aug,caliper": (
        "measured_mm: got '09. Aug', must be a number; read it again, or leave the cell blank"
    ),
    "1,1,left,,thickness,,n/a,caliper": (
        "measured_mm: got 'n/a', must be a number; read it again, or leave the cell blank"
    ),
    "1,1,left,,thickness,,15.1,caliper to 0.05 mm": (  # in letters near to a rule ten times as coarse
        f"instrument: got 'caliper to 0.05 mm', no such instrument; there are {', '.join(INSTRUMENTS)}"
    ),
}


@pytest.mark.parametrize("line", FAULTS)
def test_a_fault_is_told_with_line_and_cure(tmp_path, line):
    file = written(tmp_path, GOOD.replace("left", "right"), line)
    assert refused(file) == f"{file}: 1 to fix\n  line 3: {FAULTS[line]}"


def test_all_faults_of_all_files_at_once(tmp_path):
    first, second = written(tmp_path, *FAULTS), written(tmp_path, *FAULTS, name="s.csv")
    said = refused(first, second)
    assert [said.count(f": {fault}\n") + said.endswith(fault) for fault in FAULTS.values()] == [2] * len(FAULTS)
    assert said.count("to fix") == 2


def test_a_maker_twice(tmp_path):
    file = written(tmp_path, GOOD, GOOD.replace("15.1", "15.2"), GOOD)
    cure = "leave one out, or number those who read in a column reader, or their readings in a column trial"
    found = refused(file).splitlines()[1:]
    assert len(found) == 2
    assert any("for the same place of the same maker" in line and line.endswith(cure) for line in found)
    assert any("says the same as line" in line and line.endswith(cure) for line in found)
    by_readers = [f"{GOOD},1", f"{GOOD.replace('15.1', '15.2')},2"]
    for column in ("reader", "trial"):
        assert len(read(written(tmp_path, *by_readers, head=f"{HEAD},{column}"))) == 2


def test_two_classes_of_one_number_are_told_once(tmp_path):
    """Of five places on, most with other numbers; where few are the same, or as the same, lines are told as ever."""
    lines = [f"1,{maker},{wall},,thickness,,15.1,caliper" for maker in (1, 2, 3) for wall in ("left", "right")]
    other = [line.replace("15.1", "15.2") for line in lines]
    first, second = written(tmp_path, *lines), written(tmp_path, *other[:4], *lines[4:5], name="s.csv")
    cure = (
        "if these are two classes, write another number in the column class of one file; if not, number those who read "
        "in a column reader, or their readings in a column trial"
    )
    told = f"class: {first} has readings of class 1, too: 5 of the same places, 4 of them with other numbers; {cure}"
    assert refused(first, second) == f"{second}: 1 to fix\n  {told}"
    for some in (other[:4], [*other[:2], *lines[2:5]]):
        said = refused(first, written(tmp_path, *some, name="s.csv"))
        assert said.count("leave one out, or number those who read in a column reader") == len(some)
        assert "if these are two classes" not in said
    twice = written(tmp_path, *other[:5], other[0], name="s.csv")
    assert refused(first, twice).startswith(f"{twice}: 2 to fix\n  class: ")


def test_a_table_of_finished_boxes_is_told(tmp_path):
    file = written(tmp_path, "1,1,step,,0.3,feeler blades", head="class,maker,outcome,at,measured_mm,instrument")
    assert refused(file) == f"{file}: 1 to fix\n  file: holds finished boxes; `lapwright outcome` takes it"
    with pytest.raises(InputError) as caught:
        read_boxes([written(tmp_path, GOOD)], DESIGN, INSTRUMENTS)
    assert str(caught.value).endswith("1 to fix\n  file: holds readings of parts; `lapwright learn` takes it")


def test_what_a_design_lacks(tmp_path):
    file = written(tmp_path, "1,1,plaque,,bend_angle,,91,protractor")
    seed_box = DESIGN.model_copy(update={"plaque": None, "stem": None})
    with pytest.raises(InputError) as caught:
        read_readings([file], seed_box, WORKSHOP, INSTRUMENTS)
    assert "line 2: feature: 'bend_angle' is of a part that this design does not have; it has thickness" in str(
        caught.value
    )


def test_a_fourth_corner_of_a_piece(tmp_path):
    corners = ("inside-bottom", "inside-top", "outside-bottom", "outside-top")
    lines = [f"1,1,left,,length,{corner},90,caliper" for corner in corners]
    assert refused(written(tmp_path, *lines)).endswith(
        "line 5: at: is the fourth corner of one piece, which follows from the other three; leave one blank"
    )
    assert len(read(written(tmp_path, *lines[:3]))) == 3


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "file: is empty; `lapwright readings DESIGN` writes one to fill in"),
        ("\ufeff\n\n", "file: is empty; `lapwright readings DESIGN` writes one to fill in"),
        (HEAD.replace("maker", "makr") + "\n", "line 1: column 'makr': unknown; did you mean 'maker'?"),
        (HEAD + ",date,date\n", "line 1: column 'date': is there twice; leave one out"),
    ],
)
def test_files_that_say_nothing(tmp_path, content, said):
    (tmp_path / "r.csv").write_text(content, encoding="utf-8")
    assert said in refused(str(tmp_path / "r.csv"))


def test_a_form_that_nobody_filled_in(tmp_path):
    file = written(tmp_path, GOOD.replace("15.1", ""))
    assert refused(file) == f"{file}: no reading is filled in; fill in the column measured_mm of what was read"


def test_a_file_that_is_not_there():
    assert refused("none.csv") == "none.csv: 1 to fix\n  file: does not exist; give the path of a CSV file"


def test_what_a_spreadsheet_saves(tmp_path):
    """A byte-order mark, semicolons with decimal commas, carriage returns, blank columns and lines."""
    lines = [HEAD.replace(",", ";") + ";;;", GOOD.replace(",", ";").replace("15.1", "15,1") + ";;;", ";;;;;;;;;;", ""]
    (tmp_path / "r.csv").write_text("\ufeff" + "\r\n".join(lines), encoding="utf-8", newline="")
    (found,) = read(str(tmp_path / "r.csv"))
    assert (found.value, found.line) == (15.1, 2)


def test_order_and_split_change_nothing(tmp_path):
    """Readings come in one order, so everything worked out from them is the same to the last digit."""
    lines = [f"1,{maker},{part},,thickness,,15.{maker},caliper" for maker in range(1, 9) for part in ("left", "right")]
    whole = read(written(tmp_path, *lines))
    shuffled = [lines[at] for at in np.random.default_rng(1).permutation(len(lines))]
    apart = read(written(tmp_path, *shuffled[:5], name="a.csv"), written(tmp_path, *shuffled[5:], name="b.csv"))
    assert [(each.thing, each.value) for each in whole] == [(each.thing, each.value) for each in apart]


# Sizes by hand (MODEL.md, 8.1): frost watch, T = 15, t = 10, D = K = 7.5, L = 160, W = 90, H = 45.
R = np.pi / 180
SIZES = {
    ("thickness", Spot("front")): (10, {("stock.thickness", "front"): 1}),
    ("height", Spot("left")): (45, {("stock.height", "left"): 1}),
    ("line", Spot("front")): (145, {("mark.offset", "front"): 1}),
    ("line_drift_plan", Spot("left", "back")): (0, {("square.plan", "left back"): 15 * R}),
    ("line_drift_upright", Spot("left", "back")): (0, {("square.upright", "left back"): 45 * R}),
    ("waste", Spot("left", "front", "inside-top")): (
        0,
        {
            ("saw.offset", "left front"): 1,
            ("saw.plan", "left front"): -7.5 * R,
            ("saw.upright", "left front"): 22.5 * R,
        },
    ),
    ("lap_line", Spot("left", "back")): (10, {("lap_mark.offset", "left back"): 1, ("stock.thickness", "back"): 1}),
    ("gauge_line", Spot("right", "front")): (7.5, {("gauge.offset", "right front"): -1}),
    ("tongue", Spot("right", "front", "outside-bottom")): (
        7.5,
        {
            ("gauge.offset", "right front"): 1,
            ("chisel.offset", "right front"): 1,
            ("chisel.along", "right front"): 5 * R,
            ("chisel.upright", "right front"): -22.5 * R,
            ("chisel.uneven", "right front outside-bottom"): 1,
            ("stock.thickness", "right"): 1,
        },
    ),
    ("hole_off_x", Spot("lid", "left screw")): (
        0,
        {("hole_mark.offset", "lid left screw x"): 1, ("drill.wander", "lid left screw x"): 1},
    ),
    ("bend_leg", Spot("plaque")): (32, {("bend.line", ""): 1, ("laser.kerf", ""): 0.5}),
    ("bend_angle", Spot("plaque")): (90, {("bend.angle", ""): 1}),
}


@pytest.mark.parametrize(("feature", "spot"), SIZES)
def test_sizes_are_those_of_the_model(feature, spot):
    const, errors = SIZES[feature, spot]
    size = FEATURES[feature].size(Place(DESIGN, WORKSHOP, spot))
    assert size.form.const == const
    assert size.form.errors == pytest.approx(errors)
    assert size.pairs == ()


def test_sanded_sizes_hold_the_smaller_of_two():
    size = FEATURES["length"].size(Place(DESIGN, WORKSHOP, Spot("front", "", "outside-top")))
    assert size.form.const == 145
    assert size.form.errors == pytest.approx(
        {("mark.offset", "front"): 1}
        | {("square.plan", f"front {end}"): 5 * R for end in ("left", "right")}
        | {("square.upright", f"front {end}"): 22.5 * R for end in ("left", "right")}
    )
    for (saw, sand), end in zip(size.pairs, ("left", "right"), strict=True):
        for form, tool in ((saw, "saw"), (sand, "sand")):
            at = f"front {end}"
            expected = {(f"{tool}.offset", at): 1, (f"{tool}.plan", at): 5 * R, (f"{tool}.upright", at): 22.5 * R}
            assert form.errors == pytest.approx(expected)


def test_a_reading_is_an_interval(tmp_path):
    """Rules half a division either side; feelers from the blade that goes in to the next."""
    drift = "line_drift_plan,,{},try square with feelers"
    lines = (
        "1,1,left,,thickness,,15,steel rule to 1 mm",
        f"1,1,left,front,{drift.format(0.3)}",
        f"1,1,left,back,{drift.format(-0.3)}",
        f"1,1,right,back,{drift.format(0)}",
    )
    file = written(tmp_path, *lines)
    data = data_of(read(file), DESIGN, WORKSHOP)
    assert [(each.low, each.high) for each in data] == [(14.5, 15.5), (-0.4, -0.3), (0.3, 0.4), (-0.05, 0.05)]
    assert data[0].unsteadiness == pytest.approx(0.2)


def test_every_shipped_instrument_has_a_source():
    assert all(each.source for each in INSTRUMENTS.values())
    assert len(INSTRUMENTS) == 6
