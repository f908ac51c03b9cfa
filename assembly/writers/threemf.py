"""3MF: named, coloured parts in millimetres for printers; the whole box, every part by itself, and plates of them.

whole : the closed box as one object, its parts its components, standing on z = 0
plate : parts that lie beside one another, on z = 0, the plate's corner at the origin

A part of its own lies as it is printed (`assembly.solids.lying`). Every part has a file, equal screws too, so that
who prints all files once has all parts. Source of the form: 3MF Core Specification 1.2.3 (from memory; held to its
schema by the strict reader of the tests).
"""

from __future__ import annotations

import re
import zipfile
from io import BytesIO
from typing import TYPE_CHECKING, NamedTuple
from xml.etree import ElementTree as ET
from xml.sax.saxutils import quoteattr

import numpy as np
import trimesh

from assembly.files.writing import Meant, misread
from assembly.solids.box import box_arrays
from assembly.solids.lying import lain
from assembly.writers.names import WHOLE, stem_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from assembly.arrays import FloatArray, IntArray
    from assembly.solids.box import BuiltBox
    from assembly.solids.parts import Colour, PartArrays

_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_MODEL = "3D/3dmodel.model"
_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>'
)
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Target="/{_MODEL}" Id="model" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>'
)
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the least date of a ZIP file: no clock goes into it
_NO_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # XML 1.0, 2.2, has no such characters
_VOLUME = 1e-6  # relative; how far a volume may be off after reading back, as places have nine digits


class Item(NamedTuple):
    """A part as it stands in a file."""

    part: PartArrays
    points: FloatArray  # (n, 3) mm, at the file's scale


def threemf_files(box: BuiltBox, folder: Path, scale: float = 1.0) -> dict[Path, Meant]:
    """Return `box` as 3MF files in `folder`: the closed box, then every part as it is printed.

    Parameters
    ----------
    box : Box
        The box as solids.
    folder : Path
        Where the files go: `whole.3mf`, and one named after each part.
    scale : float
        1 for true size, 0.5 for a model at 1:2.
    """
    parts = box_arrays(box)
    whole = [part.placed() * scale for part in parts]
    low = np.min([points.min(axis=0) for points in whole], axis=0)
    items = [Item(part, points - low) for part, points in zip(parts, whole, strict=True)]
    files = {folder / f"{WHOLE}.3mf": meant(package(box.name, items, closed=True), items)}
    for item in lying_parts(parts, scale):
        name = item.part.facts.name
        files[folder / f"{stem_of(name)}.3mf"] = meant(package(f"{box.name}: {name}", [item]), [item])
    return files


def lying_parts(parts: Iterable[PartArrays], scale: float) -> tuple[Item, ...]:
    """Return every part as it lies by itself, its least x, y and z at 0, its longer side along x; equal ones alike."""
    found: dict[int, FloatArray] = {}  # by the vertices that equal screws share
    for part in (held := tuple(parts)):
        if id(part.vertices) not in found:
            found[id(part.vertices)] = lain(part.vertices * scale, part.triangles)
    return tuple(Item(part, found[id(part.vertices)]) for part in held)


def meant(content: bytes, items: Sequence[Item]) -> Meant:
    """Return a 3MF file that must read back with the items: by name, watertight and with their volumes."""
    return Meant(content, lambda draft: _check(draft, items))


def package(title: str, items: Sequence[Item], *, closed: bool = False) -> bytes:
    """Return a 3MF file; `closed` makes one object of the items, which keep their places to one another."""
    found = BytesIO()
    with zipfile.ZipFile(found, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in (("[Content_Types].xml", _TYPES), ("_rels/.rels", _RELATIONS)):
            archive.writestr(_entry(name), text)
        archive.writestr(_entry(_MODEL), _model(title, items, closed=closed))
    return found.getvalue()


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, _EPOCH)
    entry.compress_type, entry.create_system = zipfile.ZIP_DEFLATED, 3  # one system's mark, whatever this one is
    return entry


