"""What does not go together in a stock file: trims that leave nothing, and prices of sheets that are not on sale."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.model.on_sale import sheets_of, sized
from assembly.rules.shop import fault
from assembly.text import mm

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from assembly.errors import Problem
    from assembly.model.on_sale import NamedSheets, Prices, SheetsOnSale, TimberOnSale


def trims_leave_a_length(timber: TimberOnSale) -> Iterator[Problem]:
    """Check that something is left of the shortest length between its trimmed ends."""
    shortest = min(timber.lengths)
    if 2 * timber.end_trim >= shortest:
        yield fault(
            "timber.end_trim",
            f"got {mm(timber.end_trim)}, which off both ends leaves nothing of a length of {mm(shortest)}; give less "
            f"than {mm(shortest / 2)}",
        )


def trims_leave_a_sheet(sheet: SheetsOnSale, sheets: Mapping[str, NamedSheets]) -> Iterator[Problem]:
    """Check that something is left of the smallest sheet between its trimmed edges."""
    named = {f"sheets.{name}": sheets_of(name, sheet, sheets) for name in sheets}
    for where, each in {"sheet": sheet, **named}.items():
        least = min(min(size) for size in each.sizes)
        if 2 * each.edge_trim >= least:
            yield fault(
                f"{where}.edge_trim",
                f"got {mm(each.edge_trim)}, which off both edges leaves nothing of a sheet {mm(least)} wide; give less "
                f"than {mm(least / 2)}",
            )


def priced_sheets_are_on_sale(
    sheet: SheetsOnSale, sheets: Mapping[str, NamedSheets], prices: Prices
) -> Iterator[Problem]:
    """Check that each price of a sheet is of a size on sale, as it would count for nothing otherwise."""
    for material, priced in prices.sheets.items():
        sizes = [sized(*size) for size in sheets_of(material, sheet, sheets).sizes]
        for name in priced:
            if not any(name.endswith(f" x {size}") for size in sizes):
                thick = name.partition(" x ")[0]
                yield fault(
                    f"prices.sheets.{material}.{name}",
                    f"no such size of {material} is on sale; names here are thickness x length x width, such as "
                    f"{', '.join(repr(f'{thick} x {size}') for size in sizes)}",
                )


STOCK_RULES = (trims_leave_a_length, trims_leave_a_sheet, priced_sheets_are_on_sale)
