"""Parts as plain arrays, without the kernel, and boxes with gaps, for the tests of the viewer."""

import numpy as np

from assembly.made.gap_classes import gap_scale
from assembly.made.records import MadeFaces, SettledBox
from assembly.nominal.frame import Frame
from assembly.solids.parts import ACRYLIC_TONE, BASE_TONE, LAPPED_TONE, LID_TONE, PLAIN_TONE, Facts, PartArrays

BOX = Frame(along_x=160, along_y=90, height=45, lapped=15, plain=10, depth=7.5, length_axis="x")
APART = 48.0  # mm
_FACES = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
_EDGES = [(0, 1), (1, 3), (3, 2), (2, 0), (4, 5), (5, 7), (7, 6), (6, 4), (0, 4), (1, 5), (2, 6), (3, 7)]


def block(low, high):
    """Return corners, triangles and edges of a block."""
    corners = np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)])
    points = np.array(low) + corners * (np.array(high) - np.array(low))
    triangles = np.array([half for a, b, c, d in _FACES for half in ((a, b, c), (a, c, d))])
    return points.astype(float), triangles, points[np.array(_EDGES)].astype(float)


def part(name, role, colour, *, span, apart):
    points, triangles, edges = block(*span)
    size = tuple(sorted((float(v) for v in np.ptp(points, axis=0)), reverse=True))
    facts = Facts(
        name=name,
        role=role,
        group="walls",
        material="pine",
        colour=colour,
        size=size,
        volume=1.0,
        kind=name,
        closed=np.eye(4),
        apart=np.array(apart, dtype=float),
        lapped=name in {"left wall", "right wall"},
    )
    return PartArrays(facts=facts, vertices=points, triangles=triangles, edges=edges)


def parts():
    """Return the walls (blocks, without their laps), a base, a lid and a plaque."""
    rows = (
        ("left wall", "lapped wall, left end", LAPPED_TONE, ((-80, -45, -22.5), (-65, 45, 22.5)), (-1, 0, 0)),
        ("right wall", "lapped wall, right end", LAPPED_TONE, ((65, -45, -22.5), (80, 45, 22.5)), (1, 0, 0)),
        ("front wall", "plain wall, front side", PLAIN_TONE, ((-72.5, -45, -22.5), (72.5, -35, 22.5)), (0, -1, 0)),
        ("back wall", "plain wall, back side", PLAIN_TONE, ((-72.5, 35, -22.5), (72.5, 45, 22.5)), (0, 1, 0)),
        ("base", "base", BASE_TONE, ((-80, -45, -26.5), (80, 45, -22.5)), (0, 0, -1)),
        ("lid", "lid", LID_TONE, ((-80, -45, 22.5), (80, 45, 31.5)), (0, 0, 1)),
        ("plaque", "plaque", ACRYLIC_TONE, ((-30, -20, 31.5), (30, 20, 34.5)), (0, 0, 2)),
    )
    return tuple(
        part(name, role, colour, span=span, apart=APART * np.array(way)) for name, role, colour, span, way in rows
    )


def settled(gaps, *, index=1233):
    """Return a box with these gaps, (4, 2, 4) mm."""
    return SettledBox(
        frame=BOX,
        faces=MadeFaces.nominal(),
        gaps=np.asarray(gaps, dtype=float),
        poses=np.zeros((4, 4)),
        outcomes={},
        index=index,
    )


SCALE = gap_scale(0.2, 0.5)


def graded():
    """Return a box whose eight joints have the largest gaps 0.05, 0.15, 0.3, 0.7 and, last, twice as much."""
    largest = np.array([0.05, 0.15, 0.3, 0.7, 0.1, 0.3, 0.6, 1.4]).reshape(4, 2)
    return settled(largest[..., None] * np.array([0.2, 1.0, 0.5, 0.0]))
