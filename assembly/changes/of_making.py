"""Changes to how a box is made: what one operation leaves, an aid, a way of working.

Each is said against the workshop or the design that it is for, whose own numbers it may build on: half of a spread is
half of the spread that the workshop has. What is done already comes as a change that sets nothing new.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from assembly.changes.change import Change, design_setting, workshop_setting
from assembly.model.workshop import ALLOWANCES, operation_words, quantities_of
from assembly.text import decimal

if TYPE_CHECKING:
    from collections.abc import Iterator

    from assembly.files.settings import Setting
    from assembly.model.design import Design
    from assembly.model.workshop import Disturbance, Workshop

Allowance = Literal["saw.offset", "lid_saw.offset"]  # the names in `ALLOWANCES`
PARE = "pare"  # paring to fit, which has no quantities of its own
SPREADS = ("class_spread", "maker_spread", "spread")

_THINGS = {"stock"}  # operations that are worded as a thing, which is even; a doing is done evenly


def half_the_spread(workshop: Workshop, operation: str) -> Change:
    """Return every spread of one operation, or of paring, halved."""
    if operation == PARE:
        settings = [workshop_setting(PARE, "spread", to=workshop.pare.spread / 2)]
    else:
        settings = [
            workshop_setting(*workshop.key_of(quantity, level), to=getattr(row, level) / 2)
            for quantity, row in _rows(workshop, operation)
            for level in SPREADS
            if getattr(row, level)
        ]
    return _of_operation("half the spread", operation, settings)


def no_bias(workshop: Workshop, operation: str) -> Change:
    """Return every bias of one operation, or of paring, taken away; an allowance is no fault and stays."""
    if operation == PARE:
        settings = [workshop_setting(PARE, "bias", to=0.0)]
    else:
        settings = [
            workshop_setting(*workshop.key_of(quantity, "bias"), to=0.0)
            for quantity, row in _rows(workshop, operation)
            if row.bias and quantity not in ALLOWANCES
        ]
    return _of_operation("no bias", operation, settings)


def _rows(workshop: Workshop, operation: str) -> Iterator[tuple[str, Disturbance]]:
    for quantity in quantities_of(operation):
        yield quantity, workshop.disturbance(quantity)


def _of_operation(kind: Literal["half the spread", "no bias"], operation: str, settings: list[Setting]) -> Change:
    evenly = ", twice as even" if operation in _THINGS else " twice as evenly"
    words = operation_words(operation) + (", right on average" if kind == "no bias" else evenly)
    return Change(kind=kind, what=operation, words=words, settings=tuple(settings))


def aid_used(workshop: Workshop, name: str) -> Change:
    """Return one of the workshop's aids put to use."""
    aid = workshop.aids[name]
    replaces = tuple(
        workshop_setting("operations", *quantity.split("."), number, to=value)
        for quantity in aid.replaces
        for number, value in aid.given(quantity).items()
    )
    settings = (workshop_setting("aids", name, "used", to=True),)
    return Change(kind="aid", what=name, words=aid.title, settings=settings, replaces=replaces)


def shoulders_from(where: Literal["part", "drawing"]) -> Change:
    """Return shoulders marked along the plain wall itself, or at its drawn thickness."""
    words = {
        "part": "mark the shoulders along the part itself, not from the drawing",
        "drawing": "mark the shoulders from the drawing, not along the part itself",
    }
    settings = (workshop_setting("shoulder_from", to=where),)
    return Change(kind="shoulder from", what=where, words=words[where], settings=settings)


def squared_glue_up() -> Change:
    """Return diagonals made equal in the glue."""
    return Change(
        kind="squared",
        words="make the diagonals equal while the glue is wet",
        settings=(design_setting("glue_up", to="squared"),),
    )


def one_more_paring(workshop: Workshop) -> Change:
    """Return corners that may be pared once more."""
    return Change(
        kind="one more paring",
        words="allow one more round of paring",
        settings=(workshop_setting(PARE, "rounds", to=workshop.pare.rounds + 1),),
    )


def plain_walls_longer(design: Design, by: float) -> Change:
    """Return plain walls marked longer than now, to be fitted; mm."""
    return Change(
        kind="overlength",
        words=f"leave the plain walls {decimal(by)} mm longer",
        settings=(design_setting("overlength", to=design.overlength + by),),
    )


def left_to_sand(workshop: Workshop, quantity: Allowance, amount: float) -> Change:
    """Return so much left on by the saw, mm, at the walls' ends or at the lid's edges, for the sander to take off."""
    now = workshop.disturbance(quantity).bias
    where = {"saw.offset": "each end of a wall", "lid_saw.offset": "the lid's edges"}[quantity]
    return Change(
        kind="left to sand",
        what=quantity,
        words=f"leave {decimal(amount)} mm to sand at {where}, not {decimal(now)}",
        settings=(workshop_setting(*workshop.key_of(quantity, "bias"), to=amount),),
    )


def gauged_from(side: Literal["inside", "outside"]) -> Change:
    """Return the marking gauge run along one face of the lapped walls."""
    return Change(
        kind="gauge side",
        what=side,
        words=f"run the marking gauge along the {side} face of the lapped walls",
        settings=(workshop_setting("gauge_from", to=side),),
    )


def lid_marked_through() -> Change:
    """Return the lid's screw holes for the plaque marked through the plaque itself."""
    return Change(
        kind="marked through",
        words="mark the plaque's screw holes in the lid through the plaque itself",
        settings=(design_setting("lid_holes", to="marked through"),),
    )