def _model(title: str, items: Sequence[Item], *, closed: bool) -> str:
    tints = list(dict.fromkeys((item.part.facts.material, item.part.facts.colour) for item in items))
    first = 2  # after the materials
    objects = [
        _object(first + at, item, tints.index((item.part.facts.material, item.part.facts.colour)))
        for at, item in enumerate(items)
    ]
    numbers = range(first, first + len(items))
    if closed:
        components = "".join(f'<component objectid="{number}"/>' for number in numbers)
        whole = f'<object id="{numbers.stop}" type="model" name={_quoted(title)}><components>{components}</components>'
        objects.append(f"{whole}</object>\n")
        numbers = range(numbers.stop, numbers.stop + 1)
    bases = "".join(f'<base name={_quoted(name)} displaycolor="{_hex(colour)}"/>' for name, colour in tints)
    built = "".join(f'<item objectid="{number}"/>' for number in numbers)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<model unit="millimeter" xml:lang="en-GB" xmlns="{_CORE}">\n'
        f'<metadata name="Title">{_quoted(title)[1:-1]}</metadata>'
        '<metadata name="Application">lapwright</metadata>\n'
        f'<resources><basematerials id="1">{bases}</basematerials>\n{"".join(objects)}</resources>\n'
        f"<build>{built}</build>\n</model>\n"
    )


def _object(number: int, item: Item, tint: int) -> str:
    points = "".join(f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>' for x, y, z in (item.points + 0.0).tolist())
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in item.part.triangles.tolist())
    head = f'<object id="{number}" type="model" name={_quoted(item.part.facts.name)} pid="1" pindex="{tint}">'
    mesh = f"<mesh><vertices>{points}</vertices><triangles>{faces}</triangles></mesh>"
    return f"{head}{mesh}</object>\n"


def _quoted(words: str) -> str:
    """Return words as an attribute's value, in quotes; a character that XML does not have becomes U+FFFD."""
    return quoteattr(_NO_XML.sub("\ufffd", words), {'"': "&quot;"})


def _hex(colour: Colour) -> str:
    return "#" + "".join(f"{round(255 * channel):02X}" for channel in colour)


def _check(draft: Path, items: Sequence[Item]) -> None:
    """Read a file back: its parts by name, each watertight and of its volume."""
    found = read_back(draft)
    expected = {item.part.facts.name: item for item in items}
    if found.keys() != expected.keys():
        raise misread(draft, f"with parts {', '.join(sorted(found)) or 'none'}")
    for name, (points, triangles) in found.items():
        mesh = trimesh.Trimesh(points, triangles, process=False)
        volume = trimesh.Trimesh(expected[name].points, expected[name].part.triangles, process=False).volume
        if not (mesh.is_watertight and mesh.is_winding_consistent):
            raise misread(draft, f"with a {name} that is not watertight")
        if not abs(mesh.volume - volume) <= _VOLUME * volume:
            raise misread(draft, f"with a {name} of {mesh.volume:.9g} mm³, must be {volume:.9g} mm³")


def read_back(path: Path) -> dict[str, tuple[FloatArray, IntArray]]:
    """Return the meshes of a 3MF file that was written here, by name: vertices (n, 3), mm, and triangles (m, 3)."""
    with zipfile.ZipFile(path) as archive:
        root = ET.fromstring(archive.read(_MODEL))  # noqa: S314 - the same
    found = {}
    for each in root.iter(f"{{{_CORE}}}object"):
        points = [[float(at.get(axis, "nan")) for axis in "xyz"] for at in each.iter(f"{{{_CORE}}}vertex")]
        faces = [[int(at.get(v, "-1")) for v in ("v1", "v2", "v3")] for at in each.iter(f"{{{_CORE}}}triangle")]
        if faces:
            found[each.get("name", "")] = np.array(points), np.array(faces)
    return found
