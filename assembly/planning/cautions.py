"""What can hurt in each operation, in plain words; the sentences and their sources are in `assembly/data/cautions.csv`.

They say less than a risk assessment does, and the first of them says so. No age limits and no permissions are
stated: they differ between countries and between schools.
"""

from __future__ import annotations

from dataclasses import dataclass

from assembly.data.tables import rows
from assembly.errors import InputError

FIRST = "first"  # what is shown before any step
HANDS = "hands"  # where a step needs no tool

# Every tool of the making, and the operations in the table whose cautions go with it.
# Pencil, felt pen, rule, rubber and bare hands have none: common practice, no source.
TOOLS: dict[str, tuple[str, ...]] = {
    "pencil": (),
    "rule": (),
    "pencil and rule": (),
    "felt pen and rule": (),
    HANDS: (),
    "marking knife and try square": ("marking knife",),
    "rule, marking knife and try square": ("marking knife",),
    "marking gauge": ("marking gauge",),
    "bradawl": ("bradawl",),
    "saw": ("saw",),
    "sander": ("sander",),
    "chisel": ("chisel",),
    "drill": ("drill",),
    "sanding block": ("sanding block",),
    "rubber": (),
    "abrasive paper and flat board": ("sanding block",),
    "wet abrasive paper": ("sheet edges",),
    "brush and finish": ("finish",),
    "glue": ("glue",),
    "clamps": ("clamps",),
    "laser cutter": ("laser",),
    "craft knife and safety rule": ("craft knife",),
    "line bender": ("hot bend",),
    "screwdriver": ("screwdriver",),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One sentence about one operation, and where it comes from."""

    operation: str
    words: str
    source: str
    short: str  # the same where it has been said before; empty where another row's says enough


def cautions(operation: str) -> tuple[Caution, ...]:
    """Return the cautions of an operation, in the order of the table.

    Raises
    ------
    InputError
        If the table has none for it.
    """
    table = rows("cautions")
    found = tuple(Caution(**row) for row in table if row["operation"] == operation)
    if not found:
        known = ", ".join(dict.fromkeys(row["operation"] for row in table))
        msg = f"cautions: got operation {operation!r}, must be one of {known}; add a row to cautions.csv for another"
        raise InputError(msg)
    return found


def first_cautions() -> tuple[Caution, ...]:
    """Return what is shown before any step: whose rules come first, first aid, the emergency stop, clothes and eyes."""
    return cautions(FIRST)


def machine_cautions() -> tuple[str, str]:
    """Return what goes with files for a machine that cuts: what can hurt at it, and whose rules come before them."""
    return " ".join(caution.words for caution in tool_cautions("laser cutter")), first_cautions()[0].words


def tool_cautions(tool: str) -> tuple[Caution, ...]:
    """Return the cautions that go with a tool of `TOOLS`; those that can't hurt have none."""
    return tuple(caution for operation in TOOLS[tool] for caution in cautions(operation))
