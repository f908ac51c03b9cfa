"""Display models by the command: clearance, nozzle, plates, boxes as made; what is refused, and that cures do."""

import hashlib
import json
import shlex
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import trimesh
from fitted import bird_design
from sweep import long

from assembly.errors import InputError
from assembly.files.reading import read_design
from assembly.solids.as_made import magnified
from assembly.solids.box import box_arrays, build
from assembly.solids.parts import PART_NAMES
from assembly.solids.stood_clear import stood_clear
from assembly.writers.formats import read_scale
from assembly.writers.plates import BETWEEN, Plate, footprint, on_plates
from assembly.writers.threemf import lying_parts
from viewer.commands import jobs
from viewer.commands.display_model import held_to_plate, plate_of, thin_walls
from viewer.commands.exporting import ExportRequest, formats_of, model_of
from viewer.commands.made_boxes import box_as_made

LARGE, SMALL = Plate(220, 220), Plate(100, 60)
HALF = ("export", "frost_watch", "--scale", "1:2")


@pytest.fixture(scope="module")
def lying():
    """Return the parts of a box at 1:2 as they lie by themselves."""
    return lying_parts(box_arrays(build(bird_design())), 0.5)


@pytest.fixture(scope="module")
def one_plate(lying):
    """Return the one plate that takes them all with room to spare."""
    (items,) = on_plates(lying, LARGE)
    return items


