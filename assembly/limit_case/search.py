"""The limit case: of all errors within their limits those that open one joint most, and the proof (MODEL.md, 5.6).

Every place's error may lie anywhere within bias ± limit, on its own (levels collapsed, cuts independent). The frame
settles by plain weights, so that of places with equal gap volume the worst for the joint counts.

pattern : what kind of case it is: which points touch, which corners were sawn deeper than sanded, which were pared
search  : patterns of the worst sampled boxes and of the programme's outline, each opened as far as it goes
proof   : a mixed-integer programme (`assembly.limit_case.milp`) is asked for a wider gap until there is none
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from assembly.errors import InputError
from assembly.limit_case.error_vector import Errors
from assembly.limit_case.milp import LimitProgramme, Pattern, free_moves
from assembly.limit_case.seeds import SampledPatterns, settled_worst, worst_place
from assembly.limit_case.solver import Effort
from assembly.limit_case.symmetry import Mirrors, end_order, mirrors
from assembly.made.faces import beyond_first_order
from assembly.nominal.frame import CORNERS, point_areas
from assembly.study.check import BoxModel
from assembly.study.driver import UNWATCHED, Run, drive

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.arrays import FloatArray
    from assembly.made.records import MadeFaces, SettledBox
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop

BETTER = 1e-4  # mm: by how much a case must beat the one found to be worth proving
NODES = 20_000  # of the solver's search, for one joint
_SAME = 1e-6  # mm: cases nearer to each other than this are one


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitCase:
    """The worst that errors within their limits do to one joint."""

    corner: str
    found: float  # largest gap at the joint that the errors of `box` give, mm
    proved: float  # no errors within the limits give more than this, mm
    box: SettledBox
    beyond_first_order: bool  # the box has faces outside what the model's first order holds for


@dataclass(slots=True)
class Known:
    """What is known so far of a contact point and of those that mirror it."""

    point: int
    bound: float
    gap: float = -1.0
    pattern: Pattern | None = None
    outlined: bool = field(default=False)


class Worst:
    """Search and proof of the limit cases of one design in one workshop; what one joint tells serves the others."""

    def __init__(self, design: Design, workshop: Workshop) -> None:
        """Prepare for `design` made in `workshop`."""
        self.model = BoxModel(design, workshop)
        self.errors = Errors(self.model.making)
        self._starts = SampledPatterns(self.model, self.errors)
        self._known: dict[int, Known] = {}

    @cached_property
    def programme(self) -> LimitProgramme:
        """The conditions of every case."""
        return LimitProgramme(self.errors, free_moves(self.errors, self.model.design.glue_up))

    @cached_property
    def mirrors(self) -> Mirrors:
        """Which points open alike."""
        return mirrors(self.errors, self.programme.matrix, point_areas(self.model.frame))

    @property
    def known(self) -> tuple[Known, ...]:
        """What is known so far, point by point."""
        return tuple(self._known.values())

    def like(self, corner: str) -> str:
        """Return the first joint that opens just like one of the joints: what is known of it serves the other."""
        at = self.model.frame.corners.index(corner)
        return self.model.frame.corners[int(self.mirrors.first[8 * at : 8 * at + 8].min()) // 8]

    def cases(
        self,
        corners: Sequence[str] = CORNERS,
        *,
        seed: int = 1,
        nodes: int = NODES,
        run: Run = UNWATCHED,
    ) -> list[LimitCase]:
        """Return the limit case of each joint; where the run is stopped, of those joints that are done.

        Parameters
        ----------
        corners : sequence of str
            The joints, one after another: what one tells serves the next.
        seed : int
            Of the sampled boxes that the search starts from.
        nodes : int
            Work that is spent on each joint: nodes of the solver's search. A case not proved by then is given as it was
            found, with the bound that is known.
        run : Run
            How it is run; progress is counted in contact points of all joints.

        Raises
        ------
        InputError
            If a joint is not one of the four corners.
        StoppedError
            If it is stopped within the first joint.
        """
        for corner in corners:
            if corner not in CORNERS:
                msg = f"joint: got {corner!r}, must be one of {', '.join(CORNERS)}"
                raise InputError(msg)

        def work(item: tuple[int, str], own: Run) -> LimitCase:
            number, corner = item
            effort = Effort(nodes=nodes, run=own)
            return self._case(
                self.model.frame.corners.index(corner),
                seed,
                effort,
                lambda done: run.report(8 * number + done, 8 * len(corners)),
            )

        alone = replace(run, threads=1, progress=None)
        return list(drive(work, enumerate(corners), alone, of=len(corners)))

    def _case(self, corner: int, seed: int, effort: Effort, progress: Callable[[int], None]) -> LimitCase:
        """Return one joint's limit case, as far as it is known after some effort."""
        points, alike = np.unique(self.mirrors.first[8 * corner : 8 * corner + 8], return_counts=True)
        share = dict(zip(points, alike / 2, strict=True))  # of the work: half is the search, half the proof
        done = 0.0
        known = []
        for point in points:
            known.append(self._searched(int(point), seed, effort))
            done += share[point]
            progress(int(done))
        errors, found = self._widest(corner, known)
        for each in sorted(known, key=lambda known: known.bound):
            errors, found = self._proved(corner, known, each, (errors, found), effort)
            done += share[each.point]
            progress(int(done))
        return self._settled_case(corner, errors, max(each.bound for each in known))

    def _searched(self, point: int, seed: int, effort: Effort) -> Known:
        """Return what sampled boxes and the outline tell of one point; the outline only if there is effort left."""
        known = self._known.get(point)
        if known is None:
            known = Known(point, float(self.programme.ceilings[point]))
            for pattern in effort.run.watched(self._starts.patterns(point, seed)):
                self._try(known, pattern)
            self._known[point] = known
        if effort.left and not known.outlined:
            answer = self.programme.outline(point, max(known.gap, 0.0), effort)
            self._bounded(known, answer.bound)
            known.outlined = True
            self._try_touch(known, answer.pattern, effort)
        return known

    def _proved(
        self, corner: int, all_known: list[Known], known: Known, best: tuple[FloatArray, float], effort: Effort
    ) -> tuple[FloatArray, float]:
        """Return the worst case known of the joint after asking one point for a worse one until there is none."""
        errors, found = best
        better = BETTER
        while known.bound > found + better + _SAME and effort.left:
            answer = self.programme.beyond(known.point, found + better, effort)
            self._bounded(known, answer.bound)
            if answer.pattern is None:
                break
            self._try(known, answer.pattern)
            self._try_touch(known, answer.pattern, effort)
            errors, wider = self._widest(corner, all_known)
            better = BETTER if wider > found else 10 * better  # no wider: a case by the solver's tolerances only
            found = max(found, wider)
        return errors, found

    def _bounded(self, known: Known, bound: float) -> None:
        """Keep a bound of a point for all that mirror it."""
        known.bound = min(known.bound, bound)
        alike = self.mirrors.first == known.point
        self.programme.ceilings[alike] = np.minimum(self.programme.ceilings[alike], known.bound)

    def _try(self, known: Known, pattern: Pattern | None) -> None:
        """Keep `pattern` if it opens the point further than what is known."""
        gap = self.programme.opened(known.point, pattern) if pattern else None
        if gap is not None and gap > known.gap:
            known.gap, known.pattern = gap, pattern

    def _try_touch(self, known: Known, pattern: Pattern | None, effort: Effort) -> None:
        """Keep the best pattern that touches where `pattern` does, if it opens the point further than what is known."""
        if pattern and effort.left:
            self._try(known, self.programme.with_touch(known.point, pattern, effort))

    def _widest(self, corner: int, known: Sequence[Known]) -> tuple[FloatArray, float]:
        """Return the errors that open a joint most, of the patterns known of its points, and the gap they give.

        The gap is settled anew from the errors by a general solver, so the programme is not taken at its word.
        """
        best = self.errors.usual, worst_place(self.model, self._faces(self.errors.usual), corner)[1]
        points = range(8 * corner, 8 * corner + 8)
        for each in sorted(known, key=lambda known: -known.gap):
            if each.pattern is None or each.gap < best[1]:
                continue
            point = next(point for point in points if self.mirrors.first[point] == each.point)
            order = self.mirrors.towards(point)
            pattern = each.pattern.mirrored(order, end_order(order))
            errors = self.programme.gentlest(point, pattern, each.gap)
            if errors is not None and (gap := worst_place(self.model, self._faces(errors), corner)[1]) > best[1]:
                best = errors, gap
        return best

    def _settled_case(self, corner: int, errors: FloatArray, proved: float) -> LimitCase:
        """Return the limit case that these errors make."""
        found, box = settled_worst(self.model, self._faces(errors), corner)
        return LimitCase(
            corner=self.model.frame.corners[corner],
            found=found,
            proved=max(proved, found),
            beyond_first_order=bool(beyond_first_order(self.model.frame, self._faces(errors))[0]),
            box=box,
        )

    def _faces(self, errors: FloatArray) -> MadeFaces:
        """Return the faces of the one box that has these errors."""
        return self.model.making.faces(self.errors.values(errors[None]))
