"""The likeliest boxes that break a limit: points of standard normal space of the least |u| (MODEL.md, 5.7).

The margin is smooth in pieces only (the smaller of two, paring, changes of basis), so a point is often where several
pieces meet. From many broken boxes at once the search goes on in rounds, each a few batches of boxes settled:

slope : of the margin at a point, by finite differences: one batch with every coordinate moved alone
plane : what the slope says of where the limit lies; of each point, those of its last rounds are kept
aim   : the point nearest to 0 that is beyond some of its planes: the last one, the last two, or all that are kept
ray   : from 0 through a point on the way to an aim. Where it is broken as far out as the best so far, the point comes
        down the ray to the limit
cloud : boxes close around a point. The middle of those that are broken is another start: a point that was held up by
        one crease of the limit often gets past it so
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from assembly.rare.points import Points
from assembly.study.driver import UNWATCHED, Run

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray
    from assembly.rare.space import BrokenLimit

STEP = 1e-5  # of u for a slope: pieces are all but straight, and frames are settled to 1e-11 mm
PLANES = 6  # of a point that are kept
AIMS = (1, 2, PLANES)  # how many of the last planes an aim is beyond
WAYS = np.array([1.0, 0.5, 0.25, 0.1, 0.03])  # shares of the way to an aim
FALLING = 3  # of a point's broken rays in a round: so many are followed down
RAY = 7  # rounds of regula falsi along a ray
PAST = 1e-5  # of the rest of a ray that is aimed past the limit: on it, rounding says whether a box breaks it
HILDRETH = 40  # rounds; an aim need not be exact, as the slope there says how good it is
STALLED, PATIENCE = (
    1e-3,
    2,
)  # share by which |u| falls in a round, or else it has stalled; so many stalled rounds end it
STARTS, FIRST_ROUNDS, ROUNDS = 40, 3, 12
KEPT, PAIRED, SEARCHED = 8, 4, 0.97  # points that are searched on from, alone and in pairs; where two are one
CLOUDS, CLOUD, NEAR = 3, 400, 0.1  # how often, of how many boxes, how far from the point in every coordinate
OUTWARD, FARTHEST = 1.25, 8  # a start that is not broken goes outward so many times as far, at most so often


def down_the_ray(limit: BrokenLimit, points: Points, run: Run = UNWATCHED) -> Points:
    """Return broken boxes brought towards 0 until they only just break the limit, by regula falsi.

    The Illinois rule halves the margin of an end that stays. Source: Dowell & Jarratt, BIT 11 (1971) 168-174 (from
    memory).
    """
    low, high = np.zeros(len(points)), np.ones(len(points))
    g_low, g_high = (limit.margins(points.times(end), run) for end in (low, high))
    last = np.zeros(len(points))
    for _ in range(RAY):
        span = g_high - g_low
        at = np.clip((low * g_high - high * g_low) / np.where(span > 0, span, np.inf), low, high)
        at += PAST * (high - at)
        g = limit.margins(points.times(at), run)
        broken = g > 0
        g_low = np.where(broken, np.where(last > 0, g_low / 2, g_low), g)
        g_high = np.where(broken, g, np.where(last < 0, g_high / 2, g_high))
        low, high = np.where(broken, low, at), np.where(broken, at, high)
        last = np.where(broken, 1, -1)
    return points.times(high)


def slopes(limit: BrokenLimit, points: Points, run: Run = UNWATCHED) -> tuple[FloatArray, FloatArray]:
    """Return the margin (points,) of each point and its slope (points, dims)."""
    dims, many = points.u.shape
    moved = np.repeat(points.u[:, :, None], dims + 1, axis=2)
    moved[np.arange(dims), :, np.arange(dims)] += STEP
    g = limit.margins(Points(moved.reshape(dims, -1), np.repeat(points.pattern, dims + 1)), run)
    g = g.reshape(many, dims + 1)
    return g[:, -1], np.asarray((g[:, :-1] - g[:, -1:]) / STEP)


def nearest_beyond(normals: FloatArray, offsets: FloatArray) -> FloatArray:
    """Return the points x (n, dims) nearest to 0 with normals (n, k, dims) x >= offsets (n, k), by Hildreth's rounds.

    Each plane's force in turn is set so that the plane is met, or to 0 where it is not needed. Planes that can't all be
    met leave a point somewhere between. Source: Hildreth, Naval Res. Logist. Quart. 4 (1957) 79-85 (from memory).
    """
    gram = np.einsum("nkd,nld->nkl", normals, normals)
    scale = np.einsum("nkk->nk", gram)
    force, scale = np.zeros_like(offsets), np.where(scale > 0, scale, np.inf)
    for _ in range(HILDRETH if offsets.shape[1] > 1 else 1):
        for k in range(offsets.shape[1]):
            force[:, k] += (offsets[:, k] - np.einsum("nl,nl->n", gram[:, k], force)) / scale[:, k]
            force[:, k] = np.maximum(force[:, k], 0)
    return np.asarray(np.einsum("nk,nkd->nd", force, normals))


@dataclass(slots=True)
class _Descent:
    """Points on their way, and the last planes of each: normals (points, PLANES, dims), offsets (points, PLANES)."""

    limit: BrokenLimit
    points: Points
    run: Run
    normals: FloatArray = field(init=False)
    offsets: FloatArray = field(init=False)

    def __post_init__(self) -> None:
        """Begin without a plane: a normal of 0 stands for none."""
        dims, many = self.points.u.shape
        self.normals, self.offsets = np.zeros((many, PLANES, dims)), np.zeros((many, PLANES))

    def round(self, going: IntArray) -> FloatArray:
        """Bring some points nearer to 0, and return the share by which |u| of each has fallen."""
        here = self.points.take(going)
        tried = self._tried(here, going)
        order = self._most_broken(tried, len(going))
        best = here.take(np.arange(len(going)))
        fallen = down_the_ray(self.limit, tried.take(order), self.run)
        beta = here.beta
        for point, (at, fell) in zip(order, enumerate(fallen.beta), strict=True):
            of = point % len(going)
            if fell < beta[of]:
                best.u[:, of], beta[of] = fallen.u[:, at], fell
        self.points.u[:, going] = best.u
        return np.asarray(1 - beta / here.beta)

    def _tried(self, here: Points, going: IntArray) -> Points:
        """Return points on the ways to every aim, as far out as they come from, one for each of `here` in turn."""
        margin, slope = slopes(self.limit, here, self.run)
        for store, new in ((self.normals, slope), (self.offsets, np.einsum("nd,dn->n", slope, here.u) - margin)):
            store[going] = np.roll(store[going], 1, axis=1)
            store[going, 0] = new
        aims = np.stack([nearest_beyond(self.normals[going, :k], self.offsets[going, :k]) for k in AIMS])
        x = here.u.T + WAYS[:, None, None, None] * (aims - here.u.T)
        length = np.linalg.norm(x, axis=-1, keepdims=True)
        x *= here.beta[:, None] / np.where(length > 0, length, 1)
        ways = len(WAYS) * len(AIMS)
        return Points(np.ascontiguousarray(x.reshape(-1, x.shape[-1]).T), np.tile(here.pattern, ways))

    def _most_broken(self, tried: Points, many: int) -> IntArray:
        """Return which of the tried points are followed down: of each of `many`, the few that are broken most."""
        margin = self.limit.margins(tried, self.run).reshape(-1, many)
        order = np.argsort(-margin, axis=0, kind="stable")[:FALLING]
        rank, of = np.nonzero(np.take_along_axis(margin, order, axis=0) > 0)
        return np.asarray(order[rank, of] * many + of)


def descend(limit: BrokenLimit, starts: Points, rounds: int = ROUNDS, run: Run = UNWATCHED) -> Points:
    """Return where broken boxes come to, each by itself, after so many rounds or when they stall."""
    if not len(starts):
        return starts
    way = _Descent(limit, down_the_ray(limit, starts, run), run)
    stalled = np.zeros(len(starts), dtype=np.int64)
    for _ in range(rounds):
        going = np.flatnonzero((stalled < PATIENCE) & (way.points.beta > 0))
        if not going.size:
            break
        stalled[going] = np.where(way.round(going) > STALLED, 0, stalled[going] + 1)
    return way.points


def broken(limit: BrokenLimit, points: Points, run: Run = UNWATCHED) -> Points:
    """Return points moved outward until they break the limit; those that never do are left out."""
    factors = np.ones(len(points))
    for _ in range(FARTHEST):
        whole = limit.margins(points.times(factors), run) <= 0
        if not whole.any():
            break
        factors[whole] *= OUTWARD
    return points.times(factors).take(np.flatnonzero(limit.margins(points.times(factors), run) > 0))


def middles(limit: BrokenLimit, points: Points, rng: np.random.Generator, run: Run = UNWATCHED) -> Points:
    """Return the middle of the broken boxes close around each point, the nearer to 0 the heavier."""
    found = points.u.copy()
    for at in range(len(points)):
        off = NEAR * rng.standard_normal((limit.dims, CLOUD))
        cloud = Points(points.u[:, at, None] + off, np.full(CLOUD, points.pattern[at]))
        weight = np.exp(-points.u[:, at] @ off) * (limit.margins(cloud, run) > 0)
        if weight.any():
            found[:, at] = cloud.u @ weight / weight.sum()
    return Points(found, points.pattern)


def _between(points: Points) -> Points:
    """Return a box on the way between each two points."""
    first, second = np.triu_indices(len(points), 1)
    return Points((points.u[:, first] + points.u[:, second]) / 2, points.pattern[first])


def likeliest(
    limit: BrokenLimit, starts: Points, rng: np.random.Generator, *, clouds: int = CLOUDS, run: Run = UNWATCHED
) -> tuple[Points, Points]:
    """Return the distinct points that a search from some boxes finds, nearest to 0 first; none where none is broken.

    The second are those after the first rounds, one of each start: not as near, but closer to where bad boxes are.

    Parameters
    ----------
    limit : BrokenLimit
        What is broken.
    starts : Points
        Boxes that break the limit, or come near to it.
    rng : np.random.Generator
        Draws the clouds.
    clouds : int
        How often clouds are drawn.
    run : Run
        Asked whether to go on.

    Raises
    ------
    StoppedError
        If the run is stopped.
    """
    first = descend(limit, broken(limit, starts, run), FIRST_ROUNDS, run)
    every = descend(limit, first.distinct(KEPT, alike=SEARCHED), run=run)
    for _ in range(clouds):
        before = every.beta.min(initial=np.inf)
        best = every.distinct(KEPT, alike=SEARCHED)
        around = middles(limit, best, rng, run).with_(_between(best.take(range(min(len(best), PAIRED)))))
        every = every.with_(descend(limit, broken(limit, around, run), run=run))
        if every.beta.min(initial=np.inf) > (1 - STALLED) * before:
            break
    return every.distinct(len(every)), first
