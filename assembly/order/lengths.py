"""The fewest lengths on sale that pieces can be sawn from, and how each of them is sawn.

length  : what is bought of a section, in one piece
pattern : what is sawn from one length: how many pieces of each kind
offcut  : what is left of a length

Plans are drawn up in a moment and held to a bound; only where one misses it are patterns searched (`length_search`).
Among plans of as few lengths the one with the fewest different patterns is kept, and of these the one with the
longest offcut.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.order.dual_feasible import fewest_bins
from assembly.order.patterns import Stock, filled
from assembly.order.pieces import held_pieces, held_to, named, units_down, units_up
from assembly.text import mm

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from assembly.order.patterns import Pattern

NODES = 60_000  # of the search for a plan that the bound leaves possible


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthOnSale:
    """A length on sale, and how it is sawn; mm.

    Raises
    ------
    InputError
        If a size is negative or not finite, or the trim leaves nothing.
    """

    length: float
    kerf: float  # width of the saw's cut
    end_trim: float  # cut off each end before anything else, the dust of that cut included

    def __post_init__(self) -> None:
        """Refuse what nobody can saw."""
        where = f"length of {mm(self.length)}"
        held_to(where, over={"length": self.length}, least={"kerf": self.kerf, "end trim": self.end_trim})
        if self.usable <= 0:
            msg = f"{where}: {mm(self.end_trim)} trimmed off each end leaves nothing; trim less or take longer lengths"
            raise InputError(msg)

    @property
    def usable(self) -> float:
        """What is left between the trimmed ends, mm."""
        return self.length - 2 * self.end_trim

    def takes(self, size: float) -> bool:
        """Tell whether a piece, mm, goes into it."""
        return units_up(size) <= units_down(self.usable)


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthPlan:
    """What is sawn from each length."""

    lengths: tuple[tuple[int, ...], ...]  # of each length the kinds of its pieces, longest first; alike ones together
    bound: int  # no fewer lengths can do

    @property
    def beyond(self) -> int:
        """How many lengths more than the bound are taken."""
        return len(self.lengths) - self.bound

    @property
    def proved(self) -> bool:
        """Whether fewer lengths can't do."""
        return self.beyond == 0


def fewest_lengths(
    sizes: Sequence[float],
    counts: Sequence[int],
    on_sale: LengthOnSale,
    *,
    nodes: int = NODES,
    names: Sequence[str] = (),
) -> LengthPlan:
    """Return a plan with as few lengths as are found, and a bound of how few can do.

    Parameters
    ----------
    sizes, counts : Sequence
        Of each kind of piece the length, mm, and how many are wanted. Sizes and kerf count as rounded up to 0.001 mm.
    on_sale : LengthOnSale
        What they are sawn from.
    nodes : int
        How much work the search may take, so that every machine finds the same plan; beyond it the plan may take more
        lengths than the bound.
    names : Sequence[str]
        What the kinds are called in a refusal; by their place without.

    Raises
    ------
    InputError
        If a piece does not go into a length, with every such piece.

    Examples
    --------
    >>> plan = fewest_lengths([700, 400], [2, 4], LengthOnSale(length=1600, kerf=3, end_trim=10))
    >>> plan.lengths, plan.proved
    (((0, 1, 1), (0, 1, 1)), True)
    """
    held_pieces([[size] for size in sizes], counts, names)
    _held_to_go_in(sizes, counts, on_sale, names)
    kerf = units_up(on_sale.kerf)
    stock = Stock(
        sizes=tuple(units_up(size) + kerf for size in sizes),
        counts=tuple(counts),
        room=units_down(on_sale.usable) + kerf,
    )
    bound = fewest_bins(stock.room, stock.sizes, stock.counts)
    best = _simplest(stock, [first_fit(stock), filled(stock)])
    if len(best) > bound:
        from assembly.order.length_search import searched  # noqa: PLC0415 - only where a plan misses the bound

        found, bound = searched(stock, bound=bound, most=len(best), nodes=nodes)
        best = _simplest(stock, [best, found]) if found else best
    return LengthPlan(lengths=tuple(_in_order(stock, best)), bound=bound)


def _held_to_go_in(sizes: Sequence[float], counts: Sequence[int], on_sale: LengthOnSale, names: Sequence[str]) -> None:
    """Refuse pieces that are longer than what is left of a length."""
    whole, trim = on_sale.length, on_sale.end_trim
    trimmed = f" once {mm(trim)} is trimmed off each end" if trim else ""
    wrong = [
        f"{named(names, i)} is {mm(size)} long, over the {mm(on_sale.usable)} of a length of {mm(whole)}{trimmed}; "
        f"take lengths of at least {mm(size + 2 * trim)}"
        for i, (size, n) in enumerate(zip(sizes, counts, strict=True))
        if n and not on_sale.takes(size)
    ]
    if wrong:
        raise InputError("\n".join(wrong))


def first_fit(stock: Stock) -> list[Pattern]:
    """Return the plan of who takes the longest piece first and puts each into the first length that has room for it."""
    left: list[int] = []
    plan: list[list[int]] = []
    for kind in sorted(range(len(stock.sizes)), key=lambda kind: -stock.sizes[kind]):
        wanted, size = stock.counts[kind], stock.sizes[kind]
        at = 0
        while wanted:
            if at == len(plan):
                plan.append([0] * len(stock.sizes))
                left.append(stock.room)
            n = min(wanted, left[at] // size)
            plan[at][kind], left[at], wanted, at = n, left[at] - n * size, wanted - n, at + 1
    return [tuple(each) for each in plan]


def _simplest(stock: Stock, plans: Iterable[list[Pattern]]) -> list[Pattern]:
    """Return the plan of the fewest lengths; of these that of the fewest patterns, then of the longest offcut."""
    return min(plans, key=lambda plan: (len(plan), len(set(plan)), -max(map(stock.offcut, plan), default=0)))


def _in_order(stock: Stock, plan: Sequence[Pattern]) -> list[tuple[int, ...]]:
    """Return the kinds of each length, longest first: frequent patterns first, the longest offcut last."""
    often = Counter(plan)
    by_size = sorted(range(len(stock.sizes)), key=lambda kind: -stock.sizes[kind])
    ordered = sorted(plan, key=lambda each: (-often[each], stock.offcut(each), [-each[kind] for kind in by_size]))
    return [tuple(kind for kind in by_size for _ in range(each[kind])) for each in ordered]
