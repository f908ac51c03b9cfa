"""Files read back: names, places, colours, volumes, watertight meshes, the same bytes twice, and refusals."""

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest
import trimesh
from fitted import bird_design
from wrote import wrote

from assembly.errors import ExportError, InputError
from assembly.files import writing
from assembly.solids.box import build
from assembly.solids.kernel import extent
from assembly.solids.parts import PART_NAMES
from assembly.text import ascii_name
from assembly.writers.canonical import canonical
from assembly.writers.formats import FORMATS, read_scale
from assembly.writers.glb import glb_files, linear
from assembly.writers.step import assembly_of, placed_solids, step_files
from assembly.writers.stl import stl_files

SETTLED = np.array([[0, 0, 0, 0.01], [0.3, -0.2, 0.004, -0.006], [0.1, 0.2, -0.003, 0.005], [0, -0.4, 0.002, 0]])


@pytest.fixture(scope="module")
def box():
    return build(bird_design(), poses=SETTLED)


def sha(paths):
    return hashlib.sha256(b"".join(path.read_bytes() for path in paths)).hexdigest()


# STEP


def test_a_step_file_reads_back_with_names_places_and_volumes(box, tmp_path):
    (path,) = wrote(step_files, box, tmp_path / "box.step")
    read, meant = placed_solids(cq.Assembly.importStep(str(path))), placed_solids(assembly_of(box))
    assert set(read) == set(PART_NAMES)
    for name, solid in read.items():
        assert len(solid.Solids()) == 1
        assert solid.isValid()
        assert solid.Volume() == pytest.approx(box.part(name).facts.volume, rel=1e-9)
        assert extent(solid) == pytest.approx(extent(meant[name]), abs=1e-6)


def test_placed_solids_stand_where_the_arrays_stand(box):
    """The kernel's placement and the plain matrix agree: the leaning left wall's corners, turned by hand."""
    solid = placed_solids(assembly_of(box))["left wall"]
    x, z = -80 * np.cos(0.01) + 22.5 * np.sin(0.01), 80 * np.sin(0.01) + 22.5 * np.cos(0.01)
    corners = [vertex.toTuple() for vertex in solid.Vertices()]
    assert min(np.linalg.norm(np.subtract(corner, (x, 45, z))) for corner in corners) < 1e-9


def test_a_step_file_is_nested_and_coloured(box, tmp_path):
    (path,) = wrote(step_files, box, tmp_path / "box.step")
    read = cq.Assembly.importStep(str(path))
    assert read.name == ascii_name(box.name)
    groups = {group.name: {part.name for part in group.children} for group in read.children}
    assert groups == {
        group: {part.facts.name for part in box.parts if part.facts.group == group}
        for group in ("walls", "sheets", "fittings")
    }
    for group in read.children:
        for part in group.children:
            assert part.color.toTuple() == pytest.approx(box.part(part.name).facts.colour, abs=1e-5)


def test_equal_screws_are_one_product(box, tmp_path):
    (path,) = wrote(step_files, box, tmp_path / "box.step")
    assert path.read_text().count("MANIFOLD_SOLID_BREP") == 11  # fourteen parts, two screws of each kind, two washers


def test_files_bear_the_names_of_design_and_program(tmp_path):
    """A name that no STEP string holds as it stands: accents, quotes and signs are dropped there; GLB has it whole."""
    named = replace(build(bird_design()), name="Caf\u00e9 'nest' / no. 2")
    (step,), (glb,) = wrote(step_files, named, tmp_path / "a.step"), wrote(glb_files, named, tmp_path / "a.glb")
    assert cq.Assembly.importStep(str(step)).name == "Cafe nest no. 2"
    head = step.read_text().partition("DATA;")[0]
    entity = r"FILE_NAME\('Cafe nest no\. 2','',\(''\),\(''\),'Open CASCADE STEP processor [\d.]+','lapwright',''\);"
    assert re.search(entity, head)
    content = glb.read_bytes()
    tree = json.loads(content[20 : 20 + int.from_bytes(content[12:16], "little")])
    assert (tree["asset"]["generator"], tree["scenes"][0]["name"]) == ("lapwright", named.name)


@pytest.mark.parametrize(("name", "plain"), [("\u7bb1", "box"), ("  a\tb ", "ab"), ("N\u00ba 1", "No 1")])
def test_a_name_is_put_into_letters_that_every_format_holds(name, plain):
    assert ascii_name(name) == plain


