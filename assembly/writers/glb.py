"""GLB: the closed box as one scene for browsers and 3D viewers; metres, y up, a named node for every part."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import trimesh
from trimesh.visual import TextureVisuals
from trimesh.visual.material import PBRMaterial

from assembly.files.writing import Meant, misread
from assembly.solids.box import box_arrays

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from assembly.arrays import FloatArray
    from assembly.solids.box import BuiltBox
    from assembly.solids.parts import Colour, PartArrays

METRES_PER_MM = 1e-3
# x to the right as before, the box's z up along the scene's y, the front (the box's -y) towards the viewer (+z).
_Y_UP = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])


def glb_files(box: BuiltBox, path: Path, scale: float = 1.0) -> dict[Path, Meant]:
    """Return `box`, closed, as one GLB file, which must read back watertight with all its parts.

    Parameters
    ----------
    box : Box
        The box as solids.
    path : Path
        The file.
    scale : float
        1 for true size, 0.5 for a model at 1:2.
    """
    parts = box_arrays(box)

    def named(tree: dict[str, Any]) -> None:
        tree["asset"]["generator"] = "lapwright"
        tree["scenes"][0]["name"] = box.name

    content: bytes = scene_of(parts, scale).export(  # type: ignore[no-untyped-call]
        file_type="glb", tree_postprocessor=named
    )
    names = {part.facts.name for part in parts}
    return {path: Meant(content, lambda draft: _check(draft, names))}


def scene_of(parts: Iterable[PartArrays], scale: float) -> trimesh.Scene:
    """Return the closed box as a scene: parts under their groups, groups under the box."""
    scene = trimesh.Scene(base_frame="box")
    for part in parts:
        facts = part.facts
        if facts.group not in scene.graph.nodes:
            scene.graph.update(frame_from="box", frame_to=facts.group, matrix=np.eye(4))  # type: ignore[no-untyped-call]
        mesh = trimesh.Trimesh(part.placed() * scale * METRES_PER_MM @ _Y_UP.T, part.triangles, process=False)
        mesh.visual = TextureVisuals(material=_material(facts.material, facts.colour))  # type: ignore[no-untyped-call]
        scene.add_geometry(mesh, geom_name=facts.name, node_name=facts.name, parent_node_name=facts.group)
    return scene


def linear(channel: FloatArray) -> FloatArray:
    """Return linear light from sRGB values, both from 0 to 1 (IEC 61966-2-1, from memory)."""
    return np.where(channel <= 0.04045, channel / 12.92, ((channel + 0.055) / 1.055) ** 2.4)


def _material(name: str, colour: Colour) -> PBRMaterial:
    *light, opacity = colour
    return PBRMaterial(  # type: ignore[no-untyped-call]
        name=name,
        baseColorFactor=[*linear(np.array(light)).tolist(), opacity],
        metallicFactor=0.0,
        roughnessFactor=0.8,
        alphaMode="OPAQUE" if opacity == 1 else "BLEND",
    )


def _check(draft: Path, names: set[str]) -> None:
    scene = trimesh.load_scene(draft, file_type="glb")
    if set(scene.geometry) != names:
        raise misread(draft, f"with parts {', '.join(sorted(scene.geometry))}")
    for name, mesh in scene.geometry.items():
        if not (mesh.is_watertight and mesh.volume > 0):
            raise misread(draft, f"with a {name} that is not watertight")
