"""Many boxes of any vectorised model, summed up as means, quantiles and shares; memory does not grow with the boxes.

model : random inputs, and a function from their values to rows of outcomes
tally : what is kept of the boxes seen so far: counts, sums and counts in bins
bins  : fixed by the first block, so that tallies of other blocks add up

Blocks are worked on by several threads and added in their own order: the same seed gives the same numbers (MODEL.md,
5.1).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, Protocol, TypeVar

import numpy as np

from assembly.made.sampling import BLOCK, Draws, Input, draw_block, values
from assembly.study.driver import UNWATCHED, Run, drive
from assembly.text import one_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from assembly.arrays import FloatArray, IntArray


BINS = 30_000  # over three times the range of the first block: some 1e-4 of the range each
WINDOW = 1_000  # boxes worked on at once, so that what lies between stays in the processor's cache

T = TypeVar("T")


class Model(Protocol):
    """Random inputs, and what comes of them."""

    @property
    def inputs(self) -> Sequence[Input]:
        """The random inputs, in a fixed order."""

    @property
    def rows(self) -> Sequence[str]:
        """Names of the rows that `evaluate` returns."""

    def evaluate(self, value: dict[str, FloatArray]) -> FloatArray:
        """Return every row for every box: (rows, boxes), from the inputs' values (places, boxes)."""


def row_numbers(model: Model, names: Sequence[str]) -> list[int]:
    """Return where rows stand in a model.

    Raises
    ------
    InputError
        If the model has no such row; the nearest name is offered.
    """
    rows = list(model.rows)
    return [rows.index(one_of("outcome", name, rows)) for name in names]


def evaluate_block(model: Model, draws: Draws, boxes: int, run: Run = UNWATCHED) -> FloatArray:
    """Return every row for the boxes of one block: (rows, boxes)."""
    inputs = model.inputs
    out = np.empty((len(model.rows), boxes))
    for window in windows(boxes, run):
        out[:, window] = model.evaluate(values(inputs, draws, window))
    return out


def block_rows(
    model: Model, *, seed: int, block: int, boxes: int = BLOCK, class_size: int = 1, run: Run = UNWATCHED
) -> FloatArray:
    """Draw one block and return every row for its first `boxes` boxes: (rows, boxes)."""
    draws = draw_block(model.inputs, boxes, seed=seed, block=block, class_size=class_size)
    return evaluate_block(model, draws, boxes, run)


@dataclass(frozen=True, slots=True)
class Bins:
    """Edges for the counts of every row: `low` and `width` of a bin, (rows, 1) each."""

    low: FloatArray
    width: FloatArray

    @classmethod
    def around(cls, rows: FloatArray) -> Bins:
        """Return bins over three times the range that `rows` (rows, boxes) cover."""
        least, most = rows.min(axis=1, keepdims=True), rows.max(axis=1, keepdims=True)
        span = np.maximum(most - least, 1e-9 * np.maximum(1.0, np.abs(most)))  # a row without spread still has a bin
        return cls(least - span, 3 * span / BINS)

    def count(self, rows: FloatArray) -> IntArray:
        """Return how many boxes fall into each bin: (rows, BINS + 2), the outer two for what lies beyond."""
        at = np.clip((rows - self.low) / self.width, -1, BINS).astype(np.int64) + 1
        at[rows < self.low[:, 0][:, None]] = 0
        return np.stack([np.bincount(row, minlength=BINS + 2) for row in at])


