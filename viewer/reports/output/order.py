"""What `lapwright order --json` prints: pieces, what is ordered, how it is sawn, glue and costs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from pydantic import Field

from assembly.order.order import Sort  # noqa: TC001 - pydantic reads it
from viewer.reports.order_words import what_words
from viewer.reports.output.record import EstimateOutput, Output

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.order.class_pieces import Kind
    from assembly.order.order import Line, Order
    from assembly.order.sawn_lengths import SawnSection
    from assembly.order.sawn_sheets import Lay, SawnSheets


class SparesOutput(Output):
    """What simulated classes tell of the spares of a kind of wall."""

    runs_out: EstimateOutput = Field(description="chance that a class spoils more blanks than are spare")
    spoilt: EstimateOutput = Field(description="mean share of walls that are spoilt from their first blank")
    given_up: float = Field(description="share of walls that are spoilt from 100 blanks in a row, and not tried again")
    classes: int = Field(description="how many classes were simulated")


class PiecesOutput(Output):
    """Pieces of one name and size; sizes in mm."""

    letter: str = Field(description="what patterns, layouts and pictures call it")
    name: str = Field(description="what it is")
    material: str = Field(description="the timber or sheet")
    thickness: float = Field(description="thickness")
    blank: tuple[float, float] = Field(description="length and width of the blank, its waste included")
    needed: int = Field(description="how many the makers need")
    spares: int = Field(description="how many are ordered beyond that")
    walls: SparesOutput | None = Field(
        description="what simulated classes tell of its spares; null where no rule says when a piece is spoilt, and "
        "where that is not known"
    )


class LineOutput(Output):
    """One thing to order."""

    sort: Sort = Field(description="lengths, sheets, bought ready, or glue")
    amount: float = Field(description="how many; of glue ml")
    what: str = Field(description="what it is, with its sizes")
    price: float | None = Field(description="of one length, sheet or thing, or of a ml; null without one")
    cost: float | None = Field(description="what the line costs; null without a price")


class PatternOutput(Output):
    """How a length is sawn."""

    lengths: int = Field(description="how many lengths are sawn so")
    pieces: list[str] = Field(description="letters of the pieces, in their order along the length")
    offcut: float = Field(description="what is left, mm")


class LengthTriedOutput(Output):
    """A length on sale that was not taken."""

    length: float = Field(description="its length, mm")
    count: int | None = Field(description="how many it would take; null where it is too short")


class SectionSawnOutput(Output):
    """What is sawn of one section; sizes in mm."""

    material: str = Field(description="the timber")
    thickness: float = Field(description="thickness of the section")
    height: float = Field(description="height of the section")
    length: float = Field(description="the length that is bought")
    kerf: float = Field(description="width of the saw's cut")
    end_trim: float = Field(description="what is cut off each end first")
    count: int = Field(description="how many lengths are bought")
    bound: int = Field(description="no fewer lengths can do; where it is the count, that is proved the least")
    waste: float = Field(description="share of the timber that becomes no piece")
    patterns: list[PatternOutput] = Field(description="each different way to saw a length")
    tried: list[LengthTriedOutput] = Field(description="the other lengths on sale")


class LaidOutput(Output):
    """A piece on a sheet; mm from the sheet's lower left corner."""

    letter: str = Field(description="letter of the piece")
    x: float = Field(description="left edge, along the sheet's length")
    y: float = Field(description="lower edge, along the sheet's width")
    turned: bool = Field(description="whether it lies across, its length along the sheet's width")


class CutOutput(Output):
    """A straight cut, the middle of its kerf; mm from the sheet's lower left corner."""

    start: tuple[float, float] = Field(description="where it begins, x and y")
    end: tuple[float, float] = Field(description="where it ends, x and y")


class LayOutput(Output):
    """How a sheet is laid out."""

    sheets: int = Field(description="how many sheets are laid out so")
    pieces: list[LaidOutput] = Field(description="where each piece lies")
    cuts: list[CutOutput] = Field(description="the straight cuts in their order; empty where none are asked for")


class SheetTriedOutput(Output):
    """A size of sheet on sale that was not taken."""

    size: tuple[float, float] = Field(description="length and width, mm")
    count: int | None = Field(description="how many it would take; null where it is too small")
    cost: float | None = Field(description="what these would cost; null without a price")


class SheetsCutOutput(Output):
    """What is cut of sheets of one material and thickness; sizes in mm."""

    material: str = Field(description="the sheet's material")
    thickness: float = Field(description="its thickness")
    size: tuple[float, float] = Field(description="length and width of the sheet that is bought")
    kerf: float = Field(description="width of the cut")
    edge_trim: float = Field(description="what is cut off each edge first")
    turn: bool = Field(description="whether pieces may lie across")
    straight: bool = Field(description="whether straight cuts from edge to edge part the pieces")
    count: int = Field(description="how many sheets are bought")
    bound: int = Field(description="no fewer sheets can do; where it is the count, that is proved the least")
    waste: float = Field(description="share of the sheets that becomes no piece")
    layouts: list[LayOutput] = Field(description="each different layout")
    tried: list[SheetTriedOutput] = Field(description="the other sizes on sale")


