"""One design in one workshop: its frame made, settled and read off for many boxes, sheets and holes too, and summed up.

MODEL.md, 5, says what is asked of many boxes. Reading starts here: `check` is the study that `lapwright check` prints,
`sampled_box` a real box out of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np

from assembly.arrays import BoolArray, FloatArray
from assembly.contact.programme import ContactProgramme
from assembly.errors import InputError
from assembly.made.faces import Making, beyond_first_order
from assembly.made.frame_outcomes import corner_gaps, frame_outcomes
from assembly.made.limits import kept
from assembly.made.records import MadeFaces, SettledBox
from assembly.made.sampling import BLOCK, Input, draw_block, values
from assembly.made.sheets_and_holes import Fitting
from assembly.nominal.frame import (
    CORNERS,
    PATTERNS,
    Frame,
    contact_matrix,
    frame,
    free_columns,
    point_areas,
    squared_row,
    tie_patterns,
)
from assembly.study.blocks import Tally, evaluate_block, tally
from assembly.study.driver import UNWATCHED, Run
from assembly.study.intervals import Estimate, Interval, clopper_pearson, normal, quantile, wilson

if TYPE_CHECKING:
    from assembly.model.design import Design, Limit
    from assembly.model.workshop import Workshop

FrameRows = tuple[dict[str, FloatArray], FloatArray, BoolArray]  # outcomes, corner gaps, beyond first order
TIE = Input(name="settling.tie", group="settling", family="uniform", bias=0.5, spread=12**-0.5)  # uniform on 0 to 1
TIE_WEIGHT = 0.001  # how far a tie pattern moves the weight of a gap
QUANTILES = (0.05, 0.5, 0.95, 0.99)
WARNED_BEYOND = 0.01  # share of boxes outside first order above which a study's reader is warned
REFUSED_BEYOND = 0.10  # share of boxes outside first order above which a study says nothing


@lru_cache(maxsize=16)
def contact_programme(box: Frame, glue_up: Literal["as it falls", "squared"] = "as it falls") -> ContactProgramme:
    """Return the programme that settles the frame: 32 gaps, 13 freedoms, the 32 tie patterns as weights."""
    return ContactProgramme(
        contact_matrix(box).reshape(32, 16)[:, free_columns()],
        point_areas(box) * (1 + TIE_WEIGHT * tie_patterns()),
        equality=squared_row() if glue_up == "squared" else None,
    )


@dataclass(frozen=True)
class BoxModel:
    """The box as a model of many random inputs: rows are its outcomes, corner gaps, limits kept and model bounds."""

    design: Design
    workshop: Workshop

    @cached_property
    def frame(self) -> Frame:
        """The nominal frame."""
        return frame(self.design)

    @cached_property
    def making(self) -> Making:
        """How errors become faces."""
        return Making(frame=self.frame, workshop=self.workshop, overlength=self.design.overlength)

    @cached_property
    def fitting(self) -> Fitting:
        """How sheets and holes come out."""
        return Fitting(design=self.design, workshop=self.workshop)

    @cached_property
    def programme(self) -> ContactProgramme:
        """How faces settle."""
        return contact_programme(self.frame, self.design.glue_up)

    @cached_property
    def inputs(self) -> tuple[Input, ...]:
        """Errors of the making, paring's draws, errors of sheets and holes, and the tie of the settling."""
        return (*self.making.inputs, *self.fitting.inputs, TIE)

    @cached_property
    def limits(self) -> dict[str, Limit]:
        """The limits that the design sets."""
        found = {name: getattr(self.design.limits, name) for name in self.design.outcomes}
        return {name: limit for name, limit in found.items() if limit is not None}

    @cached_property
    def kept_rows(self) -> tuple[str, ...]:
        """The rows that are 1 where a box keeps a limit, and else 0: of each limit, and of each corner's gap."""
        corners = self.frame.corners if "joint_gap" in self.limits else ()
        return (*(f"keeps {name}" for name in self.limits), *(f"keeps gap {corner}" for corner in corners))

    @cached_property
    def rows(self) -> tuple[str, ...]:
        """Outcomes, the gap of each corner, whether each limit is kept, whether all are, whether beyond first order."""
        return (
            *self.design.outcomes,
            *(f"gap {corner}" for corner in self.frame.corners),
            *self.kept_rows,
            "passes",
            "beyond",
        )

    def settle(self, value: dict[str, FloatArray]) -> tuple[MadeFaces, FloatArray, FloatArray]:
        """Return faces, gaps (4, 2, 4, boxes) and poses (4, 4, boxes) for the inputs' values."""
        faces = self.making.faces(value)
        tie = value[TIE.name][0]
        (boxes,) = np.broadcast_shapes(faces.cheek.shape[-1:], tie.shape)  # faces without spread come as one box
        before = np.ascontiguousarray(np.broadcast_to(faces.gaps(), (32, boxes)))
        pattern = np.minimum(tie * PATTERNS, PATTERNS - 1).astype(np.int64)
        settled = self.programme.settle(before, np.broadcast_to(pattern, boxes))
        poses = np.zeros((16, boxes))
        poses[free_columns()] = settled.moves
        return faces, settled.gaps.reshape(4, 2, 4, boxes), poses.reshape(4, 4, boxes)

    def evaluate(self, value: dict[str, FloatArray]) -> FloatArray:
        """Return every row for every box: (rows, boxes)."""
        return self.read_off(value, *self.settle(value))

    def read_off(
        self, value: dict[str, FloatArray], faces: MadeFaces, gaps: FloatArray, poses: FloatArray
    ) -> FloatArray:
        """Return every row for boxes that `settle` has settled: (rows, boxes)."""
        return self.gathered(self.of_settled(faces, gaps, poses), self.fitting.outcomes(value))

    def settled_box(self, value: dict[str, FloatArray], index: int) -> tuple[SettledBox, bool]:
        """Return the one box of some values as it settles, numbered `index`, and whether it is beyond first order."""
        faces, gaps, poses = self.settle(value)
        row = dict(zip(self.rows, self.read_off(value, faces, gaps, poses)[:, 0].tolist(), strict=True))
        box = SettledBox(
            frame=self.frame,
            faces=faces.box(0),
            gaps=gaps[..., 0],
            poses=poses[..., 0],
            outcomes={name: row[name] for name in self.design.outcomes},
            index=index,
        )
        return box, row["beyond"] > 0

    def of_settled(self, faces: MadeFaces, gaps: FloatArray, poses: FloatArray) -> FrameRows:
        """Return the frame's outcomes, the gap of each corner (4, boxes), and which boxes are beyond first order."""
        outcomes = frame_outcomes(self.frame, faces, gaps, poses, glue_limit=self.design.glue_limit)
        return outcomes, corner_gaps(gaps), beyond_first_order(self.frame, faces)

    def gathered(self, of_frame: FrameRows, of_fitting: dict[str, FloatArray]) -> FloatArray:
        """Return every row, (rows, boxes), from what the frame and what sheets and holes give."""
        outcomes, corners, beyond = of_frame
        boxes = corners.shape[-1]
        rows = {name: np.broadcast_to(row, boxes) for name, row in (outcomes | of_fitting).items()}
        keeps = [kept(limit, rows[name]) for name, limit in self.limits.items()]
        passes = np.logical_and.reduce(keeps) if keeps else np.ones(boxes, dtype=bool)
        gap_limit = self.limits.get("joint_gap")
        keeps_corner = [kept(gap_limit, row) for row in corners] if gap_limit else []
        return np.vstack([*rows.values(), *corners, *keeps, *keeps_corner, passes, np.broadcast_to(beyond, boxes)])


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomeSummary:
    """One outcome over many boxes."""

    unit: str
    limit: Limit | None
    mean: Estimate
    sd: Estimate
    quantiles: dict[float, Estimate]
    share_within: Estimate | None  # of boxes that keep its limit; None where it has none


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyResult:
    """What is expected of a design in a workshop, over `boxes` simulated boxes."""

    boxes: int
    seed: int
    pass_share: Estimate
    outcomes: dict[str, OutcomeSummary]
    corners: dict[str, OutcomeSummary]  # gap of each corner, by its name
    beyond_first_order: Estimate  # share of boxes outside the model's first order
    partial: bool = False  # stopped before its end
    runs: int = 0  # blocks or scrambles that the intervals come from; 0 where they are those of independent boxes

    @property
    def exact_pass_share(self) -> Estimate | None:
        """The pass share with the interval that is guaranteed; None where boxes are not independent."""
        return None if self.runs else clopper_pearson(round(self.pass_share.value * self.boxes), self.boxes)