@dataclass(slots=True)
class Tally:
    """What is known of every row after some boxes; `add` takes blocks in their order."""

    names: tuple[str, ...]
    bins: Bins
    shift: FloatArray  # (rows, 1) near the mean, so that sums of squares lose no digits
    boxes: int
    sums: FloatArray
    squares: FloatArray
    least: FloatArray
    most: FloatArray
    counts: IntArray

    @classmethod
    def start(cls, names: Sequence[str], rows: FloatArray) -> Tally:
        """Return the tally of the first block, which fixes bins and shift."""
        return cls.within(names, rows, Bins.around(rows), rows.mean(axis=1, keepdims=True))

    @classmethod
    def within(cls, names: Sequence[str], rows: FloatArray, bins: Bins, shift: FloatArray) -> Tally:
        """Return the tally of `rows` (rows, boxes) with bins and shift that are fixed already."""
        off = rows - shift
        return cls(
            names=tuple(names),
            bins=bins,
            shift=shift,
            boxes=rows.shape[1],
            sums=off.sum(axis=1),
            squares=(off * off).sum(axis=1),
            least=rows.min(axis=1),
            most=rows.max(axis=1),
            counts=bins.count(rows),
        )

    def of(self, rows: FloatArray) -> Tally:
        """Return the tally of other boxes, with these bins."""
        return self.within(self.names, rows, self.bins, self.shift)

    def add(self, other: Tally) -> None:
        """Add another tally with the same bins."""
        least, most = np.minimum(self.least, other.least), np.maximum(self.most, other.most)
        sums, squares, counts = self.sums + other.sums, self.squares + other.squares, self.counts + other.counts
        self.boxes, self.sums, self.squares = self.boxes + other.boxes, sums, squares
        self.least, self.most, self.counts = least, most, counts

    def mean(self, name: str) -> float:
        """Return the mean of a row."""
        row = self.names.index(name)
        return float(self.shift[row, 0] + self.sums[row] / self.boxes)

    def std(self, name: str) -> float:
        """Return the standard deviation of a row, with n - 1."""
        row = self.names.index(name)
        spare = max(self.boxes - 1, 1)
        return float(np.sqrt(max(self.squares[row] - self.sums[row] ** 2 / self.boxes, 0.0) / spare))

    def std_error(self, name: str) -> float:
        """Return the standard error of a row's standard deviation s: √((m₄ - s⁴)/n)/2s, m₄ from the bins' middles."""
        row, s = self.names.index(name), self.std(name)
        if s == 0:
            return 0.0
        counts, low, width = self.counts[row], float(self.bins.low[row, 0]), float(self.bins.width[row, 0])
        middles = low + width * (np.arange(BINS + 2) - 0.5)
        middles[0], middles[-1] = self.least[row], self.most[row]
        fourth = float((counts * (middles - self.mean(name)) ** 4).sum()) / self.boxes
        return float(np.sqrt(max(fourth - s**4, 0.0) / self.boxes)) / (2 * s)

    def count(self, name: str) -> float:
        """Return the sum of a row of zeros and ones."""
        return self.mean(name) * self.boxes

    def quantile(self, name: str, share: float) -> float:
        """Return the value that `share` of the boxes do not exceed, from the bins, to a bin's width."""
        row = self.names.index(name)
        counts = self.counts[row]
        below = np.concatenate([[0], np.cumsum(counts)])
        wanted = share * self.boxes
        at = int(np.clip(np.searchsorted(below, wanted, side="left") - 1, 0, BINS + 1))
        low, width = float(self.bins.low[row, 0]), float(self.bins.width[row, 0])
        lower = float(self.least[row]) if at == 0 else low + (at - 1) * width
        upper = float(self.most[row]) if at == BINS + 1 else low + at * width
        inside = (wanted - below[at]) / counts[at] if counts[at] else 0.0
        return float(np.clip(lower + inside * (upper - lower), self.least[row], self.most[row]))


class StudyBlock(NamedTuple):
    """One block of a study: its number, by which it is drawn, and how many boxes it has."""

    number: int
    boxes: int


def blocks_of(boxes: int) -> Iterator[StudyBlock]:
    """Yield every block of a study of `boxes` boxes, so that none is kept before its turn."""
    return (StudyBlock(at // BLOCK, min(BLOCK, boxes - at)) for at in range(0, boxes, BLOCK))


def windows(boxes: int, run: Run) -> Iterator[slice]:
    """Yield the windows of a block of `boxes` boxes, for as long as the run is not stopped.

    Raises
    ------
    StoppedError
        If it is.
    """
    return run.watched(slice(at, min(at + WINDOW, boxes)) for at in range(0, boxes, WINDOW))


def drive_blocks(
    work: Callable[[StudyBlock, Run], T],
    blocks: Iterable[StudyBlock],
    run: Run,
    *,
    of: int,
    done: int = 0,
    least: int = 1,
) -> Iterator[T]:
    """Yield what `work` makes of every block, in order, until the run is stopped; see `assembly.study.driver.drive`.

    Progress is counted in boxes, `of` of which there are in all.
    """
    return drive(work, blocks, run, of=of, done=done, size=lambda block: block.boxes, least=least)


def tally(model: Model, *, boxes: int, seed: int, run: Run = UNWATCHED) -> Tally:
    """Return the tally of `boxes` boxes of a model; of the blocks that are done, where the run is stopped.

    Raises
    ------
    StoppedError
        If it is stopped within the first block.
    """
    blocks = blocks_of(boxes)
    first = next(blocks)
    total = Tally.start(model.rows, block_rows(model, seed=seed, block=0, boxes=first.boxes, run=run))

    def work(block: StudyBlock, run: Run) -> Tally:
        return total.of(block_rows(model, seed=seed, block=block.number, boxes=block.boxes, run=run))

    for done in drive_blocks(work, blocks, run, of=boxes, done=first.boxes, least=0):
        total.add(done)
    return total
