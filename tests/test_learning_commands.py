"""`lapwright readings`, `learn` and `outcome`, and `check` with a learned workshop, as they are typed."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from assembly.files.reading import read_design, read_workshop
from assembly.learning.example_class import TRUE, write_example
from assembly.learning.features import FEATURES, Place, Spot
from assembly.learning.files import draws_beside
from assembly.learning.readings import COLUMNS, nominal
from assembly.text import decimal

LINES = [
    f"1,{maker},{part},,thickness,,{value},caliper"
    for maker, values in enumerate([(15.1, 15.2), (15.3, 15.1), (15.2, 15.2), (15.0, 15.3)], start=1)
    for part, value in zip(("left", "right"), values, strict=True)
]
LEARNED = "exports/frost_watch_learned.toml"


@pytest.fixture
def few():
    """Return the name of a file of eight readings, in the folder of the test."""
    return "few.csv"


ONCE = {}  # what learning from these printed and wrote: every test begins with the same


@pytest.fixture
def learned(run, few):
    """Learn from these; return what was printed."""
    Path(few).write_text("\n".join([",".join(COLUMNS), *LINES]) + "\n", encoding="utf-8")
    if not ONCE:
        code, out, err = run("learn", "frost_watch", few)
        assert (code, err) == (0, "")
        ONCE.update({file: file.read_bytes() for file in Path("exports").iterdir()}, printed=out)
    Path("exports").mkdir(exist_ok=True)
    for file, content in ONCE.items():
        if isinstance(file, Path):
            file.write_bytes(content)
    return ONCE["printed"]


def test_what_is_learned_is_told_and_written(learned):
    assert learned.startswith("Frost watch: 8 readings of 4 makers in 1 class\nBefore: New to tools\n")
    assert "These are few readings: 8 readings of 4 makers in 1 class." in learned
    assert "- The timber as it comes is 0.18 mm too thick, not 0.00 (between" in learned
    assert "stock.thickness | mean" in learned
    assert "One class cannot tell its own part from the mean" in learned
    assert "As before, as no reading touches them: mark.offset," in learned
    assert "Of 1 figure the readings said under a quarter: --details lists them." in learned
    assert "Plan by the second range, which counts what is not known." in " ".join(learned.split())
    assert "What to measure next" in learned
    assert learned.endswith("wrote exports/frost_watch_learned.toml\nwrote exports/frost_watch_learned.draws.npz\n")


def test_the_learned_workshop_is_the_old_one_but_for_what_was_read(learned):
    assert learned
    before, after = read_workshop("new_to_tools"), read_workshop(LEARNED)
    text = Path(LEARNED).read_text(encoding="utf-8")
    assert text.startswith("# Learned from 8 readings of 4 makers in 1 class, without a date.\n")
    assert "  # 8 readings of 4 makers\n" in text
    found = after.operations.stock.thickness
    assert found.class_spread == before.operations.stock.thickness.class_spread
    assert found.bias == pytest.approx(0.17, abs=0.04)  # the mean of the readings is 15.175
    stock = after.operations.stock.model_copy(update={"thickness": before.operations.stock.thickness})
    assert after.operations.model_copy(update={"stock": stock}) == before.operations
    assert (after.pare, after.aids, after.name) == (before.pare, before.aids, "New to tools, learned")
    assert after.scrap.model_dump(exclude_unset=True) == before.scrap.model_dump()  # written, though all are usual


def test_the_same_seed_gives_the_same_bytes(learned, run, few):
    first = [file.read_bytes() for file in sorted(Path("exports").iterdir())]
    lines = Path(few).read_text(encoding="utf-8").splitlines()
    Path(few).write_text("\n".join([lines[0], *lines[:0:-1]]) + "\n", encoding="utf-8")  # shuffled, too
    assert run("learn", "frost_watch", few)[1] == learned
    assert [file.read_bytes() for file in sorted(Path("exports").iterdir())] == first


def test_of_another_design_s_timber_no_habit_is_told(run):
    lines = [f"1,{maker},{part},,thickness,,18.{maker},caliper" for maker in (1, 2, 3) for part in ("left", "right")]
    Path("thick.csv").write_text("\n".join([",".join(COLUMNS), *lines]) + "\n", encoding="utf-8")
    code, out, _ = run("learn", "frost_watch", "thick.csv")
    assert code == 0
    warning = "The readings of thickness of left and right look like another design's: 18.2 read, 15 drawn."
    assert warning in " ".join(out.split())
    assert "habit shows" not in out
    assert "surely do otherwise" not in out
    assert json.loads(run("learn", "frost_watch", "thick.csv", "--json")[1])["habits"] == []


def test_draws_stand_beside_and_hold_for_what_is_not_changed(learned):
    assert learned
    workshop = read_workshop(LEARNED)
    draws = draws_beside(Path(LEARNED), workshop)
    assert draws.quantities == ("stock.thickness",)
    assert draws.draws.shape == (2000, 4, 1)
    assert np.median(draws.draws[:, 3, 0]) == pytest.approx(workshop.operations.stock.thickness.spread, abs=1e-4)
    changed = read_workshop(LEARNED, settings=["workshop.stock.thickness.spread=0.3"])
    assert draws_beside(Path(LEARNED), changed) is None


def test_check_tells_the_range_with_what_is_not_known(learned, run):
    assert learned
    words = ("check", "frost_watch", "--workshop", LEARNED, "--boxes", "10000")
    _, out, _ = run(*words)
    said = "With what the readings behind this workshop leave open, nine classes in ten have"
    assert said in " ".join(out.split())
    assert "good boxes: plan by this range. Its top may be lower than the other's, as" in " ".join(out.split())
    data = json.loads(run(*words, "--json")[1])
    assert data["unsure_range"][0]["value"] <= data["forecast"]["range"][0]["value"] + 1
    assert json.loads(run("check", "frost_watch", "--boxes", "2000", "--json")[1])["unsure_range"] is None


def test_draws_that_are_none_are_refused(learned, run):
    assert learned
    Path("exports/frost_watch_learned.draws.npz").write_bytes(b"nothing")
    code, out, err = run("check", "frost_watch", "--workshop", LEARNED, "--boxes", "100")
    assert (code, out) == (2, "")
    assert err == (
        "lapwright: exports/frost_watch_learned.draws.npz: 1 to fix\n  file: holds no draws of a workshop; run "
        "`lapwright learn` again, or move it away\n"
    )


def test_other_commands_take_the_learned_workshop(learned, run):
    assert learned
    assert run("compare", "frost_watch", "--workshop", "new_to_tools", "--workshop", LEARNED, "--boxes", "2000")[0] == 0
    assert run("causes", "frost_watch", "--workshop", LEARNED, "--boxes", "60")[0] == 0


def test_section_judges_by_the_learned_workshop(learned, run):
    """Its present section's good boxes are those of a check with it, and not those of beginners."""
    assert learned
    words = ("frost_watch", "--boxes", "2000", "--json")
    found = json.loads(run("section", *words, "--workshop", LEARNED, "--lapped", "14")[1])["fit"]["pass_before"]
    checked, before = (json.loads(run("check", *words, "--workshop", each)[1]) for each in (LEARNED, "new_to_tools"))
    assert found == checked["pass_share"]
    assert found != before["pass_share"]
    assert checked["unsure_range"] is not None


