"""An export is one set of files: all formats or none, and nothing of an earlier export stays among them."""

import json
from pathlib import Path

import pytest
from designs import designs
from hypothesis import given, settings

from assembly.errors import ExportError
from assembly.files.writing import Meant, publish_each
from assembly.nominal.fittings import fittings
from assembly.nominal.frame import WALLS
from assembly.writers.names import left_over, stem_of

NO_WORDING = ("--set", "plaque.wording= ")


def names_in(folder):
    return sorted(path.name for path in Path(folder).iterdir())


@pytest.mark.parametrize(("taken", "formats"), [("frost_watch-svg", "dxf,svg"), ("frost_watch-3mf", "glb,3mf")])
def test_where_one_format_can_t_be_written_none_is(taken, formats, run):
    """A file stands where the second one's folder should be."""
    Path("d").mkdir()
    Path("d", taken).touch()
    code, out, err = run("export", "frost_watch", "--as", formats, "--to", "d")
    assert (code, out) == (3, "")
    assert err == (
        f"lapwright: d/{taken}: can't write here: File exists; choose another folder with --to, or free space and "
        "check its rights\n"
    )
    assert names_in("d") == [taken]


def test_a_file_of_one_folder_that_is_not_as_meant_leaves_no_folder(tmp_path):
    def refused(draft):
        raise OSError(5, f"{draft.name} is gone")

    files = {
        tmp_path / "new" / "one" / "a": Meant(b"a", lambda _: None),
        tmp_path / "new" / "two" / "b": Meant(b"b", refused),
    }
    with pytest.raises(ExportError, match="two: can't write here: b is gone"):
        publish_each(files)
    assert names_in(tmp_path) == []


def test_what_is_left_over_stays_where_the_set_does_not_take_its_place(tmp_path, monkeypatch):
    """The second of two that should go is held by another program: the first is back, and so is the file before."""
    first, second, target = (tmp_path / name for name in ("a", "b", "c"))
    for path in (first, second, target):
        path.write_bytes(b"old")
    replace = Path.replace

    def held(path, to):
        if path == second:
            raise PermissionError(13, "Permission denied")
        return replace(path, to)

    monkeypatch.setattr(Path, "replace", held)
    with pytest.raises(ExportError, match="can't write here: Permission denied"):
        publish_each({target: Meant(b"new", lambda _: None)}, (first, second))
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == dict.fromkeys("abc", b"old")


def test_a_former_wording_is_not_left_beside_the_new_plaque(run):
    """Files of somebody's own stay, with names much like ours, and folders with ours."""
    export = ("export", "frost_watch", "--as", "dxf,svg,stl", "--to", "out")
    assert run(*export)[0] == 0
    own = ["engrave copy.svg", "engrave.svg.txt", "Engrave.svg", "notes.txt", "cut.pdf", "plate_220x220_4.3mf"]
    for name in own:
        Path("out/frost_watch-svg", name).write_text("mine")
    Path("out/frost_watch-stl/left-lid-washer.stl").mkdir()
    code, out, err = run(*export, *NO_WORDING)
    assert (code, err) == (0, "")
    assert [line for line in out.splitlines() if line.startswith("removed")] == [
        "removed out/frost_watch-dxf/engrave.dxf",
        "removed out/frost_watch-svg/engrave.svg",
    ]
    assert set(own) < set(names_in("out/frost_watch-svg"))
    assert "engrave.svg" not in names_in("out/frost_watch-svg")
    assert Path("out/frost_watch-stl/left-lid-washer.stl").is_dir()
    _, out, _ = run(*export, *NO_WORDING, "--json")
    assert json.loads(out)["removed"] == []


def test_plates_and_parts_that_a_model_no_longer_has_go(run):
    """A plate of a larger set, one of another size, a washer that is none any more; not what is called otherwise."""
    folder = Path("out/frost_watch_1to2-3mf")
    export = ("export", "frost_watch", "--as", "3mf", "--scale", "1:2", "--to", "out")
    folder.mkdir(parents=True)
    for name in ("plate_100x60_9.3mf", "plate_180.5x90_1.3mf", "left-lid-washer.3mf", "plate_of_mine_1.3mf"):
        (folder / name).write_text("old")
    _, out, _ = run(*export, "--plate", "100x60", "--json")
    data = json.loads(out)
    assert [Path(file).name for file in data["removed"]] == [
        "left-lid-washer.3mf", "plate_100x60_9.3mf", "plate_180.5x90_1.3mf"
    ]  # fmt: skip
    assert names_in(folder) == sorted([*(Path(file).name for file in data["files"]), "plate_of_mine_1.3mf"])
    assert "plate_100x60_1.3mf" in names_in(folder)


@given(design=designs())
@settings(max_examples=25, deadline=None)
def test_every_part_of_a_random_design_is_known_again(design, tmp_path_factory):
    """What one export names, the next knows as its own."""
    fitted = fittings(design)
    screws = [name for screw in fitted.fasteners for name in (screw.name, screw.washer_name)]
    folder = tmp_path_factory.mktemp("parts")
    files = {
        folder / f"{stem_of(part)}.stl"
        for part in (*(f"{wall} wall" for wall in WALLS), "base", "lid", "plaque", "stem", *screws)
    }
    for file in files:
        file.touch()
    assert set(left_over("stl", folder, ())) == files
