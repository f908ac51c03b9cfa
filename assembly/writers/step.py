"""STEP: the whole box as a nested assembly of named, coloured solids, in millimetres."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import cadquery as cq
from OCP.Message import Message, Message_Gravity
from OCP.Quantity import Quantity_DateDefinitionError

from assembly.errors import ExportError
from assembly.files.writing import Meant, misread, reraised_as_export_errors, scratch
from assembly.solids.kernel import exact, location
from assembly.solids.parts import placement
from assembly.text import ascii_name
from assembly.writers.canonical import canonical

if TYPE_CHECKING:
    from pathlib import Path

    from assembly.solids.box import BuiltBox
    from assembly.solids.shapes import Shape

_TOO_EARLY = (  # it puts the date into every file; `canonical` takes it out again
    "STEP: the geometry kernel knows no date before 1979, and this computer's clock shows one; set the clock, or leave "
    "STEP out with --as stl,glb"
)
_FILE_NAME = re.compile(r"FILE_NAME\(.*?\);", re.DOTALL)
_KERNEL = re.compile(r"Open CASCADE STEP processor [\d.]+")
_VOLUME = 1e-9  # relative; how far a volume may be off after reading back


def step_files(box: BuiltBox, path: Path, scale: float = 1.0) -> dict[Path, Meant]:
    """Return `box`, closed, as one STEP file (AP214), which must read back with its parts, names and volumes.

    Parameters
    ----------
    box : Box
        The box as solids.
    path : Path
        The file.
    scale : float
        1 for true size, 0.5 for a model at 1:2.

    Raises
    ------
    ExportError
        If the folder can't be written, where the kernel puts its own file.
    """
    expected = {part.facts.name: part.facts.volume * scale**3 for part in box.parts}
    text = _headed(_text(assembly_of(box, scale), path.parent), ascii_name(box.name))
    return {path: Meant(text.encode("ascii"), lambda draft: _check(draft, expected))}


def assembly_of(box: BuiltBox, scale: float = 1.0) -> cq.Assembly:
    """Return the closed box as an assembly: groups within the box, parts within their groups."""
    groups: dict[str, cq.Assembly] = {}
    solids: dict[Shape, cq.Shape] = {}
    for part in box.parts:
        facts = part.facts
        if part.shape not in solids:
            solid = exact(part.shape)
            solids[part.shape] = solid if scale == 1 else solid.scale(scale)
        place = placement(facts, 0.0)
        place[:3, 3] *= scale
        group = groups.setdefault(facts.group, cq.Assembly(name=facts.group))
        group.add(solids[part.shape], name=facts.name, loc=location(place), color=cq.Color(*facts.colour))
    whole = cq.Assembly(name=ascii_name(box.name))
    for group in groups.values():
        whole.add(group)
    return whole


def placed_solids(whole: cq.Assembly) -> dict[str, cq.Shape]:
    """Return every part of an assembly by name, where it stands."""
    return {name.rsplit("/", 1)[-1]: shape.moved(place) for shape, name, place, _ in whole}


def _headed(text: str, name: str) -> str:
    """Return a file whose header names the design and this program; the kernel stays named as what translated it.

    The order of the entity's attributes: name, time stamp, author, organization, preprocessor version, originating
    system, authorization. Source: ISO 10303-21, 8.2.3 (from memory).
    """
    head, data, tail = text.partition("DATA;\n")
    kernel = _KERNEL.search(head)
    entity = f"FILE_NAME('{name}','',(''),(''),'{kernel[0] if kernel else ''}','lapwright','');"
    return _FILE_NAME.sub(entity, head, count=1) + data + tail


def _text(whole: cq.Assembly, folder: Path) -> str:
    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Gravity.Message_Fail)  # the kernel talks on stdout otherwise
    with reraised_as_export_errors(folder):
        folder.mkdir(parents=True, exist_ok=True)
        with scratch(folder) as beside:
            raw = beside / "raw.step"
            try:
                whole.export(str(raw), exportType="STEP", write_pcurves=False)
            except Quantity_DateDefinitionError:
                raise ExportError(_TOO_EARLY) from None
            return canonical(raw.read_text(encoding="ascii"))


def _check(draft: Path, expected: dict[str, float]) -> None:
    try:
        found = {name: shape.Volume() for name, shape in placed_solids(cq.Assembly.importStep(str(draft))).items()}
    except ValueError as fault:
        raise misread(draft, f"as no assembly ({fault})") from fault
    if found.keys() != expected.keys():
        raise misread(draft, f"with parts {', '.join(sorted(found))}")
    for name, volume in expected.items():
        if not abs(found[name] - volume) <= _VOLUME * volume:
            raise misread(draft, f"with a {name} of {found[name]:.9g} mm³, must be {volume:.9g} mm³")
