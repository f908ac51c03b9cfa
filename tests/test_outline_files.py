"""Cutting files read back by other programs: DXF by ezdxf, SVG by a browser; layers, sizes, pens, faults that show."""

import math
import os
import re
import shutil
import subprocess
import sys
from itertools import chain
from pathlib import Path

import ezdxf
import pytest
from designs import designs
from drawing_sum import drawing_sum
from ezdxf import bbox, units
from hypothesis import given, settings
from playwright.sync_api import sync_playwright

from assembly.errors import ConfigError, ExportError
from assembly.files.pens import read_pens
from assembly.files.reading import read_design
from assembly.model.pens import Pens
from assembly.nominal.fittings import fittings
from assembly.outline.contours import RUN, Layer
from assembly.outline.plaque_drawing import plaque_drawing
from assembly.outline.strip import strip_drawing, strip_of
from assembly.writers.outlines import OUTLINES, outline_files

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
ROUND = "90 degrees round an inside radius of 3 mm"
NAMES = ("all", "engrave", "bend", "cut", "test_strip")
DRAWN = {"dxf": NAMES, "svg": (*NAMES[:-1], "reference", "test_strip")}
CAUTIONS = (  # of `cautions.csv`, in lines
    "Wear eye protection as you break cut pieces out. Cut known materials only, and never PVC or vinyl: their",
    "fumes are poisonous. Ask which sheet you hold. Extraction on, the machine's lid shut, and somebody",
    "trained stays with it while it cuts. Know how to stop it.",
    "Your teacher's and your school's rules and your local law come first. These notes do not replace a risk",
    "assessment or training or a competent person who watches.",
)


def files_of(design, form, kerf=0.2, pens=None):
    plaque = fittings(design).plaque
    drawing = plaque_drawing(plaque, name=design.name, wording=design.plaque.wording, kerf=kerf)
    strips = strip_drawing(strip_of(plaque), name=design.name, kerf=kerf)
    return outline_files(form, drawing, strips, pens or read_pens())


def put(folder, form, **how):
    """Write the files of the frost watch, with a name that a format must not stumble over."""
    design = read_design("frost_watch", ['name="<Frost> & \\"Rime\\" %%d"'])
    for name, file in files_of(design, form, **how).items():
        (folder / name).write_bytes(file.content)
    return folder


@pytest.fixture(scope="module")
def dxf(tmp_path_factory):
    return {kerf: put(tmp_path_factory.mktemp("dxf"), "dxf", kerf=kerf) for kerf in (0.0, 0.3)}


def opened(folder, name):
    return ezdxf.readfile(folder / f"{name}.dxf")


def points(entity):
    """Return what an entity is, as numbers that can be compared."""
    if entity.dxftype() == "LWPOLYLINE":
        return [tuple(map(float, each)) for each in entity.get_points()]
    held = entity.dxf
    return (*held.center.xyz, held.radius) if entity.dxftype() == "CIRCLE" else (*held.start.xyz, *held.end.xyz)


# DXF


@pytest.mark.parametrize("name", NAMES)
def test_a_dxf_file_is_without_fault_in_millimetres_and_its_contours_closed(dxf, name):
    document = opened(dxf[0.3], name)
    audit = document.audit()
    assert not audit.has_errors
    assert not audit.has_fixes
    assert (document.dxfversion, document.units, document.header["$INSUNITS"]) == ("AC1024", units.MM, 4)
    loops = document.modelspace().query("LWPOLYLINE")
    assert all(loop.closed for loop in loops)
    cut = [each.dxftype() for each in document.modelspace().query('*[layer=="CUT"]')]
    assert cut == {"all": ["CIRCLE"] * 3 + ["LWPOLYLINE"], "cut": ["CIRCLE"] * 3 + ["LWPOLYLINE"]}.get(
        name, ["LWPOLYLINE"] * 3 if name == "test_strip" else []
    )


@pytest.mark.parametrize(("kerf", "wide", "high", "hole"), [(0.0, 90, 77.06858, 8), (0.3, 90.3, 77.36858, 7.7)])
def test_a_dxf_file_has_true_sizes(dxf, kerf, wide, high, hole):
    """The frost watch's plaque: 90 wide, 50 + 32 - 2·6 + (π/2)·4.5 long, its stem hole 8; the kerf added and taken."""
    space = opened(dxf[kerf], "cut").modelspace()
    (edge,) = space.query("LWPOLYLINE")
    box = bbox.extents([edge])
    assert (box.size.x, box.size.y) == pytest.approx((wide, high), abs=1e-4)
    assert space.query("CIRCLE").first.dxf.radius * 2 == pytest.approx(hole, abs=1e-9)
    (line,) = opened(dxf[kerf], "bend").modelspace()
    assert line.dxf.start.y == pytest.approx(50 - 6 + math.pi / 4 * 4.5, abs=1e-9)
    assert abs(line.dxf.end.x - line.dxf.start.x) == pytest.approx(90)