def test_a_step_file_bears_no_date_and_no_trace_of_the_machine(box, tmp_path):
    (path,) = wrote(step_files, box, tmp_path / "box.step")
    head = path.read_text().partition("DATA;")[0]
    assert f"FILE_NAME('{ascii_name(box.name)}',''" in head
    assert str(tmp_path) not in path.read_text()


def test_a_step_file_cut_short_is_refused(box, tmp_path):
    (path,) = wrote(step_files, box, tmp_path / "box.step")
    with pytest.raises(ExportError) as caught:
        canonical(path.read_text()[:-200])
    assert str(caught.value) == (
        "STEP: the geometry kernel left the file unfinished; the disk may be full, free some space and export again"
    )


def test_canonical_text_does_not_hang_on_numbers_or_order():
    """Two orders and numberings of one small model come out as one text; another model does not."""
    form = "HEAD\nFILE_NAME('x','{date}',('a'));\nDATA;\n{body}ENDSEC;\nEND-ISO-10303-21;\n"
    one = "#1 = A('',#2,#3);\n#2 = P(1.,\n  2.);\n#3 = NEXT_ASSEMBLY_USAGE_OCCURRENCE('7','w','',#2);\n#4 = B(#2);\n"
    two = "#1 = B(#9);\n#9 = P(1.,2.);\n#5 = NEXT_ASSEMBLY_USAGE_OCCURRENCE('2','w','',#9);\n#7 = A('',#9,#5);\n"
    texts = [canonical(form.format(date=date, body=body)) for date, body in (("2020", one), ("2021", two))]
    assert texts[0] == texts[1]
    assert "NEXT_ASSEMBLY_USAGE_OCCURRENCE('1','w'" in texts[0]
    assert canonical(form.format(date="2020", body=one.replace("2.", "3."))) != texts[0]


# STL and GLB


def test_stl_files_are_watertight_and_one_a_part(box, tmp_path):
    paths = wrote(stl_files, box, tmp_path / "parts")
    assert {path.name for path in paths} == {name.replace(" ", "-") + ".stl" for name in PART_NAMES}
    for path, part in zip(paths, box.parts, strict=True):
        mesh = trimesh.load_mesh(path)
        assert mesh.is_watertight
        assert mesh.volume == pytest.approx(part.facts.volume, rel=1.7e-3)


def test_a_glb_file_is_in_metres_with_y_up_and_named(tmp_path):
    (path,) = wrote(glb_files, build(bird_design()), tmp_path / "box.glb")
    scene = trimesh.load_scene(path)
    assert set(scene.geometry) == set(PART_NAMES)
    assert all(mesh.is_watertight for mesh in scene.geometry.values())
    base, plaque = scene.geometry["base"].bounds, scene.geometry["plaque"].bounds
    assert base == pytest.approx(np.array([[-0.08, -0.0265, -0.045], [0.08, -0.0225, 0.045]]), abs=1e-8)
    assert plaque[0, 2] == pytest.approx(-0.03, abs=1e-8)  # the bend is at the back, away from the viewer
    parents = scene.graph.transforms.parents
    assert {parents[name] for name in PART_NAMES} == {"walls", "sheets", "fittings"}


def test_glb_colours_are_linear_light(box, tmp_path):
    """sRGB 0.5 is 0.2140 in linear light and 0.04 is 0.04/12.92 (IEC 61966-2-1, from memory)."""
    assert linear(np.array([0.5, 0.04, 1.0])) == pytest.approx([0.21404, 0.0030960, 1.0], rel=1e-4)
    (path,) = wrote(glb_files, box, tmp_path / "box.glb")
    factor = trimesh.load_scene(path).geometry["plaque"].visual.material.baseColorFactor
    expected = [*linear(np.array(box.part("plaque").facts.colour[:3])), box.part("plaque").facts.colour[3]]
    assert np.array(factor) / 255 == pytest.approx(expected, abs=3e-3)  # read back in 255 steps


# All formats


@pytest.mark.parametrize("name", FORMATS)
def test_two_exports_are_the_same_bytes(name, box, tmp_path):
    suffix, write = FORMATS[name].suffix, FORMATS[name].load()
    assert sha(wrote(write, box, tmp_path / f"a{suffix}", 1.0)) == sha(wrote(write, box, tmp_path / f"b{suffix}", 1.0))


