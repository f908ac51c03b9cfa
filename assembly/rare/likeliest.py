"""The likeliest bad box of every limit, and the share of boxes that break it (MODEL.md, 5.7).

Boxes are simulated first; the worst of them are where the search for the likeliest begins. Where they break a limit
often enough, their count is the share, or that of ten times as many. Where they break it seldom or never, boxes are
drawn around every point that was found, and those of them that weigh most show where a point is still missing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from assembly.made.sampling import stream
from assembly.rare.mirrors import every_mirror, to_joint
from assembly.rare.search import FIRST_ROUNDS, KEPT, STARTS, descend, likeliest
from assembly.rare.share import Mixture, weighed
from assembly.rare.space import BrokenLimit
from assembly.study.check import BoxModel
from assembly.study.driver import UNWATCHED, Run, drive
from assembly.study.intervals import wilson

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.made.records import SettledBox
    from assembly.model.design import Limit
    from assembly.rare.points import Points
    from assembly.study.blocks import Model
    from assembly.study.intervals import Estimate

SIMULATED = 10_000  # boxes
OFTEN = 250  # of them that break the limit: their count is known to an eighth, and nothing else is needed
SELDOM = 25  # ... so often that ten times as many boxes show it as often: those are counted, and none is weighed
PILOT, WEIGHED = 8_000, 32_000  # boxes drawn around the points, before and after more are looked for
LOOKS = 3  # pilots that may show that a point is missing:
HEAVY, HEAVIEST = 0.03, 12  # share of all weight from which a box shows it; at most so many
ENOUGH = 30  # effective boxes from which on what is weighed counts; else so many times as many boxes are counted:
MORE = 9
SURE = 0.999  # level of the interval of the count that what is weighed must lie in
CENTRES, FURTHER = 48, 1.5  # points that boxes are drawn around, and how much further out than the nearest, at most
OUTWARD = 1.5  # a centre moves out along its ray to where its weight lies, so many times as far at most
IMAGE = 1.02  # a mirror image of a point counts where it is broken so many times as far out


@dataclass(frozen=True, slots=True, kw_only=True)
class BadBoxes:
    """What is known of the boxes that break one limit."""

    broken: BrokenLimit
    points: Points  # the likeliest of them, nearest to 0 first; none where no box was found that breaks it
    seen: Points  # these and others on the limit that bad boxes are drawn around
    share: Estimate  # of boxes that break it
    boxes: int  # of which it was counted, or weighed
    effective: float | None = None  # how many boxes of equal weight tell as much; None where the share was counted

    @property
    def usual(self) -> bool:
        """Whether even the box whose every error is at its middle breaks the limit."""
        return bool(len(self.points)) and self.points.beta[0] == 0


def bad_boxes(
    model: Model,
    limits: Sequence[tuple[str, Limit]],
    *,
    pattern: int | None = None,
    seed: int = 1,
    run: Run = UNWATCHED,
) -> list[BadBoxes]:
    """Return the boxes that break each of some limits of rows; where the run is stopped, those of the first limits.

    Parameters
    ----------
    model : Model
        What is made.
    limits : sequence of (str, Limit)
        Rows of the model, and what each must keep.
    pattern : int, optional
        The one tie pattern of all boxes; else each has its own, by chance.
    seed : int
        Of all random numbers. No figure depends on the threads.
    run : Run
        How it is run; progress is counted in limits.

    Raises
    ------
    InputError
        If the model has no such row, or the seed is below 0.
    StoppedError
        If it is stopped within the first limit.
    """
    every = [BrokenLimit(model, row, limit, pattern) for row, limit in limits]
    joints = [each for each in every if each.corner is not None]
    groups = [group for group in (joints, *([each] for each in every if each.corner is None)) if group]

    def work(group: Sequence[BrokenLimit], own: Run) -> list[BadBoxes]:
        found: list[BadBoxes] = []
        for each in group:
            found.append(_bad_boxes(each, found[0] if found else None, seed, own))
        return found

    done = [each for group in drive(work, groups, run, of=len(every), size=len) for each in group]
    return sorted(done, key=lambda each: every.index(each.broken))


def _bad_boxes(limit: BrokenLimit, joint: BadBoxes | None, seed: int, run: Run) -> BadBoxes:
    """Return the boxes that break one limit; `joint` is what the first joint has, where this is another."""
    rng = stream(seed, 0, f"bad boxes {limit.row}", "cut")
    boxes = limit.sampled(SIMULATED, rng)
    margin = limit.margins(boxes, run)
    counted = wilson(float((margin > 0).sum()), SIMULATED)
    known = BadBoxes(broken=limit, points=boxes.take([]), seen=boxes.take([]), share=counted, boxes=SIMULATED)
    usual = boxes.take([0]).times(0.0)
    if limit.margins(usual)[0] > 0:
        return replace(known, points=usual)
    worst = boxes.take(np.argsort(-margin, kind="stable")[:STARTS])
    if joint is None or joint.usual or not len(joint.points):
        points, seen = likeliest(limit, worst, rng, run=run)
    else:
        starts = to_joint(limit, joint.points.distinct(KEPT), joint.broken.corner or 0).with_(worst.take(range(KEPT)))
        points, seen = likeliest(limit, starts, rng, clouds=1, run=run)
        seen = seen.with_(to_joint(limit, joint.seen, joint.broken.corner or 0))
    known = replace(known, points=_with_images(limit, points, run), seen=_with_images(limit, points.with_(seen), run))
    bad = int((margin > 0).sum())
    if bad >= OFTEN or not len(points):
        return known
    return _counted_on(known, rng, run) if bad >= SELDOM else _weighed(known, rng, run)


def _with_images(limit: BrokenLimit, points: Points, run: Run) -> Points:
    """Return points and those of their mirror images that lie on the limit, too, or all but on it."""
    known, some = points, points.distinct(CENTRES, FURTHER)
    for mirror in every_mirror() if isinstance(limit.model, BoxModel) else ():
        image = mirror.image(limit, some)
        known = known.with_(image.take(np.flatnonzero(limit.margins(image.times(IMAGE), run) > 0)))
    return known.distinct(len(known))


def _weighed(known: BadBoxes, rng: np.random.Generator, run: Run) -> BadBoxes:
    """Return what boxes drawn around the points tell of a limit that is seldom broken, and the points they add."""
    limit, seen = known.broken, known.seen
    for look in range(LOOKS + 1):
        centres = seen.distinct(CENTRES, FURTHER)
        pilot = weighed(limit, Mixture.around(centres), PILOT, rng, run)
        heaviest = np.argsort(-pilot.weight, kind="stable")[:HEAVIEST]
        heavy = pilot.broken.take(heaviest[pilot.weight[heaviest] > HEAVY * pilot.weight.sum()])
        if look == LOOKS or not len(heavy):
            break
        seen = seen.with_(_with_images(limit, descend(limit, heavy, FIRST_ROUNDS, run), run))
    centres = centres.times(np.clip(pilot.reach[1:], 1, OUTWARD))
    last = weighed(limit, Mixture.around(centres, pilot.nearness[1:]), WEIGHED, rng, run)
    sure = wilson(known.share.value * known.boxes, known.boxes, SURE)
    if last.effective >= ENOUGH and sure.low <= last.share.value <= sure.high:
        return replace(known, seen=seen, share=last.share, boxes=int(last.drawn.sum()), effective=last.effective)
    return _counted_on(replace(known, seen=seen), rng, run)


def _counted_on(known: BadBoxes, rng: np.random.Generator, run: Run) -> BadBoxes:
    """Return what is known after more boxes are simulated and counted."""
    bad = known.share.value * known.boxes
    for _ in range(MORE):
        bad += int((known.broken.margins(known.broken.sampled(SIMULATED, rng), run) > 0).sum())
    boxes = known.boxes + MORE * SIMULATED
    return replace(known, share=wilson(bad, boxes), boxes=boxes)


def settled(limit: BrokenLimit, points: Points) -> tuple[SettledBox, bool]:
    """Return the first of some points as a box, and whether it is beyond the model's first order."""
    model, first = limit.model, points.take([0])
    assert isinstance(model, BoxModel)
    return model.settled_box(limit.values(first), index=-1)
