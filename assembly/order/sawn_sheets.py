"""The sheets that base, lid and plaque are cut from: of the sizes on sale that which costs least, and their layouts.

lay : where the pieces of one sheet lie, and of how many sheets
tried : of a size on sale, the plan that it would take for a material and thickness
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.model.on_sale import named_like, sheets_of, sized
from assembly.order.layouts import SheetOnSale, SheetPlan, box_of
from assembly.order.pieces import UNITS_PER_MM, units_up
from assembly.order.sheets import fewest_sheets
from assembly.order.straight_cuts import saw_cuts
from assembly.text import mm

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from assembly.model.on_sale import Stock
    from assembly.order.class_pieces import Kind
    from assembly.order.layouts import Box, Layout
    from assembly.order.straight_cuts import SawCut

_SQUARE_METRE = 1e6  # mm²


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedSheet:
    """A size on sale, and the plan that takes it; None where a piece does not go onto it."""

    on_sale: SheetOnSale
    plan: SheetPlan | None
    price: float | None  # of one sheet

    @property
    def count(self) -> int:
        """How many sheets it takes; none of a size that is too small."""
        return len(self.plan.sheets) if self.plan else 0

    @property
    def area(self) -> float:
        """How much sheet it takes, m²."""
        return self.count * self.on_sale.length * self.on_sale.width / _SQUARE_METRE

    @property
    def cost(self) -> float | None:
        """What it costs; None without a price."""
        return None if self.price is None or self.plan is None else self.count * self.price


@dataclass(frozen=True, slots=True, kw_only=True)
class Lay:
    """How a sheet is laid out, and how many are."""

    pieces: tuple[tuple[Kind, Box, bool], ...]  # each with its rectangle on the sheet, mm, and whether it lies across
    cuts: tuple[SawCut, ...]  # in their order; none where nobody asked for straight ones
    times: int

    @property
    def counts(self) -> tuple[tuple[Kind, int], ...]:
        """How many pieces of each kind lie on it."""
        letters = Counter(kind.letter for kind, _, _ in self.pieces)
        kinds = {kind.letter: kind for kind, _, _ in self.pieces}
        return tuple((kinds[letter], number) for letter, number in letters.items())


@dataclass(frozen=True, slots=True, kw_only=True)
class SawnSheets:
    """All that is cut of one material and thickness."""

    material: str
    thickness: float
    kinds: tuple[Kind, ...]
    taken: TriedSheet
    others: tuple[TriedSheet, ...]  # that were tried and cost more, or are too small

    @property
    def on_sale(self) -> SheetOnSale:
        """The sheet."""
        return self.taken.on_sale

    @property
    def plan(self) -> SheetPlan:
        """What is cut from each sheet."""
        assert self.taken.plan
        return self.taken.plan

    @property
    def count(self) -> int:
        """How many sheets are bought."""
        return len(self.plan.sheets)

    @property
    def waste(self) -> float:
        """Share of the sheets that no piece is made of."""
        pieces = sum(kind.count * kind.size[0] * kind.size[1] for kind in self.kinds)
        return 1 - pieces / (self.taken.area * _SQUARE_METRE)

    @property
    def lays(self) -> tuple[Lay, ...]:
        """Each different layout, in the order of the plan."""
        return tuple(self._lay(layout, times) for layout, times in Counter(self.plan.sheets).items())

    def _lay(self, layout: Layout, times: int) -> Lay:
        sizes = [kind.size for kind in self.kinds]
        cuts = saw_cuts(layout, sizes, self.on_sale) if self.on_sale.straight else None
        return Lay(
            pieces=tuple((self.kinds[laid.kind], box_of(laid, sizes), laid.turned) for laid in layout),
            cuts=cuts or (),
            times=times,
        )


def sawn_sheets(kinds: Iterable[Kind], stock: Stock, *, straight: bool = False) -> tuple[SawnSheets, ...]:
    """Return what is cut from sheets, by material and thickness in the order of the cut list.

    Parameters
    ----------
    kinds : iterable of Kind
        All pieces; those of walls are left to `sawn_sections`.
    stock : Stock
        What is on sale.
    straight : bool
        Whether straight cuts must part all layouts, whatever the stock says.

    Raises
    ------
    InputError
        If no sheet on sale takes the pieces; all materials are told.
    """
    found: dict[tuple[str, float], list[Kind]] = {}
    for kind in kinds:
        if kind.part.sheet:
            found.setdefault((kind.part.material, kind.part.thickness), []).append(kind)
    if faults := [fault for some in found.values() for fault in _too_large(some, stock)]:
        raise InputError("\n".join(faults))
    return tuple(_cut(some, stock, straight=straight) for some in found.values())


def _on_sale(material: str, stock: Stock, *, straight: bool = False) -> list[SheetOnSale]:
    """Return the sheets of a material on sale, the smallest first."""
    sheets = sheets_of(material, stock.sheet, stock.sheets)
    return [
        SheetOnSale(
            length=length,
            width=width,
            kerf=sheets.kerf,
            edge_trim=sheets.edge_trim,
            straight=straight or sheets.straight,
            turn=sheets.turn,
        )
        for length, width in sorted(sheets.sizes, key=lambda size: (size[0] * size[1], size))
    ]


def _goes_on(kinds: Sequence[Kind], sheet: SheetOnSale) -> bool:
    """Tell whether each piece alone goes onto a sheet."""
    return all(sheet.takes(kind.size) for kind in kinds)


def _too_large(kinds: list[Kind], stock: Stock) -> Iterator[str]:
    """Yield why pieces can't be cut from any sheet on sale, with the size that would do for all of them."""
    material = kinds[0].part.material
    sheets = _on_sale(material, stock)
    if any(_goes_on(kinds, sheet) for sheet in sheets):
        return
    most = sheets[-1]
    piece = next(kind for kind in kinds if not most.takes(kind.size))
    need = [units_up(max(kind.size[axis] for kind in kinds) + 2 * most.edge_trim) / UNITS_PER_MM for axis in (0, 1)]
    named = named_like(material, stock.sheets)
    where = "sheet.sizes" if named is None else f"sheets.{named}.sizes"
    turned = "" if most.turn else ", and pieces may not be turned"
    yield (
        f"stock: no sheet of {material} on sale takes the {piece.name}, whose blank is {_size(piece.size)}: the "
        f"largest, {_size((most.length, most.width))}, leaves {_size(most.usable)} once {mm(most.edge_trim)} is "
        f"trimmed off each edge{turned}; put one of at least {_size((need[0], need[1]))} into {where} of a file of "
        "your own and give it by --stock"
    )


def _size(size: tuple[float, float]) -> str:
    return f"{sized(*size)} mm"


def _cut(kinds: list[Kind], stock: Stock, *, straight: bool) -> SawnSheets:
    """Return the size that costs least: money where every size that will do is priced, else the least sheet."""
    part = kinds[0].part
    prices = stock.sheet_prices(part.material)
    sizes, counts = [kind.size for kind in kinds], [kind.count for kind in kinds]
    tried = [
        TriedSheet(
            on_sale=sheet,
            plan=fewest_sheets(sizes, counts, sheet, names=[kind.name for kind in kinds])
            if _goes_on(kinds, sheet)
            else None,
            price=prices.get(sized(part.thickness, sheet.length, sheet.width)),
        )
        for sheet in _on_sale(part.material, stock, straight=straight)
    ]
    fit = [each for each in tried if each.plan]
    priced = all(each.cost is not None for each in fit)
    best = min(fit, key=lambda each: (each.cost or 0.0 if priced else 0.0, round(each.area, 9), each.count))
    return SawnSheets(
        material=part.material,
        thickness=part.thickness,
        kinds=tuple(kinds),
        taken=best,
        others=tuple(each for each in tried if each is not best),
    )
