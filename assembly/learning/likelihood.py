"""From readings to the arrays that a chain runs on (`assembly.learning.sampler`), exactly (MODEL.md, 8.2).

Quantities that no reading links are apart in the posterior, so each group of linked ones has arrays and chains of its
own.

group  : quantities that readings link
reading: as a chain needs it: whose it is, its size as a sum of errors, and between what the value before rounding lies
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from assembly.learning.sampler import Cells, Prior

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Mapping, Sequence

    from assembly.arrays import BoolArray, FloatArray, IntArray
    from assembly.learning.features import Form, Size
    from assembly.model.workshop import Disturbance

LOG_SD = 0.7  # of a spread's prior: a factor of two either way
LEAST_BIAS_SD = 0.5  # mm or degrees
STILL = 1e-4  # mm or degrees; standard deviation added to a gap, so that gaps of flat faces never depend on each other

T = TypeVar("T", bound="Hashable")


@dataclass(frozen=True, slots=True, kw_only=True)
class Datum:
    """One reading as a chain needs it."""

    maker: tuple[int, int]  # class, maker
    size: Size
    low: float
    high: float
    unsteadiness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Quantities that readings link, as arrays."""

    quantities: tuple[str, ...]
    cells: Cells
    prior: Prior
    makers: tuple[tuple[int, int], ...]
    start: FloatArray  # (rows,) values within the readings
    readings: tuple[int, ...]  # which of all readings are in it


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A row of a cell: its form for each set of signs of the cell's gaps."""

    forms: tuple[Form, ...]
    noise: float  # variance
    low: float
    high: float
    gap: int = 0  # bit of a gap


def bias_sd(disturbance: Disturbance) -> float:
    """Return the standard deviation of a bias's prior: the total spread, or half a millimetre or degree if larger."""
    return max(LEAST_BIAS_SD, disturbance.std)


def prior_of(disturbances: Sequence[Disturbance]) -> Prior:
    """Return the prior of some quantities: biases about those of the workshop, spreads with its own as medians."""
    return Prior(
        bias=np.array([each.bias for each in disturbances]),
        bias_sd=np.array([bias_sd(each) for each in disturbances]),
        median=np.array(
            [[getattr(each, name) for each in disturbances] for name in ("class_spread", "maker_spread", "spread")]
        ),
        log_sd=LOG_SD,
    )


def linked(sets: Iterable[Sequence[T]]) -> list[list[T]]:
    """Return the items of some sets, together where a chain of shared items links them; in the order first met."""
    parent: dict[T, T] = {}

    def root(item: T) -> T:
        while parent.setdefault(item, item) != item:
            parent[item] = parent[parent[item]]
            item = parent[item]
        return item

    for items in sets:
        for item in items:
            parent[root(item)] = root(items[0])
    groups: dict[T, list[T]] = defaultdict(list)
    for item in parent:
        groups[root(item)].append(item)
    return list(groups.values())


def groups_of(data: Sequence[Datum], disturbances: Mapping[str, Disturbance]) -> list[Group]:
    """Return the groups of quantities that readings link, with the readings of each.

    Parameters
    ----------
    data : sequence of Datum
        The readings; their order decides that of rows, so the same readings in the same order give the same draws.
    disturbances : mapping
        What the workshop says of each quantity, by name, in the order in which quantities are reported.
    """
    together = linked(each.size.quantities for each in data)
    found = []
    for names in together:
        quantities = tuple(name for name in disturbances if name in names)
        chosen = tuple(at for at, each in enumerate(data) if each.size.quantities[0] in names)
        found.append(_group(quantities, [data[at] for at in chosen], chosen, disturbances))
    return sorted(found, key=lambda group: list(disturbances).index(group.quantities[0]))


def _group(
    quantities: tuple[str, ...],
    data: Sequence[Datum],
    chosen: tuple[int, ...],
    disturbances: Mapping[str, Disturbance],
) -> Group:
    prior = prior_of([disturbances[name] for name in quantities])
    cut = {name for name in quantities if disturbances[name].spread > 0}
    makers = tuple(sorted({each.maker for each in data}))
    patterns: dict[bytes, int] = {}
    shapes: list[_Shape] = []
    rows: list[_Row] = []
    of_cells: tuple[list[int], list[int], list[int]] = ([], [], [])
    for number, maker in enumerate(makers):
        for cell in _cells([each for each in data if each.maker == maker], cut):
            made = _rows(cell)
            found = [_shape(made, signs, quantities, cut) for signs in range(len(made[0].forms))]
            key = b"".join(shape.key for shape in found)
            if key not in patterns:
                patterns[key] = len(shapes)
                shapes += found
            for numbers, each in zip(of_cells, (patterns[key], number, len(made)), strict=True):
                numbers.append(each)
            rows += made
    cells = _arrays(shapes, rows, of_cells, makers)
    return Group(
        quantities=quantities,
        cells=cells,
        prior=prior,
        makers=makers,
        start=_start(cells, rows),
        readings=chosen,
    )


def _cells(data: Sequence[Datum], cut: set[str]) -> list[list[Datum]]:
    """Return one maker's readings, together where they share a cut part."""
    tags = []
    for at, each in enumerate(data):
        forms = (each.size.form, *(form for pair in each.size.pairs for form in pair))
        shared = [error for form in forms for error in form.errors if error[0] in cut]
        tags.append([("reading", str(at)), *dict.fromkeys(shared)])
    found = (sorted(int(place) for name, place in items if name == "reading") for items in linked(tags))
    return [[data[at] for at in members] for members in found]


