"""A design with plain sizes that the tests of fittings, solids and writers work their figures out for by hand."""

import numpy as np
import pytest

from assembly.errors import SolidError
from assembly.made.records import MadeFaces
from assembly.model.design import Base, Box, CableHole, Design, Lid, Plaque, RoundHead, Screw, Stem, Timber

HEIGHTS = ("plain_end", "lapped_end", "cheek", "shoulder", "inside")


def bird_design(**plaque) -> Design:
    """Return a box for ringing tools: 160 by 90 by 45, T = 15, t = 10, D = K = 7.5; the plaque as given."""
    bent = {"flat_leg": 50, "upright_leg": 40, "inside_radius": 3, "hole_spacing": 40, "stem_to_bend": 30}
    return Design(
        name="Bird ringer's box",
        made_by="new_to_tools",
        box=Box(length=160, width=90, height=45, lapped="ends"),
        timber=Timber(name="pine, Scots", lapped=15, plain=10, lap_share=0.5),
        base=Base(material="birch plywood", thickness=4, oversize=2),
        lid=Lid(
            material="birch plywood",
            thickness=6,
            overhang=3,
            centre_hole=8,
            screw=Screw(diameter=3.5, length=25, head=7, hole=4, pilot=2.5),
        ),
        stem=Stem(name="knob", diameter=6, length=30),
        plaque=Plaque(
            thickness=3,
            width=60,
            stem_hole=7,
            screw=Screw(
                diameter=3,
                length=8,
                head=5.5,
                hole=3.6,
                pilot=2,
                round_head=RoundHead(height=2.1, washer=7, washer_hole=3.2, washer_thickness=0.5),
            ),
            **(bent | plaque),
        ),
        cable_hole=CableHole(diameter=8),
    )


def made(gauge_from="inside", **heights) -> MadeFaces:
    """Return one box's faces without errors but for the arrays given."""
    nominal = MadeFaces.nominal(gauge_from)
    arrays = {name: getattr(nominal, name) for name in (*HEIGHTS, "thickness", "height")}
    return MadeFaces(**(arrays | heights), gauge_from=gauge_from)


def one_face(corner: int, heights) -> np.ndarray:
    """Return heights at one corner of the box, no error elsewhere: (4, 4)."""
    face = np.zeros((4, 4))
    face[corner] = heights
    return face


def refusal(call, *args, **settings) -> str:
    """Return the message with which a call is refused."""
    with pytest.raises(SolidError) as caught:
        call(*args, **settings)
    return str(caught.value)