def test_exports_of_two_processes_are_the_same_bytes(tmp_path):
    """A fresh interpreter, and this one, which has another hash seed and has counted other occurrences before."""
    code = (
        "import sys, hashlib, pathlib\n"
        "from fitted import bird_design\n"
        "from assembly.solids.box import build\n"
        "from assembly.writers.formats import FORMATS\n"
        "from wrote import wrote\n"
        "box = build(bird_design())\n"
        "for name, f in FORMATS.items():\n"
        "    paths = wrote(f.load(), box, pathlib.Path(sys.argv[1]) / ('x' + f.suffix), 1.0)\n"
        "    print(name, hashlib.sha256(b''.join(p.read_bytes() for p in paths)).hexdigest())\n"
    )
    path = os.pathsep.join(["tests", *filter(None, [os.environ.get("PYTHONPATH")])])
    seed = "2" if os.environ.get("PYTHONHASHSEED") == "1" else "1"
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "fresh")],
        capture_output=True,
        text=True,
        check=True,
        env=os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": path},
        cwd=Path(__file__).parent.parent,
    )
    box = build(bird_design())
    wrote(step_files, box, tmp_path / "before.step")
    here = {name: sha(wrote(f.load(), box, tmp_path / f"here{f.suffix}", 1.0)) for name, f in FORMATS.items()}
    assert dict(line.split() for line in done.stdout.splitlines()) == here


def test_half_scale_halves_exactly(box, tmp_path):
    whole, half = (wrote(stl_files, box, tmp_path / str(scale), scale) for scale in (1.0, 0.5))
    for one, other in zip(whole, half, strict=True):
        a, b = trimesh.load_mesh(one, process=False), trimesh.load_mesh(other, process=False)
        assert np.array_equal(a.vertices / 2, b.vertices)
    (one,), (other,) = (wrote(glb_files, box, tmp_path / f"{scale}.glb", scale) for scale in (1.0, 0.5))
    a, b = trimesh.load_scene(one), trimesh.load_scene(other)
    assert all(np.array_equal(a.geometry[n].vertices / 2, b.geometry[n].vertices) for n in PART_NAMES)
    (path,) = wrote(step_files, box, tmp_path / "half.step", 0.5)
    for name, solid in placed_solids(cq.Assembly.importStep(str(path))).items():
        assert solid.Volume() == pytest.approx(box.part(name).facts.volume / 8, rel=1e-9)
        assert extent(solid) == pytest.approx(extent(placed_solids(assembly_of(box))[name]) / 2, abs=1e-6)


@pytest.mark.parametrize(
    ("words", "scale"),
    [
        ("1:1", (1.0, "")),
        ("1:1.0", (1.0, "")),
        ("1:2", (0.5, "_1to2")),
        (" 1:2.50 ", (0.4, "_1to2.5")),
        ("1:100", (0.01, "_1to100")),
    ],
)
def test_scales_are_read_as_drawn_to_true_and_told_in_names(words, scale):
    assert read_scale(words) == scale


@pytest.mark.parametrize(
    ("words", "cure"),
    [
        ("0.5", "; write 1:2"),
        ("0,4", "; write 1:2.5"),
        ("0.3", "; write 1:3.333"),
        ("2:4", "; write 1:2"),
        ("1:2,5", "; write 1:2.5"),
        ("1", "; write 1:1"),
        ("2:1", "; files are never larger than true size"),
        ("3", "; files are never larger than true size"),
        *((words, "") for words in ("1:0", "half", "nan", "-1", "1:2:3", "1:1000", "1:100.1", "inf", "", "1:", ":2")),
    ],
)
def test_what_is_not_a_scale_is_refused(words, cure):
    with pytest.raises(InputError) as caught:
        read_scale(words)
    assert (
        str(caught.value) == f"--scale: got {words!r}, must be 1:N with N from 1 (true size) to 100, such as 1:2{cure}"
    )
    if cure.startswith("; write"):
        assert read_scale(cure.split()[-1])


# Refusals


@pytest.mark.parametrize("name", FORMATS)
def test_a_folder_that_can_t_be_made_is_told_with_its_cure(name, box, tmp_path):
    """A file stands where the folder should be; this holds for the superuser too."""
    (tmp_path / "taken").write_text("a file")
    suffix, write = FORMATS[name].suffix, FORMATS[name].load()
    target = tmp_path / "taken" / f"box{suffix}"
    with pytest.raises(ExportError) as caught:
        wrote(write, box, target, 1.0)
    in_a_folder = suffix.startswith("-")
    folder = target if in_a_folder else target.parent
    reason = "Not a directory" if in_a_folder else "File exists"
    assert str(caught.value) == (
        f"{folder}: can't write here: {reason}; choose another folder with --to, or free space and check its rights"
    )
    assert [path.name for path in tmp_path.iterdir()] == ["taken"]