def _rows(cell: Sequence[Datum]) -> list[_Row]:
    """Return a cell's readings as rows, each for every set of signs of the gaps, and then the gaps."""
    gaps: list[Form] = []
    bits: dict[tuple[int, int], int] = {}
    for at, each in enumerate(cell):
        for k, (first, second) in enumerate(each.size.pairs):
            gap = second.plus(first, -1.0)
            if gap not in gaps:
                gaps.append(gap)
            bits[at, k] = 1 << gaps.index(gap)
    rows = []
    for at, each in enumerate(cell):
        forms = []
        for signs in range(1 << len(gaps)):
            form = each.size.form
            for k, (first, second) in enumerate(each.size.pairs):
                form = form.plus(first if signs & bits[at, k] else second)
            forms.append(form)
        noise = each.unsteadiness**2
        rows.append(_Row(forms=tuple(forms), noise=noise, low=each.low, high=each.high))
    for k, gap in enumerate(gaps):
        forms = [gap] * (1 << len(gaps))
        rows.append(_Row(forms=tuple(forms), noise=STILL**2, low=-np.inf, high=np.inf, gap=1 << k))
    return rows


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Shape:
    """What makes a pattern of n rows."""

    shift: FloatArray  # (n,)
    sums: FloatArray  # (n, Q)
    cuts: FloatArray  # (Q, n, n)
    noise: FloatArray  # (n,)

    @property
    def key(self) -> bytes:
        """What two equal patterns have in common."""
        parts = (self.shift, self.sums, self.cuts, self.noise)
        return b"".join(np.round(part, 12).tobytes() for part in parts) + len(self.noise).to_bytes(2, "big")


def _shape(rows: Sequence[_Row], signs: int, quantities: Sequence[str], cut: set[str]) -> _Shape:
    n, many = len(rows), len(quantities)
    forms = [row.forms[signs] for row in rows]
    sums, cuts = np.zeros((n, many)), np.zeros((many, n, n))
    for q, name in enumerate(quantities):
        places = list(dict.fromkeys(place for form in forms for held, place in form.errors if held == name))
        held = np.array([[form.errors.get((name, place), 0.0) for place in places] for form in forms])
        held = held.reshape(n, len(places))
        sums[:, q] = held.sum(axis=1)
        if name in cut:
            cuts[q] = held @ held.T
    return _Shape(
        shift=np.array([form.const - row.forms[0].const for form, row in zip(forms, rows, strict=True)]),
        sums=sums,
        cuts=cuts,
        noise=np.array([row.noise for row in rows]),
    )


def _arrays(
    shapes: Sequence[_Shape],
    rows: Sequence[_Row],
    of_cells: tuple[list[int], list[int], list[int]],
    makers: Sequence[tuple[int, int]],
) -> Cells:
    pattern, maker = _whole(of_cells[0]), _whole(of_cells[1])
    n, many = max(len(shape.noise) for shape in shapes), shapes[0].sums.shape[1]
    shift, noise = np.zeros((2, len(shapes), n))
    sums, cuts = np.zeros((len(shapes), n, many)), np.zeros((len(shapes), many, n, n))
    for p, shape in enumerate(shapes):
        k = len(shape.noise)
        shift[p, :k], noise[p, :k], sums[p, :k], cuts[p, :, :k, :k] = shape.shift, shape.noise, shape.sums, shape.cuts
    classes = sorted({number for number, _ in makers})
    maker_class = _whole([classes.index(number) for number, _ in makers])
    touches = np.abs(sums).max(axis=1) > 0
    has = _held(pattern, maker, of_cells[2], touches, rows)
    return Cells(
        first_pattern=pattern,
        maker=maker,
        start=_whole([0, *accumulate(of_cells[2])]),
        const=np.array([row.forms[0].const for row in rows]),
        gap=_whole([row.gap for row in rows]),
        low=np.array([row.low for row in rows]),
        high=np.array([row.high for row in rows]),
        size=_whole([len(shape.noise) for shape in shapes]),
        shift=shift,
        sums=sums,
        cuts=cuts,
        noise=noise,
        touches=touches,
        varies=np.abs(cuts).max(axis=(2, 3)) > 0,
        first_cell=_whole([0, *accumulate(np.bincount(maker, minlength=len(makers)).tolist())]),
        maker_class=maker_class,
        maker_has=has,
        class_has=np.array([has[maker_class == c].any(axis=0) for c in range(len(classes))]),
    )


def _held(
    pattern: IntArray, maker: IntArray, sizes: Sequence[int], touches: BoolArray, rows: Sequence[_Row]
) -> BoolArray:
    """Return which quantities' levels each maker's rows may hold: (makers, Q)."""
    has = np.zeros((int(maker[-1]) + 1, touches.shape[1]), dtype=np.bool_)
    ends = accumulate(sizes)
    for p, j, end in zip(pattern, maker, ends, strict=True):
        has[j] |= touches[p : p + len(rows[end - 1].forms)].any(axis=0)
    return has


def _whole(numbers: Sequence[int]) -> IntArray:
    return np.array(numbers, dtype=np.int64)


def _start(cells: Cells, rows: Sequence[_Row]) -> FloatArray:
    """Return values for all rows: readings in the middle of their intervals, gaps below 0, a little."""
    middles = [-STILL if row.gap else _middle(row) for row in rows]
    assert len(middles) == len(cells.const)
    return np.array(middles)


def _middle(row: _Row) -> float:
    """Return the middle of a reading's interval; in one that is open to a side the value nearest to what is drawn."""
    drawn = row.forms[0].const
    if np.isinf(row.high):
        return max(drawn, row.low + STILL)
    return min(drawn, row.high - STILL) if np.isinf(row.low) else (row.low + row.high) / 2