def test_each_single_file_is_a_layer_of_the_whole_and_none_has_what_is_for_people(dxf):
    whole = opened(dxf[0.3], "all")
    assert {layer.dxf.name for layer in whole.layers} - {"0", "Defpoints"} == {str(layer) for layer in Layer}
    assert {layer: bool(whole.layers.get(layer).dxf.plot) for layer in Layer} == {
        Layer.ENGRAVE: True, Layer.BEND: True, Layer.CUT: True, Layer.REFERENCE: False
    }  # fmt: skip
    for name in ("engrave", "bend", "cut"):
        single = opened(dxf[0.3], name)
        of_layer = whole.modelspace().query(f'*[layer=="{name.upper()}"]')
        assert [points(each) for each in single.modelspace()] == [points(each) for each in of_layer]
        assert len(single.modelspace())
        assert {layer.dxf.name for layer in single.layers} - {"0", "Defpoints"} == {name.upper()}
        assert {each.dxf.linetype for each in single.modelspace()} == {"BYLAYER"}
        assert single.layers.get(name.upper()).dxf.linetype == "Continuous"
    words = [text.dxf.text for text in whole.modelspace().query('TEXT[layer=="REFERENCE"]')]
    assert words == [
        "For people: no machine runs these words or the bar, which is 100 mm long",
        '<Frost> & "Rime" %%d: plaque, flat, 90 by 77.07 mm, from 3 mm acrylic',
        "Cut paths lie half a kerf of 0.3 mm outside edges and inside holes",
        "This side up on the machine: it will be inside the bend",
        f"Bend line 47.53 mm from the lower edge, marked lightly or not at all: {ROUND}",
        "The flat size counts on k = 0.5: an assumption until test strips have told it",
        *CAUTIONS,
    ]
    (bar, *_) = whole.modelspace().query('LINE[layer=="REFERENCE"]')
    assert (bar.dxf.end - bar.dxf.start).magnitude == pytest.approx(100)


def test_pens_of_a_school_are_those_of_the_files(tmp_path):
    """DXF knows certain widths: 0.1 mm comes out as 0.09, 0.24 as 0.25."""
    (tmp_path / "own.toml").write_text('cut = { colour = "#123456", width = 0.24 }\nbend = { colour = "#abcdef" }\n')
    pens, shipped = read_pens(str(tmp_path / "own.toml")), read_pens()
    assert (pens.bend.width, pens.engrave) == (shipped.bend.width, shipped.engrave)
    put(tmp_path, "dxf", pens=pens)
    layers = opened(tmp_path, "all").layers
    assert (layers.get("CUT").rgb, layers.get("CUT").dxf.lineweight) == ((0x12, 0x34, 0x56), 25)
    assert (layers.get("BEND").rgb, layers.get("BEND").dxf.lineweight) == ((0xAB, 0xCD, 0xEF), 9)
    text = (put(tmp_path, "svg", pens=pens) / "cut.svg").read_text()
    assert '<g id="CUT" fill="none" stroke="#123456" stroke-width="0.24">' in text


def test_layers_have_the_number_of_their_pen_beside_its_true_colour(tmp_path):
    """Read by ezdxf: numbers that ship are four, each the nearest of the standard's 255 colours to its pen's tone."""
    (tmp_path / "own.toml").write_text("bend = { number = 201 }\n")
    pens, shipped = read_pens(str(tmp_path / "own.toml")), read_pens()
    put(tmp_path, "dxf", pens=pens)
    layers = opened(tmp_path, "all").layers
    for layer in ("CUT", "ENGRAVE", "BEND", "REFERENCE"):
        assert (layers.get(layer).dxf.color, layers.get(layer).rgb) == (pens.of(layer).number, pens.of(layer).rgb)
        tone = shipped.of(layer).rgb
        assert shipped.of(layer).number == min(range(1, 256), key=lambda n: math.dist(tone, ezdxf.colors.aci2rgb(n)))
    assert layers.get("BEND").dxf.color == 201
    assert len({shipped.of(layer).number for layer in Layer}) == 4


