"""What a school can buy, and what it costs: thicknesses, lengths of timber, sheets, prices; sizes in mm.

length    : a piece of timber as the yard sells it, of any section on sale
sheet     : a board or plate as the supplier sells it; its first size runs along the grain of its face
kerf      : width of what a saw or laser takes away between two pieces
end trim  : what is cut off each end of a length before it is used, for splits, paint and ends out of square
edge trim : what is cut off each edge of a sheet

All of it is common practice without a source: a school puts in what its own suppliers list.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field, WithJsonSchema

from assembly.data import tables
from assembly.errors import InputError
from assembly.model.workshop import MM, LineOfText, Record, Text
from assembly.text import decimal

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

THICKNESSES = (3.0, 60.0)  # mm, as for the walls of a design
LENGTHS = (300.0, 12_000.0)  # mm
SHEETS = (100.0, 5_000.0)  # mm; length and width
MOST = 40  # of one list: a table of 40 by 40 sections already takes minutes
DEAREST = 100_000.0  # a price

# A size in a file: a number of mm, or text with its unit, which reading turns into mm.
Size = Annotated[
    float,
    WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string", "pattern": r"^\S.*(mm|in|inch|inches|\")$"}]}),
]
SheetSize = tuple[Size, Size]
Price = Annotated[float, Field(ge=0, le=DEAREST)]


class TimberOnSale(Record):
    """The lengths that timber is sold in, of every section, and how it is sawn."""

    lengths: list[Size] = Field(
        min_length=1, max_length=MOST, description='lengths on sale: numbers are mm, inches are written "96 in"'
    )
    kerf: float = Field(ge=0, le=10, description="width of the saw's cut", json_schema_extra=MM)
    end_trim: float = Field(ge=0, le=300, description="what is cut off each end of a length", json_schema_extra=MM)


class SheetsOnSale(Record):
    """The sheets of one material, of every thickness, and how they are cut."""

    sizes: list[SheetSize] = Field(
        min_length=1,
        max_length=MOST,
        description="sizes on sale, each [length, width]; the length runs along the grain, where it has one",
    )
    kerf: float = Field(ge=0, le=10, description="width of the cut of saw or laser", json_schema_extra=MM)
    edge_trim: float = Field(ge=0, le=100, description="what is cut off each edge of a sheet", json_schema_extra=MM)
    turn: bool = Field(description="whether pieces may lie across the sheet; false where the grain of its face counts")
    straight: bool = Field(description="whether pieces are laid so that straight cuts from edge to edge part them")


class NamedSheets(Record):
    """Where the sheets of a material differ from those that are not named."""

    sizes: list[SheetSize] | None = Field(
        default=None, min_length=1, max_length=MOST, description="sizes on sale, each [length, width]"
    )
    kerf: float | None = Field(
        default=None, ge=0, le=10, description="width of the cut of saw or laser", json_schema_extra=MM
    )
    edge_trim: float | None = Field(
        default=None, ge=0, le=100, description="what is cut off each edge of a sheet", json_schema_extra=MM
    )
    turn: bool | None = Field(default=None, description="whether pieces may lie across the sheet")
    straight: bool | None = Field(default=None, description="whether straight cuts from edge to edge must part pieces")


class Prices(Record):
    """What things cost; what is not here has no price. A size in a name is written as an order has it, in mm."""

    currency: LineOfText = Field(max_length=12, description="what is written after a sum of money")
    timber: dict[str, Price] = Field(description='a metre of timber, by "thickness x height", such as "15 x 45"')
    sheets: dict[Text, dict[str, Price]] = Field(
        description='a sheet, by its material and "thickness x length x width", such as "4 x 1220 x 610"'
    )
    screws: dict[str, Price] = Field(description='a screw, by "diameter x length", such as "3.5 x 30"')
    washers: dict[str, Price] = Field(description='a washer, by "outside x hole x thickness", such as "7 x 3.2 x 0.5"')
    stems: dict[Text, Price] = Field(description="what stands in the lid, by the name that the design has for it")
    glue: Price | None = Field(default=None, description="a litre of glue")


class Stock(Record):
    """A stock file."""

    sections: list[Size] = Field(
        min_length=1, max_length=MOST, description='thicknesses on sale: numbers are mm, inches are written "3/8 in"'
    )
    timber: TimberOnSale = Field(description="lengths of timber, and how they are sawn")
    sheet: SheetsOnSale = Field(description="sheets of a material that is not named under sheets")
    sheets: dict[Text, NamedSheets] = Field(description="sheets of a material, by its name, where they differ")
    prices: Prices = Field(description="what things cost")

    def sheet_prices(self, material: str) -> Mapping[str, float]:
        """Return what sheets of a material cost, by their sizes."""
        name = named_like(material, self.prices.sheets)
        return {} if name is None else self.prices.sheets[name]


def sheets_of(material: str, sheet: SheetsOnSale, sheets: Mapping[str, NamedSheets]) -> SheetsOnSale:
    """Return the sheets of a material: those that are not named, with what differs where it is named."""
    name = named_like(material, sheets)
    return sheet if name is None else sheet.model_copy(update=sheets[name].model_dump(exclude_none=True))


def named_like(material: str, names: Iterable[str]) -> str | None:
    """Return the name, of some, that a material goes by: its own, or that of its kind in the table of sheets."""
    known = {name.casefold(): name for name in names}
    return next((known[word.casefold()] for word in names_for(material) if word.casefold() in known), None)


def names_for(material: str) -> tuple[str, ...]:
    """Return the names that a material goes by: its own, then those of its kind in the table of sheets."""
    try:
        kind = tables.sheet(material)
    except InputError:
        return (material,)
    return (material, kind.name, *kind.genus)


def sized(*sizes: float) -> str:
    """Return sizes as the name of a price has them.

    Examples
    --------
    >>> sized(15.0, 45.0)
    '15 x 45'
    """
    return " x ".join(map(decimal, sizes))
