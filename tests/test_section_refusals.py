"""What `lapwright section` refuses, every message whole, and what it allows and says so."""

import pytest
from sections import Command, one_line

from assembly.files.shipped import design_file


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    monkeypatch.chdir(tmp_path)
    return Command(monkeypatch, capsys)


REFUSALS = {
    ("--lapped", "80"): "timber.lapped: got 80.0, must be 4 to 60 mm (thickness of the lapped walls)",
    ("--plain", "45"): (
        "box.width: got 90 mm, but two laps of 45 mm with 10 mm between them (shop rule 2, project choice) need "
        "100 mm; raise width or make timber.plain thinner"
    ),
    ("--lapped", "60", "--set", "box.length=120"): (
        "box.length: got 120 mm, but two walls of 60 mm with 10 mm between them (shop rule 2, project choice) need "
        "130 mm; raise length or make timber.lapped thinner"
    ),
    ("--lapped", "thin"): (
        '--lapped: got \'thin\', must be a size with its unit, such as "12 mm", "3/8 in" or "1 1/4 in"'
    ),
    ("--plain", "3/8"): "--plain: got '3/8', which has no unit; write \"3/8 in\" for inches",
    ("--plain", "9,5"): "--plain: got '9,5'; a decimal is written with a point: 9.5",
    ("--height", "nan"): "box.height: got nan, must be a finite number of mm (height of the walls)",
    ("--lapped", "12", "--keep", "both"): "--keep: got 'both', must be outside or inside",
    ("--lapped", "12", "--boxes", "1"): (
        "boxes: got 1, must be 2 to 200000; all are kept while sections are tried, 4 KB a box"
    ),
    ("--lapped", "12", "--boxes", "1000000"): (
        "boxes: got 1000000, must be 2 to 200000; all are kept while sections are tried, 4 KB a box"
    ),
    ("--lapped", "12", "--seed", "-1"): "seed: got -1, must be 0 or more",
    ("--timber", "spruce"): (
        "timber 'spruce': several go by that name and differ; name one of: spruce, Sitka; spruce, European; or give "
        "timber.kind and its properties in the design"
    ),
    ("--timber", "oak"): (
        "timber 'oak': several go by that name and differ; name one of: oak, red, commercial; oak, northern red; oak, "
        "white, commercial; oak, American white; oak, European; or give timber.kind and its properties in the design"
    ),
    ("--timber", "pine, Scotts"): (
        "timber 'pine, Scotts': not in the table; nearest: pine, Scots; pine, ponderosa; pine, eastern white; pine, "
        "red; or give timber.kind and its properties in the design"
    ),
    ("--timber", "walnut, black"): (
        "timber 'walnut, black': no radial shrinkage and no radial movement coefficient in the table; give one of them "
        "in the design"
    ),
    ("--timber", "acrylic, cast"): (
        "timber 'acrylic, cast': wood glue does not hold acrylic; name a timber, plywood or MDF for the walls"
    ),
    ("--lapped", "12", "--set", "timber.name=MDF"): (
        "timber 'MDF': is a sheet, which has no specific_gravity; leave out what is for solid timber"
    ),
}


STARTER_FAULTS = {
    "timber.name=pine": (
        "timber.name: got 'pine', several go by that name and differ; name one of: pine, eastern white; pine, "
        "ponderosa; pine, red; pine, Scots; or give timber.kind and its properties"
    ),
    "timber.proven=yes": (
        "timber.proven: got 'yes', must be true or false, without quotes (whether boxes of this section have held, so "
        "that others are measured against it)"
    ),
    "climate.home={temperature=5,humidity=80}": (
        "climate.home: making: missing; a [climate] table needs making = { temperature = 20, humidity = 45 } with your "
        "own figures"
    ),
    "home.humidity=80": (
        "home.humidity: unknown key; did you mean [climate] with home = { temperature = 5, humidity = 80 }?"
    ),
}


@pytest.mark.parametrize("setting", STARTER_FAULTS)
def test_what_is_wrong_with_a_key_that_only_sections_use(run, setting):
    """The starter has no [climate] and no [contents]; the same is refused by every command that reads a design."""
    code, out, err = run("--lapped", "12", "--set", setting, design="starter")
    assert (code, out) == (2, "")
    assert err == f"lapwright: starter: 1 to fix\n  --set {STARTER_FAULTS[setting]}\n"


def test_a_yes_where_true_is_meant(run, tmp_path):
    file = tmp_path / "ours.toml"
    text = design_file("frost_watch").read_text(encoding="utf-8")
    file.write_text(text.replace("proven = false", "proven = yes"), encoding="utf-8")
    line = 1 + text[: text.index("proven = false")].count("\n")
    _, _, err = run("--lapped", "12", design=str(file))
    near = next(each for each in text.splitlines() if each.startswith("proven"))[:60].replace("false", "yes")
    assert err.startswith(f"lapwright: {file}: 1 to fix\n  line {line}: column 10: can't be read: {near[:20]!r}"[:-1])
    assert err.endswith("; yes is written true and no is written false, in small letters and without quotes\n")


@pytest.mark.parametrize("words", REFUSALS, ids=" ".join)
def test_what_the_command_refuses(run, words):
    code, out, err = run(*words)
    assert (code, out, err) == (2, "", f"lapwright: {REFUSALS[words]}\n")


def test_humidity_over_100_is_refused(run):
    code, out, err = run("--lapped", "12", "--set", "climate.home.humidity=120")
    assert (code, out) == (2, "")
    assert err == (
        "lapwright: frost_watch: 1 to fix\n"
        "  --set climate.home.humidity: got 120, must be 0 to 100 (relative humidity, %)\n"
    )


def test_a_size_may_be_given_in_inches_with_its_unit(run):
    """3/8 in is 9.525 mm."""
    assert run.data("--plain", "3/8 in", "--height", "45 mm")["tried"]["plain"] == pytest.approx(9.525, abs=1e-12)


def test_plain_walls_thicker_than_lapped_ones_are_allowed_and_told(run):
    code, out, err = run("--lapped", "12", "--plain", "15")
    assert (code, err) == (0, "")
    assert (
        "- The plain walls (15 mm) are thicker than the lapped ones (12 mm): the lap is longer than its wall is thick, "
        "and the tongue stands out further for its thickness."
    ) in one_line(out)


def test_another_timber_than_the_reference_s_is_told(run):
    out = one_line(run("--timber", "European oak")[1])
    assert (
        "The present section is of pine, Scots: figures against it compare sizes and fit, made with the same errors in "
        "both materials, and not how well each takes glue."
    ) in out


@pytest.mark.parametrize(
    ("words", "proven"),
    [((), True), (("--set", "timber.lapped=12"), False), (("--set", "lid.screw.diameter=3"), False)],
)
def test_a_section_set_on_the_command_line_is_not_taken_as_proven(run, tmp_path, words, proven):
    """The mark is for the sizes and the screws in the file."""
    file = tmp_path / "ours.toml"
    text = design_file("frost_watch").read_text(encoding="utf-8")
    file.write_text(text.replace("proven = false", "proven = true"), encoding="utf-8")
    notes = run.data("--plain", "9", *words, design=str(file))["notes"]
    assert any(note.startswith("the present section is not marked as proven") for note in notes) is not proven
