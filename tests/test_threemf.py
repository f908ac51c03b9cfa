"""3MF files, held to a strict reader and to a second one: names, colours, millimetres, volumes, and how parts lie."""

import zipfile
from dataclasses import replace

import lib3mf
import numpy as np
import pytest
import trimesh
from fitted import bird_design
from wrote import wrote

from assembly.errors import ExportError
from assembly.files.writing import publish_each
from assembly.solids.box import box_arrays, build
from assembly.solids.lying import lain
from assembly.solids.parts import PART_NAMES
from assembly.writers.threemf import Item, meant, package, read_back, threemf_files


@pytest.fixture(scope="module")
def box():
    return build(bird_design())


@pytest.fixture(scope="module")
def files(box, tmp_path_factory):
    """Every file of the box at 1:2, by its stem."""
    return {path.stem: path for path in wrote(threemf_files, box, tmp_path_factory.mktemp("made") / "box-3mf", 0.5)}


def strictly(path):
    """Return a file's model as the strict reader has it, once it has no warning of it."""
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)  # noqa: FBT003 - the library's own call
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    return model


def meshes_of(model):
    found, meshes = [], model.GetMeshObjects()
    while meshes.MoveNext():
        found.append(meshes.GetCurrentMeshObject())
    return found


def told_by(model):
    """Return a model's metadata by name."""
    group = model.GetMetaDataGroup()
    entries = [group.GetMetaData(at) for at in range(group.GetMetaDataCount())]
    return {entry.GetName(): entry.GetValue() for entry in entries}


def test_every_file_is_read_strictly_without_a_warning_and_in_millimetres(files):
    assert set(files) == {"whole", *(name.replace(" ", "-") for name in PART_NAMES)}
    for stem, path in files.items():
        model = strictly(path)
        assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
        meshes = meshes_of(model)
        assert all(mesh.IsManifoldAndOriented() for mesh in meshes)
        names = [mesh.GetName().replace(" ", "-") for mesh in meshes]
        assert names == ([name.replace(" ", "-") for name in PART_NAMES] if stem == "whole" else [stem])


def test_the_whole_box_is_one_object_whose_parts_stand_as_in_the_box(box, files):
    """Lid and walls where the half-size box has them: its lid 3 mm out over 160 by 90, its base 4 mm under 45."""
    model = strictly(files["whole"])
    items, named = model.GetBuildItems(), []
    while items.MoveNext():
        named.append(items.GetCurrent().GetObjectResource().GetName())
    assert named == [box.name]
    scene = trimesh.load_scene(files["whole"])
    assert (scene.units, set(scene.geometry)) == ("millimeter", set(PART_NAMES))
    low = scene.geometry["lid"].bounds
    assert low == pytest.approx(np.array([[0, 0, 49 / 2], [83, 48, 55 / 2]]), abs=1e-6)
    assert scene.geometry["base"].bounds[:, 2] == pytest.approx([0, 2], abs=1e-6)
    for part in box.parts:
        mesh = scene.geometry[part.facts.name]
        assert mesh.is_watertight
        assert mesh.volume == pytest.approx(part.mesh.volume / 8, rel=1e-6)


def test_each_part_has_the_colour_and_the_material_that_it_has_everywhere(box, files):
    """Colours in steps of 255; 3MF's are sRGB, as the project's own are."""
    for path in files.values():
        model = strictly(path)
        groups = model.GetBaseMaterialGroups()
        assert groups.MoveNext()
        tints = groups.GetCurrentBaseMaterialGroup()
        numbers = tints.GetAllPropertyIDs()
        for mesh in meshes_of(model):
            resource, number, _ = mesh.GetObjectLevelProperty()
            assert (resource, number in numbers) == (tints.GetResourceID(), True)
            colour, facts = tints.GetDisplayColor(number), box.part(mesh.GetName()).facts
            read = np.array([colour.Red, colour.Green, colour.Blue, colour.Alpha]) / 255
            assert read == pytest.approx(facts.colour, abs=0.5 / 255 + 1e-9)
            assert tints.GetName(number) == facts.material