def test_json_has_every_figure(run, few, learned):
    assert learned
    data = json.loads(run("learn", "frost_watch", few, "--json")[1])
    assert [(each["quantity"], each["number"], each["learned"]) for each in data["figures"]] == [
        ("stock.thickness", "bias", True),
        ("stock.thickness", "class_spread", False),
        ("stock.thickness", "spread", True),
    ]
    assert data["habits"][0]["says"].startswith("The timber as it comes is 0.1")
    assert data["rhat"] < 1.01
    assert data["effective_draws"] > 400
    assert len(data["next_readings"]) == 17


def test_a_reading_that_hardly_fits_is_named_and_kept(run):
    lines = [f"1,{maker},left,,thickness,,15.1,caliper" for maker in range(1, 21)]
    lines.append("1,21,left,,thickness,,17.9,caliper")
    Path("odd.csv").write_text("\n".join([",".join(COLUMNS), *lines]), encoding="utf-8")
    out = " ".join(run("learn", "frost_watch", "odd.csv")[1].split())
    assert "- odd.csv, line 22: thickness of 17.9 hardly fits" in out
    assert "What such a reading bears on is not called a habit below, and the forecast may hang on it." in out
    assert out.index("hardly fits") < out.index("makers, expect") < out.index("What was learned")
    assert "surely do otherwise" not in out  # 0.1 mm too thick, but for that one
    assert "21 readings of 21 makers" in out


def test_nothing_is_written_of_a_file_with_faults(run, few):
    Path(few).write_text("\n".join([",".join(COLUMNS), *LINES, "1,1,left,,thickness,,=1+1,caliper"]), encoding="utf-8")
    code, out, err = run("learn", "frost_watch", few)
    assert (code, out, Path("exports").exists()) == (2, "", False)
    assert err == (
        "lapwright: few.csv: 1 to fix\n  line 10: measured_mm: got '=1+1', a formula; write the number that it gives\n"
    )