def test_numbers_that_are_none_or_another_pen_s_are_refused(tmp_path):
    own = tmp_path / "own.toml"
    own.write_text("cut = { number = 256 }\nbend = { number = 0.5 }\n")
    with pytest.raises(ConfigError) as caught:
        read_pens(str(own))
    what = "(DXF's colour number of the layer, for programs that go by numbers)"
    assert str(caught.value) == (
        f"{own}: 2 to fix\n"
        f"  line 1: cut.number: got 256, must be 1 to 255 {what}\n"
        f"  line 2: bend.number: got 0.5, must be a whole number {what}"
    )
    for text, at in (("cut = { number = 8 }\n", "cut"), ("# none\nreference = { number = 13 }\n", "reference")):
        own.write_text(text)
        with pytest.raises(ConfigError) as caught:
            read_pens(str(own))
        number, also, line = (8, "reference", 1) if at == "cut" else (13, "cut", 2)
        assert str(caught.value) == (
            f"{own}: 1 to fix\n"
            f"  line {line}: {at}.number: got {number}, which is {also}'s too, must be a number of its own; give one "
            "of them 1, say"
        )
    own.write_text("cut = { number = 8 }\nreference = { number = 1 }\n")  # as the cure says
    assert read_pens(str(own)).reference.number == 1


def test_where_k_is_from_is_told_as_it_is():
    """One half is what a design without k counts on; any other figure stands in its file."""
    for share, said in ((0.5, ": an assumption until test strips have told it"), (0.42, ", as the design's file says")):
        plaque = fittings(read_design("frost_watch", [f"plaque.neutral_share={share}"])).plaque
        drawing = plaque_drawing(plaque, name="x", wording="x", kerf=0.2)
        words = [contour.shape.text for contour in drawing.contours if hasattr(contour.shape, "text")]
        assert f"The flat size counts on k = {share}{said}" in words


def test_the_pens_that_ship_are_four_tones_that_are_no_plain_colour():
    """Codes are mostly plain: channels off or full, or all alike. None here is; all keep apart, on white and dark."""
    pens = read_pens()
    tones = [getattr(pens, name).rgb for name in Pens.model_fields]
    assert all(not {0, 255} & set(tone) and len(set(tone)) > 1 for tone in tones)
    apart = [
        math.dist(a, b) for number, a in enumerate(tones) for b in (*tones[:number], (255, 255, 255), (33, 40, 48))
    ]
    assert min(apart) > 40


def test_every_fault_of_a_pens_file_is_told_at_once(tmp_path):
    (tmp_path / "own.toml").write_text('cut = { colour = "red", width = 9 }\nengrav = 1\nbend = { colour = 3 }\n')
    with pytest.raises(ConfigError) as caught:
        read_pens(str(tmp_path / "own.toml"))
    assert str(caught.value) == (
        f"{tmp_path / 'own.toml'}: 4 to fix\n"
        "  line 1: cut.colour: got 'red', must be a colour as # and two hex digits each of red, green and blue, in "
        'double quotes, such as "#a8552f"\n'
        "  line 1: cut.width: got 9, must be 0.001 to 2 mm (width of the line)\n"
        "  line 2: engrav: unknown key; did you mean 'engrave'?\n"
        "  line 3: bend.colour: got 3, must be text in double quotes (colour as # and two hex digits each of red, "
        'green and blue, such as "#a8552f")'
    )


@pytest.mark.parametrize("form", OUTLINES)
def test_the_same_drawing_gives_the_same_bytes(form):
    design = read_design("label_box")
    once, twice = ({name: file.content for name, file in files_of(design, form).items()} for _ in range(2))
    assert list(once) == [f"{name}.{form}" for name in DRAWN[form]]
    assert once == twice


