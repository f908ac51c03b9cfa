"""A sheet on sale, where pieces lie on it, and a plan of sheets; what of it is at fault, by its numbers.

layout : where every piece of one sheet lies
turned : lying across: a piece's length along the sheet's width
x, y   : along the sheet's length and along its width, from the sheet's own lower left corner, mm

What finds layouts is elsewhere; here nothing is known of how they were found.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, TypeAlias

from assembly.errors import InputError
from assembly.order.pieces import held_to, named, rectangle, units_down, units_up
from assembly.text import mm

if TYPE_CHECKING:
    from collections.abc import Sequence

CLOSE = 1e-6  # mm; what is nearer touches


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetOnSale:
    """A sheet on sale, and how it is sawn; mm.

    Raises
    ------
    InputError
        If a size is negative or not finite, or the trim leaves nothing.
    """

    length: float
    width: float
    kerf: float  # width of the saw's cut, or of the laser's
    edge_trim: float  # cut off each edge before anything else, the dust of that cut included
    straight: bool  # only layouts that cuts from edge to edge can make
    turn: bool  # pieces may lie across: nothing is said of the grain

    def __post_init__(self) -> None:
        """Refuse what nobody can saw."""
        held_to(
            self.words,
            over={"length": self.length, "width": self.width},
            least={"kerf": self.kerf, "edge trim": self.edge_trim},
        )
        if min(self.usable) <= 0:
            msg = (
                f"{self.words}: {mm(self.edge_trim)} trimmed off each edge leaves nothing; "
                "trim less or take larger sheets"
            )
            raise InputError(msg)

    @property
    def words(self) -> str:
        """The sheet as a message names it."""
        return f"sheet of {rectangle(self.length, self.width)}"

    @property
    def usable(self) -> tuple[float, float]:
        """Length and width between the trimmed edges, mm."""
        return self.length - 2 * self.edge_trim, self.width - 2 * self.edge_trim

    def takes(self, piece: tuple[float, float]) -> bool:
        """Tell whether a piece, mm, goes onto it, lying across where it may."""
        room = [units_down(each) for each in self.usable]
        size = [units_up(each) for each in piece]
        ways = [size, size[::-1]] if self.turn else [size]
        return any(length <= room[0] and width <= room[1] for length, width in ways)


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A piece on a sheet; its lower left corner, the edge trim included."""

    kind: int
    x: float
    y: float
    turned: bool


Layout: TypeAlias = tuple[Laid, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPlan:
    """What is sawn from each sheet."""

    sheets: tuple[Layout, ...]  # alike ones together
    bound: int  # no fewer sheets can do

    @property
    def beyond(self) -> int:
        """How many sheets more than the bound are taken."""
        return len(self.sheets) - self.bound

    @property
    def proved(self) -> bool:
        """Whether fewer sheets can't do."""
        return self.beyond == 0


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on a sheet by its edges, mm."""

    left: float
    low: float
    right: float
    high: float


def box_of(laid: Laid, sizes: Sequence[tuple[float, float]]) -> Box:
    """Return the rectangle that a piece covers."""
    length, width = sizes[laid.kind][::-1] if laid.turned else sizes[laid.kind]
    return Box(laid.x, laid.y, laid.x + length, laid.y + width)


def inside_of(on_sale: SheetOnSale) -> Box:
    """Return the rectangle between a sheet's trimmed edges."""
    trim = on_sale.edge_trim
    return Box(trim, trim, on_sale.length - trim, on_sale.width - trim)


def fault_of(
    sheets: Sequence[Layout],
    sizes: Sequence[tuple[float, float]],
    counts: Sequence[int],
    on_sale: SheetOnSale,
    *,
    names: Sequence[str] = (),
) -> str | None:
    """Return the first thing that is wrong with the layouts of a plan, in words, or None.

    Parameters
    ----------
    sheets : Sequence[Layout]
        Of each sheet where its pieces lie.
    sizes, counts : Sequence
        Of each kind length and width, mm, and how many are wanted.
    on_sale : SheetOnSale
        The sheet. Whether its cuts can run from edge to edge is told by `straight_cuts.straight_cut`.
    """
    for number, layout in enumerate(sheets, 1):
        if fault := _misplaced(layout, sizes, on_sale, names) or _too_near(layout, sizes, on_sale, names):
            return f"sheet {number}: {fault}"
    found = Counter(laid.kind for layout in sheets for laid in layout)
    for kind, wanted in enumerate(counts):
        if found[kind] != wanted:
            return f"{named(names, kind)}: {found[kind]} lie on the sheets, {wanted} are wanted"
    return None


def _misplaced(
    layout: Layout, sizes: Sequence[tuple[float, float]], on_sale: SheetOnSale, names: Sequence[str]
) -> str | None:
    inside = inside_of(on_sale)
    for laid in layout:
        box, name = box_of(laid, sizes), named(names, laid.kind)
        if laid.turned and not on_sale.turn:
            return f"{name} at {mm(laid.x)}, {mm(laid.y)} lies across"
        within = min(box.left - inside.left, box.low - inside.low, inside.right - box.right, inside.high - box.high)
        if within < -CLOSE:
            return f"{name} at {mm(laid.x)}, {mm(laid.y)} goes beyond the usable sheet by {mm(-within)}"
    return None


def _too_near(
    layout: Layout, sizes: Sequence[tuple[float, float]], on_sale: SheetOnSale, names: Sequence[str]
) -> str | None:
    for one, other in combinations(layout, 2):
        a, b = box_of(one, sizes), box_of(other, sizes)
        apart = max(b.left - a.right, a.left - b.right, b.low - a.high, a.low - b.high)
        if apart < on_sale.kerf - CLOSE:
            both = f"{named(names, one.kind)} at {mm(one.x)}, {mm(one.y)} and {named(names, other.kind)} at "
            both += f"{mm(other.x)}, {mm(other.y)}"
            return f"{both} overlap" if apart < -CLOSE else f"{both} are {mm(max(apart, 0.0))} apart, under the kerf"
    return None
