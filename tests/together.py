"""How parts stand to one another as solids, by the mesh kernel: what they share, how far they are apart.

A volume above `CONTACT_VOLUME` is an overlap; below it, faces that touch (measured noise is about 3e-12 mm³).
"""

from itertools import combinations

import numpy as np
from manifold3d import Manifold, Mesh64

from assembly.nominal.frame import LAPPED_AT, PLAIN_AT, SX, SY
from assembly.solids.bodies import flat
from assembly.solids.walls import matrix_of, walls

CONTACT_VOLUME = 1e-6  # mm³


def mesh_solid(part, explode=0.0):
    """Return a part's triangles, where the part stands, as a solid of the mesh kernel."""
    return Manifold(Mesh64(vert_properties=part.placed(explode), tri_verts=part.triangles.astype(np.uint64)))


def settled_walls(box, faces, poses):
    """Return the four walls as made, without holes, where they settled."""
    return [flat("wall", shape).transform(matrix_of(i, poses[i])[:3]) for i, shape in enumerate(walls(box, faces))]


def corner_overlaps(solids):
    """Return the volume that the two walls of each corner share: (4 corners,), mm³."""
    return np.array([(solids[a] ^ solids[b]).volume() for a, b in zip(LAPPED_AT, PLAIN_AT, strict=True)])


def corner_clearances(solids, reach):
    """Return the least distance between the two walls of each corner: (4 corners,), mm, at the most `reach`."""
    return np.array([solids[a].min_gap(solids[b], reach) for a, b in zip(LAPPED_AT, PLAIN_AT, strict=True)])


def overlaps(parts):
    """Return every pair of parts that share space in the closed box, and the volume, mm³.

    Threads that bite a pilot hole are among them: they are wider than their hole.
    """
    solids = {part.facts.name: mesh_solid(part) for part in parts}
    low = {part.facts.name: part.placed().min(axis=0) for part in parts}
    high = {part.facts.name: part.placed().max(axis=0) for part in parts}
    meet = [(a, b) for a, b in combinations(solids, 2) if (low[a] < high[b]).all() and (low[b] < high[a]).all()]
    shared = {(a, b): (solids[a] ^ solids[b]).volume() for a, b in meet}
    return {pair: volume for pair, volume in shared.items() if volume > CONTACT_VOLUME}


def separations(meeting, poses):
    """Return how far vertices that meet, (4 corners, 2 faces, 4 points, 2 walls, 3), stand apart: (32,), mm.

    Along the nominal normals, x for a cheek and y for a shoulder, after walls have gone to their `poses`, (4, 4);
    positive where there is a gap.
    """
    placed = [matrix_of(wall, poses[wall]) for wall in range(4)]
    apart = np.empty((4, 2, 4))
    for corner in range(4):
        lapped, plain = placed[LAPPED_AT[corner]], placed[PLAIN_AT[corner]]
        for face, (axis, side) in enumerate([(0, SX[corner]), (1, -SY[corner])]):
            at_lap = meeting[corner, face, :, 0] @ lapped[axis, :3] + lapped[axis, 3]
            at_wall = meeting[corner, face, :, 1] @ plain[axis, :3] + plain[axis, 3]
            apart[corner, face] = side * (at_lap - at_wall)
    return apart.reshape(32)