def shas(folder):
    """Return what every file under a folder holds, by its name."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(Path(folder).rglob("*"))
        if path.is_file()
    }


# Clearance


def test_every_format_has_the_clearance_and_no_file_takes_the_place_of_another(run):
    """At 1:2 with 0.2 plain walls of 10 mm give 0.2 of it: 9.8 / 2; the base of 4, 3.8 / 2. Twice: the same bytes."""
    for to, formats in (("one", "step,stl,glb,3mf"), ("two", "glb")):
        code, _, err = run(*HALF, "--as", formats, "--clearance", "0.2", "--to", to)
        assert (code, err) == (0, "")
    assert run(*HALF, "--as", "glb", "--to", "one")[0] == 0
    found = shas("one")
    assert {name: sha for name, sha in found.items() if name.endswith("clearance_0.2.glb")} == shas("two")
    assert {name.partition("/")[0] for name in found} == {
        "frost_watch_1to2.glb",
        *(f"frost_watch_1to2_clearance_0.2{end}" for end in ("-stl", "-3mf", ".glb", ".step")),
    }
    made = "one/frost_watch_1to2_clearance_0.2"
    wall = trimesh.load_mesh(f"{made}-stl/front-wall.stl").extents
    base = trimesh.load_scene(f"{made}-3mf/base.3mf").extents
    assert (wall[1], base[2]) == (pytest.approx(4.9, abs=1e-5), pytest.approx(1.9, abs=1e-6))
    glb = trimesh.load_scene(f"{made}.glb").geometry
    assert set(glb) == set(PART_NAMES)
    assert glb["base"].extents[1] == pytest.approx(0.0019, abs=1e-8)


def test_no_clearance_and_one_of_nothing_are_the_same_bytes(run):
    for to, more in (("one", ()), ("two", ("--clearance", "0"))):
        assert run(*HALF, "--as", "glb,3mf", *more, "--to", to)[0] == 0
    assert shas("one") == shas("two")


# Nozzle


def test_walls_under_two_widths_of_the_nozzle_are_named_with_their_sizes(run):
    """At 1:4 and 0.1 by hand: the plaque's 3 mm give 0.4 and are 0.65; 0.5 mm washers are 0.125, threads (3 - 0.2) / 4.

    The base's 4 mm give 0.2 and are 0.95, over twice 0.4. Screws, washers and stem can be bought and are only named.
    """
    words = ("export", "frost_watch", "--as", "glb", "--scale", "1:4", "--clearance", "0.1", "--to", "out")
    code, out, err = run(*words)
    assert (code, err) == (0, "")
    assert out == (
        "wrote out/frost_watch_1to4_clearance_0.1.glb\n"
        "Thin for a nozzle of 0.4 mm, under two widths of it:\n"
        "  plaque, thickness 0.65 mm\n"
        "  plaque screw 1, thread 0.7 mm\n"
        "  plaque screw 1, head 0.525 mm\n"
        "  plaque screw 2, thread 0.7 mm\n"
        "  plaque screw 2, head 0.525 mm\n"
        "  plaque washer 1, thickness 0.125 mm, under one width: it may not print\n"
        "  plaque washer 1, ring 0.475 mm\n"
        "  plaque washer 2, thickness 0.125 mm, under one width: it may not print\n"
        "  plaque washer 2, ring 0.475 mm\n"
    )
    code, out, _ = run(*words, "--nozzle", "0.35", "--json")
    data = json.loads(out)
    assert (code, data["command"], len(data["thin_walls"])) == (0, "export", 7)  # under 0.7: no thread
    wall = data["thin_walls"][0]
    assert wall == {"part": "plaque", "wall": "thickness", "size": pytest.approx(0.65), "under_nozzle": False}


def test_no_nozzle_is_held_against_what_is_not_for_a_printer(run):
    """Of a box that no printer makes so small, the files for a screen are written."""
    assert run("export", "frost_watch", "--as", "glb,step", "--scale", "1:100", "--to", "out")[0] == 0


# What is refused: the words, and what would do in their stead

REFUSED = {
    "--as glb --nozzle 0.4 --scale 1:10": (
        "--scale: at 1:10 the plaque's thickness is 0.3 mm, under the nozzle's 0.4 mm; --scale 1:7.5 or --nozzle 0.3 "
        "would do"
    ),
    "--as glb --scale 1:8 --clearance 0.2": (
        "--scale: at 1:8 with a clearance of 0.2 mm the plaque's thickness is 0.175 mm, under the nozzle's 0.4 mm; "
        "--scale 1:5 or --nozzle 0.17 would do"
    ),
    "--as glb --scale 1:4 --clearance 2": (
        "--scale: at 1:4 with a clearance of 2 mm the plaque's thickness is gone; --scale 1:1.2 or --clearance 0.35 "
        "would do"
    ),
    "--as stl --scale 1:20": (
        "--scale: at 1:20 the plaque's thickness is 0.15 mm, under the nozzle's 0.4 mm; --scale 1:7.5 or --nozzle 0.15 "
        "would do"
    ),
    "--as 3mf --plate 100x120": (
        "--plate: the base lies 160 x 90 mm at 1:1, too large for a plate of 100 x 120 mm with 5 mm free along its "
        "edges; --scale 1:1.5 or --plate 170x100 would do"
    ),
    "--as 3mf --plate 50x50 --scale 1:2 --clearance 0.2": (
        "--plate: the base lies 80 x 45 mm at 1:2, too large for a plate of 50 x 50 mm with 5 mm free along its edges; "
        "--scale 1:4 or --plate 90x60 would do"
    ),
    # small enough for the plate the plaque is 0.1 mm thick, and no plate is 1.2 m wide
    "--as 3mf --plate 50x50 --set box.length=1200": (
        "--plate: the base lies 1200 x 90 mm at 1:1, too large for a plate of 50 x 50 mm with 5 mm free along its "
        "edges; --scale 1:30 with --nozzle 0.1 would do"
    ),
    # what is small enough for the plate is too thin for the nozzle
    "--as 3mf --plate 50x50 --scale 1:2 --nozzle 1.2": (
        "--plate: the base lies 80 x 45 mm at 1:2, too large for a plate of 50 x 50 mm with 5 mm free along its edges; "
        "--plate 90x60 would do"
    ),
}
WORDS = {
    "--clearance -0.1": (
        "--clearance: got -0.1, must be 0 to 2 mm, the gap that is left between two faces of the print, in steps of "
        "0.01 mm, such as 0.2"
    ),
    "--clearance tight": (
        "--clearance: got 'tight', must be 0 to 2 mm, the gap that is left between two faces of the print, in steps of "
        "0.01 mm, such as 0.2"
    ),
    "--clearance 0.0001": (
        "--clearance: got 0.0001, must be 0 to 2 mm, the gap that is left between two faces of the print, in steps of "
        "0.01 mm; give 0 or 0.01"
    ),
    "--clearance 0.205": (
        "--clearance: got 0.205, must be 0 to 2 mm, the gap that is left between two faces of the print, in steps of "
        "0.01 mm; give 0.2 or 0.21"
    ),
    "--nozzle 0": "--nozzle: got 0, must be 0.1 to 2 mm, such as 0.4",
    "--nozzle nan": "--nozzle: got nan, must be 0.1 to 2 mm, such as 0.4",
    "--plate 220": "--plate: got '220', must be width x depth, each 50 to 1000 mm, such as 220x220",
    "--plate 220x20": "--plate: got '220x20', must be width x depth, each 50 to 1000 mm, such as 220x220",
    "--plate 220x220 --as stl,step": (
        "--plate: lays parts out in 3mf files, and --as has none; add 3mf to --as, or leave it out"
    ),
    "--nozzle 0.4 --as svg": (
        "--nozzle: is for step, stl, glb and 3mf, which were not asked for; add one of them to --as"
    ),
    "--as-made p95 --clearance 0.2": (
        "--clearance: takes from the faces what --as-made would show of them, so that no gap is what it is called; "
        "leave out one of them"
    ),
    "--as-made worst": (
        "--as-made: got 'worst', must be p95 (a sampled box), likeliest (the likeliest bad box) or limit (every error "
        "at its limits)"
    ),
    "--of right-back": (
        "--of: got 'right-back', which says of what limit the likeliest bad box is drawn; add --as-made likeliest, or "
        "leave out --of"
    ),
}


def replaced(words, cure):
    """Return words with options in place of those of their names, or at their end."""
    found = shlex.split(words)
    for option, value in batched(cure.replace(" with ", " ").split()):
        if option in found:
            found[found.index(option) + 1] = value
        else:
            found += [option, value]
    return found


def batched(words):
    return zip(words[::2], words[1::2], strict=True)


DEAR = ("--as 3mf --plate 100x120", "--as 3mf --plate 50x50 --set box.length=1200")


@pytest.mark.parametrize("words", [pytest.param(words, marks=long) if words in DEAR else words for words in REFUSED])
def test_what_can_t_be_printed_is_refused_and_what_would_do_does(words, run):
    """Each cure is applied, and the export goes through; one step beyond, it does not."""
    code, out, err = run("export", "frost_watch", *shlex.split(words), "--to", "out")
    assert (code, out, err) == (2, "", f"lapwright: {REFUSED[words]}\n")
    assert not Path("out").exists()
    for cure in err.partition("; ")[2].removesuffix(" would do\n").split(" or "):
        assert stands(replaced(words, cure)), cure


def stands(words):
    """Tell whether a model is refused nothing: its walls and its places on plates, without the files."""
    given = dict(batched(words))
    job = jobs.read("frost_watch", [given["--set"]] if "--set" in given else [])
    asked = ExportRequest(
        formats=given["--as"],
        scale=given.get("--scale", "1:1"),
        clearance=given.get("--clearance"),
        nozzle=given.get("--nozzle"),
        plate=given.get("--plate"),
    )
    model = model_of(job, asked, formats_of(asked.formats), read_scale(asked.scale))
    thin_walls(model)  # both raise where they refuse
    return not model.plate or held_to_plate(model, model.box())


@pytest.mark.parametrize(
    ("words", "beyond"),
    [
        ("--as glb --nozzle 0.4 --scale 1:10", ("--scale 1:7.501", "--nozzle 0.31")),
        ("--as glb --scale 1:8 --clearance 0.2", ("--scale 1:5.001", "--nozzle 0.18")),
        ("--as glb --scale 1:4 --clearance 2", ("--scale 1:1.226", "--clearance 0.36")),
    ],
)
def test_what_would_do_is_the_most_that_does(words, beyond, run):
    for change in beyond:
        assert run("export", "frost_watch", *replaced(words, change), "--to", "out")[0] == 2


@pytest.mark.parametrize("words", WORDS)
def test_words_that_mean_nothing_are_refused(words, run):
    code, out, err = run("export", "frost_watch", *shlex.split(words), "--to", "out")
    assert (code, out, err) == (2, "", f"lapwright: {WORDS[words]}\n")
    assert not Path("out").exists()


# Plates


def test_plates_hold_every_part_once_apart_inside_and_lying(lying, one_plate):
    """The parts of a box at 1:2 on one plate, and on small ones: rectangles 5 mm apart, lowest points at 0."""
    for plate, most, plates in ((LARGE, 1, (one_plate,)), (SMALL, 5, on_plates(lying, SMALL))):
        assert 1 <= len(plates) <= most
        assert sorted(item.part.facts.name for items in plates for item in items) == sorted(PART_NAMES)
        for items in plates:
            bounds = [(item.points.min(axis=0), item.points.max(axis=0)) for item in items]
            for low, high in bounds:
                assert (low[:2] > 5 - 1e-9).all()
                assert (high[:2] < np.array(plate) - 5 + 1e-9).all()
                assert low[2] == pytest.approx(0, abs=1e-9)
            for (low, high), (other_low, other_high) in combinations(bounds, 2):
                assert max((low - other_high)[:2].max(), (other_low - high)[:2].max()) > BETWEEN - 1e-6
            middle = (np.min([low for low, _ in bounds], axis=0) + np.max([high for _, high in bounds], axis=0)) / 2
            assert middle[:2] == pytest.approx(np.array(plate) / 2, abs=1e-9)


def test_walls_as_made_lie_on_the_plate_too():
    """Bowed and twisted faces: every wall of a badly made box touches the plate at three corners at least."""
    design = read_design("frost_watch")
    settled = box_as_made(jobs.read("frost_watch"), "p95", seed=1).settled
    items = lying_parts(box_arrays(build(design, *magnified(settled, 5.0))), 0.5)
    for item in items:
        lowest = item.points[item.points[:, 2] < 1e-3]
        assert item.points[:, 2].min() == pytest.approx(0, abs=1e-9)
        assert len(lowest) >= 3, item.part.facts.name
        assert np.ptp(lowest[:, :2], axis=0).max() > 0.1


def test_parts_lie_close_together_on_a_large_plate(lying, one_plate):
    """The rectangle round them is hardly larger than they are, the 5 mm beside each counted as theirs."""
    size = np.ptp(np.vstack([item.points for item in one_plate]), axis=0)
    own = sum(np.prod(np.array(footprint(item)) + BETWEEN) for item in lying)
    assert own < (size[0] + BETWEEN) * (size[1] + BETWEEN) < 1.15 * own


def test_the_command_writes_plates_beside_the_parts(run):
    code, out, err = run(*HALF, "--as", "3mf", "--plate", "90x60", "--to", "out")
    assert (code, err) == (0, "")
    folder = Path("out/frost_watch_1to2-3mf")
    plates = sorted(folder.glob("plate_*"))
    assert [path.name for path in plates] == [f"plate_90x60_{n}.3mf" for n in range(1, len(plates) + 1)]
    assert all(f"wrote {path.as_posix()}\n" in out for path in plates)
    names = [name for path in plates for name in trimesh.load_scene(path).geometry]
    assert sorted(names) == sorted(PART_NAMES)


@pytest.mark.parametrize(("words", "plate"), [("220x220", (220, 220)), (" 180.5X90", (180.5, 90)), ("60×50", (60, 50))])
def test_plates_are_read(words, plate):
    assert plate_of(words) == plate


# As made


def test_a_box_as_made_is_written_as_it_is_drawn(run):
    """Every part of p95, errors three times as large: the volumes of the same solids, an eighth of them at 1:2."""
    words = ("--as-made", "p95", "--times", "3", "--seed", "4", "--as", "3mf,step", "--to", "out")
    code, _, err = run("export", "label_box", "--scale", "1:2", *words)
    assert (code, err) == (0, "")
    assert sorted(path.name for path in Path("out").iterdir()) == [
        "label_box_p95_3_times_1to2-3mf",
        "label_box_p95_3_times_1to2.step",
    ]
    job = jobs.read("label_box")
    settled = box_as_made(job, "p95", seed=4).settled
    box = stood_clear(build(job.design, *magnified(settled, 3.0)))
    scene = trimesh.load_scene("out/label_box_p95_3_times_1to2-3mf/whole.3mf")
    assert set(scene.geometry) == {part.facts.name for part in box.parts}
    for part in box.parts:
        mesh = scene.geometry[part.facts.name]
        assert mesh.is_watertight
        assert mesh.volume == pytest.approx(part.mesh.volume / 8, rel=1e-6)
    nominal = {part.facts.name: part.mesh.volume for part in build(read_design("label_box")).parts}
    assert abs(box.part("left wall").mesh.volume - nominal["left wall"]) > 10  # mm³: it is not the drawn box
    low = np.min([part.placed().min(axis=0) for part in box_arrays(box)], axis=0)
    for part in box_arrays(box):  # and its walls stand where they settled, gaps and all
        assert scene.geometry[part.facts.name].bounds[0] == pytest.approx(
            (part.placed().min(axis=0) - low) / 2, abs=1e-5
        )
    text = Path("out/label_box_p95_3_times_1to2.step").read_text(encoding="ascii")
    assert "'Label box as made errors 3 times as large'" in text


def test_errors_too_large_for_the_nozzle_are_refused_with_those_that_are_not(run):
    """Laps of seven tenths leave a tongue of 4.5; as many errors as are told do, and a tenth more do not."""
    words = "--set timber.lap_share=0.7 --as glb --nozzle 2 --as-made p95 --times 6"
    code, out, err = run("export", "frost_watch", *shlex.split(words), "--to", "out")
    assert (code, out) == (2, "")
    assert err == (
        "lapwright: --scale: at 1:1 the left wall's tongue is 1.24 mm, under the nozzle's 2 mm; --times 4.6 or "
        "--nozzle 1.23 would do\n"
    )
    for cure, ended in (("--times 4.6", 0), ("--times 4.7", 2), ("--nozzle 1.23", 0)):
        assert run("export", "frost_watch", *replaced(words, cure), "--to", "out")[0] == ended


def test_a_part_larger_than_a_plate_is_refused_by_the_layout_itself(lying):
    """Who lays out without asking first is told by the nesting's own words."""
    with pytest.raises(InputError, match="does not go onto a sheet of 60 x 60 mm"):
        on_plates(lying, Plate(60, 60))
