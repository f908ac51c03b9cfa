"""How much glue a class takes: what fills the gaps, and a film on every glued face, twice over (MODEL.md, 5.11).

film : glue on both faces of a joint that is closed, 0.1 mm in all
gap volume : mean gap of a box's corner joints times their contact area, over simulated boxes

Film and "twice over", for what is spread too thick, squeezed out or left in the pot, are common practice without a
source, so it is an estimate. The base's glue line has its film; how it gapes is not modelled.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.materials.bond import base_glue_area
from assembly.nominal.frame import point_areas
from assembly.planning.home import damp_home
from assembly.study.blocks import block_rows
from assembly.study.check import TIE, BoxModel, refuse_beyond
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import normal, wilson

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from assembly.made.sampling import Input
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.intervals import Estimate

FILM = 0.1  # mm; common practice, no source
TIMES = 2.0  # common practice, no source
BOXES = 2_000  # which know the mean gap volume to some 2 %
_CUBIC_MM = 1_000.0  # of a ml


@dataclass(frozen=True, slots=True, kw_only=True)
class Glue:
    """The glue of a class."""

    name: str
    gap_volume: Estimate  # mm³, mean of a box
    contact: float  # mm², glued in a box: its corner joints, and its base under the walls
    makers: int
    boxes: int  # simulated
    beyond: Estimate  # share of them with errors larger than the predictions hold for

    @property
    def ml_a_box(self) -> float:
        """Glue for one box, ml."""
        return TIMES * (self.gap_volume.value + FILM * self.contact) / _CUBIC_MM

    @property
    def ml(self) -> float:
        """Glue for all makers, ml."""
        return self.makers * self.ml_a_box


@dataclass(frozen=True, slots=True)
class _GapVolumes:
    """The gap volume of boxes as a model of many random inputs; sheets and holes are left out."""

    box: BoxModel

    @property
    def inputs(self) -> Sequence[Input]:
        """The errors of the frame's making, and the tie of its settling."""
        return (*self.box.making.inputs, TIE)

    @property
    def rows(self) -> Sequence[str]:
        """What `evaluate` returns."""
        return ("gap volume", "beyond")

    def evaluate(self, value: dict[str, FloatArray]) -> FloatArray:
        """Return the gap volume of each box, mm³, and whether it is beyond first order: (2, boxes)."""
        faces, gaps, poses = self.box.settle(value)
        volume = point_areas(self.box.frame) @ gaps.reshape(32, -1)
        beyond = self.box.of_settled(faces, gaps, poses)[2]
        return np.stack([volume, np.broadcast_to(beyond, volume.shape)])


def glue_for(design: Design, workshop: Workshop, *, seed: int, boxes: int = BOXES, run: Run = UNWATCHED) -> Glue:
    """Return the glue that the makers of a design take.

    Raises
    ------
    InputError
        If more than a tenth of the boxes have errors beyond the model's first order, or the seed is below 0.
    StoppedError
        If it is stopped.
    """
    model = BoxModel(design, workshop)
    volumes, beyond = block_rows(_GapVolumes(model), seed=seed, block=0, boxes=boxes, run=run)
    refuse_beyond(workshop, float(beyond.mean()))
    return Glue(
        name="wood glue for damp places" if damp_home(design) else "wood glue",
        gap_volume=normal(float(volumes.mean()), float(volumes.std(ddof=1)) / math.sqrt(boxes), boxes),
        contact=float(point_areas(model.frame).sum()) + base_glue_area(model.frame),
        makers=design.makers,
        boxes=boxes,
        beyond=wilson(int(beyond.sum()), boxes),
    )