def test_a_part_of_its_own_lies_on_its_largest_flat_face(files):
    """Sizes at 1:2 by hand: walls on a side, sheets flat, the plaque on its flat leg, heads and stem on their ends.

    The plaque's legs are 50 and 40 and lie 60 wide; over its bend the thread round it has a larger face, and no part.
    """
    sizes = {
        "left-wall": (45, 22.5, 7.5),
        "front-wall": (72.5, 22.5, 5),
        "base": (80, 45, 2),
        "lid": (83, 48, 3),
        "plaque": (30, 25, 20),
        "left-lid-screw": (3.5, 3.5, 12.5),
        "plaque-washer-1": (3.5, 3.5, 0.25),
        "stem": (3, 3, 15),
    }
    for stem, size in sizes.items():
        bounds = trimesh.load_scene(files[stem]).bounds
        assert bounds[0] == pytest.approx([0, 0, 0], abs=1e-6)
        assert bounds[1] == pytest.approx(size, abs=0.006), stem  # a circle's corners lie on it


def test_a_round_headed_screw_lies_on_its_side(files):
    """No flat face of it takes the table: its head's underside is behind the shank, its point is none, its top a dome.

    On its side it touches at rim and shank or tip; nothing lies as high as it is long, 10.1 with its head, halved.
    """
    mesh = trimesh.load_scene(files["plaque-screw-1"]).to_mesh()
    assert mesh.extents[0] > 8 / 2
    assert mesh.extents[2] < 5.5 / 2 + 0.4
    lowest = mesh.vertices[mesh.vertices[:, 2] < 1e-4]
    assert np.ptp(lowest[:, 0]) > 2  # it rests on more than one place of its length


def test_how_a_part_lies_does_not_hang_on_how_it_is_held(box):
    """Random turns beforehand: the same sizes, on the table, with the same volume."""
    random = np.random.default_rng(11)
    for name in ("right wall", "plaque", "left lid screw"):
        part = box.part(name).mesh
        usual = np.ptp(lain(part.vertices, part.triangles), axis=0)
        for _ in range(4):
            turn, _ = np.linalg.qr(random.normal(size=(3, 3)))
            turn *= np.sign(np.linalg.det(turn))
            laid = lain(part.vertices @ turn.T, part.triangles)
            assert laid.min(axis=0) == pytest.approx([0, 0, 0], abs=1e-9)
            assert np.ptp(laid, axis=0) == pytest.approx(usual, abs=1e-3)
            volume = trimesh.Trimesh(laid, part.triangles, process=False).volume
            assert volume == pytest.approx(part.volume, rel=1e-9)  # not its mirror image


@pytest.mark.parametrize(
    ("name", "read"),
    [
        ('<b>&"it\'s"</b> ]]>', '<b>&"it\'s"</b> ]]>'),
        ("Vogelh\u00e4uschen \u7bb1", "Vogelh\u00e4uschen \u7bb1"),
        ("a\ufffeb\x00c", "a\ufffdb\ufffdc"),  # XML has no such characters
    ],
)
def test_a_hostile_name_is_words_and_nothing_else(name, read, box, tmp_path):
    items = [Item(part, part.placed()) for part in box_arrays(box)[:1]]
    path = tmp_path / "a.3mf"
    path.write_bytes(package(name, items, closed=True))
    model = strictly(path)
    assert told_by(model)["Title"] == read
    components = model.GetComponentsObjects()
    assert components.MoveNext()
    assert components.GetCurrentComponentsObject().GetName() == read


def test_files_bear_no_date_and_name_this_program(files):
    with zipfile.ZipFile(files["whole"]) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    assert told_by(strictly(files["whole"])) == {"Title": "Bird ringer's box", "Application": "lapwright"}
    assert told_by(strictly(files["lid"]))["Title"] == "Bird ringer's box: lid"


def _moved(points):
    return points * [1.0, 1.0, 1.01]


def _opened(box):
    part = box_arrays(box)[4]
    return replace(part, triangles=part.triangles[1:])


def test_a_file_that_reads_back_otherwise_is_not_kept(box, tmp_path):
    """Another volume, a hole in the surface, a part missing: each is told, and nothing is left."""
    base = box_arrays(box)[4]
    item = Item(base, base.placed())
    content = package("a", [item])
    cases = [
        (package("a", [Item(base, _moved(base.placed()))]), "with a base of 58176 mm³, must be 57600 mm³"),
        (package("a", [Item(_opened(box), base.placed())]), "with a base that is not watertight"),
        (package("a", []), "with parts none"),
    ]
    for wrong, what in cases:
        with pytest.raises(ExportError) as caught:
            publish_each({tmp_path / "a.3mf": meant(wrong, [item])})
        assert str(caught.value) == (
            f"a.3mf: written, but it reads back {what}; nothing was kept; export again to another folder with --to"
        )
        assert list(tmp_path.iterdir()) == []
    assert set(read_back(publish_each({tmp_path / "a.3mf": meant(content, [item])})[0])) == {"base"}
