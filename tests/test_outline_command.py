"""`lapwright export --as dxf,svg`: what it writes and says, what it refuses, and the page of the test strips."""

import json
from itertools import combinations
from pathlib import Path

import pypdf
import pytest

from assembly.files.shipped import configs_folder
from assembly.outline.strip import Strip
from viewer.sheets.frame import content
from viewer.sheets.page import PAPERS, Pen, Stroke, overlap
from viewer.sheets.strip_page import strip_pages

BY_LASER = "--set plaque.cut=laser"
CAUTIONS = (
    (
        "Wear eye protection as you break cut pieces out. Cut known materials only, and never PVC or vinyl: their "
        "fumes are poisonous. Ask which sheet you hold. Extraction on, the machine's lid shut, and somebody trained "
        "stays with it while it cuts. Know how to stop it."
    ),
    (
        "Your teacher's and your school's rules and your local law come first. These notes do not replace a risk "
        "assessment or training or a competent person who watches."
    ),
)


def test_an_export_of_the_outline_is_a_folder_for_the_machine_and_one_remark(run):
    code, out, err = run("export", "frost_watch", "--as", "svg,stl,dxf", "--json")
    data = json.loads(out)
    assert (code, err) == (0, "")
    assert sorted(data["files"]) == sorted(path.as_posix() for path in Path("exports").rglob("*") if path.is_file())
    for form in ("dxf", "svg"):
        names = [Path(file).name for file in data["files"] if Path(file).parent.name == f"frost_watch-{form}"]
        beside = ["reference"] if form == "svg" else []
        drawn = [f"{each}.{form}" for each in ("all", "engrave", "bend", "cut", *beside, "test_strip")]
        assert names == [*drawn, "test_strip.pdf"]
    assert data["remarks"] == [
        (
            "Cut paths lie half a kerf outside edges and inside holes: the kerf is 0.22 mm, usual in 3 mm acrylic; "
            "give your machine's with --kerf."
        ),
        "reference.svg is for people: keep it from the machine.",
        *CAUTIONS,
    ]


@pytest.mark.parametrize(
    ("kerf", "radius", "says"),
    [
        ("0", 4, "Cut paths are true sizes: the machine must allow for its kerf."),
        ("0.3", 3.85, "Cut paths lie half a kerf outside edges and inside holes: the kerf is 0.3 mm."),
    ],
)
def test_kerf_and_pens_that_are_given_are_those_of_the_files(run, kerf, radius, says):
    Path("own.toml").write_text('cut = { colour = "#445566" }')
    code, out, err = run("export", "frost_watch", "--as", "svg", "--kerf", kerf, "--pens", "own.toml")
    assert (code, err, out.splitlines()[-4]) == (0, "", says)
    text = Path("exports/frost_watch-svg/cut.svg").read_text()
    assert f'r="{radius:.4f}"' in text
    assert 'stroke="#445566"' in text


HAND = ("--set", "plaque.cut=by hand")
TOO_LONG = ("--set", "plaque.wording=PINS AND NEEDLES")
REFUSALS = {
    "kerf": (
        ("frost_watch", "--as", "svg", "--kerf", "-0.1"),
        (
            "--kerf: got -0.1, must be 0 to 3 mm, the width of the machine's cut; give 0 where the machine allows for "
            "its kerf by itself"
        ),
    ),
    "kerf as wide as a hole": (
        ("label_box", "--as", "svg", "--kerf", "2.6"),
        (
            "--kerf: got 2.6 mm, but the screw hole 1 is 2.6 mm wide, so its cut would be no narrower than the hole; "
            "must be under 2.6 mm; give 0 where the machine allows for its kerf by itself"
        ),
    ),
    "kerf without an outline": (
        ("frost_watch", "--as", "stl", "--kerf", "0.1"),
        "--kerf: is for dxf and svg, which were not asked for; add --as dxf,svg",
    ),
    "pens without an outline": (
        ("frost_watch", "--pens", "own.toml"),
        "--pens: is for dxf and svg, which were not asked for; add --as dxf,svg",
    ),
    "no file of pens": (
        ("frost_watch", "--as", "dxf", "--pens", "own.toml"),
        "own.toml: 1 to fix\n  file: does not exist; check the name and the folder",
    ),
    "scale": (
        ("frost_watch", "--as", "stl,dxf", "--scale", "1:2"),
        "--scale: dxf is for a machine that cuts the plaque itself, in true size; export other formats to scale",
    ),
    "cut by hand": (
        ("frost_watch", "--as", "dxf,svg", *HAND),
        (
            "--as: dxf and svg are for a machine, and the plaque is cut by hand; print its full-size template with "
            f"`lapwright sheets`, or give {BY_LASER}"
        ),
    ),
    "wording": (
        ("label_box", "--as", "stl,svg", *TOO_LONG),
        (
            "plaque.wording: 'PINS AND NEEDLES' does not fit on the standing leg, which has 30 by 4.9 mm for it 3 mm "
            "from its edges and its bend; it would in letters 2.2 mm high, and they must be at least 3 mm; shorten it, "
            "or raise plaque.width to at least 45.4 mm, or plaque.upright_leg to at least 17.3 mm"
        ),
    ),
    "letter": (
        ("frost_watch", "--as", "svg", "--set", "plaque.wording=\u82d7"),
        (
            "\u82d7: the letters of the engraving (DejaVu Sans) have no '\u82d7' (U+82D7); they have Latin, Greek and "
            "Cyrillic; write it so in the design"
        ),
    ),
    "name": (
        ("frost_watch", "--as", "svg", "--set", "name=\u82d7"),
        (
            "\u82d7: the letters of the sheets (DejaVu Sans) have no '\u82d7' (U+82D7); they have Latin, Greek and "
            "Cyrillic; write it so in the design"
        ),
    ),
}


