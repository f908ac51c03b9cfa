"""STL: every part as a mesh of its own, standing where it stands in the closed box, in millimetres.

One file a part, because parts that touch can't share one watertight mesh.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import trimesh
from trimesh.exchange.stl import export_stl

from assembly.files.writing import Meant, misread
from assembly.solids.box import box_arrays
from assembly.writers.names import stem_of

if TYPE_CHECKING:
    from pathlib import Path

    from assembly.solids.box import BuiltBox
    from assembly.solids.parts import PartArrays


def stl_files(box: BuiltBox, folder: Path, scale: float = 1.0) -> dict[Path, Meant]:
    """Return every part of `box` as a binary STL file in `folder`, which must read back watertight.

    Parameters
    ----------
    box : Box
        The box as solids.
    folder : Path
        Where the files go; each is named after its part.
    scale : float
        1 for true size, 0.5 for a model at 1:2.
    """
    return {
        folder / f"{stem_of(part.facts.name)}.stl": Meant(export_stl(mesh_of(part, scale)), _check)
        for part in box_arrays(box)
    }


def mesh_of(part: PartArrays, scale: float) -> trimesh.Trimesh:
    """Return a part of the closed box as a mesh."""
    return trimesh.Trimesh(part.placed() * scale, part.triangles, process=False)


def _check(draft: Path) -> None:
    mesh = trimesh.load_mesh(draft, file_type="stl")
    if not (mesh.is_watertight and mesh.volume > 0):
        raise misread(draft, "as a mesh that is not watertight")
