"""Walls that are spoilt however often they are made again: with what is wrong with them and a cure that holds.

No number of spares is enough for a class in which over `MOST` of the walls of a kind are given up. A cure is applied
and tried on the same makers before it is named.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from assembly.changes.apply import apply
from assembly.changes.change import asked
from assembly.errors import ConfigError
from assembly.nominal.frame import frame
from assembly.order.making_again import BLANKS, FAULTS, KINDS
from assembly.order.spoilt_classes import WALLS
from assembly.text import decimal, mm

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from assembly.arrays import IntArray
    from assembly.order.spoilt_classes import WallModel

MAKERS = 1_000  # who are tried, each of a class of its own
MOST = 0.01  # share of walls of a kind that may be given up
COUNTS = 0.05  # share of a kind's walls given up from which on a fault is named, and eased by a cure
EASIER, STEPS = 1.25, 12  # how many times more a cure allows at each step, and steps at the most
THICKER = 20  # mm that a cure may add to the lapped walls
_SAID = {
    "short": "shorter than meant by more than {}",
    "overcut": "with a lap cut too deep by more than {}",
    "tongue": "with a tongue thinner than {}",
}


def never_good(model: WallModel, *, seed: int) -> str | None:
    """Return why no number of blanks makes enough good walls, with a cure; None where some number does.

    None does where tongues are drawn no thicker than they must be, or over 1 % of the walls of a kind are given up.
    """
    if _drawn_too_thin(model):
        return _too_thin_words(model, seed)
    given_up = _given_up(model, seed)
    return _given_up_words(model, given_up, seed) if _too_many(given_up) else None


def _drawn_too_thin(model: WallModel) -> bool:
    return frame(model.design).tongue < model.workshop.scrap.tongue + 1e-9


def _given_up(model: WallModel, seed: int) -> IntArray:
    """Return how many of the walls of those who are tried are given up: (kinds, faults)."""
    return model.block(MAKERS, size=1, seed=seed, block=0).given_up


def _too_many(given_up: IntArray) -> bool:
    return bool((given_up.sum(axis=1) > MOST * WALLS * MAKERS).any())


def _changed(model: WallModel, settings: Sequence[str]) -> WallModel | None:
    """Return the model with some settings, as they would be read; None where they are refused."""
    try:
        design, workshop = apply(asked(settings), model.design, model.workshop)
    except ConfigError:
        return None
    return replace(model, design=design, workshop=workshop)


def _first_that_holds(model: WallModel, settings: Iterable[str], seed: int) -> list[str]:
    """Return the first of some settings with which enough walls come good; nothing where none does."""
    for setting in settings:
        changed = _changed(model, [setting])
        if changed and not _drawn_too_thin(changed) and not _too_many(_given_up(changed, seed)):
            return [setting]
    return []


def _eased(model: WallModel, given_up: IntArray, seed: int) -> list[str]:
    """Return settings of `scrap` with which enough walls come good; nothing where none are found.

    Step by step what still counts among the faults is allowed more of, others that show by then included.
    """
    times = dict.fromkeys(FAULTS, 1.0)
    for _ in range(STEPS):
        for fault in {fault for kind in given_up for fault in _faults(kind)}:
            times[fault] *= 1 / EASIER if fault == "tongue" else EASIER
        allowed = {fault: getattr(model.workshop.scrap, fault) * times[fault] for fault in FAULTS if times[fault] != 1}
        settings = [f"workshop.scrap.{fault}={decimal(round(value, 2))}" for fault, value in allowed.items()]
        changed = _changed(model, settings)
        if changed is None:
            return []
        given_up = _given_up(changed, seed)
        if not _too_many(given_up):
            return settings
    return []


def _faults(given_up: IntArray) -> list[str]:
    """Return the faults that count, of one kind's walls given up by fault."""
    return [fault for fault, walls in zip(FAULTS, given_up, strict=True) if walls > COUNTS * given_up.sum()]


def _too_thin_words(model: WallModel, seed: int) -> str:
    drawn, asked_for = frame(model.design).tongue, model.workshop.scrap.tongue
    now = math.floor(model.design.timber.lapped)
    lower = (f"workshop.scrap.tongue={decimal(tenths / 10)}" for tenths in range(math.ceil(10 * drawn) - 1, -1, -1))
    thicker = (f"timber.lapped={now + more}" for more in range(1, THICKER + 1))
    return (
        f"workshop {model.workshop.name!r}: scrap.tongue has a wall spoilt with a tongue under {mm(asked_for)}, and "
        f"the design draws tongues of {mm(drawn)}, so every lapped wall would be; "
        f"{_cure([_first_that_holds(model, way, seed) for way in (lower, thicker)])}"
    )


def _given_up_words(model: WallModel, given_up: IntArray, seed: int) -> str:
    scrap, kind = model.workshop.scrap, int(given_up.sum(axis=1).argmax())
    share = given_up[kind].sum() / (WALLS * MAKERS)
    said = [f"{_SAID[fault].format(mm(getattr(scrap, fault)))} (scrap.{fault})" for fault in _faults(given_up[kind])]
    return (
        f"workshop {model.workshop.name!r}: {decimal(100 * share)} % of {KINDS[kind]} walls are spoilt from {BLANKS} "
        f"blanks in a row, {' or '.join(said)}, and at most {decimal(100 * MOST)} % may be, as no number of spares is "
        f"enough then; {_cure([_eased(model, given_up, seed)])}"
    )


def _cure(ways: Sequence[Sequence[str]]) -> str:
    typed = [" ".join(f"--set {setting}" for setting in settings) for settings in ways if settings]
    return f"{' or '.join(typed)} will do" if typed else "make the biases and spreads of its operations smaller"