class GlueOutput(Output):
    """The glue, an estimate: twice the gap volume and a film on every glued face."""

    name: str = Field(description="what glue")
    gap_volume: EstimateOutput = Field(description="mean of a box, mm³")
    contact: float = Field(description="glued faces of a box, mm²")
    ml_a_box: float = Field(description="glue for one box, ml")
    ml: float = Field(description="glue for all makers, ml")
    boxes: int = Field(description="how many boxes were simulated for it")


class StrayOutput(Output):
    """A name of the stock file that counts for nothing here."""

    table: str = Field(description="the table in which it stands")
    name: str = Field(description="the name")
    meant: str = Field(description="the name that it may stand for")


class OrderOutput(Output):
    """What a class orders, and how it is sawn."""

    command: Literal["order"] = Field(description="the command that printed this")
    design: str = Field(description="name of the design")
    makers: int = Field(description="how many makers it is for")
    seed: int = Field(description="start of the random numbers")
    chance: float | None = Field(description="asked for: the chance of running out; null where a share was asked for")
    share: float | None = Field(description="asked for: spares as a share of what is needed; null where a chance was")
    beyond_first_order: EstimateOutput = Field(
        description="share of the simulated boxes with errors larger than the predictions hold for"
    )
    untold: str | None = Field(description="why the chance of running out of walls is not known; null where it is")
    strays: list[StrayOutput] = Field(description="names of the stock file that are misspelt, so count for nothing")
    lines: list[LineOutput] = Field(description="everything to order")
    pieces: list[PiecesOutput] = Field(description="everything to saw")
    sections: list[SectionSawnOutput] = Field(description="how the timber is sawn")
    sheets: list[SheetsCutOutput] = Field(description="how the sheets are cut")
    glue: GlueOutput = Field(description="the glue, and how it was reckoned")
    currency: str = Field(description="what prices are in; empty where the stock file does not say")
    cost: float | None = Field(description="what all lines with a price cost; null where none has one")
    partial: bool = Field(description="whether Ctrl-C stopped the simulated classes; then no file is written")
    files: list[str] = Field(description="the files written")


def order_output(order: Order, files: Sequence[str]) -> OrderOutput:
    """Return the record of an order."""
    rule = order.rule
    return OrderOutput(
        command="order",
        design=order.design.name,
        makers=order.design.makers,
        seed=order.seed,
        chance=rule.chance if rule.share is None else None,
        share=rule.share,
        beyond_first_order=EstimateOutput.model_validate(order.glue.beyond),
        untold=order.untold,
        strays=[StrayOutput(table=each.table, name=each.name, meant=each.meant) for each in order.strays],
        lines=[_line(each) for each in order.lines],
        pieces=[_pieces(each) for each in order.kinds],
        sections=[_section(each) for each in order.sections],
        sheets=[_sheets(each) for each in order.sheets],
        glue=GlueOutput.model_validate(order.glue),
        currency=order.currency,
        cost=order.cost,
        partial=order.partial,
        files=list(files),
    )


def _line(line: Line) -> LineOutput:
    return LineOutput(sort=line.sort, amount=line.amount, what=what_words(line), price=line.price, cost=line.cost)


def _pieces(kind: Kind) -> PiecesOutput:
    return PiecesOutput(
        letter=kind.letter,
        name=kind.name,
        material=kind.part.material,
        thickness=kind.part.thickness,
        blank=kind.size,
        needed=kind.needed,
        spares=kind.spares,
        walls=None if kind.walls is None else SparesOutput.model_validate(kind.walls),
    )


def _section(of: SawnSection) -> SectionSawnOutput:
    return SectionSawnOutput(
        material=of.material,
        thickness=of.thickness,
        height=of.height,
        length=of.on_sale.length,
        kerf=of.on_sale.kerf,
        end_trim=of.on_sale.end_trim,
        count=of.count,
        bound=of.plan.bound,
        waste=of.waste,
        patterns=[
            PatternOutput(lengths=each.times, pieces=[kind.letter for kind in each.kinds], offcut=each.offcut)
            for each in of.patterns
        ],
        tried=[
            LengthTriedOutput(length=each.on_sale.length, count=len(each.plan.lengths) if each.plan else None)
            for each in of.others
        ],
    )


def _sheets(of: SawnSheets) -> SheetsCutOutput:
    sheet = of.on_sale
    return SheetsCutOutput(
        material=of.material,
        thickness=of.thickness,
        size=(sheet.length, sheet.width),
        kerf=sheet.kerf,
        edge_trim=sheet.edge_trim,
        turn=sheet.turn,
        straight=sheet.straight,
        count=of.count,
        bound=of.plan.bound,
        waste=of.waste,
        layouts=[_layout(lay) for lay in of.lays],
        tried=[
            SheetTriedOutput(
                size=(each.on_sale.length, each.on_sale.width),
                count=len(each.plan.sheets) if each.plan else None,
                cost=each.cost,
            )
            for each in of.others
        ],
    )


def _layout(lay: Lay) -> LayOutput:
    return LayOutput(
        sheets=lay.times,
        pieces=[
            LaidOutput(letter=kind.letter, x=box.left, y=box.low, turned=turned) for kind, box, turned in lay.pieces
        ],
        cuts=[CutOutput(start=(cut.x, cut.y), end=(cut.to_x, cut.to_y)) for cut in lay.cuts],
    )