def test_every_process_writes_the_same_bytes():
    """However it happens to order sets of words, and whatever day it is: a fresh one with a seed of its own as this."""
    env = {**os.environ, "PYTHONHASHSEED": "4", "PYTHONPATH": str(Path(__file__).parent.parent)}
    words = [sys.executable, "-c", "from drawing_sum import drawing_sum; print(drawing_sum())"]
    done = subprocess.run(words, env=env, cwd=Path(__file__).parent, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == drawing_sum()


SPOILT = {  # what a file that is not the drawing reads back as, by what was done to its bytes
    "dxf": {
        "as no DXF file": lambda content: b"nothing\n" + content,
        "in another unit than mm": lambda content: re.sub(rb"(\$INSUNITS\s+70\s+)4", rb"\g<1>1", content),
        "with stem hole of another size or place": lambda content: content.replace(b"\n3.85\n", b"\n3.86\n"),
    },
    "svg": {
        "as no SVG file": lambda content: content[:-8],
        "with a page of another size": lambda content: content.replace(b'mm" height', b'in" height'),
        "with outline of another size or place": lambda content: content.replace(b' Z"><title>out', b'"><title>out'),
        "with other words beside the drawing": lambda content: content.replace(b"no machine", b"a machine"),
        "with other contours on layer CUT": lambda content: content.replace(b'id="CUT"', b'id="CUTS"'),
        "with stem hole of another size or place": lambda content: content.replace(b'r="3.8500"', b'r="3.8600"'),
    },
}  # fmt: skip


@pytest.mark.parametrize(("form", "what"), [(form, what) for form, some in SPOILT.items() for what in some])
def test_a_file_that_is_not_the_drawing_is_refused(form, what, tmp_path):
    file = files_of(read_design("frost_watch"), form, kerf=0.3)[f"all.{form}"]
    draft = tmp_path / f"all.{form}"
    draft.write_bytes(file.content)
    file.check(draft)
    draft.write_bytes(SPOILT[form][what](file.content))
    assert draft.read_bytes() != file.content
    with pytest.raises(ExportError, match="all.*: written, but it reads back " + what):
        file.check(draft)


@given(design=designs())
@settings(max_examples=10, deadline=None)
def test_random_designs_read_back(design, tmp_path_factory):
    if design.plaque is None:
        return
    plain = design.model_copy(update={"plaque": design.plaque.model_copy(update={"wording": ""})})
    folder = tmp_path_factory.mktemp("random")
    for name, file in chain.from_iterable(files_of(plain, form).items() for form in OUTLINES):
        (folder / name).write_bytes(file.content)
        file.check(folder / name)
    assert not (folder / "engrave.dxf").exists()


# SVG, measured by a browser

MEASURED = """() => {
  const root = document.documentElement
  const of = (id) => [...document.querySelectorAll(`#${id} > *`)].map((each) => {
    const box = each.getBBox()
    return [each.tagName, box.x, box.y, box.width, box.height, each.getTotalLength ? each.getTotalLength() : 0]
  })
  return { page: [root.width.baseVal.valueInSpecifiedUnits, root.width.baseVal.unitType, root.viewBox.baseVal.width],
           layers: [...document.querySelectorAll("g")].map((group) => group.id),
           cut: of("CUT"), bend: of("BEND"), engrave: of("ENGRAVE"), reference: of("REFERENCE"),
           title: document.querySelector("title").textContent,
           told: document.querySelector("desc")?.textContent ?? "" }
}"""
MM = 7  # SVG_LENGTHTYPE_MM (SVG 2, 4.5)


@pytest.fixture(scope="module")
def seen(tmp_path_factory):
    """What a browser measures of each file, by its name."""
    if CHROMIUM is None and not os.environ.get("CI"):
        pytest.skip("no Chromium: see DEVELOPERS.md")
    folder = put(tmp_path_factory.mktemp("svg"), "svg", kerf=0.3)
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page, found = launched.new_page(), {}
        for name in DRAWN["svg"]:
            page.goto((folder / f"{name}.svg").as_uri())
            found[name] = page.evaluate(MEASURED)
        launched.close()
    return found


def test_a_browser_measures_the_svg_as_drawn(seen):
    """In units that are millimetres: the outline 90.3 by 77.37 and as long as its sides, the stem hole 7.7."""
    whole = seen["all"]
    wide, unit, units_wide = whole["page"]
    assert unit == MM
    assert wide == pytest.approx(units_wide, rel=1e-6)
    assert whole["title"] == '<Frost> & "Rime" %%d: plaque'
    *holes, edge = whole["cut"]
    assert edge[3:] == pytest.approx([90.3, 77.36858, 2 * (90.3 + 77.36858)], abs=1e-3)
    assert [hole[3] for hole in holes] == pytest.approx([7.7, 3.9, 3.9], abs=1e-3)
    (bend,) = whole["bend"]
    assert bend[3:] == pytest.approx([90, 0, 90], abs=1e-3)
    assert edge[2] + edge[4] - bend[2] == pytest.approx(50 - 6 + math.pi / 4 * 4.5 + 0.15, abs=1e-3)
    assert seen["reference"]["reference"][0][3] == pytest.approx(100, abs=1e-3)


def test_words_beside_an_svg_stay_on_its_page(seen):
    wide = seen["reference"]["page"][2]
    for _, x, _, long, _, _ in seen["reference"]["reference"]:
        assert 0 < x <= x + long < wide


def test_no_svg_for_the_machine_draws_what_is_for_people(seen):
    """No word and no bar is drawn, as a machine would run them: notes are told, not drawn."""
    for name in NAMES:
        assert not seen[name]["reference"], name
        assert "text" not in {shape[0] for layer in ("cut", "bend", "engrave") for shape in seen[name][layer]}
        assert ("For people: no machine runs these words" in seen[name]["told"]) == (name in {"all", "test_strip"})
    assert CAUTIONS[1] in seen["all"]["told"]
    assert (seen["reference"]["layers"], seen["reference"]["told"]) == (["REFERENCE"], "")
    assert seen["reference"]["title"] == '<Frost> & "Rime" %%d: plaque: for people, no machine runs it'


def test_single_svg_files_lie_over_the_whole_one(seen):
    whole = seen["all"]
    assert whole["layers"] == [str(layer) for layer in RUN]
    for name in ("engrave", "bend", "cut"):
        assert seen[name]["layers"] == [name.upper()]
        assert (seen[name]["page"], seen[name][name]) == (whole["page"], whole[name])
