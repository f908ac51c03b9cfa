"""What a step needs besides its parts: tools, what is used up, and protection; each by the name that a list has.

A step names its tool and what it needs besides; drill bits follow from its holes, protection from what can hurt in it.
Screws and washers are counted where they are driven.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from assembly.text import decimal, mm

if TYPE_CHECKING:
    from assembly.model.design import RoundHead, Screw


class Item(StrEnum):
    """One thing to be fetched before a step begins."""

    PENCIL = "pencil"
    FELT_PEN = "felt pen"
    RULE = "rule"
    MARKING_KNIFE = "marking knife"
    TRY_SQUARE = "try square"
    MARKING_GAUGE = "marking gauge"
    WASTE_WOOD = "waste wood"  # to try a tool on
    BRADAWL = "bradawl"
    SAW = "saw"
    SANDER = "sander"
    SMALL_SANDER = "sanding block, shooting board or jig for small pieces"
    CHISEL = "chisel"
    DRILL = "drill"
    COUNTERSINK = "countersink bit"
    SCRAP_WOOD = "scrap wood"  # under a hole
    TAPE = "tape"
    RUBBER = "rubber"
    SANDING_BLOCK = "sanding block"
    ABRASIVE_PAPER = "abrasive paper"
    FLAT_BOARD = "flat board"
    GLUE = "glue"
    CLAMPS = "clamps"
    PAPER = "paper or film"  # between glue and bench
    CLOTH = "damp cloth"
    BRUSH = "brush"
    FINISH = "finish"
    LASER_CUTTER = "laser cutter"
    CRAFT_KNIFE = "craft knife"
    SAFETY_RULE = "safety rule"
    LINE_BENDER = "line bender"
    JIG = "bending jig"
    GROMMET = "grommet or glue"
    SCREWDRIVER = "screwdriver"
    BENCH_HOOK = "bench hook or vice"
    HELD_FAST = "vice or clamps"
    EYE_PROTECTION = "eye protection"
    GLOVES = "heat-proof gloves"


def screws_needed(screw: Screw, count: int) -> tuple[str, ...]:
    """Return the screws of one kind that a step drives, and their washers, as a list has them."""
    head = screw.round_head
    screws = f"{count} {screw_words(screw)}"
    if head is None:
        return (screws,)
    return screws, f"{count} {washer_words(head)}"


def washer_words(head: RoundHead) -> str:
    """Return what the washers under round heads are called: outside diameter, hole and thickness."""
    sizes = " x ".join(decimal(size) for size in (head.washer, head.washer_hole, head.washer_thickness))
    return f"washers {sizes} mm"


def screw_words(screw: Screw) -> str:
    """Return what screws are called: their head, diameter and length."""
    head = "round-head" if screw.round_head else "countersunk"
    return f"{head} screws {decimal(screw.diameter)} x {mm(screw.length)}"


# The things that a step's tool is, by its name in `cautions.TOOLS`.
OF_TOOL: dict[str, tuple[Item, ...]] = {
    "pencil": (Item.PENCIL,),
    "rule": (Item.RULE,),
    "pencil and rule": (Item.PENCIL, Item.RULE),
    "felt pen and rule": (Item.FELT_PEN, Item.RULE),
    "hands": (),
    "marking knife and try square": (Item.MARKING_KNIFE, Item.TRY_SQUARE),
    "rule, marking knife and try square": (Item.RULE, Item.MARKING_KNIFE, Item.TRY_SQUARE),
    "marking gauge": (Item.MARKING_GAUGE,),
    "bradawl": (Item.BRADAWL,),
    "saw": (Item.SAW,),
    "sander": (Item.SANDER,),
    "chisel": (Item.CHISEL,),
    "drill": (Item.DRILL,),
    "sanding block": (Item.SANDING_BLOCK,),
    "rubber": (Item.RUBBER,),
    "abrasive paper and flat board": (Item.ABRASIVE_PAPER, Item.FLAT_BOARD),
    "wet abrasive paper": (Item.ABRASIVE_PAPER,),
    "brush and finish": (Item.BRUSH, Item.FINISH),
    "glue": (Item.GLUE,),
    "clamps": (Item.CLAMPS,),
    "laser cutter": (Item.LASER_CUTTER,),
    "craft knife and safety rule": (Item.CRAFT_KNIFE, Item.SAFETY_RULE),
    "line bender": (Item.LINE_BENDER,),
    "screwdriver": (Item.SCREWDRIVER,),
}

# What is worn in an operation of the cautions, for chips, dust, splinters, heat and solder. BS 4163:2021+A1:2022
# for eye protection (scope and contents read, its text not); in which operations: common practice, no source.
_EYES = ("saw", "sander", "chisel", "drill", "drill acrylic", "laser", "craft knife", "hot bend", "soldering")
WORN: dict[str, tuple[Item, ...]] = {
    **dict.fromkeys(_EYES, (Item.EYE_PROTECTION,)),
    "hot bend": (Item.EYE_PROTECTION, Item.GLOVES),
}

# What holds the piece in an operation, where its cautions ask for it.
HOLDS: dict[str, tuple[Item, ...]] = {"saw": (Item.BENCH_HOOK,), "chisel": (Item.HELD_FAST,)}

SMALL = 100.0  # mm; a piece whose longest side is shorter is not held to a disc by hand: common practice, no source


def small_pieces(pieces: dict[str, float], each: str) -> tuple[str, ...]:
    """Return what is said where pieces are too small to be held to a disc; nothing where none is.

    Parameters
    ----------
    pieces : dict
        The longest side of each piece, mm, by what it is called.
    each : str
        The pieces' sort, as a plural.
    """
    small = [name for name, long in pieces.items() if long < SMALL]
    if not small:
        return ()
    *first, last = small
    named = f"{', '.join(first)} and {last}" if first else last
    return (
        f"{each.capitalize()} under {SMALL:g} mm long, here {named}, must not be held to a disc by hand.",
        "A sanding block, a shooting board or a jig that grips them does it.",
    )
