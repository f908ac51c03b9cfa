"""The single change to the making that gains most, found fast enough to stand at the end of a check.

Sections are left to `assembly.advice.advice`: each takes a programme of settling of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from assembly.advice.candidates import candidates_of_making
from assembly.advice.common_boxes import CommonBoxes, way_of
from assembly.changes.apply import apply
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import paired_share

if TYPE_CHECKING:
    from assembly.changes.change import Change
    from assembly.model.costs import Costs
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.study.intervals import Estimate

RUNGS = ((0, 300, 4), (300, 2_000, 1))  # boxes from and to, and how many changes are kept


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstStep:
    """One change, and the share of boxes more that are good with it, paired."""

    change: Change
    gained: Estimate


def first_step(
    design: Design, workshop: Workshop, costs: Costs, *, seed: int = 1, run: Run = UNWATCHED
) -> FirstStep | None:
    """Return the change that gains most boxes; None where none surely gains any.

    Raises
    ------
    StoppedError
        If the run is stopped.
    """
    changes = [each.change for each in candidates_of_making(design, workshop, costs)]
    ways = [way_of(design, workshop), *(way_of(*apply(change, design, workshop)) for change in changes)]
    boxes = CommonBoxes(seed=seed, block=0, run=run)
    alive = np.arange(1, len(ways))
    passes = np.zeros((len(ways), 0), dtype=bool)
    for start, stop, keep in RUNGS:
        some = np.zeros((len(ways), stop - start), dtype=bool)
        asked = [0, *alive.tolist()]
        some[asked] = boxes.passes([ways[at] for at in asked], start, stop)[0]
        passes = np.hstack([passes, some])
        alive = alive[np.argsort(-passes[alive].sum(axis=1), kind="stable")[:keep]]
    if not alive.size:
        return None
    mine, now = passes[alive[0]], passes[0]
    gained = paired_share(float((mine & ~now).sum()), float((now & ~mine).sum()), now.size)
    return FirstStep(change=changes[alive[0] - 1], gained=gained) if gained.low > 0 else None
