"""Words of an order that its text, its CSV and its pages share: what is ordered, how surely least, what was tried.

Sizes are mm, but for lengths of timber, which are said in m as a yard lists them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from assembly.data.tables import SheetMaterial, wall_material
from assembly.errors import InputError
from assembly.model.on_sale import sized
from assembly.order.glue import FILM, Glue
from assembly.order.ready import Ready
from assembly.order.sawn_lengths import SawnSection
from assembly.text import decimal, listed, mm
from viewer.reports.rounding import percent, rounded

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from assembly.model.workshop import Scrap
    from assembly.order.class_pieces import Kind
    from assembly.order.layouts import SheetOnSale, SheetPlan
    from assembly.order.lengths import LengthOnSale, LengthPlan
    from assembly.order.order import Line, Order
    from assembly.order.sawn_lengths import Pattern
    from assembly.order.sawn_sheets import Lay, SawnSheets, TriedSheet
    from assembly.order.stray_names import StrayName

_CENTS = 2  # decimals of money
MANY = 0.25  # spares for a wall needed, from which on it is said that they are many; project choice


def counted(number: int, one: str, many: str) -> str:
    """Return how many there are of something: "1 length", "3 lengths"."""
    return f"{number:,} {one if number == 1 else many}"


def line_words(line: Line) -> str:
    """Return one line of an order as it is read out."""
    return f"{amount_words(line)} {what_words(line)}"


def amount_words(line: Line) -> str:
    """Return how much of a thing is ordered, up to its name."""
    if isinstance(line.of, Glue):
        return f"about {ml_words(line.of.ml)} of"
    if isinstance(line.of, Ready):
        return f"{line.of.count:,} x" if line.of.named else f"{line.of.count:,}"
    return f"{bought_words(line.of, line.of.count)} of"


def bought_words(of: SawnSection | SawnSheets, number: int) -> str:
    """Return so many of what is bought of a section or a sheet."""
    return counted(number, *(("length", "lengths") if isinstance(of, SawnSection) else ("sheet", "sheets")))


def sawn_words(of: SawnSection | SawnSheets) -> str:
    """Return a section or a sheet with how many are bought, and in which size."""
    return f"{section_words(of)}: {bought_words(of, of.count)} of {on_sale_words(of)}"


def what_words(line: Line) -> str:
    """Return what is ordered, with its sizes."""
    if isinstance(line.of, (Glue, Ready)):
        return line.of.name
    size = on_sale_words(line.of)
    return f"{section_words(line.of)}, {size}{' each' if line.of.count > 1 else ''}"


def section_words(of: SawnSection | SawnSheets) -> str:
    """Return a section of a timber, or a sheet of a thickness."""
    if isinstance(of, SawnSection):
        return f"{of.material}, {sized(of.thickness, of.height)} mm"
    return f"{of.material}, {mm(of.thickness)}"


def on_sale_words(of: SawnSection | SawnSheets) -> str:
    """Return the size in which something is bought."""
    return length_words(of.on_sale) if isinstance(of, SawnSection) else size_words(of.on_sale)


def length_words(on_sale: LengthOnSale) -> str:
    """Return a length on sale, in m."""
    return f"{decimal(on_sale.length / 1000)} m"


def size_words(on_sale: SheetOnSale) -> str:
    """Return the size of a sheet on sale."""
    return f"{sized(on_sale.length, on_sale.width)} mm"


def ml_words(ml: float) -> str:
    """Return an amount of glue to two digits: it is an estimate.

    Examples
    --------
    >>> ml_words(5912.0), ml_words(353.7), ml_words(8.74)
    ('5.9 l', '350 ml', '8.7 ml')
    """
    amount, unit = (ml / 1000, "l") if ml >= 1000 else (ml, "ml")
    return f"{rounded(amount, 1 - math.floor(math.log10(amount)))} {unit}"


def surely_words(line: Line) -> str:
    """Return how surely no less of a line would do; empty of what is no plan."""
    return "" if isinstance(line.of, (Glue, Ready)) else least_words(line.of.plan)


def least_words(plan: LengthPlan | SheetPlan) -> str:
    """Return how surely no fewer would do."""
    if plan.proved:
        return "proved the fewest"
    return f"at most {plan.beyond} above the bound: under {plan.bound:,} can't do"


def waste_words(of: SawnSection | SawnSheets) -> str:
    """Return what of it becomes no piece."""
    return f"{rounded(100 * of.waste, 1)} % waste"


def sawing_words(of: SawnSection | SawnSheets) -> str:
    """Return the cut and the trim that are reckoned with."""
    if isinstance(of, SawnSection):
        return f"saw cut {mm(of.on_sale.kerf)}, {mm(of.on_sale.end_trim)} trimmed off each end"
    turn = "pieces may lie across" if of.on_sale.turn else "no piece lies across, for its grain"
    straight = ", parted by straight cuts from edge to edge" if of.on_sale.straight else ""
    return f"cut {mm(of.on_sale.kerf)} wide, {mm(of.on_sale.edge_trim)} trimmed off each edge; {turn}{straight}"


def pattern_words(pattern: Pattern) -> str:
    """Return what is sawn from a length, from its left end."""
    said = [f"{n} x {kind.letter} ({decimal(round(kind.size[0], 1))})" for kind, n in pattern.runs]
    offcut = pattern.offcut
    return ", ".join([*said, f"offcut {decimal(round(offcut, 1))}" if offcut else "no offcut"])


def lay_words(lay: Lay) -> str:
    """Return what is cut from a sheet."""
    cuts = f", {counted(len(lay.cuts), 'straight cut', 'straight cuts')}" if lay.cuts else ""
    return ", ".join(f"{number} x {kind.letter}" for kind, number in lay.counts) + cuts


def tried_words(of: SawnSection | SawnSheets, currency: str) -> str:
    """Return what else is on sale and what it would take; empty where nothing else is."""
    if isinstance(of, SawnSection):
        own = f"{of.count:,} of {on_sale_words(of)}, {decimal(of.metres)} m"
        others = [
            f"{each.count:,} of {length_words(each.on_sale)}, {decimal(each.metres)} m"
            if each.plan
            else f"{length_words(each.on_sale)}, too short"
            for each in of.others
        ]
    else:
        own = _sheets_taken(of.taken, currency)
        others = [
            _sheets_taken(each, currency) if each.plan else f"{size_words(each.on_sale)}, too small"
            for each in of.others
        ]
    return f"Taken as the least: {own}. Tried, too: {'; '.join(others)}." if others else ""


def _sheets_taken(tried: TriedSheet, currency: str) -> str:
    cost = "" if tried.cost is None else f", {money(tried.cost, currency)}"
    return f"{tried.count:,} of {size_words(tried.on_sale)}, {rounded(tried.area, 2)} m²{cost}"


def money(sum_: float, currency: str) -> str:
    """Return a sum of money."""
    amount = f"{sum_:,.{_CENTS}f}"
    return f"{amount} {currency}" if currency else amount


def list_words(stock: str | None) -> str:
    """Return whose list of what is on sale an order goes by; None is the one that ships."""
    if stock is None:
        return "On sale is what configs/stock.toml lists, common practice: put in what your own suppliers list."
    return f"On sale is what {stock} lists."


def spare_words(order: Order) -> list[str]:
    """Return how many pieces are spare, and how likely a class is to run out of them, as sentences."""
    spare = [f"{kind.spares:,} x {kind.name}" for kind in order.kinds if kind.spares]
    lines = [f"Spare pieces among them: {listed(spare)}." if spare else "No spare pieces are among them."]
    lines += [_unknown_words(order, order.untold)] if order.untold else _chance_words(order)
    lost = [f"{kind.name}, {rounded(100 * kind.given_up, 2)} %" for kind in order.kinds if kind.given_up]
    if lost:
        lines.append(f"Walls that no number of spares makes good, as every blank is spoilt: {'; '.join(lost)}.")
    rest = "; ".join(kind.name for kind in order.kinds if not kind.spoilable)
    more = (
        "so none is spare; a percentage, such as --spares 10%, orders its share of them, too"
        if order.rule.share is None
        else "so how likely they run out is not told"
    )
    return [*lines, f"No rule says when what is cut from sheets is spoilt ({rest}), {more}."]


def stray_words(strays: Iterable[StrayName]) -> list[str]:
    """Return which names of the stock file count for nothing, and what they may stand for."""
    return [
        f"{each.table}.{each.name!r} counts for nothing here: the design's {each.sort} "
        f"{'is' if len(each.used) == 1 else 'are'} {', '.join(each.used)}; did you mean {each.meant!r}?"
        for each in strays
    ]


def outline_words(order: Order) -> list[str]:
    """Return what is to be known of pieces that a machine cuts to their outline; nothing where there is none."""
    cut = [kind.name for kind in order.kinds if kind.part.outlined]
    return (
        [f"A laser cuts {listed(cut)}: out of the whole sheet and to its outline, so no waste is on it."] if cut else []
    )


def _chance_words(order: Order) -> list[str]:
    """Return how likely a class runs out of walls, and how many are spoilt."""
    chances = [f"{kind.name}, {percent(kind.walls.runs_out)}" for kind in order.kinds if kind.walls]
    asked = f" (asked for: at most {decimal(100 * order.rule.chance)} % of each)" if order.rule.share is None else ""
    spoilt = [f"{kind.name}, {percent(kind.walls.spoilt)}" for kind in order.kinds if kind.walls]
    return [
        f"How likely {_run_words(order)} out of walls, as some are spoilt and made again: {'; '.join(chances)}{asked}.",
        f"Walls that are spoilt from their first blank, on average: {'; '.join(spoilt)}.",
        _scrap_words(order.workshop.scrap),
        *_many_words(order),
    ]


def _scrap_words(scrap: Scrap) -> str:
    """Return when a wall is spoilt."""
    short, overcut, tongue = map(mm, (scrap.short, scrap.overcut, scrap.tongue))
    return (
        f"A wall is spoilt that is over {short} short, has a lap cut over {overcut} too far, or a tongue under "
        f"{tongue} (scrap, in the workshop's file)."
    )


def _many_words(order: Order) -> list[str]:
    """Return what to try before so many spares are bought; nothing where few are, or no aid is left to try."""
    aids = [name for name, aid in order.workshop.aids.items() if not aid.used]
    many = any(kind.spares > MANY * kind.needed for kind in order.kinds if kind.walls)
    if order.rule.share is not None or not many or not aids:
        return []
    tries = " or ".join(f"--set workshop.aids.{name}.used=true" for name in aids)
    return [f"So many spares are dear. See first what an aid saves: order again with {tries}."]


def _unknown_words(order: Order, why: str) -> str:
    return f"How likely {_run_words(order)} out of walls is not known: {why}."


def _run_words(order: Order) -> str:
    return counted(order.design.makers, "maker runs", "makers run")


def glue_words(glue: Glue) -> str:
    """Return how the glue was reckoned."""
    return (
        f"Glue is an estimate by common practice, no source: the mean gap volume of {glue.boxes:,} simulated boxes "
        f"and a film of {decimal(FILM)} mm on every glued face, twice over; {ml_words(glue.ml_a_box)} a box."
    )


def remark_words(order: Order, sections: Sequence[float], stock: str | None) -> list[str]:
    """Return what is to be known of an order besides its lines: spares, glue, and what is on sale."""
    return [
        *spare_words(order),
        *outline_words(order),
        *stray_words(order.strays),
        glue_words(order.glue),
        list_words(stock),
        *unlisted_words(order, sections),
        *sheet_wall_words(order),
    ]


def kind_words(kind: Kind) -> str:
    """Return a kind of piece with its letter and its blank."""
    return f"{kind.letter} = {kind.name} {sized(*(round(each, 1) for each in kind.size))}"


def cost_words(order: Order) -> list[str]:
    """Return what the order costs in all and for each maker, and what has no price; nothing where nothing has one."""
    if order.cost is None:
        return []
    without = [what_words(line) for line in order.lines if line.cost is None]
    total, each = money(order.cost, order.currency), money(order.cost / order.design.makers, order.currency)
    lines = [f"In all {total}, which is {each} a maker."]
    if without:
        lines.append(f"Not in it, as the stock file has no price: {'; '.join(without)}.")
    return lines


def sheet_wall_words(order: Order) -> list[str]:
    """Return what is to be known of walls that are cut from a sheet; nothing of walls of timber."""
    name = order.design.timber.name
    try:
        sheet = isinstance(wall_material(name), SheetMaterial)
    except InputError:
        sheet = False
    words = f"The walls are of {name}, a sheet: it is ordered here in strips, as wide as the walls are high."
    return [f"{words} Ask the supplier to saw them."] if sheet else []


def unlisted_words(order: Order, sections: Sequence[float]) -> list[str]:
    """Return which walls have a thickness that the stock file does not list."""
    found = dict.fromkeys(
        of.thickness for of in order.sections if not any(abs(of.thickness - s) < 1e-6 for s in sections)
    )
    return [
        f"The stock file does not list {mm(thick)} among its sections ({', '.join(map(decimal, sections))}): "
        "ask the yard for it."
        for thick in found
    ]
