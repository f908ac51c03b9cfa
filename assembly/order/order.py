"""What a class orders, and how it is sawn: pieces, lengths, sheets, what is bought ready, glue, and what it costs.

line : one thing to order: how much of it, and its price where one is given
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.order.class_pieces import class_pieces
from assembly.order.glue import glue_for
from assembly.order.ready import ready
from assembly.order.sawn_lengths import sawn_sections
from assembly.order.sawn_sheets import sawn_sheets
from assembly.order.spoilage import CLASSES
from assembly.order.stray_names import stray_names
from assembly.planning.cautions import cautions
from assembly.study.driver import UNWATCHED, Run

if TYPE_CHECKING:
    from assembly.learning.files import Draws
    from assembly.model.design import Design
    from assembly.model.on_sale import Stock
    from assembly.model.workshop import Workshop
    from assembly.order.class_pieces import Kind, SpareRule
    from assembly.order.glue import Glue
    from assembly.order.ready import Ready
    from assembly.order.sawn_lengths import SawnSection
    from assembly.order.sawn_sheets import SawnSheets
    from assembly.order.stray_names import StrayName
    from assembly.planning.cautions import Caution

MAKERS = (1, 1_000)  # of one order: a school's year
_ML = 1_000.0  # of a litre


class Sort(StrEnum):
    """What a line of an order is of."""

    LENGTHS = "lengths"
    SHEETS = "sheets"
    READY = "bought ready"
    GLUE = "glue"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One thing to order."""

    sort: Sort
    of: SawnSection | SawnSheets | Ready | Glue
    amount: float  # how many; of glue ml
    price: float | None  # of one length, sheet or thing; of a ml of glue

    @property
    def cost(self) -> float | None:
        """What it costs; None without a price."""
        return None if self.price is None else self.amount * self.price


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What the makers of a design order."""

    design: Design  # with its makers
    workshop: Workshop  # that says when a wall is spoilt
    rule: SpareRule
    kinds: tuple[Kind, ...]
    sections: tuple[SawnSection, ...]
    sheets: tuple[SawnSheets, ...]
    ready: tuple[Ready, ...]
    glue: Glue
    currency: str
    glue_price: float | None  # of a litre
    seed: int
    strays: tuple[StrayName, ...] = ()  # names of the stock file that count for nothing

    @property
    def classes(self) -> int:
        """How many simulated classes the spares are told from; 0 where no chance of running out is known."""
        return min((kind.walls.classes for kind in self.kinds if kind.walls), default=0)

    @property
    def untold(self) -> str | None:
        """Why the chance of running out of walls is not known; None where it is."""
        return next((kind.untold for kind in self.kinds if kind.untold), None)

    @property
    def partial(self) -> bool:
        """Whether the study was stopped before all classes were simulated."""
        return self.untold is None and self.classes < CLASSES

    @property
    def lines(self) -> tuple[Line, ...]:
        """Everything to order, in the order in which it is read out."""
        per_ml = None if self.glue_price is None else self.glue_price / _ML
        return (
            *(_of_section(each) for each in self.sections),
            *(Line(sort=Sort.SHEETS, of=each, amount=each.count, price=each.taken.price) for each in self.sheets),
            *(Line(sort=Sort.READY, of=each, amount=each.count, price=each.price) for each in self.ready),
            Line(sort=Sort.GLUE, of=self.glue, amount=self.glue.ml, price=per_ml),
        )

    @property
    def cost(self) -> float | None:
        """What the lines with a price cost together; None where none has one."""
        costs = [line.cost for line in self.lines if line.cost is not None]
        return sum(costs) if costs else None


def _of_section(each: SawnSection) -> Line:
    price = None if each.price is None else each.price * each.on_sale.length / 1000
    return Line(sort=Sort.LENGTHS, of=each, amount=each.count, price=price)


def order_for(
    design: Design,
    workshop: Workshop,
    stock: Stock,
    rule: SpareRule,
    *,
    straight: bool = False,
    seed: int = 1,
    draws: Draws | None = None,
    run: Run = UNWATCHED,
) -> Order:
    """Return what the makers of a design order.

    Parameters
    ----------
    design, workshop : Design, Workshop
        What is made, by how many makers, and where.
    stock : Stock
        What is on sale, and its prices.
    rule : SpareRule
        How many pieces are spare.
    straight : bool
        Whether straight cuts must part the layouts of all sheets.
    seed : int
        Of the simulated boxes and classes.
    draws : Draws, optional
        What is not known of a learned workshop.
    run : Run
        How boxes and classes are simulated.

    Raises
    ------
    InputError
        If a piece does not go into anything on sale, there are too many makers, a study refuses the workshop, or the
        seed is below 0. Walls that no number of spares makes good are no reason where a share of spares is asked for.
    StoppedError
        If it is stopped.
    """
    least, most = MAKERS
    if not least <= design.makers <= most:
        msg = f"makers: got {design.makers}, must be {least} to {most} for one order; give --makers"
        raise InputError(msg)
    glue = glue_for(design, workshop, seed=seed, run=run)
    kinds = class_pieces(design, workshop, rule, seed=seed, draws=draws, run=run)
    return Order(
        design=design,
        workshop=workshop,
        rule=rule,
        kinds=kinds,
        sections=sawn_sections(kinds, stock),
        sheets=sawn_sheets(kinds, stock, straight=straight),
        ready=ready(design, stock.prices),
        glue=glue,
        currency=stock.prices.currency,
        glue_price=stock.prices.glue,
        seed=seed,
        strays=stray_names(design, stock),
    )


def sawing_cautions(order: Order) -> tuple[Caution, ...]:
    """Return what is said before timber and sheets are sawn: of the saw, of sheets, and of how the plaque is cut."""
    plaque = order.design.plaque
    cut = () if plaque is None else cautions("laser" if plaque.cut == "laser" else "craft knife")
    return (*cautions("sawing out"), *cautions("sheet edges"), *cut)