def summary(total: Tally, row: str, unit: str, limit: Limit | None, keeps: str) -> OutcomeSummary:
    """Return one row's summary; `keeps` names the row that counts the boxes that keep `limit`."""
    boxes, sd, quantiles = total.boxes, total.std(row), {q: total.quantile(row, q) for q in QUANTILES}
    return OutcomeSummary(
        unit=unit,
        limit=limit,
        mean=normal(total.mean(row), sd / math.sqrt(boxes), boxes),
        sd=normal(sd, total.std_error(row), boxes, Interval.DELTA),
        quantiles={q: quantile(q, quantiles, sd, boxes) for q in QUANTILES},
        share_within=wilson(total.count(keeps), boxes) if limit else None,
    )


def check(
    design: Design,
    workshop: Workshop,
    *,
    boxes: int = 100_000,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> StudyResult:
    """Return what is expected of `design` made in `workshop`; stopped, it tells of the blocks done.

    Raises
    ------
    InputError
        If more than a tenth of the boxes have errors beyond the model's first order, or `boxes` or `seed` is none.
    StoppedError
        If it is stopped within the first block.
    """
    if boxes < 1:
        msg = f"boxes: got {boxes}, must be 1 or more"
        raise InputError(msg)
    model = BoxModel(design, workshop)
    total = tally(model, boxes=boxes, seed=seed, run=run)
    return study_of(model, total, seed=seed, partial=total.boxes < boxes)


def study_of(model: BoxModel, total: Tally, *, seed: int, partial: bool) -> StudyResult:
    """Return what a tally of the box's rows says.

    Raises
    ------
    InputError
        If more than a tenth of the boxes have errors beyond the model's first order.
    """
    beyond = total.count("beyond") / total.boxes
    refuse_beyond(model.workshop, beyond)
    limits = model.limits
    return StudyResult(
        boxes=total.boxes,
        seed=seed,
        pass_share=wilson(total.count("passes"), total.boxes),
        outcomes={
            name: summary(total, name, each.unit, limits.get(name), f"keeps {name}")
            for name, each in model.design.outcomes.items()
        },
        corners={
            corner: summary(total, f"gap {corner}", "mm", limits.get("joint_gap"), f"keeps gap {corner}")
            for corner in CORNERS
        },
        beyond_first_order=wilson(total.count("beyond"), total.boxes),
        partial=partial,
    )


def refuse_beyond(workshop: Workshop, beyond: float) -> None:
    """Refuse a workshop of which too large a share of boxes, `beyond`, is outside first order (MODEL.md, 5.9).

    Raises
    ------
    InputError
        If it is more than a tenth.
    """
    if beyond <= REFUSED_BEYOND:
        return
    most = 100 * REFUSED_BEYOND
    digits = next(some for some in range(17) if round(100 * beyond, some) > most)  # 10.04 % is not printed as 10 %
    msg = (
        f"workshop {workshop.name!r}: {round(100 * beyond, digits):.{digits}f}% of the boxes have a face more than 5° "
        f"out or more than a third of its thickness off, and at most {REFUSED_BEYOND:.0%} may; such boxes are outside "
        "what these predictions hold for: make the spreads smaller, or the timber thicker"
    )
    raise InputError(msg)


def sampled_box(
    design: Design,
    workshop: Workshop,
    *,
    seed: int = 1,
    quantile: float = 0.95,
    of: str = "joint_gap",
    run: Run = UNWATCHED,
) -> SettledBox:
    """Return the box of the study's first block that lies nearest to a quantile of an outcome, within first order.

    Raises
    ------
    InputError
        If more than a tenth of the boxes have errors beyond the model's first order, or `seed` is below 0.
    """
    model = BoxModel(design, workshop)
    draws = draw_block(model.inputs, BLOCK, seed=seed, block=0)
    rows = evaluate_block(model, draws, BLOCK, run)
    row = rows[model.rows.index(of)]
    beyond = rows[model.rows.index("beyond")] > 0
    refuse_beyond(workshop, float(beyond.mean()))
    index = int(np.argmin(np.where(beyond, np.inf, np.abs(row - np.quantile(row, quantile)))))
    return model.settled_box(values(model.inputs, draws, slice(index, index + 1)), index)[0]
