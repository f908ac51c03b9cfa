"""The lengths of timber that walls are sawn from: of those on sale the one that costs least, and how each is sawn.

section : thickness and height; lapped and plain walls of one section share lengths
pattern : what is sawn from one length, and from how many
tried   : of a length on sale, the plan that it would take for a section
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.model.on_sale import sized
from assembly.order.lengths import LengthOnSale, LengthPlan, fewest_lengths
from assembly.order.pieces import UNITS_PER_MM, units_up
from assembly.text import mm

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from assembly.model.on_sale import Stock
    from assembly.order.class_pieces import Kind

_METRE = 1000.0  # mm


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedLength:
    """A length on sale, and the plan that takes it; None where the longest piece does not go into it."""

    on_sale: LengthOnSale
    plan: LengthPlan | None

    @property
    def count(self) -> int:
        """How many lengths it takes; none of one that is too short."""
        return len(self.plan.lengths) if self.plan else 0

    @property
    def metres(self) -> float:
        """How much timber it takes."""
        return self.count * self.on_sale.length / _METRE


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """What is sawn from a length, and from how many; positions are mm from the length's end."""

    kinds: tuple[Kind, ...]  # piece by piece, from the left
    times: int
    on_sale: LengthOnSale

    @property
    def pieces(self) -> tuple[tuple[Kind, float, float], ...]:
        """Each piece with its two ends, the trimmed end before the first and a kerf before each other one."""
        at, found = self.on_sale.end_trim, []
        for kind in self.kinds:
            found.append((kind, at, at + kind.size[0]))
            at += kind.size[0] + self.on_sale.kerf
        return tuple(found)

    @property
    def runs(self) -> tuple[tuple[Kind, int], ...]:
        """Kinds in the order in which they are sawn, and how many of each."""
        return tuple((some[0], len(some)) for some in (list(same) for _, same in groupby(self.kinds)))

    @property
    def offcut(self) -> float:
        """What is left between the last kerf and the trimmed end, mm; 0 where that kerf takes it all."""
        end = self.pieces[-1][2]
        return max(0.0, self.on_sale.length - self.on_sale.end_trim - end - self.on_sale.kerf)


@dataclass(frozen=True, slots=True, kw_only=True)
class SawnSection:
    """All that is sawn of one section."""

    material: str
    thickness: float
    height: float
    kinds: tuple[Kind, ...]
    on_sale: LengthOnSale
    plan: LengthPlan
    price: float | None  # of a metre
    others: tuple[TriedLength, ...]  # that were tried and cost more, or are too short

    @property
    def count(self) -> int:
        """How many lengths are bought."""
        return len(self.plan.lengths)

    @property
    def metres(self) -> float:
        """How much timber that is."""
        return self.count * self.on_sale.length / _METRE

    @property
    def waste(self) -> float:
        """Share of the timber that no piece is made of: kerfs, trims, offcuts."""
        pieces = sum(kind.count * kind.size[0] for kind in self.kinds)
        return 1 - pieces / (self.metres * _METRE)

    @property
    def patterns(self) -> tuple[Pattern, ...]:
        """Each different way to saw a length, in the order of the plan."""
        return tuple(
            Pattern(kinds=tuple(self.kinds[kind] for kind in pieces), times=times, on_sale=self.on_sale)
            for pieces, times in Counter(self.plan.lengths).items()
        )


def sawn_sections(kinds: Iterable[Kind], stock: Stock) -> tuple[SawnSection, ...]:
    """Return what walls are sawn from, section by section in the order of the cut list.

    Raises
    ------
    InputError
        If no length on sale takes the longest piece of a section; all sections are told.
    """
    sections: dict[tuple[str, float, float], list[Kind]] = {}
    for kind in kinds:
        if not kind.part.sheet:
            sections.setdefault((kind.part.material, kind.part.thickness, kind.part.width), []).append(kind)
    if faults := [fault for some in sections.values() for fault in _too_long(some, stock)]:
        raise InputError("\n".join(faults))
    return tuple(_sawn(some, stock) for some in sections.values())


def _on_sale(stock: Stock) -> Iterator[LengthOnSale]:
    timber = stock.timber
    return (LengthOnSale(length=each, kerf=timber.kerf, end_trim=timber.end_trim) for each in sorted(timber.lengths))


def _too_long(kinds: list[Kind], stock: Stock) -> Iterator[str]:
    """Yield why a section can't be sawn from any length on sale."""
    longest, most = max(kinds, key=lambda kind: kind.size[0]), list(_on_sale(stock))[-1]
    size = longest.size[0]
    need = units_up(size + 2 * most.end_trim) / UNITS_PER_MM
    if not most.takes(size):
        yield (
            f"stock: no length on sale takes the {longest.name}, whose blank is {mm(size)} long: the longest, "
            f"{mm(most.length)}, leaves {mm(most.usable)} once {mm(most.end_trim)} is trimmed off each end; put one of "
            f"at least {mm(need)} into timber.lengths of a file of your own and give it by --stock"
        )


def _sawn(kinds: list[Kind], stock: Stock) -> SawnSection:
    """Return the length that takes the least timber, then the fewest lengths: a metre of a section has one price."""
    sizes, counts = [kind.size[0] for kind in kinds], [kind.count for kind in kinds]
    names = [kind.name for kind in kinds]
    tried = [
        TriedLength(
            on_sale=each,
            plan=fewest_lengths(sizes, counts, each, names=names) if each.takes(max(sizes)) else None,
        )
        for each in _on_sale(stock)
    ]
    best = min((each for each in tried if each.plan), key=lambda each: (round(each.metres, 9), each.count))
    assert best.plan
    part = kinds[0].part
    return SawnSection(
        material=part.material,
        thickness=part.thickness,
        height=part.width,
        kinds=tuple(kinds),
        on_sale=best.on_sale,
        plan=best.plan,
        price=stock.prices.timber.get(sized(part.thickness, part.width)),
        others=tuple(each for each in tried if each is not best),
    )