def test_a_full_disk_leaves_what_was_there(tmp_path, monkeypatch):
    first, second = tmp_path / "a.stl", tmp_path / "b.stl"
    first.write_bytes(b"old")
    write_bytes = Path.write_bytes

    def full(path, content):
        if path.name == "b.stl":
            write_bytes(path, content[:1])
            raise OSError(28, "No space left on device")
        return write_bytes(path, content)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(ExportError) as caught:
        writing.publish({first: b"new", second: b"new"}, lambda _: None)
    assert str(caught.value) == (
        f"{tmp_path}: can't write here: No space left on device; "
        "choose another folder with --to, or free space and check its rights"
    )
    assert [path.name for path in tmp_path.iterdir()] == ["a.stl"]
    assert first.read_bytes() == b"old"


def test_of_a_set_of_files_all_take_their_places_or_none(tmp_path, monkeypatch):
    """The third is stopped, by Ctrl-C for one: the first is again what it was, the second is gone."""
    first, second, third = (tmp_path / name for name in ("a.png", "b.png", "c.png"))
    first.write_bytes(b"old")
    replace_ = Path.replace

    def stopped(path, target):
        if path.name == "c.png":
            raise KeyboardInterrupt
        return replace_(path, target)

    monkeypatch.setattr(Path, "replace", stopped)
    with pytest.raises(KeyboardInterrupt):
        writing.publish({first: b"new", second: b"new", third: b"new"}, lambda _: None)
    assert first.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [first]


def test_a_kernel_that_writes_nothing_is_found_out(box, tmp_path, monkeypatch):
    """The exporter returns as if all were well when it can't write (notes on solids); the missing file tells."""
    monkeypatch.setattr(cq.Assembly, "export", lambda self, *_, **__: self)
    with pytest.raises(ExportError, match="can't write here: No such file or directory"):
        wrote(step_files, box, tmp_path / "box.step")
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_reads_back_otherwise_is_not_kept(tmp_path, monkeypatch):
    monkeypatch.setattr(Path, "read_bytes", lambda _: b"other")
    with pytest.raises(ExportError) as caught:
        writing.publish({tmp_path / "a.glb": b"meant"}, lambda _: None)
    assert str(caught.value) == (
        "a.glb: written, but it reads back with 5 bytes that differ from the 5 written; nothing was kept; "
        "export again to another folder with --to"
    )
    assert list(tmp_path.iterdir()) == []


def test_a_step_file_with_other_volumes_is_not_kept(box, tmp_path):
    """Facts that promise another volume than the solid's: what is read back is held against them."""
    stem = box.part("stem")
    wrong = replace(stem, facts=replace(stem.facts, volume=stem.facts.volume * 1.01))
    other = replace(box, parts=(*box.parts[:-1], wrong))
    with pytest.raises(ExportError) as caught:
        wrote(step_files, other, tmp_path / "box.step")
    assert str(caught.value) == (
        "box.step: written, but it reads back with a stem of 848.230016 mm³, must be 856.712317 mm³; "
        "nothing was kept; export again to another folder with --to"
    )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not shutil.which("cc"), reason="needs a C compiler, for a clock that stands in 1976")
def test_a_clock_before_1979_is_named_with_its_cure_and_stops_step_alone(tmp_path):
    """The process is given a clock forty-odd years back; the kernel's own date begins with 1979."""
    (tmp_path / "clock.c").write_text(
        "#include <sys/time.h>\n#include <time.h>\n"
        "time_t time(time_t *at) { if (at) *at = 195000000; return 195000000; }\n"
        "int gettimeofday(struct timeval *at, void *zone) { at->tv_sec = 195000000; at->tv_usec = 0; return 0; }\n"
    )
    subprocess.run(["cc", "-shared", "-fPIC", "-o", "clock.so", "clock.c"], cwd=tmp_path, check=True)
    env = os.environ | {"LD_PRELOAD": str(tmp_path / "clock.so"), "PYTHONPATH": str(Path(__file__).parent.parent)}
    command = [sys.executable, "-P", "-m", "viewer", "export", "label_box", "--to", "out"]
    done = subprocess.run(command, cwd=tmp_path, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 3
    assert done.stderr == (
        "lapwright: STEP: the geometry kernel knows no date before 1979, and this computer's clock shows one; set the "
        "clock, or leave STEP out with --as stl,glb\n"
    )
    assert not any((tmp_path / "out").iterdir())
    done = subprocess.run([*command, "--as", "stl,glb"], cwd=tmp_path, env=env, capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