def test_a_family_that_is_not_normal_is_refused(run, few):
    Path(few).write_text("\n".join([",".join(COLUMNS), *LINES]), encoding="utf-8")
    code, out, err = run("learn", "frost_watch", few, "--set", "workshop.stock.thickness.family=uniform")
    assert (code, out) == (2, "")
    assert err == (
        "lapwright: workshop 'New to tools': operations.stock.thickness.family: got 'uniform', and only what is normal "
        "can be learned; set it to 'normal'\n"
    )


def test_the_form_has_rows_worth_taking_in_the_time(run):
    code, out, _ = run("readings", "frost_watch", "--makers", "2", "--minutes", "5")
    ends = ("readings.csv", "boxes.csv", "readings.md")
    assert (code, out) == (0, "".join(f"wrote exports/frost_watch_{end}\n" for end in ends))
    form = Path("exports/frost_watch_readings.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(form.splitlines()))
    assert [row["maker"] for row in rows] == sorted(row["maker"] for row in rows)
    assert {row["maker"] for row in rows} == {"1", "2"}
    assert {row["measured_mm"] for row in rows} == {""}
    assert len(rows) / 2 == pytest.approx(10, abs=3)  # half a minute each
    page = Path("exports/frost_watch_readings.md").read_text(encoding="utf-8")
    assert all(f"## {row['feature']}, " in page for row in rows)
    assert "- caliper: it is read to 0.1\n" in page
    first = rows[0]
    told = page.partition(f"## {first['feature']}, ")[2].partition("Drawn: ")[2].partition("\n")[0]
    design, workshop = read_design("frost_watch"), read_workshop("new_to_tools")
    for word, row in zip(told.rstrip(".").split("; "), rows, strict=False):
        spot = Spot(row["part"], row["end"], row["at"])
        drawn = round(nominal(FEATURES[row["feature"]], Place(design, workshop, spot)), 1)
        where = " ".join(filter(None, (spot.part, spot.end, spot.at)))
        assert word == f"{where} {decimal(drawn)}"
    assert run("learn", "frost_watch", "exports/frost_watch_readings.csv")[2] == (
        "lapwright: exports/frost_watch_readings.csv: no reading is filled in; fill in the column measured_mm of what "
        "was read\n"
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("readings", "frost_watch", "--makers", "0"), "--makers: got 0, must be 1 to 500"),
        (("readings", "frost_watch", "--minutes", "301"), "--minutes: got 301, must be 1 to 300"),
        (("learn", "frost_watch", "example_readings", "--seed", "-1"), "seed: got -1, must be 0 or more"),
        (("outcome", "frost_watch", "example_boxes", "--seed", "-1"), "seed: got -1, must be 0 or more"),
        (("outcome", "frost_watch", "no.csv"), "no.csv: 1 to fix\n  file: does not exist; give the path of a CSV file"),
        (("learn", "frost_watch", "no.csv"), "no.csv: 1 to fix\n  file: does not exist; give the path of a CSV file"),
    ],
)
def test_refusals(run, words, said):
    assert run(*words) == (2, "", f"lapwright: {said}\n")


def test_boxes_that_are_as_forecast_and_boxes_that_are_not(run):
    """The example class's boxes are worse than practised makers' would be."""
    _, out, _ = run("outcome", "frost_watch", "example_boxes", "--workshop", "practised")
    assert "The forecast is too hopeful: boxes come out worse, as widest joint gap" in " ".join(out.split())
    assert out.endswith("wrote exports/frost_watch_outcome.svg\nwrote exports/frost_watch_outcome.png\n")
    data = json.loads(run("outcome", "frost_watch", "example_boxes", "--workshop", "practised", "--json")[1])
    assert data["verdict"] == "too hopeful"
    assert data["boxes"] == 26
    gap = data["outcomes"][0]
    assert (gap["outcome"], gap["found"], gap["worse"], len(gap["read"])) == ("joint_gap", True, True, 26)


def test_the_example_is_what_its_seed_makes(tmp_path):
    write_example(tmp_path)
    shipped = Path(__file__).parent.parent / "configs"
    for name in ("example_readings.csv", "example_boxes.csv"):
        assert (tmp_path / name).read_bytes() == (shipped / name).read_bytes()
    assert set(TRUE) >= {"saw.offset", "gauge.offset"}
