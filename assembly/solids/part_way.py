"""A part as it is part of the way through its making: a block less what was cut off and drilled."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from manifold3d import Manifold

from assembly.solids.bodies import bit
from assembly.solids.meshes import cut_mesh
from assembly.solids.shapes import THROUGH

if TYPE_CHECKING:
    from assembly.nominal.fittings import Hole
    from assembly.planning.marks import Block
    from assembly.solids.meshes import Mesh

_NEAR = 1e-6  # mm; a hole that ends so near to the far face runs through it


@lru_cache(maxsize=64)  # many later steps leave a part as it is
def worked(block: Block, off: tuple[Block, ...] = (), holes: tuple[Hole, ...] = ()) -> Mesh:
    """Return a block less other blocks and less holes, in the frame of `assembly.nominal.frame`.

    Parameters
    ----------
    block : Block
        The uncut part.
    off : tuple of Block
        What was cut off it.
    holes : tuple of Hole
        Holes along an axis that enter faces which are left; one as deep as the part runs right through it, and a
        countersink widens one that is there.

    Raises
    ------
    SolidError
        If that is not one closed solid.
    """
    return cut_mesh(block.part, _cube(block), [*map(_cube, off), *(_bit(block, hole) for hole in holes)])


def _cube(block: Block) -> Manifold:
    """Return a block with its corners exactly where they are given.

    A cube of the block's sizes, moved to its place, would end a rounding off, and a wafer would be left between two
    blocks of waste that meet.
    """
    ends = np.array([block.low, block.high])
    return Manifold.cube((1.0, 1.0, 1.0)).warp_batch(lambda points: ends[points.astype(np.intp), np.arange(3)])


def _bit(block: Block, hole: Hole) -> Manifold:
    end = np.add(hole.centre, hole.depth * np.array(hole.axis))
    through = ((end < np.array(block.low) + _NEAR) | (end > np.array(block.high) - _NEAR)).any()
    return bit(replace(hole, depth=hole.depth + THROUGH * bool(through)))[0]