@pytest.mark.parametrize("case", REFUSALS)
def test_what_no_machine_can_cut_is_refused_and_nothing_is_written(run, case):
    words, message = REFUSALS[case]
    assert run("export", *words) == (2, "", f"lapwright: {message}\n")
    assert not Path("exports").exists()


@pytest.mark.parametrize("kerf", ["2.59", "0"])
def test_a_kerf_is_taken_where_the_refusal_says_so(run, kerf):
    """A hole of 2.6 mm keeps a disc of 0.01 mm as waste: its path has half of that as radius."""
    code, _, err = run("export", "label_box", "--as", "svg", "--kerf", kerf)
    assert (code, err) == (0, "")
    assert f'r="{(2.6 - float(kerf)) / 2:.4f}"' in Path("exports/label_box-svg/cut.svg").read_text()


@pytest.mark.parametrize("cure", ["plaque.width=45.4", "plaque.upright_leg=17.3"])
def test_wording_fits_where_the_refusal_says_so(run, cure):
    code, _, err = run("export", "label_box", "--as", "svg", *TOO_LONG, "--set", cure)
    assert (code, err) == (0, "")


def test_without_a_plaque_there_is_no_outline(run):
    text = (configs_folder() / "label_box.toml").read_text(encoding="utf-8")
    tables = [each for each in text.split("\n[") if not each.startswith("plaque")]
    Path("plain.toml").write_text("\n[".join(tables))
    code, out, err = run("export", "plain.toml", "--as", "dxf")
    assert (code, out) == (2, "")
    assert err == (
        "lapwright: --as: dxf is for the outline of the plaque, and this design has none; ask for other formats, or "
        "add [plaque] to its file\n"
    )


def test_a_plaque_cut_by_hand_is_exported_as_the_refusal_says(run):
    code, _, err = run("export", "frost_watch", "--as", "svg", *HAND, *BY_LASER.split())
    assert (code, err) == (0, "")


# The page of the test strips


@pytest.mark.parametrize(("thickness", "radius"), [(3, 3), (1, 0.5), (10, 50)])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_words_of_the_page_are_on_it_and_apart(thickness, radius, paper):
    strip = Strip(thickness=thickness, inside_radius=radius)
    pages = strip_pages(strip, "Frost watch", PAPERS[paper])
    for each in pages:
        left, _, right, _ = content(each.size)
        for words in each.words:
            assert words.box[2] <= right + 1e-6, words.text
            assert words.turned or words.box[0] >= left - 1e-6, words.text
        crossed = [(a.text, b.text) for a, b in combinations(each.words, 2) if overlap(a.box, b.box)]
        assert not crossed
    assert len(pages) == 1


def test_the_page_says_what_can_hurt_and_how_k_comes_of_the_readings(run):
    run("export", "frost_watch", "--as", "svg")
    (page,) = pypdf.PdfReader("exports/frost_watch-svg/test_strip.pdf").pages
    text = " ".join(page.extract_text().split())
    for said in (
        "never PVC or vinyl: their fumes are poisonous",
        "Your teacher's and your school's rules and your local law come first.",
        "Never leave a hot line alone. Use extraction or fresh air",
        "3 mm sheet takes about 90 s on a strip heater, thicker sheet longer (common practice, no source).",
        "Hold it there for 30 to 60 s (common practice, no source)",
        "k = ((12 - (A + B - L)) / 1.571 - 3) / 3.",
        "moves k of its strip by 0.021; a bend 1 degree past the right angle lowers it by about 0.028",
        "a standard uncertainty of 0.011, the mean of three 0.006",
        "0.1 of k is 0.47 mm at a right angle",
    ):
        assert said in text, said


def test_the_strip_in_the_page_s_picture_is_as_long_before_as_both_its_legs_less_the_gain():
    """By the strip's own sum: a sheet as thick as the drawn one, k one half; legs are the bent outline's two sizes."""
    (page,) = strip_pages(Strip(thickness=3, inside_radius=3), "Frost watch", PAPERS["A4"])
    drawn = [item.points for item in page.items if isinstance(item, Stroke) and item.pen is Pen.OUTLINE]
    (bent,), (flat,) = ([each for each in drawn if (len(each) > 5) is curved] for curved in (True, False))
    (a, b), (length, thick) = ([max(axis) - min(axis) for axis in zip(*each, strict=True)] for each in (bent, flat))
    assert length == pytest.approx(a + b - Strip(thickness=thick, inside_radius=thick).gain(0.5), abs=1e-9)
