"""Where parts share space, by the mesh kernel in double precision: a check that does not use the exact kernel.

A volume above `CONTACT_VOLUME` is an overlap; below it, faces that touch (measured noise is about 3e-12 mm³).
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from assembly.nominal.frame import LAPPED_AT, PLAIN_AT
from assembly.solids.facets import triangles_of
from assembly.solids.meshes import mesh_solid
from assembly.solids.parts import moved
from assembly.solids.walls import matrix_of, walls

if TYPE_CHECKING:
    from collections.abc import Iterable

    import manifold3d

    from assembly.arrays import FloatArray
    from assembly.made.records import MadeFaces
    from assembly.nominal.frame import Frame
    from assembly.solids.parts import PartArrays

CONTACT_VOLUME = 1e-6  # mm³


def settled_walls(box: Frame, faces: MadeFaces, poses: FloatArray) -> tuple[manifold3d.Manifold, ...]:
    """Return the four walls as made, without holes, where they settled: mesh solids in the order of `frame.WALLS`."""
    return tuple(
        mesh_solid(moved(shape.vertices, matrix_of(wall, poses[wall])), triangles_of(shape))
        for wall, shape in enumerate(walls(box, faces))
    )


def corner_overlaps(solids: tuple[manifold3d.Manifold, ...]) -> FloatArray:
    """Return the volume that the two walls of each corner share: (4 corners,), mm³."""
    pairs = zip(LAPPED_AT, PLAIN_AT, strict=True)
    return np.array([(solids[lapped] ^ solids[plain]).volume() for lapped, plain in pairs])


def corner_clearances(solids: tuple[manifold3d.Manifold, ...], reach: float) -> FloatArray:
    """Return the least distance between the two walls of each corner: (4 corners,), mm, at the most `reach`."""
    pairs = zip(LAPPED_AT, PLAIN_AT, strict=True)
    return np.array([solids[lapped].min_gap(solids[plain], reach) for lapped, plain in pairs])


def overlaps(arrays: Iterable[PartArrays]) -> dict[tuple[str, str], float]:
    """Return every pair of parts that share space in the closed box, and the volume, mm³.

    Threads that bite a pilot hole are among them: they are wider than their hole.
    """
    solids = {part.facts.name: mesh_solid(part.placed(), part.triangles) for part in arrays}
    shared = {(a, b): float((solids[a] ^ solids[b]).volume()) for a, b in combinations(solids, 2)}
    return {pair: volume for pair, volume in shared.items() if volume > CONTACT_VOLUME}
