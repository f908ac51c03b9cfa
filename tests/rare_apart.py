"""The likeliest bad box and the share of bad boxes by other means than the project's own: for tests and a bench."""

import numpy as np

from assembly.made.limits import kept
from assembly.made.sampling import draw_block, parts, values
from assembly.study.blocks import block_rows
from assembly.study.check import TIE


def counted(model, row, limit, *, boxes, seed):
    """Return the share of plainly simulated boxes that break the limit of a row."""
    number = list(model.rows).index(row)
    sizes = [(block, min(10_000, boxes - at)) for block, at in enumerate(range(0, boxes, 10_000))]
    rows = [block_rows(model, seed=seed, block=block, boxes=size)[number] for block, size in sizes]
    return sum(int((~kept(limit, each)).sum()) for each in rows) / boxes


class _FirstPattern:
    """A joint's gap over its limit as a function of many standard normal vectors (boxes, dims); normal errors only."""

    def __init__(self, model, row, limit):
        self.model, self.number, self.most = model, list(model.rows).index(row), limit.max
        self.parts = [each for each in parts(model.inputs) if each[0] is not TIE]
        self.dims = sum(rows for _, _, rows in self.parts)

    def __call__(self, u):
        out = np.empty(len(u))
        for at in range(0, len(u), 1000):
            ends = np.cumsum([0, *(rows for _, _, rows in self.parts)])
            some = np.ascontiguousarray(u[at : at + 1000].T)
            draws = {
                (each.name, level): some[a:b]
                for (each, level, _), a, b in zip(self.parts, ends, ends[1:], strict=False)
            }
            value = {**values(self.model.inputs, draws), TIE.name: np.full((1, some.shape[1]), 0.5 / 32)}
            out[at : at + 1000] = self.model.evaluate(value)[self.number] - self.most
        return out


def descended(model, row, limit, *, starts, seed, steps=12):
    """Return the least |u| of the broken boxes found from so many starts, each by itself.

    Hasofer and Lind's step: onto the plane that the slope at the point says the limit is, central differences of 0.02;
    then along the ray to the outermost of 60 places that is still whole. A step that leads further out is halved.
    """
    far = _FirstPattern(model, row, limit)
    drawn = draw_block(model.inputs, 10_000, seed=seed, block=0)
    u = np.concatenate([drawn[each.name, level] for each, level, _ in far.parts]).T
    least = np.inf
    for start in _onto(far, u[np.argsort(-far(u))[:starts]], 4.0):
        x = start
        for _ in range(steps):
            size = np.linalg.norm(x)
            moved = np.vstack([x + 0.02 * np.eye(far.dims), x - 0.02 * np.eye(far.dims)])
            slope = np.subtract(*far(moved).reshape(2, -1)) / 0.04
            if not slope.any():
                break
            aim = (slope @ x) / (slope @ slope) * slope
            ways = np.array([x + share * (aim - x) for share in (1, 0.5, 0.25, 0.1)])
            there = [way for way in _onto(far, ways, 1.0, size) if np.linalg.norm(way) < 0.999 * size]
            if not there:
                break
            x = min(there, key=np.linalg.norm)
        least = min(least, np.linalg.norm(x))
    return least


def _onto(far, points, furthest, size=None):
    """Return points moved along their rays to the nearest of 60 broken places, up to `furthest` times as far out."""
    found = []
    for point in points:
        unit = point if size is None else point * (size / np.linalg.norm(point))
        scales = np.linspace(0, furthest, 61)[1:]
        broken = np.flatnonzero(far(scales[:, None] * unit) > 0)
        if broken.size:
            found.append(scales[broken[0]] * unit)
    return found
